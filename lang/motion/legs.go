package motion

import (
	"math/bits"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// A window is the time between two things. What scales with the tempo and
// what does not are told apart, so that a ceiling can be worked out.
type window struct {
	start, end float64
	since      int32 // the event that is over when it begins; -1 is none
	// A roll before it may be let go of early: by seconds at most, or by a
	// note value if that is longer, and by no more than a share of the roll;
	// the two last are given in seconds too.
	early [2]float64
	value float64
	// It begins or ends at the stop of a short stroke: likewise.
	after, before [2]float64
}

// A roll is let go of a hair early when something else follows at once: by a
// fifth of a second, or a sixteenth note where that is longer, since nobody
// hurries in a slow piece; never by more than half of the roll (common
// practice, no source).
const (
	letGoSeconds = 0.2
	letGoShare   = 0.5
)

var letGoValue = beat.R(1, 16)

// letGo is by how much a roll may be let go of early when the tempo is so many
// times slower.
func (w *window) letGo(slower float64) float64 {
	return min(w.early[1]*slower, max(w.early[0], w.value*slower))
}

// LetGo is by how much a roll that lasts so many seconds may be let go of early
// where something else follows, at the written tempo.
func LetGo(s *score.Score, roll *score.Stroke, lasts float64) float64 {
	w := window{early: [2]float64{letGoSeconds, letGoShare * lasts}, value: s.Tempo.Between(roll.End.Sub(letGoValue), roll.End)}
	return w.letGo(1)
}

// gap is the time on paper.
func (w *window) gap() float64 { return w.end - w.start }

// has is the time there is for a need, and how much of it comes from a roll
// that is let go of early: no more than the floor asks for.
func (w *window) has(floor float64) (seconds, letGo float64) {
	gap := w.gap()
	if floor > gap {
		letGo = min(floor-gap, w.letGo(1))
	}
	return gap + max(0, letGo), max(0, letGo)
}

// bears is the tempo factor at which the window is as long as a need.
func (w *window) bears(need float64) float64 {
	if need <= 0 {
		if w.gap() >= -eps {
			return inf()
		}
		need = 0
	}
	terms := [2][3]float64{{-1, w.after[0], w.after[1]}, {1, w.before[0], w.before[1]}}
	scaled := w.gap()
	simple := w.early[1] <= 0
	for _, t := range terms { // what is fixed is in start and end already
		scaled -= t[0] * min(t[1], t[2])
		simple = simple && t[1] <= 0
	}
	if simple {
		return over(scaled, need)
	}
	// The window at a factor of 1/x rises with x, and is straight between the
	// places where a term stops growing or begins to.
	at := func(x float64) float64 {
		sum := scaled*x + w.letGo(x)
		for _, t := range terms {
			sum += t[0] * min(t[1], t[2]*x)
		}
		return sum
	}
	lo, low := 0.0, 0.0
	for _, hi := range w.bends() {
		high := at(hi)
		if high >= need {
			if high <= low {
				return 1 / hi
			}
			return 1 / (lo + (hi-lo)*(need-low)/(high-low))
		}
		lo, low = hi, high
	}
	if scaled += min(w.early[1], w.value); scaled <= 0 {
		return 0
	}
	return 1 / (lo + (need-low)/scaled)
}

// bends are the factors of 1/x at which something in the window stops growing
// with x or begins to.
func (w *window) bends() []float64 {
	var bends []float64
	if w.early[1] > 0 {
		bends = append(bends, w.early[0]/w.early[1])
		if w.value > 0 {
			bends = append(bends, w.early[0]/w.value)
		}
	}
	for _, t := range [...][2]float64{w.after, w.before} {
		if t[0] > 0 && t[1] > 0 {
			bends = append(bends, t[0]/t[1])
		}
	}
	slices.Sort(bends)
	return bends
}

// over is the tempo factor at which a window of the written tempo equals a
// need.
func over(window, need float64) float64 {
	switch {
	case need <= 0 && window >= -eps:
		return inf()
	case window <= 0:
		return 0
	}
	return window / need
}

// A timedLeg is a leg of one hand on the way into a stage, with when it starts
// and how long there is.
type timedLeg struct {
	*leg
	window
	pre, post []body.Motion // besides the leg's: a touch, a page, grace strokes
	need      body.Pace     // all together
	key       legKey
	from      int32 // the event before; -1 is none
	bodyBound bool
	bodyNeed  body.Pace
	bodyWin   window // of bodyNeed
	bodyEv    int32
	move      move
	act       *timed // the set place that it is for, if it is for one alone
}

// A move is what the body does.
type move struct{ from, to, sat, sits uint8 }

// motionsOf are what the body does to get from one place to another, and on or
// off its seat.
func (v *solver) motionsOf(m move) []body.Motion {
	pr := v.player.Profile
	var out []body.Motion
	if m.from == m.to {
		if m.sat >= sits && m.sits != m.sat {
			out = append(out, pr.StandUp())
		}
		if m.sat != anySeat && m.sits >= sits && m.sits != m.sat {
			out = append(out, pr.SitDown())
		}
		return out
	}
	d := flat(v.places[m.from].At, v.places[m.to].At)
	between := pr.Between(d)
	if m.sat >= sits && (len(between) > 0 || m.sits != m.sat) {
		out = append(out, pr.StandUp())
	}
	out = append(out, between...)
	if m.sits >= sits && (m.sat != m.sits || len(between) > 0) && m.sat != anySeat {
		out = append(out, pr.SitDown())
	}
	return out
}

func (v *solver) moveNeed(m move) body.Pace { return body.Sum(v.motionsOf(m)) }

// seatFor is how the body is when an option is played at a place.
func (v *solver) seatFor(from *situation, so *stageOption, place uint8) uint8 {
	for _, o := range so.parts {
		if o.seat != anySeat && o.places&(1<<place) != 0 {
			return o.seat
		}
	}
	if place != from.place && from.seat >= sits {
		return stands
	}
	return from.seat
}

// freed says after which event a hand is free to begin on the way into a
// stage, and whether that is a thing of its own.
func (v *solver) freed(st *stage, from *situation, h int) (ev int32, own bool) {
	ev, own = st.prevEv[h], true
	later := func(other int32, itself bool) {
		if other >= 0 && (ev < 0 || until(&v.events[other]) > until(&v.events[ev])+eps) {
			ev, own = other, itself
		}
	}
	if x := from.extra[h]; x >= 0 {
		later(x, v.events[x].Limbs == 0)
	}
	if from.booked&(byHand<<h) != 0 {
		later(st.prevEv[1-h], false)
	}
	if from.booked&(byMouth<<h) != 0 {
		later(st.prevEv[trackMouth], false)
	}
	return ev, own
}

// begin is a window that starts when an event is over.
func (v *solver) begin(ev int32) window {
	w := window{since: ev}
	if ev < 0 {
		return w
	}
	e := &v.events[ev]
	w.start = until(e)
	switch e.Kind {
	case RollOn:
		w.early = [2]float64{letGoSeconds, letGoShare * (e.T1 - e.T0)}
		end := e.Cue.Strokes[e.Stroke].End
		w.value = v.score.Tempo.Between(end.Sub(letGoValue), end)
	case Choke:
		w.after[0], w.after[1] = chokeAfter(v.score, e)
	}
	return w
}

// end sets where a window ends: at an event.
func (v *solver) end(w *window, ev int32) {
	e := &v.events[ev]
	w.end = e.T0
	if e.Kind == Choke {
		w.before[0], w.before[1] = chokeAfter(v.score, e)
	}
}

// An errand is what sends a hand on its way into a stage: an option of one of
// the events there, for which it needs a grip. The body is at a place then, and
// on a seat or not.
type errand struct {
	stage       int
	from        *situation
	h           int
	o           *option
	ev          int32
	to          uint16
	place, seat uint8
}

// legsOf lists the legs of one hand from a situation into a stage. They hold
// until it is called again.
func (v *solver) legsOf(r *errand) []timedLeg {
	st, e := &v.stages[r.stage], &v.events[r.ev]
	prev, own := v.freed(st, r.from, r.h)
	acts := v.due(st, r.from, r.h)
	l := timedLeg{from: prev, bodyEv: -1}
	l.key, l.window = v.setsOut(r, prev, len(acts) > 0)
	if prev >= 0 && own && len(acts) == 0 && v.leaps(&v.events[prev], e, &l.key) {
		l.key.fromSpot = l.key.toSpot
	}
	if prev >= 0 && own {
		l.pre = v.lingers(&v.events[prev])
	}
	legs := v.setChanges(&l, acts)
	l.key.damp = e.Kind.Stops() && r.o.need&(1<<r.h) != 0
	l.key.struck = l.key.damp && prev >= 0 && own && len(acts) == 0 && !v.events[prev].Kind.Stops() && v.events[prev].Item() == e.Item()
	l.leg = v.leg(l.key)
	l.post = v.first(e, r.o, r.h, st, prev >= 0)
	if e.Limbs&body.M != 0 && len(l.post) > 0 { // the mouth has to be empty, too
		if m := st.prevEv[trackMouth]; m >= 0 && until(&v.events[m]) > l.window.start {
			l.window = v.begin(m)
			l.from = m
		}
	}
	v.end(&l.window, r.ev)
	if n := len(legs); n > 0 { // the last of the set changes shares its window with the rest
		l.follow(&legs[n-1])
		legs = legs[:n-1]
	}
	l.need = body.Sum(l.pre).Add(l.leg.need).Add(body.Sum(l.post))
	v.moveBody(r, &l)
	v.legBuf = append(legs, l)
	return v.legBuf
}

// due are the takes and lays that are set before a stage and not yet done.
func (v *solver) due(st *stage, from *situation, h int) []timed {
	acts := v.acts[h][from.acts[h]:]
	n := 0
	for n < len(acts) && acts[n].t <= v.time(st)+eps {
		n++
	}
	return acts[:n]
}

// setsOut is from where to where a hand goes, with what in it, and since when
// it is free. A hand that has done nothing yet is where it plays first, unless
// a change is set before that.
func (v *solver) setsOut(r *errand, prev int32, set bool) (legKey, window) {
	from, h := r.from, r.h
	key := legKey{from: from.grip[h], to: r.to, fromPlace: from.handPlace[h], toPlace: r.place, fromSpot: v.handAt(&v.stages[r.stage], from, h), toSpot: v.target(r)}
	win := v.begin(prev)
	switch g := v.grips[r.to]; {
	case set && key.from == gripUnknown:
		key.from = gripEmpty // what is taken was not there before
	case set || prev >= 0:
	case key.from == gripUnknown && g.Inst != nil && low(g, v.home(g, r.place)):
		key.from = gripEmpty                    // it lies on the floor when the music begins,
		win = v.begin(v.stages[r.stage].bodyEv) // and whoever plays before cannot bend
	case key.from == gripUnknown || key.from == r.to:
		key.fromSpot, key.fromPlace = key.toSpot, r.place
	case v.tucked(key.from, r.to) || v.beforehand(key.from, r.to): // what it is said to hold is in the fingers before the beginning
		key.from, key.fromSpot, key.fromPlace = r.to, key.toSpot, r.place
	}
	return key, win
}

// setChanges begins the list of legs with the changes that are set before a
// leg, which then sets out from the last of them.
func (v *solver) setChanges(l *timedLeg, acts []timed) []timedLeg {
	legs := v.legBuf[:0]
	for i := range acts {
		a := &acts[i]
		k := l.key
		k.to, k.toSpot, k.toPlace = v.after(a, k.from), spotTable, k.fromPlace
		if a.t > l.window.start {
			l.window = window{start: a.t}
		}
		if i > 0 {
			legs[i-1].window.end = max(legs[i-1].window.start, a.t)
		}
		one := timedLeg{leg: v.leg(k), window: l.window, key: k, act: a, from: l.from, bodyEv: -1, pre: l.pre}
		one.need = body.Sum(one.pre).Add(one.leg.need)
		legs = append(legs, one)
		l.pre = nil
		l.key.from, l.key.fromSpot = k.to, spotTable
	}
	return legs
}

// follow lets a leg go on from the one before, in one window.
func (l *timedLeg) follow(p *timedLeg) {
	l.leg = &leg{of: l.leg.of, past: p.leg, count: p.count + l.count, need: p.leg.need.Add(l.leg.need), lays: p.lays + l.lays,
		takes: p.takes + l.takes, walk: p.walk || l.walk, stoops: p.stoops || l.stoops, after: l.leg.after, among: p.among || l.among, grab: l.grab}
	l.pre, l.key.from = p.pre, p.key.from
	l.window.start, l.window.early, l.window.value, l.window.after = p.window.start, p.window.early, p.window.value, p.window.after
}

// moveBody finds what the body does for a leg. It may have left later than the
// hand was free, or have been somewhere else meanwhile without the hand's
// doing.
func (v *solver) moveBody(r *errand, l *timedLeg) {
	st, from := &v.stages[r.stage], r.from
	switch {
	case from.place != r.place || from.seat != r.seat && from.seat != anySeat:
		l.move = move{from.place, r.place, from.seat, r.seat}
		l.bodyEv = st.bodyEv
	case l.key.fromPlace != r.place && from.moved >= 0:
		l.move = move{l.key.fromPlace, r.place, from.seat, r.seat}
		l.bodyEv = v.stages[from.moved].bodyEv
	case l.stoops:
		l.move = move{r.place, r.place, r.seat, r.seat}
		l.bodyEv = st.bodyEv
	}
	if l.bodyEv < 0 {
		return
	}
	after := l.leg.after.Add(body.Sum(l.post))
	l.bodyNeed = v.moveNeed(l.move).Add(after)
	if l.bodyNeed.Floor > after.Floor || l.move.from != l.move.to || l.stoops {
		l.bodyWin = v.begin(l.bodyEv)
		v.end(&l.bodyWin, r.ev)
		l.bodyBound = l.bodyNeed.Floor > 0 && l.bodyNeed.Floor-l.bodyWin.gap() > l.need.Floor-l.window.gap()
	}
}

// lingers is what keeps a hand at a thing after its moment: a touch until it
// is quiet, a page.
func (v *solver) lingers(e *Event) []body.Motion {
	switch {
	case e.Kind.Stops():
		if v.touch == nil {
			v.touch = []body.Motion{v.player.Profile.Touch()}
		}
		return v.touch
	case e.Kind == PageTurn:
		if v.page == nil {
			v.page = []body.Motion{v.player.Profile.TurnPage()}
		}
		return v.page
	}
	return nil
}

// first is what a hand has to do at the instrument before the stroke itself.
// A hand that has done nothing yet has played the grace strokes by then.
func (v *solver) first(e *Event, o *option, h int, st *stage, begun bool) []body.Motion {
	switch {
	case e.Cue == nil:
		return nil
	case e.Grace&(1<<h) != 0 && begun:
		return []body.Motion{v.player.Profile.Graces(int(e.Cue.Strokes[e.Stroke].Grace))}
	case e.Limbs&body.M != 0 && o.hands != 0:
		if m := st.prevEv[trackMouth]; m >= 0 && v.events[m].Item() != e.Item() {
			if v.mouth == nil {
				v.mouth = v.player.Profile.MouthChange()
			}
			return v.mouth
		}
	}
	return nil
}

// tucked says whether two grips have the same in the hand, held otherwise.
func (v *solver) tucked(from, to uint16) bool {
	a, b := v.grips[from], v.grips[to]
	if a.Implement == nil {
		return false
	}
	return a.within(&b) && b.within(&a)
}

// beforehand says whether a hand that is said to hold one of two things has the
// other beside it before the beginning.
func (v *solver) beforehand(from, to uint16) bool {
	if from <= gripEmpty || !v.grips[to].Both() {
		return false
	}
	lay, _ := difference(v.grips[from], v.grips[to])
	return len(lay) == 0
}

// handAt is the spot where a hand is when it sets out: on an instrument that has
// bars or drums it is where it struck last.
func (v *solver) handAt(st *stage, from *situation, h int) int16 {
	spot := from.spot[h]
	if v.laid == nil {
		return spot
	}
	prev, own := v.freed(st, from, h)
	if item, _ := v.itemOf(spot); prev >= 0 && own && v.isOn(&v.events[prev], item) {
		return v.keySpotOf(&v.events[prev], h, item)
	}
	return spot
}

// isOn says whether an event is on an item, which is given by its spot.
func (v *solver) isOn(e *Event, item int16) bool {
	it := e.Item()
	return item >= 0 && it != nil && v.spotOf(it) == item
}

// leaps says whether a hand goes from stroke to stroke on an instrument that has
// bars or drums, with the same in it. Then it is the rates that judge how far it
// goes.
func (v *solver) leaps(last, e *Event, key *legKey) bool {
	if v.laid == nil || last.Kind != Strike || e.Kind != Strike {
		return false
	}
	from, _ := v.itemOf(key.fromSpot)
	to, _ := v.itemOf(key.toSpot)
	return from == to && v.isOn(last, from) && v.sameThings(key)
}

// sameThings says whether a hand lays and takes nothing on a leg.
func (v *solver) sameThings(key *legKey) bool {
	if key.from == key.to || key.from == gripUnknown || key.to == anyGrip {
		return true
	}
	from, to := &v.grips[key.from], &v.grips[key.to]
	return from.within(to) && to.within(from)
}

// target is where an option brings a hand. What lies in the palm beside a stick
// is shaken where the hand is.
func (v *solver) target(r *errand) int16 {
	o, h, from, g := r.o, r.h, r.from, &v.grips[r.to]
	if o.palm && g.Both() && from.spot[h] >= 0 && from.handPlace[h] == r.place {
		return v.handAt(&v.stages[r.stage], from, h)
	}
	if g.Inst != nil && o.leaves&(1<<h) == 0 && o.hands&(1<<h) != 0 && !o.chosen || o.way != nil && (!o.way.Fixed() || o.way.Mount == kit.OnBody) {
		return spotFront
	}
	it := v.events[r.ev].Item()
	if it == nil {
		return spotFront
	}
	return v.keySpotOf(&v.events[r.ev], h, v.spotOf(it))
}

// spotOf is the spot of an item; it is nearly always that of the item before.
func (v *solver) spotOf(it *score.Item) int16 {
	if v.lastSpot.item != it {
		v.lastSpot.item, v.lastSpot.spot = it, v.spots[it]
	}
	return v.lastSpot.spot
}

// itemNumber is the number of an item among the player's, plus one.
func (v *solver) itemNumber(it *score.Item) int32 {
	if spot, ok := v.spots[it]; ok && spot < keyedSpot-1 {
		return int32(spot) + 1
	}
	return int32(slices.Index(v.player.Items, it)) + 1
}

// set is what a hand holds after the takes and lays that are set before a
// stage.
func (v *solver) set(st *stage, from *situation, h int) uint16 {
	grip := from.grip[h]
	acts := v.due(st, from, h)
	for i := range acts {
		grip = v.after(&acts[i], grip)
	}
	return grip
}

// wants are the grips a hand may have when an option is played: the one it
// asks for, that with a light implement kept in the fingers, or two of which
// one plays; for a stop what it has, or nothing where that is an instrument.
func (v *solver) wants(o *option, h int, from uint16) (list [3]uint16, n int) {
	g := o.grip[h]
	held := &v.grips[from]
	switch {
	case g == anyGrip && o.free:
		list[0] = from
		if held.Inst != nil || held.Count == 2 || held.Two() {
			list[0] = gripEmpty
		}
		return list, 1
	case g == anyGrip:
		list[0], n = from, 1
		if o.stops && held.Inst != nil { // or it is laid first
			list[1], n = gripEmpty, 2
		}
		return list, n
	}
	list[0], n = g, 1
	want := &v.grips[g]
	if want.Implement != nil && want.Count == 1 && held.Implement == want.Implement && held.Count == 2 && !want.Butt && want.Kept == nil {
		list[n] = from
		n++
	}
	if o.palm { // a stick may stay in the fingers
		if im := held.stick(want.Inst); im != nil {
			list[n] = v.bothIn(want.Inst, im, held.Butt)
			n++
		}
		return list, n
	}
	if o.leaves&(1<<h) != 0 && held.Both() && held.Implement == want.Implement {
		list[n] = v.bothIn(held.Inst, want.Implement, want.Butt)
		n++
	}
	if held.Two() { // one of the two plays; a third thing has no room beside them
		if !o.alone && want.oneOf(held) {
			list[n] = v.gripID(held.turnedTo(want))
			n++
		}
		return list, n
	}
	if o.way == nil || !o.way.Keeps || g != gripEmpty {
		return list, n
	}
	im := held.Implement
	if im == nil {
		im = held.Kept
	}
	if im != nil && im.Weight == kit.Light && held.Count <= 1 {
		list[n] = v.gripID(Grip{Kept: im})
		n++
	}
	return list, n
}

// oneOf says whether a grip is of nothing but one of the two things in another.
func (g *Grip) oneOf(two *Grip) bool {
	return g.Implement != nil && g.Count == 1 && g.Kept == nil && two.Of(g.Implement) == 1
}

// turnedTo is a grip of two things, of which another grip says which one plays.
func (g *Grip) turnedTo(want *Grip) Grip {
	turned := *want
	turned.Kept = g.Kept
	if g.Kept == want.Implement {
		turned.Kept = g.Implement
	}
	return turned
}

// A duty is a hand that has something to do in a stage.
type duty struct {
	h     int
	o     *option
	ev    int32
	wants [3]uint16
	n     int
}

// try works out every way of getting from a situation into the stage that was
// gathered by an option.
func (v *solver) try(si int, from *situation, so *stageOption, yield func(next *situation, cost int64, bears [2]float64)) {
	begins := v.stages[si].bodyEv < 0 // who has not begun yet begins anywhere, and stays there
	for place := range v.places {
		if so.places&(1<<place) != 0 && (!begins || place == int(from.place)) {
			v.tryPlace(si, from, so, uint8(place), yield)
		}
	}
}

// dutiesOf lists every hand that has something to do, and how the situation
// is afterwards but for what the hands hold.
func (v *solver) dutiesOf(si int, from *situation, so *stageOption, place uint8) (next situation, duties []duty) {
	st := &v.stages[si]
	next = *from
	next.place = place
	next.seat = v.seatFor(from, so, place)
	if place != from.place || next.seat != from.seat && from.seat != anySeat {
		next.moved = int32(si)
	}
	duties = v.duties[:0]
	for q, o := range so.parts {
		ev := v.cur[q]
		if o.places&(1<<place) == 0 {
			continue // it cannot be had from here, and counts as a conflict
		}
		for h := range 2 {
			v.book(st, &next, h, so, o, ev)
			if o.hands&(1<<h) == 0 {
				continue
			}
			d := duty{h: h, o: o, ev: ev}
			if p := so.along(o, h); p == nil {
				d.wants, d.n = v.wants(o, h, v.set(st, from, h))
			} else if o.palm {
				continue // it is shaken with the stroke of the stick
			} else {
				g := &v.grips[o.grip[h]]
				d.wants[0], d.n = v.bothIn(v.player.Items[p.item-1], g.Implement, g.Butt), 1
			}
			duties = append(duties, d)
		}
	}
	for h := range next.extra { // what the hand's own music tells as well need not be kept
		if x, p := next.extra[h], st.prevEv[h]; x >= 0 && p >= 0 && until(&v.events[p]) >= until(&v.events[x])-eps && v.events[x].Limbs != 0 {
			next.extra[h] = -1
		}
	}
	v.duties = duties
	return next, duties
}

// book keeps account of what takes a hand along from an event on, if it is
// played by an option. Another event of the same moment may want the hand as well:
// a triangle that is held for the hand that shakes an egg with the same motion.
func (v *solver) book(st *stage, next *situation, h int, so *stageOption, o *option, ev int32) {
	e := &v.events[ev]
	taken := o.hands&(1<<h) != 0
	switch {
	case taken && (e.Hands()&(1<<h) != 0 || o.chosen): // it plays itself
		next.booked &^= (byHand | byMouth) << h
		next.extra[h] = -1
		if o.chosen {
			next.extra[h] = ev
		}
	case taken && e.Limbs&body.M != 0:
		v.release(st, next, h, byHand, 1-h)
		next.booked |= byMouth << h
	case taken:
		v.release(st, next, h, byMouth, trackMouth)
		next.booked |= byHand << h
	case so.takes(h):
	case e.Hands()&(1<<(1-h)) != 0: // the other hand goes on without it
		v.release(st, next, h, byHand, 1-h)
	case e.Limbs&body.M != 0:
		v.release(st, next, h, byMouth, trackMouth)
	}
}

// release ends a hand's being taken along by another limb, whose last event
// until now kept it.
func (v *solver) release(st *stage, s *situation, h int, by uint8, track int) {
	if s.booked&(by<<h) == 0 {
		return
	}
	s.booked &^= by << h
	last := st.prevEv[track]
	if last >= 0 && (s.extra[h] < 0 || until(&v.events[last]) > until(&v.events[s.extra[h]])+eps) {
		s.extra[h] = last
	}
}

func (v *solver) tryPlace(si int, from *situation, so *stageOption, place uint8, yield func(next *situation, cost int64, bears [2]float64)) {
	st := &v.stages[si]
	base, duties := v.dutiesOf(si, from, so, place)
	cost := so.cost
	bears := [2]float64{inf(), inf()}
	if so.conflict {
		bears = [2]float64{}
	}
	if base.moved == int32(si) && len(duties) == 0 && st.bodyEv >= 0 { // a pedal at another place
		m := move{from.place, place, from.seat, base.seat}
		w := v.begin(st.bodyEv)
		w.end = v.time(st)
		v.note.whole = false
		c, b := price(v.moveNeed(m), &w)
		cost += c
		bears = [2]float64{min(bears[0], b[0]), min(bears[1], b[1])}
	}
	for len(v.going) < len(duties) {
		v.going = append(v.going, transition{})
	}
	v.trying = trying{si: si, from: from, place: place, seat: base.seat, cost: cost, bears: bears, duties: duties, yield: yield}
	v.choose(0, base)
}

// trying is a way into a stage that is being tried: from where, by which option
// at which place, and what each hand has to do for it.
type trying struct {
	si          int
	from        *situation
	place, seat uint8
	cost        int64
	bears       [2]float64
	duties      []duty
	yield       func(next *situation, cost int64, bears [2]float64)
	next        situation // that is yielded
}

// choose goes through the ways of doing the duties from the k-th on.
func (v *solver) choose(k int, s situation) {
	at := &v.trying
	if k == len(at.duties) {
		next := &at.next
		*next = s
		if next.handPlace[0] == next.place && next.handPlace[1] == next.place {
			next.moved = -1
		}
		c, b := v.together(v.going[:k])
		v.note.way(at.cost, at.bears[0] == 0, v.going[:k])
		at.yield(next, at.cost+c, [2]float64{min(at.bears[0], b[0]), min(at.bears[1], b[1])})
		return
	}
	d := &at.duties[k]
	for w := range d.n {
		t := &v.going[k]
		r := errand{at.si, at.from, d.h, d.o, d.ev, d.wants[w], at.place, at.seat}
		*t = v.transit(&r)
		next := s
		next.grip[d.h] = d.wants[w]
		next.handPlace[d.h] = at.place
		next.spot[d.h] = v.target(&r)
		next.acts[d.h] = t.acts
		if d.o.grip[d.h] != anyGrip && v.grips[d.wants[w]].Count == 2 && v.grips[d.o.grip[d.h]].Count == 1 {
			t.cost += costKeepBoth
		}
		v.choose(k+1, next)
		if t.passFrom >= 0 && !inDuties(at.duties, t.passFrom) { // the other hand hands it over
			next.grip[t.passFrom] = gripEmpty
			t.cost, t.bears, t.grab, t.noted = t.passCost, t.passBears, nil, -1
			v.choose(k+1, next)
		}
	}
}

// A transition is one hand's way from its last event to an option.
type transition struct {
	cost      int64
	bears     [2]float64
	acts      uint16 // set takes and lays done then
	grab      *grab  // what it takes from among others, or nil
	passFrom  int    // the hand that could hand over what is needed; -1: none
	passCost  int64
	passBears [2]float64
	priced    int64 // of its cost, what is its leg's
	noted     int16 // its leg, or -1
	full      bool  // the hand holds what it cannot play with
}

// A grab is the last leg of a transition that takes something from among
// others: it has to wait when the other hand does so too.
type grab struct {
	pace      body.Pace // of the grab
	need      body.Pace // of the leg
	win       window
	rest      int64 // of all but the leg's need
	restBears [2]float64
}

// together adds up what the hands do side by side. Two grabs from among others
// add: one hand waits until the other has got its own, and it is the one that
// has more time.
func (v *solver) together(ways []transition) (cost int64, bears [2]float64) {
	bears = [2]float64{inf(), inf()}
	a, b := -1, -1
	for i := range ways {
		cost += ways[i].cost
		for k := range bears {
			bears[k] = min(bears[k], ways[i].bears[k])
		}
		if ways[i].grab != nil {
			if a < 0 {
				a = i
			} else if b < 0 {
				b = i
			}
		}
	}
	if b < 0 {
		return cost, bears
	}
	x, y := &ways[a], &ways[b]
	waitsX, bearsX := x.grab.waiting(y.grab.pace)
	waitsY, bearsY := y.grab.waiting(x.grab.pace)
	cost += min(waitsX-x.cost, waitsY-y.cost)
	for k := range bears {
		bears[k] = min(bears[k], max(bearsX[k], bearsY[k]))
	}
	return cost, bears
}

// waiting is what a transition costs when it has to wait for the other hand's
// grab.
func (g *grab) waiting(other body.Pace) (int64, [2]float64) {
	c, b := price(g.need.Add(other), &g.win)
	return g.rest + c, [2]float64{min(g.restBears[0], b[0]), min(g.restBears[1], b[1])}
}

// A priced transition has been worked out for the present stage. It holds for
// every situation in which the body and the hand stay where they are, and the
// hand holds the same; there are many of those.
type priced struct {
	stage int32
	key   transitKey
	transition
}

type transitKey struct {
	option         int32
	h, place, seat uint8
	from, to       uint16
	spot           int16
	acts           uint16
}

// memoFor is how many transitions of one stage are remembered, by how many events
// there are; a power of 2. A part of a few events is followed often, to learn what one
// change needs, and there are many short parts in a library.
func memoFor(events int) int {
	return 1 << min(max(4, bits.Len(uint(events))-2), 9)
}

// memo finds the slot of a transition and its key, or nil where what is known
// does not hold for more than the situation at hand.
func (v *solver) memo(r *errand) (*priced, transitKey) {
	from, h := r.from, r.h
	if from.place != r.place || from.handPlace[h] != r.place || from.moved >= 0 || from.booked&((byHand|byMouth)<<h) != 0 || from.extra[h] >= 0 || from.seat != r.seat {
		return nil, transitKey{}
	}
	if v.known == nil {
		v.known = make([]priced, memoFor(len(v.events)))
	}
	key := transitKey{r.o.id, uint8(h), r.place, r.seat, from.grip[h], r.to, from.spot[h], from.acts[h]}
	hash := uint64(key.option)<<33 ^ uint64(h)<<32 ^ uint64(key.place)<<24 ^ uint64(key.from)<<12 ^ uint64(key.to) ^ uint64(uint16(key.spot))<<40 ^ uint64(key.acts)<<50
	return &v.known[(hash*0x9e3779b97f4a7c15)>>55&uint64(len(v.known)-1)], key
}

// transit is what an errand costs.
func (v *solver) transit(r *errand) transition {
	slot, key := v.memo(r)
	if slot != nil && slot.stage == int32(r.stage)+1 && slot.key == key {
		t := slot.transition
		v.passing(r, &t)
		return t
	}
	t := transition{bears: [2]float64{inf(), inf()}, passFrom: -1, noted: -1}
	legs := v.legsOf(r)
	if v.note.whole {
		t.noted = v.note.leg(&v.stages[r.stage], r, legs)
	}
	for i := range legs {
		l := &legs[i]
		c, b := l.price()
		if i == len(legs)-1 && l.among {
			v.grabs = append(v.grabs, grab{pace: l.grab, need: l.need, win: l.window, rest: t.cost + int64(l.lays+l.takes)*costChange, restBears: t.bears})
			t.grab = &v.grabs[len(v.grabs)-1]
		}
		t.cost, t.priced = t.cost+c, c-int64(l.lays+l.takes)*costChange
		t.bears = [2]float64{min(t.bears[0], b[0]), min(t.bears[1], b[1])}
	}
	t.acts = r.from.acts[r.h] + uint16(len(v.due(&v.stages[r.stage], r.from, r.h)))
	if v.full(&v.events[r.ev], r.o, r.h, r.to) {
		t.cost += costImpossible
		t.bears, t.full = [2]float64{}, true
	}
	if slot != nil {
		*slot = priced{int32(r.stage) + 1, key, t}
	}
	v.passing(r, &t)
	return t
}

// full says whether a hand should damp and holds an instrument: it cannot.
func (v *solver) full(e *Event, o *option, h int, grip uint16) bool {
	g := &v.grips[grip]
	return e.Kind.Stops() && !o.forearm && o.hands&(1<<h) != 0 && g.Inst != nil && e.Item() != g.Inst
}

// price is what a leg costs, and the tempo factors that it bears.
func (l *timedLeg) price() (int64, [2]float64) {
	cost, bears := price(l.need, &l.window)
	if l.bodyEv >= 0 {
		c, b := price(l.bodyNeed, &l.bodyWin)
		cost, bears = max(cost, c), [2]float64{min(bears[0], b[0]), min(bears[1], b[1])}
	}
	return cost + int64(l.lays+l.takes)*costChange, bears
}

// price is what a need costs in a window, by how well it fits, and the tempo
// factors that it bears.
func price(need body.Pace, w *window) (int64, [2]float64) {
	cost := int64(need.Steady * float64(costSecond))
	has, _ := w.has(need.Floor)
	switch BandOf(need, has) {
	case Missing:
		cost += costImpossible + int64((need.Limit-has)*float64(costShortfall))
	case AtEdge:
		cost += costEdge + int64((need.Floor-has)*float64(costEdgeSecond))
	case Tight:
		cost += costTight + int64((need.Steady-has)*float64(costTightness))
	}
	return cost, [2]float64{w.bears(need.Limit), w.bears(need.Floor)}
}

// passing sees whether the other hand could hand over what this one needs.
func (v *solver) passing(r *errand, t *transition) {
	from, h := r.from, r.h
	if from.grip[h] != gripEmpty || from.grip[1-h] != r.to || r.to <= gripEmpty { // the other has it
		return
	}
	if want := &v.grips[r.to]; want.Implement == nil || want.Count != 1 || want.Inst != nil || want.Kept != nil || t.acts != from.acts[h] ||
		from.handPlace[0] != r.place || from.handPlace[1] != r.place || from.place != r.place {
		return
	}
	for _, k := range v.cur {
		if uses(&v.events[k], 1-h) {
			return
		}
	}
	l := v.passLeg(r)
	c, b := l.price()
	t.passFrom, t.passCost, t.passBears = 1-h, c, b
}

// passLeg is the leg on which the other hand hands over what is needed.
func (v *solver) passLeg(r *errand) timedLeg {
	pr, from, h, st := v.player.Profile, r.from, r.h, &v.stages[r.stage]
	l := &leg{takes: 1}
	a, b := v.spot(v.handAt(st, from, h), r.place), v.spot(v.handAt(st, from, 1-h), r.place)
	meet := pr.Travel(a.Dist(b)/2, body.StrikeWidth)
	meet.Words = "bring the hands together"
	toSpot := v.target(r)
	width := body.StrikeWidth
	if toSpot >= 0 {
		_, width = v.itemOf(toSpot)
	}
	mid := body.Point{Right: (a.Right + b.Right) / 2, Ahead: (a.Ahead + b.Ahead) / 2, Up: (a.Up + b.Up) / 2}
	l.said = []body.Motion{meet, pr.PassOver(thing(v.grips[r.to])), pr.Carry(mid.Dist(v.spot(toSpot, r.place)), width)}
	l.count, l.need = len(l.said), body.Sum(l.said)
	prev, _ := v.freed(st, from, h)
	other, _ := v.freed(st, from, 1-h)
	if other >= 0 && (prev < 0 || until(&v.events[other]) > until(&v.events[prev])) {
		prev = other
	}
	out := timedLeg{leg: l, need: l.need, from: prev, bodyEv: -1}
	out.window = v.begin(prev)
	if prev >= 0 {
		out.pre = v.lingers(&v.events[prev])
		out.need = body.Sum(out.pre).Add(l.need)
	}
	v.end(&out.window, r.ev)
	return out
}
