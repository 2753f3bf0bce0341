package check

import (
	"math"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
)

var outOfSight = &Rule{
	Name:       "out-of-sight",
	Severities: []Severity{Info},
	Finds:      "an instrument played with the conductor out of sight",
	Means: `The instrument stands more than 60 degrees off the line to the conductor, who is taken to be straight ahead: whoever
looks at it does not see the beat, even from the corner of the eye.`,
	Why:    `Entries there are late, or need a glance up and back of half a second.`,
	Stands: `60 degrees: common practice, no source. A glance: twice E of MTM-2, 0.5 s.`,
	Trips: `tempo 96
player Ida
  kit
    snare-drum on stand at right 50 ahead 10
  R snare-drum | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  kit
    snare-drum on stand at right 20 ahead 40
  R snare-drum | 1 2 3 4
`,
	Look: func(c *Context) {
		for _, p := range c.Score.Players {
			for _, it := range p.Items {
				if !it.Used || !it.Placed || it.Mount == kit.Held || it.Shared {
					continue
				}
				st := p.Stations[min(it.Station, len(p.Stations)-1)].At
				right, ahead := it.At.Right-st.Right, it.At.Ahead-st.Ahead
				if angle := math.Abs(math.Atan2(right, ahead)) * 180 / math.Pi; angle > body.InSight && math.Hypot(right, ahead) > 1 {
					c.In(it.Where).Of(p).Info("the %s %s %.0f degrees off the line to the conductor: the beat is out of sight while %s looks at it", it.Called(), it.Inst.Verb("stands", "stand"), angle, p.Name)
				}
			}
		}
	},
}
