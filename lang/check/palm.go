package check

import (
	"fmt"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// heldAndStruck are, of two strokes that a hand should make at once, the cue of
// what the hand itself holds and that of what it strikes; nil where it is not so.
func heldAndStruck(k *conflictGroup) (held, struck *score.Cue) {
	if k.A.Kind != motion.Strike || k.B.Kind != motion.Strike || k.A.T0 != k.B.T0 || k.A.Limbs&k.B.Limbs&body.Hands == 0 {
		return nil, nil
	}
	holds := func(c *score.Cue) bool {
		return len(c.With) == 0 && slices.ContainsFunc(c.Item.Inst.Ways, func(w *kit.Way) bool { return w.Mount == motion.Wanted(c) && w.HandHolds() })
	}
	for _, c := range [2][2]*score.Cue{{k.A.Cue, k.B.Cue}, {k.B.Cue, k.A.Cue}} {
		if holds(c[0]) && motion.Wanted(c[1]) != kit.Held {
			return c[0], c[1]
		}
	}
	return nil, nil
}

// stickOf is what a cue is struck with where nothing else is said, or nil: the
// bare hand.
func (c *Context) stickOf(cue *score.Cue) *kit.Implement {
	if len(cue.With) > 0 {
		return c.Score.Catalogue.Implement(cue.With[0].Implement)
	}
	if list := usualWith(cue.Item.Inst, motion.Wanted(cue)); len(list) > 0 {
		return c.Score.Catalogue.Implement(list[0])
	}
	return nil
}

// whyNotBoth says why a hand does not play with one motion what it holds and what
// it strikes, or what has to be said for that.
func (c *Context) whyNotBoth(held, struck *score.Cue) string {
	if held == nil {
		return ""
	}
	stick, name := c.stickOf(struck), held.Item.Called()
	switch {
	case stick == nil || stick.Weight == kit.Nothing:
		return ""
	case !motion.LiesInPalm(held):
		return fmt.Sprintf(" (no stick has room in the hand beside the %s)", name)
	case stick.AloneBecause() != "":
		return fmt.Sprintf(" (the %s has no room beside the %s: %s)", stick.Name(), name, stick.AloneBecause())
	}
	return fmt.Sprintf(" (the %s goes into the palm beside a light stick, and one motion plays both, where it is said that the hand holds the %s)", name, stick.Name())
}

// orHoldBoth offers to have what a hand holds and what it strikes with in that
// hand from the beginning.
func (f *Finding) orHoldBoth(p *score.Player, held, struck *score.Cue) {
	if held == nil || !motion.LiesInPalm(held) || !held.Limb.IsHand() || p.Holds[held.Limb].Said || p.Where.File != 0 {
		return
	}
	stick := f.in.stickOf(struck)
	if stick == nil || stick.AloneBecause() != "" {
		return
	}
	f.Or(fmt.Sprintf("hold the %s and the %s in that hand, and play both with one motion", stick.Name(), held.Item.Called()),
		f.in.below(int(p.Where.Line), 1, &syntax.LimbLine{Limb: syntax.Word(held.Limb.String()),
			Holds: &syntax.Thing{Name: syntax.Word(stick.ID)}, And: []syntax.Thing{{Name: syntax.Word(held.Item.Name)}}}))
}

// besideWhatIsInThePalm reports, once for each cue, a stroke with a stick that is
// louder than what the hand has in its palm beside it can be held.
func (c *Context) besideWhatIsInThePalm() {
	for _, m := range c.Motions {
		var both body.Limbs // that have something beside a stick somewhere
		for h := range body.Limb(2) {
			if slices.ContainsFunc(m.Spells[h], func(sp motion.Spell) bool { return sp.Grip.Both() }) {
				both |= 1 << h
			}
		}
		if both == 0 {
			continue
		}
		soft := map[*score.Cue]bool{} // of which it is said already
		for i := range m.Chosen {
			if ch := &m.Chosen[i]; ch.Way.Loudest > 0 {
				soft[ch.Cue] = true
			}
		}
		for i := range m.Events { // the first stroke is told of, of whichever hand it is
			e := &m.Events[i]
			if e.Limbs&both == 0 || e.Cue == nil || e.Kind != motion.Strike || soft[e.Cue] {
				continue
			}
			for h := range body.Limb(2) {
				if e.Limbs&both&(1<<h) != 0 {
					c.louderThanThePalm(m, e, h)
				}
			}
		}
	}
}

func (c *Context) louderThanThePalm(m *motion.Result, e *motion.Event, h body.Limb) {
	g, d := m.HoldsAt(h, e.T0), e.Cue.Strokes[e.Stroke].Dyn
	if !g.Both() || e.Cue.Item == g.Inst {
		return
	}
	in := g.Inst.Inst
	at := slices.IndexFunc(in.Ways, (*kit.Way).LeavesStick)
	if most := in.Ways[at].Loudest; most > 0 && d > most && c.Once(m, e.Cue) {
		c.At(m, e).With(h.Name()).Warning("%s is asked for, and with the %s in the same hand the %s is honestly no louder than %s", d, in.Name(), e.Cue.Item.Called(), most).
			orPlay(e.Cue).OrAccept()
	}
}
