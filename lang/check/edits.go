package check

import (
	"handful/lang/score"
	"handful/lang/syntax"
)

func note(w score.Where, message string) score.Note { return score.Note{Where: w, Message: message} }

// removeCue takes a cue's line out, with the lines that go on from it.
func (c *Context) removeCue(cue *score.Cue) []Edit {
	edits := []Edit{remove(cue.Where)}
	for i := int(cue.Where.Line) + 1; i < len(c.File.Lines); i++ {
		l := c.File.Lines[i]
		if _, more := l.Stmt.(*syntax.More); more {
			edits = append(edits, Edit{Line: i, Whole: true})
			continue
		}
		if l.Form != nil {
			break
		}
	}
	return edits
}
