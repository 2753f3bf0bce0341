package score

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
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

// withExamples are some texts and those of the examples.
func withExamples(t *testing.T, texts ...string) []string {
	names, err := filepath.Glob("../../examples/*.handful")
	require.NoError(t, err)
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		texts = append(texts, string(text))
	}
	return texts
}

// editedAsWhole edits a text so many times: each score that takes over what it can from
// the one before is that of the whole text, to the last field.
func editedAsWhole(t *testing.T, text string, times int, edit func(lines []string, file *syntax.File) []string, each func(last, now *Score)) {
	lines := strings.Split(text, "\n")
	file := syntax.Parse(text)
	last := Bind("t", file, nil, Options{Remember: true})
	for range times {
		lines = edit(lines, file)
		file = syntax.Reparse(strings.Join(lines, "\n"), file)
		now := Bind("t", file, nil, Options{Remember: true, Earlier: last})
		fresh := Bind("t", syntax.Parse(file.Text()), nil, Options{})
		if each != nil {
			each(last, now)
		}
		if !reflect.DeepEqual(scored(fresh), scored(now)) {
			require.Equal(t, fresh.Coverage, now.Coverage, file.Text())
			require.Equal(t, fresh.Players, now.Players, file.Text())
			require.Equal(t, fresh.Parts, now.Parts, file.Text())
			require.Equal(t, fresh.Problems, now.Problems, file.Text())
			require.Equal(t, fresh.Omits, now.Omits, file.Text())
			t.Fatalf("something else in\n%s", file.Text())
		}
		last = now
	}
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
	seeds := 40
	if testing.Short() {
		seeds = 4
	}
	rebound, covered, edits := 0, 0, 0
	for n, text := range withExamples(t, everything, covering) {
		for seed := range seeds {
			rnd := rand.New(rand.NewPCG(uint64(n), uint64(seed)))
			editedAsWhole(t, text, 10, func(lines []string, _ *syntax.File) []string {
				otherBars(rnd, lines)
				return lines
			}, func(last, now *Score) {
				edits++
				if now.Grid == last.Grid {
					rebound++
					if len(now.Coverage.Uncovered)+len(now.Coverage.Doubled)+len(now.Coverage.Extra)+len(now.Coverage.Plainer) > 0 {
						covered++
					}
				}
			})
		}
	}
	require.Greater(t, rebound*3, edits, "few were rebound of %d", edits)
	require.Greater(t, covered*10, edits, "few had strokes that are not as written, of %d", edits)
}

// anyEdit changes a text in some line, or puts one in or takes one out: a remark, a
// bar, a line of the head, of a kit, a mark, one like another that is there.
func anyEdit(rnd *rand.Rand, lines []string) []string {
	i := rnd.IntN(len(lines))
	put := func(l string) { lines = slices.Insert(lines, i, l) }
	switch rnd.IntN(9) {
	case 0:
		put([]string{"", "# a remark", "  # one more"}[rnd.IntN(3)])
	case 1:
		put(lines[rnd.IntN(len(lines))])
	case 2:
		lines = slices.Delete(lines, i, i+1)
		if len(lines) == 0 {
			lines = []string{""}
		}
	case 3:
		put([]string{"  woodblock | \"dry\" - | 1", "    | \"wet\" 1 | 2", "  R woodblock as written", "  from 2", "tempo 96 from 2", "mark Z at 3", "  marimba | 1:C4 | % x2", "omit triangle in 1-2 because \"thin\"",
			"  R triangel | 1 2 | 3", "  L woodbl", "  R triangle as writen"}[rnd.IntN(11)])
	case 4, 5: // another number, in the head and in kits rather than in bars
		for range 8 {
			if !strings.Contains(lines[i], "|") && strings.ContainsAny(lines[i], "0123456789") {
				break
			}
			i = rnd.IntN(len(lines))
		}
		if at := strings.IndexAny(lines[i], "0123456789"); at >= 0 {
			lines[i] = lines[i][:at] + string(rune('1'+rnd.IntN(8))) + lines[i][at+1:]
		}
	case 6:
		lines[i] = strings.NewReplacer("dry", "wet", "wet", "dry", " left ", " right ", " right ", " left ", "  R ", "  L ").Replace(lines[i])
	default:
		otherBars(rnd, lines)
	}
	return lines
}

// Whatever is edited, the score that takes over what it can is that of the whole
// text, to the last field.
func TestAnyEditsMakeTheScoreOfTheWholeText(t *testing.T) {
	seeds := 60
	if testing.Short() {
		seeds = 8
	}
	if by, err := strconv.Atoi(os.Getenv("HANDFUL_FILES")); err == nil && by > 0 {
		seeds *= by
	}
	for n, text := range withExamples(t, everything, covering, goingOn) {
		for seed := range seeds {
			rnd := rand.New(rand.NewPCG(uint64(n), uint64(seed)))
			editedAsWhole(t, text, 10, func(lines []string, _ *syntax.File) []string { return anyEdit(rnd, lines) }, nil)
		}
	}
}

// goingOn has lines that go on over others, words where nothing is struck, and cues
// that take their strokes from several lines and of voices that others play too.
const goingOn = `meter 4/4
tempo 90
mark A at 5
bars 12
repeat 3-4
part "P"
  triangle | 1 2 | 3 | "dry" - | 1 2 3
    | 2 | 2
  # what goes on
    | 1 | % x2
  woodblock | 1 | 2 | % | "wet" -
  from A
  woodblock | 1 2 | 1:1 | 3 | 4
part "Q"
  from 2
  triangle | 1 | 2 | 3
  from A
  triangle | 1 | "dry" - | 1~ | ~1
    | 2
  marimba | 1:C4+E4 2:D4 | 3:E4 | - | %
omit triangle in 2-3 of "P" because "thin"
player Ida
  kit
    woodblock at left 30 ahead 40
    triangle at right 20 ahead 50
  R triangle as written of "P"
  L woodblock as written in 1-3
  from A
  L woodblock as written
player Eva
  kit
    triangle at left 40 ahead 30
  L triangle as written
  R woodblock | 1 | 2
  from A
  RL marimba as written
player Tam
  from 2
  R triangle as written on 1 of "Q"
  from A
  L cowbell for woodblock | 1 | 2
`

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
