package motion

import (
	"handful/lang/body"
	"handful/lang/kit"
	"handful/lang/score"
)

// solver finds one player's path.
type solver struct {
	score   *score.Score
	player  *score.Player
	events  []Event
	places  []Place
	outOf   []*score.Item
	grips   []Grip // 0 is: not known yet
	gripIDs map[Grip]uint16
	demands map[demand][]option
	legs    map[legKey]*leg
	spots   map[*score.Item]int16
	crowded bool            // many things share the table
	brought map[string]bool // implements that the player has at hand
	stages  []stage
	known   [memoSize]priced // transitions of the present stage, see memo
	options int              // how many options there are so far
	stop    func() bool
}

// A stage is a moment at which some limb begins something new: the events
// that begin there together, and what was before. Between stages limbs go on
// with what they do.
type stage struct {
	t        float64
	first    int32 // event
	count    int32
	prevEnd  [2]float64 // when each hand was last busy of itself
	prevEv   [2]int32   // with which event; -1 is none
	bodyBusy float64    // until when any limb was busy
	acts     [2][]timed // takes and lays at set places since then
}

// timed is a take or a lay at a set place.
type timed struct {
	t    float64
	span int32
	act  *score.Action
	grip uint16
}

// A state is a situation after a stage.
type state struct {
	grip      [2]uint16
	place     uint8
	handPlace [2]uint8 // where the body stood when each hand was last busy
	booked    uint8    // hands that the other one's last stroke or roll took along
	moved     int32    // stage of the last walk that some hand has yet to answer for
	cost      int64
	back      int32
	opt       int32
	ratio     float64
	backRatio int32
	optRatio  int32
}

type stateKey struct {
	grip      [2]uint16
	place     uint8
	handPlace [2]uint8
	booked    uint8
	moved     int32
}

func (s *state) key() stateKey {
	return stateKey{s.grip, s.place, s.handPlace, s.booked, s.moved}
}

// stageOption is a combined option of a stage, with the events it is for.
type stageOption struct {
	parts    [4]*option
	events   [4]int32
	n        int
	cost     int64
	conflict bool
	places   uint64
}

// Solve finds the path of one player.
func Solve(s *score.Score, p *score.Player) *Result { return SolveUntil(s, p, nil) }

// SolveUntil is Solve, given up when stop says so; the result is then good for
// nothing.
func SolveUntil(s *score.Score, p *score.Player, stop func() bool) *Result {
	return solve(s, p, chooseHands(s, p, stop), stop)
}

// stopEvery is how many moments are worked on between two questions whether
// to stop; a moment takes a few microseconds.
const stopEvery = 128

// maxTried is up to how many cues for either hand are tried both ways; the
// rest take the hand that has less to do.
const maxTried = 12

// chooseHands decides the cues that leave the hand open, one after the other,
// by trying both.
func chooseHands(s *score.Score, p *score.Player, stop func() bool) map[*score.Cue]score.Limb {
	var open []*score.Cue
	load := [2]int{}
	for _, c := range p.Cues {
		switch c.Limb {
		case score.AnyHand:
			open = append(open, c)
		case score.Right, score.Left:
			load[c.Limb] += len(c.Strokes)
		}
	}
	if len(open) == 0 {
		return nil
	}
	chosen := map[*score.Cue]score.Limb{}
	for _, c := range open {
		hand := score.Right
		if load[0] > load[1] {
			hand = score.Left
		}
		chosen[c] = hand
		load[hand] += len(c.Strokes)
	}
	for _, c := range open[:min(len(open), maxTried)] {
		asIs := solve(s, p, chosen, stop)
		was := chosen[c]
		chosen[c] = score.Right + score.Left - was
		if other := solve(s, p, chosen, stop); other.Cost+int64(len(other.Conflicts))*costImpossible >= asIs.Cost+int64(len(asIs.Conflicts))*costImpossible {
			chosen[c] = was
		}
	}
	return chosen
}

func newSolver(s *score.Score, p *score.Player) *solver {
	v := &solver{
		score: s, player: p,
		grips: []Grip{{}}, gripIDs: map[Grip]uint16{},
		demands: map[demand][]option{}, legs: map[legKey]*leg{}, spots: map[*score.Item]int16{},
	}
	v.gripID(Grip{}) // 1 is: nothing
	for i, it := range p.Items {
		v.spots[it] = int16(min(i, 1<<14))
	}
	v.layPlaces()
	v.bring()
	return v
}

