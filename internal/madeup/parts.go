package madeup

import (
	"fmt"
	"strings"

	"pgregory.net/rapid"
)

// Parts makes up written parts of one line each for somebody to plan: at most so many of
// at most so many bars, each with a few strokes.
func Parts(t *rapid.T, lines, bars int) string {
	kinds := []string{"snare-drum", "woodblock", "cowbell", "bass-drum", "triangle", "tambourine", "suspended-cymbal", "claves", "glockenspiel", "temple-blocks"}
	rhythms := []string{"1 2 3 4", "1 3", "2 4", "1", "3", "1& 2& 3& 4&", "1 2& 4", "-", "-"}
	many := rapid.IntRange(2, bars).Draw(t, "bars")
	var b strings.Builder
	fmt.Fprintf(&b, "meter 4/4\ntempo %d\nbars %d\n", rapid.IntRange(60, 160).Draw(t, "tempo"), many)
	for p, kind := range rapid.Permutation(kinds).Draw(t, "kinds")[:rapid.IntRange(2, lines).Draw(t, "lines")] {
		fmt.Fprintf(&b, "part \"P%d\"\n  %s", p+1, kind)
		sounds := false
		for k := range many {
			rhythm := rapid.SampledFrom(rhythms).Draw(t, "rhythm")
			if k == many-1 && !sounds {
				rhythm = "1"
			}
			sounds = sounds || rhythm != "-"
			b.WriteString(" | " + rhythm)
		}
		b.WriteString("\n")
	}
	return b.String()
}
