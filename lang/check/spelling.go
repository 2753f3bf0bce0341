package check

import "strings"

// proposeSpelling turns a "did you mean" into a fix: the one thing in a text
// that can be mended without weighing anything.
func (c *Context) proposeSpelling(f *Finding) {
	_, near, ok := strings.Cut(f.Message, "did you mean ")
	if !ok {
		return
	}
	near, _, _ = strings.Cut(near, "?")
	if f.Where.File != 0 || near == "" {
		return
	}
	w := f.Where
	if f.Rule.Name == "syntax" { // the word that opens the line is the mistyped one
		text := c.File.Lines[w.Line].Text
		w.Start = int32(len(text) - len(strings.TrimLeft(text, " \t")))
		w.End = w.Start + int32(len(strings.Fields(text)[0]))
	}
	f.propose("write "+near, false, replace(w, near))
}
