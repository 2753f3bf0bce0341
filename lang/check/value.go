package check

import "example.org/handful/lang/syntax"

var valueRule = textRule(Rule{
	Name:   syntax.RuleValue,
	Finds:  "a number outside what makes sense, or a meter or tempo that is none",
	Means:  `The message says what the number is for and between what it may be.`,
	Why:    `A tempo of 0 or a reach of nine metres would make every verdict after it worthless.`,
	Stands: `The bounds that the message names; common practice, no source.`,
	Trips: `tempo 0
player Ida
  R snare-drum | 1 2 3 4
`,
	Passes: `tempo 60
player Ida
  R snare-drum | 1 2 3 4
`,
})
