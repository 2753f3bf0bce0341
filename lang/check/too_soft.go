package check

import "example.org/handful/lang/kit"

var tooSoft = &Rule{
	Name:       "too-soft",
	Severities: []Severity{Warning},
	Finds:      "a dynamic softer than this way of playing honestly gets",
	Means:      `Some ways of playing do not speak below a certain dynamic, and the line asks for less.`,
	Why:        `What does not speak is not there.`,
	Stands:     `The catalogue: published and common practice.`,
	Trips: `tempo 96
instrument ships-bell
  family metal
  way hung takes 1 hand with brass-mallet softest mf
player Ida
  R ships-bell | pp 1
`,
	Passes: `tempo 96
instrument ships-bell
  family metal
  way hung takes 1 hand with brass-mallet softest mf
player Ida
  R ships-bell | f 1
`,
	each:     true,
	timeless: true,
	Look: func(c *Context) {
		c.dynamics(func(w *kit.Way, d kit.Dynamic) bool { return w.Softest > 0 && d < w.Softest },
			func(w *kit.Way) string { return "does not speak below " + w.Softest.String() })
	},
}
