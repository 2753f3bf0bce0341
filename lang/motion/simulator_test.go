package motion_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// The simulator is an oracle of the path. It reads the published tables by
// itself, works out by itself what every motion takes, and plays a result's
// line through: what each hand holds, where it is, since when it is free, and
// where the body stands. It shares nothing with how the path is priced. What
// it takes from the result is what the line claims: the grips, the places and
// the way in which each cue is played.

// span is how long something takes: at the limit, at the floor, steady.
type span struct{ limit, floor, steady float64 }

func (a span) plus(b span) span {
	return span{a.limit + b.limit, a.floor + b.floor, a.steady + b.steady}
}

// card is the MTM-1 card, read from the published tables.
type card struct {
	curves map[string][][2]float64 // distance in cm, TMU
	codes  map[string]float64      // TMU
	grace  map[int][2]float64      // of so many grace strokes each: at the floor and in comfort, in seconds
	sizes                          // of what has bars or drums
}

// tableRows reads a published table.
func tableRows(t testing.TB, path string) [][]string {
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment, r.FieldsPerRecord = '#', -1
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func readCard(t testing.TB) *card {
	c := &card{curves: map[string][][2]float64{}, codes: map[string]float64{}, grace: map[int][2]float64{}}
	rows := func(name string) [][]string { return tableRows(t, "../body/tables/"+name)[1:] } // the first names the columns
	num := func(s string) float64 {
		x, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	for _, r := range rows("mtm1-reach-move.csv") {
		if r[2] != "0" || r[3] != "cm" {
			continue
		}
		for _, kind := range strings.Split(r[1], "/") {
			c.curves[r[0]+kind] = append(c.curves[r[0]+kind], [2]float64{num(r[4]), num(r[5])})
		}
	}
	for _, r := range rows("mtm1-grasp-release-body.csv") {
		c.codes[r[0]] = num(r[1])
	}
	for _, r := range rows("rates.csv") {
		if n := map[string]int{"one": 1, "two": 2, "three": 3}[r[1]]; r[0] == "grace" {
			c.grace[n] = [2]float64{num(r[6]) / 1000, num(r[5]) / 1000}
		}
	}
	c.sizes = readSizes(t)
	return c
}

const tmu = 0.036

// way is a reach or a move of the card, in seconds: straight between the
// rows, its least below them, and on along the last two beyond.
func (c *card) way(kind string, cm float64) float64 {
	rows := c.curves[kind]
	if cm <= rows[0][0] {
		return rows[0][1] * tmu
	}
	for i := 1; ; i++ {
		if a, b := rows[i-1], rows[i]; cm <= b[0] || i == len(rows)-1 {
			return (a[1] + (b[1]-a[1])*(cm-a[0])/(b[0]-a[0])) * tmu
		}
	}
}

func (c *card) code(names ...string) (s float64) {
	for _, n := range names {
		v, ok := c.codes[n]
		if !ok {
			panic("the card has no " + n)
		}
		s += v * tmu
	}
	return s
}

// person is somebody's body: the numbers of a profile.
type person struct {
	*card
	floor, steady, margin float64
	same                  span
	lean                  float64
}

func newPerson(c *card, p *score.Player) *person {
	pr := p.Profile
	b := &person{card: c, floor: pr.FloorScale, steady: pr.SteadyScale, margin: pr.Margin, lean: pr.Lean}
	if b.margin <= 0 {
		b.margin = 1
	}
	// One hand again on one surface: 143 ms, 167 for a student, 100 for a
	// professional; nobody below 80 ms, and a student not below the same part
	// of that.
	limit := 0.080
	if pr.SameFloor > 1.0/7 {
		limit = 0.080 * pr.SameFloor * 7
	}
	b.same = span{math.Min(limit, pr.SameFloor), pr.SameFloor, math.Max(pr.SameFloor, pr.SameSteady*b.margin)}
	return b
}

// fit is Fitts's 1 oz table in Shannon's form.
func fit(d, w float64) float64 { return 0.0277 + 0.1115*math.Log2(d/w+1) }

// card times: the limit is 0.65 of the floor, and the steady time is never
// below it.
func (b *person) whole(floor, steady float64) span {
	return span{0.65 * floor, floor, math.Max(floor, steady*b.steady*b.margin)}
}

func (b *person) aimed(d, w float64) float64 { return math.Max(b.same.floor, fit(d, w)*b.floor) }

func (b *person) strikeElsewhere(d, w float64) span {
	share := 0.62
	if w < 8 {
		share = 0.50
	}
	f := fit(d, w)
	s := span{math.Max(b.same.limit, share*f*b.floor), math.Max(b.same.floor, f*b.floor), math.Max(b.same.steady, 1.4*f*b.steady*b.margin)}
	s.steady = math.Max(s.steady, s.floor)
	return s
}

func (b *person) lay(d float64, h kit.Handling) span {
	codes := b.code("RL1")
	switch h {
	case kit.Careful:
		codes += b.code("P1SE")
	case kit.Awkward:
		codes += b.code("P1SE", "G2")
	}
	return b.whole(b.aimed(d, 15)+codes*b.floor, b.way("MB", d)+codes)
}

func (b *person) take(d float64, h kit.Handling, among bool) span {
	extra := 0.0
	switch h {
	case kit.Careful:
		extra = b.code("G2")
	case kit.Awkward:
		extra = b.code("G2", "G2")
	}
	if among {
		return b.whole(b.aimed(d, 5)+(b.code("G1B")+extra)*b.floor, b.way("RC", d)+b.code("G4B", "G2")+extra)
	}
	return b.whole(b.aimed(d, 5)+(b.code("G1A")+extra)*b.floor, b.way("RB", d)+b.code("G1A", "G2")+extra)
}

func (b *person) carry(d, w float64) span { return b.whole(b.aimed(d, w), b.way("MB", d)) }

func (b *person) grasp(name string) span {
	return b.whole(b.code(name)*b.floor, b.code(name))
}

func (b *person) goes(d float64) span {
	switch {
	case d < 30:
		return span{}
	case d <= 90:
		return b.whole((b.code("SS-C1")+0.2*tmu*(d-30))*b.floor, b.code("SS-C2")+0.4*tmu*(d-30))
	}
	return b.whole(b.code("TBC1")*b.floor, b.code("TBC2")).plus(b.whole(math.Ceil(d/86)*b.code("W-P")*b.floor, math.Ceil(d/75)*b.code("W-PO")))
}

func (b *person) touch() span {
	return span{0, 0.080 * b.floor, math.Max(0.080*b.floor, 0.150*b.steady*b.margin)}
}

func (b *person) touchAfter() span {
	return span{b.same.limit, b.same.floor, math.Max(b.same.floor, 0.250*b.steady*b.margin)}
}

func (b *person) graces(n int) span {
	f := b.grace[n][0] * float64(n) * b.floor
	return span{0, f, math.Max(f, b.grace[n][1]*float64(n)*b.steady*b.margin)}
}

func (b *person) page() span {
	return b.whole(b.aimed(40, 5)+b.aimed(40, 15)+b.code("G1B", "RL1")*b.floor, b.way("RB", 40)+b.code("G1B")+b.way("MB", 40)+b.code("RL1"))
}

// A spot is a place in the room, in cm.
type spot struct{ right, ahead, up float64 }

func (a spot) to(b spot) float64 {
	return math.Sqrt((a.right-b.right)*(a.right-b.right) + (a.ahead-b.ahead)*(a.ahead-b.ahead) + (a.up-b.up)*(a.up-b.up))
}

func (a spot) floor(b spot) float64 { a.up, b.up = 0, 0; return a.to(b) }

// simulator plays a result's line through.
type simulator struct {
	*person
	s       *score.Score
	r       *motion.Result
	among   bool // so much lies on the table that things lie among others
	hands   [2]hand
	place   int
	last    *motion.Event // of any limb, ended last
	lastOf  *motion.Event // the one after which it left
	claimed map[int]bool  // changes that have been accounted for
	pricing bool          // add up what the line costs, and claim no changes
	cost    float64
	wrong   []string
}

// hand is what the simulator knows of one.
type hand struct {
	grip  motion.Grip // Set is false while nothing is known
	at    spot
	item  *score.Item // at which it is, if it is at one
	wide  float64     // what it aimed at there
	place int
	free  *motion.Event // after which it is free, nil at the beginning
	self  bool          // and that was its own doing, no holding for the other
	since float64       // the walk after which it stands somewhere else, or -1
	acts  []act         // takes and lays at set places that are still to come
}

func (m *simulator) complain(format string, a ...any) {
	m.wrong = append(m.wrong, fmt.Sprintf(format, a...))
}

func ends(e *motion.Event) float64 {
	if e.Kind == motion.RollOn {
		return e.T1
	}
	return e.T0
}

const hair = 1e-6

// holdsAt is what a hand holds from a moment on, by the line.
func (m *simulator) holdsAt(h int, t float64) (motion.Grip, int, bool) {
	var got *motion.Spell
	for i := range m.r.Spells[h] {
		if sp := &m.r.Spells[h][i]; sp.From <= t+hair {
			got = sp
		}
	}
	if got == nil {
		return motion.Grip{}, 0, false
	}
	return got.Grip, got.Place, true
}

func at(it *score.Item) spot { return spot{it.At.Right, it.At.Ahead, it.At.Up} }

func (m *simulator) stand(place int) spot {
	p := m.r.Places[place].At
	return spot{p.Right, p.Ahead, p.Up}
}

func (m *simulator) front(place int) spot {
	s := m.stand(place)
	s.ahead += 30
	return s
}

// lies is where a thing is laid and taken.
func (m *simulator) lies(g motion.Grip, place int) spot {
	if g.Inst != nil && g.Inst.Placed && at(g.Inst).floor(m.stand(place)) <= m.lean {
		return at(g.Inst)
	}
	best, least := spot{}, math.Inf(1)
	for _, t := range m.r.Player.Tables {
		p := spot{t.At.Right, t.At.Ahead, t.At.Up}
		if d := p.floor(m.stand(place)); d < least {
			best, least = p, d
		}
	}
	return best
}

func handlingOf(g motion.Grip) kit.Handling {
	if g.Inst != nil {
		return g.Inst.Inst.Handling
	}
	return g.Implement.Handling
}

// A passage is what one hand has to do between two things, and the part of it
// that can only begin when the body has arrived.
type passage struct {
	need, late span
	n          int // motions
	moves      int // things laid or taken
	walks      bool
	grab       span // of it, what is taken from among others
}

func (p *passage) add(s span, late bool) {
	if s == (span{}) {
		return
	}
	p.need = p.need.plus(s)
	p.n++
	if late {
		p.late = p.late.plus(s)
	}
}

// pieces are what a hand has, each thing by itself, with how many there are.
func pieces(g motion.Grip) map[any]int {
	out := map[any]int{}
	if g.Inst != nil {
		out[g.Inst] = 1
	}
	if g.Implement != nil {
		out[g.Implement] += max(1, g.Count)
	}
	if g.Kept != nil {
		out[g.Kept]++
	}
	return out
}

// missing lists what of one grip another one has not, what plays first.
func missing(a, b motion.Grip) (out []motion.Grip) {
	has, other := pieces(a), pieces(b)
	if n := has[a.Inst] - other[a.Inst]; a.Inst != nil && n > 0 {
		out = append(out, motion.Grip{Inst: a.Inst, Count: 1, Set: true})
	}
	for _, im := range []*kit.Implement{a.Implement, a.Kept} {
		if n := has[im] - other[im]; im != nil && n > 0 {
			out = append(out, motion.Grip{Implement: im, Count: n, Set: true})
		}
	}
	return out
}

// pair says whether a hand has two sticks of different kinds.
func pair(g motion.Grip) bool { return g.Implement != nil && g.Kept != nil }

// palmed says whether a hand has an instrument in its palm and a stick in its
// fingers.
func palmed(g motion.Grip) bool { return g.Inst != nil && g.Implement != nil }

// small says whether a thing is played in a way in which the hand that holds it
// keeps a light stick.
func small(in *kit.Instrument) bool { return slices.ContainsFunc(in.Ways, smallWay) }

func smallWay(w *kit.Way) bool {
	return w.Limb == kit.Hand && w.Mount == kit.Held && w.Hands == 1 && len(w.With) == 0 && w.Keeps
}

// sameThings says whether two grips have the same in the hand, held in whatever way.
func sameThings(a, b motion.Grip) bool { return len(missing(a, b)) == 0 && len(missing(b, a)) == 0 }

// change is how a hand gets from one grip and place to another. It ends at the
// table when there is nowhere to go.
func (m *simulator) change(from, to motion.Grip, pos spot, fromPlace, place int, goal *spot, width float64, damps, here, leaps bool) (p passage, end spot) {
	laid, taken := missing(from, to), missing(to, from)
	still := pos
	for i, x := range laid {
		home := m.lies(x, fromPlace)
		d := pos.to(home)
		if i > 0 { // things on a table lie 20 cm apart
			d = 20
		}
		p.add(m.lay(d, handlingOf(x)), false)
		p.moves++
		pos = home
	}
	if fromPlace != place {
		if s := m.goes(m.stand(fromPlace).floor(m.stand(place))); s != (span{}) {
			p.add(s, false)
		}
		p.walks = true
		pos = m.front(place)
	}
	for i, x := range taken {
		home := m.lies(x, place)
		d := pos.to(home)
		if len(laid) > 0 && !p.walks || i > 0 {
			d = math.Max(d, 20)
		}
		grabs := m.among && x.Inst == nil
		s := m.take(d, handlingOf(x), grabs)
		if grabs {
			p.grab = p.grab.plus(s)
		}
		p.add(s, true)
		p.moves++
		pos = home
	}
	switch {
	case len(taken) > 0 && (pair(to) || palmed(to) || to.Count == 2 && to.Inst == nil): // the two have to be settled in the hand
		p.add(m.grasp("G2"), true)
	case len(taken) == 0 && len(laid) > 0 && to.Implement != nil && to.Count == 1: // and so has the one that is left
		p.add(m.grasp("G2"), true)
	case len(taken)+len(laid) == 0 && pair(from) && from.Implement != to.Implement: // the other one comes to the front
		p.add(m.grasp("G2"), true)
	}
	if im := to.Implement; im != nil && pieces(from)[im] > 0 { // it stays in the hand, by this end or by the other
		round := from.Implement == im && from.Butt
		if round != to.Butt {
			p.add(m.grasp("G2"), true)
			p.add(m.grasp("G2"), true)
		}
	}
	switch {
	case to.Kept != nil && to.Implement == nil && from.Kept == nil:
		p.add(m.grasp("G2"), false)
	case from.Kept != nil && from.Implement == nil && to.Kept == nil && to.Implement == from.Kept:
		p.add(m.grasp("G2"), true)
	}
	if goal == nil { // to the table, for a thing taken or laid at a set place
		if len(laid)+len(taken) == 0 && !p.walks && pos != m.front(place) {
			home := m.lies(motion.Grip{}, place)
			if d := pos.to(home); d > 0.5 {
				p.add(m.strikeElsewhere(d, 15), true)
			}
			pos = home
		}
		return p, m.lies(motion.Grip{}, place)
	}
	d := pos.to(*goal)
	switch {
	case leaps && !p.walks && len(laid)+len(taken) == 0: // a leap, which the rates judge
	case damps && here && still == pos && pos == *goal && !p.walks && len(laid)+len(taken) == 0:
		p.add(m.touchAfter(), true)
	case damps:
		if d > 0.5 {
			p.add(m.strikeElsewhere(d, width), true)
		}
	case len(taken) > 0:
		p.add(m.carry(d, width), true)
	case p.walks:
	case d > 0.5 || len(laid) > 0:
		p.add(m.strikeElsewhere(d, width), true)
	}
	return p, *goal
}

// bare says whether a choice of implement is none at all.
func (m *simulator) bare(id string) bool {
	im := m.s.Catalogue.Implement(id)
	return im == nil || im.Weight == kit.Nothing
}

func (m *simulator) strikes(e *motion.Event, h int, g motion.Grip, w *kit.Way, ch kit.Choice) bool {
	if m.bare(ch.Implement) {
		return g.Inst == nil && g.Implement == nil && (g.Kept == nil || w.Keeps)
	}
	if own := e.Limbs&(1<<h) != 0; own && e.Cue.Beside != nil && g.Kept != e.Cue.Beside {
		return false
	}
	if e.Kind == motion.RollOn && w.Hands == 1 && g.Kept != nil {
		return false // a hand that rolls by itself has nothing else in it
	}
	if g.Inst != nil && (!small(g.Inst.Inst) || e.Kind != motion.Strike || e.Limbs&(1<<h) == 0) {
		return false
	}
	return g.Implement != nil && g.Implement.ID == ch.Implement && g.Butt == ch.Butt && g.Count >= ch.Count
}

const (
	right = body.R
	left  = body.L
	both  = right | left
)

// plays says whether hands that hold something can play an event in a way,
// and which of them it takes.
func (m *simulator) plays(e *motion.Event, c *motion.Chosen, g [2]motion.Grip) (takes body.Limbs, ok bool) {
	w, item := c.Way, e.Cue.Item
	hit := e.Hands()
	one := 0
	if hit == left || e.Limbs&both == left {
		one = 1
	}
	holds := func(h int) bool { return g[h].Inst == item && (g[h].Implement == nil || smallWay(w)) }
	hits := func(h int) bool { return m.strikes(e, h, g[h], w, c.Choice) }
	switch {
	case w.Mount == kit.Held && w.Hands == 2 && len(w.With) == 0:
		return both, holds(0) && holds(1)
	case w.Mount == kit.Held && w.Hands == 2:
		return both, hits(one) && holds(1-one)
	case w.Mount == kit.Held:
		ok = true
		for h := range 2 {
			ok = ok && (hit&(1<<h) == 0 || holds(h))
		}
		return hit, ok
	case w.Hands == 2 && (hit == both || e.Kind == motion.RollOn):
		return both, hits(0) && hits(1)
	}
	ok = true
	for h := range 2 {
		ok = ok && (hit&(1<<h) == 0 || hits(h))
	}
	return hit, ok
}

// A duty is what one hand does at a moment.
type duty struct {
	e     *motion.Event
	way   *kit.Way
	self  bool // it strikes or damps, and does not only hold
	mouth bool
	two   bool // and shakes something with the same motion
}

// leaves says whether one of the hands has been free since before an event for
// what it does after that. Where the body comes later than the hand would, a change
// says when that left, and the hand was free before: had it not been, it would have had
// all that the body has to do and its own, in as much time.
func (m *simulator) leaves(e *motion.Event, hands body.Limbs) bool {
	return slices.ContainsFunc(m.r.Changes, func(c motion.Change) bool {
		return hands&(1<<c.Hand) != 0 && c.To.T0 > e.T0+hair &&
			(c.From == nil || ends(c.From) < e.T0-hair || c.BodyBound && ends(c.From) <= e.T0+hair)
	})
}

// sent says whether the text has sent a hand for something else by the time of
// an event, so that it has no more what the line saw in it last, and no change
// brings that back to it.
func (m *simulator) sent(h int, e *motion.Event, g motion.Grip) bool {
	has, away := m.hands[h].grip, false
	for _, a := range m.hands[h].acts {
		if a.t <= e.T0+hair {
			has, away = m.actGrip(a.a, has), true
		}
	}
	return away && !sameThings(has, g) && !slices.ContainsFunc(m.r.Changes, func(c motion.Change) bool {
		return c.Hand == limbs[h] && c.To == e
	})
}

// dutiesAt are the hands that a moment takes, with what each does.
func (m *simulator) dutiesAt(events []*motion.Event, g [2]motion.Grip) (duties [2]*duty) {
	for _, e := range events {
		var takes, own body.Limbs
		var way *kit.Way
		mouth := false
		switch {
		case e.Kind.Stops() || e.Kind == motion.PageTurn:
			takes = e.Limbs & both
			own = takes
		case e.Limbs&body.M != 0:
			mouth = true
			for h := range 2 {
				if g[h].Inst == e.Cue.Item {
					takes = 1 << h
				}
			}
			for i := range m.r.Chosen {
				if c := &m.r.Chosen[i]; c.Cue == e.Cue && c.Way.Limb == kit.Mouth {
					way = c.Way
					if c.Way.Mount == kit.Held && c.Way.Hands > 0 && takes == 0 {
						m.complain("at %.3f no hand holds the %s that is blown", e.T0, e.Cue.Item.Name)
					}
				}
			}
		case e.Limbs&both != 0:
			found, most := false, 0
			for i := range m.r.Chosen {
				c := &m.r.Chosen[i]
				if c.Cue != e.Cue || c.Way.Limb != kit.Hand || c.First.T0 > e.T0+hair {
					continue
				}
				// Of two ways that the hands could both play, it is the one that uses them all,
				// unless one of them is on its way to something else, or has been sent there. Where
				// a way is played first is what the line itself says.
				t, ok := m.plays(e, c, g)
				if !ok {
					continue
				}
				if c.First == e {
					takes, way, found = t, c.Way, true
					break
				}
				uses := t.Count()
				if m.leaves(e, t&^e.Hands()) {
					uses = 0
				}
				for h := range 2 {
					if (t&^e.Hands())&(1<<h) != 0 && m.sent(h, e, g[h]) {
						uses = 0
					}
				}
				if !found || uses > most {
					takes, way, found, most = t, c.Way, true, uses
				}
			}
			own = e.Hands()
			if !found {
				m.complain("at %.3f the hands hold %s and %s, and %s is played", e.T0, g[0].Words(), g[1].Words(), e.Cue.Item.Name)
				takes = own
			}
		}
		for h := range 2 {
			if takes&(1<<h) == 0 {
				continue
			}
			if d := duties[h]; d != nil {
				// One motion strikes with the stick and shakes what lies in the palm.
				stick, shaken := d.e, e
				if way == nil || !smallWay(way) {
					stick, shaken = e, d.e
				}
				if !palmed(g[h]) || shaken.Item() != g[h].Inst || stick.Item() == g[h].Inst || stick.Kind != motion.Strike || shaken.Kind != motion.Strike || stick.Limbs&shaken.Limbs&(1<<h) == 0 {
					m.complain("at %.3f hand %d does two things", e.T0, h)
				} else if stick == e {
					duties[h] = &duty{e: e, way: way, self: true, two: true}
				} else {
					d.two = true
				}
				continue
			}
			duties[h] = &duty{e: e, way: way, self: own&(1<<h) != 0, mouth: mouth}
		}
	}
	return duties
}

// goal is where a duty brings a hand, how wide what it aims at is, and the item
// that it is at then.
func (m *simulator) goal(h int, d *duty, g motion.Grip, b *hand, place int) (to spot, wide float64, on *score.Item) {
	it := d.e.Item()
	stop := d.e.Kind.Stops() || d.e.Kind == motion.PageTurn
	if palmed(g) && it == g.Inst && b.item != nil && b.place == place && !stop { // it is shaken where the hand is
		return b.at, b.wide, b.item
	}
	if it == nil || g.Inst != nil && (!palmed(g) || it == g.Inst) && !(stop && d.e.Kind.Stops()) || d.way != nil && !stop && (!d.way.Fixed() || d.way.Mount == kit.OnBody) {
		return m.front(place), 15, nil
	}
	to, wide = at(it), it.Inst.Zone
	if list := m.struckBy(m.r, d.e, h); len(list) > 0 {
		var k spotted
		k.right, k.away, wide = middle(list)
		to.right, to.ahead = to.right+k.right, to.ahead+k.away
	}
	return to, wide, it
}

// lasts is the time there is for a need: a roll may be let go of early, by a
// fifth of a second or the sixteenth note before its end, by no more than a
// half of it, and by no more than the floor asks for.
func (m *simulator) lasts(prev *motion.Event, t, floor float64) float64 {
	gap := t
	if prev != nil {
		gap -= ends(prev)
		if prev.Kind == motion.RollOn && floor > gap {
			end := prev.Cue.Strokes[prev.Stroke].End
			sixteenth := m.s.Tempo.Seconds(end) - m.s.Tempo.Seconds(end.Sub(beat.R(1, 16)))
			gap += math.Min(floor-gap, math.Min(math.Max(0.2, sixteenth), 0.5*(prev.T1-prev.T0)))
		}
	}
	return gap
}

func gapTo(prev *motion.Event, t float64) float64 {
	if prev == nil {
		return t
	}
	return t - ends(prev)
}

// lingers is what keeps a hand at what it did last.
func (m *simulator) lingers(h *hand) span {
	switch {
	case h.free == nil || !h.self:
	case h.free.Kind.Stops():
		return m.touch()
	case h.free.Kind == motion.PageTurn:
		return m.page()
	}
	return span{}
}

var limbs = [2]body.Limb{body.Right, body.Left}

// claim finds the change that a result has for a hand at an event.
func (m *simulator) claim(hand body.Limb, e *motion.Event) *motion.Change {
	for i := range m.r.Changes {
		if c := &m.r.Changes[i]; !m.claimed[i] && c.Hand == hand && c.To == e {
			m.claimed[i] = true
			return c
		}
	}
	return nil
}

func near(a, b float64) bool { return math.Abs(a-b) < 1e-6 }

func same(p span, c *motion.Change) bool {
	return near(p.limit, c.Need.Limit) && near(p.floor, c.Need.Floor) && near(p.steady, c.Need.Steady)
}

// play goes through all moments.
func (m *simulator) play() {
	events := m.r.Events
	first := math.Inf(1)
	for h := range 2 { // where the line begins is where it is first seen
		if sp := m.r.Spells[h]; len(sp) > 0 && sp[0].From < first {
			first, m.place = sp[0].From, sp[0].Place
		}
	}
	for i := range events { // or, before that, where what is played first can be reached
		e := &events[i]
		if e.T0 >= first-hair || e.T0 > events[0].T0+hair {
			break
		}
		if it := e.Item(); it != nil && e.Limbs&(body.RF|body.LF) != 0 {
			for k := range m.r.Places {
				if at(it).floor(m.stand(k)) < at(it).floor(m.stand(m.place)) {
					m.place = k
				}
			}
		}
	}
	started := false
	for i := 0; i < len(events); {
		j := i
		var now []*motion.Event
		for ; j < len(events) && events[j].T0 <= events[i].T0+hair; j++ {
			if events[j].Limbs&0x80 == 0 {
				now = append(now, &events[j])
			}
		}
		if len(now) > 0 {
			m.moment(events[i].T0, now, &started)
		}
		i = j
	}
	for i := range m.r.Changes {
		if c := &m.r.Changes[i]; !m.claimed[i] && !m.pricing {
			m.complain("nothing asks for the change of the %s at %.3f: %v", c.Hand.Name(), c.To.T0, words(c))
		}
	}
}

func words(c *motion.Change) string {
	var out []string
	for _, x := range c.Motions {
		out = append(out, x.Words)
	}
	return strings.Join(out, ", ")
}

func (m *simulator) moment(t float64, now []*motion.Event, started *bool) {
	var g [2]motion.Grip
	place := m.place
	seen := -1
	for h := range 2 {
		grip, p, ok := m.holdsAt(h, t)
		if !ok {
			continue
		}
		if seen >= 0 && seen != p {
			m.complain("at %.3f the hands are at two places", t)
		}
		g[h], place, seen = grip, p, p
		switch {
		case grip.Inst != nil && (grip.Kept != nil || grip.Implement != nil && (grip.Count != 1 || grip.Implement.Weight != kit.Light || !small(grip.Inst.Inst))), pair(grip) && (grip.Count > 1 || grip.Implement == grip.Kept || grip.Implement.Weight != kit.Light):
			m.complain("at %.3f a hand holds two things: %+v", t, grip)
		case grip.Kept != nil && grip.Kept.Weight != kit.Light:
			m.complain("at %.3f %s is kept in the fingers", t, grip.Kept.ID)
		}
	}
	if !*started {
		for h := range m.hands {
			m.hands[h].place, m.hands[h].at = place, m.front(place)
			if sp := m.r.Spells[h]; len(sp) > 0 && sp[0].From < t-hair || len(sp) > 0 && sp[0].Event == nil {
				m.place = sp[0].Place
			}
		}
		*started = true
	}
	duties := m.dutiesAt(now, g)
	m.reach(now, place)
	walks := place != m.place
	if walks {
		m.lastOf = m.last
		for h := range m.hands {
			if m.hands[h].since < 0 && duties[h] == nil {
				m.hands[h].since = t
			}
		}
	}
	type waiting struct {
		c    *motion.Change
		need span
		grab span
		body bool // the body was later than the hand
	}
	var grabs []waiting
	was := m.hands
	for h, d := range duties {
		if d == nil {
			if g[h] != m.hands[h].grip && g[h].Set && !m.gaveAway(h, was, g, duties) {
				m.complain("at %.3f the %s has %s, and had %s, and has nothing to do", t, limbs[h].Name(), g[h].Words(), m.hands[h].grip.Words())
			}
			m.hands[h].grip = g[h]
			continue
		}
		b := &m.hands[h]
		goal, width, item := m.goal(h, d, g[h], b, place)
		if d.self && d.e.Kind == motion.Strike && len(m.struckBy(m.r, d.e, h)) == 2 && g[h].Count != 2 && !pair(g[h]) {
			m.complain("at %.3f the %s strikes two and has %s", t, limbs[h].Name(), g[h].Words())
		}
		pre := m.lingers(b)
		var post span
		if d.e.Grace&(1<<h) != 0 && b.free != nil { // a hand that has done nothing yet has played them by then
			post = m.graces(int(d.e.Cue.Strokes[d.e.Stroke].Grace))
		}
		if pair(g[h]) && !sameThings(b.grip, g[h]) && d.e.Cue.Beside == nil && !slices.ContainsFunc(b.acts, func(a act) bool { return a.t <= t+hair }) {
			m.complain("at %.3f the %s has %s, and nothing says that it has both", t, limbs[h].Name(), g[h].Words())
		}
		if palmed(g[h]) && !palmed(b.grip) && !m.saysBoth(h, d, b.grip, g[h]) && !slices.ContainsFunc(b.acts, func(a act) bool { return a.t <= t+hair }) {
			m.complain("at %.3f the %s has %s, and nothing says that it has both", t, limbs[h].Name(), g[h].Words())
		}
		var p passage
		setFrom := 0.0
		prev := b.free
		from, pos, fromPlace := b.grip, b.at, b.place
		pending := m.pending(b, t)
		if prev == nil && len(pending) == 0 {
			switch {
			case from.Implement != nil && sameThings(from, g[h]),
				palmed(g[h]) && from != (motion.Grip{Set: true}) && from.Set && len(missing(from, g[h])) == 0: // or has both, where one of the two is said
				from = g[h]
				fallthrough
			case !from.Set || from == g[h]:
				from, pos, fromPlace = g[h], goal, place
			}
		}
		if !from.Set && len(pending) == 0 {
			from = g[h] // nothing says that it held anything else
		}
		switch {
		case m.passes(h, from, was[1-h].grip, g, duties, pending):
			o := &was[1-h]
			mid := spot{(b.at.right + o.at.right) / 2, (b.at.ahead + o.at.ahead) / 2, (b.at.up + o.at.up) / 2}
			p.add(m.strikeElsewhere(b.at.to(o.at)/2, 15), true)
			p.add(m.grasp("G3"), true)
			p.moves++
			p.add(m.carry(mid.to(goal), width), true)
			if o.free != nil && (prev == nil || ends(o.free) > ends(prev)) {
				prev, pre = o.free, m.lingers(o)
			}
		case len(pending) > 0:
			// All but the last of them are changes of their own.
			start := 0.0
			if prev != nil {
				start = ends(prev)
			}
			for k, a := range pending {
				to := m.actGrip(a.a, from)
				first, end := m.change(from, to, pos, fromPlace, fromPlace, nil, 15, false, false, false)
				start = math.Max(start, a.t)
				if k == len(pending)-1 {
					rest, _ := m.change(to, g[h], end, fromPlace, place, &goal, width, d.e.Kind.Stops(), false, false)
					p = passage{need: first.need.plus(rest.need), late: rest.late, n: first.n + rest.n, walks: rest.walks, grab: rest.grab, moves: first.moves + rest.moves}
				} else if need := pre.plus(first.need); first.n > 0 {
					window := math.Max(0, pending[k+1].t-start)
					if prev != nil && near(start, ends(prev)) {
						window = m.lasts(prev, pending[k+1].t, need.floor)
					}
					m.setChange(h, a, need, window)
					pre = span{}
				}
				from, pos = to, end
			}
			setFrom = start
		default:
			here := prev != nil && prev.Item() == d.e.Item() && b.self && !prev.Kind.Stops()
			leaps := here && item != nil && b.item == item && prev.Kind == motion.Strike && d.e.Kind == motion.Strike
			p, _ = m.change(from, g[h], pos, fromPlace, place, &goal, width, d.e.Kind.Stops(), here, leaps)
		}
		need := pre.plus(p.need).plus(post)
		n := p.n
		for _, x := range []span{pre, post} {
			if x != (span{}) {
				n++
			}
		}
		gap := gapTo(prev, t)
		if setFrom > t-gap {
			gap = t - setFrom
			prev = nil
		}
		window := gap
		if len(pending) == 0 || prev != nil {
			window = m.lasts(prev, t, need.floor)
		}
		// The body may have had less time than the hand.
		var leaves *motion.Event
		var bodyNeed span
		bodyGap, bound := 0.0, false
		switch {
		case walks:
			leaves, bodyNeed = m.last, m.goes(m.stand(m.place).floor(m.stand(place))).plus(p.late).plus(post)
		case fromPlace != place && b.since >= 0:
			leaves, bodyNeed = m.lastOf, m.goes(m.stand(fromPlace).floor(m.stand(place))).plus(p.late).plus(post)
		}
		if leaves != nil {
			bodyGap = gapTo(leaves, t)
			bound = bodyNeed.floor > 0 && bodyNeed.floor-bodyGap > need.floor-gap
		}
		if m.pricing {
			m.cost += worth(need, window) + 1e3*float64(p.moves)
		} else if n > 0 || gap < -hair || bound {
			c := m.claim(limbs[h], d.e)
			if c == nil {
				m.complain("at %.3f the %s should be charged %.4f/%.4f/%.4f s (%s to %s) and is not", t, limbs[h].Name(), need.limit, need.floor, need.steady, from.Words(), g[h].Words())
			} else {
				if bound {
					need, window = bodyNeed, m.lasts(leaves, t, bodyNeed.floor)
				}
				switch {
				case p.grab != (span{}):
					grabs = append(grabs, waiting{c, need, p.grab, bound})
				case !same(need, c):
					m.complain("at %.3f the %s needs %.4f/%.4f/%.4f, and is charged %.4f/%.4f/%.4f for: %s", t, limbs[h].Name(), need.limit, need.floor, need.steady, c.Need.Limit, c.Need.Floor, c.Need.Steady, words(c))
				}
				if p.grab == (span{}) && !near(c.Window, window) {
					m.complain("at %.3f the %s has %.4f s, and is given %.4f: %s", t, limbs[h].Name(), window, c.Window, words(c))
				}
			}
		}
		b.item, b.wide = item, width
		b.at, b.grip, b.place, b.since = goal, g[h], place, -1
		if b.free == nil || ends(d.e) >= ends(b.free)-hair { // what is stopped in the midst of a roll ends before it
			b.free, b.self = d.e, d.self
		}
	}
	// Of two hands that grab among others one waits for the other.
	waited := 0
	for i, w := range grabs {
		if len(grabs) == 2 && same(w.need.plus(grabs[1-i].grab), w.c) {
			waited++
			continue
		}
		if !same(w.need, w.c) {
			m.complain("at %.3f a grab among others is charged %.4f/%.4f, and is %.4f/%.4f", t, w.c.Need.Floor, w.c.Need.Steady, w.need.floor, w.need.steady)
		}
	}
	if len(grabs) == 2 && waited != 1 && (waited > 0 || !grabs[0].body && !grabs[1].body) {
		m.complain("at %.3f two hands grab among others, and %d of them wait", t, waited)
	}
	if walks && duties[0] == nil && duties[1] == nil && m.last != nil {
		need := m.goes(m.stand(m.place).floor(m.stand(place)))
		if need != (span{}) {
			c := m.claimAny(now)
			if c == nil {
				m.complain("at %.3f the body walks, and is not charged", t)
			} else if !same(need, c) || !near(c.Window, m.lasts(m.last, t, need.floor)) {
				m.complain("at %.3f the body walks %.4f s in %.4f, and is charged %.4f in %.4f", t, need.floor, gapTo(m.last, t), c.Need.Floor, c.Window)
			}
		}
	}
	m.place = place
	for _, e := range now {
		if m.last == nil || ends(e) >= ends(m.last)-hair {
			m.last = e
		}
	}
}

// saysBoth says whether the text gives a hand a stick and what lies in its palm: it
// has the stick already and shakes the other in the way that leaves it there, or
// plays both at once and is said to have one of the two.
func (m *simulator) saysBoth(h int, d *duty, had, g motion.Grip) bool {
	if !d.two {
		return d.e.Item() == g.Inst && (pieces(had)[g.Implement] > 0 || !had.Set)
	}
	if hold := m.r.Player.Holds[h]; hold.Implement == g.Implement || hold.Inst == g.Inst {
		return true
	}
	return slices.ContainsFunc(m.r.Player.Actions, func(a *score.Action) bool {
		return a.Kind == score.Take && a.Limb == limbs[h] && (a.Implement == g.Implement || a.Item == g.Inst)
	})
}

// setChange accounts for a change at a set place that another one follows.
func (m *simulator) setChange(h int, a act, need span, window float64) {
	for i := range m.r.Changes {
		c := &m.r.Changes[i]
		if m.claimed[i] || c.Hand != limbs[h] || c.To.Action != a.a || !near(c.To.T0, a.t) {
			continue
		}
		m.claimed[i] = true
		if !same(need, c) || !near(c.Window, window) {
			m.complain("at %.3f a set change needs %.4f in %.4f, and is charged %.4f in %.4f", a.t, need.floor, window, c.Need.Floor, c.Window)
		}
		return
	}
	m.complain("at %.3f a set change is not charged", a.t)
}

func (m *simulator) claimAny(now []*motion.Event) *motion.Change {
	for _, e := range now {
		for i := range m.r.Changes {
			if c := &m.r.Changes[i]; !m.claimed[i] && c.To == e {
				m.claimed[i] = true
				return c
			}
		}
	}
	return nil
}

// passes says whether a hand gets what it needs from the other one.
func (m *simulator) passes(h int, from, other motion.Grip, g [2]motion.Grip, duties [2]*duty, acts []act) bool {
	empty := motion.Grip{Set: true}
	return len(acts) == 0 && from == empty && other == g[h] && other.Implement != nil && other.Inst == nil && other.Count == 1 && other.Kept == nil && duties[1-h] == nil && g[1-h] == empty
}

// gaveAway says whether a hand that has nothing to do has passed what it had
// to the other one.
func (m *simulator) gaveAway(h int, was [2]hand, g [2]motion.Grip, duties [2]*duty) bool {
	return duties[1-h] != nil && m.passes(1-h, was[1-h].grip, was[h].grip, g, duties, nil)
}

// act is a take or a lay at a set place.
type act struct {
	a *score.Action
	t float64
}

// pending are the set changes that a hand has made since it was last busy.
func (m *simulator) pending(b *hand, t float64) []act {
	n := 0
	for n < len(b.acts) && b.acts[n].t <= t+hair {
		n++
	}
	done := b.acts[:n]
	b.acts = b.acts[n:]
	return done
}

func (m *simulator) actGrip(a *score.Action, from motion.Grip) motion.Grip {
	if a.Kind == score.Lay {
		if palmed(from) && a.Item == from.Inst && a.Implement == nil {
			return motion.Grip{Implement: from.Implement, Count: 1, Butt: from.Butt, Set: true}
		}
		if palmed(from) && a.Implement == from.Implement && a.Item == nil {
			return motion.Grip{Inst: from.Inst, Count: 1, Set: true}
		}
		if pair(from) && a.Beside == nil && a.Implement != nil { // the other one stays
			for _, im := range [][2]*kit.Implement{{from.Implement, from.Kept}, {from.Kept, from.Implement}} {
				if a.Implement == im[0] {
					return motion.Grip{Implement: im[1], Count: 1, Set: true}
				}
			}
		}
		return motion.Grip{Set: true}
	}
	return motion.Grip{Implement: a.Implement, Inst: a.Item, Count: a.Count, Kept: a.Beside, Set: true}
}

// halfShoulders is how much nearer a shoulder is than the middle of the body, when that
// turns: biacromial breadth 40 cm and more, from memory.
const halfShoulders = 20.0

// reach sees that everything is played from where an arm with its stick may reach it.
func (m *simulator) reach(now []*motion.Event, place int) {
	for _, e := range now {
		it := e.Item()
		if it == nil || e.Limbs&(both|body.RF|body.LF) == 0 {
			continue
		}
		if e.Cue != nil && !e.Kind.Stops() {
			fixed := false
			for i := range m.r.Chosen {
				if c := &m.r.Chosen[i]; c.Cue == e.Cue && c.Way.Fixed() && c.Way.Mount != kit.OnBody {
					fixed = true
				}
			}
			if !fixed {
				continue
			}
		}
		far := m.lean + halfShoulders + it.Stick // who has stepped aside for a drum of a set may be there still
		if e.Limbs&both == 0 {
			far = math.Max(60, m.lean)
		}
		d, least := at(it).floor(m.stand(place)), math.Inf(1)
		for i := range m.r.Places {
			least = math.Min(least, at(it).floor(m.stand(i)))
		}
		if d > far+hair && d > least+hair {
			m.complain("at %.3f the %s is %.0f cm away", e.T0, it.Name, d)
		}
	}
}

// simulate plays a player's line through and says what is wrong with it.
func simulate(c *card, s *score.Score, r *motion.Result) []string {
	m := &simulator{person: newPerson(c, r.Player), s: s, r: r, claimed: map[int]bool{}}
	m.begin()
	m.play()
	return m.wrong
}

// begin sets the hands to what the text says of them.
func (m *simulator) begin() {
	for h := range m.hands {
		m.hands[h].since = -1
		hold := m.r.Player.Holds[h]
		if hold.Said {
			m.hands[h].grip = motion.Grip{Implement: hold.Implement, Inst: hold.Inst, Count: hold.Count, Kept: hold.Beside, Set: true}
			if m.hands[h].grip.Implement == nil && hold.Inst == nil { // nothing
				m.hands[h].grip = motion.Grip{Set: true}
			}
		}
	}
	for _, a := range m.r.Player.Actions {
		if (a.Kind == score.Take || a.Kind == score.Lay) && a.Limb.IsHand() {
			b := &m.hands[a.Limb]
			for k, sp := range m.s.Time.Spans() {
				if a.Bar >= sp.From && a.Bar <= sp.To {
					b.acts = append(b.acts, act{a, m.s.Time.Seconds(k, a.At)})
				}
			}
		}
	}
	m.among = m.table() >= 5
}

// table counts the different things that lie on somebody's table.
func (m *simulator) table() int {
	seen := map[string]bool{}
	for _, c := range m.r.Player.Cues {
		mount := motion.Wanted(c)
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
				if !m.bare(w.With[0].Implement) {
					seen[w.With[0].Implement] = true
				}
				break
			}
		}
	}
	return len(seen)
}

