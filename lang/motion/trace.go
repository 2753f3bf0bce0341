package motion

import (
	"math"
	"slices"
	"sort"

	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
)

// A traced is what was read back of a path: by which situation it goes into each stage, and
// its changes, with how many come before each stage.
type traced struct {
	states  []int32
	before  []int32
	changes []Change
}

// into are the changes on the way into a stage.
func (t *traced) into(si int) []Change { return t.changes[t.before[si]:t.before[si+1]] }

// trace reads the paths back: the cheapest one, with its changes, spells and
// conflicts, and from those that bear the highest tempos what limits them.
func (v *solver) trace(res *Result, layers [][]state, chosen [][]stageOption, steps []*step, before *resumed) *traced {
	last := layers[len(layers)-1]
	if len(last) == 0 {
		return nil
	}
	best, top := bestOf(last)
	res.Cost = last[best].cost
	t := &traced{states: v.rooms().numbers.Zeros(len(layers)), before: v.rooms().numbers.Zeros(len(layers))}
	path := t.states
	path[len(layers)-1] = int32(best)
	for si := len(layers) - 1; si > 0; si-- {
		path[si-1] = layers[si][path[si]].back
	}
	if v.sameWay = v.goesSameWay(path, layers, steps); v.sameWay {
		v.readAgain(res)
		res.Changes = v.changesAgain(layers, chosen, steps, t)
	} else {
		v.readBack(res, layers, chosen, steps, before, t)
	}
	t.changes = res.Changes
	if v.hop == nil {
		res.Cannot = v.ceiling(0, top[0], layers, chosen, t)
		res.Edge = v.ceiling(1, top[1], layers, chosen, t)
	}
	if !v.sameWay || len(v.course.settled) > 0 {
		v.settle(chosen, layers, path)
	}
	return t
}

// changesAgain are the changes of a path that goes the same way as the course.
func (v *solver) changesAgain(layers [][]state, chosen [][]stageOption, steps []*step, t *traced) []Change {
	changes := slices.Grow([]Change(nil), len(v.course.path.changes))
	path := t.states
	for si := range v.stages {
		to := &layers[si+1][path[si+1]]
		if !v.idles(si, path, to.opt, steps) {
			v.gather(si)
			changes = v.changes(changes, si, &layers[si][path[si]].situation, &to.situation, &chosen[si][to.opt])
		}
		t.before[si+1] = int32(len(changes))
	}
	return changes
}

// readBack reads what a path comes to.
func (v *solver) readBack(res *Result, layers [][]state, chosen [][]stageOption, steps []*step, before *resumed, t *traced) {
	path := t.states
	chose := v.rooms().numbers.Zeros(v.options)
	cues := len(v.player.Cues) // mostly each is played in one way
	ways := chosenWays{latest: make(map[*score.Cue]int32, cues), before: make([]int32, 0, cues)}
	changes := v.roomFor(before.changes())
	var full [][]Change
	n := 0
	for si := range v.stages {
		from, to := &layers[si][path[si]], &layers[si+1][path[si+1]]
		so := &chosen[si][to.opt]
		v.gather(si)
		if n := cap(changes); len(changes) > n-8 {
			full = append(full, changes)
			changes = make([]Change, 0, max(16, min(2*n, 4096)))
		}
		had := len(changes)
		if list, ok := before.into(si, path); ok {
			changes = before.again(changes, list)
		} else if !v.idles(si, path, to.opt, steps) {
			changes = v.changes(changes, si, &from.situation, &to.situation, so)
		}
		n += len(changes) - had
		t.before[si+1] = int32(n)
		v.conflicts(res, &to.situation, so)
		v.spells(res, si, &from.situation, &to.situation)
		v.chosen(res, chose, &ways, so)
		if res.Unseated == nil {
			res.Unseated = v.unseated(&to.situation, so)
		}
	}
	if res.Unseated != nil && slices.ContainsFunc(res.Chosen, func(c Chosen) bool { return c.Way.Seated }) {
		res.Unseated = nil // it sits anyhow
	}
	if res.Changes = changes; v.hop == nil || full != nil {
		res.Changes = slices.Concat(append(full, changes)...)
	}
}

// roomFor is for so many changes or a few.
func (v *solver) roomFor(n int) []Change {
	if v.lent == nil {
		return make([]Change, 0, max(16, n))
	}
	if v.lent.changes == nil {
		v.lent.changes = make([]Change, 0, 16)
	}
	return v.lent.changes
}

// bestOf is which of some states is the cheapest, and which bear the highest tempos.
func bestOf(last []state) (best int, top [2]int) {
	for i := range last {
		if last[i].cost < last[best].cost {
			best = i
		}
		for b := range top {
			if last[i].bears[b].ratio > last[top[b]].bears[b].ratio {
				top[b] = i
			}
		}
	}
	return best, top
}

