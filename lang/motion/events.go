package motion

import (
	"math"
	"slices"
	"sort"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// played lists what a player does, in played order.
func (v *solver) played(anyHand map[*score.Cue]body.Limb) (events []Event, truncated bool) {
	s, p := v.score, v.player
	l := lister{score: s, player: p, spans: s.Time.Spans()}
	kept := v.keptCues()
	l.count(kept)
	l.events = v.eventRoom(min(l.total+len(p.Actions), maxEvents))
	free := feetFree(p)
	for i, c := range p.Cues {
		if kept[c] {
			continue
		}
		limb := c.Limb
		if limb == body.AnyHand {
			limb = anyHand[c]
		}
		l.damps = takesHand(c, free)
		a := &v.cues[i]
		if !a.known {
			a.places, a.known = v.chart.ofCue(c, v.sets.ofCue(c)), true
			a.fingers = l.fingered(c, limb, a.places, &v.chart)
		}
		if twos := doubles(c, limb, a.fingers, a.places); twos != 0 {
			v.twos[c] = twos
		}
		l.fingers = a.fingers
		l.cue(c, handsOf(c, limb, a.fingers))
	}
	l.actions()
	if v.lent != nil {
		v.lent.merging = inOrderWith(l.events, v.lent.merging)
	} else {
		inOrder(l.events)
	}
	if kept != nil {
		if l.events = v.amongKept(kept, l.events); l.truncated || len(l.events) > maxEvents {
			v.paired = nil // which ones are left out is not told by what is kept
			return v.played(anyHand)
		}
	}
	return l.events, l.truncated
}

// A lister lists what a player does, one cue after the other.
type lister struct {
	score     *score.Score
	player    *score.Player
	spans     []beat.Span
	events    []Event
	truncated bool
	damps     bool        // to stop the present cue's instrument takes a hand
	fingers   []fingering // of the present cue's strokes, where they say what they strike
	total     int         // strokes, each time that they are played
	hands     *fingers    // once there are notes for two
}

// cue lists a cue's strokes, every time that they are played.
func (l *lister) cue(c *score.Cue, sticking handing) {
	eachSpan(l.score, l.spans, c, func(k, first, end int) {
		for i := first; i < end; i++ {
			if len(l.events) >= maxEvents {
				l.truncated = true
				return
			}
			e := Event{Cue: c, Stroke: int32(i), Span: int32(k)}
			e.Limbs, e.Grace = sticking.of(c, i)
			if l.fingers != nil {
				e.Left = l.fingers[i].left
			}
			l.stroke(&e)
		}
	})
}

// stroke lists a stroke, and its stop if it is a short one that a hand has to
// stop.
func (l *lister) stroke(e *Event) {
	st := &e.Cue.Strokes[e.Stroke]
	switch {
	case st.Has(score.Stop):
		if l.stops(e, st) {
			e.Kind, e.Limbs, e.Grace = Stop, 0, 0
			l.add(e)
		}
	case st.Has(score.Roll):
		e.Kind = RollOn
		l.add(e)
	default:
		l.add(e)
		if in := e.Cue.Item.Inst; st.Has(score.Short) && in.Rings >= ringsOn && !in.DryByStroke() && l.stops(e, st) {
			e.Kind, e.Limbs, e.Grace = Choke, 0, 0
			l.add(e)
		}
	}
}

// add adds an event at its time.
func (l *lister) add(e *Event) {
	setTime(l.score, l.player, e)
	l.events = append(l.events, *e)
}

// setTime gives an event its time.
func setTime(s *score.Score, p *score.Player, e *Event) {
	k := int(e.Span)
	e.T0 = s.Time.Seconds(k, e.At())
	switch e.Kind {
	case Choke:
		a, b := chokeAfter(s, e)
		e.T0 += min(a, b)
	case RollOn:
		e.T1 = s.Time.Seconds(s.Lasts(k, e.Cue.Strokes[e.Stroke].End))
		return
	case PageTurn:
		e.T1 = e.T0 + p.Profile.TurnPage().Pace.Floor
		return
	}
	e.T1 = e.T0
}

// stops says whether stopping the ring at a stroke is left to a hand, and the
// text gives it to none itself.
func (l *lister) stops(e *Event, st *score.Stroke) bool {
	return l.damps && !damped(l.player, e.Cue, st.At, l.spans[e.Span].Pass)
}

// count counts the strokes of the cues that are not kept.
func (l *lister) count(kept map[*score.Cue]bool) {
	for _, c := range l.player.Cues {
		if !kept[c] {
			eachSpan(l.score, l.spans, c, func(_, first, end int) { l.total += end - first })
		}
	}
}

// actions lists what the text tells limbs to do at set places.
func (l *lister) actions() {
	for _, a := range l.player.Actions {
		if a.Kind == score.Damp || a.Kind == score.TurnPage {
			l.action(a)
		}
	}
}

// action lists what the text tells a limb to damp, or a page that it turns,
// every time that this comes up.
func (l *lister) action(a *score.Action) {
	for k := range l.spans {
		sp := &l.spans[k]
		if a.Pass != 0 && sp.Pass != a.Pass || a.Bar < sp.From || a.Bar > sp.To {
			continue
		}
		e := Event{Action: a, Span: int32(k), Kind: Stop}
		if a.Limb != body.AnyHand {
			e.Limbs = body.Of(a.Limb)
		}
		if a.Kind == score.TurnPage {
			e.Kind = PageTurn
		}
		l.add(&e)
	}
}

// inOrder sorts events by time; what is at one time stays in the order of its
// cues. Cues are in order themselves, mostly one after the other or two side by
// side, so that neighbouring runs have little to merge.
func inOrder(events []Event) { inOrderWith(events, nil) }

// inOrderWith is inOrder with room for what has to make room; it returns that room.
func inOrderWith(events, left []Event) []Event {
	var ends []int // of the runs that are in order
	for i := 1; i < len(events); i++ {
		if events[i].T0 < events[i-1].T0 {
			ends = append(ends, i)
		}
	}
	ends = append(ends, len(events))
	for len(ends) > 1 {
		kept, from := ends[:0], 0
		for i := 0; i < len(ends); i += 2 {
			end := ends[min(i+1, len(ends)-1)]
			left = merge(events[from:end], ends[i]-from, left)
			kept = append(kept, end)
			from = end
		}
		ends = kept
	}
	return left
}

// merge makes one run of two, of which the second begins at mid. The buffer is
// for what has to make room.
func merge(list []Event, mid int, buffer []Event) []Event {
	if mid == len(list) {
		return buffer
	}
	first := sort.Search(mid, func(i int) bool { return list[i].T0 > list[mid].T0 })
	end := mid + sort.Search(len(list)-mid, func(i int) bool { return list[mid+i].T0 >= list[mid-1].T0 })
	buffer = append(buffer[:0], list[first:mid]...)
	next := mid
	for at, i := first, 0; i < len(buffer); at++ {
		if next < end && list[next].T0 < buffer[i].T0 {
			list[at] = list[next]
			next++
		} else {
			list[at] = buffer[i]
			i++
		}
	}
	return buffer
}

// ringsOn is from how many seconds of ringing a short stroke has to be
// stopped: common practice, no source.
const ringsOn = 1

// A short stroke is stopped a quarter of a second after it, or half way to
// the cue's next stroke if that is sooner: common practice, no source.
const chokeSeconds = 0.25

// chokeAfter is how long after a short stroke its ring is to be stopped: at
// most a seconds, at most b, which is a share of the music's own time.
func chokeAfter(s *score.Score, e *Event) (a, b float64) {
	k := int(e.Span)
	t := s.Time.Seconds(k, e.At())
	i := int(e.Stroke) + 1
	if i >= len(e.Cue.Strokes) || int(e.Cue.Strokes[i].Bar) > s.Time.Spans()[k].To {
		return chokeSeconds, math.MaxFloat32
	}
	return chokeSeconds, (s.Time.Seconds(k, e.Cue.Strokes[i].At) - t) / 2
}

// damped says whether the text gives a stop to a limb at a place itself.
func damped(p *score.Player, c *score.Cue, at beat.Rat, pass int) bool {
	for _, a := range p.Actions {
		if a.Kind == score.Damp && a.Item == c.Item && a.At == at && (a.Pass == 0 || a.Pass == pass) {
			return true
		}
	}
	return false
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
		from, to := s.Grid.Start(sp.From), s.Grid.Start(sp.To+1)
		first, end := 0, len(c.Strokes) // mostly all of them are played in a stretch
		if c.Strokes[0].At.Less(from) {
			first = at(c.Strokes, from)
		}
		if !c.Strokes[end-1].At.Less(to) {
			end = at(c.Strokes, to)
		}
		if first < end {
			visit(k, first, end)
		}
	}
}

