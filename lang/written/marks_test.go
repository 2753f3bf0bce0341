package written

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// instruments is a part of a drum set whose instruments are called so, each
// struck once; the first is I0.
func instruments(names ...string) string {
	var list, bar strings.Builder
	for i, name := range names {
		id := "I" + string(rune('0'+i))
		list.WriteString(`<score-instrument id="` + id + `"><instrument-name>` + name + `</instrument-name></score-instrument>`)
		bar.WriteString(n(id, 12))
	}
	one := measures(bar.String())
	from, to := strings.Index(one, "<score-instrument"), strings.Index(one, "</score-part>")
	return one[:from] + list.String() + one[to:]
}

// What a name says of how an instrument is struck is a word at its strokes, and
// two that nothing tells apart on their line are listed.
func TestNamesSayHowTheyAreStruck(t *testing.T) {
	text, lost, err := Text(instruments("Closed Hi-Hat", "Open Hi-Hat", "Pedal Hi-Hat", "Closed Hi-Hat"), Options{})
	require.NoError(t, err)
	assert.Contains(t, text, `hi-hat | 1 "o" 2 "foot" 3 4`)
	assert.Empty(t, lost)

	text, lost, err = Text(instruments("Ride Cymbal 1", "Ride Bell", "Ride Cymbal 2", "Snare Drum"), Options{})
	require.NoError(t, err)
	assert.Contains(t, text, `ride-cymbal | 1 "bell" 2 3`)
	assert.True(t, lostIn(lost, 1, `"Ride Cymbal 1" and which for the "Ride Cymbal 2"`), "%v", lost)

	text, _, err = Text(instruments("Triangle", "Mute Triangle", "Open Triangle"), Options{})
	require.NoError(t, err)
	assert.Contains(t, text, "triangle | 1 2. 3")
}
