package check

import "example.org/handful/lang/syntax"

var roadMapRule = textRule(Rule{
	Name:  syntax.RuleRoadMap,
	Finds: "repeats, endings, vamps or an order that cannot be followed",
	Means: `Repeats may lie inside one another or apart, but not across one another; an ending lies in its repeat, behind the
repeat's first bar, or just behind it. Bars in the middle of a repeat may be an ending too: they are played on its passes only. What cannot be followed is left out, and the rest is played as written.`,
	Why:    `Played order is what is checked: a repeat that is read otherwise than it is meant hides the seams.`,
	Stands: `The usual reading of repeats and endings; common practice, no source.`,
	Trips: `tempo 96
bars 12
repeat 1-8
repeat 5-12
player Ida
  R snare-drum | 1 2 3 4 | % x11
`,
	Passes: `tempo 96
bars 12
repeat 1-4
repeat 5-12
player Ida
  R snare-drum | 1 2 3 4 | % x11
`,
})
