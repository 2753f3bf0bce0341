package check

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

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
	Trips: `tempo 62
player Ida
  R snare-drum with snare-stick           | 1 2 | -
  R triangle clipped with triangle-beater | 4   | -
`,
	Passes: `tempo 62
player Ida
  R snare-drum with snare-stick           | 1 2 | -
  R triangle clipped with triangle-beater | -   | 1
`,
	check: func(c *Context) {
		thin := map[*motion.Result][]changeGroup{}
		for _, g := range c.changes(func(ch *motion.Change) bool {
			return (ch.Lays || ch.Takes || ch.Walks) && ch.From != nil && !ch.Short() && !ch.Tight() &&
				(ch.Window/1.1 < ch.Need.Steady || ch.Spare() < leastSpare)
		}) {
			thin[g.player] = append(thin[g.player], g)
		}
		for _, g := range c.nearly {
			thin[g.player] = append(thin[g.player], g)
		}
		c.nearly = nil
		for _, m := range c.Motions {
			c.thinMargins(m, thin[m])
		}
	},
}

// thinMargins tells of a player's changes that are close: each by itself where
// there are few, else the closest and the others in one line. By how much each
// of them is close lies within what the model knows.
func (c *Context) thinMargins(m *motion.Result, thin []changeGroup) {
	one := func(g *changeGroup) {
		if g.Tight() {
			mine := c.rule
			c.rule = c.nearlyBy
			c.shortChange(g)
			c.rule = mine
			return
		}
		f := c.of(g, Warning, fmt.Sprintf("%s's %s has %s to %s and needs %s at a steady pace: only %s to spare",
			m.Player.Name, g.Hand.Name(), seconds(g.Window), Doing(g.Change), seconds(g.Need.Steady), seconds(g.Spare())))
		c.proposeAccept(c.report(f))
	}
	if len(thin) <= fewThin {
		for i := range thin {
			one(&thin[i])
		}
		return
	}
	slices.SortStableFunc(thin, func(a, b changeGroup) int { return cmp.Compare(a.Window/a.Need.Steady, b.Window/b.Need.Steady) })
	one(&thin[0])
	var places []beat.Rat
	first, most := &thin[1], 0.0
	for i := 1; i < len(thin); i++ {
		g := &thin[i]
		for _, at := range g.places {
			if !slices.Contains(places, at) && !c.weighed(m.Player.Name, at) {
				places = append(places, at)
			}
		}
		if g.To.At().Less(first.To.At()) {
			first = g
		}
		most = max(most, g.Spare())
	}
	if len(places) == 0 {
		return
	}
	slices.SortFunc(places, beat.Rat.Cmp)
	var in []int
	for _, at := range places {
		bar, _ := c.Score.Grid.Place(at)
		if n := len(in); n == 0 || in[n-1] != bar {
			in = append(in, bar)
		}
	}
	spare := "no time to spare"
	if most > 0 {
		spare = fmt.Sprintf("%s or less to spare", seconds(most))
	}
	verb := "have"
	if len(places) == 1 {
		verb = "has"
	}
	f := Finding{Severity: Warning, Where: first.To.Where(), Player: m.Player.Name, Limb: first.Hand.Name(),
		Message: fmt.Sprintf("%s of %s's %s %s at a steady pace, in %s", plural(len(places), "more change"), m.Player.Name, verb, spare, barList(in)),
		Times:   len(places) - 1, LastBar: in[len(in)-1], more: places}
	f.place(c.Score, places[0])
	c.proposeAccept(c.report(f))
}

// barList names bars: bars 3, 9 and 12.
func barList(bars []int) string {
	const most = 12
	if len(bars) == 1 {
		return fmt.Sprintf("bar %d", bars[0])
	}
	var list []string
	for _, b := range bars[:min(len(bars), most)] {
		list = append(list, fmt.Sprint(b))
	}
	last := len(list) - 1
	if len(bars) > most {
		return fmt.Sprintf("bars %s and on to %d", strings.Join(list, ", "), bars[len(bars)-1])
	}
	return fmt.Sprintf("bars %s and %s", strings.Join(list[:last], ", "), list[last])
}

// fewThin is how many close changes of a player are told one by one.
const fewThin = 2

// leastSpare is how much time a change should leave over, in seconds: common
// practice, no source.
const leastSpare = 0.25
