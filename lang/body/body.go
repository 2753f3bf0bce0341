package body

import (
	"fmt"
	"math"
	"strconv"
)

// A Pace is how long something takes, in seconds: at the limit, below which
// nobody whom one would book can do it reliably, every night; at the floor, as
// fast as people do it on average; and steady. Limit <= Floor <= Steady.
type Pace struct{ Limit, Floor, Steady float64 }

// Add is one after the other.
func (p Pace) Add(o Pace) Pace {
	return Pace{Limit: p.Limit + o.Limit, Floor: p.Floor + o.Floor, Steady: p.Steady + o.Steady}
}

// Max is both at once: the longer counts.
func (p Pace) Max(o Pace) Pace {
	return Pace{Limit: max(p.Limit, o.Limit), Floor: max(p.Floor, o.Floor), Steady: max(p.Steady, o.Steady)}
}

// A Motion is one thing a body does.
type Motion struct {
	Words  string // what a player would call it
	Code   string // the table's codes
	Pace   Pace
	Source string
}

// Sum is the pace of motions one after the other.
func Sum(motions []Motion) Pace {
	var p Pace
	for _, m := range motions {
		p = p.Add(m.Pace)
	}
	return p
}

// The sources that motions name.
const (
	MTM1       = "MTM-1 (Maynard, Stegemerten & Schwab 1948)"
	mtm1Memory = MTM1 + ", from memory"
	mtm2       = "MTM-2 (International MTM Directorate)"
	fitts      = "Fitts 1954, Shannon form"
	moved      = MTM1 + "; its floor Fitts 1954, Shannon form" // the hand's way at the floor, the card when steady
	solomon    = "Solomon 2016"
	fujii      = "Fujii et al. 2009–2011"
	modelled   = "modelled on MTM-1; its floor on Fitts 1954"
)

// A Profile is how fast, how far and with how much margin one person works.
type Profile struct {
	Name                    string
	FloorScale, SteadyScale float64
	SameFloor, SameSteady   float64 // one hand on one surface, seconds a stroke
	Reach, Lean             float64 // cm without and with leaning
	Margin                  float64 // on every steady time
	Fastest                 float64 // strokes a second of one hand; 0: as the profile
}

// One hand of an experienced player, in seconds a stroke.
const (
	ordinaryFloor  = 1.0 / 7
	ordinarySteady = 0.208
)

// Experienced is the profile when nothing is said. Its rates: steady from
// Solomon 2016; the floor from Fujii's 5–7 Hz for ordinary drummers.
func Experienced() Profile {
	return Profile{Name: "experienced", FloorScale: 1, SteadyScale: 1, SameFloor: ordinaryFloor, SameSteady: ordinarySteady, Reach: 60, Lean: 75, Margin: 1}
}

// Student is slower by a third at the limit and by a fifth in comfort
// (modelled; common practice, no source).
func Student() Profile {
	p := Experienced()
	p.Name, p.FloorScale, p.SteadyScale, p.SameFloor, p.SameSteady = "student", 1.3, 1.2, 1.0/6, 0.25
	return p
}

// Professional is quicker (modelled); about 10 Hz is the fastest one-hand
// rate that Fujii measured.
func Professional() Profile {
	p := Experienced()
	p.Name, p.FloorScale, p.SteadyScale, p.SameFloor, p.SameSteady = "professional", 0.9, 0.8, 1.0/10, 1.0/7
	return p
}

// ProfileNames are the profiles that a file may name.
func ProfileNames() []string { return []string{"student", "experienced", "professional"} }

// ProfileNamed finds a profile.
func ProfileNamed(name string) (Profile, bool) {
	switch name {
	case "student":
		return Student(), true
	case "experienced":
		return Experienced(), true
	case "professional":
		return Professional(), true
	}
	return Profile{}, false
}

