package check

import (
	"fmt"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var tooLoud = &Rule{
	Name:       "too-loud",
	Severities: []Severity{Warning},
	Finds:      "a dynamic louder than this way of playing honestly gets",
	Means: `Laid on a pad, with a brush, with one finger: each way of playing has a loudest honest dynamic, and the line asks for
more.`,
	Why:    `Either it is not heard, or something is hit harder than it stands.`,
	Stands: `The catalogue: published and common practice.`,
	Trips: `tempo 96
player Ida
  R tambourine padded with fingers | ff 1 2
`,
	Passes: `tempo 96
player Ida
  R tambourine padded with fingers | p 1 2
`,
	check: func(c *Context) {
		c.dynamics(func(w *kit.Way, d kit.Dynamic) bool { return w.Loudest > 0 && d > w.Loudest },
			func(w *kit.Way) string { return "is honestly no louder than " + w.Loudest.String() })
	},
}

// dynamics reports, once for each cue and way of playing, a stroke whose
// dynamic is outside what the way gets.
func (c *Context) dynamics(outside func(*kit.Way, kit.Dynamic) bool, verdict func(*kit.Way) string) {
	for _, m := range c.Motions {
		reported := map[*score.Cue]bool{}
		for _, ch := range m.Chosen {
			if reported[ch.Cue] || ch.Substitute {
				continue
			}
			for i := range ch.Cue.Strokes {
				st := &ch.Cue.Strokes[i]
				if st.Dyn == 0 || !st.Sounds() || st.Has(score.Roll) != (ch.First.Kind == motion.RollOn) || !outside(ch.Way, st.Dyn) {
					continue
				}
				reported[ch.Cue] = true
				f := Finding{Severity: Warning, Where: st.Where(), Player: m.Player.Name, Limb: ch.Cue.Limb.Name(),
					Message: fmt.Sprintf("%s is asked for, and the %s %s %s", st.Dyn, ch.Cue.Item.Inst.Name(), howPlayed(ch), verdict(ch.Way))}
				f.place(c.Score, st.At)
				got := c.report(f)
				c.proposeForCue(got, ch.Cue, nil)
				c.proposeAccept(got)
				break
			}
		}
	}
}
