package check

import (
	"fmt"
	"math"
)

var outOfReach = &Rule{
	Name:       "out-of-reach",
	Severities: []Severity{Error},
	Finds:      "an instrument beyond reach from any station",
	Means: `The kit puts it further away than leaning and one side step reach, from wherever the player stands. Either the
distance is a slip, or it needs a station: a second place to stand.`,
	Why:    `Going there takes time, and time is what the rest of the page is made of.`,
	Stands: `Reach: 60 cm without and 75 cm with leaning, a side step of up to 60 cm more. Common practice, no source.`,
	Trips: `tempo 96
player Sol
  kit
    snare-drum   on stand at ahead 40
    glockenspiel on stand at right 400 ahead 40
  R snare-drum                       | 1 | - | - | -
  R glockenspiel with plastic-mallet | - | - | - | 4
`,
	Passes: `tempo 96
player Sol
  kit
    station bells          at right 400
    snare-drum    on stand at ahead 40
    glockenspiel  on stand at bells ahead 40
  R snare-drum                       | 1 | - | - | -
  R glockenspiel with plastic-mallet | - | - | - | 4
`,
	check: func(c *Context) {
		for _, m := range c.Motions {
			for _, it := range m.OutOf {
				far := math.Inf(1)
				for _, st := range m.Player.Stations {
					a := it.At
					a.Up = st.At.Up
					far = min(far, a.Dist(st.At))
				}
				f := c.report(Finding{Severity: Error, Where: it.Where, Player: m.Player.Name,
					Message: fmt.Sprintf("the %s stands %.0f cm from anywhere that %s stands: a station there would do", it.Inst.Name(), far, m.Player.Name)})
				if it.Where.File == 0 && it.Listed {
					f.propose("add a station there", true, Edit{Line: int(it.Where.Line), Text: fmt.Sprintf("    station %s-place at%s\n",
						it.Name, spot(it.At.Right, "right", "left")+spot(it.At.Ahead-40, "ahead", "behind"))})
				}
			}
		}
	},
}
