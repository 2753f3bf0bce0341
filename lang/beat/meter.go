// Package beat is exact musical time: counts, meters and bars, the tempo map,
// and the order in which bars are played.
//
// In come numbers that somebody else has read. Out come positions as exact
// rationals in whole notes, and from the tempo map the seconds at which they
// fall. Position 0 is the start of the first bar.
//
// The package knows nothing of text, instruments or players, and it never
// fails: what cannot be played is left out and named.
package beat

import (
	"cmp"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"
)

// MaxBars is how many bars a piece has at most.
const MaxBars = 200_000

// A Count is a place within a bar, as players say it: "2&" is {2, 1/2}.
type Count struct {
	Beat int // from 1
	Frac Rat // 0 ≤ Frac < 1
}

// String is the canonical spelling: 2 2e 2& 2a 2t 2l 2+3/5.
func (c Count) String() string {
	s := strconv.Itoa(c.Beat)
	switch c.Frac {
	case Rat{}:
		return s
	case Rat{1, 3}: // a quarter: a Rat has its denominator less 1
		return s + "e"
	case Rat{1, 1}:
		return s + "&"
	case Rat{3, 3}:
		return s + "a"
	case Rat{1, 2}:
		return s + "t"
	case Rat{2, 2}:
		return s + "l"
	}
	return s + "+" + c.Frac.String()
}

// A Meter says how long a bar is and how it is counted.
type Meter struct {
	Upper, Lower int
	Groups       []int // units to each count; nil: every unit is a count
}

// NewMeter is a meter whose counts are its lower units, or groups of them.
func NewMeter(upper, lower int, groups []int) (Meter, error) {
	if upper < 1 || upper > 64 {
		return Meter{}, fmt.Errorf("a meter has 1 to 64 above the line, not %d", upper)
	}
	if lower < 1 || lower > 64 || lower&(lower-1) != 0 {
		return Meter{}, fmt.Errorf("a meter has 1, 2, 4, 8, 16, 32 or 64 below the line, not %d", lower)
	}
	sum := 0
	for _, g := range groups {
		if g < 1 || g > upper {
			return Meter{}, fmt.Errorf("a count of %d/%d is 1 to %d units long, not %d", upper, lower, upper, g)
		}
		sum += g
	}
	if groups != nil && sum != upper {
		return Meter{}, fmt.Errorf("%s adds up to %d, and %d/%d has %d", joinInts(groups), sum, upper, lower, upper)
	}
	return Meter{upper, lower, slices.Clone(groups)}, nil
}

// InMeter is a meter counted in equal groups: 6/8 in 2.
func InMeter(upper, lower, counts int) (Meter, error) {
	if _, err := NewMeter(upper, lower, nil); err != nil {
		return Meter{}, err
	}
	if counts < 1 || upper%counts != 0 {
		var lawful []string
		for n := 1; n <= upper; n++ {
			if upper%n == 0 {
				lawful = append(lawful, fmt.Sprint(n))
			}
		}
		return Meter{}, fmt.Errorf("%d/%d cannot be counted in %d: in %s it can, or in groups such as 2+2+3", upper, lower, counts, strings.Join(lawful, ", "))
	}
	groups := make([]int, counts)
	for i := range groups {
		groups[i] = upper / counts
	}
	return Meter{upper, lower, groups}, nil
}

// Counts is how many counts the bar has.
func (m Meter) Counts() int {
	if len(m.Groups) == 0 {
		return m.Upper
	}
	return len(m.Groups)
}

// Length is the bar's length in whole notes.
func (m Meter) Length() Rat { return R(int64(m.Upper), int64(m.Lower)) }

// CountLength is the length of the i-th count, from 1; 0 when the bar has no
// such count.
func (m Meter) CountLength(i int) Rat {
	if i < 1 || i > m.Counts() {
		return Rat{}
	}
	if len(m.Groups) == 0 {
		return R(1, int64(m.Lower))
	}
	return R(int64(m.Groups[i-1]), int64(m.Lower))
}

func (m Meter) countStart(i int) Rat {
	if len(m.Groups) == 0 {
		return R(int64(i-1), int64(m.Lower))
	}
	units := 0
	for _, g := range m.Groups[:i-1] {
		units += g
	}
	return R(int64(units), int64(m.Lower))
}

