package check

import (
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
)

var noisyChange = &Rule{
	Name:       "noisy-change",
	Severities: []Severity{Warning},
	Finds:      "jingling, rattling or metallic things taken or laid at p and below",
	Means: `Something that sounds when it is moved has to be taken or laid where the player's own music is marked p or softer on
both sides.`,
	Why:    `A tambourine laid down in a pianissimo is a solo.`,
	Stands: `The handling noise in the catalogue; common practice, no source. A towel and time are the usual cure.`,
	Trips: `tempo 60
player Ida
  R shaker                             | pp 1 | - | -
  R woodblock clamped with yarn-mallet | -    | - | pp 1
`,
	Passes: `tempo 60
player Ida
  R shaker                             | f 1 | - | -
  R woodblock clamped with yarn-mallet | -   | - | f 1
`,
	each: true,
	Look: func(c *Context) {
		for _, g := range c.Changes(func(ch *motion.Change) bool {
			return (ch.Lays || ch.Takes) && ch.From != nil && ch.From.Cue != nil && ch.To.Cue != nil
		}) {
			from, to := g.From.Cue.Strokes[g.From.Stroke].Dyn, g.To.Cue.Strokes[g.To.Stroke].Dyn
			if from == 0 && to == 0 || from > kit.P || to > kit.P {
				continue
			}
			what := ""
			if g.Lays && audible(g.Laid()) {
				what = "laying " + g.Laid().Words()
			}
			if g.Takes && audible(g.Taken()) {
				what = "taking " + g.Taken().Words()
			}
			if what != "" {
				c.AtChange(&g).Warning("%s can be heard at %s, where %s plays %s or softer", what, c.Score.Place(g.To.At()), g.player.Player.Name, max(from, to)).OrAccept()
			}
		}
	},
}

// audible says whether what is in a hand is heard when it is taken or laid.
func audible(g motion.Grip) bool {
	heard := func(im *kit.Implement) bool { return im != nil && im.Noise >= kit.Audible }
	return g.Inst != nil && g.Inst.Inst.Noise >= kit.Audible || heard(g.Implement) || heard(g.Kept)
}