// worth is what a need costs in a window: what cannot be done far above what is
// at the edge, that above what is tight, and that above how much there is to
// do. The weights are those that the path's own page names.
func worth(need span, window float64) float64 {
	cost := 100 * need.steady
	switch {
	case need.limit > window+hair:
		return cost + 1e12 + 1e9*(need.limit-window)
	case need.floor > window+hair:
		return cost + 1e10 + 1e9*(need.floor-window)
	case need.steady > window+hair:
		return cost + 1e7 + 1e6*(need.steady-window)
	}
	return cost
}

// priced is what a line costs: the one of a result, or another one with the
// same events.
func priced(c *card, s *score.Score, r *motion.Result, spells [2][]motion.Spell) (float64, []string) {
	other := *r
	other.Spells = spells
	m := &simulator{person: newPerson(c, r.Player), s: s, r: &other, claimed: map[int]bool{}, pricing: true}
	m.begin()
	m.play()
	return m.cost, m.wrong
}

// lines visits every line of grips through a tiny piece: at each cue that a
// hand begins, what the cue asks for, or that with a light thing kept in the
// fingers; and wherever the other hand is idle, with what it has passed over.
func (m *simulator) lines(visit func(spells [2][]motion.Spell)) {
	type point struct {
		t   float64
		now []*motion.Event
	}
	var points []point
	for i := range m.r.Events {
		e := &m.r.Events[i]
		if n := len(points); n > 0 && e.T0 <= points[n-1].t+hair {
			points[n-1].now = append(points[n-1].now, e)
			continue
		}
		points = append(points, point{e.T0, []*motion.Event{e}})
	}
	var spells [2][]motion.Spell
	nothing := motion.Grip{Set: true}
	var from func(k int, g [2]motion.Grip, cues [2]*score.Cue)
	from = func(k int, g [2]motion.Grip, cues [2]*score.Cue) {
		if k == len(points) {
			visit(spells)
			return
		}
		options := [2][]motion.Grip{{g[0]}, {g[1]}}
		idle := [2]bool{true, true}
		next := cues
		for _, e := range points[k].now {
			for h, want := range m.asks(e) {
				if !want.asked {
					continue
				}
				two := !idle[h] // with one motion
				idle[h], next[h] = false, e.Cue
				if with := options[h][0]; two && (with.Inst == nil) != (want.grip.Inst == nil) {
					stick, shaken := with, want.grip
					if with.Inst != nil && !palmed(with) {
						stick, shaken = want.grip, with
					}
					options[h] = []motion.Grip{{Inst: shaken.Inst, Implement: stick.Implement, Butt: stick.Butt, Count: 1, Set: true}}
					continue
				}
				if cues[h] == e.Cue && !slices.ContainsFunc(points[k].now, func(o *motion.Event) bool { return o != e && o.Limbs&e.Limbs&(1<<h) != 0 }) {
					continue // it goes on
				}
				options[h] = []motion.Grip{want.grip}
				if palmed(g[h]) && want.grip.Implement == g[h].Implement && want.grip.Kept == nil && want.grip.Count == 1 { // the other stays in the palm
					options[h] = append(options[h], motion.Grip{Inst: g[h].Inst, Implement: g[h].Implement, Butt: want.grip.Butt, Count: 1, Set: true})
					continue
				}
				if pair(g[h]) { // one of the two plays, and the other stays
					for _, im := range [][2]*kit.Implement{{g[h].Implement, g[h].Kept}, {g[h].Kept, g[h].Implement}} {
						if want.grip.Kept == nil && want.grip.Count == 1 && want.grip.Implement == im[0] {
							options[h] = append(options[h], motion.Grip{Implement: im[0], Count: 1, Butt: want.grip.Butt, Kept: im[1], Set: true})
						}
					}
					continue
				}
				im := g[h].Implement
				if im == nil {
					im = g[h].Kept
				}
				if in := want.grip.Inst; in != nil {
					if want.keeps && im != nil && im.AloneBecause() == "" && g[h].Count <= 1 && (g[h].Inst == nil || g[h].Inst == in) {
						options[h] = append(options[h], motion.Grip{Inst: in, Implement: im, Butt: g[h].Butt, Count: 1, Set: true})
					}
					continue
				}
				if want.keeps && im != nil && im.Weight == kit.Light && g[h].Count <= 1 {
					options[h] = append(options[h], motion.Grip{Kept: im, Set: true})
				}
			}
		}
		for h := range 2 {
			if idle[h] && g[h].Implement != nil && g[h].Inst == nil && g[h].Count == 1 && g[h].Kept == nil && g[1-h] == nothing && slices.Contains(options[1-h], g[h]) {
				options[h] = append(options[h], nothing) // passed over
			}
		}
		for _, a := range options[0] {
			for _, b := range options[1] {
				to := [2]motion.Grip{a, b}
				was := spells
				for h := range 2 {
					if to[h].Set {
						spells[h] = append(slices.Clip(spells[h]), motion.Spell{From: points[k].t, Event: points[k].now[0], Grip: to[h]})
					}
				}
				from(k+1, to, next)
				spells = was
			}
		}
	}
	from(0, [2]motion.Grip{m.hands[0].grip, m.hands[1].grip}, [2]*score.Cue{})
}

