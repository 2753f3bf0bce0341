package check

import (
	"fmt"

	"handful/lang/motion"
	"handful/lang/score"
)

var crossedHands = &Rule{
	Name:       "crossed-hands",
	Severities: []Severity{Warning},
	Finds:      "the right hand well to the left of the left hand at the same time",
	Means: `Both hands play together, and the right one's instrument stands to the left of the left one's by more than a forearm's
comfort.`,
	Why:    `Crossed arms are slow to leave and hide the page.`,
	Stands: `40 cm: common practice, no source.`,
	Trips: `tempo 96
player Ida
  kit
    snare-drum on stand at left 40 ahead 40
    woodblock  clamped  at right 40 ahead 40
  R snare-drum with snare-stick | 1 2 3 4
  L woodblock with snare-stick  | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  kit
    snare-drum on stand at left 40 ahead 40
    woodblock  clamped  at right 40 ahead 40
  L snare-drum with snare-stick | 1 2 3 4
  R woodblock with snare-stick  | 1 2 3 4
`,
	check: func(c *Context) {
		type pair struct{ r, l *score.Item }
		for _, m := range c.Motions {
			seen := map[pair]bool{}
			var last [2]*motion.Event
			for i := range m.Events {
				e := &m.Events[i]
				if e.Cue == nil || e.Kind.Stops() || !e.Cue.Item.Placed {
					continue
				}
				for h, bit := range []uint8{motion.R, motion.L} {
					if e.Limbs&motion.Hands == bit {
						last[h] = e
					}
				}
				r, l := last[0], last[1]
				if r == nil || l == nil || r.T1 < l.T0-togetherWithin || l.T1 < r.T0-togetherWithin {
					continue
				}
				a, b := r.Cue.Item, l.Cue.Item
				if a.At.Right > b.At.Right-forearm || a.Station != b.Station || seen[pair{a, b}] {
					continue
				}
				seen[pair{a, b}] = true
				f := Finding{Severity: Warning, Where: r.Where(), Player: m.Player.Name, Limb: "both hands",
					Message: fmt.Sprintf("%s's hands cross: the right plays the %s, %.0f cm to the left of the %s in the left", m.Player.Name,
						a.Inst.Name(), b.At.Right-a.At.Right, b.Inst.Name())}
				f.place(c.Score, r.At())
				f.Related = append(f.Related, note(l.Where(), "the left hand"))
				got := c.report(f)
				got.propose("change hands in both lines", true, limbEdit(r.Cue, "L"), limbEdit(l.Cue, "R"))
				c.proposeAccept(got)
			}
		}
	},
}

// Crossed by more than a forearm's comfort (cm), within a moment (s): common
// practice, no source.
const (
	forearm        = 40
	togetherWithin = 0.1
)
