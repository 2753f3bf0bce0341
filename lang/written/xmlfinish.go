package written

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/syntax"
)

// close puts a part that has been read into the work, or says that it is none
// for percussion.
func (r *xmlReader) close(p *xmlPart) error {
	if !p.percussion && len(p.named) == 0 {
		if len(p.notes) > 0 {
			r.work.lose(Loss{Part: p.name, Bar: -1, What: "this part: it is not for percussion, and none of its instruments is in the catalogue"})
			r.forget(p)
		} else {
			r.unplayed(p)
		}
		return nil
	}
	r.sticking(p)
	r.repeatBars(p)
	r.parts = append(r.parts, p)
	return nil
}

// unplayed lists what stands in a part that has no notes and is left out.
func (r *xmlReader) unplayed(p *xmlPart) {
	lose := func(bar, line int, what string) {
		r.work.lose(Loss{Part: p.name, Bar: bar, Line: line, What: what + " in a part without notes"})
	}
	for _, s := range p.signs {
		if s.words {
			s.text = strconv.Quote(s.text)
		}
		lose(s.bar, 0, s.text)
	}
	for _, s := range p.stops {
		lose(s.bar, s.source, strconv.Quote(s.text))
	}
	for _, h := range p.hands {
		lose(h.bar, h.source, fmt.Sprintf("the sticking %q", h.text))
	}
}

// sticking gives notes the hands that stand as words or as lyrics. Lyrics are
// sticking when all of the part's are; else they are words that are lost. Words
// at whose place no note stands, or one that another hand stands with, are lost
// too.
func (r *xmlReader) sticking(p *xmlPart) {
	type spot struct { // where words stand, and for whose notes
		place
		voice uint8
	}
	words := map[spot]byte{}
	if len(p.hands) > 0 {
		struck := map[spot]bool{}
		for i := range p.notes {
			struck[spot{p.notes[i].place, p.notes[i].voice}] = true
		}
		for i := range p.hands {
			if w := &p.hands[i]; !struck[spot{w.place, w.voice}] {
				w.voice = 0 // whoever plays there
			}
		}
	}
	for _, w := range p.hands {
		if at := (spot{w.place, w.voice}); words[at] == 0 {
			words[at] = w.hand
		}
	}
	all := true
	for _, n := range p.notes {
		all = all && (n.lyric == "" || handOf(n.lyric) != 0)
	}
	got := map[spot]byte{}
	for i := range p.notes {
		n := &p.notes[i]
		if n.lyric != "" && !all {
			r.work.lose(Loss{Part: p.name, Bar: n.bar, Line: n.source, What: "lyrics"})
		} else if h := handOf(n.lyric); n.hand == 0 {
			n.hand = h
		} else if h != 0 && h != n.hand {
			r.work.lose(Loss{Part: p.name, Bar: n.bar, Line: n.source, What: fmt.Sprintf("the sticking %q at a note that has the other hand already", n.lyric)})
		}
		for _, at := range [...]spot{{n.place, n.voice}, {n.place, 0}} {
			h := words[at]
			if n.hand == 0 {
				n.hand = h
			}
			if h != 0 && (got[at] == 0 || n.hand == h) {
				got[at] = n.hand
			}
			if n.voice == 0 {
				break
			}
		}
	}
	for _, w := range p.hands {
		switch got[spot{w.place, w.voice}] {
		case w.hand:
			continue
		case 0:
			r.work.lose(Loss{Part: p.name, Bar: w.bar, Line: w.source, What: fmt.Sprintf("the sticking %q where no note stands", w.text)})
		default:
			r.work.lose(Loss{Part: p.name, Bar: w.bar, Line: w.source, What: fmt.Sprintf("the sticking %q at a note that has the other hand already", w.text)})
		}
	}
	p.hands = nil
}

// forget takes out the instruments that only a part that is left out has.
func (r *xmlReader) forget(p *xmlPart) {
	for _, id := range p.ids {
		if p.named[id] {
			continue
		}
		used := slices.ContainsFunc(r.parts, func(o *xmlPart) bool {
			for _, other := range o.ids {
				if other == id {
					return true
				}
			}
			return false
		})
		if !used {
			r.work.Own = slices.DeleteFunc(r.work.Own, func(o Own) bool { return o.Name == id })
			for called, name := range r.namer.own {
				if name == id {
					delete(r.namer.own, called)
				}
			}
		}
	}
}

