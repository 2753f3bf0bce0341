package check

import (
	"example.org/handful/lang/motion"
)

var twoPlaces = &Rule{
	Name:       "two-places",
	Severities: []Severity{Error},
	Finds:      "two limbs needed at two stations at once",
	Means: `Both hands, or a hand and a foot, are wanted at the same moment by instruments that cannot be reached from one place,
or the body would have to be at another station with no time at all.`,
	Why:    `The body is in one place; what it cannot reach from there waits.`,
	Stands: `Reach: each hand's from its own shoulder, with its stick (see out-of-reach); a side step of up to 60 cm more.`,
	Trips: `tempo 96
player Sol
  kit
    station bells          at right 300
    snare-drum    on stand at ahead 40
    glockenspiel  on stand at bells ahead 40
  R snare-drum with snare-stick      | 1
  L glockenspiel with plastic-mallet | 1
`,
	Passes: `tempo 96
player Sol
  kit
    station bells          at right 300
    snare-drum    on stand at ahead 40
    glockenspiel  on stand at bells ahead 40
  R snare-drum with snare-stick      | 1 | - | -
  L glockenspiel with plastic-mallet | - | - | 4
`,
	each: true,
	Look: func(c *Context) {
		for k := range c.Conflicts(motion.TwoStations) {
			c.AtConflict(k).Error("%s is wanted at the %s and at the %s at once, and they cannot be reached from one place",
				k.player.Player.Name, k.A.Item().Called(), k.B.Item().Called()).orStandIn(k.B.Cue, k.A.Cue)
		}
		for _, g := range c.Changes(stuck) {
			if g.Walks && !g.To.Kind.Stops() { // there is no time at all
				c.AtChange(&g).Error("%s is still busy elsewhere at the moment the %s is to be played", g.player.Player.Name, g.To.Item().Called()).
					orStandInAfter(g.Change, g.To.Cue)
			}
		}
	},
}
