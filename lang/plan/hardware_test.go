package plan

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const cornerRoll = `tempo 84
part "P"
  triangle  | 1 2 | 1~2 | -
  woodblock | 1 2 3 4 | % x2
player Odo
`

// With the usual hardware a roll on the triangle takes both hands. That a second clip
// would free one is said, tried and true: whose gear has one gets that plan.
func TestWhatASecondClipWouldBringBackIsSaid(t *testing.T) {
	p := planned(t, cornerRoll, Options{Sentences: true})
	clean(t, p)
	require.Len(t, p.Lost, 1)
	assert.Equal(t, "no hand is free beside woodblock, without a second clip", p.Lost[0].Because)
	require.Len(t, p.Sentences, 3)
	assert.Contains(t, p.Sentences[2], "a second clip for the triangle: all of it")
	assert.NotContains(t, p.Text, "second-clip", "what is not there is not assumed")
	require.NotEmpty(t, p.Why)
	assert.Contains(t, p.Why[0].Words, "the triangle (both hands, without a second clip)")

	has := planned(t, cornerRoll+"gear\n  1 woodblock, 1 triangle, 2 clip, 1 second-clip\n", Options{})
	clean(t, has)
	assert.Empty(t, has.Lost)
	assert.Zero(t, has.Bound)
	assert.Contains(t, has.Text, "\n    second-clip\n")

	kept := planned(t, strings.Replace(cornerRoll, "player Odo\n", "player Odo\n  kit\n    triangle clipped at left 31 ahead 49\n    second-clip\n", 1), Options{Keep: true})
	clean(t, kept)
	assert.Empty(t, kept.Lost)
	assert.Equal(t, 1, strings.Count(kept.Text, "second-clip"), kept.Text)
}

// What is left out is counted as what is written is: a chord as its notes.
func TestAChordThatIsLeftOutCountsItsNotes(t *testing.T) {
	p := planned(t, `tempo 90
part "P"
  xylophone  | 1:C5+E5 2 | -
  snare-drum | 1~3 | 1
player Odo
  never xylophone because "it is not his"
`, Options{})
	require.Len(t, p.Lost, 1)
	assert.Equal(t, p.Result.Score.Coverage.Omitted, p.Lost[0].Strokes)
	assert.Equal(t, 3, p.Lost[0].Strokes)
}

// What is said to be too little is what whoever subtracts comes to.
func TestWhatIsTooLittleIsTheDifferenceOfWhatIsSaid(t *testing.T) {
	assert.Equal(t, "1.43 s where it takes 1.53 s, 0.10 s too little", tooLittle(1.4251, 1.5349))
	assert.Equal(t, "0.50 s where it takes 0.50 s, less than 0.01 s too little", tooLittle(0.4996, 0.5004))
}
