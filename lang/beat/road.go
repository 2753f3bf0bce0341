package beat

import (
	"slices"
	"sort"
)

// Limits on what is played, reported when met.
const (
	// MaxPlayedBars is how many bars are played at most, repeats counted.
	MaxPlayedBars = 400_000
	// maxSpans is how many stretches a road map has at most.
	maxSpans = 5_000
)

// The signs of a road map. All ranges include both ends.
type (
	// A Repeat plays bars Times times.
	Repeat struct{ From, To, Times int }
	// An Ending is played only on the passes that it numbers.
	Ending struct {
		Numbers  []int
		From, To int
	}
	// A Vamp is repeated until cued. It is played twice, so that both the loop
	// and the way out are seen.
	Vamp struct{ From, To int }
	// A Leg is one stretch of a road map that is spelled out.
	Leg struct{ From, To int }
)

// A Span is a stretch of bars as played. Pass says which time these bars are
// played, from 1.
type Span struct {
	From, To int
	Pass     int
	Vamp     bool
}

// A Road is what is played, in order.
type Road struct{ Spans []Span }

// A RoadProblem is a sign that could not be followed: the Index-th of its
// Kind (repeat, ending, vamp or order). It has no words until somebody reads it:
// Template is the sentence as fmt has it, and Things are what it speaks of.
type RoadProblem struct {
	Kind     string
	Index    int
	Template string
	Things   []any
}

// What is said of road maps, each sentence once.
const (
	playsTwiceOrMore  = "a repeat plays its bars 2 times or more, not %d"
	vampNeverRepeated = "no stretch of the order holds all of bars %d to %d, so this vamp is never repeated"
	signsAtMost       = "a piece has at most %d of these signs: this one and those behind it are left out"
	barsBackwards     = "bars %d to %d run backwards"
	barsOutside       = "bars %d to %d are not all in this piece, which has bars %d to %d"
	endingOfNoPass    = "an ending says on which passes it is played, from 1"
	endsNoRepeat      = "bars %d to %d end no repeat: an ending lies in a repeat, behind its first bar, or just behind it"
	endingsOverlap    = "bars %d to %d overlap the ending of bars %d to %d, so this one is left out"
	signsCross        = "bars %d to %d overlap the %s of bars %d to %d without lying inside it, so this one is left out"
	signTwice         = "bars %d to %d have this %s already, so this one is left out"
	overAnEnding      = "bars %d to %d reach over the edge of an ending at bar %d, so this one is left out"
	insideTooMany     = "bars %d to %d lie inside %d others: this one is left out"
	longerAsPlayed    = "as played this piece is longer than %d bars or %d stretches: only the first part is checked"
)

// section is a repeat or a vamp on its way to being played.
type section struct {
	from, to int // to is the last bar of its endings, once it has them
	times    int
	sign     sign
	endings  []part // by bar; no two overlap
	inner    []*section
	parts    []part
	looped   bool
}

// A sign is what a problem points at.
type sign struct {
	kind  string
	index int
}

// A part is a stretch of a section and the passes that it is played on. A part
// that is no ending is played on all of them and has no list.
type part struct {
	from, to int
	passes   []int // sorted
}

func (p part) on(pass int) bool {
	_, found := slices.BinarySearch(p.passes, pass)
	return found || len(p.passes) == 0
}

type unroller struct {
	first, last int
	spans       []Span
	bars        int
	limit       int
	full        bool
	fullAt      sign // what was being played then
	now         sign
	vamps       int // vamps under way
	problems    []RoadProblem
}

// Unroll follows the signs through bars first to last. With an order, the
// order is the whole road map, and only vamps still loop inside it. What
// makes no sense is named and left out; beyond limit bars, or MaxSpans
// stretches, the rest is left out and that is named.
func Unroll(first, last int, repeats []Repeat, endings []Ending, vamps []Vamp, order []Leg, limit int) (Road, []RoadProblem) {
	u := &unroller{first: max(0, first), last: min(last, MaxBars), limit: MaxPlayedBars, now: sign{"order", 0}}
	if limit > 0 {
		u.limit = min(limit, MaxPlayedBars)
	}
	var loops []*section
	for i, v := range atMost(u, "vamp", vamps) {
		if u.inside("vamp", i, v.From, v.To) {
			loops = append(loops, &section{from: v.From, to: v.To, times: 2, sign: sign{"vamp", i}})
		}
	}
	if len(order) > 0 {
		u.follow(order, u.nest(loops))
		return u.road(), u.problems
	}
	var sections []*section
	for i, r := range atMost(u, "repeat", repeats) {
		switch {
		case !u.inside("repeat", i, r.From, r.To):
		case r.Times < 2:
			u.fault("repeat", i, playsTwiceOrMore, r.Times)
		default:
			sections = append(sections, &section{from: r.From, to: r.To, times: r.Times, sign: sign{"repeat", i}})
		}
	}
	u.giveEndings(sections, atMost(u, "ending", endings))
	tree := u.nest(append(sections, loops...))
	u.play(u.first, u.last, tree)
	return u.road(), u.problems
}

