package score

import (
	"slices"
	"sort"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/syntax"
)

// Signs reads from the text what a score does not keep, because nothing is
// timed by it: the words cresc, dim, sfz and fp as they were written.
type Signs struct {
	s      *Score
	voices map[string][]*Line // the written lines, by name
	latest *Line              // in which the last stroke was found
	line   *syntax.Line
	at     Where
	cell   int // of the line, where the last stroke stood
}

// NewSigns reads the signs of a score.
func NewSigns(s *Score) *Signs {
	w := &Signs{s: s, voices: map[string][]*Line{}}
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			w.voices[l.Name] = append(w.voices[l.Name], l)
		}
	}
	return w
}

// Before is the dynamics that stand right before a stroke of a cue, in the
// cue's own bars or in the part that it takes them from. A stroke that a
// simile repeats has none of its own.
func (w *Signs) Before(c *Cue, st *Stroke) []string {
	where := st.Where()
	if c.AsWritten {
		src := w.written(c, st)
		if src == nil {
			return nil
		}
		where = src.Where()
	}
	return w.beforePlace(where)
}

// Swells are the dynamics, and the places from which one grows or falls, that a cue has
// while something goes on, in order: see [Word].
func (c *Cue) Swells() []Word {
	var out []Word
	for _, w := range c.Words {
		if w.Sign {
			out = append(out, w)
		}
	}
	slices.SortStableFunc(out, func(a, b Word) int { return a.At.Cmp(b.At) })
	return out
}

// SignsIn are those of some signs, in order, from one place to another, both with it.
func SignsIn(signs []Word, from, to beat.Rat) []Word {
	first := sort.Search(len(signs), func(i int) bool { return !signs[i].At.Less(from) })
	end := sort.Search(len(signs), func(i int) bool { return to.Less(signs[i].At) })
	return signs[first:max(first, end)]
}

// SignsAt are what those say that stand at a place.
func SignsAt(signs []Word, at beat.Rat) (out []string) {
	for _, w := range SignsIn(signs, at, at) {
		out = append(out, w.Text)
	}
	return out
}

// Unheld says whether neither a stroke of a cue nor a bar begins at a place: where a roll
// ends, a dynamic has no note to stand at.
func (s *Score) Unheld(c *Cue, at beat.Rat) bool {
	bar, _ := s.Grid.Place(at)
	if s.Grid.Start(bar) == at {
		return false
	}
	_, struck := slices.BinarySearchFunc(c.Strokes, at, func(st Stroke, at beat.Rat) int { return st.At.Cmp(at) })
	return !struck
}

// written is the stroke of a part that an as-written cue takes.
func (w *Signs) written(c *Cue, st *Stroke) *Stroke {
	find := func(l *Line) *Stroke {
		if l.Name != c.Voice || c.Of != "" && l.Part.Name != c.Of || int(st.Bar) < l.From || int(st.Bar) > l.To {
			return nil
		}
		i := sort.Search(len(l.Strokes), func(i int) bool { return !l.Strokes[i].At.Less(st.At) })
		if i == len(l.Strokes) || l.Strokes[i].At != st.At {
			return nil
		}
		return &l.Strokes[i]
	}
	if w.latest != nil {
		if src := find(w.latest); src != nil {
			return src
		}
	}
	for _, l := range w.voices[c.Voice] {
		if src := find(l); src != nil {
			w.latest = l
			return src
		}
	}
	return nil
}

func (w *Signs) beforePlace(at Where) []string {
	if w.line == nil || at.File != w.at.File || at.Line != w.at.Line {
		if int(at.File) >= len(w.s.Sources) {
			return nil
		}
		lines := w.s.Sources[at.File].File.Lines
		if int(at.Line) >= len(lines) {
			return nil
		}
		w.line, w.cell = lines[at.Line], 0
	}
	w.at = at
	if w.line.Bars == nil {
		return nil
	}
	cells := w.line.Bars.Cells
	start := int(at.Start)
	if w.cell >= len(cells) || cells[w.cell].Span().Start > start {
		w.cell = 0
	}
	for w.cell < len(cells) && cells[w.cell].Span().End <= start {
		w.cell++
	}
	if w.cell >= len(cells) || cells[w.cell].Kind != syntax.StrokeCell {
		return nil
	}
	return inCell(&cells[w.cell], start)
}

func inCell(c *syntax.Cell, start int) []string {
	var out []string
	signs := c.Signs()
	for i := range signs {
		switch sg := &signs[i]; {
		case sg.Span().Start >= start:
			return out
		case sg.Kind == syntax.DynamicSign:
			out = append(out, c.Text(sg))
		case sg.Kind != syntax.WordsSign:
			out = nil
		}
	}
	return nil
}
