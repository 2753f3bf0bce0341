package check

import (
	"example.org/handful/lang/body"
	"fmt"
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
	check: func(c *Context) {
		for _, p := range c.Score.Players {
			for _, cue := range p.Cues {
				if !cue.Limb.IsHand() && cue.Limb != body.AnyHand {
					continue
				}
				n, first := 0, -1
				for i := range cue.Strokes {
					if cue.Strokes[i].Grace > 0 {
						if n++; first < 0 {
							first = i
						}
					}
				}
				if n == 0 {
					continue
				}
				st := &cue.Strokes[first]
				f := Finding{Severity: Compromise, Where: st.Where(), Player: p.Name, Limb: cue.Limb.Name(),
					Message: fmt.Sprintf("%s plays %s on the %s with one hand: %s a single stroke", p.Name,
						plural(n, [...]string{"", "flam", "drag", "ruff"}[st.Grace]), cue.Item.Inst.Name(), map[bool]string{true: "it becomes", false: "each becomes"}[n == 1])}
				f.place(c.Score, st.At)
				got := c.report(f)
				if cue.Limb == body.Right {
					got.propose("play it hand to hand", true, limbEdit(cue, body.RightFirst))
				} else if cue.Limb == body.Left {
					got.propose("play it hand to hand", true, limbEdit(cue, body.LeftFirst))
				}
			}
		}
	},
}
