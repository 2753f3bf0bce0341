package score

import (
	"slices"

	"example.org/handful/lang/syntax"
)

// What is accepted behind all else changes nothing of what is bound: then the score is
// that of before with some acceptances more.

// rebindAccepts is the score of a file that has acceptances more than the earlier one's
// at its end, or nil where that is not all.
func rebindAccepts(name string, f *syntax.File, opt Options) *Score {
	old := opt.Earlier
	if !old.boundAs(name, &opt) {
		return nil
	}
	from, ok := acceptsMore(old.Sources[0].File, f)
	if !ok {
		return nil
	}
	now := *old
	now.Sources = []Source{{Name: old.Sources[0].Name, File: f, Seats: f.Seats()}}
	now.Problems, now.Accepts = slices.Clip(old.Problems[:old.rest.problems]), slices.Clip(old.Accepts)
	now.Marks = slices.Clone(old.Marks)
	now.expanded, now.cues = []*paged[*writtenLine]{old.expanded[0].with(len(f.Lines))}, old.cues.with(len(f.Lines))
	b := &binder{Score: &now, opt: opt, alone: true, bound: old.rest.bound, refused: old.rest.refused, budget: old.rest.budget, tooLong: old.rest.tooLong,
		laid: old.rest.laid, names: old.rest.names, reckoning: old.rest.reckoning}
	b.naming = slices.Clip(b.naming)
	for i, l := range f.Lines[from:] {
		if s, ok := l.Stmt.(*syntax.Accept); ok {
			b.accept(from+i, s)
		}
	}
	b.remember()
	return b.Score
}

// acceptsMore says from which line on a file has acceptances in the place of empty lines
// of an earlier one; it is false where it has anything else.
func acceptsMore(old, f *syntax.File) (from int, ok bool) {
	if len(old.Problems)+len(f.Problems) > 0 || old.Refused || f.Refused {
		return 0, false
	}
	for from < len(old.Lines) && from < len(f.Lines) && old.Lines[from] == f.Lines[from] {
		from++
	}
	empty := func(l *syntax.Line) bool { return l.Text == "" }
	for _, l := range f.Lines[from:] {
		_, accepts := l.Stmt.(*syntax.Accept)
		if !empty(l) && (!accepts || l.Broken || len(l.Problems) > 0) {
			return 0, false
		}
	}
	return from, !slices.ContainsFunc(old.Lines[from:], func(l *syntax.Line) bool { return !empty(l) })
}
