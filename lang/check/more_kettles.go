package check

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// orKettle offers one kettle more for notes that a set has none for, of each usual
// size that reaches one of them: what reaches the first of them best comes first.
func (f *Finding) orKettle(in *kit.Instrument, notes ...pitch.Pitch) *Finding {
	return f.orLater(func(f *Finding) {
		for _, k := range kettlesFor(notes) {
			f.orThisKettle(in, k)
		}
	})
}

// kettlesFor are the usual kettles that reach one of some notes, those first that
// have the first of the notes nearest to the middle of what they reach.
func kettlesFor(notes []pitch.Pitch) []kit.Kettle {
	var out []kit.Kettle
	for _, p := range notes {
		var reach []kit.Kettle
		for _, k := range kit.UsualKettles() {
			if k.Reaches(p) && !slices.Contains(out, k) {
				reach = append(reach, k)
			}
		}
		off := func(k kit.Kettle) int { // from the middle, quarter tones
			d := 2*p.Semitone() - k.Low.Semitone() - k.High.Semitone()
			return max(d, -d)
		}
		slices.SortStableFunc(reach, func(a, b kit.Kettle) int { return cmp.Compare(off(a), off(b)) })
		out = append(out, reach...)
	}
	return out
}

// orThisKettle offers a kettle in the block that the piece has for the set, or
// else in one that says what the catalogue says and the kettle. A block of another
// file is not for this one to change.
func (f *Finding) orThisKettle(in *kit.Instrument, k kit.Kettle) {
	c := f.in
	last := len(in.MemberNames) > 0 || c.counts(in)
	title := fmt.Sprintf("have one more kettle, %g cm across, %s to %s", k.Across, k.Low, k.High)
	if in.Own {
		if c.ownBlock(in) {
			f.Or(title, addKettle(c.File, in, in.Line, k, last)...)
		}
		return
	}
	block := syntax.Parse(kit.BlockText(in))
	if text, ok := Apply(block, addKettle(block, in, 0, k, last)); ok {
		f.Or(title+": the "+in.Name()+" in a block of their own", c.linesAtEnd(text))
	}
}

// ownBlock says whether an instrument's block stands in the piece's own file.
func (c *Context) ownBlock(in *kit.Instrument) bool {
	if in.File != c.Score.Sources[0].Name || in.Line >= len(c.File.Lines) {
		return false
	}
	d, ok := c.File.Lines[in.Line].Stmt.(*syntax.Define)
	return ok && d.Name.Text == in.ID
}

// counts says whether the piece counts the kettles of a set, as in 1:2, so that
// another one among them would be taken for its neighbour.
func (c *Context) counts(in *kit.Instrument) bool {
	counted := func(s *score.Struck) bool {
		return s != nil && slices.ContainsFunc(s.Keys, func(k score.Key) bool { return k.Pitch.None() })
	}
	for _, part := range c.Score.Parts {
		for _, l := range part.Lines {
			if l.Inst == in && slices.ContainsFunc(l.Struck, counted) {
				return true
			}
		}
	}
	for _, p := range c.Score.Players {
		for _, cue := range p.Cues {
			if cue.Item.Inst == in && slices.ContainsFunc(cue.Struck, counted) {
				return true
			}
		}
	}
	return false
}

// addKettle is the edits that add a kettle to the block of a set that begins on a
// line: among the others by its lowest note, where they stand so and it need not be
// the last. The set is as much wider, where the block says how wide it is.
func addKettle(f *syntax.File, in *kit.Instrument, begins int, k kit.Kettle, last bool) []Edit {
	last = last || !slices.IsSortedFunc(in.Kettles, func(a, b kit.Kettle) int { return cmp.Compare(a.Low.Semitone(), b.Low.Semitone()) })
	var edits []Edit
	var before, behind []int // the lines of kettles that stand left of it, and right
	for i, s := range f.Seats() {
		words, ok := f.Lines[i].Stmt.(*syntax.Words)
		if !ok || s.Owner != begins || s.Block != syntax.InInstrument || f.Lines[i].Broken {
			continue
		}
		switch first := syntax.Num(words.Text[0]); words.Word.Text {
		case "kettle":
			low := pitch.Pitch{}
			if len(words.Text) == 3 {
				low, _ = pitch.Parse(words.Text[1].Text)
			}
			if last || low.None() || low.Semitone() <= k.Low.Semitone() {
				before = append(before, i)
			} else {
				behind = append(behind, i)
			}
		case "size":
			if wide, err := strconv.ParseFloat(first.Text, 64); err == nil && len(words.Text) == 2 {
				edits = append(edits, rewrite(i, words.Text[0].Span(), fmt.Sprint(wide+k.Across)))
			}
		case "members":
			if first.Text == fmt.Sprint(len(in.Kettles)) {
				edits = append(edits, rewrite(i, words.Text[0].Span(), fmt.Sprint(len(in.Kettles)+1)))
			}
		}
	}
	line := fmt.Sprintf("kettle %g %s %s", k.Across, k.Low, k.High)
	indent := func(i int) string {
		text := f.Lines[i].Text
		return text[:len(text)-len(strings.TrimLeft(text, " \t"))]
	}
	switch {
	case len(before) > 0:
		i := before[len(before)-1]
		end := len(f.Lines[i].Text)
		edits = append(edits, Edit{Line: i, Start: end, End: end, Text: "\n" + indent(i) + line})
	case len(behind) > 0:
		edits = append(edits, Edit{Line: behind[0], Text: indent(behind[0]) + line + "\n"})
	default:
		return nil
	}
	return edits
}

func rewrite(line int, at syntax.Span, text string) Edit {
	return Edit{Line: line, Start: at.Start, End: at.End, Text: text}
}
