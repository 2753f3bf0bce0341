package motion

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// solver finds one player's path.
type solver struct {
	score     *score.Score
	player    *score.Player
	events    []Event
	acts      [2][]timed // takes and lays at set places, of each hand
	places    []Place
	outOf     []*score.Item
	targetsOf map[*score.Item]targeted
	grips     []Grip // by number; see gripUnknown
	gripIDs   map[Grip]uint16
	demands   map[demand][]option
	made      []demand // of these the first of each cue's that ask for the same
	legs      map[legKey]*leg
	nearLegs  [nearLegs]nearLeg
	newLegs   []leg // room for more of them
	allLegs   []leg // and all of it
	spots     map[*score.Item]int16
	lastSpot  struct { // that was asked for last
		item *score.Item
		spot int16
	}
	*ahead
	paired     map[*score.Cue]counterpart // cues of the course with those of now, or nil
	laid       []*laid                    // of each event; nil where none says what it strikes
	twos       map[*score.Cue]body.Limbs  // hands that strike two bars or drums at once in a cue
	keySpots   []keySpot
	keySpotIDs map[keySpot]int16
	hitSpots   []int16             // of each hit, by its number; 0 is not looked up
	inPalm     map[*score.Cue]bool // whose instrument lies in the palm beside a stick
	crowded    bool                // many things share the table
	brought    map[string]bool     // implements that the player has at hand
	stages     []stage
	halts      []halt                   // on the way through the events to them
	feet       []stand                  // how the feet go on, where a hand's way may want one
	footing    []body.Limbs             // of each event, the feet that are on other pedals
	known      []priced                 // transitions of the present stage, see memo
	options    int                      // how many options there are so far
	atFirst    int                      // as many as there were when nothing was taken over, or 0
	moments    map[string][]stageOption // combined options, by those of the events
	alone      [][]stageOption          // the same for one event, by its first option
	latest     [4]struct {              // options that were asked for last, which is nearly always so again
		demand
		list []option
	}
	oldest  int // of the latest
	grabs   []grab
	trying  trying
	spare   []state         // room for the states that are kept
	spares  []state         // and all of it
	cut     map[string]bool // what was left out because there is too much of it
	legBuf  []timedLeg
	touch   []body.Motion  // what a stop keeps a hand for
	page    []body.Motion  // likewise a page
	settled map[int32]bool // events to which the path has given a limb
	mouth   []body.Motion  // to have another thing in the mouth
	duties  []duty
	going   []transition
	cur     []int32 // events of the present stage
	stop    func() bool

	note      note
	newSteps  []step // room for more of them, and of what is in them
	waysLeft  []tried
	legsLeft  []toPrice
	prices    []pricedLeg // of the present stage
	taken     bool        // what is known of ways of playing is the course's, by its numbers
	borrowed  bool        // and so are the lists of it, as long as nothing comes in
	again     bool        // the course is of the same, and all that it knows holds but for how long there is, and how long it takes
	sameWay   bool        // and the path is that of the course
	mover     mover       // of what the course has to what there is now
	dropped   []bool      // events that are left out
	clashes   int         // how many of the conflicts are because of that
	displaced []bool      // which of the player's things stand elsewhere than in the course; nil where no others do
}

// An ahead is what is known before the path, whichever hand has what is for
// either.
type ahead struct {
	sets  *tunedSets // nil: nothing says which note kettles have
	chart chart
	cues  []cueAhead // of the player
	hop   *seeker    // nil: the whole path is wanted

	lent      *lent   // that a solver may have, or nil
	course    *course // of before, or nil
	remembers bool    // what is found is kept for the next time
}

// A cueAhead is what a cue's strokes strike, and with which hands where that is
// for two.
type cueAhead struct {
	places  []*laid
	fingers []fingering
	known   bool
}

// A situation is what counts for what comes next: what the hands hold, where
// they are and where the body is.
type situation struct {
	grip      [2]uint16
	spot      [2]int16 // where each hand is
	place     uint8
	handPlace [2]uint8  // where the body stood when each hand was last busy
	seat      uint8     // standing or sitting, or not known yet
	booked    uint8     // hands that another limb takes along, see below
	acts      [2]uint16 // how many of the set takes and lays each hand has done
	extra     [2]int32  // the event that kept each hand last, if its own music does not say; -1 is none
	moved     int32     // stage of the last walk that some hand has yet to answer for
}

// A hand that holds a thing for the other one, or rolls with it, is busy as
// long as the other goes on; one that holds a whistle, as long as the mouth.
const (
	byHand  uint8 = 1      // shifted by the hand
	byMouth uint8 = 1 << 2 // likewise
)

// The ways a body may be.
const (
	anySeat uint8 = iota
	stands
	sits
)

