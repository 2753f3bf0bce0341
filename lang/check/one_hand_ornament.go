package check

import (
	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
)

var oneHandOrnament = &Rule{
	Name:       "one-hand-ornament",
	Severities: []Severity{Compromise},
	Finds:      "a flam, drag or ruff for one hand: it becomes a single stroke",
	Means: `Grace strokes are made by the other hand, or by two in turn. One hand alone plays the main stroke, or a buzz before
it.`,
	Why:    `A flam is a thickness of sound; it is missed.`,
	Stands: `Common practice, no source.`,
	Trips: `tempo 96
player Ida
  R snare-drum with snare-stick | '1 2 '3 4
`,
	Passes: `tempo 96
player Ida
  RL snare-drum with snare-stick | '1 2 '3 4
`,
	each: true,
	Look: func(c *Context) {
		for cue := range c.Cues() {
			if !cue.Limb.IsHand() && cue.Limb != body.AnyHand {
				continue
			}
			n, first := 0, (*score.Stroke)(nil)
			for i := range cue.Strokes {
				if st := &cue.Strokes[i]; st.Grace > 0 {
					if n++; first == nil {
						first = st
					}
				}
			}
			if n == 0 {
				continue
			}
			becomes := "each becomes"
			if n == 1 {
				becomes = "it becomes"
			}
			f := c.AtStroke(cue, first).Compromise("%s plays %s on the %s with one hand: %s a single stroke", cue.Player.Name,
				plural(n, [...]string{"", "flam", "drag", "ruff"}[first.Grace]), cue.Item.Called(), becomes)
			if cue.Limb.IsHand() {
				f.orHandToHand(cue)
			}
		}
	},
}
