package check

import "example.org/handful/lang/syntax"

var definitionRule = textRule(Rule{
	Name:  syntax.RuleDefinition,
	Finds: "an instrument or implement of your own that is not wholly said",
	Means: `An instrument needs at least one way of playing, and its numbers and words have to be ones that the catalogue
knows.`,
	Why:    `Half a definition would be checked as if it were a whole one.`,
	Stands: `The catalogue's own entries, which are written in the same words.`,
	Trips: `tempo 96
instrument ships-bell
  family brassy
  way hung takes 1 hand with brass-mallet
player Ida
  R ships-bell | 1
`,
	Passes: `tempo 96
instrument ships-bell
  family metal
  way hung takes 1 hand with brass-mallet
player Ida
  R ships-bell | 1
`,
})
