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
	cells := foldGroups(foldNeighbours(b.Cells))
	var out strings.Builder
	for i := range cells {
		if i > 0 {
			out.WriteByte(' ')
		}
		out.WriteString("| ")
		out.WriteString(cells[i].String())
	}
	return out.String()
}

// foldNeighbours writes a bar like the one before as a simile, and similes of
// one bar, or rests, that follow one another as one.
func foldNeighbours(bars []Cell) (cells []Cell) {
	last, loud := "", "" // what a simile of one bar would repeat, and how loud it is by now
	for i := range bars {
		c := bars[i]
		n := len(cells)
		mark, text := marked(&c)
		switch {
		case c.Kind == RestCell && n > 0 && cells[n-1].Kind == RestCell:
			cells[n-1].N += c.N
			last = ""
			continue
		case c.Kind == StrokeCell && text == last && (mark == "" || mark == loud) && !carries(&c) && !changes(&c):
			c = Cell{Kind: SimileCell, N: 1, Times: 1}
			fallthrough
		case c.Kind == SimileCell && c.N == 1:
			if n > 0 && cells[n-1].Kind == SimileCell && cells[n-1].N == 1 {
				cells[n-1].Times += c.Times
				continue
			}
		case c.Kind == StrokeCell:
			last, loud = text, loudAfter(&c, loud)
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

// marked parts a bar into the dynamic that it begins with, or "", and the rest.
// A simile of it says the dynamic again, which by then is in force anyway.
func marked(c *Cell) (mark, text string) {
	if signs := c.Signs(); len(signs) > 1 && signs[0].Kind == DynamicSign && !changes(c) {
		rest := *c
		rest.first, rest.count = c.first+1, c.count-1
		return c.Text(&signs[0]), rest.String()
	}
	return "", c.String()
}

// longestGroup is how many bars a simile made by Fold repeats at most.
const longestGroup = 8

// foldGroups writes a group of bars that comes again and again as one simile.
func foldGroups(cells []Cell) []Cell {
	g := groups{cells, make([]string, len(cells)), make([]string, len(cells))}
	for i := range cells {
		g.marks[i], g.texts[i] = marked(&cells[i])
	}
	var out []Cell
	for i := 0; i < len(cells); {
		n, turns := g.longest(i)
		if turns == 0 {
			out = append(out, cells[i])
			i++
			continue
		}
		out = append(out, cells[i:i+n]...)
		out = append(out, Cell{Kind: SimileCell, N: int32(n), Times: int32(turns)})
		i += n + n*turns
	}
	return out
}

// groups are bars among which groups that come again are sought, each parted
// as marked does.
type groups struct {
	cells        []Cell
	marks, texts []string
}

// longest is the group at i whose repetitions make up the most bars, and how
// often it comes again.
func (g *groups) longest(i int) (best, turns int) {
	for n := 2; n <= longestGroup && i+2*n <= len(g.cells); n++ {
		if !repeatable(g.cells[i:i+n], g.marks[i:i+n]) {
			continue
		}
		t := 0
		for i+(t+2)*n <= len(g.cells) && g.again(i, i+(t+1)*n, n) {
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
func (g *groups) again(i, k, n int) bool {
	for d := range n {
		a, b := i+d, k+d
		if g.cells[a].Kind != g.cells[b].Kind || g.texts[a] != g.texts[b] || g.marks[a] != g.marks[b] && !(d == 0 && g.marks[k] == "") {
			return false
		}
	}
	return true
}

// repeatable says whether a group of cells is single bars that a simile may
// repeat, with no dynamic but at its beginning.
func repeatable(cells []Cell, marks []string) bool {
	for i := range cells {
		c := &cells[i]
		loud := slices.ContainsFunc(c.Signs(), func(s Sign) bool { return s.Kind == DynamicSign })
		if !(c.Kind == StrokeCell && !carries(c) && !changes(c) || c.Kind == RestCell && c.N == 1) ||
			loud && !(i == 0 && marks[0] != "" && dynamics(c) == 1) {
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
