package plan

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// One stroke gives what several parts have in unison, where there are no hands to
// double it; where there are, everybody plays their own.
func TestUnisonIsPlayedOnceWhereHandsAreShort(t *testing.T) {
	text := "meter 2/4\ntempo 112\nbars 8\npart \"Percussion 1\"\n  snare-drum | f 1 1& 2 2& | % x7\npart \"Percussion 2\"\n  snare-drum | f 1 1& 2 2& | % x7\npart \"Percussion 3\"\n  bass-drum | f 1 2 | % x7\n"
	p := planned(t, text, Options{Players: 1})
	clean(t, p)
	assert.Empty(t, p.Lost)
	assert.Zero(t, p.Bound)
	assert.NotContains(t, p.Text, " of \"")
	p = planned(t, text, Options{Players: 3})
	clean(t, p)
	assert.Contains(t, p.Text, "as written of \"Percussion 1\"")
	assert.Contains(t, p.Text, "as written of \"Percussion 2\"")
}

// Where hands are short one hand gives what two parts have on one instrument in different rhythms,
// together, if it strikes no sooner than at ease; what is left out is counted by part.
func TestOneHandGivesTwoRhythmsOfOneInstrument(t *testing.T) {
	text := "tempo 80\nbars 4\npart \"Percussion 1\"\n  shaker | mf 1 3 4 | % x3\npart \"Percussion 2\"\n  shaker | mf 1 2& 3 | % x3\npart \"Percussion 3\"\n  snare-drum | mf 1 2 3 4 | % x3\n"
	p := planned(t, text, Options{Players: 1})
	clean(t, p)
	assert.Empty(t, p.Lost)
	assert.NotContains(t, p.Text, " of \"")
	p = planned(t, strings.ReplaceAll(text, "2&", "1+1/8"), Options{Players: 1}) // nobody shakes so soon again
	clean(t, p)
	assert.NotEmpty(t, p.Lost)
	p = planned(t, text+"part \"Percussion 4\" matters much\n  crash-cymbals | f 1 2 3 4 | % x3\n", Options{Players: 1})
	clean(t, p)
	assert.NotEmpty(t, p.Lost)
}

// Parts that are now in unison and now not: whatever is played once and whatever
// is left out, every written stroke is accounted for, and the plan of the plan is
// no worse.
func TestPartsThatAreSometimesInUnison(t *testing.T) {
	cells := []string{"1 3", "1 2 3 4", "2 4", "1~2 3", "1~2", "-"}
	united := 0
	for seed := range uint64(12) {
		rng := rand.New(rand.NewPCG(seed, 3))
		var b strings.Builder
		b.WriteString("tempo 100\nbars 8\nmark A at 5\n")
		for part, kind := range []string{"snare-drum", "snare-drum", "snare-drum", "woodblock", "cowbell"} {
			fmt.Fprintf(&b, "part \"P%d\"\n  %s", part+1, kind)
			for range 8 {
				b.WriteString(" | mf " + cells[rng.IntN(len(cells))])
			}
			b.WriteString("\n")
		}
		text := strings.ReplaceAll(b.String(), "mf -", "-")
		p := planned(t, text, Options{Players: 1})
		clean(t, p)
		again := planned(t, p.Text, Options{})
		clean(t, again)
		assert.LessOrEqual(t, again.Value, p.Value+1e-9, text)
		if strings.Count(p.Text, "snare-drum with")+strings.Count(p.Text, "snare-drum as") > strings.Count(p.Text, "of \"P") {
			united++
		}
	}
	assert.Positive(t, united)
}
