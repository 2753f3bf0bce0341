package plan

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// A changer says what a hand needs between two manners of playing. It asks
// [motion.Solve], once for each pair. As long as nobody knows where things
// stand, they stand side by side with a table at hand; once there is a set-up,
// where it has them.
type changer struct {
	score   *score.Score
	stock   *stock
	profile body.Profile
	set     *setUp                     // nil: not known yet
	known   [2][]atomic.Pointer[needs] // by two manners
	wide    int                        // how many manners there is room for
	same    float64                    // seconds that any two strokes of a hand take
	*answers
}

// Answers are what has been asked for already, for everybody of one profile.
type answers struct {
	sync.Mutex
	asked map[asking]needs
	hops  map[hopping]motion.Hop
}

// A hopping is a change wherever things stand. Of what stands by itself and is struck with
// something it is all the same what it is, as long as it leaves hands and feet as free.
type hopping struct {
	from, to manner
	ways     [2]string
	hand     int
	crowded  bool
}

// alike is the same for changes in which a hand does the same.
func (k *stock) alike(a asking) hopping {
	h := hopping{from: k.manners[a.from], to: k.manners[a.to], hand: a.hand, crowded: a.crowded}
	if h.from.name != h.to.name {
		h.from, h.ways[0] = k.anything(h.from)
		h.to, h.ways[1] = k.anything(h.to)
	}
	return h
}

// anything is a manner of striking whatever stands by itself, and what its ways take of a player.
func (k *stock) anything(m manner) (manner, string) {
	if m.mount == kit.Held || m.mount == kit.OnBody || m.with.Implement == "" {
		return m, ""
	}
	at := standing{m.inst, m.mount}
	k.Lock()
	ways, ok := k.free[at]
	k.Unlock()
	if !ok {
		var out strings.Builder
		for _, w := range m.inst.Ways {
			fmt.Fprintln(&out, w.Mount == m.mount, w.Limb, w.Hands, w.Keeps, w.Feet, w.Seated, w.Stays, w.Rolls)
		}
		ways = out.String()
		k.Lock()
		k.free[at] = ways
		k.Unlock()
	}
	m.inst, m.name, m.mount = nil, "", kit.AnyMount
	return m, ways
}

// A standing is an instrument that is fixed so.
type standing struct {
	inst  *kit.Instrument
	mount kit.Mount
}

// An asking is what a change is asked for about.
type asking struct {
	from, to, hand int
	a, b, table    body.Point
	crowded        bool
}

// needs is what a change asks for.
type needs struct {
	body.Pace
	moves bool // lays or takes something
}

func newChanger(s *score.Score, k *stock, p body.Profile) *changer {
	if k.answers[p] == nil {
		k.answers[p] = &answers{asked: map[asking]needs{}, hops: map[hopping]motion.Hop{}}
	}
	same := p.Same()
	return &changer{score: s, stock: k, profile: p, answers: k.answers[p], same: k.least(&same)}
}

// between is what a hand needs from one manner to another. The hands differ
// only where one holds an instrument and the other strikes it.
func (c *changer) between(from, to int, hand uint8) *needs {
	if from >= c.wide || to >= c.wide {
		c.grow()
	}
	h := c.side(from, to, hand)
	at := &c.known[h][from*c.wide+to]
	n := at.Load()
	if n == nil {
		asked := c.ask(from, to, h)
		n = &asked
		at.Store(n)
	}
	return n
}

// side is the table in which a change of a hand is.
func (c *changer) side(from, to int, hand uint8) int {
	if hand == left && (c.set != nil || c.stock.divides[from] || c.stock.divides[to]) {
		return 1
	}
	return 0
}

// grow makes room for all manners that there are by now. It is not for two at once.
func (c *changer) grow() {
	was, wide := c.wide, len(c.stock.manners)
	if wide == was {
		return
	}
	for h := range c.known {
		table := make([]atomic.Pointer[needs], wide*wide)
		for i := range c.known[h] {
			table[i/was*wide+i%was].Store(c.known[h][i].Load())
		}
		c.known[h] = table
	}
	c.wide = wide
}

// divided says whether one hand holds the instrument and the other strikes.
func (m manner) divided() bool {
	return m.mount == kit.Held && m.hands == 2 && m.with.Implement != ""
}

