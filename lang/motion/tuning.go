package motion

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"example.org/handful/lang/body"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/score"
)

// Which kettle of a set of timpani has which note, and when it is tuned to
// another one.

// A Tuning is how one player's set of kettles gets through the piece.
type Tuning struct {
	Item  *score.Item
	First []pitch.Pitch // what each is tuned to before the beginning; none where it has no note to play
	// Would is how many kettles would do, the ones more reaching every note of
	// the set, where these do not; 0 where these do, or no number of kettles.
	Would int
}

// A Retuning is one kettle that gets another note.
type Retuning struct {
	Kettle   int // from 1
	From, To pitch.Pitch
}

// A Crowd is a moment at which a set has too few kettles for its notes.
type Crowd struct {
	Event *Event
	Item  *score.Item
	Lacks []pitch.Pitch // that have no kettle
	Notes []pitch.Pitch // of the moment, and of rolls that go on
}

// At most so many situations of the kettles are followed from note to note, the
// cheapest of them; mostMore is how many kettles more are tried.
const (
	mostTunings = 96
	mostMore    = 4
	mostKettles = 16 // + mostMore; a kit has no more, see kit
)

// What orders the ways to give a set's notes to its kettles: first that every
// note has one, then the time there is to retune, then how seldom that is, and
// then how near the notes are to the middle of what a pedal reaches, where they
// sound best (common practice, no source). They are costs.
const (
	noKettle      int64 = 1e12
	tuneMissing   int64 = 1e9
	tuneAtEdge    int64 = 1e7
	tuneTight     int64 = 1e5
	tuneOnce      int64 = 1e3
	tuneOffMiddle int64 = 1
)

// A tuned is one note for a kettle.
type tuned struct {
	pitch.Pitch
	event  *Event
	moment int32 // those of one moment have the same
	until  float64
}

// kettleAt is what a kettle was struck with last, by number and 1; 0 is not yet,
// and below 0 it is a key of MIDI, and 1, that there has been time to change
// since, so that it does not matter when that was.
type kettleAt int32

type tuneState struct {
	at   [mostKettles + mostMore]kettleAt
	cost int64
	tuneStep
}

// A tuneStep is the kettle of a note, from 0, or -1, and the situation before.
type tuneStep struct {
	back int32
	on   int8
}

// tune finds how a player's kettles are tuned through the piece. Nothing is done
// where no stroke on kettles says its note.
func (r *Result) tune() {
	var items []*score.Item
	for _, c := range r.Player.Cues {
		if c.Struck != nil && len(c.Item.Inst.Kettles) > 0 && len(c.Item.Inst.Kettles) <= mostKettles && !slices.Contains(items, c.Item) {
			items = append(items, c.Item)
		}
	}
	if items == nil {
		return
	}
	t := tuner{Result: r}
	t.busy()
	for _, it := range items {
		t.set(it)
	}
	t.place()
}

type tuner struct {
	*Result
	feet  [2][]spell // when each foot plays
	notes []tuned
	gaps  map[[2]int32]float64
}

// A spell is a time in which a foot or the ears are taken.
type spell struct{ from, to float64 }

// busy lists when the feet play: for as long the pedal of a kettle is not theirs.
func (t *tuner) busy() {
	both := map[*score.Cue]bool{}
	for _, ch := range t.Chosen {
		if feetOf(ch.Way) > 1 {
			both[ch.Cue] = true
		}
	}
	for i := range t.Events {
		e := &t.Events[i]
		for f, foot := range [2]body.Limbs{body.RF, body.LF} {
			if e.Limbs&foot != 0 || both[e.Cue] && e.Cue != nil {
				t.feet[f] = append(t.feet[f], spell{e.T0, until(e)})
			}
		}
	}
}

// set finds how one set is tuned.
func (t *tuner) set(it *score.Item) {
	t.notesOf(it)
	if len(t.notes) == 0 {
		return
	}
	kettles := it.Inst.Kettles
	on, worst := t.assign(it, 0)
	tuning := Tuning{Item: it, First: make([]pitch.Pitch, len(kettles))}
	if worst >= tuneMissing {
		for more := 1; more <= mostMore; more++ {
			if _, left := t.assign(it, more); left < tuneMissing {
				tuning.Would = len(kettles) + more
				break
			}
		}
	}
	last := make([]int, len(kettles)) // and 1
	for i, k := range on {
		n := &t.notes[i]
		switch {
		case k < 0:
			t.crowd(it, i)
			continue
		case last[k] == 0:
			tuning.First[k] = n.Pitch
		case t.notes[last[k]-1].Semitone() != n.Semitone():
			was := &t.notes[last[k]-1]
			t.Retunings = append(t.Retunings, Change{
				From: was.event, To: n.event, Start: was.until, Hand: body.RightFoot,
				Retunes: &Retuning{Kettle: int(k) + 1, From: was.Pitch, To: n.Pitch},
			})
		}
		last[k] = i + 1
	}
	t.Tunings = append(t.Tunings, tuning)
}

