package motion

import (
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
)

// Which situations lead into which, and what is to be done on the way, does not depend on
// how quick the music goes, as long as the same comes before the same: only how long there
// is for it does. So what was tried on the way into a stage is noted, and in another tempo
// nothing but the prices is worked out anew.

// Neither does it depend on where exactly things stand, as long as they are had from the same
// places: see displaced.go.

// A step is what was tried on the way into a stage.
type step struct {
	ways []tried
	legs []toPrice
}

// A tried way goes from a state before a stage by one of its options into a state behind it.
type tried struct {
	cost          int64 // but for its legs
	from, opt, to int32
	legs          [mostLegs]int16 // of the step
	count         int8
	bearsNone     bool // it cannot be gone in any tempo
}

// mostLegs is how many legs a tried way may have, to be noted.
const mostLegs = 2

// A leg that is to be priced has a need between two events: one of those before the stage,
// and one of its own.
type toPrice struct {
	need  body.Pace
	until int32 // counted from the first of the stage
	key   legKey
	since int8 // see before
	bare  bool // nothing is needed but the leg of its key
}

// before are the events before a stage with which the time for a leg may begin; the last is none.
func (st *stage) before() [5]int32 {
	return [5]int32{st.prevEv[0], st.prevEv[1], st.prevEv[2], st.bodyEv, -1}
}

// A note is what is written down of the stage that is being tried.
type note struct {
	on    bool // somebody wants it
	whole bool // nothing came up that is not written down
	step
}

func (n *note) begin() {
	n.whole, n.ways, n.legs = n.on, n.ways[:0], n.legs[:0]
}

// leg notes the one leg of an errand without set places, and gives its number, or -1 where
// there is more to it.
func (n *note) leg(st *stage, r *errand, legs []timedLeg) int16 {
	l := &legs[len(legs)-1]
	before := st.before()
	since := slices.Index(before[:], l.window.since)
	if l.bodyEv >= 0 || l.among || since < 0 {
		return -1
	}
	n.legs = append(n.legs, toPrice{l.need, r.ev - st.first, l.key, int8(since), len(l.pre)+len(l.post) == 0})
	return int16(len(n.legs) - 1)
}

// way notes a way that is tried, with its legs.
func (n *note) way(cost int64, bearsNone bool, legs []transition) {
	if !n.whole {
		return
	}
	w := tried{cost: cost, count: int8(len(legs)), bearsNone: bearsNone}
	for i := range legs {
		t := &legs[i]
		if t.noted < 0 || i >= mostLegs {
			n.whole = false
			return
		}
		w.cost += t.cost - t.priced
		w.bearsNone = w.bearsNone || t.full
		w.legs[i] = t.noted
	}
	n.ways = append(n.ways, w)
}

// arrives notes where the latest way comes from, by which option, and where it leads.
func (n *note) arrives(from, opt, to int32) {
	if n.whole {
		w := &n.ways[len(n.ways)-1]
		w.from, w.opt, w.to = from, opt, to
	}
}

// noted is the step into the stage that was tried, or nil where not all of it is written down;
// where it is what it was, it is the very one.
func (v *solver) noted(si int) *step {
	n := &v.note
	if !n.whole {
		return nil
	}
	if c := v.course; c != nil && si < len(c.steps) {
		if s := c.steps[si]; s != nil && slices.Equal(s.ways, n.ways) && slices.Equal(s.legs, n.legs) {
			return s
		}
	}
	s := v.newStep()
	v.waysLeft, s.ways = atEnd(v.waysLeft, n.ways)
	v.legsLeft, s.legs = atEnd(v.legsLeft, n.legs)
	return s
}

// newStep is room for another step.
func (v *solver) newStep() *step {
	if len(v.newSteps) == 0 {
		v.newSteps = make([]step, min(256, len(v.stages)))
	}
	s := &v.newSteps[0]
	v.newSteps = v.newSteps[1:]
	return s
}

