package check

import (
	"example.org/handful/lang/kit"
)

// RuleCompromise is the name of the rule for what is played, but not as written.
const RuleCompromise = "compromise"

var compromise = &Rule{
	Name:       RuleCompromise,
	Severities: []Severity{Compromise},
	Finds:      "what is one-handed, laid, clipped, mounted or substituted, and what that costs in sound",
	Means: `The cue can be played, in a way that is not the instrument's best, or by another sound than the written one. It is
said once for each player and instrument.`,
	Why:    `The conductor should hear of it from you, before the rehearsal.`,
	Stands: `The costs in the catalogue: published and common practice, marked so in each entry.`,
	Trips: `tempo 96
player Ida
  R triangle clipped with triangle-beater | 1 3
`,
	Passes: `tempo 96
player Ida
  R triangle held with triangle-beater | 1 3
`,
	each:     true,
	timeless: true,
	Look: func(c *Context) {
		type cost struct {
			inst *kit.Instrument
			what string
		}
		for m, ch := range c.Chosen() {
			if ch.Substitute {
				continue
			}
			in, here := ch.Cue.Item.Inst, func() Report { return c.AtCue(ch.Cue).When(ch.First.At()) }
			if im := c.Score.Catalogue.Implement(ch.Choice.Implement); ch.Choice.Butt && im != nil && c.Once(m, cost{in, "butt of " + im.ID}) {
				here().Compromise("the %s with the butt of the %s costs: %s", in.Name(), im.Name(), im.ButtCost)
			}
			if costs := ch.Way.Costs; costs != "" && !(ch.Rolled && ch.Way.Hands == 1) && c.Once(m, cost{in, costs}) {
				here().Compromise("the %s %s costs: %s", in.Name(), howPlayed(ch), costs)
			}
		}
		for _, m := range c.Motions {
			for _, cue := range m.Player.Cues {
				if cue.Substitutes() && len(cue.Strokes) > 0 && c.Once(m, cost{cue.For, "for " + cue.Item.Inst.ID}) {
					c.AtCue(cue).Compromise("%s", c.standsIn(cue))
				}
			}
		}
	},
}
