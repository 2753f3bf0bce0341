package motion

import (
	"fmt"
	"math"

	"handful/lang/body"
	"handful/lang/kit"
)

// A leg is what one hand does between two situations: put away, go there,
// take, bring to the instrument.
type leg struct {
	motions []body.Motion
	need    body.Pace
	after   body.Pace // the part that can only begin once the body has arrived
	lays    int
	takes   int
	among   bool      // takes something from among others
	grab    body.Pace // of that
	walk    bool
	stoops  bool // bends down for what it takes, so that nothing else is played
}

type legKey struct {
	from, to           uint16 // grips
	fromSpot, toSpot   int16  // item, or one of the spots below
	fromPlace, toPlace uint8
	quiet              bool
	damp               bool
	struck             bool // it stops what it has struck itself
}

// Spots that are no item.
const (
	spotFront = int16(-1) // before the body, where a held instrument is played
	spotTable = int16(-2) // at the table of the place
)

// amongOthers is from how many things on one table each lies among others:
// common practice, no source.
const amongOthers = 5

// tableSpread is how far apart two things lie on one table, in cm: common
// practice, no source.
const tableSpread = 20

// tableOf is where implements lie at a place.
func (v *solver) tableOf(place uint8) body.Point {
	at := v.places[place].At
	best, least := body.Point{}, math.Inf(1)
	for _, t := range v.player.Tables {
		if d := flat(t.At, at); d < least {
			best, least = t.At, d
		}
	}
	return best
}

// frontOf is where a hand is when it has nothing to do there.
func (v *solver) frontOf(place uint8) body.Point {
	p := v.places[place].At
	p.Ahead += 30
	return p
}

func (v *solver) spot(s int16, place uint8) body.Point {
	switch s {
	case spotFront:
		return v.frontOf(place)
	case spotTable:
		return v.tableOf(place)
	}
	return v.player.Items[s].At
}

// home is where a thing is taken from and laid: an instrument that stands
// somewhere of its own goes there, everything else to the table.
func (v *solver) home(g Grip, place uint8) body.Point {
	if g.Inst != nil && g.Inst.Placed && flat(g.Inst.At, v.places[place].At) <= v.player.Profile.Lean {
		return g.Inst.At
	}
	return v.tableOf(place)
}

// BelowKnee is how far below playing height, in cm, a table is below knee
// height: playing height is about 90 cm and a knee about 50 (common practice,
// no source).
const BelowKnee = -40

// low says whether one has to bend to a thing that lies at home: on the floor,
// or on a table below the knee.
func low(g Grip, home body.Point) bool {
	return g.Inst != nil && g.Inst.Mount == kit.Floor && g.Inst.Placed || home.Up <= BelowKnee
}

// bentReach is how far the hand still goes when the body has bent down, in cm:
// modelled.
const bentReach = 10

// leg works out the motions of one hand, and remembers them.
func (v *solver) leg(k legKey) *leg {
	if l, ok := v.legs[k]; ok {
		return l
	}
	l := v.makeLeg(k)
	v.legs[k] = l
	return l
}

