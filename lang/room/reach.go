package room

import (
	"math"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
)

// The upper body of a person between the mean man and the mean woman of the
// U.S. Army's survey of 2012 (Gordon et al. 2014, NATICK/TR-15/007; the
// figures from memory): how far each shoulder is from the middle (biacromial
// breadth 41.6 and 36.5 cm), how high standing in shoes (acromial height 144
// and 133 cm) and how high above a seat (60 and 56 cm).
const (
	shoulder      = 19.5
	standingHigh  = 141.0
	sittingHigh   = 58.0
	stoolHigh     = 50.0 // common practice, no source
	fingers       = 8.0  // from the middle of the grip to the finger tips; from memory
	turnedAtWaist = 45.0 // degrees that the shoulders turn above the feet; common practice, no source
	// bends is how far below the shoulder somebody who stands has to reach
	// before bending down does the rest: about to the hip, from memory.
	bends = 65.0
	// beyond is the share of a stick in front of the hand, which holds it a
	// third of the way from its end: common practice, no source.
	beyond = 0.65
	// forearm is from the elbow to the wrist (26.9 and 24.2 cm, as above), and
	// thick is how far above another arm an arm has to be to pass it.
	forearm = 26.0
	thick   = 5.0
	near    = 15.0 // arms at one height cross by less than that without touching
)

// The hands.
const (
	Right = iota
	Left
)

// Arms are how far one person reaches from each shoulder to the grip.
type Arms struct {
	Reach, Lean float64 // cm, without and with leaning
	Seated      bool
}

// ArmsOf is a person's arms by the profile.
func ArmsOf(p body.Profile, seated bool) Arms { return Arms{p.Reach, p.Lean, seated} }

// Stick is how far what the hand holds goes beyond it; nil is the bare hand.
func Stick(im *kit.Implement) float64 {
	if im == nil || im.Weight == kit.Nothing {
		return fingers
	}
	return max(fingers, im.Length*beyond)
}

// A Target is what is to be struck: where, how high, and how wide it may be
// struck.
type Target struct {
	At   body.Point // Up is above the floor
	Zone float64
}

// shoulderAt is where a shoulder is when the body turns to something as far as
// it can without its feet.
func (a Arms) shoulderAt(hand int, from, at body.Point) body.Point {
	side := 1.0
	if hand == Left {
		side = -1
	}
	angle := math.Atan2(side*(at.Right-from.Right), at.Ahead-from.Ahead) * 180 / math.Pi // 90 is straight to the hand's own side
	switch {
	case angle < -90: // behind, round the other side
		angle = 90 - turnedAtWaist
	default:
		angle = min(90+turnedAtWaist, max(90-turnedAtWaist, angle))
	}
	sin, cos := math.Sincos(angle * math.Pi / 180)
	from.Right += side * shoulder * sin
	from.Ahead += shoulder * cos
	from.Up += a.shoulderHigh()
	return from
}

func (a Arms) shoulderHigh() float64 {
	if a.Seated {
		return stoolHigh + sittingHigh
	}
	return standingHigh
}

// Missing is how many centimetres a hand with its stick falls short of what it
// is to strike; 0 or less is within reach. from is where the player stands.
func (a Arms) Missing(hand int, from body.Point, t Target, stick float64, leaning bool) float64 {
	s := a.shoulderAt(hand, from, t.At)
	down := s.Up - t.At.Up
	if !a.Seated && down > bends {
		down = bends
	}
	arm := a.Reach
	if leaning {
		arm = a.Lean
	}
	far := math.Hypot(math.Hypot(t.At.Right-s.Right, t.At.Ahead-s.Ahead), down)
	return far - t.Zone/2 - arm - stick
}

// hand is where the hand is when its stick strikes something.
func (a Arms) hand(hand int, from, at body.Point, stick float64) (at3, shoulder3 body.Point) {
	s := from
	s.Up += a.shoulderHigh()
	if hand == Right {
		s.Right += shoulder
	} else {
		s.Right -= shoulder
	}
	far := s.Dist(at)
	if far <= stick {
		return s, s
	}
	k := stick / far
	return body.Point{Right: at.Right + (s.Right-at.Right)*k, Ahead: at.Ahead + (s.Ahead-at.Ahead)*k, Up: at.Up + (s.Up-at.Up)*k}, s
}

// Crossed is by how many centimetres the right hand is to the left of the left
// one when each strikes its own thing, and whether that is more than arms do
// with comfort: a forearm's length where the one arm passes above the other,
// as to a hi-hat over a snare drum, and less where they meet.
func (a Arms) Crossed(from, right, left body.Point, rightStick, leftStick float64) (cm float64, uneasy bool) {
	r, rs := a.hand(Right, from, right, rightStick)
	l, ls := a.hand(Left, from, left, leftStick)
	cm = l.Right - r.Right
	if cm <= 0 {
		return cm, false
	}
	// Where the arms pass one another, seen from above, and how far apart they
	// are there.
	dr, dl := minus(r, rs), minus(l, ls)
	det := dr.Right*dl.Ahead - dr.Ahead*dl.Right
	most := forearm
	if det != 0 {
		x, y := ls.Right-rs.Right, ls.Ahead-rs.Ahead
		t, s := (x*dl.Ahead-y*dl.Right)/det, (x*dr.Ahead-y*dr.Right)/det
		if t > 0 && t < 1 && s > 0 && s < 1 && math.Abs(rs.Up+t*dr.Up-ls.Up-s*dl.Up) < thick {
			most = near
		}
	}
	return cm, cm > most
}

func minus(a, b body.Point) body.Point {
	return body.Point{Right: a.Right - b.Right, Ahead: a.Ahead - b.Ahead, Up: a.Up - b.Up}
}