// repeatBars writes out what measure repeats stand for.
func (r *xmlReader) repeatBars(p *xmlPart) {
	if len(p.repeats) == 0 {
		return
	}
	byBar := map[int][2]int{} // where the notes of each stand; they are read bar by bar
	for i := range p.notes {
		bar := p.notes[i].bar
		if from, ok := byBar[bar]; ok {
			byBar[bar] = [2]int{from[0], i + 1}
		} else {
			byBar[bar] = [2]int{i, i + 1}
		}
	}
	for bar := range p.length {
		back, ok := p.repeats[bar]
		if !ok || p.filled[bar] {
			continue
		}
		if bar-back < 0 {
			r.work.lose(Loss{Part: p.name, Bar: bar, What: "a sign to repeat a bar where there is none before"})
			continue
		}
		for _, st := range p.stops {
			if st.bar == bar-back {
				st.bar = bar
				p.stops = append(p.stops, st)
			}
		}
		from := byBar[bar-back]
		if !r.makes(from[1] - from[0]) {
			r.work.lose(Loss{Part: p.name, Bar: bar, What: "a sign to repeat a bar: " + fmt.Sprintf(tooMuchMade, r.most)})
			continue
		}
		byBar[bar] = [2]int{len(p.notes), len(p.notes) + from[1] - from[0]}
		p.notes = slices.Grow(p.notes, from[1]-from[0])
		for _, n := range p.notes[from[0]:from[1]] {
			n.bar = bar
			p.notes = append(p.notes, n)
		}
	}
}

const filledUp = "a bar that ends before the meter, %s, does: it is filled with rests"

// finish lays the bars out and turns places in bars into positions.
func (r *xmlReader) finish() error {
	w := r.work
	if len(r.parts) == 0 {
		return fmt.Errorf("there is no percussion part in it%s", r.others())
	}
	first := 1
	if b := r.bars[0]; len(r.bars) > 1 && b.length.Sign() > 0 && b.length.Less(b.meter.Length()) {
		switch counts := b.length.Div(beat.R(1, int64(b.meter.Lower))); {
		case counts.Den() > syntax.MaxFraction || counts.Num() > 9999: // no number that a line says
			w.lose(Loss{Bar: 0, Line: b.line, What: fmt.Sprintf(filledUp, b.meter)}) // bar 1 below
		default:
			first, w.Pickup = 0, counts
		}
	}
	for i := range w.Lost { // until here bars were counted from 0
		if w.Lost[i].Bar >= 0 {
			w.Lost[i].Bar += first
		}
	}
	w.Last = len(r.bars) - 1 + first
	r.meters(first)
	r.numbers(first)
	grid := w.grid()
	at := func(p place) beat.Rat {
		pos := grid.Start(p.bar + first).Add(p.off)
		if end := grid.Start(p.bar + first + 1); end.Less(pos) {
			pos = end
		}
		return r.countable(grid, pos)
	}
	r.layTempos(at)
	r.layMarks(first)
	r.layPauses(at, grid)
	for _, text := range r.credits {
		if text != w.Title && !slices.Contains(w.Credits, text) {
			w.Remarks = append(w.Remarks, Remark{Bar: -1, Text: text})
		}
	}
	r.jumps.road(w, first)
	names := map[string]bool{}
	for _, p := range r.parts {
		name := strings.TrimSpace(p.name)
		for k := 2; names[name]; k++ {
			name = fmt.Sprintf("%s (%d)", p.name, k)
		}
		names[name] = true
		w.Parts = append(w.Parts, r.lines(p, name, first, at, grid))
	}
	return nil
}

func (r *xmlReader) layTempos(at func(place) beat.Rat) {
	slices.SortStableFunc(r.jumps.tempos, func(a, b tempoAt) int {
		return cmp.Or(cmp.Compare(a.bar, b.bar), a.off.Cmp(b.off))
	})
	for _, t := range r.jumps.tempos {
		r.work.Tempos = append(r.work.Tempos, Tempo{At: at(t.place), Unit: t.unit, From: t.rate, To: t.rate})
	}
	r.work.foldRamps()
}

