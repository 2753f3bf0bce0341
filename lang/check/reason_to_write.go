package check

import "example.org/handful/lang/syntax"

var reasonToWrite = &Rule{
	Name:       syntax.RuleReason,
	Severities: []Severity{Info},
	Finds:      "a reason that is still to be written",
	Means: `What is left out, accepted or asked for says why. Where an offer wrote the line, the reason is yours to put in: until
then the words keep its place, and whoever reads the file next year knows nothing.`,
	Why:    `A finding that was accepted without a reason looks the same as one that nobody has looked at.`,
	Stands: `The text between the quotation marks: the words that an offer puts there, a mark without a letter, or a word for later.`,
	Trips: `tempo 96
part "Percussion"
  triangle | 1 3
omit triangle because "say why"
player Ida
  R snare-drum | 1
accept not-written because "the snare drum is new"
`,
	Passes: `tempo 96
part "Percussion"
  triangle | 1 3
omit triangle because "the piccolo has it"
player Ida
  R snare-drum | 1
accept not-written because "the snare drum is new"
`,
	Look: func(c *Context) {
		for _, p := range c.Score.Problems {
			if p.Rule == syntax.RuleReason {
				c.In(p.Where).about(Info, p.About)
			}
		}
	},
}
