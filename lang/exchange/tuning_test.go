package exchange

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// What each kettle is tuned to stands once at the beginning, and each retuning
// behind the last stroke before it, and none of it comes in again as the
// piece's own words.
func TestRetuningsGoOutAsWords(t *testing.T) {
	text := `tempo 60
instrument pair
  called "Pair of timpani"
  family membrane
  kettle 74 F2 C3
  kettle 66 Bb2 F3
  way floor takes 2 hands with timpani-mallet
player Ida
  RL pair | 1:F2 2:C3 | - | 3:G2 4:D3
`
	data, _, err := MusicXML(check.Check("t.handful", syntax.Parse(text), check.Options{}), MusicXMLOptions{})
	require.NoError(t, err)
	out := string(data)
	second := strings.Index(out, `<measure number="2"`)
	require.Positive(t, second)
	for _, words := range []string{">pair of timpani: tune 1 to F2, 2 to C3<", ">tune 1 to G2<", ">tune 2 to D3<"} {
		assert.Equal(t, 1, strings.Count(out, words), words)
		assert.Contains(t, out[:second], words)
	}
	for _, line := range strings.Split(out, "\n") {
		if strings.Contains(line, "tune ") {
			assert.Contains(t, line, `id="handful-`)
		}
	}
}