func (r *xmlReader) layMarks(first int) {
	w := r.work
	taken := map[string]bool{}
	for _, m := range r.jumps.marks {
		name := markName(m.Name, taken)
		if name != m.Name {
			w.lose(Loss{Bar: m.Bar + first, What: fmt.Sprintf("the rehearsal mark %q, written as %s: a mark is a word of its own", m.Name, name)})
		}
		w.Marks = append(w.Marks, Mark{name, m.Bar + first})
	}
	slices.SortStableFunc(w.Marks, func(a, b Mark) int { return a.Bar - b.Bar })
}

func (r *xmlReader) layPauses(at func(place) beat.Rat, grid *beat.Grid) {
	w := r.work
	for _, h := range r.jumps.holds {
		w.Pauses = append(w.Pauses, Pause{At: at(h.place)})
	}
	for _, b := range r.jumps.breaks {
		if p := (Pause{At: at(b), Break: true}); p.At.Less(grid.End()) {
			w.Pauses = append(w.Pauses, p)
		} else {
			w.lose(Loss{Bar: w.Last, What: "a caesura behind the last note"})
		}
	}
	slices.SortStableFunc(w.Pauses, func(a, b Pause) int { return a.At.Cmp(b.At) })
	w.Pauses = slices.Compact(w.Pauses)
}

// finest is the division of a count to which places are moved that the
// notation cannot say.
const finest = 96

// countable moves a position that no count of the notation falls on to the
// nearest one, and says so.
func (r *xmlReader) countable(grid *beat.Grid, pos beat.Rat) beat.Rat {
	bar, count := grid.Place(pos)
	if count.Frac.Den() <= syntax.MaxFraction {
		return pos
	}
	near := count
	near.Frac = beat.R(count.Frac.MulInt(finest).Add(beat.R(1, 2)).Floor(), finest)
	if !near.Frac.Less(beat.R(1, 1)) {
		near.Frac = beat.R(finest-1, finest)
	}
	to, ok := grid.At(bar, near)
	if !ok {
		to = grid.Start(bar)
	}
	r.work.lose(Loss{Bar: bar, What: fmt.Sprintf("places finer than the %dth part of a count: moved to the nearest %dth", syntax.MaxFraction, finest)})
	return to
}

func (r *xmlReader) others() string {
	if len(r.work.Lost) == 0 {
		return ""
	}
	return "; left out: " + r.work.Lost[0].Part
}

// meters says where the meter changes. A bar with less in it than its meter
// has, or more, has a meter of its own: a bar lasts as long as what stands in
// it, whether the file marks it or not.
func (r *xmlReader) meters(first int) {
	w := r.work
	var last beat.Meter
	for i, b := range r.bars {
		m := b.meter
		if full := m.Length(); b.length.Sign() > 0 && b.length != full && (r.stays(i, first) || full.Less(b.length)) {
			own, ok := meterOfLength(b.length, m.Lower)
			switch {
			case ok:
				m = own
				if !b.implicit {
					w.lose(Loss{Bar: i + first, Line: b.line, What: fmt.Sprintf("a bar that lasts %s where the meter says %s: it has a meter of its own", own, b.meter)})
				}
			case full.Less(b.length):
				w.lose(Loss{Bar: i + first, Line: b.line, What: fmt.Sprintf("what goes beyond the bar's meter, %s: strokes there are left out", m)})
			default:
				w.lose(Loss{Bar: i + first, Line: b.line, What: fmt.Sprintf(filledUp, m)})
			}
		}
		if i == 0 || m.String() != last.String() {
			w.Meters = append(w.Meters, beat.MeterChange{Bar: i + first, Meter: m})
			last = m
		}
	}
}

// stays says whether a bar that is short stays short. The first is a pickup,
// and no other bar of that kind; the last, when nothing follows upon it and no
// pickup is made up for, is one whose rests were not written.
func (r *xmlReader) stays(i, first int) bool {
	last := i == len(r.bars)-1
	return i > 0 && (!last || first == 0 || r.bars[i].implicit || r.jumps.back != nil || len(r.jumps.repeats) > 0)
}

