package syntax

import (
	"slices"
	"strings"

	"example.org/handful/lang/beat"
)

// Bars is what stands on one line from its first bar line on.
type Bars struct {
	Span  Span
	Cells []Cell
	signs []Sign
	words []string // of its words to print
	aims  []Aim    // of the strokes that say which bar or drum they are for
}

// Count is how many signs, rests and similes there are at most.
func (b *Bars) Count() int { return len(b.signs) + len(b.Cells) }

// A Cell is what stands between two bar lines: a bar's strokes, or a rest or
// a simile that may be worth many bars.
type Cell struct {
	N     int32 // bars of rest; bars that a simile repeats
	Times int32 // how often a simile is played
	first int32 // of the signs of its bar list
	count int32 // of them
	bars  *Bars
	at    shortSpan // without the blanks around it
	Kind  CellKind
}

// Signs is what stands in the cell.
func (c *Cell) Signs() []Sign {
	if c.count == 0 {
		return nil
	}
	return c.bars.signs[c.first : c.first+c.count : c.first+c.count]
}

// Text is what one of its signs says: a dynamic, or words to print.
func (c *Cell) Text(it *Sign) string {
	switch it.Kind {
	case DynamicSign:
		return dynamicWords[it.end.beat]
	case WordsSign:
		return c.bars.words[it.end.beat]
	}
	return ""
}

// Span is where the cell stands, without the blanks around it.
func (c *Cell) Span() Span { return c.at.span() }

// CellKind says what a cell holds.
type CellKind uint8

const (
	StrokeCell CellKind = iota
	RestCell
	SimileCell
)

// Length is how many bars the cell is worth.
func (c Cell) Length() int {
	switch c.Kind {
	case RestCell:
		return int(c.N)
	case SimileCell:
		return int(c.N) * int(c.Times)
	}
	return 1
}

// A Sign is one thing in a bar. A piece has as many of them as it has written
// strokes, so they are kept small.
type Sign struct {
	at    shortSpan
	count shortCount
	end   shortCount // of a roll; of a dynamic and of words its beat is the number of the text
	Kind  SignKind
	Grace uint8 // grace strokes before it: 1 flam, 2 drag, 3 ruff
	Hand  byte  // 'R' or 'L' when sticking is written, else 0
	Flags SignFlags
}

// Span is where the sign stands.
func (it *Sign) Span() Span { return it.at.span() }

// Count is when it happens.
func (it *Sign) Count() beat.Count { return it.count.count() }

// End is when a roll with HasEnd ends.
func (it *Sign) End() beat.Count { return it.end.count() }

// shortSpan is a Span behind the first byte of a line no longer than MaxLine.
type shortSpan struct{ start, size uint16 }

func (s shortSpan) span() Span { return Span{int(s.start), int(s.start) + int(s.size)} }

func shortly(from, to int) shortSpan { return shortSpan{uint16(from), uint16(to - from)} }

// shortCount is a count with a fraction no finer than MaxFraction.
type shortCount struct {
	beat    int32
	up, low uint16
}

func (c shortCount) count() beat.Count {
	return beat.Count{Beat: int(c.beat), Frac: beat.R(int64(c.up), int64(c.low))}
}

func short(c beat.Count) shortCount {
	return shortCount{int32(c.Beat), uint16(c.Frac.Num()), uint16(c.Frac.Den())}
}

// SignKind says what a sign is.
type SignKind uint8

const (
	StrokeSign  SignKind = iota // 2, 1~3&
	StopSign                    // 3x: stops the ring, strikes nothing
	CarrySign                   // ~ or ~2: a roll from the bar before
	DynamicSign                 // mf
	WordsSign                   // "soft"
)

// SignFlags are what may be said of a stroke.
type SignFlags uint8

const (
	Short  SignFlags = 1 << iota // 2. : stopped as soon as struck
	Accent                       // 2>
	Roll                         // 1~…
	HasEnd                       // a roll with its end in this bar
	Aimed                        // 2:C5
)

// Has says whether all the given flags are set.
func (f SignFlags) Has(g SignFlags) bool { return f&g == g }

// Dynamics are the marks that may stand alone before the counts they govern,
// from softest to loudest, then those that change on the way.
func Dynamics() []string { return slices.Clone(dynamicWords[:]) }

// Loudnesses are the dynamics that say how loud it is, from pppp to ffff.
func Loudnesses() []string { return dynamicWords[:10] }

