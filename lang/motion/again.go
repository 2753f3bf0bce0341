package motion

import (
	"maps"
	"slices"
	"sort"

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
	halts   []halt
	layers  [][]state
	chosen  [][]stageOption
	steps   []*step
	path    *traced

	mark, of  *mark  // of this course, and of the one that it went on from
	sameWay   bool   // the path goes as that of the course before, in which the same is played
	dropped   []bool // events that are left out
	clashes   int    // how many of the conflicts are because of that
	conflicts []Conflict
	spells    [2][]Spell
	ways      []Chosen
	unseated  *Event

	grips   []Grip
	gripIDs map[Grip]uint16
	demands map[demand][]option
	options int
	atFirst int // as many options as there were when nothing was taken over
	moments map[string][]stageOption
	alone   [][]stageOption
}

// A mark tells a course from others, and keeps nothing of it.
type mark struct{ _ bool }

// SolveAfter is SolveUntil for a player who had nearly the same to do before; old is
// what was found then, or nil.
func SolveAfter(old *Result, s *score.Score, p *score.Player, stop func() bool) *Result {
	a := &ahead{sets: tuneAhead(s, p), cues: make([]cueAhead, len(p.Cues)), remembers: true}
	if old != nil {
		a.course = old.course
	}
	r := solveAhead(s, p, a, stop)
	if old != nil && old.rates != nil {
		r.rates.before = old.rates.rated.Load()
	}
	return r
}

// keep keeps of the solver what another one may go on from, where nothing was cut and
// nothing says what it strikes.
func (v *solver) keep(res *Result, layers [][]state, chosen [][]stageOption, steps []*step, path *traced) {
	if !v.remembers || v.hop != nil || res.AnyHands != nil || v.sets != nil || v.laid != nil || len(v.cut)+len(v.twos) > 0 {
		return
	}
	if v.atFirst == 0 {
		v.atFirst = v.options
	}
	res.course = &course{
		player: v.player, time: v.score.Time, catalogue: v.score.Catalogue, crowded: v.crowded, places: v.places, outOf: v.outOf, brought: v.brought,
		inPalm: v.inPalm, footing: v.footing, acts: v.acts, events: v.events, settled: v.settled, stages: v.stages, halts: v.halts, layers: layers, chosen: chosen, steps: steps, path: path,
		mark: new(mark), of: v.course.named(), sameWay: v.sameWay, dropped: v.dropped, clashes: v.clashes, conflicts: res.Conflicts, spells: res.Spells, ways: res.Chosen, unseated: res.Unseated,
		grips: v.grips, gripIDs: v.gripIDs, demands: v.demands, options: v.options, atFirst: v.atFirst, moments: v.moments, alone: v.alone,
	}
}

// named is a course's mark; none has none.
func (c *course) named() *mark {
	if c == nil {
		return nil
	}
	return c.mark
}

// resumed is what of a course holds for what is looked for now: the events and stages
// up to some, and from some on.
type resumed struct {
	*course
	v      *solver
	cues   map[*score.Cue]counterpart
	acts   map[*score.Action]*score.Action
	recent [4]struct { // of the cues
		was *score.Cue
		counterpart
	}
	next           int
	events, stages int // that are the same from the beginning on
	tail, goesOn   int // the event, and the stage, from which on they are again
	later, further int // how many more events and stages there are
	halt           int // of before, the next to come up
	rejoins        int // the stage from which on all is taken over
	mover          mover
}

// A counterpart is what is in the place of a cue, nil where nothing is, and whether its
// strokes are the very ones.
type counterpart struct {
	now  *score.Cue
	same bool
}

// pair finds which cues are which of those of the course, where the player is set up as then
// but for where things stand.
func (v *solver) pair() {
	c := v.course
	if c == nil || v.hop != nil || v.sets != nil || c.catalogue != v.score.Catalogue {
		return
	}
	if !sameSetUp(c.player, v.player) {
		if v.displaced = displacedThings(c.player, v.player); v.displaced == nil {
			return
		}
	}
	v.paired = pairedCues(c.player, v.player)
}

