package score

import (
	"iter"
	"slices"

	"example.org/handful/lang/syntax"
)

// A writtenLine is one logical line written out, kept so that the next score of a
// piece that is being edited can take it over. Strokes do not change once they
// are made, so two scores may share them.
type writtenLine struct {
	lines   []*syntax.Line
	at      []int // where these stand
	from    int
	spent   int
	strokes []Stroke
	struck  []*Struck
	words   []Word
	last    int
}

// sameDefinitions says whether the earlier score's files define the same things, on
// the same lines.
func (b *binder) sameDefinitions() bool {
	old := b.opt.Earlier
	return old != nil && old.Catalogue != nil && slices.EqualFunc(old.Sources, b.Sources, func(x, y Source) bool {
		next, stop := iter.Pull2(x.definitions())
		defer stop()
		for i, l := range y.definitions() {
			if j, m, ok := next(); !ok || i != j || l != m {
				return false
			}
		}
		_, _, more := next()
		return x.Name == y.Name && !more
	})
}

// definitions goes over the lines that define things.
func (s *Source) definitions() iter.Seq2[int, *syntax.Line] {
	return func(yield func(int, *syntax.Line) bool) {
		for i, l := range s.File.Lines {
			_, opens := l.Stmt.(*syntax.Define)
			if (opens || s.Seats[i].Block&(syntax.InInstrument|syntax.InImplement) != 0) && !yield(i, l) {
				return
			}
		}
	}
}

// earlierLine is what an earlier score of the same piece has for a logical
// line, or nil where something that it depends on has changed. Where the line
// stands elsewhere now, it is told to stand there.
func (b *binder) earlierLine(lg logical, file *syntax.File) *writtenLine {
	old := b.opt.Earlier
	if old == nil || old.expanded == nil || lg.file >= len(old.expanded) {
		return nil
	}
	if !b.compared {
		b.compared, b.sameGrid = true, b.Grid.Equal(old.Grid)
		b.shift = shiftOf(old.Sources[0].File.Lines, b.Sources[0].File.Lines)
	}
	was := lg.line
	if lg.file == 0 {
		was = b.shift.was(lg.line)
	}
	if !b.sameGrid {
		return nil
	}
	w := old.expanded[lg.file].at(was)
	if w == nil || w.from != lg.from || w.spent > b.budget || len(w.lines) != 1+len(lg.more) || w.lines[0] != file.Lines[lg.line] {
		return nil
	}
	for i, n := range lg.more {
		if w.lines[i+1] != file.Lines[n] {
			return nil
		}
	}
	if w.at[0] == lg.line && slices.Equal(w.at[1:], lg.more) {
		return w
	}
	return w.standsAt(lg)
}

// A shift is how far down the lines behind an edit have gone.
type shift struct{ behind, by int }

// shiftOf finds the lines at the end of a text that are those at the end of an
// earlier one.
func shiftOf(old, now []*syntax.Line) shift {
	n := 0
	for n < min(len(old), len(now)) && old[len(old)-1-n] == now[len(now)-1-n] {
		n++
	}
	return shift{len(now) - n, len(now) - len(old)}
}

// was is where a line stood before, if it stood anywhere.
func (s shift) was(line int) int {
	if line >= s.behind {
		return line - s.by
	}
	return line
}

// standsAt is the line written out where it stands now.
func (w *writtenLine) standsAt(lg logical) *writtenLine {
	now := *w
	now.at = append([]int{lg.line}, lg.more...)
	to := func(line int) int {
		if i := slices.Index(w.at, line); i >= 0 {
			return now.at[i]
		}
		return line
	}
	now.strokes = slices.Clone(w.strokes)
	for i := range now.strokes {
		s := &now.strokes[i].where
		s.line = s.line>>lineBits<<lineBits | uint32(to(int(s.line&(1<<lineBits-1))))
	}
	now.words = slices.Clone(w.words)
	for i := range now.words {
		now.words[i].Where.Line = int32(to(int(now.words[i].Where.Line)))
	}
	return &now
}

// A filled is a cue that takes its strokes from the parts, and what it took them from.
type filled struct {
	cue  *Cue
	from []source
}

// A source is what a line of a part had when a cue took its strokes from it.
type source struct {
	part    string
	strokes []Stroke
	words   []Word
}