type asked struct {
	asked, keeps bool
	grip         motion.Grip
}

// asks is what an event asks each hand to hold, in the one way in which the
// tiny pieces play it.
func (m *simulator) asks(e *motion.Event) (out [2]asked) {
	for i := range m.r.Chosen {
		c := &m.r.Chosen[i]
		if c.Cue != e.Cue {
			continue
		}
		w := c.Way
		strike := motion.Grip{Set: true}
		if !m.bare(c.Choice.Implement) {
			strike.Implement, strike.Count, strike.Kept = m.s.Catalogue.Implement(c.Choice.Implement), max(1, c.Choice.Count), e.Cue.Beside
			strike.Butt = c.Choice.Butt
		}
		holds := motion.Grip{Inst: e.Cue.Item, Count: 1, Set: true}
		for h := range 2 {
			hit := e.Limbs&(1<<h) != 0
			switch {
			case w.Mount == kit.Held && w.Hands == 2 && len(w.With) == 0, w.Mount == kit.Held && w.Hands == 1 && hit:
				out[h] = asked{true, smallWay(w), holds}
			case w.Mount == kit.Held && w.Hands == 2 && !hit:
				out[h] = asked{true, false, holds}
			case hit:
				out[h] = asked{true, w.Keeps, strike}
			}
		}
		return out
	}
	return out
}

