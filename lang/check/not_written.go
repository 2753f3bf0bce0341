package check

import (
	"example.org/handful/lang/score"
)

var notWritten = &Rule{
	Name:       "not-written",
	Severities: []Severity{Warning},
	Finds:      "a played stroke that stands in no part",
	Means: `The file has parts, and this cue plays where none of them has anything for its instrument. Either the part is
missing, or the cue slipped by a count or a bar, or it is a substitution that should say so with for.`,
	Why:    `A stroke in the wrong bar is heard by everybody; and what it was meant to cover is then uncovered.`,
	Stands: `The parts of the file, stroke by stroke.`,
	Trips: `tempo 96
part "Percussion"
  woodblock | 1 3 | 1 3
player Ida
  R woodblock | 1 3 | 1 2 3
`,
	Passes: `tempo 96
part "Percussion"
  woodblock | 1 3 | 1 3
player Ida
  R woodblock | 1 3 | 1 3
`,
	Look: func(c *Context) {
		runs := map[*score.Cue][]score.Extra{}
		for _, x := range c.Score.Coverage.Extra {
			runs[x.Cue] = append(runs[x.Cue], x)
		}
		for cue := range c.Cues() {
			list := runs[cue]
			if len(list) == 0 {
				continue
			}
			n := 0
			for _, x := range list {
				n += x.Last - x.First + 1
			}
			first, last := &cue.Strokes[list[0].First], &cue.Strokes[list[len(list)-1].Last]
			c.AtStroke(cue, first).through(max(0, n-1), int(last.Bar)).
				Warning("no part has the %s here: %s in %s", nameOfVoice(cue), plural(n, "stroke"), barsFromTo(c.Score, first.Bar, last.Bar)).OrAccept()
		}
	},
}
