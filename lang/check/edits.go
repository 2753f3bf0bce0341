package check

import (
	"slices"
	"strings"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// TakeOut is the edit that takes a line's statement out. What is remarked on it
// stays, alone.
func TakeOut(f *syntax.File, line int) Edit {
	l := f.Lines[line]
	if l.Comment() == "" {
		return Edit{Line: line, Whole: true}
	}
	indent := len(l.Text) - len(strings.TrimLeft(l.Text, " \t"))
	return Edit{Line: line, Start: indent, End: len(l.Code()) + strings.Index(l.Text[len(l.Code()):], "#")}
}

// remarked is the edits with every remark left where a line goes.
func remarked(f *syntax.File, edits []Edit) []Edit {
	out := slices.Clone(edits)
	for i, e := range out {
		if e.Whole && e.Text == "" && e.Line >= 0 && e.Line < len(f.Lines) {
			out[i] = TakeOut(f, e.Line)
		}
	}
	return out
}

func note(w score.Where, message string) score.Note { return score.Note{Where: w, Message: message} }

// removeCue takes a cue's line out, with the lines that go on from it.
func (c *Context) removeCue(cue *score.Cue) []Edit {
	edits := []Edit{remove(cue.Where)}
	for _, i := range c.File.GoesOn(int(cue.Where.Line)) {
		edits = append(edits, Edit{Line: i, Whole: true})
	}
	return edits
}
