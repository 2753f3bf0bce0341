// Package room says how much room things take and what a person can reach.
//
// In come instruments, how they are fixed and where they stand, and a person's
// arms. Out come bodies, by how many centimetres two of them stand in one
// another, the least move that frees them, how far a hand with its stick is
// from what it is to strike, and how far two hands cross.
//
// The package never times a motion and never looks at a score.
package room

import (
	"math"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
)

// A Body is the room that one thing takes: a disc or a box seen from above,
// over a range of heights.
type Body struct {
	At         body.Point // its middle
	Turn       float64    // degrees, clockwise seen from above
	Wide, Deep float64    // cm, before it is turned
	Round      bool       // Wide across
	Low, High  float64    // cm above the floor
	Over       float64    // cm that its edge may hang over something lower
	// Floats says that it sits on something else's stand and may be set above
	// whatever is there.
	Floats bool
	// Set says that it is as high as it is, and may not be set higher to hang over
	// something: a table, what lies on one, what somebody gives a height.
	Set bool
	// Guessed says that nothing gives its size, as of a table.
	Guessed bool
	struck  body.Point // where it is struck, and so where its middle may be
	strokes float64    // how high above the floor the strokes are that it gets; 0: none
	rim     bool       // it is struck inside its rim
	beyond  bool       // it stands beyond the pedal with which it is played
	table   bool
	laid    bool // lies on a table
}

// The room between where somebody stands and what stands before them, and the
// table, in cm: common practice, no source.
const (
	Toes        = 12.0
	tableWide   = 40.0
	tableDeep   = 30.0
	TableHeight = 80.0
	tableThick  = 4.0
	tableOver   = 18.0 // a tray hangs over what is lower, as over the shell of a drum with a pedal
	laidThick   = 20.0 // the most that what lies on a table rises above it
	// seatedLower is how much lower a stand is set for somebody who sits.
	seatedLower = 20.0
	// strokeRoom is how high above what is struck a stick comes that strikes it,
	// neither softly nor with all its force.
	strokeRoom = 15.0
)

// A Spot is where a thing is struck, and how it is turned.
type Spot struct {
	At     body.Point // Up counts from how high it usually is
	Turn   float64
	Raised bool       // somebody said how high it is
	You    body.Point // where whoever plays it stands
	Seated bool
}

// Of is the bodies of an instrument that is fixed in some way: of a set whose drums
// stand each on its own feet that of each drum, from the left, and else one. None of
// what takes no room, being held or worn.
func Of(in *kit.Instrument, mount kit.Mount, s Spot) []Body {
	switch {
	case mount == kit.Held || mount == kit.OnBody:
		return nil
	case in.Members <= 1:
		return []Body{of(in, mount, s, in.Wide, in.Deep, in.Round)}
	}
	out := make([]Body, 0, in.Row())
	middle := s.At
	for n := 1; n <= in.Row(); n++ {
		t, _ := in.Member(n)
		t = t.Turned(s.Turn)
		s.At.Right, s.At.Ahead = middle.Right+t.Right, middle.Ahead+t.Ahead
		b, _ := OfMember(in, n, mount, s)
		out = append(out, b)
	}
	return out
}

// OfMember is the body of the n-th of a set that stands by itself at a place.
func OfMember(in *kit.Instrument, n int, mount kit.Mount, s Spot) (Body, bool) {
	if mount == kit.Held || mount == kit.OnBody {
		return Body{}, false
	}
	wide, deep, round := in.MemberSize(n)
	b := of(in, mount, s, wide, deep, round)
	if b.rim = n <= len(in.Kettles); b.rim {
		b = b.Put(s.At, s.You)
	}
	return b, true
}

// Put is the bodies of a thing after it is moved by so much, for whoever stands
// there to play it. They are written into a list that is given.
func Put(shape []Body, right, ahead float64, you body.Point, into []Body) []Body {
	into = into[:0]
	for i := range shape {
		into = append(into, shape[i])
		b := &into[i]
		b.put(body.Point{Right: b.struck.Right + right, Ahead: b.struck.Ahead + ahead}, you)
	}
	return into
}

func of(in *kit.Instrument, mount kit.Mount, s Spot, wide, deep float64, round bool) Body {
	b := Body{At: s.At, Turn: s.Turn, Wide: wide, Deep: deep, Round: round, Low: in.Low, High: in.High, Over: in.Over,
		Set: s.Raised || mount == kit.Padded, strokes: Height(in, mount, s)}
	b.beyond = mount == kit.Floor && in.Usual().Limb == kit.Foot
	if !in.Sized() {
		b.Wide, b.Deep, b.Round, b.Guessed = in.Zone, in.Zone, true, true
	}
	switch mount {
	case kit.Padded:
		b.Low, b.High, b.laid = TableHeight, TableHeight+min(in.High-in.Low, laidThick), true
	case kit.Clamped, kit.Clipped, kit.Hung:
		b.Floats = !in.Stands() && !s.Raised
	}
	if by := Height(in, mount, s) - Height(in, mount, Spot{}); by != 0 {
		if !in.Stands() || by > 0 {
			b.Low = max(0, b.Low+by)
		}
		b.High = max(b.Low+1, b.High+by)
	}
	return b.Put(s.At, s.You)
}

