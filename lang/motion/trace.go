package motion

import (
	"cmp"
	"slices"

	"handful/lang/body"
	"handful/lang/kit"
	"handful/lang/score"
)

// trace reads the paths back: the cheapest one, with its changes, spells and
// conflicts, and from the one that bears the highest tempo what limits it.
func (v *solver) trace(res *Result, layers [][]state, chosen [][]stageOption) {
	last := layers[len(layers)-1]
	if len(last) == 0 {
		return
	}
	best, top := 0, 0
	for i := range last {
		if last[i].cost < last[best].cost {
			best = i
		}
		if last[i].ratio > last[top].ratio {
			top = i
		}
	}
	res.Cost = last[best].cost
	res.Ceiling = last[top].ratio

	path := make([]int32, len(layers))
	path[len(layers)-1] = int32(best)
	for si := len(layers) - 1; si > 0; si-- {
		path[si-1] = layers[si][path[si]].back
	}
	chose := map[chosenKey]int{}
	for si := range v.stages {
		from, to := &layers[si][path[si]], &layers[si+1][path[si+1]]
		so := &chosen[si][to.opt]
		res.Changes = append(res.Changes, v.changes(si, from, to, so)...)
		v.conflicts(res, si, so)
		v.spells(res, si, from, to)
		v.chosen(res, chose, so)
	}
	// What the hands start with is known once they play: the first spell says.
	at := int32(top)
	for si := len(layers) - 1; si > 0; si-- {
		to := &layers[si][at]
		from := &layers[si-1][to.backRatio]
		if to.ratio <= res.Ceiling+eps && from.ratio > res.Ceiling+eps || from.backRatio < 0 && res.CeilingAt == nil {
			so := &chosen[si-1][to.optRatio]
			for _, c := range v.changes(si-1, from, to, so) {
				if res.CeilingAt == nil || c.Ratio < res.CeilingAt.Ratio {
					if c.Ratio <= res.Ceiling+eps {
						limit := c
						res.CeilingAt = &limit
					}
				}
			}
		}
		at = to.backRatio
	}
}

// changes lists what the hands do on the way into a stage.
func (v *solver) changes(si int, from, to *state, so *stageOption) []Change {
	var out []Change
	st := &v.stages[si]
	for q := 0; q < so.n; q++ {
		o, ev := so.parts[q], so.events[q]
		if o.places&(1<<to.place) == 0 {
			continue
		}
		for h := range 2 {
			if o.hands&(1<<h) == 0 {
				continue
			}
			var legs [4]timedLeg
			n := 0
			if to.grip[1-h] == 1 && from.grip[1-h] > 1 && !v.inStage(so, 1-h) {
				legs[0], n = v.passLeg(h, from, si, o, ev, to.grip[h], to.place), 1
			} else {
				legs, n = v.legsOf(si, from, h, o, ev, to.grip[h], to.place)
			}
			for i := range n {
				l := &legs[i]
				if len(l.motions) == 0 && l.window >= -eps && !l.bodyBound {
					continue
				}
				c := Change{
					Hand: limbOf(h), To: &v.events[ev], Motions: l.motions, Need: l.need, Start: l.start, Window: l.window,
					Before: v.grips[from.grip[h]], After: v.grips[to.grip[h]],
					Lays: l.lays > 0, Takes: l.takes > 0, Walks: l.walk,
				}
				if l.act != nil { // one of several set places in the same gap
					a := l.act
					c.To = &Event{T0: a.t, T1: a.t, Action: a.act, Span: a.span, Limbs: 1 << h, Kind: Set, index: -1}
					c.Before, c.After = v.grips[l.key.from], v.grips[l.key.to]
				} else if n > 1 {
					c.Before = v.grips[l.key.from]
				}
				if st.prevEv[h] >= 0 {
					c.From = &v.events[st.prevEv[h]]
				}
				if from.booked&(1<<h) != 0 && st.prevEv[1-h] >= 0 && (st.prevEv[h] < 0 || st.prevEnd[1-h] > st.prevEnd[h]) {
					c.From = &v.events[st.prevEv[1-h]]
				}
				if l.bodyBound {
					c.BodyBound = true
					c.Need, c.Window, c.Start = l.bodyNeed, l.ahead, st.t-l.ahead
					c.Motions, c.Walks = v.bodyMotions(l, to.place), true
				}
				c.Ratio = over(c.Window, c.Need.Floor)
				out = append(out, c)
			}
		}
	}
	if len(out) == 0 && from.place != to.place && so.n > 0 { // a foot alone is wanted elsewhere
		e := &v.events[so.events[0]]
		d := flat(v.places[from.place].At, v.places[to.place].At)
		c := Change{Hand: footOf(e.Limbs), To: e, Motions: v.player.Profile.Between(d, d > turnBeyond), Need: v.bodyNeed(from.place, to.place),
			Start: st.bodyBusy, Window: st.t - st.bodyBusy, Walks: true, BodyBound: true}
		for h := range 2 {
			if ev := st.prevEv[h]; ev >= 0 && (c.From == nil || v.events[ev].T1 > c.From.T1) {
				c.From = &v.events[ev]
			}
		}
		c.Ratio = over(c.Window, c.Need.Floor)
		if c.From != nil {
			out = append(out, c)
		}
	}
	return out
}

