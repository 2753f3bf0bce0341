package motion

import (
	"math"

	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
)

// Which hand has which bar or drum.

// A fingering is which limbs strike each stroke of a cue, and how many of a
// chord's notes the left hand has.
type fingering struct {
	limbs body.Limbs
	left  uint8
}

// At most so many situations of the two hands are followed from stroke to
// stroke, the cheapest of them.
const mostFingerings = 8

// The costs that order the ways to give a cue's notes to two hands. What cannot be done
// outweighs what is at the edge, that what is tight, and that what is unusual.
const (
	handMissing = 1e6
	handAtEdge  = 1e4
	handTight   = 1e2
	handCrosses = 30   // one hand beyond the other
	handAgain   = 3    // the same hand twice, where hand to hand is asked for
	handBegins  = 2    // not with the hand that is named first
	handCm      = 0.01 // the cost of a centimetre, as the least of all
	handHair    = 1e-4 // and of one that two mallets in a hand save, or open to
)

// handBeyond is from how far on the right hand is beyond the left one, in cm.
const handBeyond = 1.0

// alikeCost is how near to one another two costs are alike: what is added up in another
// order differs by less. Of what is alike the first is kept.
const alikeCost = 1e-6

// A handAt is where a hand was last.
type handAt struct {
	*hit         // nil is not known
	stroke int32 // and 1; 0 is nowhere yet
	left   uint8
	roll   bool
	t      float64
	free   float64 // when that is over
	early  window  // of a roll, by how much it may be let go of early
}

// same says whether a hand was last at the same stroke, and as many notes of it
// went to the left one.
func (a *handAt) same(b *handAt) bool { return a.stroke == b.stroke && a.left == b.left }

type fingerState struct {
	hands [2]handAt
	cost  float64
	last  body.Limbs
	fingerStep
}

// A fingerStep is how a stroke is struck, and in which situation the hands were
// before.
type fingerStep struct {
	back int32
	fingering
}

// fingered gives the notes of a cue for two hands to them, as whoever plays it
// would: hand to hand where it can be, over leaps with the hand that has the
// time, without crossing; a chord's lower notes to the hand on their side. Hands
// stay as they are at the written tempo when another is supposed. Nil where no
// stroke says what it strikes.
func (l *lister) fingered(c *score.Cue, limb body.Limb, places []*laid) []fingering {
	if c.Struck == nil || limb != body.RightFirst && limb != body.LeftFirst && limb != body.Together {
		return nil
	}
	if l.leaps.list == nil {
		l.leaps = newLeaps(&l.player.Profile, l.total)
	}
	f := fingers{same: l.player.Profile.Same(), way: l.player.Profile.Ways(), limb: limb, pairs: len(c.With) > 0 && c.With[0].Count == 2 || c.Asks != nil && c.Asks.TwoInOne, leaps: &l.leaps}
	f.now, f.next = append(f.room[0][:0], fingerState{fingerStep: fingerStep{back: -1}}), f.room[1][:0]
	steps := make([]fingerStep, 0, len(c.Strokes)*mostFingerings)
	ends := make([]int32, len(c.Strokes)) // of the steps of each stroke
	for i := range c.Strokes {
		st := &c.Strokes[i]
		f.stroke(l.moment(int32(i), st), st, places[i])
		for k := range f.now {
			steps = append(steps, f.now[k].fingerStep)
		}
		ends[i] = int32(len(steps))
	}
	best := int32(0)
	for i := range f.now {
		if f.now[i].cost < f.now[best].cost-alikeCost {
			best = int32(i)
		}
	}
	out := make([]fingering, len(c.Strokes))
	for i := len(c.Strokes) - 1; i >= 0; i-- {
		first := int32(0)
		if i > 0 {
			first = ends[i-1]
		}
		step := &steps[first+best]
		out[i], best = step.fingering, step.back
	}
	return out
}

// moment is when a stroke begins and ends, at the written tempo.
func (l *lister) moment(i int32, st *score.Stroke) handAt {
	a := handAt{stroke: i + 1, t: l.score.Tempo.Seconds(st.At) * l.score.Supposed}
	a.free = a.t
	if a.roll = st.Has(score.Roll); a.roll {
		a.free = l.score.Tempo.Seconds(st.End) * l.score.Supposed
		a.early = window{early: [2]float64{letGoSeconds, letGoShare * (a.free - a.t)}, value: l.score.Tempo.Between(st.End.Sub(letGoValue), st.End) * l.score.Supposed}
	}
	return a
}

// fingers are the situations in which the hands may be.
type fingers struct {
	same      body.Pace
	way       func(cm, wide float64) body.Pace // to and from a roll
	limb      body.Limb
	pairs     bool // each hand holds two mallets
	leaps     *leaps
	now, next []fingerState
	room      [2][2 * mostFingerings]fingerState
	ways      []fingering
	twin      [2][mostFingerings]int8 // of each situation, the first where a hand was last at the same
	order     [mostFingerings]int32
}

