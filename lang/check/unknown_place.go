package check

import "example.org/handful/lang/syntax"

var unknownPlaceRule = textRule(Rule{
	Name:  syntax.RuleUnknownPlace,
	Finds: "a bar, mark or range that is not in the piece",
	Means: `Places are bars (12), counts of a bar (12.3), marks (A), bars after a mark (A+4) and ranges (9-16, A-B), and the
piece has to have them.`,
	Why:    `A cue that begins nowhere is played by nobody.`,
	Stands: `The bars and marks of the file.`,
	Trips: `tempo 96
bars 8
player Ida
  from B
  R snare-drum | 1 2 3 4
`,
	Passes: `tempo 96
bars 8
mark B at 5
player Ida
  from B
  R snare-drum | 1 2 3 4
`,
})
