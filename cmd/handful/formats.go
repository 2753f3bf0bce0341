package main

import (
	"io"
	"strings"

	"example.org/handful/internal/report"
)

// whole are the formats that are one document.
var whole = map[string]func(*checkVerb) (report.Document, error){
	"json":   func(*checkVerb) (report.Document, error) { return report.JSON(), nil },
	"sarif":  func(*checkVerb) (report.Document, error) { return report.SARIF(version()) },
	"junit":  func(v *checkVerb) (report.Document, error) { return report.JUnit(v.counts), nil },
	"gitlab": func(*checkVerb) (report.Document, error) { return report.Quality(), nil },
}

// perLine are the formats of a line a finding, which are told file by file.
var perLine = map[string]func(*report.File) ([]string, error){
	"jsonl":  report.JSONLines,
	"line":   func(f *report.File) ([]string, error) { return report.Lines(f), nil },
	"github": func(f *report.File) ([]string, error) { return report.Annotations(f), nil },
}

// form is how the report is written, and where to.
func (v *checkVerb) form(out *output, named bool, s *streams) (form, io.Writer) {
	m := &machineForm{verb: v, streams: s, lines: perLine[v.Format]}
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
	lines   func(*report.File) ([]string, error) // a line a finding
	whole   report.Document                      // or a document, from the first file on
	tally   report.Tally                         // of what has been told
}

func (*machineForm) render(c *checked, p *page) { p.json = jsonOf(c, p.coverage) }

// document is what is written, if it is one.
func (m *machineForm) document() (_ report.Document, err error) {
	if m.whole == nil {
		m.whole, err = whole[m.verb.Format](m.verb)
	}
	return m.whole, err
}

// seenWriter writes JSON so that all of it is seen.
type seenWriter struct{ to io.Writer }

func (w seenWriter) Write(text []byte) (int, error) {
	_, err := w.to.Write(seenJSON(text))
	return len(text), err
}

// fit is where a document goes, so that it is fit for what reads it.
func (m *machineForm) fit(w io.Writer) io.Writer {
	if m.verb.Format == "junit" {
		return w
	}
	return seenWriter{w}
}

func (m *machineForm) next(w io.Writer, p *page) error {
	found := p.json
	p.json = report.File{} // which is told
	m.tally.Add(&found)
	if m.lines == nil {
		all, err := m.document()
		if err != nil {
			return err
		}
		return all.File(m.fit(w), &found)
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

func (m *machineForm) all(w io.Writer, _ []page) error {
	troubles := m.streams.troubles
	if m.lines == nil {
		all, err := m.document()
		if err != nil {
			return err
		}
		return all.End(m.fit(w), troubles)
	}
	var ends []string
	switch m.verb.Format {
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

// counts says whether findings of a severity fail the check.
func (v *checkVerb) counts(severity string) bool {
	return severity == "error" && v.FailOn != "never" || severity == "warning" && v.FailOn == "warning"
}