// atEnd is a copy of a list at the beginning of some room, and what is left of the room.
func atEnd[T any](room, list []T) (left, copied []T) {
	if len(list) > len(room) {
		room = make([]T, max(len(list), 256))
	}
	n := copy(room, list)
	return room[n:], room[:n:n]
}

// retimed says whether the course is of this very player in another time, in which the same
// is played, and gives its events in the time of now if what comes before what has stayed.
func (v *solver) retimed() []Event {
	c := v.course
	if v.paired == nil || c.player != v.player || c.acts[0] != nil || c.acts[1] != nil || !c.time.Alike(v.score.Time) {
		return nil
	}
	events := slices.Clone(c.events)
	v.unsettled(events)
	var ends [][2]float64 // of rolls, then and now
	for i := range events {
		e := &events[i]
		setTime(v.score, v.player, e)
		if i > 0 && !samePause(c.events[i].T0-c.events[i-1].T0, e.T0-events[i-1].T0) {
			return nil
		}
		if e.Kind == RollOn {
			ends = append(ends, [2]float64{c.events[i].T1, e.T1})
		}
	}
	if len(ends) > 0 && !sameOrder(c.events, events, ends) {
		return nil
	}
	return events
}

// unsettled takes from events of the course what its path gave them.
func (v *solver) unsettled(events []Event) {
	for i := range events {
		if e := &events[i]; v.course.settled[int32(i)] {
			e.Limbs = 0
		} else {
			e.Limbs &^= droppedBit
		}
	}
}

// samePause says whether two moments are one in either time, or clearly come one after the other.
func samePause(was, now float64) bool {
	return was == 0 && now == 0 || was > 4*eps && now > 4*eps
}

// sameOrder says whether ends of rolls stand to the events and to one another as they did.
func sameOrder(was, now []Event, ends [][2]float64) bool {
	slices.SortFunc(ends, func(a, b [2]float64) int {
		switch {
		case a[0] < b[0]:
			return -1
		case a[0] > b[0]:
			return 1
		}
		return 0
	})
	last, i := [2]float64{was[0].T0, now[0].T0}, 0
	follows := func(p [2]float64) bool {
		ok := samePause(p[0]-last[0], p[1]-last[1])
		last = p
		return ok
	}
	for _, end := range ends {
		for ; i < len(was) && was[i].T0 <= end[0]; i++ {
			if !follows([2]float64{was[i].T0, now[i].T0}) {
				return false
			}
		}
		if !follows(end) {
			return false
		}
	}
	return i == len(was) || follows([2]float64{was[i].T0, now[i].T0})
}

// sameOverlaps leaves out what the course left out, since a limb is booked twice at once.
func (v *solver) sameOverlaps(res *Result) {
	c := v.course
	v.dropped = c.dropped
	for i := range c.conflicts[:c.clashes] {
		res.Conflicts = append(res.Conflicts, v.conflictNow(c.conflicts[i]))
	}
	for was := range c.inPalm {
		v.inPalm[v.cueNow(was)] = true
	}
}

// cueNow is what a cue of the course, in which the same is played, is now; eventNow and
// conflictNow are that of an event and of a conflict.
func (v *solver) cueNow(was *score.Cue) *score.Cue {
	if v.course.player == v.player {
		return was
	}
	return v.paired[was].now
}

func (v *solver) eventNow(was *Event) *Event {
	if was == nil {
		return nil
	}
	return &v.events[was.index]
}

func (v *solver) conflictNow(c Conflict) Conflict {
	c.A, c.B, c.Full = v.eventNow(c.A), v.eventNow(c.B), v.eventNow(c.Full)
	return c
}

// goesSameWay says whether a path goes by the same situations and options as that of the
// course, in which the same is played.
func (v *solver) goesSameWay(path []int32, layers [][]state, steps []*step) bool {
	c := v.course
	if !v.again || c.path == nil || !slices.Equal(c.path.states, path) {
		return false
	}
	for si, s := range steps {
		was := c.steps[si]
		if s == nil || was == nil || s != was && (len(s.ways) == 0 || len(was.ways) == 0 || &s.ways[0] != &was.ways[0]) ||
			layers[si+1][path[si+1]].opt != c.layers[si+1][path[si+1]].opt {
			return false
		}
	}
	return true
}