// meterOfLength is the meter of a bar of some length, counted in the given note
// value or in the shortest one that it takes.
func meterOfLength(length beat.Rat, lower int) (beat.Meter, bool) {
	for ; lower <= 64; lower *= 2 {
		if n := length.MulInt(int64(lower)); n.Den() == 1 {
			m, err := beat.NewMeter(int(n.Num()), lower, nil)
			return m, err == nil
		}
	}
	return beat.Meter{}, false
}

// numbers keeps the numbers that bars have in print, where those are others
// than the ones here. The number of a pickup is as a rule no number.
func (r *xmlReader) numbers(first int) {
	ahead := 0
	for i, b := range r.bars {
		bar, text := i+first, b.inPrint(i+first)
		if text == "" && len([]rune(b.number)) > syntax.MaxPrinted {
			r.work.lose(Loss{Bar: bar, Line: b.line, What: fmt.Sprintf("the bar number %q, which is too long for one", b.number)})
		}
		if text == strconv.Itoa(bar+ahead) || text == "" && bar == 0 {
			continue
		}
		if n, counts := syntax.CountsOn(text); counts {
			ahead = n - bar
		} else {
			ahead--
		}
		r.work.Numbers = append(r.work.Numbers, Number{bar, text})
	}
}

// inPrint is the number that the bar has in print: none if it is not counted
// there, or if what stands there is too long for one.
func (b *xmlBar) inPrint(bar int) string {
	if b.implicit || bar == 0 && b.number == "0" || len([]rune(b.number)) > syntax.MaxPrinted {
		return ""
	}
	return b.number
}

// lostInPrint gives each loss the number that its bar has in print, where that
// is another than the one here: what is looked for is looked for on paper.
func (r *xmlReader) lostInPrint() {
	first := r.work.Last + 1 - len(r.bars)
	for i := range r.work.Lost {
		l := &r.work.Lost[i]
		if at := l.Bar - first; at >= 0 && at < len(r.bars) {
			if text := r.bars[at].inPrint(l.Bar); text != strconv.Itoa(l.Bar) {
				l.InPrint = text
			}
		}
	}
}

// markName makes a rehearsal mark's name one that the notation can say.
func markName(name string, taken map[string]bool) string {
	word := strings.Map(func(r rune) rune {
		if strings.ContainsRune(" .+-|#\"'\t", r) {
			return '_'
		}
		return r
	}, strings.TrimSpace(name))
	word = strings.Trim(word, "_")
	if word == "" || word[0] >= '0' && word[0] <= '9' {
		word = "M" + word
	}
	for base, k := word, 2; taken[word]; k++ {
		word = fmt.Sprintf("%s_%d", base, k)
	}
	taken[word] = true
	return word
}

// lines sorts a part's notes into lines, one for each instrument.
func (r *xmlReader) lines(p *xmlPart, name string, first int, at func(place) beat.Rat, grid *beat.Grid) *Part {
	s := lineSorter{xmlReader: r, part: &Part{Name: name}, first: first, at: at, grid: grid, by: map[string]*Line{}, open: map[tiedRoll]int{}, many: map[string]int{}}
	for i := range p.notes {
		s.many[p.notes[i].line]++
	}
	for i := range p.notes {
		if n := &p.notes[i]; n.off.Less(grid.Length(n.bar + first)) { // what is beyond its bar has been said
			s.stroke(n)
		}
	}
	s.stops(p)
	for _, l := range s.part.Lines {
		s.settle(l)
	}
	for _, sg := range p.signs {
		switch {
		case sg.words && len(sg.text) > longWords:
			s.remark(sg.place, sg.text)
		case s.part.sign(Sign{at(sg.place), sg.text, sg.words}, sg.line, sg.here):
		case sg.words:
			s.remark(sg.place, sg.text)
		default:
			r.work.lose(Loss{Part: name, Bar: sg.bar + first, What: sg.text + " where nothing is played"})
		}
	}
	for _, l := range s.part.Lines {
		l.settle()
	}
	s.hairpinEnds(p)
	unsaid, moved := s.part.unsaid(grid)
	for _, sg := range unsaid {
		bar, _ := grid.Place(sg.At)
		r.work.lose(Loss{Part: name, Bar: bar, What: fmt.Sprintf("%s where nothing is played", sg.Text)})
	}
	for _, sg := range moved {
		bar, _ := grid.Place(sg.At)
		r.work.lose(Loss{Part: name, Bar: bar, What: fmt.Sprintf("where in a roll %s stands: it is at the next bar line", sg.Text)})
	}
	return s.part
}

