package check

import "example.org/handful/lang/syntax"

var barLengthRule = textRule(Rule{
	Name:  syntax.RuleBarLength,
	Finds: "bars that run past the end, or a simile that does not fit the bar it fills",
	Means: `A line has more bars than the piece, or % repeats a bar into one of another meter that lacks its counts.`,
	Why: `It is the sign of a slipped bar somewhere to the left, which would put everything after it in the wrong
place.`,
	Stands: `The number of bars and their meters, as the file gives them.`,
	Trips: `tempo 96
bars 4
player Ida
  R snare-drum | 1 2 3 4 | % x7
`,
	Passes: `tempo 96
bars 4
player Ida
  R snare-drum | 1 2 3 4 | % x3
`,
})
