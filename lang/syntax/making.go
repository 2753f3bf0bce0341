package syntax

import (
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/pitch"
)

// A BarMaker collects signs bar by bar, for whoever writes bars.
type BarMaker struct {
	first int
	bars  [][]Sign
	words []string
	aims  map[[2]int][]Aim // by bar and number of the sign in it
	// Unsaid says that a sign stands on its count though it comes later, since
	// what is between is finer than the notation's.
	Unsaid bool
}

// MakeBars begins bars from one to another; what is put elsewhere is left out.
func MakeBars(first, last int) *BarMaker {
	m := &BarMaker{}
	m.begin(first, last)
	return m
}

// begin begins bars anew, in the room that those before had.
func (m *BarMaker) begin(first, last int) {
	for i := range m.bars {
		m.bars[i] = m.bars[i][:0]
	}
	n := last - first + 1
	m.bars = slices.Grow(m.bars[:0], n)[:n]
	m.first, m.words, m.Unsaid = first, m.words[:0], false
	clear(m.aims)
}

// Stroke is a stroke on a count, and how it is played.
func Stroke(at beat.Count, grace uint8, hand byte, how SignFlags) Sign {
	return Sign{Kind: StrokeSign, count: writable(at), Grace: grace, Hand: hand, Flags: how}
}

// Stop is a count on which the ring is stopped.
func Stop(at beat.Count) Sign { return Sign{Kind: StopSign, count: writable(at)} }

// Notes are the bars that a stroke is for, by what is written for each.
func Notes(pitches []pitch.Pitch) (out []Aim) {
	for _, p := range pitches {
		out = append(out, Aim{Pitch: p})
	}
	return out
}

// RollOn is a roll that comes in from the bar before.
func RollOn() Sign { return Sign{Kind: CarrySign, Flags: Roll} }

// writable is a count whose fraction has too large a lower number where it is
// finer than any.
func writable(c beat.Count) shortCount {
	if c.Frac.Den() > MaxFraction {
		return shortCount{int32(c.Beat), 0, MaxFraction + 1}
	}
	return short(c)
}

// Until is the roll with its end.
func (it Sign) Until(end beat.Count) Sign {
	it.end, it.Flags = writable(end), it.Flags|HasEnd
	return it
}

// Put adds a sign to a bar, with the bars or drums that a stroke is for.
func (m *BarMaker) Put(bar int, it Sign, aims ...Aim) {
	if bar < m.first || bar >= m.first+len(m.bars) {
		return
	}
	for _, c := range []*shortCount{&it.count, &it.end} {
		if c.low > MaxFraction {
			m.Unsaid = true
			c.up, c.low = 0, 1
		}
	}
	at := bar - m.first
	if len(aims) > 0 {
		if m.aims == nil {
			m.aims = map[[2]int][]Aim{}
		}
		it.Flags |= Aimed
		m.aims[[2]int{at, len(m.bars[at])}] = aims
	}
	if m.bars[at] == nil {
		m.bars[at] = make([]Sign, 0, 8)
	}
	m.bars[at] = append(m.bars[at], it)
}

// Dynamic adds a dynamic, by its word.
func (m *BarMaker) Dynamic(bar int, word string) {
	if i := dynamicNumber(word); i >= 0 {
		m.Put(bar, Sign{Kind: DynamicSign, end: shortCount{beat: int32(i)}})
	}
}

// Print adds words to print.
func (m *BarMaker) Print(bar int, words string) {
	m.Put(bar, Sign{Kind: WordsSign, end: shortCount{beat: int32(len(m.words))}})
	m.words = append(m.words, words)
}

// Folded is the bars up to one of them, equal ones folded as [Fold] does.
func (m *BarMaker) Folded(last int) BarText {
	list := &Bars{}
	m.list(list, last)
	return BarText{Text: list.folded()}
}

// list makes a list of the bars up to one of them, in the room that it has.
func (m *BarMaker) list(list *Bars, last int) {
	n := last - m.first + 1
	list.words, list.signs, list.aims = m.words, list.signs[:0], list.aims[:0]
	list.Cells = slices.Grow(list.Cells[:0], n)[:n]
	n = 0
	for _, signs := range m.bars[:len(list.Cells)] {
		n += len(signs)
	}
	list.signs = slices.Grow(list.signs, n)
	for i, signs := range m.bars[:len(list.Cells)] {
		c := &list.Cells[i]
		*c = Cell{bars: list, first: int32(len(list.signs)), count: int32(len(signs))}
		if c.count == 0 {
			c.Kind, c.N, c.Times = RestCell, 1, 1
		}
		if m.aims != nil {
			for k := range signs {
				for _, a := range m.aims[[2]int{i, k}] {
					a.sign = int32(len(list.signs) + k)
					list.aims = append(list.aims, a)
				}
			}
		}
		list.signs = append(list.signs, signs...)
	}
}

// A Staves is lines of a part that stand together, for whoever writes so many
// that reading them again to lay them out would take longer than making them.
type Staves struct {
	Left int // the widest [Margin] of the part's lines
	rows []row

	// Room that is used line by line, and list by list.
	maker BarMaker
	bars  Bars
	cells []foldedCell
}

// Begin begins anew, without lines.
func (s *Staves) Begin() {
	clear(s.rows)
	s.rows = s.rows[:0]
}

// Bars are those of a line from one to another, to be added before the next
// are asked for; what is put elsewhere is left out.
func (s *Staves) Bars(first, last int) *BarMaker {
	s.maker.begin(first, last)
	return &s.maker
}

// Margin is what stands before the first bar line of a line of a part, in
// columns; 0 of one that is too wide for the others to stand as far right.
func Margin(name string) int {
	if w := 2 + utf8.RuneCountInString(name); w <= widestHead {
		return w
	}
	return 0
}

// Add adds a line: what its bars are up to one of them, folded as [Fold] does.
func (s *Staves) Add(name string, bars *BarMaker, last int) {
	bars.list(&s.bars, last)
	s.cells = foldNeighbours(s.cells[:0], s.bars.Cells)
	cells := foldGroups(s.cells)
	r := row{indent: 2, head: name, cells: make([]string, len(cells)), starts: make([]int, len(cells)+1)}
	for i := range cells {
		r.cells[i] = cells[i].text
		r.starts[i+1] = r.starts[i] + cells[i].Length()
	}
	s.rows = append(s.rows, r)
}

// Lines is how many there are.
func (s *Staves) Lines() int { return len(s.rows) }

// Longest is the line that takes most bytes, and how many it may take at most.
func (s *Staves) Longest() (name string, bytes int) {
	for i := range s.rows {
		r := &s.rows[i]
		n := r.indent + len(r.head) + max(widestHead, s.Left) + mostPadding
		for _, c := range r.cells {
			n += 3 + len(c)
		}
		if n > bytes {
			name, bytes = r.head, n
		}
	}
	return name, bytes
}

// LayOut lays the lines out as [Format] does, and writes them.
func (s *Staves) LayOut(b *strings.Builder) {
	alignRun(s.rows, s.Left)
	for i := range s.rows {
		s.rows[i].write(b)
		b.WriteByte('\n')
	}
}
