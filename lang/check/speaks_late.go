package check

import (
	"fmt"

	"example.org/handful/lang/score"
)

var speaksLate = &Rule{
	Name:       "speaks-late",
	Severities: []Severity{Info},
	Finds:      "shaken, rolled or primed instruments that need the hand earlier",
	Means: `The instrument sounds some time after the hand begins, or has to be touched beforehand. For the first stroke after a
silence the hand should be ready that much earlier than the note.`,
	Why:    `An unprimed tam-tam comes late and harsh, however well it is counted.`,
	Stands: `The catalogue: published and common practice.`,
	Trips: `tempo 60
player Ida
  R tam-tam | - | p 1
`,
	Passes: `tempo 60
player Ida
  R snare-drum | - | p 1
`,
	check: func(c *Context) {
		for _, m := range c.Motions {
			seen := map[*score.Item]bool{}
			for i := range m.Events {
				e := &m.Events[i]
				if e.Cue == nil || e.Kind.Stops() || seen[e.Cue.Item] || e.Cue.Item.Inst.Late < lateEnough {
					continue
				}
				seen[e.Cue.Item] = true
				in := e.Cue.Item.Inst
				f := Finding{Severity: Info, Where: e.Where(), Player: m.Player.Name, Limb: e.Cue.Limb.Name(),
					Message: fmt.Sprintf("the %s wants the hand %s before the note: %s", in.Name(), seconds(in.Late), in.LateWhy)}
				f.place(c.Score, e.At())
				c.report(f)
			}
		}
	},
}

// lateEnough is from how many seconds on it is worth saying.
const lateEnough = 0.15
