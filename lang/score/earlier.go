package score

import (
	"slices"

	"example.org/handful/lang/syntax"
)

// A writtenLine is one logical line written out, kept so that the next score of a
// piece that is being edited can take it over. Strokes do not change once they
// are made, so two scores may share them.
type writtenLine struct {
	lines   []*syntax.Line
	from    int
	spent   int
	strokes []Stroke
	struck  []*Struck
	words   []Word
	last    int
}

// earlierLine is what an earlier score of the same piece has for a logical
// line, or nil where something that it depends on has changed.
func (b *binder) earlierLine(lg logical, file *syntax.File) *writtenLine {
	old := b.opt.Earlier
	if old == nil || old.expanded == nil {
		return nil
	}
	if !b.compared {
		b.compared, b.sameGrid = true, b.Grid.Equal(old.Grid)
	}
	if lg.file >= len(old.expanded) || lg.line >= len(old.expanded[lg.file]) {
		return nil
	}
	w := old.expanded[lg.file][lg.line]
	if w == nil || !b.sameGrid || w.from != lg.from || w.spent > b.budget || len(w.lines) != 1+len(lg.more) || w.lines[0] != file.Lines[lg.line] {
		return nil
	}
	for i, n := range lg.more {
		if w.lines[i+1] != file.Lines[n] {
			return nil
		}
	}
	return w
}

// earlierCue takes the strokes of a cue over that takes them from the parts,
// if it and all the lines that it takes them from are as they were.
func (b *binder) earlierCue(c *Cue, l *syntax.Line, lines []*Line) bool {
	old := b.opt.Earlier
	if old == nil || !b.sameGrid || int(c.Where.Line) >= len(old.cues) {
		return false
	}
	was := old.cues[c.Where.Line]
	if was == nil || old.Sources[0].File.Lines[c.Where.Line] != l || was.Where != c.Where || was.From != c.From || was.To != c.To || was.Pass != c.Pass ||
		was.Voice != c.Voice || was.Of != c.Of || !slices.Equal(was.Within, c.Within) || len(was.Strokes) == 0 || len(was.takes) != len(lines) {
		return false
	}
	for i, from := range was.takes {
		if !sameStrokes(from.Strokes, lines[i].Strokes) || from.Part.Name != lines[i].Part.Name {
			return false
		}
	}
	c.Strokes, c.Struck, c.Words = was.Strokes, was.Struck, was.Words
	return true
}

// sameStrokes says whether two lists are one and the same.
func sameStrokes(a, b []Stroke) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0])
}
