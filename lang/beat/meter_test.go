package beat

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
)

func meter(t require.TestingT, upper, lower int, groups ...int) Meter {
	m, err := NewMeter(upper, lower, groups)
	require.NoError(t, err)
	return m
}

func TestCountsAreSpelledAsPlayersSayThem(t *testing.T) {
	for want, c := range map[string]Count{
		"2": {2, Rat{}}, "2e": {2, R(1, 4)}, "2&": {2, R(1, 2)}, "2a": {2, R(3, 4)},
		"2t": {2, R(1, 3)}, "2l": {2, R(2, 3)}, "2+3/5": {2, R(3, 5)}, "12+1/8": {12, R(1, 8)},
	} {
		assert.Equal(t, want, c.String())
	}
}

func TestMeters(t *testing.T) {
	in2, err := InMeter(6, 8, 2)
	require.NoError(t, err)
	for _, c := range []struct {
		meter  Meter
		text   string
		length Rat
		counts []Rat
	}{
		{meter(t, 4, 4), "4/4", R(1, 1), []Rat{R(1, 4), R(1, 4), R(1, 4), R(1, 4)}},
		{meter(t, 6, 8), "6/8", R(3, 4), []Rat{R(1, 8), R(1, 8), R(1, 8), R(1, 8), R(1, 8), R(1, 8)}},
		{in2, "6/8 in 2", R(3, 4), []Rat{R(3, 8), R(3, 8)}},
		{meter(t, 7, 8, 2, 2, 3), "7/8 in 2+2+3", R(7, 8), []Rat{R(1, 4), R(1, 4), R(3, 8)}},
		{meter(t, 1, 64), "1/64", R(1, 64), []Rat{R(1, 64)}},
	} {
		assert.Equal(t, c.text, c.meter.String())
		assert.Equal(t, c.length, c.meter.Length(), c.text)
		require.Equal(t, len(c.counts), c.meter.Counts(), c.text)
		at := Rat{}
		for i, length := range c.counts {
			assert.Equal(t, length, c.meter.CountLength(i+1), "%s count %d", c.text, i+1)
			off, ok := c.meter.offset(Count{i + 1, R(1, 2)})
			assert.True(t, ok)
			assert.Equal(t, at.Add(length.Div(R(2, 1))), off, "%s count %d&", c.text, i+1)
			at = at.Add(length)
		}
		for _, outside := range []Count{{0, Rat{}}, {-1, Rat{}}, {len(c.counts) + 1, Rat{}}, {1, R(1, 1)}, {1, R(-1, 2)}} {
			_, ok := c.meter.offset(outside)
			assert.False(t, ok, "%s has no count %v", c.text, outside)
		}
		assert.Zero(t, c.meter.CountLength(0))
		assert.Zero(t, c.meter.CountLength(len(c.counts)+1))
	}
}

func TestMetersThatAreNone(t *testing.T) {
	for _, c := range []struct {
		upper, lower int
		groups       []int
		says         string
	}{
		{0, 4, nil, "a meter has 1 to 64 above the line, not 0"},
		{65, 4, nil, "a meter has 1 to 64 above the line, not 65"},
		{4, 5, nil, "a meter has 1, 2, 4, 8, 16, 32 or 64 below the line, not 5"},
		{4, 128, nil, "a meter has 1, 2, 4, 8, 16, 32 or 64 below the line, not 128"},
		{4, -4, nil, "a meter has 1, 2, 4, 8, 16, 32 or 64 below the line, not -4"},
		{7, 8, []int{2, 2, 2}, "2+2+2 adds up to 6, and 7/8 has 7"},
		{7, 8, []int{9, 0}, "a count of 7/8 is 1 to 7 units long, not 9"},
		{7, 8, []int{7, 0}, "a count of 7/8 is 1 to 7 units long, not 0"},
	} {
		_, err := NewMeter(c.upper, c.lower, c.groups)
		assert.EqualError(t, err, c.says)
	}
	_, err := InMeter(6, 8, 4)
	assert.EqualError(t, err, "6/8 cannot be counted in 4: in 1, 2, 3, 6 it can, or in groups such as 2+2+3")
	_, err = InMeter(6, 8, 0)
	assert.Error(t, err)
	_, err = InMeter(6, 7, 2)
	assert.Error(t, err)
}

