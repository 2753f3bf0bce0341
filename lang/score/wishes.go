package score

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/syntax"
)

// What share of a stroke one stroke counts as of what matters little, how many of
// what matters much, and the least share and the most that a piece may say: judgement.
const (
	Little    = 0.25
	much      = 4
	leastMuch = 0.01
	mostMuch  = 100
)

// A Worth is how much a part, a line or some bars of a line matter: how many strokes
// each stroke counts as where something has to be left out.
type Worth struct {
	Name     string // of the line; "" is all of a part
	Part     string // "" is every part that has the line
	From, To int
	Ranged   bool // the text names bars
	Times    float64
	Said     string // little, much or the number
	Reason   string
	Where    Where
}

// A Together is a passage of one or more lines that stays with one person.
type Together struct {
	Names    []string
	Part     string // "" is every part that has the lines
	From, To int
	Reason   string
	Where    Where
}

// WorthOf is what the piece says of how much a line of a part matters in a bar, or
// nil: what names bars goes before what names none, what names a line before what
// names a part, and what names both before what names one.
func (s *Score) WorthOf(part, line string, bar int) *Worth {
	var best *Worth
	for _, w := range s.Worths {
		if (w.Part == "" || w.Part == part) && (w.Name == "" || w.Name == line) && bar >= w.From && bar <= w.To && (best == nil || w.exact() > best.exact()) {
			best = w
		}
	}
	return best
}

// exact is how closely a worth names what it is about.
func (w *Worth) exact() int {
	n := 0
	if w.Ranged {
		n += 4
	}
	if w.Name != "" {
		n += 2
	}
	if w.Part != "" {
		n++
	}
	return n
}

// Has says whether a line of a part is among what stays together in a bar.
func (t *Together) Has(part, line string, bar int) bool {
	if t.Part != "" && t.Part != part || bar < t.From || bar > t.To {
		return false
	}
	for _, n := range t.Names {
		if n == line {
			return true
		}
	}
	return false
}

// worths reads how much parts matter.
func (b *binder) worths() {
	for fi := range b.Sources {
		src := &b.Sources[fi]
		for i, l := range src.File.Lines {
			s, ok := l.Stmt.(*syntax.Part)
			if !ok || l.Broken || s.Much == nil || !src.takes(s.Name.Value()) {
				continue
			}
			w := &Worth{Part: s.Name.Value(), From: b.Grid.First(), To: b.Grid.Last(), Where: b.wholeLine(fi, i)}
			w.Reason = b.reason(fi, i, s.Reason)
			if b.much(fi, i, s.Much, w) {
				b.addWorth(w)
			}
		}
	}
}

// much reads how much something matters.
func (b *binder) much(file, line int, s *syntax.Worth, w *Worth) bool {
	switch {
	case s.Word != nil:
		switch w.Said = s.Word.Text; w.Said {
		case "little":
			w.Times = Little
		case "much":
			w.Times = much
		default:
			b.fault(syntax.RuleValue, at(file, line, s.Word.Span()), mattersForm)
			return false
		}
	case s.Times != nil:
		w.Said = s.Times.Text
		n, err := strconv.ParseFloat(w.Said, 64)
		if err != nil || !(n >= leastMuch && n <= mostMuch) {
			b.fault(syntax.RuleValue, at(file, line, s.Times.Span()), mattersOutOfRange, quoteWord(w.Said)).within(leastMuch, mostMuch)
			return false
		}
		w.Times = n
	default:
		return false
	}
	return true
}

// addWorth takes a worth, unless as exact a one says otherwise of the same bars.
func (b *binder) addWorth(w *Worth) {
	for _, o := range b.Worths {
		if o.Name == w.Name && o.Part == w.Part && o.Ranged == w.Ranged && o.From <= w.To && w.From <= o.To && o.Times != w.Times {
			what := w.Name
			if what == "" {
				what = "this part"
			}
			b.fault(syntax.RuleValue, w.Where, mattersOtherwise, what, inBars(max(o.From, w.From), min(o.To, w.To), w.Ranged), o.Said).
				also(o.Where, saidHere)
			return
		}
	}
	b.Worths = append(b.Worths, w)
}

