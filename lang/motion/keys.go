package motion

import (
	"cmp"
	"math"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// What one stroke strikes of an instrument that has bars or drums, and which
// hand has which of them.

// A laid is what a stroke strikes, from the left as the player stands.
type laid struct {
	keys    []score.Key
	targets []kit.Target // from the middle of the instrument, turned as that is
}

// lay is where a stroke's bars or drums lie. What has no place is left out; it
// is nil where nothing is left, and no claim is made.
func lay(it *score.Item, s *score.Struck, on onKettles) *laid {
	if s == nil {
		return nil
	}
	if len(s.Keys) == 1 { // as nearly always
		t, ok := placeOf(it.Inst, s.Keys[0], on.of(0))
		if !ok {
			return nil
		}
		one := &struct {
			laid
			target [1]kit.Target
		}{target: [1]kit.Target{turn(t, it.Facing)}}
		one.keys, one.targets = s.Keys, one.target[:]
		return &one.laid
	}
	var list []keyed
	for i, k := range s.Keys {
		if t, ok := placeOf(it.Inst, k, on.of(i)); ok {
			list = append(list, keyed{k, turn(t, it.Facing)})
		}
	}
	if list == nil {
		return nil
	}
	slices.SortStableFunc(list, func(a, b keyed) int { return cmp.Compare(a.Right, b.Right) })
	out := &laid{}
	for _, k := range list {
		out.keys, out.targets = append(out.keys, k.key), append(out.targets, k.Target)
	}
	return out
}

type keyed struct {
	key score.Key
	kit.Target
}

// placeOf is where a bar or a drum of an instrument lies; of kettles, the one that
// the note is on, where that is known.
func placeOf(in *kit.Instrument, k score.Key, kettle int) (kit.Target, bool) {
	switch {
	case k.Pitch.None():
		return in.Member(k.Member(in))
	case kettle > 0:
		return in.Member(kettle)
	case len(in.Kettles) > 0:
		return in.Member(kettleFor(in, k))
	}
	return in.Bar(k.Pitch)
}

// kettleFor is the kettle on which a note is nearest to the middle of what its
// pedal reaches, where it sounds best (common practice, no source); 0 is none. It
// stands for one that no kettle is left for.
func kettleFor(in *kit.Instrument, k score.Key) int {
	best, least := 0, math.MaxInt
	for n, kettle := range in.Kettles {
		off := 2*k.Pitch.Semitone() - kettle.Low.Semitone() - kettle.High.Semitone()
		if off = max(off, -off); kettle.Reaches(k.Pitch) && off < least {
			best, least = n+1, off
		}
	}
	return best
}

// turn is a target on an instrument that is turned clockwise by so many
// degrees.
func turn(t kit.Target, degrees float64) kit.Target {
	if degrees == 0 {
		return t
	}
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	t.Right, t.Ahead = t.Right*cos+t.Ahead*sin, t.Ahead*cos-t.Right*sin
	return t
}

// A hit is what one hand strikes at a time: where the hand is, and how wide the
// narrowest of it is.
type hit struct {
	kit.Target
	keys []score.Key
	span float64 // from its first to its last, cm
}

// by is what a hand strikes of it, where the left hand has so many from the
// left, of a chord for both; 0 is that each hand strikes all.
func (l *laid) by(h int, limbs body.Limbs, left uint8) hit {
	from, to := 0, len(l.targets)
	if n := int(left); n > 0 && n < to && limbs&body.Hands == body.Hands {
		if h == int(body.Left) {
			to = n
		} else {
			from = n
		}
	}
	first, last := l.targets[from], l.targets[to-1]
	out := hit{keys: l.keys[from:to], span: first.Dist(last)}
	out.Right, out.Ahead, out.Wide = (first.Right+last.Right)/2, (first.Ahead+last.Ahead)/2, first.Wide
	for _, t := range l.targets[from:to] {
		out.Wide = min(out.Wide, t.Wide)
	}
	return out
}

// A chart is where everything lies that a player's strokes strike.
type chart struct {
	known   map[chartKey]*laid
	kettles []onKettles // of each event; nil where nothing is known
}

type chartKey struct {
	item *score.Item
	*score.Struck
	onKettles
}

func newChart(kettles []onKettles) chart { return chart{map[chartKey]*laid{}, kettles} }

// of is where what an event strikes lies; nil where it does not say.
func (c chart) of(e *Event) *laid {
	if e.Cue == nil || e.Cue.Struck == nil {
		return nil
	}
	return c.at(e.Cue.Item, e.Cue.StruckAt(int(e.Stroke)), kettlesOf(c.kettles, int(e.index)))
}

func (c chart) at(it *score.Item, s *score.Struck, on onKettles) *laid {
	if s == nil {
		return nil
	}
	k := chartKey{it, s, on}
	l, ok := c.known[k]
	if !ok {
		l = lay(it, s, on)
		c.known[k] = l
	}
	return l
}

// hit is what a hand strikes in an event; it is not ok where that is not said.
func (c chart) hit(e *Event, h int) (hit, bool) {
	l := c.of(e)
	if l == nil {
		return hit{}, false
	}
	return l.by(h, e.Limbs, e.Left), true
}

// Strikes is what a hand strikes in an event; none where that is not said.
func (r *Result) Strikes(e *Event, h body.Limb) []score.Key {
	x, _ := newChart(r.kettles).hit(e, int(h))
	return x.keys
}

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
)