// GoesOn says whether a path of a player may go on from this one: where it may not, nothing
// is gained by what is kept of it.
func (r *Result) GoesOn(s *score.Score, p *score.Player) bool {
	return r.course != nil && r.course.catalogue == s.Catalogue && sameSetUp(r.course.player, p)
}

// keptCues are the cues whose events are those of before, or nil.
func (v *solver) keptCues() map[*score.Cue]bool {
	c := v.course
	if v.paired == nil || !c.time.Equal(v.score.Time) || feetFree(c.player) != feetFree(v.player) {
		return nil
	}
	kept := make(map[*score.Cue]bool, len(v.paired))
	for was, n := range v.paired {
		if n.same && n.now.Struck == nil && was.From == n.now.From && was.To == n.now.To {
			kept[n.now] = true
		}
	}
	return kept
}

// amongKept puts events among those of before of cues that are kept.
func (v *solver) amongKept(kept map[*score.Cue]bool, events []Event) []Event {
	r := resumed{course: v.course, cues: v.paired}
	rank := make(map[*score.Cue]int, len(v.player.Cues))
	for i, c := range v.player.Cues {
		rank[c] = i
	}
	out := make([]Event, 0, len(v.course.events)+len(events))
	var cue *score.Cue // of before, the last
	keeps := false
	for i := range v.course.events {
		e := v.course.events[i]
		if e.Cue == nil {
			continue // what is done at set places is listed anew
		}
		now := r.counterpart(e.Cue).now
		if e.Cue != cue {
			cue, keeps = e.Cue, kept[now]
		}
		if !keeps {
			continue
		}
		e.Cue = now
		if e.Limbs &^= droppedBit; v.course.settled[int32(i)] {
			e.Limbs = 0
		}
		for len(events) > 0 && events[0].comesBefore(&e, rank) {
			out, events = append(out, events[0]), events[1:]
		}
		out = append(out, e)
	}
	return append(out, events...)
}

// comesBefore says whether an event stands before another cue's one: what is at one time
// is in the order of the cues, and what is done at set places comes last.
func (e *Event) comesBefore(f *Event, rank map[*score.Cue]int) bool {
	return e.T0 < f.T0 || e.T0 == f.T0 && e.Cue != nil && rank[e.Cue] < rank[f.Cue]
}

// resume takes over what a course knows of ways of playing, before the stages are laid;
// it is nil where the course is good for nothing more, as in another tempo.
func (v *solver) resume() *resumed {
	c := v.course
	if v.paired == nil || v.laid != nil || len(v.cut)+len(v.twos) > 0 || c.options > tooManyOptions+2*c.atFirst || !slices.Equal(c.places, v.places) {
		return nil
	}
	was, now := c.player, v.player
	n := min(len(was.Items), len(now.Items))
	m := mover{items: counterparts(was.Items[:n], now.Items[:n]), acts: counterparts(was.Actions, now.Actions)}
	v.mover = m
	r := &resumed{course: c, v: v, cues: v.paired, acts: m.acts, mover: m}
	if !r.samePalms() || !r.sameAtHand() || !v.sameUses(was, m.items) || v.displaced != nil && !r.standAlike() || !r.takeGrips(&m) {
		return nil
	}
	r.takeWays()
	if v.displaced != nil || !c.time.Equal(v.score.Time) || c.crowded != v.crowded || (c.footing == nil) != (v.footing == nil) || !r.sameDoings(&m) {
		return nil
	}
	return r
}

// tooManyOptions is how many options there may be that nobody asks for any more, beside as
// many as there were at first; beyond that all is looked for anew. Tests have fewer.
var tooManyOptions = 4096

// takeWays takes over in which ways what is asked for can be played: nothing of that is
// in seconds.
func (r *resumed) takeWays() {
	v, c := r.v, r.course
	v.taken, v.borrowed = true, true
	v.options, v.atFirst, v.moments, v.alone, v.demands = c.options, c.atFirst, c.moments, c.alone, c.demands
	if c.player == v.player {
		return
	}
	v.demands = make(map[demand][]option, len(c.demands)+8)
	for d, list := range c.demands {
		if d.act != nil {
			d.act = r.acts[d.act]
		}
		if d.cue != nil {
			if d.cue = r.cues[d.cue].now; d.cue == nil {
				continue
			}
		}
		v.demands[d] = list
	}
}

