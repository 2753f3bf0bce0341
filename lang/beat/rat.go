package beat

import (
	"math"
	"math/bits"
	"strconv"
)

// A Rat is an exact rational number in lowest terms; the zero value is 0.
// Positions are Rats in whole notes. Equal numbers are equal by ==.
//
// Products are made in 128 bits, and a result that fits in two int64s is
// exact. One that does not is rounded to one that does, and stays at the
// largest or smallest Rat when it is too large for any; nothing panics.
// Sums and products of numbers whose parts are below 2³¹ always fit.
type Rat struct {
	n int64
	d int64 // denominator − 1, so that the zero value is 0/1
}

// R is n/d in lowest terms. A denominator of 0 gives 0: callers check first.
func R(n, d int64) Rat {
	if d == 0 || n == 0 {
		return Rat{}
	}
	neg := (n < 0) != (d < 0)
	return reduce(neg, 0, abs(n), 0, abs(d))
}

func abs(n int64) uint64 {
	if n < 0 {
		return uint64(-n) // right for the smallest int64 too
	}
	return uint64(n)
}

// reduce makes a Rat of two 128-bit numbers, which are in lowest terms if they
// do not both fit in 64 bits.
func reduce(neg bool, nh, nl, dh, dl uint64) Rat {
	if nh|dh == 0 {
		if g := gcd(nl, dl); g > 1 {
			nl, dl = nl/g, dl/g
		}
		if nl <= math.MaxInt64 && dl-1 < math.MaxInt64 {
			return signed(neg, nl, dl)
		}
	}
	for nh|dh != 0 || nl > math.MaxInt64 || dl > math.MaxInt64 {
		// Out of range: give up the lowest bit of both, and with it exactness.
		nl, nh = nl>>1|nh<<63, nh>>1
		dl, dh = dl>>1|dh<<63, dh>>1
	}
	if dl == 0 {
		nl, dl = math.MaxInt64, 1
	}
	if g := gcd(nl, dl); g > 1 {
		nl, dl = nl/g, dl/g
	}
	return signed(neg, nl, dl)
}

// signed is n/d, which are in lowest terms.
func signed(neg bool, n, d uint64) Rat {
	if neg {
		return Rat{-int64(n), int64(d) - 1}
	}
	return Rat{int64(n), int64(d) - 1}
}

func gcd(a, b uint64) uint64 {
	if a == 0 || b == 0 {
		return a | b
	}
	shift := bits.TrailingZeros64(a | b)
	a >>= bits.TrailingZeros64(a)
	b >>= bits.TrailingZeros64(b)
	for a != b && a != 1 {
		if a > b {
			a, b = b, a
			continue // the smaller one may be 1
		}
		b -= a
		b >>= bits.TrailingZeros64(b)
	}
	return a << shift
}

// Num is the number above the line, Den the one below it.
func (a Rat) Num() int64 { return a.n }
func (a Rat) Den() int64 { return a.d + 1 }

// Add is a + b.
func (a Rat) Add(b Rat) Rat {
	switch {
	case a.n == 0:
		return b
	case b.n == 0:
		return a
	}
	ad, bd := a.Den(), b.Den()
	if ad == bd {
		if s := a.n + b.n; (a.n^s)&(b.n^s) >= 0 && s != math.MinInt64 {
			if ad == 1 {
				return Rat{s, 0}
			}
			return R(s, ad)
		}
	}
	g := int64(gcd(uint64(ad), uint64(bd)))
	xh, xl := bits.Mul64(abs(a.n), uint64(bd/g))
	yh, yl := bits.Mul64(abs(b.n), uint64(ad/g))
	xneg, yneg := a.n < 0, b.n < 0
	var h, l, c uint64
	if xneg == yneg {
		l, c = bits.Add64(xl, yl, 0)
		h, _ = bits.Add64(xh, yh, c)
	} else {
		if xh < yh || xh == yh && xl < yl {
			xh, xl, yh, yl, xneg = yh, yl, xh, xl, yneg
		}
		l, c = bits.Sub64(xl, yl, 0)
		h, _ = bits.Sub64(xh, yh, c)
		if h|l == 0 {
			return Rat{}
		}
	}
	// Only a factor of g can still be common to both (Knuth, The Art of
	// Computer Programming, vol. 2, 4.5.1).
	if g > 1 {
		_, rest := bits.Div64(h%uint64(g), l, uint64(g))
		if k := gcd(rest, uint64(g)); k > 1 {
			h, l = h/k, quo(h%k, l, k)
			ad /= int64(k)
		}
	}
	dh, dl := bits.Mul64(uint64(ad), uint64(bd/g))
	if h|dh == 0 && l <= math.MaxInt64 && dl <= math.MaxInt64 {
		return signed(xneg, l, dl)
	}
	return reduce(xneg, h, l, dh, dl)
}

