package check

import (
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
	each: true,
	Look: func(c *Context) {
		if len(c.Score.Pauses) == 0 {
			return
		}
		for _, g := range c.Changes(func(ch *motion.Change) bool { return pressed(ch) && ch.From != nil && !stuck(ch) && !c.seam(ch) }) {
			for _, p := range c.Score.Pauses {
				what, late := "fermata", !p.At.Less(g.To.At()) // a hold on the stroke that the hand goes to comes too late
				if p.Break {
					what, late = "caesura", g.To.At().Less(p.At)
				}
				if p.At.Less(g.From.At()) || late {
					continue
				}
				c.AtChange(&g).Timed(g.Change).Warning("only the %s at %s gives %s time to %s, and that time is never counted on",
					what, c.Score.Place(p.At), g.who(), Doing(g.Change)).Also(p.Where, "the pause").OrAccept()
				break
			}
		}
	},
}