// A state is a situation after a stage, with the cheapest way there and the
// two that bear the highest tempo: without anything below its limit, and
// without anything below its floor.
type state struct {
	situation
	cost  int64
	back  int32
	opt   int32
	bears [2]bearing
}

type bearing struct {
	ratio float64
	back  int32
	opt   int32
}

// stageOption is a combined option of a stage: one part for each of its
// events.
type stageOption struct {
	parts    []*option
	cost     int64
	conflict bool
	places   uint64
}

// Solve finds the path of one player.
func Solve(s *score.Score, p *score.Player) *Result { return SolveUntil(s, p, nil) }

// SolveUntil is Solve, given up when stop says so; the result is then good for
// nothing.
func SolveUntil(s *score.Score, p *score.Player, stop func() bool) *Result {
	return solveAhead(s, p, &ahead{sets: tuneAhead(s, p), cues: make([]cueAhead, len(p.Cues))}, stop)
}

func solveAhead(s *score.Score, p *score.Player, a *ahead, stop func() bool) *Result {
	hands, cut := chooseHands(s, p, a, stop)
	r := solve(s, p, a, hands, stop)
	if cut {
		r.Truncated = append(r.Truncated, "which hand plays each of so many cues for either hand")
	}
	r.tune(a.sets)
	r.rates = &rateList{}
	return r
}

// stopEvery is how many moments are worked on between two questions whether
// to stop; a moment takes a few microseconds.
const stopEvery = 128

// maxTried bounds how much work goes into cues for either hand, in played
// strokes: each cue is tried both ways, and what is beyond it takes the hand
// that has less to do, which is said.
const maxTried = 200_000

// chooseHands decides the cues that leave the hand open, one after the other,
// by trying both.
func chooseHands(s *score.Score, p *score.Player, a *ahead, stop func() bool) (hands map[*score.Cue]body.Limb, cut bool) {
	var open []*score.Cue
	load := [2]int{}
	for _, c := range p.Cues {
		switch c.Limb {
		case body.AnyHand:
			open = append(open, c)
		case body.Right, body.Left:
			load[c.Limb] += len(c.Strokes)
		}
	}
	if len(open) == 0 {
		return nil, false
	}
	chosen := map[*score.Cue]body.Limb{}
	for _, c := range open {
		hand := body.Right
		if load[0] > load[1] {
			hand = body.Left
		}
		if only, ok := onlyHand(&p.Person); ok {
			hand = only
		}
		chosen[c] = hand
		load[hand] += len(c.Strokes)
	}
	if p.Person.Without != 0 {
		return chosen, false
	}
	asIs := solve(s, p, a, chosen, stop)
	for i, c := range open {
		if i > 0 && i*(len(asIs.Events)+1) > maxTried {
			return chosen, true
		}
		was := chosen[c]
		chosen[c] = body.Right + body.Left - was
		other := solve(s, p, a, chosen, stop)
		if other.Cost+int64(len(other.Conflicts))*costImpossible >= asIs.Cost+int64(len(asIs.Conflicts))*costImpossible {
			chosen[c] = was
			continue
		}
		asIs = other
	}
	return chosen, false
}

// unused is a solver that has been asked for nothing yet.
func unused() *solver {
	return &solver{
		gripIDs: map[Grip]uint16{}, demands: map[demand][]option{}, inPalm: map[*score.Cue]bool{}, legs: map[legKey]*leg{}, spots: map[*score.Item]int16{},
		twos: map[*score.Cue]body.Limbs{}, keySpotIDs: map[keySpot]int16{}, moments: map[string][]stageOption{}, brought: map[string]bool{}, cut: map[string]bool{},
		targetsOf: map[*score.Item]targeted{},
	}
}

func newSolver(s *score.Score, p *score.Player, a *ahead) *solver {
	var v *solver
	if a.lent != nil {
		v = a.lent.solver()
	} else {
		v = unused()
	}
	v.score, v.player, v.ahead = s, p, a
	v.grips = append(v.grips, Grip{})
	v.gripID(Grip{}) // gripEmpty
	for i, it := range p.Items {
		v.spots[it] = int16(min(i, int(keyedSpot)-1))
	}
	v.layPlaces()
	v.bring()
	return v
}

