package check

import (
	"cmp"
	"fmt"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var twoHandRoll = &Rule{
	Name:       "two-hand-roll",
	Severities: []Severity{Error, Compromise},
	Finds:      "a roll that needs both hands while the other is busy, or that one hand makes at a price",
	Means: `Most rolls are made hand to hand. While the other hand plays something else there is none, unless the instrument can
be rolled with one hand: two mallets near the edge of a suspended cymbal, a triangle in its corner. Where that is
done, it costs sound. A foot on a pedal does not roll.`,
	Why:    `A roll that becomes separate strokes is heard in the last row.`,
	Stands: `The ways of playing in the catalogue; published and common practice.`,
	Trips: `tempo 96
player Ida
  R timpani with timpani-mallet        | 1~4
  L woodblock clamped with snare-stick | 2
`,
	Passes: `tempo 96
player Ida
  R timpani with timpani-mallet        | 1~4 | -
  L woodblock clamped with snare-stick | -   | 2
`,
	each: true,
	Look: func(c *Context) {
		for k := range c.Conflicts(motion.NeedsTwo) {
			roll, other := k.A, k.B
			if roll.Kind != motion.RollOn || k.Full == other && other.Kind == motion.RollOn {
				roll, other = other, roll
			}
			c.AtConflict(k).With(limbOf(roll.Limbs&body.Hands)).Error("%s", noRoll(k.player, roll, other)).
				orAlone(roll.Cue).orOneHandRoll(roll).orLetGo(roll, other, releaseTime).orPlay(other.Cue, roll.Cue)
		}
		for _, g := range c.Changes(func(ch *motion.Change) bool { return stuck(ch) && rolls(ch) && !ch.To.Kind.Stops() && !ch.Walks }) {
			roll, other := g.From, g.To
			if other.Kind == motion.RollOn && other.T0 > roll.T0 {
				roll, other = other, roll
			}
			if rollsWithBoth(g.player, other) && !rollsWithBoth(g.player, roll) {
				roll, other = other, roll
			}
			if c.Once(g.player, [2]*motion.Event{roll, other}) { // with the one hand and with the other it is the same
				c.AtChange(&g).Error("%s's roll on the %s needs both hands, and one has to %s", g.player.Player.Name, roll.Item().Called(), toDo(other)).
					orOneHandRoll(roll).orLetGo(roll, other, releaseTime).orPlay(other.Cue, roll.Cue)
			}
		}
		for m, ch := range c.Chosen() {
			switch at := cmp.Or(ch.Roll, ch.First); {
			case !ch.Rolled:
			case !ch.Way.Rolls && ch.Way.Limb == kit.Foot:
				c.At(m, at).With(ch.Cue.Limb.Name()).Error("%s has no way to roll on the %s with a foot", m.Player.Name, ch.Cue.Item.Called()).orPlay(ch.Cue)
			case ch.Way.Hands != 1 || !ch.Way.Rolls || ch.Way.Costs == "" || ch.First.Limbs&body.Hands == body.Hands ||
				m.Player.Person.OneHandRoll == score.Cannot || ch.Cue.Beside != nil: // cannot-or-never says it, or it has been said above
			default:
				c.At(m, at).With(ch.Cue.Limb.Name()).Compromise("%s rolls on the %s with one hand: %s", m.Player.Name, ch.Cue.Item.Called(), ch.Way.Costs)
			}
		}
	},
}

// noRoll says why a roll of both hands is not to be had.
func noRoll(m *motion.Result, roll, other *motion.Event) string {
	in, beside := roll.Item().Called(), roll.Cue.Beside
	switch {
	case roll != other:
		return fmt.Sprintf("%s's roll on the %s needs both hands, and one has to %s", m.Player.Name, in, toDo(other))
	case beside != nil:
		return fmt.Sprintf("%s does not roll on the %s with one hand while that has the %s as well", m.Player.Name, in, beside.Name())
	}
	return fmt.Sprintf("%s has no way to roll on the %s as it is given here", m.Player.Name, in)
}

// rollsWithBoth says whether an event is a roll that takes both hands.
func rollsWithBoth(m *motion.Result, e *motion.Event) bool {
	return e.Kind == motion.RollOn && (e.Hands() == body.Hands || slices.ContainsFunc(m.Chosen, func(ch motion.Chosen) bool {
		return ch.Cue == e.Cue && ch.Rolled && motion.TakesBoth(e.Limbs, ch.Way, true)
	}))
}
