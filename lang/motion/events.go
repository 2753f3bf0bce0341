package motion

import (
	"cmp"
	"slices"

	"handful/lang/beat"
	"handful/lang/kit"
	"handful/lang/score"
)

// played lists what a player does, in played order.
func played(s *score.Score, p *score.Player, anyHand map[*score.Cue]score.Limb, damps func(*score.Cue) bool) (events []Event, truncated bool) {
	spans := s.Time.Spans()
	total := 0
	for _, c := range p.Cues {
		eachSpan(s, spans, c, func(_, first, end int) { total += end - first })
	}
	events = make([]Event, 0, min(total+len(p.Actions), MaxEvents))
	for _, c := range p.Cues {
		limb := c.Limb
		if limb == score.AnyHand {
			limb = anyHand[c]
		}
		sticking := handsOf(c, limb)
		eachSpan(s, spans, c, func(k, first, end int) {
			for i := first; i < end; i++ {
				if len(events) >= MaxEvents {
					truncated = true
					return
				}
				st := &c.Strokes[i]
				e := Event{Cue: c, Stroke: int32(i), Span: int32(k), Limbs: sticking(i)}
				e.T0 = s.Time.Seconds(k, st.At)
				e.T1 = e.T0
				switch {
				case st.Has(score.Stop):
					if !damps(c) {
						continue
					}
					e.Kind = Stop
					e.Limbs = firstHand(e.Limbs)
				case st.Has(score.Roll):
					e.Kind = RollOn
					e.T1 = s.Time.Seconds(s.Lasts(k, st.End))
				}
				events = append(events, e)
			}
		})
	}
	for _, a := range p.Actions {
		if a.Kind != score.Damp && a.Kind != score.TurnPage {
			continue
		}
		for k := range spans {
			sp := &spans[k]
			if a.Pass != 0 && sp.Pass != a.Pass || a.Bar < sp.From || a.Bar > sp.To {
				continue
			}
			e := Event{Action: a, Span: int32(k), Kind: Stop, T0: s.Time.Seconds(k, a.At)}
			e.T1 = e.T0
			e.Limbs = bits(a.Limb)
			if a.Kind == score.TurnPage {
				e.Kind = PageTurn
				e.T1 = e.T0 + p.Profile.TurnPage(40).Pace.Floor
			}
			events = append(events, e)
		}
	}
	sorted := slices.IsSortedFunc(events, func(a, b Event) int { return cmp.Compare(a.T0, b.T0) })
	if !sorted {
		slices.SortStableFunc(events, func(a, b Event) int { return cmp.Compare(a.T0, b.T0) })
	}
	for i := range events {
		if e := &events[i]; e.Kind == PageTurn && e.Action.Limb == score.AnyHand {
			e.Limbs = freerHand(events, i)
		}
	}
	return events, truncated
}

// freerHand is the hand that has more time around an event.
func freerHand(events []Event, at int) uint8 {
	room := func(hand uint8) float64 {
		before, after := events[at].T0, 1e9
		for i := at - 1; i >= 0; i-- {
			if events[i].Limbs&hand != 0 {
				before -= events[i].T1
				break
			}
		}
		for i := at + 1; i < len(events); i++ {
			if events[i].Limbs&hand != 0 {
				after = events[i].T0 - events[at].T0
				break
			}
		}
		return min(before, after)
	}
	if room(L) > room(R) {
		return L
	}
	return R
}

// eachSpan visits the stretches of the time line in which a cue plays, with
// the strokes that it plays there.
func eachSpan(s *score.Score, spans []beat.Span, c *score.Cue, visit func(span, first, end int)) {
	if len(c.Strokes) == 0 {
		return
	}
	for k := range spans {
		sp := &spans[k]
		if c.Pass != 0 && sp.Pass != c.Pass || sp.To < c.From || sp.From > c.To {
			continue
		}
		first, end := at(c.Strokes, s.Grid.Start(sp.From)), at(c.Strokes, s.Grid.Start(sp.To+1))
		if first < end {
			visit(k, first, end)
		}
	}
}

func at(s []score.Stroke, from beat.Rat) int {
	i, _ := slices.BinarySearchFunc(s, from, func(s score.Stroke, r beat.Rat) int { return s.At.Cmp(r) })
	return i
}

func firstHand(limbs uint8) uint8 {
	if limbs&R != 0 {
		return R
	}
	if limbs&L != 0 {
		return L
	}
	return limbs
}

func bits(l score.Limb) uint8 {
	switch l {
	case score.Left:
		return L
	case score.RightFoot:
		return RF
	case score.LeftFoot:
		return LF
	case score.Mouth:
		return M
	case score.Together:
		return Hands
	}
	return R
}

// handsOf says which limbs strike each stroke of a cue. Hand to hand means
// alternating from the named hand; written sticking starts it afresh; a roll
// takes both.
func handsOf(c *score.Cue, limb score.Limb) func(i int) uint8 {
	if limb != score.RightFirst && limb != score.LeftFirst && limb != score.Together {
		b := bits(limb)
		return func(int) uint8 { return b }
	}
	hands := make([]uint8, len(c.Strokes))
	next := R
	if limb == score.LeftFirst {
		next = L
	}
	for i := range c.Strokes {
		st := &c.Strokes[i]
		switch {
		case st.Hand == 'R':
			hands[i], next = R, L
		case st.Hand == 'L':
			hands[i], next = L, R
		case st.Has(score.Roll) || limb == score.Together:
			hands[i] = Hands
		case !st.Sounds():
			hands[i] = next
		default:
			hands[i] = next
			next ^= Hands
		}
	}
	return func(i int) uint8 { return hands[i] }
}

// handDamps says whether a written stop on the cue's instrument takes a hand:
// some are stopped by the knee, the body or a pedal, or stop by themselves.
func handDamps(c *score.Cue) bool {
	in := c.Item.Inst
	if in.Rings == 0 {
		return false
	}
	var w *kit.Way
	for _, way := range in.Ways {
		if way.Mount == wanted(c) {
			w = way
			break
		}
	}
	by := in.Stops(w)
	return len(by) == 0 || slices.Contains(by, "hand") || slices.Contains(by, "fingers")
}

// wanted is the mount the cue is played on: its own, the kit's, or the
// instrument's usual one.
func wanted(c *score.Cue) kit.Mount {
	switch {
	case c.Mount != kit.AnyMount:
		return c.Mount
	case c.Item.Mount != kit.AnyMount:
		return c.Item.Mount
	}
	return c.Item.Inst.Usual().Mount
}

// Wanted is the mount a cue is played on.
func Wanted(c *score.Cue) kit.Mount { return wanted(c) }
