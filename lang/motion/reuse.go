package motion

import (
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
)

// Reuse takes a result over to a score that was bound anew, when nothing that
// the player's path depends on has changed. Only what the result points at is
// new: the path is not looked for again.
func Reuse(old *Result, was, now *score.Score, p *score.Player) (*Result, bool) {
	if old == nil || was.Catalogue != now.Catalogue || !was.Time.Equal(now.Time) {
		return nil, false
	}
	if old.Player == p {
		return old, true // the score has taken the player over
	}
	if !samePlayer(old.Player, p) {
		return nil, false
	}
	m := mover{
		cues: counterparts(old.Player.Cues, p.Cues), acts: counterparts(old.Player.Actions, p.Actions), items: counterparts(old.Player.Items, p.Items),
		events: slices.Clone(old.Events),
	}
	m.moveEvents()
	r := *old
	r.Player, r.Events = p, m.events
	r.Changes = make([]Change, len(old.Changes))
	for i := range old.Changes {
		r.Changes[i] = m.change(old.Changes[i])
	}
	r.Tunings, r.Retunings, r.Crowds = slices.Clone(old.Tunings), slices.Clone(old.Retunings), slices.Clone(old.Crowds)
	for i := range r.Tunings {
		r.Tunings[i].Item = m.items[r.Tunings[i].Item]
	}
	for i := range r.Retunings {
		r.Retunings[i] = m.change(r.Retunings[i])
	}
	for i, c := range r.Crowds {
		r.Crowds[i].Event, r.Crowds[i].Item = m.event(c.Event), m.items[c.Item]
	}
	r.Conflicts = slices.Clone(old.Conflicts)
	for i, c := range r.Conflicts {
		r.Conflicts[i].A, r.Conflicts[i].B, r.Conflicts[i].Full = m.event(c.A), m.event(c.B), m.event(c.Full)
	}
	for h := range r.Spells {
		r.Spells[h] = slices.Clone(old.Spells[h])
		for i, sp := range r.Spells[h] {
			r.Spells[h][i].Event, r.Spells[h][i].Grip = m.event(sp.Event), m.grip(sp.Grip)
		}
	}
	r.Chosen = slices.Clone(old.Chosen)
	for i, c := range r.Chosen {
		r.Chosen[i].Cue, r.Chosen[i].First, r.Chosen[i].Roll = m.cues[c.Cue], m.event(c.First), m.event(c.Roll)
	}
	r.OutOf = make([]*score.Item, len(old.OutOf))
	for i, it := range old.OutOf {
		r.OutOf[i] = m.items[it]
	}
	r.Unseated = m.event(old.Unseated)
	if old.AnyHands != nil {
		r.AnyHands = make(map[*score.Cue]body.Limb, len(old.AnyHands))
		for c, l := range old.AnyHands {
			r.AnyHands[m.cues[c]] = l
		}
	}
	r.Cannot, r.Edge = m.ceiling(r.Cannot), m.ceiling(r.Edge)
	rates := old.scanned()
	r.rates = &rateList{list: slices.Clone(rates.list), edge: rates.edge, cannot: rates.cannot}
	moved := func(rate *Rate) { rate.From, rate.To = m.event(rate.From), m.event(rate.To) }
	for i := range r.rates.list {
		moved(&r.rates.list[i])
	}
	moved(&r.rates.edge.Rate)
	moved(&r.rates.cannot.Rate)
	r.rates.once.Do(func() {}) // it is known
	r.rates.rated.Store(rates.rated.Load().of(p, m.events, r.rates.list))
	return &r, true
}

// PlaysAs says whether a result is of the very player of another one that it went on from, in another
// time, and everything is played in the ways and with the things of that one.
func (r *Result) PlaysAs(old *Result) bool {
	return r.Player == old.Player && r.course != nil && r.course.sameWay && old.course != nil && r.course.of == old.course.mark
}

// A mover knows what in a new score is what in the old one.
type mover struct {
	cues   map[*score.Cue]*score.Cue
	acts   map[*score.Action]*score.Action
	items  map[*score.Item]*score.Item
	events []Event
}

// counterparts pairs two lists, one by one.
func counterparts[T any](old, now []*T) map[*T]*T {
	m := make(map[*T]*T, len(old))
	for i, x := range old {
		m[x] = now[i]
	}
	return m
}

// moveEvents lets the events point at the new score; those of one cue mostly
// stand together.
func (m *mover) moveEvents() {
	var lastCue, nextCue *score.Cue
	for i := range m.events {
		e := &m.events[i]
		if e.Cue != lastCue {
			lastCue, nextCue = e.Cue, m.cues[e.Cue]
		}
		e.Cue = nextCue
		if e.Action != nil {
			e.Action = m.acts[e.Action]
		}
	}
}

