package syntax

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A list is written with one comma and one blank between its things.
func TestListsInTheirCanonicalForm(t *testing.T) {
	for text, want := range map[string]string{
		"2   snare-drum,6 clamp":                          "2   snare-drum,6 clamp", // two things in one word: left as it is, and reported
		"2   snare-drum , 6  clamp":                       "2 snare-drum, 6 clamp",
		"2 snare-drum 6 clamp,":                           "2 snare-drum, 6 clamp",
		`1 bass-drum   "the  hall's" 2 stand # ours`:      `1 bass-drum "the  hall's", 2 stand  # ours`,
		"likes keyboards  triangle":                       "likes keyboards, triangle",
		"never timpani,crash-cymbals":                     "never timpani, crash-cymbals",
		`never timpani , bell because "too   far"`:        `never timpani, bell because "too   far"`,
		`never with a or   b because "it dents"`:          `never with a or b because "it dents"`,
		"holds  four mallets   yes":                       "holds four mallets yes",
		"hands   R":                                       "hands R",
		"gear   # what the hall has":                      "gear  # what the hall has",
		"rolls   one-handed maybe":                        "rolls one-handed maybe",
		"damps with forearm no":                           "damps with forearm no",
		`2 snare-drum "never closed`:                      `2 snare-drum "never closed`,
		"likes":                                           "likes",
		"never because":                                   "never because",
		"3 of-these, and 4 of-those, and a lot of others": "3 of-these, and 4 of-those, and a lot of others",
	} {
		rows := FormatLines(Parse(text))
		if assert.Len(t, rows, 1) {
			got := rows[0]
			assert.Equal(t, want, trimmed(got), text)
			assert.Equal(t, rows, FormatLines(Parse(got)), "and it stays so")
		}
	}
}

func trimmed(s string) string {
	for len(s) > 0 && s[0] == ' ' {
		s = s[1:]
	}
	return s
}

func TestAGearBlockHoldsItsLines(t *testing.T) {
	f := Parse("gear\n2 snare-drum\ntitle \"x\"\n3 clamp\nplayer Ida\nseated\n")
	seats := f.Seats()
	assert.Equal(t, InGear, seats[1].Block)
	assert.Equal(t, InHead, seats[2].Block, "a statement of the head is one wherever it stands")
	assert.Equal(t, InGear, seats[3].Block)
	assert.Equal(t, InPlayer, seats[5].Block)
	assert.Equal(t, "gear\n  2 snare-drum\ntitle \"x\"\n  3 clamp\n\nplayer Ida\n  seated\n", Format(f))
}
