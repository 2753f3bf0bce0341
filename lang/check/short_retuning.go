package check

import (
	"fmt"
	"math"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var shortRetuning = &Rule{
	Name:       "short-retuning",
	Severities: []Severity{Error, Warning},
	Finds:      "a kettle that has too little time to get its next note",
	Means: `The notes of a timpani part are given to the kettles that reach them so that as little as possible is tuned anew, and with
as much time as there is. Here a kettle still gets another note between two of its strokes, in less time than it takes to bring
a foot to the pedal and find the note by ear. While a foot is on another pedal it tunes nothing, and the ears follow one kettle at
a time.`,
	Why: `The note comes late, out of tune or with an audible slide. Other kettles, another order of notes or one more kettle
is decided before the first rehearsal and not in it.`,
	Stands: `A second at least, two at an easy pace: common practice, no source. The limit, below which it is an error, is the way of the
foot alone: LM and FM of MTM-1 (Maynard, Stegemerten & Schwab 1948). What each kettle reaches is in the catalogue, or in an instrument block of
your own.`,
	Trips: `tempo 60
instrument pair
  called "Pair of timpani"
  family membrane
  kettle 74 F2 C3
  kettle 66 Bb2 F3
  way floor takes 2 hands with timpani-mallet
player Ida
  RL pair | 1:F2 2:C3 3:G2 4:D3
`,
	Passes: `tempo 60
instrument pair
  called "Pair of timpani"
  family membrane
  kettle 74 F2 C3
  kettle 66 Bb2 F3
  way floor takes 2 hands with timpani-mallet
player Ida
  RL pair | 1:F2 2:C3 | - | 3:G2 4:D3
`,
	each: true,
	Look: func(c *Context) {
		for _, m := range c.Motions {
			groups := c.retunings(m)
			c.findings = slices.Grow(c.findings, len(groups))
			for _, g := range groups {
				re := g.Retunes
				c.AtChange(&g).Timed(g.Change).Says(g.severity(), "%s has %s to tune kettle %d from %s to %s, and that %s%s",
					m.Player.Name, seconds(max(0, g.Window)), re.Kettle, re.From, re.To, verdictOf(g.Need, g.Band()), wouldDo(m, &g)).
					orKettle(g.To.Item().Inst, re.To, re.From).OrAccept()
			}
		}
	},
}

// retunings are those of a player that have less time than is easy, alike ones
// together.
func (c *Context) retunings(m *motion.Result) []changeGroup {
	type key struct {
		from, to *score.Cue
		kettle   int
		notes    string
		window   int64
	}
	var out []changeGroup
	seen := map[key]int{}
	for i := range m.Retunings {
		ch := &m.Retunings[i]
		if !pressed(ch) || c.weighed(m.Player.Name, ch.To.At()) {
			continue
		}
		k := key{ch.From.Cue, ch.To.Cue, ch.Retunes.Kettle, ch.Retunes.From.String() + ch.Retunes.To.String(), int64(math.Round(ch.Window * 1000))}
		if at, ok := seen[k]; ok {
			out[at].add(ch, c.passOf(ch.To))
			continue
		}
		seen[k] = len(out)
		out = append(out, changeGroup{Change: ch, player: m, seam: c.seam(ch), others: others{places: []beat.Rat{ch.To.At()}}, passes: c.passOf(ch.To)})
	}
	return out
}

// wouldDo says how many kettles would do, where those there are do not.
func wouldDo(m *motion.Result, g *changeGroup) string {
	if !g.Short() {
		return ""
	}
	for _, t := range m.Tunings {
		if t.Item == g.To.Item() && t.Would() > 0 {
			return fmt.Sprintf("; %d kettles would do", t.Would())
		}
	}
	return ""
}