func at(s []score.Stroke, from beat.Rat) int {
	i, _ := slices.BinarySearchFunc(s, from, func(s score.Stroke, r beat.Rat) int { return s.At.Cmp(r) })
	return i
}

// handsOf says which limbs strike each stroke of a cue, and which other hand
// plays its grace strokes. Hand to hand means alternating from the named hand;
// written sticking starts it afresh; a roll takes both.
func handsOf(c *score.Cue, limb body.Limb, fingers []fingering) handing {
	if limb != body.RightFirst && limb != body.LeftFirst && limb != body.Together {
		return handing{all: body.Of(limb)}
	}
	hands := make([]body.Limbs, len(c.Strokes))
	next := body.R
	if limb == body.LeftFirst {
		next = body.L
	}
	for i := range c.Strokes {
		st := &c.Strokes[i]
		switch {
		case fingers != nil:
			hands[i] = fingers[i].limbs
		case st.Hand == 'R':
			hands[i], next = body.R, body.L
		case st.Hand == 'L':
			hands[i], next = body.L, body.R
		case st.Has(score.Roll) || limb == body.Together:
			hands[i] = body.Hands
		case !st.Sounds():
			hands[i] = next
		default:
			hands[i] = next
			next ^= body.Hands
		}
	}
	return handing{each: hands}
}

