package room

import (
	"math"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
)

// A Use is by whom a thing is played where it stands.
type Use struct {
	Arms
	Hands uint8 // that play it: 1 the right, 2 the left
	Foot  bool
	// Unturned says that a thing is put as it usually stands or nowhere.
	Unturned bool
}

// How well a place serves those who play a thing there, from the best.
const (
	Handy      = iota // in sight of the conductor, and within comfortable reach
	Aside             // out of sight, or to be leant to
	Behind            // one turns about for it
	OutOfReach        // free, and out of reach
	NoPlace           // not even free
)

// The limits of that: common practice, no source.
const (
	roundSide = 110.0 // degrees off the line to the conductor, beyond which one turns about
	pedalNear = 45.0  // cm, of a pedal from where the body is
	tableFar  = 75.0  // cm, of a table from the player
)

// Round says how far round a player a place is.
func Round(at body.Point) int {
	switch angle := math.Abs(math.Atan2(at.Right, at.Ahead)) * 180 / math.Pi; {
	case angle > roundSide:
		return Behind
	case angle > body.InSight:
		return Aside
	}
	return Handy
}

// Serves says how well a place serves those who play a thing there.
func (u Use) Serves(t Target) int {
	far := math.Hypot(t.At.Right, t.At.Ahead)
	if u.Hands != 0 && far-shoulder-t.Zone/2 > u.Lean+fingers+1e-6 {
		return OutOfReach // for the one hand or the other, however the body turns
	}
	tier := Round(t.At)
	if u.Foot {
		switch {
		case far > body.FootReach:
			return OutOfReach
		case far > pedalNear:
			tier = max(tier, Aside)
		}
	}
	for h := range 2 {
		if u.Hands&(1<<h) == 0 {
			continue
		}
		// By the bare hand, so that whatever is held reaches it as well.
		switch missing := u.Missing(h, body.Point{}, t, Stick(nil), false); {
		case missing > u.Lean-u.Reach:
			return OutOfReach
		case missing > 0:
			tier = max(tier, Aside)
		}
	}
	return tier
}

// A Place is where a thing may stand.
type Place struct {
	At     body.Point
	Turn   float64
	Serves int
	Bodies []Body // none where there is no place
}

// Find is the place for a thing nearest to a wanted one that serves best. It is
// looked for in steps of so many centimetres, for a thing that is so many times as
// large as it usually is, and turned where that is better; at the elbows only where there
// is no other place before or beside the player.
func (u Use) Find(in *kit.Instrument, mount kit.Mount, want body.Point, step int, size float64, free func(at body.Point, there []Body) bool) Place {
	best := Place{At: want, Serves: NoPlace}
	tight := best // where the elbows have to make room
	var there []Body
	try := func(turn func(at body.Point) float64, shapes map[float64][]Body) {
		t := Target{Zone: in.Zone}
		high := Height(in, mount, Spot{Seated: u.Seated})
		LeastMove(step, func(right, ahead float64) bool {
			to := body.Point{Right: want.Right + right, Ahead: want.Ahead + ahead}
			t.At = to
			t.At.Up = high
			serves := u.Serves(t)
			if serves >= best.Serves {
				return false
			}
			turned := turn(to)
			there = Put(shapes[turned], to.Right, to.Ahead, body.Point{}, there)
			place := &best
			if NearPerson(there, body.Point{}) < Toes-1 {
				place = &tight
			}
			if serves >= place.Serves || NearOf(there, body.Point{}) < Toes-1 || !free(to, there) {
				return false
			}
			*place = Place{to, turned, serves, slices.Clone(there)}
			return best.Serves == Handy
		})
	}
	shape := func(turn float64) []Body {
		list := Of(in, mount, Spot{Turn: turn, Seated: u.Seated})
		for i := range list {
			list[i] = list[i].Scaled(size)
		}
		return list
	}
	try(func(body.Point) float64 { return 0 }, map[float64][]Body{0: shape(0)})
	if best.Serves > Handy && !u.Unturned && !in.Round && in.Wide != in.Deep {
		try(sideways, map[float64][]Body{toRight: shape(toRight), toLeft: shape(toLeft)})
	}
	if best.Serves >= Behind && tight.Serves < best.Serves {
		return tight // rather than turn about
	}
	return best
}

// How a thing stands beside whom it faces, in degrees, so that its left end is at the
// left of who turns to it.
const (
	toRight = 90.0
	toLeft  = 270.0
)

func sideways(at body.Point) float64 {
	if at.Right < 0 {
		return toLeft
	}
	return toRight
}

// FindTable is the place for a table nearest to a wanted one that is free: before or
// beside a player who stands there, or else behind.
func FindTable(want, you body.Point, step int, free func(Body) bool) (Body, bool) {
	table := Table(want, 0)
	for _, place := range [3]struct {
		near func([]Body, body.Point) float64
		most int
	}{{NearPerson, Aside}, {NearOf, Aside}, {NearPerson, Behind}} {
		right, ahead, ok := LeastMove(step, func(right, ahead float64) bool {
			t := table.Moved(right, ahead)
			from := body.Point{Right: t.At.Right - you.Right, Ahead: t.At.Ahead - you.Ahead}
			return Round(from) <= place.most && place.near([]Body{t}, you) >= Toes-1 && math.Hypot(from.Right, from.Ahead) <= tableFar && free(t)
		})
		if ok {
			return table.Moved(right, ahead), true
		}
	}
	return table, false
}
