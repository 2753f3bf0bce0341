package motion

import (
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// able says whether a person can play in a way: with the hands that it takes
// when these limbs play it, with what the striking hand then holds, and
// whether it is a roll. What the person never plays is not asked here: that
// leaves no way at all, and is for whoever gave it to them to hear.
func able(p *score.Person, limbs body.Limbs, w *kit.Way, ch kit.Choice, roll bool) bool {
	need := hands(limbs, w, roll)
	if need&^p.Hands() != 0 || w.Limb == kit.Mouth && w.Hands > 0 && p.Hands() == 0 {
		return false
	}
	if ch.Count == 2 && p.FourMallets == score.Cannot {
		return false
	}
	return !(OneHandRoll(limbs, w, roll) && p.OneHandRoll == score.Cannot)
}

// hands are the hands that a way of playing takes when these limbs play it.
func hands(limbs body.Limbs, w *kit.Way, roll bool) body.Limbs {
	if w.Limb == kit.Hand && w.Hands == 2 && (roll || w.Mount == kit.Held) {
		return body.Hands
	}
	return limbs & body.Hands
}

// OneHandRoll says whether a roll is made by one hand that does not just shake
// the instrument: with two mallets, with the thumb, as a buzz.
func OneHandRoll(limbs body.Limbs, w *kit.Way, roll bool) bool {
	return roll && w.Rolls && w.Limb == kit.Hand && !w.Shaken && hands(limbs, w, roll) != body.Hands
}

// TakesBoth says whether a way of playing takes both hands when one of them is
// asked for.
func TakesBoth(limbs body.Limbs, w *kit.Way, roll bool) bool {
	return limbs&body.Hands != body.Hands && hands(limbs, w, roll) == body.Hands
}

// plain says whether nothing is said of a person that bears on how things are
// played.
func plain(p *score.Person) bool {
	return p.Without == 0 && p.FourMallets != score.Cannot && p.OneHandRoll != score.Cannot
}

// onlyHand is the one hand that a person has for playing, if it is only one.
func onlyHand(p *score.Person) (body.Limb, bool) {
	switch p.Hands() {
	case body.R:
		return body.Right, true
	case body.L:
		return body.Left, true
	}
	return 0, false
}

// playing lists the ways in which a cue's stroke can be played by its hands:
// those that this person can do, and where there is none of those the ways
// that anybody has, so that the path goes on and a finding can say what was
// asked of whom.
func (v *solver) playing(e *Event) []option {
	p := &v.player.Person
	busy := v.elsewhere(e)
	if busy != 0 && slices.ContainsFunc(e.Cue.Item.Inst.Ways, func(w *kit.Way) bool { return !hasFeet(w, busy) }) {
		return v.playingBeside(e, busy)
	}
	if !plain(p) {
		list := v.ways(e, func(w *kit.Way, ch kit.Choice) bool {
			return able(p, e.Limbs, w, ch, e.Kind == RollOn) && (e.Cue.Beside == nil || p.FourMallets != score.Cannot)
		})
		if len(list) > 0 && asAsked(list) {
			return list
		}
	}
	return v.ways(e, func(*kit.Way, kit.Choice) bool { return true })
}

// playingBeside lists the ways in which a cue's stroke can be played where feet
// are on other pedals.
func (v *solver) playingBeside(e *Event, busy body.Limbs) []option {
	list := v.ways(e, func(w *kit.Way, ch kit.Choice) bool {
		return hasFeet(w, busy) && able(&v.player.Person, e.Limbs, w, ch, e.Kind == RollOn)
	})
	if len(list) > 0 && asAsked(list) {
		return list
	}
	list = v.ways(e, func(*kit.Way, kit.Choice) bool { return true })
	for i := range list {
		if o := &list[i]; !hasFeet(o.way, busy) {
			o.conflict = uint8(NoFoot) + 1
			o.cost += costImpossible
		}
	}
	return list
}

// asAsked says whether all of some options can be done, and are what was asked
// for.
func asAsked(list []option) bool {
	return !slices.ContainsFunc(list, func(o option) bool { return o.subst || o.conflict != 0 })
}
