package plan

import (
	"fmt"
	"strings"

	"example.org/handful/lang/words"
)

// An Omission is what is left out of one line and said at once: stretches that are left out for
// the same reason, or all of a stretch of one phrase whatever stands against its bars.
type Omission struct {
	Part, Line string
	Called     string
	Places     [][2]int // stretches of bars, from and to
	Strokes    int
	Rolls      int // of those
	Because    string
}

// What is how much that is, in words.
func (o *Omission) What() string { return strokesAndRolls(o.Strokes, o.Rolls) }

// strokesAndRolls is so many strokes in words, those that are rolls said as such.
func strokesAndRolls(strokes, rolls int) string {
	switch {
	case rolls == 0:
		return words.Count(strokes, "stroke", "strokes")
	case rolls == strokes:
		return words.Count(rolls, "roll", "rolls")
	}
	return words.Count(rolls, "roll", "rolls") + " and " + words.Count(strokes-rolls, "stroke", "strokes")
}

// Omissions are losses said at once where that reads better.
func Omissions(lost []Loss) (out []Omission) {
	for rest := lost; len(rest) > 0; {
		n := 1
		for n < len(rest) && rest[n].goesOn {
			n++
		}
		now := whole(rest[:n])
		rest = rest[n:]
		if k := len(out) - 1; k >= 0 && out[k].takes(&now) {
			out[k].Places = append(out[k].Places, now.Places...)
			out[k].Strokes += now.Strokes
			out[k].Rolls += now.Rolls
			continue
		}
		out = append(out, now)
	}
	return out
}

// Where is in which bars that is, in words.
func (o *Omission) Where() string {
	var where []string
	for _, p := range o.Places {
		where = append(where, bars(p[0], p[1]))
	}
	if first := o.Places[0]; len(o.Places) == 1 && first[0] == first[1] {
		return "bar " + where[0]
	} else if len(o.Places) == 1 {
		return fmt.Sprintf("bars %d to %d", first[0], first[1])
	}
	return "bars " + list(where)
}

// takes says whether an omission is said together with another one that comes behind it.
func (o *Omission) takes(next *Omission) bool {
	return o.Part == next.Part && o.Line == next.Line && o.Because == next.Because && len(o.Places) < mostNamed
}

// whole is an omission of losses that follow one another in a phrase.
func whole(run []Loss) Omission {
	out := Omission{Part: run[0].Part, Line: run[0].Line, Called: run[0].Called, Places: [][2]int{{run[0].From, run[len(run)-1].To}}}
	why := map[string]string{} // by kind, with its figures where any has some
	var kinds []string
	for _, l := range run {
		out.Strokes += l.Strokes
		out.Rolls += l.Rolls
		kind := kindOf(l.Because)
		if why[kind] == "" {
			kinds = append(kinds, kind)
		}
		if len(l.Because) > len(why[kind]) {
			why[kind] = l.Because
		}
	}
	var b strings.Builder
	b.WriteString(why[kinds[0]])
	for _, kind := range kinds[1:] {
		var where []string
		for _, l := range run {
			if kindOf(l.Because) == kind {
				where = append(where, bars(l.From, l.To))
			}
		}
		b.WriteString(inPart + list(where) + " " + why[kind])
	}
	out.Because = b.String()
	return out
}

// inPart comes before the bars of an omission that have another reason than its first.
const inPart = "; in "

// Crowded says of moments that ask for more hands than there are which those are; bars in which
// the same is asked for at the same count are said at once.
func Crowded(why []Reason) (out []string) {
	where := map[string][]string{}
	var all []string
	for i := range why {
		_, what, _ := strings.Cut(why[i].Words, ", ")
		if where[what] == nil {
			all = append(all, what)
		}
		where[what] = append(where[what], fmt.Sprint(why[i].Bar))
	}
	for _, what := range all {
		word := "bars "
		if len(where[what]) == 1 {
			word = "bar "
		}
		out = append(out, word+list(where[what])+", "+what)
	}
	return out
}
