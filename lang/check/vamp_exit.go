package check

import (
	"fmt"
)

var vampExit = &Rule{
	Name:       "vamp-exit",
	Severities: []Severity{Error, Warning},
	Finds:      "a vamp that cannot be gone round, or left, in the time there is",
	Means: `A vamp is repeated until somebody gives the cue, so both ways from its last bar are checked: round to its first bar
and on to what follows. This one works only if it is played once, or only if it is never left.`,
	Why:    `In the pit nobody knows beforehand which it will be.`,
	Stands: `The same motion times as short-change; a vamp is checked as played twice.`,
	Trips: `tempo 120
vamp 1-2
player Ida
  R triangle clipped with triangle-beater | 1 | -
  R snare-drum with snare-stick           | - | 4
`,
	Passes: `tempo 120
vamp 1-2
player Ida
  R triangle clipped with triangle-beater | 1 | -
  L snare-drum with snare-stick           | - | 4
`,
	each: true,
	Look: func(c *Context) {
		for _, g := range c.Changes(pressedToPlay) {
			if g.seam && c.vamping(g.Change) {
				c.overJump(&g, fmt.Sprintf("going round the vamp from bar %d%s to bar %d%s", g.From.Bar(), c.Score.InPrint(g.From.Bar()), g.To.Bar(), c.Score.InPrint(g.To.Bar())))
			}
		}
	},
}
