package written

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// Sticking without a note, a ring that is stopped before anything rings, and a
// pause behind everything are listed, with the number that their bar has here.
func TestWhatHasNothingToStandOnIsListed(t *testing.T) {
	full := quarters("S", 4)
	left := "<notations><technical><fingering>L</fingering></technical></notations>"
	repeated := `<attributes><measure-style><measure-repeat type="start">1</measure-repeat></measure-style></attributes><forward><duration>48</duration></forward>`
	for what, c := range map[string]struct {
		bars []string
		want string
		said []string
	}{
		"sticking over a rest":       {[]string{full, rst(12) + words("R") + rst(12) + quarters("S", 2)}, "| 1 2 3 4 | 3 4", []string{`Percussion, bar 2, line 1: the sticking "R" where no note stands`}},
		"sticking behind the notes":  {[]string{full, full + words("L")}, "| 1 2 3 4 | %", []string{`bar 2, line 1: the sticking "L" where no note stands`}},
		"sticking twice over rests":  {[]string{words("R") + rst(48), words("R") + rst(48), full}, "| -2 | 1 2 3 4", []string{`bar 1, line 1: the sticking "R" where no note stands (and 1 times more)`}},
		"in a pickup":                {[]string{`implicit="yes"@` + words("R") + rst(12) + n("S", 12), full, full}, "| 4 | 1 2 3 4 | %", []string{`bar 0, line 1: the sticking "R" where no note stands`}},
		"two hands for one note":     {[]string{words("L") + words("R") + full}, "| 1L 2 3 4", []string{`bar 1, line 1: the sticking "R" at a note that has the other hand already`}},
		"against its own hand":       {[]string{words("R") + n("S", 12, left) + rst(36)}, "| 1L", []string{`the sticking "R" at a note that has the other hand already`}},
		"its own hand in words":      {[]string{words("L") + n("S", 12, left) + rst(36)}, "| 1L", nil},
		"said twice":                 {[]string{words("L") + words("L.") + full}, "| 1L 2 3 4", nil},
		"in a bar that is repeated":  {[]string{words("R") + full, repeated}, "| 1R 2 3 4 | %", nil},
		"damped before anything":     {[]string{words("damp") + full, full}, "| 1 2 3 4 | %", []string{`bar 1, line 1: "damp" where nothing has been struck yet`}},
		"a sign to damp all":         {[]string{rst(24) + said("<damp-all/>") + rst(24), full}, "| - | 1 2 3 4", []string{`bar 1, line 1: "damp-all" where nothing has been struck yet`}},
		"damped, what it has not":    {[]string{full, words("damp triangle") + full}, "| 1 2 3 4 | %", []string{`bar 2, line 1: "damp triangle" in a part that does not have it`}},
		"damped at the very end":     {[]string{full, n("T", 48) + words("damp")}, "| - | 1", []string{`bar 2, line 1: "damp" at the very end`}},
		"damped twice at one place":  {[]string{n("T", 12) + words("damp") + words("étouffez") + rst(36)}, "| 1 2x", nil},
		"damped by name":             {[]string{n("T", 12) + n("S", 12) + words("damp triangle") + rst(24)}, "triangle   | 1 3x", nil},
		"damped: the last one":       {[]string{n("T", 12) + n("S", 12) + words("damp") + rst(24)}, "snare-drum | 2 3x", nil},
		"damped: all":                {[]string{n("T", 12) + n("S", 12) + words("damp it all") + rst(24)}, "snare-drum | 2 3x", nil},
		"a caesura behind the piece": {[]string{full, quarters("S", 3) + n("S", 12, "<notations><articulations><caesura/></articulations></notations>")}, "| 1 2 3 4 | %", []string{"bar 2: a caesura behind the last note"}},
	} {
		text, lost, err := Text([]byte(measures(c.bars...)), Options{})
		require.NoError(t, err, what)
		assert.Contains(t, text, c.want, what)
		if assert.Len(t, lost, len(c.said), "%s: %v", what, lost) {
			for i, w := range c.said {
				assert.Contains(t, fmt.Sprint(lost[i]), w, what)
			}
		}
		assert.Empty(t, score.Bind("x.handful", syntax.Parse(text), nil, score.Options{}).Problems, "%s:\n%s", what, text)
	}
}

// A part without notes that nothing says is for percussion is left out, and what
// stands in it is listed; so are dynamics of one for percussion.
func TestWhatStandsInAPartWithoutNotesIsListed(t *testing.T) {
	inside := words("listen here") + said("<dynamics><ff/></dynamics>") + words("R") + words("damp") + rst(48)
	file := func(clef string) string {
		return strings.NewReplacer("</part-list>", `<score-part id="P2"><part-name>Tacet</part-name></score-part></part-list>`,
			"</score-partwise>", `<part id="P2"><measure number="1"><attributes><divisions>12</divisions>`+clef+`</attributes>`+rst(48)+`</measure><measure number="2">`+inside+`</measure></part></score-partwise>`).
			Replace(measures(quarters("S", 4), quarters("S", 4)))
	}
	_, lost, err := Text([]byte(file("")), Options{})
	require.NoError(t, err)
	for _, w := range []string{`"listen here"`, "ff", `"damp"`, `the sticking "R"`} {
		assert.Regexp(t, "Tacet, bar 2(, line 1)?: "+w+" in a part without notes", fmt.Sprint(lost))
	}
	text, lost, err := Text([]byte(file(`<clef><sign>percussion</sign></clef>`)), Options{})
	require.NoError(t, err)
	assert.Contains(t, text, `note "Tacet: listen here" at 2.1`)
	for _, w := range []string{"ff", `"damp"`, `the sticking "R"`} {
		assert.Regexp(t, "Tacet, bar 2(, line 1)?: "+w, fmt.Sprint(lost))
	}
}

// A part that is damped behind each of its many strokes takes time in
// proportion: this one took more than a minute when each stop looked at every stroke.
func TestManyStopsAreRead(t *testing.T) {
	bar := strings.Repeat(n("T", 1)+words("damp")+rst(1), 24)
	bars := make([]string, 2000)
	for i := range bars {
		bars[i] = bar
	}
	w, err := Read([]byte(measures(bars...)), Options{})
	require.NoError(t, err)
	stops := 0
	for _, s := range w.Parts[0].Lines[0].Strokes {
		if s.Flags.has(Stop) {
			stops++
		}
	}
	assert.Equal(t, 24*len(bars), stops)
}
