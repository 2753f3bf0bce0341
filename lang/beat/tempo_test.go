package beat

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
)

func TestSecondsAtASteadyTempo(t *testing.T) {
	m := NewTempoMap(nil, 24) // 96 quarters a minute
	assert.InDelta(t, 2.5, m.Seconds(R(1, 1)), 1e-12)
	assert.InDelta(t, 0.625, m.Between(R(3, 4), R(1, 1)), 1e-12)
	assert.Equal(t, 24.0, m.At(R(100, 1)))
	assert.Zero(t, m.Seconds(Rat{}))
}

func TestSecondsUnderALinearChange(t *testing.T) {
	// 96 to 80 quarters over two bars of 4/4: 60·n/(b−a)·ln(b/a).
	m := NewTempoMap([]TempoChange{{At: R(30, 1), From: 24, To: 20, Over: R(2, 1)}}, 24)
	assert.InDelta(t, 60*2/(20.0-24)*math.Log(20.0/24), m.Between(R(30, 1), R(32, 1)), 1e-9)
	assert.InDelta(t, 22, m.At(R(31, 1)), 1e-12, "half-way in score position")
	assert.InDelta(t, 20, m.At(R(50, 1)), 1e-12, "the new tempo stays")
	assert.InDelta(t, 3, m.Between(R(40, 1), R(41, 1)), 1e-9)
}

func TestTempoChangesInOrder(t *testing.T) {
	for _, c := range []struct {
		name    string
		changes []TempoChange
		at      Rat
		tempo   float64
	}{
		{"the default before the first change", []TempoChange{{At: R(4, 1), From: 30, To: 30}}, R(15, 4), 24},
		{"a step holds from its place", []TempoChange{{At: R(4, 1), From: 30, To: 30}}, R(4, 1), 30},
		{"given out of order", []TempoChange{{At: R(8, 1), From: 40, To: 40}, {At: R(4, 1), From: 30, To: 30}}, R(9, 1), 40},
		{"the last at one place wins", []TempoChange{{At: R(4, 1), From: 30, To: 30}, {At: R(4, 1), From: 50, To: 50}}, R(5, 1), 50},
		{"a step cuts off a linear change", []TempoChange{{At: Rat{}, From: 20, To: 40, Over: R(4, 1)}, {At: R(2, 1), From: 25, To: 25}}, R(5, 1), 25},
		{"and up to there the change is as it was", []TempoChange{{At: Rat{}, From: 20, To: 40, Over: R(4, 1)}, {At: R(2, 1), From: 25, To: 25}}, R(1, 1), 25},
		{"a linear change cuts off another", []TempoChange{{At: Rat{}, From: 20, To: 40, Over: R(4, 1)}, {At: R(2, 1), From: 30, To: 10, Over: R(4, 1)}}, R(4, 1), 20},
		{"a change at the end of another", []TempoChange{{At: Rat{}, From: 20, To: 40, Over: R(4, 1)}, {At: R(4, 1), From: 10, To: 10}}, R(4, 1), 10},
		{"one before the piece counts as at its start", []TempoChange{{At: R(-1, 1), From: 33, To: 33}}, Rat{}, 33},
		{"no tempo at all is left out", []TempoChange{{At: Rat{}, From: 0, To: 0}, {At: R(1, 1), From: math.NaN(), To: 3}, {At: R(1, 1), From: 24, To: -5, Over: R(1, 1)}}, R(3, 1), 24},
	} {
		assert.InDelta(t, c.tempo, NewTempoMap(c.changes, 24).At(c.at), 1e-12, c.name)
	}
	assert.Equal(t, 24.0, NewTempoMap(nil, 0).At(Rat{}), "a default that is no tempo")
}

func tempoChanges(t *rapid.T) []TempoChange {
	var out []TempoChange
	for i := rapid.IntRange(0, 6).Draw(t, "changes"); i > 0; i-- {
		c := TempoChange{At: R(rapid.Int64Range(0, 160).Draw(t, "at"), 8)}
		c.From = rapid.Float64Range(2, 200).Draw(t, "from")
		c.To = c.From
		if rapid.Bool().Draw(t, "linear") {
			c.Over = R(rapid.Int64Range(1, 64).Draw(t, "over"), 8)
			c.To = rapid.OneOf(rapid.Float64Range(2, 200), rapid.SampledFrom([]float64{c.From, c.From + 1e-13, c.From * (1 + 1e-9), c.From - 1e-6})).Draw(t, "to")
		}
		out = append(out, c)
	}
	return out
}

