package check

import (
	"fmt"
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
	each: true,
	Look: func(c *Context) {
		for _, g := range c.Changes(pressedToPlay) {
			if g.seam && !c.vamping(g.Change) {
				c.overJump(&g, fmt.Sprintf("going from bar %d%s back to bar %d%s", g.From.Bar(), c.Score.InPrint(g.From.Bar()), g.To.Bar(), c.Score.InPrint(g.To.Bar())))
			}
		}
	},
}

// overJump tells of a change over a jump that does not fit.
func (c *Context) overJump(g *changeGroup, jump string) {
	if g.To.Bar() > g.From.Bar() {
		jump = fmt.Sprintf("going from bar %d%s on to bar %d%s", g.From.Bar(), c.Score.InPrint(g.From.Bar()), g.To.Bar(), c.Score.InPrint(g.To.Bar()))
	}
	c.AtChange(g).Timed(g.Change).Says(g.severity(), "%s, %s has %s to %s, and that %s",
		jump, g.who(), seconds(max(0, g.Window)), Doing(g.Change), g.verdict()).orChange(g)
}
