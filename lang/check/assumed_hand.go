package check

import (
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var assumedHand = &Rule{
	Name:       "assumed-hand",
	Severities: []Severity{Info},
	Finds:      "which hand was chosen where the file says any, and which one joins a roll",
	Means: `The cue leaves the hand open. Both were tried, and the one whose changes cost less was taken. Or the cue names one
hand and has a roll that is made hand to hand: the other hand is there, free, and joins for it.`,
	Why:    `The player needs to know before the first rehearsal, and whoever moves another cue may turn the choice.`,
	Stands: `The same path as everything else.`,
	Trips: `tempo 96
player Ida
  any woodblock clamped | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  L woodblock clamped | 1 2 3 4
`,
	each: true,
	Look: func(c *Context) {
		for _, m := range c.Motions {
			for _, cue := range m.Player.Cues {
				if hand, ok := m.AnyHands[cue]; ok && cue.Limb == body.AnyHand && len(cue.Strokes) > 0 {
					c.AtCue(cue).With(hand.Name()).Info("%s plays the %s with the %s here", m.Player.Name, cue.Item.Called(), hand.Name()).
						Sure("write "+hand.String(), limbEdit(cue, hand))
				}
			}
			c.joinedRolls(m)
		}
	},
}

// joinedRolls says once for every instrument which hand joins the one that a
// cue names, for its rolls.
func (c *Context) joinedRolls(m *motion.Result) {
	lone := map[*score.Cue]bool{} // rolls that the other hand has no time for
	for _, k := range m.Conflicts {
		if k.Kind == motion.NeedsTwo {
			lone[k.A.Cue], lone[k.B.Cue] = true, true
		}
	}
	for _, ch := range m.Chosen {
		e, cue := ch.Roll, ch.Cue
		if e == nil || !ch.Rolled || !cue.Limb.IsHand() || ch.Way == nil || ch.Way.Mount == kit.Held || !motion.TakesBoth(e.Limbs, ch.Way, true) ||
			m.Player.Person.Without != 0 || lone[cue] || !c.Once(m, cue.Item.Inst) {
			continue
		}
		other := cue.Limb.Other()
		c.AtCue(cue).With(other.Name()).When(e.At()).Info("the roll on the %s takes both hands: %s's %s joins for it", cue.Item.Called(), m.Player.Name, other.Name())
	}
}
