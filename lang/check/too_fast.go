package check

import (
	"fmt"
	"strings"

	"handful/lang/beat"
)

var tooFast = &Rule{
	Name:       "too-fast",
	Severities: []Severity{Error, Warning},
	Finds:      "one limb on one instrument faster than its rate",
	Means: `Strokes follow one another quicker than one hand, a hand with two mallets, a foot, or two hands in turn can make them
(an error), or than they can comfortably (a warning). Two or three strokes by rebound on a membrane or a pad may
come at up to twelve a second. Between two hands the grace strokes of a flam, drag or ruff count as strokes, each hand's
by rebound where that works.`,
	Why: `What was written for two hands and is played by one goes twice as fast for that hand.`,
	Stands: `Comfortable rates: Solomon 2016 (one hand 208 ms, two mallets in one hand 125 ms, hand to hand 104 ms, one foot 300 ms,
two feet 150 ms). Fastest: one-hand tapping of 5 to 7 Hz, about 10 Hz for the fastest drummers, Fujii et al.
2009–2011.`,
	Trips: `tempo 160
player Ida
  R snare-drum with snare-stick | 1 1e 1& 1a 2 2e 2& 2a
`,
	Passes: `tempo 160
player Ida
  RL snare-drum with snare-stick | 1 1& 2 2& 3 3& 4 4&
`,
	check: func(c *Context) {
		for _, m := range c.Motions {
			for _, r := range rates(m, func(at beat.Rat) bool { return c.weighed(m.Player.Name, at) }) {
				if r.burst {
					continue
				}
				sev, verdict := Error, fmt.Sprintf("the fastest is %s", seconds(r.pace.Floor))
				if r.dt >= r.pace.Floor-1e-6 {
					sev, verdict = Warning, fmt.Sprintf("%s is comfortable, at %.0f %% of this tempo", seconds(r.pace.Steady), 100*r.dt/r.pace.Steady)
				}
				f := Finding{Severity: sev, Where: r.to.Where(), Player: m.Player.Name, Limb: r.limb,
					Message: fmt.Sprintf("%s's %s strike%s the %s every %s here; %s%s", m.Player.Name, r.limb, oneOrTwo(r.limb), r.to.Item().Inst.Name(), seconds(r.dt), verdict,
						times(r.rest, r.to.Bar(), r.lastBar)),
					Need: r.pace, Window: r.dt, Timed: true, Times: r.rest, LastBar: r.lastBar,
					Sums: []Sum{{"from stroke to stroke", r.kind, r.pace, r.source}}}
				f.place(c.Score, r.to.At())
				got := c.report(f)
				switch r.to.Cue.Limb.String() {
				case "R":
					got.propose("play it hand to hand", true, limbEdit(r.to.Cue, "RL"))
				case "L":
					got.propose("play it hand to hand", true, limbEdit(r.to.Cue, "LR"))
				}
				c.proposeAccept(got)
			}
		}
	},
}

// oneOrTwo is the ending of what one limb does, and two in turn do.
func oneOrTwo(limb string) string {
	if strings.HasSuffix(limb, "in turn") {
		return ""
	}
	return "s"
}