// hairpinEnds lists hairpins that end where no dynamic stands: here one goes on
// to the next dynamic, and past more than the one stroke at its end that is
// another way to play.
func (s *lineSorter) hairpinEnds(p *xmlPart) {
	if len(p.ends) == 0 {
		return
	}
	var signs, struck []beat.Rat
	for _, sg := range p.signs {
		if !sg.words {
			signs = append(signs, s.at(sg.place))
		}
	}
	for _, l := range s.part.Lines {
		for i := range l.Strokes {
			if !l.Strokes[i].Flags.has(Stop) {
				struck = append(struck, l.Strokes[i].At)
			}
		}
	}
	inOrder := func(list []beat.Rat) []beat.Rat {
		slices.SortFunc(list, beat.Rat.Cmp)
		return slices.Compact(list)
	}
	signs, struck = inOrder(signs), inOrder(struck)
	for _, e := range p.ends {
		end, next := s.at(e), s.grid.End()
		if i, _ := slices.BinarySearchFunc(signs, end, beat.Rat.Cmp); i < len(signs) {
			next = signs[i]
		}
		from, _ := slices.BinarySearchFunc(struck, end, beat.Rat.Cmp)
		to, _ := slices.BinarySearchFunc(struck, next, beat.Rat.Cmp)
		if to-from > 1 {
			s.work.lose(Loss{Part: s.part.Name, Bar: e.bar + s.first, What: "the end of a hairpin, where no dynamic stands: it goes on to the next one"})
		}
	}
}

// A lineSorter sorts a part's notes into lines.
type lineSorter struct {
	*xmlReader
	part  *Part
	first int // the number of the file's first bar
	at    func(place) beat.Rat
	grid  *beat.Grid
	by    map[string]*Line
	many  map[string]int // how many notes each line has
	// Rolls that are tied go on in the note before; voices may cross, so this is
	// looked up by where the roll before ended.
	open map[tiedRoll]int
}

// A tiedRoll is a roll that may go on where it ends.
type tiedRoll struct {
	struck
	end beat.Rat
}

func (s *lineSorter) line(id string) *Line {
	l := s.by[id]
	if l == nil {
		l = &Line{Name: id, Strokes: make([]Stroke, 0, s.many[id])}
		s.by[id] = l
		s.part.Lines = append(s.part.Lines, l)
	}
	return l
}

// stroke adds a note to its line, or to the roll that it is tied to.
func (s *lineSorter) stroke(n *xmlNote) {
	l := s.line(n.line)
	st := Stroke{At: s.at(n.place), Flags: n.flags, Grace: n.grace, Hand: n.hand}
	if !n.pitch.None() {
		st.Pitches = []pitch.Pitch{n.pitch}
	}
	if n.drum != "" {
		st.Drums = []string{n.drum}
	}
	st.End = st.At
	if n.flags.has(Roll) {
		st.End = s.at(place{n.bar, n.end})
		if s.goesOn(l, n, st) {
			s.marks(n, func(mark string) {
				s.work.lose(Loss{Part: s.part.Name, Bar: n.bar + s.first, Line: n.source, What: "the mark " + mark + " at a roll that goes on"})
			})
			return
		}
		if st.End == st.At {
			st.Flags &^= Roll
		}
	}
	l.Strokes = append(l.Strokes, st)
	s.marks(n, func(mark string) {
		sign := Sign{st.At, mark, true}
		if k := len(l.Signs); k == 0 || l.Signs[k-1] != sign {
			l.Signs = append(l.Signs, sign)
		}
	})
}

// marks are the words that say how a note is played, each in turn.
func (s *lineSorter) marks(n *xmlNote, f func(word string)) {
	if n.mark == 0 {
		return
	}
	for _, word := range s.xmlReader.marks[n.mark-1] {
		f(word)
	}
}

