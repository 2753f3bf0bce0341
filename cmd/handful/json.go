package main

import (
	"unicode/utf8"

	"example.org/handful/internal/report"
	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

type (
	jsonFinding = report.Finding
	jsonRange   = report.Range
)

// jsonOf is a file for programs.
func jsonOf(c *checked, coverage score.Coverage) report.File {
	f := report.File{Path: c.path, Findings: []jsonFinding{}, Coverage: coverage, Ceilings: []report.Ceiling{}}
	for i := range c.result.Findings {
		var fixes []check.Fix
		if c.fixes != nil {
			fixes = c.fixes[i]
		}
		f.Findings = append(f.Findings, c.jsonFinding(&c.result.Findings[i], fixes))
	}
	report.Number(f.Findings)
	for _, l := range c.ceilings {
		j := report.Ceiling{Player: l.Player, Bound: boundOf(&l.Cannot), Edge: boundOf(&l.Edge)}
		if j.Factor != nil && (f.Ceiling.Factor == nil || *j.Factor < *f.Ceiling.Factor) {
			f.Ceiling = j
		}
		f.Ceilings = append(f.Ceilings, j)
	}
	return f
}

func boundOf(b *check.Bound) report.Bound {
	if b.None() {
		return report.Bound{}
	}
	return report.Bound{Factor: new(b.Factor), CountsPerMinute: new(b.CountsPerMinute), Where: b.Place, What: b.Words}
}

func spanOf(line, column, endLine, endColumn int) jsonRange {
	return jsonRange{Line: line, Column: column, EndLine: endLine, EndColumn: endColumn}
}

func (c *checked) rangeOf(w score.Where) jsonRange {
	text := c.lineText(w)
	return spanOf(int(w.Line)+1, column(text, w.Start), int(w.Line)+1, column(text, w.End))
}

func (c *checked) jsonFinding(f *check.Finding, fixes []check.Fix) jsonFinding {
	j := jsonFinding{
		Rule: f.Rule.Name, Severity: f.Severity.String(), Message: f.Message(), Range: c.rangeOf(f.Where),
		Player: f.Player, Limb: f.Limb, Related: []report.Related{}, Fixes: []report.Fix{},
	}
	j.Fingerprint = c.print(f, c.name)
	if f.Where.File != 0 {
		j.Path = c.pathOf(f.Where)
	}
	if f.HasPlace {
		j.Bar, j.Printed, j.Count, j.Pass = new(f.Bar), f.InPrint(), f.Count, f.Pass
	}
	if f.Timed {
		j.NeedSeconds, j.WindowSeconds = new(f.Need.Steady), new(f.Window)
		switch motion.BandOf(f.Need, f.Window) {
		case motion.Missing:
			j.NeedSeconds = new(f.Need.Limit)
		case motion.AtEdge:
			j.NeedSeconds = new(f.Need.Floor)
		}
	}
	for _, n := range f.Related {
		j.Related = append(j.Related, report.Related{Path: c.pathOf(n.Where), Range: c.rangeOf(n.Where), Message: n.Message()})
	}
	for _, fix := range fixes {
		jf := report.Fix{Title: fix.Title, Judgement: fix.Judgement, Edits: []report.Edit{}}
		for _, e := range fix.Edits {
			jf.Edits = append(jf.Edits, report.Edit{Range: c.editRange(e), Text: e.Text})
		}
		j.Fixes = append(j.Fixes, jf)
	}
	return j
}

// editRange is where an edit's text goes. A whole line goes with its line end;
// a line behind the last is an insertion at the end of the text.
func (c *checked) editRange(e check.Edit) jsonRange {
	lines := c.result.File.Lines
	if e.Line >= len(lines) {
		last := len(lines)
		col := utf8.RuneCountInString(lines[last-1].Text) + 1
		return spanOf(last, col, last, col)
	}
	text := lines[e.Line].Text
	if e.Whole {
		if e.Line+1 < len(lines) {
			return spanOf(e.Line+1, 1, e.Line+2, 1)
		}
		return spanOf(e.Line+1, 1, e.Line+1, utf8.RuneCountInString(text)+1)
	}
	r := jsonRange{Line: e.Line + 1, EndLine: e.Line + 1}
	r.Column, r.EndColumn = column(text, int32(e.Start)), column(text, int32(e.End))
	return r
}
