package check

import (
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
	Look: func(c *Context) {
		type plain struct {
			line         *score.Line
			first        *score.Stroke
			rolls, grace int
			lastBar      int32
		}
		found := map[*score.Cue]*plain{}
		for _, p := range c.Score.Coverage.Plainer {
			st := &p.Cue.Strokes[p.Stroke]
			if c.weighed(p.Cue.Player.Name, st.At) {
				continue
			}
			x := found[p.Cue]
			if x == nil {
				x = &plain{line: p.Line, first: st}
				found[p.Cue] = x
			}
			if p.Roll {
				x.rolls++
			} else {
				x.grace++
			}
			x.lastBar = st.Bar
		}
		for cue := range c.Cues() {
			x := found[cue]
			if x == nil {
				continue
			}
			var what []string
			if x.rolls > 0 {
				what = append(what, plural(x.rolls, "roll"))
			}
			if x.grace > 0 {
				what = append(what, plural(x.grace, "stroke")+" with grace strokes")
			}
			c.AtStroke(cue, x.first).through(x.rolls+x.grace-1, int(x.lastBar)).
				Compromise("%s plays the %s more plainly than %s has it, in %s: %s as single strokes",
					cue.Player.Name, nameOfVoice(cue), x.line.Part.Name, barsFromTo(c.Score, x.first.Bar, x.lastBar), strings.Join(what, " and ")).OrAccept()
		}
	},
}
