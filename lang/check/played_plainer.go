package check

import (
	"fmt"
	"strings"

	"example.org/handful/lang/score"
)

var playedPlainer = &Rule{
	Name:       "played-plainer",
	Severities: []Severity{Compromise},
	Finds:      "a written roll, flam, drag or ruff that is played as a single stroke",
	Means: `The cue writes its own bars, and at a place where the part has a roll or grace strokes it has a plain stroke. The
stroke counts as covered; what is missing of it is said here.`,
	Why:    `A single stroke for a roll is heard at once, and looks like a slip of the pen.`,
	Stands: `The parts of the file, stroke by stroke.`,
	Trips: `tempo 96
part "Percussion"
  snare-drum | 1~3 4 | '1 2
player Ida
  RL snare-drum | 1 4 | 1 2
`,
	Passes: `tempo 96
part "Percussion"
  snare-drum | 1~3 4 | '1 2
player Ida
  RL snare-drum | 1~3 4 | '1 2
`,
	check: func(c *Context) {
		type told struct {
			first        score.Plainer
			rolls, grace int
			last         int32
		}
		var order []*score.Cue
		by := map[*score.Cue]*told{}
		for _, p := range c.Score.Coverage.Plainer {
			st := &p.Cue.Strokes[p.Stroke]
			if c.weighed(p.Cue.Player.Name, st.At) {
				continue
			}
			t := by[p.Cue]
			if t == nil {
				t = &told{first: p}
				by[p.Cue] = t
				order = append(order, p.Cue)
			}
			if p.Roll {
				t.rolls++
			} else {
				t.grace++
			}
			t.last = st.Bar
		}
		for _, cue := range order {
			t := by[cue]
			st := &cue.Strokes[t.first.Stroke]
			var what []string
			if t.rolls > 0 {
				what = append(what, plural(t.rolls, "roll"))
			}
			if t.grace > 0 {
				what = append(what, plural(t.grace, "stroke")+" with grace strokes")
			}
			where := fmt.Sprintf("bar %d", st.Bar)
			if t.last > st.Bar {
				where = fmt.Sprintf("bars %d to %d", st.Bar, t.last)
			}
			f := Finding{Severity: Compromise, Where: st.Where(), Player: cue.Player.Name, Limb: cue.Limb.Name(),
				Message: fmt.Sprintf("%s plays the %s more plainly than %s has it, in %s: %s as single strokes",
					cue.Player.Name, nameOfVoice(cue), t.first.Line.Part.Name, where, strings.Join(what, " and ")),
				Times: t.rolls + t.grace - 1, LastBar: int(t.last)}
			f.place(c.Score, st.At)
			c.proposeAccept(c.report(f))
		}
	},
}
