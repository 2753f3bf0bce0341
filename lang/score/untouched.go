package score

import (
	"slices"

	"example.org/handful/lang/syntax"
)

// Who writes in the blocks of some players changes nothing of the others, and nothing
// of what is written in the parts, as long as the bars stay as they are and every name
// means what it meant. Then these are taken over with what was said of their lines,
// and only the players who are written about are bound anew.

// An untouched is what is taken over from an earlier score with every line in its
// place.
type untouched struct {
	old     *Score
	players map[*Player]*Player // who is not written about, by what is read of their kit: who they were
	stand   map[*Player]bool    // who they were, once they stand in the place of that
	written []*Player           // who is written about
}

// A saying is what was said of a line when it was bound.
type saying struct {
	problems []Problem
	refused  []refusal
	marks    []int32 // that it names
	spent    int     // of the budget, where it was not written out
}

// A telling is a line, and whether what is said is of filling the cue there.
type telling struct {
	line  int
	fills bool
}

// A noting is how much had been said before a line.
type noting struct{ problems, refused, marks, budget int }

func (b *binder) noting() noting {
	return noting{len(b.Problems), len(b.refused), len(b.naming), b.budget}
}

// noted keeps what was said of a line since.
func (b *binder) noted(since noting, of telling) {
	if !b.opt.Remember {
		return
	}
	t := saying{slices.Clip(b.Problems[since.problems:]), slices.Clip(b.refused[since.refused:]), slices.Clip(b.naming[since.marks:]), 0}
	if of.fills || b.expanded[0][of.line] == nil {
		t.spent = since.budget - b.budget
	}
	if len(t.problems)+len(t.refused)+len(t.marks)+t.spent == 0 {
		return
	}
	if b.told == nil {
		b.told = map[telling]saying{}
	}
	b.told[of] = t
}

// tellAgain says of a line what was said of it before.
func (b *binder) tellAgain(of telling) {
	old, since := b.untouched.old, b.noting()
	if w := old.expanded[0][of.line]; w != nil && !of.fills {
		b.expanded[0][of.line] = w
		b.budget -= w.spent
	}
	t, ok := old.rest.told[of]
	if !ok {
		return
	}
	b.Problems, b.refused, b.naming = append(b.Problems, t.problems...), append(b.refused, t.refused...), append(b.naming, t.marks...)
	for _, m := range t.marks {
		b.Marks[m].Used = true
	}
	b.budget -= t.spent
	b.noted(since, of)
}

// boundAs says whether a score was bound as another text of the name would be now, and
// that uses no other file.
func (s *Score) boundAs(name string, opt *Options) bool {
	return s != nil && opt.Remember && s.rest != nil && s.rest.alone && len(opt.Uses) == 0 && s.Sources[0].Name == name &&
		opt.TempoFactor == s.rest.opt.TempoFactor && opt.Profile == s.rest.opt.Profile && slices.Equal(opt.Without, s.rest.opt.Without)
}

// findUntouched finds whether nothing but lines in the blocks of players is another than
// in the earlier score, and whose. What is read of kits is there already, by the
// lines that open the blocks.
func (b *binder) findUntouched(byOwner map[int]*Player) {
	old, src := b.opt.Earlier, &b.Sources[0]
	if b.anew || !old.boundAs(src.Name, &b.opt) || len(b.Sources) > 1 || len(b.opt.Without) > 0 || b.tooLong || old.rest.tooLong || old.Catalogue != b.Catalogue ||
		len(old.Sources[0].File.Lines) != len(src.File.Lines) || len(byOwner) != len(b.Players) || len(old.Players) != len(b.Players) || !b.Grid.Equal(old.Grid) ||
		!slices.Equal(old.Sources[0].Seats, src.Seats) {
		return
	}
	u := &untouched{old: old, players: map[*Player]*Player{}, stand: map[*Player]bool{}}
	for i, p := range b.Players {
		u.players[p] = old.Players[i]
	}
	for i, l := range src.File.Lines {
		if l == old.Sources[0].File.Lines[i] {
			continue
		}
		seat := src.Seats[i]
		p := byOwner[seat.Owner]
		if p == nil || i == seat.Owner || seat.Block != syntax.InPlayer && seat.Block != syntax.InKit {
			return
		}
		if u.players[p] != nil {
			delete(u.players, p)
			u.written = append(u.written, p)
		}
	}
	b.untouched = u
}

// stands puts who somebody was in the place of what is read of their kit: when the
// lines of their block come up, as what they name is known from there on.
func (b *binder) stands(p *Player) (untouched bool) {
	if b.untouched == nil {
		return false
	}
	was := b.untouched.players[p]
	if was != nil && !b.untouched.stand[was] {
		b.untouched.stand[was] = true
		b.Players[slices.Index(b.Players, p)] = was
	}
	return was != nil
}

// isUntouched says whether somebody is taken over.
func (b *binder) isUntouched(p *Player) bool { return b.untouched != nil && b.untouched.stand[p] }

// settleUntouched puts those in their place of whom no line came up. Where somebody
// who is written about has other things by now, names may mean something else, and
// all is to be bound anew.
func (b *binder) settleUntouched() {
	if b.untouched == nil {
		return
	}
	for _, p := range slices.Clone(b.Players) {
		b.stands(p)
	}
	for _, p := range b.untouched.written {
		was := b.untouched.old.Player(p.Name)
		b.astray = b.astray || !slices.EqualFunc(was.Items, p.Items, func(x, y *Item) bool { return x.Name == y.Name && x.Inst == y.Inst })
	}
}

// takeParts takes the parts over.
func (b *binder) takeParts() {
	b.Parts = slices.Clone(b.untouched.old.Parts)
	seats := b.Sources[0].Seats
	for k := range b.bound {
		if line := b.bound[k].line; seats[line].Block == syntax.InPart {
			b.tellAgain(telling{line, false})
		}
	}
}

// fillAgain fills a cue with what it took from the parts before, if it is there.
func (b *binder) fillAgain(c *Cue, l *syntax.Line) bool {
	if b.untouched == nil {
		return false
	}
	line := int(c.Where.Line)
	has := b.untouched.old.cues[line]
	if !b.isUntouched(c.Player) && (has.cue == nil || b.untouched.old.Sources[0].File.Lines[line] != l || !has.cue.takesAs(c)) {
		return false
	}
	if has.cue != c && !b.isUntouched(c.Player) {
		c.Strokes, c.Struck, c.Words = has.cue.Strokes, has.cue.Struck, has.cue.Words
		c.share()
	}
	b.cues[line] = filled{c, has.from}
	b.tellAgain(telling{line, true})
	return true
}

// withinBudget says whether there was so much room for what is written out that the
// order in which that was done makes no difference.
func (b *binder) withinBudget() bool { return b.budget > maxWritten/4 }
