package written

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"handful/lang/beat"
	"handful/lang/syntax"
)

// sectionBars is how many bars a line has at most before a new section begins
// where the music has no rehearsal mark.
const sectionBars = 16

// Notation is the work as the text of a .handful file: parts only, in sections,
// equal bars folded into similes, as a person would write it. What was lost
// stands at the top as comments. With numbers, bars are named by their numbers
// and not by rehearsal marks.
func (w *Work) Notation(numbers bool) string {
	out := &writer{Work: w, grid: w.Grid(), numbers: numbers}
	out.head()
	for _, o := range w.Own {
		out.own(o)
	}
	for _, p := range w.Parts {
		out.part(p)
	}
	return syntax.Formatted(out.String())
}

type writer struct {
	*Work
	strings.Builder
	grid    *beat.Grid
	numbers bool
}

func (w *writer) line(format string, args ...any) { fmt.Fprintf(w, format+"\n", args...) }

func (w *writer) head() {
	for _, l := range w.Lost {
		w.line("# not carried over: %s", strings.Map(func(r rune) rune {
			if r < ' ' {
				return ' '
			}
			return r
		}, l.String()))
	}
	if w.Title != "" {
		w.line("title %s", syntax.Quote(w.Title))
	}
	for _, c := range w.Credits {
		w.line("credit %s", syntax.Quote(c))
	}
	for _, k := range w.Remarks {
		if k.Bar < 0 {
			w.line("note %s", syntax.Quote(k.Text))
		}
	}
	for i, m := range w.Meters {
		from := ""
		if i > 0 || m.Bar > w.grid.First() {
			from = fmt.Sprintf(" from %d", m.Bar)
		}
		w.line("meter %d/%d%s", m.Meter.Upper, m.Meter.Lower, from)
	}
	for i, t := range w.Tempos {
		w.tempo(t, i == 0)
	}
	if w.Pickup.Sign() > 0 {
		w.line("pickup %s", countsText(w.Pickup))
	}
	w.line("bars %d", w.Last)
	for _, m := range w.Marks {
		w.line("mark %s at %d", m.Name, m.Bar)
	}
	for _, r := range w.Repeats {
		times := ""
		if r.Times > 2 {
			times = fmt.Sprintf(" x%d", r.Times)
		}
		w.line("repeat %d-%d%s", r.From, r.To, times)
	}
	for _, e := range w.Endings {
		var numbers []string
		for _, n := range e.Numbers {
			numbers = append(numbers, strconv.Itoa(n))
		}
		w.line("ending %s %d-%d", strings.Join(numbers, ","), e.From, e.To)
	}
	for _, v := range w.Vamps {
		w.line("vamp %d-%d", v.From, v.To)
	}
	if len(w.Order) > 0 {
		legs := "order"
		for _, l := range w.Order {
			legs += fmt.Sprintf(" %d-%d", l.From, l.To)
		}
		w.line("%s", legs)
	}
	for _, p := range w.Pauses {
		word := "hold"
		if p.Break {
			word = "break"
		}
		w.line("%s %s", word, w.place(p.At))
	}
	for _, k := range w.Remarks {
		if k.Bar >= 0 {
			w.line("note %s at %s", syntax.Quote(k.Text), w.place(k.At))
		}
	}
}

// countsText is a number of counts as the notation reads it.
func countsText(r beat.Rat) string {
	if r.Den() == 1 {
		return strconv.FormatInt(r.Num(), 10)
	}
	return strconv.FormatFloat(r.Float(), 'f', -1, 64)
}

func (w *writer) place(at beat.Rat) string {
	bar, count := w.grid.Place(at)
	return fmt.Sprintf("%d.%s", bar, count)
}

func (w *writer) tempo(t Tempo, first bool) {
	rate := func(v float64) string { return strconv.FormatFloat(math.Round(v*1000)/1000, 'f', -1, 64) }
	text := fmt.Sprintf("tempo %s = %s", t.Unit, rate(t.From))
	bar, count := w.grid.Place(t.At)
	if t.Over.Sign() > 0 {
		end, _ := w.grid.Place(t.At.Add(t.Over))
		w.line("%s to %s over %d-%d", text, rate(t.To), bar, max(bar, end-1))
		return
	}
	switch {
	case first && bar == w.grid.First() && t.At == w.grid.Start(bar):
		w.line("%s", text)
	case t.At == w.grid.Start(bar):
		w.line("%s from %d", text, bar)
	default:
		w.line("%s from %d.%s", text, bar, count)
	}
}