// No other line through a tiny piece costs less than the one that was chosen,
// and that one costs what its motions come to.
func TestNoLineIsCheaper(t *testing.T) {
	c := readCard(t)
	things := []string{
		"snare-drum on stand with snare-stick", "woodblock clamped with rubber-mallet", "woodblock clamped with snare-stick",
		"wind-chimes on stand with fingers", "cowbell clamped with snare-stick", "shaker held", "triangle held with triangle-beater",
		"suspended-cymbal on stand with snare-stick", "tambourine held with fingers", "suspended-cymbal on stand with yarn-mallet",
		"wind-chimes on stand with fingers", "triangle held with triangle-beater", "wind-chimes on stand with fingers",
		"snare-drum on stand with snare-stick and yarn-mallet", "suspended-cymbal on stand with yarn-mallet and snare-stick", "woodblock clamped with snare-stick and triangle-beater", "woodblock clamped with butt of yarn-mallet", "cowbell clamped with butt of snare-stick and yarn-mallet",
		"shaker held \"egg\"", "shaker held \"egg\"",
	}
	eggs := []string{"shaker held", "shaker held", "shaker held \"egg\"", "cowbell clamped with snare-stick", "woodblock clamped with snare-stick", "wind-chimes on stand with fingers", "snare-drum on stand with snare-stick"}
	pieces, tried, both := 0, 0, 0
	madeup.Try(t, 1500, func(t *rapid.T) {
		things := things
		if rapid.IntRange(0, 2).Draw(t, "eggs") == 0 {
			things = eggs
		}
		var b strings.Builder
		fmt.Fprintf(&b, "tempo %d\nplayer Ida\n  kit\n", rapid.IntRange(40, 240).Draw(t, "tempo"))
		for i, k := range []string{"snare-drum on stand", "woodblock clamped", "wind-chimes on stand", "cowbell clamped", "suspended-cymbal on stand"} {
			fmt.Fprintf(&b, "    %s at%s ahead 45\n", k, [...]string{" left 40", " left 15", "", " right 25", " right 50"}[i])
		}
		b.WriteString("    shaker held at right 30 ahead 40\n    triangle held at right 30 ahead 40\n    tambourine held at right 30 ahead 40\n    table at right 20 ahead 40\n")
		for _, limb := range []string{"R", "L"} {
			if rapid.Bool().Draw(t, "holds") {
				fmt.Fprintf(&b, "  %s holds %s\n", limb, rapid.SampledFrom([]string{"triangle-beater", "triangle-beater", "snare-stick", "yarn-mallet and snare-stick", "snare-stick and shaker"}).Draw(t, "what"))
			}
		}
		bar := 1
		for range rapid.IntRange(2, 6).Draw(t, "cues") {
			fmt.Fprintf(&b, "  from %d\n  %s %s | %s\n", bar, rapid.SampledFrom([]string{"R", "L"}).Draw(t, "limb"), rapid.SampledFrom(things).Draw(t, "thing"),
				rapid.SampledFrom([]string{"1", "1 3", "4", "2 2&", "3"}).Draw(t, "strokes"))
			bar += rapid.IntRange(0, 1).Draw(t, "later")
		}
		text := b.String()
		s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
		r := motion.Solve(s, s.Players[0])
		for _, p := range s.Problems {
			t.Fatalf("line %d: %s\n%s", p.Where.Line+1, p.Message(), text)
		}
		if len(r.Conflicts) > 0 || len(r.Places) > 1 {
			return
		}
		m := &simulator{person: newPerson(c, r.Player), s: s, r: r}
		m.begin()
		if m.among {
			return // which of two hands waits for the other is a law of its own
		}
		n, wrong := m.cheaper(c)
		if wrong != "" {
			t.Fatalf("%s\n%s", wrong, text)
		}
		tried += n
		pieces++
		for h := range 2 {
			if slices.ContainsFunc(r.Spells[h], func(sp motion.Spell) bool { return palmed(sp.Grip) }) {
				both++
			}
		}
	})
	t.Logf("%d pieces, %d other lines; an egg and a stick in %d hands", pieces, tried, both)
}

