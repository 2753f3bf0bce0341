package check

import (
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
	each: true,
	Look: func(c *Context) {
		for k := range c.Conflicts(motion.NoFoot) {
			hands, foot := k.B, k.A
			if hands.Limbs&body.Hands == 0 {
				hands, foot = foot, hands
			}
			c.AtConflict(k).Error("%s cannot %s and %s at once: there is no foot left for both", k.player.Player.Name, toDo(hands), toDo(foot)).orPlay(hands.Cue)
		}
		for k := range c.Conflicts(motion.TwoSeats) {
			c.AtConflict(k).Error("%s cannot %s and %s at once: the body would have to sit in two places, or to sit and stand",
				k.player.Player.Name, toDo(k.A), toDo(k.B))
		}
		for _, m := range c.Motions {
			c.standsStill(m)
			if e := m.Unseated; e != nil && !m.Player.Person.Seated && !c.weighed(m.Player.Name, e.At()) {
				c.At(m, e).With(limbOf(e.Limbs)).Warning("%s has both feet on pedals at the %s, and nothing says what %s sits on",
					m.Player.Name, e.Item().Called(), m.Player.Name).OrAccept()
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
	for i := range m.Changes {
		ch := &m.Changes[i]
		if !ch.Walks || ch.To.Kind.Stops() {
			continue
		}
		for cue := range stays {
			before, after := around(m, cue, ch.To)
			if before == nil || after == nil || before.Span != after.Span || long.Less(after.At().Sub(before.Cue.Strokes[before.Stroke].End)) || !c.Once(m, cue) {
				continue
			}
			c.At(m, ch.To).With(limbOf(ch.To.Limbs)).Error("%s has to get over to the %s while the %s goes on, and the leg it is played on has to stand still",
				m.Player.Name, ch.To.Item().Called(), cue.Item.Called()).
				Also(before.Where(), "it is played from here on").orPlay(cue)
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