// offset is how far into the bar a count lies; false when the bar has none.
func (m Meter) offset(c Count) (Rat, bool) {
	if c.Beat < 1 || c.Beat > m.Counts() || c.Frac.Sign() < 0 || c.Frac.n >= c.Frac.Den() {
		return Rat{}, false
	}
	start := m.countStart(c.Beat)
	if c.Frac.IsZero() {
		return start, true
	}
	return start.Add(m.CountLength(c.Beat).Mul(c.Frac)), true
}

// countAt is the count that lies so far into the bar: 0 ≤ off < m.Length().
func (m Meter) countAt(off Rat) Count {
	if len(m.Groups) == 0 {
		u := off.MulInt(int64(m.Lower))
		whole := u.Floor()
		return Count{int(whole) + 1, u.Sub(R(whole, 1))}
	}
	u := off.MulInt(int64(m.Lower))
	at := int64(0)
	for i, g := range m.Groups {
		if u.Less(R(at+int64(g), 1)) || i == len(m.Groups)-1 {
			return Count{i + 1, u.Sub(R(at, 1)).Div(R(int64(g), 1))}
		}
		at += int64(g)
	}
	return Count{1, Rat{}}
}

// String is the meter as it is written.
func (m Meter) String() string {
	s := fmt.Sprintf("%d/%d", m.Upper, m.Lower)
	if len(m.Groups) == 0 {
		return s
	}
	if slices.Max(m.Groups) == slices.Min(m.Groups) {
		return fmt.Sprintf("%s in %d", s, len(m.Groups))
	}
	return s + " in " + joinInts(m.Groups)
}

func joinInts(list []int) string {
	parts := make([]string, len(list))
	for i, n := range list {
		parts[i] = fmt.Sprint(n)
	}
	return strings.Join(parts, "+")
}

// A MeterChange is a meter from a bar on.
type MeterChange struct {
	Bar   int
	Meter Meter
}

// A Grid is where the bars lie. It keeps a run for each meter, not a bar.
type Grid struct {
	runs   []run
	first  int
	last   int
	upbeat Meter // of bar 0
	pickup Rat   // length of bar 0 in whole notes
	skip   Rat   // how much of the full bar is missing before bar 0
}

type run struct {
	bar    int
	start  Rat
	meter  Meter
	length Rat
}

// NewGrid lays out bars 1 to bars, after a pickup bar 0 of so many counts if
// that is not 0. The meter is 4/4 until a change; the last change at a bar
// wins. Bar 0 is a part of a bar in the meter of bar 1, unless it has a change
// of its own.
func NewGrid(changes []MeterChange, pickupCounts Rat, bars int) *Grid {
	sorted := slices.Clone(changes)
	slices.SortStableFunc(sorted, func(a, b MeterChange) int { return cmp.Compare(a.Bar, b.Bar) })
	common := Meter{Upper: 4, Lower: 4}
	g := &Grid{first: 1, last: min(max(1, bars), MaxBars)}
	g.runs = []run{{bar: 1, meter: common, length: common.Length()}}
	for _, c := range sorted {
		if c.Bar <= 1 {
			g.runs[0].meter, g.runs[0].length = c.Meter, c.Meter.Length()
		}
	}
	if pickupCounts.Sign() > 0 {
		g.first = 0
		g.upbeat = g.runs[0].meter
		for _, c := range sorted {
			if c.Bar <= 0 {
				g.upbeat = c.Meter
			}
		}
		g.pickup = pickupLength(g.upbeat, pickupCounts)
		g.skip = g.upbeat.Length().Sub(g.pickup)
		g.runs[0].start = g.pickup
	}
	for _, c := range sorted {
		at := &g.runs[len(g.runs)-1]
		switch {
		case c.Bar <= 1 || c.Bar > g.last:
			continue
		case c.Bar == at.bar:
			at.meter, at.length = c.Meter, c.Meter.Length()
			continue
		}
		g.runs = append(g.runs, run{bar: c.Bar, start: at.start.Add(at.length.MulInt(int64(c.Bar - at.bar))), meter: c.Meter, length: c.Meter.Length()})
	}
	return g
}

