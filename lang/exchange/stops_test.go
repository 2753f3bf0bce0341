package exchange

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// Whoever or whatever stops a ring, it goes out and comes back: a pedal, a limb that the
// text names, with a stop in the line or without one; two that say the same are one.
func TestStopsGoOutWhoeverMakesThem(t *testing.T) {
	text := "meter 4/4\ntempo 92\nbars 3\nplayer Eli\n  kit\n    vibraphone on stand at ahead 40\n    suspended-cymbal on stand at left 40 ahead 50\n    woodblock clamped at right 35 ahead 55\n" +
		"  R vibraphone with yarn-mallet | 1 3x\n  R woodblock with yarn-mallet | 3\n" +
		"  L suspended-cymbal with yarn-mallet | 1 | 1 3x | 1\n" +
		"  L damps suspended-cymbal at 1.3\n  L damps suspended-cymbal at 2.3\n"
	r := check.Check("t.handful", syntax.Parse(text), check.Options{})
	require.Empty(t, r.Score.Problems)
	data, _, err := MusicXML(r, MusicXMLOptions{})
	require.NoError(t, err)
	back, lost, err := written.Text(data, written.Options{})
	require.NoError(t, err)
	assert.Empty(t, lost)
	var lines []string
	for _, l := range strings.Split(back, "\n") {
		if strings.Contains(l, "|") {
			lines = append(lines, strings.Join(strings.Fields(l), " "))
		}
	}
	assert.ElementsMatch(t, []string{"vibraphone | 1R 3x", "woodblock | 3R", "suspended-cymbal | 1L 3x | % | 1L"}, lines)

	data, _, err = MIDI(r, MIDIOptions{})
	require.NoError(t, err)
	with, _, err := MIDI(check.Check("t.handful", syntax.Parse(strings.Replace(text, "| 1 3x\n", "| 1\n", 1)), check.Options{}), MIDIOptions{})
	require.NoError(t, err)
	assert.NotEqual(t, with, data, "a note that the pedal stops is as long as one that rings")
}

// A roll that is still to go on when the same hand strikes something else cannot be
// written in that hand's voice, and that is told.
func TestARollThatItsHandLeavesIsToldToBeCutOff(t *testing.T) {
	text := "meter 4/4\ntempo 92\nbars 2\nplayer Eli\n  R suspended-cymbal with 2 yarn-mallets | 1~ | ~4\n  R woodblock with yarn-mallet | 3 | -\n"
	r := check.Check("t.handful", syntax.Parse(text), check.Options{})
	require.Empty(t, r.Score.Problems)
	_, told, err := MusicXML(r, MusicXMLOptions{})
	require.NoError(t, err)
	assert.Contains(t, told, "cut off in bar 1: a roll that goes on while the same hand strikes something else")
	_, told, err = MusicXML(check.Check("t.handful", syntax.Parse(strings.Replace(text, "R woodblock", "L woodblock", 1)), check.Options{}), MusicXMLOptions{})
	require.NoError(t, err)
	assert.NotContains(t, strings.Join(told, "\n"), "cut off")
}

// What is said about loudness in the middle of a roll goes out where it stands and comes
// back there; the next stroke says its own again.
func TestDynamicsWithinRollsGoOutAndComeBack(t *testing.T) {
	for _, bars := range []string{
		"p 1~ | cresc ~ | ~ | f ~4 | p 1",
		"p cresc 1~ | f ~2 3",
		"p cresc 1~ | ~ | f ~4 | p cresc 1~ | ff ~2",
		"f 1~ | dim ~ | ~ | p ~4",
	} {
		r := check.Check("t.handful", syntax.Parse("meter 4/4\ntempo 1/4 = 92\nbars 5\npart \"P\"\n  suspended-cymbal | "+bars+"\nplayer Eli\n  R suspended-cymbal with 2 yarn-mallets as written\n"), check.Options{})
		require.Empty(t, r.Score.Problems)
		data, _, err := MusicXML(r, MusicXMLOptions{})
		require.NoError(t, err)
		back, lost, err := written.Text(data, written.Options{})
		require.NoError(t, err)
		assert.Empty(t, lost)
		_, got, _ := strings.Cut(back, "suspended-cymbal | ")
		assert.Equal(t, bars, strings.NewReplacer("R", "", "\n", "").Replace(got))
	}
}