var dynamicWords = [...]string{"pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "sf", "sfz", "sffz", "fz", "rf", "rfz", "fp", "sfp", "cresc", "dim"}

// dynamicNumber is which of them a word is, or -1.
func dynamicNumber(word string) int { return slices.Index(dynamicWords[:], word) }

func isDynamic(word string) bool { return dynamicNumber(word) >= 0 }

// scanBars reads a bar list that begins at byte base of its line. Whatever is
// wrong in it is one problem each, and reading goes on at the next item.
func scanBars(text string, base int, in *room) (*Bars, []Problem) {
	s := barScan{text: text, base: base}
	s.signs = in.signs.List(chunks(text))
	bars := in.bars.New()
	bars.Span, bars.Cells = Span{base, base + len(text)}, in.cells.List(strings.Count(text, "|"))
	s.bars = bars
	for s.at = 1; s.at <= len(text); {
		from := s.at
		first := len(s.signs)
		cell, blank := s.cell()
		closed := s.at < len(text) && text[s.at] == '|'
		if blank && !closed {
			break // the bar line that closes the list
		}
		if blank {
			s.fault(RuleSyntax, from, max(from, s.at), emptyBar)
			cell.Kind, cell.N = RestCell, 1
		}
		if n := len(s.signs); n > first {
			cell.first, cell.count, cell.bars = int32(first), int32(n-first), bars
		}
		bars.Cells = append(bars.Cells, cell)
		s.at++
	}
	bars.signs = s.signs
	return bars, s.problems
}

// chunks is how many signs the text can hold at most.
func chunks(text string) int {
	n, in := 0, false
	for i := range len(text) {
		blank := isGap(text[i]) || text[i] == '|'
		if !in && !blank {
			n++
		}
		in = !blank
	}
	return n
}

type barScan struct {
	first    int  // the sign that begins the cell
	alone    int  // the byte where a rest or a simile stands in it, or -1
	hushed   bool // a count of it that nobody plays was said
	bars     *Bars
	text     string
	base     int
	at       int
	signs    []Sign
	problems []Problem
}

func (s *barScan) fault(rule string, from, to int, format string, args ...any) {
	if len(s.problems) >= maxProblemsPerLine {
		return
	}
	s.problems = append(s.problems, Problem{Rule: rule, Span: Span{s.base + from, s.base + to}, About: Tells(format, args...)})
}

// ask reports what may mean one of several things, or is written otherwise.
func (s *barScan) ask(from, to int, about About, readings ...Reading) {
	if len(s.problems) >= maxProblemsPerLine {
		return
	}
	about.Readings = readings
	s.problems = append(s.problems, Problem{Rule: RuleSyntax, Span: Span{s.base + from, s.base + to}, About: about})
}

// cell reads up to the next bar line. blank says there was nothing in it.
func (s *barScan) cell() (cell Cell, blank bool) {
	s.first, s.alone, s.hushed = len(s.signs), -1, false
	start, end := -1, s.at
	for s.inCell() {
		from, before := s.at, len(s.signs)
		if start < 0 {
			start = from
		}
		switch {
		case s.text[from] == '-' || s.text[from] == '%':
			s.whole(&cell)
		case s.alone >= 0 && s.often(&cell):
		case s.alone < 0 && before == s.first && s.restWord():
			s.alone, cell.Kind, cell.N, cell.Times = from, RestCell, 1, 1
		default:
			s.item()
			if s.alone >= 0 && len(s.signs) > before {
				s.signs = s.signs[:before]
				s.shared(&cell, from)
			}
		}
		end = s.at
	}
	if start < 0 {
		return cell, true
	}
	cell.at = shortly(s.base+start, s.base+end)
	return cell, false
}

// inCell passes over blanks, and says whether more stands in the cell.
func (s *barScan) inCell() bool {
	for s.at < len(s.text) && isGap(s.text[s.at]) {
		s.at++
	}
	return s.at < len(s.text) && s.text[s.at] != '|'
}

// whole reads what is all of its bar, -, -8, % or %2, or a - that is a count on
// which nobody plays, as in 1 - 3 -.
func (s *barScan) whole(cell *Cell) {
	from, some := s.at, len(s.signs) > s.first
	if s.text[from] == '-' && s.alone < 0 && s.chunkEnd(from) == from+1 && (some || s.hushed || s.silent()) {
		s.hushed = true
		s.at++
		return
	}
	if s.alone >= 0 || some {
		s.at = s.chunkEnd(from)
		s.fault(RuleSyntax, from, s.at, aloneInItsBar, s.text[from:s.at])
		return
	}
	s.alone = from
	s.worth(cell)
}

// often reads how often a rest or a simile comes, behind it: - x3, % x7, % 3x.
func (s *barScan) often(cell *Cell) bool {
	from, word := s.at, s.text[s.at:s.chunkEnd(s.at)]
	x := word[0] == 'x' && len(word) > 1 && isDigit(word[1])
	if cell.Kind == RestCell {
		if !x || cell.N != 1 || word[1] == '0' {
			return false
		}
		n, size := digits(word[1:])
		s.at += 1 + size
		cell.N = int32(n)
		return true
	}
	var number string
	switch {
	case cell.Times != 1:
		return false
	case x:
		number = word[1:]
	case word[0] >= '2' && word[0] <= '9' && strings.HasSuffix(word, "x"):
		number = word[:len(word)-1]
	default:
		return false
	}
	s.at += len(word)
	n, size := digits(number)
	if n == 0 || size < len(number) {
		s.fault(RuleSyntax, from, s.at, simileTwiceOrMore)
		return true
	}
	cell.Times = int32(n)
	return true
}

// shared answers a sign, from a byte on, behind a rest or a simile. A number may
// have been meant for how many bars there are of those.
func (s *barScan) shared(cell *Cell, from int) {
	what, mark := s.text[from:s.at], s.text[s.alone:s.alone+1]
	n, size := digits(what)
	if size < len(what) || n <= 1 || cell.N != 1 || cell.Times > 1 || len(s.problems) > 0 {
		s.fault(RuleSyntax, from, s.at, strokesBesideMark, mark)
		return
	}
	readings := []Reading{{"that many bars' rest", mark + what}, {"a count", what}}
	if cell.Kind == SimileCell {
		readings = []Reading{{"so often", mark + " x" + what}}
		so := 0
		for i := range s.bars.Cells {
			so += s.bars.Cells[i].Length()
		}
		if so >= n {
			readings = append(readings, Reading{"those bars again", mark + what})
		}
	}
	s.ask(s.alone, s.at, Tells(strokesOrMark, clip(mark)), readings...)
}

// worth reads a rest or a simile, and of how many bars it is.
func (s *barScan) worth(cell *Cell) {
	from := s.at
	cell.Kind, cell.N, cell.Times = RestCell, 1, 1
	if s.text[s.at] == '%' {
		cell.Kind = SimileCell
	}
	s.at++
	n, size := digits(s.text[s.at:])
	s.at += size
	if s.at+1 < len(s.text) && s.text[s.at] == 'x' && isDigit(s.text[s.at+1]) && (size == 0 || n > 0) {
		if size > 0 {
			cell.N = int32(n)
		}
		return // %x7
	}
	if end := s.chunkEnd(s.at); end > s.at || size > 0 && n == 0 {
		s.at = end
		if cell.Kind == RestCell {
			s.fault(RuleSyntax, from, end, restForm)
		} else {
			s.fault(RuleSyntax, from, end, simileForm)
		}
		return
	}
	if size > 0 {
		cell.N = int32(n)
	}
}

// item reads a stroke, a stop, a carried roll, a dynamic or words.
func (s *barScan) item() {
	from := s.at
	switch c := s.text[s.at]; {
	case c == '"':
		end, closed := stringEnd(s.text, s.at)
		s.at = end
		if !closed {
			s.fault(RuleSyntax, from, end, openWords)
		}
		s.print(from, unquote(s.text[from:end]))
	case c == '\'' || isDigit(c):
		s.stroke(Sign{Kind: StrokeSign})
	case c == '~' && s.rolls():
	case c == '~':
		s.at++
		it := Sign{Kind: CarrySign, Flags: Roll}
		s.rollEnd(&it)
		if s.at < len(s.text) && s.text[s.at] == '.' {
			it.Flags |= Short
			s.at++
		}
		s.finish(from, it)
	default:
		s.at = s.chunkEnd(s.at)
		word := s.text[from:s.at]
		if s.loud(from, word) {
			return
		}
		s.word(from, word)
	}
}

// loud adds a dynamic, if the word is one.
func (s *barScan) loud(from int, word string) bool {
	i := dynamicNumber(word)
	if i >= 0 {
		s.signs = append(s.signs, Sign{Kind: DynamicSign, at: s.span(from), end: shortCount{beat: int32(i)}})
	}
	return i >= 0
}

// print adds words to print.
func (s *barScan) print(from int, words string) {
	s.signs = append(s.signs, Sign{Kind: WordsSign, at: s.span(from), end: shortCount{beat: int32(len(s.bars.words))}})
	s.bars.words = append(s.bars.words, words)
}

// stroke reads a stroke of which something may be known already, or several:
// 1e&a is four.
func (s *barScan) stroke(it Sign) {
	from := s.at
	for s.at < len(s.text) && s.text[s.at] == '\'' {
		s.at++
		it.Grace++
		if it.Grace > 3 {
			it.Grace = 3
			s.fault(RuleSyntax, from, s.at, threeGracesAtMost)
			for s.at < len(s.text) && s.text[s.at] == '\'' {
				s.at++
			}
		}
	}
	if _, size := digits(s.text[s.at:]); size > 0 {
		if at := s.at + size; strings.HasPrefix(s.text[at:], "+") && s.chunkEnd(at) == at+1 {
			count := s.text[s.at:at]
			s.at = at + 1
			s.ask(from, s.at, Tells(mayBeTwoThings, clip(s.text[from:s.at])), Reading{"halfway behind the count", count + "&"}, Reading{"both", count + " " + count + "&"})
			return
		}
		if n := spoken(s.text[s.at+size:]); n > 1 {
			s.chain(from, size, n, it)
			return
		}
	}
	if !s.count(&it.count) {
		end := s.chunkEnd(s.at)
		s.at = end
		s.fault(RuleSyntax, from, end, graceWithoutCount, clip(s.text[from:end]))
		return
	}
	s.struck(from, it)
}

// struck reads what may stand behind a count.
func (s *barScan) struck(from int, it Sign) {
	for s.at < len(s.text) {
		switch c := s.text[s.at]; {
		case (c == 'R' || c == 'L') && it.Hand == 0:
			it.Hand = c
		case c == '>' && !it.Flags.Has(Accent):
			it.Flags |= Accent
		case c == '.' && !it.Flags.Has(Short):
			it.Flags |= Short
		case c == ':' && !it.Flags.Has(Aimed):
			s.aims(&it)
			continue
		case c == 'x' && it.Kind == StrokeSign && it.Flags&^Aimed == 0 && it.Grace == 0 && it.Hand == 0:
			it.Kind = StopSign
		case c == '~' && !it.Flags.Has(Roll) && it.Kind == StrokeSign:
			s.at++
			it.Flags |= Roll
			s.rollEnd(&it)
			continue
		default:
			s.finish(from, it)
			return
		}
		s.at++
	}
	s.finish(from, it)
}

func (s *barScan) rollEnd(it *Sign) {
	if s.at < len(s.text) && isDigit(s.text[s.at]) {
		s.count(&it.end)
		it.Flags |= HasEnd
	}
}

// count reads a count and reports what is wrong with its fraction.
func (s *barScan) count(c *shortCount) bool {
	from := s.at
	got, size, bad := scanCount(s.text[s.at:])
	s.at += size
	if bad != "" {
		s.fault(RuleCount, from, s.at, asksBack, clip(s.text[from:s.at]), bad)
	}
	*c = short(got)
	return size > 0
}

// finish ends an item; anything still glued to it is a problem of its own.
func (s *barScan) finish(from int, it Sign) {
	it.at = s.span(from)
	if end := s.chunkEnd(s.at); end > s.at {
		s.glued(from, end)
		s.at = end
	}
	s.signs = append(s.signs, it)
}

func (s *barScan) span(from int) shortSpan {
	return shortly(s.base+from, s.base+s.at)
}

// chunkEnd is the byte where the run of text at the given byte ends.
func (s *barScan) chunkEnd(at int) int {
	for at < len(s.text) && !isGap(s.text[at]) && s.text[at] != '|' {
		at++
	}
	return at
}

// clip quotes text for a message, shortened in the middle of nothing.
func clip(text string) string {
	const most = 24
	r := []rune(text)
	if len(text) > 4*most {
		r = []rune(strings.ToValidUTF8(text[:4*most], "?"))
	}
	if len(r) > most {
		return "“" + string(r[:most-1]) + "…”"
	}
	return "“" + strings.ToValidUTF8(string(r), "?") + "”"
}
