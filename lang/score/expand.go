package score

import (
	"maps"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

func sortedKeys[V any](m map[int]V) []int { return slices.Sorted(maps.Keys(m)) }

// expansion writes one logical line out into strokes.
type expansion struct {
	b       *binder
	file    int
	line    int // physical line that is being read
	bar     int
	strokes []Stroke
	words   []Word
	dyn     kit.Dynamic
	recent  []content // what stood in the bars so far, for similes
	open    int       // stroke whose roll goes on over the bar line, or -1
	full    bool
	quiet   bool // do not report again what a simile repeats
}

// content is what one bar was written with.
type content struct {
	cell *syntax.Cell // nil for a rest
	line int
}

// maxSimile is how many bars one simile may repeat.
const maxSimile = 64

// expand writes the bars of a logical line out.
func (b *binder) expand(lg logical) (strokes []Stroke, words []Word, last int) {
	file := b.Sources[lg.file].File
	lines := append([]int{lg.line}, lg.more...)
	texts := make([]*syntax.Line, len(lines))
	for i, n := range lines {
		texts[i] = file.Lines[n]
	}
	if w := b.earlierLine(lg, texts); w != nil {
		b.budget -= w.spent
		if b.opt.Remember {
			b.expanded[place{lg.file, lg.line}] = w
		}
		return w.strokes, w.words, w.last
	}
	problems, budget := len(b.Problems), b.budget
	strokes, words, last = b.writeOut(lg, file, lines)
	if b.opt.Remember && len(b.Problems) == problems { // what has problems reports them every time
		b.expanded[place{lg.file, lg.line}] = &writtenLine{texts, lg.from, budget - b.budget, strokes, words, last}
	}
	return strokes, words, last
}

func (b *binder) writeOut(lg logical, file *syntax.File, lines []int) (strokes []Stroke, words []Word, last int) {
	e := &expansion{b: b, file: lg.file, bar: lg.from, open: -1}
	e.strokes = make([]Stroke, 0, min(roughly(file, lines), max(0, b.budget)))
	for _, i := range lines {
		e.line = i
		bars := file.Lines[i].Bars
		for k := range bars.Cells {
			e.cell(&bars.Cells[k])
			if e.full {
				return e.strokes, e.words, e.bar - 1
			}
		}
	}
	return e.strokes, e.words, e.bar - 1
}

// roughly is how many strokes the lines will make, similes written out, so
// that room for them is made once; it may be a few too many.
func roughly(file *syntax.File, lines []int) int {
	n := 0
	var recent [maxSimile]int // signs in the latest bars
	at := 0
	for _, i := range lines {
		for k := range file.Lines[i].Bars.Cells {
			c := &file.Lines[i].Bars.Cells[k]
			switch {
			case c.Kind == syntax.StrokeCell:
				n += len(c.Signs())
				recent[at%maxSimile] = len(c.Signs())
				at++
			case c.Kind == syntax.SimileCell && int(c.N) <= min(at, maxSimile):
				sum := 0
				for b := at - int(c.N); b < at; b++ {
					sum += recent[b%maxSimile]
				}
				n += sum * int(c.Times)
			case c.Kind == syntax.RestCell:
				for range min(int(c.N), maxSimile) {
					recent[at%maxSimile] = 0
					at++
				}
			}
		}
	}
	return min(n, MaxWritten)
}

func (e *expansion) fault(rule string, at syntax.Span, format string, args ...any) {
	if !e.quiet {
		e.b.fault(rule, Where{int32(e.file), int32(e.line), int32(at.Start), int32(at.End)}, format, args...)
	}
}

// spend takes from the budget of the whole piece; when it is used up that is
// said once and everything further is left out.
func (e *expansion) spend(n int) bool {
	if e.b.budget < n {
		if e.b.budget >= 0 {
			e.fault(syntax.RuleTooLarge, syntax.Span{}, "written out, this piece has more than %d strokes and bars; the rest of it is not read", MaxWritten)
		}
		e.b.budget = -1
		e.full = true
		return false
	}
	e.b.budget -= n
	return true
}

// tooMany says that a line has more bars than the piece, unless the piece was
// cut: then that has been told.
func (e *expansion) tooMany(c *syntax.Cell) {
	if !e.b.tooLong {
		e.fault(syntax.RuleBarLength, c.Span(), "these bars run past bar %d, the last of the piece", e.b.Grid.Last())
	}
	e.full = true
}

func (e *expansion) cell(c *syntax.Cell) {
	grid := e.b.Grid
	if e.bar > grid.Last() || c.Kind == syntax.RestCell && e.bar+int(c.N)-1 > grid.Last() {
		e.tooMany(c)
		return
	}
	switch c.Kind {
	case syntax.RestCell:
		e.endRoll()
		e.bar += int(c.N)
		for range min(int(c.N), maxSimile) {
			e.recent = append(e.recent, content{})
		}
	case syntax.SimileCell:
		e.simile(c)
	default:
		if e.spend(1 + len(c.Signs())) {
			e.items(c)
			e.recent = append(e.recent, content{c, e.line})
			e.bar++
		}
	}
}

// simile plays the last N bars again, Times times over.
func (e *expansion) simile(c *syntax.Cell) {
	if c.N > maxSimile {
		e.fault(syntax.RuleSyntax, c.Span(), "a simile repeats at most %d bars", maxSimile)
		e.bar += min(c.Length(), e.b.Grid.Last())
		return
	}
	if len(e.recent) < int(c.N) {
		if len(e.recent) == 0 {
			e.fault(syntax.RuleSyntax, c.Span(), "%% repeats the bar before, and there is none in this line")
		} else {
			e.fault(syntax.RuleSyntax, c.Span(), "%%%d repeats the %d bars before, and this line has only %d so far", c.N, c.N, len(e.recent))
		}
		e.bar += min(c.Length(), e.b.Grid.Last())
		return
	}
	if e.bar+c.Length()-1 > e.b.Grid.Last() {
		e.tooMany(c)
		return
	}
	unit := e.recent[len(e.recent)-int(c.N):]
	here := e.line
	for turn := range c.Times {
		for i := range unit {
			u := unit[i]
			e.quiet = turn > 0
			if u.cell == nil {
				e.endRoll()
				if !e.spend(1) {
					return
				}
			} else {
				if !e.spend(1 + len(u.cell.Signs())) {
					return
				}
				before := len(e.b.Problems)
				first := len(e.strokes)
				e.line = u.line
				e.items(u.cell)
				e.line = here
				// What does not fit here is the simile's fault, not the bar's.
				if len(e.b.Problems) > before {
					e.b.Problems = e.b.Problems[:before]
					e.quiet = turn > 0
					e.fault(syntax.RuleBarLength, c.Span(), "the bar that is repeated here does not fit bar %d: %s", e.bar, e.b.barIs(e.bar))
				}
				for k := first; k < len(e.strokes); k++ {
					e.strokes[k].where = shortly(Where{int32(e.file), int32(here), int32(c.Span().Start), int32(c.Span().End)})
				}
			}
			e.bar++
		}
	}
	e.quiet = false
	for range min(c.Times, maxSimile/c.N+1) {
		e.recent = append(e.recent, unit...)
	}
	if len(e.recent) > 4*maxSimile {
		e.recent = append(e.recent[:0], e.recent[len(e.recent)-maxSimile:]...)
	}
}

// items lays one bar's strokes on the time line.
func (e *expansion) items(c *syntax.Cell) {
	grid := e.b.Grid
	start := grid.Start(e.bar)
	end := start.Add(grid.Length(e.bar))
	last := start.Add(beat.R(-1, 1))
	lastWasStop := false
	carried := false
	signs := c.Signs()
	for k := range signs {
		it := &signs[k]
		where := Where{int32(e.file), int32(e.line), int32(it.Span().Start), int32(it.Span().End)}
		switch it.Kind {
		case syntax.DynamicSign:
			if d := kit.DynamicNamed(c.Text(it)); d != 0 {
				e.dyn = d
			}
			continue
		case syntax.WordsSign:
			e.words = append(e.words, Word{At: maxRat(last, start), Bar: e.bar, Text: c.Text(it), Where: where})
			continue
		case syntax.CarrySign:
			if carried || e.open < 0 || k > 0 && !last.Less(start) {
				e.fault(syntax.RuleSyntax, it.Span(), "~ goes on with a roll from the bar before, as in  1~ | ~2, and there is none")
				continue
			}
			carried = true
			until := end
			if it.Flags.Has(syntax.HasEnd) {
				pos, ok := grid.At(e.bar, it.End())
				if !ok {
					e.fault(syntax.RuleCount, it.Span(), "bar %d has no count %s: %s", e.bar, it.End(), e.b.barIs(e.bar))
					continue
				}
				until = pos
			}
			s := &e.strokes[e.open]
			s.End = until
			last, lastWasStop = until, true
			if it.Flags.Has(syntax.Short) {
				s.Flags |= Short
			}
			if it.Flags.Has(syntax.HasEnd) {
				e.open = -1
			}
			continue
		}
		pos, ok := grid.At(e.bar, it.Count())
		if !ok {
			e.fault(syntax.RuleCount, it.Span(), "bar %d has no count %s: %s", e.bar, it.Count(), e.b.barIs(e.bar))
			continue
		}
		if !last.Less(pos) && !(lastWasStop && last == pos) {
			switch {
			case last == pos && !lastWasStop:
				e.fault(syntax.RuleCount, it.Span(), "count %s of bar %d is written twice", it.Count(), e.bar)
			default:
				e.fault(syntax.RuleCount, it.Span(), "count %s of bar %d comes before what stands to its left: write counts in order", it.Count(), e.bar)
			}
			continue
		}
		if !carried {
			e.open = -1
		}
		carried = true
		s := Stroke{At: pos, End: pos, where: shortly(where), Bar: int32(e.bar), Dyn: e.dyn, Grace: it.Grace, Hand: it.Hand}
		if it.Flags.Has(syntax.Accent) {
			s.Flags |= Accent
		}
		if it.Flags.Has(syntax.Short) {
			s.Flags |= Short
		}
		last, lastWasStop = pos, false
		switch {
		case it.Kind == syntax.StopSign:
			s.Flags = Stop
			lastWasStop = true
		case it.Flags.Has(syntax.Roll):
			s.Flags |= Roll
			if !it.Flags.Has(syntax.HasEnd) {
				s.End = end
				e.strokes = append(e.strokes, s)
				e.open = len(e.strokes) - 1
				last, lastWasStop = end, true
				continue
			}
			until, ok := grid.At(e.bar, it.End())
			if !ok || !pos.Less(until) {
				if !ok {
					e.fault(syntax.RuleCount, it.Span(), "bar %d has no count %s: %s", e.bar, it.End(), e.b.barIs(e.bar))
				} else {
					e.fault(syntax.RuleCount, it.Span(), "this roll ends before it begins")
				}
				continue
			}
			s.End = until
			last, lastWasStop = until, true
		}
		e.strokes = append(e.strokes, s)
	}
	if !carried {
		e.open = -1
	}
}

// endRoll lets a roll that nothing carries on end at its bar line.
func (e *expansion) endRoll() { e.open = -1 }

func maxRat(a, b beat.Rat) beat.Rat {
	if a.Less(b) {
		return b
	}
	return a
}
