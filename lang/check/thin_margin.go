package check

import (
	"fmt"

	"handful/lang/motion"
)

var thinMargin = &Rule{
	Name:       "thin-margin",
	Severities: []Severity{Warning},
	Finds:      "a change that fits at the written tempo with next to nothing to spare",
	Means: `It fits at a steady pace, but not if the tempo goes up by a tenth, or with less than a quarter of a second left
over.`,
	Why:    `Tempi go up on the night, and so do pulses.`,
	Stands: `The same motion times as short-change; a tenth and a quarter of a second are common practice, no source.`,
	Trips: `tempo 62
player Ida
  R snare-drum with snare-stick           | 1 2 | -
  R triangle clipped with triangle-beater | 4   | -
`,
	Passes: `tempo 62
player Ida
  R snare-drum with snare-stick           | 1 2 | -
  R triangle clipped with triangle-beater | -   | 1
`,
	check: func(c *Context) {
		for _, g := range c.changes(func(ch *motion.Change) bool {
			return (ch.Lays || ch.Takes || ch.Walks) && ch.From != nil && !ch.Short() && !ch.Tight() &&
				(ch.Window/1.1 < ch.Need.Steady || ch.Spare() < leastSpare)
		}) {
			f := c.of(&g, Warning, fmt.Sprintf("%s's %s has %s to %s and needs %s at a steady pace: only %s to spare",
				g.player.Player.Name, g.Hand.Name(), seconds(g.Window), Doing(g.Change), seconds(g.Need.Steady), seconds(g.Spare())))
			c.proposeAccept(c.report(f))
		}
	},
}

// leastSpare is how much time a change should leave over, in seconds: common
// practice, no source.
const leastSpare = 0.25
