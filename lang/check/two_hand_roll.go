package check

import (
	"fmt"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var twoHandRoll = &Rule{
	Name:       "two-hand-roll",
	Severities: []Severity{Error, Compromise},
	Finds:      "a roll that needs both hands while the other is busy, or that one hand makes at a price",
	Means: `Most rolls are made hand to hand. While the other hand plays something else there is none, unless the instrument can
be rolled with one hand: two mallets near the edge of a suspended cymbal, a triangle in its corner. Where that is
done, it costs sound.`,
	Why:    `A roll that becomes separate strokes is heard in the last row.`,
	Stands: `The ways of playing in the catalogue; published and common practice.`,
	Trips: `tempo 96
player Ida
  R timpani with timpani-mallet        | 1~4
  L woodblock clamped with snare-stick | 2
`,
	Passes: `tempo 96
player Ida
  R timpani with timpani-mallet        | 1~4 | -
  L woodblock clamped with snare-stick | -   | 2
`,
	check: func(c *Context) {
		c.eachConflict(motion.NeedsTwo, func(m *motion.Result, k conflictGroup) {
			roll, other := k.A, k.B
			if roll.Kind != motion.RollOn || k.Full == other && other.Kind == motion.RollOn {
				roll, other = other, roll
			}
			msg := fmt.Sprintf("%s has no way to roll on the %s as it is given here", m.Player.Name, roll.Item().Inst.Name())
			if beside := roll.Cue.Beside; roll == other && beside != nil {
				msg = fmt.Sprintf("%s does not roll on the %s with one hand while that has the %s as well", m.Player.Name, roll.Item().Inst.Name(), beside.Name())
			}
			if roll != other {
				msg = fmt.Sprintf("%s's roll on the %s needs both hands, and one has to %s", m.Player.Name, roll.Item().Inst.Name(), toDo(other))
			}
			got := c.report(c.conflict(m, k, limbOf(roll.Limbs&body.Hands), msg))
			c.proposeAlone(got, roll.Cue)
			c.proposeRoll(got, roll)
			c.proposeRelease(got, roll, other, releaseTime)
			for _, e := range []*motion.Event{other, roll} {
				if e.Cue != nil {
					c.proposeForCue(got, e.Cue, nil)
				}
			}
		})
		told := map[[2]*motion.Event]bool{} // with the one hand and with the other it is the same
		for _, g := range c.changes(func(ch *motion.Change) bool { return stuck(ch) && rolls(ch) && !ch.To.Kind.Stops() && !ch.Walks }) {
			roll, other := g.From, g.To
			if other.Kind == motion.RollOn && other.T0 > roll.T0 {
				roll, other = other, roll
			}
			if rollsWithBoth(g.player, other) && !rollsWithBoth(g.player, roll) {
				roll, other = other, roll
			}
			if told[[2]*motion.Event{roll, other}] {
				continue
			}
			told[[2]*motion.Event{roll, other}] = true
			f := c.of(&g, Error, fmt.Sprintf("%s's roll on the %s needs both hands, and one has to %s", g.player.Player.Name, roll.Item().Inst.Name(), toDo(other)))
			f.Timed, f.Sums = false, nil
			got := c.report(f)
			c.proposeRoll(got, roll)
			c.proposeRelease(got, roll, other, releaseTime)
			for _, e := range []*motion.Event{other, roll} {
				if e.Cue != nil {
					c.proposeForCue(got, e.Cue, nil)
				}
			}
		}
		for _, m := range c.Motions {
			for _, ch := range m.Chosen {
				if !ch.Rolled || ch.Way.Hands != 1 || !ch.Way.Rolls || ch.Way.Costs == "" || ch.First.Limbs&body.Hands == body.Hands ||
					m.Player.Person.OneHandRoll == score.Cannot || ch.Cue.Beside != nil { // cannot-or-never says it, or it has been said above
					continue
				}
				first := ch.Roll
				if first == nil {
					first = ch.First
				}
				f := Finding{Severity: Compromise, Where: first.Where(), Player: m.Player.Name, Limb: ch.Cue.Limb.Name(),
					Message: fmt.Sprintf("%s rolls on the %s with one hand: %s", m.Player.Name, ch.Cue.Item.Inst.Name(), ch.Way.Costs)}
				f.place(c.Score, first.At())
				c.report(f)
			}
		}
	},
}

// rollsWithBoth says whether an event is a roll that takes both hands.
func rollsWithBoth(m *motion.Result, e *motion.Event) bool {
	return e.Kind == motion.RollOn && (e.Hands() == body.Hands || slices.ContainsFunc(m.Chosen, func(ch motion.Chosen) bool {
		return ch.Cue == e.Cue && ch.Rolled && motion.TakesBoth(e.Limbs, ch.Way, true)
	}))
}

// rolls says whether a change begins or ends with a roll of both hands.
func rolls(ch *motion.Change) bool {
	return ch.From != nil && ch.From.Kind == motion.RollOn || ch.To.Kind == motion.RollOn && ch.To.Limbs&body.Hands != body.Hands
}

// proposeAlone offers to have nothing beside what plays in the hand.
func (c *Context) proposeAlone(f *Finding, cue *score.Cue) {
	if cue == nil || cue.Beside == nil {
		return
	}
	w := cue.AndWhere
	w.Start = cue.WithWhere.End
	f.propose("have nothing but the "+c.Score.Catalogue.Implement(cue.With[0].Implement).Name()+" in the hand", true, replace(w, ""))
}

// proposeRoll offers the instrument's one-hand rolls.
func (c *Context) proposeRoll(f *Finding, e *motion.Event) {
	if e.Cue == nil || e.Cue.Limb.TwoHands() {
		return
	}
	for _, w := range e.Cue.Item.Inst.Ways {
		if !w.Rolls || w.Hands != 1 || w.Limb != kit.Hand || w.Mount != motion.Wanted(e.Cue) || len(w.With) == 0 {
			continue
		}
		ch := w.With[0]
		words := ch.Implement
		if ch.Count == 2 {
			words = "2 " + words + "s"
		}
		edit := withEdit(e.Cue, words)
		if len(e.Cue.With) > 0 { // the count stands before the name
			text := c.File.Lines[e.Cue.WithWhere.Line].Text
			if start := int(e.Cue.WithWhere.Start); start >= 2 && text[start-2:start] == "2 " {
				edit.Start -= 2
			}
		}
		f.propose(fmt.Sprintf("roll on the %s with one hand, %s", e.Cue.Item.Inst.Name(), words), true, edit)
	}
}
