package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What grows in the middle of a roll is drawn from there to the dynamic that it comes
// to, which stands under the note that goes on; where the roll ends without a note, the
// dynamic is a word.
func TestWhatGrowsWithinARollIsDrawn(t *testing.T) {
	r := checked("swell", "meter 4/4\ntempo 80\nplayer Ida\n  RL suspended-cymbal with yarn-mallet | p 1~ | cresc ~ | ~ | f ~4 | p 1~ cresc | ff ~2 | mp 1~3 f\n")
	require.Empty(t, r.Score.Problems)
	v := newPart(r, 0, standardFaces())
	var pins []string
	for _, h := range v.pins {
		pins = append(pins, v.Place(h.from)+" to "+v.Place(h.to))
		assert.True(t, h.grows)
	}
	assert.Equal(t, []string{"2.1 to 4.1", "5.1 to 6.1"}, pins)
	at := func(bar int) (out []string) {
		for _, b := range v.blocks() {
			if b.from != bar {
				continue
			}
			w := v.voiceOf(&b, v.strokes[0].limbs.First())
			for i := range w.tones {
				dynamics, _ := v.signsOf(&w.tones[i], false)
				out = append(out, dynamics...)
			}
		}
		return out
	}
	assert.Equal(t, []string{"p"}, at(1))
	assert.Empty(t, at(3))
	assert.Equal(t, []string{"f"}, at(4))
	assert.Equal(t, []string{"ff"}, at(6))
	text, _ := page(t, "cues", "meter 4/4\ntempo 80\nplayer Ida\n  RL suspended-cymbal with yarn-mallet | mp 1~3 ff\n")
	assert.Contains(t, text, "ff")
}
