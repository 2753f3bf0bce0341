package plan

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// What a player plays with, as bits: the hands are those of a set of limbs,
// and it is all the same which foot it is.
const (
	right = uint8(body.R)
	left  = uint8(body.L)
	foot  = left << 1
	mouth = foot << 1
	hands = right | left
	slots = 4
)

// An option is one way in which a passage can be played.
type option struct {
	manner
	limb    body.Limb // Right stands for either hand where one is enough
	slots   []uint8   // what of the player it takes, one for each variant
	sound   float64   // what it costs in sound, in bars that cost sound
	loud    bool      // louder or softer than it allows
	rolling bool      // what it costs in sound is that one hand rolls so
	gaps              // the least seconds between strokes of one limb
	turn    float64   // and of two hands in turn
	least   *rates    // the times in which people repeat strokes so
	sig     int       // its manner, interned
	costs   string    // in words
	split   []uint8   // by which hand each stroke is played, where both share them
	// otherwise says that the instrument is fixed otherwise than as a rule, which one
	// player's instrument is for everything or for nothing.
	otherwise bool
	extra     bool // it needs hardware beyond the usual
}

// rates are the shortest times from stroke to stroke without coming to the edge.
type rates struct {
	ask func(*body.Profile) motion.Floors
	of  []motion.Floors // by person, where it has been asked for
}

// by is how quickly somebody repeats strokes.
func (r *rates) by(who *person) *motion.Floors {
	for len(r.of) <= who.at {
		r.of = append(r.of, motion.Floors{})
	}
	f := &r.of[who.at]
	if f.One == 0 {
		*f = r.ask(&who.profile)
	}
	return f
}

// A repeating is what is played again and again: an instrument, in a way, with an implement.
type repeating struct {
	inst *kit.Instrument
	way  *kit.Way
	with kit.Choice
}

// rates are those of an instrument that is played in a way.
func (k *stock) rates(in *kit.Instrument, w *kit.Way, ch kit.Choice) *rates {
	key := repeating{in, w, ch}
	if k.paces[key] == nil {
		k.paces[key] = &rates{ask: motion.FloorsOf(in, w, ch, k.catalogue.Implement(ch.Implement), k.edge)}
	}
	return k.paces[key]
}

// gaps are the least seconds from stroke to stroke of one limb: where it moves for
// every one, and where strokes come by rebound, in twos and in threes.
type gaps struct{ each, pair, triple float64 }

var noGaps = gaps{1e9, 1e9, 1e9}

// A manner is what a hand holds and plays on: what a change depends on.
type manner struct {
	inst  *kit.Instrument
	name  string // of the item
	mount kit.Mount
	with  kit.Choice
	hands int
	limb  body.Limb
}

// A stander is what the piece lets stand in for a written line.
type stander struct {
	inst *kit.Instrument
	name string
	with kit.Choice
}

// A stock says how instruments are fixed and what may stand in for them.
type stock struct {
	inquiry    *inquiry
	mounts     map[*kit.Instrument]kit.Mount // the one fixed mount of each
	standIns   map[string][]stander          // by written name
	catalogue  *kit.Catalogue
	sigs       map[manner]int
	manners    []manner
	divides    []bool // by manner: whether one hand holds the instrument and the other strikes
	paces      map[repeating]*rates
	implements []*kit.Implement // of the catalogue
	score      *score.Score
	granted    map[wish]bool
	floors     map[between]float64
	seen       map[*kit.Instrument]bool // played in the file with gear beyond the usual
	edge       bool                     // what is at the edge may be asked for
	hardware   bool                     // ways that need gear beyond the usual may be taken
	less       less                     // what is not taken
	// catalogued says that what the catalogue lets stand in may be played.
	catalogued bool
	said       map[*kit.Instrument]kit.Mount // how the file itself fixes things
	chosen     []option                      // room to choose in
	shapes     map[shape][]option            // what has been chosen
}

// Bounds on the ways that are tried for one passage; the cheapest stay.
const maxOptions = 10

