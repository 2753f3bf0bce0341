package motion

import (
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// Reuse takes a result over to a score that was bound anew, when nothing that
// the player's path depends on has changed. Only what the result points at is
// new: the path is not looked for again.
func Reuse(old *Result, was, now *score.Score, p *score.Player) (*Result, bool) {
	if old == nil || !was.Time.Equal(now.Time) || !samePlayer(old.Player, p) {
		return nil, false
	}
	cues := make(map[*score.Cue]*score.Cue, len(p.Cues))
	for i, c := range old.Player.Cues {
		cues[c] = p.Cues[i]
	}
	acts := make(map[*score.Action]*score.Action, len(p.Actions))
	for i, a := range old.Player.Actions {
		acts[a] = p.Actions[i]
	}
	items := make(map[*score.Item]*score.Item, len(p.Items))
	for i, it := range old.Player.Items {
		items[it] = p.Items[i]
	}
	r := *old
	r.Player = p
	r.Events = slices.Clone(old.Events)
	var lastCue, nextCue *score.Cue
	for i := range r.Events {
		e := &r.Events[i]
		if e.Cue != nil {
			if e.Cue != lastCue {
				lastCue, nextCue = e.Cue, cues[e.Cue]
			}
			e.Cue = nextCue
		}
		if e.Action != nil {
			e.Action = acts[e.Action]
		}
	}
	event := func(e *Event) *Event {
		if e == nil {
			return nil
		}
		if e.Kind == Set { // of a change alone
			c := *e
			c.Action = acts[e.Action]
			return &c
		}
		return &r.Events[e.index]
	}
	grip := func(g Grip) Grip {
		if g.Inst != nil {
			g.Inst = items[g.Inst]
		}
		return g
	}
	change := func(c Change) Change {
		c.From, c.To = event(c.From), event(c.To)
		c.Before, c.After = grip(c.Before), grip(c.After)
		return c
	}
	r.Changes = make([]Change, len(old.Changes))
	for i, c := range old.Changes {
		r.Changes[i] = change(c)
	}
	r.Conflicts = slices.Clone(old.Conflicts)
	for i, c := range r.Conflicts {
		r.Conflicts[i].A, r.Conflicts[i].B, r.Conflicts[i].Full = event(c.A), event(c.B), event(c.Full)
	}
	for h := range r.Spells {
		r.Spells[h] = slices.Clone(old.Spells[h])
		for i, sp := range r.Spells[h] {
			r.Spells[h][i].Event, r.Spells[h][i].Grip = event(sp.Event), grip(sp.Grip)
		}
	}
	r.Chosen = slices.Clone(old.Chosen)
	for i, c := range r.Chosen {
		r.Chosen[i].Cue, r.Chosen[i].First, r.Chosen[i].Roll = cues[c.Cue], event(c.First), event(c.Roll)
	}
	r.OutOf = make([]*score.Item, len(old.OutOf))
	for i, it := range old.OutOf {
		r.OutOf[i] = items[it]
	}
	r.Unseated = event(old.Unseated)
	if old.AnyHands != nil {
		r.AnyHands = make(map[*score.Cue]body.Limb, len(old.AnyHands))
		for c, l := range old.AnyHands {
			r.AnyHands[cues[c]] = l
		}
	}
	for _, c := range []*Ceiling{&r.Cannot, &r.Edge} {
		if c.At != nil {
			at := change(*c.At)
			c.At = &at
		}
	}
	return &r, true
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
	if a.Profile != b.Profile || !score.SamePerson(&a.Person, &b.Person) || len(a.Stations) != len(b.Stations) || len(a.Items) != len(b.Items) ||
		len(a.Tables) != len(b.Tables) || len(a.Cues) != len(b.Cues) || len(a.Actions) != len(b.Actions) {
		return false
	}
	for i := range a.Stations {
		if a.Stations[i].Name != b.Stations[i].Name || a.Stations[i].At != b.Stations[i].At {
			return false
		}
	}
	for i := range a.Tables {
		if a.Tables[i].At != b.Tables[i].At {
			return false
		}
	}
	place := map[*score.Item]int{}
	for i := range a.Items {
		x, y := a.Items[i], b.Items[i]
		if x.Name != y.Name || x.Inst != y.Inst || x.Mount != y.Mount || x.At != y.At || x.Raised != y.Raised || x.Placed != y.Placed || x.Used != y.Used {
			return false
		}
		place[x], place[y] = i, i
	}
	item := func(x, y *score.Item) bool {
		if x == nil || y == nil {
			return x == y
		}
		return place[x] == place[y]
	}
	implement := func(x, y *kit.Implement) bool { return x == y }
	for h := range a.Holds {
		x, y := a.Holds[h], b.Holds[h]
		if x.Said != y.Said || !implement(x.Implement, y.Implement) || x.Count != y.Count || x.Beside != y.Beside || !item(x.Inst, y.Inst) {
			return false
		}
	}
	for i := range a.Actions {
		x, y := a.Actions[i], b.Actions[i]
		if x.Kind != y.Kind || x.Limb != y.Limb || x.By != y.By || !implement(x.Implement, y.Implement) || x.Count != y.Count || x.Beside != y.Beside ||
			!item(x.Item, y.Item) || x.At != y.At || x.Pass != y.Pass {
			return false
		}
	}
	for i := range a.Cues {
		x, y := a.Cues[i], b.Cues[i]
		if x.Limb != y.Limb || !item(x.Item, y.Item) || x.Mount != y.Mount || !slices.Equal(x.With, y.With) || !sameAsked(x.Asks, y.Asks) || x.Beside != y.Beside ||
			x.Pass != y.Pass || x.From != y.From || x.To != y.To || len(x.Strokes) != len(y.Strokes) {
			return false
		}
		if len(x.Strokes) > 0 && &x.Strokes[0] == &y.Strokes[0] {
			continue
		}
		for k := range x.Strokes {
			s, t := &x.Strokes[k], &y.Strokes[k]
			if s.At != t.At || s.End != t.End || s.Flags != t.Flags || s.Grace != t.Grace || s.Hand != t.Hand || s.Bar != t.Bar {
				return false
			}
		}
	}
	return true
}
