package motion

import (
	"maps"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// Who has other strokes in a few bars goes the same way up to them, and mostly goes on
// as before a little behind them. So what is kept of looking for a path is taken over up to
// the first stage that is another, and from where the situations are again those that
// there were, with the same that comes.

// A course is what is kept of looking for a path.
type course struct {
	player    *score.Player
	time      *beat.Timeline
	catalogue *kit.Catalogue
	crowded   bool
	places    []Place
	outOf     []*score.Item
	brought   map[string]bool
	inPalm    map[*score.Cue]bool
	footing   []body.Limbs
	acts      [2][]timed

	events  []Event
	settled map[int32]bool // events to which the path gave a limb
	stages  []stage
	layers  [][]state
	chosen  [][]stageOption

	grips   []Grip
	gripIDs map[Grip]uint16
	demands map[demand][]option
	options int
	moments map[string][]stageOption
	alone   [][]stageOption
}

// SolveAfter is SolveUntil for a player who had nearly the same to do before; old is
// what was found then, or nil.
func SolveAfter(old *Result, s *score.Score, p *score.Player, stop func() bool) *Result {
	a := &ahead{sets: tuneAhead(s, p), cues: make([]cueAhead, len(p.Cues)), remembers: true}
	if old != nil {
		a.course = old.course
	}
	return solveAhead(s, p, a, stop)
}

// keep keeps of the solver what another one may go on from, where nothing was cut and
// nothing says what it strikes.
func (v *solver) keep(res *Result, layers [][]state, chosen [][]stageOption) {
	if !v.remembers || v.hop != nil || res.AnyHands != nil || v.sets != nil || v.laid != nil || len(v.cut)+len(v.twos) > 0 {
		return
	}
	res.course = &course{
		player: v.player, time: v.score.Time, catalogue: v.score.Catalogue, crowded: v.crowded, places: v.places, outOf: v.outOf, brought: v.brought,
		inPalm: v.inPalm, footing: v.footing, acts: v.acts, events: v.events, settled: v.settled, stages: v.stages, layers: layers, chosen: chosen,
		grips: v.grips, gripIDs: v.gripIDs, demands: v.demands, options: v.options, moments: v.moments, alone: v.alone,
	}
}

// resumed is what of a course holds for what is looked for now: the events and stages
// up to some, and from some on.
type resumed struct {
	*course
	v      *solver
	cues   map[*score.Cue]counterpart
	recent [4]struct { // of them
		was *score.Cue
		counterpart
	}
	next           int
	events, stages int // that are the same from the beginning on
	tail, goesOn   int // the event, and the stage, from which on they are again
	later, further int // how many more events and stages there are
}

// A counterpart is what is in the place of a cue, and whether its strokes are the very ones.
type counterpart struct {
	now  *score.Cue
	same bool
}

// resume takes over what a course knows of ways of playing, before the stages are laid;
// it is nil where the course is no good.
func (v *solver) resume() *resumed {
	c := v.course
	if c == nil || v.hop != nil || v.sets != nil || v.laid != nil || len(v.cut)+len(v.twos) > 0 || c.catalogue != v.score.Catalogue || !c.time.Equal(v.score.Time) ||
		!sameButStrokes(c.player, v.player) || c.crowded != v.crowded || !slices.Equal(c.places, v.places) || !slices.Equal(c.outOf, v.outOf) ||
		!maps.Equal(c.brought, v.brought) || !slices.Equal(c.acts[0], v.acts[0]) || !slices.Equal(c.acts[1], v.acts[1]) ||
		(c.footing == nil) != (v.footing == nil) || len(v.grips) > len(c.grips) {
		return nil
	}
	r := &resumed{course: c, v: v, cues: make(map[*score.Cue]counterpart, len(v.player.Cues))}
	for i, now := range v.player.Cues {
		was := c.player.Cues[i]
		if c.inPalm[was] != v.inPalm[now] {
			return nil
		}
		r.cues[was] = counterpart{now, len(was.Strokes) == len(now.Strokes) && (len(was.Strokes) == 0 || &was.Strokes[0] == &now.Strokes[0])}
	}
	v.grips, v.gripIDs, v.options = slices.Clone(c.grips), maps.Clone(c.gripIDs), c.options
	v.moments, v.alone = maps.Clone(c.moments), slices.Clone(c.alone)
	v.demands = make(map[demand][]option, len(c.demands)+8)
	for d, list := range c.demands {
		if d.cue != nil {
			d.cue = r.cues[d.cue].now
		}
		v.demands[d] = list
	}
	return r
}

// sameButStrokes says whether two players have the same cues for the same things, from
// the same places, but for what strokes there are in them.
func sameButStrokes(a, b *score.Player) bool {
	return a.Profile == b.Profile && score.SamePerson(&a.Person, &b.Person) && slices.Equal(a.Items, b.Items) && slices.Equal(a.Stations, b.Stations) &&
		slices.Equal(a.Tables, b.Tables) && a.Holds == b.Holds && slices.Equal(a.Actions, b.Actions) &&
		slices.EqualFunc(a.Cues, b.Cues, func(x, y *score.Cue) bool {
			return x == y || x.Limb == y.Limb && x.Item == y.Item && x.Mount == y.Mount && slices.Equal(x.With, y.With) && sameAsked(x.Asks, y.Asks) &&
				x.Beside == y.Beside && x.Pass == y.Pass
		})
}

// compare finds how far what is to be done is the same, once the stages are laid.
func (r *resumed) compare() {
	was, now := r.course.events, r.v.events
	least := min(len(was), len(now))
	for r.events < least && r.sameEvent(r.events, r.events) {
		r.events++
	}
	r.later, r.further = len(now)-len(was), len(r.v.stages)-len(r.course.stages)
	tail := 0
	for tail < least-r.events && r.sameEvent(len(was)-1-tail, len(now)-1-tail) {
		tail++
	}
	r.tail = len(now) - tail
	stages, before := r.v.stages, r.course.stages
	for r.stages < min(len(stages), len(before)) {
		s := &stages[r.stages]
		if *s != before[r.stages] || int(s.first+s.count) > r.events {
			break
		}
		r.stages++
	}
	r.goesOn = len(stages)
	for r.goesOn > max(r.stages, r.stages+r.further) {
		s, w := &stages[r.goesOn-1], before[r.goesOn-1-r.further]
		if int(s.first) < r.tail || !r.moved(&w) || w != *s {
			break
		}
		r.goesOn--
	}
}

// moved moves the events of a stage to where they are now, and is false where one of
// them is gone.
func (r *resumed) moved(s *stage) bool {
	ok := r.event(&s.first) && r.event(&s.bodyEv)
	for h := range s.prevEv {
		ok = ok && r.event(&s.prevEv[h])
	}
	return ok
}

// event is the number that an event of before has now.
func (r *resumed) event(n *int32) bool { return shifted(n, r.events, r.tail, r.later) }

// shifted moves a number that was below some or from some on; -1 is none.
func shifted(n *int32, below, from, by int) bool {
	switch k := int(*n); {
	case k < below:
	case k >= from-by:
		*n = int32(k + by)
	default:
		return false
	}
	return true
}

// sameEvent says whether an event of before is what another one is now.
func (r *resumed) sameEvent(i, k int) bool {
	e, f := &r.course.events[i], &r.v.events[k]
	limbs := e.Limbs
	if r.settled[int32(i)] {
		limbs &= droppedBit
	}
	if e.T0 != f.T0 || e.T1 != f.T1 || e.Span != f.Span || limbs != f.Limbs || e.Grace != f.Grace || e.Kind != f.Kind || e.Left != f.Left || e.Action != f.Action ||
		r.footing != nil && r.footing[i] != r.v.footing[k] {
		return false
	}
	if e.Cue == nil || f.Cue == nil {
		return e.Cue == f.Cue
	}
	c := r.counterpart(e.Cue)
	switch {
	case c.now != f.Cue:
		return false
	case c.same:
		return e.Stroke == f.Stroke
	}
	return sameStroke(&e.Cue.Strokes[e.Stroke], &f.Cue.Strokes[f.Stroke]) && (e.Kind != Choke || sameNext(e, f))
}

// sameNext says whether the strokes behind those of two events are at the same place,
// or there is none.
func sameNext(e, f *Event) bool {
	i, k := int(e.Stroke)+1, int(f.Stroke)+1
	if i >= len(e.Cue.Strokes) || k >= len(f.Cue.Strokes) {
		return i >= len(e.Cue.Strokes) && k >= len(f.Cue.Strokes)
	}
	return sameStroke(&e.Cue.Strokes[i], &f.Cue.Strokes[k])
}

func (r *resumed) counterpart(c *score.Cue) counterpart {
	for i := range r.recent {
		if r.recent[i].was == c {
			return r.recent[i].counterpart
		}
	}
	found := r.cues[c]
	slot := &r.recent[r.next%len(r.recent)]
	slot.was, slot.counterpart = c, found
	r.next++
	return found
}

// begin takes over what comes before the first stage that is another.
func (r *resumed) begin(layers [][]state, chosen [][]stageOption) (stage int) {
	if r == nil {
		return 0
	}
	copy(layers[1:r.stages+1], r.layers[1:r.stages+1])
	copy(chosen[:r.stages], r.chosen[:r.stages])
	return r.stages
}

// rest takes over all that comes from a stage on, if it begins in the situations of before.
func (r *resumed) rest(si int, layers [][]state, chosen [][]stageOption) bool {
	if r == nil || si < r.goesOn {
		return false
	}
	more, ok := r.dearer(r.layers[si-r.further], layers[si])
	if !ok {
		return false
	}
	copy(chosen[si:], r.chosen[si-r.further:])
	for n := si + 1; n < len(layers); n++ {
		was := r.layers[n-r.further]
		if more == 0 && r.later == 0 && r.further == 0 {
			layers[n] = was
			continue
		}
		now := r.v.kept(was)
		for i := range now {
			now[i].cost += more
			r.situation(&now[i].situation)
		}
		layers[n] = now
	}
	return true
}

// dearer is by how much all of some states cost more than those of before, which is
// false where they are not the same ones.
func (r *resumed) dearer(was, now []state) (more int64, ok bool) {
	if len(was) != len(now) || len(now) == 0 {
		return 0, false
	}
	more = now[0].cost - was[0].cost
	for i := range now {
		x, y := &was[i], &now[i]
		s := x.situation
		if y.cost-x.cost != more || x.bears[0].ratio != y.bears[0].ratio || x.bears[1].ratio != y.bears[1].ratio || !r.situation(&s) || s != y.situation {
			return 0, false
		}
	}
	return more, true
}

// situation moves a situation to where its events and stages are now.
func (r *resumed) situation(s *situation) bool {
	return r.event(&s.extra[0]) && r.event(&s.extra[1]) && shifted(&s.moved, r.stages, r.goesOn, r.further)
}