// fromRim is how far inside its rim a kettle is struck, in cm: about a hand's
// width. Common practice, no source.
const fromRim = 10.0

// rimNear is where the middle of a kettle is whose rim, and not that, is before the
// place where it is struck.
func (b *Body) rimNear(you body.Point) body.Point {
	at := b.At
	right, ahead := at.Right-you.Right, at.Ahead-you.Ahead
	if far := math.Hypot(right, ahead); far > 1 {
		by := (b.Wide/2 - fromRim) / far
		at.Right, at.Ahead = at.Right+right*by, at.Ahead+ahead*by
	}
	return at
}

// Shares says whether one instrument is a part of the other, and so stands in
// its place.
func Shares(a, b *kit.Instrument) bool {
	return slices.Contains(a.Shares, b.ID) || slices.Contains(b.Shares, a.ID)
}

// Height is how high above the floor what is struck is.
func Height(in *kit.Instrument, mount kit.Mount, s Spot) float64 {
	high := in.Height
	switch {
	case mount == kit.Padded:
		high = TableHeight + min(in.High-in.Low, laidThick)
	case s.Seated && !s.Raised && !in.Stands() && mount != kit.Held && mount != kit.OnBody:
		high = max(high-seatedLower, min(high, seatedLower))
	}
	return high + s.At.Up
}

// Table is the body of a table.
func Table(at body.Point, turn float64) Body {
	low := max(0, TableHeight+at.Up)
	at.Up = 0
	return Body{At: at, struck: at, Turn: turn, Wide: tableWide, Deep: tableDeep, Low: low, High: low + tableThick, Over: tableOver, Set: true, Guessed: true, table: true}
}

// Put is the body of a thing that is struck at a place.
func (b Body) Put(at, you body.Point) Body {
	b.put(at, you)
	return b
}

func (b *Body) put(at, you body.Point) {
	at.Up = 0
	b.At, b.struck = at, at
	if b.rim {
		b.At = b.rimNear(you)
		return
	}
	if b.beyond {
		_, d := b.extent()
		b.At.Ahead += d
	}
	b.At = b.clear(you)
}

// clear is where the middle of a body is that is struck at a place: around it,
// but not where the player does, who would stand in it.
func (b *Body) clear(you body.Point) body.Point {
	at := b.At
	w, d := b.extent()
	if math.Abs(at.Right-you.Right) < w+Toes && at.Ahead > you.Ahead && at.Ahead-d < you.Ahead+Toes {
		at.Ahead = you.Ahead + Toes + d
	}
	return at
}

// Extent is half of how far the body goes to the right and ahead.
func (b Body) Extent() (right, ahead float64) { return b.extent() }

func (b *Body) extent() (right, ahead float64) {
	switch {
	case b.Round:
		return b.Wide / 2, b.Wide / 2
	case b.Turn == 0:
		return b.Wide / 2, b.Deep / 2
	}
	sin, cos := math.Sincos(b.Turn * math.Pi / 180)
	sin, cos = math.Abs(sin), math.Abs(cos)
	return (b.Wide*cos + b.Deep*sin) / 2, (b.Wide*sin + b.Deep*cos) / 2
}

// Near is how far the nearest part of the body is from a place on the floor; 0
// or less within it.
func (b Body) Near(p body.Point) float64 {
	return -b.into(&Body{At: p, Round: true})
}

// NearOf is how far the nearest of some bodies is from a place on the floor.
func NearOf(list []Body, p body.Point) float64 {
	near := math.Inf(1)
	for i := range list {
		near = min(near, list[i].Near(p))
	}
	return near
}

// NearPerson is how far the nearest of some bodies is from the middle of somebody who stands at a
// place, or from as far to either side of it that shoulders and elbows are there as well when no
// more than the toes' room is left.
func NearPerson(list []Body, you body.Point) float64 {
	near := NearOf(list, you)
	for _, side := range [2]float64{Toes - shoulder, shoulder - Toes} {
		near = min(near, NearOf(list, body.Point{Right: you.Right + side, Ahead: you.Ahead}))
	}
	return near
}