// readAgain is what was read back of the course's path, where it goes the same way.
func (v *solver) readAgain(res *Result) {
	c := v.course
	res.Conflicts = slices.Grow(res.Conflicts, len(c.conflicts)-c.clashes)
	for _, k := range c.conflicts[c.clashes:] {
		res.Conflicts = append(res.Conflicts, v.conflictNow(k))
	}
	for h := range c.spells {
		list := slices.Clone(c.spells[h])
		for i := range list {
			s := &list[i]
			if s.Grip = v.mover.grip(s.Grip); s.Event != nil {
				s.Event = v.eventNow(s.Event)
				s.From = s.Event.T0
			}
		}
		res.Spells[h] = list
	}
	res.Chosen = slices.Clone(c.ways)
	for i := range res.Chosen {
		ch := &res.Chosen[i]
		ch.Cue, ch.First, ch.Roll = v.cueNow(ch.Cue), v.eventNow(ch.First), v.eventNow(ch.Roll)
	}
	res.Unseated = v.eventNow(c.unseated)
}

// relay lays the stages of a course anew, each at its time of now.
func (v *solver) relay() {
	if v.clashes > 0 {
		for i := range v.dropped {
			if v.dropped[i] {
				v.events[i].Limbs |= droppedBit
			}
		}
	}
	v.stages, v.halts = v.course.stages, v.sameHalts()
}

// A pricedLeg is what a leg costs by now, and the tempo factors that it bears.
type pricedLeg struct {
	cost  int64
	bears [2]float64
}

// retries goes into a stage of a course in another time as was tried then, if that is noted.
func (v *solver) retries(si int, layers [][]state, steps []*step) bool {
	c := v.course
	if !v.again || c.steps[si] == nil {
		return false
	}
	s := v.stepNow(c.steps[si])
	if s == nil {
		return false
	}
	if s != c.steps[si] { // steps are its own then
		steps[si] = s
	}
	layers[si+1] = v.retry(si, s, layers[si], c.layers[si+1])
	return true
}

// idles says whether there is nothing to do on the way that a path takes into a stage, since
// there was nothing on the same way, which took as long, in the course.
func (v *solver) idles(si int, path []int32, opt int32, steps []*step) bool {
	if !v.again || v.course.steps[si] == nil || v.course.steps[si] != steps[si] || v.course.path == nil {
		return false
	}
	was := v.course.path
	return was.states[si] == path[si] && was.states[si+1] == path[si+1] && v.course.layers[si+1][path[si+1]].opt == opt && len(was.into(si)) == 0
}

// retry goes the ways again that were tried into a stage, at today's prices; was are the
// states to which they led.
func (v *solver) retry(si int, s *step, from, was []state) []state {
	st := &v.stages[si]
	before := st.before()
	v.prices = v.prices[:0]
	for i := range s.legs {
		l := &s.legs[i]
		w := v.begin(before[l.since])
		v.end(&w, st.first+l.until)
		cost, bears := price(l.need, &w)
		v.prices = append(v.prices, pricedLeg{cost, bears})
	}
	out, there := v.kept(was), int32(0)
	for i := range s.ways {
		w := &s.ways[i]
		x := &from[w.from]
		cost, bears := x.cost+w.cost, [2]float64{x.bears[0].ratio, x.bears[1].ratio}
		for _, k := range w.legs[:w.count] {
			p := &v.prices[k]
			cost += p.cost
			bears[0], bears[1] = min(bears[0], p.bears[0]), min(bears[1], p.bears[1])
		}
		if w.bearsNone {
			bears = [2]float64{}
		}
		y := &out[w.to]
		if w.to == there { // the first that leads to it
			there++
			y.cost, y.back, y.opt = cost, w.from, w.opt
			y.bears = [2]bearing{{bears[0], w.from, w.opt}, {bears[1], w.from, w.opt}}
			continue
		}
		y.betters(cost, bears, w.from, w.opt)
	}
	return out
}