// goesOn lets a roll go on in the one that is tied to it, and says whether it
// does; a roll that is tied on is kept in mind.
func (s *lineSorter) goesOn(l *Line, n *xmlNote, st Stroke) bool {
	what := struck{n.line, n.pitch.Semitone()}
	k, ok := s.open[tiedRoll{what, st.At}]
	goes := ok && n.tied && l.Strokes[k].Flags.has(Roll)
	if goes {
		l.Strokes[k].End = st.End
		delete(s.open, tiedRoll{what, st.At})
	} else {
		k = len(l.Strokes)
	}
	if n.tieOn {
		s.open[tiedRoll{what, st.End}] = k
	}
	return goes
}

// settle puts a line in order, and says what that leaves out.
func (s *lineSorter) settle(l *Line) {
	merged, cut := l.settle()
	for _, at := range merged {
		bar, _ := s.grid.Place(at)
		s.work.lose(Loss{Part: s.part.Name, Bar: bar, What: fmt.Sprintf("a note on the %s that sounds together with another: one stroke", l.Name)})
	}
	for _, at := range cut {
		bar, _ := s.grid.Place(at)
		s.work.lose(Loss{Part: s.part.Name, Bar: bar, What: fmt.Sprintf("a roll on the %s that goes on under another stroke: it ends where that begins", l.Name)})
	}
	if in := s.opt.Catalogue.Instrument(l.Name); in != nil && in.Rings == 0 {
		for i := range l.Strokes { // short is how it sounds anyway
			l.Strokes[i].Flags &^= Short
		}
	}
}

// remark keeps words that stand where nothing is played.
func (s *lineSorter) remark(p place, text string) {
	w, bar := s.work, p.bar+s.first
	where := s.at(p)
	if bar == w.Last && !where.Less(s.grid.End()) {
		where = s.grid.Start(bar) // at the very end: at the last bar
	}
	w.remark(Remark{At: where, Bar: bar, Text: text}, s.part.Name, len(s.parts) > 1)
}

// A lineHit is when a line of the part is struck, and with which of its strokes.
type lineHit struct {
	at           beat.Rat
	line, stroke int
}

// A damper goes through a part's strokes in their order, and knows what rings.
type damper struct {
	*lineSorter
	hits    []lineHit
	next    int         // the hit that is still to come
	rings   map[int]int // the lines that ring by now, and which hit made them
	ringing []int       // those lines, and some that do no longer, each once or several times
	can     bool        // something has been struck that rings at all
}

// until takes in what is struck before a place.
func (d *damper) until(at beat.Rat) {
	for ; d.next < len(d.hits) && d.hits[d.next].at.Less(at); d.next++ {
		hit := &d.hits[d.next]
		if !d.canRing(hit.line) {
			continue
		}
		d.can = true
		if d.part.Lines[hit.line].Strokes[hit.stroke].Flags.has(Short) {
			delete(d.rings, hit.line)
			continue
		}
		if _, does := d.rings[hit.line]; !does {
			d.ringing = append(d.ringing, hit.line)
		}
		d.rings[hit.line] = d.next
	}
}

func (d *damper) canRing(line int) bool {
	in := d.opt.Catalogue.Instrument(d.part.Lines[line].Name)
	return in == nil || in.Rings > 0
}

// last is the hit before now whose ring is meant where nothing is said: the last
// that rings, or else the last.
func (d *damper) last() int {
	last := -1
	for _, line := range d.ringing {
		if hit, does := d.rings[line]; does {
			last = max(last, hit)
		}
	}
	if last < 0 {
		return d.next - 1
	}
	return last
}

// choke makes a stroke short that stands at the very place, where no other rings:
// "choke" over a note means that note. It is false where there is none.
func (d *damper) choke(at beat.Rat) bool {
	last := d.last()
	for _, hit := range d.hits[d.next:] {
		if hit.at != at {
			break
		}
		s := &d.part.Lines[hit.line].Strokes[hit.stroke]
		if _, rings := d.rings[d.lineOf(last)]; d.canRing(hit.line) && !s.Flags.has(Roll) && (!rings || hit.line == d.lineOf(last)) {
			s.Flags |= Short
			return true
		}
	}
	return false
}

// lineOf is the line of a hit, or -1 of none.
func (d *damper) lineOf(hit int) int {
	if hit < 0 {
		return -1
	}
	return d.hits[hit].line
}