// handBeyond is from how far on the right hand is beyond the left one, in cm.
const handBeyond = 1.0

// A handAt is where a hand was last.
type handAt struct {
	hit
	stroke int32 // and 1; 0 is nowhere yet
	left   uint8
	t      float64
}

type fingerState struct {
	hands [2]handAt
	last  body.Limbs
	cost  float64
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
func fingered(s *score.Score, p *score.Player, c *score.Cue, limb body.Limb, places chart, kettles []onKettles) []fingering {
	if c.Struck == nil || limb != body.RightFirst && limb != body.LeftFirst && limb != body.Together {
		return nil
	}
	f := fingers{profile: p.Profile, same: p.Profile.Same(), limb: limb, pairs: len(c.With) > 0 && c.With[0].Count == 2 || c.Asks != nil && c.Asks.TwoInOne}
	now, next := make([]fingerState, 1, 4*mostFingerings), make([]fingerState, 0, 4*mostFingerings)
	now[0].back = -1
	steps := make([]fingerStep, 0, len(c.Strokes)*mostFingerings)
	ends := make([]int32, len(c.Strokes)) // of the steps of each stroke
	for i := range c.Strokes {
		st := &c.Strokes[i]
		l := places.at(c.Item, c.StruckAt(i), kettlesOf(kettles, i))
		t := s.Tempo.Seconds(st.At) * s.Supposed
		next = next[:0]
		for _, w := range f.ways(st, l) {
			ats := f.arrives(w, l, int32(i), t)
			for b := range now {
				next = f.add(next, &now[b], int32(b), w, &ats)
			}
		}
		if len(next) > mostFingerings {
			slices.SortStableFunc(next, func(a, b fingerState) int { return cmp.Compare(a.cost, b.cost) })
			next = next[:mostFingerings]
		}
		for k := range next {
			steps = append(steps, next[k].fingerStep)
		}
		ends[i] = int32(len(steps))
		now, next = next, now
	}
	best := int32(0)
	for i := range now {
		if now[i].cost < now[best].cost {
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

type fingers struct {
	profile body.Profile
	same    body.Pace
	limb    body.Limb
	pairs   bool // each hand holds two mallets
}

// ways are those in which two hands can strike a stroke.
func (f *fingers) ways(st *score.Stroke, l *laid) []fingering {
	n := 1
	if l != nil {
		n = len(l.targets)
	}
	split := func() (list []fingering) {
		for left := 1; left < n; left++ {
			list = append(list, fingering{body.Hands, uint8(min(left, math.MaxUint8))})
		}
		return list
	}
	switch {
	case st.Hand == 'R':
		return []fingering{{body.R, 0}}
	case st.Hand == 'L':
		return []fingering{{body.L, 0}}
	case n > 1:
		list := split()
		if n == 2 && f.pairs && f.limb != body.Together && !st.Has(score.Roll) {
			list = append(list, fingering{body.R, 0}, fingering{body.L, 0})
		}
		return list
	case st.Has(score.Roll) || f.limb == body.Together:
		return []fingering{{body.Hands, 0}}
	}
	return []fingering{{body.R, 0}, {body.L, 0}}
}

// arrives is where the hands are after a stroke that is struck one way; nothing
// is said of where that is without its bars or drums.
func (f *fingers) arrives(w fingering, l *laid, stroke int32, t float64) (ats [2]handAt) {
	for h := range ats {
		ats[h] = handAt{stroke: stroke + 1, left: w.left, t: t}
		if l != nil && w.limbs&(1<<h) != 0 {
			ats[h].hit = l.by(h, w.limbs, w.left)
		}
	}
	return ats
}

// add goes on from a state by one way of striking the next stroke.
func (f *fingers) add(next []fingerState, from *fingerState, back int32, w fingering, ats *[2]handAt) []fingerState {
	s := fingerState{hands: from.hands, last: w.limbs, cost: from.cost, fingerStep: fingerStep{back, w}}
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
		at := ats[h]
		if at.keys == nil {
			at.hit = s.hands[h].hit // wherever it is
		} else {
			s.cost += f.holds(&at.hit)
		}
		if was := &s.hands[h]; was.stroke > 0 {
			s.cost += f.price(was, &at)
		}
		s.hands[h] = at
	}
	if r, l := &s.hands[0], &s.hands[1]; r.stroke > 0 && l.stroke > 0 && r.keys != nil && l.keys != nil && r.Right < l.Right-handBeyond {
		s.cost += handCrosses
	}
	for i := range next {
		if o := &next[i]; o.last == s.last && o.hands[0].stroke == s.hands[0].stroke && o.hands[1].stroke == s.hands[1].stroke &&
			o.hands[0].left == s.hands[0].left && o.hands[1].left == s.hands[1].left {
			if s.cost < o.cost {
				*o = s
			}
			return next
		}
	}
	return append(next, s)
}

// holds is what it costs that a hand strikes so many at once, so far apart.
func (f *fingers) holds(x *hit) float64 {
	if len(x.keys) < 2 {
		return 0
	}
	easy, widest := body.Spread(0)
	switch {
	case len(x.keys) > 2 || x.span > widest:
		return handMissing
	case x.span > easy || !f.pairs: // another mallet for that
		return handTight
	}
	return 0
}

// price is what a hand's way from stroke to stroke costs.
func (f *fingers) price(from, to *handAt) float64 {
	pace, cost := f.same, 0.0
	if from.keys != nil && to.keys != nil {
		d := leapOf(from.hit, to.hit, f.pairs)
		cost = d * handCm
		if d > 0 {
			pace = f.profile.Leap(d, to.Wide)
		}
	}
	switch gap := to.t - from.t; BandOf(pace, gap) {
	case Missing:
		cost += handMissing * (1 + pace.Limit - gap)
	case AtEdge:
		cost += handAtEdge * (1 + pace.Floor - gap)
	case Tight:
		cost += handTight * (1 + pace.Steady - gap)
	}
	return cost
}

// leapOf is how far a hand goes between two strokes, 0 where it stays. With two
// mallets in it, what one of them reaches need not be gone.
func leapOf(from, to hit, pair bool) float64 {
	d := from.Dist(to.Target)
	if pair && (from.span == 0 || to.span == 0) {
		easy, _ := body.Spread(0)
		d -= easy
	}
	if d < sameBar {
		return 0
	}
	return d
}

// sameBar is less than what any two bars are apart, in cm.
const sameBar = 0.5

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
	x, ok := v.chart.hit(e, h)
	if !ok || own < 0 {
		return own
	}
	k := keySpot{own, x.Right, x.Ahead, x.Wide}
	id, ok := v.keySpotIDs[k]
	if !ok {
		if len(v.keySpots) >= int(keyedSpot)-1 {
			return own
		}
		id = keyedSpot + int16(len(v.keySpots))
		v.keySpots = append(v.keySpots, k)
		v.keySpotIDs[k] = id
	}
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
func doubles(c *score.Cue, limb body.Limb, fingers []fingering, places chart, kettles []onKettles) body.Limbs {
	var out body.Limbs
	for i, s := range c.Struck {
		l := places.at(c.Item, s, kettlesOf(kettles, i))
		if l == nil || len(l.targets) < 2 || !c.Strokes[i].Sounds() {
			continue
		}
		f := fingering{limbs: body.Of(limb)}
		if fingers != nil {
			f = fingers[i]
		}
		for h := range 2 {
			if f.limbs&(1<<h) != 0 && len(l.by(h, f.limbs, f.left).keys) > 1 {
				out |= 1 << h
			}
		}
	}
	return out
}
