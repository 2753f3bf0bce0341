package room

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"example.org/handful/lang/body"
)

// Vary is the share by which the sizes of instruments of one name differ, up or
// down: common practice, no source.
const Vary = 0.3

// Thin is an overlap, in cm, that nobody could tell from none.
const Thin = 2.0

// Clash is two bodies in the same space.
type Clash struct {
	Deep float64 // cm, by their usual sizes
	// Sure says that there is no room for them even if both are as small as such
	// things come. What hangs over others needs room for the rest of it, of a
	// cymbal the post of its stand, since it may be set higher; what is clamped
	// and what has no certain size is never sure.
	Sure bool
	// Hangs says which of the two hangs too far over the other, and is not in it:
	// 1 the first, 2 the second, 0 neither.
	Hangs int
}

// post is half of how thick the post of a stand is, in cm: common practice, no
// source.
const post = 1.5

// Check says whether two bodies stand in one another.
func Check(a, b Body) (Clash, bool) { return check(&a, &b) }

func check(a, b *Body) (Clash, bool) {
	deep := a.deep(b)
	if deep < Thin {
		return Clash{}, false
	}
	c := Clash{Deep: deep}
	apart := a.above(b) || b.above(a)
	switch {
	case a.Floats != b.Floats:
		c.Hangs = 1
		if b.Floats {
			c.Hangs = 2
		}
	case apart:
		c.Hangs = 1
		if b.above(a) {
			c.Hangs = 2
		}
	}
	known := !a.Guessed && !b.Guessed && !a.Floats && !b.Floats
	c.Sure = known && (!apart || a.Over > 0 || b.Over > 0) && leastInto(a, b) > Thin
	return c, true
}

// Between is where two things stand the deepest in one another, of all the bodies
// that they have.
func Between(as, bs []Body) (worst Clash, clash bool) {
	sure := false
	for i := range as {
		for k := range bs {
			c, ok := check(&as[i], &bs[k])
			if sure = sure || ok && c.Sure; ok && c.Deep > worst.Deep {
				worst, clash = c, true
			}
		}
	}
	worst.Sure = sure
	return worst, clash
}

// Spun is a place turned about another one by so many degrees, clockwise seen from above.
func Spun(p, about body.Point, degrees float64) body.Point {
	if degrees == 0 {
		return p
	}
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	right, ahead := p.Right-about.Right, p.Ahead-about.Ahead
	p.Right, p.Ahead = about.Right+right*cos+ahead*sin, about.Ahead-right*sin+ahead*cos
	return p
}

// Spun is the body turned about a place.
func (b Body) Spun(about body.Point, degrees float64) Body {
	b.At, b.struck, b.Turn = Spun(b.At, about, degrees), Spun(b.struck, about, degrees), b.Turn+degrees
	return b
}

// AllFree says whether none of some bodies stands in any of the others.
func AllFree(list, others []Body) bool {
	for i := range list {
		if !list[i].free(others) {
			return false
		}
	}
	return true
}

// leastInto is by how much two bodies overlap at the least: as small as they
// may be, each about its middle or about where it is struck.
func leastInto(a, b *Body) float64 {
	deep := math.Inf(1)
	small, other := a.least(), b.least()
	for _, p := range [2]body.Point{a.At, a.struck} {
		for _, q := range [2]body.Point{b.At, b.struck} {
			small.At, other.At = p, q
			deep = min(deep, small.into(&other))
		}
	}
	return deep
}

// least is the least that a body may take up: smaller, and without the edge
// that may hang over others.
func (b Body) least() Body {
	b = b.Scaled(1 - Vary)
	if b.Over > 0 {
		b.Wide, b.Deep = max(2*post, b.Wide-2*b.Over), max(2*post, b.Deep-2*b.Over)
	}
	return b
}

// MostMoved is how far, in cm, anything is moved to make room.
const MostMoved = 150

// LeastMove is the shortest move, in steps of so many whole centimetres, to
// where all is well; every shorter one has been tried. Of two of one length it
// is the one to the right, then the one ahead.
func LeastMove(step int, well func(right, ahead float64) bool) (right, ahead float64, ok bool) {
	for r := range MostMoved/step + 1 {
		for _, o := range rings()[r]() {
			if right, ahead = float64(int(o[0])*step), float64(int(o[1])*step); well(right, ahead) {
				return right, ahead, true
			}
		}
	}
	return 0, 0, false
}

// rings are the moves by their length in steps, each listed when it is first
// asked for.
var rings = sync.OnceValue(func() (list [MostMoved + 1]func() [][2]int16) {
	for r := range list {
		list[r] = sync.OnceValue(func() [][2]int16 { return ring(r) })
	}
	return list
})

// ring lists the moves of up to r steps that are longer than r-1, in order.
func ring(r int) [][2]int16 {
	var list [][2]int16
	for x := -r; x <= r; x++ {
		y := 0
		for r > 0 && x*x+y*y <= (r-1)*(r-1) {
			y++
		}
		for ; x*x+y*y <= r*r; y++ {
			list = append(list, [2]int16{int16(x), int16(y)})
			if y > 0 {
				list = append(list, [2]int16{int16(x), int16(-y)})
			}
		}
	}
	long := func(o [2]int16) int { return int(o[0])*int(o[0]) + int(o[1])*int(o[1]) }
	slices.SortFunc(list, func(a, b [2]int16) int {
		return cmp.Or(long(a)-long(b), int(b[0])-int(a[0]), int(b[1])-int(a[1]))
	})
	return list
}

// Free says whether a body stands in none of the others.
func (b Body) Free(others []Body) bool { return b.free(others) }

func (b *Body) free(others []Body) bool {
	for i := range others {
		if b.deep(&others[i]) > 0 {
			return false
		}
	}
	return true
}

// Turned is an angle from 0 to 360 degrees.
func Turned(degrees float64) float64 {
	if d := math.Mod(degrees, 360); d >= 0 {
		return d
	}
	return math.Mod(degrees, 360) + 360
}