// quo is h·2⁶⁴+l divided by k, for h < k.
func quo(h, l, k uint64) uint64 {
	q, _ := bits.Div64(h, l, k)
	return q
}

// Neg is −a.
func (a Rat) Neg() Rat { return Rat{-a.n, a.d} }

// Sub is a − b.
func (a Rat) Sub(b Rat) Rat { return a.Add(b.Neg()) }

// Mul is a × b.
func (a Rat) Mul(b Rat) Rat {
	if a.n == 0 || b.n == 0 {
		return Rat{}
	}
	an, bn, ad, bd := abs(a.n), abs(b.n), uint64(a.Den()), uint64(b.Den())
	if g := gcd(an, bd); g > 1 {
		an, bd = an/g, bd/g
	}
	if g := gcd(bn, ad); g > 1 {
		bn, ad = bn/g, ad/g
	}
	nh, nl := bits.Mul64(an, bn)
	dh, dl := bits.Mul64(ad, bd)
	if nh|dh == 0 && nl <= math.MaxInt64 && dl <= math.MaxInt64 { // in lowest terms, as both were
		return signed((a.n < 0) != (b.n < 0), nl, dl)
	}
	return reduce((a.n < 0) != (b.n < 0), nh, nl, dh, dl)
}

// MulInt is a × k.
func (a Rat) MulInt(k int64) Rat { return a.Mul(Rat{k, 0}) }

// Div is a ÷ b; dividing by 0 gives 0.
func (a Rat) Div(b Rat) Rat {
	if b.n == 0 {
		return Rat{}
	}
	inv := Rat{b.Den(), int64(abs(b.n)) - 1}
	if b.n < 0 {
		inv.n = -inv.n
	}
	return a.Mul(inv)
}

// Cmp is −1, 0 or 1 as a is less than, equal to or greater than b.
func (a Rat) Cmp(b Rat) int {
	if a == b {
		return 0
	}
	if a.Less(b) {
		return -1
	}
	return 1
}

// Less says whether a < b.
func (a Rat) Less(b Rat) bool {
	if a.d == b.d {
		return a.n < b.n
	}
	if (a.n < 0) != (b.n < 0) {
		return a.n < 0
	}
	xh, xl := bits.Mul64(abs(a.n), uint64(b.Den()))
	yh, yl := bits.Mul64(abs(b.n), uint64(a.Den()))
	if a.n < 0 {
		xh, xl, yh, yl = yh, yl, xh, xl
	}
	return xh < yh || xh == yh && xl < yl
}

// IsZero says whether a is 0.
func (a Rat) IsZero() bool { return a.n == 0 }

// Sign is −1, 0 or 1.
func (a Rat) Sign() int {
	switch {
	case a.n < 0:
		return -1
	case a.n > 0:
		return 1
	}
	return 0
}

// Float is the float64 nearest to a, if both its parts are below 2⁵³.
func (a Rat) Float() float64 { return float64(a.n) / float64(a.Den()) }

// Floor is the largest whole number not above a.
func (a Rat) Floor() int64 {
	q := a.n / a.Den()
	if a.n%a.Den() < 0 {
		q--
	}
	return q
}

// String is n or n/d.
func (a Rat) String() string {
	if a.d == 0 {
		return strconv.FormatInt(a.n, 10)
	}
	return strconv.FormatInt(a.n, 10) + "/" + strconv.FormatInt(a.Den(), 10)
}
