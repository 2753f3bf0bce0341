package motion

import (
	"handful/lang/body"
	"handful/lang/kit"
	"handful/lang/score"
)

// footReach is how far a pedal may be from where the body stands, in cm:
// common practice, no source.
const footReach = 60

// reaches is the set of places from which an instrument can be played.
func (v *solver) reaches(item *score.Item, limbs uint8) uint64 {
	if item == nil || limbs&Hands == 0 && limbs&(RF|LF) == 0 {
		return ^uint64(0)
	}
	far := v.player.Profile.Lean
	if limbs&Hands == 0 {
		far = max(footReach, far)
	}
	var set uint64
	for i, pl := range v.places {
		if flat(pl.At, item.At) <= far+eps {
			set |= 1 << i
		}
	}
	if set == 0 {
		return 1 << v.nearest(item)
	}
	return set
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
// from a station for what is just out of reach there.
func (v *solver) layPlaces() {
	for _, st := range v.player.Stations {
		v.places = append(v.places, Place{Name: st.Name, At: st.At})
	}
	lean := v.player.Profile.Lean
	for _, it := range v.player.Items {
		if !it.Used || v.heldOnly(it) {
			continue
		}
		n := v.nearest(it)
		d := flat(v.places[n].At, it.At)
		if d <= lean+eps {
			continue
		}
		from := v.places[n].At
		step := d - v.player.Profile.Reach
		if step > sideStep || len(v.places) >= maxPlaces {
			v.outOf = append(v.outOf, it)
			continue
		}
		v.places = append(v.places, Place{
			Name:    v.places[n].Name,
			At:      body.Point{Right: from.Right + (it.At.Right-from.Right)*step/d, Ahead: from.Ahead + (it.At.Ahead-from.Ahead)*step/d},
			Implied: true,
		})
	}
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