// follow plays the legs of an order, and names the vamps that none of them
// holds.
func (u *unroller) follow(order []Leg, vamps []*section) {
	for i, l := range order {
		u.now = sign{"order", i}
		if u.inside("order", i, l.From, l.To) {
			u.play(l.From, l.To, vamps)
		}
	}
	if u.full {
		return
	}
	for _, v := range vamps {
		if !v.looped {
			u.fault("vamp", v.sign.index, vampNeverRepeated, v.from, v.to)
		}
	}
}

// atMost leaves out signs that no road map of MaxSpans stretches could follow.
func atMost[T any](u *unroller, kind string, signs []T) []T {
	if len(signs) <= maxSpans {
		return signs
	}
	u.fault(kind, maxSpans, signsAtMost, maxSpans)
	return signs[:maxSpans]
}

func (u *unroller) fault(kind string, index int, template string, things ...any) {
	u.problems = append(u.problems, RoadProblem{kind, index, template, things})
}

func (u *unroller) inside(kind string, i, from, to int) bool {
	switch {
	case to < from:
		u.fault(kind, i, barsBackwards, from, to)
	case from < u.first || to > u.last:
		u.fault(kind, i, barsOutside, from, to, u.first, u.last)
	default:
		return true
	}
	return false
}

// giveEndings gives each ending to the innermost repeat that it lies in, or
// that ends, its earlier endings included, just before it.
func (u *unroller) giveEndings(sections []*section, endings []Ending) {
	type indexed struct {
		Ending
		index int
	}
	var sorted []indexed
	for i, e := range endings {
		switch {
		case !u.inside("ending", i, e.From, e.To):
		case len(e.Numbers) == 0 || slices.Min(e.Numbers) < 1:
			u.fault("ending", i, endingOfNoPass)
		default:
			sorted = append(sorted, indexed{e, i})
		}
	}
	slices.SortStableFunc(sorted, func(a, b indexed) int { return a.From - b.From })
	for _, e := range sorted {
		owner := ended(sections, e.From)
		if owner == nil {
			u.fault("ending", e.index, endsNoRepeat, e.From, e.To)
			continue
		}
		n := len(owner.endings)
		switch {
		case n > 0 && owner.endings[n-1].from == e.From && owner.endings[n-1].to == e.To:
			owner.endings[n-1].passes = append(owner.endings[n-1].passes, e.Numbers...)
		case n > 0 && owner.endings[n-1].to >= e.From:
			u.fault("ending", e.index, endingsOverlap, e.From, e.To, owner.endings[n-1].from, owner.endings[n-1].to)
			continue
		default:
			owner.endings = append(owner.endings, part{e.From, e.To, slices.Clone(e.Numbers)})
		}
		owner.to = max(owner.to, e.To)
		owner.times = max(owner.times, slices.Max(e.Numbers))
	}
	for _, s := range sections {
		for i := range s.endings {
			slices.Sort(s.endings[i].passes)
			s.endings[i].passes = slices.Compact(s.endings[i].passes)
		}
	}
}

// ended is the innermost section that an ending from a bar on belongs to.
func ended(sections []*section, from int) (owner *section) {
	for _, s := range sections {
		if from > s.from && from <= s.to+1 && (owner == nil || s.from >= owner.from && s.to <= owner.to) {
			owner = s
		}
	}
	return owner
}

// maxNesting is how deep sections lie in one another at most. Doubling at every
// level passes any limit on bars long before.
const maxNesting = 64

