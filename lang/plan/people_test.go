package plan

import (
	"context"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// blockOf is a player's block of a plan, by its text alone.
func blockOf(text, player string) string {
	_, block, found := strings.Cut(text, "player "+player+"\n")
	if !found {
		return ""
	}
	if end := regexp.MustCompile(`(?m)^\S`).FindStringIndex(block); end != nil {
		block = block[:end[0]]
	}
	return block
}

const busy = `tempo 96
part "P"
  snare-drum | 1 2 3 4 | % x3
  triangle   | 1 3     | % x3
  marimba    | -       | 1 2 | - | -
  timpani    | -       | -   | 1 2 | -
`

// What a player's block says of the person stays word for word, and the plan
// asks nothing against it.
func TestAPlanAsksNobodyWhatTheyCannotOrNeverDo(t *testing.T) {
	const said = `  profile student
  hands R
  leads left
  rolls one-handed no
  holds four mallets no
  damps with forearm no
  never keyboards, timpani because "no ear for it"
  likes triangle
`
	p := planned(t, busy+"player Ida\n"+strings.Replace(said, "  leads left\n", "", 1)+"player Per\n  leads left\n  seated\n", Options{})
	clean(t, p)
	assert.Empty(t, p.Lost)
	ida, per := blockOf(p.Text, "Ida"), blockOf(p.Text, "Per")
	for _, line := range strings.Split(strings.TrimSpace(said), "\n") {
		if !strings.Contains(line, "leads") {
			assert.Contains(t, ida, strings.TrimSpace(line))
		}
	}
	assert.NotRegexp(t, `(?m)^  (L|RL|LR|R\+L) `, ida, "one hand is there")
	assert.NotRegexp(t, `(marimba|timpani) .*as written`, ida)
	assert.Regexp(t, `marimba .*as written`, per)
	assert.Contains(t, per, "seated")
	assert.NotRegexp(t, `(?m)^  RL `, per, "the left hand leads")
	again := planned(t, p.Text, Options{})
	assert.Zero(t, again.Moved)
	assert.Equal(t, ida, blockOf(again.Text, "Ida"))
}

func TestWhatNobodyPlaysIsLostWithThatReason(t *testing.T) {
	p := planned(t, busy+"player Ida\n  never timpani\n", Options{})
	clean(t, p)
	require.NotEmpty(t, p.Lost)
	for _, l := range p.Lost {
		if l.Line == "timpani" {
			assert.Equal(t, noPerson, l.Because)
		}
	}
	assert.True(t, ours(noPerson) && ours(noGear), "another plan thinks again")
}

func TestTheOneWhoLikesItGetsIt(t *testing.T) {
	for _, who := range []string{"Ida", "Per"} {
		text := "tempo 60\npart \"P\"\n  snare-drum | 1 2 3 4 | % x7\n  triangle   | 1 3 | % x7\nplayer Ida\n  hands R\nplayer Per\n  hands R\n"
		p := planned(t, strings.Replace(text, "player "+who+"\n", "player "+who+"\n  likes triangle\n", 1), Options{})
		clean(t, p)
		assert.Contains(t, blockOf(p.Text, who), "triangle", who)
	}
}

// Gear is a hard limit: no plan has more of a thing than there is, and what
// that costs is said.
func TestAPlanHasNoMoreGearThanThereIs(t *testing.T) {
	const music = `tempo 96
part "A"
  bass-drum | 1 2 3 4 | % x3
part "B"
  bass-drum | 1~2 3 4 | % x3
player Ida
  hands R
player Per
  hands R
`
	for gear, lost := range map[string]bool{"": false, "gear\n  2 bass-drum\n": false, "gear\n  1 bass-drum\n": true} {
		p, err := tryPlan(gear + music)
		require.NoError(t, err, gear)
		clean(t, p)
		assert.Equal(t, lost, len(p.Lost) > 0, gear)
		for _, l := range p.Lost {
			assert.Equal(t, noGear, l.Because, gear)
		}
	}
	_, err := tryPlan("gear\n  0 bass-drum\n" + music)
	assert.ErrorContains(t, err, "0 bass-drum (line 2)")
}

// Sticks and clamps are not reckoned with while the search goes on, but the
// judge is: what comes out keeps to them.
func TestAPlanKeepsToSticksAndClamps(t *testing.T) {
	const music = `tempo 96
part "A"
  snare-drum | 1 2 3 4 | % x3
  woodblock  | 1 3 | % x3
part "B"
  snare-drum | 1e 2e 3e 4e | % x3
  cowbell    | 2 4 | % x3
player Ida
player Per
`
	for _, gear := range []string{"gear\n  1 snare-stick\n", "gear\n  1 clamp\n", "gear\n  2 stand\n", "gear\n  1 table\n"} {
		p, err := tryPlan(gear + music)
		if err != nil {
			assert.Contains(t, err.Error(), "gear", gear)
			continue
		}
		clean(t, p)
	}
}

func tryPlan(text string) (Plan, error) {
	return File(context.Background(), "x.handful", syntax.Parse(text), Options{})
}

// The bound and its reasons count the hands that there are.
func TestTheBoundCountsTheHandsThatThereAre(t *testing.T) {
	const music = "tempo 96\npart \"P\"\n  snare-drum | 1 2 3 4 | %\n  triangle   | 1 2 3 4 | %\nplayer Ida\n"
	both := planned(t, music, Options{})
	assert.Zero(t, both.Bound)
	one := planned(t, music+"  hands L\n", Options{})
	clean(t, one)
	assert.Positive(t, one.Bound)
	assert.InDelta(t, one.Bound, one.Value, 1e-9)
	require.NotEmpty(t, one.Why)
	assert.Equal(t, 1, one.Why[0].Have)
	for _, l := range one.Lost {
		assert.Contains(t, l.Because, noHand)
	}
}

// There is one tambourine, and who has it plays it later: what is left out before is not
// left out for want of another.
func TestGearIsNoReasonForWhoHasIt(t *testing.T) {
	p := planned(t, `meter 4/4
tempo 106
bars 3
gear
  1 tambourine
  1 cowbell
  1 bass-drum
part "P1"
  tambourine | 1 | 1 2& 4 | 1 3
part "P2" matters much
  cowbell | 1 3 | 1 2& 4 | 1
part "P3"
  bass-drum | 1 2& 4 | - | 1& 2& 3&
player Ida
  kit
    tambourine held at ahead 50
    cowbell on stand at left 52 ahead 40
    bass-drum on stand at right 52 ahead 40
    table at ahead 25
`, Options{})
	clean(t, p)
	require.NotEmpty(t, p.Lost)
	for _, l := range p.Lost {
		assert.NotEqual(t, noGear, l.Because, "%s in %d to %d", l.Line, l.From, l.To)
	}
}
