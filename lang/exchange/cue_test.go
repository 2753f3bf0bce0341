package exchange

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/internal/outside"
	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// What nobody plays stands as small notes in the part of whoever plays most of
// its line or of its part, and else in a part of its own, where it would be
// played; and that is told. What players play is the same with and without.
func TestWhatIsLeftOutStandsAsCueNotes(t *testing.T) {
	text := "meter 4/4\ntempo 96\nbars 4\n" +
		"part \"One\"\n  snare-drum | 1 2 3 4 | % x3\n  woodblock | - | 1& 2 3~ | ~3 | '1 1e 1& 1a\npart \"Two\"\n  triangle | 1 | - | 3\n" +
		"omit woodblock in 2 because \"so\"\nrepeat 3-4\n" +
		"player Ida\n  R snare-drum with snare-stick | 1 2 3 4 | 1 2 3 4 | - | 1 2 3 4\n"
	r := check.Check("t.handful", syntax.Parse(text), check.Options{})
	require.Empty(t, r.Score.Problems)
	data, told, err := MusicXML(r, MusicXMLOptions{WithOmitted: true})
	require.NoError(t, err)
	assert.Contains(t, told, `as cue notes in the part "Ida": 11 written strokes that nobody plays`)
	assert.Contains(t, told, `as cue notes in the part "Not played": 2 written strokes that nobody plays`)
	assert.NotContains(t, strings.Join(told, "\n"), "left out: 1")
	bars := strings.Split(strings.Split(string(data), `<part id="P1">`)[1], "<measure ")
	for bar, want := range []int{1: 0, 2: 3, 3: 4 + 1, 4: 4 + 1} { // in bar 3 the roll goes on; in bar 4 a grace note is one too
		if bar > 0 {
			assert.Equal(t, want, strings.Count(bars[bar], "<cue/>"), "bar %d\n%s", bar, bars[bar])
		}
	}
	outside.Need(t, "xmllint")
	valid(t, "cues", data)
	plain, _, err := MusicXML(r, MusicXMLOptions{})
	require.NoError(t, err)
	assert.NotContains(t, string(plain), "<cue/>")
	mine, _, err := written.Text(plain, written.Options{})
	require.NoError(t, err)
	theirs, lost, err := written.Text(data, written.Options{})
	require.NoError(t, err)
	require.NotEmpty(t, lost)
	assert.Contains(t, lost[0].What, "cue notes")
	strokes := func(text string) string {
		text, _, _ = strings.Cut(text[strings.Index(text, "snare-drum"):], "\n") // and the other part is an empty one
		return text
	}
	assert.Equal(t, strokes(mine), strokes(theirs))
}
