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
	handCrosses = 30   // one hand beyond the other, which stays there
	handPasses  = 1    // for a moment: the other one has struck and goes on beyond it, as in a scale hand to hand
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

// A handAt is which stroke of the cue a hand struck last, from 1, where 0 is nowhere
// yet; how many notes of it went to the left one; and where that was, by its number in
// the chart, where 0 is not known.
type handAt uint64

const (
	hitBits  = 24
	leftBits = 8
)

func handAtStroke(i int32, left uint8, hit int32) handAt {
	return handAt(i+1)<<(hitBits+leftBits) | handAt(left)<<hitBits | handAt(hit)
}

func (a handAt) hit() int32 { return int32(a & (1<<hitBits - 1)) }

// stroke is the stroke's number in the cue, from 0; below that it is nowhere yet.
func (a handAt) stroke() int32 { return int32(a>>(hitBits+leftBits)) - 1 }

// same says whether a hand was last at the same stroke, and as many notes of it
// went to the left one.
func (a handAt) same(b handAt) bool { return a>>hitBits == b>>hitBits }

type fingerState struct {
	hands [2]handAt
	cost  float64
	last  body.Limbs
	fingerStep
}

// A fingerStep is how a stroke is struck, and in which situation the hands were
// before.
type fingerStep struct {
	back int8
	fingering
}

// fingered gives the notes of a cue for two hands to them, as whoever plays it
// would: hand to hand where it can be, over leaps with the hand that has the
// time, without crossing; a chord's lower notes to the hand on their side. Hands
// stay as they are at the written tempo when another is supposed. Nil where no
// stroke says what it strikes.
func (l *lister) fingered(c *score.Cue, limb body.Limb, places []*laid, chart *chart) []fingering {
	if c.Struck == nil || limb != body.RightFirst && limb != body.LeftFirst && limb != body.Together {
		return nil
	}
	if l.hands == nil {
		l.hands = &fingers{same: l.player.Profile.Same(), way: l.player.Profile.TravelPace}
	}
	l.hands.leaps.forHits(&l.player.Profile, int(chart.hits), l.total)
	f := l.hands
	f.begin(c, limb)
	for i := range c.Strokes {
		st := &c.Strokes[i]
		f.moments = append(f.moments, l.moment(st))
		f.stroke(int32(i), st, places[i])
		for k := range f.now {
			f.steps = append(f.steps, f.now[k].fingerStep)
		}
		f.ends = append(f.ends, int32(len(f.steps)))
	}
	best := 0
	for i := range f.now {
		if f.now[i].cost < f.now[best].cost-alikeCost {
			best = i
		}
	}
	out := make([]fingering, len(c.Strokes))
	for i := len(c.Strokes) - 1; i >= 0; i-- {
		first := 0
		if i > 0 {
			first = int(f.ends[i-1])
		}
		step := &f.steps[first+best]
		out[i], best = step.fingering, int(step.back)
	}
	return out
}

// A struckTime is when a stroke begins and ends.
type struckTime struct {
	t, free float64
	roll    bool
	early   [2]float64 // by how much a roll may be let go of early, see window
	value   float64
}

// moment is when a stroke begins and ends, at the written tempo.
func (l *lister) moment(st *score.Stroke) struckTime {
	var m struckTime
	m.t = l.score.Tempo.Seconds(st.At) * l.score.Supposed
	m.free = m.t
	if m.roll = st.Has(score.Roll); m.roll {
		m.free = l.score.Tempo.Seconds(st.End) * l.score.Supposed
		m.early = [2]float64{letGoSeconds, letGoShare * (m.free - m.t)}
		m.value = l.score.Tempo.Between(st.End.Sub(letGoValue), st.End) * l.score.Supposed
	}
	return m
}

