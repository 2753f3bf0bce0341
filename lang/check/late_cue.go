package check

import (
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var lateCue = &Rule{
	Name:       "late-cue",
	Severities: []Severity{Info},
	Finds:      "a change after a long rest with nothing to hang on to",
	Means: `A player who has rested for eight bars or more comes in with something new in the hand, and neither a rehearsal
mark nor a word stands at the place.`,
	Why:    `Whoever counts sixteen bars while walking to the other table wants a cue: what others play just before, or a mark.`,
	Stands: `Common practice, no source.`,
	Trips: `tempo 96
player Ida
  R snare-drum with snare-stick           | 1 | -9 | -
  R triangle clipped with triangle-beater | - | -9 | 1
`,
	Passes: `tempo 96
mark A at 11
player Ida
  R snare-drum with snare-stick           | 1 | -9 | -
  R triangle clipped with triangle-beater | - | -9 | 1
`,
	Look: func(c *Context) {
		for _, g := range c.Changes(func(ch *motion.Change) bool { return ch.Takes && ch.From != nil && ch.To.Cue != nil }) {
			if bars, who := c.restBefore(g.player, g.To), g.player.Player.Name; bars >= longRest && !c.marked(who, g.To.Bar()) {
				c.AtChange(&g).Info("%s comes in after %d bars' rest with %s, and no mark or word stands there", who, bars, g.After.Words())
			}
		}
	},
}

// longRest is how many bars of rest are a long one: common practice, no source.
const longRest = 8

// restBefore is how many whole bars, as played, a player has nothing before an
// event.
func (c *Context) restBefore(m *motion.Result, e *motion.Event) int {
	lastEnd := -1.0
	var last *motion.Event
	// A roll may outlast what began after it; more than a few things at once
	// one player does not do.
	for i := e.Index() - 1; i >= max(0, e.Index()-8); i-- {
		if f := &m.Events[i]; f.T0 < e.T0-1e-6 && f.T1 > lastEnd {
			lastEnd, last = f.T1, f
		}
	}
	if lastEnd < 0 {
		return 0
	}
	span, bar := c.endsIn(last)
	if span >= int(e.Span) { // what stops a ring may belong to a stroke beyond the jump
		return e.Bar() - bar - 1
	}
	spans := c.Score.Time.Spans()
	n := spans[span].To - bar + e.Bar() - spans[e.Span].From
	for _, s := range spans[span+1 : e.Span] {
		n += s.To - s.From + 1
	}
	return n
}

// endsIn is the bar in which an event ends, and where on the road that is: a
// roll may go on over bar lines.
func (c *Context) endsIn(e *motion.Event) (span, bar int) {
	span, bar = int(e.Span), e.Bar()
	if e.Cue == nil || !e.Cue.Strokes[e.Stroke].Has(score.Roll) {
		return span, bar
	}
	span, end := c.Score.Lasts(span, e.Cue.Strokes[e.Stroke].End)
	for bar < c.Score.Grid.Last() && c.Score.Grid.Start(bar+1).Less(end) {
		bar++
	}
	return span, bar
}

// A landmark is a bar that somebody who counts rests finds again by what stands
// there; a remark may be for one player alone.
type landmark struct {
	player string
	bar    int
}

// marked says whether a mark or words stand at a bar.
func (c *Context) marked(player string, bar int) bool {
	if c.landmarks == nil {
		c.landmarks = map[landmark]bool{}
		for _, r := range c.Score.Remarks {
			if r.Placed {
				c.landmarks[landmark{r.Player, r.Bar}], c.landmarks[landmark{r.Player, r.Bar + 1}] = true, true
			}
		}
		for i := range c.Score.Marks {
			c.landmarks[landmark{"", c.Score.Marks[i].Bar}] = true
		}
		for _, p := range c.Score.Players {
			for _, cue := range p.Cues {
				for _, w := range cue.Words {
					c.landmarks[landmark{"", w.Bar}] = true
				}
			}
		}
	}
	return c.landmarks[landmark{"", bar}] || c.landmarks[landmark{player, bar}]
}
