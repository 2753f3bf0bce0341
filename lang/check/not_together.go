package check

import (
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/score"
)

var notTogether = &Rule{
	Name:       "not-together",
	Severities: []Severity{Warning},
	Finds:      "a passage that is to stay with one person, and that several play",
	Means:      `A  together  line says that a passage of one or more lines stays with one person, whoever that is; and more than one person plays something of it.`,
	Why:        `A groove that two people share never sits as it does with one, and whoever leads has said so.`,
	Stands:     `What the file says.`,
	Trips: `tempo 96
part "Percussion"
  snare-drum | 2 4 | %
  bass-drum  | 1 3 | %
together snare-drum and bass-drum in 1-2
player Ida
  R snare-drum with snare-stick as written
player Per
  R bass-drum with bass-drum-beater as written
`,
	Passes: `tempo 96
part "Percussion"
  snare-drum | 2 4 | %
  bass-drum  | 1 3 | %
together snare-drum and bass-drum in 1-2
player Ida
  R snare-drum with snare-stick as written
  L bass-drum with bass-drum-beater as written
player Per
  R triangle clipped | 1 3 | %
`,
	Look: func(c *Context) {
		for _, t := range c.Score.Together {
			var first *score.Cue
			told := map[*score.Player]bool{}
			for cue := range c.Cues() {
				st := playsOf(c.Score, t, cue)
				switch {
				case st == nil:
				case first == nil:
					first = cue
				case first.Player != cue.Player && !told[cue.Player]:
					told[cue.Player] = true
					because := ""
					if t.Reason != "" {
						because = ": " + t.Reason
					}
					c.AtCue(cue).When(st.At).Warning("%s and %s both play of what is to stay with one person in %s%s", first.Player.Name, cue.Player.Name, barsFromTo(c.Score, int32(t.From), int32(t.To)), because).
						Also(first.Where, "%s plays of it here", first.Player.Name).Also(t.Where, "it is said here").OrAccept()
				}
			}
		}
	},
}

// playsOf is the first stroke of what is to stay together that a cue plays, or nil.
func playsOf(s *score.Score, t *score.Together, cue *score.Cue) *score.Stroke {
	if !slices.Contains(t.Names, cue.Voice) || cue.From > t.To || cue.To < t.From {
		return nil
	}
	written := map[beat.Rat]bool{}
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			if (cue.Of == "" || cue.Of == p.Name) && l.Name == cue.Voice {
				togetherIn(l, t, written)
			}
		}
	}
	for i := range cue.Strokes {
		if st := &cue.Strokes[i]; st.Sounds() && written[st.At] {
			return st
		}
	}
	return nil
}

// togetherIn notes when a line has strokes that are to stay together.
func togetherIn(l *score.Line, t *score.Together, when map[beat.Rat]bool) {
	for i := range l.Strokes {
		if st := &l.Strokes[i]; st.Sounds() && t.Has(l.Part.Name, l.Name, int(st.Bar)) {
			when[st.At] = true
		}
	}
}
