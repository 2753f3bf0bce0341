package score

import (
	"fmt"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// parts opens every part.
func (b *binder) parts() {
	for fi, src := range b.Sources {
		for i, l := range src.File.Lines {
			s, ok := l.Stmt.(*syntax.Part)
			if !ok || s.Name.Text == "" || !src.takes(s.Name.Value()) {
				continue
			}
			where := at(fi, i, s.Name.Span())
			p := b.part(s.Name.Value())
			if p == nil {
				p = &Part{Name: s.Name.Value(), Where: where}
				b.Parts = append(b.Parts, p)
			}
			if s.In != nil {
				p.Elsewhere = s.In.Value()
			}
		}
	}
}

// partsNamed is what the parts are called.
func (b *binder) partsNamed() []string {
	var names []string
	for _, p := range b.Parts {
		names = append(names, p.Name)
	}
	return names
}

// quoted is the names in quotes.
func quoted(names []string) []string {
	var out []string
	for _, name := range names {
		out = append(out, syntax.Quote(name))
	}
	return out
}

// mayMeanText is mayMean with the nearest of names that stand in quotes.
func (p *Problem) mayMeanText(not string, names []string) {
	if near := syntax.Nearest(not, names); near != "" {
		p.mayMean(syntax.Quote(near))
	}
}

func (b *binder) part(name string) *Part { return partNamed(b.Parts, name) }

func partNamed(parts []*Part, name string) *Part {
	for _, p := range parts {
		if p.Name == name {
			return p
		}
	}
	return nil
}

// writtenAs says whether some part has a line of that very name.
func (b *binder) writtenAs(name string) bool {
	if b.names == nil {
		b.names = map[string]bool{}
		for k := range b.bound {
			lg := &b.bound[k]
			src := b.Sources[lg.file]
			if s, ok := src.File.Lines[lg.line].Stmt.(*syntax.Item); ok && src.Seats[lg.line].Block == syntax.InPart {
				b.names[s.Name.Text] = true
			}
		}
	}
	return b.names[name]
}

// written expands the lines of the parts, then fills in the cues that take
// their strokes from them.
func (b *binder) written() {
	b.inKits = map[string]*kit.Instrument{}
	for k := range b.bound {
		if part, s := b.partLine(&b.bound[k]); part != nil {
			b.addLine(part, b.bound[k], s)
		}
	}
	b.inKits = nil
	b.takePartsOver()
	b.upTo.parts = len(b.Problems)
	for _, p := range b.Players {
		b.fillAll(p)
		b.upTo.filled = append(b.upTo.filled, len(b.Problems))
	}
}

// fillAll fills what somebody takes from the parts.
func (b *binder) fillAll(p *Player) {
	for _, c := range p.Cues {
		if c.AsWritten {
			b.fill(c)
		}
	}
}

// partLine is the part that a line is of, with what it says; nil for other
// lines and for what is not taken.
func (b *binder) partLine(lg *logical) (*Part, *syntax.Item) {
	src := b.Sources[lg.file]
	l := src.File.Lines[lg.line]
	s, ok := l.Stmt.(*syntax.Item)
	if !ok || l.Broken || src.Seats[lg.line].Block != syntax.InPart {
		return nil, nil
	}
	opener, _ := src.File.Lines[src.Seats[lg.line].Owner].Stmt.(*syntax.Part)
	if opener == nil || opener.Name.Text == "" || !src.takes(opener.Name.Value()) {
		return nil, nil
	}
	return b.part(opener.Name.Value()), s
}

// addLine writes out one line of a part.
func (b *binder) addLine(part *Part, lg logical, s *syntax.Item) {
	where := at(lg.file, lg.line, s.Name.Span())
	if s.Is != nil || s.Mount != nil || s.Spot != nil || s.Facing != nil {
		b.fault(syntax.RuleSyntax, b.wholeLine(lg.file, lg.line), partHasNoSpots)
	}
	if s.Bars == nil {
		b.fault(syntax.RuleSyntax, b.wholeLine(lg.file, lg.line), lineWithoutBars, s.Name.Text)
		return
	}
	in, known := b.inKits[s.Name.Text]
	if !known {
		in = b.kindOf(s.Name.Text)
		b.inKits[s.Name.Text] = in
	}
	if in == nil {
		in = b.instrument(where, s.Name.Text, nil)
	}
	if in == nil || !lg.fromOK {
		return
	}
	if !b.Grid.Has(lg.from) {
		b.noSuchBar(lg, where)
		return
	}
	line := b.room.lines.New()
	*line = Line{Part: part, Name: b.voice(s.Name.Text, in), Inst: in, From: lg.from, Where: where}
	w := b.expand(lg)
	line.Strokes, line.Struck, line.Words, line.To = w.strokes, w.struck, w.words, w.last
	if part.Lines == nil {
		part.Lines = b.room.ofPart.List(usualLines)
	}
	part.Lines = append(part.Lines, line)
	part.voices.add(line.Name)
}

// kindOf finds what a name means in any kit of the piece.
func (b *binder) kindOf(name string) *kit.Instrument {
	for _, it := range b.Shared {
		if it.Name == name {
			return it.Inst
		}
	}
	for _, p := range b.Players {
		if it := p.Item(name); it != nil && (it.Listed || !b.coming[p]) {
			return it.Inst
		}
	}
	return nil
}

// voice is the name that coverage goes by: the item's, or the kind's id.
func (b *binder) voice(name string, in *kit.Instrument) string {
	if b.Catalogue.Instrument(name) == nil && in.ID != name && b.kindOf(name) == nil {
		return in.ID // written by an abbreviation or another name
	}
	return name
}

// asWritten notes what a cue takes from the parts, and says whether it could;
// fill does it, once the parts are there.
func (b *binder) asWritten(c *Cue, lg logical, a *syntax.AsWritten) bool {
	c.To = b.Grid.Last()
	if lg.next > 0 {
		c.To, c.Ended = lg.next-1, len(a.In) == 0
	}
	for i, in := range a.In {
		from, to, ok := b.span(0, lg.line, in)
		if !ok {
			return false
		}
		if i == 0 {
			c.From, c.To = from, to
		}
		c.From, c.To = min(c.From, from), max(c.To, to)
		if len(a.In) > 1 {
			c.Within = append(c.Within, [2]int{from, to})
		}
	}
	if a.Of != nil {
		c.Of = a.Of.Value()
		if b.part(c.Of) == nil {
			pr := b.fault(syntax.RuleUnknownName, at(0, lg.line, a.Of.Span()), noSuchPartOf, syntax.Quote(c.Of))
			pr.mayMeanText(c.Of, b.partsNamed())
			if pr.Expected = quoted(b.partsNamed()); len(b.Parts) == 0 {
				pr.Expected = []string{"nothing else"}
			}
			return false
		}
	}
	for _, n := range a.On {
		if _, ok := syntax.ParseCount(n.Text); !ok {
			b.fault(syntax.RuleCount, at(0, lg.line, n.Span()), notACount, quoteWord(n.Text))
			return false
		}
	}
	return true
}

// within says whether a cue takes its strokes from a bar.
func (c *Cue) within(bar int) bool {
	return c.Within == nil || slices.ContainsFunc(c.Within, func(r [2]int) bool { return r[0] <= bar && bar <= r[1] })
}

// fill takes a cue's strokes from the lines of the parts that are its voice's.
func (b *binder) fill(c *Cue) {
	l := b.Sources[0].File.Lines[c.Where.Line]
	if b.fillAgain(c, l) {
		return
	}
	var lines []*Line
	for line := range b.index().overlapping(c.Voice, c.From, c.To) {
		if c.Of == "" || line.Part.Name == c.Of {
			lines = append(lines, line.Line)
		}
	}
	if b.opt.Remember {
		b.cues.set(int(c.Where.Line), filled{c, sourcesOf(lines)})
	}
	if b.earlierCue(c, l, lines) {
		c.share()
		return
	}
	var only []beat.Count
	for _, n := range l.Stmt.(*syntax.LimbLine).Cue.AsWritten.On {
		if cnt, ok := syntax.ParseCount(n.Text); ok {
			only = append(only, cnt)
		}
	}
	b.take(c, lines, only)
	c.share()
	if len(c.Strokes) == 0 {
		b.nothingWritten(c)
	}
}

// nothingWritten says that no part has anything for a cue.
func (b *binder) nothingWritten(c *Cue) {
	where := fmt.Sprintf("from bar %d to bar %d%s", c.From, c.To, b.StretchInPrint(c.From, c.To))
	if c.To <= c.From {
		where = fmt.Sprintf("in bar %s", b.named(c.From))
	}
	b.fault(syntax.RuleUnused, c.Where, nothingWrittenFor, c.Voice, where)
}

// take copies into a cue what lines have for it: every count, or some only.
func (b *binder) take(c *Cue, lines []*Line, only []beat.Count) {
	from, to := b.Grid.Start(c.From), b.Grid.Start(c.To+1)
	runs := make([][2]int, len(lines)) // of each line's strokes
	room := 0
	for i, line := range lines {
		first := firstAt(line.Strokes, from)
		runs[i] = [2]int{first, max(first, firstAt(line.Strokes, to))}
		room += runs[i][1] - first
	}
	if room > 0 && len(only) == 0 && c.Within == nil {
		c.Strokes = b.room.strokes.List(room)
	}
	sources := 0
	for k, line := range lines {
		had := len(c.Strokes)
		b.takeStrokes(c, line, runs[k], only)
		if len(c.Strokes) > had {
			sources++
		}
		for _, w := range line.Words {
			if !w.At.Less(from) && w.At.Less(to) && c.within(w.Bar) {
				c.Words = append(c.Words, w)
			}
		}
	}
	if sources > 1 {
		c.merge()
	}
}

// takeStrokes takes some of a line's strokes: all on some counts, or on any.
func (b *binder) takeStrokes(c *Cue, l *Line, run [2]int, only []beat.Count) {
	for i := run[0]; i < run[1]; i++ {
		st := l.Strokes[i]
		if !c.within(int(st.Bar)) {
			continue
		}
		if len(only) > 0 {
			if _, cnt := b.Grid.Place(st.At); !slices.Contains(only, cnt) {
				continue
			}
		}
		st.where = shortly(c.Where)
		st.Hand = 0
		c.Strokes = append(c.Strokes, st)
		if s := l.StruckAt(i); s != nil {
			c.Struck = append(leveled(c.Struck, len(c.Strokes)-1), s)
		}
	}
}
