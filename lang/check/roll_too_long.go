package check

import (
	"fmt"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var rollTooLong = &Rule{
	Name:       "roll-too-long",
	Severities: []Severity{Warning},
	Finds:      "a roll longer than it can be kept up",
	Means: `A thumb roll on the tambourine lasts about three seconds at forte and eight at piano. A roll with two mallets in one
hand can go on longer, and strains the forearm.`,
	Why: `The thumb runs out of head; the forearm does not tell in time. If a hand or forearm hurts or tingles, stop, and ask a
teacher or a clinician who knows musicians.`,
	Stands: `Thumb roll: common practice, no source. One-hand rolls: a caution after ten seconds; common practice, no source.`,
	Trips: `tempo 60
player Ida
  R suspended-cymbal with 2 yarn-mallets | p 1~ | ~ | ~ | ~4
  L woodblock clamped with snare-stick   | 1    | 1 | 1 | 1
`,
	Passes: `tempo 60
player Ida
  R suspended-cymbal with 2 yarn-mallets | p 1~ | ~4
  L woodblock clamped with snare-stick   | 1    | 1
`,
	check: func(c *Context) {
		for _, m := range c.Motions {
			type rolling struct {
				item *score.Item
				limb body.Limb
			}
			ways := map[*score.Cue]*motion.Chosen{}
			for i := range m.Chosen {
				if ch := &m.Chosen[i]; ch.Rolled {
					ways[ch.Cue] = ch
				}
			}
			reported := map[rolling]bool{}
			for i := range m.Events {
				e := &m.Events[i]
				if e.Kind != motion.RollOn {
					continue
				}
				key := rolling{e.Cue.Item, e.Cue.Limb}
				ch := ways[e.Cue]
				if ch == nil || reported[key] {
					continue
				}
				limit, why := ch.Way.RollsFor, fmt.Sprintf("about %.0f s is what it can be kept up for", ch.Way.RollsFor)
				if e.Cue.Item.Inst.ID == "tambourine" && limit > 0 && e.Cue.Strokes[e.Stroke].Dyn >= kit.F {
					limit, why = thumbRollForte, "a thumb roll lasts about three seconds at forte"
				}
				if limit == 0 && ch.Way.Hands == 1 && ch.Choice.Count == 2 {
					limit, why = body.LongRoll, "two mallets in one hand strain the forearm: rest it, and stop if it hurts"
				}
				if limit == 0 || e.T1-e.T0 <= limit {
					continue
				}
				reported[key] = true
				f := Finding{Severity: Warning, Where: e.Where(), Player: m.Player.Name, Limb: e.Cue.Limb.Name(),
					Message: fmt.Sprintf("%s rolls on the %s for %.1f s; %s", m.Player.Name, e.Cue.Item.Inst.Name(), e.T1-e.T0, why)}
				f.place(c.Score, e.At())
				got := c.report(f)
				c.proposeStandIns(got, e.Cue, nil)
				c.proposeAccept(got)
			}
		}
	},
}

// How long rolls can be kept up, in seconds: common practice, no source.
const (
	thumbRollForte = 3.0
)
