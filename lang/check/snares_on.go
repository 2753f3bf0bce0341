package check

import (
	"slices"
	"sync"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/kit"
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
		drums := sync.OnceValue(c.drumsLoud) // few pieces have so long a rest
		for cue := range c.Cues() {
			if cue.Item.Inst.Snares != kit.Lever {
				continue
			}
			if n := len(cue.Strokes); n == 0 || int(cue.Strokes[n-1].Bar-cue.Strokes[0].Bar) <= longRest {
				continue
			}
			for i := 1; i < len(cue.Strokes); i++ {
				a, b := &cue.Strokes[i-1], &cue.Strokes[i]
				rest := int(b.Bar - a.Bar - 1)
				if rest >= longRest && anyBetween(drums(), a.At, b.At) && c.Once(nil, cue.Player) {
					c.AtStroke(cue, a).With("").Info("the %s rests for %d bars while drums play forte beside it: snares off, if a hand has half a second", cue.Item.Called(), rest)
				}
			}
		}
	},
}

// anyBetween says whether one of some places in order is behind one and before another.
func anyBetween(places []beat.Rat, a, b beat.Rat) bool {
	i, _ := slices.BinarySearchFunc(places, a, func(at, a beat.Rat) int {
		if a.Less(at) {
			return 1
		}
		return -1
	})
	return i < len(places) && places[i].Less(b)
}

// drumsLoud is where a drum that makes snares buzz is played forte, in order.
func (c *Context) drumsLoud() (loud []beat.Rat) {
	for cue := range c.Cues() {
		if cue.Item.Inst.Snares != kit.Buzz {
			continue
		}
		for i := range cue.Strokes {
			if st := &cue.Strokes[i]; st.Dyn >= kit.F {
				loud = append(loud, st.At)
			}
		}
	}
	slices.SortFunc(loud, beat.Rat.Cmp)
	return loud
}
