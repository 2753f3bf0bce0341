package score

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// quicker says another tempo in some line that says one, mostly for the same bars, or puts
// one in.
func quicker(rnd *rand.Rand, lines []string) []string {
	may := []int{}
	for i, l := range lines {
		if strings.HasPrefix(strings.TrimSpace(l), "tempo") {
			may = append(may, i)
		}
	}
	if len(may) == 0 || rnd.IntN(20) == 0 {
		put := []string{"tempo 96 from 2", "tempo 1/4 = 80", "tempo 60 to 90 over 2-3", "tempo 70 from B.2", "tempo 70 from A", "tempo 2 from 2", "  tempo 80", "tempo 1/8 = 200 from 99"}
		return slices.Insert(lines, rnd.IntN(len(lines)+1), put[rnd.IntN(len(put))])
	}
	i := may[rnd.IntN(len(may))]
	said := strings.Fields(lines[i])
	by := []string{"80", "72", "120.5", "1/8 = 150", "3/8 = 50", "60 to 90", "80 # slow"}
	if rnd.IntN(6) == 0 {
		by = []string{"1", "2000", "", "x", "1/4 =", "1/128 = 9"}
	}
	places := []string{"from 2", "from A", "from B", "from A.2", "over 2-3", "over A-B", "", "from 99", "from Q", "over 3-2", "from 0.9"}
	at := slices.IndexFunc(said, func(w string) bool { return w == "from" || w == "over" })
	place := ""
	if at >= 0 {
		place = strings.Join(said[at:], " ")
	}
	if rnd.IntN(4) == 0 {
		place = places[rnd.IntN(len(places))]
	}
	indent := lines[i][:strings.Index(lines[i], "t")]
	if rnd.IntN(4) == 0 {
		indent = []string{"", "  "}[rnd.IntN(2)]
	}
	lines[i] = strings.TrimRight(indent+"tempo "+by[rnd.IntN(len(by))]+" "+place, " ")
	return lines
}

const tempos = `title "Quick"
meter 4/4
tempo 1/4 = 90
tempo 100 from A
tempo 60 to 80 over A-B
mark A at 2
mark B at 4
bars 8
repeat 2-3
part "P"
  triangle | 1 2 | 3 | 1~ | 1 2 3
player Ida
  R triangle as written
  from B
  L woodblock | 1 | 2
player Eva
  L triangle as written in 2-4
tempo 66
tempo 90 to 60 over C-6
tempo 80 from D
mark C at 5
mark D at 7
player Tam
  L claves | 1
tempo 60
  R triangle | 1 | 2
`

const lateTempo = `meter 4/4
mark A at 3
bars 6
tempo 60 from A
player Ida
  R triangle | 1 2 | 3
  tempo 70
accept short-change at A because "so"
`

// Whatever tempos are said, and whatever is edited between, the score is that of the whole
// text, to the last field, and where only tempos are others nothing else of it is.
func TestOtherTemposMakeTheScoreOfTheWholeText(t *testing.T) {
	seeds := 20
	if testing.Short() {
		seeds = 5
	}
	alone, edits := 0, 0
	for n, text := range withExamples(t, tempos, lateTempo, everything, covering, goingOn, twoBlocks, namedLater) {
		for seed := range seeds {
			rnd := rand.New(rand.NewPCG(uint64(n), 31+uint64(seed)))
			var was *Score
			editedAsWhole(t, text, 12, func(lines []string, file *syntax.File) []string {
				if was != nil {
					was.Problems = append(was.Problems, Problem{Rule: "more", Where: Where{File: 9}}) // as others may
				}
				switch rnd.IntN(8) {
				case 0:
					if rnd.IntN(2) == 0 {
						return anyEdit(rnd, lines)
					}
				case 1:
					inABlock(rnd, lines, file.Seats())
					return lines
				}
				edits++
				return quicker(rnd, lines)
			}, func(last, now *Score) {
				was = now
				if now.Grid == last.Grid && !now.Time.Equal(last.Time) {
					alone++
					require.Len(t, now.Players, len(last.Players))
					for i, p := range now.Players {
						require.Same(t, last.Players[i], p)
					}
					for i := range now.Marks {
						require.NotSame(t, &last.Marks[i], &now.Marks[i])
					}
				}
			})
		}
	}
	require.Greater(t, alone*8, edits, "few had nothing but another tempo of %d", edits)
}
