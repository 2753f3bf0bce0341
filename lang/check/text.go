package check

import (
	"slices"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

//go:generate go run ./internal/list

// textRule is a rule about the text itself: what the binding of the score
// could not make sense of, reported under the rule's name.
func textRule(r Rule) *Rule {
	r.Severities = []Severity{Error}
	r.text = true
	name := r.Name
	r.Look = func(c *Context) {
		for i := range c.Score.Problems {
			if p := &c.Score.Problems[i]; p.Rule == name {
				f := c.In(p.Where).about(Error, p.About)
				f.Related = p.Related
				f.orNear(p.Named)
				f.orDefine(p.Defines)
				for _, read := range p.Readings {
					title := "write " + read.Text
					if read.Says != "" {
						title += ": " + read.Says
					}
					f.propose(title, len(p.Readings) > 1, replace(p.Where, read.Text))
				}
			}
		}
	}
	return &r
}

// orDefine offers to define what a text speaks of as if it were there. What it
// is, and where, is the arranger's to say.
func (f *Finding) orDefine(d score.Definition) {
	if d.Name == "" || f.Where.File != 0 {
		return
	}
	switch c := f.in; d.Word {
	case "mark":
		f.Or("add mark "+d.Name+" at bar 1, for you to put where it is", c.amongMarks(&syntax.Mark{Name: syntax.Atom{Text: d.Name}, Place: syntax.Bar(1)}))
	case "instrument":
		if block, ok := ownInstrument(d.Name); ok {
			f.Or("define "+d.Name+", in a block for you to fill in", c.linesAtEnd(block))
		}
	}
}

// ownInstrument is a block that defines an instrument, as something to go on
// from, if the name can be one.
func ownInstrument(name string) (string, bool) {
	block := "instrument " + name + "\n  family metal\n  rings 2\n  way held takes 1 hand with snare-stick loudest f\n"
	return block, !slices.ContainsFunc(syntax.Parse(block).Lines, func(l *syntax.Line) bool { return l.Broken })
}

// amongMarks is the edit that adds a mark: below the last, or at the end.
func (c *Context) amongMarks(m *syntax.Mark) Edit {
	for i, l := range slices.Backward(c.File.Lines) {
		if _, ok := l.Stmt.(*syntax.Mark); ok {
			return c.below(i, 0, m)
		}
	}
	return c.atEnd(m)
}
