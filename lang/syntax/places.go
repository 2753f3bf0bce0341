package syntax

import (
	"strconv"
	"strings"

	"example.org/handful/lang/beat"
)

// A Place is where something happens: a bar or a mark, bars after it, and
// perhaps a count within the bar.
type Place struct {
	Mark  string // empty: Bar counts from the first bar
	Bar   int    // the bar's number, or bars after the mark
	Count beat.Count
	// HasCount says that a count was written; without one the place is the
	// whole bar, or its beginning.
	HasCount bool
}

// A Range is bars From to To, both included.
type Range struct{ From, To Place }

// ParsePlace reads 12, 12.3, 12.2&, A, A+4 or A+4.3.
func ParsePlace(text string) (Place, bool) {
	if text == "" {
		return Place{}, false
	}
	var p Place
	rest := text
	if isDigit(text[0]) {
		n, size := digits(rest)
		if size == 0 {
			return Place{}, false
		}
		p.Bar, rest = n, rest[size:]
	} else {
		end := strings.IndexAny(rest, ".+-")
		if end < 0 {
			end = len(rest)
		}
		if end == 0 {
			return Place{}, false
		}
		p.Mark, rest = rest[:end], rest[end:]
		if strings.HasPrefix(rest, "+") {
			n, size := digits(rest[1:])
			if size == 0 {
				return Place{}, false
			}
			p.Bar, rest = n, rest[1+size:]
		}
	}
	if rest == "" {
		return p, true
	}
	if rest[0] != '.' {
		return Place{}, false
	}
	count, ok := ParseCount(rest[1:])
	p.Count, p.HasCount = count, ok
	return p, ok
}

// ParseRange reads 9-16, A-B, A+2-B or one place, which is its own range.
func ParseRange(text string) (Range, bool) {
	if i := strings.IndexByte(text, '-'); i > 0 {
		from, ok1 := ParsePlace(text[:i])
		to, ok2 := ParsePlace(text[i+1:])
		return Range{from, to}, ok1 && ok2 && !from.HasCount && !to.HasCount
	}
	p, ok := ParsePlace(text)
	return Range{p, p}, ok && !p.HasCount
}

// String spells the place as the notation does.
func (p Place) String() string {
	var b strings.Builder
	if p.Mark != "" {
		b.WriteString(p.Mark)
		if p.Bar > 0 {
			b.WriteString("+")
			writeInt(&b, p.Bar)
		}
	} else {
		writeInt(&b, p.Bar)
	}
	if p.HasCount {
		b.WriteString(".")
		b.WriteString(p.Count.String())
	}
	return b.String()
}

// ParseCount reads 2, 2e, 2&, 2a, 2t, 2l or 2+3/5, and nothing behind it.
func ParseCount(text string) (beat.Count, bool) {
	c, size, bad := scanCount(text)
	return c, size == len(text) && size > 0 && bad == ""
}

// maxNumber bounds every whole number in the notation; more digits than that
// are read as this.
const maxNumber = 1_000_000_000

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// digits reads a whole number at the start of text and says how many bytes it
// took; it stops counting at maxNumber.
func digits(text string) (n, size int) {
	for size < len(text) && isDigit(text[size]) {
		n = min(n*10+int(text[size]-'0'), maxNumber)
		size++
	}
	return n, size
}

// MaxFraction is the largest lower number a count's fraction may have.
const MaxFraction = 960

// scanCount reads a count at the start of text. bad is a reason when there is
// a number but no lawful fraction behind it; size covers what was read.
func scanCount(text string) (c beat.Count, size int, bad string) {
	n, size := digits(text)
	if size == 0 {
		return c, 0, ""
	}
	c.Beat = n
	if n == 0 {
		bad = "counts begin at 1"
	}
	if size == len(text) {
		return c, size, bad
	}
	switch text[size] {
	case 'e':
		c.Frac = beat.R(1, 4)
	case '&':
		c.Frac = beat.R(1, 2)
	case 'a':
		c.Frac = beat.R(3, 4)
	case 't':
		c.Frac = beat.R(1, 3)
	case 'l':
		c.Frac = beat.R(2, 3)
	case '+':
		up, s1 := digits(text[size+1:])
		rest := text[size+1+s1:]
		if s1 == 0 || !strings.HasPrefix(rest, "/") {
			return c, size + 1 + s1, "a fraction reads 2+3/5"
		}
		low, s2 := digits(rest[1:])
		size += 2 + s1 + s2
		switch {
		case s2 == 0:
			bad = "a fraction reads 2+3/5"
		case low == 0:
			bad = "a fraction cannot have 0 below the line"
		case up >= low:
			bad = "a count's fraction is less than 1"
		case low > MaxFraction:
			bad = "a count's fraction goes no finer than 1/960"
		default:
			c.Frac = beat.R(int64(up), int64(low))
		}
		return c, size, bad
	default:
		return c, size, bad
	}
	return c, size + 1, bad
}

// MaxPrinted is how many letters and digits a bar's number in print has at most.
const MaxPrinted = 16

// CountsOn says whether a number in print is one from which bars are counted on.
func CountsOn(text string) (n int, ok bool) {
	n, err := strconv.Atoi(text)
	return n, err == nil && 0 <= n && n < 1e9 && strconv.Itoa(n) == text
}
