package score

import (
	"slices"

	"example.org/handful/lang/syntax"
)

// Most edits of a piece that is there change what stands in some bars and nothing
// else. Then the score is that of before, but for the written lines and cues that have
// these bars, the cues that take their strokes from there, whose those are, and what
// became of the strokes of their voices. All the rest is not looked at again. Wherever
// anything else may have changed, or anything is wrong that has to do with these
// lines, the whole is bound anew.

// rest is what is kept of binding for that.
type rest struct {
	opt      Options // what it was bound with
	alone    bool    // no other file is used
	bound    []logical
	refused  []refusal
	budget   int
	problems int // how many there were: more may be added by others
	tooLong  bool
	laid
	names     map[string]bool // what the parts' lines are called, once somebody asked
	reckoning reckoning
}

// laid is how lines lie, and what was said of them when.
type laid struct {
	hasLength bool           // the piece says how many bars it has
	longest   int            // the last bar that a line, a mark or a meter reaches
	said      int            // how many bars the piece says that it has, or 0
	reach     map[int]int    // how far the lines of each block reach, by the line that opens it
	parted    bool           // every player has one block, and nobody shares a kit
	marked    map[string]int // where each mark stands in Marks
	naming    []naming       // the marks that lines name
	upTo      upTo           // how much was said behind each step
}

func (b *binder) remember() {
	r := &rest{
		opt:   Options{TempoFactor: b.opt.TempoFactor, Without: b.opt.Without, Profile: b.opt.Profile},
		alone: b.alone || len(b.Sources) == 1 && len(b.opt.Uses) == 0 && !slices.ContainsFunc(b.Sources[0].File.Lines, func(l *syntax.Line) bool { return l.Used() != nil }),
		bound: b.bound, refused: b.refused, budget: b.budget, problems: len(b.Problems), tooLong: b.tooLong, laid: b.laid, names: b.names, reckoning: b.reckoning,
	}
	r.reckoning.of = &b.Coverage
	b.rest = r
}

// mostRewritten is how many lines an edit may write anew, for it to be worth it.
const mostRewritten = 8

// rebind is the score of a file that has other bars than the earlier one, or nil where
// that is not all.
func rebind(name string, f *syntax.File, opt Options) *Score {
	old := opt.Earlier
	if !old.boundAs(name, &opt) {
		return nil
	}
	lines, ok := rewritten(old.Sources[0].File, f, mostRewritten, sameButBars)
	if !ok || old.speaksOf(lines) {
		return nil
	}
	b := old.again(f, opt)
	w := rewriting{binder: b, old: old, parts: map[*Part]*Part{}, players: map[*Player]*Player{}}
	for _, i := range lines {
		if !w.line(i) {
			return nil
		}
	}
	if !w.refill() || len(b.Problems) > old.rest.problems {
		return nil
	}
	w.recover()
	b.remember()
	return b.Score
}

// rewritten are the lines that are not those of an earlier file, all of which are the same but
// for something; it is false where one is not, or there are more than so many.
func rewritten(old, f *syntax.File, most int, sameBut func(a, b *syntax.Line) bool) (lines []int, ok bool) {
	if len(old.Lines) != len(f.Lines) || len(old.Problems)+len(f.Problems) > 0 || old.Refused || f.Refused {
		return nil, false
	}
	for i, l := range f.Lines {
		was := old.Lines[i]
		if l == was {
			continue
		}
		if len(lines) == most || !sameBut(was, l) {
			return nil, false
		}
		lines = append(lines, i)
	}
	return lines, len(lines) > 0
}

// sameButBars says whether two lines are whole, and have the same in front of their
// bars and as many of those.
func sameButBars(a, b *syntax.Line) bool {
	if a.Broken || b.Broken || len(a.Problems)+len(b.Problems) > 0 || a.Bars == nil || b.Bars == nil || a.Form != b.Form || cellsLength(a.Bars) != cellsLength(b.Bars) {
		return false
	}
	n := a.Bars.Span.Start
	return n == b.Bars.Span.Start && a.Text[:n] == b.Text[:n]
}

// speaksOf says whether a problem has to do with one of some lines.
func (s *Score) speaksOf(lines []int) bool {
	on := func(w Where) bool { return w.File == 0 && slices.Contains(lines, int(w.Line)) }
	return slices.ContainsFunc(s.Problems[:s.rest.problems], func(p Problem) bool {
		return on(p.Where) || on(p.Named) || slices.ContainsFunc(p.Related, func(n Note) bool { return on(n.Where) })
	})
}

// again begins a score of another text with all that there is.
func (s *Score) again(f *syntax.File, opt Options) *binder {
	now := *s
	now.Sources = []Source{{Name: s.Sources[0].Name, File: f, Seats: s.Sources[0].Seats}}
	now.Problems = slices.Clip(s.Problems[:s.rest.problems])
	now.Parts, now.Players, now.Omits = slices.Clone(s.Parts), slices.Clone(s.Players), slices.Clone(s.Omits)
	now.Marks = slices.Clone(s.Marks) // which of them are named is noted in them
	now.expanded, now.cues = []*paged[*writtenLine]{s.expanded[0].with(len(f.Lines))}, s.cues.with(len(f.Lines))
	now.Coverage, now.rest = Coverage{}, nil
	return &binder{Score: &now, opt: opt, alone: s.rest.alone, bound: s.rest.bound, refused: s.rest.refused, budget: s.rest.budget, tooLong: s.rest.tooLong, laid: s.rest.laid, names: s.rest.names,
		before: s.rest.reckoning, stirred: &stirred{}, like: &likeness{old: s}}
}

