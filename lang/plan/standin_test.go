package plan

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/proof"
	"example.org/handful/lang/syntax"
)

const crashing = `meter 4/4
tempo 120
bars 4
part "P1"
  snare-drum | f 1 2 3 4 | % x3
part "P2"
  crash-cymbals | f 1 | - | 1 | 1
part "P3"
  triangle | f 2 4 | % x3
`

// What stands in is played only when asked for, said with its cost, and never makes a
// plan lose more; the bound is that of what may be played.
func TestStandInsArePlayedWhereTheyAreAskedFor(t *testing.T) {
	without := planned(t, crashing, Options{Players: 1, Sentences: true})
	clean(t, without)
	assert.Positive(t, without.Bound)
	assert.Zero(t, without.Result.Score.Coverage.Substituted)
	assert.Contains(t, without.Sentences[2], "for the crash cymbals (--stand-ins): all of it", "what a stand-in would bring has been tried")
	with := planned(t, crashing, Options{Players: 1, Sentences: true, StandIns: true})
	clean(t, with)
	assert.Zero(t, with.Value)
	assert.Zero(t, with.Bound, "else it would be false")
	assert.Equal(t, 3, with.Result.Score.Coverage.Substituted)
	assert.Contains(t, with.Text, "for crash-cymbals as written")
	assert.Contains(t, with.Sentences[0], "stands in for the crash cymbals (bars 1 and 3-4 – ")
	assert.Contains(t, with.Text, "hi-hat stands in for", "at the top of the file")
	again := planned(t, with.Text, Options{Players: 1})
	assert.Zero(t, again.Value, "a stand-in that the file has is the file's own")

	// There is none of it; and with two people nothing has to stand in.
	none := planned(t, strings.Replace(crashing, "bars 4\n", "bars 4\ngear\n  0 hi-hat\n", 1), Options{Players: 1, StandIns: true})
	clean(t, none)
	assert.NotContains(t, none.Text, "R hi-hat")
	assert.NotContains(t, none.Text, "L hi-hat")
	two := planned(t, crashing, Options{Players: 2, StandIns: true})
	assert.Zero(t, two.Result.Score.Coverage.Substituted, "what is written is played where somebody can")
}

// What stands in beside all that a plan without it gives away is a plan of the same file, which
// is taken where everything given away anew loses more.
func TestStandInsBesideAPlanAsItIs(t *testing.T) {
	without := planned(t, crashing, Options{Players: 1})
	f := syntax.Parse(crashing)
	opt := Options{Players: 1, StandIns: true, Sentences: true}
	with, ok := without.letStandIn(context.Background(), "test.handful", f, opt, without.Value)
	require.True(t, ok)
	clean(t, with)
	assert.Zero(t, with.Value)
	assert.Contains(t, with.Text, "for crash-cymbals as written")
	assert.Contains(t, with.Sentences[0], "stands in for the crash cymbals")
	text, ok := check.Apply(f, with.Edits)
	require.True(t, ok)
	assert.Equal(t, with.Text, text)
	_, ok = without.letStandIn(context.Background(), "test.handful", f, opt, 0)
	assert.False(t, ok, "less than nothing is never lost")
}

func TestStandInsNeverLoseMore(t *testing.T) {
	stood := 0
	pieces := uint64(2)
	if !testing.Short() {
		pieces = 12
	}
	for i := range pieces {
		text := instance(5, 3, i)
		off, on := planned(t, text, Options{Players: 1}), planned(t, text, Options{Players: 1, StandIns: true})
		clean(t, on)
		assert.LessOrEqual(t, on.Value, off.Value+1e-9, text)
		assert.LessOrEqual(t, on.Bound, off.Bound+1e-9)
		stood += on.Result.Score.Coverage.Substituted
		v, err := proof.Verify(context.Background(), "x.handful", syntax.Parse(text), on.Certificate, proof.Options{})
		require.NoError(t, err)
		assert.True(t, v.Proven(on.Certificate), v.Against)
	}
	t.Logf("%d strokes on what stands in", stood)
}
