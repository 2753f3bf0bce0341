package check

import (
	"fmt"

	"example.org/handful/lang/motion"
)

var seam = &Rule{
	Name:       "seam",
	Severities: []Severity{Error, Warning},
	Finds:      "a repeat, ending or jump whose end leaves the hands where its beginning does not find them",
	Means: `At the end of a repeat or a leg of the road map the music jumps, and there is only the time between the last stroke
before and the first one after it to lay, take and go. On paper the two stand pages apart, which is why nobody
sees it.`,
	Why:    `It works all the way through in practice, until the first time with repeats.`,
	Stands: `The same motion times as short-change, over what is played.`,
	Trips: `tempo 120
repeat 1-2
player Ida
  R triangle clipped with triangle-beater | 1 | -
  R snare-drum with snare-stick           | - | 4
`,
	Passes: `tempo 120
repeat 1-2
player Ida
  R triangle clipped with triangle-beater | 1 | -
  L snare-drum with snare-stick           | - | 4
`,
	check: func(c *Context) {
		for _, g := range c.changes(func(ch *motion.Change) bool {
			return (ch.Short() || ch.Tight()) && !ch.To.Kind.Stops() && !stuck(ch)
		}) {
			if !g.seam || c.vamping(g.Change) {
				continue
			}
			c.reportJump(&g, fmt.Sprintf("going from bar %d back to bar %d", g.From.Bar(), g.To.Bar()))
		}
	},
}

// reportJump reports a change over a jump that does not fit.
func (c *Context) reportJump(g *changeGroup, jump string) {
	if g.To.Bar() > g.From.Bar() {
		jump = fmt.Sprintf("going from bar %d on to bar %d", g.From.Bar(), g.To.Bar())
	}
	sev, verdict := Error, verdictOf(g.Need, g.Band())
	if !g.Short() {
		sev = Warning
	}
	f := c.report(c.of(g, sev, fmt.Sprintf("%s, %s's %s has %s to %s, and that %s",
		jump, g.player.Player.Name, g.Hand.Name(), seconds(max(0, g.Window)), Doing(g.Change), verdict)))
	c.proposeForChange(f, g)
}

// vamping says whether a change leaves, enters or goes round a vamp.
func (c *Context) vamping(ch *motion.Change) bool {
	spans := c.Score.Time.Spans()
	return spans[ch.From.Span].Vamp
}