// Scaled is the body made larger or smaller about its middle.
func (b Body) Scaled(k float64) Body {
	b.Wide, b.Deep = b.Wide*k, b.Deep*k
	return b
}

// Moved is the body somewhere else.
func (b Body) Moved(right, ahead float64) Body {
	b.At.Right += right
	b.At.Ahead += ahead
	b.struck.Right += right
	b.struck.Ahead += ahead
	return b
}

// Into is by how many centimetres two bodies stand in one another: how far one
// has to move, at least, to be free of the other. 0 or less is free.
func (b Body) Into(o Body) float64 { return b.deep(&o) }

func (b *Body) deep(o *Body) float64 {
	if b.laid && o.table || b.table && o.laid {
		return -1
	}
	return b.into(o) - overlapAllowed(b, o)
}

// overlapAllowed is how far the one may hang over the other, seen from above.
func overlapAllowed(a, b *Body) float64 {
	switch {
	case a.Floats && !b.Floats:
		return a.Over
	case b.Floats && !a.Floats:
		return b.Over
	case a.above(b) && !a.bars(b):
		return a.Over
	case b.above(a) && !b.bars(a):
		return b.Over
	}
	return 0
}

// HangsOver says whether a body lies over another one, seen from above, and not that over
// it: what sits on somebody else's stand over what has its own, and else the higher one.
func (b Body) HangsOver(o Body) bool {
	if b.into(&o) <= 0 || b.laid && o.table || b.table && o.laid {
		return false
	}
	if b.Floats != o.Floats {
		return b.Floats
	}
	return b.Low > o.Low
}

// Raised is the body set higher.
func (b Body) Raised(by float64) Body {
	b.Low, b.High = b.Low+by, b.High+by
	if b.strokes > 0 {
		b.strokes += by
	}
	return b
}

// Lift is by how many centimetres a body that hangs over another one has to be set higher,
// so that it begins where that ends and out of the way of the sticks that strike it. What
// is as high as it is stays so.
func (b Body) Lift(o Body) float64 {
	least := o.High - Thin
	if o.strokes > 0 {
		least = max(least, o.strokes+strokeRoom)
	}
	if b.Set {
		return 0
	}
	return max(0, least-b.Low)
}

// bars says whether a body that begins above another one is in the way of the
// strokes which that gets, and stays there.
func (b *Body) bars(o *Body) bool { return b.Set && b.Low < o.strokes+strokeRoom }

// above says whether a body begins where another one ends: nobody could tell
// it from less by a hair.
func (b *Body) above(o *Body) bool { return b.Low >= o.High-Thin }

// into is by how much the shapes overlap as seen from above: the length of the
// shortest move that parts them, less than 0 where they are apart.
func (b *Body) into(o *Body) float64 {
	right, ahead := o.At.Right-b.At.Right, o.At.Ahead-b.At.Ahead
	switch {
	case b.Round && o.Round:
		return (b.Wide+o.Wide)/2 - math.Hypot(right, ahead)
	case b.Round:
		return intoBox(o, -right, -ahead, b.Wide/2)
	case o.Round:
		return intoBox(b, right, ahead, o.Wide/2)
	}
	if far := math.Hypot(b.Wide, b.Deep)/2 + math.Hypot(o.Wide, o.Deep)/2; math.Hypot(right, ahead) >= far {
		return far - math.Hypot(right, ahead)
	}
	if b.Turn == 0 && o.Turn == 0 {
		return min((b.Wide+o.Wide)/2-math.Abs(right), (b.Deep+o.Deep)/2-math.Abs(ahead))
	}
	least := math.Inf(1)
	for _, turn := range [4]float64{b.Turn, b.Turn + 90, o.Turn, o.Turn + 90} {
		sin, cos := math.Sincos(turn * math.Pi / 180)
		along := math.Abs(right*cos - ahead*sin)
		least = min(least, b.half(turn)+o.half(turn)-along)
	}
	return least
}

// half is half of how far a box goes along an axis that is turned.
func (b *Body) half(turn float64) float64 {
	sin, cos := math.Sincos((turn - b.Turn) * math.Pi / 180)
	return (b.Wide*math.Abs(cos) + b.Deep*math.Abs(sin)) / 2
}

// intoBox is by how much a disc, whose middle lies that far from the box's,
// stands in the box.
func intoBox(box *Body, right, ahead, r float64) float64 {
	if box.Turn != 0 {
		sin, cos := math.Sincos(box.Turn * math.Pi / 180)
		right, ahead = right*cos-ahead*sin, right*sin+ahead*cos
	}
	x, y := math.Abs(right)-box.Wide/2, math.Abs(ahead)-box.Deep/2
	if x > 0 && y > 0 {
		return r - math.Hypot(x, y)
	}
	return r - max(x, y)
}
