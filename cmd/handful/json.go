package main

import (
	"bytes"
	"encoding/json"
	"io"
	"unicode/utf8"

	"handful/lang/check"
	"handful/lang/motion"
	"handful/lang/score"
)

// The shapes of the JSON report. Lines and columns count from 1, columns in
// characters; ends are not included; seconds are seconds.
type (
	jsonReport struct {
		Files []jsonFile `json:"files"`
	}
	jsonFile struct {
		Path     string         `json:"path"`
		Findings []jsonFinding  `json:"findings"`
		Coverage score.Coverage `json:"coverage"`
		Ceiling  jsonCeiling    `json:"ceiling"` // of the player who sets it
		Ceilings []jsonCeiling  `json:"ceilings"`
	}
	jsonRange struct {
		Line      int `json:"line"`
		Column    int `json:"column"`
		EndLine   int `json:"endLine"`
		EndColumn int `json:"endColumn"`
	}
	jsonFinding struct {
		Rule     string `json:"rule"`
		Severity string `json:"severity"`
		Message  string `json:"message"`
		jsonRange
		Path          string        `json:"path,omitempty"` // when the place is in a file that this one uses
		Player        string        `json:"player,omitempty"`
		Limb          string        `json:"limb,omitempty"`
		Bar           *int          `json:"bar,omitempty"`
		Count         string        `json:"count,omitempty"`
		Pass          int           `json:"pass,omitempty"`        // the only one of several on which it is so
		NeedSeconds   *float64      `json:"needSeconds,omitempty"` // at the fastest when that is too much, else at a steady pace
		WindowSeconds *float64      `json:"windowSeconds,omitempty"`
		Related       []jsonRelated `json:"related"`
		Fixes         []jsonFix     `json:"fixes"`
	}
	jsonRelated struct {
		Path string `json:"path"`
		jsonRange
		Message string `json:"message"`
	}
	jsonFix struct {
		Title     string     `json:"title"`
		Judgement bool       `json:"judgement"`
		Edits     []jsonEdit `json:"edits"`
	}
	jsonEdit struct {
		jsonRange
		Text string `json:"text"`
	}
	jsonCeiling struct {
		Player    string    `json:"player,omitempty"`
		jsonBound           // above which somebody cannot
		Edge      jsonBound `json:"edge"` // up to which nothing is at the edge
	}
	jsonBound struct {
		Factor          *float64 `json:"factor"` // of the written tempo; null: nothing limits it
		CountsPerMinute *float64 `json:"counts per minute"`
		Where           string   `json:"where,omitempty"`
		What            string   `json:"what,omitempty"` // that sets it
	}
)

// jsonForm reports to programs.
type jsonForm struct{}

func (jsonForm) render(c *checked, p *page) { p.json = jsonOf(c, p.coverage) }

func (jsonForm) next(io.Writer, *page) error { return nil }

func (jsonForm) all(w io.Writer, pages []page) error {
	report := jsonReport{Files: make([]jsonFile, len(pages))}
	for i, p := range pages {
		report.Files[i] = p.json
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(report); err != nil {
		return err
	}
	_, err := w.Write(seenJSON(b.Bytes()))
	return err
}

func jsonOf(c *checked, coverage score.Coverage) jsonFile {
	f := jsonFile{Path: c.path, Findings: []jsonFinding{}, Coverage: coverage, Ceilings: []jsonCeiling{}}
	for i := range c.result.Findings {
		var fixes []check.Fix
		if c.fixes != nil {
			fixes = c.fixes[i]
		}
		f.Findings = append(f.Findings, c.jsonFinding(&c.result.Findings[i], fixes))
	}
	for _, l := range c.ceilings {
		j := jsonCeiling{Player: l.Player, jsonBound: boundOf(&l.Cannot), Edge: boundOf(&l.Edge)}
		if j.Factor != nil && (f.Ceiling.Factor == nil || *j.Factor < *f.Ceiling.Factor) {
			f.Ceiling = j
		}
		f.Ceilings = append(f.Ceilings, j)
	}
	return f
}

func boundOf(b *check.Bound) jsonBound {
	if b.None() {
		return jsonBound{}
	}
	return jsonBound{new(b.Factor), new(b.CountsPerMinute), b.Place, b.Words}
}

func (c *checked) rangeOf(w score.Where) jsonRange {
	text := c.lineText(w)
	return jsonRange{int(w.Line) + 1, column(text, w.Start), int(w.Line) + 1, column(text, w.End)}
}

func (c *checked) jsonFinding(f *check.Finding, fixes []check.Fix) jsonFinding {
	j := jsonFinding{
		Rule: f.Rule.Name, Severity: f.Severity.String(), Message: f.Message, jsonRange: c.rangeOf(f.Where),
		Player: f.Player, Limb: f.Limb, Related: []jsonRelated{}, Fixes: []jsonFix{},
	}
	if f.Where.File != 0 {
		j.Path = c.pathOf(f.Where)
	}
	if f.HasPlace {
		j.Bar, j.Count, j.Pass = new(f.Bar), f.Count, f.Pass
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
		j.Related = append(j.Related, jsonRelated{c.pathOf(n.Where), c.rangeOf(n.Where), n.Message})
	}
	for _, fix := range fixes {
		jf := jsonFix{Title: fix.Title, Judgement: fix.Judgement, Edits: []jsonEdit{}}
		for _, e := range fix.Edits {
			jf.Edits = append(jf.Edits, jsonEdit{c.editRange(e), e.Text})
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
		return jsonRange{last, col, last, col}
	}
	text := lines[e.Line].Text
	if e.Whole {
		if e.Line+1 < len(lines) {
			return jsonRange{e.Line + 1, 1, e.Line + 2, 1}
		}
		return jsonRange{e.Line + 1, 1, e.Line + 1, utf8.RuneCountInString(text) + 1}
	}
	r := jsonRange{Line: e.Line + 1, EndLine: e.Line + 1}
	r.Column, r.EndColumn = column(text, int32(e.Start)), column(text, int32(e.End))
	return r
}