// The shares of the floor at which the limit stands. Between the two a thing
// is at the edge.
const (
	aimedShare  = 0.62 // a hand to a stroke on another surface
	narrowShare = 0.50 // the same, to what is less than narrow wide
	bodyShare   = 0.65 // grasping, laying, carrying, stepping, walking, bending
	narrow      = 8.0  // cm
)

// scale makes a motion's times the profile's own.
func (p Profile) scale(floor, steady float64) Pace { return p.pace(floor*p.FloorScale, steady) }

// pace is a motion's three times, its floor being the profile's own already. The steady time is never
// below the floor. The card alone would put it there on ways of a few
// centimetres, where it is quicker than one hand's floor, on the
// way to a narrow target, whose width the card does not ask for, and for a
// student where one code stands for both (1.3 against 1.2).
func (p Profile) pace(floor, steady float64) Pace {
	return Pace{Limit: bodyShare * floor, Floor: floor, Steady: max(floor, steady*p.SteadyScale*p.margin())}
}

func (p Profile) margin() float64 {
	if p.Margin <= 0 {
		return 1
	}
	return p.Margin
}

// The move floor: 27.7 ms + 111.5 ms·log2(d/w + 1), a fit to Fitts's sixteen
// 1 oz conditions (r = .994). The 180 ms that are his least mean are no bound:
// one hand makes two strokes on one surface in less.
const (
	fittsA       = 0.0277
	fittsB       = 0.1115
	steadyTravel = 1.4 // times the fit; modelled
)

// Fit is the fitted line without its lower bound, in seconds.
func fitted(d, width float64) float64 {
	if !(width > leastWidth) { // a width that is no number, too
		width = leastWidth
	}
	return fittsA + fittsB*math.Log2(way(d)/width+1)
}

// leastWidth, in cm, keeps a target of no width from taking for ever.
const leastWidth = 0.1

// way is a distance that can be gone: what is negative or no number is none.
func way(d float64) float64 {
	if d > 0 {
		return d
	}
	return 0
}

// aim is the floor of a way to a target: the fit, and never quicker than the
// hand is on one spot.
func (p Profile) aim(d, width float64) float64 {
	return max(p.handFloor(), fitted(d, width)*p.FloorScale)
}

// Widths of what is aimed at, in cm, where nothing else is known.
const (
	StrikeWidth    = 15.0
	implementWidth = 5.0
)

// Travel is from one surface to a stroke on another, d away and width wide.
func (p Profile) Travel(d, width float64) Motion {
	return Motion{fmt.Sprintf("move %.0f cm", d), fmt.Sprintf("Fitts %.0f/%.0f cm", d, width), p.TravelPace(d, width), fitts}
}

// TravelPace is how long Travel takes, for whoever has no use for its words.
func (p *Profile) TravelPace(d, width float64) Pace {
	return p.fitted(fitted(d, width), width, p.Same())
}

// fitted is how long a way takes, by the fit.
func (p *Profile) fitted(fit, width float64, same Pace) Pace {
	share := aimedShare
	if width < narrow {
		share = narrowShare
	}
	pace := Pace{
		Limit:  max(same.Limit, share*fit*p.FloorScale),
		Floor:  max(same.Floor, fit*p.FloorScale),
		Steady: max(same.Steady, steadyTravel*fit*p.SteadyScale*p.margin()),
	}
	pace.Steady = max(pace.Steady, pace.Floor)
	return pace
}

// The shares of the fit at which the fastest and the easy leap of one hand to a
// narrow target stand. Players of keyboards are quicker than whoever has not
// practised his bars: the leaps of the table of rates, to and fro over an octave
// and over two, lie at 0.75 to 0.83 and at 1.0 of it.
const (
	leapFloor  = 0.75
	leapSteady = 1.0
	stepwise   = 3.0 // times the width of a bar, a third, is what the rate of two hands in turn has in it
)

// Leap is from one bar of a keyboard, or one drum of a set, to another: as from
// surface to surface, but that whoever plays bars knows where they are.
func (p Profile) Leap(d, width float64) Pace { return p.Leaps()(d, width) }

