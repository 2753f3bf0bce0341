package check

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// crowded has several findings that the same moves are tried for, and some that the same
// line would give somebody else.
const crowded = `tempo 96
bars 4
part "P"
  triangle | 1 2 3 4 | -3
  triangle | -2 | 1 3 | -
player Tam
  kit
    glockenspiel at right 30 ahead 45
    tom-toms on stand at right 62 ahead 45
    table at right 25 ahead 30
  L glockenspiel with plastic-mallet | 1 | 2
  R tom-toms with snare-stick | 3 | 4
player Ida
  R cowbell with snare-stick | 1 | 2
`

// What is tried once for several findings is offered for each as if it were tried for it
// alone.
func TestWhatFindingsShareIsOfferedForEach(t *testing.T) {
	texts := []string{crowded}
	if !testing.Short() {
		for _, r := range Rules() {
			texts = append(texts, r.Trips)
		}
	}
	twice := 0
	for _, text := range texts {
		r := Check("shared.handful", syntax.Parse(text), Options{Score: score.Options{Remember: true}})
		tried := map[string]int{}
		for i := range r.Findings {
			for _, p := range r.Findings[i].toTry() {
				if tried[keyOf(p.Edits)]++; tried[keyOf(p.Edits)] == 2 && text == crowded {
					twice++
				}
			}
		}
		got, sought := r.FixesWithin(r.ByWeight(), 10_000, func(int) {})
		require.Equal(t, len(r.Findings), sought)
		for i := range r.Findings {
			require.Equal(t, r.Fixes(&r.Findings[i]), got[i], "%s\n%s", r.Findings[i].Message(), text)
		}
	}
	require.Positive(t, twice)
}