func TestAMeterKeepsItsOwnGroups(t *testing.T) {
	groups := []int{2, 2, 3}
	m, _ := NewMeter(7, 8, groups)
	groups[0] = 5
	assert.Equal(t, "7/8 in 2+2+3", m.String())
}

func TestGridOfCommonTime(t *testing.T) {
	g := NewGrid(nil, Rat{}, 8)
	assert.Equal(t, 1, g.First())
	assert.Equal(t, 8, g.Last())
	assert.False(t, g.Has(0))
	assert.True(t, g.Has(8))
	assert.False(t, g.Has(9))
	assert.Equal(t, Rat{}, g.Start(1))
	assert.Equal(t, R(7, 1), g.Start(8))
	assert.Equal(t, R(8, 1), g.End())
	assert.Equal(t, R(8, 1), g.Start(1000), "positions stay within the piece")
	assert.Equal(t, Rat{}, g.Start(-3))
	assert.Zero(t, g.Length(0))
	pos, ok := g.At(3, Count{2, R(1, 2)})
	assert.True(t, ok)
	assert.Equal(t, R(19, 8), pos)
	_, ok = g.At(3, Count{5, Rat{}})
	assert.False(t, ok)
	_, ok = g.At(9, Count{1, Rat{}})
	assert.False(t, ok)
	_, ok = g.At(0, Count{4, Rat{}})
	assert.False(t, ok, "there is no pickup")
	bar, c := g.Place(g.End())
	assert.Equal(t, 9, bar)
	assert.Equal(t, Count{Beat: 1}, c)
	bar, c = g.Place(R(-1, 4))
	assert.Equal(t, 1, bar)
	assert.Equal(t, Count{Beat: 1}, c)
}

func TestGridOfChangingMeters(t *testing.T) {
	seven, in2 := meter(t, 7, 8, 2, 2, 3), Meter{6, 8, []int{3, 3}}
	g := NewGrid([]MeterChange{{5, meter(t, 3, 4)}, {3, in2}, {5, seven}, {99, in2}}, Rat{}, 6)
	assert.Equal(t, "4/4", g.Meter(2).String())
	assert.Equal(t, "6/8 in 2", g.Meter(3).String())
	assert.Equal(t, "6/8 in 2", g.Meter(4).String())
	assert.Equal(t, "7/8 in 2+2+3", g.Meter(5).String(), "the last change at a bar wins")
	assert.Equal(t, R(2, 1), g.Start(3))
	assert.Equal(t, R(7, 2), g.Start(5))
	assert.Equal(t, R(7, 8), g.Length(6))
	assert.Equal(t, R(21, 4), g.End())
	pos, ok := g.At(6, Count{3, R(1, 3)})
	assert.True(t, ok)
	assert.Equal(t, R(7, 2).Add(R(7, 8)).Add(R(1, 2)).Add(R(1, 8)), pos)
}

func TestPickups(t *testing.T) {
	for _, c := range []struct {
		name    string
		changes []MeterChange
		counts  Rat
		length  Rat
		first   string
		outside string // a count that the pickup bar has not
	}{
		{"one count of 4/4", nil, R(1, 1), R(1, 4), "4", "3"},
		{"half a count of 4/4", nil, R(1, 2), R(1, 8), "4&", "4"},
		{"a count and a half of 3/4", []MeterChange{{1, Meter{Upper: 3, Lower: 4}}}, R(3, 2), R(3, 8), "2&", "2"},
		{"one count of 6/8 in 2", []MeterChange{{1, Meter{6, 8, []int{3, 3}}}}, R(1, 1), R(3, 8), "2", "1"},
		{"a third of a count of 6/8 in 2", []MeterChange{{1, Meter{6, 8, []int{3, 3}}}}, R(1, 3), R(1, 8), "2l", "2"},
		{"two counts of 7/8 in 2+2+3", []MeterChange{{1, Meter{7, 8, []int{2, 2, 3}}}}, R(2, 1), R(5, 8), "2", "1"},
		{"more than the bar is the bar", nil, R(9, 1), R(1, 1), "1", ""},
		{"in a meter of its own", []MeterChange{{0, Meter{Upper: 2, Lower: 4}}, {1, Meter{Upper: 3, Lower: 4}}}, R(1, 1), R(1, 4), "2", "1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			g := NewGrid(c.changes, c.counts, 4)
			assert.Equal(t, 0, g.First())
			assert.True(t, g.Has(0))
			assert.Equal(t, c.length, g.Length(0))
			assert.Equal(t, Rat{}, g.Start(0))
			assert.Equal(t, c.length, g.Start(1))
			assert.Equal(t, c.first, g.FirstCount(0).String())
			assert.Equal(t, "1", g.FirstCount(1).String())
			pos, ok := g.At(0, g.FirstCount(0))
			assert.True(t, ok)
			assert.Equal(t, Rat{}, pos)
			bar, count := g.Place(Rat{})
			assert.Equal(t, 0, bar)
			assert.Equal(t, c.first, count.String())
			for b := 1; b <= g.Meter(0).Counts(); b++ {
				if (Count{Beat: b}).String() == c.outside {
					_, ok := g.At(0, Count{Beat: b})
					assert.False(t, ok)
				}
			}
		})
	}
}