// Leaps is Leap for whoever asks often.
func (p Profile) Leaps() func(d, width float64) Pace {
	same := p.Same()
	return func(d, width float64) Pace {
		fit := fitted(d, width)
		pace := p.fitted(fit, width, same)
		if width < narrow {
			pace.Floor = max(same.Floor, pace.Limit, leapFloor*fit*p.FloorScale)
			pace.Steady = max(same.Steady, pace.Floor)
			if d > stepwise*width {
				pace.Steady = max(pace.Steady, leapSteady*fit*p.SteadyScale*p.margin())
			}
		}
		return pace
	}
}

// LeapSource is what a leap's time stands on.
const LeapSource = fitts + "; shares of it common practice, no source"

// Two mallets in one hand stand out of it by their length but for what the hand
// has of them, and open to some 75 degrees in comfort. Beyond 120 the fingers
// hold neither: nobody spreads them further. Common practice, no source; what
// is made of it agrees with what players say, an octave and a half on small bars
// and no tenth on the low ones of a marimba.
const (
	malletLength = 40.0
	inTheHand    = 12.0
	easyAngle    = 75.0
	widestAngle  = 120.0
)

// Spread is how far apart the heads of two mallets in one hand are at the most,
// in comfort and at all, in cm; of usual mallets where the length is 0.
func Spread(length float64) (easy, widest float64) {
	if length <= 0 {
		length = malletLength
	}
	out := 2 * max(0, length-inTheHand)
	return out * math.Sin(easyAngle/2*math.Pi/180), out * math.Sin(widestAngle/2*math.Pi/180)
}

// Same is one hand again on the same surface.
func (p Profile) Same() Pace { return p.Rate(techniques().same, Few) }

// handFloor is the least time from stroke to stroke of one hand: the
// profile's own, or what the player says is the fastest.
func (p Profile) handFloor() float64 {
	if p.Fastest > 0 {
		return 1 / p.Fastest
	}
	return p.SameFloor
}

// sameMallet is one hand holding two mallets, striking again with the same;
// Alternate is from the one mallet to the other, sixteenths at 120 (Solomon
// 2016).
func (p Profile) sameMallet() Pace { return p.Rate(techniques().bothMallets, Few) }
func (p Profile) alternate() Pace  { return p.Rate(techniques().mallets, Few) }

// oneFoot and twoFeet are pedal strokes: eighths and sixteenths at 100
// (Solomon 2016). What a player says of the hand is not said of the feet.
func (p Profile) oneFoot() Pace { return p.Rate(techniques().foot, Few) }
func (p Profile) twoFeet() Pace { return p.Rate(techniques().feet, Few) }

// HandToHand is two hands in turn on one surface: sixteenths at 144 are
// comfortable (Solomon 2016). At the floor each hand is at its own, so that a
// stroke comes in half the time.
func (p Profile) HandToHand() Pace { return p.Rate(techniques().turn, Few) }

// Handling is how hard a thing is to take and to lay. Which grasps and
// placings of the card a class stands for is modelled.
type Handling int

const (
	Easy    Handling = iota // a mallet: G1A, RL1
	Careful                 // one more regrasp to take, set down with care
	Awkward                 // two more, and one to set down
)

// Lay is to put a thing down d away on something padded.
func (p Profile) Lay(d float64, what string, h Handling, quiet bool) Motion {
	codes, source := "M-B ", moved
	if quiet {
		codes = "M-C "
	}
	codes = far(codes, d, " cm + RL1")
	switch h {
	case Careful:
		codes, source = codes+" + P1SE", modelled
	case Awkward:
		codes, source = codes+" + P1SE + G2", modelled
	}
	return Motion{far("lay the "+what+" ", d, " cm away"), codes, p.LayPace(d, h, quiet), source}
}

