package sheet

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What hangs over something that is struck is put up so high that sticks pass beneath it,
// one above the other, and the plan says so; what stands apart is as high as usual.
func TestWhatHangsOverSomethingIsSetClearOfIt(t *testing.T) {
	text := "tempo 80\nplayer Ben\n  kit\n    snare-drum on stand at ahead 50\n    suspended-cymbal on stand at left 28 ahead 65\n    woodblock clamped at left 31 ahead 49\n    cowbell clamped at right 70 ahead 40\n" +
		"  R snare-drum with snare-stick | 1 | - | - | -\n  R suspended-cymbal with snare-stick | - | 1 | - | -\n  R woodblock with snare-stick | - | - | 1 | -\n  R cowbell with snare-stick | - | - | - | 1\n"
	r := checked("hang", text)
	require.Empty(t, r.Score.Problems)
	g := &ground{part: newPart(r, 0, standardFaces())}
	g.collect()
	high := map[string]float64{}
	for i := range g.things {
		h, err := strconv.ParseFloat(g.things[i].high(), 64)
		require.NoError(t, err)
		high[g.things[i].name] = h
	}
	assert.GreaterOrEqual(t, high["suspended cymbal"], high["snare drum"]+15)
	assert.GreaterOrEqual(t, high["woodblock"], high["suspended cymbal"]+15)
	said := g.liftWords()
	require.Len(t, said, 2)
	assert.Contains(t, said[0]+said[1], "Woodblock (3) hangs over suspended cymbal (2): it is set ")
	assert.NotContains(t, said[0]+said[1], "cowbell")
}
