package exchange

import (
	"context"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/plan"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// Written parts that come in, are planned, checked and sent out come in again
// as what the players play; and so does a piece whose players are named.
func TestWhatIsPlannedComesBack(t *testing.T) {
	came, _, err := written.Text(parade(t), written.Options{})
	require.NoError(t, err)
	planned, err := plan.File(context.Background(), "parade", syntax.Parse(came), plan.Options{Players: 2})
	require.NoError(t, err)
	weir, err := os.ReadFile("../../examples/weir.handful")
	require.NoError(t, err)
	// The weir's own parts, as a file, go the whole way for other players.
	file, _, err := MusicXML(checked(t, "../../examples/weir.handful"), MusicXMLOptions{})
	require.NoError(t, err)
	came, lost, err := written.Text(file, written.Options{})
	require.NoError(t, err)
	require.Empty(t, lost)
	anew, err := plan.File(context.Background(), "weir", syntax.Parse(came), plan.Options{Players: 2})
	require.NoError(t, err)
	for name, text := range map[string]string{"parade": planned.Text, "weir": string(weir), "weir for others": anew.Text} {
		t.Run(name, func(t *testing.T) {
			was := check.Check(name, syntax.Parse(text), check.Options{})
			require.Empty(t, was.Score.Problems)
			data, _, err := MusicXML(was, MusicXMLOptions{})
			require.NoError(t, err)
			back, lost, err := written.Text(data, written.Options{})
			require.NoError(t, err)
			assert.Empty(t, lost)

			is := score.Bind("is.handful", syntax.Parse(back), nil, score.Options{})
			assert.Equal(t, played(was.Score), ofParts(is))
			for bar := 1; bar <= was.Score.Grid.Last(); bar++ {
				assert.Equal(t, was.Score.Printed(bar), is.Printed(bar))
			}
			a, b := struckOn(was.Score), struckInParts(is)
			require.NotEmpty(t, a)
			assert.Equal(t, a, b)
		})
	}
}

// struckOn lists which bars, drums and notes the players strike, and when.
func struckOn(s *score.Score) (all []string) {
	for _, p := range s.Players {
		for _, c := range p.Cues {
			for i := range c.Strokes {
				all = append(all, fmt.Sprint(c.Item.Inst.ID, c.Strokes[i].At, c.StruckAt(i)))
			}
		}
	}
	slices.Sort(all)
	return all
}

// struckInParts is the same of what is written.
func struckInParts(s *score.Score) (all []string) {
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			for i := range l.Strokes {
				all = append(all, fmt.Sprint(l.Inst.ID, l.Strokes[i].At, l.StruckAt(i)))
			}
		}
	}
	slices.Sort(all)
	return all
}

// A bar in which a player has nothing on one of two staves has a rest there: a
// staff without anything could be one that was forgotten.
func TestEveryStaffOfABarHasSomething(t *testing.T) {
	r := check.Check("two.handful", syntax.Parse(`meter 4/4
tempo 1/4 = 90
bars 3
player Ada
  kit
    xylophone at ahead 50
    woodblock clamped at right 60 ahead 40
  RL xylophone | 1:C5 2:D5 | - | -
  R woodblock | - | 1 | -
`), check.Options{})
	require.Empty(t, r.Score.Problems)
	data, _, err := MusicXML(r, MusicXMLOptions{})
	require.NoError(t, err)
	bars := strings.Split(string(data), "<measure ")[1:]
	require.Len(t, bars, 3)
	for i, bar := range bars {
		for staff := 1; staff <= 2; staff++ {
			in := 0
			for _, note := range strings.Split(bar, "<note")[1:] {
				if strings.Contains(note, fmt.Sprintf("<staff>%d</staff>", staff)) {
					in++
				}
			}
			assert.Positive(t, in, "bar %d, staff %d", i+1, staff)
		}
	}
}
