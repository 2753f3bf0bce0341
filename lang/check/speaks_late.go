package check

var speaksLate = &Rule{
	Name:       "speaks-late",
	Severities: []Severity{Info},
	Finds:      "shaken, rolled or primed instruments that need the hand earlier",
	Means: `The instrument sounds some time after the hand begins, or has to be touched beforehand. For the first stroke after a
silence the hand should be ready that much earlier than the note.`,
	Why:    `An unprimed tam-tam comes late and harsh, however well it is counted.`,
	Stands: `The catalogue: published and common practice.`,
	Trips: `tempo 60
player Ida
  R tam-tam | - | p 1
`,
	Passes: `tempo 60
player Ida
  R snare-drum | - | p 1
`,
	each: true,
	Look: func(c *Context) {
		for m, e := range c.Events() {
			if e.Cue == nil || e.Kind.Stops() || e.Cue.Item.Inst.Late < lateEnough || !c.Once(m, e.Cue.Item) {
				continue
			}
			in := e.Cue.Item.Inst
			c.At(m, e).Info("the %s %s the hand %s before the note: %s", in.Name(), in.Verb("wants", "want"), seconds(in.Late), in.LateWhy)
		}
	},
}

// lateEnough is from how many seconds on it is worth saying.
const lateEnough = 0.15