// cheaper says what of a line's cost is wrong, or which line through a tiny piece
// costs less, and how many others there are.
func (m *simulator) cheaper(c *card) (tried int, wrong string) {
	r := m.r
	own, bad := priced(c, m.s, r, r.Spells)
	if len(bad) > 0 {
		return 0, strings.Join(bad, "\n")
	}
	const slack = 50               // hundredths of a second that are rounded off, of every motion
	sound := float64(r.Cost) - own // what is played in a way that costs sound costs as much in every line
	if costly := costly(r); costly > 0 {
		n := math.Round(sound / 1e5)
		if n >= 1 && n <= float64(costly) {
			sound -= n * 1e5
		}
	}
	if math.Abs(sound) > slack {
		return 0, fmt.Sprintf("the line is said to cost %d, and its motions come to %.0f", r.Cost, own)
	}
	m.lines(func(spells [2][]motion.Spell) {
		tried++
		if cost, bad := priced(c, m.s, r, spells); len(bad) == 0 && cost < own-slack && wrong == "" {
			wrong = fmt.Sprintf("the line costs %.0f, and there is one of %.0f: %v", own, cost, grips(spells))
		}
	})
	return tried, wrong
}

// costly is how many strokes are played in a way that costs sound.
func costly(r *motion.Result) (n int) {
	for i := range r.Chosen {
		if c := &r.Chosen[i]; c.Way.Costs != "" {
			for k := range r.Events {
				if r.Events[k].Cue == c.Cue {
					n++
				}
			}
		}
	}
	return n
}

