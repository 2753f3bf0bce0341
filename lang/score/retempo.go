package score

import (
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/syntax"
)

// How quick the music goes changes nothing of what is bound but the seconds at which it
// comes: then the score is that of before in another time.

// rebindTempo is the score of a file in which nothing but tempos is another than in the
// earlier one's, or nil where that is not all.
func rebindTempo(name string, f *syntax.File, opt Options) *Score {
	old := opt.Earlier
	if !old.boundAs(name, &opt) {
		return nil
	}
	lines, ok := rewritten(old.Sources[0].File, f, len(f.Lines), sameButTempo)
	if !ok || old.speaksOf(lines) {
		return nil
	}
	now := *old
	now.Sources = []Source{{Name: old.Sources[0].Name, File: f, Seats: old.Sources[0].Seats}}
	now.Problems, now.Marks = slices.Clip(old.Problems[:old.rest.problems]), slices.Clone(old.Marks)
	kept := *old.rest
	kept.reckoning.of, now.rest = &now.Coverage, &kept
	b := &binder{Score: &now, opt: opt, laid: kept.laid}
	b.naming = nil // the lines name the marks that they named
	b.tempoMap(b.tempos())
	if len(b.Problems) > old.rest.problems {
		return nil
	}
	b.Time = beat.NewTimeline(b.Grid, b.Tempo, b.Road)
	return b.Score
}

// tempos are the changes of tempo that the text says, and their lines.
func (b *binder) tempos() (tempos []beat.TempoChange, lines []int) {
	for i, l := range b.Sources[0].File.Lines {
		if s, ok := l.Stmt.(*syntax.Tempo); ok && !l.Broken {
			if t, ok := b.tempo(i, s); ok {
				tempos, lines = append(tempos, t), append(lines, i)
			}
		}
	}
	return tempos, lines
}

// sameButTempo says whether two lines say each how quick the same bars go, and nothing is wrong
// with the second.
func sameButTempo(a, b *syntax.Line) bool {
	s, ok := a.Stmt.(*syntax.Tempo)
	t, also := b.Stmt.(*syntax.Tempo)
	return ok && also && len(b.Problems) == 0 && sameAtom(s.From, t.From) && sameAtom(s.Over, t.Over)
}

// sameAtom says whether two words of lines are the same, or not there.
func sameAtom(a, b *syntax.Atom) bool {
	return a == b || a != nil && b != nil && a.Text == b.Text
}