func newStock(s *score.Score, edge bool, asked *inquiry) *stock {
	k := &stock{edge: edge, inquiry: asked, mounts: map[*kit.Instrument]kit.Mount{}, standIns: map[string][]stander{}, catalogue: s.Catalogue, sigs: map[manner]int{}, paces: map[repeating]*rates{}, score: s, granted: map[wish]bool{}, implements: s.Catalogue.Implements(), floors: map[between]float64{}, seen: map[*kit.Instrument]bool{}, shapes: map[shape][]option{}}
	set := func(in *kit.Instrument, m kit.Mount) {
		if m != kit.AnyMount && m != kit.Held && k.mounts[in] == kit.AnyMount {
			k.mounts[in] = m
		}
	}
	for _, p := range s.Players {
		for _, it := range p.Items {
			if it.Listed && !strapped(p, it) {
				set(it.Inst, it.Mount)
			}
		}
		for _, c := range p.Cues {
			if !strapped(p, c.Item) {
				set(c.Item.Inst, c.Mount)
			}
		}
	}
	k.said = maps.Clone(k.mounts)
	for _, p := range s.Players {
		for _, c := range p.Cues {
			k.see(c)
			if c.For == nil || c.For == c.Item.Inst {
				continue
			}
			st := stander{inst: c.Item.Inst, name: c.Item.Name}
			if len(c.With) > 0 {
				st.with = c.With[0]
			}
			if !slices.Contains(k.standIns[c.Voice], st) {
				k.standIns[c.Voice] = append(k.standIns[c.Voice], st)
			}
		}
	}
	return k
}

// strapped says whether a player has something that hands usually play for a foot alone:
// that says nothing of how anybody else has it.
func strapped(p *score.Player, it *score.Item) bool {
	by := func(feet bool) bool {
		return slices.ContainsFunc(p.Cues, func(c *score.Cue) bool {
			return c.Item == it && feet == (c.Limb == body.RightFoot || c.Limb == body.LeftFoot)
		})
	}
	return it.Inst.Usual().Limb == kit.Hand && by(true) && !by(false)
}

// see notes that a cue may play its instrument with gear beyond the usual.
func (k *stock) see(c *score.Cue) {
	for _, w := range c.Item.Inst.Ways {
		foot := c.Limb == body.RightFoot || c.Limb == body.LeftFoot
		if w.Mount == motion.Wanted(c) && (w.Limb == kit.Foot) == foot && !plain(c.Item.Inst, w) {
			k.seen[c.Item.Inst] = true
		}
	}
}

// fixed is the one mount, other than the hand, that an instrument is given.
func (k *stock) fixed(in *kit.Instrument) kit.Mount {
	if m, ok := k.mounts[in]; ok && m != kit.AnyMount {
		return m
	}
	best := kit.Held
	bestCost := 6
	for _, w := range in.Ways {
		if w.Mount == kit.Held || !plain(in, w) {
			continue
		}
		cost := 0
		if w.Costs != "" {
			cost = 1
		}
		if w.Hands == 2 {
			cost++
		}
		if w.Limb != kit.Hand { // by foot or mouth only where no hand has a way
			cost += 3
		}
		if cost < bestCost {
			best, bestCost = w.Mount, cost
		}
	}
	k.mounts[in] = best
	return best
}

// plain says whether a way needs no gear beyond what the usual way needs.
func plain(in *kit.Instrument, w *kit.Way) bool { return len(beyond(in, w)) == 0 }

// equipped says whether what a way needs is there: it is usual, or the file's own gear or
// a kit has it.
func (k *stock) equipped(in *kit.Instrument, w *kit.Way) bool {
	return !slices.ContainsFunc(beyond(in, w), func(need string) bool {
		return !slices.ContainsFunc(k.score.Gear, func(g *score.Gear) bool { return g.Hardware == need && g.Count > 0 }) &&
			!slices.ContainsFunc(k.score.Players, func(p *score.Player) bool { return p.Has(need) })
	})
}

// beyond is what a way needs and the usual way of its instrument does not.
func beyond(in *kit.Instrument, w *kit.Way) []string {
	var out []string
	for _, need := range w.Needs {
		if !slices.Contains(in.Usual().Needs, need) {
			out = append(out, need)
		}
	}
	return out
}

// leastHands is how few hands a stroke or a roll of a line takes in any way at
// all: of what stands somewhere one hand may play what is usually for two.
func (k *stock) leastHands(q *passage, roll bool) int {
	least := 2
	look := func(in *kit.Instrument) {
		for _, w := range in.Ways {
			switch {
			case !k.within(in, w) || roll && !w.Rolls:
			case w.Limb != kit.Hand, w.LeavesStick() && !roll: // or in the palm of a hand that strikes something
				least = 0
			case w.Fixed() && !roll:
				least = min(least, 1)
			default:
				least = min(least, w.Hands)
			}
		}
	}
	look(q.track.inst)
	for _, st := range k.standIns[q.track.name] {
		look(st.inst)
	}
	return least
}

