package check

import (
	"fmt"
	"math/bits"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var handOverlap = &Rule{
	Name:       "hand-overlap",
	Severities: []Severity{Error},
	Finds:      "one limb booked twice at once: stroke and stroke, stroke and roll, stroke and damp",
	Means: `Two lines give the same limb something to do at the same moment, or while its roll still goes on. The same limb may
have many lines, but they are one limb's music.`,
	Why:    `Nobody has a third hand; one of the two will be missing.`,
	Stands: `Exact musical time: no table is needed.`,
	Trips: `tempo 96
player Ida
  R snare-drum | 1 2~4
  R woodblock  | 3
`,
	Passes: `tempo 96
player Ida
  R snare-drum        | 1 2
  L woodblock clamped | 3
`,
	check: func(c *Context) {
		c.eachConflict(motion.SameLimb, func(m *motion.Result, k conflictGroup) {
			if k.B.Limbs&body.M != 0 && k.B.Limbs&body.Hands == 0 {
				return // mouth-busy speaks of that
			}
			shared := k.A.Limbs & k.B.Limbs
			if shared == 0 { // one of them is there for grace strokes
				shared = k.A.Hands() & k.B.Hands()
			}
			limb := limbOf(shared)
			msg := fmt.Sprintf("%s's %s is still busy with %s when it should %s", m.Player.Name, limb, busyWith(k.A), toDo(k.B))
			if k.A.T0 == k.B.T0 {
				msg = fmt.Sprintf("%s's %s has two things to do at once: %s, and %s", m.Player.Name, limb, toDo(k.A), toDo(k.B))
				if toDo(k.A) == toDo(k.B) {
					msg = fmt.Sprintf("%s's %s should %s twice at once", m.Player.Name, limb, toDo(k.A))
				}
			}
			f := c.conflict(m, k, limb, msg)
			got := c.report(f)
			c.proposeRelease(got, k.A, k.B, releaseTime)
			if k.B.Cue != nil {
				c.proposeForCue(got, k.B.Cue, nil)
			}
			if k.A.Cue != nil && k.A.Cue != k.B.Cue {
				c.proposeHand(got, k.A.Cue)
				c.proposeStandIns(got, k.A.Cue, nil)
			}
		})
	},
}

// A conflictGroup is all conflicts between the same two cues.
type conflictGroup struct {
	motion.Conflict
	more    int
	all     []motion.Conflict
	places  []beat.Rat // of all of them
	passes  uint64     // on which it is so, at its place
	lastBar int
}

// eachConflict visits every player's conflicts of a kind, alike ones together.
func (c *Context) eachConflict(kind motion.ConflictKind, visit func(*motion.Result, conflictGroup)) {
	type key struct {
		a, b       *score.Cue
		actA, actB *score.Action
	}
	for _, m := range c.Motions {
		var order []conflictGroup
		seen := map[key]int{}
		for _, k := range m.Conflicts {
			if k.Kind != kind || c.weighed(m.Player.Name, k.B.At()) {
				continue
			}
			if kind == motion.TwoStations && k.A.T0 == k.B.T0 && k.A.Cue != nil && k.B.Cue != nil && after(k.A, k.B) { // whichever line stands first
				k.A, k.B = k.B, k.A
			}
			id := key{k.A.Cue, k.B.Cue, k.A.Action, k.B.Action}
			at, ok := seen[id]
			if !ok {
				seen[id] = len(order)
				order = append(order, conflictGroup{Conflict: k, all: []motion.Conflict{k}, places: []beat.Rat{k.B.At()}, passes: c.passOf(k.B)})
				continue
			}
			g := &order[at]
			g.all = append(g.all, k)
			if g.B.At() == k.B.At() {
				g.passes |= c.passOf(k.B)
			} else {
				g.more++
				g.places = append(g.places, k.B.At())
				g.lastBar = max(g.lastBar, k.B.Bar())
			}
		}
		for _, g := range order {
			visit(m, g)
		}
	}
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

// conflict is the finding of a conflict, at the later of the two.
func (c *Context) conflict(m *motion.Result, k conflictGroup, limb, message string) Finding {
	f := Finding{Severity: Error, Message: message, Where: k.B.Where(), Player: m.Player.Name, Limb: limb, Times: k.more, LastBar: k.lastBar, more: k.places, clashes: k.all}
	f.place(c.Score, k.B.At())
	c.onPasses(&f, k.passes)
	f.Message += times(k.more, k.B.Bar(), k.lastBar)
	if k.A != k.B && k.A.Where() != k.B.Where() {
		f.Related = append(f.Related, note(k.A.Where(), "the other one, at "+c.Score.Place(k.A.At())))
	}
	return f
}

// limbOf names the limb of a conflict; where none is told apart it is a matter
// of both hands.
func limbOf(limbs body.Limbs) string {
	if limbs.Count() == 0 {
		return body.Together.Name()
	}
	return limbs.First().Name()
}

func toDo(e *motion.Event) string {
	switch e.Kind {
	case motion.PageTurn:
		return "turn the page"
	case motion.Set:
		return setWords(e.Action, "take ", "lay down ")
	case motion.Stop, motion.Choke:
		return "damp the " + e.Item().Inst.Name()
	case motion.RollOn:
		return "roll on the " + e.Item().Inst.Name()
	}
	return "play the " + e.Item().Inst.Name()
}

// setWords is what a take or a lay at a set place is.
func setWords(a *score.Action, take, lay string) string {
	verb := lay
	if a.Kind == score.Take {
		verb = take
	}
	switch {
	case a.Item != nil:
		return verb + "the " + a.Item.Inst.Name()
	case a.Beside != nil:
		return verb + "the " + a.Implement.Name() + " and the " + a.Beside.Name()
	case a.Implement != nil && a.Count == 2:
		return verb + "two " + a.Implement.Name() + "s"
	case a.Implement != nil:
		return verb + "the " + a.Implement.Name()
	}
	return verb + "what it holds"
}

func busyWith(e *motion.Event) string {
	switch e.Kind {
	case motion.PageTurn:
		return "the page"
	case motion.RollOn:
		return "the roll on the " + e.Item().Inst.Name()
	case motion.Set:
		return setWords(e.Action, "taking ", "laying down ")
	}
	return "the " + e.Item().Inst.Name()
}
