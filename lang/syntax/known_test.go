package syntax

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Texts that are read one after the other with what they have in common kept are read
// as each is by itself, and what they have in common is the same line.
func TestTextsWithLinesInCommonAreReadAsByThemselves(t *testing.T) {
	words := []string{"player Ida", "  R woodblock with hard-mallet as written of \"A\"", "  L", "from 9", "tempo 90 # slow", "title \"open", "  R R R", "", "  ", "kit", "  woodblock | 1 2 | %", "| 3 | \"loud", strings.Repeat("x", longestKnown+1), "é", "=", "accept unused"}
	known := NewKnown()
	shared := 0
	for seed := range 300 {
		rnd := rand.New(rand.NewPCG(uint64(seed), 3))
		lines := make([]string, rnd.IntN(20))
		for i := range lines {
			lines[i] = words[rnd.IntN(len(words))]
			if rnd.IntN(6) == 0 {
				lines[i] += fmt.Sprint(" ", rnd.IntN(1000))
			}
		}
		text := strings.Join(lines, "\n")
		whole, file := Parse(text), known.Parse(text)
		require.Equal(t, whole, file, "%q", text)
		for _, l := range known.Parse(text + "\n").Lines {
			if l.Text != "" && l.Bars == nil && len(l.Text) <= longestKnown {
				require.Same(t, known.lines[l.Text], l)
				shared++
			}
		}
	}
	require.Greater(t, shared, 1000)
}

func TestNoMoreLinesAreKeptThanAFewThousand(t *testing.T) {
	known := NewKnown()
	for i := range 3 * mostKnown {
		known.Parse(fmt.Sprintf("mark A%d at %d\n", i, i))
		require.LessOrEqual(t, len(known.lines), mostKnown)
	}
	require.NotEmpty(t, known.lines)
}

func TestWhatStopsARingIsWhatItsProductionHas(t *testing.T) {
	require.Equal(t, productions()[reflect.TypeFor[Stops]()].fields[0].words, Stoppers())
	require.Contains(t, Stoppers(), "hand")
}