// LayPace is how long Lay takes.
func (p *Profile) LayPace(d float64, h Handling, quiet bool) Pace {
	kase := "B"
	if quiet {
		kase = "C"
	}
	codesOnly := seconds("RL1")
	steady := move(kase, d) + seconds("RL1")
	switch h {
	case Careful:
		codesOnly, steady = codesOnly+seconds("P1SE"), steady+seconds("P1SE")
	case Awkward:
		codesOnly, steady = codesOnly+seconds("P1SE")+seconds("G2"), steady+seconds("P1SE")+seconds("G2")
	}
	return p.pace(p.aim(d, StrikeWidth)+codesOnly*p.FloorScale, steady)
}

// Take is to pick a thing up d away; among says it lies among others. The
// floor of that is G1B, a thing that lies flat on the table: with the card's
// own G4B, which the steady time has, it came out slower than people on
// average take blocks from among blocks.
func (p Profile) Take(d float64, what string, h Handling, among bool) Motion {
	codes, source := far("R-B ", d, " cm + G1A + G2"), moved
	if among {
		codes = far("R-C ", d, " cm + G4B + G2")
	}
	if h > Easy {
		source = modelled
		codes += fmt.Sprintf(" + %d G2", int(h))
	}
	words := far("take the "+what+" ", d, " cm away")
	if among {
		words += " from among others"
	}
	return Motion{words, codes, p.TakePace(d, h, among), source}
}

// TakePace is how long Take takes.
func (p *Profile) TakePace(d float64, h Handling, among bool) Pace {
	grasp := seconds("G1A")
	steady := reach("B", d) + seconds("G1A") + seconds("G2")
	if among {
		grasp = seconds("G1B")
		steady = reach("C", d) + seconds("G4B") + seconds("G2")
	}
	if h > Easy {
		extra := float64(h) * seconds("G2")
		grasp, steady = grasp+extra, steady+extra
	}
	return p.pace(p.aim(d, implementWidth)+grasp*p.FloorScale, steady)
}

// far puts a distance in whole centimetres between words. It is written so often that fmt
// would be felt.
func far(before string, d float64, behind string) string {
	out := make([]byte, 0, len(before)+len(behind)+8)
	return string(append(strconv.AppendFloat(append(out, before...), d, 'f', 0, 64), behind...))
}

// Carry is to bring what was taken to an instrument.
func (p Profile) Carry(d, width float64) Motion {
	return Motion{far("carry it ", d, " cm"), far("M-B ", d, " cm"), p.CarryPace(d, width), moved}
}

// CarryPace is how long Carry takes.
func (p *Profile) CarryPace(d, width float64) Pace { return p.pace(p.aim(d, width), move("B", d)) }

// Regrasp is G2: to shift a thing within the hand.
func (p Profile) Regrasp(words string) Motion {
	return Motion{words, "G2", p.scale(seconds("G2"), seconds("G2")), MTM1}
}

// PassOver is G3: from hand to hand.
func (p Profile) PassOver(what string) Motion {
	return Motion{"pass the " + what + " over", "G3", p.scale(seconds("G3"), seconds("G3")), MTM1}
}

// leastStep is the shortest side step of the card, in cm; less is a shift of
// weight and takes no time of its own.
const leastStep = 30

// step is a step to the side: SS-C1 at the floor, when the leading leg has
// reached the floor, SS-C2 when steady, with both there; 0.2 and 0.4 TMU more
// for each centimetre over 30. Both the codes and what they grow by are the
// card's.
func (p Profile) step(d float64) Motion {
	if !(d >= leastStep) {
		return Motion{}
	}
	return Motion{far("step ", d, " cm"), far("SS ", d, " cm"),
		p.scale(seconds("SS-C1")+0.2*tmu*(d-leastStep), seconds("SS-C2")+0.4*tmu*(d-leastStep)), MTM1}
}

