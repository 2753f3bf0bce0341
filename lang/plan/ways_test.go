package plan

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// What a check accepts the planner knows: where somebody alone can play an
// instrument as it is usually played, a plan leaves nothing of it out.
func TestEveryInstrumentIsPlayedByAPlan(t *testing.T) {
	knows := 0
	for i, in := range kit.Standard().Instruments() {
		if testing.Short() && i%4 != 0 {
			continue
		}
		parts := fmt.Sprintf("tempo 60\nbars 4\npart \"P\"\n  %s | mf 1 | -3\n", in.ID)
		accepted := ""
		for _, limb := range []string{"R", "RL", "R+L", "RF", "mouth"} {
			cue := "player One\n  " + limb + " " + in.ID + " as written\n"
			if len(errorsOf(check.Check("x.handful", syntax.Parse(parts+cue), check.Options{}))) == 0 {
				accepted = cue
				break
			}
		}
		if accepted == "" {
			continue
		}
		p, err := File(context.Background(), "x.handful", syntax.Parse(parts), Options{Players: 1})
		require.NoError(t, err, in.ID)
		assert.Empty(t, p.Lost, "a check accepts\n%s%s", parts, accepted)
		knows++
	}
	assert.Greater(t, knows, 15)
}

// What is usually for two hands one hand plays where the other is busy, if the catalogue has
// a way for that, at what it costs in sound: one maraca, the castanets on their machine.
func TestOneHandPlaysWhatIsForTwoWhereTheOtherIsBusy(t *testing.T) {
	for _, line := range []string{"  snare-drum | 1& 2&\n", "  castanets | 1& 2& 3&\n"} {
		p := planned(t, "tempo 102\npart \"One\"\n  maracas | 1 2& 4\npart \"Two\"\n"+line, Options{Players: 1})
		clean(t, p)
		assert.Empty(t, p.Lost, line)
	}
}

// What can be strapped to a foot is, where both hands are busy and it would be lost else; whose
// hands are free plays it with them, and nobody has it both ways. A plan of that plan is the plan.
func TestWhatIsStrappedToAFootIsPlayedWhereNoHandIsFree(t *testing.T) {
	const busy = `tempo 100
part "P"
  snare-drum | mf 1 1& 2 2& 3 3& 4 4& | % | 1~4 | 1~4
  cowbell    | mf 1 2 3 4 | % | - | -
  tambourine | mf 2 4 | % | % | %
`
	p := planned(t, busy, Options{Players: 1})
	clean(t, p)
	assert.Empty(t, p.Lost)
	assert.Contains(t, p.Text, "    tambourine on body\n")
	assert.Contains(t, p.Text, "  RF tambourine on body as written\n")
	again := planned(t, p.Text, Options{})
	assert.Equal(t, p.Text, again.Text)

	more := planned(t, busy, Options{Players: 2})
	clean(t, more)
	assert.NotContains(t, more.Text, "RF ", "where there are hands for it")

	said := planned(t, busy+"player Ida\n  kit\n    tambourine on stand at left 31 ahead 49\n", Options{})
	clean(t, said)
	assert.NotEmpty(t, said.Lost, "the file says how it is fixed")
	assert.NotContains(t, said.Text, "on body")
}
