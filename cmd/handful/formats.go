package main

import (
	"io"
	"strings"

	"example.org/handful/internal/report"
)

// whole are the formats that are one document, as it is written.
var whole = map[string]func(*report.Report) ([]byte, error){
	"json":   report.JSON,
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
	m := machineForm{verb: v, streams: s, write: whole[v.Format], lines: perLine[v.Format]}
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
}

func (machineForm) render(c *checked, p *page) { p.json = jsonOf(c, p.coverage) }

func (m machineForm) next(w io.Writer, p *page) error {
	if m.lines == nil {
		return nil
	}
	lines, err := m.lines(&p.json)
	if err != nil {
		return err
	}
	return m.put(w, lines)
}

// put writes lines, each fit for what reads it.
func (m machineForm) put(w io.Writer, lines []string) error {
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

func (m machineForm) all(w io.Writer, pages []page) error {
	r := &report.Report{Version: version(), Files: make([]report.File, len(pages))}
	for i, p := range pages {
		r.Files[i] = p.json
	}
	if m.verb != nil {
		r.Fails, r.Troubles = m.verb.counts, m.streams.troubles
	}
	if m.write != nil {
		text, err := m.write(r)
		if err != nil {
			return err
		}
		if m.verb == nil || m.verb.Format != "junit" {
			text = seenJSON(text)
		}
		_, err = w.Write(text)
		return err
	}
	var ends []string
	switch m.verb.Format {
	case "jsonl":
		end, err := report.JSONEnd(r)
		if err != nil {
			return err
		}
		ends = []string{end}
	case "github":
		for _, t := range r.Troubles {
			ends = append(ends, report.Trouble(t))
		}
	}
	return m.put(w, ends)
}

// counts says whether findings of a severity fail the check.
func (v *checkVerb) counts(severity string) bool {
	return severity == "error" && v.FailOn != "never" || severity == "warning" && v.FailOn == "warning"
}