// own makes what is known of ways of playing the solver's own, before something comes in.
func (v *solver) own() {
	if !v.borrowed {
		return
	}
	v.borrowed = false
	v.moments, v.alone = maps.Clone(v.moments), slices.Clone(v.alone)
	if v.course.player == v.player {
		v.demands = maps.Clone(v.demands)
	}
}

// sameSetUp says whether two players are the same person with the same things in the same
// order and places, but that one may have more behind them, who has and does the same at set
// places; not what there is to play.
func sameSetUp(a, b *score.Player) bool {
	return sameBut(a, b, sameThing)
}

// sameBut is the same with things that are alike in some way.
func sameBut(a, b *score.Player, alike func(a, b *score.Item) bool) bool {
	if a.Profile != b.Profile || !score.SamePerson(&a.Person, &b.Person) || len(a.Actions) != len(b.Actions) {
		return false
	}
	place, n := placesOf(a, b), min(len(a.Items), len(b.Items))
	return slices.EqualFunc(a.Items[:n], b.Items[:n], alike) && slices.EqualFunc(a.Stations, b.Stations, sameStation) && slices.EqualFunc(a.Tables, b.Tables, sameTable) &&
		slices.EqualFunc(a.Holds[:], b.Holds[:], place.sameHold) && slices.EqualFunc(a.Actions, b.Actions, place.sameAction)
}

// sameThing says whether all that is known of two things is the same but for where the
// text names them.
func sameThing(a, b *score.Item) bool {
	if a == b {
		return true
	}
	x, y := *a, *b
	x.Where, x.Fixed, x.Spot, x.Apart = y.Where, y.Fixed, y.Spot, y.Apart
	return x.Same(&y) && a.SamePlaces(b)
}

// pairedCues says which cue of a player is which one of another, as far as they are for
// the same thing in the same way: those at the beginning and those at the end that have
// the same strokes, and what is between in its order. Which one stands for
// which decides what is taken over, never what is found.
func pairedCues(a, b *score.Player) map[*score.Cue]counterpart {
	place := placesOf(a, b)
	was, now := a.Cues, b.Cues
	pairs := make(map[*score.Cue]counterpart, len(was))
	pair := func(x, y *score.Cue) {
		pairs[x] = counterpart{y, len(x.Strokes) == len(y.Strokes) && (len(x.Strokes) == 0 || &x.Strokes[0] == &y.Strokes[0])}
	}
	alike := func(x, y *score.Cue) bool { return x == y || place.sameHeading(x, y) }
	same := func(x, y *score.Cue) bool { return alike(x, y) && sameEnds(x.Strokes, y.Strokes) }
	for len(was) > 0 && len(now) > 0 && same(was[0], now[0]) {
		pair(was[0], now[0])
		was, now = was[1:], now[1:]
	}
	for len(was) > 0 && len(now) > 0 && same(was[len(was)-1], now[len(now)-1]) {
		pair(was[len(was)-1], now[len(now)-1])
		was, now = was[:len(was)-1], now[:len(now)-1]
	}
	for i := range min(len(was), len(now)) {
		if alike(was[i], now[i]) {
			pair(was[i], now[i])
		}
	}
	return pairs
}

// sameEnds says whether two lists of strokes begin and end alike and are as long.
func sameEnds(a, b []score.Stroke) bool {
	n := len(a)
	return n == len(b) && (n == 0 || &a[0] == &b[0] || sameStroke(&a[0], &b[0]) && sameStroke(&a[n-1], &b[n-1]))
}

// samePalms says whether the same cues lie in the palm.
func (r *resumed) samePalms() bool {
	for was, c := range r.cues {
		if r.inPalm[was] != r.v.inPalm[c.now] {
			return false
		}
	}
	return true
}

// sameAtHand says whether cues that name no implement can be played with the same ones, by
// what the player has at hand.
func (r *resumed) sameAtHand() bool {
	other := func(ch kit.Choice) bool { return r.brought[ch.Implement] != r.v.brought[ch.Implement] }
	if maps.Equal(r.brought, r.v.brought) {
		return true
	}
	for _, c := range r.cues {
		all := c.now.Item.Inst.Ways
		if c.now.Asks != nil {
			all = c.now.Asks.Ways
		}
		if len(c.now.With) == 0 && slices.ContainsFunc(all, func(w *kit.Way) bool { return slices.ContainsFunc(w.With, other) }) {
			return false
		}
	}
	return true
}

