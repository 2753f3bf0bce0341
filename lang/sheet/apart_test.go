package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A set whose drums are placed one by one is put up drum by drum: each has its number,
// its body and its place on the plan.
func TestThePlanHasEachDrumThatIsPlaced(t *testing.T) {
	const kit = "tempo 60\nplayer Ida\n  kit\n    tom-toms on stand at ahead 50\n    snare-drum on stand at left 85 ahead 60\n    table at right 40 behind 20\n"
	const cues = "  R tom-toms with snare-stick | 1:high 2:low\n  L snare-drum with snare-stick | 1 2\n"
	of := func(text string) *ground {
		r := checked("set", text)
		require.Empty(t, r.Score.Problems)
		g := &ground{part: newPart(r, 0, standardFaces())}
		g.collect()
		return g
	}
	whole, apart := of(kit+cues), of(kit+"    tom-toms:low at right 60 ahead 40\n"+cues)
	assert.Len(t, whole.things, 3)
	require.Len(t, apart.things, 6)
	at := map[string]thing{}
	for _, th := range apart.things {
		at[th.name] = th
	}
	low, ok := at["tom-toms: low"]
	require.True(t, ok)
	assert.Equal(t, 60.0, low.main().At.Right)
	assert.Equal(t, 40.0, low.main().At.Ahead)
	assert.NotContains(t, low.place, "usually")
	high, ok := at["tom-toms: high"]
	require.True(t, ok)
	assert.Contains(t, high.place, "as it usually stands")
	assert.NotEqual(t, low.number, high.number)
	assert.Equal(t, whole.things[0].high(), low.high())
	for _, th := range apart.things {
		assert.Positive(t, th.main().Wide)
	}
	assert.True(t, strings.HasPrefix(low.short, whole.things[0].short))
	assert.Empty(t, apart.clashWords())
	assert.NotEmpty(t, of(kit+"    tom-toms:low at left 66 ahead 60\n"+cues).clashWords())
}
