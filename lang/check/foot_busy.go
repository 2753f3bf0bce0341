package check

import (
	"fmt"

	"handful/lang/motion"
)

var footBusy = &Rule{
	Name:       "foot-busy",
	Severities: []Severity{Error},
	Finds:      "a foot that should be on two pedals, or on one while the body walks",
	Means: `The same foot has two pedals with no time to move between them, or the player has to get to another station within
the time in which a foot still plays here.`,
	Why:    `A foot on a pedal keeps the whole player where it is.`,
	Stands: `One leg motion of 15 cm, LM 7.1 TMU, by MTM-1; walking as in short-change.`,
	Trips: `tempo 120
player Kim
  LF hi-hat          | 1 2 3 4
  LF bass-drum-pedal | 1& 3&
`,
	Passes: `tempo 120
player Kim
  LF hi-hat          | 2 4
  RF bass-drum-pedal | 1 3
`,
	check: func(c *Context) {
		for _, m := range c.Motions {
			var last [2]*motion.Event
			reported := false
			for i := range m.Events {
				e := &m.Events[i]
				for b, bit := range []uint8{motion.RF, motion.LF} {
					if e.Limbs&bit == 0 {
						continue
					}
					f := last[b]
					last[b] = e
					if f == nil || f.Item() == e.Item() || reported || e.T0-f.T1 >= pedalToPedal || e.T0 <= f.T0 {
						continue
					}
					reported = true
					got := Finding{Severity: Error, Where: e.Where(), Player: m.Player.Name, Limb: limbWords(bit),
						Message: fmt.Sprintf("%s's %s has %s from the %s to the %s, and a leg needs at least %s", m.Player.Name, limbWords(bit),
							seconds(e.T0-f.T1), f.Item().Inst.Name(), e.Item().Inst.Name(), seconds(pedalToPedal))}
					got.place(c.Score, e.At())
					got.Related = append(got.Related, note(f.Where(), "the foot comes from here"))
					r := c.report(got)
					other := map[uint8]string{motion.RF: "LF", motion.LF: "RF"}[bit]
					r.propose("play it with the other foot", true, limbEdit(e.Cue, other))
				}
			}
		}
	},
}

// pedalToPedal is a leg motion of up to 15 cm and the foot's own: LM 7.1 TMU +
// FM 8.5 TMU by MTM-1, in seconds.
const pedalToPedal = (7.1 + 8.5) * 0.036
