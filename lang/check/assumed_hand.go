package check

import (
	"fmt"

	"handful/lang/score"
)

var assumedHand = &Rule{
	Name:       "assumed-hand",
	Severities: []Severity{Info},
	Finds:      "which hand was chosen where the file says any",
	Means:      `The cue leaves the hand open. Both were tried, and the one whose changes cost less was taken.`,
	Why:        `The player needs to know before the first rehearsal, and whoever moves another cue may turn the choice.`,
	Stands:     `The same path as everything else.`,
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
				if cue.Limb != score.AnyHand || !ok {
					continue
				}
				f := Finding{Severity: Info, Where: cue.Where, Player: m.Player.Name, Limb: hand.Name(),
					Message: fmt.Sprintf("%s plays the %s with the %s here", m.Player.Name, cue.Item.Inst.Name(), hand.Name())}
				if len(cue.Strokes) > 0 {
					f.place(c.Score, cue.Strokes[0].At)
				}
				c.report(f).propose("write "+hand.String(), false, limbEdit(cue, hand.String()))
			}
		}
	},
}
