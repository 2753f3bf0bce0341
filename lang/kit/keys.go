package kit

import (
	"fmt"
	"math"
	"strings"

	"example.org/handful/lang/pitch"
)

// DescribeNote says in a sentence which bar or kettle a written note is, and how
// it sounds; "" where the instrument does not have it.
func (in *Instrument) DescribeNote(p pitch.Pitch) string {
	if !in.Range.Has(p) {
		return ""
	}
	var out strings.Builder
	fmt.Fprintf(&out, "%s on the %s: ", p, in.Name())
	if sounds := in.Sounding(p); sounds == p {
		out.WriteString("sounds as written")
	} else {
		fmt.Fprintf(&out, "sounds %s", sounds)
	}
	if bar, ok := in.Bar(p); ok {
		row := "near"
		if bar.Ahead > 0 {
			row = "far"
		}
		fmt.Fprintf(&out, "; a bar of the %s row, %s, %.1f cm wide", row, aside(bar.Right), bar.Wide)
	}
	var kettles []string
	for n, k := range in.Kettles {
		if k.Reaches(p) {
			kettles = append(kettles, fmt.Sprintf("kettle %d, %g cm across", n+1, k.Across))
		}
	}
	if kettles != nil {
		out.WriteString("; reached by " + strings.Join(kettles, ", or "))
	}
	return out.String()
}

// DescribeMember says in a sentence where the n-th of a set stands.
func (in *Instrument) DescribeMember(n int) string {
	t, ok := in.Member(n)
	if !ok {
		return ""
	}
	return in.describeMember(n, aside(t.Right))
}

// DescribeApart says the same of one that stands by itself at a place, in words.
func (in *Instrument) DescribeApart(n int, place string) string {
	if n < 1 || n > in.Row() {
		return ""
	}
	return in.describeMember(n, place)
}

func (in *Instrument) describeMember(n int, place string) string {
	name := ""
	if n <= len(in.MemberNames) {
		name = ", the " + in.MemberNames[n-1] + " one"
	}
	said := fmt.Sprintf("%d of %d of the %s from the left%s: %s", n, in.Row(), in.Name(), name, place)
	if n <= len(in.Kettles) {
		k := in.Kettles[n-1]
		said += fmt.Sprintf("; %g cm across, %s to %s", k.Across, k.Low, k.High)
	}
	return said
}

// aside is how far from the middle something is.
func aside(cm float64) string {
	switch side := math.Round(math.Abs(cm)); {
	case side == 0:
		return "in the middle"
	case cm < 0:
		return fmt.Sprintf("%.0f cm left of the middle", side)
	default:
		return fmt.Sprintf("%.0f cm right of the middle", side)
	}
}
