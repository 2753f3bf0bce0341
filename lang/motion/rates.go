package motion

import (
	"slices"
	"sync"
	"sync/atomic"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// A Rate is how quickly strokes of a limb, or of two in turn, follow one
// another, and how quickly they can.
//
// Of two strokes, Gap is what lies between them. Of more, From and To are the
// first and the last of them, Gap is the mean, and they are listed only where
// they are below their limit.
type Rate struct {
	From, To  *Event
	Limbs     body.Limbs // both hands or both feet where they are in turn
	Gap       float64
	Pace      body.Pace
	Technique *body.Technique
	Strokes   int
	Grace     int     // grace strokes that come within the gap
	Leap      float64 // cm from the one bar or drum to the other, where that is what takes the time
	at        int32   // the event that was looked at
}

// Turn says whether two limbs are in turn.
func (r *Rate) Turn() bool { return r.Limbs&(r.Limbs-1) != 0 }

// Where is the stroke that a rate is about: of two the second, of more the
// one with which they begin.
func (r *Rate) Place() *Event {
	if r.Strokes > body.Few {
		return r.From
	}
	return r.To
}

// A RateCeiling is the highest tempo factor that the rates allow, and the rate
// that sets it; without any, the factor has no end.
type RateCeiling struct {
	Factor float64
	Rate   Rate
}

// Rates lists what a player repeats more quickly than at an easy pace, in
// played order for each limb.
func Rates(r *Result) []Rate {
	return r.scanned().list
}

// scanned is what the strokes come to.
func (r *Result) scanned() *rateList {
	l := r.rates
	if l == nil {
		l = &rateList{}
	}
	l.once.Do(func() { r.scanRates(l) })
	return l
}

// A rateList is what Rates found, which is asked for at every check and stays as it
// is while the path does.
type rateList struct {
	once         sync.Once
	list         []Rate
	edge, cannot RateCeiling // see RateCeilings

	idle   *sync.Pool // of rateRoom, that a scan may have; nil is none
	before *rated     // what is left of a scan that this one may go on from
	rated  atomic.Pointer[rated]
}

func (r *Result) scanRates(to *rateList) {
	s := newRateScan(r, to.before, to.idle)
	if !s.sortedAgain() {
		s.sort()
	}
	if !s.goOn() {
		s.all()
	}
	to.list, to.edge, to.cannot = s.list, s.edge.first().RateCeiling, s.cannot.first().RateCeiling
	if to.cannot.Factor < to.edge.Factor {
		to.edge = to.cannot
	}
	if to.before = nil; r.course != nil && s.plain {
		to.rated.Store(s.keep())
	}
	s.giveBack()
}

// RateCeilings are the highest tempo factors at which no rate is below its
// floor, and none below its limit.
func (r *Result) RateCeilings() (edge, cannot RateCeiling) {
	l := r.scanned()
	return l.edge, l.cannot
}

// What is judged, so that a slower tempo never makes an error, and a stroke
// that is left out does not either:
//
//   - every stroke of a limb against that limb's stroke before on the same
//     instrument: the limit of a few;
//   - every five strokes of a limb in a row, wherever they are: their span
//     against the sum of the limits of a phrase of those that arrive;
//   - every thirty-one likewise, with the limits of what is kept up;
//   - the same for two limbs in turn on one instrument.
//
// A span grows by the same factor when the tempo falls, and nothing here asks
// how long a time is in seconds before it counts strokes: which strokes are
// by rebound is read off how gaps stand to one another. So what holds at a
// tempo holds at every slower one. Any longer run holds when its fives, or its
// thirty-ones, do. Where a stroke is left out, five in a row span what six
// spanned and so need no more: the span grows by a gap, which is at least the
// limit of a few, and the sum loses an arrival. (The second and third of three
// by rebound count for so much that this holds when the second is left out:
// the third is then a motion of its own.) Rolls and strokes elsewhere
// take time, and are not counted, so that they may go or come.
//
// Floors and steady times are compared with one gap at a time: of one limb
// where nothing else of it lies between, else of the two in turn.

// A moveKind is how a limb moves on an instrument when it is played one way,
// with the paces of one player.
type moveKind struct {
	one    paces // of one limb
	two    paces // of two in turn
	pair   paces // the second of two strokes by one motion
	triple paces // the second and third of three by one motion
	open   paces // from hand to hand where they do doubles
	// bounces says that what throws the stick back makes a pair or a triple
	// and sets its limit; else a pair is only easier than two motions.
	bounces bool
}

// paces are those of a technique for a few strokes, a phrase and more. Only
// their limits differ.
type paces struct {
	technique         *body.Technique
	few, phrase, kept body.Pace
}

type kindKey struct {
	word  string
	limb  kit.LimbKind
	pair  bool
	bare  bool
	soft  bool
	least float64
}

// A cueKind is what a cue's strokes are judged by.
type cueKind struct {
	*moveKind
	key    kindKey
	item   int
	number uint16
}

type rateScan struct {
	res    *Result
	list   []Rate
	edge   lowest
	cannot lowest

	rateRoom
	kinds  kindTable
	plain  bool                     // another scan may go on from this one
	was    *rated                   // the one to go on from, or nil
	idle   *sync.Pool               // of rateRoom
	track  int                      // that is looked at
	at     int32                    // the event that is
	quiet  bool                     // and only to know what others come after
	ends   [tracks]int              // of the list
	leaps  leaps                    // once there are any
	pairs  [2]bool                  // whether a hand has two of a kind somewhere
	double *paces                   // of two bars or drums that one hand strikes together, once there are any
	called map[bool]*body.Technique // what a leap is called, to bars and to drums
	palms  [5]bool                  // whether a hand has something in its palm beside a stick
}

// A rateRoom is what a scan has, and another one may have after it.
type rateRoom struct {
	cues    map[*score.Cue]*cueKind
	items   map[*score.Item]int
	mover   body.Profile // of the moves
	moves   map[kindKey]*moveKind
	byKey   map[placedKind]*cueKind
	how     map[*score.Cue]*Chosen // of strokes
	lists   [5][]int32             // the events of each limb that count
	times   []float64              // of one of them
	onItems []onItem               // see fresh
	asked   []asked                // of each event
	status  []uint8                // of each event: two bits a limb
	found   [2][]borne             // of the least at the edge, and below it
}

// emptyRoom is room in which nothing is known, that another scan has had if there is any.
func emptyRoom(idle *sync.Pool) rateRoom {
	had, ok := idle.Get().(*rateRoom)
	if !ok {
		return rateRoom{cues: map[*score.Cue]*cueKind{}, items: map[*score.Item]int{}, moves: map[kindKey]*moveKind{}, byKey: map[placedKind]*cueKind{}, how: map[*score.Cue]*Chosen{}}
	}
	return *had
}

// giveBack lends the room on, with nothing in it.
func (s *rateScan) giveBack() {
	room := s.rateRoom
	room.found = [2][]borne{s.edge.found, s.cannot.found}
	if s.was != nil {
		room.asked, room.status = nil, nil // which may be those of the scan that it went on from
	}
	clear(room.cues)
	clear(room.items)
	clear(room.byKey)
	clear(room.how)
	s.idle.Put(&room)
}

// How a stroke comes about, in two bits.
const (
	ownMotion = iota // the limb moves for it
	second           // the second of two by rebound
	thirdOf          // the second of three
	third            // the third of three
)

func newRateScan(r *Result, was *rated, idle *sync.Pool) *rateScan {
	s := &rateScan{res: r, edge: nothingYet(), cannot: nothingYet(), plain: r.laid == nil, was: was, idle: idle}
	switch {
	case was != nil:
		s.idle = was.idle
	case idle == nil:
		s.idle = &sync.Pool{}
	}
	s.rateRoom = emptyRoom(s.idle)
	s.edge.found, s.cannot.found = s.found[0][:0], s.found[1][:0]
	for h := range r.Spells {
		s.palms[h] = slices.ContainsFunc(r.Spells[h], func(sp Spell) bool { return sp.Grip.Both() })
		s.pairs[h] = slices.ContainsFunc(r.Spells[h], func(sp Spell) bool { return sp.Grip.Count == 2 })
		s.plain = s.plain && !s.palms[h]
	}
	if s.was != nil && !s.was.sameMaker(r.Player) {
		s.was = nil
	}
	return s
}

// ways is what is known of how things are played.
func (s *rateScan) ways() {
	s.kinds = s.kindsFor(&s.res.Player.Profile, s.was)
	for i, it := range s.res.Player.Items {
		s.items[it] = i
	}
	for i := range s.res.Chosen {
		ch := &s.res.Chosen[i]
		if had := s.how[ch.Cue]; had == nil || had.Rolled && !ch.Rolled {
			s.how[ch.Cue] = ch
		}
	}
}

// kind is what the strokes of an event's cue are judged by.
func (s *rateScan) kind(e *Event) *cueKind {
	k := s.cues[e.Cue]
	if k == nil {
		k = s.kinds.of(s.moveKey(e), s.item(e.Cue.Item), &s.res.Player.Profile)
		s.cues[e.Cue] = k
	}
	return k
}

// item is the number of an item.
func (s *rateScan) item(it *score.Item) int {
	at, ok := s.items[it]
	if !ok {
		at = len(s.items)
		s.items[it], s.plain = at, false
	}
	return at
}

// sort finds the strokes that count, those of each limb, and what they are
// judged by.
func (s *rateScan) sort() {
	s.ways()
	ev := s.res.Events
	s.status, s.asked = emptied(s.status, len(ev)), emptied(s.asked, len(ev))
	var n [5]int
	for i := range ev {
		if e := &ev[i]; counts(e) {
			for b := range n {
				n[b] += int(e.Limbs >> b & 1)
			}
		}
	}
	for b := range n {
		s.lists[b] = slices.Grow(s.lists[b][:0], n[b])
	}
	s.times = slices.Grow(s.times[:0], slices.Max(n[:]))
	var cue *score.Cue
	var k *cueKind
	for i := range ev {
		e := &ev[i]
		if !counts(e) {
			s.asked[i] = s.uncounted(e)
			continue
		}
		if e.Cue != cue {
			cue, k = e.Cue, s.kind(e)
			s.plain = s.plain && cue.Struck == nil
		}
		s.asked[i] = s.counted(e, k)
		for b := range n {
			if e.Limbs>>b&1 != 0 {
				s.lists[b] = append(s.lists[b], int32(i))
			}
		}
	}
}

// uncounted is what is asked of an event that is no stroke, or is dropped.
func (s *rateScan) uncounted(e *Event) asked {
	a := asked{limbs: e.Limbs}
	if e.Cue != nil && e.Kind == Strike {
		a.kind = uint16(s.item(e.Cue.Item)) + 1
	}
	return a
}

// counted is what is asked of a stroke of a kind.
func (s *rateScan) counted(e *Event, k *cueKind) asked {
	a := asked{kind: k.number, limbs: e.Limbs}
	if s.graces(e) {
		a.grace = e.Cue.Strokes[e.Stroke].Grace
	}
	if e.Limbs&body.Hands != 0 && e.Limbs&^body.Hands != 0 {
		s.plain = false
	}
	return a
}

// of is what an event that counts is judged by.
func (s *rateScan) of(at int32) *cueKind { return s.kinds.list[s.asked[at].kind] }

// moveKey says how the limbs of an event's cue move.
func (s *rateScan) moveKey(e *Event) kindKey {
	in := e.Cue.Item.Inst
	way, choice := in.Usual(), kit.Choice{}
	if len(e.Cue.With) > 0 {
		choice = e.Cue.With[0]
	}
	if ch := s.how[e.Cue]; ch != nil {
		way, choice = ch.Way, ch.Choice
	}
	key := kindKey{word: in.MovesWith(way), limb: way.Limb, pair: choice.Count == 2, bare: true, least: way.Least}
	switch {
	case e.Limbs&body.M != 0:
		key.limb = kit.Mouth
	case e.Limbs&body.Hands == 0:
		key.limb = kit.Foot
	default:
		key.limb = kit.Hand
	}
	if key.limb == kit.Hand {
		pairs := true // what only one of two hands that strike together has makes neither quicker
		for hand := range (e.Limbs & body.Hands).Each() {
			holds := s.res.HoldsAt(hand, e.T0)
			if im := holds.Implement; im != nil && holds.Inst != e.Cue.Item {
				key.bare = key.bare && im.Weight == kit.Nothing
				key.soft = key.soft || im.Soft && !holds.Butt
			}
			pairs = pairs && (holds.Two() || holds.Both() && holds.Inst != e.Cue.Item) // as one of two mallets
		}
		key.pair = key.pair || pairs
	}
	return key
}

// first is the first row that there is.
func first(list ...*body.Technique) *body.Technique {
	for _, t := range list {
		if t != nil {
			return t
		}
	}
	return nil
}

// rows are the techniques of one limb and of two in turn, and what the motion
// of the limb is called once it is known what it plays with. Without a row of
// their own, two in turn have none.
func (key *kindKey) rows() (word string, one, two *body.Technique) {
	row := body.TechniqueOf
	word = key.word
	switch key.limb {
	case kit.Mouth:
		return word, first(row(word, body.ByMouth), row(body.Tongue, body.ByMouth)), nil
	case kit.Foot:
		if row(word, body.OneFoot) == nil {
			word = body.Pedal
		}
		return word, row(word, body.OneFoot), row(body.Pedal, body.TwoFeet)
	}
	one = first(row(word, body.OneHand), row(word, body.BothHands))
	switch {
	case one == nil && key.bare:
		word = body.Bare
	case one == nil, one.Bare && !key.bare:
		word = body.Stick
	}
	one = first(row(word, body.OneHand), row(word, body.BothHands))
	two = row(word, body.TwoHands)
	if hard := row(word, body.TwoHandsHard); hard != nil && !key.soft {
		two = hard
	}
	if key.pair {
		one = row(body.Pair, body.OneHand)
	}
	return word, one, two
}

// Floors are the shortest times from stroke to stroke in which somebody repeats
// strokes without coming to the edge: by one limb, by two in turn, and of one limb
// the second of two by one motion and those after the first of three.
type Floors struct{ One, Turn, Pair, Triple float64 }

// FloorsOf are those of an instrument that is played in a way, or with edge the
// limits below which nobody does it. The implement may be nil.
func FloorsOf(in *kit.Instrument, w *kit.Way, ch kit.Choice, im *kit.Implement, edge bool) func(p *body.Profile) Floors {
	key := kindKey{word: in.MovesWith(w), limb: w.Limb, pair: ch.Count == 2, bare: im == nil || im.Weight == kit.Nothing, soft: im != nil && im.Soft && !ch.Butt, least: w.Least}
	var of body.Profile // the last to be asked for
	var f Floors
	return func(p *body.Profile) Floors {
		if f.One > 0 && of == *p {
			return f
		}
		of = *p
		k := makeKind(p, key)
		least := func(q paces) float64 {
			if edge {
				return q.few.Limit
			}
			return q.few.Floor
		}
		f = Floors{One: least(k.one), Turn: least(k.two), Pair: least(k.one), Triple: least(k.one)}
		if k.two.technique == nil {
			f.Turn = least(paces{few: p.Rate(body.TechniqueOf(body.Stick, body.TwoHands), body.Few)})
		}
		if k.pair.technique != nil {
			f.Pair, f.Triple = least(k.pair), least(k.pair)
		}
		if k.triple.technique != nil {
			f.Triple = least(k.triple)
		}
		return f
	}
}

func makeKind(p *body.Profile, key kindKey) *moveKind {
	of := func(t *body.Technique) paces {
		if t == nil {
			return paces{}
		}
		return paces{t, p.Rate(t, body.Few), p.Rate(t, body.Phrase), p.Rate(t, body.Phrase+1)}
	}
	row := body.TechniqueOf
	word, one, two := key.rows()
	k := &moveKind{one: of(one), two: of(two)}
	switch double := row(word, body.Double); {
	case key.limb == kit.Foot:
		k.pair = of(double)
	case key.limb == kit.Hand && double != nil && !key.pair && !key.bare && !key.soft:
		k.bounces = true
		k.pair, k.triple, k.open = of(double), of(first(row(word, body.Triple), row(body.Stick, body.Triple))), of(row(body.Stick, body.OpenRoll))
		k.triple.phrase.Limit = k.one.phrase.Limit - k.one.few.Limit/2
		k.triple.kept.Limit = k.one.kept.Limit - k.one.few.Limit/2
		bounce := of(row(body.Stick, body.Double)) // the limit is the same wherever a stick bounces
		k.pair.few.Limit, k.pair.phrase.Limit, k.pair.kept.Limit = bounce.few.Limit, bounce.phrase.Limit, bounce.kept.Limit
	}
	if two == nil && key.limb == kit.Hand { // as sticks, unless one hand alone is slower than that
		k.two = of(row(body.Stick, body.TwoHands))
		for _, q := range []*body.Pace{&k.two.few, &k.two.phrase, &k.two.kept} {
			q.Floor, q.Steady = max(q.Floor, k.one.few.Floor/2), max(q.Steady, k.one.few.Steady/2)
		}
	}
	if key.least > 0 { // no limit stands on it: it is common practice alone
		for _, q := range []*paces{&k.one, &k.two} {
			for _, w := range []*body.Pace{&q.few, &q.phrase, &q.kept} {
				w.Floor, w.Steady = max(w.Floor, key.least*leastFloor), max(w.Steady, key.least)
			}
		}
	}
	return k
}

// leastFloor is the share of what a thing needs at an easy pace that it needs
// at the fastest: as one hand's floor stands to its steady time.
const leastFloor = 0.69

// shorter is how many times the gap on either side of two or three strokes by
// rebound is as long as theirs, at least. Two to one, as in a pair of
// sixteenths and a rest, is meant to count; 1.9 keeps rounding out of it.
const shorter = 1.9

// The tracks of a scan: each limb, both hands and both feet.
const (
	handsTrack = 5 + iota
	feetTrack
	tracks
)

// all judges everything.
func (s *rateScan) all() {
	for b, list := range s.lists {
		if body.Limbs(1)<<b != body.M {
			s.rebounds(b, 0, len(list))
		}
		s.limb(b, stretch{to: len(list)})
		s.ends[b] = len(s.list)
	}
	for k, pair := range pairs {
		s.track = handsTrack + k
		s.together(pair, s.fresh())
		s.ends[s.track] = len(s.list)
	}
}

// pairs are the limbs that may be in turn.
var pairs = [2]body.Limbs{body.Hands, body.Feet}

// counts says whether an event is a stroke that is judged.
func counts(e *Event) bool { return e.Cue != nil && e.Kind == Strike && e.Limbs&droppedBit == 0 }

// A stretch is what is looked at of a limb's strokes, and where judging begins.
type stretch struct{ from, judged, to int }

// limb judges the strokes of one limb, wherever they are.
func (s *rateScan) limb(b int, w stretch) {
	bit := body.Limbs(1) << b
	rest := bit == body.M // nobody else looks at floor and steady time of the mouth
	ev, list := s.res.Events, s.lists[b]
	s.track = b
	var on []int32 // the stroke before on each instrument, and 1
	var rows inARow
	for i := w.from; i < w.to; i++ {
		at := list[i]
		s.at, s.quiet = at, i < w.judged
		e := &ev[at]
		k := s.of(at)
		for k.item >= len(on) {
			on = append(on, 0)
		}
		if on[k.item] == 0 {
			on[k.item] = s.lastOn(k.item, list[:w.from])
		}
		p, least := s.arrives(k, at, b), 0.0
		if j := on[k.item]; j > 0 && e.Cue.Struck != nil {
			p = s.struckBy(e, b, p)
			if limit := s.again(&ev[j-1], e, b, p); i > 0 && list[i-1] == j-1 {
				least = limit
			}
		} else if j > 0 && e.T0 > ev[j-1].T0+eps && (rest || s.matters(e.T0-ev[j-1].T0, p.few.Limit)) {
			s.judge(Rate{From: &ev[j-1], To: e, Limbs: bit, Gap: e.T0 - ev[j-1].T0, Pace: p.few, Technique: p.technique, Strokes: 2}, true, rest)
		}
		on[k.item] = at + 1
		if i > 0 && e.T0 <= ev[list[i-1]].T0+eps {
			continue // one motion plays both
		}
		if i+1 < len(list) && ev[list[i+1]].T0 <= e.T0+eps {
			at, p = s.slower(at, list[i+1], b)
			e = &ev[at]
		}
		if s.palms[b] && i > 0 {
			s.inOnePlace(list, i, at, p, b)
		}
		rows.push(at, e.T0, max(least, p.phrase.Limit), max(least, p.kept.Limit))
		for w, strokes := range inRows {
			if from, gap, need, ok := rows.latest(w, strokes, s.cannot.near); ok && s.matters(gap, need) {
				s.judge(Rate{From: &ev[from], To: e, Limbs: bit, Gap: gap, Pace: under(p.few, need), Technique: p.technique, Strokes: strokes}, true, false)
			}
		}
	}
}

// lastOn is the last of some events on an item, and 1.
func (s *rateScan) lastOn(item int, list []int32) int32 {
	for _, at := range slices.Backward(list) {
		if s.of(at).item == item {
			return at + 1
		}
	}
	return 0
}

// again judges a limb's stroke against its last one on an instrument where they may be on
// different bars or drums. It says what a leap takes at the least; 0 is none.
func (s *rateScan) again(f, e *Event, b int, p *paces) float64 {
	gap, bit := e.T0-f.T0, body.Limbs(1)<<b
	if e.T0 <= f.T0+eps {
		return 0
	}
	way := s.leap(f, e, b)
	if way == nil {
		if s.matters(gap, p.few.Limit) {
			s.judge(Rate{From: f, To: e, Limbs: bit, Gap: gap, Pace: p.few, Technique: p.technique, Strokes: 2}, true, bit == body.M)
		}
		return 0
	}
	pace := way.pace.Max(p.few)
	if s.heeds(gap, &pace) {
		s.judge(Rate{From: f, To: e, Limbs: bit, Gap: gap, Pace: pace, Technique: s.leapTo(e), Strokes: 2, Leap: way.cm}, true, true)
	}
	return pace.Limit
}

// slower is which of two strokes that one motion plays takes longer to come to,
// and its paces.
func (s *rateScan) slower(one, other int32, b int) (int32, *paces) {
	p, q := s.arrives(s.of(one), one, b), s.arrives(s.of(other), other, b)
	ev := s.res.Events
	if q.few.Limit > p.few.Limit || q.few.Limit == p.few.Limit && ev[other].Cue.Item.Name < ev[one].Cue.Item.Name {
		return other, q
	}
	return one, p
}

// inOnePlace judges a stroke against the one before on another instrument,
// where a hand has one of them in its palm: it is shaken where the hand is, so
// that no way lies between the two.
func (s *rateScan) inOnePlace(list []int32, i int, at int32, p *paces, b int) {
	ev := s.res.Events
	e, before := &ev[at], ev[list[i-1]].T0
	hand := body.Limb(b)
	if held := s.res.HoldsAt(hand, e.T0); !held.Both() || s.res.HoldsAt(hand, before) != held {
		return
	}
	in := s.res.HoldsAt(hand, e.T0).Inst
	var shaken, from *Event
	for _, k := range list[i:min(i+2, len(list))] {
		if f := &ev[k]; f.T0 <= e.T0+eps && f.Cue.Item == in {
			shaken = f
		}
	}
	for k := i - 1; k >= 0 && ev[list[k]].T0 >= before-eps; k-- {
		f := &ev[list[k]]
		if f.Cue.Item == in == (shaken != nil) || f.Cue.Item == e.Cue.Item {
			return // on the same, or from one that is struck to another one
		}
		from = f
	}
	s.judge(Rate{From: from, To: e, Limbs: 1 << b, Gap: e.T0 - before, Pace: p.few, Technique: p.technique, Strokes: 2}, true, true)
}

// struckBy is the paces of a limb's stroke, which are others where it strikes two
// bars or drums together.
func (s *rateScan) struckBy(e *Event, b int, p *paces) *paces {
	if b >= trackMouth {
		return p
	}
	if x := struck(s.res.laid, e, b); x == nil || x.count() < 2 {
		return p
	}
	if s.double == nil {
		t, pr := body.TechniqueOf(body.Pair, body.AtOnce), &s.res.Player.Profile
		s.double = &paces{t, pr.Rate(t, body.Few), pr.Rate(t, body.Phrase), pr.Rate(t, body.Phrase+1)}
	}
	return s.double
}

// leap is the way of a hand from one bar or drum of an instrument to another, which is
// a rate of two strokes. It is nil where the hand stays, or where nothing says where it
// strikes.
func (s *rateScan) leap(f, e *Event, b int) *leap {
	if b >= trackMouth || e.Cue.Struck == nil || f.Cue.Struck == nil {
		return nil
	}
	from, to := struck(s.res.laid, f, b), struck(s.res.laid, e, b)
	if from == nil || to == nil || from == to {
		return nil
	}
	if s.leaps.list == nil {
		s.leaps.forHits(&s.res.Player.Profile, s.res.hits, len(s.res.Events))
	}
	way := s.leaps.of(from, to, s.pairs[b] && s.res.HoldsAt(body.Limb(b), e.T0).Count == 2)
	if way.cm == 0 {
		return nil
	}
	return way
}

// leapTo is what a leap to an event is called.
func (s *rateScan) leapTo(e *Event) *body.Technique {
	narrow := len(e.Cue.Item.Inst.MemberNames) == 0 && e.Cue.Item.Inst.Bars[0] > 0
	t := s.called[narrow]
	if t == nil {
		t = &body.Technique{What: "from drum to drum", Source: body.LeapSource}
		if narrow {
			t.What = "from bar to bar"
		}
		if s.called == nil {
			s.called = map[bool]*body.Technique{}
		}
		s.called[narrow] = t
	}
	return t
}

// movesOn says whether a hand strikes another bar or drum than before.
func (s *rateScan) movesOn(f, e *Event, b int) bool {
	if e.Cue.Struck == nil || b >= trackMouth {
		return false
	}
	to, from := struck(s.res.laid, e, b), struck(s.res.laid, f, b)
	return to != nil && from != nil && to.elsewhere(from)
}

// under is a pace with another limit, and nothing else below that.
func under(p body.Pace, limit float64) body.Pace {
	return body.Pace{Limit: limit, Floor: max(p.Floor, limit), Steady: max(p.Steady, limit)}
}

// inRows are how many strokes in a row are judged together: one more than a
// few, and one more than a phrase.
var inRows = [2]int{body.Few + 1, body.Phrase + 1}

// matters says whether a gap is below its limit, or nearer to it than any
// before.
func (s *rateScan) matters(gap, limit float64) bool {
	return gap < limit-eps || gap < s.cannot.near*limit
}

// arrives is the paces by which a limb's stroke is judged.
func (s *rateScan) arrives(k *cueKind, at int32, b int) *paces {
	if k.bounces {
		switch s.how2(at, b) {
		case second:
			return &k.pair
		case thirdOf, third:
			return &k.triple
		}
	}
	return &k.one
}

func (s *rateScan) how2(at int32, b int) uint8 { return s.status[at] >> (2 * b) & 3 }

// Whether a stroke comes by rebound hangs on the gaps around it, and so on so many strokes
// before it and behind it: of two three gaps, and of three, four, of which the first and the last
// say that the others are no part of others.
const (
	reboundsAfter  = 4
	reboundsBefore = 3
)

// rebounds marks the strokes of a limb that come by rebound, of some.
func (s *rateScan) rebounds(b, from, to int) {
	first := max(0, from-reboundsAfter)
	ev, list := s.res.Events, s.lists[b][first:min(to+reboundsBefore, len(s.lists[b]))]
	s.times = s.times[:0]
	for _, at := range list {
		s.times = append(s.times, ev[at].T0)
	}
	byRebound(s.times,
		func(i int) bool {
			return ev[list[i]].Cue.Item == ev[list[i-1]].Cue.Item && !s.movesOn(&ev[list[i-1]], &ev[list[i]], b)
		},
		func(i int, how uint8) {
			if first+i >= from && first+i < to {
				s.status[list[i]] |= how << (2 * b)
			}
		})
}

// byRebound marks the strokes that come by rebound: one or two on the same
// instrument whose gaps are short beside those before and after. Which they
// are is read off the gaps' proportions and so is the same at any tempo.
func byRebound(at []float64, same func(i int) bool, mark func(i int, how uint8)) {
	gap := func(i int) float64 { // before stroke i
		if i <= 0 || i >= len(at) {
			return inf()
		}
		return at[i] - at[i-1]
	}
	joined := func(i int) bool { return i < len(at) && same(i) && gap(i) > eps }
	for i := 1; i < len(at); i++ {
		g := at[i] - at[i-1]
		if i > 1 && at[i-1]-at[i-2] < shorter*g || !joined(i) { // mostly the first, and that is told quicker
			continue
		}
		if gap(i+1) >= shorter*g {
			mark(i, second)
			i++
			continue
		}
		if g = max(g, gap(i+1)); joined(i+1) && gap(i-1) >= shorter*g && gap(i+2) >= shorter*g {
			mark(i, thirdOf)
			mark(i+1, third)
			i += 2
		}
	}
}

// Rebounds says of the strokes that one limb makes on one thing, at times in
// order, how many come by one motion with the stroke before: 0 for a motion of its
// own, 2 for the second of two, 3 for those after the first of three.
func Rebounds(at []float64) []int {
	out := make([]int, len(at))
	byRebound(at, func(int) bool { return true }, func(i int, how uint8) { out[i] = min(int(how)+1, 3) })
	return out
}

// An inARow is the last strokes in a row, and what they need: their times and the sums of
// their limits in a phrase and in more. The sums are whole numbers, so that what lies between
// two strokes does not hang on what came before them.
type inARow struct {
	at   [32]int32
	t    [32]float64
	need [32][len(inRows)]int64
	sum  [len(inRows)]int64
	n    int
}

// fine is how many parts of a second limits are summed in.
const fine = 1 << 40

// push adds a stroke.
func (w *inARow) push(at int32, t, phrase, kept float64) {
	w.sum[0] += int64(phrase * fine)
	w.sum[1] += int64(kept * fine)
	i := uint(w.n) % 32
	w.at[i], w.t[i], w.need[i] = at, t, w.sum
	w.n++
}

// latest gives the first of so many strokes up to the one that was pushed, their mean gap and the
// mean of what they need, unless they take clearly so many times as long, and no less than they need:
// that is told without the means.
func (w *inARow) latest(row, strokes int, near float64) (from int32, gap, need float64, ok bool) {
	if w.n < strokes {
		return 0, 0, 0, false
	}
	first, last := uint(w.n-strokes)%32, uint(w.n-1)%32
	span, needs := w.t[last]-w.t[first], float64(w.sum[row]-w.need[first][row])/fine
	if span*clearly >= needs && span*clearly >= near*needs {
		return 0, 0, 0, false
	}
	gaps := float64(strokes - 1)
	return w.at[first], span / gaps, needs / gaps, true
}

// An onItem is what two limbs do on one instrument.
type onItem struct {
	last, before moment
	rows         inARow
	turns        int // strokes since the two were last in turn

	stirred bool // looked at by a scan that goes on from another one
	more    int  // moments to come until nothing is another any more
	seen    float64
	end     int32 // from where on what was found before stands
}

// A moment is the strokes of two limbs on one instrument at one time.
type moment struct {
	at    int32 // an event, and 1
	limbs body.Limbs
	t     float64
}

// fresh is room for what two limbs do on each instrument, of which nothing is
// known yet.
func (s *rateScan) fresh() []onItem {
	n := max(len(s.items), len(s.res.Player.Items))
	if s.was != nil {
		n = max(n, len(s.was.player.Items))
	}
	s.onItems = slices.Grow(s.onItems[:0], n)[:n]
	for i := range s.onItems {
		s.onItems[i] = onItem{turns: 1 << 20}
	}
	return s.onItems
}

// together judges two limbs in turn on one instrument, and the floors and
// steady times of each alone.
func (s *rateScan) together(pair body.Limbs, items []onItem) {
	var last [5]int32 // what each limb did before, and 1
	s.quiet = false
	for i := range s.asked {
		if limbs := s.asked[i].limbs & pair; limbs != 0 {
			if s.asked[i].counts() {
				s.both(int32(i), &items[s.of(int32(i)).item], limbs, pair, &last)
			}
			for l := range limbs.Each() {
				last[l] = int32(i) + 1
			}
		}
	}
}

// both judges a stroke on an instrument among those of two limbs.
func (s *rateScan) both(at int32, on *onItem, limbs, pair body.Limbs, last *[5]int32) {
	e, from := &s.res.Events[at], on.last
	s.at = at
	if on.last.at > 0 && e.T0 <= on.last.t+eps { // with the other
		from = on.before
		on.last.limbs |= limbs
	} else {
		on.before, on.last = on.last, moment{at + 1, limbs, e.T0}
		s.inTurn(e, at, s.of(at), on, from, pair)
	}
	if from.at > 0 && from.limbs&limbs != 0 && !s.graces(e) {
		s.eachAlone(from, at, limbs, last)
	}
}

// eachAlone judges the limbs that made a stroke and were at the instrument the
// moment before.
func (s *rateScan) eachAlone(from moment, at int32, limbs body.Limbs, last *[5]int32) {
	ev := s.res.Events
	for l := range (from.limbs & limbs).Each() {
		if f := s.onSame(last[l]-1, &ev[at], from.t, l); f != nil {
			s.alone(f, &ev[at], at, s.of(at), l)
		}
	}
}

// onSame is the stroke that a limb made with its last motion on the instrument of
// another one, or nil: at that moment, and on nothing else but what lies in its
// palm.
func (s *rateScan) onSame(last int32, e *Event, t float64, l body.Limb) *Event {
	for ; last >= 0; last-- {
		f := &s.res.Events[last]
		if f.T0 != t {
			return nil
		}
		if f.Cue != nil && f.Cue.Item == e.Cue.Item && f.Kind == Strike && f.Limbs&(1<<l) != 0 {
			return f
		}
		if !s.palms[l] {
			return nil
		}
	}
	return nil
}

// alone judges two strokes that follow each other on an instrument, and that
// one of the two limbs made both.
func (s *rateScan) alone(f, e *Event, at int32, k *cueKind, l body.Limb) {
	p := s.struckBy(e, int(l), &k.one)
	if s.leap(f, e, int(l)) != nil {
		return // judged where the limb is
	}
	if how := s.how2(at, int(l)); how != ownMotion && k.pair.technique != nil {
		if p = &k.pair; how != second && k.triple.technique != nil {
			p = &k.triple
		}
	}
	if gap := e.T0 - f.T0; s.heeds(gap, &p.few) {
		s.judge(Rate{From: f, To: e, Limbs: body.Of(l), Gap: gap, Pace: p.few, Technique: p.technique, Strokes: 2}, false, true)
	}
}

// graces says whether a stroke has grace strokes that two hands play.
func (s *rateScan) graces(e *Event) bool {
	return e.Cue.Limb.TwoHands() && e.Limbs&body.Hands != 0 && e.Cue.Strokes[e.Stroke].Grace > 0
}

// inTurn judges a stroke against the one before on the same instrument, by
// the other limb, and with it the strokes in a row of both.
func (s *rateScan) inTurn(e *Event, at int32, k *cueKind, on *onItem, from moment, pair body.Limbs) {
	ev := s.res.Events
	p := &k.two
	if p.technique == nil {
		return
	}
	bounced := k.bounces && s.status[at] != 0
	if k.bounces && from.at > 0 && s.status[from.at-1] != 0 {
		bounced = true
	}
	if bounced {
		p = &k.open
	}
	if from.at > 0 {
		f := &ev[from.at-1]
		on.turns++
		if grace := e.Cue.Strokes[e.Stroke].Grace; s.graces(e) {
			pace := s.res.Player.Profile.GraceStrokes(int(grace), k.two.technique)
			s.judge(Rate{From: f, To: e, Limbs: pair, Gap: e.T0 - f.T0, Pace: pace, Technique: k.two.technique, Strokes: 2, Grace: int(grace)}, true, f.Kind == Strike)
		} else if from.limbs&e.Limbs&pair == 0 {
			on.turns = 0
			if gap := e.T0 - f.T0; s.heeds(gap, &p.few) {
				s.judge(Rate{From: f, To: e, Limbs: pair, Gap: gap, Pace: p.few, Technique: p.technique, Strokes: 2}, true, true)
			}
		}
	}
	arrive := p
	if bounced && s.status[at] == 0 {
		arrive = &k.two
	}
	on.rows.push(at, e.T0, arrive.phrase.Limit, arrive.kept.Limit)
	for w, strokes := range inRows {
		if on.turns >= strokes-1 {
			continue
		}
		if first, gap, need, ok := on.rows.latest(w, strokes, s.cannot.near); ok && s.matters(gap, need) {
			s.judge(Rate{From: &ev[first], To: e, Limbs: pair, Gap: gap, Pace: under(p.few, need), Technique: p.technique, Strokes: strokes}, true, false)
		}
	}
}

// clearly keeps the first of strokes that are equally fast, whatever floating
// point makes of their times at a tempo.
const clearly = 1 - 1e-9

// A lowest is the lowest of the tempo factors that rates bear, and the first rate that bears
// no clearly higher one.
type lowest struct {
	found []borne // each lower than all before it, the first hardly higher than the last
	near  float64 // nothing from here on is lower
}

// A borne factor is that of a rate on a track.
type borne struct {
	RateCeiling
	track int
}

// before says whether one comes before another.
func (b *borne) before(c *borne) bool {
	return b.track < c.track || b.track == c.track && b.Rate.at < c.Rate.at
}

func nothingYet() lowest { return lowest{near: inf()} }

// hair is the share of a product or two that rounding comes to at the most.
const hair = 1e-12

// add takes a rate's factor into account.
func (l *lowest) add(factor float64, r *Rate, track int) {
	if n := len(l.found); n > 0 && factor >= l.found[n-1].Factor {
		return
	}
	l.near = min(l.near, factor*(1+hair))
	l.forget(factor)
	l.found = append(l.found, borne{RateCeiling{factor, *r}, track})
}

// forget leaves out what is clearly higher than a factor.
func (l *lowest) forget(factor float64) {
	i := 0
	for i < len(l.found) && factor < l.found[i].Factor*clearly {
		i++
	}
	l.found = append(l.found[:0], l.found[i:]...)
}

// first is the first rate that bears no clearly higher factor than the lowest.
func (l *lowest) first() borne {
	if len(l.found) == 0 {
		return borne{RateCeiling: RateCeiling{Factor: inf()}}
	}
	return l.found[0]
}

// last is the one with the lowest factor.
func (l *lowest) last() borne {
	if n := len(l.found); n > 0 {
		return l.found[n-1]
	}
	return l.first()
}

// heeds says whether a gap may make any difference to judge.
func (s *rateScan) heeds(gap float64, p *body.Pace) bool {
	return gap < s.cannot.near*p.Limit || gap < s.edge.near*p.Floor || gap < p.Limit-eps || gap < p.Steady-eps
}

// judge takes a rate into account: against its limit, against its floor and
// steady time, or both.
func (s *rateScan) judge(r Rate, limit, rest bool) {
	if r.Technique == nil || s.quiet {
		return
	}
	r.at = s.at
	if limit && r.Pace.Limit > 0 {
		s.cannot.add(r.Gap/r.Pace.Limit, &r, s.track)
	}
	if rest && r.Pace.Floor > 0 {
		s.edge.add(r.Gap/r.Pace.Floor, &r, s.track)
	}
	if !limit { // whoever judges the limb alone has a limit that fits how it moves
		r.Pace.Limit = min(r.Pace.Limit, r.Gap)
	}
	if limit && r.Gap < r.Pace.Limit-eps || rest && r.Gap < r.Pace.Steady-eps {
		s.list = append(s.list, r)
	}
}
