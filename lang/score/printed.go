package score

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"example.org/handful/lang/syntax"
)

// A Numbering says which number a bar has in print.
type Numbering struct {
	Bar   int
	Text  string // "" where none is printed
	Where Where
	ahead int // how much higher the bars behind are in print than here
}

// numbering reads which number a bar has in print.
func (b *binder) numbering(i int, s *syntax.Numbered) {
	bar, _, hasCount, ok := b.place(0, i, s.Place, true)
	text, where := s.Text.Value(), at(0, i, s.Text.Span())
	_, stands := slices.BinarySearchFunc(b.Numbers, bar, byBar)
	switch {
	case !ok:
	case hasCount:
		b.fault(syntax.RuleUnknownPlace, at(0, i, s.Place.Span()), numberStandsAtBar)
	case len([]rune(text)) > syntax.MaxPrinted:
		b.fault(syntax.RuleValue, where, numberTooLong, syntax.MaxPrinted)
	case stands:
		b.fault(syntax.RuleSyntax, where, numberedTwice, bar)
	default:
		at, _ := slices.BinarySearchFunc(b.Numbers, bar, byBar)
		b.Numbers = slices.Insert(b.Numbers, at, Numbering{Bar: bar, Text: text, Where: b.wholeLine(0, i)})
	}
}

func byBar(n Numbering, bar int) int { return cmp.Compare(n.Bar, bar) }

// countOn works out from which number bars are counted on behind each of those
// that say one; a bar with one for itself alone is not counted.
func (b *binder) countOn() {
	ahead := 0
	for i := range b.Numbers {
		n := &b.Numbers[i]
		if from, counts := syntax.CountsOn(n.Text); counts {
			ahead = from - n.Bar
		} else if n.Bar > 0 || n.Text != "" { // a pickup has none as a rule
			ahead--
		}
		n.ahead = ahead
	}
}

// Printed is the number that a bar has in print: the one that it is given, else
// one more than the bar before that is counted has; "" if none is printed.
func (s *Score) Printed(bar int) string {
	i, ok := slices.BinarySearchFunc(s.Numbers, bar, byBar)
	switch {
	case ok:
		return s.Numbers[i].Text
	case i == 0:
		return strconv.Itoa(bar)
	}
	return strconv.Itoa(bar + s.Numbers[i-1].ahead)
}

// InPrint says of a bar, behind its number here, which it has in print, where
// that is another: " (in print 103)".
func (s *Score) InPrint(bar int) string {
	switch p := s.Printed(bar); {
	case len(s.Numbers) == 0, p == strconv.Itoa(bar):
		return ""
	case p == "":
		return " (no number in print)"
	default:
		return fmt.Sprintf(" (in print %s)", p)
	}
}

// named is a bar's number, with the one in print where that is another.
func (s *Score) named(bar int) string { return strconv.Itoa(bar) + s.InPrint(bar) }

// StretchInPrint says of bars what InPrint says of one: " (in print 103 to 105)".
func (s *Score) StretchInPrint(from, to int) string {
	if from == to || s.InPrint(from) == "" && s.InPrint(to) == "" {
		return s.InPrint(from)
	}
	return fmt.Sprintf(" (in print %s to %s)", s.OnPage(from), s.OnPage(to))
}

// OnPage is how a page that is read beside the print names a bar: by its number
// there, or by the one here where it has none.
func (s *Score) OnPage(bar int) string {
	if len(s.Numbers) > 0 {
		if p := s.Printed(bar); p != "" {
			return p
		}
		return "[" + strconv.Itoa(bar) + "]"
	}
	return strconv.Itoa(bar)
}