func (v *solver) makeLeg(k legKey) *leg {
	l := &leg{}
	pr := v.player.Profile
	from, to := v.grips[k.from], v.grips[k.to]
	if k.from == 0 || k.to == anyGrip {
		from, to = Grip{}, Grip{}
		if k.from == 0 && k.to != anyGrip {
			from = v.grips[k.to]
			to = from
		} else if k.from != 0 {
			from = v.grips[k.from]
			to = from
		}
	}
	pos := v.spot(k.fromSpot, k.fromPlace)
	add := func(m body.Motion, late bool) {
		if m.Pace == (body.Pace{}) {
			return
		}
		l.motions = append(l.motions, m)
		l.need = l.need.Add(m.Pace)
		if late {
			l.after = l.after.Add(m.Pace)
		}
	}
	keep := fingersKeep(from, to)
	lay, get := difference(from, to)
	moved, raised := false, false
	for i, g := range lay {
		home := v.home(g, k.fromPlace)
		stoop := low(g, home)
		if stoop && i == 0 {
			add(pr.Bend(), false)
		}
		d := pos.Dist(home)
		if i > 0 { // beside the first
			d = tableSpread
		}
		add(pr.Lay(d, thing(g), handling(g), k.quiet), false)
		if stoop && i == len(lay)-1 {
			add(pr.Rise(), false)
		}
		pos, moved = home, true
		l.lays++
	}
	walked := k.fromPlace != k.toPlace
	if walked {
		a, b := v.places[k.fromPlace].At, v.places[k.toPlace].At
		d := flat(a, b)
		for _, m := range pr.Between(d, d > turnBeyond) {
			add(m, false)
			l.walk = true
		}
		pos = v.frontOf(k.toPlace)
		moved = true
	}
	carried := false
	for i, g := range get {
		home := v.home(g, k.toPlace)
		among := g.Inst == nil && v.crowded
		d := pos.Dist(home)
		if len(lay) > 0 && !walked || i > 0 { // what is laid and what is taken do not lie on one spot
			d = max(d, tableSpread)
		}
		stoop := low(g, home)
		if stoop && i == 0 {
			l.stoops = true
			add(pr.Bend(), true)
			d = min(d, bentReach) // the hand goes down, and comes up, with the body
		}
		m := pr.Take(d, thing(g), handling(g), among)
		if among {
			l.among, l.grab = true, l.grab.Add(m.Pace)
		}
		add(m, true)
		if stoop && i == len(get)-1 {
			add(pr.Rise(), true)
			raised = true
		}
		pos, moved, carried = home, true, true
		l.takes++
	}
	switch {
	case len(get) > 0 && to.Two():
		add(pr.Regrasp("settle the two in the hand"), true)
	case len(get) > 0 && to.Count == 2 && to.Inst == nil:
		add(pr.Regrasp("form the two-mallet grip"), true)
	case len(get) == 0 && len(lay) > 0 && to.Implement != nil && to.Count == 1:
		add(pr.Regrasp("settle the one that stays"), true)
	}
	switch keep {
	case intoFingers:
		add(pr.Regrasp("tuck the "+to.Kept.Name()+" into the fingers"), false)
	case fromFingers:
		add(pr.Regrasp("bring the "+from.Kept.Name()+" back out of the fingers"), true)
	case turned:
		add(pr.Regrasp("turn the "+to.Implement.Name()+" to the front"), true)
	}
	if from.Of(to.Implement) > 0 && to.Butt != (from.Butt && from.Implement == to.Implement) { // end for end takes two
		add(pr.Regrasp("turn the "+to.Implement.Name()+" end for end"), true)
		add(pr.Regrasp("settle it by its other end"), true)
	}
	dest := v.spot(k.toSpot, k.toPlace)
	if k.toSpot == spotTable && (moved || carried) {
		return l
	}
	width := 15.0
	what := "before you"
	if k.toSpot >= 0 {
		in := v.player.Items[k.toSpot].Inst
		width = in.Zone
		what = "to the " + in.Name()
	} else if len(get)+len(lay) == 0 && !walked && k.fromSpot == spotFront {
		return l
	}
	d := pos.Dist(dest)
	switch {
	case k.struck && k.fromSpot == k.toSpot && !walked && !moved:
		add(pr.TouchAfter(), true)
	case k.damp:
		if d > 0.5 {
			add(pr.Damp(d, width), true)
		}
	case raised:
	case carried:
		m := pr.Carry(d, width)
		m.Words = fmt.Sprintf("carry it %.0f cm %s", d, what)
		add(m, true)
	case walked:
		// The hand is raised on the way: feet and hands overlap.
	case d > 0.5 || moved:
		m := pr.Travel(d, width)
		m.Words = fmt.Sprintf("move %.0f cm %s", d, what)
		add(m, true)
	}
	return l
}

// turnBeyond is the distance to another place, in cm, beyond which the body
// turns to walk there; nearer ones are reached by a step to the side.
const turnBeyond = 90

// How a kept implement moves between grip and fingers.
type keeping uint8

const (
	notKept keeping = iota
	intoFingers
	fromFingers
	turned // of two in the hand the other one plays now
)

func fingersKeep(from, to Grip) keeping {
	switch {
	case to.Kept != nil && to.Implement == nil && from.Kept == nil:
		return intoFingers
	case from.Kept != nil && from.Implement == nil && to.Kept == nil && to.Implement == from.Kept:
		return fromFingers
	case from.Two() && to.Two() && from.Implement == to.Kept && from.Kept == to.Implement:
		return turned
	}
	return notKept
}

// difference is what must be laid and what must be taken to get from one grip
// to the other, things of one kind together.
func difference(from, to Grip) (lay, get []Grip) {
	if from == to {
		return nil, nil
	}
	return lacks(from, to), lacks(to, from)
}

// lacks is what one grip has and another one has not, things of one kind
// together.
func lacks(g, o Grip) (list []Grip) {
	left := g.Without(o)
	if left.Inst != nil {
		list = append(list, Grip{Inst: left.Inst, Count: 1, Set: true})
	}
	if left.Implement != nil {
		list = append(list, Grip{Implement: left.Implement, Count: left.Count, Set: true})
	}
	if left.Kept != nil {
		list = append(list, Grip{Implement: left.Kept, Count: 1, Set: true})
	}
	return list
}

func thing(g Grip) string {
	switch {
	case g.Inst != nil:
		return g.Inst.Inst.Name()
	case g.Count == 2:
		return "two " + g.Implement.Name() + "s"
	}
	return g.Implement.Name()
}

func handling(g Grip) body.Handling {
	h := kit.Easy
	if g.Inst != nil {
		h = g.Inst.Inst.Handling
	} else if g.Implement != nil {
		h = g.Implement.Handling
	}
	switch h {
	case kit.Careful:
		return body.Careful
	case kit.Awkward:
		return body.Awkward
	}
	return body.Easy
}
