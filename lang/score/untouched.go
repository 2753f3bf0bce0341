package score

import (
	"cmp"
	"iter"
	"maps"
	"slices"

	"example.org/handful/lang/syntax"
)

// Who writes in the blocks of some players changes nothing of the others, and nothing
// of what is written in the parts, as long as the bars stay as they are and every name
// means what it meant. Then the score is that of before but for these players, what is
// said of their lines, and what became of the strokes of their voices. Where a name may
// mean something else, or what is said cannot be put in its place, the whole is bound anew.

// A block is the lines of a player, with those of the head among them.
type block struct{ from, to, player int }

func (b *block) has(line int) bool { return b.from <= line && line < b.to }

// upTo is how many problems there were behind each step of binding.
type upTo struct {
	text, marks, walk, head, never, kits, owned, parts int
	own                                                []own // of each player
	filled                                             []int
}

// own is what was said of the lines of a player, and which were refused.
type own struct {
	begun    bool
	from, to noting
}

// A noting is how much had been said.
type noting struct{ problems, refused int }

func (b *binder) noting() noting { return noting{len(b.Problems), len(b.refused)} }

// A naming is a mark that a line names.
type naming struct{ line, mark int32 }

// boundAs says whether a score was bound as another text of the name would be now, and
// that uses no other file.
func (s *Score) boundAs(name string, opt *Options) bool {
	return s != nil && opt.Remember && s.rest != nil && s.rest.alone && len(opt.Uses) == 0 && s.Sources[0].Name == name &&
		opt.TempoFactor == s.rest.opt.TempoFactor && opt.Profile == s.rest.opt.Profile && slices.Equal(opt.Without, s.rest.opt.Without)
}

// A writing is a score in which some players are bound anew.
type writing struct {
	*binder
	old    *Score
	blocks []block
	walked [][]logical // the lines of each block
}

// rebindPlayers is the score of a file in which nothing but lines in the blocks of some
// players is another than in the earlier one's, or nil where that is not all.
func rebindPlayers(name string, f *syntax.File, opt Options) *Score {
	old := opt.Earlier
	if !old.boundAs(name, &opt) || !old.rest.parted || old.rest.tooLong || len(opt.Without) > 0 || old.rest.budget < maxWritten/4 {
		return nil
	}
	blocks := old.writtenIn(f)
	if len(blocks) == 0 {
		return nil
	}
	w := writing{binder: old.again(f, opt), old: old, blocks: blocks}
	w.begin()
	if !w.walk() || !w.kits() || !w.own() {
		return nil
	}
	w.fill()
	w.say(old.rest.upTo.filled[len(w.Players)-1], old.rest.problems)
	w.settle()
	w.remember()
	return w.Score
}

// writtenIn are the blocks of players in which a file has other lines than the score's;
// none where anything else is another.
func (s *Score) writtenIn(f *syntax.File) (blocks []block) {
	was := &s.Sources[0]
	if len(was.File.Lines) != len(f.Lines) {
		return nil
	}
	for i, l := range f.Lines {
		if l == was.File.Lines[i] || len(blocks) > 0 && blocks[len(blocks)-1].has(i) && isOwn(l) && isOwn(was.File.Lines[i]) && was.Seats[i].Owner >= 0 {
			continue
		}
		seat := was.Seats[i]
		player := slices.IndexFunc(s.Players, func(p *Player) bool { return int(p.Where.Line) == seat.Owner })
		if player < 0 || i == seat.Owner || !isOwn(l) || !isOwn(was.File.Lines[i]) {
			return nil
		}
		next := slices.IndexFunc(was.Seats[i:], func(s syntax.Seat) bool { return s.Owner != seat.Owner && s.Owner >= 0 })
		if next < 0 {
			next = len(f.Lines) - i
		}
		blocks = append(blocks, block{seat.Owner, i + next, player})
		if !f.SeatedAs(was.Seats, seat.Owner, i+next) {
			return nil
		}
	}
	return blocks
}

// isOwn says whether a line is read for its player alone.
func isOwn(l *syntax.Line) bool {
	switch l.Stmt.(type) {
	case nil, *syntax.From, *syntax.LimbLine, *syntax.Item, *syntax.Stand, *syntax.More, *syntax.Profile, *syntax.Setting,
		*syntax.Hands, *syntax.Leads, *syntax.Seated, *syntax.Ability, *syntax.Likes:
		return true
	}
	return false
}

