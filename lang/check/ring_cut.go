package check

import (
	"example.org/handful/lang/beat"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var ringCut = &Rule{
	Name:       "ring-cut",
	Severities: []Severity{Warning},
	Finds:      "a let-ring instrument laid or gripped again while it should sound",
	Means: `The instrument rings on, nothing in the music stops it, and the hand that holds it has to lay it down before it has
died away.`,
	Why:    `Laid on a towel a triangle is silent at once; what was written to ring is cut.`,
	Stands: `Ring times in the catalogue: estimates from common practice, no source.`,
	Trips: `tempo 120
player Ida
  R triangle held with triangle-beater | 1 | -
  L woodblock clamped with snare-stick | - | 4
`,
	Passes: `tempo 60
player Ida
  R triangle held with triangle-beater | 1 | - | - | -
  L woodblock clamped with snare-stick | - | - | - | 4
`,
	each: true,
	Look: func(c *Context) {
		for _, g := range c.Changes(func(ch *motion.Change) bool {
			return ch.Lays && ch.From != nil && ch.Before.Inst != nil && ch.Before.Inst.Inst.Rings >= 2 && !ch.Short()
		}) {
			it := g.Before.Inst
			rings := g.Window - g.Need.Floor // until the hand must begin to lay it
			if g.From.Item() != it || g.From.Kind.Stops() || rings >= it.Inst.Rings*enoughRing || stoppedBetween(g.player, it, g.From, g.To) {
				continue
			}
			c.AtChange(&g).Timed(g.Change).Warning("the ring of the %s lasts about %.0f s, and %s has to lay what rings after %s at the most",
				it.Called(), it.Inst.Rings, g.who(), seconds(max(0, rings))).OrAccept()
		}
	},
}

// enoughRing is the share of a ring after which little of it is left to cut:
// common practice, no source.
const enoughRing = 0.6

// stoppedBetween says whether the music stops what rings between two events:
// with a hand of its own, or with the one that holds it, which is no event.
func stoppedBetween(m *motion.Result, it *score.Item, from, to *motion.Event) bool {
	between := func(at beat.Rat) bool {
		after, before := !at.Less(from.At()), at.Less(to.At())
		if to.At().Less(from.At()) { // over a jump
			return after || before
		}
		return after && before
	}
	for _, cue := range m.Player.Cues {
		if cue.Item != it {
			continue
		}
		for i := range cue.Strokes {
			if st := &cue.Strokes[i]; (st.Has(score.Stop) || st.Has(score.Short)) && between(st.At) {
				return true
			}
		}
	}
	for _, a := range m.Player.Actions {
		if a.Kind == score.Damp && a.Item == it && between(a.At) {
			return true
		}
	}
	return false
}
