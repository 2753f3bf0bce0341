package motion

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

func TestWhatAPersonIsAbleTo(t *testing.T) {
	one := &kit.Way{Mount: kit.OnStand, Hands: 1}
	buzz := &kit.Way{Mount: kit.OnStand, Hands: 1, Rolls: true}
	pair := &kit.Way{Mount: kit.OnStand, Hands: 2, Rolls: true}
	held := &kit.Way{Mount: kit.Held, Hands: 2, With: []kit.Choice{{Implement: "triangle-beater"}}}
	shaken := &kit.Way{Mount: kit.Held, Hands: 1, Rolls: true, Shaken: true}
	pedal := &kit.Way{Limb: kit.Foot, Hands: 1}
	blown := &kit.Way{Limb: kit.Mouth, Mount: kit.Held, Hands: 1}
	single, two := kit.Choice{Implement: "a", Count: 1}, kit.Choice{Implement: "a", Count: 2}
	anybody, right, feet := score.Person{}, score.Person{Without: body.L}, score.Person{Without: body.Hands}
	noRolls, noGrip := score.Person{OneHandRoll: score.Cannot}, score.Person{FourMallets: score.Cannot}
	for _, c := range []struct {
		what  string
		who   score.Person
		limbs body.Limbs
		way   *kit.Way
		with  kit.Choice
		roll  bool
		want  bool
	}{
		{"anybody, anything", anybody, body.L, pair, two, true, true},
		{"the hand that is there", right, body.R, one, single, false, true},
		{"the hand that is not there", right, body.L, one, single, false, false},
		{"both hands", right, body.Hands, one, single, false, false},
		{"a roll hand to hand", right, body.R, pair, single, true, false},
		{"a stroke in a way for two hands", right, body.R, pair, single, false, true},
		{"a one-hand roll", right, body.R, buzz, single, true, true},
		{"held in one hand, struck with the other", right, body.R, held, single, false, false},
		{"a pedal without hands", feet, body.RF, pedal, single, false, true},
		{"a whistle without hands", feet, body.M, blown, single, false, false},
		{"a whistle with one", right, body.M, blown, single, false, true},
		{"no one-hand rolls", noRolls, body.R, buzz, single, true, false},
		{"no one-hand rolls: hand to hand", noRolls, body.R, pair, single, true, true},
		{"no one-hand rolls: shaken", noRolls, body.R, shaken, kit.Choice{}, true, true},
		{"no one-hand rolls: a stroke", noRolls, body.R, buzz, single, false, true},
		{"no two mallets in a hand", noGrip, body.R, one, two, false, false},
		{"one mallet in a hand", noGrip, body.R, one, single, false, true},
	} {
		assert.Equal(t, c.want, able(&c.who, c.limbs, c.way, c.with, c.roll), c.what)
	}
}

// With one hand for playing a roll is made by that hand where the instrument
// lets it; with two it is made hand to hand.
func TestTheRollOfOneHand(t *testing.T) {
	const music = "tempo 108\nplayer Ida\n  %R snare-drum with snare-stick | 1~4\n"
	for said, rolled := range map[string]int{"": 2, "hands R\n  ": 1, "hands R\n  rolls one-handed yes\n  ": 1} {
		_, m := solved(t, strings.Replace(music, "%", said, 1))
		assert.Len(t, m.Chosen, 1)
		assert.Equal(t, rolled, m.Chosen[0].Way.Hands, said)
		assert.Empty(t, m.Conflicts, said)
	}
}

// Who has one hand gets every cue for either hand there.
func TestEitherHandIsTheOneThatIsThere(t *testing.T) {
	_, m := solved(t, "tempo 96\nplayer Ida\n  hands L\n  any woodblock clamped with snare-stick | 1 2\n  any cowbell clamped with snare-stick | 3 4\n")
	assert.Len(t, m.AnyHands, 2)
	for _, hand := range m.AnyHands {
		assert.Equal(t, body.Left, hand)
	}
}
