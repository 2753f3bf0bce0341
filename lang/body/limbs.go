package body

import (
	"iter"
	"math/bits"
	"strings"
)

// A Limb is what plays, as a cue names it.
type Limb uint8

const (
	Right Limb = iota
	Left
	RightFoot
	LeftFoot
	Mouth
	Together   // R+L
	RightFirst // RL, hand to hand
	LeftFirst  // LR
	AnyHand
)

// How each limb is written, what it is called in a sentence, and what the
// written word means.
var limbs = [...]struct{ word, name, means string }{
	Right:      {"R", "right hand", "right hand"},
	Left:       {"L", "left hand", "left hand"},
	RightFoot:  {"RF", "right foot", "right foot"},
	LeftFoot:   {"LF", "left foot", "left foot"},
	Mouth:      {"mouth", "mouth", "mouth"},
	Together:   {"R+L", "both hands", "both hands together"},
	RightFirst: {"RL", "hand to hand", "hand to hand, right first"},
	LeftFirst:  {"LR", "hand to hand", "hand to hand, left first"},
	AnyHand:    {"any", "either hand", "whichever hand is better"},
}

// LimbNamed is the limb that a word of a cue names.
func LimbNamed(word string) (Limb, bool) {
	for l := range limbs { // this is asked of every line
		if limbs[l].word == word {
			return Limb(l), true
		}
	}
	return Right, false
}

// String is the limb as a cue writes it.
func (l Limb) String() string { return limbs[l].word }

// Letter is the limb in a letter or two, where there is no room for a word.
func (l Limb) Letter() string {
	if l == Mouth {
		return "M"
	}
	return l.String()
}

// Name is the limb in words.
func (l Limb) Name() string { return limbs[l].name }

// Means says what the written word stands for, to somebody who meets it for
// the first time.
func (l Limb) Means() string { return limbs[l].means }

// TwoHands says whether the cue has both hands on one instrument.
func (l Limb) TwoHands() bool { return l == Together || l == RightFirst || l == LeftFirst }

// IsHand says whether the limb is one hand.
func (l Limb) IsHand() bool { return l == Right || l == Left }

// OnTheRight says whether the limb is on the right of the body; what takes both hands,
// or whichever is better, is on neither side.
func (l Limb) OnTheRight() bool { return l == Right || l == RightFoot }

// OnTheLeft is the same of the other side.
func (l Limb) OnTheLeft() bool { return l == Left || l == LeftFoot }

// Other is the same on the other side of the body.
func (l Limb) Other() Limb {
	switch l {
	case Right, RightFoot, RightFirst:
		return l + 1
	case Left, LeftFoot, LeftFirst:
		return l - 1
	}
	return l
}

// Limbs is a set of single limbs. Higher bits are for whoever keeps the set, and
// count as none.
type Limbs uint8

const (
	R Limbs = 1 << iota
	L
	RF
	LF
	M
	Hands = R | L
	Feet  = RF | LF
	all   = Hands | Feet | M
)

// Of is the set of what a limb is made of: both hands where a cue takes two.
// Either hand counts as the right until one is chosen.
func Of(l Limb) Limbs {
	switch {
	case l.TwoHands():
		return Hands
	case l == AnyHand:
		return R
	}
	return 1 << l
}

// Has says whether a limb, or one of its two hands, is in the set.
func (s Limbs) Has(l Limb) bool { return s&Of(l) != 0 }

// Count is how many limbs there are in the set.
func (s Limbs) Count() int { return bits.OnesCount8(uint8(s & all)) }

// First is the first limb of a set, hands before feet, and the right before
// the left; of an empty one it is the right hand.
func (s Limbs) First() Limb {
	if s&all == 0 {
		return Right
	}
	return Limb(bits.TrailingZeros8(uint8(s)))
}

// Each visits the limbs of a set, in the order of [Limbs.First].
func (s Limbs) Each() iter.Seq[Limb] {
	return func(yield func(Limb) bool) {
		for s &= all; s != 0; s &= s - 1 {
			if !yield(s.First()) {
				return
			}
		}
	}
}

// Letters writes a set as R, L, RF, LF and M with + between them.
func (s Limbs) Letters() string {
	var list []string
	for l := range s.Each() {
		list = append(list, l.Letter())
	}
	return strings.Join(list, "+")
}