// longestRoll is how many times as long as a roll can be kept up a plan asks for, if
// nothing that is only just possible may stand in it: common practice, no source.
const longestRoll = 4

// wearsOut says whether a roll of the passage lasts so long that nobody keeps it up in
// a way.
func (q *passage) wearsOut(w *kit.Way) bool {
	for i := range q.strokes {
		if most := w.RollsAt(q.strokes[i].Dyn); most > 0 && q.strokes[i].Has(score.Roll) && q.off[i]-q.on[i] > longestRoll*most {
			return true
		}
	}
	return false
}

// leastLongRoll is how few hands the rolls of a passage take in a way in which they can
// be kept up.
func (k *stock) leastLongRoll(q *passage) int {
	least := 2
	for _, w := range q.track.inst.Ways {
		if w.Limb == kit.Hand && w.Rolls && k.within(q.track.inst, w) && !q.wearsOut(w) {
			least = min(least, w.Hands)
		}
	}
	return least
}

// within says whether a way can be had with the usual gear, with what the file's
// own cues play the instrument with, or with what else the file says is there.
func (k *stock) within(in *kit.Instrument, w *kit.Way) bool { return k.equipped(in, w) || k.seen[in] }

// lacking is, as the end of a sentence, the hardware beyond what is there with which a
// stroke or a roll of a line would take fewer hands than it does.
func (k *stock) lacking(q *passage, roll bool) string {
	in := q.track.inst
	for _, w := range in.Ways {
		if w.Limb == kit.Hand && !k.within(in, w) && (w.Rolls || !roll) && w.Mount != kit.Held && w.Hands < k.leastHands(q, roll) {
			return ", without a " + strings.ReplaceAll(beyond(in, w)[0], "-", " ")
		}
	}
	return ""
}

// grips are all that a hand may have in it, or play on, for a line: of every
// way there is, one for each implement.
func (k *stock) grips(t *track) []manner {
	var out []manner
	look := func(in *kit.Instrument, name string) {
		for _, w := range in.Ways {
			if w.Limb != kit.Hand || !k.within(in, w) {
				continue
			}
			choices := w.With
			if len(choices) == 0 {
				choices = []kit.Choice{{}}
			}
			for _, ch := range choices {
				m := manner{inst: in, name: name, mount: w.Mount, with: ch, hands: w.Hands}
				if w.Mount == kit.Held && len(w.With) == 0 && w.Hands == 2 {
					m.limb = body.Together
				}
				if !slices.ContainsFunc(out, func(o manner) bool {
					return o.inst == in && o.with == ch && (o.mount == kit.Held) == (w.Mount == kit.Held)
				}) {
					out = append(out, m)
				}
			}
		}
	}
	look(t.inst, t.name)
	for _, st := range k.standIns[t.name] {
		look(st.inst, st.name)
	}
	return out
}

// intervals are the least seconds between strokes, and between every other one.
func (q *passage) intervals() (every, everyOther float64) {
	every, everyOther = 1e9, 1e9
	last, before := -1e9, -1e9
	for i := range q.strokes {
		if !q.strokes[i].Sounds() {
			continue
		}
		every = min(every, q.on[i]-last)
		everyOther = min(everyOther, q.on[i]-before)
		last, before = q.free(i), last
	}
	return placeless(every), placeless(everyOther)
}

// placeless is a time between strokes without what the place in the piece adds to it in
// reckoning: bars that are written alike leave the same.
func placeless(seconds float64) float64 { return math.Round(seconds*1e9) / 1e9 }

// rebounds are the gaps of a passage that one limb plays, and with it the strokes
// of its line just before and behind.
func (q *passage) rebounds() gaps {
	var at, off []float64
	from, to := 0, 0
	for _, p := range q.track.bars[max(0, q.place-1):min(len(q.track.bars), q.place+2)] {
		if p == q {
			from = len(at)
		}
		for k := range p.strokes {
			if p.strokes[k].Sounds() {
				at, off = append(at, p.on[k]), append(off, p.free(k))
			}
		}
		if p == q {
			to = len(at)
		}
	}
	g := noGaps
	for k, how := range motion.Rebounds(at) {
		if k <= from || k >= to {
			continue
		}
		least := [...]*float64{0: &g.each, 2: &g.pair, 3: &g.triple}[how]
		*least = min(*least, placeless(at[k]-off[k-1]))
	}
	return g
}

