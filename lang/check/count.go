package check

import "example.org/handful/lang/syntax"

var countRule = textRule(Rule{
	Name:  syntax.RuleCount,
	Finds: "a count that the bar does not have, that comes out of order, or that stands there twice",
	Means: `Counts are those of the meter: 6/8 has six, and 6/8 in 2 has two. They are written in the order in which they are
played, each once for a line.`,
	Why:    `A stroke whose place is not known cannot be put beside what the other hand does.`,
	Stands: `The meter of the bar, as the file gives it.`,
	Trips: `tempo 96
meter 3/4
player Ida
  R snare-drum | 1 2 4
`,
	Passes: `tempo 96
meter 3/4
player Ida
  R snare-drum | 1 2 3
`,
})