// leavesOpen says whether with what is played, or by which hand what is blown is held, is for
// the path to decide, which may depend on where things are.
func (m manner) leavesOpen() bool {
	return m.limb == body.Mouth || m.with.Implement == "" && slices.ContainsFunc(m.inst.Ways, func(w *kit.Way) bool { return w.Mount == m.mount && len(w.With) > 0 })
}

// Where two instruments and the table are taken to be as long as there is no
// set-up, in cm: a little further than the spacing of an assumed one.
const apart = 40.0

func sideBySide() (a, b body.Point) {
	return body.Point{Right: -apart / 2, Ahead: body.UsualAhead}, body.Point{Right: apart / 2, Ahead: body.UsualAhead}
}

func (c *changer) ask(fromSig, toSig, hand int) needs {
	from, to := c.stock.manners[fromSig], c.stock.manners[toSig]
	a, b := sideBySide()
	table := body.UsualTable()
	if c.set != nil {
		table = c.set.table
		if t := c.set.byName[from.name]; t != nil {
			a = t.at
		}
		if t := c.set.byName[to.name]; t != nil {
			b = t.at
		}
	}
	key := asking{fromSig, toSig, hand, a, b, table, c.set != nil && c.set.crowded}
	c.Lock()
	n, ok := c.asked[key]
	c.Unlock()
	if !ok { // two may ask at once, and are told the same
		n = c.hop(key, from, to)
		c.Lock()
		c.asked[key] = n
		c.Unlock()
	}
	return n
}

// hop asks for a change of which, with things in other places, something is known already.
func (c *changer) hop(k asking, from, to manner) needs {
	if from == to || from.leavesOpen() || to.leavesOpen() {
		return c.askAt(from, to, k.hand, k.a, k.b, k.table)
	}
	once := c.stock.alike(k)
	c.Lock()
	h, known := c.hops[once]
	c.Unlock()
	if !known {
		a, b := sideBySide()
		h = c.path(from, to, k.hand, a, b, body.UsualTable())
		c.Lock()
		c.hops[once] = h
		c.Unlock()
	}
	p, _, _ := c.alone(from, to, k.a, k.b, k.table)
	pace, ok := h.In(p)
	if !ok {
		h = c.path(from, to, k.hand, k.a, k.b, k.table)
		pace = h.Need
	}
	return c.needsOf(pace, h.Moves)
}

// askAt asks for two instruments that stand so, and a table there.
func (c *changer) askAt(from, to manner, hand int, aAt, bAt, table body.Point) needs {
	switch {
	case from != to:
		h := c.path(from, to, hand, aAt, bAt, table)
		return c.needsOf(h.Need, h.Moves)
	case to.limb == body.RightFirst:
		return needs{Pace: c.profile.HandToHand()}
	}
	return needs{Pace: c.profile.Same()}
}

// needsOf is what a change needs that takes so long: two strokes of one hand take their
// time, however near they are.
func (c *changer) needsOf(pace body.Pace, moves bool) needs {
	return needs{Pace: pace.Max(c.profile.Same()), moves: moves}
}

// alone is somebody who has nothing but what two manners want.
func (c *changer) alone(from, to manner, aAt, bAt, table body.Point) (p *score.Player, a, b *score.Item) {
	p = &score.Player{Name: "", Profile: c.profile, Stations: []score.Station{{}},
		Tables: []score.Table{{At: table}}, HasKit: true}
	a = itemOf(from, aAt)
	b = a
	if to.name != from.name {
		b = itemOf(to, bAt)
	} else if from.mount != to.mount {
		a.Mount = 0
	}
	p.Items = []*score.Item{a}
	if b != a {
		p.Items = append(p.Items, b)
	}
	return p, a, b
}

// path asks for the way of a hand from one manner to another.
func (c *changer) path(from, to manner, hand int, aAt, bAt, table body.Point) motion.Hop {
	p, a, b := c.alone(from, to, aAt, bAt, table)
	limb := func(m manner) body.Limb { // so that it is this hand that strikes
		switch {
		case hand == 1 && m.limb == body.Right && m.hands == 1:
			return body.Left
		case hand == 1 && m.limb == body.RightFirst:
			return body.LeftFirst
		}
		return m.limb
	}
	first, last := c.stock.ends()
	ca := cueOf(p, a, from, limb(from), []score.Stroke{first})
	cb := cueOf(p, b, to, limb(to), []score.Stroke{last})
	p.Cues = []*score.Cue{ca, cb}
	if c.set != nil && c.set.crowded {
		p.Cues = append(p.Cues, c.clutter(p, a)...)
	}
	return motion.HopInto(c.score, p, cb, body.Limb(hand))
}