// crowd notes that one note of a moment has no kettle.
func (t *tuner) crowd(it *score.Item, i int) {
	n := &t.notes[i]
	at := len(t.Crowds) - 1
	if at < 0 || t.Crowds[at].Item != it || t.Crowds[at].Event.T0 != n.event.T0 {
		at++
		c := Crowd{Event: n.event, Item: it}
		for k := range t.notes {
			o := &t.notes[k]
			if o.moment > n.moment {
				break
			}
			same := func(p pitch.Pitch) bool { return p.Semitone() == o.Semitone() }
			if (o.moment == n.moment || o.until > n.event.T0+eps) && !slices.ContainsFunc(c.Notes, same) {
				c.Notes = append(c.Notes, o.Pitch)
			}
		}
		t.Crowds = append(t.Crowds, c)
	}
	t.Crowds[at].Lacks = append(t.Crowds[at].Lacks, n.Pitch)
}

// notesOf lists the notes of a set in played order, each once at its moment. What
// no kettle reaches is left out, and told elsewhere.
func (t *tuner) notesOf(it *score.Item) {
	t.notes, t.gaps = t.notes[:0], map[[2]int32]float64{}
	moment := int32(-1)
	began := math.Inf(-1)
	for i := range t.Events {
		e := &t.Events[i]
		if e.Cue == nil || e.Cue.Item != it || e.Kind != Strike && e.Kind != RollOn {
			continue
		}
		s := e.Cue.StruckAt(int(e.Stroke))
		if s == nil {
			continue
		}
		if e.T0 > began+eps {
			moment++
			began = e.T0
		}
		for _, k := range s.Keys {
			if k.Pitch.None() || kettleFor(it.Inst, k) == 0 {
				continue
			}
			had := false
			for b := len(t.notes) - 1; b >= 0 && t.notes[b].moment == moment && !had; b-- {
				if had = t.notes[b].Semitone() == k.Pitch.Semitone(); had {
					t.notes[b].until = max(t.notes[b].until, until(e))
				}
			}
			if !had {
				t.notes = append(t.notes, tuned{k.Pitch, e, moment, until(e)})
			}
		}
	}
}

// assign gives each note a kettle, from 0, or -1: a shortest path over what each
// kettle was struck with last. It says what it costs.
func (t *tuner) assign(it *score.Item, more int) (on []int8, cost int64) {
	l := &tuneLayer{tuner: t, it: it, count: len(it.Inst.Kettles) + more, need: t.Player.Profile.Retune().Pace, seen: map[[mostKettles + mostMore]kettleAt]int{}}
	now, was := make([]tuneState, 1, 4*mostTunings), make([]tuneState, 0, 4*mostTunings)
	steps := make([][]tuneStep, len(t.notes))
	for i := range t.notes {
		now, was = l.after(now, was, i), now
		for k := range now {
			steps[i] = append(steps[i], now[k].tuneStep)
		}
	}
	best := 0
	for i := range now {
		if now[i].cost < now[best].cost {
			best = i
		}
	}
	cost = now[best].cost
	on = make([]int8, len(t.notes))
	for i := len(t.notes) - 1; i >= 0; i-- {
		step := steps[i][best]
		on[i], best = step.on, int(step.back)
	}
	return on, cost
}

// A tuneLayer is the situations after a note, while they are found.
type tuneLayer struct {
	*tuner
	it    *score.Item
	count int // of kettles, with those that there might be more
	need  body.Pace
	seen  map[[mostKettles + mostMore]kettleAt]int
	next  []tuneState
}

// after is what the situations become with one more note, in the room that is
// given; the dearest of very many are dropped.
func (l *tuneLayer) after(before, room []tuneState, i int) []tuneState {
	clear(l.seen)
	l.next = room[:0]
	alone := !l.beside(i)
	for b := range before {
		s := before[b]
		s.back = int32(b)
		l.settle(&s, i)
		if placed := l.onKettles(s, i); !placed || !alone {
			l.add(l.none(s, i))
		}
	}
	if len(l.next) > mostTunings {
		slices.SortStableFunc(l.next, func(a, b tuneState) int { return cmp.Compare(a.cost, b.cost) })
		l.next = l.next[:mostTunings]
	}
	return l.next
}

// settle forgets when kettles were struck that might long have been retuned.
func (l *tuneLayer) settle(s *tuneState, i int) {
	for k, was := range s.at[:l.count] {
		if was > 0 && l.notes[was-1].until < l.notes[i].event.T0 && l.gap(int32(was-1), int32(i), l.need.Steady) >= l.need.Steady {
			s.at[k] = -kettleAt(l.notes[was-1].Semitone()) - 1
		}
	}
}

// beside says whether other notes sound while this one is struck, so that it may
// be the one for which there is no kettle.
func (l *tuneLayer) beside(i int) bool {
	n := &l.notes[i]
	return n.until > n.event.T0 || n.moment == l.notes[max(0, i-1)].moment || i+1 < len(l.notes) && l.notes[i+1].moment == n.moment
}

func (l *tuneLayer) add(s tuneState) {
	at, ok := l.seen[s.at]
	switch {
	case !ok:
		l.seen[s.at] = len(l.next)
		l.next = append(l.next, s)
	case s.cost < l.next[at].cost:
		l.next[at] = s
	}
}

