package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/handful/lang/check"
)

// Notes and what there is to listen for stand where they were put, on the sheets
// they are for, in every form of the sheet.
func TestNotesAndCuesStandAtTheirPlaces(t *testing.T) {
	r := checked("x", `title "Tide Table"
note "tune at half past six"
note "watch the singer" at 3.2
cue "trumpet solo" at 6
tempo 96
player Ida
  note "bring the long cable"
  cue "bassoon" at 7
  R snare-drum | mf 1 2 | -7 | 1
player Jo
  L woodblock | 1 | -7 | 1
`)
	assert.Empty(t, r.Score.Problems)
	texts := map[string]string{}
	docs := Docs([]*check.Result{r}, Options{})
	for i := range docs {
		d := &docs[i]
		if d.Kind == "cues" {
			texts[d.Player] = d.Text()
		}
	}
	for _, want := range []string{"tune at half past six", "watch the singer", "cue: trumpet solo"} {
		assert.Contains(t, texts["Ida"], want)
		assert.Contains(t, texts["Jo"], want)
	}
	for _, want := range []string{"bring the long cable", "cue: bassoon"} {
		assert.Contains(t, texts["Ida"], want)
		assert.NotContains(t, texts["Jo"], want)
	}
	assert.Equal(t, 1, strings.Count(texts["Ida"], "cue: trumpet solo"))
}
