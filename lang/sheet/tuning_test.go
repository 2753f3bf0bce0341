package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const fourNotesOnTwo = `tempo 60
instrument pair
  called "Pair of timpani"
  family membrane
  kettle 74 F2 C3
  kettle 66 Bb2 F3
  way floor takes 2 hands with timpani-mallet
player Ida
  RL pair | 1:F2 2:C3 | - | 3:G2 4:D3
`

// A cue sheet says what the kettles are tuned to at first, and where each gets
// another note; the practice sheet drills that.
func TestSheetsSayHowKettlesAreTuned(t *testing.T) {
	r := checked("kettles", fourNotesOnTwo)
	require.Empty(t, r.Score.Problems)
	text := Text(r, "Ida")
	assert.Contains(t, text, "Tune the pair of timpani: 1 to F2, 2 to C3")
	cues, practice, ok := strings.Cut(text, "Practice")
	if !ok {
		cues, practice, ok = strings.Cut(text, "practice sheet")
	}
	require.True(t, ok)
	assert.Equal(t, 1, strings.Count(cues, "tune 1 to G2"))
	assert.Equal(t, 1, strings.Count(cues, "tune 2 to D3"))
	assert.Contains(t, practice, "Tune kettle 1 of the pair of timpani from F2 to G2, with the right foot")
	assert.Contains(t, practice, "Tune kettle 2 of the pair of timpani from C3 to D3, with the right foot")
	assert.Len(t, drillsOf(r.Score, r.Motions[0]), 2)
}
