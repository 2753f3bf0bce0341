package check

import (
	"slices"

	"example.org/handful/lang/beat"
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
	Look: func(c *Context) {
		c.buzz = map[*score.Player]*buzzing{}
		for _, m := range c.Motions {
			c.buzz[m.Player] = c.buzzingOf(m.Player)
		}
		for _, m := range c.Motions {
			for _, r := range c.buzz[m.Player].rests {
				a, b := &r.cue.Strokes[r.at-1], &r.cue.Strokes[r.at]
				if c.loudBetween(a.At, b.At) && c.Once(nil, r.cue.Player) {
					c.AtStroke(r.cue, a).With("").Info("the %s rests for %d bars while drums play forte beside it: snares off, if a hand has half a second", r.cue.Item.Called(), int(b.Bar-a.Bar-1))
				}
			}
		}
	},
}

// buzzing is what of a player's makes snares buzz, and where snares rest for long.
type buzzing struct {
	rests []snareRest
	loud  []beat.Rat // where a drum that makes snares buzz is played forte, in order
}

// A snareRest is a long rest before a stroke of a cue.
type snareRest struct {
	cue *score.Cue
	at  int
}

// buzzingOf finds it of somebody, or takes it over of who is the very one.
func (c *Context) buzzingOf(p *score.Player) *buzzing {
	if c.old != nil && c.old.buzz[p] != nil {
		return c.old.buzz[p]
	}
	b := &buzzing{}
	for _, cue := range p.Cues {
		switch cue.Item.Inst.Snares {
		case kit.Lever:
			for i := 1; i < len(cue.Strokes); i++ {
				if int(cue.Strokes[i].Bar-cue.Strokes[i-1].Bar-1) >= longRest {
					b.rests = append(b.rests, snareRest{cue, i})
				}
			}
		case kit.Buzz:
			for i := range cue.Strokes {
				if st := &cue.Strokes[i]; st.Dyn >= kit.F {
					b.loud = append(b.loud, st.At)
				}
			}
		}
	}
	slices.SortFunc(b.loud, beat.Rat.Cmp)
	return b
}

// loudBetween says whether a drum that makes snares buzz is played forte behind one place
// and before another.
func (c *Context) loudBetween(from, to beat.Rat) bool {
	for _, b := range c.buzz {
		i, _ := slices.BinarySearchFunc(b.loud, from, func(at, from beat.Rat) int {
			if from.Less(at) {
				return 1
			}
			return -1
		})
		if i < len(b.loud) && b.loud[i].Less(to) {
			return true
		}
	}
	return false
}
