package check

import (
	"fmt"

	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
)

var shortChange = &Rule{
	Name:       "short-change",
	Severities: []Severity{Error, Warning},
	Finds:      "a gap that cannot hold laying, going, taking and settling",
	Means: `Between two things that one hand does lies a gap. In it the hand has to lay what it holds, get to
where the next thing is, take it, and bring it to the instrument. There are three bands. Below the limit nobody whom
one would book can do it reliably, every night: an error. Between the limit and the floor, which is as fast as people
have been measured to do it on average, the change is at the edge: a warning, and nothing to count on. Between the
floor and the steady pace it is tight: it goes, for someone who has practised it and does nothing else meanwhile.`,
	Why: `A change that does not fit is found at the first rehearsal, in front of everybody, and there is no time
left to find another stick, another clip or another player.`,
	Stands: `Moves: Fitts 1954. Laying, taking and carrying: MTM-1 (Maynard, Stegemerten & Schwab 1948). Which
motions a change is made of is modelled; one transition is good to perhaps 30 % either way.`,
	Trips: `tempo 120
player Ida
  R snare-drum with snare-stick           | 1 2 3
  R triangle clipped with triangle-beater | 3&
`,
	Passes: `tempo 120
player Ida
  R snare-drum with snare-stick           | 1 2 3 | -
  R triangle clipped with triangle-beater | -     | 4
`,
	check: func(c *Context) {
		told := func(ch *motion.Change) bool {
			// the seam, two-places and both-hands-full rules speak of the rest
			return (ch.Short() || ch.Tight()) && !ch.To.Kind.Stops() && !stuck(ch) && !c.seam(ch)
		}
		for _, g := range c.changes(func(ch *motion.Change) bool { return told(ch) && c.clash(ch) != nil }) {
			f := c.shortChangeOf(&g)
			f.Rule = c.rule
			c.proposeForChange(&f, &g)
			c.folding = append(c.folding, derived{f, c.clash(g.Change)})
		}
		for _, g := range c.changes(func(ch *motion.Change) bool { return told(ch) && c.clash(ch) == nil }) {
			if g.Band() == motion.Tight && g.Need.Steady <= g.Window*uncertain {
				c.nearly, c.nearlyBy = append(c.nearly, g), c.rule // the thin-margin rule puts these together where there are many
				continue
			}
			c.shortChange(&g)
		}
	},
}

func (c *Context) shortChange(g *changeGroup) {
	f := c.report(c.shortChangeOf(g))
	c.proposeForChange(f, g)
}

func (c *Context) shortChangeOf(g *changeGroup) Finding {
	sev, verdict := Error, verdictOf(g.Need, motion.Missing)
	if band := g.Band(); band != motion.Missing {
		sev, verdict = Warning, verdictOf(g.Need, band)
	}
	return c.of(g, sev, fmt.Sprintf("%s's %s has %s to %s, and that %s%s",
		g.player.Player.Name, g.Hand.Name(), seconds(max(0, g.Window)), Doing(g.Change), verdict, lettingGo(g.Change)))
}

// uncertain is how far one transition may be off: modelled.
const uncertain = 1.3

// verdictOf says what a need has to do with the band that it falls into.
func verdictOf(need body.Pace, band motion.Band) string {
	switch band {
	case motion.Missing:
		return "needs at least " + seconds(need.Limit)
	case motion.AtEdge:
		return fmt.Sprintf("is at the edge: people take %s at their fastest, and nobody does it under %s", seconds(need.Floor), seconds(need.Limit))
	}
	return fmt.Sprintf("is tight: %s at an easy pace, %s at the fastest", seconds(need.Steady), seconds(need.Floor))
}

// lettingGo says that a roll before a change has to end early.
func lettingGo(ch *motion.Change) string {
	if ch.LetGo < 0.005 {
		return ""
	}
	return fmt.Sprintf(", letting go of the roll %s early", seconds(ch.LetGo))
}

// stuck says whether a change fails because the hand is not free at all,
// rather than for want of time.
func stuck(ch *motion.Change) bool { return ch.Window <= 1e-6 && ch.From != nil && ch.Short() }
