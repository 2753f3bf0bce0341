package syntax

import (
	"slices"
	"strings"
)

// Fold writes a line's bars with equal neighbours as similes and neighbouring
// rests as one: | 1 2 | 1 2 | - | - | becomes | 1 2 | % | -2. It means the
// same bars.
func Fold(l *Line) string {
	if l.Bars == nil {
		return ""
	}
	return l.Bars.folded()
}

func (b *Bars) folded() string {
	cells := foldGroups(foldNeighbours(nil, b.Cells))
	var out strings.Builder
	for i := range cells {
		if i > 0 {
			out.WriteByte(' ')
		}
		out.WriteString("| ")
		out.WriteString(cells[i].text)
	}
	return out.String()
}

// A foldedCell is a cell with what it says: all of it, the dynamic that it
// begins with, or "", and the rest. A simile of it says the dynamic again, which
// by then is in force anyway.
type foldedCell struct {
	Cell
	text, mark, rest string
}

func folding(c *Cell) foldedCell {
	f := foldedCell{Cell: *c, text: c.String()}
	f.rest = f.text
	if signs := c.Signs(); len(signs) > 1 && signs[0].Kind == DynamicSign && !changes(c) {
		f.mark = c.Text(&signs[0])
		f.rest = f.text[len(f.mark)+1:]
	}
	return f
}

// foldNeighbours writes a bar like the one before as a simile, and similes of
// one bar, or rests, that follow one another as one; into cells, where there is
// room.
func foldNeighbours(cells []foldedCell, bars []Cell) []foldedCell {
	cells = slices.Grow(cells, len(bars))
	last, loud := "", "" // what a simile of one bar would repeat, and how loud it is by now
	for i := range bars {
		c := folding(&bars[i])
		n := len(cells)
		switch {
		case c.Kind == RestCell && n > 0 && cells[n-1].Kind == RestCell:
			cells[n-1].N += c.N
			cells[n-1] = folding(&cells[n-1].Cell)
			last = ""
			continue
		case c.Kind == StrokeCell && c.rest == last && (c.mark == "" || c.mark == loud) && !carries(&c.Cell) && !changes(&c.Cell):
			c = folding(&Cell{Kind: SimileCell, N: 1, Times: 1})
			fallthrough
		case c.Kind == SimileCell && c.N == 1:
			if n > 0 && cells[n-1].Kind == SimileCell && cells[n-1].N == 1 {
				cells[n-1].Times += c.Times
				cells[n-1] = folding(&cells[n-1].Cell)
				continue
			}
		case c.Kind == StrokeCell:
			last, loud = c.rest, loudAfter(&c.Cell, loud)
		default:
			last = ""
		}
		cells = append(cells, c)
	}
	return cells
}

// loudAfter is how loud it is behind a bar: as its last dynamic says, else as
// before it.
func loudAfter(c *Cell, before string) string {
	signs := c.Signs()
	for i := len(signs) - 1; i >= 0; i-- {
		if signs[i].Kind == DynamicSign {
			return c.Text(&signs[i])
		}
	}
	return before
}

// longestGroup is how many bars a simile made by Fold repeats at most.
const longestGroup = 8

// foldGroups writes a group of bars that comes again and again as one simile, in
// the place of the cells: what is written is never ahead of what is read.
func foldGroups(cells []foldedCell) []foldedCell {
	g := groups(cells)
	out := cells[:0]
	for i := 0; i < len(cells); {
		n, turns := g.longest(i)
		if turns == 0 {
			out = append(out, cells[i])
			i++
			continue
		}
		out = append(out, cells[i:i+n]...)
		out = append(out, folding(&Cell{Kind: SimileCell, N: int32(n), Times: int32(turns)}))
		i += n + n*turns
	}
	return out
}

// groups are bars among which groups that come again are sought.
type groups []foldedCell

// longest is the group at i whose repetitions make up the most bars, and how
// often it comes again.
func (g groups) longest(i int) (best, turns int) {
	for n := 2; n <= longestGroup && i+2*n <= len(g); n++ {
		if !g.again(i, i+n, n) || !g[i:i+n].repeatable() {
			continue
		}
		t := 1
		for i+(t+2)*n <= len(g) && g.again(i, i+(t+1)*n, n) {
			t++
		}
		if t*n > best*turns {
			best, turns = n, t
		}
	}
	return best, turns
}

// again says whether the group of n at i stands at k too. Its first bar may
// begin with a dynamic that is still in force when it comes again.
func (g groups) again(i, k, n int) bool {
	for d := range n {
		a, b := &g[i+d], &g[k+d]
		if a.Kind != b.Kind || a.rest != b.rest || a.mark != b.mark && !(d == 0 && b.mark == "") {
			return false
		}
	}
	return true
}

// repeatable says whether a group of cells is single bars that a simile may
// repeat, with no dynamic but at its beginning.
func (g groups) repeatable() bool {
	for i := range g {
		c := &g[i].Cell
		loud := slices.ContainsFunc(c.Signs(), func(s Sign) bool { return s.Kind == DynamicSign })
		if !(c.Kind == StrokeCell && !carries(c) && !changes(c) || c.Kind == RestCell && c.N == 1) ||
			loud && !(i == 0 && g[0].mark != "" && dynamics(c) == 1) {
			return false
		}
	}
	return true
}

func dynamics(c *Cell) int {
	n := 0
	for _, s := range c.Signs() {
		if s.Kind == DynamicSign {
			n++
		}
	}
	return n
}

// carries says whether a roll comes in from the bar before, or goes on.
func carries(c *Cell) bool {
	return slices.ContainsFunc(c.Signs(), func(s Sign) bool {
		return s.Kind == CarrySign || s.Flags.Has(Roll) && !s.Flags.Has(HasEnd)
	})
}

// changes says whether a bar has a change of loudness that would begin anew
// with every repetition, or words that would be printed again.
func changes(c *Cell) bool {
	return slices.ContainsFunc(c.Signs(), func(s Sign) bool {
		return s.Kind == WordsSign || s.Kind == DynamicSign && (c.Text(&s) == "cresc" || c.Text(&s) == "dim")
	})
}
