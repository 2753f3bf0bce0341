package check

import (
	"handful/lang/score"
)

func note(w score.Where, message string) score.Note { return score.Note{Where: w, Message: message} }

// removeCue takes a cue's line out, with the lines that go on from it.
func (c *Context) removeCue(cue *score.Cue) []Edit {
	edits := []Edit{remove(cue.Where)}
	for _, i := range c.File.GoesOn(int(cue.Where.Line)) {
		edits = append(edits, Edit{Line: i, Whole: true})
	}
	return edits
}
