package check

import (
	"math"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// A changeGroup is all changes of one hand between the same two cues that
// need the same: the worst of them, and how many more there are.
type changeGroup struct {
	*motion.Change
	others
	player *motion.Result
	passes uint64 // on which this is so, at its place
	seam   bool   // between two stretches that are not neighbours on paper
}

// Changes lists each player's changes of a kind, alike ones together, in the
// order in which they first come up.
func (c *Context) Changes(want func(*motion.Change) bool) []changeGroup {
	type key struct {
		hand     body.Limb
		from, to *score.Cue
		act      *score.Action
		need     int64
		seam     bool
	}
	var out []changeGroup
	for _, m := range c.Motions {
		seen := map[key]int{}
		for i := range m.Changes {
			ch := &m.Changes[i]
			if !want(ch) || c.weighed(m.Player.Name, ch.To.At()) {
				continue
			}
			k := key{hand: ch.Hand, to: ch.To.Cue, act: ch.To.Action, need: int64(math.Round(ch.Need.Floor * 1000)), seam: c.seam(ch)}
			if ch.From != nil {
				k.from = ch.From.Cue
			}
			at, ok := seen[k]
			if !ok {
				seen[k] = len(out)
				out = append(out, changeGroup{Change: ch, player: m, seam: k.seam, others: others{places: []beat.Rat{ch.To.At()}}, passes: c.passOf(ch.To)})
				continue
			}
			out[at].add(ch, c.passOf(ch.To))
		}
	}
	return out
}

// add puts one more change to those alike: the one with the least time is told.
func (g *changeGroup) add(ch *motion.Change, pass uint64) {
	same, worse := ch.To.At() == g.To.At(), ch.Window < g.Window-1e-6
	switch {
	case same && ch.Band() == g.Band():
		g.passes |= pass
	case worse:
		g.passes = pass
	}
	if !slices.Contains(g.places, ch.To.At()) {
		g.places = append(g.places, ch.To.At())
	}
	if !same {
		g.more++
		g.lastBar = max(g.lastBar, ch.To.Bar())
	}
	if worse {
		g.lastBar = max(g.lastBar, g.To.Bar())
		g.Change = ch
	}
}

// severity is an error where nobody can do it, and else a warning.
func (g *changeGroup) severity() Severity {
	if g.Short() {
		return Error
	}
	return Warning
}

// verdict says what is wrong with the time that it has.
func (g *changeGroup) verdict() string { return verdictOf(g.Need, g.Band()) }

// who is the hand that makes it, and whose it is.
func (g *changeGroup) who() string { return g.player.Player.Name + "'s " + g.Hand.Name() }

// pressed says whether a change has less time than it takes at an easy pace.
func pressed(ch *motion.Change) bool { return ch.Short() || ch.Tight() }

// pressedToPlay says it of the changes to what is played: not to what is
// stopped, and not of a hand that is not free at all.
func pressedToPlay(ch *motion.Change) bool { return pressed(ch) && !ch.To.Kind.Stops() && !stuck(ch) }

// stuck says whether a change fails because the hand is not free at all,
// rather than for want of time.
func stuck(ch *motion.Change) bool { return ch.Window <= 1e-6 && ch.From != nil && ch.Short() }

// rolls says whether a change begins or ends with a roll of both hands.
func rolls(ch *motion.Change) bool {
	return ch.From != nil && ch.From.Kind == motion.RollOn || ch.To.Kind == motion.RollOn && ch.To.Limbs&body.Hands != body.Hands
}

// seam says whether a change runs over a jump: the end of a repeat, an
// ending, a vamp or a leg of the order.
func (c *Context) seam(ch *motion.Change) bool {
	if ch.From == nil || ch.From.Span == ch.To.Span {
		return false
	}
	spans := c.Score.Time.Spans()
	for k := ch.From.Span; k < ch.To.Span; k++ {
		if spans[k].To+1 != spans[k+1].From {
			return true
		}
	}
	return false
}

// vamping says whether a change leaves, enters or goes round a vamp.
func (c *Context) vamping(ch *motion.Change) bool {
	return c.Score.Time.Spans()[ch.From.Span].Vamp
}
