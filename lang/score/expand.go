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
	struck  []*Struck // of them; none so far where none of them says
	known   map[*syntax.Cell][]Struck
	aimed   aimed // the last of them
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
func (b *binder) expand(lg logical) *writtenLine {
	file := b.Sources[lg.file].File
	if w := b.earlierLine(lg, file); w != nil {
		b.budget -= w.spent
		if b.opt.Remember {
			b.expanded[lg.file].set(lg.line, w)
		}
		return w
	}
	lines := append(append(b.room.numbers.List(1+len(lg.more)), lg.line), lg.more...)
	texts := b.room.texts.Zeros(len(lines))
	for i, n := range lines {
		texts[i] = file.Lines[n]
	}
	problems, budget := len(b.Problems), b.budget
	e := b.writeOut(lg, file, lines)
	w := b.room.written.New()
	*w = writtenLine{texts, lines, lg.from, budget - b.budget, e.strokes, e.struck, e.words, e.bar - 1}
	if b.opt.Remember && len(b.Problems) == problems { // what has problems reports them every time
		b.expanded[lg.file].set(lg.line, w)
	}
	return w
}

func (b *binder) writeOut(lg logical, file *syntax.File, lines []int) *expansion {
	e := &b.writing // what it has room for in between is there from the line before
	*e = expansion{b: b, file: lg.file, bar: lg.from, open: -1, recent: e.recent[:0]}
	e.strokes = b.room.strokes.List(min(roughly(file, lines), max(0, b.budget)))
	for _, i := range lines {
		e.line = i
		bars := file.Lines[i].Bars
		for k := range bars.Cells {
			e.cell(&bars.Cells[k])
			if e.full {
				return e
			}
		}
	}
	return e
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
	return min(n, maxWritten)
}

func (e *expansion) where(s syntax.Span) Where { return at(e.file, e.line, s) }

func (e *expansion) fault(rule string, at syntax.Span, format string, args ...any) {
	if !e.quiet {
		e.b.fault(rule, e.where(at), format, args...)
	}
}

