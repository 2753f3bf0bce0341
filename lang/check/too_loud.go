package check

import (
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
	each:     true,
	timeless: true,
	Look: func(c *Context) {
		c.dynamics(func(w *kit.Way, d kit.Dynamic) bool { return w.Loudest > 0 && d > w.Loudest },
			func(w *kit.Way) string { return "is honestly no louder than " + w.Loudest.String() })
		c.besideWhatIsInThePalm()
	},
}

// dynamics reports, once for each cue, a stroke whose dynamic is outside what
// the way gets in which it is played.
func (c *Context) dynamics(outside func(*kit.Way, kit.Dynamic) bool, verdict func(*kit.Way) string) {
	for m, ch := range c.Chosen() {
		if ch.Substitute {
			continue
		}
		for i := range ch.Cue.Strokes {
			st := &ch.Cue.Strokes[i]
			if st.Dyn == 0 || !st.Sounds() || st.Has(score.Roll) != (ch.First.Kind == motion.RollOn) || !outside(ch.Way, st.Dyn) {
				continue
			}
			if c.Once(m, ch.Cue) {
				c.AtStroke(ch.Cue, st).Warning("%s is asked for, and the %s %s %s", st.Dyn, ch.Cue.Item.Called(), howPlayed(ch), verdict(ch.Way)).
					orPlay(ch.Cue).OrAccept()
			}
			break
		}
	}
}
