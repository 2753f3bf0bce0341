package plan

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// Nobody is given a roll for much longer than it can be kept up: one hand buzzes on a
// snare drum for a second, and what takes both hands for eight bars is given to who has
// them, or left out; a short one by one hand is played.
func TestNobodyRollsForLongerThanItCanBeKeptUp(t *testing.T) {
	text := "meter 4/4\ntempo 100\nbars 8\npart \"One\"\n  snare-drum | ROLL\npart \"Two\"\n  triangle | 1 2 3 4 | % x7\n"
	long := strings.Replace(text, "ROLL", "f 1~ | ~ | ~ | ~ | ~ | ~ | ~ | ~4", 1)
	p := planOf(t, long, Options{Players: 1})
	for i := range p.Result.Findings {
		assert.NotEqual(t, "roll-too-long", p.Result.Findings[i].Rule.Name, "%s\n%s", p.Result.Findings[i].Message(), p.Text)
	}
	require.NotEmpty(t, p.Lost)
	for _, l := range p.Lost { // of later bars too, in which the roll only goes on
		assert.Contains(t, l.Because, noHand)
	}
	assert.NotContains(t, p.Text, "L snare-drum with")
	assert.Empty(t, planOf(t, long, Options{Players: 2}).Lost)
	assert.Empty(t, planOf(t, long, Options{Players: 1, AtTheEdge: true}).Lost, "who asks for what is only just possible gets it")
	assert.Empty(t, planOf(t, strings.Replace(text, "ROLL", "f 1~2", 1), Options{Players: 1}).Lost)

	// What somebody has written stays.
	kept := long + "player Ida\n  L snare-drum with snare-stick as written\n  R triangle clipped with triangle-beater as written\n"
	p = planOf(t, kept, Options{Keep: true})
	assert.Empty(t, p.Lost)
	require.Equal(t, len(errorsOf(check.Check("x.handful", syntax.Parse(kept), check.Options{}))), len(errorsOf(p.Result)))
}