// turn is to turn the body 45 to 90 degrees.
func (p Profile) turn() Motion {
	return Motion{"turn", "TBC1 / TBC2", p.scale(seconds("TBC1"), seconds("TBC2")), MTM1}
}

// The length of a pace, in cm: MTM-1's own 34 in, and a shorter one where it
// is crowded.
const (
	openPace    = 86.0
	crowdedPace = 75.0
)

// walk is d to another station: unhindered at the floor, hindered or laden
// when steady.
func (p Profile) walk(d float64) Motion {
	d = way(d)
	n, m := math.Ceil(d/openPace), math.Ceil(d/crowdedPace)
	return Motion{fmt.Sprintf("walk %.1f m", d/100), fmt.Sprintf("%.0f W-P / %.0f W-PO", n, m),
		p.scale(n*seconds("W-P"), m*seconds("W-PO")), MTM1}
}

// longestStep is the furthest one side step goes, in cm; further is walking
// (common practice, no source: the card gives no end).
const longestStep = 90

// Between is how the body gets d cm further to the side: not at all below
// 30 cm, by a side step up to 90, else by a turn and a walk. Up to 90 cm the
// step is cheaper than turn and walk at either speed.
func (p Profile) Between(d float64) []Motion {
	switch {
	case !(d >= leastStep):
		return nil
	case d <= longestStep:
		return []Motion{p.step(d)}
	}
	return []Motion{p.turn(), p.walk(d)}
}

// pageWide is how far a page is brought over, in cm: common practice, no source.
const pageWide = 40.0

// TurnPage is to turn a page that is [PageAway]. The sum comes to some 1.3 s, and
// [PageTurn] is more than the motions alone.
func (p Profile) TurnPage() Motion {
	grip := seconds("G1B")
	floor := p.aim(pageAway, implementWidth) + p.aim(pageWide, StrikeWidth) + (grip+seconds("RL1"))*p.FloorScale
	steady := reach("B", pageAway) + grip + move("B", pageWide) + seconds("RL1")
	return Motion{"turn the page", fmt.Sprintf("R-B %.0f cm + G1B + M-B %.0f cm + RL1", pageAway, pageWide), p.pace(floor, steady), moved}
}

// glance is E of MTM-2, 7 TMU, up and back.
const glance = 2 * 7 * tmu

// glance is to look up and back.
func (p Profile) glance() Motion {
	return Motion{"look up and back", "2 E", p.scale(glance, glance), mtm2}
}

// Damp is to bring the hand to what rings; touching it is G5, no time, and
// how long the hand stays is [Profile.Touch].
func (p Profile) Damp(d, width float64) Motion {
	m := p.Travel(d, width)
	m.Words, m.Code = far("damp ", d, " cm away"), m.Code+" + G5"
	return m
}

// Common is the source of what is common practice and nobody has published.
const Common = "common practice, no source"

// Touch is how long a hand stays on what rings until it is quiet: 150 ms in
// comfort and 80 ms at the fastest, as when a free hand chokes a cymbal. As it
// is common practice alone, no limit stands on it.
func (p Profile) Touch() Motion {
	row := TechniqueOf(Touch, "free hand")
	floor := row.Fast * p.FloorScale
	return Motion{"hold it until it is quiet", "touch", Pace{Floor: floor, Steady: max(floor, row.Comfortable*p.SteadyScale*p.margin())}, Common}
}

// TouchAfter is from a stroke to the touch that stops it, by the same hand: as
// one hand's next stroke at the limit and the floor, 250 ms in comfort (common
// practice, no source).
func (p Profile) TouchAfter() Motion {
	pace := p.Same()
	pace.Steady = max(pace.Floor, TechniqueOf(Touch, "same hand").Comfortable*p.SteadyScale*p.margin())
	return Motion{"touch it with the hand that struck", "touch", pace, Common}
}

// Bend is to bend to the floor, to stoop or to go down on one knee, which the
// card gives one time for all; Rise is to come up again.
func (p Profile) Bend() Motion { return p.whole("bend down", "B", MTM1) }

