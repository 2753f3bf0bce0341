package check

import (
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var crossedHands = &Rule{
	Name:       "crossed-hands",
	Severities: []Severity{Warning},
	Finds:      "the right hand well to the left of the left hand at the same time",
	Means: `Both hands play together, and the right hand itself, with its stick before it, is to the left of the left one by more
than a forearm, or by less where the arms meet at one height. A hand that passes above the other, as to a hi-hat
beside the snare drum, is at home there.`,
	Why: `Crossed arms are slow to leave and hide the page.`,
	Stands: `Each arm from its own shoulder, in three dimensions. Shoulders and forearm (26 cm): Gordon et al. 2014, figures from
memory. 15 cm where the arms meet: common practice, no source.`,
	Trips: `tempo 96
player Ida
  kit
    snare-drum on stand at left 40 ahead 40
    woodblock  clamped  at right 40 ahead 40
  R snare-drum with snare-stick | 1 2 3 4
  L woodblock with snare-stick  | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  kit
    snare-drum on stand at left 40 ahead 40
    woodblock  clamped  at right 40 ahead 40
  L snare-drum with snare-stick | 1 2 3 4
  R woodblock with snare-stick  | 1 2 3 4
`,
	each: true,
	Look: func(c *Context) {
		type pair struct{ r, l *score.Item }
		var last [2]*motion.Event
		var whose *motion.Result
		for m, e := range c.Events() {
			if m != whose {
				whose, last = m, [2]*motion.Event{}
			}
			if e.Cue == nil || e.Kind.Stops() || !e.Cue.Item.Placed {
				continue
			}
			if hand := e.Limbs & body.Hands; hand.Count() == 1 {
				last[hand.First()] = e
			}
			r, l := last[body.Right], last[body.Left]
			if r == nil || l == nil || r.T1 < l.T0-togetherWithin || l.T1 < r.T0-togetherWithin {
				continue
			}
			a, b := r.Cue.Item, l.Cue.Item
			if a.At.Right >= b.At.Right || a.Station != b.Station || !c.Once(m, pair{a, b}) {
				continue
			}
			by, uneasy := m.Player.Arms().Crossed(m.Player.Stations[a.Station].At, m.Player.Target(a).At, m.Player.Target(b).At, a.Stick, b.Stick)
			if !uneasy {
				continue
			}
			later, other, hand := r, l, body.Left // where the two come together
			if r.T0 < l.T0 {
				later, other, hand = l, r, body.Right
			}
			c.At(m, later).With("both hands").
				Warning("%s's hands cross: the right one, on the %s, is %.0f cm to the left of the left one, on the %s", m.Player.Name, a.Inst.Name(), by, b.Inst.Name()).
				Also(other.Where(), "the %s", hand.Name()).Or("change hands in both lines", limbEdit(r.Cue, body.Left), limbEdit(l.Cue, body.Right)).OrAccept()
		}
	},
}

// togetherWithin is what counts as together, in seconds: common practice, no
// source.
const togetherWithin = 0.1
