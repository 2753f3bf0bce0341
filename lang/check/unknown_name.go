package check

import "example.org/handful/lang/syntax"

var unknownNameRule = textRule(Rule{
	Name:  syntax.RuleUnknownName,
	Finds: "an instrument, implement, part, player, station or rule that nothing goes by",
	Means: `The name is in no kit, in no file that this one uses, and not in the catalogue. If one is close, it is
offered.`,
	Why:    `What it plays, and what it needs, cannot be known.`,
	Stands: `The catalogue (handful instruments) and the definitions of the piece.`,
	Trips: `tempo 96
player Ida
  R snare-drmu | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  R snare-drum | 1 2 3 4
`,
})