func (w *writer) own(o Own) {
	w.line("")
	w.line("instrument %s", o.Name)
	w.line("  called %s", syntax.Quote(o.Called))
	w.line("  family %s", cmp.Or(o.Family, "effect"))
	if o.Sound != "" {
		w.line("  sound %s", o.Sound)
	}
	if o.Key >= 0 {
		w.line("  midi %d", o.Key)
	}
	if o.Rings {
		w.line("  rings 2")
	}
	w.line("  way on stand takes 1 hand with snare-stick")
}

func (w *writer) part(p *Part) {
	w.line("")
	w.line("part %s", syntax.Quote(p.Name))
	bounds := w.sections(p)
	for i, from := range bounds {
		to := w.Last
		if i+1 < len(bounds) {
			to = bounds[i+1] - 1
		}
		var lines []string
		for _, l := range p.Lines {
			if text := w.bars(l, from, to); text != "" {
				lines = append(lines, fmt.Sprintf("  %s %s", l.Name, text))
			}
		}
		if len(lines) == 0 {
			continue
		}
		if from != 1 { // where lines begin that say nothing, pickup or not
			w.line("  from %s", w.name(from))
		}
		w.line("%s", strings.Join(lines, "\n"))
	}
}

// name is a bar as people say it: by its mark if it has one.
func (w *writer) name(bar int) string {
	for _, m := range w.Marks {
		if m.Bar == bar && !w.numbers {
			return m.Name
		}
	}
	return strconv.Itoa(bar)
}

// sections are the bars at which a part's lines begin anew: at rehearsal
// marks, and every so often between them, but never within a roll.
func (w *writer) sections(p *Part) []int {
	var marks []int
	for _, m := range w.Marks {
		marks = append(marks, m.Bar)
	}
	slices.Sort(marks)
	blocked := map[int]bool{}
	for _, l := range p.Lines {
		for _, s := range l.Strokes {
			if !s.Flags.Has(Roll) {
				continue
			}
			from, _ := w.grid.Place(s.At)
			for bar := from + 1; bar <= w.Last && w.grid.Start(bar).Less(s.End); bar++ {
				blocked[bar] = true
			}
		}
	}
	bounds := []int{w.grid.First()}
	for bar := w.grid.First() + 1; bar <= w.Last; bar++ {
		_, marked := slices.BinarySearch(marks, bar)
		if (marked || bar-bounds[len(bounds)-1] >= sectionBars) && !blocked[bar] {
			bounds = append(bounds, bar)
		}
	}
	return bounds
}

// bars writes a line's bars from one to another, or nothing if it is silent.
func (w *writer) bars(l *Line, from, to int) string {
	begin, end := w.grid.Start(from), w.grid.Start(to+1)
	first, _ := slices.BinarySearchFunc(l.Strokes, begin, func(s Stroke, at beat.Rat) int { return s.At.Cmp(at) })
	if first == len(l.Strokes) || !l.Strokes[first].At.Less(end) {
		return ""
	}
	bars := make([][]string, to-from+1)
	put := func(bar int, signs ...string) { bars[bar-from] = append(bars[bar-from], signs...) }
	v := dynamics{signs: l.Signs}
	v.skip(begin)
	last := from
	for i := first; i < len(l.Strokes) && l.Strokes[i].At.Less(end); i++ {
		s := &l.Strokes[i]
		bar, _ := w.grid.Place(s.At)
		last = max(last, bar)
		for _, sign := range v.before(s) {
			if sign.Words {
				put(bar, syntax.Quote(sign.Text))
			} else {
				put(bar, sign.Text)
			}
		}
		put(bar, w.stroke(s, bar))
		if !s.Flags.Has(Roll) {
			continue
		}
		for b := bar + 1; b <= to && w.grid.Start(b).Less(s.End); b++ {
			last = b
			if s.End.Less(w.grid.Start(b + 1)) {
				_, count := w.grid.Place(s.End)
				put(b, "~"+count.String())
			} else {
				put(b, "~")
			}
		}
	}
	var b strings.Builder
	for _, signs := range bars[:last-from+1] {
		b.WriteString("| ")
		if len(signs) == 0 {
			b.WriteString("-")
		}
		b.WriteString(strings.Join(signs, " "))
		b.WriteByte(' ')
	}
	return syntax.Fold(syntax.ParseLine(strings.TrimSpace(b.String())))
}

