package motion

import (
	"math"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
	"example.org/handful/lang/score"
)

// reaches is the set of places from which limbs reach an instrument, each hand
// from its own shoulder with the longest thing that it strikes it with. Where
// there is none, it is the nearest place: that it is too far is said elsewhere.
func (v *solver) reaches(item *score.Item, limbs body.Limbs) uint64 {
	if item == nil {
		return ^uint64(0)
	}
	return v.reachesWith(item, limbs, item.Stick)
}

// reachesWith is the same by what the hand holds: as many centimetres as
// [room.Stick] gives it.
func (v *solver) reachesWith(item *score.Item, limbs body.Limbs, stick float64) uint64 {
	if item == nil || limbs&body.Hands == 0 && limbs&(body.Feet) == 0 {
		return ^uint64(0)
	}
	var set uint64
	for i := range v.places {
		if v.missing(item, limbs, v.places[i].At, stick, true) <= eps {
			set |= 1 << i
		}
	}
	if set == 0 {
		return 1 << v.nearest(item)
	}
	return set
}

// missing is by how many centimetres the limb that has it furthest falls short
// of an instrument, from where the body stands.
func (v *solver) missing(item *score.Item, limbs body.Limbs, from body.Point, stick float64, leaning bool) float64 {
	if limbs&body.Hands == 0 {
		return flat(from, item.At) - max(body.FootReach, v.player.Profile.Lean)
	}
	arms := v.player.Arms()
	far := math.Inf(-1)
	targets, whole := v.targets(item)
	if whole {
		for h := range 2 {
			if limbs&(1<<h) != 0 {
				far = max(far, arms.Missing(h, from, targets[0], stick, leaning))
			}
		}
		targets = targets[1:]
	}
	if len(targets) == 0 {
		return far
	}
	for _, c := range v.player.Cues { // of two hands the nearer one goes to a drum
		if c.Item == item && (c.Limb.TwoHands() || c.Limb == body.AnyHand) {
			limbs |= body.Hands
		}
	}
	for _, target := range targets {
		near := math.Inf(1)
		for h := range 2 {
			if limbs&(1<<h) != 0 {
				near = min(near, arms.Missing(h, from, target, stick, leaning))
			}
		}
		far = max(far, near)
	}
	return far
}

// targets are what of an item is to be reached, looked up once; see [score.Player.Targets].
func (v *solver) targets(item *score.Item) (list []room.Target, whole bool) {
	had, ok := v.targetsOf[item]
	if !ok {
		had.list, had.whole = v.player.Targets(item)
		v.targetsOf[item] = had
	}
	return had.list, had.whole
}

// A targeted is what of an item is to be reached.
type targeted struct {
	list  []room.Target
	whole bool // the first is the whole
}

// limbsFor are the limbs that play an instrument; one hand where either may.
func (v *solver) limbsFor(item *score.Item) []body.Limbs {
	var list []body.Limbs
	add := func(l body.Limbs) {
		if !slices.Contains(list, l) {
			list = append(list, l)
		}
	}
	for _, c := range v.player.Cues {
		if c.Item != item || c.Limb == body.Mouth {
			continue
		}
		switch c.Limb {
		case body.RightFirst, body.LeftFirst, body.Together:
			add(body.R)
			add(body.L)
		case body.AnyHand:
		default:
			add(body.Of(c.Limb))
		}
	}
	return list
}

func (v *solver) nearest(item *score.Item) int {
	best := 0
	for i := range v.places {
		if flat(v.places[i].At, item.At) < flat(v.places[best].At, item.At) {
			best = i
		}
	}
	return best
}

// flat is the distance on the floor.
func flat(a, b body.Point) float64 {
	a.Up, b.Up = 0, 0
	return a.Dist(b)
}

// maxPlaces bounds where a player may stand, implied side steps included.
const maxPlaces = 48

// layPlaces finds where the player may stand: the stations, and a side step
// from a station for what is just out of reach there. Who is seated stays at
// one.
func (v *solver) layPlaces() {
	for _, st := range v.player.Stations {
		v.places = append(v.places, Place{Name: st.Name, At: st.At})
	}
	if v.player.Person.Seated {
		seat := v.seat()
		v.places = v.places[seat : seat+1 : seat+1]
	}
	for _, it := range v.player.Items {
		if !it.Used || v.heldOnly(it) {
			continue
		}
		limbs := v.limbsFor(it)
		if len(limbs) == 0 {
			limbs = []body.Limbs{v.nearHand(it)}
		}
		for _, limb := range limbs {
			if !v.placeFor(it, limb, it.Stick) {
				v.outOf = append(v.outOf, it)
				break
			}
		}
	}
}

// seat is the place from which the most can be played; the first of those.
func (v *solver) seat() int {
	best, most := 0, -1
	for i := range v.places {
		n := 0
		for _, c := range v.player.Cues {
			if v.heldOnly(c.Item) || c.Limb == body.Mouth {
				continue
			}
			limbs := body.Of(c.Limb)
			switch {
			case c.Limb == body.AnyHand:
				limbs = v.nearHand(c.Item)
			case c.Limb.TwoHands():
				limbs = body.Hands
			}
			if v.missing(c.Item, limbs, v.places[i].At, c.Item.Stick, true) <= eps {
				n += len(c.Strokes)
			}
		}
		if n > most {
			best, most = i, n
		}
	}
	return best
}

// nearHand is the hand on whose side an instrument is.
func (v *solver) nearHand(it *score.Item) body.Limbs {
	if it.At.Right < v.places[v.nearest(it)].At.Right {
		return body.L
	}
	return body.R
}

// placeFor sees to it that there is a place from which a limb reaches an
// instrument: one that there is, or one a step from the nearest, as far as it
// takes to reach it without leaning.
func (v *solver) placeFor(it *score.Item, limb body.Limbs, stick float64) bool {
	for i := range v.places {
		if v.missing(it, limb, v.places[i].At, stick, true) <= eps {
			return true
		}
	}
	near := v.places[v.nearest(it)]
	d := flat(near.At, it.At)
	if len(v.places) >= maxPlaces || d < eps || v.player.Person.Seated {
		return false
	}
	after := func(step float64) body.Point {
		at := near.At
		at.Right += (it.At.Right - at.Right) * step / d
		at.Ahead += (it.At.Ahead - at.Ahead) * step / d
		return at
	}
	for _, leaning := range [2]bool{false, true} {
		for step := 1.0; step <= min(sideStep, d); step++ {
			if v.missing(it, limb, after(step), stick, leaning) <= eps {
				v.places = append(v.places, Place{Name: near.Name, At: after(step), Implied: true})
				return true
			}
		}
	}
	return false
}

// sideStep is how far one step carries a player to the side of a station, in
// cm; what is further needs a station of its own. Common practice, no source.
const sideStep = 60

// heldOnly says whether an item is only ever in the hand.
func (v *solver) heldOnly(it *score.Item) bool {
	if it.Placed && it.Mount != kit.Held && it.Mount != kit.AnyMount {
		return false
	}
	for _, c := range v.player.Cues {
		if c.Item == it && wanted(c) != kit.Held {
			return false
		}
	}
	return true
}
