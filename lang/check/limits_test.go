package check

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A rule is found by its name, and by nothing else.
func TestRulesByName(t *testing.T) {
	for _, r := range Rules() {
		assert.Same(t, r, RuleNamed(r.Name))
	}
	assert.Nil(t, RuleNamed(""))
	assert.Nil(t, RuleNamed("no-such-rule"))
}

// How a player's ceiling is said, from what no tempo mends to what nothing
// limits.
func TestCeilingsInWords(t *testing.T) {
	for _, c := range []struct {
		text  string
		never bool // at any tempo
		says  []string
	}{
		{"tempo 60\ngear\n  0 timpani\nplayer Ida\n  R timpani | 1 | 1\n", true,
			[]string{"cannot be played at any tempo: how little there is of the timpani, at 1.1"}},
		{"tempo 60\nplayer Ida\n  R snare-drum | 1\n  R woodblock | 1\n", true,
			[]string{"cannot be played at any tempo: to play the snare drum and play the woodblock at once, at 1.1"}},
		{"tempo 60\nplayer Ida\n  R snare-drum | 1\n", false,
			[]string{"nothing here limits the tempo"}},
		{"tempo 60\nplayer Ida\n  R snare-drum with snare-stick | 1 2 3 4 | 1\n", false,
			[]string{"nothing is at the edge up to 1/4 =", "cannot above 1/4 =", "the strokes of the right hand on the snare drum, at "}},
		{"tempo 60\nplayer Ida\n  R snare-drum with snare-stick | 1 | -\n  R woodblock clamped with rubber-mallet | - | 1\n", false,
			[]string{"the right hand on its way to the woodblock, at 2.1"}},
		{"tempo 60\nplayer Ida\n  RF bass-drum | 1\n  RF hi-hat | 3\n", false,
			[]string{"the foot on its way to the hi-hat, at 1.3"}},
		{"tempo 60\ngear\n  1 tambourine\nplayer Ida\n  R tambourine | 1 | -\nplayer Per\n  R tambourine | 4 | -\n", false,
			[]string{"how little there is of the tambourine"}},
	} {
		r := checkText(c.text)
		ceilings := r.Ceilings()
		require.NotEmpty(t, ceilings, c.text)
		first := &ceilings[0]
		assert.Equal(t, c.never, first.Cannot.Never(), c.text)
		if c.never {
			assert.Zero(t, first.Cannot.Factor, c.text)
		}
		for _, words := range c.says {
			assert.Contains(t, r.Says(first), words, c.text)
		}
	}
	// What cannot be carried over any sooner is so in the counts of the piece.
	r := checkText("tempo 60\ngear\n  1 tambourine\nplayer Ida\n  R tambourine | 1 | -\nplayer Per\n  R tambourine | 4 | -\n")
	assert.InDelta(t, 1, r.Ceilings()[1].Cannot.Factor, 0.001, "three seconds are needed, and three there are")
	assert.InDelta(t, 60, r.Ceilings()[1].Cannot.CountsPerMinute, 0.1)
}

func TestRoundingDown(t *testing.T) {
	assert.Equal(t, 1.23, RoundDown(1.239, 100))
	assert.Equal(t, 96.0, RoundDown(95.9999999, 1), "what floating point takes off is no part")
	assert.Equal(t, 95.0, RoundDown(95.99, 1))
}

// Bars are named one by one, up to a dozen of them.
func TestBarsAreNamed(t *testing.T) {
	upTo := func(n int) (bars []int) {
		for i := range n {
			bars = append(bars, i+3)
		}
		return bars
	}
	assert.Equal(t, "bar 3", barList(upTo(1)))
	assert.Equal(t, "bars 3 and 4", barList(upTo(2)))
	assert.Equal(t, "bars 3, 4 and 5", barList(upTo(3)))
	assert.Equal(t, "bars 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13 and 14", barList(upTo(12)))
	assert.Equal(t, "bars 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14 and on to 15", barList(upTo(13)))
}

// Of alike places it is told how many more there are, and up to where.
func TestHowOftenItIsSo(t *testing.T) {
	for _, c := range []struct {
		more, bar, last int
		want            string
	}{
		{0, 3, 3, ""},
		{0, 3, 9, ""},
		{1, 3, 3, " (and once more in this bar)"},
		{1, 3, 0, " (and once more in this bar)"},
		{1, 3, 4, " (and once more, in bar 4)"},
		{2, 3, 3, " (and 2 times more in this bar)"},
		{2, 3, 4, " (and 2 times more, to bar 4)"},
	} {
		assert.Equal(t, c.want, times(c.more, c.bar, c.last), fmt.Sprint(c))
	}
	assert.Equal(t, "1 stroke", plural(1, "stroke"))
	assert.Equal(t, "0 strokes", plural(0, "stroke"))
	assert.Equal(t, "2", passWords(2))
	assert.Equal(t, "1 and 3", passWords(5))
	assert.Equal(t, "1, 2 and 63", passWords(3|1<<62))
}

// An acceptance is written for the place, or the bars, of what it accepts, and
// for the player.
func TestWhatAnAcceptanceIsWrittenFor(t *testing.T) {
	for _, c := range []struct {
		f    Finding
		want string
	}{
		{Finding{Rule: seam}, `accept seam because "say why"`},
		{Finding{Rule: seam, Player: "Ida"}, `accept seam for Ida because "say why"`},
		{Finding{Rule: seam, Player: "Ida May"}, `accept seam for Ida May because "say why"`},
		{Finding{Rule: seam, Player: "Ida # May"}, `accept seam for "Ida # May" because "say why"`},
		{Finding{Rule: seam, HasPlace: true, Bar: 3}, `accept seam at 3 because "say why"`},
		{Finding{Rule: seam, HasPlace: true, Bar: 3, Times: 1, LastBar: 5, Player: "Ida"}, `accept seam in 3-5 for Ida because "say why"`},
		{Finding{Rule: seam, HasPlace: true, Bar: 3, Times: 2}, `accept seam in 3-3 because "say why"`},
	} {
		context := &Context{Result: checkText("tempo 60\n")}
		context.acceptNow(&c.f)
		require.Len(t, c.f.proposals, 1)
		require.Len(t, c.f.proposals[0].Edits, 1)
		assert.Equal(t, c.want+"\n", c.f.proposals[0].Edits[0].Text)
	}
}

// Beside an error that no tempo mends no ceiling says that nothing limits it.
func TestNoTempoBringsAnythingIntoReach(t *testing.T) {
	for _, text := range []string{
		"tempo 60\nplayer Ida\n  kit\n    woodblock clamped at right 10 ahead 40 up 260\n  R woodblock with snare-stick | 1\n",
		"tempo 60\nplayer Ida\n  kit\n    snare-drum on stand at ahead 40\n    cowbell clamped at right 250 ahead 40\n  L snare-drum | 1\n  R cowbell | - | 1\n",
		"tempo 60\nplayer Ida\n  seated\n  kit\n    snare-drum on stand at ahead 40\n    cowbell clamped at right 150 ahead 40\n  L snare-drum | 1\n  R cowbell | - | 1\n",
	} {
		r := checkText(text)
		c := r.Ceilings()[0]
		assert.True(t, c.Cannot.Never(), text)
		assert.NotContains(t, r.Says(&c), "nothing", text)
	}
}
