package plan

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

func absent(t *testing.T, text string, without ...string) *Absence {
	a, err := Absent(context.Background(), "x.handful", syntax.Parse(text), Options{Without: without})
	require.NoError(t, err)
	return a
}

// untouched says which line of a file, beside those of somebody, a plan does not have
// any more in its order, or "".
func untouched(before, after, without string) string {
	now := strings.Split(after, "\n")
	mine := false
	for _, l := range strings.Split(before, "\n") {
		if !strings.HasPrefix(l, " ") && strings.TrimSpace(l) != "" {
			mine = strings.HasPrefix(l, "player "+without)
		}
		if mine || strings.TrimSpace(l) == "" {
			continue
		}
		i := slices.Index(now, l)
		if i < 0 {
			return l
		}
		now = now[i+1:]
	}
	return ""
}

// Without somebody, what everybody else has stays to the letter and in its order; what
// was theirs is played by others or left out for a reason; and no error is new.
func TestWithoutSomebodyEverythingElseIsUntouched(t *testing.T) {
	seeds := uint64(30)
	if testing.Short() {
		seeds = 4
	}
	taken := 0
	for seed := range seeds {
		first := planOf(t, band(4+int(seed%4), 12, 0.5, seed), Options{Players: 2 + int(seed%2)})
		text := strings.ReplaceAll(first.Text, "# plan: ", "# ")
		a := absent(t, text, "One")
		assert.Empty(t, untouched(text, a.Plan.Text, "One"), "seed %d", seed)
		assert.NotContains(t, a.Plan.Text, "player One")
		assert.Empty(t, errorsOf(a.Plan.Result), "seed %d", seed)
		assert.Empty(t, a.Open)
		n := 0
		for i := range a.New {
			n += a.New[i].Strokes
			if i > 0 {
				assert.LessOrEqual(t, a.New[i-1].at.Cmp(a.New[i].at), 0, "in playing order")
			}
			assert.NotEqual(t, "One", a.New[i].Player)
		}
		before, after := a.Before.Score.Coverage, a.Plan.Result.Score.Coverage
		assert.Equal(t, after.Written, after.Covered+after.Substituted+after.Omitted, "seed %d", seed)
		assert.Equal(t, before.Omitted+lostOf(&a.Plan), after.Omitted, "seed %d: what is lost is what is told", seed)
		taken += n
		if a.Other != nil {
			assert.Less(t, lostOf(a.Other), lostOf(&a.Plan))
		}
	}
	assert.Positive(t, taken)
}

// A file with marks, an error, and something that nobody plays: all of that stays as it
// is, and is named.
func TestWithoutSomebodyWhatWasOpenStaysOpen(t *testing.T) {
	const text = `tempo 120
bars 8
mark A at 5
part "One"
  woodblock  | mf 1 3 | % x7
  snare-drum | mf 1 2 3 4 | % x7
part "Two"
  triangle   | mf 1 | % x7
  tambourine | mf 4 | % x3 | mf 2 4 | % x3
  cowbell    | mf 2 | -7
player Ida
  R triangle as written
  R triangle with triangle-beater and with a word too many
  L glockenspiel with plastic-mallet | 1 | -7
player Ann
  R snare-drum with snare-stick as written
  from A
  L tambourine padded with snare-stick as written
player Max
  L woodblock with rubber-mallet as written
`
	before := errorsOf(check.Check("x.handful", syntax.Parse(text), check.Options{}))
	require.NotEmpty(t, before)
	a := absent(t, text, "Max")
	assert.Empty(t, untouched(text, a.Plan.Text, "Max"))
	assert.Len(t, errorsOf(a.Plan.Result), len(before), "%v", errorsOf(a.Plan.Result))
	assert.Len(t, a.Open, len(before))
	require.NotEmpty(t, a.New)
	assert.Equal(t, "woodblock", a.New[0].Instrument)
	for _, l := range a.Plan.Lost {
		assert.Equal(t, "woodblock", l.Line, "only what was Max's is lost")
	}
	assert.False(t, strings.Contains(a.Plan.Text, "omit cowbell"))
	for _, c := range a.Carry {
		if c.What == "woodblock" {
			assert.Contains(t, c.From, "Max’s")
		}
	}
	_, err := Absent(context.Background(), "x", syntax.Parse(text), Options{Without: []string{"Maxx"}})
	assert.ErrorContains(t, err, "did you mean Max?")
}
