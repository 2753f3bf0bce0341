package motion

import (
	"math"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// What lies in the palm leaves the first fingers a light stick. Such a hand
// plays either without a change, and both with one motion where they come
// together: what strikes with the stick shakes the other. That is so only where
// the text says that the hand has one of the two, or both.

// palmed finds the cues that the text gives to a hand which it says to have both
// in it.
func (v *solver) palmed() {
	for h := range v.player.Holds {
		hold := &v.player.Holds[h]
		v.palms(body.Limb(h), hold.Inst, hold.Implement)
	}
	for _, a := range v.player.Actions {
		if a.Kind == score.Take {
			v.palms(a.Limb, a.Item, a.Implement)
		}
	}
}

func (v *solver) palms(h body.Limb, it *score.Item, im *kit.Implement) {
	if it == nil || im == nil {
		return
	}
	for _, c := range v.player.Cues {
		if c.Item == it && (c.Limb == h || c.Limb == body.AnyHand) && LiesInPalm(c) {
			v.inPalm[c] = true
		}
	}
}

// LiesInPalm says whether a cue's words leave a way with the instrument in the palm.
func LiesInPalm(c *score.Cue) bool {
	all := c.Item.Inst.Ways
	if c.Asks != nil {
		all = c.Asks.Ways
	}
	return len(c.With) == 0 && slices.ContainsFunc(all, func(w *kit.Way) bool { return w.LeavesStick() && w.Mount == wanted(c) })
}

// join says whether two strokes of one limb at one moment are one motion, and
// keeps in mind for which cue that is so.
func (v *solver) join(f, e *Event, limb int) bool {
	h := body.Limb(limb)
	if !h.IsHand() || f.Kind != Strike || e.Kind != Strike || math.Abs(e.T0-f.T0) > eps || f.Cue == e.Cue {
		return false
	}
	for _, c := range [2][2]*score.Cue{{f.Cue, e.Cue}, {e.Cue, f.Cue}} {
		if LiesInPalm(c[0]) && v.besides(c[0].Item, c[1], h) {
			v.inPalm[c[0]] = true
			return true
		}
	}
	return false
}

// besides says whether a cue is struck with a stick that has room beside an
// instrument in the palm, and the text says that the hand has one of the two.
func (v *solver) besides(it *score.Item, c *score.Cue, h body.Limb) bool {
	stick := func(im *kit.Implement) bool {
		switch {
		case im == nil || im.AloneBecause() != "" || c.Beside != nil:
			return false
		case len(c.With) > 0:
			return c.With[0].Implement == im.ID && c.With[0].Count < 2
		}
		return slices.ContainsFunc(c.Item.Inst.Ways, func(w *kit.Way) bool {
			return w.Limb == kit.Hand && w.Mount == wanted(c) && slices.Contains(w.With, kit.Choice{Implement: im.ID, Count: 1})
		})
	}
	named := len(c.With) > 0 && stick(v.score.Catalogue.Implement(c.With[0].Implement))
	if hold := &v.player.Holds[h]; stick(hold.Implement) || named && hold.Inst == it {
		return true
	}
	return slices.ContainsFunc(v.player.Actions, func(a *score.Action) bool {
		return a.Kind == score.Take && a.Limb == h && (stick(a.Implement) || named && a.Item == it)
	})
}

// leaves are the hands in which an option has a stick beside which an instrument
// may lie in the palm. A roll leaves none: there the stick has the whole hand.
func (v *solver) leaves(e *Event, o *option) (hands body.Limbs) {
	if e.Kind == RollOn {
		return 0
	}
	for h := range 2 {
		if o.grip[h] == anyGrip {
			continue
		}
		if g := &v.grips[o.grip[h]]; e.Limbs&(1<<h) != 0 && g.Inst == nil && g.Implement != nil && g.Kept == nil && g.Count == 1 && g.Implement.AloneBecause() == "" {
			hands |= 1 << h
		}
	}
	return hands
}

// oneMotion says whether two things of one moment are one motion of one hand.
func oneMotion(a, b *option) bool { return a.shakes(b) || b.shakes(a) }

// shakes says whether the hand that strikes with a stick shakes what lies in its
// palm.
func (o *option) shakes(stick *option) bool {
	return o.palm && o.hands&stick.leaves != 0 && o.hands&stick.hands == o.hands
}

// along is what a hand shakes with what it strikes, or, where it is that which is
// shaken, what is struck.
func (so *stageOption) along(o *option, h int) *option {
	for _, p := range so.parts {
		if p != o && p.hands&o.hands&(1<<h) != 0 && oneMotion(p, o) {
			return p
		}
	}
	return nil
}

// bothIn is the grip of a hand with an instrument in the palm and a stick.
func (v *solver) bothIn(it *score.Item, im *kit.Implement, butt bool) uint16 {
	return v.gripID(Grip{Inst: it, Implement: im, Butt: butt, Count: 1})
}

// stick is the one light stick that a hand has, if it has nothing else but
// perhaps an instrument in the palm.
func (g *Grip) stick(it *score.Item) *kit.Implement {
	im := g.Implement
	if im == nil {
		im = g.Kept
	}
	if im == nil || g.Two() || g.Count > 1 || g.Inst != nil && g.Inst != it || im.AloneBecause() != "" {
		return nil
	}
	return im
}
