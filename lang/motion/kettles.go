package motion

import (
	"math"
	"math/bits"
	"slices"
	"sync"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// Which kettle has which note. This is found before the path, at the written
// tempo, so that hands go to the kettle that has the note, and to the same one
// at whatever tempo is supposed.

// An onKettles is which kettle each note of a stroke is on: five bits a note, in
// the order in which they are written; 0 is that nothing is known, and noneLeft
// that no kettle is left for it.
type onKettles uint64

const (
	mostOn   = 12 // notes of one stroke
	noneLeft = 31
)

// of is the kettle of the i-th note, from 1, or 0.
func (k onKettles) of(i int) int {
	if n := k.raw(i); n != noneLeft {
		return n
	}
	return 0
}

func (k onKettles) raw(i int) int {
	if i >= mostOn {
		return 0
	}
	return int(k >> (5 * i) & 31)
}

// A tunedSets is how one player's kettles are given to the notes.
type tunedSets struct {
	items []*score.Item
	more  map[*score.Item]*moreKettles // where these are too few
	cues  map[*score.Cue][]strokesOn   // by span
}

// A strokesOn is the kettles of a cue's strokes in one span.
type strokesOn struct {
	first int
	on    []onKettles
}

func (t *tunedSets) strokes(e *Event) *strokesOn {
	if t == nil || e.Cue == nil || e.Cue.Struck == nil {
		return nil
	}
	list := t.cues[e.Cue]
	if int(e.Span) >= len(list) || list[e.Span].on == nil {
		return nil
	}
	return &list[e.Span]
}

// of is the kettles of an event.
func (t *tunedSets) of(e *Event) onKettles {
	s := t.strokes(e)
	if s == nil {
		return 0
	}
	return s.on[int(e.Stroke)-s.first]
}

// ofCue is the kettles of a cue's strokes, as they are played first.
func (t *tunedSets) ofCue(c *score.Cue) []onKettles {
	if t == nil || t.cues[c] == nil {
		return nil
	}
	out := make([]onKettles, len(c.Strokes))
	list := t.cues[c]
	for k := range slices.Backward(list) {
		copy(out[list[k].first:], list[k].on)
	}
	return out
}

// kettlesOf is which of a stroke is on which kettle.
func kettlesOf(list []onKettles, i int) onKettles {
	if i >= len(list) {
		return 0
	}
	return list[i]
}

// everyEvent is the kettles of all events; nil where nothing is known.
func (t *tunedSets) everyEvent(events []Event) []onKettles {
	if t == nil {
		return nil
	}
	out := make([]onKettles, len(events))
	for i := range events { // what is stopped is on the kettle on which it was struck
		out[i] = t.of(&events[i])
	}
	return out
}

// tuneAhead gives the notes of a player's kettles to them. It is nil where no
// stroke on kettles says its note.
func tuneAhead(s *score.Score, p *score.Player) *tunedSets {
	var items []*score.Item
	for _, c := range p.Cues {
		if c.Struck != nil && len(c.Item.Inst.Kettles) > 0 && len(c.Item.Inst.Kettles) <= mostKettles && !slices.Contains(items, c.Item) {
			items = append(items, c.Item)
		}
	}
	if items == nil {
		return nil
	}
	out := &tunedSets{items: items, more: map[*score.Item]*moreKettles{}, cues: map[*score.Cue][]strokesOn{}}
	l := lister{score: s, player: p, spans: s.Time.Spans()}
	for _, c := range p.Cues {
		if tuned := c.Struck != nil && slices.Contains(items, c.Item); tuned || kit.KindOf(c.Limb) == kit.Foot {
			list := make([]strokesOn, len(l.spans))
			eachSpan(s, l.spans, c, func(span, first, end int) {
				l.total += end - first
				if tuned {
					list[span] = strokesOn{first, make([]onKettles, end-first)}
				}
			})
			if tuned {
				out.cues[c] = list
			}
		}
	}
	l.events = make([]Event, 0, min(l.total, maxEvents))
	for _, c := range p.Cues {
		switch {
		case out.cues[c] != nil:
			l.cue(c, func(int) (body.Limbs, body.Limbs) { return 0, 0 })
		case kit.KindOf(c.Limb) == kit.Foot:
			l.cue(c, func(int) (body.Limbs, body.Limbs) { return body.Of(c.Limb), 0 })
		}
	}
	inOrder(l.events)
	for i := range l.events { // as it is written, whatever is supposed
		l.events[i].T0 *= s.Supposed
		l.events[i].T1 *= s.Supposed
	}
	g := giver{events: l.events}
	g.feet = feetPlay(l.events, p)
	for _, it := range items {
		need := retuneOf(p, it).Pace
		g.need = need
		g.set(it, out)
	}
	return out
}

// retuneOf is what a player does to give a kettle another note.
func retuneOf(p *score.Player, it *score.Item) body.Motion {
	if it.Inst.HandTuned {
		return p.Profile.RetuneByHand()
	}
	return p.Profile.Retune()
}

// feetPlay lists when each foot strikes, and that it is back at its pedal by then.
func feetPlay(events []Event, p *score.Player) (feet [2][]spell) {
	back := p.Profile.Pedals().Pace.Limit
	for i := range events {
		e := &events[i]
		for f, foot := range [2]body.Limbs{body.RF, body.LF} {
			if e.Limbs&foot != 0 && e.Limbs&droppedBit == 0 {
				feet[f] = append(feet[f], spell{from: e.T0, to: until(e), lead: back})
			}
		}
	}
	return feet
}

// playsOn lists how long a limb goes on playing: from one stroke to the last
// before a rest.
func playsOn(events []Event, limb body.Limbs) []spell {
	var out []spell
	var last *Event
	for i := range events {
		e := &events[i]
		if e.Limbs&limb == 0 || e.Limbs&droppedBit != 0 || e.Cue == nil {
			continue
		}
		if last == nil || rested(last, e) {
			out = append(out, spell{from: e.T0, to: until(e)})
		} else {
			s := &out[len(out)-1]
			s.to = max(s.to, until(e))
		}
		last = e
	}
	return out
}

// At most so many situations of the kettles are followed from note to note, the
// cheapest of them; of very many notes fewer, so that no more than mostWork are
// looked at. mostMore is how many kettles more are tried.
const (
	mostTunings  = 96
	leastTunings = 16
	mostWork     = 40_000
	mostMore     = 4
	mostKettles  = 16 // + mostMore; a kit has no more, see kit
)

// What orders the ways to give a set's notes to its kettles: first that every
// note has one, then the time there is to retune, then how seldom that is, and
// then how near the notes are to the middle of what a pedal reaches, where they
// sound best (common practice, no source). They are costs.
const (
	noKettle    int64 = 1e12
	tuneMissing int64 = 1e9
	tuneAtEdge  int64 = 1e7
	tuneTight   int64 = 1e5
	tuneOnce    int64 = 1e3
)

// A giver gives the notes of one set to its kettles.
type giver struct {
	events []Event
	feet   [2][]spell // when each foot plays
	need   body.Pace
	hand   bool // a hand tunes, and no foot
	busy   bool // no foot is free all the time
	notes  []setNote
	refs   []noteRef
	gaps   map[[2]int32]float64
	off    [mostKettles + mostMore][128]int64 // how far a note is from a kettle's middle, quarter tones; below 0 it is not reached
}

// A setNote is one note for a kettle.
type setNote struct {
	start, until float64
	semitone     int32
	moment       int32 // those of one moment have the same
}

// A noteRef is a note where an event has it.
type noteRef struct {
	note  int32
	event int32
	key   int32
}

// set gives the notes of one set.
func (g *giver) set(it *score.Item, out *tunedSets) {
	g.hand = it.Inst.HandTuned
	g.notesOf(it)
	if len(g.notes) == 0 {
		return
	}
	count := len(it.Inst.Kettles)
	g.reaches(it)
	on := g.still(count)
	if on == nil {
		var worst int64
		on, worst = g.assign(count, math.MaxInt64)
		if worst >= tuneMissing {
			out.more[it] = g.moreThan(count)
		}
	}
	for _, r := range g.refs {
		k := onKettles(noneLeft)
		if on[r.note] >= 0 {
			k = onKettles(on[r.note]) + 1
		}
		e := &g.events[r.event]
		s := out.strokes(e)
		s.on[int(e.Stroke)-s.first] |= k << (5 * r.key)
	}
}

// A moreKettles finds how many kettles would do where there are too few, once
// somebody asks: that takes as long again as giving the notes to those there are.
type moreKettles struct {
	once  sync.Once
	giver *giver // until then
	count int    // that there are
	would int
}

// moreThan is for the notes of the present set, of which no list is used again.
func (g *giver) moreThan(count int) *moreKettles {
	kept := *g
	kept.events, kept.refs = nil, nil
	g.notes = nil
	return &moreKettles{giver: &kept, count: count}
}

func (m *moreKettles) find() int {
	m.once.Do(func() {
		for more := 1; more <= mostMore && m.would == 0; more++ {
			if on, _ := m.giver.assign(m.count+more, tuneMissing); on != nil {
				m.would = m.count + more
			}
		}
		m.giver = nil
	})
	return m.would
}

// notesOf lists the notes of a set in played order, each once at its moment. What
// no kettle reaches is left out, and told elsewhere.
func (g *giver) notesOf(it *score.Item) {
	g.notes, g.refs, g.gaps = slices.Grow(g.notes[:0], len(g.events)), slices.Grow(g.refs[:0], len(g.events)), map[[2]int32]float64{}
	g.busy = !g.hand && g.feet[0] != nil && g.feet[1] != nil
	moment := int32(-1)
	began := math.Inf(-1)
	for i := range g.events {
		e := &g.events[i]
		if e.Cue == nil || e.Cue.Item != it || e.Kind != Strike && e.Kind != RollOn {
			continue
		}
		s := e.Cue.StruckAt(int(e.Stroke))
		if s == nil {
			continue
		}
		if e.T0 > began+eps {
			moment++
			began = e.T0
		}
		for n, k := range s.Keys {
			if n >= mostOn || k.Pitch.None() || kettleFor(it.Inst, k) == 0 {
				continue
			}
			semitone, had := int32(k.Pitch.Semitone()), false
			for b := len(g.notes) - 1; b >= 0 && g.notes[b].moment == moment && !had; b-- {
				if had = g.notes[b].semitone == semitone; had {
					g.notes[b].until = max(g.notes[b].until, until(e))
					g.refs = append(g.refs, noteRef{int32(b), int32(i), int32(n)})
				}
			}
			if !had {
				g.refs = append(g.refs, noteRef{int32(len(g.notes)), int32(i), int32(n)})
				g.notes = append(g.notes, setNote{e.T0, until(e), semitone, moment})
			}
		}
	}
}

// reaches works out which kettle reaches which note, and how far from its
// middle. Those that there might be more reach all.
func (g *giver) reaches(it *score.Item) {
	for k := range g.off {
		for n := range g.off[k] {
			g.off[k][n] = 0
			if k < len(it.Inst.Kettles) {
				low, high := it.Inst.Kettles[k].Low.Semitone(), it.Inst.Kettles[k].High.Semitone()
				off := 2*n - low - high
				g.off[k][n] = int64(max(off, -off))
				if n < low || n > high {
					g.off[k][n] = -1
				}
			}
		}
	}
}

// mostStill is for how many kettles it is looked whether each note can have its
// own all through; there are four or five.
const mostStill = 8

// still gives each note its own kettle all through, as near to their middles as
// can be. There is nothing cheaper; nil is that it cannot be.
func (g *giver) still(count int) []int8 {
	var notes []int32
	for i := range g.notes {
		if n := g.notes[i].semitone; !slices.Contains(notes, n) {
			if len(notes) == count || count > mostStill {
				return nil
			}
			notes = append(notes, n)
		}
	}
	type best struct {
		cost int64
		on   [mostStill]int8
		ok   bool
	}
	of := make([]best, 1<<count) // by the kettles that are taken
	of[0].ok = true
	for taken := range of {
		b := &of[taken]
		n := 0
		for k := range count {
			n += taken >> k & 1
		}
		if !b.ok || n >= len(notes) {
			continue
		}
		for k := range count {
			off := g.off[k][notes[n]]
			if taken>>k&1 != 0 || off < 0 {
				continue
			}
			if to := &of[taken|1<<k]; !to.ok || b.cost+off < to.cost {
				*to = *b
				to.cost += off
				to.on[n] = int8(k)
			}
		}
	}
	var least *best
	for taken := range of {
		n := 0
		for k := range count {
			n += taken >> k & 1
		}
		if b := &of[taken]; b.ok && n == len(notes) && (least == nil || b.cost < least.cost) {
			least = b
		}
	}
	if least == nil {
		return nil
	}
	on := make([]int8, len(g.notes))
	for i := range g.notes {
		on[i] = least.on[slices.Index(notes, g.notes[i].semitone)]
	}
	return on
}

// A kettleAt is what a kettle was struck with last, by number and 1; 0 is not yet,
// and below 0 it is a key of MIDI, and 1, that there has been time to change
// since, so that it does not matter when that was.
type kettleAt int32

// A tuneState is what each kettle was struck with last, and what that cost. The
// hash tells situations apart.
type tuneState struct {
	at   [mostKettles + mostMore]kettleAt
	hash uint64
	cost int64
}

// A tuneStep is the kettle of a note, from 0, or -1, and the situation before.
type tuneStep struct {
	back int16
	on   int8
}

// A tuneTry is a step that is looked at.
type tuneTry struct {
	hash uint64
	cost int64
	tuneStep
}

// A tuneSearch is a shortest path over what each kettle was struck with last.
type tuneSearch struct {
	*giver
	count  int   // of kettles, with those that there might be more
	most   int   // situations
	bound  int64 // what costs as much is not looked at
	now    []tuneState
	was    []tuneState
	next   []tuneTry
	table  []int32 // of next, and 1, by hash
	shift  uint    // of a hash, to where it is in the table
	costs  []int64
	since  []sinceNote
	weight [mostKettles + mostMore]uint64 // of each kettle in a hash, as good as drawn
}

// A sinceNote is how one note stands to the present one on the same kettle. It is
// worked out once, however many situations have that note.
type sinceNote struct {
	now int32 // the present note, and 1
	tuneNeed
}

// A tuneNeed is what there is to do for a note on a kettle.
type tuneNeed uint8

const (
	tuneNothing tuneNeed = iota // it has the note
	tuneNever                   // what it was struck with still sounds
	tuneLongAgo                 // it does not matter when it was struck
	tuneWell
	tuneTightly
	tuneFastest
	tuneTooLate
)

// tuneCosts are what those cost beside how far the note is from the middle; what
// is never done or nothing costs nothing.
var tuneCosts = [...]int64{tuneWell: tuneOnce, tuneTightly: tuneOnce + tuneTight, tuneFastest: tuneOnce + tuneAtEdge, tuneTooLate: tuneOnce + tuneMissing}

// A reached is a kettle that reaches the present note, and how far from its middle.
type reached struct {
	kettle int
	off    int64
}

// assign gives each note a kettle, from 0, or -1. It says what that costs; what
// costs as much as the bound is nothing.
func (g *giver) assign(count int, bound int64) (on []int8, cost int64) {
	l := &tuneSearch{giver: g, count: count, bound: bound, most: min(max(mostWork/len(g.notes), leastTunings), mostTunings)}
	l.now, l.was = make([]tuneState, 1, l.most), make([]tuneState, 0, l.most)
	size := 256
	for size < 2*l.most*(count+1) {
		size *= 2
	}
	l.table, l.shift = make([]int32, size), uint(64-bits.TrailingZeros(uint(size)))
	l.since = make([]sinceNote, len(g.notes))
	for k := range l.weight {
		l.weight[k] = mixed(k)
	}
	steps := make([]tuneStep, 0, len(g.notes)*(l.most+1)/2)
	ends := make([]int32, len(g.notes))
	for i := range g.notes {
		l.after(i)
		if len(l.next) == 0 {
			return nil, 0
		}
		for j := range l.next {
			steps = append(steps, l.next[j].tuneStep)
		}
		ends[i] = int32(len(steps))
	}
	best := 0
	for i := range l.now {
		if l.now[i].cost < l.now[best].cost {
			best = i
		}
	}
	cost = l.now[best].cost
	on = make([]int8, len(g.notes))
	for i := len(g.notes) - 1; i >= 0; i-- {
		first := 0
		if i > 0 {
			first = int(ends[i-1])
		}
		step := &steps[first+best]
		on[i], best = step.on, int(step.back)
	}
	return on, cost
}

// after is what the situations become with one more note; the dearest of very
// many are dropped.
func (l *tuneSearch) after(i int) {
	l.next = l.next[:0]
	clear(l.table)
	alone := !l.beside(i)
	n := &l.notes[i]
	var room [mostKettles + mostMore]reached
	reaching := room[:0]
	for k := range l.count {
		if off := l.off[k][n.semitone]; off >= 0 {
			reaching = append(reaching, reached{k, off})
		}
	}
	for b := range l.now {
		s := &l.now[b]
		needs := l.settle(s, i)
		placed := false
		for _, r := range reaching {
			cost := s.cost
			switch need := needs[r.kettle]; need {
			case tuneNever:
				continue
			case tuneNothing:
				if s.at[r.kettle] == 0 {
					cost += r.off
				}
			default:
				cost += tuneCosts[need] + r.off
			}
			l.add(tuneTry{s.hash + uint64(kettleAt(i+1)-s.at[r.kettle])*l.weight[r.kettle], cost, tuneStep{int16(b), int8(r.kettle)}})
			placed = true
		}
		if !placed || !alone {
			l.add(tuneTry{s.hash, s.cost + l.none(n), tuneStep{int16(b), -1}})
		}
	}
	l.goOn(i)
}

// goOn makes situations of the cheapest steps, in their order.
func (l *tuneSearch) goOn(i int) {
	least, room := l.cheapest()
	l.now, l.was = l.was[:0], l.now
	for _, step := range l.next {
		if step.cost >= least {
			if step.cost > least || room == 0 {
				continue
			}
			room--
		}
		n := len(l.now)
		l.next[n], l.now = step, l.now[:n+1]
		to := &l.now[n]
		*to = l.was[step.back]
		to.cost, to.hash = step.cost, step.hash
		if step.on >= 0 {
			to.at[step.on] = kettleAt(i + 1)
		}
	}
	l.next = l.next[:len(l.now)]
}

// mixed is a number for a kettle, as good as drawn.
func mixed(k int) uint64 {
	x := uint64(k+1) * 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31 | 1
}

// add keeps a step, where there is none as cheap to the same situation.
func (l *tuneSearch) add(s tuneTry) {
	if s.cost >= l.bound {
		return
	}
	for at := int(s.hash >> l.shift); ; at = (at + 1) & (len(l.table) - 1) {
		j := l.table[at]
		switch {
		case j == 0:
			l.next = append(l.next, s)
			l.table[at] = int32(len(l.next))
			return
		case l.next[j-1].hash == s.hash:
			if s.cost < l.next[j-1].cost {
				l.next[j-1] = s
			}
			return
		}
	}
}

// fewTunings is up to how many situations it is quicker to keep the cheapest in
// order than to look for the dearest of them.
const fewTunings = 32

// cheapest is up to which cost steps are kept, and how many of just that cost.
func (l *tuneSearch) cheapest() (least int64, room int) {
	if len(l.next) <= l.most {
		return math.MaxInt64, 0
	}
	if l.most > fewTunings {
		l.costs = l.costs[:0]
		for i := range l.next {
			l.costs = append(l.costs, l.next[i].cost)
		}
		least, room = nth(l.costs, l.most), l.most
		for i := range l.next {
			if l.next[i].cost < least {
				room--
			}
		}
		return least, room
	}
	var first [fewTunings + 1]int64 // the cheapest in order, and one more
	n := 0
	for i := range l.next {
		cost := l.next[i].cost
		if n > l.most {
			if cost >= first[n-1] {
				continue
			}
			n--
		}
		k := n
		for ; k > 0 && first[k-1] > cost; k-- {
			first[k] = first[k-1]
		}
		first[k] = cost
		n++
	}
	least = first[l.most]
	for k := l.most; k > 0 && first[k-1] == least; k-- {
		room++
	}
	return least, room
}

// nth is what is the n-th of a list, from 0, once that is in order.
func nth(list []int64, n int) int64 {
	for len(list) > 1 {
		pivot := list[len(list)/2]
		i, j := 0, len(list)-1
		for i <= j {
			for list[i] < pivot {
				i++
			}
			for list[j] > pivot {
				j--
			}
			if i <= j {
				list[i], list[j] = list[j], list[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case n <= j:
			list = list[:j+1]
		case n >= i:
			list, n = list[i:], n-i
		default:
			return list[n]
		}
	}
	return list[0]
}

// settle forgets when kettles were struck that might long have been retuned. It
// says what each needs for the present note.
func (l *tuneSearch) settle(s *tuneState, i int) (needs [mostKettles + mostMore]tuneNeed) {
	semitone := l.notes[i].semitone
	for k, was := range s.at[:l.count] {
		if was > 0 {
			need := l.needs(int32(was-1), int32(i))
			if need != tuneLongAgo {
				needs[k] = need
				continue
			}
			was = -kettleAt(l.notes[was-1].semitone) - 1
			s.hash += uint64(was-s.at[k]) * l.weight[k]
			s.at[k] = was
		}
		if was < 0 && int32(-was-1) != semitone {
			needs[k] = tuneWell
		}
	}
	return needs
}

// beside says whether other notes sound while this one is struck, so that it may
// be the one for which there is no kettle.
func (l *tuneSearch) beside(i int) bool {
	n := &l.notes[i]
	return n.until > n.start || i > 0 && n.moment == l.notes[i-1].moment || i+1 < len(l.notes) && l.notes[i+1].moment == n.moment
}

// none is what it costs that a note has no kettle. What comes while a roll goes
// on is one too many, rather than the roll.
func (l *tuneSearch) none(n *setNote) int64 {
	if n.until > n.start {
		return noKettle + tuneOnce
	}
	return noKettle
}

// needs is what a kettle that was struck with one note needs for another one.
func (l *tuneSearch) needs(was, now int32) tuneNeed {
	one := &l.since[was]
	if one.now != now+1 {
		*one = sinceNote{now + 1, l.needed(was, now)}
	}
	return one.tuneNeed
}

func (l *tuneSearch) needed(was, now int32) tuneNeed {
	last, n := &l.notes[was], &l.notes[now]
	over := last.until <= n.start-l.need.Steady
	switch {
	case over && l.gap(was, now) >= l.need.Steady:
		return tuneLongAgo
	case last.semitone == n.semitone:
		return tuneNothing
	case last.moment == n.moment || last.until > n.start+eps:
		return tuneNever
	}
	gap := l.gap(was, now)
	if gap >= l.need.Steady {
		return tuneWell
	}
	switch BandOf(l.need, gap) {
	case Missing:
		return tuneTooLate
	case AtEdge:
		return tuneFastest
	case Tight:
		return tuneTightly
	}
	return tuneWell
}

// gap is the time that a foot has between two notes. A hand that tunes has it
// as well, as far as is known by now.
func (l *tuneSearch) gap(was, now int32) float64 {
	from, to := l.notes[was].until, l.notes[now].start
	if !l.busy {
		return to - from
	}
	return l.footFree(was, now, from, to)
}

func (l *tuneSearch) footFree(was, now int32, from, to float64) float64 {
	key := [2]int32{was, now}
	window, ok := l.gaps[key]
	if !ok {
		for _, plays := range l.feet {
			if _, w := opening(from, to, l.need.Steady, 1, plays); w > window {
				window = w
			}
		}
		l.gaps[key] = window
	}
	return window
}
