package check

import (
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
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
	each: true,
	Look: func(c *Context) {
		for cue := range c.Cues() {
			in, limb, mount := cue.Item.Inst, kit.Hand, motion.Wanted(cue)
			switch cue.Limb {
			case body.RightFoot, body.LeftFoot:
				limb = kit.Foot
			case body.Mouth:
				limb = kit.Mouth
			}
			if slices.ContainsFunc(in.Ways, func(w *kit.Way) bool {
				return w.Limb == limb && (w.Mount == mount || limb != kit.Hand && cue.Mount == kit.AnyMount)
			}) {
				continue
			}
			var mounts, limbs []string
			for _, w := range in.Ways {
				if w.Limb == limb {
					mounts = appendNew(mounts, w.Mount.String())
				}
				limbs = appendNew(limbs, limbWords[w.Limb])
			}
			r := c.AtCue(cue).On(cue.Name)
			if len(mounts) == 0 {
				r.Error("the %s %s not played with the %s, but by %s", in.Name(), in.Verb("is", "are"), limbWords[limb], strings.Join(limbs, " or "))
			} else {
				r.Error("the %s %s not played %s; %s played %s", in.Name(), in.Verb("is", "are"), mount, in.Verb("it is", "they are"), strings.Join(mounts, ", ")).orPlay(cue)
			}
		}
	},
}

var limbWords = [...]string{kit.Hand: "hand", kit.Foot: "foot", kit.Mouth: "mouth"}

func appendNew(list []string, word string) []string {
	if slices.Contains(list, word) {
		return list
	}
	return append(list, word)
}
