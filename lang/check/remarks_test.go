package check

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// A fix that takes a line out leaves what was remarked on it.
func TestAFixKeepsRemarks(t *testing.T) {
	r := Check("x", syntax.Parse(`tempo 96
part "P"
  woodblock | 1 3
player Ida
  R woodblock as written
omit woodblock in 1 because "so"  # ask the conductor
`), Options{})
	text, made := r.FixAll()
	require.Equal(t, 1, made, text)
	assert.NotContains(t, text, "omit")
	assert.Contains(t, text, "\n# ask the conductor\n")
}

// What an answer advises can be had at a keystroke: each reading is a fix.
func TestReadingsAreFixes(t *testing.T) {
	for line, want := range map[string][]string{
		"both snare-drum | 1 2":      {"write R+L snare-drum | 1 2: together", "write RL snare-drum | 1 2: in turn, right first", "write LR snare-drum | 1 2: in turn, left first"},
		"R snare-drum | 1^ 2":        {"write 1>"},
		"snare-drum with sticks | 1": {"write R snare-drum with sticks | 1"},
	} {
		r := Check("x", syntax.Parse("tempo 96\nplayer Ida\n  "+line+"\n"), Options{})
		var titles []string
		for i := range r.Findings {
			if f := &r.Findings[i]; f.Rule.Name == "syntax" {
				for _, fix := range r.Fixes(f) {
					titles = append(titles, fix.Title)
				}
			}
		}
		for _, w := range want {
			assert.Contains(t, titles, w, line)
		}
	}
}