func solve(s *score.Score, p *score.Player, any map[*score.Cue]score.Limb, stop func() bool) *Result {
	v := newSolver(s, p)
	v.stop = stop
	res := &Result{Player: p, AnyHands: any, OutOf: v.outOf, Places: v.places, Ceiling: inf()}
	v.events, res.Truncated = played(s, p, any, handDamps)
	for i := range v.events {
		v.events[i].index = int32(i)
	}
	res.Events = v.events
	v.crowded = v.onTable() >= amongOthers
	dropped := v.overlaps(res)
	v.layStages(dropped)
	v.walk(res)
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

// overlaps finds limbs that are booked twice at once, and leaves the later
// booking out of the path.
func (v *solver) overlaps(res *Result) []bool {
	dropped := make([]bool, len(v.events))
	last := [5]int{-1, -1, -1, -1, -1}
	for i := range v.events {
		e := &v.events[i]
		for b := range 5 {
			if e.Limbs&(1<<b) == 0 {
				continue
			}
			j := last[b]
			if j >= 0 {
				f := &v.events[j]
				same := e.Cue != nil && f.Cue == e.Cue // page turns and damps are of no cue, each one for itself
				again := e.Kind == Stop && same && e.T0 >= f.T1-eps
				if !again && (e.T0 < f.T1-eps || e.T0 < f.T0+eps) && !same {
					res.Conflicts = append(res.Conflicts, Conflict{A: f, B: e, Kind: SameLimb})
					dropped[i] = true
				}
			}
			if !dropped[i] && (j < 0 || e.T1 >= v.events[j].T1) {
				last[b] = i
			}
		}
	}
	return dropped
}

// layStages finds the moments at which something new begins.
func (v *solver) layStages(dropped []bool) {
	acts := v.timedActions()
	type track struct {
		cue  *score.Cue
		kind EventKind
		last int32 // event
		end  float64
		act  int
	}
	var hands [3]track // right, left, and whatever has no hand
	for h := range hands {
		hands[h].last = -1
	}
	newest := int32(-1) // the latest event at which a stage began
	busy := 0.0
	for i := 0; i < len(v.events); {
		j := i
		for j < len(v.events) && v.events[j].T0 <= v.events[i].T0+eps {
			j++
		}
		fresh := false
		for k := i; k < j; k++ {
			e := &v.events[k]
			if dropped[k] {
				continue
			}
			for h := range hands {
				if !uses(e, h) {
					continue
				}
				t := &hands[h]
				waiting := h < 2 && t.act < len(acts[h]) && acts[h][t.act].t <= e.T0+eps
				if t.cue != e.Cue || e.Cue == nil || t.kind != e.Kind || t.last < newest || e.T0-t.end > restGap || waiting {
					fresh = true
				}
			}
		}
		if fresh {
			st := stage{t: v.events[i].T0, first: int32(i), count: int32(j - i), bodyBusy: busy}
			for h := range 2 {
				st.prevEnd[h], st.prevEv[h] = hands[h].end, hands[h].last
				for hands[h].act < len(acts[h]) && acts[h][hands[h].act].t <= st.t+eps {
					if v.handBusy(i, j, h, dropped) {
						st.acts[h] = append(st.acts[h], acts[h][hands[h].act])
						hands[h].act++
						continue
					}
					break
				}
			}
			v.stages = append(v.stages, st)
			newest = int32(i)
		}
		for k := i; k < j; k++ {
			e := &v.events[k]
			if dropped[k] {
				continue
			}
			for h := range hands {
				if uses(e, h) {
					hands[h].cue, hands[h].kind = e.Cue, e.Kind
					hands[h].last = int32(k)
					hands[h].end = max(hands[h].end, e.T1)
				}
			}
			busy = max(busy, e.T1)
		}
		for k := i; k < j; k++ {
			if dropped[k] {
				v.events[k].Limbs |= droppedBit
			}
		}
		i = j
	}
}

// droppedBit marks an event that is left out of the path.
const droppedBit uint8 = 1 << 7

func uses(e *Event, h int) bool {
	if h == 2 {
		return e.Limbs&(RF|LF|M) != 0
	}
	return e.Limbs&(1<<h) != 0
}

func (v *solver) handBusy(i, j, h int, dropped []bool) bool {
	for k := i; k < j; k++ {
		if !dropped[k] && uses(&v.events[k], h) {
			return true
		}
	}
	return false
}

// timedActions lists takes and lays at set places as they come up.
func (v *solver) timedActions() [2][]timed {
	var out [2][]timed
	spans := v.score.Time.Spans()
	for k := range spans {
		for _, a := range v.player.Actions {
			if a.Kind != score.Take && a.Kind != score.Lay || !a.Limb.IsHand() || a.Pass != 0 && a.Pass != spans[k].Pass ||
				a.Bar < spans[k].From || a.Bar > spans[k].To {
				continue
			}
			g := Grip{}
			if a.Kind == score.Take {
				g = Grip{Implement: a.Implement, Inst: a.Item, Count: a.Count}
			}
			h := int(a.Limb)
			out[h] = append(out[h], timed{t: v.score.Time.Seconds(k, a.At), span: int32(k), act: a, grip: v.gripID(g)})
		}
	}
	return out
}

// combine makes the options of a stage: one of each event's, together.
func (v *solver) combine(st *stage) []stageOption {
	list := []stageOption{{places: ^uint64(0)}}
	for k := st.first; k < st.first+st.count; k++ {
		e := &v.events[k]
		if e.Limbs&droppedBit != 0 {
			continue
		}
		opts := v.optionsOf(e)
		var next []stageOption
		for _, have := range list {
			if have.n == len(have.parts) {
				next = append(next, have)
				continue
			}
			for i := range opts {
				o := &opts[i]
				so := have
				so.parts[so.n], so.events[so.n] = o, k
				so.n++
				so.cost += o.cost
				before := so.places
				so.places &= o.places
				if o.conflict != 0 {
					so.conflict = true
				}
				for q := 0; q < so.n-1; q++ {
					if so.parts[q].hands&o.hands&Hands != 0 {
						so.conflict = true
						so.cost += costImpossible
					}
				}
				if so.places == 0 {
					so.conflict = true
					so.cost += costImpossible
					so.places = before | o.places // at one of them, then
				}
				next = append(next, so)
			}
		}
		list = next
	}
	return list
}

// at is the position of a hand: at the instrument it last played, or before
// the body when what it holds is the instrument.
func (v *solver) handSpot(grip uint16, ev int32) int16 {
	if ev < 0 || v.grips[grip].Inst != nil {
		return spotFront
	}
	it := v.events[ev].Item()
	if it == nil {
		return spotFront
	}
	return v.spots[it]
}

// target is where an option brings a hand.
func (v *solver) target(o *option, grip uint16, ev int32) int16 {
	if v.grips[grip].Inst != nil || o.way != nil && (!o.way.Fixed() || o.way.Mount == kit.OnBody) {
		return spotFront
	}
	it := v.events[ev].Item()
	if it == nil {
		return spotFront
	}
	return v.spots[it]
}

// variants are the grips a hand may have when an option is played: the one it
// asks for, or that with a light implement kept in the fingers.
func (v *solver) wants(o *option, h int, from uint16) (list [2]uint16, n int) {
	g := o.grip[h]
	switch {
	case g == anyGrip && o.free:
		list[0] = from
		if gr := v.grips[from]; gr.Inst != nil || gr.Count == 2 {
			list[0] = 1
		}
		return list, 1
	case g == anyGrip:
		list[0] = from
		return list, 1
	}
	list[0], n = g, 1
	if o.way == nil || !o.way.Keeps || o.grip[h] != 1 {
		return list, n
	}
	im := v.grips[from].Implement
	if im == nil {
		im = v.grips[from].Kept
	}
	if im != nil && im.Weight == kit.Light && v.grips[from].Count <= 1 {
		list[1], n = v.gripID(Grip{Kept: im}), 2
	}
	return list, n
}

// try works out every way of getting from a state into a stage by an option.
func (v *solver) try(si int, from *state, so *stageOption, yield func(next state, cost int64, ratio float64)) {
	st := &v.stages[si]
	for place := range v.places {
		if so.places&(1<<place) == 0 {
			continue
		}
		v.tryPlace(si, st, from, so, uint8(place), yield)
	}
}

func (v *solver) tryPlace(si int, st *stage, from *state, so *stageOption, place uint8, yield func(next state, cost int64, ratio float64)) {
	base := *from
	base.place = place
	cost := so.cost
	ratio := inf()
	if so.conflict {
		ratio = 0
	}
	walks := place != from.place
	if walks {
		base.moved = int32(si)
	}
	// Every hand that has something to do, with what it may hold for it.
	type duty struct {
		h     int
		o     *option
		ev    int32
		wants [2]uint16
		n     int
	}
	var duties [4]duty
	nd := 0
	for q := 0; q < so.n; q++ {
		o, own := so.parts[q], v.events[so.events[q]].Limbs
		if o.places&(1<<place) == 0 {
			continue // it cannot be had from here, and counts as a conflict
		}
		for h := range 2 {
			bit := uint8(1) << h
			switch {
			case o.hands&bit != 0 && own&bit == 0:
				base.booked |= bit
			case o.hands&bit != 0 || own&(Hands^bit) != 0:
				base.booked &^= bit
			}
		}
		for h := range 2 {
			if o.hands&(1<<h) == 0 || nd == len(duties) {
				continue
			}
			d := duty{h: h, o: o, ev: so.events[q]}
			d.wants, d.n = v.wants(o, h, from.grip[h])
			duties[nd] = d
			nd++
		}
	}
	if walks && nd == 0 { // a pedal at another place
		need := v.bodyNeed(from.place, place)
		cost += v.price(need, st.t-st.bodyBusy)
		ratio = min(ratio, over(st.t-st.bodyBusy, need.Floor))
	}
	var choose func(k int, s state, cost int64, ratio float64, grabs int)
	choose = func(k int, s state, cost int64, ratio float64, grabs int) {
		if k == nd {
			if s.handPlace[0] == s.place && s.handPlace[1] == s.place {
				s.moved = -1
			}
			yield(s, cost, ratio)
			return
		}
		d := &duties[k]
		for w := range d.n {
			t := v.transit(si, from, d.h, d.o, d.ev, d.wants[w], place)
			next := s
			next.grip[d.h] = d.wants[w]
			next.handPlace[d.h] = place
			c, r, g := cost+t.cost, min(ratio, t.ratio), grabs
			if t.among {
				if g++; g > 1 { // two grabs from among others add
					c += costSecond / 3
				}
			}
			choose(k+1, next, c, r, g)
			if t.passFrom >= 0 { // the other hand hands it over
				next.grip[t.passFrom] = 1
				choose(k+1, next, cost+t.passCost, min(ratio, t.passRatio), grabs)
			}
		}
	}
	choose(0, base, cost, ratio, 0)
}

// transition is one hand's way from its last event to an option.
type transition struct {
	cost      int64
	ratio     float64
	among     bool
	passFrom  int // the hand that could hand over what is needed; -1: none
	passCost  int64
	passRatio float64
}

// legsOf lists the legs of one hand from a state into a stage, each with when
// it starts and how long there is.
type timedLeg struct {
	*leg
	key       legKey
	start     float64
	window    float64
	bodyBound bool
	bodyNeed  body.Pace
	ahead     float64 // window of bodyNeed
	bodyFrom  uint8
	pass      bool
	act       *timed // the set place that it is for, if it is for one alone
}

func (v *solver) legsOf(si int, from *state, h int, o *option, ev int32, to uint16, place uint8) (legs [4]timedLeg, n int) {
	st := &v.stages[si]
	start := st.prevEnd[h]
	// A hand that holds the instrument for the other one, or rolls with it, is
	// busy as long as that one plays.
	if from.booked&(1<<h) != 0 {
		start = max(start, st.prevEnd[1-h])
	}
	key := legKey{from: from.grip[h], to: to, fromPlace: from.handPlace[h], toPlace: place,
		fromSpot: v.handSpot(from.grip[h], st.prevEv[h]), toSpot: v.target(o, to, ev)}
	if st.prevEv[h] < 0 && len(st.acts[h]) == 0 && v.tucked(from.grip[h], to) {
		key.from = to // what it is said to hold is in the fingers before the beginning
	}
	if st.prevEv[h] < 0 && (from.grip[h] == 0 || key.from == to) && len(st.acts[h]) == 0 {
		key.fromSpot, key.fromPlace = key.toSpot, place // it starts out there
	}
	key.damp = v.events[ev].Kind == Stop && o.need&(1<<h) != 0
	for i, a := range st.acts[h] {
		if n == 3 {
			break
		}
		k := key
		k.to, k.toSpot, k.damp = a.grip, spotTable, false
		k.toPlace = key.fromPlace
		legs[n] = timedLeg{leg: v.leg(k), key: k, start: max(start, a.t), act: &st.acts[h][i]}
		if n > 0 {
			legs[n-1].window = a.t - legs[n-1].start
		}
		n++
		key.from, key.fromSpot = a.grip, spotTable
		start = max(start, a.t)
	}
	l := timedLeg{leg: v.leg(key), key: key, start: start, window: st.t - start}
	if n > 0 { // the last of the set changes shares its window with the rest
		prev := &legs[n-1]
		merged := &leg{motions: append(append([]body.Motion(nil), prev.motions...), l.motions...), need: prev.need.Add(l.need), lays: prev.lays + l.lays, takes: prev.takes + l.takes, walk: prev.walk || l.walk, after: l.after, among: prev.among || l.among}
		l.leg, l.start, l.window, l.key.from = merged, prev.start, st.t-prev.start, prev.key.from
		n--
	}
	// The body may have left later than the hand was free, or have been
	// somewhere else meanwhile without the hand's doing.
	switch {
	case from.place != place:
		l.bodyFrom = from.place
		l.bodyNeed = v.bodyNeed(from.place, place).Add(l.after)
		l.ahead = st.t - st.bodyBusy
	case key.fromPlace != place && from.moved >= 0:
		l.bodyFrom = key.fromPlace
		l.bodyNeed = v.bodyNeed(key.fromPlace, place).Add(l.after)
		l.ahead = st.t - v.stages[from.moved].bodyBusy
	}
	l.bodyBound = l.bodyNeed.Floor > 0 && l.bodyNeed.Floor-l.ahead > l.need.Floor-l.window
	legs[n] = l
	return legs, n + 1
}

// tucked says whether two grips hold the same implement, the second one in
// the fingers.
func (v *solver) tucked(from, to uint16) bool {
	a, b := &v.grips[from], &v.grips[to]
	return a.Implement != nil && a.Count <= 1 && a.Inst == nil && b.Kept == a.Implement && b.Implement == nil && b.Inst == nil
}

// priced is a transition that has been worked out for the present stage. It
// holds for every state in which the body and the hand stay where they are,
// and the hand holds the same; there are many of those.
type priced struct {
	stage int32
	key   uint64
	transition
}

// memoSize is how many transitions of one stage are remembered; a power of 2.
const memoSize = 512

// memo finds the slot of a transition and its key, or nil where what is known
// does not hold for more than the state at hand.
func (v *solver) memo(from *state, h int, o *option, to uint16, place uint8) (*priced, uint64) {
	if from.place != place || from.handPlace[h] != place || from.moved >= 0 || from.booked&(1<<h) != 0 {
		return nil, 0
	}
	key := uint64(o.id)<<41 | uint64(h)<<40 | uint64(place)<<32 | uint64(from.grip[h])<<16 | uint64(to)
	return &v.known[(key*0x9e3779b97f4a7c15)>>55&(memoSize-1)], key
}

func (v *solver) transit(si int, from *state, h int, o *option, ev int32, to uint16, place uint8) transition {
	slot, key := v.memo(from, h, o, to, place)
	if slot != nil && slot.stage == int32(si)+1 && slot.key == key {
		t := slot.transition
		v.passing(si, from, h, o, ev, to, place, &t)
		return t
	}
	t := transition{ratio: inf(), passFrom: -1}
	legs, n := v.legsOf(si, from, h, o, ev, to, place)
	for i := range n {
		l := &legs[i]
		c, r := v.priceLeg(l.need, l.window, l.leg)
		if l.bodyBound {
			c2, r2 := v.priceLeg(l.bodyNeed, l.ahead, l.leg)
			c, r = max(c, c2), min(r, r2)
		}
		t.cost += c
		t.ratio = min(t.ratio, r)
		t.among = t.among || l.among
	}
	if e := &v.events[ev]; e.Kind == Stop && e.Action != nil && e.Action.By == "" || e.Kind == Stop && e.Cue != nil {
		if g := v.grips[to]; g.Inst != nil && e.Item() != g.Inst {
			t.cost += costImpossible // a hand that is full cannot damp
			t.ratio = 0
		}
	}
	if slot != nil {
		*slot = priced{int32(si) + 1, key, t}
	}
	v.passing(si, from, h, o, ev, to, place, &t)
	return t
}

// passing sees whether the other hand could hand over what this one needs.
func (v *solver) passing(si int, from *state, h int, o *option, ev int32, to uint16, place uint8, t *transition) {
	if from.grip[h] != 1 || from.grip[1-h] != to || to <= 1 { // empty, and the other has it
		return
	}
	st := &v.stages[si]
	if want := &v.grips[to]; want.Implement == nil || want.Count != 1 || len(st.acts[h]) > 0 ||
		from.handPlace[0] != place || from.handPlace[1] != place {
		return
	}
	for k := st.first; k < st.first+st.count; k++ {
		if uses(&v.events[k], 1-h) {
			return
		}
	}
	l := v.passLeg(h, from, si, o, ev, to, place)
	c, r := v.priceLeg(l.need, l.window, l.leg)
	t.passFrom, t.passCost, t.passRatio = 1-h, c, r
}

func (v *solver) passLeg(h int, from *state, si int, o *option, ev int32, to uint16, place uint8) timedLeg {
	st := &v.stages[si]
	start := max(st.prevEnd[0], st.prevEnd[1])
	pr := v.player.Profile
	l := &leg{takes: 1}
	a := v.spot(v.handSpot(from.grip[h], st.prevEv[h]), place)
	b := v.spot(v.handSpot(from.grip[1-h], st.prevEv[1-h]), place)
	meet := pr.Travel(a.Dist(b)/2, body.StrikeWidth)
	meet.Words = "bring the hands together"
	toSpot := v.target(o, to, ev)
	width := body.StrikeWidth
	if toSpot >= 0 {
		width = v.player.Items[toSpot].Inst.Zone
	}
	mid := body.Point{Right: (a.Right + b.Right) / 2, Ahead: (a.Ahead + b.Ahead) / 2, Up: (a.Up + b.Up) / 2}
	l.motions = []body.Motion{meet, pr.PassOver(thing(v.grips[to])), pr.Carry(mid.Dist(v.spot(toSpot, place)), width)}
	l.need = body.Sum(l.motions)
	return timedLeg{leg: l, start: start, window: st.t - start, pass: true}
}

func (v *solver) bodyNeed(a, b uint8) body.Pace {
	d := flat(v.places[a].At, v.places[b].At)
	return body.Sum(v.player.Profile.Between(d, d > turnBeyond))
}

// price is what a need costs in a window, by how well it fits.
func (v *solver) price(need body.Pace, window float64) int64 {
	cost := int64(need.Steady * float64(costSecond))
	switch {
	case need.Floor > window+eps:
		cost += costImpossible + int64((need.Floor-window)*float64(costShortfall))
	case need.Steady > window+eps:
		cost += costTight + int64((need.Steady-window)*float64(costTightness))
	}
	return cost
}

func (v *solver) priceLeg(need body.Pace, window float64, l *leg) (int64, float64) {
	cost := v.price(need, window) + int64(l.lays+l.takes)*costChange
	return cost, over(window, need.Floor)
}

// over is the tempo factor at which a window of the written tempo equals a
// need.
func over(window, floor float64) float64 {
	switch {
	case floor <= 0 && window >= -eps:
		return inf()
	case window <= 0:
		return 0
	}
	return window / floor
}

// walk finds the shortest path through the stages, and beside it the path
// that bears the highest tempo.
func (v *solver) walk(res *Result) {
	if len(v.stages) == 0 {
		return
	}
	layers := make([][]state, len(v.stages)+1)
	layers[0] = v.starts()
	memo := map[demandKey][]stageOption{}
	chosen := make([][]stageOption, len(v.stages))
	var index map[stateKey]int32
	find := func(list []state, k stateKey) (int32, bool) {
		if len(list) <= 32 { // quicker than a map, and nearly always so
			for i := range list {
				if list[i].key() == k {
					return int32(i), true
				}
			}
			return 0, false
		}
		at, ok := index[k]
		return at, ok
	}
	for si := range v.stages {
		if si%stopEvery == 0 && v.stop != nil && v.stop() {
			return
		}
		opts := v.stageOptions(&v.stages[si], memo)
		chosen[si] = opts
		prev := layers[si]
		next := make([]state, 0, len(prev))
		clear(index)
		for pi := range prev {
			p := &prev[pi]
			for oi := range opts {
				v.try(si, p, &opts[oi], func(s state, cost int64, ratio float64) {
					s.cost, s.back, s.opt = p.cost+cost, int32(pi), int32(oi)
					s.ratio, s.backRatio, s.optRatio = min(p.ratio, ratio), int32(pi), int32(oi)
					k := s.key()
					at, ok := find(next, k)
					if !ok {
						next = append(next, s)
						if n := len(next); n == 33 {
							index = map[stateKey]int32{}
							for i := range next {
								index[next[i].key()] = int32(i)
							}
						} else if n > 33 {
							index[k] = int32(n - 1)
						}
						return
					}
					have := &next[at]
					if s.cost < have.cost {
						have.cost, have.back, have.opt = s.cost, s.back, s.opt
					}
					if s.ratio > have.ratio {
						have.ratio, have.backRatio, have.optRatio = s.ratio, s.backRatio, s.optRatio
					}
				})
			}
		}
		layers[si+1] = cheapest(next)
	}
	v.trace(res, layers, chosen)
}

// demandKey identifies the options of a stage by those of its events.
type demandKey struct {
	n int
	d [3]demand
}

func (v *solver) stageOptions(st *stage, memo map[demandKey][]stageOption) []stageOption {
	key := demandKey{}
	for k := st.first; k < st.first+st.count; k++ {
		e := &v.events[k]
		if e.Limbs&droppedBit != 0 {
			continue
		}
		if key.n == len(key.d) {
			return v.combine(st)
		}
		key.d[key.n] = demand{e.Cue, e.Action, e.Limbs, e.Kind}
		key.n++
	}
	list, ok := memo[key]
	if !ok {
		list = v.combine(st)
		memo[key] = list
		return list
	}
	if len(list) > 0 && list[0].n > 0 && list[0].events[0] != st.first {
		// The same demands at another moment: the options stand, the events move.
		moved := make([]stageOption, len(list))
		copy(moved, list)
		shift := [4]int32{}
		n := 0
		for k := st.first; k < st.first+st.count && n < len(shift); k++ {
			if v.events[k].Limbs&droppedBit == 0 {
				shift[n] = k
				n++
			}
		}
		for i := range moved {
			for q := 0; q < moved[i].n; q++ {
				moved[i].events[q] = shift[q]
			}
		}
		return moved
	}
	return list
}

// cheapest keeps the cheapest states when there are far too many.
func cheapest(list []state) []state {
	for len(list) > maxStates {
		worst := 0
		for i := range list {
			if list[i].cost > list[worst].cost {
				worst = i
			}
		}
		list[worst] = list[len(list)-1]
		list = list[:len(list)-1]
	}
	return list
}

// starts are the situations the piece may begin in: what the hands are said
// to hold, at any place.
func (v *solver) starts() []state {
	var grip [2]uint16
	for h, hold := range v.player.Holds {
		if hold.Said {
			grip[h] = v.gripID(Grip{Implement: hold.Implement, Inst: hold.Inst, Count: hold.Count})
			if hold.Implement == nil && hold.Inst == nil {
				grip[h] = 1
			}
		}
	}
	var list []state
	for i := range v.places {
		p := uint8(i)
		list = append(list, state{grip: grip, place: p, handPlace: [2]uint8{p, p}, moved: -1, back: -1, backRatio: -1, ratio: inf()})
	}
	return list
}