func grips(spells [2][]motion.Spell) string {
	var b strings.Builder
	for h := range 2 {
		fmt.Fprintf(&b, "\n%s:", limbs[h].Name())
		for _, sp := range spells[h] {
			fmt.Fprintf(&b, " %.3f %s;", sp.From, sp.Grip.Words())
		}
	}
	return b.String()
}

// So is a line on which a hand has something in its palm beside a stick.
func TestALineWithAnEggAndAStickCanBeGone(t *testing.T) {
	c := readCard(t)
	pieces, changes, both, joint := 0, 0, 0, 0
	bars := []string{"1 2 3 4", "1 1& 2 2& 3 3& 4 4&", "1 3", "2 4", "-", "1& 2& 3& 4&", "1 1e 1& 1a 2", "3~4"}
	madeup.Try(t, 800, func(t *rapid.T) {
		var b strings.Builder
		fmt.Fprintf(&b, "tempo %d\nbars 8\nplayer Ida\n  kit\n    snare-drum on stand at left 30 ahead 45\n    hi-hat on stand at right 10 ahead 45\n    cowbell clamped at left 150 ahead 45\n    shaker held at right 30 ahead 40\n    table at right 40 ahead 40\n", rapid.IntRange(40, 200).Draw(t, "tempo"))
		holds := rapid.SampledFrom([]string{"snare-stick", "snare-stick and shaker", "shaker", "shaker and snare-stick", "thin-stick"}).Draw(t, "holds")
		fmt.Fprintf(&b, "  R holds %s\n", holds)
		if rapid.IntRange(0, 3).Draw(t, "acts") == 0 {
			fmt.Fprintf(&b, "  R %s\n", rapid.SampledFrom([]string{"lays shaker at 5", "lays snare-stick at 5", "takes snare-stick and shaker at 5", "takes snare-stick at 5", "lays it at 5"}).Draw(t, "act"))
		}
		for _, what := range []string{"R shaker held", "R hi-hat with snare-stick", "L snare-drum with snare-stick", "R cowbell clamped with snare-stick"} {
			if rapid.IntRange(0, 3).Draw(t, "there") == 0 {
				continue
			}
			fmt.Fprintf(&b, "  %s |", what)
			for range 8 {
				bars := bars
				if what[0] == 'L' { // a roll there may be for both hands or for one
					bars = bars[:len(bars)-1]
				}
				fmt.Fprintf(&b, " %s |", rapid.SampledFrom(bars).Draw(t, "bar"))
			}
			b.WriteByte('\n')
		}
		text := b.String()
		s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
		for _, p := range s.Problems {
			t.Fatalf("line %d: %s\n%s", p.Where.Line+1, p.Message(), text)
		}
		r := motion.Solve(s, s.Players[0])
		if len(r.Conflicts) > 0 {
			return
		}
		pieces++
		changes += len(r.Changes)
		if slices.ContainsFunc(r.Spells[0], func(sp motion.Spell) bool { return palmed(sp.Grip) }) {
			both++
		}
		for i := 1; i < len(r.Events); i++ {
			if e, f := &r.Events[i-1], &r.Events[i]; near(e.T0, f.T0) && e.Limbs&f.Limbs != 0 {
				joint++
			}
		}
		if wrong := simulate(c, s, r); len(wrong) > 0 {
			t.Fatalf("%s\n%s", strings.Join(wrong, "\n"), text)
		}
	})
	t.Logf("%d lines with %d changes, on %d of them a hand with both, %d motions that play two things", pieces, changes, both, joint)
	if both == 0 || joint == 0 {
		t.Error("nothing was tried")
	}
}