// spend takes from the budget of the whole piece; when it is used up that is
// said once and everything further is left out.
func (e *expansion) spend(n int) bool {
	if e.b.budget < n {
		if e.b.budget >= 0 {
			e.fault(syntax.RuleTooLarge, syntax.Span{}, tooMuchWritten, maxWritten)
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
		e.fault(syntax.RuleBarLength, c.Span(), pastLastBar, e.b.named(e.b.Grid.Last()))
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
	if !e.canRepeat(c) {
		e.bar += min(c.Length(), e.b.Grid.Last())
		return
	}
	if e.bar+c.Length()-1 > e.b.Grid.Last() {
		e.tooMany(c)
		return
	}
	unit := e.recent[len(e.recent)-int(c.N):]
	for turn := range c.Times {
		for _, u := range unit {
			e.quiet = turn > 0
			if !e.again(c, u) {
				return
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

// canRepeat says whether the bars are there that a simile repeats.
func (e *expansion) canRepeat(c *syntax.Cell) bool {
	switch {
	case c.N > maxSimile:
		e.fault(syntax.RuleSyntax, c.Span(), simileTooLong, maxSimile)
	case len(e.recent) >= int(c.N):
		return true
	case len(e.recent) == 0:
		e.fault(syntax.RuleSyntax, c.Span(), simileOfNothing)
	default:
		e.fault(syntax.RuleSyntax, c.Span(), simileOfTooFew, c.N, c.N, len(e.recent))
	}
	return false
}

// again plays one bar again for a simile; it is not ok when the budget is used
// up. What does not fit here is the simile's fault, not the bar's.
func (e *expansion) again(simile *syntax.Cell, u content) (ok bool) {
	if u.cell == nil {
		e.endRoll()
		return e.spend(1)
	}
	if !e.spend(1 + len(u.cell.Signs())) {
		return false
	}
	here, first, before := e.line, len(e.strokes), len(e.b.Problems)
	e.line = u.line
	e.items(u.cell)
	e.line = here
	if len(e.b.Problems) > before {
		e.b.Problems = e.b.Problems[:before]
		e.fault(syntax.RuleBarLength, simile.Span(), repeatedBarMisfits, e.b.named(e.bar), e.b.barIs(e.bar))
	}
	for k := first; k < len(e.strokes); k++ {
		e.strokes[k].where = shortly(e.where(simile.Span()))
	}
	return true
}

// signWalk goes through one bar's signs from left to right.
type signWalk struct {
	*expansion
	start, end beat.Rat
	last       beat.Rat // where the sign before it stands, or a roll ends
	ended      bool     // a stop or a roll's end stands there: a stroke may, too
	begun      bool     // a stroke was read, or a roll gone on with
	said       int      // how many of the words so far have their stroke
}

// behind is where words stand that no stroke follows in the bar: where the sign
// before them does, or where a roll ends that ends in the bar.
func (w *signWalk) behind() beat.Rat {
	at := w.last
	if !at.Less(w.end) && len(w.strokes) > 0 {
		at = w.strokes[len(w.strokes)-1].At
	}
	return maxRat(at, w.start)
}

// place lets the words since the sign before stand where a stroke does.
func (w *signWalk) place(at beat.Rat) {
	for ; w.said < len(w.words); w.said++ {
		if !w.words[w.said].Sign {
			w.words[w.said].At = at
		}
	}
}

// items lays one bar's strokes on the time line.
func (e *expansion) items(c *syntax.Cell) {
	start := e.b.Grid.Start(e.bar)
	w := signWalk{expansion: e, start: start, end: start.Add(e.b.Grid.Length(e.bar)), last: start.Add(beat.R(-1, 1)), said: len(e.words)}
	signs := c.Signs()
	for k := range signs {
		it := &signs[k]
		switch it.Kind {
		case syntax.DynamicSign:
			if d := kit.DynamicNamed(c.Text(it)); d != 0 {
				e.dyn = d
			}
			w.sign(c, k)
		case syntax.WordsSign:
			e.words = append(e.words, Word{At: w.behind(), Bar: e.bar, Text: c.Text(it), Where: e.where(it.Span())})
		case syntax.CarrySign:
			w.carry(it, k == 0)
		default:
			n := len(w.strokes)
			w.stroke(it)
			if len(w.strokes) > n {
				w.place(w.strokes[n].At)
			}
			if it.Flags.Has(syntax.Aimed) && len(w.strokes) > n {
				w.aim(c, k)
			}
		}
	}
	if !w.begun {
		e.endRoll()
	}
}

// sign keeps a dynamic before which nothing is struck: in a roll that goes on it
// stands at the bar line, behind the last stroke what grows or falls does so from that
// one on, and a roll has come to what it ends with.
func (w *signWalk) sign(c *syntax.Cell, k int) {
	signs := c.Signs()
	next := k + 1
	for next < len(signs) && (signs[next].Kind == syntax.DynamicSign || signs[next].Kind == syntax.WordsSign) {
		next++
	}
	at := w.start
	switch pin := kit.DynamicNamed(c.Text(&signs[k])) == 0; {
	case next < len(signs) && signs[next].Kind != syntax.CarrySign:
		return
	case next < len(signs):
	case !w.begun || len(w.strokes) == 0:
		return
	default:
		last := &w.strokes[len(w.strokes)-1]
		switch {
		case pin:
			at = maxRat(last.At, w.start)
		case !last.Has(Roll):
			return // it is for what comes in the next bar
		default:
			at = w.last
		}
	}
	w.words = append(w.words, Word{At: at, Bar: w.bar, Text: c.Text(&signs[k]), Where: w.where(signs[k].Span()), Sign: true})
}

// count is where a count of the bar stands; one that it does not have is
// reported.
func (w *signWalk) count(it *syntax.Sign, c beat.Count) (beat.Rat, bool) {
	pos, ok := w.b.Grid.AtFrom(w.bar, w.start, c)
	if !ok {
		w.fault(syntax.RuleCount, it.Span(), barLacksCount, w.b.named(w.bar), c, w.b.barIs(w.bar))
	}
	return pos, ok
}

// carry goes on with a roll from the bar before.
func (w *signWalk) carry(it *syntax.Sign, first bool) {
	if w.begun || w.open < 0 || !first && !w.last.Less(w.start) {
		w.fault(syntax.RuleSyntax, it.Span(), rollGoesOnFromNothing)
		return
	}
	w.begun = true
	w.place(w.start)
	s, until, ok := &w.strokes[w.open], w.end, true
	if it.Flags.Has(syntax.HasEnd) {
		if until, ok = w.count(it, it.End()); !ok {
			return
		}
		w.endRoll()
	}
	s.End, w.last, w.ended = until, until, true
	if it.Flags.Has(syntax.Short) {
		s.Flags |= Short
	}
}

// stroke reads a stroke, a roll or a stop.
func (w *signWalk) stroke(it *syntax.Sign) {
	pos, ok := w.count(it, it.Count())
	if !ok || !w.inOrder(it, pos) {
		return
	}
	if !w.begun {
		w.endRoll()
	}
	w.begun, w.last, w.ended = true, pos, false
	s := Stroke{At: pos, End: pos, where: shortly(w.where(it.Span())), Bar: int32(w.bar), Dyn: w.dyn, Grace: it.Grace, Hand: it.Hand}
	if it.Flags.Has(syntax.Accent) {
		s.Flags |= Accent
	}
	if it.Flags.Has(syntax.Short) {
		s.Flags |= Short
	}
	switch {
	case it.Kind == syntax.StopSign:
		s.Flags, w.ended = Stop, true
	case it.Flags.Has(syntax.Roll):
		s.Flags |= Roll
		if s.End, ok = w.rollEnd(it, pos); !ok {
			return
		}
		w.last, w.ended = s.End, true
		if !it.Flags.Has(syntax.HasEnd) {
			w.open = len(w.strokes)
		}
	}
	w.strokes = append(w.strokes, s)
}

// inOrder says whether a count stands to the right of what stands to its left.
func (w *signWalk) inOrder(it *syntax.Sign, pos beat.Rat) bool {
	switch {
	case w.last.Less(pos) || w.last == pos && w.ended:
		return true
	case w.last == pos:
		w.fault(syntax.RuleCount, it.Span(), countTwice, it.Count(), w.b.named(w.bar))
	default:
		w.fault(syntax.RuleCount, it.Span(), countOutOfOrder, it.Count(), w.b.named(w.bar))
	}
	return false
}

// rollEnd is where a roll that begins at a place ends: at its count, or with
// the bar.
func (w *signWalk) rollEnd(it *syntax.Sign, from beat.Rat) (beat.Rat, bool) {
	if !it.Flags.Has(syntax.HasEnd) {
		return w.end, true
	}
	until, ok := w.count(it, it.End())
	if ok && !from.Less(until) {
		w.fault(syntax.RuleCount, it.Span(), rollEndsFirst)
		return until, false
	}
	return until, ok
}

// endRoll lets a roll that nothing carries on end at its bar line.
func (e *expansion) endRoll() { e.open = -1 }

func maxRat(a, b beat.Rat) beat.Rat {
	if a.Less(b) {
		return b
	}
	return a
}
