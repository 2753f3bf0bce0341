package score

import (
	"iter"
	"slices"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/syntax"
)

// A covered is a written line while it is found out who plays it.
type covered struct {
	*Line
	passes  []uint64    // of each stroke, those on which somebody plays it
	owners  []*Cue      // who plays it last; none where nobody plays any
	stoodIn []bool      // whether another instrument does; none where none does
	partly  partly      // chords of which somebody plays some notes
	missing map[int]int // of those, how many notes nobody plays
}

// voiceIndex finds the written lines of a voice that overlap a range of bars.
type voiceIndex map[string]*voiceLines

type voiceLines struct {
	lines []*covered // by first bar
	reach []int      // the furthest bar of any line so far
}

// usualLines is for how many lines of a player or a part there is room at first.
const usualLines = 8

// indexLines lists all written lines, and those of each voice.
func (b *binder) indexLines() {
	n := 0
	b.eachTouched(func(*Line) { n++ })
	b.all = b.room.covered.List(n)
	x := voiceIndex{}
	b.eachTouched(func(l *Line) {
		b.all = append(b.all, covered{Line: l})
		v := x[l.Name]
		if v == nil {
			v = &voiceLines{lines: b.room.ofVoice.List(usualLines)}
			x[l.Name] = v
		}
		v.lines = append(v.lines, &b.all[len(b.all)-1])
	})
	for _, v := range x {
		slices.SortStableFunc(v.lines, func(a, b *covered) int { return a.From - b.From })
		furthest := 0
		v.reach = b.room.numbers.List(len(v.lines))
		for _, l := range v.lines {
			furthest = max(furthest, l.To)
			v.reach = append(v.reach, furthest)
		}
	}
	b.lines = x
}

// eachTouched visits the written lines of whose strokes something else may have become.
func (b *binder) eachTouched(visit func(*Line)) {
	if b.stirred != nil && len(b.stirred.voices) == 0 {
		return
	}
	for _, p := range b.Parts {
		if !b.concerns(p.voices) {
			continue
		}
		for _, l := range p.Lines {
			if b.touches(l.Name, l.From, l.To) {
				visit(l)
			}
		}
	}
}

// index is that of the written lines, made once somebody asks.
func (b *binder) index() voiceIndex {
	if b.lines == nil {
		b.indexLines()
	}
	return b.lines
}

// overlapping goes over the lines of a voice that have bars in a range.
func (x voiceIndex) overlapping(voice string, from, to int) iter.Seq[*covered] {
	return func(yield func(*covered) bool) {
		v := x[voice]
		if v == nil {
			return
		}
		first, _ := slices.BinarySearch(v.reach, from)
		for _, l := range v.lines[first:] {
			if l.From > to || l.To >= from && !yield(l) {
				return
			}
		}
	}
}

// wishes reads what the arranger says nobody plays, how much things matter, and what
// stays with one person.
func (b *binder) wishes() {
	b.worths()
	src := b.Sources[0]
	for i, l := range src.File.Lines {
		if l.Broken {
			continue
		}
		switch s := l.Stmt.(type) {
		case *syntax.Omit:
			b.omit(i, s)
		case *syntax.Matters:
			b.matters(i, s)
		case *syntax.Together:
			b.together(i, s)
		case *syntax.Accept:
			b.accept(i, s)
		}
	}
}

