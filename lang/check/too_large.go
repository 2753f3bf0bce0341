package check

import "example.org/handful/lang/syntax"

var tooLargeRule = textRule(Rule{
	Name:  syntax.RuleTooLarge,
	Finds: "a line, a file or a piece beyond what is read",
	Means: `There are limits on what one line, one file and one piece may hold, far above what music needs. What lies beyond
is left out, and this says so.`,
	Why:    `A slip such as x7000000 should be told, not waited for.`,
	Stands: `Limits of this program: 65,536 bytes a line, 1,000,000 lines a file, 200,000 bars and 4,000,000 strokes a piece.`,
	Trips: `tempo 96
player Ida
  R snare-drum | 1 2 3 4 | % x7000000
`,
	Passes: `tempo 96
player Ida
  R snare-drum | 1 2 3 4 | % x70
`,
})
