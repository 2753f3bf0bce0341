package score_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

func boundText(t *testing.T, text string) *score.Score {
	s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
	for _, p := range s.Problems {
		require.Fail(t, p.Message(), "line %d of\n%s", p.Where.Line+1, text)
	}
	return s
}

// struckOf is bar.count and what is struck there, stroke by stroke.
func struckOf(s *score.Score, strokes []score.Stroke, at func(int) *score.Struck) string {
	var out []string
	for i := range strokes {
		bar, count := s.Grid.Place(strokes[i].At)
		one := fmt.Sprintf("%d.%s", bar, count)
		if st := at(i); st != nil {
			var keys []string
			for _, k := range st.Keys {
				keys = append(keys, k.String())
			}
			one += ":" + strings.Join(keys, "+")
		}
		out = append(out, one)
	}
	return strings.Join(out, " ")
}

func TestStrokesCarryWhatTheyStrike(t *testing.T) {
	s := boundText(t, `part "P"
  xylophone | 1:C5 2 3:E5+G5 | % | 1:F#4~ | ~2 3:Bb4 | %2 |
  | - | 1:C6
player Ida
  RL xylophone as written in 2-4
  from 5
  R xylophone | 1:F#4 | 2 |
  from 8
  RL vibraphone for xylophone as written on 1
`)
	l := s.Parts[0].Lines[0]
	assert.Equal(t, "1.1:C5 1.2 1.3:E5+G5 2.1:C5 2.2 2.3:E5+G5 3.1:F#4 4.3:Bb4 5.1:F#4 6.3:Bb4 8.1:C6", struckOf(s, l.Strokes, l.StruckAt))
	p := s.Players[0]
	assert.Equal(t, "2.1:C5 2.2 2.3:E5+G5 3.1:F#4 4.3:Bb4", struckOf(s, p.Cues[0].Strokes, p.Cues[0].StruckAt))
	assert.Equal(t, "5.1:F#4 6.2", struckOf(s, p.Cues[1].Strokes, p.Cues[1].StruckAt))
	assert.Equal(t, "8.1:C6", struckOf(s, p.Cues[2].Strokes, p.Cues[2].StruckAt))
	text, ok := s.WriteBars(p.Cues[0])
	assert.True(t, ok)
	assert.Equal(t, "| 1:C5 2 3:E5+G5 | 1~:F#4 | ~2 3:Bb4", strings.TrimSpace(text))
}

func TestALineWithoutNotesCarriesNothing(t *testing.T) {
	s := boundText(t, "part \"P\"\n  xylophone | 1 2 | % |\nplayer Ida\n  R xylophone as written\n")
	assert.Nil(t, s.Parts[0].Lines[0].Struck)
	assert.Nil(t, s.Players[0].Cues[0].Struck)
}

// Every note of a chord is a stroke, and two players may share one.
func TestAChordCountsItsStrokes(t *testing.T) {
	const part = "part \"P\"\n  xylophone | 1:C5+E5+G5+C6 2:D5 |\n"
	for _, c := range []struct {
		cues                        string
		covered, uncovered, doubled int
	}{
		{"player Ida\n  R+L xylophone as written\n", 5, 0, 0},
		{"player Ida\n  RL xylophone | 1 2 |\n", 5, 0, 0},
		{"player Ida\n  RL xylophone | 1:C5+E5 2:D5 |\n", 3, 2, 0},
		{"player Ida\n  R xylophone | 1:C5+E5 2:D5 |\nplayer Per\n  R xylophone | 1:G5+C6 |\n", 5, 0, 0},
		{"player Ida\n  R xylophone | 1:C5+E5 2:D5 |\nplayer Per\n  R xylophone | 1:E5+C6 |\n", 4, 1, 1},
		{"player Ida\n  R xylophone | 1:C5+E5 2:D5 |\nplayer Per\n  R+L xylophone | 1 |\n", 5, 0, 1},
		{"player Ida\n  R+L xylophone | 1 2 |\nplayer Per\n  R xylophone | 1:E5 |\n", 5, 0, 1},
		{"player Ida\n  RL xylophone | 1:Db5+Fb5 2:D5 |\n", 2, 3, 0},
		{"player Ida\n  RL xylophone | 1:B4 2:Ebb5 |\n", 1, 4, 0},
	} {
		s := boundText(t, part+c.cues)
		assert.Equal(t, 5, s.Coverage.Written, c.cues)
		assert.Equal(t, c.covered, s.Coverage.Covered, c.cues)
		n := 0
		for _, g := range s.Coverage.Uncovered {
			for i := g.First; i <= g.Last; i++ {
				n += g.Missing(i)
			}
		}
		assert.Equal(t, c.uncovered, n, c.cues)
		assert.Len(t, s.Coverage.Doubled, c.doubled, c.cues)
	}
}

// A drum may be named or counted: it is one.
func TestDrumsOfASetAreOneByNameAndNumber(t *testing.T) {
	s := boundText(t, "part \"P\"\n  tom-toms | 1:high 2:3 3:low |\nplayer Ida\n  R tom-toms | 1:1 2:high 3:4 |\n")
	assert.Equal(t, 2, s.Coverage.Covered)
}

func TestPartsThatAreTakenTogetherMakeChords(t *testing.T) {
	s := boundText(t, `part "P"
  xylophone | 1:C5 2:D5 3 |
part "Q"
  xylophone | 1:E5 2:D5 3:F5 4 |
player Ida
  RL xylophone as written
`)
	c := s.Players[0].Cues[0]
	assert.Equal(t, "1.1:C5+E5 1.2:D5 1.3:F5 1.4", struckOf(s, c.Strokes, c.StruckAt))
	assert.Equal(t, 7, s.Coverage.Covered)
}
