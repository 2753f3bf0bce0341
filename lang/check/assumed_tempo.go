package check

import (
	"fmt"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

var assumedTempo = &Rule{
	Name:       "assumed-tempo",
	Severities: []Severity{Info},
	Finds:      "that no tempo is written, or none for the beginning",
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
		assumed := Edit{Text: syntax.Print(&syntax.Tempo{First: syntax.Num{Text: "1/4"}, Value: new(syntax.Number(score.DefaultTempo))}) + "\n"}
		if len(c.Score.Players) == 0 {
			return
		}
		if c.Score.HasTempo {
			if at := c.Score.LateTempo; at != nil {
				f := c.report(Finding{Severity: Info, Where: *at,
					Message: fmt.Sprintf("the piece begins before its first tempo, and a quarter note = %d is assumed there", score.DefaultTempo)})
				f.propose("write it down", true, assumed)
			}
			return
		}
		f := c.report(Finding{Severity: Info, Where: c.Score.Players[0].Where,
			Message: fmt.Sprintf("no tempo is written, so a quarter note = %d is assumed", score.DefaultTempo)})
		f.propose("write it down", true, assumed)
	},
}
