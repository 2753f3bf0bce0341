package check

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Two things that one limb should do at once are said, whatever they are: also
// where neither of them is a stroke.
func TestTwoThingsAtOnceThatAreNoStrokes(t *testing.T) {
	for text, want := range map[string]string{
		"R turns page at 1.3\nR turns page at 1.3":                          "Ida's right hand should turn the page twice at once",
		"R damps triangle at 1.3\nR damps triangle at 1.3":                  "Ida's right hand should damp the triangle twice at once",
		"R damps triangle at 1.3\nR turns page at 1.3":                      "Ida's right hand has two things to do at once: damp the triangle, and turn the page",
		"R damps triangle at 1.3\nR damps suspended-cymbal at 1.3":          "Ida's right hand has two things to do at once: damp the triangle, and damp the suspended cymbal",
		"R turns page at 1.3\nR turns page at 1.3&":                         "", // that is a change too short
		"R turns page at 1.3\nL turns page at 1.3":                          "",
		"LF pedal-bass-drum | 1 2 3 4\nR turns page at 1.3\nR holds mallet": "",
	} {
		r := checkText("tempo 96\nplayer Ida\n  L triangle | 1\n  L suspended-cymbal | 2\n  " + strings.ReplaceAll(text, "\n", "\n  ") + "\n")
		var got []string
		for _, f := range found(r, handOverlap) {
			got = append(got, f.Message())
		}
		if want == "" {
			assert.Empty(t, got, text)
		} else {
			assert.Equal(t, []string{want}, got, text)
		}
		assert.Empty(t, found(r, bothHandsFull), text)
		r.Ceilings()
	}
}