// Rise is to come up from bending, stooping or kneeling on one knee.
func (p Profile) Rise() Motion { return p.whole("come up again", "AB", mtm1Memory) }

// SitDown and StandUp are as they say. Their values are from memory, not
// seen on the card.
func (p Profile) SitDown() Motion { return p.whole("sit down", "SIT", mtm1Memory) }
func (p Profile) StandUp() Motion { return p.whole("stand up", "STD", mtm1Memory) }

// whole is a motion of the whole body. The card gives it one time, which is
// taken for the floor as well: nobody seems to have measured how much quicker
// people are at their fastest, so the limit below it is all the room there is.
func (p Profile) whole(words, name, source string) Motion {
	return Motion{words, name, p.scale(seconds(name), seconds(name)), source}
}

// A Point is a place in centimetres from where the player stands.
type Point struct{ Right, Ahead, Up float64 }

// Dist is how far apart two points are.
func (a Point) Dist(b Point) float64 {
	return math.Sqrt((a.Right-b.Right)*(a.Right-b.Right) + (a.Ahead-b.Ahead)*(a.Ahead-b.Ahead) + (a.Up-b.Up)*(a.Up-b.Up))
}

// Graces are the grace strokes of a hand that plays them for the other, by how
// many there are. As they are common practice alone, no limit stands on them.
func (p Profile) Graces(n int) Motion {
	row := graceRow(n)
	floor := row.Fast * float64(n) * p.FloorScale
	return Motion{"play the grace strokes before it", "grace", Pace{Floor: floor, Steady: max(floor, row.Comfortable*float64(n)*p.SteadyScale*p.margin())}, Common}
}

// mouthAway is how far a hand takes a whistle from the mouth, in cm: common
// practice, no source.
const mouthAway = 30

// MouthChange is to take one thing out of the mouth and to bring another one:
// away, and in between the lips. Modelled.
func (p Profile) MouthChange() []Motion {
	out, in := p.Carry(mouthAway, StrikeWidth), p.Carry(mouthAway, implementWidth)
	out.Words, in.Words = "take the other thing out of the mouth", "bring it to the mouth"
	return []Motion{out, in}
}

// Pedals is a foot from one pedal to another, 15 cm away: LM 7.1 TMU and FM
// 8.5 TMU (MTM-1).
func (p Profile) Pedals() Motion {
	t := (7.1 + 8.5) * tmu
	return Motion{"move the foot to the other pedal", "LM + FM", p.scale(t, t), MTM1}
}

// RetuneByHand is a hand that turns the six to eight handles of a kettle a little at
// a time and finds the note by ear: six seconds at least and twelve at an easy
// pace, common practice without a source. The limit stands on the way there and
// one turn of one handle alone, as [Profile.Regrasp] has it.
func (p Profile) RetuneByHand() Motion {
	way, turn, tune := p.Travel(handles, StrikeWidth).Pace, p.Regrasp("").Pace, p.scale(6, 12)
	return Motion{"reach for the handles and tune by ear", "R + G2, tune", Pace{Limit: way.Limit + turn.Limit, Floor: tune.Floor, Steady: tune.Steady}, MTM1 + "; " + Common}
}

// handles is how far the handles at a kettle's rim are from where it is struck, in
// cm: common practice, no source.
const handles = 33

// Retune is a foot that goes to a kettle's pedal and finds the note on it, by
// ear: a second at least and two at an easy pace, common practice without a
// source. The limit stands on the foot's way alone: LM 7.1 TMU and FM 8.5 TMU
// (MTM-1).
func (p Profile) Retune() Motion {
	way, tune := p.Pedals().Pace, p.scale(1, 2)
	return Motion{"bring a foot to the pedal and tune by ear", "LM + FM, tune", Pace{Limit: way.Limit, Floor: tune.Floor, Steady: tune.Steady}, MTM1 + "; " + Common}
}