func (b *binder) omit(i int, s *syntax.Omit) {
	o := &Omit{Name: s.What.Text, From: b.Grid.First(), To: b.Grid.Last(), Where: b.wholeLine(0, i)}
	if s.Reason == nil || strings.TrimSpace(s.Reason.Value()) == "" {
		b.fault(syntax.RuleSyntax, o.Where, omitWithoutReason, o.Name)
		return
	}
	o.Reason = b.reason(0, i, s.Reason)
	var ranges [][2]int
	for _, in := range s.In {
		from, to, ok := b.span(0, i, in)
		if !ok {
			return
		}
		ranges = append(ranges, [2]int{from, to})
	}
	if s.Of != nil {
		o.Part = s.Of.Value()
		if b.part(o.Part) == nil {
			b.fault(syntax.RuleUnknownName, at(0, i, s.Of.Span()), noSuchPart, syntax.Quote(o.Part)).mayMeanText(o.Part, b.partsNamed())
			return
		}
	}
	if b.index()[o.Name] == nil {
		in := b.Catalogue.Resolve(o.Name)
		if in == nil && b.kindOf(o.Name) == nil {
			b.instrument(at(0, i, s.What.Span()), o.Name, nil)
			return
		}
		if in != nil && b.lines[in.ID] != nil {
			o.Name = in.ID
		}
	}
	if ranges == nil {
		b.Omits = append(b.Omits, o)
	}
	for _, r := range ranges {
		one := *o
		one.From, one.To = r[0], r[1]
		b.Omits = append(b.Omits, &one)
	}
}

func (b *binder) accept(i int, s *syntax.Accept) {
	a := &Accept{Rule: s.Rule.Text, Where: b.wholeLine(0, i), Named: at(0, i, s.Rule.Span()), From: b.Grid.First(), To: b.Grid.Last()}
	if s.Reason == nil || strings.TrimSpace(s.Reason.Value()) == "" {
		b.fault(syntax.RuleSyntax, a.Where, acceptWithoutReason, a.Rule)
		return
	}
	a.Reason = b.reason(0, i, s.Reason)
	if s.At != nil {
		bar, c, hasCount, ok := b.place(0, i, *s.At, true)
		if !ok {
			return
		}
		a.HasPlace, a.Bar, a.Count, a.HasCount = true, bar, c, hasCount
	}
	if s.In != nil {
		var ok bool
		if a.From, a.To, ok = b.span(0, i, *s.In); !ok {
			return
		}
	}
	if s.Player != nil {
		a.Player = s.Player.Value()
		if b.Player(a.Player) == nil && !slices.Contains(b.opt.Without, a.Player) {
			b.fault(syntax.RuleUnknownName, at(0, i, s.Player.Span()), noSuchPlayer, a.Player).mayMeanPlayer(a.Player, b.Players)
			return
		}
	}
	b.Accepts = append(b.Accepts, a)
}

// cover marks every written stroke that somebody plays, and finds those that
// nobody does, two do, or nobody wrote.
func (b *binder) cover() {
	if b.stirred == nil {
		b.compare()
	}
	b.index()
	for i := range b.all {
		if l := &b.all[i]; b.touches(l.Name, l.From, l.To) {
			l.passes = b.room.marks.Zeros(len(l.Strokes))
		}
	}
	omitted := b.omitted()
	now := reckoning{}
	var room []bool
	for i := range b.Players {
		var t tally
		t, room = b.coverCues(i, room)
		now.cues = append(now.cues, t)
	}
	next := 0
	for i := range b.Parts {
		var t tally
		t, next = b.coverLines(i, next, omitted)
		now.lines = append(now.lines, t)
	}
	b.reckoning = now
}

// coverLines counts what became of each written line of a part; next is the first that is
// listed, of those that are.
func (b *binder) coverLines(i, next int, omitted map[*Line][]*Omit) (tally, int) {
	p := b.Parts[i]
	if b.like != nil && b.like.old.Parts[i] == p && !b.touchesPart(p) {
		for next < len(b.all) && b.all[next].Part == p {
			next++
		}
		return b.takePart(i), next
	}
	t := b.tallies(len(p.Lines))
	for k, l := range p.Lines {
		listed := next < len(b.all) && b.all[next].Line == l
		switch {
		case len(l.Strokes) == 0: // of which nothing becomes anything
		case b.touches(l.Name, l.From, l.To):
			b.gaps(&b.all[next], omitted[l])
		default:
			b.takeLine(b.before.lines[i], was(b.like.lines, i, k), l)
		}
		if listed {
			next++
		}
		b.tallied(&t)
	}
	return t, next
}

