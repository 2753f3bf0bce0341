package check

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// titles are the fixes offered for the first finding of a rule.
func titles(t *testing.T, text string, rule *Rule) []string {
	r := checkText(text)
	got := found(r, rule)
	require.NotEmpty(t, got, text)
	var out []string
	for _, fix := range r.Fixes(got[0]) {
		out = append(out, fix.Title)
	}
	return out
}

func TestWhatIsOfferedForAChange(t *testing.T) {
	got := titles(t, `tempo 100
player Wren
  R snare-drum with snare-stick           | 1 2 3 | -
  R triangle clipped with triangle-beater | 3&    | -
`, shortChange)
	require.NotEmpty(t, got)
	assert.Equal(t, "play the triangle with the left hand", got[0], "the other hand is the best of them")
	assert.Equal(t, "accept it, with your reason", got[len(got)-1], "and to accept it the last")

	got = titles(t, `tempo 60
player Wren
  R snare-drum with snare-stick             | 1 | - | - | 1
  R woodblock clamped with rubber-mallet    | - | - | - | 3
  R takes rubber-mallet at 4.2+4/5
`, shortChange)
	assert.Contains(t, got, "take it earlier: as soon as the hand is free, not at 4.2+4/5")
}

func TestWhatIsOfferedForAGap(t *testing.T) {
	got := titles(t, `tempo 96
part "Percussion"
  triangle  | 1 3 | %
  woodblock | 2 4 | %
player Ida
  R triangle clipped as written
player Per
  R+L crash-cymbals | - | -
`, uncovered)
	assert.Contains(t, got, "give it to Ida's left hand")
	assert.Contains(t, got, "leave it out, with your reason")
}

// Nothing is offered that would only move the trouble elsewhere: with both
// hands taken, the other hand is no way out.
func TestWhatIsNotOffered(t *testing.T) {
	got := titles(t, `tempo 100
player Wren
  R snare-drum with snare-stick           | 1 2 3 | -
  R triangle clipped with triangle-beater | 3&    | -
  L woodblock clamped with rubber-mallet  | 1 1& 2 2& 3 3& 4 4& | 1
`, shortChange)
	assert.NotContains(t, got, "play the triangle with the left hand")
}
