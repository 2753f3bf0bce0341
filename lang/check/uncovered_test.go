package check

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A piece that nobody plays yet is one thing to say, however much is written.
func TestAPieceWithoutPlayersIsOneFinding(t *testing.T) {
	parts := "tempo 96\nbars 8\npart \"P\"\n  triangle | 1 3 | % x7\n  woodblock | 2 | - | 2\npart \"Q\"\n  snare-drum | 1 2 3 4\n"
	checked := func(text string, without ...string) []*Finding {
		return found(Check("x", syntax.Parse(text), Options{Score: score.Options{Without: without}}), uncovered)
	}
	got := checked(parts)
	require.Len(t, got, 1)
	assert.Equal(t, Warning, got[0].Severity)
	assert.Equal(t, int32(2), got[0].Where.Line, "at the first part")
	assert.True(t, strings.HasPrefix(got[0].Message(), "22 strokes are written, and nobody plays them yet"), got[0].Message())

	got = checked("tempo 96\npart \"P\"\n  triangle | 1\n")
	require.Len(t, got, 1)
	assert.True(t, strings.HasPrefix(got[0].Message(), "1 stroke is written, and nobody plays it yet"), got[0].Message())

	assert.Empty(t, checked("tempo 96\npart \"P\"\n  triangle | 1\nomit triangle because \"tacet\"\n"))
	assert.Empty(t, checked("tempo 96\nbars 4\n"))
	assert.Len(t, checked(parts+"player \n"), 1, "a player that is being typed is none yet")

	one := parts + "player Ida\n  R triangle clipped as written\n"
	for name, list := range map[string][]*Finding{"one line is played": checked(one), "the only player is ill": checked(one, "Ida")} {
		require.NotEmpty(t, list, name)
		for _, f := range list {
			assert.Equal(t, Error, f.Severity, name)
			assert.True(t, f.HasPlace, name)
		}
	}
}
