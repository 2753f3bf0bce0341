package check

import (
	"slices"

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
	each: true,
	Look: func(c *Context) {
		for _, m := range c.Motions {
			apart := map[*score.Cue]float64{}
			for _, ch := range m.Chosen {
				if _, ok := apart[ch.Cue]; ch.Way.Apart > 0 && (!ok || !ch.Rolled) {
					apart[ch.Cue] = ch.Way.Apart
				}
			}
			if len(apart) > 0 {
				c.runsTogether(m, apart)
			}
		}
	},
}

// lastStrokes are the last strokes on a player's few things.
type lastStrokes struct {
	items   []*score.Item
	strokes []*motion.Event
}

// on is the last one on a thing, to be written in.
func (l *lastStrokes) on(item *score.Item) **motion.Event {
	i := slices.Index(l.items, item)
	if i < 0 {
		i = len(l.items)
		l.items, l.strokes = append(l.items, item), append(l.strokes, nil)
	}
	return &l.strokes[i]
}

// runsTogether tells once for every instrument of the strokes that come so
// close that their sounds are one.
func (c *Context) runsTogether(m *motion.Result, apart map[*score.Cue]float64) {
	type blur struct {
		others
		worst *motion.Event
		gap   float64
	}
	var last lastStrokes
	found := map[*score.Item]*blur{}
	var order []*blur
	for i := range m.Events {
		e := &m.Events[i]
		item := e.Item()
		if item == nil {
			continue
		}
		on := last.on(item)
		f := *on
		if *on = nil; e.Kind != motion.Strike {
			continue // it is stopped, or rolled
		}
		if !e.Cue.Strokes[e.Stroke].Has(score.Short) {
			*on = e
		}
		far, ok := apart[e.Cue]
		if f == nil || !ok || e.T0 <= f.T0+1e-6 || e.T0-f.T0 >= far-1e-6 || c.weighed(m.Player.Name, e.At()) {
			continue
		}
		b, gap := found[item], e.T0-f.T0
		if b == nil {
			b = &blur{worst: e, gap: gap, others: others{more: -1}}
			found[item], order = b, append(order, b)
		}
		b.more++
		b.lastBar = max(b.lastBar, e.Bar())
		if gap < b.gap-1e-6 {
			b.worst, b.gap = e, gap
		}
	}
	for _, b := range order {
		cue := b.worst.Cue
		c.At(m, b.worst).With(b.worst.Limbs.First().Name()).and(b.others).
			Compromise("%s's strokes on the %s come every %s here and run together: apart they sound from %s on",
				m.Player.Name, cue.Item.Called(), seconds(b.gap), seconds(apart[cue])).
			orStandIn(cue).OrAccept()
	}
}
