package check

import (
	"fmt"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
)

var bothHandsFull = &Rule{
	Name:       "both-hands-full",
	Severities: []Severity{Error},
	Finds:      "an instrument that fills both hands, against anything else",
	Means: `Clash cymbals, held claves, sand blocks, a held triangle or tambourine with its beater take both hands for as long as
they are played. One of those hands is wanted elsewhere at the same moment.`,
	Why: `It is the commonest way in which a reduction fails, and the commonest to mend: clipped, clamped or laid on a pad the
instrument needs one hand less.`,
	Stands: `The ways of playing in the catalogue, and exact musical time.`,
	Trips: `tempo 120
player Ida
  R triangle held with triangle-beater | 1 2 3 4
  L woodblock clamped with snare-stick | 1 3
`,
	Passes: `tempo 120
player Ida
  R triangle clipped with triangle-beater | 1 3
  L woodblock clamped with snare-stick    | 1 3
`,
	each: true,
	Look: func(c *Context) {
		for k := range c.Conflicts(motion.BothHands) {
			full, other := k.A, k.B
			takesBoth := func(e *motion.Event) bool { return e == k.Full || k.Full == nil && fills(e) }
			if !takesBoth(full) {
				full, other = other, full
			}
			limb, because := limbOf(full.Limbs&other.Limbs), ""
			if takesBoth(full) {
				limb, because = "both hands", fmt.Sprintf(": the %s %s both hands", full.Item().Called(), full.Item().Inst.Verb("takes", "take"))
			}
			c.AtConflict(k).With(limb).Error("%s cannot %s and %s at once%s", k.player.Player.Name, toDo(full), toDo(other), because).
				orLetGo(k.A, k.B, releaseTime).orPlay(full.Cue, other.Cue)
		}
		for _, g := range c.Changes(stuck) {
			if g.To.Kind.Stops() || g.Walks || rolls(g.Change) {
				continue
			}
			f := c.AtChange(&g).Error("%s %s", g.who(), wantedToHold(&g))
			if g.From != nil {
				f.orPlay(g.From.Cue)
			}
			f.orPlayAfter(g.Change, g.To.Cue)
		}
	},
}

// wantedToHold says why a hand is not free for what it should do.
func wantedToHold(g *changeGroup) string {
	switch {
	case g.Before.Inst != nil:
		return fmt.Sprintf("is wanted at once to hold the %s and to %s", g.Before.Inst.Called(), toDo(g.To))
	case g.After.Inst != nil:
		return fmt.Sprintf("cannot hold the %s at the moment it is played: it is still busy", g.After.Inst.Called())
	}
	return "is not free to " + toDo(g.To)
}

// fills says whether an event's instrument is played with both hands full.
func fills(e *motion.Event) bool {
	return e.Cue != nil && (motion.Wanted(e.Cue) == kit.Held || e.Limbs&body.Hands == body.Hands)
}