// begin lets go of what is known of the blocks.
func (w *writing) begin() {
	w.Problems, w.refused = nil, nil
	w.upTo = upTo{}
	w.ranges, w.compared, w.sameGrid, w.stirred, w.like = w.blocks, true, true, nil, nil
	w.froms = map[seatKey][]int{}
	for i, o := range w.Omits {
		again := *o
		again.Strokes, w.Omits[i] = 0, &again
	}
	for i := range w.blocks {
		bl := &w.blocks[i]
		for line := bl.from; line < bl.to; line++ {
			if was := w.expanded[0].at(line); was != nil {
				w.budget += was.spent
			}
		}
		w.expanded[0].clear(bl.from, bl.to)
		w.cues.clear(bl.from, bl.to)
	}
	w.naming = nil
	for _, n := range w.old.rest.naming {
		if !w.rewrites(int(n.line)) || !namesAnew(w.old.Sources[0].File.Lines[n.line]) {
			w.naming = append(w.naming, n)
		}
	}
}

// namesAnew says whether the marks that a line names are noted when its player is bound.
func namesAnew(l *syntax.Line) bool {
	switch l.Stmt.(type) {
	case *syntax.From, *syntax.LimbLine:
		return true
	}
	return false
}

// rewrites says whether a line is in the block of somebody who is written about.
func (w *writing) rewrites(line int) bool {
	return slices.ContainsFunc(w.blocks, func(b block) bool { return b.has(line) })
}

// say says again what was said before.
func (w *writing) say(from, to int) { w.Problems = append(w.Problems, w.old.Problems[from:to]...) }

// splice says again what was said before of other lines, with what is said of the
// blocks now, in the order of the lines.
func (w *writing) splice(from, to int, now func()) {
	first := len(w.Problems)
	now()
	for _, p := range w.old.Problems[from:to] {
		if !w.rewrites(int(p.Where.Line)) {
			w.Problems = append(w.Problems, p)
		}
	}
	slices.SortStableFunc(w.Problems[first:], func(x, y Problem) int { return cmp.Compare(x.Where.Line, y.Where.Line) })
}

// walk finds the bars of the lines of the blocks, and is false where the piece may have
// other ones.
func (w *writing) walk() bool {
	was := &w.old.rest.upTo
	w.textProblems()
	w.say(was.text, was.marks)
	w.upTo.marks = len(w.Problems)
	same := true
	w.splice(was.marks, was.walk, func() {
		for i := range w.blocks {
			same = w.walkBlock(&w.blocks[i]) && same
		}
	})
	if !same {
		return false
	}
	w.upTo.walk = len(w.Problems)
	w.say(was.walk, was.head)
	w.upTo.head = len(w.Problems)
	w.splice(was.head, was.never, w.neverPlayed)
	w.upTo.never = len(w.Problems)
	return true
}

// walkBlock finds the bars of a block's lines.
func (w *writing) walkBlock(bl *block) bool {
	before, had := w.bound, w.reach[bl.from]
	first, _ := slices.BinarySearchFunc(before, bl.from, func(lg logical, i int) int { return lg.line - i })
	last, _ := slices.BinarySearchFunc(before, bl.to, func(lg logical, i int) int { return lg.line - i })
	w.bound, w.reach = make([]logical, 0, last-first+1), maps.Clone(w.reach)
	w.openings = slices.Grow(w.openings, last-first+1)
	w.reach[bl.from] = 0
	to := barWalk{binder: w.binder}
	to.lines(bl.from, bl.to)
	w.nexts()
	walked := w.bound
	w.walked = append(w.walked, walked)
	w.bound = before
	if !slices.EqualFunc(before[first:last], walked, sameLogical) {
		w.bound = slices.Concat(before[:first], walked, before[last:])
	}
	return had == to.longest || w.said > 0 || to.longest <= w.longest && had < w.longest
}

// sameLogical says whether two lines are the same but for where their openings are.
func sameLogical(x, y logical) bool {
	return x.line == y.line && x.from == y.from && x.fromOK == y.fromOK && x.pass == y.pass && x.next == y.next && x.length == y.length &&
		slices.Equal(x.more, y.more) && (x.opening < 0) == (y.opening < 0)
}

// kits reads the set-ups of the blocks, and is false where what is said of them cannot be
// put in its place among what is said of others.
func (w *writing) kits() bool {
	byOwner := map[int]*Player{}
	for i := range w.blocks {
		bl := &w.blocks[i]
		was := w.old.Players[bl.player]
		p := w.newPlayer(was.Name, was.Where)
		w.Players[bl.player], byOwner[bl.from] = p, p
	}
	first := len(w.Problems)
	w.setups(byOwner)
	was := &w.old.rest.upTo
	others := 0
	for _, p := range w.old.Problems[was.never:was.kits] {
		if !w.rewrites(int(p.Where.Line)) {
			others++
		}
	}
	if others > 0 && (others < was.kits-was.never || len(w.Problems) > first) {
		return false
	}
	if others > 0 {
		w.say(was.never, was.kits)
	}
	w.upTo.kits = len(w.Problems)
	return true
}