// earlierCue takes the strokes of a cue over that takes them from the parts,
// if it and all the lines that it takes them from are as they were.
func (b *binder) earlierCue(c *Cue, l *syntax.Line, lines []*Line) bool {
	old := b.opt.Earlier
	if old == nil || !b.sameGrid {
		return false
	}
	has := old.cues.at(int(c.Where.Line))
	was := has.cue
	if was == nil || old.Sources[0].File.Lines[c.Where.Line] != l || !was.takesAs(c) || len(was.Strokes) == 0 || len(has.from) != len(lines) {
		return false
	}
	for i, from := range has.from {
		if !sameStrokes(from.strokes, lines[i].Strokes) || !slices.Equal(from.words, lines[i].Words) || from.part != lines[i].Part.Name {
			return false
		}
	}
	c.Strokes, c.Struck, c.Words = was.Strokes, was.Struck, was.Words
	return true
}

// takesAs says whether a cue took something from the parts, and another takes the same
// from the same.
func (c *Cue) takesAs(d *Cue) bool {
	return c.Where == d.Where && c.From == d.From && c.To == d.To && c.Pass == d.Pass && c.Voice == d.Voice && c.Of == d.Of &&
		slices.Equal(c.Within, d.Within)
}

// sameStrokes says whether two lists are one and the same.
func sameStrokes(a, b []Stroke) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0])
}

func sourcesOf(lines []*Line) []source {
	from := make([]source, len(lines))
	for i, l := range lines {
		from[i] = source{l.Part.Name, l.Strokes, l.Words}
	}
	return from
}

// takePartsOver puts the earlier score's parts in the place of those that are the
// same in every respect. What is bound is not changed any more, so two scores may
// share it, and what was found out about it need not be found out again.
func (b *binder) takePartsOver() {
	if b.opt.Earlier == nil || b.opt.Earlier.Catalogue != b.Catalogue {
		return
	}
	for i, p := range b.Parts {
		if was := partNamed(b.opt.Earlier.Parts, p.Name); was != nil && samePart(was, p) {
			b.Parts[i] = was
		}
	}
}

// takePlayersOver does it with players, once their things stand where they stand.
func (b *binder) takePlayersOver() {
	if b.opt.Earlier == nil || b.opt.Earlier.Catalogue != b.Catalogue {
		return
	}
	for i := range b.Players {
		b.takePlayerOver(i)
	}
}

func (b *binder) takePlayerOver(i int) {
	p := b.Players[i]
	was := b.opt.Earlier.Player(p.Name)
	if was == nil {
		return
	}
	if !samePlayer(was, p) {
		p.keepThings(was)
		return
	}
	b.Players[i] = was
	if !b.opt.Remember {
		return
	}
	for _, c := range was.Cues {
		if c.AsWritten {
			b.cues.mine(int(c.Where.Line)).cue = c
		}
	}
}

// keepThings puts the things that somebody had in the place of those that are the same in
// every field, so that who compares two players need not look into these.
func (p *Player) keepThings(was *Player) {
	had := make(map[*Item]*Item, len(p.Items))
	for i, it := range p.Items {
		if old := was.Item(it.Name); old != nil && old.Same(it) {
			had[it], p.Items[i] = old, old
		}
	}
	keep := func(it **Item) {
		if old := had[*it]; old != nil {
			*it = old
		}
	}
	for k := range p.Holds {
		keep(&p.Holds[k].Inst)
	}
	for _, a := range p.Actions {
		keep(&a.Item)
	}
	for _, c := range p.Cues {
		keep(&c.Item)
	}
}

func samePart(a, b *Part) bool {
	return a.Name == b.Name && a.Where == b.Where && a.Elsewhere == b.Elsewhere && a.voices.equal(b.voices) && slices.EqualFunc(a.Lines, b.Lines, func(x, y *Line) bool {
		return x.Name == y.Name && x.Inst == y.Inst && x.From == y.From && x.To == y.To && x.Where == y.Where &&
			sameMusic(x.Strokes, y.Strokes, x.Struck, y.Struck) && slices.Equal(x.Words, y.Words)
	})
}

func sameMusic(a, b []Stroke, as, bs []*Struck) bool {
	return sameStrokes(a, b) || slices.Equal(a, b) && slices.EqualFunc(as, bs, func(x, y *Struck) bool {
		return x == y || x != nil && y != nil && slices.Equal(x.Keys, y.Keys)
	})
}

