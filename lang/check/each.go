package check

import (
	"iter"
	"math/bits"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// Events goes over all that is played, player by player, in the order in which
// it is played.
func (c *Context) Events() iter.Seq2[*motion.Result, *motion.Event] {
	return eachOf(c, func(m *motion.Result) []motion.Event { return m.Events })
}

// Chosen goes over the ways in which the players' cues are played.
func (c *Context) Chosen() iter.Seq2[*motion.Result, *motion.Chosen] {
	return eachOf(c, func(m *motion.Result) []motion.Chosen { return m.Chosen })
}

func eachOf[T any](c *Context, of func(*motion.Result) []T) iter.Seq2[*motion.Result, *T] {
	return func(yield func(*motion.Result, *T) bool) {
		for _, m := range c.Motions {
			list := of(m)
			for i := range list {
				if !yield(m, &list[i]) {
					return
				}
			}
		}
	}
}

// Cues goes over the cues of all players, in the order of the text.
func (c *Context) Cues() iter.Seq[*score.Cue] {
	return func(yield func(*score.Cue) bool) {
		for _, m := range c.Motions {
			for _, cue := range m.Player.Cues {
				if !yield(cue) {
					return
				}
			}
		}
	}
}

// others are the places at which the same is found as at one that is told.
type others struct {
	more    int
	places  []beat.Rat // of all of them, the one that is told too
	lastBar int
}

// A conflictGroup is all conflicts of a player between the same two cues.
type conflictGroup struct {
	motion.Conflict
	others
	player *motion.Result
	all    []motion.Conflict
	passes uint64 // on which it is so, at its place
}

// Conflicts goes over every player's conflicts of a kind, alike ones together.
func (c *Context) Conflicts(kind motion.ConflictKind) iter.Seq[*conflictGroup] {
	return func(yield func(*conflictGroup) bool) {
		for _, m := range c.Motions {
			for _, g := range c.conflictsOf(m, kind) {
				if !yield(g) {
					return
				}
			}
		}
	}
}

func (c *Context) conflictsOf(m *motion.Result, kind motion.ConflictKind) []*conflictGroup {
	type key struct {
		a, b       *score.Cue
		actA, actB *score.Action
	}
	var order []*conflictGroup
	seen := map[key]*conflictGroup{}
	for _, k := range m.Conflicts {
		if k.Kind != kind || c.weighed(m.Player.Name, k.B.At()) {
			continue
		}
		if kind == motion.TwoStations && k.A.T0 == k.B.T0 && k.A.Cue != nil && k.B.Cue != nil && after(k.A, k.B) { // whichever line stands first
			k.A, k.B = k.B, k.A
		}
		id := key{k.A.Cue, k.B.Cue, k.A.Action, k.B.Action}
		g := seen[id]
		if g == nil {
			g = &conflictGroup{Conflict: k, player: m, all: []motion.Conflict{k}, passes: c.passOf(k.B)}
			g.places = []beat.Rat{k.B.At()}
			seen[id], order = g, append(order, g)
			continue
		}
		g.all = append(g.all, k)
		if g.B.At() == k.B.At() {
			g.passes |= c.passOf(k.B)
			continue
		}
		g.more++
		g.places = append(g.places, k.B.At())
		g.lastBar = max(g.lastBar, k.B.Bar())
	}
	return order
}

// after orders two things of one moment: hands before feet, right before left,
// then by what is played.
func after(a, b *motion.Event) bool {
	lowest := func(e *motion.Event) int { return bits.TrailingZeros8(uint8(e.Limbs)) }
	if x, y := lowest(a), lowest(b); x != y {
		return x > y
	}
	return a.Item().Name > b.Item().Name
}

// passOf is on which pass of its bar an event stands, as a bit.
func (c *Context) passOf(e *motion.Event) uint64 {
	if c.Score.Passes(e.Bar()) < 2 {
		return 1
	}
	n := 0
	for _, s := range c.Score.Time.Spans()[:e.Span+1] {
		if s.From <= e.Bar() && e.Bar() <= s.To {
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return passBits(n)
}
