package check

import (
	"fmt"

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
	check: func(c *Context) {
		type run struct {
			first score.Extra
			count int
			last  int32
		}
		var order []*score.Cue
		runs := map[*score.Cue]*run{}
		for _, x := range c.Score.Coverage.Extra {
			r := runs[x.Cue]
			if r == nil {
				r = &run{first: x}
				runs[x.Cue] = r
				order = append(order, x.Cue)
			}
			r.count += x.Last - x.First + 1
			r.last = x.Cue.Strokes[x.Last].Bar
		}
		for _, cue := range order {
			r := runs[cue]
			st := &cue.Strokes[r.first.First]
			f := Finding{Severity: Warning, Where: st.Where(), Player: cue.Player.Name, Limb: cue.Limb.Name()}
			bars := fmt.Sprintf("bar %d", st.Bar)
			if r.last > st.Bar {
				bars = fmt.Sprintf("bars %d to %d", st.Bar, r.last)
			}
			f.Message = fmt.Sprintf("no part has the %s here: %s in %s", nameOfVoice(cue), plural(r.count, "stroke"), bars)
			f.place(c.Score, st.At)
			f.LastBar, f.Times = int(r.last), max(0, r.count-1)
			c.proposeAccept(c.report(f))
		}
	},
}

func nameOfVoice(cue *score.Cue) string {
	if cue.For != nil {
		return cue.For.Name()
	}
	return cue.Item.Inst.Name()
}