// sameDoings says whether the same comes up at set places, and the same is out of reach.
func (r *resumed) sameDoings(m *mover) bool {
	for h := range r.v.acts {
		if !slices.EqualFunc(r.course.acts[h], r.v.acts[h], func(x, y timed) bool {
			x.act = m.acts[x.act]
			return x == y
		}) {
			return false
		}
	}
	return slices.EqualFunc(r.outOf, r.v.outOf, func(x, y *score.Item) bool { return m.items[x] == y })
}

// takeGrips takes over the grips that are known, by their numbers. What holds a thing that is
// there no longer keeps its number, and nobody has it.
func (r *resumed) takeGrips(m *mover) bool {
	v := r.v
	grips, ids := slices.Clone(r.grips), make(map[Grip]uint16, len(r.gripIDs)+4)
	for i, g := range grips {
		if g.Inst != nil && m.items[g.Inst] == nil {
			continue
		}
		grips[i] = m.grip(g)
		if id, ok := r.gripIDs[g]; ok {
			ids[grips[i]] = id
		}
	}
	if len(v.grips) > len(grips) || !slices.Equal(grips[:len(v.grips)], v.grips) {
		return false
	}
	v.grips, v.gripIDs = grips, ids
	return true
}

// What others of a player's cues say of a thing, and decides how one of them can be played.
const (
	eitherHand uint32 = 1 << iota // some cue leaves it to the nearer hand
	byFoot                        // shifted by the foot's limb: some cue is for it
)

// usesOf are what a player's cues say of each thing.
func usesOf(p *score.Player) map[*score.Item]uint32 {
	uses := make(map[*score.Item]uint32, len(p.Items))
	for _, c := range p.Cues {
		switch {
		case c.Limb.TwoHands() || c.Limb == body.AnyHand:
			uses[c.Item] |= eitherHand
		case kit.KindOf(c.Limb) == kit.Foot:
			uses[c.Item] |= byFoot << c.Limb
		}
	}
	return uses
}

// sameUses says whether the cues of an earlier player say the same of each thing, and
// have the same of it to be reached.
func (v *solver) sameUses(was *score.Player, items map[*score.Item]*score.Item) bool {
	before, now := usesOf(was), usesOf(v.player)
	for x, y := range items {
		if before[x] != now[y] {
			return false
		}
		if y.Placed && y.Inst.Row() > 0 {
			a, wholeA := was.Targets(x)
			b, wholeB := v.targets(y)
			if wholeA != wholeB || !slices.Equal(a, b) {
				return false
			}
		}
	}
	return true
}

// compareEvents finds how far what is to be done is the same.
func (r *resumed) compareEvents(dropped []bool) {
	was, now := r.course.events, r.v.events
	for i := range dropped {
		if dropped[i] {
			now[i].Limbs |= droppedBit
		}
	}
	least := min(len(was), len(now))
	for r.events < least && r.sameEvent(r.events, r.events) {
		r.events++
	}
	r.later = len(now) - len(was)
	tail := 0
	for tail < least-r.events && r.sameEvent(len(was)-1-tail, len(now)-1-tail) {
		tail++
	}
	r.tail = len(now) - tail
}

// layFirst lays the stages that are the same from the beginning on, and says from which event
// on others may be.
func (r *resumed) layFirst(l *layer) (event int) {
	if r == nil {
		return 0
	}
	v := l.solver
	n := sort.Search(len(r.course.halts), func(i int) bool { return int(r.course.halts[i].event) >= r.events })
	if n == 0 {
		return 0
	}
	v.halts = append(v.halts, r.course.halts[:n]...)
	for i := range v.halts {
		r.laid(&v.halts[i].laying)
	}
	at := &v.halts[n-1]
	v.stages = append(v.stages, r.course.stages[:at.stages]...)
	l.laying = at.laying
	return int(at.event)
}

