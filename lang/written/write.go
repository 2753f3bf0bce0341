package written

import (
	"cmp"
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// sectionBars is how many bars a line has at most before a new section begins
// where the music has no rehearsal mark.
const sectionBars = 16

// notation is the work as the text of a .handful file: parts only, in sections,
// equal bars folded into similes, as a person would write it. What was lost
// stands at the top as comments. With numbers, bars are named by their numbers
// and not by rehearsal marks.
func (w *Work) notation(numbers bool) string { return strings.Join(w.pieces(numbers), "") }

// pieces are the text piece by piece.
func (w *Work) pieces(numbers bool) []string { return w.piecesOf(numbers, syntax.MaxLines) }

// piecesOf are pieces of no more lines than are read.
func (w *Work) piecesOf(numbers bool, read int) []string {
	out := &writer{Work: w, grid: w.grid(), numbers: numbers, read: read}
	for _, m := range w.Marks {
		out.marks = append(out.marks, m.Bar)
	}
	slices.Sort(out.marks)
	out.most = read - out.besides()
	for _, p := range w.Parts { // first, since a part that is laid meanwhile may lose something
		out.part(p)
	}
	out.cut()
	parts := out.pieces
	out.pieces = nil
	for _, l := range w.Lost {
		text, _ := cut(l.String(), 2*mostText)
		fmt.Fprintf(out, "# not carried over: %s\n", strings.Map(func(r rune) rune {
			if r < ' ' {
				return ' '
			}
			return r
		}, text))
	}
	out.head()
	for _, o := range w.Own {
		out.own(o)
	}
	return slices.Insert(parts, 0, syntax.Formatted(out.String()))
}

// besides is how many lines there are at most besides those of sections.
func (w *writer) besides() int {
	head := len(w.Credits) + len(w.Meters) + len(w.Tempos) + len(w.Marks) + len(w.Numbers) + len(w.Pauses)
	road := len(w.Repeats) + len(w.Endings) + len(w.Vamps) + 1
	return head + road + maxTempos + maxLosses + ownLines*len(w.Own) + 2*len(w.Parts) + 10
}

// ownLines is how many lines an instrument of its own has at most.
const ownLines = 20

type writer struct {
	*Work
	strings.Builder
	pieces  []string // of the text of the parts, without the last
	grid    *beat.Grid
	numbers bool
	marks   []int // bars with rehearsal marks, in order
	lines   int   // how many lines the sections have so far
	most    int   // … and may have
	read    int   // … with all that stands besides them
}

// pieceSize is about how long the pieces are in which the parts' text is kept
// until it is known what stands before them.
const pieceSize = 1 << 16

func (w *writer) put(s syntax.Stmt) {
	w.WriteString(syntax.Print(s))
	w.WriteByte('\n')
}

// words is a statement of a word and others, or a text, behind it.
func (w *writer) words(word string, text ...string) {
	s := &syntax.Words{Word: syntax.Word(word)}
	for _, t := range text {
		s.Text = append(s.Text, syntax.Atom{Text: t})
	}
	w.put(s)
}

func (w *writer) printed(word, text string) {
	w.put(&syntax.Printed{Word: syntax.Word(word), Text: syntax.Quoted(text)})
}

// head writes what stands before the parts: first the texts, then how bars are
// counted, the order in which they are played, and what stands at places.
func (w *writer) head() {
	if w.Title != "" {
		w.printed("title", w.Title)
	}
	for _, c := range w.Credits {
		w.printed("credit", c)
	}
	for _, k := range w.Remarks {
		if k.Bar < 0 {
			w.printed("note", k.Text)
		}
	}
	w.counting()
	w.road()
	for _, p := range w.Pauses {
		word := "hold"
		if p.Break {
			word = "break"
		}
		w.put(&syntax.Pause{Word: syntax.Word(word), Place: w.place(p.At)})
	}
	for _, k := range w.Remarks {
		if k.Bar >= 0 {
			w.put(&syntax.Remark{Word: syntax.Word("note"), Text: syntax.Quoted(k.Text), At: new(w.place(k.At))})
		}
	}
}

// counting writes meters, tempos, how many bars there are and their marks.
func (w *writer) counting() {
	for i, m := range w.Meters {
		meter := &syntax.Meter{Value: syntax.Num{Text: fmt.Sprintf("%d/%d", m.Meter.Upper, m.Meter.Lower)}}
		// Without a bar a meter is that of bar 1, and of a pickup with it.
		if i > 0 || m.Bar > w.grid.First() || m.Bar == 0 && len(w.Meters) > 1 && w.Meters[1].Bar == 1 {
			meter.From = new(syntax.Bar(m.Bar))
		}
		w.put(meter)
	}
	for i, t := range w.Tempos {
		w.tempo(t, i == 0)
	}
	if w.Pickup.Sign() > 0 {
		w.put(&syntax.Length{Word: syntax.Word("pickup"), Value: syntax.Num{Text: w.Pickup.String()}})
	}
	w.put(&syntax.Length{Word: syntax.Word("bars"), Value: syntax.Number(float64(w.Last))})
	for _, n := range w.Numbers {
		w.put(&syntax.Numbered{Text: syntax.Quoted(n.Text), Place: syntax.Bar(n.Bar)})
	}
	for _, m := range w.Marks {
		w.put(&syntax.Mark{Name: syntax.Atom{Text: m.Name}, Place: syntax.Bar(m.Bar)})
	}
}

// road writes the order in which bars are played.
func (w *writer) road() {
	for _, r := range w.Repeats {
		repeat := &syntax.Repeat{Range: between(r.From, r.To)}
		if r.Times > 2 {
			repeat.Times = new(syntax.Word(fmt.Sprintf("x%d", r.Times)))
		}
		w.put(repeat)
	}
	for _, e := range w.Endings {
		var numbers []string
		for _, n := range e.Numbers {
			numbers = append(numbers, strconv.Itoa(n))
		}
		w.put(&syntax.Ending{Numbers: syntax.Num{Text: strings.Join(numbers, ",")}, Range: between(e.From, e.To)})
	}
	for _, v := range w.Vamps {
		w.put(&syntax.Vamp{Range: between(v.From, v.To)})
	}
	if len(w.Order) > 0 {
		order := &syntax.Order{}
		for _, l := range w.Order {
			order.Legs = append(order.Legs, between(l.From, l.To))
		}
		w.put(order)
	}
}

// between is bars as a range, also where it is one.
func between(from, to int) syntax.Atom { return syntax.Atom{Text: fmt.Sprintf("%d-%d", from, to)} }

func (w *writer) place(at beat.Rat) syntax.Atom {
	bar, count := w.grid.Place(at)
	return syntax.Atom{Text: syntax.Place{Bar: bar, Count: count, HasCount: true}.String()}
}

func (w *writer) tempo(t Tempo, first bool) {
	rate := func(v float64) *syntax.Num { return new(syntax.Number(math.Round(v*1000) / 1000)) }
	tempo := &syntax.Tempo{First: syntax.Num{Text: t.Unit.String()}, Value: rate(t.From)}
	bar, _ := w.grid.Place(t.At)
	switch begins := t.At == w.grid.Start(bar); {
	case t.Over.Sign() > 0:
		end, _ := w.grid.Place(t.At.Add(t.Over))
		tempo.To, tempo.Over = rate(t.To), new(between(bar, max(bar, end-1)))
	case first && bar == w.grid.First() && begins:
	case begins:
		tempo.From = new(syntax.Bar(bar))
	default:
		tempo.From = new(w.place(t.At))
	}
	w.put(tempo)
}

// ownWay is how an instrument that the catalogue has not is played until
// somebody says better: struck, where it stands.
//
//go:embed tables/own-way.handful
var ownWay string

func (w *writer) own(o Own) {
	w.WriteByte('\n')
	w.put(&syntax.Define{Word: syntax.Word("instrument"), Name: syntax.Word(o.Name)})
	w.put(&syntax.Texts{Word: syntax.Word("called"), Text: []syntax.Str{syntax.Quoted(o.Called)}})
	w.words("family", cmp.Or(o.Family, kit.Effect))
	if o.Sound != "" {
		w.words("sound", o.Sound)
	}
	if o.Key >= 0 {
		w.words("midi", strconv.Itoa(o.Key))
	}
	if o.Rings {
		w.words("rings", "2")
	}
	w.WriteString(ownWay)
}

// part writes a part section by section, as far as it is laid.
func (w *writer) part(p *Part) {
	w.cut()
	began := len(w.pieces)
	w.WriteByte('\n')
	w.put(&syntax.Part{Name: syntax.Title(syntax.Quoted(p.Name))})
	out := partWriter{writer: w, part: p, loud: map[*Line]*dynamics{}}
	for _, l := range p.Lines {
		out.staves.Left = max(out.staves.Left, syntax.Margin(l.Name))
	}
	laid := p.further != nil
	for from := w.grid.First(); from <= w.Last; {
		if p.further != nil && !p.further() {
			p.further = nil
		}
		bounds := w.sections(p, from)
		if p.further == nil {
			bounds = append(bounds, w.Last+1)
		} // else the last section may have more to come
		for i, next := range bounds[1:] {
			out.section(bounds[i], next-1)
			from = next
		}
		if laid {
			out.drop(from)
		}
	}
	if out.staves.Left != out.used { // a line on which nothing is left made room for itself
		w.cut()
		text := strings.Join(w.pieces[began:], "")
		w.pieces = append(w.pieces[:began], "\n"+syntax.Formatted(text))
	}
}

// cut begins a new piece.
func (w *writer) cut() {
	if w.Len() > 0 {
		w.pieces = append(w.pieces, w.String())
		w.Builder = strings.Builder{}
	}
}

// A partWriter writes the sections of a part.
type partWriter struct {
	*writer
	part *Part
	loud map[*Line]*dynamics // how far the signs of each line have been said
	used int                 // how far right the first bar lines would have to stand
	said bool                // where lines begin
	was  []keptDynamics      // what was said before the present section

	staves syntax.Staves // the lines of the present section
}

// A keptDynamics is how far a line's signs had been said.
type keptDynamics struct {
	now *dynamics
	was dynamics
}

// section writes the part's lines from a bar to another.
func (w *partWriter) section(from, to int) {
	used := w.used
	w.was = w.was[:0]
	w.staves.Begin()
	for _, l := range w.part.Lines {
		w.bars(l, from, to)
	}
	n := w.staves.Lines()
	if n == 0 {
		return
	}
	if name, bytes := w.staves.Longest(); bytes > syntax.MaxLine {
		for _, k := range w.was {
			*k.now = k.was // nothing of it is said yet
		}
		w.used = used
		w.shorter(from, to, name, bytes)
		return
	}
	if w.lines += n + 1; w.lines > w.most {
		w.lose(Loss{Part: w.part.Name, Bar: from, InPrint: w.inPrint(from), What: fmt.Sprintf("%d bars: the text would have more than the %d lines that are read", to-from+1, w.read)})
		return
	}
	if from != 1 || w.said { // where lines begin that say nothing, pickup or not
		w.WriteString("  ")
		w.put(&syntax.From{Place: w.name(from)})
		w.said = true
	}
	w.staves.LayOut(&w.Builder)
	if w.Len() >= pieceSize {
		w.cut()
		w.Grow(pieceSize + pieceSize/4)
	}
}

// shorter writes bars of which a line would be longer than is read: in two
// sections, or if they cannot be, without some of what stands in them.
func (w *partWriter) shorter(from, to int, name string, bytes int) {
	if next := w.halfWay(from, to); next > from {
		w.section(from, next-1)
		w.section(next, to)
		return
	}
	i := slices.IndexFunc(w.part.Lines, func(l *Line) bool { return l.Name == name })
	if l := w.part.Lines[i]; !w.putApart(l, from, to) {
		w.thin(l, from, to, bytes)
	}
	w.section(from, to)
}

// halfWay is the bar of some that is nearest to their middle, and into which no
// roll goes on; or the first if there is none.
func (w *partWriter) halfWay(from, to int) int {
	goesOn := w.rolledInto(w.part, to)
	middle := (from + to + 1) / 2
	for d := range to - from + 1 {
		for _, bar := range [...]int{middle - d, middle + d} {
			if bar > from && bar <= to && !goesOn[bar] {
				return bar
			}
		}
	}
	return from
}

// within are the numbers of a line's strokes in some bars.
func (w *partWriter) within(l *Line, from, to int) (first, behind int) {
	at := func(s Stroke, at beat.Rat) int { return s.At.Cmp(at) }
	first, _ = slices.BinarySearchFunc(l.Strokes, w.grid.Start(from), at)
	behind, _ = slices.BinarySearchFunc(l.Strokes, w.grid.Start(to+1), at)
	return first, behind
}

// putApart makes remarks of the words that stand on a line in some bars, and
// says whether there are any.
func (w *partWriter) putApart(l *Line, from, to int) (any bool) {
	begin, end := w.grid.Start(from), w.grid.Start(to+1)
	v := w.loud[l]
	kept := l.Signs[:0:0]
	for i, s := range l.Signs {
		if !s.Words || v != nil && i < v.next || s.At.Less(begin) || !s.At.Less(end) {
			kept = append(kept, s)
			continue
		}
		bar, _ := w.grid.Place(s.At)
		w.remark(Remark{At: s.At, Bar: bar, Text: s.Text}, w.part.Name, len(w.Parts) > 1)
		any = true
	}
	l.Signs = kept
	return any
}

// thin leaves out so many of a line's last strokes in some bars that the rest
// finds room.
func (w *partWriter) thin(l *Line, from, to, bytes int) {
	first, behind := w.within(l, from, to)
	keep := first + (behind-first)*syntax.MaxLine/bytes*9/10
	bar, _ := w.grid.Place(l.Strokes[keep].At)
	w.lose(Loss{Part: w.part.Name, Bar: bar, InPrint: w.inPrint(bar), What: fmt.Sprintf("%d strokes on the %s: more than %d bytes for one line are not read", behind-keep, l.Name, syntax.MaxLine)})
	l.Strokes = slices.Delete(l.Strokes, keep, behind)
}

// drop lets go of what has been written, which is what stands before a bar.
func (w *partWriter) drop(bar int) {
	before := w.grid.Start(bar)
	for _, l := range w.part.Lines {
		n, _ := slices.BinarySearchFunc(l.Strokes, before, func(s Stroke, at beat.Rat) int { return s.At.Cmp(at) })
		if l.Strokes = l.Strokes[:copy(l.Strokes, l.Strokes[n:])]; bar > w.Last {
			l.Strokes = nil
		}
		if v := w.loud[l]; v != nil {
			l.Signs = l.Signs[:copy(l.Signs, l.Signs[v.next:])]
			v.signs, v.next = l.Signs, 0
		}
	}
}

// name is a bar as people say it: by its mark if it has one.
func (w *writer) name(bar int) syntax.Atom {
	for _, m := range w.Marks {
		if m.Bar == bar && !w.numbers {
			return syntax.Atom{Text: m.Name}
		}
	}
	return syntax.Bar(bar)
}

// sections are the bars from one on at which a part's lines begin anew, as far as
// it is laid: at rehearsal marks, and every so often between them, but never within
// a roll.
func (w *writer) sections(p *Part, from int) []int {
	last := w.Last
	if p.further != nil {
		last = p.laid - 1
	}
	blocked := w.rolledInto(p, last)
	bounds := []int{from}
	for bar := from + 1; bar <= last; bar++ {
		_, marked := slices.BinarySearch(w.marks, bar)
		if (marked || bar-bounds[len(bounds)-1] >= sectionBars) && !blocked[bar] {
			bounds = append(bounds, bar)
		}
	}
	return bounds
}

// rolledInto are the bars up to one into which a roll of a part goes on.
func (w *writer) rolledInto(p *Part, last int) map[int]bool {
	into := map[int]bool{}
	for _, l := range p.Lines {
		for i := range l.Strokes {
			s := &l.Strokes[i]
			if !s.Flags.has(Roll) {
				continue
			}
			first, _ := w.grid.Place(s.At)
			for bar := first + 1; bar <= last && w.grid.Start(bar).Less(s.End); bar++ {
				into[bar] = true
			}
		}
	}
	return into
}

// bars adds a line's from one to another, if it is not silent.
func (w *partWriter) bars(l *Line, from, until int) {
	begin, end := w.grid.Start(from), w.grid.Start(until+1)
	first, _ := slices.BinarySearchFunc(l.Strokes, begin, func(s Stroke, at beat.Rat) int { return s.At.Cmp(at) })
	if first == len(l.Strokes) || !l.Strokes[first].At.Less(end) {
		return
	}
	bars := w.staves.Bars(from, until)
	v := w.loud[l]
	if v == nil {
		v = &dynamics{}
		w.loud[l] = v
	}
	w.was = append(w.was, keptDynamics{v, *v})
	v.signs = l.Signs
	v.anew()
	last := from
	for i := first; i < len(l.Strokes) && l.Strokes[i].At.Less(end); i++ {
		s := &l.Strokes[i]
		bar, count := w.grid.Place(s.At)
		last = max(last, bar)
		for _, sign := range v.before(s) {
			if sign.Words {
				bars.Print(bar, sign.Text)
			} else {
				bars.Dynamic(bar, sign.Text)
			}
		}
		bars.Put(bar, w.stroke(s, bar, count), s.aims()...)
		for b := bar + 1; s.Flags.has(Roll) && b <= until && w.grid.Start(b).Less(s.End); b++ {
			last = b
			for _, sign := range v.during(w.grid.Start(b)) {
				bars.Dynamic(b, sign.Text)
			}
			bars.Put(b, w.until(syntax.RollOn(), s, b))
		}
	}
	w.used = max(w.used, syntax.Margin(l.Name))
	w.staves.Add(l.Name, bars, last)
}

// dynamics says, stroke by stroke, which of a line's signs stand before it.
type dynamics struct {
	signs   []Sign
	next    int
	level   Sign // the last dynamic that holds on, without a text if none does
	pending Sign // one that is to be said before the next stroke
	said    []Sign
}

// hairpin says whether a dynamic changes evenly from where it stands.
func hairpin(text string) bool { return text == "cresc" || text == "dim" }

// oneStroke says whether a dynamic is for the one stroke that it stands before.
func oneStroke(text string) bool {
	return strings.HasPrefix(text, "sf") || strings.HasPrefix(text, "rf")
}

// anew begins a section: the dynamic that holds on is said again.
func (v *dynamics) anew() {
	if v.pending.Text == "" {
		v.pending = v.level
	}
}

// before is what stands before a stroke, until it is asked of the next: words, a
// dynamic, a hairpin, and a dynamic for this stroke alone. A stop has no dynamic,
// and waits for none.
func (v *dynamics) before(s *Stroke) []Sign {
	v.said = v.said[:0]
	if s.Flags.has(Stop) {
		return nil
	}
	var pin, single Sign
	level := v.pending
	v.pending = Sign{}
	for v.next < len(v.signs) && !s.At.Less(v.signs[v.next].At) {
		sign := v.signs[v.next]
		v.next++
		switch {
		case sign.Words:
			v.said = append(v.said, sign)
		case hairpin(sign.Text):
			pin = sign
		case oneStroke(sign.Text):
			if single = sign; sign.At.Less(s.At) {
				single = Sign{} // it was for what did not come
			}
		case single.Text != "":
			v.pending, v.level = sign, sign // sfz p: the stroke, and then p
		default:
			level, v.level = sign, sign
			if pin.At != sign.At {
				pin = Sign{} // the hairpin led here; one from here on begins with it
			}
		}
	}
	for _, sign := range [...]Sign{level, pin, single} {
		if sign.Text != "" {
			v.said = append(v.said, sign)
		}
	}
	return v.said
}

// during is what stands at a bar line over which a roll goes on: the dynamic that is
// reached there, and what begins to grow or fall.
func (v *dynamics) during(at beat.Rat) []Sign {
	v.said = v.said[:0]
	for v.next < len(v.signs) && !at.Less(v.signs[v.next].At) {
		sign := v.signs[v.next]
		if sign.Words || oneStroke(sign.Text) {
			break
		}
		v.next++
		if !hairpin(sign.Text) {
			v.level, v.pending = sign, Sign{}
		}
		v.said = append(v.said, sign)
	}
	return v.said
}

// unsaid lists a part's dynamics that stand before no stroke of any line, and those that
// stand at the bar line behind them, since a roll goes on over it.
func (p *Part) unsaid(grid *beat.Grid) (all, moved []Sign) {
	used := map[Sign]bool{}
	for _, l := range p.Lines {
		v := dynamics{signs: l.Signs}
		for i := range l.Strokes {
			s := &l.Strokes[i]
			for _, sign := range v.before(s) {
				used[sign] = true
			}
			bar, _ := grid.Place(s.At)
			for b := bar + 1; s.Flags.has(Roll) && grid.Start(b).Less(s.End); b++ {
				for _, sign := range v.during(grid.Start(b)) {
					used[sign] = true
					if sign.At != grid.Start(b) && !slices.Contains(moved, sign) {
						moved = append(moved, sign)
					}
				}
			}
		}
		all = append(all, l.Signs...)
	}
	slices.SortStableFunc(all, func(a, b Sign) int { return a.At.Cmp(b.At) })
	all = slices.Compact(all)
	return slices.DeleteFunc(all, func(s Sign) bool { return s.Words || used[s] }), moved
}

func (w *writer) stroke(s *Stroke, bar int, count beat.Count) syntax.Sign {
	if s.Flags.has(Stop) {
		return syntax.Stop(count)
	}
	var how syntax.SignFlags
	if s.Flags.has(Accent) {
		how |= syntax.Accent
	}
	if s.Flags.has(Roll) {
		return w.until(syntax.Stroke(count, s.Grace, s.Hand, how|syntax.Roll), s, bar)
	}
	if s.Flags.has(Short) {
		how |= syntax.Short
	}
	return syntax.Stroke(count, s.Grace, s.Hand, how)
}

// aims are the bars or drums that a stroke is for.
func (s *Stroke) aims() []syntax.Aim {
	out := syntax.Notes(s.Pitches)
	for _, d := range s.Drums {
		a := syntax.Aim{Name: d}
		if n, err := strconv.Atoi(d); err == nil {
			a = syntax.Aim{N: n}
		}
		out = append(out, a)
	}
	return out
}

// until is a roll with its end, if it ends within a bar.
func (w *writer) until(it syntax.Sign, s *Stroke, bar int) syntax.Sign {
	if !s.End.Less(w.grid.Start(bar + 1)) {
		return it
	}
	_, count := w.grid.Place(s.End)
	return it.Until(count)
}

// String says what was lost, and where.
func (l Loss) String() string {
	var where []string
	if l.Part != "" {
		where = append(where, l.Part)
	}
	if l.Bar >= 0 {
		bar := fmt.Sprintf("bar %d", l.Bar)
		if l.InPrint != "" {
			bar += fmt.Sprintf(" (in print %s)", l.InPrint)
		}
		where = append(where, bar)
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
