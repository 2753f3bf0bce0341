package check

import (
	"fmt"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var compromise = &Rule{
	Name:       "compromise",
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
	check: func(c *Context) {
		type key struct {
			inst *kit.Instrument
			cost string
		}
		for _, m := range c.Motions {
			seen := map[key]bool{}
			for _, ch := range m.Chosen {
				if im := c.Score.Catalogue.Implement(ch.Choice.Implement); ch.Choice.Butt && im != nil && !ch.Substitute {
					if k := (key{ch.Cue.Item.Inst, "butt of " + im.ID}); !seen[k] {
						seen[k] = true
						c.report(c.compromised(m, ch.Cue, ch.First, fmt.Sprintf("the %s with the butt of the %s costs: %s", ch.Cue.Item.Inst.Name(), im.Name(), im.ButtCost)))
					}
				}
				k := key{ch.Cue.Item.Inst, ch.Way.Costs}
				if ch.Way.Costs == "" || ch.Substitute || seen[k] || ch.Rolled && ch.Way.Hands == 1 {
					continue
				}
				seen[k] = true
				c.report(c.compromised(m, ch.Cue, ch.First, fmt.Sprintf("the %s %s costs: %s", ch.Cue.Item.Inst.Name(), howPlayed(ch), ch.Way.Costs)))
			}
			for _, cue := range m.Player.Cues {
				k := key{cue.For, "for " + cue.Item.Inst.ID}
				if cue.For == nil || cue.For == cue.Item.Inst || seen[k] || len(cue.Strokes) == 0 {
					continue
				}
				seen[k] = true
				f := c.compromised(m, cue, nil, c.standsIn(cue))
				f.place(c.Score, cue.Strokes[0].At)
				c.report(f)
			}
		}
	},
}

func (c *Context) compromised(m *motion.Result, cue *score.Cue, first *motion.Event, message string) Finding {
	f := Finding{Severity: Compromise, Where: cue.Where, Player: m.Player.Name, Limb: cue.Limb.Name(), Message: message}
	if first != nil {
		f.place(c.Score, first.At())
	}
	return f
}

func howPlayed(ch motion.Chosen) string {
	if ch.Way.Mount == kit.Held && ch.Way.Hands == 1 {
		return "in one hand"
	}
	return ch.Way.Mount.String()
}
