package check

import (
	"fmt"

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
	check: func(c *Context) {
		for _, m := range c.Motions {
			for _, cue := range m.Player.Cues {
				hand, ok := m.AnyHands[cue]
				if cue.Limb != body.AnyHand || !ok || len(cue.Strokes) == 0 {
					continue
				}
				f := Finding{Severity: Info, Where: cue.Where, Player: m.Player.Name, Limb: hand.Name(),
					Message: fmt.Sprintf("%s plays the %s with the %s here", m.Player.Name, cue.Item.Inst.Name(), hand.Name())}
				f.place(c.Score, cue.Strokes[0].At)
				c.report(f).propose("write "+hand.String(), false, limbEdit(cue, hand))
			}
			c.joinedRolls(m)
		}
	},
}

// joinedRolls says once for every instrument which hand joins the one that a
// cue names, for its rolls.
func (c *Context) joinedRolls(m *motion.Result) {
	seen := map[*kit.Instrument]bool{}
	lone := map[*score.Cue]bool{} // rolls that the other hand has no time for
	for _, k := range m.Conflicts {
		if k.Kind == motion.NeedsTwo {
			lone[k.A.Cue], lone[k.B.Cue] = true, true
		}
	}
	for _, ch := range m.Chosen {
		e, cue := ch.Roll, ch.Cue
		if e == nil {
			continue
		}
		if !ch.Rolled || !cue.Limb.IsHand() || ch.Way == nil || ch.Way.Mount == kit.Held || !motion.TakesBoth(e.Limbs, ch.Way, true) ||
			m.Player.Person.Without != 0 || lone[cue] || seen[cue.Item.Inst] {
			continue
		}
		seen[cue.Item.Inst] = true
		other := body.Left - cue.Limb // Right is 0, Left is 1
		f := Finding{Severity: Info, Where: cue.Where, Player: m.Player.Name, Limb: other.Name(),
			Message: fmt.Sprintf("the roll on the %s takes both hands: %s's %s joins for it", cue.Item.Inst.Name(), m.Player.Name, other.Name())}
		f.place(c.Score, e.At())
		c.report(f)
	}
}