// stop damps a line at a place.
func (d *damper) stop(line int, at beat.Rat) {
	delete(d.rings, line)
	l := d.part.Lines[line]
	if n := len(l.Strokes); n > 0 && l.Strokes[n-1].At == at && l.Strokes[n-1].Flags.has(Stop) {
		return // it is already; stops stand behind all strokes for now
	}
	l.Strokes = append(l.Strokes, Stroke{At: at, End: at, Flags: Stop})
}

// all damps whatever rings at a place, or says why nothing does.
func (d *damper) all(at beat.Rat) (why string) {
	for _, line := range d.ringing {
		if _, does := d.rings[line]; does {
			d.stop(line, at)
		}
	}
	d.ringing = d.ringing[:0]
	switch {
	case d.can:
		return ""
	case d.next > 0:
		return "where nothing rings"
	}
	return "where nothing has been struck yet"
}

// stops damps what rings last at each place, or the instrument that the words
// name, and lists what damps nothing.
func (s *lineSorter) stops(p *xmlPart) {
	list := p.stops
	if len(list) == 0 {
		return
	}
	d := damper{lineSorter: s, rings: map[int]int{}}
	for i, l := range s.part.Lines {
		for k := range l.Strokes {
			d.hits = append(d.hits, lineHit{l.Strokes[k].At, i, k})
		}
	}
	// Of what is struck together the first line's is the last here.
	slices.SortFunc(d.hits, func(a, b lineHit) int { return cmp.Or(a.at.Cmp(b.at), b.line-a.line) })
	for i := range list {
		list[i].at = s.at(list[i].place)
	}
	slices.SortStableFunc(list, func(a, b xmlStop) int { return a.at.Cmp(b.at) })
	for i := range list {
		st := &list[i]
		d.until(st.at)
		switch why := s.damped(&d, st); {
		case why == "" && st.called != "" && !st.known: // what else the words say is no instrument
			p.signs = append(p.signs, xmlSign{place: st.place, text: st.text, words: true})
		case why != "":
			s.work.lose(Loss{Part: s.part.Name, Bar: st.bar + s.first, Line: st.source, What: fmt.Sprintf("%q %s", st.text, why)})
		}
	}
}

// damped stops what one sign or one word stops, or says why that is nothing.
func (s *lineSorter) damped(d *damper, st *xmlStop) (why string) {
	if !st.at.Less(s.grid.End()) {
		return "at the very end, where there is no count that could say it"
	}
	if st.all {
		st.known = true
		return d.all(st.at)
	}
	called, in := st.called, s.opt.Catalogue.Resolve(st.called)
	if in != nil {
		called = in.ID
	}
	which := slices.IndexFunc(s.part.Lines, func(l *Line) bool { return l.Name == called && called != "" })
	st.known = which >= 0
	switch {
	case which < 0 && in != nil:
		return "in a part that does not have it"
	case which < 0 && d.choke(st.at):
		return ""
	case which < 0 && d.next == 0:
		return "where nothing has been struck yet"
	case which < 0:
		which = d.hits[d.last()].line
	}
	d.stop(which, st.at)
	return ""
}

// struckAt says whether the line is struck at a place.
func (l *Line) struckAt(at beat.Rat) bool {
	i, ok := slices.BinarySearchFunc(l.Strokes, at, func(st Stroke, at beat.Rat) int { return st.At.Cmp(at) })
	for ; ok && i < len(l.Strokes) && l.Strokes[i].At == at; i++ {
		if !l.Strokes[i].Flags.has(Stop) {
			return true
		}
	}
	return false
}

// sign gives a dynamic to every line of the part that plays before the next
// one, unless it is for one line or for what is struck here; and words to a line that plays at their
// place. It is false of words at whose place nothing is played, and of a dynamic in
// a part without lines.
func (p *Part) sign(s Sign, line string, here bool) bool {
	for _, l := range p.Lines {
		switch {
		case !s.Words && (here && l.struckAt(s.At) || !here && (line == "" || l.Name == line)):
			l.Signs = append(l.Signs, s)
		case s.Words && l.struckAt(s.At):
			l.Signs = append(l.Signs, s)
			return true
		}
	}
	return !s.Words && len(p.Lines) > 0
}
