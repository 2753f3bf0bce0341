package check

import (
	"fmt"
	"slices"

	"example.org/handful/lang/pitch"
	"example.org/handful/lang/score"
)

var tooFewKettles = &Rule{
	Name:       "too-few-kettles",
	Severities: []Severity{Error},
	Finds:      "more notes at once than there are kettles that reach them",
	Means: `Notes that sound at one time, in a chord or over a roll that goes on, need a kettle each, and one that reaches the note. Here
one is wanting. The message says how many kettles would do for the whole part.`,
	Why:    `A kettle has one note at a time. A part that was written for more kettles is not noticed before they are counted.`,
	Stands: `What each kettle reaches: the catalogue (handful instruments timpani shows it), common practice; an instrument block of your own says what you have.`,
	Trips: `tempo 60
instrument pair
  called "Pair of timpani"
  family membrane
  kettle 74 F2 C3
  kettle 66 Bb2 F3
  way floor takes 2 hands with timpani-mallet
player Ida
  R+L pair | 1:F2+G2
`,
	Passes: `tempo 60
instrument pair
  called "Pair of timpani"
  family membrane
  kettle 74 F2 C3
  kettle 66 Bb2 F3
  way floor takes 2 hands with timpani-mallet
player Ida
  R+L pair | 1:F2+C3
`,
	each: true,
	Look: func(c *Context) {
		type key struct {
			cue   *score.Cue
			notes string
		}
		for _, m := range c.Motions {
			at := map[key]*others{}
			var order []key
			first := map[key]int{}
			for i := range m.Crowds {
				crowd := &m.Crowds[i]
				if c.weighed(m.Player.Name, crowd.Event.At()) {
					continue
				}
				k := key{crowd.Event.Cue, notes(crowd.Notes)}
				o := at[k]
				if o == nil {
					at[k], first[k] = &others{}, i
					at[k].places = append(at[k].places, crowd.Event.At())
					order = append(order, k)
					continue
				}
				if o.places[len(o.places)-1] != crowd.Event.At() {
					o.more++
					o.places = append(o.places, crowd.Event.At())
					o.lastBar = max(o.lastBar, crowd.Event.Bar())
				}
			}
			for _, k := range order {
				crowd := &m.Crowds[first[k]]
				in := crowd.Item.Inst
				would := ""
				for _, t := range m.Tunings {
					if t.Item == crowd.Item && t.Would() > 0 {
						would = fmt.Sprintf("; %d would do", t.Would())
					}
				}
				c.At(m, crowd.Event).and(*at[k]).Error("%s has %s to sound at once, and of the %s of the %s none is left for %s%s", m.Player.Name, k.notes,
					plural(len(in.Kettles), "kettle"), in.Name(), notes(crowd.Lacks), would).
					orKettle(in, slices.Concat(crowd.Lacks, crowd.Notes)...).OrAccept()
			}
		}
	},
}

// notes lists notes: F2, A2 and C3.
func notes(list []pitch.Pitch) string {
	var out []string
	for _, p := range list {
		out = append(out, p.String())
	}
	return allOf(out)
}
