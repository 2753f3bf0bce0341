package check

import "example.org/handful/lang/syntax"

var unknownWay = textRule(Rule{
	Name:  syntax.RuleUnknownWay,
	Finds: "a way of playing that is asked for and that nobody knows, or that may be several",
	Means: `A cue may ask for a way in words: shaken, in one hand, two in one hand, by foot, or a way's own name in quotes. The
instrument has none that these words mean, not for this limb or not with this implement; or it has one on several mounts, and the
cue says neither.`,
	Why:    `What it would need of the hands, and what it would cost, cannot be known.`,
	Stands: `The ways in the catalogue (handful instruments NAME shows each, with what it is asked for by).`,
	Trips: `tempo 96
player Ida
  R tambourine held "on the tigh" | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  R tambourine held "on the thigh" | 1 2 3 4
`,
})
