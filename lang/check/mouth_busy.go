package check

import (
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
)

var mouthBusy = &Rule{
	Name:       "mouth-busy",
	Severities: []Severity{Error},
	Finds:      "two mouth sounds at once",
	Means:      `Two whistles, calls or horns are to be blown at the same moment by one player.`,
	Why:        `There is one mouth, and changing what is in it takes a hand.`,
	Stands:     `Exact musical time: no table is needed.`,
	Trips: `tempo 96
player Kim
  mouth police-whistle | 1~3
  mouth bird-whistle   | 2
`,
	Passes: `tempo 96
player Kim
  mouth police-whistle | 1~3 | -
  mouth bird-whistle   | -   | 2
`,
	each: true,
	Look: func(c *Context) {
		for k := range c.Conflicts(motion.SameLimb) {
			if k.B.Limbs&body.M != 0 && k.B.Limbs&body.Hands == 0 {
				c.AtConflict(k).With("mouth").Error("%s would have the %s and the %s in the mouth at once",
					k.player.Player.Name, k.A.Item().Called(), k.B.Item().Called()).orStandIn(k.A.Cue, k.B.Cue)
			}
		}
	},
}
