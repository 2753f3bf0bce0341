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
	Look: func(c *Context) {
		if len(c.Score.Players) == 0 || c.Score.HasTempo && c.Score.LateTempo == nil {
			return
		}
		where, said := c.Score.Players[0].Where, "no tempo is written, so a quarter note = %d is assumed"
		if c.Score.HasTempo {
			where, said = *c.Score.LateTempo, "the piece begins before its first tempo, and a quarter note = %d is assumed there"
		}
		tempo := &syntax.Tempo{First: syntax.Num{Text: "1/4"}, Value: new(syntax.Number(score.DefaultTempo))}
		c.In(where).Info(said, score.DefaultTempo).Or("write it down", Edit{Text: syntax.Print(tempo) + "\n"})
	},
}
