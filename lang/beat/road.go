package beat

import (
	"fmt"
	"slices"
	"sort"
)

// Limits on what is played, reported when met.
const (
	// MaxPlayedBars is how many bars are played at most, repeats counted.
	MaxPlayedBars = 2_000_000
	// MaxSpans is how many stretches a road map has at most.
	MaxSpans = 5_000
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
// Kind (repeat, ending, vamp or order).
type RoadProblem struct {
	Kind    string
	Index   int
	Message string
}

// section is a repeat or a vamp on its way to being played.
type section struct {
	from, to, times int
	vamp            bool
	kind            string
	index           int
	endings         []Ending
	inner           []*section
}

// end is the last bar of the section, its endings included.
func (s *section) end() int {
	to := s.to
	for _, e := range s.endings {
		to = max(to, e.To)
	}
	return to
}

type unroller struct {
	spans    []Span
	bars     int
	limit    int
	full     bool
	problems []RoadProblem
}

// Unroll follows the signs through bars first to last. With an order, the
// order is the whole road map, and only vamps still loop inside it. What
// makes no sense is named and left out; beyond limit bars, or MaxSpans
// stretches, the rest is left out and that is named.
func Unroll(first, last int, repeats []Repeat, endings []Ending, vamps []Vamp, order []Leg, limit int) (Road, []RoadProblem) {
	u := &unroller{limit: min(limit, MaxPlayedBars)}
	inside := func(kind string, i, from, to int) bool {
		if from < first || to > last || to < from {
			u.fault(kind, i, "bars %d to %d are not a stretch of this piece, which has bars %d to %d", from, to, first, last)
			return false
		}
		return true
	}
	var vampSections, sections []*section
	for i, v := range vamps {
		if inside("vamp", i, v.From, v.To) {
			vampSections = append(vampSections, &section{from: v.From, to: v.To, times: 2, vamp: true, kind: "vamp", index: i})
		}
	}
	if len(order) > 0 {
		tree := u.nest(vampSections)
		for i, l := range order {
			if inside("order", i, l.From, l.To) {
				u.play(l.From, l.To, tree)
			}
		}
		return u.road("order"), u.problems
	}
	for i, r := range repeats {
		if inside("repeat", i, r.From, r.To) {
			sections = append(sections, &section{from: r.From, to: r.To, times: max(2, r.Times), kind: "repeat", index: i})
		}
	}
	for i, e := range endings {
		if !inside("ending", i, e.From, e.To) {
			continue
		}
		if owner := ownerOf(sections, e); owner != nil {
			owner.endings = append(owner.endings, e)
		} else {
			u.fault("ending", i, "bars %d to %d end no repeat: an ending lies at the end of a repeat or just behind it", e.From, e.To)
		}
	}
	for _, s := range sections {
		slices.SortStableFunc(s.endings, func(a, b Ending) int { return a.From - b.From })
		for _, e := range s.endings {
			for _, n := range e.Numbers {
				s.times = max(s.times, n)
			}
		}
	}
	tree := u.nest(append(sections, vampSections...))
	u.play(first, last, tree)
	return u.road("repeat"), u.problems
}

func (u *unroller) fault(kind string, index int, format string, args ...any) {
	u.problems = append(u.problems, RoadProblem{kind, index, fmt.Sprintf(format, args...)})
}

// ownerOf finds the repeat that an ending belongs to: the innermost one that
// it lies in or that ends just before it, or before its earlier endings.
func ownerOf(sections []*section, e Ending) *section {
	var best *section
	for _, s := range sections {
		if e.From > s.from && e.From <= s.end()+1 && (best == nil || s.to-s.from < best.to-best.from) {
			best = s
		}
	}
	return best
}

// nest puts sections into one another. One that crosses an earlier one is
// named and left out.
func (u *unroller) nest(all []*section) []*section {
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b *section) int {
		if a.from != b.from {
			return a.from - b.from
		}
		if a.end() != b.end() {
			return b.end() - a.end()
		}
		if a.vamp != b.vamp && b.vamp {
			return -1
		}
		return 0
	})
	var top []*section
	var open []*section
	for _, s := range sorted {
		for len(open) > 0 && open[len(open)-1].end() < s.from {
			open = open[:len(open)-1]
		}
		switch {
		case len(open) == 0:
			top = append(top, s)
		case s.end() > open[len(open)-1].end():
			o := open[len(open)-1]
			u.fault(s.kind, s.index, "bars %d to %d overlap the %s of bars %d to %d without lying inside it, so this one is left out", s.from, s.end(), o.kind, o.from, o.end())
			continue
		default:
			o := open[len(open)-1]
			o.inner = append(o.inner, s)
		}
		open = append(open, s)
	}
	return top
}

// play emits bars from to to, looping the sections that begin among them.
func (u *unroller) play(from, to int, sections []*section) {
	at := from
	for _, s := range sections {
		if u.full {
			return
		}
		if s.from < at || s.end() > to {
			continue
		}
		u.emit(at, s.from-1, false)
		u.loop(s)
		at = s.end() + 1
	}
	u.emit(at, to, false)
}

func (u *unroller) loop(s *section) {
	body := s.to
	if len(s.endings) > 0 {
		body = s.endings[0].From - 1
	}
	for pass := 1; pass <= s.times && !u.full; pass++ {
		if s.vamp && len(s.inner) == 0 {
			u.emit(s.from, body, true)
		} else {
			u.play(s.from, body, s.inner)
		}
		for _, e := range s.endings {
			if slices.Contains(e.Numbers, pass) {
				u.emit(e.From, e.To, false)
			}
		}
	}
}

func (u *unroller) emit(from, to int, vamp bool) {
	if to < from || u.full {
		return
	}
	if n := len(u.spans); n > 0 && u.spans[n-1].To+1 == from && u.spans[n-1].Vamp == vamp && !vamp {
		u.spans[n-1].To = to
	} else {
		u.spans = append(u.spans, Span{From: from, To: to, Vamp: vamp})
	}
	u.bars += to - from + 1
	if u.bars > u.limit || len(u.spans) > MaxSpans {
		last := &u.spans[len(u.spans)-1]
		last.To = max(last.From, last.To-max(0, u.bars-u.limit))
		u.full = true
	}
}

// road numbers the passes, parting spans where the number changes.
func (u *unroller) road(kind string) Road {
	if u.full {
		u.fault(kind, 0, "as played this piece is longer than %d bars or %d stretches: only the first part is checked", u.limit, MaxSpans)
	}
	edges := make([]int, 0, 2*len(u.spans))
	for _, s := range u.spans {
		edges = append(edges, s.From, s.To+1)
	}
	slices.Sort(edges)
	edges = slices.Compact(edges)
	played := make([]int, len(edges))
	var r Road
	for _, s := range u.spans {
		for i := sort.SearchInts(edges, s.From); i < len(edges) && edges[i] <= s.To; i++ {
			played[i]++
			next := Span{From: edges[i], To: edges[i+1] - 1, Pass: played[i], Vamp: s.Vamp}
			if n := len(r.Spans); n > 0 && edges[i] > s.From && r.Spans[n-1].Pass == next.Pass {
				r.Spans[n-1].To = next.To
				continue
			}
			r.Spans = append(r.Spans, next)
		}
	}
	return r
}
