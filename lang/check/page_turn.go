package check

import (
	"fmt"

	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
)

var pageTurn = &Rule{
	Name:       "page-turn",
	Severities: []Severity{Warning},
	Finds:      "a page turn with less than three seconds of a free hand",
	Means: `The hand that turns has something to do shortly before or shortly after. The motion itself fits, or short-change
would say so; three seconds are what a turn takes when the page sticks.`,
	Why:    `The page is turned by a hand, and the hand is on the way to a mallet.`,
	Stands: `About three seconds with a free hand: common practice, no source.`,
	Trips: `tempo 120
player Ida
  R woodblock clamped | 1 | 2
  R turns page at 1.3
`,
	Passes: `tempo 120
player Ida
  R woodblock clamped | 1 | - | - | 4
  R turns page at 2.1
`,
	check: func(c *Context) {
		for _, m := range c.Motions {
			for i := range m.Events {
				e := &m.Events[i]
				if e.Kind != motion.PageTurn {
					continue
				}
				before, after := 0.0, c.Score.Time.Total()
				for k := i - 1; k >= 0; k-- {
					if f := &m.Events[k]; f.Limbs&e.Limbs&body.Hands != 0 {
						before = f.T1
						break
					}
				}
				for k := i + 1; k < len(m.Events); k++ {
					if f := &m.Events[k]; f.Limbs&e.Limbs&body.Hands != 0 {
						after = f.T0
						break
					}
				}
				if after-before >= body.PageTurn {
					continue
				}
				f := Finding{Severity: Warning, Where: e.Where(), Player: m.Player.Name, Limb: limbOf(e.Limbs),
					Message: fmt.Sprintf("%s's %s is free for %s around the page turn; three seconds are usual", m.Player.Name, limbOf(e.Limbs), seconds(after-before))}
				f.place(c.Score, e.At())
				c.proposeAccept(c.report(f))
			}
		}
	},
}