// fingers are the situations in which the hands may be. It is used for one cue
// after the other.
type fingers struct {
	same      body.Pace
	way       func(cm, wide float64) body.Pace // to and from a roll
	limb      body.Limb
	pairs     bool // each hand holds two mallets
	leaps     leaps
	moments   []struckTime // of the cue's strokes
	hits      []*hit       // by their number in the chart; those that were struck
	along     []float64    // likewise, how far to the right they lie
	now, next []fingerState
	room      [2][2 * mostFingerings]fingerState
	ways      []fingering
	twin      [2][mostFingerings]int8 // of each situation, the first where a hand was last at the same
	order     [mostFingerings]int32
	steps     []fingerStep
	ends      []int32 // of the steps of each stroke
}

// begin makes ready for a cue.
func (f *fingers) begin(c *score.Cue, limb body.Limb) {
	f.limb, f.pairs = limb, len(c.With) > 0 && c.With[0].Count == 2 || c.Asks != nil && c.Asks.TwoInOne
	f.now, f.next = append(f.room[0][:0], fingerState{fingerStep: fingerStep{back: -1}}), f.room[1][:0]
	f.moments, f.steps, f.ends = f.moments[:0], f.steps[:0], f.ends[:0]
}

// known is the number of a hit, which stands for it from now on; 0 of more than
// can be told apart, of which nothing is said.
func (f *fingers) known(x *hit) int32 {
	if x.id >= 1<<hitBits {
		return 0
	}
	for int(x.id) >= len(f.hits) {
		f.hits, f.along = append(f.hits, nil), append(f.along, 0)
	}
	if f.hits[x.id] != x {
		f.hits[x.id], f.along[x.id] = x, x.along
	}
	return x.id
}