// A rewriting puts other bars into a score.
type rewriting struct {
	*binder
	old     *Score
	parts   map[*Part]*Part // what is in the place of what was
	players map[*Player]*Player
	lines   []*Line // that have other bars
}

// line writes the bars of a line out, with those that it goes on from and that go on
// from it.
func (w *rewriting) line(i int) bool {
	k, ok := slices.BinarySearchFunc(w.bound, i, func(lg logical, i int) int { return lg.line - i })
	if !ok {
		k--
	}
	if k < 0 || w.bound[k].line != i && !slices.Contains(w.bound[k].more, i) {
		return false
	}
	lg := w.bound[k]
	was := w.old.expanded[0].at(lg.line)
	if was == nil || len(was.lines) != 1+len(lg.more) {
		return false
	}
	if w.expanded[0].at(lg.line) == was {
		w.budget += was.spent
		is := w.expand(lg)
		if len(w.Problems) > w.old.rest.problems || w.budget < 0 || is.last != was.last {
			return false
		}
		switch w.Sources[0].Seats[lg.line].Block {
		case syntax.InPart:
			return w.partLine(lg.line, is)
		case syntax.InPlayer:
			return w.ownCue(lg.line, is)
		}
		return false
	}
	return true
}

func (w *rewriting) partLine(i int, is *writtenLine) bool {
	for _, p := range w.old.Parts {
		for k, l := range p.Lines {
			if l.Where.File == 0 && int(l.Where.Line) == i {
				now := w.part(p).Lines[k]
				now.Strokes, now.Struck, now.Words = is.strokes, is.struck, is.words
				w.lines = append(w.lines, now)
				w.stirred.line(now)
				return true
			}
		}
	}
	return false
}

func (w *rewriting) ownCue(i int, is *writtenLine) bool {
	for _, p := range w.old.Players {
		for _, c := range p.Cues {
			if c.Where.File == 0 && int(c.Where.Line) == i && !c.AsWritten {
				now := w.cue(c)
				now.Strokes, now.Struck, now.Words = is.strokes, is.struck, is.words
				now.share()
				w.stirred.cue(c)
				w.stirred.cue(now)
				return true
			}
		}
	}
	return false
}

// part is what is in the place of a part: the same with lines of its own.
func (w *rewriting) part(p *Part) *Part {
	if now := w.parts[p]; now != nil {
		return now
	}
	now, lines := *p, make([]Line, len(p.Lines))
	now.Lines = make([]*Line, len(p.Lines))
	for k, l := range p.Lines {
		lines[k] = *l
		lines[k].Part, now.Lines[k] = &now, &lines[k]
	}
	w.parts[p] = &now
	w.Parts[slices.Index(w.Parts, p)] = &now
	return &now
}

// cue is what is in the place of a cue: its player is another, with cues of their own
// and the same things.
func (w *rewriting) cue(c *Cue) *Cue {
	if w.players[c.Player] == nil {
		p := c.Player
		now, cues := *p, make([]Cue, len(p.Cues))
		now.Cues = make([]*Cue, len(p.Cues))
		for k, was := range p.Cues {
			cues[k] = *was
			cues[k].Player, now.Cues[k] = &now, &cues[k]
			if was.AsWritten {
				w.cues.mine(int(was.Where.Line)).cue = &cues[k]
			}
		}
		w.players[p] = &now
		w.Players[slices.Index(w.Players, p)] = &now
	}
	return w.players[c.Player].Cues[slices.Index(c.Player.Cues, c)]
}

// refill fills the cues anew that take strokes from the lines with other bars.
func (w *rewriting) refill() bool {
	var again []*Cue
	for _, p := range w.old.Players {
		for _, c := range p.Cues {
			if c.AsWritten && slices.ContainsFunc(w.lines, func(l *Line) bool {
				return l.Name == c.Voice && (c.Of == "" || l.Part.Name == c.Of) && l.From <= c.To && l.To >= c.From
			}) {
				if len(c.Strokes) == 0 {
					return false
				}
				w.stirred.cue(c)
				again = append(again, w.cue(c))
			}
		}
	}
	w.spread()
	w.indexLines()
	for _, c := range again {
		c.Strokes, c.Struck, c.Words = nil, nil, nil
		w.fill(c)
	}
	return true
}

// recover finds out what became of the strokes of the voices of which something has
// changed.
func (w *rewriting) recover() {
	for i, o := range w.Omits {
		if w.touches(o.Name, o.From, o.To) {
			again := *o
			again.Strokes, w.Omits[i] = 0, &again
		}
	}
	w.cover()
}
