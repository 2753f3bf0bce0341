package exchange

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// A tempo that changes little by little is written step by step, and read as
// one change again; bars begin when they began.
func TestAGradualTempoComesBack(t *testing.T) {
	text := "tempo 60 to 120 over 1-4\ntempo 90 from 5\nbars 6\nplayer Ida\n  R snare-drum with snare-stick | 1 2 3 4 | % x5\n"
	r := check.Check("a", syntax.Parse(text), check.Options{})
	xml, _, err := MusicXML(r, MusicXMLOptions{})
	require.NoError(t, err)
	midi, _, err := MIDI(r, MIDIOptions{})
	require.NoError(t, err)
	for name, data := range map[string][]byte{"musicxml": xml, "midi": midi} {
		got, _, err := written.Text(data, written.Options{})
		require.NoError(t, err, name)
		assert.Contains(t, got, "tempo 1/4 = 60 to 120 over 1-4", name)
		assert.Contains(t, got, "tempo 1/4 = 90 from 5", name)
		back := check.Check("b", syntax.Parse(got), check.Options{})
		for bar := 1; bar <= 6; bar++ {
			// 16 counts from 60 to 120 last 16·60/60·ln 2 = 11.09 s.
			assert.InDelta(t, r.Score.Time.Seconds(0, r.Score.Grid.Start(bar)), back.Score.Time.Seconds(0, back.Score.Grid.Start(bar)), 0.03, "%s, bar %d", name, bar)
		}
	}
}

// A pickup stays a pickup: as a short first bar, or after a count-in on its
// own count.
func TestAPickupStaysOffTheBar(t *testing.T) {
	text := "tempo 100\npickup 1\nbars 2\nplayer Ida\n  from 0\n  R snare-drum with snare-stick | 4 | 1 2 3 4 | 1 2\n"
	r := check.Check("a", syntax.Parse(text), check.Options{})
	data, _, err := MIDI(r, MIDIOptions{})
	require.NoError(t, err)
	got, _, err := written.Text(data, written.Options{})
	require.NoError(t, err)
	assert.Contains(t, got, "pickup 1\n")
	assert.Contains(t, got, "| mf 4 | 1 2 3 4 | 1 2")
	data, _, err = MIDI(r, MIDIOptions{Click: true})
	require.NoError(t, err)
	got, _, err = written.Text(data, written.Options{})
	require.NoError(t, err)
	assert.Regexp(t, `snare-drum \| - +\| mf 4 +\| 1 2 3 4 \| 1 2`, got)
}
