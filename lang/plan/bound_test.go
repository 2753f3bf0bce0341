package plan

import (
	"context"
	"fmt"
	"math"
	"math/bits"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// Pieces with their cues, as a person would write them: a check accepts each of
// them, so that no bound may be above what they lose.
func byHand() map[string]string {
	return map[string]string{
		"parts in unison": `tempo 112
meter 2/4
bars 8
part "Percussion 1"
  snare-drum | f 1 1& 2 2& | % x7
part "Percussion 2"
  snare-drum | f 1 1& 2 2& | % x7
part "Percussion 3"
  bass-drum | f 1 2 | % x7
player One
  R bass-drum with bass-drum-beater as written
  L snare-drum with snare-stick as written
`,
		"a line that both hands share by the stroke": `tempo 60
bars 2
part "Percussion 1"
  snare-drum | mf 1 2 | %
part "Percussion 2"
  woodblock | mf 2 3 | %
part "Percussion 3"
  cowbell | mf 1 3 | %
player One
  R snare-drum with snare-stick as written
  L cowbell with snare-stick as written on 1
  R cowbell with snare-stick as written on 3
  L woodblock with snare-stick as written
`,
		"one hand on what is for two": `tempo 90
bars 4
instrument big-drum
  called "Big drum"
  family membrane
  rings short
  way on stand takes 2 hands with snare-stick
part "Percussion 1"
  big-drum | mf 1 2 3 4 | % x3
part "Percussion 2"
  triangle | mf 1 2 3 4 | % x3
player One
  R big-drum with snare-stick as written
  L triangle clipped with triangle-beater as written
`,
		"two sticks in one hand": `tempo 60
bars 2
part "Percussion 1"
  snare-drum | mf 1 3 | %
  glockenspiel | mf 1& 3& | %
  bass-drum | mf 1 1& 2 2& | %
player One
  L snare-drum with snare-stick and plastic-mallet as written
  L glockenspiel with plastic-mallet and snare-stick as written
  R bass-drum with bass-drum-beater as written
`,
		"a foot on hardware of its own": `tempo 90
bars 2
part "Percussion 1"
  snare-drum | mf 1 2 3 4 | %
  cowbell | mf 1 2 3 4 | %
  woodblock | mf 1 2 3 4 | %
player One
  R snare-drum as written
  L woodblock as written
  RF cowbell clamped as written
`,
	}
}

// For every file without errors: what its own parts must lose is no more than
// what it loses.
func TestNoFileLosesLessThanTheBound(t *testing.T) {
	for what, text := range byHand() {
		f := syntax.Parse(text)
		r := check.Check("x.handful", f, check.Options{})
		require.Empty(t, errorsOf(r), what)
		require.Equal(t, r.Score.Coverage.Written, r.Score.Coverage.Covered, what)
		j, err := newJob(context.Background(), "x.handful", f, Options{}, false)
		require.NoError(t, err, what)
		j.bound()
		assert.Zero(t, j.lower, what)
	}
}

// An oracle of its own: of instruments that one hand plays, in music so slow that
// every change has time, what must go is found by trying every subset of what
// sounds at each moment; the bound is that, neither more nor less.
func TestTheBoundIsWhatTryingEverySubsetFinds(t *testing.T) {
	kinds := []string{"snare-drum", "tom-toms", "temple-blocks", "suspended-cymbal", "bongos", "glockenspiel"}
	one := DefaultWeights()
	one.Exposed, one.Driving, one.Climax, one.Doubled = 1, 1, 1, 1
	crowded := 0
	for seed := range uint64(24) {
		rng := rand.New(rand.NewPCG(seed, 11))
		players := 1 + rng.IntN(2)
		var b strings.Builder
		fmt.Fprintf(&b, "meter 4/4\ntempo 30\nbars 2\n")
		at := map[int][]int{} // moments, and the lines that have a stroke then
		matters := make([]float64, len(kinds))
		for l, kind := range kinds {
			matters[l] = []float64{1, 1, 0.25, 3}[rng.IntN(4)]
			fmt.Fprintf(&b, "part \"P%d\" matters %g\n  %s", l+1, matters[l], kind)
			for bar := range 2 {
				cell := ""
				for c := range 4 {
					if rng.IntN(2) == 0 {
						cell += fmt.Sprintf(" %d", c+1)
						at[4*bar+c] = append(at[4*bar+c], l)
					}
				}
				if cell == "" {
					cell = " -"
				}
				b.WriteString(" |" + cell)
			}
			b.WriteString("\n")
		}
		want := 0.0
		for _, lines := range at { // every subset that is left out; the others need a hand each
			least := math.Inf(1)
			for out := range 1 << len(lines) {
				gone := 0.0
				for i, l := range lines {
					gone += float64(out>>i&1) * matters[l]
				}
				if len(lines)-bits.OnesCount(uint(out)) <= 2*players {
					least = min(least, gone)
				}
			}
			want += least
		}
		j, err := newJob(context.Background(), "x.handful", syntax.Parse(b.String()), Options{Players: players, Weights: &one}, false)
		require.NoError(t, err)
		j.bound()
		assert.InDelta(t, want, j.lower, 1e-9, "%d players\n%s", players, b.String())
		if want > 0 {
			crowded++
		}
	}
	assert.Greater(t, crowded, 6)
}