// coverCues marks what each cue of a player plays. The list is room for what is said of
// strokes.
func (b *binder) coverCues(i int, room []bool) (tally, []bool) {
	p := b.Players[i]
	if b.like != nil && b.like.old.Players[i] == p && !b.touchesPlayer(p) {
		return b.takePlayer(i), room
	}
	t := b.tallies(len(p.Cues))
	for k, c := range p.Cues {
		switch {
		case len(c.Strokes) == 0: // which covers nothing
		case b.stirred == nil || b.touchesCue(c):
			room = b.coverCue(c, room)
		default:
			b.takeCue(b.before.cues[i], was(b.like.cues, i, k), c)
		}
		b.tallied(&t)
	}
	return t, room
}

// A reckoning is how much of the coverage there was behind each cue of each player and
// behind each written line of each part, so that what it says of those that are as they
// were can be taken over.
type reckoning struct {
	of          *Coverage
	cues, lines []tally
}

// A tally is how much there was before some of them, and how much more behind each.
type tally struct {
	before reckoned
	behind []reckoned
}

// tallies begins a tally of so many.
func (b *binder) tallies(n int) tally {
	t := tally{before: b.Coverage.reckoned()}
	if b.opt.Remember {
		t.behind = make([]reckoned, 0, n)
	}
	return t
}

func (b *binder) tallied(t *tally) {
	if b.opt.Remember {
		t.behind = append(t.behind, b.Coverage.reckoned().plus(t.before, -1))
	}
}

type reckoned struct {
	written, covered, substituted, omitted   int32
	plainer, doubled, extra, left, uncovered int32
}

func (c *Coverage) reckoned() reckoned {
	return reckoned{int32(c.Written), int32(c.Covered), int32(c.Substituted), int32(c.Omitted),
		int32(len(c.Plainer)), int32(len(c.Doubled)), int32(len(c.Extra)), int32(len(c.Left)), int32(len(c.Uncovered))}
}

// plus is so many times as much as another more.
func (r reckoned) plus(o reckoned, times int32) reckoned {
	return reckoned{r.written + times*o.written, r.covered + times*o.covered, r.substituted + times*o.substituted, r.omitted + times*o.omitted,
		r.plainer + times*o.plainer, r.doubled + times*o.doubled, r.extra + times*o.extra, r.left + times*o.left, r.uncovered + times*o.uncovered}
}

// step is how much there was in front of one of them, and behind it.
func (t tally) step(k int) (from, to reckoned) {
	if from = t.before; k > 0 {
		from = from.plus(t.behind[k-1], 1)
	}
	return from, t.before.plus(t.behind[k], 1)
}

// all is how much there was in front of the first and behind the last.
func (t tally) all() (from, to reckoned) {
	if n := len(t.behind); n > 0 {
		return t.before, t.before.plus(t.behind[n-1], 1)
	}
	return t.before, t.before
}

// omitted says of the strokes of written lines which of them are left out.
func (b *binder) omitted() map[*Line][]*Omit {
	omitted := map[*Line][]*Omit{}
	for _, o := range b.Omits {
		if !b.touches(o.Name, o.From, o.To) {
			continue
		}
		from, to := b.Grid.Start(o.From), b.Grid.Start(o.To+1)
		for l := range b.lines.overlapping(o.Name, o.From, o.To) {
			if o.Part != "" && l.Part.Name != o.Part {
				continue
			}
			marks := omitted[l.Line]
			if marks == nil {
				marks = make([]*Omit, len(l.Strokes))
				omitted[l.Line] = marks
			}
			for i := firstAt(l.Strokes, from); i < len(l.Strokes) && l.Strokes[i].At.Less(to); i++ {
				if l.Strokes[i].Sounds() {
					marks[i] = o
				}
			}
		}
	}
	return omitted
}

