package main

import (
	"io"
	"strings"

	"example.org/handful/internal/report"
)

// whole are the formats that are one document which is made when all is known.
var whole = map[string]func(*report.Report) ([]byte, error){
	"sarif":  report.SARIF,
	"junit":  report.JUnit,
	"gitlab": report.Quality,
}

// perLine are the formats of a line a finding, which are told file by file.
var perLine = map[string]func(*report.File) ([]string, error){
	"jsonl":  report.JSONLines,
	"line":   func(f *report.File) ([]string, error) { return report.Lines(f), nil },
	"github": func(f *report.File) ([]string, error) { return report.Annotations(f), nil },
}

// form is how the report is written, and where to.
func (v *checkVerb) form(out *output, named bool, s *streams) (form, io.Writer) {
	m := &machineForm{verb: v, streams: s, write: whole[v.Format], lines: perLine[v.Format]}
	switch v.Format {
	case "text":
		return textForm{painterFor(out), named, v.whatIf()}, out
	case "line", "junit":
		return m, out
	}
	return m, raw{out}
}

// machineForm reports to programs. What is JSON, or has commands to a build
// service in it that are ours, goes out as it is made here; the rest like all
// that is said.
type machineForm struct {
	verb    *checkVerb
	streams *streams
	write   func(*report.Report) ([]byte, error) // a whole document
	lines   func(*report.File) ([]string, error) // or a line a finding
	json    report.JSON                          // or JSON, if there is neither
	tally   report.Tally                         // of what has been told
}

func (*machineForm) render(c *checked, p *page) { p.json = jsonOf(c, p.coverage) }

func (m *machineForm) next(w io.Writer, p *page) error {
	if m.write != nil {
		return nil
	}
	found := p.json
	p.json = report.File{} // which is told
	m.tally.Add(&found)
	if m.lines == nil {
		text, err := m.json.File(&found)
		if err == nil {
			_, err = w.Write(seenJSON(text))
		}
		return err
	}
	lines, err := m.lines(&found)
	if err != nil {
		return err
	}
	return m.put(w, lines)
}

// put writes lines, each fit for what reads it.
func (m *machineForm) put(w io.Writer, lines []string) error {
	var b strings.Builder
	for _, line := range lines {
		if m.verb.Format == "jsonl" {
			b.Write(seenJSON([]byte(line)))
		} else {
			b.WriteString(bracketed.ReplaceAllString(clean(line), "#♯$1["))
		}
		b.WriteByte('\n')
	}
	if b.Len() == 0 {
		return nil
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (m *machineForm) all(w io.Writer, pages []page) error {
	if m.write != nil {
		return m.document(w, pages)
	}
	troubles := m.streams.troubles
	var ends []string
	switch m.verb.Format {
	case "json":
		text, err := m.json.End(troubles)
		if err == nil {
			_, err = w.Write(seenJSON(text))
		}
		return err
	case "jsonl":
		end, err := m.tally.JSONEnd(troubles)
		if err != nil {
			return err
		}
		ends = []string{end}
	case "github":
		for _, t := range troubles {
			ends = append(ends, report.Trouble(t))
		}
	}
	return m.put(w, ends)
}

// document writes what is one document.
func (m *machineForm) document(w io.Writer, pages []page) error {
	r := &report.Report{Version: version(), Files: make([]report.File, len(pages)), Fails: m.verb.counts, Troubles: m.streams.troubles}
	for i, p := range pages {
		r.Files[i] = p.json
	}
	text, err := m.write(r)
	if err != nil {
		return err
	}
	if m.verb.Format != "junit" {
		text = seenJSON(text)
	}
	_, err = w.Write(text)
	return err
}

// counts says whether findings of a severity fail the check.
func (v *checkVerb) counts(severity string) bool {
	return severity == "error" && v.FailOn != "never" || severity == "warning" && v.FailOn == "warning"
}
