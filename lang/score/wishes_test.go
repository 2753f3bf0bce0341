package score

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const wished = `tempo 96
bars 16
part "One"
  snare-drum | 1 2 3 4 | % x15
  triangle | 1 | % x15
part "Two" matters 3 because "it has the tune"
  snare-drum | 1 2 3 4 | % x15
`

func TestHowMuchThingsMatter(t *testing.T) {
	s := bindText(`triangle matters little in 9-16 because "the piccolo has it"
snare-drum matters much in 5-8
snare drum matters 0.5 of "Two"
` + wished)
	assert.Empty(t, told(s))
	times := func(part, line string, bar int) float64 {
		if w := s.WorthOf(part, line, bar); w != nil {
			return w.Times
		}
		return 1
	}
	assert.InDelta(t, 1, times("One", "triangle", 8), 0)
	assert.InDelta(t, Little, times("One", "triangle", 9), 0)
	assert.InDelta(t, 1, times("One", "snare-drum", 1), 0)
	assert.InDelta(t, much, times("One", "snare-drum", 5), 0, "bars before none")
	assert.InDelta(t, 0.5, times("Two", "snare-drum", 1), 0, "a line before a part")
	assert.InDelta(t, much, times("Two", "snare-drum", 8), 0)
	assert.Equal(t, "the piccolo has it", s.WorthOf("One", "triangle", 9).Reason)
	below := bindText(wished + "triangle matters little\n")
	assert.Empty(t, told(below))
	assert.InDelta(t, Little, below.WorthOf("One", "triangle", 1).Times, 0, "Two has none")
	inside := bindText(strings.Replace(wished, "  triangle |", "  snare-drum matters little\n  triangle |", 1))
	assert.Empty(t, told(inside))
	assert.InDelta(t, Little, inside.WorthOf("One", "snare-drum", 1).Times, 0)
	assert.InDelta(t, 3, inside.WorthOf("Two", "snare-drum", 1).Times, 0, "what stands in a part is of that part")
}

func TestWhatStaysTogether(t *testing.T) {
	s := bindText(wished + "together snare-drum and triangle in 3-4 9-10 of \"One\" because \"one groove\"\n")
	assert.Empty(t, told(s))
	require.Len(t, s.Together, 2)
	assert.True(t, s.Together[1].Has("One", "triangle", 9))
	assert.False(t, s.Together[1].Has("Two", "snare-drum", 9))
	assert.False(t, s.Together[1].Has("One", "triangle", 8))
}

// What makes no sense is told at its place, and the rest holds.
func TestWishesThatMakeNoSense(t *testing.T) {
	for line, says := range map[string]string{
		"triangle matters 0":                                 "omit",
		"triangle matters 1000":                              "from 0.01 to 100",
		"triangle matters enormously":                        "little, much, or how many strokes",
		"triangle matters":                                   "much|little|TIMES",
		"matters 3":                                          "INSTRUMENT matters",
		"triangle matters 3 in 9-5":                          "runs backwards",
		"triangle matters 3 in 99":                           "99",
		"triangle matters 3 of \"Nine\"":                     "there is no part",
		"gong-a-long matters 3":                              "gong-a-long",
		"maracas matters 3":                                  "nothing is written for the maracas",
		"triangle matters 3 in 1-8\ntriangle matters 2 in 8": "in bar 8 is said already: 3",
		"part \"Two\" matters 2\nwoodblock | 1 2 3 4":        "how much this part matters is said already: 3",
		"together":                      "together INSTRUMENT",
		"together triangle and":         "together INSTRUMENT",
		"together triangle in 12-99":    "99",
		"together maracas":              "nothing is written for the maracas",
		"together triangle of \"Nine\"": "there is no part",
		"together triangle and snare-drum because \"x\" in 3": "together INSTRUMENT",
	} {
		s := bindText(wished + line + "\n")
		all := strings.Join(told(s), "\n")
		assert.Contains(t, all, says, line)
		assert.NotEmpty(t, s.Parts[0].Lines[0].Strokes, line)
		assert.InDelta(t, 3, s.WorthOf("Two", "snare-drum", 1).Times, 0, line)
	}
}