// The line that the path chooses is one that a player could go, with every
// motion of it charged from where the hand is, and in the time there is.
func TestTheLineCanBeGone(t *testing.T) {
	c := readCard(t)
	pieces, strokes, changes, skipped := 0, 0, 0, 0
	madeup.Try(t, 1500, func(t *rapid.T) {
		p := madeup.Draw(t, madeup.Options{Players: 1, Roads: true, Quick: true, Actions: true})
		text := p.Text()
		s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
		for _, pl := range s.Players {
			r := motion.Solve(s, pl)
			if len(r.Conflicts) > 0 {
				skipped++
				continue
			}
			pieces++
			strokes += len(r.Events)
			changes += len(r.Changes)
			if wrong := simulate(c, s, r); len(wrong) > 0 {
				t.Fatalf("%s\n%s", strings.Join(wrong, "\n"), text)
			}
		}
	})
	t.Logf("%d lines of %d events and %d changes played through; %d with things that cannot be done at once left out", pieces, strokes, changes, skipped)
}

// So is one on which strokes say which bar, drum or kettle they are for.
func TestALineWithNotesCanBeGone(t *testing.T) {
	c := readCard(t)
	pieces, strokes, changes, noted := 0, 0, 0, 0
	madeup.Try(t, 800, func(t *rapid.T) {
		p := madeup.Draw(t, madeup.Options{Players: 1, Roads: true, Quick: true, Actions: true, Notes: true})
		text := p.Text()
		s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
		for _, pl := range s.Players {
			r := motion.Solve(s, pl)
			if len(r.Conflicts) > 0 {
				continue
			}
			pieces++
			strokes += len(r.Events)
			changes += len(r.Changes)
			noted += notes(r)
			if wrong := simulate(c, s, r); len(wrong) > 0 {
				t.Fatalf("%s\n%s", strings.Join(wrong, "\n"), text)
			}
		}
	})
	t.Logf("%d lines of %d events, %d of them with notes, and %d changes", pieces, strokes, noted, changes)
	if noted == 0 {
		t.Error("nothing was tried")
	}
}

// notes is how many strokes say what they are for.
func notes(r *motion.Result) (n int) {
	for i := range r.Events {
		if e := &r.Events[i]; e.Cue != nil && e.Cue.StruckAt(int(e.Stroke)) != nil {
			n++
		}
	}
	return n
}

// A keyed is what a line among keyboards, drums and kettles is drawn of.
type keyed struct {
	inst, with string
	rolls      bool
}

// keyboardLine draws a player among keyboards, drums and kettles, who goes from one
// to another with whatever mallets that takes.
func keyboardLine(t *rapid.T) string {
	things := []keyed{
		{"xylophone on stand", "rubber-mallet", true}, {"xylophone on stand", "plastic-mallet", true}, {"marimba on stand", "yarn-mallet", true}, {"marimba on stand", "rubber-mallet", true},
		{"vibraphone on stand", "yarn-mallet", false}, {"glockenspiel on stand", "plastic-mallet", false}, {"tom-toms on stand", "snare-stick", true},
		{"temple-blocks on stand", "rubber-mallet", false}, {"timpani floor", "timpani-mallet", true}, {"timpani floor", "timpani-mallet", true}, {"snare-drum on stand", "snare-stick", true},
	}
	limbs := []string{"RL", "LR", "R", "L", "R+L"}
	var b strings.Builder
	fmt.Fprintf(&b, "tempo %d\nplayer Ida\n  kit\n", rapid.IntRange(30, 220).Draw(t, "tempo"))
	facing := rapid.SampledFrom([]string{"", "", " facing 90", " facing 345"}).Draw(t, "facing")
	for i, k := range []string{"xylophone on stand", "marimba on stand", "vibraphone on stand", "glockenspiel on stand", "tom-toms on stand", "temple-blocks on stand", "timpani floor", "snare-drum on stand"} {
		fmt.Fprintf(&b, "    %s at%s ahead %d%s\n", k, [...]string{"", " right 40", " left 60", " right 20", " left 30", " right 60", " left 20", ""}[i%7], 35+5*(i%3), facing)
	}
	for _, drum := range []string{"tom-toms:low", "tom-toms:2", "temple-blocks:1", "temple-blocks:4", "timpani:1", "timpani:3"} {
		if rapid.IntRange(0, 3).Draw(t, "by itself") == 0 {
			fmt.Fprintf(&b, "    %s at %s %d ahead %d\n", drum, rapid.SampledFrom([]string{"left", "right"}).Draw(t, "side"), rapid.IntRange(0, 45).Draw(t, "cm"), rapid.IntRange(20, 45).Draw(t, "cm ahead"))
		}
	}
	b.WriteString("    table at right 30 ahead 40\n")
	for _, limb := range []string{"R", "L"} {
		if rapid.Bool().Draw(t, "holds") {
			fmt.Fprintf(&b, "  %s holds %s\n", limb, rapid.SampledFrom([]string{"rubber-mallet", "timpani-mallet", "yarn-mallet and snare-stick"}).Draw(t, "what"))
		}
	}
	one := func(inst string) string {
		in := kit.Standard().Instrument(strings.Fields(inst)[0])
		if len(in.MemberNames) > 0 {
			return rapid.SampledFrom(append([]string{"1", "2", "4"}, in.MemberNames...)).Draw(t, "drum")
		}
		return pitch.FromSemitone(rapid.IntRange(in.Range.Low.Semitone(), in.Range.High.Semitone()).Draw(t, "note")).String()
	}
	bar := 1
	for range rapid.IntRange(2, 6).Draw(t, "cues") {
		k := rapid.SampledFrom(things).Draw(t, "thing")
		limb := rapid.SampledFrom(limbs).Draw(t, "limb")
		bars := rapid.IntRange(1, 2).Draw(t, "bars")
		fmt.Fprintf(&b, "  from %d\n  %s %s with %s", bar, limb, k.inst, k.with)
		for range bars {
			b.WriteString(" |")
			step := rapid.SampledFrom([]int{1, 2, 4}).Draw(t, "step")
			for pos := 0; pos < 16; pos += step {
				kind := rapid.IntRange(0, 7).Draw(t, "stroke")
				if kind < 2 && pos > 0 {
					continue
				}
				b.WriteString(" " + madeup.Count(pos))
				if k.inst != "snare-drum on stand" && kind > 2 {
					b.WriteString(":" + one(k.inst))
					if other := one(k.inst); kind == 7 && len(limb) > 1 && strings.ContainsAny(other[:1], "ABCDEFG") && !strings.HasSuffix(b.String(), ":"+other) {
						b.WriteString("+" + other)
					}
				}
				switch {
				case kind == 3 && k.rolls && len(limb) == 2 && step > 1:
					b.WriteString("~" + madeup.Count(pos+1))
				case kind == 4 && (k.inst == "timpani floor" || k.inst == "vibraphone on stand"):
					b.WriteString(".")
				}
			}
		}
		b.WriteString(" |\n")
		bar += bars + rapid.IntRange(0, 1).Draw(t, "rest")
	}
	return b.String()
}

