package check

import (
	"fmt"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var noFootLeft = &Rule{
	Name:       "no-foot-left",
	Severities: []Severity{Error, Warning},
	Finds:      "a foot or a seat that a way of playing takes besides the hands, and that the body does not have",
	Means: `A vibraphone's damper, a hi-hat's pedal, a raised thigh each take a foot for as long as they are played, a drum set both.
The foot is on another pedal then; or a leg that has to stand still would walk; or the body would sit on two seats, or sit and
stand; or both feet are on pedals and nothing that is played is played sitting.`,
	Why:    `Who stands does so on one foot, and who sits does so in one place. The foot is forgotten, since it has no line of its own.`,
	Stands: `The ways in the catalogue: what each takes besides the hands, and where it is played sitting; common practice, no source.`,
	Trips: `tempo 80
player Kim
  R drum-set with snare-stick | 1 2 3 4
  RF bass-drum-pedal          | 1 3
`,
	Passes: `tempo 80
player Kim
  R hi-hat with snare-stick | 1 2 3 4
  RF bass-drum-pedal        | 1 3
`,
	check: func(c *Context) {
		c.eachConflict(motion.NoFoot, func(m *motion.Result, k conflictGroup) {
			hands, foot := k.B, k.A
			if hands.Limbs&body.Hands == 0 {
				hands, foot = foot, hands
			}
			msg := fmt.Sprintf("%s cannot %s and %s at once: there is no foot left for both", m.Player.Name, toDo(hands), toDo(foot))
			got := c.report(c.conflict(m, k, limbOf(k.B.Limbs), msg))
			c.proposeForCue(got, hands.Cue, nil)
		})
		c.eachConflict(motion.TwoSeats, func(m *motion.Result, k conflictGroup) {
			c.report(c.conflict(m, k, limbOf(k.B.Limbs), fmt.Sprintf("%s cannot %s and %s at once: %s",
				m.Player.Name, toDo(k.A), toDo(k.B), "the body would have to sit in two places, or to sit and stand")))
		})
		for _, m := range c.Motions {
			c.standsStill(m)
			if e := m.Unseated; e != nil && !m.Player.Person.Seated && !c.weighed(m.Player.Name, e.At()) {
				f := Finding{Severity: Warning, Where: e.Where(), Player: m.Player.Name, Limb: limbOf(e.Limbs),
					Message: fmt.Sprintf("%s has both feet on pedals at the %s, and nothing says what %s sits on", m.Player.Name, e.Item().Inst.Name(), m.Player.Name)}
				f.place(c.Score, e.At())
				c.proposeAccept(c.report(f))
			}
		}
	},
}

// standsStill finds the ways to another place on which a leg goes that should
// stand still for what is played meanwhile.
func (c *Context) standsStill(m *motion.Result) {
	stays := map[*score.Cue]bool{}
	for _, ch := range m.Chosen {
		if ch.Way.Stays {
			stays[ch.Cue] = true
		}
	}
	if len(stays) == 0 {
		return
	}
	said := map[*score.Cue]bool{}
	for i := range m.Changes {
		ch := &m.Changes[i]
		if !ch.Walks || ch.To.Kind.Stops() {
			continue
		}
		for cue := range stays {
			before, after := around(m, cue, ch.To)
			if said[cue] || before == nil || after == nil || before.Span != after.Span || long.Less(after.At().Sub(before.Cue.Strokes[before.Stroke].End)) {
				continue
			}
			said[cue] = true
			f := Finding{Severity: Error, Where: ch.To.Where(), Player: m.Player.Name, Limb: limbOf(ch.To.Limbs),
				Message: fmt.Sprintf("%s has to get over to the %s while the %s goes on, and the leg it is played on has to stand still",
					m.Player.Name, ch.To.Item().Inst.Name(), cue.Item.Inst.Name())}
			f.place(c.Score, ch.To.At())
			f.Related = append(f.Related, note(before.Where(), "it is played from here on"))
			c.proposeForCue(c.report(f), cue, nil)
		}
	}
}

// long is the silence in which a leg may walk: half a bar of four quarters, as a
// hand may do something else in it.
var long = beat.R(1, 2)

// around are the strokes of a cue before and after an event, or at it.
func around(m *motion.Result, cue *score.Cue, e *motion.Event) (before, after *motion.Event) {
	for i := range m.Events {
		f := &m.Events[i]
		switch {
		case f.Cue != cue:
		case f.T0 < e.T0:
			before = f
		case after == nil:
			after = f
		}
	}
	return before, after
}
