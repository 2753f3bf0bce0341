package motion

import (
	"slices"
	"sync"

	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
	"example.org/handful/lang/slab"
)

// A Hop is what one hand does on the way from one thing to another, as a path has it: what
// it lays and takes, and how long that takes. How long it takes for the same things in
// other places is worked out without another path.
type Hop struct {
	Need     body.Pace
	Moves    bool          // lays or takes something
	limbs    [2]body.Limbs // by item of the player, those that play it where it stands
	from, to Grip          // without their instruments
	holds    [2]int8       // by grip, the item that it has; -1 is none
	key      legKey
	crowded  bool
	fixed    bool // of these places alone
}

// A seeker waits for what a hand does on the way into a cue.
type seeker struct {
	into *score.Cue
	hand body.Limb
	Hop
	legs, among int
	need        body.Pace
}

// The grips of a hop, by number.
const (
	hopFrom = gripEmpty + 1 + iota
	hopTo
)

// Hops finds what hands do on their way, and lends each search the room that another one
// had: a planner asks very many times. Several may ask at once.
type Hops struct{ Rooms }

// Rooms lends each search for a path the room that another one had, to whoever looks for
// very many. Several may ask at once.
type Rooms struct {
	idle   sync.Pool
	rates  sync.Pool // of rateRoom
	events sync.Pool // that results had
}

// TakeBack takes what was found back: it is good for nothing from then on, and others may
// be found in its room.
func (o *Rooms) TakeBack(r *Result) {
	if list := r.Events[:0]; o != nil && cap(list) > 0 && cap(list) < lendable {
		o.events.Put(&list)
	}
}

// SolveUntil is the function of that name, in such a room where there is one.
func (o *Rooms) SolveUntil(s *score.Score, p *score.Player, stop func() bool) *Result {
	if o == nil {
		return SolveUntil(s, p, stop)
	}
	has := o.lend()
	a := &has.ahead
	*a = ahead{sets: tuneAhead(s, p), cues: emptied(a.cues, len(p.Cues)), lent: has}
	if had, ok := o.events.Get().(*[]Event); ok {
		has.events = *had
	}
	r := solveAhead(s, p, a, stop)
	if r.rates != nil {
		r.rates.idle = &o.rates
	}
	if len(r.Events) < lendable {
		o.idle.Put(has)
	}
	return r
}

// lendable is how many strokes a path may have for its room to be lent on: that of a very
// long one would be cleared for each short one after it.
const lendable = 1 << 14

// A lent is what a search has had.
type lent struct {
	was     solver
	ahead   ahead
	seek    seeker
	changes []Change
	layers  [][]state
	chosen  [][]stageOption
	events  []Event // that nobody has any more
	merging []Event // see inOrder
	optionRooms
}

// optionRooms are where a search has its options; of no slab each list has its own.
type optionRooms struct {
	options  *slab.Of[option]
	combined *slab.Of[stageOption]
	parts    *slab.Of[*option]
	numbers  *slab.Of[int32]
}

func (v *solver) rooms() optionRooms {
	if v.lent == nil {
		return optionRooms{}
	}
	return v.lent.optionRooms
}

// eventRoom is an empty list of so many events, in the room of one that was taken back if
// there is one.
func (v *solver) eventRoom(n int) []Event {
	if v.lent == nil || v.lent.events == nil || cap(v.lent.events) < n {
		return make([]Event, 0, n)
	}
	list := v.lent.events[:0]
	v.lent.events = nil
	return list
}

func (o *Rooms) lend() *lent {
	if r, ok := o.idle.Get().(*lent); ok {
		return r
	}
	return &lent{was: *unused(), optionRooms: optionRooms{new(slab.Of[option]), new(slab.Of[stageOption]), new(slab.Of[*option]), new(slab.Of[int32])}}
}

// Into is what a hand does on the way into a player's cue, by the path that [Solve]
// finds. The player has one item or two.
func (o *Hops) Into(s *score.Score, p *score.Player, into *score.Cue, hand body.Limb) Hop {
	has := o.lend()
	defer o.idle.Put(has)
	seek, a := &has.seek, &has.ahead
	*seek = seeker{into: into, hand: hand}
	*a = ahead{sets: tuneAhead(s, p), cues: emptied(a.cues, len(p.Cues)), hop: seek, lent: has}
	hands, _ := chooseHands(s, p, a, nil)
	r := solve(s, p, a, hands, nil)
	h := &seek.Hop
	for i := range r.Changes {
		if ch := &r.Changes[i]; ch.To.Cue == into && ch.Hand == hand {
			h.fixed = h.fixed || ch.Need != seek.need
			h.Need = h.Need.Max(ch.Need)
			h.Moves = h.Moves || ch.Lays || ch.Takes
		}
	}
	h.fixed = h.fixed || seek.legs != 1 || seek.among > 1 || len(r.Places) != 1 || p.Person.Seated || len(p.Items) > len(h.limbs)
	return *h
}