// settle writes down which limb makes each stop and turns each page that the
// text gives to none.
func (v *solver) settle(chosen [][]stageOption, layers [][]state, path []int32) {
	for si := range v.stages {
		so := &chosen[si][layers[si+1][path[si+1]].opt]
		if !slices.ContainsFunc(so.parts, func(o *option) bool { return o.chosen }) {
			continue
		}
		v.gather(si)
		for q, o := range so.parts {
			if e := &v.events[v.cur[q]]; o.chosen {
				if v.settled == nil {
					v.settled = map[int32]bool{}
				}
				e.Limbs, v.settled[v.cur[q]] = o.hands, true
			}
		}
	}
}

// ceiling follows the path that bears the highest tempo back to the change
// that limits it.
func (v *solver) ceiling(b, top int, layers [][]state, chosen [][]stageOption, t *traced) Ceiling {
	c := Ceiling{Factor: layers[len(layers)-1][top].bears[b].ratio}
	at := int32(top)
	for si := len(layers) - 1; si > 0 && !math.IsInf(c.Factor, 1); si-- {
		to := &layers[si][at]
		from := &layers[si-1][to.bears[b].back]
		if from.bears[b].ratio > c.Factor+eps || si == 1 && c.At == nil {
			for i, list := 0, v.changesInto(si-1, at, &to.bears[b], layers, chosen, t); i < len(list); i++ {
				if ratio := list[i].ratio(b); ratio <= c.Factor+1e-3 && (c.At == nil || ratio < c.At.ratio(b)) {
					limit := list[i]
					c.At = &limit
				}
			}
		}
		at = to.bears[b].back
	}
	return c
}

// changesInto are the changes on the way into a stage that bears a tempo: those of the
// cheapest path, where it goes the same way.
func (v *solver) changesInto(si int, at int32, by *bearing, layers [][]state, chosen [][]stageOption, t *traced) []Change {
	to := &layers[si+1][at]
	if t.states[si+1] == at && t.states[si] == by.back && to.opt == by.opt {
		return t.into(si)
	}
	v.gather(si)
	return v.changes(nil, si, &layers[si][by.back].situation, &to.situation, &chosen[si][by.opt])
}

// ratio is the tempo factor at which a change is at its limit, or at its
// floor.
func (c *Change) ratio(b int) float64 {
	if b == 0 {
		return c.Ratio
	}
	return c.EdgeRatio
}

// changes adds what the hands do on the way into the stage that was gathered.
func (v *solver) changes(out []Change, si int, from, to *situation, so *stageOption) []Change {
	_, duties := v.dutiesOf(si, from, so, to.place)
	if len(duties) == 0 {
		return v.footAlone(out, si, from, to, so)
	}
	var grabs []grabbed
	for i := range duties {
		legs := v.legsInto(si, from, to, &duties[i], duties)
		for k := range legs {
			l := &legs[k]
			if l.idle() {
				continue
			}
			if k == len(legs)-1 && l.among {
				g := grabbed{change: len(out), grab: grab{pace: l.grab, need: l.need, win: l.window}}
				g.cost, _ = price(g.need, &g.win)
				grabs = append(grabs, g)
			}
			out = append(out, v.change(l, len(legs) > 1, from, to, &duties[i]))
			if v.hop != nil {
				v.hop.see(v, l, &out[len(out)-1])
			}
		}
	}
	if len(grabs) == 2 {
		takeTurns(out, &grabs[0], &grabs[1])
	}
	return out
}

// legsInto are the legs of a hand that has a duty; the other hand may hand over
// what it needs.
func (v *solver) legsInto(si int, from, to *situation, d *duty, duties []duty) []timedLeg {
	r := errand{si, from, d.h, d.o, d.ev, to.grip[d.h], to.place, to.seat}
	passed := from.grip[d.h] == gripEmpty && from.grip[1-d.h] == r.to && r.to > gripEmpty && to.grip[1-d.h] == gripEmpty
	if passed && !inDuties(duties, 1-d.h) {
		return []timedLeg{v.passLeg(&r)}
	}
	return v.legsOf(&r)
}

// idle says whether there is nothing to do in a leg, and time for it.
func (l *timedLeg) idle() bool {
	return l.count+len(l.pre)+len(l.post) == 0 && l.window.gap() >= -eps && !l.bodyBound
}

