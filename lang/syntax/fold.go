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
	var cells []Cell
	last, loud := "", "" // what a simile of one bar would repeat, and how loud it is by now
	for i := range l.Bars.Cells {
		c := l.Bars.Cells[i]
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
			last = text
			for k := range c.Signs {
				if c.Signs[k].Kind == DynamicSign {
					loud = c.Signs[k].Text
				}
			}
		default:
			last = ""
		}
		cells = append(cells, c)
	}
	cells = foldPairs(cells)
	var b strings.Builder
	for i := range cells {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString("| ")
		b.WriteString(cells[i].String())
	}
	return b.String()
}

// marked parts a bar into the dynamic that it begins with, or "", and the rest.
// A simile of it says the dynamic again, which by then is in force anyway.
func marked(c *Cell) (mark, text string) {
	if len(c.Signs) > 1 && c.Signs[0].Kind == DynamicSign && !changes(c) {
		rest := *c
		rest.Signs = c.Signs[1:]
		return c.Signs[0].Text, rest.String()
	}
	return "", c.String()
}

// foldPairs writes a pair of bars that comes again and again as one simile.
func foldPairs(cells []Cell) []Cell {
	var out []Cell
	for i := 0; i < len(cells); {
		turns := 0
		for i+3+2*turns < len(cells) && plain(&cells[i]) && plain(&cells[i+1]) &&
			same(&cells[i], &cells[i+2+2*turns]) && same(&cells[i+1], &cells[i+3+2*turns]) {
			turns++
		}
		if turns == 0 {
			out = append(out, cells[i])
			i++
			continue
		}
		out = append(out, cells[i], cells[i+1], Cell{Kind: SimileCell, N: 2, Times: int32(turns)})
		i += 2 + 2*turns
	}
	return out
}

// plain says whether a cell is one bar that a simile may repeat.
func plain(c *Cell) bool {
	return c.Kind == StrokeCell && !carries(c) && !changes(c) || c.Kind == RestCell && c.N == 1
}

func same(a, b *Cell) bool { return a.Kind == b.Kind && a.String() == b.String() }

// carries says whether a roll comes in from the bar before, or goes on.
func carries(c *Cell) bool {
	return slices.ContainsFunc(c.Signs, func(s Sign) bool {
		return s.Kind == CarrySign || s.Flags.Has(Roll) && !s.Flags.Has(HasEnd)
	})
}

// changes says whether a bar has a change of loudness that would begin anew
// with every repetition, or words that would be printed again.
func changes(c *Cell) bool {
	return slices.ContainsFunc(c.Signs, func(s Sign) bool {
		return s.Kind == WordsSign || s.Kind == DynamicSign && (s.Text == "cresc" || s.Text == "dim")
	})
}