// A shape is all of a passage that the ways in which it can be played depend on.
type shape struct {
	voice
	roll, graced, chord, chords bool // chords: somewhere in the line
	dyn                         [2]kit.Dynamic
	rolls                       string // how loud each is, and how long
	every, everyOther           float64
	gaps
}

func (q *passage) shape() shape {
	every, everyOther := q.intervals()
	var rolls []byte
	for i := range q.strokes {
		if q.strokes[i].Has(score.Roll) {
			rolls = fmt.Append(rolls, q.strokes[i].Dyn, placeless(q.off[i]-q.on[i]), " ")
		}
	}
	return shape{
		voice: q.track.voice(), rolls: string(rolls), roll: q.roll, graced: slices.ContainsFunc(q.strokes, func(s score.Stroke) bool { return s.Grace > 0 }),
		chord: q.track.more[q.bar] > 0, chords: len(q.track.more) > 0,
		dyn: q.dyn, every: every, everyOther: everyOther, gaps: q.rebounds(),
	}
}

// choose lists the ways in which a passage can be played, best first. Passages of one shape
// have one list, which nobody changes: what one gets besides is in a list of its own.
func (k *stock) choose(q *passage) {
	q.least = k.leastHands(q, q.roll)
	if q.roll && !k.edge && q.least < 2 {
		q.least = k.leastLongRoll(q)
	}
	like := q.shape()
	list, known := k.shapes[like]
	if !known {
		list = k.chosenFor(q, maxOptions)
		k.shapes[like] = list
	}
	q.options = list
}

