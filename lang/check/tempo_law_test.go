package check

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// Whatever tempo a piece gets, one after the other, and whatever is edited between, checking
// again finds what a check afresh finds, up to the same
// tempos.
func TestOtherTemposAreAsAFreshCheck(t *testing.T) {
	all, seeds := pieces(t), 1200
	if testing.Short() {
		seeds = 200
	}
	others, edits := 0, 0
	for seed := range seeds {
		rnd := rand.New(rand.NewPCG(uint64(seed), 53))
		text := all[(seed*11)%len(all)]
		last := Check("tempo.handful", syntax.Parse(text), Options{Score: score.Options{Remember: true}})
		for range 6 {
			was := text
			if edits++; rnd.IntN(5) == 0 {
				text = edited(rnd, text)
			} else if text = atAnyTempo(rnd, text); text == was {
				continue
			}
			fresh := checkText(text)
			fresh.Name = last.Name
			now := Recheck(last, syntax.Reparse(text, last.File))
			require.Equal(t, lines(fresh), lines(now), text)
			require.Equal(t, told(fresh), told(now), text)
			if now.Score.Grid == last.Score.Grid && !now.Score.Time.Equal(last.Score.Time) {
				others++
			}
			last = now
		}
	}
	require.Greater(t, others*3, edits, "few had nothing but another tempo of %d", edits)
}

// atAnyTempo says another tempo in one of the lines that say one.
func atAnyTempo(rnd *rand.Rand, text string) string {
	lines := strings.Split(text, "\n")
	var said []int
	for i, l := range lines {
		if strings.HasPrefix(l, "tempo ") {
			said = append(said, i)
		}
	}
	if len(said) == 0 {
		return text
	}
	i := said[rnd.IntN(len(said))]
	words := strings.Fields(lines[i])
	k := 1
	if at := slices.Index(words, "="); at > 0 && at+1 < len(words) {
		k = at + 1
	}
	if k < len(words) {
		words[k] = fmt.Sprint([]int{30, 48, 60, 72, 80, 100, 132, 160, 200, 264, 400}[rnd.IntN(11)])
	}
	lines[i] = strings.Join(words, " ")
	return strings.Join(lines, "\n")
}
