package written

import (
	"fmt"
	"slices"
	"strings"

	"handful/lang/beat"
	"handful/lang/syntax"
)

// close puts a part that has been read into the work, or says that it is none
// for percussion.
func (r *xmlReader) close(p *xmlPart) error {
	if !p.percussion && len(p.named) == 0 {
		if len(p.notes) > 0 {
			r.work.lose(Loss{Part: p.name, Bar: -1, What: "this part: it is not for percussion, and none of its instruments is in the catalogue"})
			r.forget(p)
		}
		return nil
	}
	p.repeatBars()
	r.parts = append(r.parts, p)
	return nil
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
func (p *xmlPart) repeatBars() {
	if len(p.repeats) == 0 {
		return
	}
	byBar := map[int][]xmlNote{}
	for _, n := range p.notes {
		byBar[n.bar] = append(byBar[n.bar], n)
	}
	for bar := range p.length {
		back, ok := p.repeats[bar]
		if !ok || p.filled[bar] || bar-back < 0 {
			continue
		}
		for _, n := range byBar[bar-back] {
			n.bar = bar
			byBar[bar] = append(byBar[bar], n)
			p.notes = append(p.notes, n)
		}
	}
}

// finish lays the bars out and turns places in bars into positions.
func (r *xmlReader) finish() error {
	w := r.work
	if len(r.parts) == 0 {
		return fmt.Errorf("there is no percussion part in it%s", r.others())
	}
	first := 1
	if b := r.bars[0]; b.implicit && b.length.Sign() > 0 && b.length.Less(b.meter.Length()) {
		first = 0
		w.Pickup = b.length.Div(beat.R(1, int64(b.meter.Lower)))
	}
	w.Last = len(r.bars) - 1 + first
	r.meters(first)
	grid := w.Grid()
	at := func(p place) beat.Rat {
		pos := grid.Start(p.bar + first).Add(p.off)
		if end := grid.Start(p.bar + first + 1); end.Less(pos) {
			pos = end
		}
		return r.countable(grid, pos)
	}
	for _, t := range r.jumps.tempos {
		w.Tempos = append(w.Tempos, Tempo{At: at(t.place), Unit: t.unit, From: t.rate, To: t.rate})
	}
	w.foldRamps()
	taken := map[string]bool{}
	for _, m := range r.jumps.marks {
		name := markName(m.Name, taken)
		if name != m.Name {
			w.lose(Loss{Bar: m.Bar + first, What: fmt.Sprintf("the rehearsal mark %q, written as %s: a mark is a word of its own", m.Name, name)})
		}
		w.Marks = append(w.Marks, Mark{name, m.Bar + first})
	}
	for _, h := range r.jumps.holds {
		w.Pauses = append(w.Pauses, Pause{At: at(h)})
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

// meters says where the meter changes. A bar in the middle that the file marks
// as short has a meter of its own.
func (r *xmlReader) meters(first int) {
	w := r.work
	var last beat.Meter
	for i, b := range r.bars {
		m := b.meter
		if i > 0 && b.implicit && b.length.Sign() > 0 && b.length.Less(m.Length()) {
			if own, err := beat.NewMeter(int(b.length.Num()), int(b.length.Den()), nil); err == nil {
				m = own
			}
		}
		if m.Length().Less(b.length) {
			w.lose(Loss{Bar: i + first, Line: b.line, What: fmt.Sprintf("what goes beyond the bar's meter, %s", m)})
		}
		if i == 0 || m.String() != last.String() {
			w.Meters = append(w.Meters, beat.MeterChange{Bar: i + first, Meter: m})
			last = m
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
	part := &Part{Name: name}
	by := map[string]*Line{}
	line := func(id string) *Line {
		l := by[id]
		if l == nil {
			l = &Line{Name: id}
			by[id] = l
			part.Lines = append(part.Lines, l)
		}
		return l
	}
	// Rolls that are tied go on in the note before; voices may cross, so this is
	// looked up by where the roll before ended.
	type key struct {
		line string
		end  beat.Rat
	}
	open := map[key]int{}
	for _, n := range p.notes {
		if pos := n.off; !pos.Less(grid.Length(n.bar + first)) {
			continue // beyond its bar, which has been said
		}
		l := line(n.line)
		s := Stroke{At: at(n.place), Flags: n.flags, Grace: n.grace, Hand: n.hand}
		s.End = s.At
		if n.flags.Has(Roll) {
			s.End = at(place{n.bar, n.end})
			if k, ok := open[key{n.line, s.At}]; ok && n.tied && l.Strokes[k].Flags.Has(Roll) {
				l.Strokes[k].End = s.End
				delete(open, key{n.line, s.At})
				if n.tieOn {
					open[key{n.line, s.End}] = k
				}
				continue
			}
			if n.tieOn {
				open[key{n.line, s.End}] = len(l.Strokes)
			}
			if s.End == s.At {
				s.Flags &^= Roll
			}
		}
		l.Strokes = append(l.Strokes, s)
	}
	for _, st := range p.stops {
		r.stop(part, at(st.place), st.called)
	}
	for _, l := range part.Lines {
		if merged := l.settle(); merged > 0 {
			r.work.lose(Loss{Part: name, Bar: -1, What: fmt.Sprintf("%d notes on the %s that sound together with another: one stroke each time", merged, l.Name)})
		}
		if r.opt.Catalogue.Instrument(l.Name) != nil && r.opt.Catalogue.Instrument(l.Name).Rings == 0 {
			for i := range l.Strokes { // short is how it sounds anyway
				l.Strokes[i].Flags &^= Short
			}
		}
	}
	for _, s := range p.signs {
		part.sign(Sign{at(s.place), s.text, s.words}, s.line)
	}
	for _, l := range part.Lines {
		l.settle()
	}
	return part
}

// stop damps what was struck last before a place, or the instrument that the
// words name.
func (r *xmlReader) stop(part *Part, at beat.Rat, called string) {
	var which *Line
	var latest beat.Rat
	id := called
	if in := r.opt.Catalogue.Resolve(called); in != nil {
		id = in.ID
	}
	for _, l := range part.Lines {
		if l.Name == id && called != "" {
			which = l
			break
		}
		for _, s := range l.Strokes {
			if !s.Flags.Has(Stop) && s.At.Less(at) && (which == nil || latest.Less(s.At)) {
				which, latest = l, s.At
			}
		}
	}
	if which != nil {
		which.Strokes = append(which.Strokes, Stroke{At: at, End: at, Flags: Stop})
	}
}

// sign gives a dynamic to every line of the part that plays before the next
// one, unless it is for one line; and words to the line that plays next.
func (p *Part) sign(s Sign, line string) {
	if s.Words {
		var which *Line
		var soonest beat.Rat
		for _, l := range p.Lines {
			i, _ := slices.BinarySearchFunc(l.Strokes, s.At, func(st Stroke, at beat.Rat) int { return st.At.Cmp(at) })
			if i < len(l.Strokes) && (which == nil || l.Strokes[i].At.Less(soonest)) {
				which, soonest = l, l.Strokes[i].At
			}
		}
		if which != nil {
			which.Signs = append(which.Signs, s)
		}
		return
	}
	for _, l := range p.Lines {
		if line == "" || l.Name == line {
			l.Signs = append(l.Signs, s)
		}
	}
}
