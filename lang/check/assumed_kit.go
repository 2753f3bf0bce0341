package check

import (
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

var assumedKit = &Rule{
	Name:       "assumed-kit",
	Severities: []Severity{Info},
	Finds:      "where things were taken to stand because the file does not say",
	Means: `What no kit places is taken to stand in an arc before the player in the order in which it is first used, each as large
as such a thing is and where it stands in nothing else; implements lie on a table 20 cm to the right and 40 cm ahead,
or next to there. Every time that depends on it is as good as that guess.`,
	Why: `A quarter of a second more or less is what decides many a change, and forty centimetres are a quarter of a
second.`,
	Stands: `Common practice, no source. Write the kit down and it is yours.`,
	Trips: `tempo 96
player Ida
  R snare-drum | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  kit
    snare-drum on stand at ahead 40
  R snare-drum | 1 2 3 4
`,
	Look: func(c *Context) {
		for _, p := range c.Score.Players {
			var names, far []string
			for _, it := range p.Items {
				if it.Used && !it.Placed && !(it.Listed && it.Mount == kit.OnBody) { // that is where it is
					names = append(names, it.Called())
					if it.NoRoom {
						far = append(far, "the "+it.Called())
					}
				}
			}
			if len(names) == 0 {
				continue
			}
			noRoom := ""
			if len(far) > 0 {
				noRoom = "; there is no room within reach for " + list(far)
			}
			f := c.In(p.Where).Of(p).Info("where %s has these is assumed: %s%s", p.Name, list(names), noRoom)
			if !p.HasKit {
				f.Or("write the kit down as it was assumed", c.below(int(p.Where.Line), 1, kitLines(p, asItIs, tableAsItIs)...))
			}
		}
	},
}

// kitLines are the player's set-up as it is taken to be, its things and tables
// where somebody says.
func kitLines(p *score.Player, at func(*score.Item) body.Point, tables func(*score.Table) body.Point) []syntax.Stmt {
	out := []syntax.Stmt{&syntax.Kit{Word: syntax.Word("kit")}}
	for _, it := range p.Items {
		if it.Used {
			out = append(out, kitItem(p, it, at(it)))
		}
	}
	for i := range p.Tables {
		if t := &p.Tables[i]; t.Station == 0 {
			out = append(out, tableAt(tables(t).Right, tables(t).Ahead))
		}
	}
	return out
}

func asItIs(it *score.Item) body.Point      { return it.At }
func tableAsItIs(t *score.Table) body.Point { return t.At }

func tableAt(right, ahead float64) *syntax.Stand {
	return &syntax.Stand{Word: syntax.Word("table"), Spot: syntax.SpotAt("", right, ahead, 0)}
}
