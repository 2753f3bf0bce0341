package check

import (
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// A changeGroup is all changes of one hand between the same two cues that
// need the same: the worst of them, and how many more there are.
type changeGroup struct {
	*motion.Change
	player  *motion.Result
	more    int
	places  []beat.Rat // of all of them
	passes  uint64     // on which this is so, at its place
	lastBar int
	seam    bool // between two stretches that are not neighbours on paper
}

// changes lists each player's changes, alike ones together, in the order in
// which they first come up.
func (c *Context) changes(want func(*motion.Change) bool) []changeGroup {
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
				out = append(out, changeGroup{Change: ch, player: m, seam: k.seam, places: []beat.Rat{ch.To.At()}, passes: c.passOf(ch.To)})
				continue
			}
			g := &out[at]
			switch same := ch.To.At() == g.To.At(); {
			case same && ch.Band() == g.Band():
				g.passes |= c.passOf(ch.To)
			case ch.Window < g.Window-1e-6:
				g.passes = c.passOf(ch.To)
			}
			if !slices.Contains(g.places, ch.To.At()) {
				g.places = append(g.places, ch.To.At())
			}
			if ch.To.At() != g.To.At() {
				g.more++
				g.lastBar = max(g.lastBar, ch.To.Bar())
			}
			if ch.Window < g.Window-1e-6 {
				g.lastBar = max(g.lastBar, g.To.Bar())
				g.Change = ch
			}
		}
	}
	return out
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

// of fills a finding with a change: its place, limb, arithmetic and the other
// side of it.
func (c *Context) of(g *changeGroup, sev Severity, message string) Finding {
	ch := g.Change
	f := Finding{
		Severity: sev, Message: message, Where: ch.To.Where(), Player: g.player.Player.Name, Limb: ch.Hand.Name(),
		Need: ch.Need, Window: ch.Window, Timed: true, Times: g.more, LastBar: g.lastBar, more: g.places,
	}
	f.place(c.Score, ch.To.At())
	if !g.seam { // that says between which bars it is
		c.onPasses(&f, g.passes)
	}
	f.Message += times(g.more, ch.To.Bar(), g.lastBar)
	for _, m := range ch.Motions {
		f.Sums = append(f.Sums, Sum{m.Words, m.Code, m.Pace, m.Source})
	}
	if ch.From != nil && ch.From.Where() != f.Where {
		f.Related = append(f.Related, score.Note{Where: ch.From.Where(), Message: "the " + ch.Hand.Name() + " comes from here, at " + c.Score.Place(ch.From.At())})
	}
	return f
}

// Doing says what a change is, in a player's words.
func Doing(ch *motion.Change) string {
	var parts []string
	if laid := ch.Laid().Words(); ch.Lays && laid != "nothing" {
		parts = append(parts, "lay "+laid)
	}
	if ch.Walks {
		parts = append(parts, "get over there")
	}
	if ch.Takes {
		parts = append(parts, "take "+ch.Taken().Words())
	}
	switch {
	case ch.To.Kind.Stops():
		parts = append(parts, "damp the "+ch.To.Item().Inst.Name())
	case ch.To.Kind == motion.PageTurn:
		parts = append(parts, "turn the page")
	case len(parts) == 0:
		parts = append(parts, "get "+destination(ch.To))
	}
	return strings.Join(parts, ", ")
}
