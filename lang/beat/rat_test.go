package beat

import (
	"math"
	"math/big"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
)

// rats draws numbers of every size that always fits.
func rats(limit int64) *rapid.Generator[Rat] {
	return rapid.Custom(func(t *rapid.T) Rat {
		d := rapid.OneOf(rapid.SampledFrom([]int64{1, 2, 3, 4, 6, 8, 12, 16, 20, 64}), rapid.Int64Range(1, limit)).Draw(t, "d")
		return R(rapid.OneOf(rapid.Int64Range(-40, 40), rapid.Int64Range(-limit, limit)).Draw(t, "n"), d)
	})
}

func exact(a Rat) *big.Rat { return big.NewRat(a.Num(), a.Den()) }

// A result is right when it is the exact number, in lowest terms.
func assertIs(t assert.TestingT, want *big.Rat, got Rat, what string) {
	assert.Equal(t, want.Num().String(), big.NewInt(got.Num()).String(), what)
	assert.Equal(t, want.Denom().String(), big.NewInt(got.Den()).String(), what)
}

func TestRatIsExact(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		const limit = 1<<31 - 1
		a, b := rats(limit).Draw(t, "a"), rats(limit).Draw(t, "b")
		x, y := exact(a), exact(b)
		assertIs(t, new(big.Rat).Add(x, y), a.Add(b), "a+b")
		assertIs(t, new(big.Rat).Sub(x, y), a.Sub(b), "a-b")
		assertIs(t, new(big.Rat).Mul(x, y), a.Mul(b), "a*b")
		assertIs(t, new(big.Rat).Neg(x), a.Neg(), "-a")
		assertIs(t, new(big.Rat).Mul(x, big.NewRat(b.Num(), 1)), a.MulInt(b.Num()), "a*k")
		if !b.IsZero() {
			assertIs(t, new(big.Rat).Quo(x, y), a.Div(b), "a/b")
		}
		assert.Equal(t, x.Cmp(y), a.Cmp(b))
		assert.Equal(t, x.Cmp(y) < 0, a.Less(b))
		assert.Equal(t, x.Sign(), a.Sign())
		assert.Equal(t, x.Sign() == 0, a.IsZero())
		assert.Equal(t, x.RatString(), a.String())
		nearest, _ := x.Float64()
		assert.Equal(t, nearest, a.Float())
		floor := new(big.Int).Div(x.Num(), x.Denom()) // Euclidean: floor for a positive divisor
		assert.Equal(t, floor.Int64(), a.Floor())
	})
}

func TestRatKeepsEveryResultThatFits(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		part := rapid.Int64Range(math.MinInt64+1, math.MaxInt64)
		a := R(part.Draw(t, "an"), part.Filter(func(n int64) bool { return n != 0 }).Draw(t, "ad"))
		// Denominators with a large common factor make sums that only fit
		// after they are reduced.
		b := R(part.Draw(t, "bn"), max(1, a.Den()/rapid.Int64Range(1, 1000).Draw(t, "share")))
		for what, c := range map[string]struct {
			want *big.Rat
			got  Rat
		}{
			"a+b": {new(big.Rat).Add(exact(a), exact(b)), a.Add(b)},
			"a-b": {new(big.Rat).Sub(exact(a), exact(b)), a.Sub(b)},
			"a*b": {new(big.Rat).Mul(exact(a), exact(b)), a.Mul(b)},
		} {
			if c.want.Num().IsInt64() && c.want.Denom().IsInt64() && c.want.Num().Int64() != math.MinInt64 {
				assertIs(t, c.want, c.got, what)
			}
		}
	})
}

func TestRatStaysAtTheEdgeWhenNothingFits(t *testing.T) {
	most := R(math.MaxInt64, 1)
	assert.Equal(t, most, most.Add(most))
	assert.Equal(t, most, most.Mul(most))
	assert.Equal(t, most.Neg(), most.Neg().Sub(most))
	assert.Equal(t, most.Neg(), most.Neg().Sub(R(1, 1)), "the smallest int64 has no opposite, so it is not a Rat")
	assert.Equal(t, most.Neg(), R(math.MinInt64, 1))
	assert.Equal(t, R(1, 1), R(math.MinInt64, math.MinInt64))
	assert.Equal(t, Rat{}, R(1, math.MaxInt64).Mul(R(1, math.MaxInt64)))
	assert.Equal(t, most.Neg(), R(1, 1).MulInt(math.MinInt64))
}

func TestRatOfNothing(t *testing.T) {
	assert.Equal(t, Rat{}, R(7, 0), "callers check the denominator first")
	assert.Equal(t, Rat{}, R(0, -5))
	assert.Equal(t, Rat{}, R(3, 4).Div(Rat{}))
	assert.EqualValues(t, 1, Rat{}.Den())
	assert.Equal(t, "0", Rat{}.String())
}

func TestEqualRatsAreOneMapKey(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		a := rats(1<<20).Draw(t, "a")
		k := rapid.Int64Range(1, 1<<20).Draw(t, "k")
		seen := map[Rat]bool{a: true}
		assert.True(t, seen[R(a.Num()*k, a.Den()*k)])
		assert.True(t, seen[R(-a.Num()*k, -a.Den()*k)])
	})
}

func BenchmarkRatAdd(b *testing.B) {
	positions := []Rat{R(1, 4), R(1, 8), R(3, 16), R(5, 12), R(7, 20), R(1, 4), R(11, 3), R(9, 2)}
	large := make([]*big.Rat, len(positions))
	for i, p := range positions {
		large[i] = exact(p)
	}
	start := time.Now()
	sum, rounds := new(big.Rat), 0
	for ; rounds < 200_000; rounds++ {
		sum.Add(large[rounds&7], large[(rounds+3)&7])
	}
	slow := float64(time.Since(start)) / float64(rounds)
	var kept Rat
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		kept = positions[i&7].Add(positions[(i+3)&7])
		i++
	}
	_ = kept
	b.ReportMetric(slow/(float64(b.Elapsed())/float64(b.N)), "times-math/big")
}
