package plan

import (
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
)

// How a plan sounds comes behind what it loses, and before how simple it is to learn.
// While it is looked for who plays what, sound weighs little beside a hand-over, so that
// no hand is bound for its sake before everything has been given away. Once that is
// so, listening, it weighs more. All of this is judgement.
const (
	// hearing is how many times as much a bar that costs sound weighs then.
	hearing = 3
	// alone is what it costs, in bars that cost sound, that one hand plays on a drum or a
	// keyboard what two could take in turn, while the other has nothing to do, where a bar has at least so many strokes.
	alone  = 0.15
	manyOf = 3
)

// listening does something with the sound of a plan weighed as it is in the end.
func (s *search) listening(do func()) {
	was := s.listens
	s.listens = true
	do()
	s.listens = was
}

// heard is what a way of playing a passage costs in sound, in bars: a roll for as many as
// it lasts, and what costs of a roll by one hand only where there is one.
func (q *passage) heard(o *option) float64 {
	cost := o.sound
	switch {
	case q.roll:
		cost *= q.lasts
	case o.rolling:
		cost = max(0, cost-1)
	}
	return cost
}

// byOneHand says whether one hand plays what two could take in turn while the other one
// has nothing to do.
func (s *search) byOneHand(all []plays, q *passage, pl plays) bool {
	o := &q.options[pl.option]
	if f := o.inst.Family; f != kit.Membrane && f != kit.Keyboard {
		return false
	}
	if o.limb != body.Right || o.manner.hands != 1 || o.split != nil || q.sounds < manyOf {
		return false
	}
	for _, other := range s.bars[q.row] {
		if p := all[other.id]; p.player == pl.player && p.slots&hands&^pl.slots != 0 {
			return false
		}
	}
	return true
}