// dynamics says, stroke by stroke, which of a line's signs stand before it.
type dynamics struct {
	signs   []Sign
	next    int
	level   *Sign // the last dynamic that holds on
	pending *Sign // one that is to be said before the next stroke
}

// hairpin says whether a dynamic changes evenly from where it stands.
func hairpin(text string) bool { return text == "cresc" || text == "dim" }

// oneStroke says whether a dynamic is for the one stroke that it stands before.
func oneStroke(text string) bool {
	return strings.HasPrefix(text, "sf") || strings.HasPrefix(text, "rf")
}

// skip goes over the signs from before a section. The dynamic that holds on is
// said again.
func (v *dynamics) skip(begin beat.Rat) {
	for v.next < len(v.signs) && v.signs[v.next].At.Less(begin) {
		if s := &v.signs[v.next]; !s.Words && !hairpin(s.Text) && !oneStroke(s.Text) {
			v.level = s
		}
		v.next++
	}
	v.pending = v.level
}

// before is what stands before a stroke: words, a dynamic, a hairpin, and a
// dynamic for this stroke alone. A stop has no dynamic, and waits for none.
func (v *dynamics) before(s *Stroke) (out []*Sign) {
	if s.Flags.Has(Stop) {
		return nil
	}
	var pin, single *Sign
	level := v.pending
	v.pending = nil
	for v.next < len(v.signs) && !s.At.Less(v.signs[v.next].At) {
		sign := &v.signs[v.next]
		v.next++
		switch {
		case sign.Words:
			out = append(out, sign)
		case hairpin(sign.Text):
			pin = sign
		case oneStroke(sign.Text):
			if single = sign; sign.At.Less(s.At) {
				single = nil // it was for what did not come
			}
		case single != nil:
			v.pending, v.level = sign, sign // sfz p: the stroke, and then p
		default:
			level, v.level = sign, sign
			if pin != nil && pin.At != sign.At {
				pin = nil // the hairpin led here; one from here on begins with it
			}
		}
	}
	for _, sign := range []*Sign{level, pin, single} {
		if sign != nil {
			out = append(out, sign)
		}
	}
	return out
}

// unsaid lists a part's dynamics that stand before no stroke of any line.
func (p *Part) unsaid() []Sign {
	used := map[Sign]bool{}
	var all []Sign
	for _, l := range p.Lines {
		v := dynamics{signs: l.Signs}
		for i := range l.Strokes {
			for _, sign := range v.before(&l.Strokes[i]) {
				used[*sign] = true
			}
		}
		all = append(all, l.Signs...)
	}
	slices.SortStableFunc(all, func(a, b Sign) int { return a.At.Cmp(b.At) })
	all = slices.Compact(all)
	return slices.DeleteFunc(all, func(s Sign) bool { return s.Words || used[s] })
}

func (w *writer) stroke(s *Stroke, bar int) string {
	_, count := w.grid.Place(s.At)
	text := count.String()
	if s.Flags.Has(Stop) {
		return text + "x"
	}
	text = strings.Repeat("'", int(s.Grace)) + text
	if s.Hand != 0 {
		text += string(s.Hand)
	}
	if s.Flags.Has(Accent) {
		text += ">"
	}
	if s.Flags.Has(Roll) {
		text += "~"
		if s.End.Less(w.grid.Start(bar + 1)) {
			_, end := w.grid.Place(s.End)
			text += end.String()
		}
	} else if s.Flags.Has(Short) {
		text += "."
	}
	return text
}

// String says what was lost, and where.
func (l Loss) String() string {
	var where []string
	if l.Part != "" {
		where = append(where, l.Part)
	}
	if l.Bar >= 0 {
		where = append(where, fmt.Sprintf("bar %d", l.Bar))
	}
	if l.Line > 0 {
		where = append(where, fmt.Sprintf("line %d", l.Line))
	}
	text := l.What
	if len(where) > 0 {
		text = strings.Join(where, ", ") + ": " + text
	}
	if l.More > 0 {
		text += fmt.Sprintf(" (and %d times more)", l.More)
	}
	return text
}