func (m *mover) event(e *Event) *Event {
	switch {
	case e == nil:
		return nil
	case e.Kind == Set: // of a change alone
		c := *e
		c.Action = m.acts[e.Action]
		return &c
	}
	return &m.events[e.index]
}

func (m *mover) grip(g Grip) Grip {
	if g.Inst != nil {
		g.Inst = m.items[g.Inst]
	}
	return g
}

func (m *mover) change(c Change) Change {
	c.From, c.To = m.event(c.From), m.event(c.To)
	c.Before, c.After = m.grip(c.Before), m.grip(c.After)
	return c
}

func (m *mover) ceiling(c Ceiling) Ceiling {
	if c.At != nil {
		at := m.change(*c.At)
		c.At = &at
	}
	return c
}

// sameAsked says whether two cues ask for the same way.
func sameAsked(a, b *score.Asked) bool {
	if a == nil || b == nil {
		return a == b
	}
	return a.Ask == b.Ask && a.Mount == b.Mount
}

// samePlayer says whether two players have the same things to do, with the
// same things, from the same places.
func samePlayer(a, b *score.Player) bool {
	if a.Profile != b.Profile || !score.SamePerson(&a.Person, &b.Person) || len(a.Items) != len(b.Items) {
		return false
	}
	place := placesOf(a, b)
	return slices.EqualFunc(a.Items, b.Items, sameItem) &&
		slices.EqualFunc(a.Stations, b.Stations, sameStation) &&
		slices.EqualFunc(a.Tables, b.Tables, sameTable) &&
		slices.EqualFunc(a.Holds[:], b.Holds[:], place.sameHold) &&
		slices.EqualFunc(a.Actions, b.Actions, place.sameAction) &&
		slices.EqualFunc(a.Cues, b.Cues, place.sameCue)
}

func sameStation(x, y score.Station) bool { return x.Name == y.Name && x.At == y.At }

func sameTable(x, y score.Table) bool { return x.At == y.At }

func sameItem(x, y *score.Item) bool {
	return x.Name == y.Name && x.Inst == y.Inst && x.Mount == y.Mount && x.At == y.At && x.Facing == y.Facing && x.Raised == y.Raised && x.Placed == y.Placed && x.Used == y.Used && x.SamePlaces(y)
}

// itemPlaces is where the items of two players stand in their set-ups.
type itemPlaces map[*score.Item]int

func placesOf(players ...*score.Player) itemPlaces {
	place := itemPlaces{}
	for _, p := range players {
		for i, it := range p.Items {
			place[it] = i
		}
	}
	return place
}

func (place itemPlaces) same(x, y *score.Item) bool {
	if x == nil || y == nil {
		return x == y
	}
	return place[x] == place[y]
}

func (place itemPlaces) sameHold(x, y score.Hold) bool {
	return x.Said == y.Said && x.Implement == y.Implement && x.Count == y.Count && x.Beside == y.Beside && place.same(x.Inst, y.Inst)
}

func (place itemPlaces) sameAction(x, y *score.Action) bool {
	return x.Kind == y.Kind && x.Limb == y.Limb && x.By == y.By && x.Implement == y.Implement && x.Count == y.Count && x.Beside == y.Beside &&
		place.same(x.Item, y.Item) && x.At == y.At && x.Pass == y.Pass
}

// sameHeading says whether two cues are for the same thing in the same way.
func (place itemPlaces) sameHeading(x, y *score.Cue) bool {
	return x.Limb == y.Limb && place.same(x.Item, y.Item) && x.Mount == y.Mount && slices.Equal(x.With, y.With) && x.Mallets == y.Mallets && sameAsked(x.Asks, y.Asks) && x.Beside == y.Beside &&
		x.Pass == y.Pass
}

func (place itemPlaces) sameCue(x, y *score.Cue) bool {
	if !place.sameHeading(x, y) || x.From != y.From || x.To != y.To || len(x.Strokes) != len(y.Strokes) {
		return false
	}
	if len(x.Strokes) > 0 && &x.Strokes[0] == &y.Strokes[0] {
		return true
	}
	for k := range x.Strokes {
		if !sameStroke(&x.Strokes[k], &y.Strokes[k]) || !x.StruckAt(k).Equal(y.StruckAt(k)) {
			return false
		}
	}
	return true
}

func sameStroke(s, t *score.Stroke) bool {
	return s.At == t.At && s.End == t.End && s.Flags == t.Flags && s.Grace == t.Grace && s.Hand == t.Hand && s.Bar == t.Bar
}
