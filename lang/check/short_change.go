package check

import (
	"fmt"

	"handful/lang/motion"
)

var shortChange = &Rule{
	Name:       "short-change",
	Severities: []Severity{Error, Warning},
	Finds:      "a gap that cannot hold laying, going, taking and settling",
	Means: `Between two things that one hand does lies a gap. In it the hand has to lay what it holds, get to
where the next thing is, take it, and bring it to the instrument. Below the floor, the fastest that people
have been measured to do it, the change cannot be made: an error. Between the floor and the steady pace it
can, by someone who has practised it and does nothing else meanwhile: a warning, with the tempo at which it
becomes steady.`,
	Why: `A change that does not fit is found at the first rehearsal, in front of everybody, and there is no time
left to find another stick, another clip or another player.`,
	Stands: `Moves: Fitts 1954. Laying, taking and carrying: MTM-1 (Maynard, Stegemerten & Schwab 1948). Which
motions a change is made of is modelled; one transition is good to perhaps 30 % either way.`,
	Trips: `tempo 120
player Ida
  R snare-drum with snare-stick           | 1 2 3
  R triangle clipped with triangle-beater | 3&
`,
	Passes: `tempo 120
player Ida
  R snare-drum with snare-stick           | 1 2 3 | -
  R triangle clipped with triangle-beater | -     | 4
`,
	check: func(c *Context) {
		for _, g := range c.changes(func(ch *motion.Change) bool {
			return (ch.Short() || ch.Tight()) && ch.To.Kind != motion.Stop
		}) {
			if g.seam || stuck(g.Change) {
				continue // the seam, two-places and both-hands-full rules speak of these
			}
			sev, verdict := Error, "needs at least "+seconds(g.Need.Floor)
			if g.Tight() {
				sev = Warning
				verdict = fmt.Sprintf("is tight: %s at an easy pace, %s at the fastest", seconds(g.Need.Steady), seconds(g.Need.Floor))
			}
			f := c.report(c.of(&g, sev, fmt.Sprintf("%s's %s has %s to %s, and that %s",
				g.player.Player.Name, g.Hand.Name(), seconds(max(0, g.Window)), Doing(g.Change), verdict)))
			c.proposeForChange(f, &g)
		}
	},
}

// stuck says whether a change fails because the hand is not free at all,
// rather than for want of time.
func stuck(ch *motion.Change) bool { return ch.Window <= 1e-6 && ch.From != nil && ch.Short() }
