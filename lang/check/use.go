package check

import "example.org/handful/lang/syntax"

var useRule = textRule(Rule{
	Name:  syntax.RuleUse,
	Finds: "a file that cannot be used: missing, outside the folder, using itself, or with troubles of its own",
	Means: `Shared kits, instruments and parts come from files below the folder that is being checked, and never from
outside it. Files that use one another in a circle are reported at the line that closes it.`,
	Why:    `Without the file its instruments are unknown, and half of what follows would be false alarm.`,
	Stands: `The folder that was given to check, or the file's own.`,
	Trips: `tempo 96
use "../../kit.handful"
player Ida
  R snare-drum | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  R snare-drum | 1 2 3 4
`,
})
