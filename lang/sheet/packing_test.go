package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
)

func packed(t *testing.T, texts ...string) string {
	t.Helper()
	var results []*check.Result
	for _, text := range texts {
		results = append(results, checked("p.handful", text))
	}
	docs := Docs(results, Options{})
	for i := range docs {
		if docs[i].Kind == "packing" {
			return docs[i].Text()
		}
	}
	return ""
}

const twoDrums = `tempo 60
gear
  1 bass-drum "the hall's", 2 triangle
  3 clamp
player Ida
  R bass-drum with bass-drum-beater | 1 | -
  from 4
  R woodblock clamped               | 1
player Per
  R bass-drum with bass-drum-beater | 1 | -
  from 9
  R triangle                        | 1
player Lou
  R triangle                        | 1
`

// What is used stands beside what there is; a thing that goes from one player to
// another is counted once, and what is missing stands by itself.
func TestPackingCountsWhatIsUsedAgainstWhatThereIs(t *testing.T) {
	text := packed(t, twoDrums)
	for _, want := range []string{"2 concert bass drums – Ida, Per (of 1: the hall's)", "triangle – Per, Lou (of 2; handed over)", "clamp in all (of 3)"} {
		assert.Contains(t, text, want)
	}
	_, missing, found := strings.Cut(text, "Missing")
	require.True(t, found, text)
	missing, unnamed, _ := strings.Cut(missing, "Not named in the gear")
	assert.Contains(t, missing, "1 concert bass drum – 2 at once, and there is 1")
	assert.NotContains(t, missing, "triangle")
	assert.Contains(t, unnamed, "woodblock")
	assert.NotContains(t, strings.Split(unnamed, "And")[0], "triangle beater", "no stick is named in the gear, so that none is missed in it")
}

func TestPackingWithoutGearSaysNothingOfIt(t *testing.T) {
	text := packed(t, "tempo 60\nplayer Ida\n  R bass-drum | 1\n")
	assert.NotContains(t, text, "Missing")
	assert.NotContains(t, text, "Not named")
	assert.NotContains(t, text, "(of")
}

// Of what two pieces want, the most that one of them wants is missing.
func TestPackingTakesTheMostOfSeveralPieces(t *testing.T) {
	one := "tempo 60\ngear\n  1 bass-drum\nplayer Ida\n  R bass-drum | 1\n"
	text := packed(t, one, twoDrums)
	assert.Contains(t, text, "2 concert bass drums – Ida, Per (of 1")
	assert.Equal(t, 1, strings.Count(text, "2 at once, and there is 1"))
}
