package score

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// scored is what a score says, without what it remembers for the next.
func scored(s *Score) *Score {
	c := *s
	c.rest, c.expanded, c.cues = nil, nil, nil
	if len(c.Problems) == 0 {
		c.Problems = nil
	}
	return &c
}

// otherBars puts something else into some bar.
func otherBars(rnd *rand.Rand, lines []string) {
	var may []int
	for i, l := range lines {
		if strings.Contains(l, "|") {
			may = append(may, i)
		}
	}
	if len(may) == 0 {
		return
	}
	i := may[rnd.IntN(len(may))]
	bars := strings.Split(lines[i], "|")
	k := 1 + rnd.IntN(len(bars)-1)
	is := []string{" 1 ", " 2 ", " 1 2 ", " - ", " ff 1~ ", " 1 2& 3 ", " > 1 ", " 1~2 ", " % ", " 2. ", " \"dry\" 1 ", " r1 ", " 1:C4 2:D4+E4 ", " 9 ", " 1 1 ", bars[k] + " # why "}
	bars[k] = is[rnd.IntN(len(is))]
	lines[i] = strings.Join(bars, "|")
	if rnd.IntN(8) == 0 { // and something else at once
		i := rnd.IntN(len(lines))
		lines[i] = strings.Replace(lines[i], "  R ", "  L ", 1)
	}
}

// A score in which other bars were put is the score of the text that has them, to
// the last field, however often it is done.
func TestOtherBarsMakeTheScoreOfTheWholeText(t *testing.T) {
	names, err := filepath.Glob("../../examples/*.handful")
	require.NoError(t, err)
	texts := []string{everything, covering}
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		texts = append(texts, string(text))
	}
	seeds := 40
	if testing.Short() {
		seeds = 4
	}
	rebound, covered, edits := 0, 0, 0
	for n, text := range texts {
		for seed := range seeds {
			rnd := rand.New(rand.NewPCG(uint64(n), uint64(seed)))
			lines := strings.Split(text, "\n")
			file := syntax.Parse(text)
			last := Bind("t", file, nil, Options{Remember: true})
			for range 10 {
				otherBars(rnd, lines)
				file = syntax.Reparse(strings.Join(lines, "\n"), file)
				now := Bind("t", file, nil, Options{Remember: true, Earlier: last})
				fresh := Bind("t", syntax.Parse(file.Text), nil, Options{})
				edits++
				if now.Grid == last.Grid {
					rebound++
					if len(now.Coverage.Uncovered)+len(now.Coverage.Doubled)+len(now.Coverage.Extra)+len(now.Coverage.Plainer) > 0 {
						covered++
					}
				}
				if !reflect.DeepEqual(scored(fresh), scored(now)) {
					require.Equal(t, fresh.Coverage, now.Coverage, file.Text)
					require.Equal(t, fresh.Players, now.Players, file.Text)
					require.Equal(t, fresh.Parts, now.Parts, file.Text)
					require.Equal(t, fresh.Problems, now.Problems, file.Text)
					require.Equal(t, fresh.Omits, now.Omits, file.Text)
					t.Fatalf("something else in\n%s", file.Text)
				}
				last = now
			}
		}
	}
	require.Greater(t, rebound*3, edits, "few were rebound of %d", edits)
	require.Greater(t, covered*10, edits, "few had strokes that are not as written, of %d", edits)
}

const covering = `meter 4/4
tempo 90
bars 6
repeat 3-4
part "P"
  triangle | 1 2 | 3 | 1~ | 1 2 3
    | 2 | 2
  woodblock | 1 | 2 | % | -
part "Q"
  from 2
  triangle | 1 | 2 | 3
  marimba | 1:C4+E4 2:D4 | 3:E4 | -
omit triangle in 2-3 of "P" because "thin"
omit woodblock because "none"
player Ida
  R triangle as written of "P"
  L woodblock | 1 | 2
  from 3
  L triangle | 1 | 2 | 3
player Eva
  L triangle as written in 2-4
  R cowbell for woodblock | 1 | 2
  RL marimba | 1:C4 | -
player Tam
  from 2
  R triangle as written on 1 of "Q"
`
