package words

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
)

func TestWrappingKeepsEveryWord(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		list := rapid.SliceOfN(rapid.StringMatching(`[a-zé]{1,12}`), 0, 40).Draw(t, "words")
		lines := Wrap(strings.Join(list, " "), 30)
		for _, l := range lines {
			if utf8.RuneCountInString(l) > 30 {
				t.Fatalf("%q is too long", l)
			}
		}
		if strings.Join(strings.Fields(strings.Join(lines, " ")), " ") != strings.Join(list, " ") {
			t.Fatalf("%q lost something of %q", lines, list)
		}
	})
}

func TestANumberStaysWithItsUnit(t *testing.T) {
	assert.Equal(t, []string{"there is", "0.25 s, and", "it needs", "0.98 s"}, Wrap("there is 0.25 s, and it needs 0.98 s", 11))
}