// own binds the lines of the blocks, each where only those who come before are known
// but for their kits.
func (w *writing) own() bool {
	was := &w.old.rest.upTo
	w.upTo.own = make([]own, len(w.Players))
	w.coming = map[*Player]bool{}
	for _, p := range w.Players {
		w.coming[p] = true
	}
	k := 0
	for i, p := range w.Players {
		delete(w.coming, p)
		o := &w.upTo.own[i]
		o.from = w.noting()
		if k < len(w.blocks) && w.blocks[k].player == i {
			for n := range w.walked[k] {
				w.ownLine(p, &w.walked[k][n])
			}
			p.inOrder()
			if !slices.EqualFunc(w.named(w.old.Players[i]), w.named(p), sameName) {
				return false
			}
			k++
		} else {
			before := &was.own[i]
			w.say(before.from.problems, before.to.problems)
			w.refused = append(w.refused, w.old.rest.refused[before.from.refused:before.to.refused]...)
		}
		o.to = w.noting()
	}
	w.upTo.owned = len(w.Problems)
	w.say(was.owned, was.parts)
	w.upTo.parts = len(w.Problems)
	return w.budget > maxWritten/4
}

// named are the things of somebody by whose names others may mean something.
func (w *writing) named(p *Player) (list []*Item) {
	for _, it := range p.Items {
		if !w.ownName(it) {
			list = append(list, it)
		}
	}
	return list
}

// ownName says whether a thing that no kit lists goes by the name that its kind has
// whoever has it, and that nobody has for anything else.
func (w *writing) ownName(it *Item) bool {
	if it.Listed || it.Name != it.Inst.ID {
		return false
	}
	for _, p := range w.Players {
		if other := p.Item(it.Name); other != nil && other.Inst != it.Inst {
			return false
		}
	}
	all := w.Catalogue.Called(it.Name)
	return len(all) == 0 || all[0] == it.Inst
}

func sameName(x, y *Item) bool { return x.Name == y.Name && x.Inst == y.Inst && x.Listed == y.Listed }

// fill fills the cues of the blocks with what they take from the parts.
func (w *writing) fill() {
	from := w.old.rest.upTo.parts
	k := 0
	for i, p := range w.Players {
		to := w.old.rest.upTo.filled[i]
		if k < len(w.blocks) && w.blocks[k].player == i {
			w.fillAll(p)
			k++
		} else {
			w.say(from, to)
		}
		w.upTo.filled = append(w.upTo.filled, len(w.Problems))
		from = to
	}
}

// fillAgain fills a cue of who is bound anew with what it took from the parts before, if it
// is there.
func (b *binder) fillAgain(c *Cue, l *syntax.Line) bool {
	if b.ranges == nil {
		return false
	}
	old, line := b.opt.Earlier, c.Where.Line
	has := old.cues.at(int(line))
	if has.cue == nil || old.Sources[0].File.Lines[line] != l || !has.cue.takesAs(c) {
		return false
	}
	b.cues.set(int(line), filled{c, has.from})
	c.Strokes, c.Struck, c.Words = has.cue.Strokes, has.cue.Struck, has.cue.Words
	c.share()
	if len(c.Strokes) == 0 { // there may be words all the same
		b.nothingWritten(c)
	}
	return true
}

// settle lays the things of the blocks out, and finds what became of strokes.
func (w *writing) settle() {
	for i := range w.Marks {
		w.Marks[i].Used = false
	}
	for _, n := range w.naming {
		w.Marks[n.mark].Used = true
	}
	for i := range w.blocks {
		w.layOut(w.Players[w.blocks[i].player])
		w.takePlayerOver(w.blocks[i].player)
	}
	w.cover()
}

// eachLine goes over the lines of a file, or over those of the blocks that are read anew.
func (b *binder) eachLine(fi int) iter.Seq2[int, *syntax.Line] {
	return func(yield func(int, *syntax.Line) bool) {
		lines := b.Sources[fi].File.Lines
		if b.ranges == nil {
			for i, l := range lines {
				if !yield(i, l) {
					return
				}
			}
		}
		for _, r := range b.ranges {
			for i := r.from; i < r.to; i++ {
				if !yield(i, lines[i]) {
					return
				}
			}
		}
	}
}