// stroke goes on from the situations by one stroke.
func (f *fingers) stroke(at handAt, st *score.Stroke, l *laid) {
	for h := range f.twin {
		for b := range f.now {
			k := 0
			for !f.now[k].hands[h].same(&f.now[b].hands[h]) {
				k++
			}
			f.twin[h][b] = int8(k)
		}
	}
	f.next = f.next[:0]
	f.waysOf(st, l)
	for _, w := range f.ways {
		f.strike(w, l, &at)
	}
	f.cheapest()
	f.now, f.next = f.next, f.now
}

// waysOf finds those in which two hands can strike a stroke. What comes first is kept
// where two are alike: the hand that is named first, and of a chord for both as many to
// it as can be; where neither is named, to the right one.
func (f *fingers) waysOf(st *score.Stroke, l *laid) {
	n := 1
	if l != nil {
		n = l.count
	}
	leftFirst := f.limb == body.LeftFirst
	either := [2]fingering{{body.R, 0}, {body.L, 0}}
	if leftFirst {
		either[0], either[1] = either[1], either[0]
	}
	f.ways = f.ways[:0]
	switch {
	case st.Hand == 'R':
		f.ways = append(f.ways, fingering{body.R, 0})
	case st.Hand == 'L':
		f.ways = append(f.ways, fingering{body.L, 0})
	case n > 1:
		for few := 1; few < n; few++ {
			left := few
			if leftFirst {
				left = n - few
			}
			f.ways = append(f.ways, fingering{body.Hands, uint8(min(left, math.MaxUint8))})
		}
		if n == 2 && f.pairs && f.limb != body.Together && !st.Has(score.Roll) {
			f.ways = append(f.ways, either[:]...)
		}
	case st.Has(score.Roll) || f.limb == body.Together:
		f.ways = append(f.ways, fingering{body.Hands, 0})
	default:
		f.ways = append(f.ways, either[:]...)
	}
}

// strike goes on from each situation by one way of striking a stroke. Of two that
// are alike then, the cheaper one is kept.
func (f *fingers) strike(w fingering, l *laid, now *handAt) {
	var ats [2]handAt // where the hands are then; nothing is said of where that is without its bars or drums
	var holds [2]float64
	for h := range ats {
		ats[h] = *now
		ats[h].left = w.left
		if l != nil && w.limbs&(1<<h) != 0 {
			ats[h].hit = l.by(h, w.limbs, w.left)
			holds[h] = f.holds(ats[h].hit)
		}
	}
	stays := -1 // the hand that does not strike
	switch w.limbs {
	case body.R:
		stays = int(body.Left)
	case body.L:
		stays = int(body.Right)
	}
	var prices [2][mostFingerings]float64
	var to [mostFingerings]int32 // of next, and 1, by the first with the same hand that stays
	for b := range f.now {
		from := &f.now[b]
		s := fingerState{hands: from.hands, last: w.limbs, cost: from.cost, fingerStep: fingerStep{int32(b), w}}
		if w.limbs != body.Hands { // the usual turns
			switch {
			case from.last == w.limbs:
				s.cost += handAgain
			case from.back < 0 && (f.limb == body.LeftFirst) != (w.limbs == body.L):
				s.cost += handBegins
			}
		}
		for h := range 2 {
			if w.limbs&(1<<h) == 0 {
				continue
			}
			at, was := ats[h], &from.hands[h]
			if at.hit == nil {
				at.hit = was.hit // wherever it is
			} else {
				s.cost += holds[h]
			}
			if was.stroke > 0 {
				price := &prices[h][b]
				if twin := f.twin[h][b]; int(twin) < b && f.now[twin].hands[h].hit == was.hit {
					*price = prices[h][twin]
				} else {
					*price = f.price(was, &at)
				}
				s.cost += *price
			}
			s.hands[h] = at
		}
		if r, l := &s.hands[0], &s.hands[1]; r.stroke > 0 && l.stroke > 0 && r.hit != nil && l.hit != nil && r.along < l.along-handBeyond {
			s.cost += handCrosses
		}
		slot := &to[0]
		if stays >= 0 {
			slot = &to[f.twin[stays][b]]
		}
		switch {
		case *slot == 0:
			f.next = append(f.next, s)
			*slot = int32(len(f.next))
		case s.cost < f.next[*slot-1].cost-alikeCost:
			f.next[*slot-1] = s
		}
	}
}