func solve(s *score.Score, p *score.Player, a *ahead, any map[*score.Cue]body.Limb, stop func() bool) *Result {
	v := newSolver(s, p, a)
	v.stop = stop
	none := Ceiling{Factor: inf()}
	res := &Result{Player: p, AnyHands: any, OutOf: v.outOf, Places: v.places, Cannot: none, Edge: none}
	if v.lent != nil && v.hop == nil {
		res.OutOf, res.Places = append([]*score.Item(nil), v.outOf...), append([]Place(nil), v.places...)
	}
	var cut bool
	v.pair()
	same := v.sameEvents()
	if v.events = same; same == nil {
		v.events, cut = v.played(any)
	}
	if cut {
		v.cut[fmt.Sprintf("what comes after %d played strokes", maxEvents)] = true
	}
	for i := range v.events {
		v.events[i].index = int32(i)
	}
	res.Events = v.events
	res.kettles = v.sets.everyEvent(v.events)
	v.laid = v.chart.everyEvent(v.events, res.kettles)
	res.laid, res.hits = v.laid, int(v.chart.hits)
	v.crowded = v.onTable() >= body.Crowd
	v.acts = v.timedActions()
	v.palmed()
	if same != nil {
		v.sameOverlaps(res)
	} else {
		v.dropped = v.overlaps(res)
	}
	v.clashes = len(res.Conflicts)
	v.standing()
	before := v.resume()
	if before != nil {
		before.compareEvents(v.dropped)
	}
	if v.again = same != nil && v.taken && before == nil; v.again {
		v.relay()
	} else {
		v.layStages(v.dropped, before)
	}
	if before != nil {
		before.compareStages()
	}
	v.walk(res, before)
	res.Truncated = slices.Sorted(maps.Keys(v.cut))
	return res
}

// onTable counts the different things that lie on the player's table at some
// time.
func (v *solver) onTable() int {
	seen := map[string]bool{}
	for _, c := range v.player.Cues {
		mount := wanted(c)
		if len(c.With) > 0 {
			seen[c.With[0].Implement] = true
			if c.Beside != nil {
				seen[c.Beside.ID] = true
			}
			continue
		}
		if mount == kit.Held {
			seen[c.Item.Name] = true
		}
		for _, w := range c.Item.Inst.Ways {
			if w.Mount == mount && len(w.With) > 0 {
				if im := v.score.Catalogue.Implement(w.With[0].Implement); im != nil && im.Weight != kit.Nothing {
					seen[w.With[0].Implement] = true
				}
				break
			}
		}
	}
	return len(seen)
}

// walk finds the shortest path through the stages, and beside it those that
// bear the highest tempo.
func (v *solver) walk(res *Result, before *resumed) {
	if len(v.stages) == 0 {
		return
	}
	layers, chosen, steps := v.layersFor(len(v.stages))
	layers[0] = v.starts()
	shared := v.again // of the course, as long as all is tried as then
	v.note.on = v.remembers
	there := arrivals{note: &v.note}
	arrive := there.arrive
	for si := before.begin(layers, chosen, steps); si < len(v.stages); si++ {
		if si%stopEvery == 0 && v.stop != nil && v.stop() {
			return
		}
		if before.rest(si, layers, chosen, steps) {
			break
		}
		if v.retries(si, layers, steps) {
			continue
		}
		if shared {
			shared, chosen, steps = false, slices.Clone(chosen), slices.Clone(steps)
		}
		v.gather(si)
		opts := v.stageOptions()
		chosen[si] = opts
		v.grabs = v.grabs[:0]
		there.begin()
		v.note.begin()
		for i := range layers[si] {
			there.from, there.back = &layers[si][i], int32(i)
			for o := range opts {
				there.opt = int32(o)
				v.try(si, &there.from.situation, &opts[o], arrive)
			}
		}
		layers[si+1] = v.kept(v.cheapest(there.states))
		if v.note.on {
			steps[si] = v.noted(si)
		}
	}
	path := v.trace(res, layers, chosen, steps, before)
	v.keep(res, layers, chosen, steps, path)
}

// layersFor is for the situations around so many stages, and for what is chosen and was tried
// in them. Where what a course knows holds, that is the course's.
func (v *solver) layersFor(n int) (layers [][]state, chosen [][]stageOption, steps []*step) {
	switch {
	case v.again && v.displaced == nil:
		return make([][]state, n+1), v.course.chosen, v.course.steps
	case v.again:
		return make([][]state, n+1), v.course.chosen, slices.Clone(v.course.steps)
	case v.remembers:
		steps = make([]*step, n)
	}
	if v.lent == nil {
		return make([][]state, n+1), make([][]stageOption, n), steps
	}
	v.lent.layers, v.lent.chosen = emptied(v.lent.layers, n+1), emptied(v.lent.chosen, n)
	return v.lent.layers, v.lent.chosen, steps
}

// arrivals are the states that a stage ends in, one for each situation: with
// the cheapest of the ways there that were tried, and those that bear most.
type arrivals struct {
	states []state
	index  map[situation]int32 // of the states, once there are more than few
	from   *state              // where the ways come from that are tried now
	back   int32               // its number
	opt    int32               // the option that they go by
	note   *note
}

// few is among how many states one is found quicker by looking at each than by
// a map; there are nearly always so few.
const few = 32

func (a *arrivals) begin() {
	a.states = a.states[:0]
	clear(a.index)
}

