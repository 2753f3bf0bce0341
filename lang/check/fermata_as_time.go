package check

import (
	"fmt"

	"example.org/handful/lang/motion"
)

var fermataAsTime = &Rule{
	Name:       "fermata-as-time",
	Severities: []Severity{Warning},
	Finds:      "a change that fits only if a fermata or caesura is long",
	Means: `Between the two things lies a hold or a break. Its time is the conductor's and is never counted on; without it the
change does not fit, or only just.`,
	Why:    `The pause that was long on Tuesday is short on Thursday.`,
	Stands: `The same motion times as short-change. That pauses add nothing is a rule of this program.`,
	Trips: `tempo 120
hold 1.4
player Ida
  R snare-drum with snare-stick           | 1 2 3 4 | -
  R triangle clipped with triangle-beater | -       | 1
`,
	Passes: `tempo 120
hold 1.4
player Ida
  R snare-drum with snare-stick           | 1 2 3 4 | -
  L triangle clipped with triangle-beater | -       | 1
`,
	check: func(c *Context) {
		if len(c.Score.Pauses) == 0 {
			return
		}
		for _, g := range c.changes(func(ch *motion.Change) bool {
			return (ch.Short() || ch.Tight()) && ch.From != nil && !stuck(ch)
		}) {
			for _, p := range c.Score.Pauses {
				// A hold on the stroke that the hand goes to comes too late.
				late := !p.At.Less(g.To.At())
				if p.Break {
					late = g.To.At().Less(p.At)
				}
				if p.At.Less(g.From.At()) || late || g.seam {
					continue
				}
				what := "fermata"
				if p.Break {
					what = "caesura"
				}
				f := c.of(&g, Warning, fmt.Sprintf("only the %s at %s gives %s's %s time to %s, and that time is never counted on",
					what, c.Score.Place(p.At), g.player.Player.Name, g.Hand.Name(), Doing(g.Change)))
				f.Related = append(f.Related, note(p.Where, "the pause"))
				c.proposeAccept(c.report(f))
				break
			}
		}
	},
}
