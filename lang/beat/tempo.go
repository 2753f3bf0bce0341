package beat

import (
	"math"
	"slices"
	"sort"
)

// A TempoChange sets the tempo at a position, in whole notes a minute: at
// once, or evenly in score position over a length.
type TempoChange struct {
	At       Rat
	From, To float64
	Over     Rat // 0: at once
}

// A TempoMap turns positions into seconds.
type TempoMap struct{ pieces []piece }

// A piece is a stretch of constant or evenly changing tempo.
type piece struct {
	start   float64 // whole notes
	seconds float64 // from position 0 to start
	tempo   float64 // whole notes a minute at start
	slope   float64 // change of tempo a whole note
	at      Rat
}

// NewTempoMap makes a map of the changes; before the first the tempo is def.
// Of changes at one position the last wins. A change that begins while another
// is under way cuts it off there. One before position 0 counts as at 0, and one
// whose tempos are not above 0 is left out.
func NewTempoMap(changes []TempoChange, def float64) *TempoMap {
	sorted := make([]TempoChange, 0, len(changes))
	for _, c := range changes {
		if !playable(c.From) || c.Over.Sign() > 0 && !playable(c.To) {
			continue
		}
		if c.At.Sign() < 0 {
			c.At = Rat{}
		}
		sorted = append(sorted, c)
	}
	slices.SortStableFunc(sorted, func(a, b TempoChange) int { return a.At.Cmp(b.At) })
	if !playable(def) {
		def = 24 // 96 quarters
	}
	m := &TempoMap{pieces: []piece{{tempo: def}}}
	add := func(at Rat, tempo, slope float64) {
		last := &m.pieces[len(m.pieces)-1]
		start := at.Float()
		next := piece{start: start, seconds: last.until(start), tempo: tempo, slope: slope, at: at}
		if at == last.at {
			next.seconds = last.seconds
			*last = next
			return
		}
		m.pieces = append(m.pieces, next)
	}
	for i, c := range sorted {
		if c.Over.Sign() <= 0 {
			add(c.At, c.From, 0)
			continue
		}
		add(c.At, c.From, (c.To-c.From)/c.Over.Float())
		end := c.At.Add(c.Over)
		if i+1 == len(sorted) || end.Less(sorted[i+1].At) {
			add(end, c.To, 0)
		}
	}
	return m
}

// playable says whether a tempo leads to times that are numbers.
func playable(tempo float64) bool { return tempo > 1e-9 && tempo < 1e9 }

// until is the seconds from position 0 to a position within the piece.
func (p *piece) until(pos float64) float64 {
	n := pos - p.start
	if p.slope == 0 {
		return p.seconds + 60*n/p.tempo
	}
	// 60·n/(b−a)·ln(b/a), written so that it holds up as b nears a.
	x := p.slope * n / p.tempo
	if math.Abs(x) < 1e-8 {
		return p.seconds + 60*n/p.tempo*(1-x/2)
	}
	return p.seconds + 60/p.slope*math.Log1p(x)
}

func (m *TempoMap) piece(pos float64) *piece {
	if len(m.pieces) == 1 {
		return &m.pieces[0]
	}
	i := sort.Search(len(m.pieces), func(i int) bool { return m.pieces[i].start > pos })
	return &m.pieces[max(0, i-1)]
}

// Seconds is the time from position 0 to a position.
func (m *TempoMap) Seconds(pos Rat) float64 {
	x := pos.Float()
	return m.piece(x).until(x)
}

// Between is the time from one position to another.
func (m *TempoMap) Between(a, b Rat) float64 { return m.Seconds(b) - m.Seconds(a) }

// At is the tempo at a position, in whole notes a minute.
func (m *TempoMap) At(pos Rat) float64 {
	x := pos.Float()
	p := m.piece(x)
	return p.tempo + p.slope*(x-p.start)
}

// A Timeline is the piece as played: its spans one after the other.
type Timeline struct {
	grid   *Grid
	tempo  *TempoMap
	spans  []Span
	starts []float64 // played second at which each span begins
	from   []float64 // written second of the same
	total  float64
	bars   int
}

// NewTimeline lays the spans of a road out in time.
func NewTimeline(g *Grid, t *TempoMap, r Road) *Timeline {
	tl := &Timeline{grid: g, tempo: t, spans: r.Spans}
	for _, s := range r.Spans {
		a, b := t.Seconds(g.Start(s.From)), t.Seconds(g.Start(s.To+1))
		tl.starts = append(tl.starts, tl.total)
		tl.from = append(tl.from, a)
		tl.total += b - a
		tl.bars += s.To - s.From + 1
	}
	return tl
}

// Spans is what is played, in order.
func (t *Timeline) Spans() []Span { return t.spans }

// Start is the played second at which a span begins; behind the last span it
// is the end.
func (t *Timeline) Start(span int) float64 {
	if span < 0 || span >= len(t.starts) {
		return t.edge(span)
	}
	return t.starts[span]
}

func (t *Timeline) edge(span int) float64 {
	if span < 0 {
		return 0
	}
	return t.total
}

// Seconds is the played second of a written position within a span.
func (t *Timeline) Seconds(span int, pos Rat) float64 {
	if span < 0 || span >= len(t.starts) {
		return t.edge(span)
	}
	return t.starts[span] + t.tempo.Seconds(pos) - t.from[span]
}

// Total is how long the piece is as played, in seconds.
func (t *Timeline) Total() float64 { return t.total }

// PlayedBars is how many bars are played, repeats counted.
func (t *Timeline) PlayedBars() int { return t.bars }

// Alike says whether two time lines have the same bars in the same order, however quick.
func (t *Timeline) Alike(o *Timeline) bool {
	return t == o || t != nil && o != nil && slices.Equal(t.spans, o.spans) && t.grid.Equal(o.grid)
}

// Equal says whether two time lines put everything at the same second.
func (t *Timeline) Equal(o *Timeline) bool {
	if t == o {
		return true
	}
	return t != nil && o != nil && slices.Equal(t.spans, o.spans) && slices.Equal(t.tempo.pieces, o.tempo.pieces) && t.grid.Equal(o.grid)
}
