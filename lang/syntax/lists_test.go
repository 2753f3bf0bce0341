package syntax

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The things of a list are parted by commas, by blanks or by both, and keep what
// they were written with.
func TestListsAreReadWithAndWithoutCommas(t *testing.T) {
	names := func(list []Listed) (out []string) {
		for _, n := range NamesOf(list) {
			out = append(out, n.Text)
		}
		return out
	}
	for text, want := range map[string][]string{
		"likes keyboards  triangle":                {"keyboards", "triangle"},
		"likes keyboards, triangle,":               {"keyboards", "triangle"},
		"never timpani,crash-cymbals":              {"timpani", "crash-cymbals"},
		`never timpani , bell because "too   far"`: {"timpani", "bell"},
	} {
		l := ParseLine(text)
		assert.Empty(t, l.Problems, text)
		switch s := l.Stmt.(type) {
		case *Likes:
			assert.Equal(t, want, names(s.What), text)
		case *Never:
			assert.Equal(t, want, names(s.What), text)
			for _, n := range NamesOf(s.What) {
				assert.Equal(t, n.Text, text[n.Span().Start:n.Span().End], "each name has its own place")
			}
		}
	}
	l := ParseLine(`2 snare-drum , 1 bass-drum "the hall's", 6 clamp`)
	assert.Empty(t, l.Problems)
	assert.Len(t, l.Stmt.(*Amounts).List, 3)
	assert.Equal(t, "the hall's", l.Stmt.(*Amounts).List[1].Whose.Value())
}

func TestListsInTheirCanonicalForm(t *testing.T) {
	for text, want := range map[string]string{
		"2   snare-drum,  6   clamp":                  "2 snare-drum, 6 clamp",
		`1 bass-drum   "the  hall's", 2 stand # ours`: `1 bass-drum "the  hall's", 2 stand  # ours`,
		"likes keyboards  triangle":                   "likes keyboards triangle",
		`never   with a or   b because "it dents"`:    `never with a or b because "it dents"`,
		"holds  four mallets   yes":                   "holds four mallets yes",
		"hands   R":                                   "hands R",
		"gear   # what the hall has":                  "gear  # what the hall has",
		"rolls   one-handed maybe":                    "rolls one-handed maybe",
		`2 snare-drum "never closed`:                  `2 snare-drum "never closed`,
		"likes":                                       "likes",
	} {
		rows := FormatLines(Parse(text))
		if assert.Len(t, rows, 1) {
			assert.Equal(t, want, strings.TrimLeft(rows[0], " "), text)
			assert.Equal(t, rows, FormatLines(Parse(rows[0])), "and it stays so")
		}
	}
}

func TestAGearBlockHoldsItsLines(t *testing.T) {
	f := Parse("gear\n2 snare-drum\ntitle \"x\"\n3 clamp\nplayer Ida\nseated\n")
	seats := f.Seats()
	assert.Equal(t, InGear, seats[1].Block)
	assert.Equal(t, InHead, seats[2].Block, "a statement of the head is one wherever it stands")
	assert.Equal(t, InGear, seats[3].Block)
	assert.Equal(t, InPlayer, seats[5].Block)
	assert.Equal(t, "gear\n  2 snare-drum\ntitle \"x\"\n  3 clamp\n\nplayer Ida\n  seated\n", Formatted(f.Text()))
}
