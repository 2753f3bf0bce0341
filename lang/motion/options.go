package motion

import (
	"slices"

	"handful/lang/kit"
	"handful/lang/score"
)

// anyGrip in an option leaves the hand holding what it holds.
const anyGrip = ^uint16(0)

// An option is one way of doing what a moment asks for: what each hand holds
// for it, from which places it can be reached, and what it costs in sound.
type option struct {
	grip     [2]uint16
	hands    uint8  // hands that are busy with it
	need     uint8  // hands that strike or damp, and so travel there
	places   uint64 // places from which it can be done
	cost     int64
	conflict uint8 // a ConflictKind + 1, or 0
	way      *kit.Way
	choice   kit.Choice
	subst    bool
	id       int32 // among all options of the player
	// free marks a page turn: the hand must have nothing but one light thing.
	free bool
}

// A demand is what an event asks for; events with equal demands have the same
// options.
type demand struct {
	cue   *score.Cue
	act   *score.Action
	limbs uint8
	kind  EventKind
}

// Costs that order the paths, in units of a thousandth of a point. What must
// not happen outweighs any number of what should not.
const (
	costImpossible = int64(1e12) // a change below the floor, or a conflict
	costShortfall  = int64(1e9)  // and for every second that is missing
	costTight      = int64(1e7)  // a change below the steady pace
	costTightness  = int64(1e6)  // and for every second
	costCompromise = int64(1e5)  // a stretch played in a way that costs sound
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
	d := demand{e.Cue, e.Action, e.Limbs, e.Kind}
	if list, ok := v.demands[d]; ok {
		return list
	}
	var list []option
	switch {
	case e.Limbs&Hands == 0:
		list = []option{{grip: [2]uint16{anyGrip, anyGrip}, places: v.reaches(e.Item(), e.Limbs)}}
		if e.Cue != nil {
			list[0].way = wayOf(e.Cue.Item.Inst, func(w *kit.Way) bool { return w.Limb != kit.Hand })
		}
	case e.Kind == PageTurn:
		list = []option{{grip: [2]uint16{anyGrip, anyGrip}, hands: e.Limbs, need: 0, places: ^uint64(0), free: true}}
	case e.Kind == Stop:
		list = []option{{grip: [2]uint16{anyGrip, anyGrip}, hands: e.Limbs & Hands, need: e.Limbs & Hands, places: v.reaches(e.Item(), e.Limbs)}}
	default:
		list = v.playing(e)
	}
	for i := range list {
		list[i].id = int32(v.options)
		v.options++
	}
	v.demands[d] = list
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

// playing lists the ways in which a cue's stroke can be played by its hands.
func (v *solver) playing(e *Event) []option {
	c := e.Cue
	in := c.Item.Inst
	mount := wanted(c)
	roll := e.Kind == RollOn
	var list []option
	add := func(w *kit.Way, ch kit.Choice, subst bool) {
		o, ok := v.option(e, w, ch)
		if !ok {
			return
		}
		o.subst = subst
		if subst {
			o.cost += costCompromise
		}
		list = append(list, o)
	}
	try := func(fits func(*kit.Way) bool) {
		for _, w := range in.Ways {
			if w.Limb != kit.Hand || w.Mount != mount || !fits(w) {
				continue
			}
			if len(w.With) == 0 {
				if len(c.With) == 0 {
					add(w, kit.Choice{}, false)
				}
				continue
			}
			for _, ch := range w.With {
				if len(c.With) > 0 {
					want := c.With[0]
					switch {
					case want.Implement != ch.Implement:
						continue
					case w.Hands == 2:
						if want.Count == 2 && !c.Limb.TwoHands() {
							continue // two in one hand, not one in each
						}
					case want.Count == 2 && ch.Count == 1:
						if roll {
							continue
						}
						ch.Count = 2 // strikes with one of the two that it holds
					case want.Count < ch.Count:
						continue
					}
				} else if !v.brought[ch.Implement] {
					continue // nobody brings an implement that nothing asks for
				}
				add(w, ch, false)
			}
		}
	}
	// What costs sound is played when the cue asks for it, by its mount or its
	// implement, or when there is no other way; never to save a change.
	// But a roll that one hand can make is open where the other is busy.
	if roll {
		try(func(w *kit.Way) bool { return w.Rolls })
	} else {
		try(func(w *kit.Way) bool { return w.Costs == "" })
	}
	if len(list) == 0 && !roll {
		try(func(*kit.Way) bool { return true })
	}
	if len(list) == 0 && roll { // no way of rolling it so: as strokes go
		try(func(*kit.Way) bool { return true })
		for i := range list {
			list[i].conflict = uint8(NeedsTwo) + 1
			list[i].cost += costImpossible
		}
	}
	if len(list) == 0 { // not with that implement, or not mounted like that
		w := wayOf(in, func(w *kit.Way) bool {
			return w.Limb == kit.Hand && w.Mount == mount && (len(w.With) > 0 || len(c.With) == 0)
		})
		if w == nil {
			w = wayOf(in, func(w *kit.Way) bool { return w.Limb == kit.Hand && (w.Fixed() || mount == kit.Held) })
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
		add(w, ch, true)
		if roll && !w.Rolls || roll && ch.Count == 2 && w.Hands == 1 {
			for i := range list {
				list[i].conflict = uint8(NeedsTwo) + 1
				list[i].cost += costImpossible
			}
		}
	}
	return list
}

// bring lists the implements that the player has at hand: those that the text
// names, and for every cue that names none the usual one, and the usual one
// for its rolls.
func (v *solver) bring() {
	v.brought = map[string]bool{}
	for _, h := range v.player.Holds {
		if h.Implement != nil {
			v.brought[h.Implement.ID] = true
		}
	}
	for _, a := range v.player.Actions {
		if a.Implement != nil {
			v.brought[a.Implement.ID] = true
		}
	}
	for _, c := range v.player.Cues {
		if len(c.With) > 0 {
			v.brought[c.With[0].Implement] = true
			continue
		}
		mount, rolls := wanted(c), slices.ContainsFunc(c.Strokes, func(s score.Stroke) bool { return s.Has(score.Roll) })
		plain := false
		for _, w := range c.Item.Inst.Ways {
			if w.Mount != mount || w.Limb != kit.Hand || len(w.With) == 0 || plain && !(rolls && w.Rolls) {
				continue
			}
			v.brought[w.With[0].Implement] = true
			plain, rolls = true, rolls && !w.Rolls
		}
	}
}

// option works out who holds what when an event is played in a given way.
func (v *solver) option(e *Event, w *kit.Way, ch kit.Choice) (option, bool) {
	o := option{grip: [2]uint16{anyGrip, anyGrip}, way: w, choice: ch, need: e.Limbs & Hands, hands: e.Limbs & Hands}
	item := e.Cue.Item
	striker := v.gripID(v.striking(ch))
	holder := v.gripID(Grip{Inst: item, Count: 1})
	both := e.Limbs&Hands == Hands
	one := 0
	if e.Limbs&L != 0 {
		one = 1
	}
	if w.Costs != "" {
		o.cost += costCompromise
	}
	switch {
	case w.Mount == kit.Held && w.Hands == 2 && len(w.With) == 0: // a pair: both hands full
		o.grip, o.hands = [2]uint16{holder, holder}, Hands
	case w.Mount == kit.Held && w.Hands == 2: // one hand holds, the other strikes
		o.hands = Hands
		if both {
			one = 0
		}
		o.need = 1 << one
		o.grip[one], o.grip[1-one] = striker, holder
	case w.Mount == kit.Held: // the striking hand holds it
		o.grip[one] = holder
		if both {
			o.grip = [2]uint16{holder, holder}
		}
	case w.Hands == 2 && (both || e.Kind == RollOn):
		o.grip = [2]uint16{striker, striker}
		o.hands, o.need = Hands, Hands
	default: // an implement in each hand that plays
		o.grip[one] = striker
		if both {
			o.grip = [2]uint16{striker, striker}
		}
	}
	if w.Fixed() && w.Mount != kit.OnBody {
		o.places = v.reaches(item, e.Limbs)
	} else {
		o.places = ^uint64(0)
	}
	return o, true
}

// striking is the grip of the hand that strikes; the bare hand holds nothing.
func (v *solver) striking(ch kit.Choice) Grip {
	im := v.score.Catalogue.Implement(ch.Implement)
	if im == nil || im.Weight == kit.Nothing {
		return Grip{}
	}
	return Grip{Implement: im, Count: max(1, ch.Count)}
}
