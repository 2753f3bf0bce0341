package check

import (
	"slices"

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
	each: true,
	Look: func(c *Context) {
		for m, e := range c.Events() {
			if e.Kind != motion.PageTurn {
				continue
			}
			i, sameHand := e.Index(), func(f motion.Event) bool { return f.Limbs&e.Limbs&body.Hands != 0 }
			before, after := 0.0, c.Score.Time.Total()
			for k := i - 1; k >= 0; k-- {
				if sameHand(m.Events[k]) {
					before = m.Events[k].T1
					break
				}
			}
			if k := slices.IndexFunc(m.Events[i+1:], sameHand); k >= 0 {
				after = m.Events[i+1+k].T0
			}
			if free := after - before; free < body.PageTurn {
				c.At(m, e).Warning("%s's %s is free for %s around the page turn; three seconds are usual", m.Player.Name, limbOf(e.Limbs), seconds(free)).OrAccept()
			}
		}
	},
}