// Seconds are the integral of 60/tempo over score position, here by composite
// Simpson over each eighth of a whole note (every edge is on one). The rule's
// error is at most L/180·h⁴·max|f⁗|, and for f = 60/v with v' = s the fourth
// derivative is 24·60·s⁴/v⁵; what is left over is rounding.
func TestSecondsAreTheIntegralOfTheTempo(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		m := NewTempoMap(tempoChanges(t), rapid.Float64Range(2, 200).Draw(t, "default"))
		const steps, length = 64, 0.125
		until, within := 0.0, 1e-9
		for e := int64(0); e < 200; e++ {
			a, b := R(e, 8), R(e+1, 8)
			// A step may begin at b: what counts is the tempo reached before it.
			first, middle := m.At(a), m.At(R(2*e+1, 16))
			last := 2*middle - first
			sum := 60/first + 60/last
			for i := int64(1); i < steps; i++ {
				weight := 2.0
				if i%2 == 1 {
					weight = 4
				}
				sum += weight * 60 / m.At(a.Add(R(i, 8*steps)))
			}
			const h = length / steps
			until += sum * h / 3
			within += length / 180 * math.Pow(h, 4) * 24 * 60 * math.Pow((last-first)/length, 4) / math.Pow(min(first, last), 5)
			require.InDelta(t, until, m.Seconds(b), within, "at %v", b)
		}
	})
}

func TestTimeOnlyGoesForward(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		m := NewTempoMap(tempoChanges(t), 24)
		a := R(rapid.Int64Range(0, 3000).Draw(t, "a"), 96)
		b := a.Add(R(rapid.Int64Range(1, 300).Draw(t, "step"), 96))
		assert.Greater(t, m.Between(a, b), 0.0)
		c := b.Add(R(1, 3))
		assert.InDelta(t, m.Between(a, c), m.Between(a, b)+m.Between(b, c), 1e-9)
	})
}

func TestATinyChangeOfTempoIsAlmostNone(t *testing.T) {
	steady := NewTempoMap(nil, 24).Seconds(R(8, 1))
	for _, by := range []float64{1e-15, 1e-12, 1e-9, 1e-7, 1e-5} {
		got := NewTempoMap([]TempoChange{{From: 24, To: 24 * (1 + by), Over: R(8, 1)}}, 24).Seconds(R(8, 1))
		// ln(1+x)/x = 1 − x/2 + x²/3 − …
		assert.InDelta(t, steady*(1-by/2+by*by/3), got, steady*1e-14, "by %g", by)
	}
}

func TestTimelineOfARepeat(t *testing.T) {
	// Bars of 4/4 at 60 quarters take 4 s; the second time through, bar 2
	// (twice as fast) is as fast as it was the first time.
	g := NewGrid(nil, Rat{}, 4)
	tempo := NewTempoMap([]TempoChange{{At: R(1, 1), From: 30, To: 30}, {At: R(2, 1), From: 15, To: 15}}, 15)
	road, problems := Unroll(1, 4, []Repeat{{1, 2, 2}}, nil, nil, nil, 0)
	assert.Empty(t, problems)
	tl := NewTimeline(g, tempo, road)
	assert.Equal(t, []Span{{From: 1, To: 2, Pass: 1}, {From: 1, To: 2, Pass: 2}, {From: 3, To: 4, Pass: 1}}, tl.Spans())
	assert.InDelta(t, 0, tl.Start(0), 1e-12)
	assert.InDelta(t, 6, tl.Start(1), 1e-12)
	assert.InDelta(t, 12, tl.Start(2), 1e-12)
	assert.InDelta(t, 11, tl.Seconds(1, R(3, 2)), 1e-12, "half-way through bar 2, second time")
	assert.InDelta(t, 20, tl.Total(), 1e-12)
	assert.Equal(t, 6, tl.PlayedBars())
	assert.InDelta(t, 20, tl.Start(3), 1e-12, "behind the last span is the end")
	assert.InDelta(t, 20, tl.Seconds(99, Rat{}), 1e-12)
	assert.InDelta(t, 0, tl.Start(-1), 1e-12)
}

func TestTimelinesAreEqualWhenEverythingIsAtTheSameSecond(t *testing.T) {
	timeline := func(pickup Rat, tempo float64, upper int) *Timeline {
		g := NewGrid([]MeterChange{{1, Meter{Upper: upper, Lower: 4}}}, pickup, 8)
		r, _ := Unroll(g.First(), 8, nil, nil, nil, nil, 0)
		return NewTimeline(g, NewTempoMap(nil, tempo), r)
	}
	same := timeline(Rat{}, 24, 4)
	assert.True(t, same.Equal(same))
	assert.True(t, same.Equal(timeline(Rat{}, 24, 4)))
	assert.False(t, same.Equal(timeline(R(1, 1), 24, 4)))
	assert.False(t, same.Equal(timeline(Rat{}, 25, 4)))
	assert.False(t, same.Equal(timeline(Rat{}, 24, 3)))
	assert.False(t, same.Equal(nil))
}

func BenchmarkTimelineSeconds(b *testing.B) {
	var changes []TempoChange
	for i := int64(0); i < 1000; i++ {
		changes = append(changes, TempoChange{At: R(8*i, 1), From: 24, To: 20, Over: R(4, 1)})
	}
	g := NewGrid(nil, Rat{}, 8000)
	road, _ := Unroll(1, 8000, nil, nil, nil, nil, 0)
	tl := NewTimeline(g, NewTempoMap(changes, 24), road)
	b.ReportAllocs()
	i := int64(0)
	for b.Loop() {
		tl.Seconds(0, R(i%64000, 8))
		i += 7919
	}
}
