package check

import (
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var floorPickUp = &Rule{
	Name:       "floor-pick-up",
	Severities: []Severity{Warning},
	Finds:      "things that have to be picked up from the floor",
	Means: `The kit puts something that is taken in the hand on the floor, or a table below knee height: bending for it and
coming up again costs more than two seconds and takes the eyes off the conductor.`,
	Why: `It costs time, the sight of the beat, and in the long run the back. Raise it; lift with the knees, and follow your
house's rules for lifting.`,
	Stands: `Bend and arise: MTM-1 B 29.0 and AB 31.9 TMU, 2.2 s together.`,
	Trips: `tempo 60
player Ida
  kit
    tambourine floor at right 30 ahead 30
  R tambourine held with fingers | 1
`,
	Passes: `tempo 60
player Ida
  kit
    tambourine held at right 30 ahead 30
  R tambourine held with fingers | 1
`,
	Look: func(c *Context) {
		for cue := range c.Cues() {
			p, it := cue.Player, cue.Item
			if p.Person.Seated || it.Mount != kit.Floor || motion.Wanted(cue) != kit.Held || !c.Once(nil, p) { // cannot-or-never speaks of who is seated
				continue
			}
			c.In(it.Where).Of(p).Warning("%s takes the %s up from the floor: that is a bend and up again, %s at the fastest, in every change that does it", p.Name, it.Called(), seconds(stoop(p)))
		}
		for _, p := range c.Score.Players {
			for _, t := range p.Tables {
				if !p.Person.Seated && t.At.Up <= motion.BelowKnee {
					c.In(t.Where).Of(p).Warning("this table is below the knee: whatever is taken from it costs a bend and up again, %s at the fastest", seconds(stoop(p)))
				}
			}
		}
	},
}

// stoop is to bend down and to come up again.
func stoop(p *score.Player) float64 {
	return p.Profile.Bend().Pace.Floor + p.Profile.Rise().Pace.Floor
}
