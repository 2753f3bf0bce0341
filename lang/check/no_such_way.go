package check

import (
	"fmt"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var noSuchWay = &Rule{
	Name:       "no-such-way",
	Severities: []Severity{Error},
	Finds:      "an instrument played by a limb, or mounted in a way, that it is not played",
	Means: `The catalogue lists the ways in which each instrument is played: held, on a stand, laid on a pad and so
on, each by hands, a foot or the mouth. The cue asks for one that is not among them, so nothing can be said of
whether it works.`,
	Why: `It is most often a slip of the pen: the foot's letter before a hand's instrument, or a mount that was meant
for the line above.`,
	Stands: `The catalogue; a way that you know to work is one line of an instrument block of your own.`,
	Trips: `tempo 96
player Ida
  RF triangle | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  R triangle clipped with triangle-beater | 1 2 3 4
`,
	check: func(c *Context) {
		for _, p := range c.Score.Players {
			for _, cue := range p.Cues {
				c.noSuchWay(p, cue)
			}
		}
	},
}

func (c *Context) noSuchWay(p *score.Player, cue *score.Cue) {
	in := cue.Item.Inst
	limb := kit.Hand
	switch cue.Limb {
	case body.RightFoot, body.LeftFoot:
		limb = kit.Foot
	case body.Mouth:
		limb = kit.Mouth
	}
	mount := motion.Wanted(cue)
	var mounts, limbs []string
	for _, w := range in.Ways {
		if w.Limb == limb && (w.Mount == mount || limb != kit.Hand && cue.Mount == kit.AnyMount) {
			return
		}
		if w.Limb == limb {
			mounts = appendNew(mounts, w.Mount.String())
		}
		limbs = appendNew(limbs, [...]string{"hand", "foot", "mouth"}[w.Limb])
	}
	f := Finding{Severity: Error, Where: cue.Name, Player: p.Name, Limb: cue.Limb.Name()}
	if len(mounts) == 0 {
		f.Message = fmt.Sprintf("the %s is not played with the %s, but by %s", in.Name(), [...]string{"hand", "foot", "mouth"}[limb], strings.Join(limbs, " or "))
	} else {
		f.Message = fmt.Sprintf("the %s is not played %s; it is played %s", in.Name(), mount, strings.Join(mounts, ", "))
	}
	if len(cue.Strokes) > 0 {
		f.place(c.Score, cue.Strokes[0].At)
	}
	got := c.report(f)
	if len(mounts) > 0 {
		c.proposeForCue(got, cue, nil)
	}
}

func appendNew(list []string, word string) []string {
	for _, w := range list {
		if w == word {
			return list
		}
	}
	return append(list, word)
}
