package check

import (
	"fmt"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

var snaresOn = &Rule{
	Name:       "snares-on",
	Severities: []Severity{Info},
	Finds:      "snares left on through a long rest beside loud drums",
	Means: `The snare drum rests for eight bars or more while timpani, bass drum or toms play forte near it: with the snares on
it buzzes along.`,
	Why:    `The lever takes half a second and a free hand, before the rest and after it.`,
	Stands: `Common practice, no source.`,
	Trips: `tempo 96
player Ida
  R snare-drum with snare-stick | f 1 2 3 4 | -9 | 1 2 3 4
player Per
  R bass-drum | f 1 3 | % x10
`,
	Passes: `tempo 96
player Ida
  R snare-drum with snare-stick | f 1 2 3 4 | -4 | 1 2 3 4
player Per
  R bass-drum | f 1 3 | % x5
`,
	check: func(c *Context) {
		var loud []score.Stroke
		for _, p := range c.Score.Players {
			for _, cue := range p.Cues {
				switch cue.Item.Inst.ID {
				case "timpani", "bass-drum", "tom-toms", "bass-drum-with-attached-cymbal":
					for _, st := range cue.Strokes {
						if st.Dyn >= kit.F {
							loud = append(loud, st)
						}
					}
				}
			}
		}
		if len(loud) == 0 {
			return
		}
		for _, p := range c.Score.Players {
			c.snaresOn(p, loud)
		}
	},
}

func (c *Context) snaresOn(p *score.Player, loud []score.Stroke) {
	for _, cue := range p.Cues {
		if cue.Item.Inst.ID != "snare-drum" {
			continue
		}
		for i := 1; i < len(cue.Strokes); i++ {
			a, b := &cue.Strokes[i-1], &cue.Strokes[i]
			if b.Bar-a.Bar-1 < longRest {
				continue
			}
			for k := range loud {
				if !a.At.Less(loud[k].At) || !loud[k].At.Less(b.At) {
					continue
				}
				f := Finding{Severity: Info, Where: a.Where(), Player: p.Name,
					Message: fmt.Sprintf("the snare drum rests for %d bars while drums play forte beside it: snares off, if a hand has half a second", b.Bar-a.Bar-1)}
				f.place(c.Score, a.At)
				c.report(f)
				return
			}
		}
	}
}