// samePlayer says whether nothing at all of a player is another than it was, not even
// where in the text it stands.
func samePlayer(a, b *Player) bool {
	if a.Name != b.Name || a.Profile != b.Profile || a.Refused != b.Refused || a.HasKit != b.HasKit || a.Where != b.Where || len(a.Items) != len(b.Items) ||
		len(a.Cues) != len(b.Cues) || !a.voices.equal(b.voices) {
		return false
	}
	same := sameThings{a.Items, b.Items}
	return SamePerson(&a.Person, &b.Person) && sameSayings(&a.Person, &b.Person) &&
		slices.Equal(a.Stations, b.Stations) && slices.Equal(a.Tables, b.Tables) && slices.Equal(a.Hardware, b.Hardware) &&
		slices.EqualFunc(a.Items, b.Items, (*Item).Same) &&
		same.hold(a.Holds[0], b.Holds[0]) && same.hold(a.Holds[1], b.Holds[1]) &&
		slices.EqualFunc(a.Actions, b.Actions, same.action) && slices.EqualFunc(a.Cues, b.Cues, same.cue)
}

// sameSayings is what SamePerson leaves out: where and why things are said.
func sameSayings(a, b *Person) bool {
	where := func(x, y *Where) bool { return x == y || x != nil && y != nil && *x == *y }
	return where(a.saidHands, b.saidHands) && where(a.saidLeads, b.saidLeads) && where(a.saidSeated, b.saidSeated) &&
		where(a.saidRolls, b.saidRolls) && where(a.saidMallets, b.saidMallets) && where(a.saidForearms, b.saidForearms) &&
		slices.Equal(a.Never, b.Never) && slices.Equal(a.Likes, b.Likes)
}

// sameThings compares what points at things of two players, which stand in the same
// order in both set-ups.
type sameThings struct{ was, now []*Item }

func (s sameThings) item(x, y *Item) bool {
	if x == nil || y == nil {
		return x == y
	}
	return slices.Index(s.was, x) == slices.Index(s.now, y)
}

func (s sameThings) hold(x, y Hold) bool {
	same := s.item(x.Inst, y.Inst)
	x.Inst, y.Inst = nil, nil
	return same && x == y
}

func (s sameThings) action(x, y *Action) bool {
	same := s.item(x.Item, y.Item)
	a, b := *x, *y
	a.Item, b.Item = nil, nil
	return same && a == b
}

func (s sameThings) cue(x, y *Cue) bool {
	return x.Limb == y.Limb && x.Mount == y.Mount && x.AsWritten == y.AsWritten && x.Ended == y.Ended && x.LimbEnd == y.LimbEnd && s.item(x.Item, y.Item) &&
		sameWords(x.Asks, y.Asks) && slices.Equal(x.With, y.With) && x.Mallets == y.Mallets && x.Beside == y.Beside && x.WithWhere == y.WithWhere && x.AndWhere == y.AndWhere &&
		x.MountWhere == y.MountWhere && x.Voice == y.Voice && x.For == y.For && x.Pass == y.Pass && x.From == y.From && x.To == y.To &&
		slices.Equal(x.Within, y.Within) && x.Of == y.Of && x.Where == y.Where && x.Name == y.Name && slices.Equal(x.Words, y.Words) &&
		sameMusic(x.Strokes, y.Strokes, x.Struck, y.Struck)
}

func sameWords(x, y *Asked) bool {
	if x == nil || y == nil {
		return x == y
	}
	return x.Ask == y.Ask && slices.Equal(x.Ways, y.Ways) && x.Mount == y.Mount && x.Where == y.Where
}

// SameHead says whether one of two scores was made of the other, or both of a third, with
// nothing but other bars and other lines of players.
func SameHead(a, b *Score) bool { return a.Grid == b.Grid }

// SameCourse says whether two scores of a piece go the same way in the same time:
// their bars, how those are numbered, which are played when and how often, where
// nobody counts, and what the things in them are.
func SameCourse(a, b *Score) bool {
	return SameBars(a, b) && a.Time.Equal(b.Time)
}

// SameBars is the same, however quick they are.
func SameBars(a, b *Score) bool {
	return a.Catalogue == b.Catalogue && a.Supposed == b.Supposed && a.Time.Alike(b.Time) && slices.Equal(a.Numbers, b.Numbers) && slices.Equal(a.Pauses, b.Pauses) &&
		slices.Equal(a.passes.starts, b.passes.starts) && slices.Equal(a.passes.counts, b.passes.counts)
}