// none is a situation in which the note has no kettle. What comes while a roll
// goes on is one too many, rather than the roll.
func (l *tuneLayer) none(s tuneState, i int) tuneState {
	s.cost, s.on = s.cost+noKettle, -1
	if n := &l.notes[i]; n.until > n.event.T0 {
		s.cost += tuneOnce
	}
	return s
}

// onKettles adds the situations in which the note is on each kettle that reaches
// it, and says whether there is one.
func (l *tuneLayer) onKettles(s tuneState, i int) (placed bool) {
	n, kettles := &l.notes[i], l.it.Inst.Kettles
	for k := range l.count {
		if k < len(kettles) && !kettles[k].Reaches(n.Pitch) {
			continue
		}
		cost, ok := l.retuning(s.at[k], k, i)
		if !ok {
			continue
		}
		to := s
		to.cost += cost
		to.at[k], to.on = kettleAt(i+1), int8(k)
		l.add(to)
		placed = true
	}
	return placed
}

// retuning is what a note costs on a kettle that was struck before; false where
// that still sounds.
func (l *tuneLayer) retuning(was kettleAt, k, i int) (cost int64, ok bool) {
	n := &l.notes[i]
	if was == 0 {
		return offMiddle(l.it, k, n.Pitch), true
	}
	if was < 0 {
		if int(-was-1) == n.Semitone() {
			return 0, true
		}
		return tuneOnce + offMiddle(l.it, k, n.Pitch), true
	}
	last := &l.notes[was-1]
	if last.Semitone() == n.Semitone() {
		return 0, true
	}
	if last.moment == n.moment || last.until > n.event.T0+eps {
		return 0, false
	}
	cost = tuneOnce + offMiddle(l.it, k, n.Pitch)
	switch BandOf(l.need, l.gap(int32(was-1), int32(i), l.need.Steady)) {
	case Missing:
		cost += tuneMissing
	case AtEdge:
		cost += tuneAtEdge
	case Tight:
		cost += tuneTight
	}
	return cost, true
}

// offMiddle is how far a note is from the middle of what a kettle reaches, in
// quarter tones.
func offMiddle(it *score.Item, k int, p pitch.Pitch) int64 {
	if k >= len(it.Inst.Kettles) {
		return 0
	}
	kettle := it.Inst.Kettles[k]
	off := 2*p.Semitone() - kettle.Low.Semitone() - kettle.High.Semitone()
	return int64(max(off, -off)) * tuneOffMiddle
}

// gap is the time that a foot has between two notes.
func (t *tuner) gap(was, now int32, easy float64) float64 {
	from, to := t.notes[was].until, t.notes[now].event.T0
	if t.feet[0] == nil || t.feet[1] == nil {
		return to - from
	}
	key := [2]int32{was, now}
	window, ok := t.gaps[key]
	if !ok {
		_, window, _ = t.opening(from, to, easy, nil)
		t.gaps[key] = window
	}
	return window
}

// opening is the first time between two moments in which a foot is free for as
// long as is easy, or the longest there is; taken is when the ears are not.
func (t *tuner) opening(from, to, easy float64, taken []spell) (start, window float64, foot body.Limb) {
	start, foot = from, body.RightFoot
	for f := range t.feet {
		list := slices.Clone(taken)
		plays := t.feet[f]
		first := sort.Search(len(plays), func(i int) bool { return plays[i].to > from })
		for _, s := range plays[first:] {
			if s.from >= to {
				break
			}
			list = append(list, s)
		}
		slices.SortFunc(list, func(a, b spell) int { return cmp.Compare(a.from, b.from) })
		at := from
		for _, s := range append(list, spell{to, to}) {
			if free := min(s.from, to) - at; free > window+eps {
				start, window, foot = at, free, [2]body.Limb{body.RightFoot, body.LeftFoot}[f]
				if window >= easy {
					return start, window, foot
				}
			}
			at = max(at, s.to)
		}
	}
	return start, window, foot
}

// place gives each retuning its time: one after the other, since the ears follow
// one kettle at a time; what is needed first goes first, and what has its time
// before that or behind it goes there.
func (t *tuner) place() {
	motion := t.Player.Profile.Retune()
	slices.SortStableFunc(t.Retunings, func(a, b Change) int { return cmp.Compare(a.To.T0, b.To.T0) })
	var taken []spell
	for i := range t.Retunings {
		c := &t.Retunings[i]
		c.Motions, c.Need = []body.Motion{motion}, motion.Pace
		end := c.To.T0
		first := sort.Search(len(taken), func(k int) bool { return taken[k].to > c.Start })
		c.Start, c.Window, c.Hand = t.opening(c.Start, end, c.Need.Steady, taken[first:])
		c.Ratio, c.EdgeRatio = c.Window/c.Need.Limit, c.Window/c.Need.Floor
		s := spell{c.Start, c.Start + min(c.Window, c.Need.Steady)}
		at := sort.Search(len(taken), func(k int) bool { return taken[k].from > s.from })
		taken = slices.Insert(taken, at, s)
	}
}