func (a *arrivals) find(k *situation) (int32, bool) {
	if len(a.states) > few {
		at, ok := a.index[*k]
		return at, ok
	}
	for i := range a.states {
		if a.states[i].situation == *k {
			return int32(i), true
		}
	}
	return 0, false
}

// arrive takes down a way into the stage.
func (a *arrivals) arrive(sit *situation, cost int64, bears [2]float64) {
	cost += a.from.cost
	for b := range bears {
		bears[b] = min(bears[b], a.from.bears[b].ratio)
	}
	at, ok := a.find(sit)
	if !ok {
		a.note.arrives(a.back, a.opt, int32(len(a.states)))
		a.add(state{situation: *sit, cost: cost, back: a.back, opt: a.opt,
			bears: [2]bearing{{bears[0], a.back, a.opt}, {bears[1], a.back, a.opt}}})
		return
	}
	a.note.arrives(a.back, a.opt, at)
	a.states[at].betters(cost, bears, a.back, a.opt)
}

// betters goes another way to a state where that is cheaper, or bears more.
func (s *state) betters(cost int64, bears [2]float64, back, opt int32) {
	if cost < s.cost {
		s.cost, s.back, s.opt = cost, back, opt
	}
	for b, ratio := range bears {
		if ratio > s.bears[b].ratio {
			s.bears[b] = bearing{ratio, back, opt}
		}
	}
}

func (a *arrivals) add(s state) {
	a.states = append(a.states, s)
	switch n := len(a.states); {
	case n == few+1:
		if a.index == nil {
			a.index = make(map[situation]int32, 2*few)
		}
		for i := range a.states {
			a.index[a.states[i].situation] = int32(i)
		}
	case n > few:
		a.index[s.situation] = int32(n - 1)
	}
}

// kept is a copy of some states, next to those that were kept before.
func (v *solver) kept(list []state) []state {
	if len(list) > len(v.spare) {
		v.spare = make([]state, max(len(list), min(256, 2*len(v.stages))))
		v.spares = v.spare
	}
	n := copy(v.spare, list)
	out := v.spare[:n:n]
	v.spare = v.spare[n:]
	return out
}

// gather lists the events of a stage.
func (v *solver) gather(si int) {
	st := &v.stages[si]
	v.cur = v.cur[:0]
	for k := st.first; k < st.first+st.count; k++ {
		if v.events[k].Limbs&droppedBit == 0 {
			v.cur = append(v.cur, k)
		}
	}
}

// stageOptions are the combined options of the stage that was gathered.
// Stages whose events ask for the same have the same.
func (v *solver) stageOptions() []stageOption {
	if len(v.cur) == 1 {
		if opts := v.optionsOf(&v.events[v.cur[0]]); len(opts) > 0 {
			id := int(opts[0].id)
			if id >= len(v.alone) || v.alone[id] == nil {
				v.own()
				v.alone = append(v.alone, make([][]stageOption, max(0, id+1-len(v.alone)))...)
				v.alone[id] = v.combine()
			}
			return v.alone[id]
		}
	}
	var key [64]byte
	k := key[:0]
	for _, ev := range v.cur {
		opts := v.optionsOf(&v.events[ev])
		id := int32(-1)
		if len(opts) > 0 {
			id = opts[0].id
		}
		k = append(k, byte(id), byte(id>>8), byte(id>>16), byte(id>>24))
	}
	list, ok := v.moments[string(k)]
	if !ok {
		list = v.combine()
		v.own()
		v.moments[string(k)] = list
	}
	return list
}

// cheapest keeps the cheapest states when there are far too many.
func (v *solver) cheapest(list []state) []state {
	if len(list) <= maxStates {
		return list
	}
	v.cut["some of the ways through a very busy passage"] = true
	slices.SortStableFunc(list, func(a, b state) int { return cmp.Compare(a.cost, b.cost) })
	return list[:maxStates]
}

// starts are the situations the piece may begin in: what the hands are said
// to hold, at any place.
func (v *solver) starts() []state {
	s := situation{spot: [2]int16{spotFront, spotFront}, extra: [2]int32{-1, -1}, moved: -1}
	for h, hold := range v.player.Holds {
		if hold.Said {
			s.grip[h] = v.gripID(Grip{Implement: hold.Implement, Inst: hold.Inst, Count: hold.Count, Kept: hold.Beside})
			if hold.Implement == nil && hold.Inst == nil {
				s.grip[h] = gripEmpty
			}
		}
	}
	var list []state
	for i := range v.places {
		p := uint8(i)
		s.place, s.handPlace = p, [2]uint8{p, p}
		none := bearing{inf(), -1, -1}
		list = append(list, state{situation: s, back: -1, bears: [2]bearing{none, none}})
	}
	return list
}
