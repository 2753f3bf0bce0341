package exchange

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// A player's part is written as one reads it: a line for each thing and what
// stands on it, both hands on one thing as one voice, beams, hairpins, words
// once, rests of several bars as one.
func TestAPartAsItIsRead(t *testing.T) {
	text := "meter 4/4\ntempo 96\nbars 12\nmark A at 9\nplayer Ida\n" +
		"  RL snare-drum with snare-stick | \"snares on\" p cresc 1 1& 2 2& | f 1~ | ~4 | - x4\n" +
		"  from A\n  R triangle clipped with triangle-beater | mp 1 3 | - | - | 1\n  L woodblock with rubber-mallet | 2 4 | - x3\n  RF bass-drum-pedal | 1 | - x3\n"
	r := check.Check("x.handful", syntax.Parse(text), check.Options{})
	require.Empty(t, r.Score.Problems)
	data, told, err := MusicXML(r, MusicXMLOptions{})
	require.NoError(t, err)
	xml := string(data)
	for what, want := range map[string]string{
		"four lines":          "<staff-lines>4</staff-lines>",
		"what is on them":     "from the top: Tri., W.B., ",
		"beams":               `<beam number="1">begin</beam>`,
		"a hairpin":           `<wedge type="crescendo"`,
		"… and its end":       `<wedge type="stop"`,
		"words":               "<words>snares on</words>",
		"the hand":            "<fingering>L</fingering>",
		"a triangle's head":   "<notehead>triangle</notehead>",
		"a roll of a bar":     `<type>whole</type>`,
		"a rest of bars":      "<multiple-rest>",
		"the stems of a foot": `<voice>3</voice><type>quarter</type><stem>down</stem>`,
	} {
		assert.Contains(t, xml, want, what)
	}
	assert.Equal(t, 1, strings.Count(xml, "snares on"))
	first := strings.Split(strings.Split(xml, `<measure number="1">`)[1], "</measure>")[0]
	assert.NotContains(t, first, "<backup>", "hand to hand on one drum is one voice")
	assert.NotEmpty(t, told)
	back, lost, err := written.Text(data, written.Options{})
	require.NoError(t, err)
	assert.Empty(t, lost)
	is := score.Bind("is.handful", syntax.Parse(back), nil, score.Options{})
	assert.Empty(t, is.Problems, back)
	assert.Contains(t, back, `"snares on" p cresc 1`)
	assert.NotContains(t, back, "from the top", "what the export adds does not come in again")
}
