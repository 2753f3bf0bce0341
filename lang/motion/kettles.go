package motion

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/pitch"
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

// ofCue is the kettles of a cue's strokes, as they are played first.
func (t *tunedSets) ofCue(c *score.Cue) []onKettles {
	if t == nil || t.cues[c] == nil {
		return nil
	}
	list := t.cues[c]
	if len(list) == 1 && len(list[0].on) == len(c.Strokes) { // as mostly
		return list[0].on
	}
	out := make([]onKettles, len(c.Strokes))
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
	var cue *score.Cue // of the last event
	var list []strokesOn
	for i := range events { // what is stopped is on the kettle on which it was struck
		e := &events[i]
		if e.Cue != cue {
			cue, list = e.Cue, t.cues[e.Cue]
		}
		if int(e.Span) < len(list) && list[e.Span].on != nil {
			out[i] = list[e.Span].on[int(e.Stroke)-list[e.Span].first]
		}
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
	g := giver{feet: feetAhead(s, p)}
	for _, it := range items {
		g.need = retuneOf(p, it).Pace
		g.strokesOf(s, p, it, out)
		g.set(it, out)
	}
	return out
}

// feetAhead lists when each foot strikes, as it is written, whatever is supposed.
func feetAhead(s *score.Score, p *score.Player) [2][]spell {
	l := lister{score: s, player: p, spans: s.Time.Spans()}
	for _, c := range p.Cues {
		if kit.KindOf(c.Limb) == kit.Foot {
			l.cue(c, handing{all: body.Of(c.Limb)})
		}
	}
	inOrder(l.events)
	for i := range l.events {
		l.events[i].T0 *= s.Supposed
		l.events[i].T1 *= s.Supposed
	}
	return feetPlay(l.events, p)
}

// A kettleStroke is a stroke on kettles that says its notes.
type kettleStroke struct {
	start, until float64
	struck       *score.Struck
	on           *onKettles // where its kettles are noted
}

// strokesOf lists the strokes on a set in played order, at the written tempo, and makes
// room for their kettles.
func (g *giver) strokesOf(s *score.Score, p *score.Player, it *score.Item, out *tunedSets) {
	spans, count, cues := s.Time.Spans(), 0, 0
	for _, c := range p.Cues {
		if c.Struck != nil && c.Item == it {
			count += len(c.Strokes)
			cues++
		}
	}
	g.strokes = slices.Grow(g.strokes[:0], min(count, maxEvents))
	var room []onKettles // for the next strokes
	lists := make([]strokesOn, 0, cues*len(spans))
	for _, c := range p.Cues {
		if c.Struck == nil || c.Item != it {
			continue
		}
		lists = lists[:len(lists)+len(spans)]
		list := lists[len(lists)-len(spans):]
		eachSpan(s, spans, c, func(span, first, end int) {
			if len(room) < end-first {
				room = make([]onKettles, max(count, end-first))
			}
			list[span] = strokesOn{first, room[: end-first : end-first]}
			room = room[end-first:]
			g.strokesIn(s, c, span, list[span])
		})
		out.cues[c] = list
	}
	if early := func(a, b kettleStroke) int { return cmp.Compare(a.start, b.start) }; !slices.IsSortedFunc(g.strokes, early) {
		slices.SortStableFunc(g.strokes, early)
	}
}

// strokesIn lists the strokes of a cue in one span.
func (g *giver) strokesIn(s *score.Score, c *score.Cue, span int, list strokesOn) {
	for i := range list.on {
		st, struck := &c.Strokes[list.first+i], c.StruckAt(list.first+i)
		if struck == nil || st.Has(score.Stop) || len(g.strokes) >= maxEvents {
			continue
		}
		start := s.Time.Seconds(span, st.At) * s.Supposed
		end := start
		if st.Has(score.Roll) {
			end = s.Time.Seconds(s.Lasts(span, st.End)) * s.Supposed
		}
		g.strokes = append(g.strokes, kettleStroke{start, end, struck, &list.on[i]})
	}
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

// mostMore is how many kettles more are tried where there are too few.
const (
	mostMore    = 4
	mostKettles = 16 // + mostMore; a kit has no more, see kit
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
	strokes []kettleStroke // in order
	feet    [2][]spell     // when each foot plays
	need    body.Pace
	hand    bool // a hand tunes, and no foot
	busy    bool // no foot is free all the time
	notes   []setNote
	next    int // of them, see at
	gaps    map[[2]int32]float64
	reached [128]bool                          // whether any kettle that there is reaches it
	off     [mostKettles + mostMore][128]int64 // how far a note is from a kettle's middle, quarter tones; below 0 it is not reached
}

// A setNote is one note for a kettle.
type setNote struct {
	start, until float64
	semitone     int32
	moment       int32 // those of one moment have the same
	sinceNote
}

// A sinceNote is how a note stands to the present one on the same kettle, were that to
// be tuned. It is worked out once, however many situations have that note.
type sinceNote struct {
	now int32 // the present note, and 1
	tuneNeed
}

// set gives the notes of one set.
func (g *giver) set(it *score.Item, out *tunedSets) {
	g.hand = it.Inst.HandTuned
	g.offsOf(it)
	g.notesOf()
	if len(g.notes) == 0 {
		return
	}
	count := len(it.Inst.Kettles)
	var cost int64
	on := g.still(count)
	if on == nil {
		on, cost = g.assign(count)
	}
	g.eachNote(func(s *kettleStroke, key int, n setNote) {
		k := onKettles(noneLeft)
		if at := on[g.at(n)]; at >= 0 {
			k = onKettles(at) + 1
		}
		*s.on |= k << (5 * key)
	})
	if cost >= tuneMissing {
		out.more[it] = g.moreThan(count)
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
	kept.strokes = nil
	g.notes = nil
	return &moreKettles{giver: &kept, count: count}
}

func (m *moreKettles) find() int {
	m.once.Do(func() {
		for more := 1; more <= mostMore && m.would == 0; more++ {
			if m.giver.enough(m.count + more) {
				m.would = m.count + more
			}
		}
		m.giver = nil
	})
	return m.would
}

// notesOf lists the notes of a set in played order, each once at its moment. What
// no kettle reaches is left out, and told elsewhere.
func (g *giver) notesOf() {
	g.notes, g.gaps = slices.Grow(g.notes[:0], len(g.strokes)), map[[2]int32]float64{}
	g.busy = !g.hand && g.feet[0] != nil && g.feet[1] != nil
	g.eachNote(func(_ *kettleStroke, _ int, n setNote) {
		for b := len(g.notes) - 1; b >= 0 && g.notes[b].moment == n.moment; b-- {
			if had := &g.notes[b]; had.semitone == n.semitone {
				had.until = max(had.until, n.until)
				return
			}
		}
		g.notes = append(g.notes, n)
	})
	g.next = 0
}

// eachNote visits the notes of all strokes that some kettle reaches, in played order.
func (g *giver) eachNote(visit func(s *kettleStroke, key int, n setNote)) {
	moment := int32(-1)
	began := math.Inf(-1)
	for i := range g.strokes {
		s := &g.strokes[i]
		if s.start > began+eps {
			moment++
			began = s.start
		}
		for key, k := range s.struck.Keys {
			if key < mostOn && g.reaches(k.Pitch) {
				visit(s, key, setNote{start: s.start, until: s.until, semitone: int32(k.Pitch.Semitone()), moment: moment})
			}
		}
	}
}

// at is where a note is in the list. It is asked for in their order.
func (g *giver) at(n setNote) int {
	for g.notes[g.next].moment < n.moment {
		g.next++
	}
	i := g.next
	for g.notes[i].semitone != n.semitone {
		i++
	}
	return i
}

// reaches says whether any kettle of the set reaches a note.
func (g *giver) reaches(p pitch.Pitch) bool {
	n := p.Semitone()
	return n >= 0 && n < len(g.reached) && g.reached[n]
}

// offsOf works out which kettle reaches which note, and how far from its
// middle. Those that there might be more reach all.
func (g *giver) offsOf(it *score.Item) {
	g.reached = [128]bool{}
	for k := range g.off {
		for n := range g.off[k] {
			g.off[k][n] = 0
			if k < len(it.Inst.Kettles) {
				low, high := it.Inst.Kettles[k].Low.Semitone(), it.Inst.Kettles[k].High.Semitone()
				off := 2*n - low - high
				g.off[k][n] = int64(max(off, -off))
				if n < low || n > high {
					g.off[k][n] = -1
				} else {
					g.reached[n] = true
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
