package check

import (
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var footBusy = &Rule{
	Name:       "foot-busy",
	Severities: []Severity{Error, Warning},
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
	each: true,
	Look: func(c *Context) {
		for _, m := range c.Motions {
			eachPedal(m, func(from, e *motion.Event, foot body.Limb) bool {
				need, gap := pedalToPedal(m.Player), e.T0-from.T1
				band := motion.BandOf(need, gap)
				if band == motion.Steady || e.T0 <= from.T0 || c.weighed(m.Player.Name, e.At()) {
					return true
				}
				severity := Warning
				if band == motion.Missing {
					severity = Error
				}
				c.At(m, e).With(foot.Name()).Needs(need, gap, Sum{"move the leg to the other pedal", "LM + FM", need, body.MTM1}).
					Says(severity, "%s's %s has %s from the %s to the %s, and that %s", m.Player.Name, foot.Name(),
						seconds(gap), from.Item().Called(), e.Item().Called(), verdictOf(need, band)).
					Also(from.Where(), "the foot comes from here").Or("play it with the other foot", limbEdit(e.Cue, foot.Other())).orStandIn(e.Cue)
				return false
			})
		}
	},
}

// eachPedal visits the ways of a foot from one pedal to another, until visit
// says no.
func eachPedal(m *motion.Result, visit func(from, to *motion.Event, foot body.Limb) bool) {
	var last [2]*motion.Event
	for i := range m.Events {
		e := &m.Events[i]
		if e.Cue == nil {
			continue
		}
		for foot := range (e.Limbs & body.Feet).Each() {
			f := last[foot-body.RightFoot]
			last[foot-body.RightFoot] = e
			if f != nil && f.Item() != e.Item() && !visit(f, e, foot) {
				return
			}
		}
	}
}

// pedalToPedal is a leg motion of up to 15 cm and the foot's own: LM 7.1 TMU +
// FM 8.5 TMU by MTM-1.
func pedalToPedal(p *score.Player) body.Pace { return p.Profile.Pedals().Pace }
