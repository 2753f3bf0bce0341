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
	each: true,
	Look: func(c *Context) {
		type rolling struct {
			item *score.Item
			limb body.Limb
		}
		ways := map[*score.Cue]*motion.Chosen{}
		for _, ch := range c.Chosen() {
			if ch.Rolled {
				ways[ch.Cue] = ch
			}
		}
		for m, e := range c.Events() {
			if e.Kind != motion.RollOn || ways[e.Cue] == nil {
				continue
			}
			lasts := e.T1 - e.T0
			limit, why := keptUp(ways[e.Cue], e.Cue.Strokes[e.Stroke].Dyn)
			if limit > 0 && lasts > limit && c.Once(m, rolling{e.Cue.Item, e.Cue.Limb}) {
				f := c.At(m, e).Warning("%s rolls on the %s for %.1f s; %s", m.Player.Name, e.Cue.Item.Called(), lasts, why)
				if ways[e.Cue].Way.RollsFor > 0 { // else it strains, and can be done
					f.Wears = lasts / limit
				}
				f.orStandIn(e.Cue).OrAccept()
			}
		}
	},
}

// keptUp is how long a roll can be kept up, in seconds, and why no longer; 0 is
// as long as one likes.
func keptUp(ch *motion.Chosen, d kit.Dynamic) (limit float64, why string) {
	limit = ch.Way.RollsAt(d)
	if limit == 0 && ch.Way.Hands == 1 && ch.Choice.Count == 2 {
		return body.LongRoll, "two mallets in one hand strain the forearm: rest it, and stop if it hurts"
	}
	why = fmt.Sprintf("about %.0f s is what it can be kept up for", limit)
	if limit < ch.Way.RollsFor {
		why += " at forte"
	}
	return limit, why
}
