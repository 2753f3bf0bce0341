package check

import (
	"slices"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// Moved is what was found in an earlier text, put where it stands in one that says
// the same and differs only in comments, blank lines and blanks at the ends of
// lines. Nothing is bound and nobody's path is looked for, so that it has no
// motions and is good for telling what is found, not for fixing it. It is nil where
// only a check can tell.
func Moved(old *Result, f *syntax.File) *Result {
	if old.Stopped || len(old.Faults) > 0 || len(old.Score.Sources) != 1 || len(old.opt.Score.Uses) > 0 || len(old.opt.Rules) > 0 {
		return nil
	}
	to, ok := f.Moved(old.File)
	if !ok || to[0] != 0 { // what is of the whole file is told at its first line
		return nil
	}
	if slices.ContainsFunc(f.Lines, func(l *syntax.Line) bool { return l.Used() != nil }) {
		return nil // what it uses may be another text by now
	}
	m := mover{to: to, file: f, old: old.File}
	r := &Result{Name: old.Name, File: f, Accepted: old.Accepted, Findings: slices.Clone(old.Findings), opt: old.opt}
	s := *old.Score
	s.Sources = []score.Source{{Name: old.Score.Sources[0].Name, File: f, Seats: old.Score.Sources[0].Seats}}
	r.Score = &s
	for i := range r.Findings {
		if !m.finding(&r.Findings[i]) {
			return nil
		}
	}
	return r
}

// A mover knows where the lines of an earlier text stand now.
type mover struct {
	to        []int32
	file, old *syntax.File
}

// where moves a place along with its line, and is false where the line has gone or
// the place is in what has changed of it.
func (m *mover) where(w *score.Where) bool {
	if w.File != 0 || int(w.Line) >= len(m.to) || w.Line < 0 {
		return false
	}
	n := m.to[w.Line]
	if n < 0 || m.file.Lines[n] != m.old.Lines[w.Line] && int(w.End) > len(m.file.Lines[n].Code()) {
		return false
	}
	w.Line = n
	return true
}

func (m *mover) finding(f *Finding) bool {
	if f.Rule == definitionRule {
		return false // its words may name a line by its number
	}
	f.proposals, f.later, f.instead = nil, nil, nil // they are for the earlier text
	f.Related = slices.Clone(f.Related)
	for i := range f.Related {
		if !m.where(&f.Related[i].Where) {
			return false
		}
	}
	f.Within = slices.Clone(f.Within)
	for i := range f.Within {
		if !m.finding(&f.Within[i]) {
			return false
		}
	}
	return m.where(&f.Where)
}
