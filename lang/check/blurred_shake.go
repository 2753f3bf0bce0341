package check

import (
	"fmt"
	"math"

	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var blurredShake = &Rule{
	Name:       "blurred-shake",
	Severities: []Severity{Warning},
	Finds:      "an uneven rhythm on an instrument that one hand shakes",
	Means: `To and fro is even by nature. Quick rhythms with unequal distances come out blurred, since the beads arrive when they
arrive.`,
	Why:    `The written off-beat turns into a smear.`,
	Stands: `Common practice, no source.`,
	Trips: `tempo 120
player Ida
  R shaker | 1 1a 2 2a 3 3a 4 4a
`,
	Passes: `tempo 120
player Ida
  R shaker | 1 1& 2 2& 3 3& 4 4&
`,
	check: func(c *Context) {
		for _, m := range c.Motions {
			shaken := map[*score.Cue]bool{}
			for _, ch := range m.Chosen {
				if ch.Way.Shaken && !ch.Cue.Limb.TwoHands() {
					shaken[ch.Cue] = true
				}
			}
			if len(shaken) == 0 {
				continue
			}
			last := map[*score.Cue][2]*motion.Event{}
			reported := map[*score.Cue]bool{}
			for i := range m.Events {
				e := &m.Events[i]
				if e.Cue == nil || !shaken[e.Cue] || e.Kind != motion.Strike || reported[e.Cue] {
					continue
				}
				two := last[e.Cue]
				last[e.Cue] = [2]*motion.Event{two[1], e}
				if two[0] == nil {
					continue
				}
				a, b := two[1].T0-two[0].T0, e.T0-two[1].T0
				if max(a, b) > quickShake || math.Abs(a-b) < unevenShake*min(a, b) {
					continue
				}
				reported[e.Cue] = true
				f := Finding{Severity: Warning, Where: e.Where(), Player: m.Player.Name, Limb: e.Cue.Limb.Name(),
					Message: fmt.Sprintf("%s shakes the %s unevenly here (%s, then %s), which blurs", m.Player.Name, e.Cue.Item.Inst.Name(), seconds(a), seconds(b))}
				f.place(c.Score, e.At())
				got := c.report(f)
				c.proposeStandIns(got, e.Cue, nil)
				c.proposeAccept(got)
			}
		}
	},
}

// Below half a second between strokes a difference of a third blurs: common
// practice, no source.
const (
	quickShake  = 0.5
	unevenShake = 0.34
)