func inBars(from, to int, said bool) string {
	switch {
	case !said:
		return ""
	case from == to:
		return fmt.Sprintf(" in bar %d", from)
	}
	return fmt.Sprintf(" in bars %d-%d", from, to)
}

// matters reads how much a line matters. Within the block of a part that has such a
// line it is that part's.
func (b *binder) matters(i int, s *syntax.Matters) {
	w := Worth{From: b.Grid.First(), To: b.Grid.Last(), Where: b.wholeLine(0, i)}
	w.Reason = b.reason(0, i, s.Reason)
	src := &b.Sources[0]
	names, part, ranges, ok := b.passage(i, []syntax.Name{s.What}, s.In, s.Of)
	if !ok || !b.much(0, i, &s.Much, &w) {
		return
	}
	w.Name, w.Part = names[0], part
	if seat := src.Seats[i]; seat.Block == syntax.InPart && part == "" {
		if p, ok := src.File.Lines[seat.Owner].Stmt.(*syntax.Part); ok && slices.ContainsFunc(b.index()[w.Name].lines, func(l *covered) bool { return l.Part.Name == p.Name.Value() }) {
			w.Part = p.Name.Value()
		}
	}
	w.Ranged = ranges != nil
	if ranges == nil {
		ranges = [][2]int{{w.From, w.To}}
	}
	for _, r := range ranges {
		one := w
		one.From, one.To = r[0], r[1]
		b.addWorth(&one)
	}
}

// together reads which passages stay with one person.
func (b *binder) together(i int, s *syntax.Together) {
	t := Together{From: b.Grid.First(), To: b.Grid.Last(), Where: b.wholeLine(0, i)}
	t.Reason = b.reason(0, i, s.Reason)
	var ranges [][2]int
	var ok bool
	if t.Names, t.Part, ranges, ok = b.passage(i, append([]syntax.Name{s.What}, s.And...), s.In, s.Of); !ok {
		return
	}
	if ranges == nil {
		ranges = [][2]int{{t.From, t.To}}
	}
	for _, r := range ranges {
		one := t
		one.From, one.To = r[0], r[1]
		b.Together = append(b.Together, &one)
	}
}

// passage reads which lines a wish is about, in which bars and of which part, and says
// what of it is not there.
func (b *binder) passage(i int, what []syntax.Name, in []syntax.Atom, of *syntax.Str) (names []string, part string, ranges [][2]int, ok bool) {
	for _, a := range in {
		from, to, ok := b.span(0, i, a)
		if !ok {
			return nil, "", nil, false
		}
		ranges = append(ranges, [2]int{from, to})
	}
	if of != nil {
		if part = of.Value(); b.part(part) == nil {
			b.fault(syntax.RuleUnknownName, at(0, i, of.Span()), noSuchPart, syntax.Quote(part))
			return nil, "", nil, false
		}
	}
	for _, n := range what {
		name := n.Text
		if b.index()[name] == nil {
			in := b.Catalogue.Resolve(name)
			switch {
			case in == nil && b.kindOf(name) == nil:
				b.instrument(at(0, i, n.Span()), name, nil)
				return nil, "", nil, false
			case in != nil && b.lines[in.ID] != nil:
				name = in.ID
			default:
				b.fault(syntax.RuleUnused, at(0, i, n.Span()), nothingIsWritten, strings.ReplaceAll(name, "-", " "))
				return nil, "", nil, false
			}
		}
		names = append(names, name)
	}
	return names, part, ranges, true
}

// reason reads why something is so. One that is still to be written is told.
func (b *binder) reason(file, line int, s *syntax.Str) string {
	if s == nil {
		return ""
	}
	reason := s.Value()
	if file == 0 && syntax.ToBeWritten(reason) {
		b.fault(syntax.RuleReason, at(file, line, s.Span()), reasonToWrite)
	}
	return reason
}
