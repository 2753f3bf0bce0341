package check

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// failing is a loader that fails in the way in which programs do.
func failing(string, string) (string, *syntax.File, error) {
	var f *syntax.File
	return f.Lines[0].Text, f, nil
}

func TestAFailureIsAFindingOfItsFile(t *testing.T) {
	f := syntax.Parse("tempo 96\nuse \"x.handful\"\n")
	assert.Panics(t, func() { Check("x.handful", f, Options{Load: failing}) }, "nothing is hidden from whoever looks for mistakes")
	r := Safely("x.handful", f, Options{Load: failing})
	require.Len(t, r.Findings, 1)
	assert.Equal(t, "internal", r.Findings[0].Rule.Name)
	assert.Equal(t, Error, r.Findings[0].Severity)
	assert.Contains(t, r.Findings[0].Message(), "lang/check/internal_test.go:", "the place is the one that failed")
	assert.NotContains(t, r.Findings[0].Message(), "\n")
	require.Len(t, r.Faults, 1)
	assert.Contains(t, r.Faults[0].Panic, "nil pointer")
	assert.Contains(t, r.Faults[0].Stack, "failing")

	assert.Same(t, f, r.File)
	assert.Same(t, f, r.Score.Sources[0].File, "its lines can be shown")
	assert.Empty(t, r.Ceilings())
	assert.Empty(t, r.Fixes(&r.Findings[0]))
	text, made := r.FixAll()
	assert.Equal(t, f.Text(), text)
	assert.Zero(t, made)
}

func TestAFailureLaterKeepsWhatWasFound(t *testing.T) {
	r := Check("x.handful", syntax.Parse("tempo 96\nplayer Ida\n  R snare-drmu | 1 2\n"), Options{})
	before := len(r.Findings)
	r.Add(Contained(func() { panic("late") }))
	assert.Len(t, r.Findings, before+1)
	assert.Equal(t, "internal", r.Findings[0].Rule.Name, "it stands at the head of its file")
}

func TestWhatDoesNotFailIsLeftAlone(t *testing.T) {
	assert.Nil(t, Contained(func() {}))
	r := Safely("x.handful", syntax.Parse(internalRule.Passes), Options{Score: score.Options{TempoFactor: 1}})
	assert.Empty(t, found(r, internalRule))
	assert.Empty(t, r.Faults)
}
