package check

import (
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
)

var tableFull = &Rule{
	Name:       "table-full",
	Severities: []Severity{Warning},
	Finds:      "more on the table than can be found in the dark",
	Means: `More than eight different things lie on this player's tables for each station. Things that lie among others are
already charged more time to take.`,
	Why:    `The ninth thing lies on top of the first.`,
	Stands: `Eight: common practice, no source. Taking from among others: MTM-1 G4B.`,
	Trips: `tempo 60
player Ida
  R snare-drum with snare-stick           | 1 | -10
  R woodblock clamped with rubber-mallet  | - | 1 | -9
  R triangle clipped with triangle-beater | -2    | 1 | -8
  R suspended-cymbal with yarn-mallet     | -3        | 1 | -7
  R bass-drum                             | -4            | 1 | -6
  R tam-tam                               | -5                | 1 | -5
  R glockenspiel with brass-mallet        | -6                    | 1 | -4
  R timpani                               | -7                        | 1 | -3
  R chimes                                | -8                            | 1 | -2
`,
	Passes: `tempo 60
player Ida
  R snare-drum with snare-stick | 1
`,
	each:     true,
	timeless: true,
	Look: func(c *Context) {
		for _, m := range c.Motions {
			things := map[string]bool{}
			for _, ch := range m.Chosen {
				im := c.Score.Catalogue.Implement(ch.Choice.Implement)
				if im != nil && im.Weight != kit.Nothing {
					things[im.ID] = true
				}
				if motion.Wanted(ch.Cue) == kit.Held {
					things[ch.Cue.Item.Name] = true
				}
			}
			tables := "table"
			if n := len(m.Player.Tables); n > 1 {
				tables = plural(n, "table")
			}
			if len(things) > fullTable*max(1, len(m.Player.Tables)) {
				c.In(m.Player.Where).Of(m.Player).Warning("%d different things lie on %s's %s: more than about eight to a table are hard to find in the dark",
					len(things), m.Player.Name, tables)
			}
		}
	},
}

const fullTable = 8
