package motion

import (
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
)

// Where a thing stands decides how far a hand has to go for it. As long as everything is had
// from the same places as before, and nobody has to bend for what nobody had to bend for, a player can do
// the same in the same ways, and only the legs that lead to a thing that stands elsewhere, or
// from it, are as long as they are now.

// displacedThings says which of a player's things stand elsewhere than they did,
// by their numbers; it is nil where anything else of the set-up is another.
func displacedThings(was, now *score.Player) []bool {
	if len(was.Items) != len(now.Items) {
		return nil
	}
	displaced := make([]bool, 0, len(now.Items))
	alike := func(x, y *score.Item) bool {
		there := *x
		there.At = y.At
		displaced = append(displaced, x.At != y.At)
		return sameThing(&there, y)
	}
	if !sameBut(was, now, alike) {
		return nil
	}
	return displaced
}

// sameEvents are the events of the course as they are now, where the same is to be done: in
// another time, or with things that stand elsewhere.
func (v *solver) sameEvents() []Event {
	c := v.course
	if v.displaced == nil {
		return v.retimed()
	}
	if c.acts[0] != nil || c.acts[1] != nil || !c.time.Equal(v.score.Time) || !slices.EqualFunc(c.player.Cues, v.player.Cues, placesOf(c.player, v.player).sameCue) {
		return nil
	}
	m := mover{cues: counterparts(c.player.Cues, v.player.Cues), acts: counterparts(c.player.Actions, v.player.Actions), events: slices.Clone(c.events)}
	m.moveEvents()
	v.unsettled(m.events)
	return m.events
}

// sameHalts are the halts of the course with the cues of now.
func (v *solver) sameHalts() []halt {
	if v.displaced == nil {
		return v.course.halts
	}
	halts := slices.Clone(v.course.halts)
	for i := range halts {
		for h := range halts[i].tracks {
			t := &halts[i].tracks[h]
			t.cue = v.paired[t.cue].now
		}
	}
	return halts
}

// standAlike says whether all is had from the same places as in the course, though things
// stand elsewhere, and one has to bend to the same.
func (r *resumed) standAlike() bool {
	v, c := r.v, r.course
	before := &solver{player: c.player, places: c.places, targetsOf: map[*score.Item]targeted{}}
	for i, d := range v.displaced {
		if d && !v.hadAlike(before, c.player.Items[i], v.player.Items[i]) {
			return false
		}
	}
	return true
}

// hadAlike says whether a thing is within reach of every limb from the same places as it was,
// and one bends to it at the same ones.
func (v *solver) hadAlike(before *solver, was, now *score.Item) bool {
	for _, limbs := range [...]body.Limbs{body.R, body.L, body.Hands, body.Feet} {
		if before.reaches(was, limbs) != v.reaches(now, limbs) {
			return false
		}
	}
	for i := range v.places {
		if before.bendsTo(was, uint8(i)) != v.bendsTo(now, uint8(i)) {
			return false
		}
	}
	return true
}

// bendsTo says whether one has to bend to a thing, where it is laid and taken from a place.
func (v *solver) bendsTo(it *score.Item, place uint8) bool {
	g := Grip{Inst: it}
	return low(g, v.home(g, place))
}

// stepNow is a step of the course with its legs as they are now, or nil where they have to be
// tried anew.
func (v *solver) stepNow(s *step) *step {
	if v.displaced == nil {
		return s
	}
	now := s
	for i := range s.legs {
		l := &s.legs[i]
		if !v.leadsElsewhere(&l.key) {
			continue
		}
		if !l.bare {
			return nil
		}
		need := v.leg(l.key).need
		if need == l.need {
			continue
		}
		if now == s {
			now = v.newStep()
			now.ways = s.ways
			v.legsLeft, now.legs = atEnd(v.legsLeft, s.legs)
		}
		now.legs[i].need = need
	}
	return now
}

// leadsElsewhere says whether a leg leads to or from something that stands elsewhere than in
// the course, or has it taken or laid.
func (v *solver) leadsElsewhere(k *legKey) bool {
	return v.spotElsewhere(k.fromSpot) || v.spotElsewhere(k.toSpot) || v.gripElsewhere(k.from) || v.gripElsewhere(k.to)
}

func (v *solver) spotElsewhere(spot int16) bool {
	if spot < 0 {
		return false
	}
	item, _ := v.itemOf(spot)
	return v.displaced[item]
}

func (v *solver) gripElsewhere(grip uint16) bool {
	if grip == anyGrip {
		return false
	}
	g := &v.grips[grip]
	if g.Inst == nil {
		return false
	}
	n := v.itemNumber(g.Inst)
	return n > 0 && v.displaced[n-1]
}