// cheapest keeps the cheapest of too many situations, those first.
func (f *fingers) cheapest() {
	if len(f.next) <= mostFingerings {
		return
	}
	n := 0
	for i := range f.next {
		cost := f.next[i].cost
		if n == mostFingerings && cost >= f.next[f.order[n-1]].cost-alikeCost {
			continue
		}
		k := min(n, mostFingerings-1)
		for ; k > 0 && f.next[f.order[k-1]].cost > cost+alikeCost; k-- {
			f.order[k] = f.order[k-1]
		}
		f.order[k] = int32(i)
		n = min(n+1, mostFingerings)
	}
	f.now = f.now[:0]
	for _, i := range f.order[:n] {
		f.now = append(f.now, f.next[i])
	}
	f.now, f.next = f.next, f.now
}

// holds is what it costs that a hand strikes so many at once, so far apart.
func (f *fingers) holds(x *hit) float64 {
	if x.count() < 2 {
		return 0
	}
	easy, widest := body.Spread(0)
	switch {
	case x.count() > 2 || x.span > widest:
		return handMissing * (1 + float64(x.count()-2) + max(0, x.span-widest)/widest)
	case x.span > easy || !f.pairs: // another mallet for that
		return handTight + x.span*handHair
	}
	return x.span * handHair
}

// price is what a hand's way from stroke to stroke costs. From and to a roll it is the
// way that the path charges, and a hand that stays where it is needs no time.
func (f *fingers) price(from, to *handAt) float64 {
	if from.roll || to.roll {
		return f.rollPrice(from, to)
	}
	pace, cost := f.same, 0.0
	if from.hit != nil && to.hit != nil {
		way := f.leaps.of(from.hit, to.hit, f.pairs)
		cost = way.cm*handCm + way.away*handHair
		if way.cm > 0 {
			pace = way.pace
		}
	}
	return cost + hurry(pace, to.t-from.t)
}

func (f *fingers) rollPrice(from, to *handAt) float64 {
	if from.hit == nil || to.hit == nil || !to.elsewhere(from.hit) {
		return 0
	}
	cm := from.Dist(to.Target)
	pace := f.way(cm, to.Wide)
	win := from.early
	win.start, win.end = from.free, to.t
	has, _ := win.has(pace.Floor)
	return cm*handCm + hurry(pace, has)
}

// hurry is what it costs that there is so much time for a way.
func hurry(pace body.Pace, gap float64) float64 {
	switch BandOf(pace, gap) {
	case Missing:
		return handMissing * (1 + pace.Limit - gap)
	case AtEdge:
		return handAtEdge * (1 + pace.Floor - gap)
	case Tight:
		return handTight * (1 + pace.Steady - gap)
	}
	return 0
}

// keyedSpot is from which spot on a hand is at a bar or a drum of an item.
const keyedSpot = int16(1 << 14)

// A keySpot is a place on an item.
type keySpot struct {
	item        int16
	right, away float64 // from the middle of the item
	wide        float64
}

// keySpotOf is the spot of a hand that strikes an event's bar or drum, or the
// item's own where it does not say.
func (v *solver) keySpotOf(e *Event, h int, own int16) int16 {
	x := struck(v.laid, e, h)
	if x == nil || own < 0 {
		return own
	}
	for int(x.id) >= len(v.hitSpots) {
		v.hitSpots = append(v.hitSpots, 0)
	}
	if v.hitSpots[x.id] == 0 {
		v.hitSpots[x.id] = v.keySpot(keySpot{own, x.Right, x.Ahead, x.Wide})
	}
	if id := v.hitSpots[x.id]; id >= keyedSpot {
		return id
	}
	return own
}

// keySpot is the number of a place on an item, or below keyedSpot where there are
// too many.
func (v *solver) keySpot(k keySpot) int16 {
	id, ok := v.keySpotIDs[k]
	switch {
	case ok:
		return id
	case len(v.keySpots) >= int(keyedSpot)-1:
		return 1
	}
	id = keyedSpot + int16(len(v.keySpots))
	v.keySpots = append(v.keySpots, k)
	v.keySpotIDs[k] = id
	return id
}

// itemOf is the item that a spot is on, below 0 where it is on none, and how
// wide what is struck there is.
func (v *solver) itemOf(s int16) (item int16, wide float64) {
	switch {
	case s >= keyedSpot:
		k := &v.keySpots[s-keyedSpot]
		return k.item, k.wide
	case s >= 0:
		return s, v.player.Items[s].Inst.Zone
	}
	return s, body.StrikeWidth
}

// doubles is which hands strike two of an instrument's bars or drums at once
// somewhere in a cue, and so hold two mallets all through it.
func doubles(c *score.Cue, limb body.Limb, fingers []fingering, places []*laid) body.Limbs {
	var out body.Limbs
	for i, l := range places {
		if l == nil || l.count < 2 || !c.Strokes[i].Sounds() {
			continue
		}
		f := fingering{limbs: body.Of(limb)}
		if fingers != nil {
			f = fingers[i]
		}
		for h := range 2 {
			if f.limbs&(1<<h) != 0 && l.by(h, f.limbs, f.left).count() > 1 {
				out |= 1 << h
			}
		}
	}
	return out
}
