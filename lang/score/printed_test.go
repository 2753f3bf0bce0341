package score

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Numbers as an engraver gives them: a part that begins in the middle of a
// work, a bar put in between, and one that is split in two.
func TestNumbersInPrint(t *testing.T) {
	all := func(text string) string {
		s := clean(t, "bars 6\n"+text)
		var out []string
		for bar := s.Grid.First(); bar <= s.Grid.Last(); bar++ {
			out = append(out, s.Printed(bar))
		}
		return strings.Join(out, " ")
	}
	for text, want := range map[string]string{
		"":                       "1 2 3 4 5 6",
		"printed \"101\" at 1\n": "101 102 103 104 105 106",
		"printed \"4a\" at 5\n":  "1 2 3 4 4a 5",
		"printed \"2a\" at 3\nprinted \"\" at 4\nprinted \"9\" at 6\n": "1 2 2a  3 9",
		"printed \"9\" at 6\nprinted \"07\" at 1\n":                    "07 1 2 3 4 9",
		"pickup 1\nprinted \"1\" at 0\n":                               "1 2 3 4 5 6 7",
		"mark A at 3\nprinted \"50\" at A+1\n":                         "1 2 3 50 51 52",
	} {
		assert.Equal(t, want, all(text), text)
	}
	s := clean(t, "bars 3\nprinted \"101\" at 1\nprinted \"\" at 3\n")
	assert.Equal(t, " (in print 102)", s.InPrint(2))
	assert.Equal(t, " (no number in print)", s.InPrint(3))
	assert.Equal(t, []string{"102", "[3]"}, []string{s.OnPage(2), s.OnPage(3)})
	assert.Empty(t, clean(t, "bars 3\n").InPrint(2))
}

func TestNumbersThatCannotBe(t *testing.T) {
	for text, want := range map[string]string{
		"printed \"7\" at 9\n":                     "there is no bar 9",
		"printed \"7\" at 2.3\n":                   "a number stands at a bar, not within one",
		"printed \"7\" at 2\nprinted \"8\" at 2\n": "bar 2 has a number in print already",
		"printed \"12345678901234567\" at 2\n":     "at most 16 letters and digits",
		"printed 7 at 2\n":                         `write printed "101" at BAR`,
	} {
		s := bindText("bars 3\n" + text)
		if assert.NotEmpty(t, s.Problems, text) {
			assert.Contains(t, s.Problems[0].Message(), want, text)
		}
	}
}
