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
	set     *setUp                   // nil: not known yet
	known   [2][]atomic.Pointer[row] // by two manners
	wide    int                      // how many manners there is room for
	same    float64                  // seconds that any two strokes of a hand take
	*answers
}

// A row is what a hand needs from one manner to all others. A person has few of the things
// there are, so that most rows are never asked for.
type row []atomic.Pointer[needs]

// An inquiry is what has been asked of changes already. Plans of one piece at one tempo
// share it: what one hand needs from one thing to another does not depend on who else is
// there, or on what else may be played.
type inquiry struct {
	sync.Mutex
	hand   motion.Hops
	of     map[body.Profile]*answers // for everybody of one profile
	kinds  map[manner]int32          // by number, since there are very many answers
	points map[body.Point]int32
	ways   map[string]int32
	free   map[standing]int32 // what the ways of an instrument take of a player
}

func newInquiry() *inquiry {
	return &inquiry{of: map[body.Profile]*answers{}, kinds: map[manner]int32{}, points: map[body.Point]int32{}, ways: map[string]int32{}, free: map[standing]int32{}}
}

// answers are those for people of one profile.
type answers struct {
	sync.Mutex
	asked map[question]*needs
	hops  map[hopping]motion.Hop
}

func (i *inquiry) answers(p body.Profile) *answers {
	i.Lock()
	defer i.Unlock()
	if i.of[p] == nil {
		i.of[p] = &answers{asked: map[question]*needs{}, hops: map[hopping]motion.Hop{}}
	}
	return i.of[p]
}

// number is that of something among what is known of its sort.
func number[K comparable](known map[K]int32, of K) int32 {
	n, ok := known[of]
	if !ok {
		n = int32(len(known))
		known[of] = n
	}
	return n
}

// A question is an asking in numbers.
type question struct {
	from, to    int32 // manners
	a, b, table int32 // points
	hand        uint8
	crowded     bool
}

func (i *inquiry) question(k asking, from, to manner) question {
	i.Lock()
	defer i.Unlock()
	return question{number(i.kinds, from), number(i.kinds, to), number(i.points, k.a), number(i.points, k.b), number(i.points, k.table), uint8(k.hand), k.crowded}
}

// A hopping is a change wherever things stand, in numbers. Of what stands by itself and is struck with
// something it is all the same what it is, as long as it leaves hands and feet as free.
type hopping struct {
	from, to int32
	ways     [2]int32
	hand     uint8
	crowded  bool
}

// alike is the same for changes in which a hand does the same.
func (k *stock) alike(a asking) hopping {
	from, to := k.manners[a.from], k.manners[a.to]
	h := hopping{hand: uint8(a.hand), crowded: a.crowded, ways: [2]int32{-1, -1}}
	i := k.inquiry
	i.Lock()
	defer i.Unlock()
	if from.name != to.name {
		from, h.ways[0] = i.anything(from)
		to, h.ways[1] = i.anything(to)
	}
	h.from, h.to = number(i.kinds, from), number(i.kinds, to)
	return h
}

// anything is a manner of striking whatever stands by itself, and what its ways take of a player.
func (i *inquiry) anything(m manner) (manner, int32) {
	if m.mount == kit.Held || m.mount == kit.OnBody || m.with.Implement == "" {
		return m, -1
	}
	at := standing{m.inst, m.mount}
	ways, ok := i.free[at]
	if !ok {
		var out strings.Builder
		for _, w := range m.inst.Ways {
			fmt.Fprintln(&out, w.Mount == m.mount, w.Limb, w.Hands, w.Keeps, w.Feet, w.Seated, w.Stays, w.Rolls)
		}
		ways = number(i.ways, out.String())
		i.free[at] = ways
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
	same := p.Same()
	return &changer{score: s, stock: k, profile: p, answers: k.inquiry.answers(p), same: k.least(&same)}
}

// between is what a hand needs from one manner to another. The hands differ
// only where one holds an instrument and the other strikes it.
func (c *changer) between(from, to int, hand uint8) *needs {
	if from >= c.wide || to >= c.wide {
		c.grow()
	}
	h := c.side(from, to, hand)
	at := c.at(h, from, to)
	n := at.Load()
	if n == nil {
		n = c.ask(from, to, h)
		at.Store(n)
	}
	return n
}

// at is where it is known what a hand needs from one manner to another.
func (c *changer) at(side, from, to int) *atomic.Pointer[needs] {
	r := c.known[side][from].Load()
	if r == nil {
		fresh := make(row, c.wide)
		if r = &fresh; !c.known[side][from].CompareAndSwap(nil, r) {
			r = c.known[side][from].Load()
		}
	}
	return &(*r)[to]
}

// rest lets go of what is known in this place; it is found again when it is asked for.
func (c *changer) rest() { c.known, c.wide = [2][]atomic.Pointer[row]{}, 0 }

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
		rows := make([]atomic.Pointer[row], wide)
		for from := range was {
			r := c.known[h][from].Load()
			if r == nil {
				continue
			}
			wider := make(row, wide)
			for to := range was {
				wider[to].Store((*r)[to].Load())
			}
			rows[from].Store(&wider)
		}
		c.known[h] = rows
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

func (c *changer) ask(fromSig, toSig, hand int) *needs {
	from, to := c.stock.manners[fromSig], c.stock.manners[toSig]
	a, b := sideBySide()
	table := body.UsualTable()
	if c.set != nil {
		table = c.set.table
		if t := c.set.has(from.name); t != nil {
			a = t.at
		}
		if t := c.set.has(to.name); t != nil {
			b = t.at
		}
	}
	key := asking{fromSig, toSig, hand, a, b, table, c.set != nil && c.set.crowded}
	short := c.stock.inquiry.question(key, from, to)
	c.Lock()
	n, ok := c.asked[short]
	c.Unlock()
	if !ok { // two may ask at once, and are told the same
		told := c.hop(key, from, to)
		n = &told
		c.Lock()
		c.asked[short] = n
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
	pace, ok := c.stock.inquiry.hand.In(&h, p)
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
	return c.stock.inquiry.hand.Into(c.score, p, cb, body.Limb(hand))
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
	c.at(c.side(from, to, 1<<hand), from, to).Store(&needs{n.Pace.Max(need), n.moves || moves})
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