// firstAt is the first of some strokes that is not before a place.
func firstAt(s []Stroke, from beat.Rat) int {
	i, _ := slices.BinarySearchFunc(s, from, func(s Stroke, r beat.Rat) int { return s.At.Cmp(r) })
	return i
}

// coverCue marks what a cue plays of the written lines of its voice. The list is
// room for what it says of the cue's strokes.
func (b *binder) coverCue(c *Cue, room []bool) []bool {
	if len(c.Strokes) == 0 {
		return room
	}
	from, to := int(c.Strokes[0].Bar), int(c.Strokes[len(c.Strokes)-1].Bar)
	var hit []bool
	if len(b.Parts) > 0 {
		room = slices.Grow(room[:0], len(c.Strokes))
		hit = room[:len(c.Strokes)]
		clear(hit)
	}
	for l := range b.lines.overlapping(c.Voice, from, to) {
		if c.Of != "" && l.Part.Name != c.Of {
			continue
		}
		if l.owners == nil {
			l.owners = b.room.owners.Zeros(len(l.Strokes))
		}
		if c.Substitutes() && l.stoodIn == nil {
			l.stoodIn = make([]bool, len(l.Strokes))
		}
		b.coverLine(c, l, hit)
	}
	if hit != nil {
		b.extra(c, hit)
	}
	return room
}

// Substitutes says whether a cue stands for another instrument than its own.
func (c *Cue) Substitutes() bool { return c.For != nil && c.For != c.Item.Inst }

// coverLine goes through a cue and a written line side by side. hit is which
// strokes of the cue are written.
func (b *binder) coverLine(c *Cue, l *covered, hit []bool) {
	cost := c.Substitutes()
	doubled := -1
	for i, w := c.meets(l.Line, 0, firstAt(l.Strokes, c.Strokes[0].At)); i < len(c.Strokes); i, w = c.meets(l.Line, i+1, w) {
		st, is := &c.Strokes[i], &l.Strokes[w]
		notes, all := shares(l.StruckAt(w), c.StruckAt(i), l.Inst)
		if notes == 0 {
			continue // other notes than these
		}
		hit[i] = true
		if !c.AsWritten && !st.Has(Roll) && (is.Has(Roll) || is.Grace > st.Grace) {
			b.Coverage.Plainer = append(b.Coverage.Plainer, Plainer{Line: l.Line, Cue: c, Stroke: i, Roll: is.Has(Roll)})
		}
		mask := b.mask(int(st.Bar))
		if c.Pass > 0 {
			mask = 1 << (c.Pass - 1)
		}
		whole, again := mask, l.passes[w]&mask != 0
		if notes != all || l.partly[w] != nil {
			whole, again = l.plays(w, notes, mask)
		}
		if again && l.owners[w] != nil {
			doubled = b.double(doubled, Doubled{Line: l.Line, First: w, Last: w, By: l.owners[w], Also: c, AlsoFirst: i})
		}
		l.passes[w] |= whole
		l.owners[w] = c
		if cost {
			l.stoodIn[w] = true
		}
	}
}

// meets is the first stroke of a cue, from the i-th on, that sounds together with
// one of a written line, from the w-th on, and which that is; where none does, it
// is behind the cue's last.
func (c *Cue) meets(l *Line, i, w int) (int, int) {
	for ; i < len(c.Strokes); i++ {
		st := &c.Strokes[i]
		if !st.Sounds() {
			continue
		}
		if w = soundsFrom(l.Strokes, w, st.At); w >= len(l.Strokes) {
			break
		}
		if l.Strokes[w].At == st.At {
			return i, w
		}
	}
	return len(c.Strokes), w
}

// LinesOf are the written lines that a cue plays some strokes of, as they are or
// on what stands in for them.
func (s *Score) LinesOf(c *Cue) []*Line {
	var out []*Line
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			if len(c.Strokes) > 0 && l.Name == c.Voice && (c.Of == "" || c.Of == p.Name) && c.plays(l) {
				out = append(out, l)
			}
		}
	}
	return out
}

