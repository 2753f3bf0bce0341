package score

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// Whatever is accepted at the end of a piece, and whatever is edited between, the score is
// that of the whole text, to the last field.
func TestWhatIsAcceptedLeavesTheScoreAsItIs(t *testing.T) {
	seeds := 20
	if testing.Short() {
		seeds = 4
	}
	ends := []string{
		"accept short-change at 2 because \"rehearsed\"", "accept same-space because \"write why\"", "accept too-fast in A-B because \"it is\"",
		"accept too-fast at B.2 because \"slow there\"", "accept short-change of Eva because \"she can\"", "accept short-change of Nobody because \"who\"",
		"accept uncovered at 99 because \"late\"", "accept short-change at 2", "accept short-change because \"\"", "accept nothing-known because \"so\"",
		"accept short-change in Q because \"no such mark\"", "  accept late-cue because \"set in\"", "accept same-space because \"why\" # remark", "accept",
		"", "", "# the end", "omit triangle in 1-2 because \"thin\"", "mark Z at 3", "  R triangle | 1",
	}
	alone, edits := 0, 0
	for n, text := range withExamples(t, everything, covering, goingOn, twoBlocks, namedLater) {
		for seed := range seeds {
			rnd := rand.New(rand.NewPCG(uint64(n), 23+uint64(seed)))
			editedAsWhole(t, text, 12, func(lines []string, file *syntax.File) []string {
				switch rnd.IntN(8) {
				case 0:
					return anyEdit(rnd, lines)
				case 1:
					inABlock(rnd, lines, file.Seats())
					return lines
				case 2:
					return lines[:max(1, len(lines)-1-rnd.IntN(2))]
				}
				edits++
				end := []string{ends[rnd.IntN(len(ends))], ends[rnd.IntN(len(ends))]}[:1+rnd.IntN(2)]
				if last := len(lines) - 1; lines[last] == "" {
					lines = lines[:last]
					end = append(end, "")
				}
				return append(lines, end...)
			}, func(last, now *Score) {
				if len(now.Accepts) > len(last.Accepts) && now.Grid == last.Grid {
					alone++
				}
			})
		}
	}
	require.Greater(t, alone*6, edits, "few were nothing but accepted of %d", edits)
}

// Several pieces that accept something more than one piece have nothing of one another, and
// leave that as it is, whatever is edited in them then.
func TestPiecesThatAcceptMoreLeaveOneAnotherAlone(t *testing.T) {
	text := strings.Replace(strings.TrimRight(namedLater, "\n"), "mark D at 1", "mark D at 1\nmark E at 1\nmark F at 2", 1) + "\naccept short-change at 2 because \"so\"\naccept too-fast because \"so\"\naccept late-cue at B because \"\"\naccept too-fast at A because \"write why\"\n"
	file := syntax.Parse(text)
	base := Bind("t", file, nil, Options{Remember: true, Earlier: Bind("t", syntax.Parse(namedLater), nil, Options{Remember: true})})
	as := func(s *Score) {
		require.Equal(t, scored(Bind("t", syntax.Parse(s.Sources[0].File.Text()), nil, Options{})), scored(s), s.Sources[0].File.Text())
	}
	var all []*Score
	for _, end := range []string{"accept too-fast at E because \"it is\"", "accept late-cue in D-F because \"so\"", "accept same-space because \"why\"", "accept too-fast at E because \"\"\naccept short-change at C because \"so\""} {
		all = append(all, Bind("t", syntax.Reparse(text+end+"\n", file), nil, Options{Remember: true, Earlier: base}))
		require.Same(t, base.Grid, all[len(all)-1].Grid)
	}
	for _, s := range append(all, base) {
		as(s)
		is := s.Sources[0].File
		edited := strings.Replace(is.Text(), "  L cowbell | 1 | 2", "  L cowbell | 1 | 3", 1)
		require.NotEqual(t, is.Text(), edited)
		as(Bind("t", syntax.Reparse(strings.Replace(edited, "note \"here\" at C", "note \"here\"", 1), is), nil, Options{Remember: true, Earlier: s}))
	}
	as(base)
}