// change is what a hand does in a leg; several says that there is another one
// on the way.
func (v *solver) change(l *timedLeg, several bool, from, to *situation, d *duty) Change {
	c := Change{
		Hand: body.Limb(d.h), To: &v.events[d.ev], Motions: joined(l.pre, v.motionsIn(l.leg), l.post), Need: l.need, Start: l.window.start,
		Before: v.grips[from.grip[d.h]], After: v.grips[to.grip[d.h]],
		Lays: l.lays > 0, Takes: l.takes > 0, Walks: l.walk,
	}
	if l.act != nil { // one of several set places in the same gap
		c.To = v.setEvent(d.h, l.act)
		c.Before, c.After = v.grips[l.key.from], v.grips[l.key.to]
	} else if several || to.acts[d.h] != from.acts[d.h] {
		c.Before = v.grips[l.key.from]
	}
	if l.from >= 0 {
		c.From = &v.events[l.from]
	}
	if !l.bodyBound {
		c.within(&l.window)
		return c
	}
	c.BodyBound, c.Walks = true, true
	c.Need, c.Start = l.bodyNeed, l.bodyWin.start
	c.within(&l.bodyWin)
	c.Motions = slices.Concat(v.bodyMotions(l), l.post)
	if l.bodyEv >= 0 {
		c.From = &v.events[l.bodyEv]
	}
	return c
}

// A grabbed is a change that takes something from among others, with what it
// costs when it does not wait.
type grabbed struct {
	change int
	cost   int64
	grab
}

// takeTurns lets one of two hands wait while the other one takes something from
// among others: the one with more time, where both cost the same.
func takeTurns(out []Change, x, y *grabbed) {
	costX, _ := x.waiting(y.pace)
	costY, _ := y.waiting(x.pace)
	if waitX, waitY := costX-x.cost, costY-y.cost; waitY < waitX ||
		waitY == waitX && (y.win.gap() > x.win.gap()+eps || y.win.gap() > x.win.gap()-eps && out[y.change].Hand > out[x.change].Hand) {
		x, y = y, x
	}
	c := &out[x.change]
	if !c.BodyBound {
		c.Motions = append([]body.Motion{{Words: "wait while the other hand finds its own among the others", Code: "G4B", Pace: y.pace, Source: body.MTM1}}, c.Motions...)
		c.Need = c.Need.Add(y.pace)
		c.within(&x.win)
	}
}

// footAlone adds the way of the body where nothing but a foot is wanted
// elsewhere.
func (v *solver) footAlone(out []Change, si int, from, to *situation, so *stageOption) []Change {
	st := &v.stages[si]
	if st.bodyEv < 0 || len(so.parts) == 0 || from.place == to.place && (to.seat == from.seat || from.seat == anySeat) {
		return out
	}
	m := move{from.place, to.place, from.seat, to.seat}
	motions := v.motionsOf(m)
	if len(motions) == 0 {
		return out
	}
	e := &v.events[v.cur[0]]
	w := v.begin(st.bodyEv)
	w.end = v.time(st)
	c := Change{Hand: e.Limbs.First(), From: &v.events[st.bodyEv], To: e, Motions: motions, Need: body.Sum(motions), Start: w.start, Walks: true, BodyBound: true}
	c.within(&w)
	return append(out, c)
}

// joined is motions one after the other; those of a leg alone stay where they
// are.
func joined(pre, motions, post []body.Motion) []body.Motion {
	if len(pre)+len(post) == 0 {
		return motions
	}
	return slices.Concat(pre, motions, post)
}

// within gives a change the time that there is for it.
func (c *Change) within(w *window) {
	c.Window, c.LetGo = w.has(c.Need.Floor)
	c.Ratio, c.EdgeRatio = w.bears(c.Need.Limit), w.bears(c.Need.Floor)
}

func inDuties(duties []duty, h int) bool {
	return slices.ContainsFunc(duties, func(d duty) bool { return d.h == h })
}

// bodyMotions are the motions of a leg from when the body leaves.
func (v *solver) bodyMotions(l *timedLeg) []body.Motion {
	out := v.motionsOf(l.move)
	late := l.leg.after
	motions := v.motionsIn(l.leg)
	n := 0
	for i := len(motions) - 1; i >= 0 && late.Floor > eps; i-- {
		late.Floor -= motions[i].Pace.Floor
		n++
	}
	return slices.Concat(out, motions[len(motions)-n:])
}