func meters(t *rapid.T) Meter {
	upper, lower := rapid.IntRange(1, 64).Draw(t, "upper"), 1<<rapid.IntRange(0, 6).Draw(t, "lower")
	var groups []int
	if rapid.Bool().Draw(t, "grouped") {
		for left := upper; left > 0; {
			g := rapid.IntRange(1, min(left, 5)).Draw(t, "group")
			groups = append(groups, g)
			left -= g
		}
	}
	return meter(t, upper, lower, groups...)
}

func grids(t *rapid.T) *Grid {
	bars := rapid.IntRange(1, 60).Draw(t, "bars")
	var changes []MeterChange
	for i := rapid.IntRange(0, 8).Draw(t, "changes"); i > 0; i-- {
		changes = append(changes, MeterChange{rapid.IntRange(-1, 70).Draw(t, "bar"), meters(t)})
	}
	pickup := R(rapid.Int64Range(0, 24).Draw(t, "pickup"), rapid.SampledFrom([]int64{1, 2, 3, 4, 5}).Draw(t, "of"))
	return NewGrid(changes, pickup, bars)
}

func TestPlaceIsTheInverseOfAt(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		g := grids(t)
		bar := rapid.IntRange(g.First(), g.Last()).Draw(t, "bar")
		d := rapid.SampledFrom([]int64{1, 2, 3, 4, 5, 7, 12}).Draw(t, "d")
		c := Count{rapid.IntRange(1, g.Meter(bar).Counts()).Draw(t, "beat"), R(rapid.Int64Range(0, d-1).Draw(t, "n"), d)}
		pos, ok := g.At(bar, c)
		if !ok {
			require.Equal(t, 0, bar, "only the pickup lacks counts of its meter")
			return
		}
		gotBar, gotCount := g.Place(pos)
		assert.Equal(t, bar, gotBar)
		assert.Equal(t, c, gotCount)
		assert.False(t, pos.Less(g.Start(bar)))
		assert.True(t, pos.Less(g.Start(bar+1)))
	})
}

// The grid keeps runs of bars; this adds the bars up one by one.
func TestBarsLieEndToEnd(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		g := grids(t)
		at := Rat{}
		for bar := g.First(); bar <= g.Last(); bar++ {
			require.Equal(t, at, g.Start(bar), "bar %d", bar)
			if bar > 0 {
				require.Equal(t, g.Meter(bar).Length(), g.Length(bar))
			}
			at = at.Add(g.Length(bar))
		}
		assert.Equal(t, at, g.End())
	})
}

func BenchmarkGridPlace(b *testing.B) {
	var changes []MeterChange
	for i := range 1000 {
		changes = append(changes, MeterChange{1 + 10*i, Meter{Upper: 2 + i%5, Lower: 4}})
	}
	g := NewGrid(changes, R(1, 1), MaxBars)
	b.ReportAllocs()
	i := int64(0)
	for b.Loop() {
		g.Place(R(i%80000, 8))
		i += 7919
	}
}

func BenchmarkNewGridOfEveryBar(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		NewGrid([]MeterChange{{MaxBars / 2, Meter{Upper: 3, Lower: 4}}}, Rat{}, MaxBars)
	}
}