func footOf(limbs uint8) score.Limb {
	switch {
	case limbs&RF != 0:
		return score.RightFoot
	case limbs&LF != 0:
		return score.LeftFoot
	}
	return score.Mouth
}

// bodyMotions are the motions of a leg from when the body leaves.
func (v *solver) bodyMotions(l *timedLeg, place uint8) []body.Motion {
	d := flat(v.places[l.bodyFrom].At, v.places[place].At)
	out := slices.Clone(v.player.Profile.Between(d, d > turnBeyond))
	late := l.after
	for i := len(l.motions) - 1; i >= 0 && late.Floor > eps; i-- {
		late.Floor -= l.motions[i].Pace.Floor
		out = slices.Insert(out, len(out)-(len(l.motions)-1-i), l.motions[i])
	}
	return out
}

func (v *solver) inStage(so *stageOption, h int) bool {
	for q := 0; q < so.n; q++ {
		if so.parts[q].hands&(1<<h) != 0 {
			return true
		}
	}
	return false
}

func (v *solver) conflicts(res *Result, si int, so *stageOption) {
	for q := 0; q < so.n; q++ {
		e := &v.events[so.events[q]]
		if so.parts[q].conflict != 0 {
			res.Conflicts = append(res.Conflicts, Conflict{A: e, B: e, Kind: ConflictKind(so.parts[q].conflict - 1)})
		}
		for r := range q {
			f := &v.events[so.events[r]]
			switch {
			case so.parts[q].hands&so.parts[r].hands&Hands != 0:
				kind := BothHands
				if e.Kind == RollOn || f.Kind == RollOn {
					kind = NeedsTwo
				}
				res.Conflicts = append(res.Conflicts, Conflict{A: f, B: e, Kind: kind})
			case so.parts[q].places&so.parts[r].places == 0:
				res.Conflicts = append(res.Conflicts, Conflict{A: f, B: e, Kind: TwoStations})
			}
		}
	}
}

func (v *solver) spells(res *Result, si int, from, to *state) {
	st := &v.stages[si]
	for h := range 2 {
		list := res.Spells[h]
		if len(list) == 0 && from.grip[h] != 0 && to.grip[h] != from.grip[h] {
			list = append(list, Spell{Grip: v.grips[from.grip[h]], Place: int(from.place)})
		}
		if n := len(list); to.grip[h] != 0 && (n == 0 || list[n-1].Grip != v.grips[to.grip[h]] || list[n-1].Place != int(to.place)) {
			list = append(list, Spell{From: st.t, Event: &v.events[st.first], Grip: v.grips[to.grip[h]], Place: int(to.place)})
		}
		res.Spells[h] = list
	}
}

type chosenKey struct {
	cue    *score.Cue
	way    *kit.Way
	choice kit.Choice
}

func (v *solver) chosen(res *Result, seen map[chosenKey]int, so *stageOption) {
	for q := 0; q < so.n; q++ {
		o, e := so.parts[q], &v.events[so.events[q]]
		if e.Cue == nil || o.way == nil {
			continue
		}
		k := chosenKey{e.Cue, o.way, o.choice}
		i, ok := seen[k]
		if !ok {
			i = len(res.Chosen)
			seen[k] = i
			res.Chosen = append(res.Chosen, Chosen{Cue: e.Cue, Way: o.way, Choice: o.choice, First: e, Substitute: o.subst})
		}
		res.Chosen[i].Count++
		res.Chosen[i].Rolled = res.Chosen[i].Rolled || e.Kind == RollOn
	}
}

// HoldsAt is what a hand holds at a played second.
func (r *Result) HoldsAt(h score.Limb, t float64) Grip {
	list := r.Spells[h]
	i, found := slices.BinarySearchFunc(list, t, func(s Spell, t float64) int { return cmp.Compare(s.From, t) })
	if !found {
		i--
	}
	if i < 0 {
		if len(list) > 0 {
			return list[0].Grip
		}
		return Grip{}
	}
	return list[i].Grip
}