// laid moves what was known of what came before a moment to where it is now, and is
// false where something of it is gone.
func (r *resumed) laid(l *laying) bool {
	ok := r.event(&l.newest) && r.event(&l.bodyEv)
	for h := range l.tracks {
		t := &l.tracks[h]
		ok = ok && r.event(&t.last) && r.event(&t.ended)
		if t.cue != nil {
			t.cue = r.counterpart(t.cue).now
		}
	}
	return ok
}

// layRest lays all stages from a moment on, if as much is known of what came before it as at
// a halt of before.
func (r *resumed) layRest(l *layer, event int) bool {
	if r == nil || event < r.tail {
		return false
	}
	halts, n := r.course.halts, r.halt
	for n < len(halts) && int(halts[n].event)+r.later < event {
		n++
	}
	if r.halt = n; n == len(halts) || int(halts[n].event)+r.later != event {
		return false
	}
	if was := halts[n].laying; !r.laid(&was) || was != l.laying {
		return false
	}
	v := l.solver
	first, more := len(v.stages), int32(len(v.stages))-halts[n].stages
	v.stages = append(v.stages, r.course.stages[halts[n].stages:]...)
	for i := range v.stages[first:] {
		r.moved(&v.stages[first+i])
	}
	for _, h := range halts[n:] {
		h.event, h.stages = h.event+int32(r.later), h.stages+more
		r.laid(&h.laying)
		v.halts = append(v.halts, h)
	}
	return true
}

// compareStages finds how far the stages are the same.
func (r *resumed) compareStages() {
	r.further = len(r.v.stages) - len(r.course.stages)
	stages, before := r.v.stages, r.course.stages
	for r.stages < min(len(stages), len(before)) {
		s := &stages[r.stages]
		if *s != before[r.stages] || int(s.first+s.count) > r.events {
			break
		}
		r.stages++
	}
	r.goesOn, r.rejoins = len(stages), len(stages)
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
	if e.T0 != f.T0 || e.T1 != f.T1 || e.Span != f.Span || limbs != f.Limbs || e.Grace != f.Grace || e.Kind != f.Kind || e.Left != f.Left || r.acts[e.Action] != f.Action ||
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
func (r *resumed) begin(layers [][]state, chosen [][]stageOption, steps []*step) (stage int) {
	if r == nil {
		return 0
	}
	copy(layers[1:r.stages+1], r.layers[1:r.stages+1])
	copy(chosen[:r.stages], r.chosen[:r.stages])
	copy(steps[:r.stages], r.steps[:r.stages])
	return r.stages
}

// rest takes over all that comes from a stage on, if it begins in the situations of before.
func (r *resumed) rest(si int, layers [][]state, chosen [][]stageOption, steps []*step) bool {
	if r == nil || si < r.goesOn {
		return false
	}
	more, ok := r.dearer(r.layers[si-r.further], layers[si])
	if !ok {
		return false
	}
	r.rejoins = si
	copy(chosen[si:], r.chosen[si-r.further:])
	copy(steps[si:], r.steps[si-r.further:])
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

// changes is about how many changes there will be.
func (r *resumed) changes() int {
	if r == nil || r.path == nil {
		return 0
	}
	return len(r.path.changes) + 16
}

// into are the changes that there were on the way into a stage, where the path goes the way
// that it went. What is done at set places has events of its own, and is worked out anew.
func (r *resumed) into(si int, path []int32) ([]Change, bool) {
	if r == nil || r.path == nil || si >= r.stages && si < r.rejoins {
		return nil, false
	}
	was := si
	if si >= r.rejoins {
		was -= r.further
	}
	if r.path.states[was] != path[si] || r.path.states[was+1] != path[si+1] {
		return nil, false
	}
	list := r.path.into(was)
	for i := range list {
		if list[i].To.Kind == Set {
			return nil, false
		}
	}
	return list, true
}

// again adds changes of before, as those of now.
func (r *resumed) again(out, list []Change) []Change {
	for i := range list {
		c := list[i]
		to := c.To.index
		r.event(&to)
		c.To = &r.v.events[to]
		if c.From != nil {
			from := c.From.index
			r.event(&from)
			c.From = &r.v.events[from]
		}
		c.Before, c.After = r.mover.grip(c.Before), r.mover.grip(c.After)
		out = append(out, c)
	}
	return out
}
