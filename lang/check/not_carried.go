package check

import "example.org/handful/lang/syntax"

var notCarried = &Rule{
	Name:       syntax.RuleNotCarried,
	Severities: []Severity{Info},
	Finds:      "music in a file of another format that could not be carried over",
	Means: `A part that is taken from a MusicXML or a MIDI file may hold what the notation has no sign for, or what is
ambiguous and was settled by a guess. It is counted here, and import lists all of it with its places.`,
	Why:    `What nobody mentions at the table nobody plays in the concert.`,
	Stands: `The file itself.`,
	text:   true,
	load: func(_, path string) (string, *syntax.File, error) {
		f := syntax.Parse("part \"Percussion 1\"\n  snare-drum | 1\n")
		f.Lost = []string{"Percussion 1, bar 7: cue notes, which nobody plays"}
		return path, f, nil
	},
	Trips: `part "Percussion 1" in "quay-parade.musicxml"
bars 8
`,
	Passes: `part "Percussion 1"
  snare-drum | 1
omit snare-drum because "an example"
`,
	Look: func(c *Context) {
		for _, p := range c.Score.Problems {
			if p.Rule == syntax.RuleNotCarried {
				c.In(p.Where).about(Info, p.About)
			}
		}
	},
}
