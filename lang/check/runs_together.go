package check

import (
	"fmt"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var runsTogether = &Rule{
	Name:       "runs-together",
	Severities: []Severity{Compromise},
	Finds:      "strokes that ring into one another, since they come closer than the instrument speaks",
	Means: `A way of playing may say how far its strokes should lie apart. Closer than that the hand still makes them, and the
ear no longer tells them apart: the ring of the one covers the next. A stroke that is stopped first does not count.`,
	Why:    `What is written as a rhythm is heard as one long sound.`,
	Stands: `The spacings in the catalogue: common practice, no source.`,
	Trips: `tempo 120
player Ida
  R triangle clipped with triangle-beater | 1 1& 2 2& 3
`,
	Passes: `tempo 120
player Ida
  R triangle clipped with triangle-beater | 1 2 3 4
`,
	check: func(c *Context) {
		for _, m := range c.Motions {
			apart := map[*score.Cue]*kit.Way{}
			for _, ch := range m.Chosen {
				if ch.Way.Apart > 0 && (apart[ch.Cue] == nil || !ch.Rolled) {
					apart[ch.Cue] = ch.Way
				}
			}
			if len(apart) == 0 {
				continue
			}
			last := map[*score.Item]*motion.Event{}
			type blur struct {
				worst *motion.Event
				gap   float64
				more  int
				bar   int
			}
			found := map[*score.Item]*blur{}
			var order []*score.Item
			for i := range m.Events {
				e := &m.Events[i]
				item := e.Item()
				if item == nil || e.Kind != motion.Strike {
					if item != nil {
						last[item] = nil // it is stopped, or rolled
					}
					continue
				}
				f := last[item]
				last[item] = e
				if e.Cue.Strokes[e.Stroke].Has(score.Short) {
					last[item] = nil
				}
				way := apart[e.Cue]
				if f == nil || way == nil || e.T0 <= f.T0+1e-6 || e.T0-f.T0 >= way.Apart-1e-6 || c.weighed(m.Player.Name, e.At()) {
					continue
				}
				b := found[item]
				if b == nil {
					found[item] = &blur{worst: e, gap: e.T0 - f.T0, bar: e.Bar()}
					order = append(order, item)
					continue
				}
				b.more++
				b.bar = max(b.bar, e.Bar())
				if e.T0-f.T0 < b.gap-1e-6 {
					b.worst, b.gap = e, e.T0-f.T0
				}
			}
			for _, item := range order {
				b := found[item]
				f := Finding{Severity: Compromise, Where: b.worst.Where(), Player: m.Player.Name, Limb: b.worst.Limbs.First().Name(), Times: b.more, LastBar: b.bar,
					Message: fmt.Sprintf("%s's strokes on the %s come every %s here and run together: apart they sound from %s on%s", m.Player.Name, item.Inst.Name(),
						seconds(b.gap), seconds(apart[b.worst.Cue].Apart), times(b.more, b.worst.Bar(), b.bar))}
				f.place(c.Score, b.worst.At())
				got := c.report(f)
				c.proposeStandIns(got, b.worst.Cue, nil)
				c.proposeAccept(got)
			}
		}
	},
}
