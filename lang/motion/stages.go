package motion

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
)

// A stage is a moment at which some limb begins something new: the events
// that begin there together, and what was before. Between stages limbs go on
// with what they do.
type stage struct {
	first  int32 // event
	count  int32
	prevEv [3]int32 // with which event the right hand, the left and the mouth were last busy; -1 is none
	bodyEv int32    // the event of any limb that ended last
}

// time is when a stage begins.
func (v *solver) time(st *stage) float64 { return v.events[st.first].T0 }

// The limbs that are followed from stage to stage; the feet are one.
const (
	trackMouth = 2
	trackFeet  = 3
)

func uses(e *Event, track int) bool {
	switch track {
	case trackMouth:
		return e.Limbs&body.M != 0
	case trackFeet:
		return e.Limbs&(body.Feet) != 0
	}
	return e.Hands()&(1<<track) != 0
}

// droppedBit marks an event that is left out of the path.
const droppedBit body.Limbs = 1 << 7

// until is when an event ends, but for what its own motion takes.
func until(e *Event) float64 {
	if e.Kind == RollOn {
		return e.T1
	}
	return e.T0
}

// overlaps finds limbs that are booked twice at once, and leaves the later
// booking out of the path.
func (v *solver) overlaps(res *Result) []bool {
	dropped := make([]bool, len(v.events))
	last := [5]int{-1, -1, -1, -1, -1}
	joint := [5]int{-1, -1, -1, -1, -1} // the latest that goes with another
	for i := range v.events {
		e := &v.events[i]
		for b := range last {
			if e.Limbs&(1<<b) == 0 {
				continue
			}
			j := last[b]
			if j >= 0 && joint[b] != j && v.join(&v.events[j], e, b) {
				joint[b] = i
			} else if j >= 0 && e.disturbs(&v.events[j]) {
				res.Conflicts = append(res.Conflicts, Conflict{A: &v.events[j], B: e, Kind: SameLimb})
				dropped[i] = true
			}
			if !dropped[i] && (j < 0 || until(e) >= until(&v.events[j])) {
				last[b] = i
			}
		}
	}
	for h := range v.acts {
		v.acts[h] = v.clashing(h, res, dropped)
	}
	return dropped
}

// disturbs says whether a limb's event begins while it is at another one. What
// one cue asks for goes on from itself.
func (e *Event) disturbs(f *Event) bool {
	return (f.Cue != e.Cue || e.Cue == nil) && (e.T0 < until(f)-eps || e.T0 < f.T0+eps)
}

// clashing finds the takes and lays that are set where the hand plays, and
// leaves them out.
func (v *solver) clashing(h int, res *Result, dropped []bool) []timed {
	kept := v.acts[h][:0]
	at := 0
	for _, a := range v.acts[h] {
		for at < len(v.events) && (v.events[at].T0 < a.t-eps && until(&v.events[at]) <= a.t+eps || v.events[at].Limbs&(1<<h) == 0 || dropped[at]) {
			at++
		}
		if at < len(v.events) && v.events[at].T0 <= a.t+eps {
			set := v.setEvent(h, &a)
			res.Conflicts = append(res.Conflicts, Conflict{A: &v.events[at], B: set, Kind: SameLimb})
			continue
		}
		kept = append(kept, a)
	}
	return kept
}

// setEvent is a take or a lay at a set place, as an event.
func (v *solver) setEvent(h int, a *timed) *Event {
	return &Event{T0: a.t, T1: a.t, Action: a.act, Span: a.span, Limbs: 1 << h, Kind: Set, index: -1}
}

// layStages finds the moments at which something new begins.
func (v *solver) layStages(dropped []bool, before *resumed) {
	l := layer{solver: v, dropped: dropped, laying: laying{newest: -1, bodyEv: -1}}
	for h := range l.tracks {
		l.tracks[h].last, l.tracks[h].ended = -1, -1
	}
	if c := v.course; c != nil {
		v.stages, v.halts = make([]stage, 0, len(c.stages)+32), make([]halt, 0, len(c.halts)+8)
	}
	for i := before.layFirst(&l); i < len(v.events); {
		if before.layRest(&l, i) {
			return
		}
		l.halt(i)
		j := i
		for j < len(v.events) && v.events[j].T0 <= v.events[i].T0+eps {
			j++
		}
		if l.acted(v.events[i].T0) || l.fresh(i, j) {
			l.begin(i, j)
		}
		l.played(i, j)
		i = j
	}
}

// A track is what a limb is at.
type track struct {
	cue   *score.Cue
	kind  EventKind
	last  int32 // event
	ended int32 // event that ended last
}

