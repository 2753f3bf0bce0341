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
	check: func(c *Context) {
		c.eachConflict(motion.BothHands, func(m *motion.Result, k conflictGroup) {
			full, other := k.A, k.B
			takesBoth := func(e *motion.Event) bool { return e == k.Full || k.Full == nil && fills(e) }
			if !takesBoth(full) {
				full, other = other, full
			}
			limb, because := limbOf(full.Limbs&other.Limbs), ""
			if takesBoth(full) {
				limb, because = "both hands", fmt.Sprintf(": the %s takes both hands", full.Item().Inst.Name())
			}
			f := c.conflict(m, k, limb, fmt.Sprintf("%s cannot %s and %s at once%s",
				m.Player.Name, toDo(full), toDo(other), because))
			got := c.report(f)
			c.proposeRelease(got, k.A, k.B, releaseTime)
			for _, e := range []*motion.Event{full, other} {
				if e.Cue != nil {
					c.proposeForCue(got, e.Cue, nil)
				}
			}
		})
		for _, g := range c.changes(stuck) {
			if g.To.Kind.Stops() || g.Walks || rolls(g.Change) {
				continue
			}
			holds := g.Before
			if holds.Inst == nil {
				holds = g.After
			}
			msg := fmt.Sprintf("%s's %s is not free to %s", g.player.Player.Name, g.Hand.Name(), toDo(g.To))
			if holds.Inst != nil {
				msg = fmt.Sprintf("%s's %s is wanted at once to hold the %s and to %s", g.player.Player.Name, g.Hand.Name(), holds.Inst.Inst.Name(), toDo(g.To))
				if holds == g.After {
					msg = fmt.Sprintf("%s's %s cannot hold the %s at the moment it is played: it is still busy", g.player.Player.Name, g.Hand.Name(), holds.Inst.Inst.Name())
				}
			}
			f := c.of(&g, Error, msg)
			f.Timed, f.Sums = false, nil
			got := c.report(f)
			if g.From != nil && g.From.Cue != nil {
				c.proposeForCue(got, g.From.Cue, nil)
			}
			if g.To.Cue != nil {
				c.proposeForCue(got, g.To.Cue, g.Change)
			}
		}
	},
}

// fills says whether an event's instrument is played with both hands full.
func fills(e *motion.Event) bool {
	return e.Cue != nil && (motion.Wanted(e.Cue) == kit.Held || e.Limbs&body.Hands == body.Hands)
}
