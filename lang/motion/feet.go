package motion

import (
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// A stand is how long a foot goes on playing: from one stroke to the last
// before a rest. For as long it is on no other pedal.
type stand struct {
	from, to    float64
	first, last int32       // events
	item        *score.Item // nil: more than one
	foot        body.Limbs
}

// standing lists how the feet go on, if any way of playing a cue by hand takes
// a foot as well; nobody else need know.
func (v *solver) standing() {
	if !slices.ContainsFunc(v.player.Cues, wantsFoot) {
		return
	}
	v.goesOn(body.RF)
	v.goesOn(body.LF)
	if len(v.feet) == 0 {
		return
	}
	v.footing = make([]body.Limbs, len(v.events))
	for _, s := range v.feet {
		for i := s.first; i >= 0 && v.events[i].T0 >= s.from-eps; i-- {
			v.stamp(i, &s)
		}
		for i := s.first + 1; int(i) < len(v.events) && v.events[i].T0 <= s.to+eps; i++ {
			v.stamp(i, &s)
		}
	}
}

// goesOn lists how one foot goes on.
func (v *solver) goesOn(foot body.Limbs) {
	at := -1
	for i := range v.events {
		e := &v.events[i]
		if e.Limbs&foot == 0 || e.Limbs&droppedBit != 0 || e.Cue == nil {
			continue
		}
		if at < 0 || v.rested(v.feet[at].last, e) {
			at = len(v.feet)
			v.feet = append(v.feet, stand{e.T0, until(e), int32(i), int32(i), e.Cue.Item, foot})
			continue
		}
		s := &v.feet[at]
		s.to, s.last = max(s.to, until(e)), int32(i)
		if s.item != e.Cue.Item {
			s.item = nil
		}
	}
}

// stamp notes at an event that a foot is elsewhere.
func (v *solver) stamp(i int32, s *stand) {
	if e := &v.events[i]; e.Limbs&body.Hands != 0 && e.Cue != nil && e.Cue.Item != s.item {
		v.footing[i] |= s.foot
	}
}

// wantsFoot says whether a cue for hands may take a foot as well.
func wantsFoot(c *score.Cue) bool {
	return kit.KindOf(c.Limb) == kit.Hand && slices.ContainsFunc(c.Item.Inst.Ways, func(w *kit.Way) bool { return w.Feet > 0 })
}

// elsewhere are the feet that an event finds on other pedals.
func (v *solver) elsewhere(e *Event) body.Limbs {
	if v.footing == nil {
		return 0
	}
	return v.footing[e.index]
}

// feetOf is how many feet a way takes besides the hands. Who has raised a leg
// stands on the other.
func feetOf(w *kit.Way) int {
	if w.Feet > 0 && w.Stays {
		return 2
	}
	return w.Feet
}

// hasFeet says whether the feet that are free are enough for a way.
func hasFeet(w *kit.Way, busy body.Limbs) bool {
	return feetOf(w) <= 2-busy.Count()
}

// onFoot is what a foot plays when an event wants one more than there is.
func (v *solver) onFoot(e *Event) *Event {
	for i := range v.feet {
		if s := &v.feet[i]; s.from <= e.T0+eps && s.to >= e.T0-eps && s.item != e.Item() {
			at := s.first
			for k := s.first; k <= s.last && v.events[k].T0 <= e.T0+eps; k++ {
				if v.events[k].Limbs&s.foot != 0 && v.events[k].Cue != nil {
					at = k
				}
			}
			return &v.events[at]
		}
	}
	return e
}

// seatOf is how the body is when a thing is played in a way: on its own seat, on
// any, or standing on one leg.
func (v *solver) seatOf(it *score.Item, w *kit.Way) uint8 {
	switch {
	case w.Stays && w.Feet > 0:
		return stands
	case w.Seated && it.Inst.Seat == "itself":
		return uint8(min(int(sits)+1+int(v.spots[it]), 255))
	case w.Seated:
		return sits
	}
	return anySeat
}

// clash says whether two parts of a moment want the body to be in two ways, or
// more feet than there are.
func (o *option) clash(p *option) (ConflictKind, bool) {
	switch {
	case o.item == p.item:
	case o.seat != anySeat && p.seat != anySeat && o.seat != p.seat:
		return TwoSeats, true
	case o.feet+p.feet > 2:
		return NoFoot, true
	}
	return 0, false
}

// unseated is an event of the stage that was gathered with which both feet play,
// where the body does not sit.
func (v *solver) unseated(to *situation, so *stageOption) *Event {
	if to.seat >= sits {
		return nil
	}
	for q, o := range so.parts {
		e := &v.events[v.cur[q]]
		if o.seat == anySeat && o.feet > 0 && int(o.feet)+v.elsewhere(e).Count() == 2 && o.conflict == 0 {
			return e
		}
	}
	return nil
}

// footed lists how a foot can play a cue: in the first way of its mount that is
// for as many feet as play it.
func (v *solver) footed(e *Event) *kit.Way {
	c := e.Cue
	all := c.Item.Inst.Ways
	if c.Asks != nil {
		all = c.Asks.Ways
	}
	feet := 1
	for _, o := range v.player.Cues {
		if o.Item == c.Item && kit.KindOf(o.Limb) == kit.Foot && o.Limb != c.Limb {
			feet = 2
		}
	}
	best, most := (*kit.Way)(nil), 0
	for _, w := range all {
		if w.Limb != kit.Foot {
			continue
		}
		fits := 1
		if w.Mount == wanted(c) {
			fits += 4
		}
		if w.Hands == feet {
			fits += 2
		}
		if w.Named == "" || c.Asks != nil && c.Asks.Named != "" {
			fits++
		}
		if fits > most {
			best, most = w, fits
		}
	}
	return best
}