// nest puts sections into one another. One that crosses an earlier one, or the
// edge of an ending, is named and left out.
func (u *unroller) nest(all []*section) []*section {
	slices.SortStableFunc(all, func(a, b *section) int {
		if a.from != b.from {
			return a.from - b.from
		}
		return b.to - a.to
	})
	var top, open []*section
	for _, s := range all {
		for len(open) > 0 && open[len(open)-1].to < s.from {
			open = open[:len(open)-1]
		}
		s.divide()
		if len(open) == 0 {
			top = append(top, s)
			open = append(open, s)
			continue
		}
		o := open[len(open)-1]
		part := o.parts[sort.Search(len(o.parts), func(i int) bool { return o.parts[i].to >= s.from })]
		switch {
		case s.to > o.to:
			u.fault(s.sign.kind, s.sign.index, signsCross, s.from, s.to, o.sign.kind, o.from, o.to)
		case s.from == o.from && s.to == o.to && s.sign.kind == o.sign.kind:
			u.fault(s.sign.kind, s.sign.index, signTwice, s.from, s.to, o.sign.kind)
		case s.to > part.to:
			u.fault(s.sign.kind, s.sign.index, overAnEnding, s.from, s.to, part.to)
		case len(open) == maxNesting:
			u.fault(s.sign.kind, s.sign.index, insideTooMany, s.from, s.to, maxNesting)
		default:
			o.inner = append(o.inner, s)
			open = append(open, s)
		}
	}
	return top
}

// divide parts a section where endings begin and end.
func (s *section) divide() {
	at := s.from
	for _, e := range s.endings {
		if at < e.from {
			s.parts = append(s.parts, part{from: at, to: e.from - 1})
		}
		s.parts = append(s.parts, e)
		at = e.to + 1
	}
	if at <= s.to {
		s.parts = append(s.parts, part{from: at, to: s.to})
	}
}

// play emits bars from to to, looping the sections that lie among them.
func (u *unroller) play(from, to int, sections []*section) {
	at := from
	i := sort.Search(len(sections), func(i int) bool { return sections[i].from >= from })
	for _, s := range sections[i:] {
		if u.full || s.from > to {
			break
		}
		if s.to > to {
			continue
		}
		u.emit(at, s.from-1)
		u.loop(s)
		at = s.to + 1
	}
	u.emit(at, to)
}

func (u *unroller) loop(s *section) {
	outer := u.now
	u.now, s.looped = s.sign, true
	if s.sign.kind == "vamp" {
		u.vamps++
	}
	for pass := 1; pass <= s.times && !u.full; pass++ {
		for _, p := range s.parts {
			if p.on(pass) {
				u.play(p.from, p.to, s.inner)
			}
		}
	}
	if s.sign.kind == "vamp" {
		u.vamps--
	}
	u.now = outer
}

func (u *unroller) emit(from, to int) {
	if to < from || u.full {
		return
	}
	room := u.limit - u.bars
	vamp := u.vamps > 0
	n := len(u.spans)
	longer := n > 0 && !vamp && !u.spans[n-1].Vamp && u.spans[n-1].To+1 == from
	if to-from+1 > room || n == maxSpans && !longer {
		u.full, u.fullAt = true, u.now
		to = from + room - 1
		if room == 0 || n == maxSpans && !longer {
			return
		}
	}
	if longer {
		u.spans[n-1].To = to
	} else {
		u.spans = append(u.spans, Span{From: from, To: to, Vamp: vamp})
	}
	u.bars += to - from + 1
}

// road numbers the passes, parting spans where the number changes.
func (u *unroller) road() Road {
	edges := make([]int, 0, 2*len(u.spans))
	for _, s := range u.spans {
		edges = append(edges, s.From, s.To+1)
	}
	slices.Sort(edges)
	edges = slices.Compact(edges)
	played := make([]int, len(edges))
	var r Road
parting:
	for _, s := range u.spans {
		for i := sort.SearchInts(edges, s.From); edges[i] <= s.To; i++ {
			played[i]++
			next := Span{From: edges[i], To: edges[i+1] - 1, Pass: played[i], Vamp: s.Vamp}
			if n := len(r.Spans); n > 0 && edges[i] > s.From && r.Spans[n-1].Pass == next.Pass {
				r.Spans[n-1].To = next.To
				continue
			}
			if len(r.Spans) == maxSpans {
				if !u.full {
					u.full, u.fullAt = true, sign{"order", 0}
				}
				break parting
			}
			r.Spans = append(r.Spans, next)
		}
	}
	if u.full {
		u.fault(u.fullAt.kind, u.fullAt.index, longerAsPlayed, u.limit, maxSpans)
	}
	return r
}
