package motion

import (
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// Grips by number are those of solver.grips; some mean more than that.
const (
	gripUnknown uint16 = 0          // whatever the hand holds before it is first told
	gripEmpty   uint16 = 1          // nothing
	anyGrip            = ^uint16(0) // in an option: what it holds
)

// An option is one way of doing what a moment asks for: what each hand holds
// for it, from which places it can be reached, and what it costs in sound.
type option struct {
	grip     [2]uint16
	hands    body.Limbs // hands that are busy with it
	need     body.Limbs // hands that strike or damp, and so travel there
	places   uint64     // places from which it can be done
	cost     int64
	conflict uint8 // a ConflictKind + 1, or 0
	way      *kit.Way
	choice   kit.Choice
	subst    bool
	id       int32 // among all options of the player
	// free marks a page turn: the hand must have nothing but one light thing.
	free bool
	// chosen marks what the path gives to a hand itself: a stop, a page turn.
	chosen  bool
	forearm bool       // a stop that the forearm makes, whatever the hand holds
	stops   bool       // a stop that the hand itself makes
	seat    uint8      // how the body is, if the way says
	feet    uint8      // taken besides the hands
	alone   bool       // a roll of one hand, that has nothing else in it then
	palm    bool       // the instrument lies in the palm, and leaves the fingers a stick
	leaves  body.Limbs // hands whose stick leaves room for something in the palm
	item    int32      // of the player, plus one; 0 is none
}

// A demand is what an event asks for; events with equal demands have the same
// options.
type demand struct {
	cue   *score.Cue
	act   *score.Action
	limbs body.Limbs
	grace body.Limbs
	kind  EventKind
	feet  body.Limbs // that are on other pedals
}

func (v *solver) demandOf(e *Event) demand {
	if e.Kind == Choke { // as any stop of the cue
		return demand{e.Cue, e.Action, 0, 0, Stop, 0}
	}
	return demand{e.Cue, e.Action, e.Limbs, e.Grace, e.Kind, v.elsewhere(e)}
}

// Costs that order the paths, in units of a thousandth of a point. What must
// not happen outweighs any number of what should not.
const (
	costImpossible = int64(1e12) // a change below the limit, or a conflict
	costShortfall  = int64(1e9)  // and for every second that is missing
	costEdge       = int64(1e10) // a change below the floor
	costEdgeSecond = int64(1e9)  // and for every second
	costSparing    = int64(1e8)  // a stretch played with fewer hands than usual, which costs sound and was not asked for
	costTight      = int64(1e7)  // a change below the steady pace
	costTightness  = int64(1e6)  // and for every second
	costCompromise = int64(1e5)  // a stretch played in a way that costs sound
	costKeepBoth   = int64(3e3)  // one of two mallets played alone
	costChange     = int64(1e3)  // a thing taken or laid
	costSecond     = int64(1e2)  // every steady second of motion
)

// gripID interns a grip.
func (v *solver) gripID(g Grip) uint16 {
	g.Set = true
	if id, ok := v.gripIDs[g]; ok {
		return id
	}
	id := uint16(len(v.grips))
	v.grips = append(v.grips, g)
	v.gripIDs[g] = id
	return id
}

func (v *solver) optionsOf(e *Event) []option {
	d := v.demandOf(e)
	for i := range v.latest {
		if v.latest[i].demand == d {
			return v.latest[i].list
		}
	}
	list, ok := v.demands[d]
	if !ok {
		list = v.newOptions(e, &d)
		v.own()
		v.demands[d] = list
	}
	l := &v.latest[v.oldest%len(v.latest)]
	l.demand, l.list = d, list
	v.oldest++
	return list
}

// newOptions are the options of a demand that was not there yet: those of another cue's that
// asks for the same, by numbers of their own, or new ones.
func (v *solver) newOptions(e *Event, d *demand) []option {
	var list []option
	if like := v.like(d); like != nil {
		list = append(v.rooms().options.List(len(like)), like...)
	} else {
		list = v.makeOptions(e)
		if d.cue != nil && d.act == nil {
			v.made = append(v.made, *d)
		}
	}
	for i := range list {
		list[i].id = int32(v.options)
		v.options++
	}
	return list
}

// like are the options of another cue of which the same is asked, or nil.
func (v *solver) like(d *demand) []option {
	if d.cue == nil || d.act != nil {
		return nil
	}
	for i := range v.made {
		if m := &v.made[i]; m.limbs == d.limbs && m.grace == d.grace && m.kind == d.kind && m.feet == d.feet && v.alike(m.cue, d.cue) {
			return v.demands[*m]
		}
	}
	return nil
}

// alike says whether the strokes of two cues can be played in the same ways.
func (v *solver) alike(a, b *score.Cue) bool {
	return a.Item == b.Item && a.Limb == b.Limb && a.Mount == b.Mount && slices.Equal(a.With, b.With) && a.Mallets == b.Mallets && a.Beside == b.Beside &&
		sameAsked(a.Asks, b.Asks) && v.inPalm[a] == v.inPalm[b] && v.twos[a] == v.twos[b]
}

func (v *solver) makeOptions(e *Event) []option {
	var list []option
	switch {
	case e.Kind == PageTurn || e.Kind.Stops():
		list = v.handling(e)
	case e.Limbs&body.M != 0:
		list = v.blowing(e)
	case e.Limbs&body.Hands == 0:
		list = []option{{grip: [2]uint16{anyGrip, anyGrip}, places: v.reaches(e.Item(), e.Limbs)}}
		if e.Cue != nil {
			list[0].way = v.footed(e)
		}
	default:
		list = v.playing(e)
	}
	return list
}

// handling lists how a ring can be stopped or a page turned: by the limb that
// the text names, or by either hand.
func (v *solver) handling(e *Event) []option {
	limbs := e.Limbs
	if limbs == 0 {
		limbs = body.Hands
		if only, ok := onlyHand(&v.player.Person); ok {
			limbs = body.Of(only)
		}
	}
	at := ^uint64(0)
	forearm := false
	if e.Kind.Stops() {
		at = v.reaches(e.Item(), body.Hands)
		mount := e.Item().Mount
		if e.Cue != nil {
			mount = wanted(e.Cue)
		}
		forearm = slices.Contains(stopsBy(e.Item(), mount), "forearm") || e.Action != nil && e.Action.By == "forearm"
	}
	any := option{grip: [2]uint16{anyGrip, anyGrip}, places: at, free: e.Kind == PageTurn, forearm: forearm, chosen: e.Limbs == 0}
	if limbs&body.Hands == 0 || e.Action != nil && e.Action.By == "knee" {
		return []option{any} // a foot or a knee: no hand is asked for
	}
	var list []option
	for h := range 2 {
		if bit := body.Limbs(1) << h; limbs&bit != 0 {
			o := any
			o.hands = bit
			if e.Kind.Stops() {
				o.need, o.stops = bit, !forearm
				o.places = v.reaches(e.Item(), bit)
			}
			list = append(list, o)
		}
	}
	return list
}

// blowing lists how a mouth sound can be made: what is held while it is blown
// takes a hand as well.
func (v *solver) blowing(e *Event) []option {
	c := e.Cue
	w := wayOf(c.Item.Inst, func(w *kit.Way) bool { return w.Limb == kit.Mouth && w.Mount == wanted(c) })
	if w == nil {
		w = wayOf(c.Item.Inst, func(w *kit.Way) bool { return w.Limb == kit.Mouth })
	}
	o := option{grip: [2]uint16{anyGrip, anyGrip}, places: ^uint64(0), way: w}
	if w == nil || w.Hands == 0 || w.Mount != kit.Held {
		return []option{o}
	}
	var list []option
	holder := v.gripID(Grip{Inst: c.Item, Count: 1})
	for h := range 2 {
		held := o
		held.hands = 1 << h
		held.grip[h] = holder
		list = append(list, held)
	}
	return list
}

func wayOf(in *kit.Instrument, fits func(*kit.Way) bool) *kit.Way {
	for _, w := range in.Ways {
		if fits(w) {
			return w
		}
	}
	return nil
}

// ways lists the ways in which a cue's stroke can be played by its hands, of
// those that are open.
//
// What costs sound is played when the cue asks for it, by its mount or its
// implement, or when there is no other way; never to save a change. But a roll
// that one hand can make is open where the other is busy. So is what takes
// fewer hands than any way without a cost: it is played where nothing else can
// be counted on, and never for ease.
func (v *solver) ways(e *Event, open func(*kit.Way, kit.Choice) bool) []option {
	c := e.Cue
	o := offer{solver: v, e: e, all: c.Item.Inst.Ways, mount: wanted(c), roll: e.Kind == RollOn, open: open, list: v.rooms().options.List(fewWays)}
	if c.Asks != nil {
		o.all = c.Asks.Ways
	}
	if o.roll {
		o.where(func(w *kit.Way) bool {
			return w.Rolls && (!v.inPalm[c] || w.LeavesStick()) && (c.Beside == nil || !OneHandRoll(e.Limbs, w, true))
		})
		spare(o.list)
		if len(o.list) == 0 { // no way of rolling it so: as strokes go
			o.where(anyWay)
			o.cannot(NeedsTwo)
		}
	} else if v.inPalm[c] {
		o.where((*kit.Way).LeavesStick)
	} else {
		o.where(func(w *kit.Way) bool { return w.Costs == "" })
		switch {
		case len(o.list) == 0:
			o.where(anyWay)
		case c.Asks == nil:
			o.where(v.sparing(e, o.all, o.list))
			spare(o.list)
		}
	}
	if len(o.list) == 0 { // not with that implement, or not mounted like that
		o.makeDo()
	}
	return o.list
}

// fewWays is for how many ways there is room at first.
const fewWays = 4

func anyWay(*kit.Way) bool { return true }

// An offer gathers the ways in which a stroke can be played.
type offer struct {
	*solver
	e     *Event
	all   []*kit.Way // those that the cue's own words leave
	mount kit.Mount
	roll  bool
	open  func(*kit.Way, kit.Choice) bool
	list  []option
}

// where adds the ways of the cue's mount that fit, each with every implement
// that the cue can be played with.
func (f *offer) where(fits func(*kit.Way) bool) {
	for _, w := range f.all {
		if w.Limb != kit.Hand || w.Mount != f.mount || !fits(w) {
			continue
		}
		if len(w.With) == 0 {
			if len(f.e.Cue.With) == 0 && !f.amiss(w, kit.Choice{}) {
				f.add(w, kit.Choice{}, false)
			}
			continue
		}
		for _, ch := range w.With {
			if f.amiss(w, ch) {
				continue
			}
			if with, ok := f.with(w, ch); ok {
				f.add(w, with, false)
			}
		}
	}
}

// amiss says whether a way is half of one that takes both hands, or for one
// hand where both play and there is a way for both.
func (f *offer) amiss(w *kit.Way, ch kit.Choice) bool {
	return !f.roll && halved(f.e.Cue, f.all, w, ch) || doubled(f.e, f.all, w, ch)
}

// with is what a hand holds for a way: its implement, as the cue asks for it.
func (f *offer) with(w *kit.Way, ch kit.Choice) (kit.Choice, bool) {
	c := f.e.Cue
	both := c.Asks != nil && c.Asks.TwoInOne
	if both && ch.Count != 2 {
		return ch, false
	}
	if len(c.With) == 0 {
		return ch, f.brought[ch.Implement] // nobody brings an implement that nothing asks for
	}
	want := c.With[0]
	if both {
		want.Count = 2
	}
	switch {
	case f.score.Catalogue.PlaysAs(want) != ch.Implement:
		return ch, false
	case want.Butt:
		return want, ch.Count == 1
	case w.Hands == 2 && want.Count == 2:
		ch.Count = 2
		return ch, c.Limb.TwoHands() // two in one hand are not one in each
	case w.Hands == 2:
		return ch, ch.Count == 1 || c.Mallets == 0
	case want.Count == 2 && ch.Count == 1:
		ch.Count = 2 // strikes with one of the two that it holds
		return ch, !f.roll
	}
	return ch, want.Count >= ch.Count
}

// add adds a way if it is open. subst marks one that is not what was asked for.
func (f *offer) add(w *kit.Way, ch kit.Choice, subst bool) {
	if !f.open(w, ch) {
		return
	}
	o, ok := f.option(f.e, w, ch)
	if !ok {
		return
	}
	o.subst = subst
	if subst {
		o.cost += costCompromise
	}
	f.list = append(f.list, o)
	if f.e.Hands() == body.Hands && w.Mount == kit.Held && w.Hands == 2 && len(w.With) > 0 { // either hand may hold it for the other
		o.grip[0], o.grip[1] = o.grip[1], o.grip[0]
		o.need ^= body.Hands
		f.list = append(f.list, o)
	}
}

// cannot marks all that is offered as what cannot be done.
func (f *offer) cannot(why ConflictKind) {
	for i := range f.list {
		f.list[i].conflict = uint8(why) + 1
		f.list[i].cost += costImpossible
	}
}

// makeDo offers the way that comes nearest to what was asked for, so that the
// path goes on.
func (f *offer) makeDo() {
	c, in := f.e.Cue, f.e.Cue.Item.Inst
	var w *kit.Way
	if i := slices.IndexFunc(f.all, func(w *kit.Way) bool {
		return w.Limb == kit.Hand && w.Mount == f.mount && (len(w.With) > 0 || len(c.With) == 0)
	}); i >= 0 {
		w = f.all[i]
	}
	if w == nil {
		w = wayOf(in, func(w *kit.Way) bool { return w.Limb == kit.Hand && (w.Fixed() || f.mount == kit.Held) })
	}
	if w == nil {
		w = in.Usual()
	}
	ch := kit.Choice{}
	switch {
	case len(c.With) > 0:
		ch = c.With[0]
	case len(w.With) > 0:
		ch = w.With[0]
	}
	f.add(w, ch, true)
	if f.roll && (!w.Rolls || ch.Count == 2 && w.Hands == 1) {
		f.cannot(NeedsTwo)
	}
}

// spare makes what costs sound and takes fewer hands than each way that costs
// nothing the last to be thought of, where there is such a way.
func spare(list []option) {
	least := 3
	for i := range list {
		if list[i].way.Costs == "" {
			least = min(least, (list[i].hands & body.Hands).Count())
		}
	}
	for i := range list {
		if list[i].way.Costs != "" && least < 3 && (list[i].hands&body.Hands).Count() < least {
			list[i].cost += costSparing
		}
	}
}

// sparing says which ways take fewer hands of an event than each of those that
// are open to it. One with a name of its own is not among them unless no other
// is.
func (v *solver) sparing(e *Event, all []*kit.Way, open []option) func(*kit.Way) bool {
	least := 2
	for i := range open {
		least = min(least, (open[i].hands & body.Hands).Count())
	}
	spares := func(w *kit.Way) bool {
		return w.Costs != "" && w.Limb == kit.Hand && hands(e.Hands(), w, false).Count() < least
	}
	if slices.ContainsFunc(all, func(w *kit.Way) bool { return spares(w) && w.Named == "" && w.Mount == open[0].way.Mount }) {
		return func(w *kit.Way) bool { return spares(w) && w.Named == "" }
	}
	return spares
}

// halved says whether a cue for one hand is only half of a way that takes both
// where something stands, and another way says what that costs.
func halved(c *score.Cue, all []*kit.Way, w *kit.Way, ch kit.Choice) bool {
	if w.Hands != 2 || !w.Fixed() || c.Limb.TwoHands() {
		return false
	}
	costs := false
	for _, o := range all {
		if o.Limb != kit.Hand || o.Hands != 1 || o.Mount != w.Mount || len(o.With) == 0 != (ch.Implement == "") ||
			ch.Implement != "" && !slices.ContainsFunc(o.With, func(x kit.Choice) bool { return x.Implement == ch.Implement }) {
			continue
		}
		if o.Costs == "" {
			return false
		}
		costs = costs || o.Named == ""
	}
	return costs
}

// doubled says whether both hands play what one could, and another way is for
// both.
func doubled(e *Event, all []*kit.Way, w *kit.Way, ch kit.Choice) bool {
	return e.Hands() == body.Hands && e.Grace == 0 && w.Hands == 1 && w.Fixed() && slices.ContainsFunc(all, func(o *kit.Way) bool {
		return o.Limb == kit.Hand && o.Hands == 2 && o.Mount == w.Mount && (o.Named == w.Named || o.Named == "") && (len(o.With) == 0) == (ch.Implement == "") &&
			(ch.Implement == "" || slices.Contains(o.With, ch))
	})
}

// bring lists the implements that the player has at hand: those that the text
// names, and for every cue that names none the usual one, and the usual one
// for its rolls.
func (v *solver) bring() {
	has := func(list ...*kit.Implement) {
		for _, im := range list {
			if im != nil {
				v.brought[im.ID] = true
			}
		}
	}
	for _, h := range v.player.Holds {
		has(h.Implement, h.Beside)
	}
	for _, a := range v.player.Actions {
		has(a.Implement, a.Beside)
	}
	for _, c := range v.player.Cues {
		has(c.Beside)
		if len(c.With) > 0 {
			v.brought[c.With[0].Implement] = true
		} else {
			v.bringUsual(c)
		}
	}
}

// bringUsual brings what a cue is usually played with, and rolled with.
func (v *solver) bringUsual(c *score.Cue) {
	all := c.Item.Inst.Ways
	if c.Asks != nil {
		all = c.Asks.Ways
	}
	mount, rolls := wanted(c), slices.ContainsFunc(c.Strokes, func(s score.Stroke) bool { return s.Has(score.Roll) })
	plain := false
	for _, w := range all {
		if w.Mount != mount || w.Limb != kit.Hand || len(w.With) == 0 || plain && !(rolls && w.Rolls) {
			continue
		}
		v.brought[w.With[0].Implement] = true
		plain, rolls = true, rolls && !w.Rolls
	}
}

// option works out who holds what when an event is played in a given way.
func (v *solver) option(e *Event, w *kit.Way, ch kit.Choice) (option, bool) {
	roll := e.Kind == RollOn
	o := option{grip: [2]uint16{anyGrip, anyGrip}, way: w, choice: ch, need: e.Hands(), hands: e.Hands(), seat: v.seatOf(e.Cue.Item, w), feet: uint8(feetOf(w)), item: v.itemNumber(e.Cue.Item), alone: OneHandRoll(e.Limbs, w, roll)}
	item := e.Cue.Item
	strikes := v.striking(ch)
	striker := v.gripID(strikes)
	own := striker // of the hand that the cue is for
	if strikes.Implement != nil && e.Cue.Beside != nil {
		strikes.Count, strikes.Kept = 1, e.Cue.Beside
		own = v.gripID(strikes)
	}
	holder := v.gripID(Grip{Inst: item, Count: 1})
	both := e.Hands() == body.Hands
	one := 0
	if e.Limbs&body.L != 0 {
		one = 1
	}
	if w.Costs != "" {
		o.cost += costCompromise
	}
	switch {
	case w.Mount == kit.Held && w.Hands == 2 && len(w.With) == 0: // a pair: both hands full
		o.grip, o.hands = [2]uint16{holder, holder}, body.Hands
	case w.Mount == kit.Held && w.Hands == 2: // one hand holds, the other strikes
		o.hands = body.Hands
		if both {
			one = 0
		}
		o.need = 1 << one
		o.grip[one], o.grip[1-one] = own, holder
	case w.Mount == kit.Held: // the striking hand holds it
		o.grip[one] = holder
		if both {
			o.grip = [2]uint16{holder, holder}
		}
	case w.Hands == 2 && (both || roll):
		o.grip = [2]uint16{striker, striker}
		if !both {
			o.grip[one] = own
		}
		o.hands, o.need = body.Hands, body.Hands
	default: // an implement in each hand that plays
		o.grip[one] = own
		if both {
			o.grip = [2]uint16{striker, striker}
		}
	}
	o.palm, o.leaves = w.LeavesStick() && !both, v.leaves(e, &o)
	v.withTwo(e, &o)
	if w.Fixed() && w.Mount != kit.OnBody {
		o.places = v.reaches(item, e.Limbs)
	} else {
		o.places = ^uint64(0)
	}
	return o, true
}

// withTwo gives a second mallet to each hand that strikes two bars or drums at
// once in the cue, unless the cue says that it has one.
func (v *solver) withTwo(e *Event, o *option) {
	twos := v.twos[e.Cue]
	if twos == 0 || len(e.Cue.With) > 0 && e.Cue.With[0].Count < 2 {
		return
	}
	for h := range 2 {
		if o.grip[h] == anyGrip || twos&(1<<h) == 0 {
			continue
		}
		if g := v.grips[o.grip[h]]; g.Implement != nil && g.Kept == nil && !g.Butt && g.Count == 1 {
			g.Count = 2
			o.grip[h], o.choice.Count = v.gripID(g), 2
		}
	}
}

// striking is the grip of the hand that strikes; the bare hand holds nothing.
func (v *solver) striking(ch kit.Choice) Grip {
	im := v.score.Catalogue.Implement(ch.Implement)
	if im == nil || im.Weight == kit.Nothing {
		return Grip{}
	}
	return Grip{Implement: im, Count: max(1, ch.Count), Butt: ch.Butt}
}
