package plan

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

func planOf(t *testing.T, text string, opt Options) Plan {
	p, err := File(context.Background(), "x.handful", syntax.Parse(text), opt)
	require.NoError(t, err)
	assert.Empty(t, errorsOf(p.Result))
	return p
}

// More people never lose more: the others could stand by.
func TestMorePlayersLoseNoMore(t *testing.T) {
	last := 1e9
	for n := 1; n <= 4; n++ {
		p := planOf(t, band(6, 24, 0.6, 7), Options{Players: n})
		assert.LessOrEqual(t, p.Value, last, "%d players", n)
		last = p.Value
	}
}

// A plan of a plan is never worse than it, its own reasons are thought over
// again, and what somebody else left out stays left out and is not counted as
// this plan's.
func TestAPlanIsNeverWorseThanTheFile(t *testing.T) {
	for seed := range uint64(4) {
		first := planOf(t, band(7, 16, 0.7, seed), Options{Players: 2})
		again := planOf(t, first.Text, Options{})
		assert.LessOrEqual(t, again.Value, first.Value, "seed %d", seed)
		if again.Value >= first.Value-1e-9 { // else more may be left out here and less there
			assert.LessOrEqual(t, strings.Count(again.Text, "omit "), strings.Count(first.Text, "omit ")+1)
		}
	}
	parts := "tempo 60\npart \"P\"\n  woodblock | 1 3 | 1 3\n  cowbell | 2 | 2\n"
	p := planOf(t, parts+"omit cowbell in 2 because \"we like it so\"\nomit woodblock in 1 because \"no free hand gets there in time\"\n", Options{Players: 1})
	assert.Empty(t, p.Lost)
	assert.Contains(t, p.Text, "because \"we like it so\"")
	assert.NotContains(t, p.Text, "gets there in time")
	assert.Equal(t, 5, p.Result.Score.Coverage.Covered)
	_, err := File(context.Background(), "x", syntax.Parse("part \"P\"\n  woodblock | 1\nomit woodblock because \"tired\"\n"), Options{Players: 1})
	assert.ErrorContains(t, err, "omit lines")
}

func TestCommentsOfAPlayerStay(t *testing.T) {
	p := planOf(t, "tempo 60\npart \"P\"\n  woodblock | 1 3 | 1 3\n  cowbell | 2 | 2\nplayer Ida\n  # only with the new stick\n  R woodblock as written # lightly\n", Options{})
	assert.Contains(t, p.Text, "# only with the new stick")
	assert.Contains(t, p.Text, "# lightly")
}

// A reason says what is true: hands are all busy only where they are.
func TestAReasonCountsTheHands(t *testing.T) {
	for seed := range uint64(4) {
		p := planOf(t, band(7, 16, 0.7, seed), Options{Players: 2})
		for _, l := range p.Lost {
			if strings.HasPrefix(l.Because, noHand) {
				assert.GreaterOrEqual(t, strings.Count(l.Because, ",")+strings.Count(l.Because, " and ")+1, 2, l.Because)
			}
		}
	}
}
