package check

import (
	"example.org/handful/lang/motion"
	"example.org/handful/lang/syntax"
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
	Look: func(c *Context) {
		told := func(ch *motion.Change) bool { return pressedToPlay(ch) && !c.seam(ch) } // other rules speak of the rest
		for _, g := range c.Changes(func(ch *motion.Change) bool { return told(ch) && c.clash(ch) != nil }) {
			f := c.shortChange(&g)
			f.orChange(&g)
			c.folding = append(c.folding, derived{f, c.clash(g.Change)})
		}
		for _, g := range c.Changes(func(ch *motion.Change) bool { return told(ch) && c.clash(ch) == nil }) {
			if g.Band() == motion.Tight && g.Need.Steady <= g.Window*uncertain {
				c.nearly, c.nearlyBy = append(c.nearly, g), c.rule // the thin-margin rule puts these together where there are many
				continue
			}
			c.tell(c.shortChange(&g)).orChange(&g)
		}
	},
}

// shortChange is the finding of a change that has too little time.
func (c *Context) shortChange(g *changeGroup) Finding {
	return c.AtChange(g).Timed(g.Change).unsaid(g.severity(), syntax.Tells("%s has %s to %s, and that %s%s",
		g.who(), seconds(max(0, g.Window)), Doing(g.Change), g.verdict(), lettingGo(g.Change)))
}

// uncertain is how many times longer one transition may take: modelled.
const uncertain = 1.3