// A layer goes through the events, moment by moment, and lays the stages.
type layer struct {
	*solver
	dropped []bool
	laying
}

// laying is what a layer knows of what came before a moment.
type laying struct {
	tracks [4]track
	comeUp [2]int // how many takes and lays at set places have
	newest int32  // the latest event at which a stage began
	bodyEv int32
}

// A halt is how far a layer was before a moment, so that another one can go on from there.
type halt struct {
	event, stages int32
	laying
}

// haltEvery is from how many events on there is another halt; tests have more of them.
var haltEvery = 128

// halt notes how far the layer is before an event with which a moment begins, now and then.
func (l *layer) halt(event int) {
	next := haltEvery
	if n := len(l.halts); n > 0 {
		next += int(l.halts[n-1].event)
	}
	if l.remembers && event >= next {
		l.halts = append(l.halts, halt{int32(event), int32(len(l.stages)), l.laying})
	}
}

// acted says whether a take or a lay at a set place has come up by a moment.
// What is set to happen happens before the next thing, whatever hand that is.
func (l *layer) acted(t float64) bool {
	acted := false
	for h := range l.acts {
		for l.comeUp[h] < len(l.acts[h]) && l.acts[h][l.comeUp[h]].t <= t+eps {
			l.comeUp[h]++
			acted = true
		}
	}
	return acted
}

// fresh says whether one of the events of a moment is not just the next stroke
// of what its limbs are at.
func (l *layer) fresh(from, to int) bool {
	for k := from; k < to; k++ {
		e := &l.events[k]
		if l.dropped[k] {
			continue
		}
		if e.Limbs == 0 {
			return true
		}
		for h := range l.tracks {
			t := &l.tracks[h]
			if uses(e, h) && (t.cue != e.Cue || e.Cue == nil || t.kind != e.Kind || t.last < l.newest || l.rested(t.ended, e) || e.Grace != 0 || e.Kind == RollOn && l.movesOn(t.last, e, h)) {
				return true
			}
		}
	}
	return false
}

// movesOn says whether a hand rolls on another bar or drum than it did last.
func (l *layer) movesOn(last int32, e *Event, h int) bool {
	if last < 0 || h >= trackMouth {
		return false
	}
	to, from := struck(l.laid, e, h), struck(l.laid, &l.events[last], h)
	return to != nil && from != nil && to.elsewhere(from)
}

// begin begins a stage.
func (l *layer) begin(from, to int) {
	st := stage{first: int32(from), count: int32(to - from), bodyEv: l.bodyEv}
	for h := range st.prevEv {
		st.prevEv[h] = l.tracks[h].ended
	}
	if len(l.stages) == cap(l.stages) { // twice as many: there are as many as events at the most, and seldom few
		l.stages = slices.Grow(l.stages, max(len(l.stages), 32))
	}
	l.stages = append(l.stages, st)
	l.newest = int32(from)
	if to-from > 1 && l.contested(len(l.stages)-1, l.dropped) {
		l.newest = int32(to) // what is lost here is lost once: the next stroke is a new thing
	}
}

// played moves the tracks on behind a moment.
func (l *layer) played(from, to int) {
	later := func(e *Event, than int32) bool { return than < 0 || until(e) >= until(&l.events[than])-eps }
	for k := from; k < to; k++ {
		e := &l.events[k]
		if l.dropped[k] {
			e.Limbs |= droppedBit
			continue
		}
		for h := range l.tracks {
			if uses(e, h) {
				t := &l.tracks[h]
				t.cue, t.kind = e.Cue, e.Kind
				if t.last >= int32(from) { // two with one motion: whichever goes on, the other is over
					t.cue = nil
				}
				t.last = int32(k)
				if later(e, t.ended) {
					t.ended = int32(k)
				}
			}
		}
		if later(e, l.bodyEv) {
			l.bodyEv = int32(k)
		}
	}
}

// contested says whether a stage cannot be played without a conflict.
func (v *solver) contested(si int, dropped []bool) bool {
	st := &v.stages[si]
	v.cur = v.cur[:0]
	for k := st.first; k < st.first+st.count; k++ {
		if !dropped[k] {
			v.cur = append(v.cur, k)
		}
	}
	for _, so := range v.stageOptions() {
		if !so.conflict {
			return false
		}
	}
	return true
}

// rested says whether there is a silence before an event in which a hand may
// do something else, or a jump of the road.
func (v *solver) rested(before int32, e *Event) bool {
	if before < 0 || e.Cue == nil {
		return false
	}
	return rested(&v.events[before], e)
}