// chosenFor are the ways in which a passage can be played, so many at most, best first.
func (k *stock) chosenFor(q *passage, most int) []option {
	var list []option
	k.waysOf(q, q.track.inst, q.track.name, 0, &list)
	for _, st := range k.standIns[q.track.name] {
		k.waysOf(q, st.inst, st.name, 1.5, &list)
	}
	slices.SortStableFunc(list, func(a, b option) int {
		x, y := a.rank(), b.rank()
		switch {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	out := k.chosen[:0]
	type kind struct {
		inst  *kit.Instrument // nil: of any
		hands int
	}
	count := map[kind]int{}
	for _, o := range list {
		if slices.ContainsFunc(out, func(p option) bool { return p.manner == o.manner }) || !k.can(q, &o) {
			continue
		}
		like := kind{hands: o.hands}
		if k.catalogued { // what is written and what stands in for it, each in its own ways
			like.inst = o.inst
		}
		if count[like]++; count[like] > most/2 {
			continue
		}
		o.sig = k.sig(o.manner)
		out = append(out, o)
	}
	k.chosen = out
	if k.catalogued {
		most *= 3
	}
	return slices.Clip(slices.Clone(out[:min(len(out), most)]))
}

// A wish is a way of playing that a cue may or may not be able to ask for.
type wish struct {
	manner manner
	costs  string
	roll   bool
}

// can says whether a cue can ask for a way of playing: where it names the same
// mount and implement as one that costs nothing, it gets that one.
func (k *stock) can(q *passage, o *option) bool {
	if o.manner.hands == 0 {
		return true
	}
	w := wish{o.manner, o.costs, q.roll}
	if ok, known := k.granted[w]; known {
		return ok
	}
	ok := k.grants(q.roll, o, false) || o.limb == body.Right && o.manner.hands == 1 && k.grants(q.roll, o, true)
	k.granted[w] = ok
	return ok
}

// grants says whether the cue of an option gets its way of playing: with the other hand
// idle, which it may take for a way that costs nothing, or busy elsewhere.
func (k *stock) grants(roll bool, o *option, busy bool) bool {
	p := &score.Player{Profile: body.Experienced(), Stations: []score.Station{{}}, HasKit: true,
		Tables: []score.Table{{At: body.UsualTable()}}}
	it := itemOf(o.manner, body.Point{Ahead: body.UsualAhead})
	p.Items = []*score.Item{it}
	first, last := k.ends()
	first.End = last.At
	if roll {
		first.Flags |= score.Roll
	}
	p.Cues = []*score.Cue{cueOf(p, it, o.manner, o.limb, []score.Stroke{first})}
	if busy {
		at := itemOf(manner{inst: elsewhere, name: elsewhere.ID, mount: kit.OnStand}, body.Point{Right: -tooNear, Ahead: body.UsualAhead})
		p.Items = append(p.Items, at)
		p.Cues = append(p.Cues, cueOf(p, at, manner{inst: elsewhere, mount: kit.OnStand}, body.Left, []score.Stroke{first}))
	}
	res := motion.Solve(k.score, p)
	ok := len(res.Conflicts) == 0 && len(res.Chosen) > 0
	for _, ch := range res.Chosen {
		if ch.Cue.Item != it {
			continue
		}
		ok = ok && !ch.Substitute && ch.Way.Costs == o.costs && (o.manner.limb == body.RightFirst || ch.Way.Hands == o.manner.hands || o.manner.hands == 1 && ch.Way.Fixed())
	}
	return ok
}

// elsewhere is something that one hand can be busy with: it stands, and is struck.
var elsewhere = &kit.Instrument{ID: "elsewhere", Ways: []*kit.Way{{Mount: kit.OnStand, Limb: kit.Hand, Hands: 1, Rolls: true}}}

func (o *option) rank() float64 {
	r := o.sound
	if o.loud {
		r += 1
	}
	return r
}

func (k *stock) sig(m manner) int {
	if id, ok := k.sigs[m]; ok {
		return id
	}
	id := len(k.manners)
	k.sigs[m] = id
	k.manners = append(k.manners, m)
	k.divides = append(k.divides, m.divided())
	return id
}

// waysOf adds the ways in which an instrument can give a passage.
func (k *stock) waysOf(q *passage, in *kit.Instrument, name string, extra float64, list *[]option) {
	fixed := k.fixed(in)
	is := q.shape()
	f := &forms{list: list, shape: is, inTurn: gaps{is.everyOther, is.everyOther, is.everyOther}}
	rank := 0.0
	for _, w := range in.Ways {
		if q.roll && (!w.Rolls || !k.edge && q.wearsOut(w)) || !k.known(in, w, q.roll) {
			continue
		}
		sound := extra + rank
		if w.Costs != "" {
			sound++
		}
		loud := w.Loudest != 0 && q.dyn[1] > w.Loudest || w.Softest != 0 && q.dyn[0] != 0 && q.dyn[0] < w.Softest
		choices := w.With
		if len(choices) == 0 {
			choices = []kit.Choice{{}}
		}
		for i, ch := range choices {
			sound := sound + 0.01*float64(i)
			if !usualWith(in, ch) {
				sound += strange
			}
			o := option{sound: sound, loud: loud, otherwise: w.Mount != kit.Held && w.Mount != fixed, extra: !plain(in, w) || k.hardware && !k.asRule(in, w), rolling: w.Costs != "" && w.Hands == 1 && w.Rolls && ch.Count == 2, gaps: is.gaps, least: k.rates(in, w, ch), costs: w.Costs}
			o.inst, o.name, o.mount, o.with, o.manner.hands = in, name, w.Mount, ch, w.Hands
			if w.Limb == kit.Hand && w.Hands == 1 && ch.Implement != "" && ch.Count < 2 && is.chords {
				two := o // one hand strikes two notes at once with a mallet for each, and may keep both
				two.with.Count, two.sound = 2, o.sound+0.05
				f.add(q, w, two)
				if is.chord {
					continue
				}
			}
			f.add(q, w, o)
		}
		rank += 0.02
	}
}

// known says whether an instrument is played in a way: fixed as a rule or held; in any way
// with hardware beyond the usual, where that may be; and fixed otherwise where that takes
// fewer hands, as what is strapped to a foot does.
func (k *stock) known(in *kit.Instrument, w *kit.Way, roll bool) bool {
	switch {
	case k.less >= asEquipped && !plain(in, w):
		return false
	case k.asRule(in, w) || k.mountable(in, w):
		return true
	case k.less == asFixed || !k.equipped(in, w) || k.said[in] != kit.AnyMount:
		return false
	}
	return !slices.ContainsFunc(in.Ways, func(o *kit.Way) bool {
		return k.asRule(in, o) && (o.Rolls || !roll) && handsOf(o, roll) <= handsOf(w, roll)
	})
}

// asRule says whether an instrument is held in a way or fixed as a rule, with what there is.
func (k *stock) asRule(in *kit.Instrument, w *kit.Way) bool {
	return k.equipped(in, w) && (w.Mount == kit.Held || w.Mount == k.fixed(in))
}

// handsOf is how many hands a way takes at the least.
func handsOf(w *kit.Way, roll bool) int {
	switch {
	case w.Limb != kit.Hand:
		return 0
	case w.Fixed() && !roll:
		return min(1, w.Hands)
	}
	return w.Hands
}

// forms are the ways in which limbs may share a passage out between them.
type forms struct {
	shape
	list   *[]option
	inTurn gaps // of one of two hands that take turns
}

// add adds a way as it is, and where an instrument stands by itself the same by
// one hand or by two.
func (f *forms) add(q *passage, w *kit.Way, o option) {
	sound := o.sound
	f.limbs(w, &o)
	o.manner.limb = o.limb
	*f.list = append(*f.list, o)
	if w.Limb != kit.Hand || !w.Fixed() || q.roll {
		return
	}
	if w.Hands == 2 && !divides(o.inst, w.Mount) {
		p := o // by one hand, where both usually play
		p.manner.hands, p.limb, p.slots = 1, body.Right, []uint8{right, left}
		p.manner.limb, p.gaps, p.turn = p.limb, f.gaps, 0
		p.sound = sound + 0.5
		*f.list = append(*f.list, p)
	}
	if w.Hands == 1 && o.with.Count < 2 && w.Mount != kit.OnBody {
		p := o // the same by two hands in turn, where one is too slow
		p.manner.hands, p.limb, p.slots = 2, body.RightFirst, []uint8{hands}
		p.manner.limb, p.gaps, p.turn = p.limb, f.inTurn, f.every
		p.sound = sound
		*f.list = append(*f.list, p)
	}
}

// limbs says which limbs play a way.
func (f *forms) limbs(w *kit.Way, o *option) {
	switch {
	case w.Limb == kit.Foot:
		if o.inst.Usual().Limb == kit.Hand { // the hands have the instrument; the foot only a part of it
			o.sound += 2
		}
		o.manner.hands, o.limb, o.slots = 0, body.RightFoot, []uint8{foot}
	case w.Limb == kit.Mouth:
		o.manner.hands, o.limb, o.slots = 0, body.Mouth, []uint8{mouth}
		if w.Hands > 0 {
			o.manner.hands, o.slots = 1, []uint8{mouth | right, mouth | left}
		}
	case w.Hands == 1:
		o.limb, o.slots = body.Right, []uint8{right, left}
		if f.graced {
			o.sound += 0.5
		}
	case w.Mount == kit.Held && len(w.With) > 0: // one hand holds, one strikes
		o.limb, o.slots = body.Right, []uint8{hands}
	case w.Mount == kit.Held:
		o.limb, o.slots = body.Together, []uint8{hands}
	default:
		o.limb, o.slots, o.gaps, o.turn = body.RightFirst, []uint8{hands}, f.inTurn, f.every
	}
}

// strange is what it costs, in bars that cost sound, to play with what an instrument
// is not usually played with: judgement.
const strange = 0.7

// usualWith says whether an instrument is usually played with an implement.
func usualWith(in *kit.Instrument, ch kit.Choice) bool {
	usual := in.Usual().With
	return len(usual) == 0 || slices.Contains(usual, ch)
}

// divides says whether an instrument that is fixed so has ways for one hand.
func divides(in *kit.Instrument, m kit.Mount) bool {
	return slices.ContainsFunc(in.Ways, func(w *kit.Way) bool { return w.Limb == kit.Hand && w.Hands == 1 && w.Mount == m })
}

// rate is the least time that somebody leaves between strokes of one limb.
func (o *option) rate(who *person) float64 {
	if o.manner.limb == body.Mouth {
		return 0
	}
	f := o.least.by(who)
	if o.turn > 0 {
		return min(f.One, 2*f.Turn)
	}
	return f.One
}

// quick says whether somebody can repeat strokes as fast as an option asks.
func (o *option) quick(who *person) bool {
	if o.each < o.rate(who)-1e-6 {
		return false
	}
	f := o.least.by(who)
	if o.turn == 0 {
		return o.pair >= f.Pair-1e-6 && o.triple >= f.Triple-1e-6
	}
	return o.turn >= f.Turn-1e-6
}
