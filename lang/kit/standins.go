package kit

import (
	"slices"
	"strings"
	"sync"
)

// A Substitute is an instrument that may be played instead of another, with
// what the sound pays for it, in words.
type Substitute struct {
	In    *Instrument
	Costs string
}

// standIndex is which instruments of the binary say that they stand for which.
var standIndex = sync.OnceValue(func() map[string][]string {
	out := map[string][]string{}
	for id, e := range Standard().shelf.instruments {
		for line := range strings.Lines(e.text) {
			if rest, ok := strings.CutPrefix(strings.TrimSpace(line), "stands for "); ok {
				to, _, _ := strings.Cut(rest, " ")
				out[to] = append(out[to], id)
			}
		}
	}
	for _, ids := range out {
		slices.Sort(ids)
	}
	return out
})

// StandIns lists what may be played instead of an instrument, in the order in
// which the instruments that say so are named: the catalogue's by their ids,
// then a piece's own.
func (c *Catalogue) StandIns(in *Instrument) []Substitute {
	var out []Substitute
	add := func(by *Instrument) {
		if by == nil || slices.ContainsFunc(out, func(s Substitute) bool { return s.In == by }) {
			return
		}
		for _, st := range by.StandsFor {
			if st.For == in.ID {
				out = append(out, Substitute{by, st.Costs})
				return
			}
		}
	}
	for at := c; at != nil; at = at.below {
		if at.shelf != nil {
			for _, id := range standIndex()[in.ID] {
				add(c.Instrument(id))
			}
			continue
		}
		for _, by := range at.instruments {
			add(c.Instrument(by.ID))
		}
	}
	slices.SortStableFunc(out, func(a, b Substitute) int {
		if a.In.Own != b.In.Own {
			return map[bool]int{false: -1, true: 1}[a.In.Own]
		}
		return strings.Compare(a.In.ID, b.In.ID)
	})
	return out
}

// StandsIn says what the sound pays when one instrument is played instead of
// another, and whether it may be.
func (c *Catalogue) StandsIn(by, instead *Instrument) (costs string, ok bool) {
	for _, st := range by.StandsFor {
		if st.For == instead.ID {
			return st.Costs, true
		}
	}
	return "", false
}