// plays says whether a cue plays some stroke of a written line.
func (c *Cue) plays(l *Line) bool {
	for i, w := c.meets(l, 0, firstAt(l.Strokes, c.Strokes[0].At)); i < len(c.Strokes); i, w = c.meets(l, i+1, w) {
		if notes, _ := shares(l.StruckAt(w), c.StruckAt(i), l.Inst); notes != 0 {
			return true
		}
	}
	return false
}

// soundsFrom is the first stroke from the w-th on that sounds at a moment, or
// any that stands after it.
func soundsFrom(list []Stroke, w int, moment beat.Rat) int {
	for w < len(list) && (list[w].At.Less(moment) || list[w].At == moment && !list[w].Sounds()) {
		w++
	}
	return w
}

// double takes down a stroke that two play, with those before it where it goes
// on from them, and says where it is taken down.
func (b *binder) double(last int, d Doubled) int {
	if last >= 0 && b.Coverage.Doubled[last].By == d.By && b.Coverage.Doubled[last].Last >= d.Last-2 {
		b.Coverage.Doubled[last].Last = d.Last
		return last
	}
	b.Coverage.Doubled = append(b.Coverage.Doubled, d)
	return len(b.Coverage.Doubled) - 1
}

// extra takes down the runs of strokes that nothing written asks for.
func (b *binder) extra(c *Cue, hit []bool) {
	open := -1
	for i := range c.Strokes {
		switch {
		case hit[i]:
			open = -1
		case !c.Strokes[i].Sounds():
		case open < 0:
			b.Coverage.Extra = append(b.Coverage.Extra, Extra{Cue: c, First: i, Last: i})
			open = len(b.Coverage.Extra) - 1
		default:
			b.Coverage.Extra[open].Last = i
		}
	}
}

// gaps counts what became of one written line, and reports the runs of
// strokes that nobody plays.
func (b *binder) gaps(l *covered, omitted []*Omit) {
	open := -1
	refused := refusals(b.refused, l.Line)
	for i := range l.Strokes {
		if !l.Strokes[i].Sounds() {
			continue
		}
		all := b.mask(int(l.Strokes[i].Bar))
		if all == 0 {
			continue
		}
		n := l.StruckAt(i).Count()
		b.Coverage.Written += n
		missing := all &^ l.passes[i]
		switch {
		case missing == 0 && l.stoodIn != nil && l.stoodIn[i]:
			b.Coverage.Substituted += n
		case missing == 0:
			b.Coverage.Covered += n
		default:
			if l.partly[i] != nil {
				n = l.lacks(i, all)
				b.Coverage.Covered += len(l.partly[i]) - n
			}
			if omitted != nil && omitted[i] != nil {
				b.Coverage.Omitted += n
				omitted[i].Strokes += n
				b.Coverage.Left = append(b.Coverage.Left, Gap{Line: l.Line, First: i, Last: i, Passes: missing, missing: l.missing})
				missing = 0
			}
		}
		if missing == 0 {
			open = -1
			continue
		}
		bar := int(l.Strokes[i].Bar)
		told := slices.ContainsFunc(refused, func(r refusal) bool { return r.from <= bar && bar <= r.to })
		open = b.lost(open, Gap{Line: l.Line, First: i, Last: i, Passes: missing, Refused: told, missing: l.missing})
	}
}

// lost takes down a stroke that nobody plays, with those before it where it goes
// on from them, and says where it is taken down.
func (b *binder) lost(open int, g Gap) int {
	if open < 0 || b.Coverage.Uncovered[open].Passes != g.Passes || b.Coverage.Uncovered[open].Refused != g.Refused {
		b.Coverage.Uncovered = append(b.Coverage.Uncovered, g)
		open = len(b.Coverage.Uncovered) - 1
	}
	b.Coverage.Uncovered[open].Last = g.Last
	return open
}