// emptied is a list of so many that are nothing, in the room of another one.
func emptied[T any](list []T, n int) []T {
	list = slices.Grow(list[:0], n)[:n]
	clear(list)
	return list
}

// emptiedMap is a map without anything, in the room of another one.
func emptiedMap[M ~map[K]V, K comparable, V any](m M) M {
	clear(m)
	return m
}

// solver is one that knows nothing, in the room of the one before.
func (r *lent) solver() *solver {
	v := &r.was
	clear(v.known)
	r.options.Clear()
	r.combined.Clear()
	r.parts.Clear()
	r.numbers.Clear()
	*v = solver{
		gripIDs: emptiedMap(v.gripIDs), demands: emptiedMap(v.demands), inPalm: emptiedMap(v.inPalm), legs: emptiedMap(v.legs), spots: emptiedMap(v.spots),
		twos: emptiedMap(v.twos), keySpotIDs: emptiedMap(v.keySpotIDs), moments: emptiedMap(v.moments), brought: emptiedMap(v.brought), cut: emptiedMap(v.cut),
		targetsOf: emptiedMap(v.targetsOf), known: v.known,
		grips: v.grips[:0], places: v.places[:0], outOf: v.outOf[:0], stages: v.stages[:0], alone: v.alone[:0], grabs: v.grabs[:0], legBuf: v.legBuf[:0],
		duties: v.duties[:0], going: v.going[:0], cur: v.cur[:0], made: v.made[:0],
		spare: v.spares, spares: v.spares, newLegs: v.allLegs, allLegs: v.allLegs,
	}
	return v
}

// see takes down a leg of a path.
func (s *seeker) see(v *solver, l *timedLeg, ch *Change) {
	if ch.To.Cue != s.into {
		return
	}
	if l.among {
		s.among++
	}
	if ch.Hand != s.hand {
		return
	}
	s.legs++
	s.need, s.key, s.crowded = l.need, l.key, v.crowded
	s.from, s.to = v.gripsOf(l.key)
	s.key.from, s.key.to, s.holds = hopFrom, hopTo, [2]int8{-1, -1}
	s.fixed = l.key.to == gripUnknown || l.act != nil || l.stoops || l.walk || l.bodyBound || len(l.pre)+len(l.post) > 0 || max(l.key.fromSpot, l.key.toSpot) >= keyedSpot
	for i, it := range v.player.Items[:min(len(v.player.Items), len(s.limbs))] {
		for k, g := range [2]*Grip{&s.from, &s.to} {
			if g.Inst == it {
				s.holds[k] = int8(i)
			}
		}
		if !v.heldOnly(it) {
			for _, limb := range v.limbsFor(it) {
				s.limbs[i] |= limb
			}
		}
	}
	s.from.Inst, s.to.Inst = nil, nil
}

// In is what the hop takes where things stand as a player has them: the same items, who has
// one place and one table. It says no where that cannot be told from the hop alone: where
// something is out of reach without a step, for one.
func (o *Hops) In(h *Hop, p *score.Player) (body.Pace, bool) {
	if h.fixed {
		return body.Pace{}, false
	}
	has := o.lend()
	defer o.idle.Put(has)
	v := has.solver()
	v.player, v.places, v.crowded = p, append(v.places, Place{At: p.Stations[0].At}), h.crowded
	from, to := h.from, h.to
	for i, it := range p.Items {
		for k, g := range [2]*Grip{&from, &to} {
			if h.holds[k] == int8(i) {
				g.Inst = it
			}
		}
		for left := h.limbs[i]; left != 0; left &= left - 1 {
			if v.missing(it, left&-left, v.places[0].At, it.Stick, true) > eps {
				return body.Pace{}, false
			}
		}
	}
	v.grips = append(v.grips, Grip{}, Grip{}, from, to)
	l := v.makeLeg(h.key)
	return l.need, !l.stoops && !l.walk
}