// conflicts lists what cannot be done at once in the stage that was gathered.
func (v *solver) conflicts(res *Result, to *situation, so *stageOption) {
	add := func(c Conflict) { res.Conflicts = append(res.Conflicts, c) }
	for q, o := range so.parts {
		e := &v.events[v.cur[q]]
		for h := range 2 {
			if v.full(e, o, h, to.grip[h]) {
				add(Conflict{A: e, B: e, Kind: NoHand, Hands: 1 << h})
			}
		}
		if o.conflict != 0 {
			c := Conflict{A: e, B: e, Kind: ConflictKind(o.conflict - 1)}
			if c.Kind == NoFoot {
				c.A = v.onFoot(e)
			}
			add(c)
		}
		for r, p := range so.parts[:q] {
			f := &v.events[v.cur[r]]
			kind, clash := o.clash(p)
			switch {
			case p.hands&o.hands&body.Hands != 0 && !oneMotion(p, o):
				add(sameHands(f, e, p, o))
			case p.places&o.places == 0:
				add(Conflict{A: f, B: e, Kind: TwoStations})
			case clash:
				add(Conflict{A: f, B: e, Kind: kind})
			}
		}
	}
}

// sameHands says why two events cannot have the hands that both want.
func sameHands(f, e *Event, p, o *option) Conflict {
	c := Conflict{A: f, B: e, Kind: BothHands, Hands: p.hands & o.hands & body.Hands}
	takes, taken := o.takesBoth(e), p.takesBoth(f)
	switch {
	case takes && !taken:
		c.Full = e
	case taken && !takes:
		c.Full = f
	}
	switch {
	case e.Kind.Stops() || f.Kind.Stops():
		c.Kind = NoHand
	case e.Kind == RollOn || f.Kind == RollOn:
		c.Kind = NeedsTwo
	case !takes && !taken && (e.Grace != 0 || f.Grace != 0):
		c.Kind = SameLimb
	}
	return c
}

// takesBoth says whether an option takes both hands of an event that asks for
// fewer.
func (o *option) takesBoth(e *Event) bool {
	return o.hands&body.Hands == body.Hands && e.Hands() != body.Hands
}

func (v *solver) spells(res *Result, si int, from, to *situation) {
	st := &v.stages[si]
	for h := range 2 {
		list := res.Spells[h]
		if len(list) == 0 && from.grip[h] != gripUnknown && to.grip[h] != from.grip[h] {
			list = append(list, Spell{Grip: v.grips[from.grip[h]], Place: int(from.place)})
		}
		if n := len(list); to.grip[h] != gripUnknown && (n == 0 || list[n-1].Grip != v.grips[to.grip[h]] || list[n-1].Place != int(to.place)) {
			list = append(list, Spell{From: v.time(st), Event: &v.events[st.first], Grip: v.grips[to.grip[h]], Place: int(to.place)})
		}
		res.Spells[h] = list
	}
}

// chosenWays are which of a result's chosen ways is the latest new one of each cue, and
// of each way the one of its cue before it, all plus one.
type chosenWays struct {
	latest map[*score.Cue]int32
	before []int32
}

// find finds a way of a cue, or -1.
func (w *chosenWays) find(res *Result, c *score.Cue, o *option) int {
	i := int(w.latest[c]) - 1
	for i >= 0 && (res.Chosen[i].Way != o.way || res.Chosen[i].Choice != o.choice) {
		i = int(w.before[i]) - 1
	}
	return i
}

// add adds a way of a cue that was not there.
func (w *chosenWays) add(res *Result, ch Chosen) int {
	i := len(res.Chosen)
	if i == 0 {
		res.Chosen = make([]Chosen, 0, cap(w.before))
	}
	res.Chosen, w.before = append(res.Chosen, ch), append(w.before, w.latest[ch.Cue])
	w.latest[ch.Cue] = int32(i + 1)
	return i
}

// chosen counts the ways in which things are played. byOption is where each
// option's way stands, plus one; options may share one.
func (v *solver) chosen(res *Result, byOption []int32, ways *chosenWays, so *stageOption) {
	for q, o := range so.parts {
		e := &v.events[v.cur[q]]
		if e.Cue == nil || o.way == nil {
			continue
		}
		i := int(byOption[o.id]) - 1
		if i < 0 {
			if i = ways.find(res, e.Cue, o); i < 0 {
				i = ways.add(res, Chosen{Cue: e.Cue, Way: o.way, Choice: o.choice, First: e, Substitute: o.subst})
			}
			byOption[o.id] = int32(i + 1)
		}
		res.Chosen[i].Count++
		if e.Kind == RollOn && !res.Chosen[i].Rolled {
			res.Chosen[i].Rolled, res.Chosen[i].Roll = true, e
		}
	}
}

// HoldsAt is what a hand holds at a played second.
func (r *Result) HoldsAt(h body.Limb, t float64) Grip {
	list := r.Spells[h]
	i := sort.Search(len(list), func(i int) bool { return list[i].From > t }) - 1
	if i < 0 {
		if len(list) > 0 {
			return list[0].Grip
		}
		return Grip{}
	}
	return list[i].Grip
}