// pickupLength is the length of the last so many counts of a bar, at most the
// whole bar.
func pickupLength(m Meter, counts Rat) Rat {
	var length Rat
	left := counts
	for i := m.Counts(); i >= 1 && left.Sign() > 0; i-- {
		part := left
		if R(1, 1).Less(part) {
			part = R(1, 1)
		}
		length = length.Add(m.CountLength(i).Mul(part))
		left = left.Sub(part)
	}
	return length
}

// First is the number of the first bar: 0 with a pickup, else 1.
func (g *Grid) First() int { return g.first }

// Last is the number of the last bar.
func (g *Grid) Last() int { return g.last }

// Has says whether there is such a bar.
func (g *Grid) Has(bar int) bool { return bar >= g.first && bar <= g.last }

func (g *Grid) run(bar int) *run {
	if len(g.runs) == 1 {
		return &g.runs[0]
	}
	i := sort.Search(len(g.runs), func(i int) bool { return g.runs[i].bar > bar })
	return &g.runs[max(0, i-1)]
}

// Meter is the meter of a bar.
func (g *Grid) Meter(bar int) Meter {
	if bar < 1 && g.first == 0 {
		return g.upbeat
	}
	return g.run(bar).meter
}

// Start is where a bar begins; that of the bar after the last is the end, and
// bars outside the piece begin at its nearest edge.
func (g *Grid) Start(bar int) Rat {
	if bar < 1 {
		return Rat{}
	}
	bar = min(bar, g.last+1)
	r := g.run(bar)
	return r.start.Add(r.length.MulInt(int64(bar - r.bar)))
}

// Length is how long a bar is, in whole notes; 0 when there is no such bar.
func (g *Grid) Length(bar int) Rat {
	if !g.Has(bar) {
		return Rat{}
	}
	if bar == 0 {
		return g.pickup
	}
	return g.run(bar).length
}

// End is where the last bar ends.
func (g *Grid) End() Rat { return g.Start(g.last + 1) }

// At is the position of a count of a bar; false when there is none.
func (g *Grid) At(bar int, c Count) (Rat, bool) { return g.AtFrom(bar, g.Start(bar), c) }

// AtFrom is At where it is known where the bar starts.
func (g *Grid) AtFrom(bar int, start Rat, c Count) (Rat, bool) {
	if !g.Has(bar) {
		return Rat{}, false
	}
	off, ok := g.Meter(bar).offset(c)
	if !ok {
		return Rat{}, false
	}
	if bar == 0 {
		if off.Less(g.skip) {
			return Rat{}, false
		}
		return off.Sub(g.skip), true
	}
	return start.Add(off), true
}

// Place is the bar and count at a position, the inverse of At. A position
// before the piece is placed at its first count; behind it bars go on, so that
// the end is count 1 of the bar after the last.
func (g *Grid) Place(pos Rat) (bar int, c Count) {
	if pos.Sign() < 0 {
		return g.first, g.FirstCount(g.first)
	}
	if pos.Less(g.runs[0].start) {
		return 0, g.upbeat.countAt(pos.Add(g.skip))
	}
	i := sort.Search(len(g.runs), func(i int) bool { return pos.Less(g.runs[i].start) })
	r := &g.runs[max(0, i-1)]
	into := pos.Sub(r.start)
	n := into.Div(r.length).Floor()
	return r.bar + int(n), r.meter.countAt(into.Sub(r.length.MulInt(n)))
}

// FirstCount is the first count of a bar. In the pickup bar counts keep the
// numbers they would have in the full bar, as players speak: a pickup of one
// count in 4/4 is count 4.
func (g *Grid) FirstCount(bar int) Count {
	if bar == 0 && g.first == 0 {
		return g.upbeat.countAt(g.skip)
	}
	return Count{Beat: 1}
}

// Equal says whether two grids put every count of every bar at the same place.
func (g *Grid) Equal(o *Grid) bool {
	if g == o {
		return true
	}
	if g == nil || o == nil || g.first != o.first || g.last != o.last || g.pickup != o.pickup || g.skip != o.skip || len(g.runs) != len(o.runs) {
		return false
	}
	for i := range g.runs {
		a, b := &g.runs[i], &o.runs[i]
		if a.bar != b.bar || a.meter.Upper != b.meter.Upper || a.meter.Lower != b.meter.Lower || !slices.Equal(a.meter.Groups, b.meter.Groups) {
			return false
		}
	}
	return true
}