// A line among keyboards, sets of drums and kettles can be gone: each hand to the
// bar, and from the one that it struck last.
func TestALineAmongKeyboardsCanBeGone(t *testing.T) {
	c := readCard(t)
	pieces, skipped, strokes, changes, noted, alone := 0, 0, 0, 0, 0, 0
	madeup.Try(t, 800, func(t *rapid.T) {
		text := keyboardLine(t)
		s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
		for _, p := range s.Problems {
			t.Fatalf("line %d: %s\n%s", p.Where.Line+1, p.Message(), text)
		}
		r := motion.Solve(s, s.Players[0])
		if len(r.Conflicts) > 0 {
			skipped++
			return
		}
		pieces++
		strokes += len(r.Events)
		changes += len(r.Changes)
		noted += notes(r)
		for i := range r.Events {
			if e := &r.Events[i]; e.Cue != nil && e.Cue.StruckAt(int(e.Stroke)) != nil && len(byThemselves(text, e.Cue.Item.Inst)) > 0 {
				alone++
			}
		}
		c.text = text
		if wrong := simulate(c, s, r); len(wrong) > 0 {
			t.Fatalf("%s\n%s", strings.Join(wrong, "\n"), text)
		}
	})
	t.Logf("%d lines of %d events, %d of them with notes, %d on sets of which a drum stands by itself, and %d changes; %d with things that cannot be done at once left out", pieces, strokes, noted, alone, changes, skipped)
	if noted == 0 || changes == 0 || alone == 0 {
		t.Error("nothing was tried")
	}
}

// A hand sets out from the bar or kettle that it struck last, whatever it does next.
func TestAHandSetsOutFromWhereItStruckLast(t *testing.T) {
	c := readCard(t)
	for what, text := range map[string]string{
		"to lay a mallet":              "tempo 30\nplayer Ida\n  kit\n    xylophone at ahead 35\n    table at right 30 ahead 40\n  RL xylophone with rubber-mallet | 1 4&:F3 4a:F3 |\n  from 2\n  RL xylophone with plastic-mallet | 1:C7 |\n",
		"to lay it at a set place":     "tempo 30\nplayer Ida\n  kit\n    xylophone at ahead 35\n    table at right 30 ahead 40\n  R lays it at 1.4\n  R xylophone with rubber-mallet | 1:C7 3:F3 |\n  from 3\n  R xylophone with rubber-mallet | 1:C7 |\n",
		"to stop the kettle":           "tempo 60\nplayer Ida\n  kit\n    timpani at ahead 35\n  RL timpani with timpani-mallet | 1:F2 2:E3. 3:F3 |\n",
		"to shake what is in its palm": "tempo 40\nplayer Ida\n  kit\n    timpani at left 40 ahead 45\n    shaker held at right 30 ahead 40\n    table at right 20 ahead 40\n  R holds timpani-mallet\n  L holds timpani-mallet and shaker\n  L timpani with timpani-mallet | 2:F2 4:A3 |\n  from 3\n  L shaker held | 1 |\n  from 4\n  L timpani with timpani-mallet | 1:D3 |\n",
		"to pass it over":              "tempo 60\nplayer Ida\n  kit\n    marimba at ahead 35\n    table at right 300 ahead 40\n  R holds yarn-mallet\n  L holds nothing\n  R marimba with yarn-mallet | 1:C3 3:C7 |\n  from 3\n  L marimba with yarn-mallet | 1:C3 |\n",
	} {
		s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
		for _, p := range s.Problems {
			t.Fatalf("%s: line %d: %s\n%s", what, p.Where.Line+1, p.Message(), text)
		}
		r := motion.Solve(s, s.Players[0])
		if wrong := simulate(c, s, r); len(wrong) > 0 || len(r.Changes) == 0 {
			t.Errorf("%s: %d changes, %s\n%s", what, len(r.Changes), strings.Join(wrong, "\n"), text)
		}
	}
}

// Lines that were once drawn and differed: what of a cue's two sticks was left out,
// a hand that was let go although it held the triangle, and what the simulator took
// for more than it is.
func TestLinesThatDiffered(t *testing.T) {
	c := readCard(t)
	const head = "player Ida\n  kit\n    "
	for what, text := range map[string]string{
		"two sticks of two kinds are none of two alike":          "tempo 40\nbars 5\nrepeat 1-4\n" + head + "suspended-cymbal on stand at ahead 45\n    snare-drum on stand at left 40 ahead 45\n    table at right 20 ahead 40\n  from 2\n  R suspended-cymbal on stand with 2 yarn-mallets | 2~ | ~1e\n  from 4\n  R suspended-cymbal on stand with yarn-mallet and snare-stick | 1\n  from 5\n  R snare-drum on stand with snare-stick and yarn-mallet | 1\n",
		"a touch in the midst of a roll is over before it":       "tempo 61\nbars 3\nrepeat 1-1\n" + head + "timpani floor at ahead 45\n    triangle held at right 30 ahead 40\n    table at right 20 ahead 40\n  R takes snare-stick at 1.1\n  from 1\n  RL timpani floor with timpani-mallet | 1a:F2~2 2e:F2 2a:F2~3 3&:F2~3a 4a:F2. | 1:F2~1& 1a:F2~2 2e:F2 2&:F2 2a:F2~3e 4:F2~4&\n  from 3\n  R triangle held with triangle-beater | 1\n",
		"one of a pair goes along without being played":          "tempo 81\nbars 6\nplayer Ida\n  profile student\n  kit\n    station far at right 200\n    maracas held at right 30 ahead 40\n    glockenspiel on stand at far ahead 40\n    table at right 20 ahead 40\n    table at far right 20 ahead 40\n  from 4\n  R maracas held | 3 | 3\n  from 6\n  R glockenspiel on stand with plastic-mallet | 1\n",
		"an egg is not passed over with the stick":               "tempo 52\n" + head + "woodblock clamped at left 15 ahead 45\n    wind-chimes on stand at ahead 45\n    cowbell clamped at right 25 ahead 45\n    shaker held at right 30 ahead 40\n    table at right 20 ahead 40\n  R holds snare-stick\n  L holds snare-stick\n  L woodblock clamped with snare-stick | 4\n  R shaker held | 1 3\n  L wind-chimes on stand with fingers | 2 2&\n  R cowbell clamped with snare-stick | 1\n  L shaker held | 4\n",
		"a triangle is let go of before the egg goes on":         "tempo 40\n" + head + "snare-drum on stand at left 40 ahead 45\n    shaker held at right 30 ahead 40\n    triangle held at right 30 ahead 40\n    table at right 20 ahead 40\n  L holds triangle-beater\n  R snare-drum on stand with snare-stick | 4\n  L triangle held with triangle-beater | 1\n  L shaker held | 1 3\n",
		"a roll is let go of early for a set take":               "tempo 136\nmeter 3/4\nbars 3\nrepeat 2-2\n" + head + "maracas held at right 45 ahead 40\n    triangle held at right 45 ahead 40\n    table at right 35 ahead 40\n  R takes snare-stick at 2.2\n  from 1\n  L maracas held | - | 1&~3\n  from 3\n  R triangle held with triangle-beater | 1\n",
		"a triangle is held as long as it is struck with an egg": "tempo 40\n" + head + "snare-drum on stand at left 40 ahead 45\n    shaker held at right 30 ahead 40\n    triangle held at right 30 ahead 40\n    table at right 20 ahead 40\n  R holds triangle-beater\n  R triangle held with triangle-beater | 2 2&\n  L snare-drum on stand with snare-stick | 1 3\n  R shaker held \"egg\" | 2 2&\n",
	} {
		s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
		for _, p := range s.Problems {
			t.Fatalf("%s: line %d: %s\n%s", what, p.Where.Line+1, p.Message(), text)
		}
		r := motion.Solve(s, s.Players[0])
		if wrong := simulate(c, s, r); len(wrong) > 0 || len(r.Changes) == 0 {
			t.Errorf("%s: %d changes, %s\n%s", what, len(r.Changes), strings.Join(wrong, "\n"), text)
		}
		m := &simulator{person: newPerson(c, r.Player), s: s, r: r}
		m.begin()
		if m.among || len(r.Places) > 1 || len(s.Time.Spans()) > 1 || slices.ContainsFunc(r.Events, func(e motion.Event) bool { return e.Kind == motion.RollOn }) {
			continue // other lines are tried of tiny pieces
		}
		if tried, wrong := m.cheaper(c); wrong != "" || tried == 0 {
			t.Errorf("%s: of %d lines, %s\n%s", what, tried, wrong, text)
		}
	}
}
