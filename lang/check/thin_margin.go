package check

import (
	"cmp"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/motion"
)

var thinMargin = &Rule{
	Name:       "thin-margin",
	Severities: []Severity{Warning},
	Finds:      "a change that fits at the written tempo with next to nothing to spare",
	Means: `It fits at a steady pace, but not if the tempo goes up by a tenth, or with less than a quarter of a second left
over.`,
	Why:    `Tempi go up on the night, and so do pulses.`,
	Stands: `The same motion times as short-change; a tenth and a quarter of a second are common practice, no source.`,
	Trips: `tempo 56
player Ida
  R snare-drum with snare-stick           | 1 2 | -
  R triangle clipped with triangle-beater | 4   | -
`,
	Passes: `tempo 56
player Ida
  R snare-drum with snare-stick           | 1 2 | -
  R triangle clipped with triangle-beater | -   | 1
`,
	Look: func(c *Context) {
		close := c.Changes(func(ch *motion.Change) bool {
			return (ch.Lays || ch.Takes || ch.Walks) && ch.From != nil && !pressed(ch) &&
				(ch.Window/TempoUp < ch.Need.Steady || ch.Spare() < leastSpare)
		})
		thin := map[*motion.Result][]changeGroup{}
		for _, g := range append(close, c.nearly...) {
			thin[g.player] = append(thin[g.player], g)
		}
		c.nearly = nil
		for _, m := range c.Motions {
			c.thinMargins(thin[m])
		}
	},
}

// thinMargins tells of a player's changes that are close: each by itself where
// there are few, else the closest and the others in one line. By how much each
// of them is close lies within what the model knows.
func (c *Context) thinMargins(thin []changeGroup) {
	if len(thin) <= fewThin {
		for i := range thin {
			c.thinMargin(&thin[i])
		}
		return
	}
	slices.SortStableFunc(thin, func(a, b changeGroup) int { return cmp.Compare(a.Window/a.Need.Steady, b.Window/b.Need.Steady) })
	c.thinMargin(&thin[0])
	c.otherMargins(thin[1:])
}

func (c *Context) thinMargin(g *changeGroup) {
	if g.Tight() {
		f := c.shortChange(g)
		f.Rule = c.nearlyBy
		c.tell(f).orChange(g)
		return
	}
	c.AtChange(g).Timed(g.Change).Warning("%s has %s to %s and needs %s at a steady pace: only %s to spare",
		g.who(), seconds(g.Window), Doing(g.Change), seconds(g.Need.Steady), seconds(g.Spare())).OrAccept()
}

// otherMargins tells of all but the closest in one line.
func (c *Context) otherMargins(thin []changeGroup) {
	m, first := thin[0].player, &thin[0]
	var places []beat.Rat
	spare, verb := 0.0, "have"
	for i := range thin {
		g := &thin[i]
		for _, at := range g.places {
			if !slices.Contains(places, at) && !c.weighed(m.Player.Name, at) {
				places = append(places, at)
			}
		}
		if g.To.At().Less(first.To.At()) {
			first = g
		}
		spare = max(spare, g.Spare())
	}
	if len(places) == 0 {
		return
	}
	slices.SortFunc(places, beat.Rat.Cmp)
	var in []int
	for _, at := range places {
		bar, _ := c.Score.Grid.Place(at)
		in = append(in, bar)
	}
	in = slices.Compact(in)
	left := "no time to spare"
	if spare > 0 {
		left = seconds(spare) + " or less to spare"
	}
	if len(places) == 1 {
		verb = "has"
	}
	r := c.At(m, first.To).With(first.Hand.Name()).When(places[0]).through(len(places)-1, in[len(in)-1])
	r.f.more = places
	r.Warning("%s of %s's %s %s at a steady pace, in %s", plural(len(places), "more change"), m.Player.Name, verb, left, barList(c.Score, in)).OrAccept()
}

// fewThin is how many close changes of a player are told one by one.
const fewThin = 2

// TempoUp is how many times as fast it may go on the night as is written: common practice, no source.
const TempoUp = 1.1

// leastSpare is how much time a change should leave over, in seconds: common
// practice, no source.
const leastSpare = 0.25