// A handing says which limbs strike the strokes of a cue.
type handing struct {
	all  body.Limbs
	each []body.Limbs // of each stroke; nil: all of them
}

// of is which limbs strike a stroke, and which other hand plays its grace strokes.
func (h *handing) of(c *score.Cue, i int) (strikes, grace body.Limbs) {
	switch {
	case h.each == nil:
		return h.all, 0
	case c.Strokes[i].Grace > 0:
		return h.each[i], body.Hands &^ h.each[i]
	}
	return h.each[i], 0
}

// feetFree says whether the player has a foot that no cue uses, for a damper
// pedal.
func feetFree(p *score.Player) bool {
	used := body.Limbs(0)
	for _, c := range p.Cues {
		used |= body.Of(c.Limb) & (body.Feet)
	}
	return used != body.Feet
}

// takesHand says whether a written stop on the cue's instrument takes a hand:
// some are stopped by the knee, the body, a pedal or the hand that holds them,
// or stop by themselves.
func takesHand(c *score.Cue, footFree bool) bool {
	if c.Item.Inst.Rings == 0 {
		return false
	}
	hand := false
	by := stopsBy(c.Item, wanted(c))
	for _, what := range by {
		switch kit.StopNamed(what) {
		case kit.StopHand:
			hand = true
		case kit.StopPedal:
			if footFree {
				return false
			}
		case kit.StopNothing:
			return false
		}
	}
	return hand || len(by) == 0
}

// stopsBy is what stops the ring of an item as it is mounted.
func stopsBy(it *score.Item, mount kit.Mount) []string {
	return it.Inst.Stops(wayOf(it.Inst, func(w *kit.Way) bool { return w.Mount == mount }))
}

// wanted is the mount the cue is played on: its own, the kit's, or the
// instrument's usual one.
func wanted(c *score.Cue) kit.Mount {
	said := c.SaidMount()
	switch {
	case said != kit.AnyMount:
		return said
	case c.Item.Mount != kit.AnyMount:
		return c.Item.Mount
	}
	return c.Item.Inst.Usual().Mount
}

// Wanted is the mount a cue is played on.
func Wanted(c *score.Cue) kit.Mount { return wanted(c) }

// OtherStops are the stops that a player's lines have and that are no event of the
// path, since no hand is looked for: a pedal or the body makes them, or a limb that the
// text names. They come line by line, each time that they are played.
func (r *Result) OtherStops(s *score.Score) []Event {
	var out []Event
	spans := s.Time.Spans()
	l := lister{score: s, player: r.Player, spans: spans}
	free := feetFree(r.Player)
	for _, c := range r.Player.Cues {
		if !slices.ContainsFunc(c.Strokes, func(st score.Stroke) bool { return st.Has(score.Stop) }) {
			continue
		}
		l.damps = takesHand(c, free)
		eachSpan(s, spans, c, func(k, first, end int) {
			for i := first; i < end; i++ {
				st := &c.Strokes[i]
				e := Event{Cue: c, Stroke: int32(i), Span: int32(k), Kind: Stop}
				if st.Has(score.Stop) && !l.stops(&e, st) {
					e.T0 = s.Time.Seconds(k, st.At)
					e.T1 = e.T0
					out = append(out, e)
				}
			}
		})
	}
	return out
}
