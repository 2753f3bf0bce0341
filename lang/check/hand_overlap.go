package check

import (
	"fmt"

	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
)

var handOverlap = &Rule{
	Name:       "hand-overlap",
	Severities: []Severity{Error},
	Finds:      "one limb booked twice at once: stroke and stroke, stroke and roll, stroke and damp",
	Means: `Two lines give the same limb something to do at the same moment, or while its roll still goes on. The same limb may
have many lines, but they are one limb's music.`,
	Why:    `Nobody has a third hand; one of the two will be missing.`,
	Stands: `Exact musical time: no table is needed.`,
	Trips: `tempo 96
player Ida
  R snare-drum | 1 2~4
  R woodblock  | 3
`,
	Passes: `tempo 96
player Ida
  R snare-drum        | 1 2
  L woodblock clamped | 3
`,
	each: true,
	Look: func(c *Context) {
		for k := range c.Conflicts(motion.SameLimb) {
			if k.B.Limbs&body.M != 0 && k.B.Limbs&body.Hands == 0 {
				continue // mouth-busy speaks of that
			}
			shared := k.A.Limbs & k.B.Limbs
			if shared == 0 { // one of them is there for grace strokes
				shared = k.A.Hands() & k.B.Hands()
			}
			limb := limbOf(shared)
			held, struck := heldAndStruck(k)
			f := c.AtConflict(k).With(limb).Error("%s's %s %s%s", k.player.Player.Name, limb, bookedTwice(k), c.whyNotBoth(held, struck))
			f.orHoldBoth(k.player.Player, held, struck)
			f.orLetGo(k.A, k.B, releaseTime).orPlay(k.B.Cue)
			if k.A.Cue != nil && k.A.Cue != k.B.Cue {
				f.orOtherHand(k.A.Cue)
				f.orStandIn(k.A.Cue)
			}
		}
	},
}

// bookedTwice says what a limb has to do at once.
func bookedTwice(k *conflictGroup) string {
	first, then := toDo(k.A), toDo(k.B)
	switch {
	case k.A.T0 != k.B.T0:
		return fmt.Sprintf("is still busy with %s when it should %s", busyWith(k.A), then)
	case first == then:
		return fmt.Sprintf("should %s twice at once", first)
	}
	return fmt.Sprintf("has two things to do at once: %s, and %s", first, then)
}
