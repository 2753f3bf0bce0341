package syntax_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/syntax"
)

func TestEqualBarsFoldIntoSimiles(t *testing.T) {
	for was, is := range map[string]string{
		"| 1 2 | 1 2 | 1 2":                         "| 1 2 | % x2",
		"| mf 1 2 | 1 2 | mf 1 2 | f 1 2":           "| mf 1 2 | % x2 | f 1 2",
		"| mf 1 f 2 | 1 2 | 1 2":                    "| mf 1 f 2 | 1 2 | %",
		"| f 1 | 2 | 3 | 1 | 2 | 3 | 1 | 2 | 3 | 4": "| f 1 | 2 | 3 | %3 x2 | 4",
		"| f 1 | p 2 | f 1 | p 2":                   "| f 1 | p 2 | f 1 | p 2", // a dynamic in the middle stays
		"| f 1 | 2 p 3 | 1 | 2 p 3":                 "| f 1 | 2 p 3 | 1 | 2 p 3",
		"| 1 2 | - | - | -2":                        "| 1 2 | -4",
		"| 1 | 2 | 1 | 2 | 1 | 2":                   "| 1 | 2 | %2 x2",
		"| 1 2 | % | 1 2":                           "| 1 2 | % x2",
		"| 1~ | ~ | ~ | ~2":                         "| 1~ | ~ | ~ | ~2", // a roll is one roll
		`| "soft" 1 | "soft" 1`:                     `| "soft" 1 | "soft" 1`,
		"| cresc 1 2 | cresc 1 2 | 3 | 3":           "| cresc 1 2 | cresc 1 2 | 3 | %",
	} {
		line := syntax.ParseLine(was)
		assert.Empty(t, line.Problems, was)
		assert.Equal(t, is, syntax.Fold(line), was)
	}
}

// Folding what is folded changes nothing more than once, and never how many
// bars there are.
func TestFoldingKeepsTheBars(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		cells := rapid.SliceOfN(rapid.SampledFrom([]string{"1 2", "3", "1~", "~", "~2", "-", "-3", "mf 1", "2> 3x"}), 1, 12).Draw(t, "cells")
		text := ""
		for _, c := range cells {
			text += "| " + c + " "
		}
		was := syntax.ParseLine(text)
		is := syntax.ParseLine(syntax.Fold(was))
		if length(was) != length(is) || len(is.Problems) > len(was.Problems) {
			t.Fatalf("%q became %q", text, is.Text)
		}
	})
}

func length(l *syntax.Line) int {
	n := 0
	for i := range l.Bars.Cells {
		n += l.Bars.Cells[i].Length()
	}
	return n
}