// rested says whether there is a silence between two events in which a limb may
// do something else, or a jump of the road.
func rested(f, e *Event) bool {
	if f.Span != e.Span || f.Cue == nil {
		return true
	}
	return restGap.Less(e.At().Sub(f.Cue.Strokes[f.Stroke].End))
}

// timed is a take or a lay at a set place.
type timed struct {
	t    float64
	span int32
	act  *score.Action
	grip uint16 // what the hand has then; of a lay, where that is all it has
}

// after is what a hand holds after a take or a lay at a set place. What is laid
// by its name leaves the other one of two in the hand.
func (v *solver) after(a *timed, grip uint16) uint16 {
	g := v.grips[grip]
	if a.act.Kind == score.Lay && g.Both() && (a.act.Item != nil) != (a.act.Implement != nil) {
		switch {
		case a.act.Item == g.Inst:
			return v.gripID(Grip{Implement: g.Implement, Butt: g.Butt, Count: 1})
		case a.act.Implement == g.Implement:
			return v.gripID(Grip{Inst: g.Inst, Count: 1})
		}
	}
	if a.act.Kind == score.Lay && a.act.Beside == nil && a.act.Implement != nil && g.Two() {
		switch a.act.Implement {
		case g.Implement:
			return v.gripID(Grip{Implement: g.Kept, Count: 1})
		case g.Kept:
			return v.gripID(Grip{Implement: g.Implement, Count: 1})
		}
	}
	return a.grip
}

// timedActions lists takes and lays at set places as they come up.
func (v *solver) timedActions() [2][]timed {
	var out [2][]timed
	spans := v.score.Time.Spans()
	for k := range spans {
		for _, a := range v.player.Actions {
			if a.Kind != score.Take && a.Kind != score.Lay || !a.Limb.IsHand() || a.Pass != 0 && a.Pass != spans[k].Pass ||
				a.Bar < spans[k].From || a.Bar > spans[k].To {
				continue
			}
			g := Grip{}
			if a.Kind == score.Take {
				g = Grip{Implement: a.Implement, Inst: a.Item, Count: a.Count, Kept: a.Beside}
			}
			h := int(a.Limb)
			if len(out[h]) >= maxActs {
				v.cut[fmt.Sprintf("set takes and lays of one hand after the first %d, repeats counted", maxActs)] = true
				continue
			}
			out[h] = append(out[h], timed{t: v.score.Time.Seconds(k, a.At), span: int32(k), act: a, grip: v.gripID(g)})
		}
	}
	for h := range out {
		slices.SortStableFunc(out[h], func(a, b timed) int { return cmp.Compare(a.t, b.t) })
	}
	return out
}

// maxActs is how many takes and lays at set places one hand may have.
const maxActs = math.MaxUint16

// combine makes the options of the stage that was gathered: one of each
// event's, together.
func (v *solver) combine() []stageOption {
	list := append(v.rooms().combined.List(1), stageOption{places: ^uint64(0)})
	for _, ev := range v.cur {
		opts := v.optionsOf(&v.events[ev])
		next := v.rooms().combined.List(len(list) * len(opts))
		for k := range list {
			for i := range opts {
				next = append(next, list[k].with(&opts[i], v.rooms().parts.List(len(list[k].parts)+1)))
			}
		}
		if len(next) > maxOptions {
			v.cut["some of the ways to play very many things at one moment"] = true
			slices.SortStableFunc(next, func(a, b stageOption) int { return cmp.Compare(a.cost, b.cost) })
			next = next[:maxOptions]
		}
		list = next
	}
	return list
}

// takes says whether one of the events of a moment takes a hand.
func (so *stageOption) takes(h int) bool {
	for _, o := range so.parts {
		if o.hands&(1<<h) != 0 {
			return true
		}
	}
	return false
}

// with is an option together with one more event's, whose parts are put into an empty list.
func (so stageOption) with(o *option, parts []*option) stageOption {
	so.cost += o.cost
	before := so.places
	so.places &= o.places
	if o.conflict != 0 {
		so.conflict = true
	}
	for _, p := range so.parts {
		_, clash := o.clash(p)
		if p.hands&o.hands&body.Hands != 0 && !oneMotion(p, o) || clash {
			so.conflict = true
			so.cost += costImpossible
		}
	}
	if so.places == 0 {
		so.conflict = true
		so.cost += costImpossible
		so.places = before | o.places // at one of them, then
	}
	so.parts = append(append(parts, so.parts...), o)
	return so
}
