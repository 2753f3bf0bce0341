package check

import "example.org/handful/lang/syntax"

var syntaxRule = textRule(Rule{
	Name:  syntax.RuleSyntax,
	Finds: "a line, or a word of it, that says nothing in the notation",
	Means: `The line does not read as any statement, or a sign in its bars is none that the notation has. Only this line,
or this sign, is left out; the rest of the file means what it meant.`,
	Why:    `What is not understood is not checked.`,
	Stands: `The notation, as the README has it on one page.`,
	Trips: `tempo 96
player Ida
  R snare-drum | 1 2 foo 4 |
`,
	Passes: `tempo 96
player Ida
  R snare-drum | 1 2 3 4
`,
})
