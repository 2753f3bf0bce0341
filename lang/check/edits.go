package check

import (
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
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

// removeCue takes a cue's line out, with the lines that go on from it.
func (c *Context) removeCue(cue *score.Cue) []Edit {
	edits := []Edit{remove(cue.Where)}
	for _, i := range c.File.GoesOn(int(cue.Where.Line)) {
		edits = append(edits, Edit{Line: i, Whole: true})
	}
	return edits
}

// replace is the edit that writes text in the place of a range.
func replace(w score.Where, text string) Edit {
	return Edit{Line: int(w.Line), Start: int(w.Start), End: int(w.End), Text: text}
}

// remove is the edit that takes a whole line out.
func remove(w score.Where) Edit { return Edit{Line: int(w.Line), Whole: true} }

// below is the edit that adds statements under a line, so many steps deep.
func (c *Context) below(line, deep int, list ...syntax.Stmt) Edit {
	return below(c.File, line, deep, list...)
}

func below(f *syntax.File, line, deep int, list ...syntax.Stmt) Edit {
	end := len(f.Lines[line].Text)
	e := Edit{Line: line, Start: end, End: end}
	for _, s := range list {
		e.Text += "\n" + strings.Repeat("  ", deep) + syntax.Print(s)
		if _, opens := s.(*syntax.Kit); opens {
			deep++
		}
	}
	return e
}

// atEnd is the edit that adds a statement to the end of the file.
func (c *Context) atEnd(s syntax.Stmt) Edit { return c.linesAtEnd(syntax.Print(s) + "\n") }

func (c *Context) linesAtEnd(lines string) Edit {
	e := Edit{Line: len(c.File.Lines), Text: lines}
	if c.File.Text() != "" && !strings.HasSuffix(c.File.Text(), "\n") {
		e.Text = "\n" + e.Text
	}
	return e
}

// limbEdit writes another limb before a cue.
func limbEdit(cue *score.Cue, limb body.Limb) Edit {
	w := cue.Where
	w.End = cue.LimbEnd
	return replace(w, limb.String())
}

// withEdit names another implement in a cue.
func withEdit(cue *score.Cue, implement string) Edit {
	if len(cue.With) > 0 {
		return replace(cue.WithWhere, implement)
	}
	w := cue.Name
	if cue.Mount != kit.AnyMount {
		w = cue.MountWhere
	}
	if cue.Asks != nil {
		w.End = max(w.End, cue.Asks.Where.End)
	}
	w.Start = w.End
	return replace(w, " with "+implement)
}

// mountEdit names another mount in a cue.
func mountEdit(cue *score.Cue, mount kit.Mount) Edit {
	if cue.Asks != nil && cue.Asks.Where.Line == cue.Name.Line { // what it asks for is for the other mount
		w := cue.Asks.Where
		if cue.Mount != kit.AnyMount {
			w = w.Cover(cue.MountWhere)
		}
		if len(cue.With) == 0 || cue.WithWhere.Start > w.End {
			return replace(w, mount.String())
		}
	}
	if cue.Mount != kit.AnyMount {
		return replace(cue.MountWhere, mount.String())
	}
	w := cue.Name
	w.Start = w.End
	return replace(w, " "+mount.String())
}

// lastLineOf is the last line of a player's block with something on it, or -1.
func (c *Context) lastLineOf(p *score.Player) int {
	last := -1
	for i, s := range c.Score.Sources[0].Seats {
		if s.Owner == int(p.Where.Line) && (s.Block == syntax.InPlayer || s.Block == syntax.InKit) && c.File.Lines[i].Form != nil {
			last = i
		}
	}
	return last
}
