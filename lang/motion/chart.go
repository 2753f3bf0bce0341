package motion

import (
	"cmp"
	"math"
	"math/bits"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// What one stroke strikes of an instrument that has bars or drums, and where that
// lies. It is worked out once for each bar or drum, whoever strikes it how often.

// A laid is what a stroke strikes, from the left as the player stands.
type laid struct {
	keys  []score.Key // of a chord; one bar or drum is what the stroke says
	count int
	whole hit      // each hand strikes all
	split [][2]hit // the right hand's and the left one's, by how many the left one has, from 1
}

// A hit is what one hand strikes at a time: where the hand is, from the middle of the
// instrument, turned as that is, and how wide the narrowest of it is.
type hit struct {
	kit.Target
	along    float64 // which of two lies further to the right, cm
	span     float64 // from its first to its last, cm
	from, to int16   // of what the stroke strikes
	id       int32   // in the chart, from 1
}

func (x *hit) count() int { return int(x.to - x.from) }

// by is what a hand strikes of it, where the left hand has so many from the
// left, of a chord for both; 0 is that each hand strikes all.
func (l *laid) by(h int, limbs body.Limbs, left uint8) *hit {
	if n := int(left); n > 0 && n < l.count && limbs&body.Hands == body.Hands {
		return &l.split[n-1][h]
	}
	return &l.whole
}

// A chart is where everything lies that a player's strokes strike.
type chart struct {
	boards map[*score.Item]*board
	last   *board
	hits   int32
}

// A board is what has been looked up of one item.
type board struct {
	item    *score.Item
	bars    [128]*laid // by semitone
	members []*laid
	chords  map[chord]*laid
}

type chord struct {
	*score.Struck
	onKettles
}

// at is what a stroke on an item strikes. What has no place is left out; it is nil
// where nothing is left, and no claim is made.
func (c *chart) at(it *score.Item, s *score.Struck, on onKettles) *laid {
	if s == nil {
		return nil
	}
	b := c.board(it)
	if len(s.Keys) == 1 { // as nearly always
		return c.one(b, s.Keys[0], on.of(0))
	}
	k := chord{s, on}
	l, ok := b.chords[k]
	if !ok {
		l = c.chord(it, s, on)
		if b.chords == nil {
			b.chords = map[chord]*laid{}
		}
		b.chords[k] = l
	}
	return l
}

func (c *chart) board(it *score.Item) *board {
	if c.last != nil && c.last.item == it {
		return c.last
	}
	b := c.boards[it]
	if b == nil {
		b = &board{item: it, members: make([]*laid, it.Inst.Row()+1)}
		if c.boards == nil {
			c.boards = map[*score.Item]*board{}
		}
		c.boards[it] = b
	}
	c.last = b
	return b
}

// one is where a bar or a drum lies; of kettles, the one that the note is on,
// where that is known.
func (c *chart) one(b *board, k score.Key, kettle int) *laid {
	in := b.item.Inst
	var place **laid
	switch m := member(in, k, kettle); {
	case m >= 0 && m < len(b.members):
		place = &b.members[m]
	case m >= 0:
		return nil
	default:
		place = &b.bars[k.Pitch.Semitone()]
	}
	if *place == nil {
		t, ok := placeOf(b.item, k, kettle)
		if !ok {
			return nil
		}
		*place = &laid{count: 1, whole: hit{Target: t.Turned(b.item.Facing), along: along(t, b.item.Facing), to: 1, id: c.next()}}
	}
	return *place
}

func (c *chart) next() int32 {
	c.hits++
	return c.hits
}

// chord is where several at once lie.
func (c *chart) chord(it *score.Item, s *score.Struck, on onKettles) *laid {
	type keyed struct {
		key score.Key
		kit.Target
		along float64
	}
	var list []keyed
	for i, k := range s.Keys {
		if t, ok := placeOf(it, k, on.of(i)); ok {
			list = append(list, keyed{k, t.Turned(it.Facing), along(t, it.Facing)})
		}
	}
	if list == nil {
		return nil
	}
	slices.SortStableFunc(list, func(a, b keyed) int { return cmp.Compare(a.along, b.along) })
	l := &laid{count: len(list)}
	for _, k := range list {
		l.keys = append(l.keys, k.key)
	}
	hits := func(from, to int) hit {
		first, last := &list[from], &list[to-1]
		x := hit{span: first.Dist(last.Target), from: int16(from), to: int16(to), id: c.next()}
		x.along = (first.along + last.along) / 2
		x.Right, x.Ahead, x.Wide = (first.Right+last.Right)/2, (first.Ahead+last.Ahead)/2, first.Wide
		for i := range list[from:to] {
			x.Wide = min(x.Wide, list[from+i].Wide)
		}
		return x
	}
	l.whole = hits(0, len(list))
	for n := 1; n < len(list); n++ {
		l.split = append(l.split, [2]hit{body.Right: hits(n, len(list)), body.Left: hits(0, n)})
	}
	return l
}

// ofCue is what each stroke of a cue strikes; none where none says. Of kettles it
// is the ones of the first time that it is played.
func (c *chart) ofCue(cue *score.Cue, kettles []onKettles) []*laid {
	if cue.Struck == nil {
		return nil
	}
	out := make([]*laid, len(cue.Strokes))
	for i, s := range cue.Struck {
		out[i] = c.at(cue.Item, s, kettlesOf(kettles, i))
	}
	return out
}

// everyEvent is what each event strikes; none where none says.
func (c *chart) everyEvent(events []Event, kettles []onKettles) []*laid {
	var out []*laid
	for i := range events {
		e := &events[i]
		if e.Cue == nil || e.Cue.Struck == nil {
			continue
		}
		if out == nil {
			out = make([]*laid, len(events))
		}
		out[i] = c.at(e.Cue.Item, e.Cue.StruckAt(int(e.Stroke)), kettlesOf(kettles, i))
	}
	return out
}

// struck is what a hand strikes in an event; nil where that is not said. The list is
// of all events.
func struck(list []*laid, e *Event, h int) *hit {
	if e.Cue == nil || e.index < 0 || int(e.index) >= len(list) || list[e.index] == nil {
		return nil
	}
	return list[e.index].by(h, e.Limbs, e.Left)
}

// Strikes is what a hand strikes in an event; none where that is not said.
func (r *Result) Strikes(e *Event, h body.Limb) []score.Key {
	x := struck(r.laid, e, int(h))
	if x == nil {
		return nil
	}
	keys := r.laid[e.index].keys
	if keys == nil {
		keys = e.Cue.StruckAt(int(e.Stroke)).Keys
	}
	return keys[x.from:x.to]
}

// member is which drum of an instrument a key is, from 1, where it is one; of
// kettles, the one that the note is on, where that is known. It is 0 where there is
// no such drum, and below that where the key is a bar.
func member(in *kit.Instrument, k score.Key, kettle int) int {
	switch {
	case k.Pitch.None():
		return k.Member(in)
	case kettle > 0:
		return kettle
	case len(in.Kettles) > 0:
		return kettleFor(in, k)
	}
	return -1
}

// placeOf is where a bar or a drum of a thing lies.
func placeOf(it *score.Item, k score.Key, kettle int) (kit.Target, bool) {
	if m := member(it.Inst, k, kettle); m >= 0 {
		return it.Member(m)
	}
	return it.Inst.Bar(k.Pitch)
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

// along is how far to the right a target lies in the eyes of who plays it: along the
// instrument, so that one which is turned a little has its bars in the same order.
func along(t kit.Target, degrees float64) float64 {
	switch sin, cos := math.Sincos(degrees * math.Pi / 180); {
	case math.Abs(cos) < math.Abs(sin): // from its end
		return t.Turned(degrees).Right
	case cos < 0:
		return -t.Right
	}
	return t.Right
}

// leaps remembers how far it is from hit to hit, and how long that takes, up to a
// bound and no more than there are strokes.
type leaps struct {
	pace  func(cm, wide float64) body.Pace
	list  []leap // a power of 2
	shift uint   // of the hit from which it goes, where each two have their own place; else 0
}

type leap struct {
	from, to int32 // hits
	pair     bool
	cm       float64
	away     float64   // how far they are from one another
	pace     body.Pace // where it is gone at all
}

const mostLeaps = 4096

// forHits makes room for the leaps among so many hits.
func (l *leaps) forHits(p *body.Profile, hits, strokes int) {
	if l.pace == nil {
		l.pace = p.Leaps()
	}
	n, shift := 16, uint(bits.Len(uint(hits)))
	switch {
	case 1<<(2*shift) <= min(mostLeaps, max(2*strokes, n)):
		n = max(n, 1<<(2*shift))
	default:
		shift = 0
		for n < strokes && n < mostLeaps {
			n *= 2
		}
	}
	if n > len(l.list) || shift != l.shift {
		l.list, l.shift = make([]leap, n), shift
	}
}

// of is a hand's way from hit to hit; pair says that it has two mallets.
func (l *leaps) of(from, to *hit, pair bool) *leap {
	at := uint32(from.id)<<l.shift | uint32(to.id)
	if l.shift == 0 {
		at = uint32(from.id)*0x9e3779b1 + uint32(to.id)*0x85ebca6b
		at ^= at >> 15
	}
	one := &l.list[at&uint32(len(l.list)-1)]
	if one.from != from.id || one.to != to.id || one.pair != pair {
		*one = leap{from: from.id, to: to.id, pair: pair, cm: leapOf(from, to, pair), away: from.Dist(to.Target)}
		if one.cm > 0 {
			one.pace = l.pace(one.cm, to.Wide)
		}
	}
	return one
}

// leapOf is how far a hand goes between two strokes, 0 where it stays. With two
// mallets in it, what one of them reaches need not be gone.
func leapOf(from, to *hit, pair bool) float64 {
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

// elsewhere says whether a hit is on another bar or drum than another one.
func (x *hit) elsewhere(from *hit) bool { return x != from && from.Dist(x.Target) >= sameBar }

// sameBar is less than what any two bars are apart, in cm.
const sameBar = 0.5