// clutter are cues without strokes, for as many implements as make a table
// crowded: what is taken from it then lies among others.
func (c *changer) clutter(p *score.Player, it *score.Item) []*score.Cue {
	var out []*score.Cue
	for _, im := range c.stock.implements[:min(body.Crowd, len(c.stock.implements))] {
		cue := cueOf(p, it, manner{mount: it.Mount, with: kit.Choice{Implement: im.ID, Count: 1}}, body.Right, nil)
		out = append(out, cue)
	}
	return out
}

// least is the time of a pace that a plan counts on: as quick as people are at their
// quickest on average, or, at the edge, as anybody is.
func (k *stock) least(p *body.Pace) float64 {
	if k.edge {
		return p.Limit
	}
	return p.Floor
}

// learn takes over what a change has been found to need, where that is more
// than was thought.
func (c *changer) learn(from, to int, hand body.Limb, need body.Pace, moves bool) bool {
	n := c.between(from, to, 1<<hand)
	if c.stock.least(&need) <= c.stock.least(&n.Pace)+1e-6 {
		return false
	}
	c.known[c.side(from, to, 1<<hand)][from*c.wide+to].Store(&needs{n.Pace.Max(need), n.moves || moves})
	return true
}

// near is how far apart two instruments stand, in cm, where they stand as
// close as they can: at next to no distance, but not in one place.
const near = 1.0

// anywhere is so wide, in cm, that a hand cannot miss it.
const anywhere = 1e9

// quickest is the least that any hand needs from one manner to another, with
// everything as close as it can be, the other hand there to pass things over, or
// both implements in the hand already, and at the very edge. No set-up makes it
// shorter.
func (c *changer) quickest(from, to manner) float64 {
	reach := c.reach()
	least := reach + min(reach+c.profile.PassOver("").Pace.Limit, c.profile.Regrasp("").Pace.Limit)
	for hand := range 2 {
		n := c.askAt(from, to, hand, body.Point{Ahead: body.UsualAhead}, body.Point{Right: near, Ahead: body.UsualAhead}, body.Point{Ahead: body.UsualAhead})
		if !n.moves {
			return reach
		}
		least = min(least, n.Limit)
		if !from.divided() && !to.divided() {
			break
		}
	}
	return max(reach, least)
}

// reach is what a hand needs at the very least to get to anything that stands by itself.
func (c *changer) reach() float64 { return c.profile.Travel(0, anywhere).Pace.Limit }

func itemOf(m manner, at body.Point) *score.Item {
	return &score.Item{Name: m.name, Inst: m.inst, Mount: m.mount, At: at, Placed: true, Listed: true, Used: true}
}

func cueOf(p *score.Player, it *score.Item, m manner, limb body.Limb, strokes []score.Stroke) *score.Cue {
	c := &score.Cue{Player: p, Limb: limb, Item: it, Mount: m.mount, Voice: it.Name, AsWritten: true, Strokes: strokes}
	if m.with.Implement != "" {
		c.With = append(c.With, m.with)
	}
	if len(strokes) > 0 {
		c.From, c.To = int(strokes[0].Bar), int(strokes[len(strokes)-1].Bar)
	}
	return c
}

// ends are two strokes as far apart as the piece allows.
func (k *stock) ends() (first, last score.Stroke) {
	spans := k.score.Time.Spans()
	from, to := spans[0].From, spans[0].From
	for _, sp := range spans {
		to = max(to, sp.To)
	}
	g := k.score.Grid
	first = score.Stroke{At: g.Start(from), End: g.Start(from), Bar: int32(from)}
	at := g.Start(to)
	if to == from {
		at = at.Add(g.Length(to).Mul(beat.R(1, 2)))
	}
	last = score.Stroke{At: at, End: at, Bar: int32(to)}
	return first, last
}