// stroke goes on from the situations by one stroke.
func (f *fingers) stroke(i int32, st *score.Stroke, l *laid) {
	for b := range f.now {
		for h, at := range f.now[b].hands {
			k := b // of those that go on from a hand where it was, one is kept
			if at.stroke() == i-1 {
				for k = 0; !f.now[k].hands[h].same(at); {
					k++
				}
			}
			f.twin[h][b] = int8(k)
		}
	}
	f.next = f.next[:0]
	f.waysOf(st, l)
	for _, w := range f.ways {
		switch w.limbs {
		case body.R:
			f.strikeWith(body.Right, w, l, i)
		case body.L:
			f.strikeWith(body.Left, w, l, i)
		default:
			f.strikeBoth(w, l, i)
		}
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

// at is where a hand is when it strikes, and what it costs that it strikes so many at
// once; nothing is said of where that is without its bars or drums.
func (f *fingers) at(h int, w fingering, l *laid, i int32) (at handAt, holds float64) {
	if l == nil {
		return handAtStroke(i, w.left, 0), 0
	}
	x := l.by(h, w.limbs, w.left)
	return handAtStroke(i, w.left, f.known(x)), f.holds(x)
}

// goes is where a hand is once it has struck, and what its way there costs.
func (f *fingers) goes(was, at handAt) (handAt, float64) {
	if at.hit() == 0 {
		at |= handAt(was.hit()) // wherever it is
	}
	if was.stroke() < 0 {
		return at, 0
	}
	return at, f.price(was, at)
}

// strikeWith goes on from each situation by striking a stroke with one hand. Of two
// that are alike then, since the other hand was where it was, the cheaper one is kept.
func (f *fingers) strikeWith(h body.Limb, w fingering, l *laid, i int32) {
	at, holds := f.at(int(h), w, l, i)
	var last, now handAt // the hand's way that was priced last
	var price float64
	var to [mostFingerings]int32 // of next, and 1, by the first with the same other hand
	next, twins := f.next, &f.twin[1-h]
	begins := 0.0
	if (f.limb == body.LeftFirst) != (h == body.Left) {
		begins = handBegins
	}
	for b := range f.now {
		from := &f.now[b]
		cost := from.cost
		switch {
		case from.last == w.limbs:
			cost += handAgain
		case from.back < 0:
			cost += begins
		}
		cost += holds
		slot := &to[twins[b]&(mostFingerings-1)]
		if *slot != 0 && cost >= next[*slot-1].cost-alikeCost {
			continue // whatever the way costs
		}
		was, other := from.hands[h], from.hands[1-h]
		if was != last || now == 0 {
			last = was
			now, price = f.goes(was, at)
		}
		cost += price
		if f.crossed(h, now, other) {
			if f.crossed(h, was, other) {
				cost += handCrosses
			} else {
				cost += handPasses
			}
		}
		if *slot == 0 {
			next = grown(next)
			*slot = int32(len(next))
		} else if cost >= next[*slot-1].cost-alikeCost {
			continue
		}
		// field by field: what is put together elsewhere first and then copied
		// at once is waited for
		s := &next[*slot-1]
		s.hands[h], s.hands[1-h] = now, other
		s.cost, s.last = cost, w.limbs
		s.back, s.fingering = int8(b), w
	}
	f.next = next
}

// grown is a list with one more.
func grown(list []fingerState) []fingerState {
	if n := len(list); n < cap(list) {
		return list[:n+1]
	}
	return append(list, fingerState{})
}

// strikeBoth goes on from each situation by striking a stroke with both hands. The
// cheapest is kept, since all are alike then.
func (f *fingers) strikeBoth(w fingering, l *laid, i int32) {
	var at [2]handAt
	var holds [2]float64
	for h := range at {
		at[h], holds[h] = f.at(h, w, l, i)
	}
	var prices [2][mostFingerings]float64
	first := len(f.next)
	for b := range f.now {
		from := &f.now[b]
		cost := from.cost
		var hands [2]handAt
		for h := range hands {
			was, price := from.hands[h], &prices[h][b]
			cost += holds[h]
			if twin := f.twin[h][b]; int(twin) < b && f.now[twin].hands[h] == was {
				hands[h], *price = at[h], prices[h][twin]
				if at[h].hit() == 0 {
					hands[h] |= handAt(was.hit())
				}
			} else {
				hands[h], *price = f.goes(was, at[h])
			}
			cost += *price
		}
		if f.crossed(body.Right, hands[body.Right], hands[body.Left]) {
			cost += handCrosses
		}
		switch s := (fingerState{hands, cost, w.limbs, fingerStep{int8(b), w}}); {
		case len(f.next) == first:
			f.next = append(f.next, s)
		case cost < f.next[first].cost-alikeCost:
			f.next[first] = s
		}
	}
}

// crossed says whether the right hand was last beyond the left one, of which one is h.
func (f *fingers) crossed(h body.Limb, at, other handAt) bool {
	r, l := at.hit(), other.hit()
	if h == body.Left {
		r, l = l, r
	}
	return r != l && r != 0 && l != 0 && f.along[r] < f.along[l]-handBeyond
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
func (f *fingers) price(from, to handAt) float64 {
	was, now := &f.moments[from.stroke()], &f.moments[to.stroke()]
	a, b := from.hit(), to.hit()
	switch known := a != 0 && b != 0; {
	case !known && (was.roll || now.roll):
		return 0
	case !known:
		return hurry(&f.same, now.t-was.t)
	case was.roll || now.roll:
		return f.rollPrice(was, now, f.hits[a], f.hits[b])
	}
	way := f.leaps.of(f.hits[a], f.hits[b], f.pairs)
	pace := &f.same
	if way.cm > 0 {
		pace = &way.pace
	}
	return way.cm*handCm + way.away*handHair + hurry(pace, now.t-was.t)
}

func (f *fingers) rollPrice(was, now *struckTime, from, to *hit) float64 {
	if !to.elsewhere(from) {
		return 0
	}
	cm := from.Dist(to.Target)
	pace := f.way(cm, to.Wide)
	win := window{start: was.free, end: now.t, early: was.early, value: was.value}
	has, _ := win.has(pace.Floor)
	return cm*handCm + hurry(&pace, has)
}

// hurry is what it costs that there is so much time for a way.
func hurry(pace *body.Pace, gap float64) float64 {
	if pace.Steady <= gap+eps { // as mostly
		return 0
	}
	switch BandOf(*pace, gap) {
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
