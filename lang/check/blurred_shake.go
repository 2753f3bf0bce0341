package check

import (
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
	each: true,
	Look: func(c *Context) {
		shaken := map[*score.Cue]bool{}
		for _, ch := range c.Chosen() {
			if ch.Way.Shaken && !ch.Cue.Limb.TwoHands() {
				shaken[ch.Cue] = true
			}
		}
		if len(shaken) == 0 {
			return
		}
		last := map[*score.Cue][2]*motion.Event{}
		for m, e := range c.Events() {
			if e.Kind != motion.Strike || !shaken[e.Cue] {
				continue
			}
			one, two := last[e.Cue][0], last[e.Cue][1]
			last[e.Cue] = [2]*motion.Event{two, e}
			if one == nil {
				continue
			}
			a, b := two.T0-one.T0, e.T0-two.T0
			if max(a, b) <= quickShake && math.Abs(a-b) >= unevenShake*min(a, b) && c.Once(m, e.Cue) {
				c.At(m, e).Warning("%s shakes the %s unevenly here (%s, then %s), which blurs", m.Player.Name, e.Cue.Item.Called(), seconds(a), seconds(b)).
					orStandIn(e.Cue).OrAccept()
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
