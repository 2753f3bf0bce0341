package check

import (
	"fmt"

	"handful/lang/score"
)

var assumedTempo = &Rule{
	Name:       "assumed-tempo",
	Severities: []Severity{Info},
	Finds:      "that no tempo is written",
	Means:      fmt.Sprintf(`Without a tempo every second here is counted at a quarter note = %d.`, score.DefaultTempo),
	Why:        `Half of what cannot be played at one tempo can at another.`,
	Stands:     `An assumption of this program.`,
	Trips: `player Ida
  R snare-drum | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  R snare-drum | 1 2 3 4
`,
	check: func(c *Context) {
		if c.Score.HasTempo || len(c.Score.Players) == 0 {
			return
		}
		f := c.report(Finding{Severity: Info, Where: c.Score.Players[0].Where,
			Message: fmt.Sprintf("no tempo is written, so a quarter note = %d is assumed", score.DefaultTempo)})
		f.propose("write it down", true, Edit{Line: 0, Text: fmt.Sprintf("tempo 1/4 = %d\n", score.DefaultTempo)})
	},
}
