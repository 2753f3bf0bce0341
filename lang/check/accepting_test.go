package check

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// accepting writes the acceptance of something that is found, or takes one that is there
// away, moves it, makes it one of more places, or of something else.
func accepting(rnd *rand.Rand, r *Result) string {
	lines := strings.Split(strings.TrimRight(r.File.Text(), "\n"), "\n")
	var may []*syntax.Accept
	for i := range r.Findings {
		if a := r.Findings[i].Acceptance(); a != nil {
			may = append(may, a)
		}
	}
	at := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, "accept ") })
	switch n := rnd.IntN(7); {
	case n < 3 && len(may) > 0:
		a := may[rnd.IntN(len(may))]
		if rnd.IntN(3) == 0 {
			a.At, a.In = nil, nil
		}
		a.Reason = new(syntax.Quoted("rehearsed"))
		lines = append(lines, syntax.Print(a))
	case at < 0:
		return edited(rnd, r.File.Text())
	case n == 3:
		lines = slices.Delete(lines, at, at+1)
	case n == 4:
		lines = append(slices.Delete(lines, at, at+1), lines[at])
	case n == 5: // wherever it is, or of everybody
		said := strings.Fields(lines[at])
		if len(said) > 3 {
			lines[at] = strings.Join(slices.Delete(said, 2, 4), " ")
		}
	default:
		rules := Rules()
		_, rest, _ := strings.Cut(strings.TrimPrefix(lines[at], "accept "), " ")
		lines[at] = "accept " + rules[rnd.IntN(len(rules))].Name + " " + rest
	}
	return strings.Join(lines, "\n") + "\n"
}

// Whatever is accepted one after the other, and no longer, checking again finds what a check
// afresh finds, and takes as much of it out as accepted.
func TestWhatIsAcceptedIsAsInAFreshCheck(t *testing.T) {
	seeds := 6
	if testing.Short() {
		seeds = 1
	}
	met := 0
	for n, text := range pieces(t) {
		for seed := range seeds {
			rnd := rand.New(rand.NewPCG(uint64(n), 31+uint64(seed)))
			last := Check("edits.handful", syntax.Parse(text), Options{Score: score.Options{Remember: true}})
			for range 8 {
				now := accepting(rnd, last)
				fresh := checkText(now)
				last = Recheck(last, syntax.Reparse(now, last.File))
				require.Equal(t, lines(fresh), lines(last), "taken over:\n%s", now)
				require.Equal(t, told(fresh), told(last), "taken over:\n%s", now)
				if last.Accepted > 0 {
					met++
				}
			}
		}
	}
	require.Greater(t, met, 50)
}
