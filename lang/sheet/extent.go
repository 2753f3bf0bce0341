package sheet

import (
	"sort"

	"example.org/handful/lang/beat"
)

// An extent is where the things of a list stand, each from one place to another, so
// that those about a place are found without a look at all of them.
type extent struct {
	ends   []beat.Rat // the last end of each and those before it
	begins []beat.Rat // the first beginning of each and those behind it
}

func extentOf(n int, of func(i int) (a, b beat.Rat)) extent {
	s := extent{make([]beat.Rat, n), make([]beat.Rat, n)}
	for i := range n {
		a, b := of(i)
		s.ends[i], s.begins[i] = later(a, b), earlier(a, b)
		if i > 0 {
			s.ends[i] = later(s.ends[i], s.ends[i-1])
		}
	}
	for i := n - 2; i >= 0; i-- {
		s.begins[i] = earlier(s.begins[i], s.begins[i+1])
	}
	return s
}

// about is a part of the list, from one to before another, in which everything is
// that has a place from one to another, both included. Others may be between them.
func (s extent) about(from, to beat.Rat) (lo, hi int) {
	lo = sort.Search(len(s.ends), func(i int) bool { return !s.ends[i].Less(from) })
	hi = sort.Search(len(s.begins), func(i int) bool { return to.Less(s.begins[i]) })
	return lo, max(lo, hi)
}

// shiftsAbout is the changes about a stretch, and perhaps others.
func (v *part) shiftsAbout(from, to beat.Rat) []shift {
	lo, hi := v.shifted.about(from, to)
	return v.shifts[lo:hi]
}

// pinsAbout is the hairpins about a stretch, and perhaps others.
func (v *part) pinsAbout(from, to beat.Rat) []hairpin {
	lo, hi := v.pinned.about(from, to)
	return v.pins[lo:hi]
}

func earlier(a, b beat.Rat) beat.Rat {
	if a.Less(b) {
		return a
	}
	return b
}

func later(a, b beat.Rat) beat.Rat {
	if a.Less(b) {
		return b
	}
	return a
}
