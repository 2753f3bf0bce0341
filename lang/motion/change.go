package motion

import (
	"fmt"
	"math"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
)

// A leg is what one hand does between two situations: put away, go there,
// take, bring to the instrument.
//
// Hundreds of legs are weighed for one that is gone, so it is worked out how long a leg
// takes, and its motions with their words only once somebody asks, see motionsIn.
type leg struct {
	of     legKey
	past   *leg          // the leg that it goes on from without a pause, if there is one
	said   []body.Motion // its motions, where they are no key's
	count  int           // of its motions
	need   body.Pace
	after  body.Pace // the part that can only begin once the body has arrived
	lays   int
	takes  int
	among  bool      // takes something from among others
	grab   body.Pace // of that
	walk   bool
	stoops bool // bends down for what it takes, so that nothing else is played
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
	p.Ahead += body.HandsAhead
	return p
}

func (v *solver) spot(s int16, place uint8) body.Point {
	switch s {
	case spotFront:
		return v.frontOf(place)
	case spotTable:
		return v.tableOf(place)
	}
	item, _ := v.itemOf(s)
	at := v.player.Items[item].At
	if s >= keyedSpot {
		k := &v.keySpots[s-keyedSpot]
		at.Right, at.Ahead = at.Right+k.right, at.Ahead+k.away
	}
	return at
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

// leg works out what one hand does, and remembers it.
func (v *solver) leg(k legKey) *leg {
	near := &v.nearLegs[k.place()]
	if near.leg != nil && near.key == k {
		return near.leg
	}
	l, ok := v.legs[k]
	if !ok {
		l = v.makeLeg(k)
		v.legs[k] = l
	}
	*near = nearLeg{k, l}
	return l
}

// nearLegs is among how many legs those that are asked for again and again are looked for first.
const nearLegs = 32

type nearLeg struct {
	key legKey
	leg *leg
}

// place is where a leg is among the nearest.
func (k *legKey) place() int {
	return int(k.from+3*k.to+5*uint16(k.fromSpot)+11*uint16(k.toSpot)+17*uint16(k.toPlace)) % nearLegs
}

// makeLeg works out what a hand does between two things: it lays what it has,
// goes along with the body, takes what it needs, settles that in the hand, and
// reaches for where it plays.
func (v *solver) makeLeg(k legKey) *leg {
	if len(v.newLegs) == 0 {
		v.newLegs = make([]leg, min(256, 1+len(v.legs)))
		v.allLegs = v.newLegs
	}
	l := &v.newLegs[0]
	*l = leg{}
	v.newLegs = v.newLegs[1:]
	m := legMaker{solver: v, leg: l, legKey: k, profile: &v.player.Profile}
	m.make()
	return l
}

// motionsIn are the motions of a leg, in their order.
func (v *solver) motionsIn(l *leg) []body.Motion {
	if l.said != nil || l.count == 0 {
		return l.said
	}
	own := l.count
	var before []body.Motion
	if l.past != nil {
		before = v.motionsIn(l.past)
		own -= len(before)
	}
	m := legMaker{solver: v, leg: &leg{said: append(make([]body.Motion, 0, len(before)+own), before...)}, legKey: l.of, profile: &v.player.Profile, says: true}
	m.make()
	l.said = m.leg.said
	return l.said
}

// gripsOf are what the hand holds before and after; where one of them is not
// known it is the other.
func (v *solver) gripsOf(k legKey) (from, to Grip) {
	switch {
	case k.from == gripUnknown && k.to == anyGrip:
		return Grip{}, Grip{}
	case k.from == gripUnknown:
		return v.grips[k.to], v.grips[k.to]
	case k.to == anyGrip:
		return v.grips[k.from], v.grips[k.from]
	}
	return v.grips[k.from], v.grips[k.to]
}

// A legMaker is a leg as it is made, and where the hand has come to.
type legMaker struct {
	*solver
	*leg
	legKey
	profile *body.Profile
	pos     body.Point
	says    bool // its motions are wanted
	walks   bool
	moved   bool // the hand is not where it was
	carried bool // it has taken something
	raised  bool // it came up with the body
}

func (m *legMaker) make() {
	m.of = m.legKey
	m.pos, m.walks = m.spot(m.fromSpot, m.fromPlace), m.steps()
	if m.shifts() && m.fromSpot == spotFront {
		m.pos = m.frontOf(m.toPlace) // it comes along with the body
	}
	from, to := m.gripsOf(m.legKey)
	lay, get := difference(from, to)
	m.lay(lay)
	m.walk()
	m.take(get, len(lay) > 0)
	m.settle(from, to, len(lay), len(get))
	m.reach(len(get)+len(lay) == 0)
}

// steps says whether the body takes a step on the way, and shifts whether it comes to another
// place with none: a shift of weight takes no time, and carries no hand to where it plays.
func (m *legMaker) steps() bool {
	return m.fromPlace != m.toPlace && len(m.profile.Between(flat(m.places[m.fromPlace].At, m.places[m.toPlace].At))) > 0
}

func (m *legMaker) shifts() bool { return m.fromPlace != m.toPlace && !m.steps() }

// add adds a motion; a late one is made where the hand goes, not where it was.
func (m *legMaker) add(pace body.Pace, late bool, say func() body.Motion) {
	if pace == (body.Pace{}) {
		return
	}
	m.count++
	if m.says {
		m.said = append(m.said, say())
	}
	m.leg.need = m.leg.need.Add(pace)
	if late {
		m.leg.after = m.leg.after.Add(pace)
	}
}

// adds adds a motion whose words are no trouble.
func (m *legMaker) adds(one body.Motion, late bool) {
	m.add(one.Pace, late, func() body.Motion { return one })
}

func (m *legMaker) lay(list []Grip) {
	for i, g := range list {
		home := m.home(g, m.fromPlace)
		stoop := low(g, home)
		if stoop && i == 0 {
			m.adds(m.profile.Bend(), false)
		}
		d := m.pos.Dist(home)
		if i > 0 { // beside the first
			d = tableSpread
		}
		m.add(m.profile.LayPace(d, handling(g), m.quiet), false, func() body.Motion {
			return m.profile.Lay(d, thing(g), handling(g), m.quiet)
		})
		if stoop && i == len(list)-1 {
			m.adds(m.profile.Rise(), false)
		}
		m.pos, m.moved = home, true
		m.lays++
	}
}

func (m *legMaker) walk() {
	if !m.walks {
		return
	}
	d := flat(m.places[m.fromPlace].At, m.places[m.toPlace].At)
	for _, step := range m.profile.Between(d) {
		m.adds(step, false)
		m.leg.walk = true
	}
	m.pos, m.moved = m.frontOf(m.toPlace), true
}

func (m *legMaker) take(list []Grip, laid bool) {
	for i, g := range list {
		home := m.home(g, m.toPlace)
		among := g.Inst == nil && m.crowded
		d := m.pos.Dist(home)
		if laid && !m.walks || i > 0 { // what is laid and what is taken do not lie on one spot
			d = max(d, tableSpread)
		}
		stoop := low(g, home)
		if stoop && i == 0 {
			m.stoops = true
			m.adds(m.profile.Bend(), true)
			d = min(d, bentReach) // the hand goes down, and comes up, with the body
		}
		pace := m.profile.TakePace(d, handling(g), among)
		if among {
			m.leg.among, m.grab = true, m.grab.Add(pace)
		}
		m.add(pace, true, func() body.Motion { return m.profile.Take(d, thing(g), handling(g), among) })
		if stoop && i == len(list)-1 {
			m.adds(m.profile.Rise(), true)
			m.raised = true
		}
		m.pos, m.moved, m.carried = home, true, true
		m.takes++
	}
}

// settle brings what the hand has by now into the grip that it plays with.
func (m *legMaker) settle(from, to Grip, laid, taken int) {
	switch {
	case taken > 0 && (to.Two() || to.Both()):
		m.adds(m.profile.Regrasp("settle the two in the hand"), true)
	case taken > 0 && to.Count == 2 && to.Inst == nil:
		m.adds(m.profile.Regrasp("form the two-mallet grip"), true)
	case taken == 0 && laid > 0 && to.Implement != nil && to.Count == 1:
		m.adds(m.profile.Regrasp("settle the one that stays"), true)
	}
	switch fingersKeep(from, to) {
	case intoFingers:
		m.adds(m.profile.Regrasp("tuck the "+to.Kept.Name()+" into the fingers"), false)
	case fromFingers:
		m.adds(m.profile.Regrasp("bring the "+from.Kept.Name()+" back out of the fingers"), true)
	case turned:
		m.adds(m.profile.Regrasp("turn the "+to.Implement.Name()+" to the front"), true)
	}
	if from.Of(to.Implement) > 0 && to.Butt != (from.Butt && from.Implement == to.Implement) { // end for end takes two
		m.adds(m.profile.Regrasp("turn the "+to.Implement.Name()+" end for end"), true)
		m.adds(m.profile.Regrasp("settle it by its other end"), true)
	}
}

// reach brings the hand to where it plays. kept says that it laid and took
// nothing.
func (m *legMaker) reach(kept bool) {
	if m.toSpot == spotTable && m.moved {
		return
	}
	width := body.StrikeWidth
	if m.toSpot >= 0 {
		_, width = m.itemOf(m.toSpot)
	} else if kept && !m.walks && m.fromSpot == spotFront {
		return
	}
	d := m.pos.Dist(m.spot(m.toSpot, m.toPlace))
	switch {
	case m.struck && m.fromSpot == m.toSpot && !m.walks && !m.moved:
		m.adds(m.profile.TouchAfter(), true)
	case m.damp:
		if d > 0.5 {
			m.add(m.profile.TravelPace(d, width), true, func() body.Motion { return m.profile.Damp(d, width) })
		}
	case m.raised:
	case m.carried:
		m.add(m.profile.CarryPace(d, width), true, func() body.Motion {
			return m.toward(m.profile.Carry(d, width), "carry it", d)
		})
	case m.walks:
		// The hand is raised on the way: feet and hands overlap.
	case d > 0.5 || m.moved:
		m.add(m.profile.TravelPace(d, width), true, func() body.Motion {
			return m.toward(m.profile.Travel(d, width), "move", d)
		})
	}
}

// toward says of a motion where it leads.
func (m *legMaker) toward(one body.Motion, does string, d float64) body.Motion {
	what := "before you"
	if m.toSpot >= 0 {
		item, _ := m.itemOf(m.toSpot)
		what = "to the " + m.player.Items[item].Called()
	}
	one.Words = fmt.Sprintf("%s %.0f cm %s", does, d, what)
	return one
}

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
	left := g.without(o)
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
		return g.Inst.Called()
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
