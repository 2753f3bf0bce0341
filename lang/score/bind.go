package score

import (
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// A Loader finds the file that another one uses. It must not leave the
// workspace; what it cannot give it refuses with a reason in plain words.
type Loader func(from, path string) (name string, f *syntax.File, err error)

// Options are the what-ifs of a check.
type Options struct {
	// TempoFactor multiplies every tempo; 0 is 1.
	TempoFactor float64
	// Without leaves players out.
	Without []string
	// Profile is that of players who do not say one; "" is experienced.
	Profile string
	// Uses are files that the piece uses without saying so, behind those that it
	// names, as the loader calls them.
	Uses []string
	// Remember keeps what a later score of the same piece can take over. It costs
	// memory, so only those ask for it who will check the piece again.
	Remember bool
	// Room, if set, is where the score is bound: it is good until that is cleared.
	Room *Room
	// Earlier is a score of the same piece before an edit, to take over what the
	// edit did not touch.
	Earlier *Score
	// Stop, if set, is asked between the steps of binding; once it says so, the
	// rest is left out.
	Stop func() bool
}

// Bind makes a score of a file.
func Bind(name string, f *syntax.File, load Loader, opt Options) *Score {
	if s := rebind(name, f, opt); s != nil {
		return s
	}
	if s := rebindPlayers(name, f, opt); s != nil {
		return s
	}
	if s := rebindAccepts(name, f, opt); s != nil {
		return s
	}
	if s := rebindTempo(name, f, opt); s != nil {
		return s
	}
	b := &binder{Score: &Score{}, opt: opt, load: load, loaded: map[string]bool{}}
	if opt.Room != nil {
		b.room = *opt.Room
	}
	if opt.Remember {
		b.cues = newPaged[filled](len(f.Lines))
	}
	b.gather(name, f, nil, nil)
	for _, of := range opt.Uses {
		b.useToo(of)
	}
	if opt.Remember {
		b.expanded = make([]*paged[*writtenLine], len(b.Sources))
		for i := range b.Sources {
			b.expanded[i] = newPaged[*writtenLine](len(b.Sources[i].File.Lines))
		}
	}
	for _, step := range [...]func(){
		b.textProblems, b.definitions, b.marks, b.bars, b.head, b.neverPlayed, b.parts,
		b.players, b.gears, b.written, b.wishes, b.shelf, b.takePlayersOver, b.cover,
	} {
		if opt.Stop != nil && opt.Stop() {
			break
		}
		step()
	}
	if opt.Remember && (opt.Stop == nil || !opt.Stop()) {
		b.remember()
	}
	return b.Score
}

type binder struct {
	*Score
	opt                Options
	room               Room
	writing            expansion
	load               Loader
	loaded             map[string]bool
	budget             int // bars and strokes that may still be written out
	froms              map[seatKey][]int
	lines              voiceIndex
	all                []covered // every written line, in order
	bound              []logical
	names              map[string]bool            // what the parts' lines are called
	inKits             map[string]*kit.Instrument // what names mean in the kits, while the parts' lines are read
	compared, sameGrid bool                       // with the earlier score's
	shift              shift                      // of its lines
	// tooLong says that the piece was cut to what is read.
	tooLong  bool
	openings []opening
	refused  []refusal

	laid
	alone  bool             // it is known that no other file is used
	ranges []block          // the blocks that are bound anew; none is all
	coming map[*Player]bool // of whom only the kit is known by now

	stirred   *stirred // what an edit has changed something of; nil is all
	like      *likeness
	before    reckoning // of the score before it
	reckoning reckoning
}

type seatKey struct{ file, owner int }

func (b *binder) fault(rule string, at Where, format string, args ...any) *Problem {
	return b.found(rule, at, syntax.Tells(format, args...))
}

func (b *binder) found(rule string, at Where, what syntax.About) *Problem {
	b.Problems = append(b.Problems, Problem{Rule: rule, Where: at, About: what})
	return &b.Problems[len(b.Problems)-1]
}

// also points at another line that has to do with it.
func (p *Problem) also(at Where, template string, things ...any) {
	p.Related = append(p.Related, Note{at, syntax.Tells(template, things...)})
}

func at(file, line int, s syntax.Span) Where {
	return Where{int32(file), int32(line), int32(s.Start), int32(s.End)}
}

// wholeLine is the range of a line's statement, without blanks or comment.
func (b *binder) wholeLine(file, line int) Where {
	l := b.Sources[file].File.Lines[line]
	end := len(l.Code())
	start := len(l.Text[:end]) - len(strings.TrimLeft(l.Text[:end], " \t"))
	return Where{int32(file), int32(line), int32(start), int32(end)}
}

// gather adds a file and, depth first, those that it uses.
func (b *binder) gather(name string, f *syntax.File, above []string, only map[string]bool) {
	b.loaded[name] = true
	me := len(b.Sources)
	b.Sources = append(b.Sources, Source{Name: name, File: f, Seats: f.SeatsIn(b.room.seats.List(len(f.Lines))), Only: only})
	for i, l := range f.Lines {
		var from *syntax.Str
		part := ""
		switch s := l.Stmt.(type) {
		case *syntax.Use:
			from = &s.Path
		case *syntax.Part:
			if from, part = s.In, s.Name.Value(); only != nil && !only[part] {
				continue
			}
		}
		if from != nil && !l.Broken && from.Text != "" {
			b.use(me, at(me, i, from.Span()), from.Value(), part, above)
		}
	}
}

// useToo adds a file that the piece uses without saying so. What is wrong with
// it is said at the piece's first line.
func (b *binder) useToo(name string) {
	if b.loaded[name] || len(b.Sources) >= maxFiles {
		return
	}
	where := b.wholeLine(0, 0)
	if b.load == nil {
		b.fault(syntax.RuleUse, where, noFolderForAll, syntax.Quote(name))
		return
	}
	got, file, err := b.load("", name)
	if err != nil {
		b.fault(syntax.RuleUse, where, notToBeHadForAll, err)
		return
	}
	if !b.loaded[got] {
		b.gather(got, file, []string{b.Sources[0].Name}, nil)
	}
}

// use adds the file that a file names, or one part of it. Above are the files
// through which this one came to be used.
func (b *binder) use(me int, where Where, path, part string, above []string) {
	switch {
	case b.load == nil:
		b.fault(syntax.RuleUse, where, noFolderToReadFrom, syntax.Quote(path))
		return
	case len(above) >= maxDepth:
		b.fault(syntax.RuleTooLarge, where, usedTooDeep, len(above)+1, maxDepth)
		return
	case len(b.Sources) >= maxFiles:
		b.fault(syntax.RuleTooLarge, where, usesTooManyFiles, maxFiles)
		return
	}
	name := b.Sources[me].Name
	got, file, err := b.load(name, path)
	switch {
	case err != nil:
		b.found(syntax.RuleUse, where, syntax.AboutOf(err))
		return
	case got == name || slices.Contains(above, got):
		b.fault(syntax.RuleUse, where, usesItself, got, strings.Join(append(above[max(0, slices.Index(above, got)):len(above):len(above)], name), " → "))
		return
	case b.loaded[got]:
		b.alsoTake(got, part)
		b.knowsPart(where, got, file, part)
		return
	}
	var some map[string]bool
	if part != "" {
		some = map[string]bool{part: true}
	}
	b.gather(got, file, append(above[:len(above):len(above)], name), some)
	b.knowsPart(where, got, file, part)
	if me > 0 {
		return // what is wrong with a file is said where the piece itself uses it
	}
	if n := len(file.Lost); n > 0 {
		b.fault(syntax.RuleNotCarried, where, lostOnTheWay, plural(n, "thing"), got, file.Lost[0])
	}
	if n := troubles(file); n > 0 {
		b.fault(syntax.RuleUse, where, hasItsOwnProblems, got, plural(n, "problem"))
	}
}

// alsoTake takes one more part, or with "" everything, from a file that is
// there already.
func (b *binder) alsoTake(name, part string) {
	for i := range b.Sources {
		if s := &b.Sources[i]; s.Name == name && s.Only != nil {
			if part == "" {
				s.Only = nil
			} else {
				s.Only[part] = true
			}
		}
	}
}

// knowsPart reports a part that its file does not have.
func (b *binder) knowsPart(where Where, name string, f *syntax.File, part string) {
	if part == "" {
		return
	}
	var has []string
	for _, l := range f.Lines {
		if s, ok := l.Stmt.(*syntax.Part); ok {
			if s.Name.Value() == part {
				return
			}
			has = append(has, s.Name.Value())
		}
	}
	if len(has) == 0 {
		b.fault(syntax.RuleUse, where, fileHasNoParts, name)
		return
	}
	p := b.fault(syntax.RuleUse, where, fileLacksPart, name, syntax.Quote(part))
	p.Expected = quoted(has[:min(len(has), 12)])
}

func troubles(f *syntax.File) int {
	n := len(f.Problems)
	for _, l := range f.Lines {
		n += len(l.Problems)
	}
	return n
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// textProblems carries over what the parser found in the piece itself, and
// lines that stand where they mean nothing.
func (b *binder) textProblems() {
	src := b.Sources[0]
	for _, p := range src.File.Problems {
		b.found(p.Rule, at(0, p.Line, p.Span), p.About)
	}
	owned := false // a bar list above that a | line may go on from
	for i, l := range src.File.Lines {
		for _, p := range l.Problems {
			b.found(p.Rule, at(0, i, p.Span), p.About).Named = at(0, i, p.Named)
		}
		if l.Form == nil {
			continue
		}
		if _, more := l.Stmt.(*syntax.More); more {
			if !owned {
				b.fault(syntax.RuleSyntax, b.wholeLine(0, i), barsGoOnFromNothing)
			}
			continue
		}
		owned = l.Bars != nil || l.Broken
		if !l.Broken && !src.Seats[i].Fits(l) {
			b.outOfPlace(i, l, src.Seats[i])
		}
	}
	b.upTo.text = len(b.Problems)
}

// outOfPlace reports a line that means nothing where it stands.
func (b *binder) outOfPlace(i int, l *syntax.Line, seat syntax.Seat) {
	pr := b.found(syntax.RuleSyntax, b.wholeLine(0, i), misplaced(l, seat))
	item, ok := l.Stmt.(*syntax.Item)
	if !ok || item.Bars != nil {
		return
	}
	if near := syntax.NearestStatement(l, seat); near != "" {
		named := item.Name.Span()
		named.End = named.Start + len(strings.Fields(l.Text[named.Start:named.End])[0])
		pr.Near, pr.Named = []string{near}, at(0, i, named)
	}
}

// misplaced is what a line is told that means nothing where it stands.
func misplaced(l *syntax.Line, s syntax.Seat) syntax.About {
	word := l.Form.Word
	switch item := l.Stmt.(type) {
	case *syntax.LimbLine:
		return syntax.Tells(limbOfNobody)
	case *syntax.Item:
		if item.Bars == nil && syntax.NearestStatement(l, s) != "" {
			first, _, _ := strings.Cut(item.Name.Text, "-")
			return syntax.Tells(noSuchStatement, quoteWord(first))
		}
		if s.Block == syntax.InPlayer && item.Bars != nil {
			asks := syntax.Tells(syntax.WhoPlaysThis)
			asks.Readings = syntax.Limbed(strings.TrimSpace(l.Code()))
			return asks
		}
		if s.Block == syntax.InPlayer {
			return syntax.Tells(limbOrKit, item.Name.Text)
		}
		return syntax.Tells(partOrKit)
	case *syntax.From:
		return syntax.Tells(fromOfNothing)
	case *syntax.Amounts:
		return syntax.Tells(amountsInGear)
	}
	switch {
	case l.Form.In&syntax.InPlayer != 0:
		return syntax.Tells(belongsToPlayer, word)
	case l.Form.In&syntax.InKit != 0:
		return syntax.Tells(belongsInKit, word)
	}
	return syntax.Tells(belongsInDefinition, word)
}

// definitions reads the instruments and implements of every file.
func (b *binder) definitions() {
	b.Catalogue = kit.Standard()
	var ins []*kit.Instrument
	var ims []*kit.Implement
	for i, src := range b.Sources {
		is, ms, problems := kit.Read(src.Name, src.File, src.Seats, true)
		ins, ims = append(ins, is...), append(ims, ms...)
		if i == 0 {
			for _, p := range problems {
				b.found(p.Rule, at(0, p.Line, p.Span), p.About).Named = at(0, p.Line, p.Named)
			}
		}
	}
	b.Defined = ins
	if old := b.opt.Earlier; len(ins)+len(ims) > 0 && b.sameDefinitions() {
		b.Catalogue, b.Defined = old.Catalogue, old.Defined
	} else {
		b.Catalogue = b.Catalogue.With(ins, ims)
	}
	b.defined()
}

// defined checks the implements that the piece's own ways of playing name.
func (b *binder) defined() {
	src := b.Sources[0]
	for i, l := range src.File.Lines {
		if l.Broken {
			continue
		}
		var names []syntax.Name
		switch s := l.Stmt.(type) {
		case *syntax.Way:
			for _, t := range s.With {
				names = append(names, t.Name)
			}
		case *syntax.Never:
			names = s.With
		case *syntax.StandsFor:
			b.instrument(at(0, i, s.For.Span()), s.For.Text, nil)
		case *syntax.ButtEnd:
			names = []syntax.Name{s.As}
		default:
			continue
		}
		for _, n := range names {
			b.implement(at(0, i, n.Span()), n.Text)
		}
	}
	for _, in := range b.Defined {
		for _, w := range in.Ways {
			for k, c := range w.With {
				if im := b.Catalogue.Implement(c.Implement); im != nil && im.ID != c.Implement { // what is taken over is left alone
					w.With[k].Implement = im.ID
				}
			}
		}
	}
}

func (b *binder) implement(where Where, word string) *kit.Implement {
	if im := b.Catalogue.Implement(word); im != nil {
		return im
	}
	b.fault(syntax.RuleUnknownName, where, noSuchImplement, quoteWord(word)).mayMean(syntax.Nearest(word, b.Catalogue.ImplementIDs()))
	return nil
}

func quoteWord(w string) string { return "“" + w + "”" }

// mayMean adds the names that are near to the one that nothing goes by.
func (p *Problem) mayMean(near ...string) {
	p.MayMean(near...)
	p.Named = p.Where
}

// expects adds what may stand there, and asks for the nearest of it.
func (p *Problem) expects(not string, words ...string) {
	p.Expected = words
	p.mayMean(syntax.Nearest(not, words))
}

// within adds the bounds of a number.
func (p *Problem) within(least, most float64) { p.Least, p.Most = least, most }

// marks finds the rehearsal marks, which need no more than bar numbers.
func (b *binder) marks() {
	src := b.Sources[0]
	for i, l := range src.File.Lines {
		m, ok := l.Stmt.(*syntax.Mark)
		if !ok || l.Broken {
			continue
		}
		where := at(0, i, m.Name.Span())
		name := m.Name.Text
		c := name[0]
		if c >= '0' && c <= '9' || strings.ContainsAny(name, ".+-") {
			b.fault(syntax.RuleSyntax, where, markIsAWord)
			continue
		}
		if b.mark(name) != nil {
			b.fault(syntax.RuleSyntax, where, markSetTwice, name).also(b.mark(name).Where, here)
			continue
		}
		bar, _, hasCount, ok := b.place(0, i, m.Place, false)
		if !ok {
			continue
		}
		if hasCount {
			b.fault(syntax.RuleUnknownPlace, at(0, i, m.Place.Span()), markStandsAtBar)
		}
		if b.marked == nil {
			b.marked = map[string]int{}
		}
		b.marked[name] = len(b.Marks)
		b.Marks = append(b.Marks, Mark{Name: name, Bar: bar, Where: where})
	}
	b.upTo.marks = len(b.Problems)
}

func (b *binder) mark(name string) *Mark {
	if i, ok := b.marked[name]; ok {
		return &b.Marks[i]
	}
	return nil
}

// place resolves a place to a bar and, if it has one, a count.
func (b *binder) place(file, line int, a syntax.Atom, within bool) (bar int, c beat.Count, hasCount, ok bool) {
	where := at(file, line, a.Span())
	p, ok := syntax.ParsePlace(a.Text)
	if !ok {
		b.fault(syntax.RuleUnknownPlace, where, notAPlace, quoteWord(a.Text))
		return 0, c, false, false
	}
	bar = p.Bar
	if p.Mark != "" {
		m := b.mark(p.Mark)
		if m == nil {
			var names []string
			for _, m := range b.Marks {
				names = append(names, m.Name)
			}
			if len(names) == 0 {
				b.fault(syntax.RuleUnknownPlace, where, noSuchMark, p.Mark, p.Mark).Defines = Definition{"mark", p.Mark}
				return 0, c, false, false
			}
			pr := b.fault(syntax.RuleUnknownPlace, where, noSuchMarkOf, p.Mark, p.Mark, strings.Join(names, " "))
			pr.mayMean(syntax.Nearest(p.Mark, names))
			pr.Named.End = pr.Named.Start + int32(len(p.Mark))
			if len(pr.Near) == 0 {
				pr.Defines = Definition{"mark", p.Mark}
			}
			return 0, c, false, false
		}
		m.Used = true
		b.naming = append(b.naming, naming{int32(line), int32(b.marked[p.Mark])})
		bar += m.Bar
	}
	if within && !b.Grid.Has(bar) {
		var pr *Problem
		if bar > b.Grid.Last() && !b.hasLength {
			pr = b.fault(syntax.RuleUnknownPlace, where, longerPiece, bar, bar)
		} else {
			pr = b.fault(syntax.RuleUnknownPlace, where, noSuchBarOfPiece, bar)
		}
		pr.within(float64(b.Grid.First()), float64(b.Grid.Last()))
		return 0, c, false, false
	}
	if bar > maxBars {
		b.fault(syntax.RuleTooLarge, where, barBeyondAll, bar).within(0, maxBars)
		return 0, c, false, false
	}
	return bar, p.Count, p.HasCount, true
}

// moment resolves a place to a point in the music.
func (b *binder) moment(file, line int, a syntax.Atom) (pos beat.Rat, bar int, ok bool) {
	bar, c, hasCount, ok := b.place(file, line, a, true)
	if !ok {
		return pos, 0, false
	}
	if !hasCount {
		return b.Grid.Start(bar), bar, true
	}
	pos, ok = b.Grid.At(bar, c)
	if !ok {
		b.fault(syntax.RuleCount, at(file, line, a.Span()), barLacksCount, b.named(bar), c, b.barIs(bar))
	}
	return pos, bar, ok
}

// span resolves a range of bars.
func (b *binder) span(file, line int, a syntax.Atom) (from, to int, ok bool) {
	where := at(file, line, a.Span())
	if _, ok := syntax.ParseRange(a.Text); !ok {
		b.fault(syntax.RuleUnknownPlace, where, notARange, quoteWord(a.Text))
		return 0, 0, false
	}
	first, _, _ := strings.Cut(a.Text, "-")
	from, _, _, ok1 := b.place(file, line, a.Cut(0, len(first)), true)
	if !ok1 {
		return 0, 0, false
	}
	end := a
	if i := strings.IndexByte(a.Text, '-'); i > 0 {
		end = a.Cut(i+1, len(a.Text))
	}
	to, _, _, ok2 := b.place(file, line, end, true)
	if !ok2 {
		return 0, 0, false
	}
	if to < from {
		b.fault(syntax.RuleUnknownPlace, where, rangeBackwards, a.Text)
		return 0, 0, false
	}
	return from, to, true
}

// barIs says how long a bar is, for messages.
func (b *binder) barIs(bar int) string {
	m := b.Grid.Meter(bar)
	first := b.Grid.FirstCount(bar)
	if bar == 0 {
		return fmt.Sprintf("it is the pickup, and its counts begin at %s of %s", first, m)
	}
	return fmt.Sprintf("it is %s and has counts 1 to %d", m, m.Counts())
}

// A logical line is a line with bars and those that go on from it.
type logical struct {
	file, line int
	more       []int
	from       int // first bar
	fromOK     bool
	pass       int
	next       int // the bar of the next from in its block, or 0
	length     int
	opening    int // which from it stands under, or -1
}

// An opening is a from line and what stands under it.
type opening struct {
	place, at Where // of its bar, and of its pass
	from, to  int
	pass      int
	told      bool // that there is no such bar
}

// bars lays out the bar lines: meters, pickup, and how many bars there are.
func (b *binder) bars() {
	b.froms, b.reach = map[seatKey][]int{}, map[int]int{}
	b.budget = maxWritten
	b.makeRoom()
	w := barWalk{binder: b}
	for fi := range b.Sources {
		w.file = fi
		w.lines(0, len(b.Sources[fi].File.Lines))
	}
	b.upTo.walk = len(b.Problems)
	b.nexts()
	for _, m := range b.Marks {
		w.reaches(m.Bar, m.Where)
	}
	b.meters(w.longest, w.said, w.furthest)
}

// makeRoom counts the lines that the bars are read from, so that their lists
// are made once.
func (b *binder) makeRoom() {
	froms, bound := 0, 0
	for fi := range b.Sources {
		for _, l := range b.Sources[fi].File.Lines {
			switch l.Stmt.(type) {
			case *syntax.From:
				froms++
			case *syntax.Item, *syntax.LimbLine:
				bound++
			}
		}
	}
	b.openings, b.bound = b.room.openings.List(froms), b.room.bound.List(bound)
}

// nexts says of every line at which bar the next from of its block is.
func (b *binder) nexts() {
	for k := range b.froms {
		slices.Sort(b.froms[k])
	}
	var key seatKey
	var list []int
	for i := range b.bound {
		lg := &b.bound[i]
		if now := (seatKey{lg.file, b.Sources[lg.file].Seats[lg.line].Owner}); i == 0 || now != key {
			key, list = now, b.froms[now]
		}
		if n, _ := slices.BinarySearch(list, lg.from+1); n < len(list) {
			lg.next = list[n]
		}
	}
}

// A barWalk goes through the lines and knows from which bar they count.
type barWalk struct {
	*binder
	longest, said int
	furthest      Where // of the longest

	file, owner int
	under       logical // what a line here stands under: its from, its pass
	here        int     // the last bar that its block reaches
}

func (w *barWalk) reaches(bar int, where Where) {
	w.here = max(w.here, bar)
	if bar > w.longest {
		w.longest, w.furthest = bar, where
	}
}

// enter begins a block, at bar 1.
func (w *barWalk) enter(owner int) {
	w.leave()
	w.owner, w.under = owner, logical{file: w.file, from: 1, fromOK: true, opening: -1}
}

// leave ends a block.
func (w *barWalk) leave() {
	if w.file == 0 && w.here > 0 {
		w.reach[w.owner] = max(w.reach[w.owner], w.here)
	}
	w.here = 0
}

// lines goes through some lines of a file, from the beginning of a block on.
func (w *barWalk) lines(from, to int) {
	w.enter(-2)
	defer w.leave()
	fi, src := w.file, &w.Sources[w.file]
	for i := from; i < to; i++ {
		l := src.File.Lines[i]
		if l.Stmt == nil {
			continue
		}
		if seat := src.Seats[i]; seat.Owner != w.owner && seat.Block != syntax.InHead {
			w.enter(seat.Owner)
		}
		switch s := l.Stmt.(type) {
		case *syntax.From:
			if l.Broken {
				w.under.fromOK = false
			} else {
				w.from(i, s)
			}
		case *syntax.Length:
			if fi == 0 && !l.Broken && s.Word.Text == "bars" {
				w.said = w.whole(at(0, i, s.Value.Span()), s.Value.Text, 1, maxBars)
				w.hasLength = true
			}
		case *syntax.Item, *syntax.LimbLine:
			w.line(i)
		}
	}
}

// from is where the lines under it begin.
func (w *barWalk) from(i int, s *syntax.From) {
	place := at(w.file, i, s.Place.Span())
	u := &w.under
	u.from, _, _, u.fromOK = w.placeIn(w.file, i, s.Place)
	o := opening{place: place, from: u.from}
	if s.Pass != nil {
		o.at = at(w.file, i, s.Pass.Span())
		o.pass = w.whole(o.at, s.Pass.Text, 1, 63)
	}
	u.pass = o.pass
	if u.fromOK {
		key := seatKey{w.file, w.owner}
		list := w.froms[key]
		if list == nil {
			list = w.room.numbers.List(usualLines)
		}
		w.froms[key] = append(list, u.from)
	}
	w.reaches(u.from, place)
	u.opening = len(w.openings)
	w.openings = append(w.openings, o)
}

// line is a line of bars with those that go on with it.
func (w *barWalk) line(i int) {
	src := &w.Sources[w.file]
	lg := w.under
	lg.line = i
	bars := src.File.Lines[i].Bars
	if bars != nil {
		lg.length = cellsLength(bars)
		for _, j := range src.File.GoesOn(i) {
			if more := src.File.Lines[j].Bars; more != nil {
				lg.more = append(lg.more, j)
				lg.length = min(lg.length+cellsLength(more), maxLength)
			}
		}
		to := lg.from + lg.length - 1
		if w.here = max(w.here, to); to > w.longest {
			w.reaches(to, w.wholeLine(w.file, i))
		}
	}
	if lg.opening >= 0 {
		o := &w.openings[lg.opening]
		if o.to = max(o.to, lg.from+lg.length-1); bars == nil {
			o.to = maxBars // as written
		}
	}
	w.bound = append(w.bound, lg)
}

const maxLength = 1 << 40

func cellsLength(bars *syntax.Bars) int {
	n := 0
	for k := range bars.Cells {
		n = min(n+bars.Cells[k].Length(), maxLength)
	}
	return n
}

// placeIn is place before the grid is there: any bar will do.
func (b *binder) placeIn(file, line int, a syntax.Atom) (bar int, c beat.Count, hasCount, ok bool) {
	bar, c, hasCount, ok = b.place(file, line, a, false)
	if ok && hasCount {
		b.fault(syntax.RuleUnknownPlace, at(file, line, a.Span()), linesBeginAtBar)
	}
	return bar, c, hasCount, ok
}

// whole reads a whole number within bounds.
func (b *binder) whole(where Where, text string, least, most int) int {
	n := 0
	for _, c := range text {
		if c < '0' || c > '9' || n > most {
			n = most + 1
			break
		}
		n = n*10 + int(c-'0')
	}
	if n < least || n > most {
		b.fault(syntax.RuleValue, where, wholeNumber, quoteWord(text)).within(float64(least), float64(most))
		return min(max(n, least), most)
	}
	return n
}

// noSuchBar says that lines begin at a bar that is not there, once for each
// from.
func (b *binder) noSuchBar(lg logical, where Where) {
	if lg.opening >= 0 {
		o := &b.openings[lg.opening]
		if o.told {
			return
		}
		o.told, where = true, o.place
	}
	b.fault(syntax.RuleUnknownPlace, where, beginAtNoBar, lg.from).within(float64(b.Grid.First()), float64(b.Grid.Last()))
}

// neverPlayed finds lines for a pass that none of their bars is played on. How
// often a vamp goes round nobody knows.
func (b *binder) neverPlayed() {
	for i := range b.openings {
		o := &b.openings[i]
		if o.pass < 2 || o.at.File != 0 || !b.Grid.Has(o.from) {
			continue
		}
		to := min(o.to, b.Grid.Last())
		most := b.passes.most(o.from, to)
		if most == 0 || most >= o.pass || slices.ContainsFunc(b.Vamps, func(v Section) bool { return v.From <= to && o.from <= v.To }) {
			continue
		}
		often := fmt.Sprintf("%d times", most)
		if most < 3 {
			often = [...]string{"", "once", "twice"}[most]
		}
		which := fmt.Sprintf("bar %d is", o.from)
		if to > o.from {
			which = fmt.Sprintf("of bars %d to %d none is", o.from, to)
			often += " at the most"
			if most == 1 {
				which, often = fmt.Sprintf("bars %d to %d are", o.from, to), "once"
			}
		}
		if to > o.from && most > 1 {
			b.fault(syntax.RuleUnknownPlace, o.at, passNeverOfRange, o.pass, o.from, to, often)
			continue
		}
		b.fault(syntax.RuleUnknownPlace, o.at, passNever, o.pass, which, often)
	}
	b.upTo.never = len(b.Problems)
}

// A refusal is a line of a player that is not read, and so plays nothing.
type refusal struct {
	names    map[string]bool // that it may have meant
	from, to int
}

// refuse keeps in mind what a line that is refused was about, so that nobody
// is told besides that its strokes are missing.
func (b *binder) refuse(lg logical) {
	r := refusal{names: map[string]bool{}, from: b.Grid.First(), to: b.Grid.Last()}
	if lg.fromOK && b.Grid.Has(lg.from) {
		r.from = lg.from
		switch {
		case lg.length > 0:
			r.to = lg.from + lg.length - 1
		case lg.next > 0:
			r.to = lg.next - 1
		}
	}
	line := b.Sources[0].File.Lines[lg.line]
	fields, most := strings.Fields(line.Code()), 3
	if l, ok := line.Stmt.(*syntax.LimbLine); ok && l.Cue != nil {
		// What it names is known, however it is spelt: all of it, and each part.
		text := l.Cue.Name.Text
		if l.Cue.For != nil {
			text += " " + l.Cue.For.Text
		}
		fields, most = strings.FieldsFunc(text, func(c rune) bool { return c == '-' || c == ' ' }), 8
	}
	for i := range fields {
		for n := 1; n <= most && i+n <= len(fields); n++ {
			name := strings.ToLower(strings.Join(fields[i:i+n], "-"))
			r.names[name] = true
			if in := b.calledHere(name); in != nil {
				r.names[in.ID] = true
			}
		}
	}
	b.refused = append(b.refused, r)
}

// calledHere is what goes by a name that is not its own: in a kit, unless a
// part has a line of that name, or in the catalogue.
func (b *binder) calledHere(name string) *kit.Instrument {
	if in := b.kindOf(name); in != nil {
		if b.writtenAs(name) {
			return nil
		}
		return in
	}
	if all := b.Catalogue.Called(name); len(all) > 0 {
		return all[0]
	}
	return nil
}

// mostRefused is for how many refused lines their strokes are looked for.
const mostRefused = 50

// refusals are those that may be about a written line.
func refusals(all []refusal, l *Line) []refusal {
	var out []refusal
	for _, r := range all[:min(len(all), mostRefused)] {
		if r.names[l.Name] || r.names[l.Inst.ID] {
			out = append(out, r)
			continue
		}
		for name := range r.names {
			if len(name) > 3 && syntax.Nearest(name, []string{l.Name, l.Inst.ID}) != "" {
				out = append(out, r)
				break
			}
		}
	}
	return out
}
