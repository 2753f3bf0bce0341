package report

import (
	"bytes"
	"encoding/json"
	"io"
	"strings"

	"example.org/handful/lang/check"
)

// jsonWithin is JSON whose lines but the first begin with something.
func jsonWithin(prefix string, v any, indent string) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent(prefix, indent)
	err := enc.Encode(v)
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), err
}

// A list is an array that is written item by item, and what stands before it.
type list struct {
	head           string
	prefix, indent string // of the items' lines
	begun          bool
	items          int
}

// begin writes what stands before the first item.
func (l *list) begin(b *bytes.Buffer) {
	if !l.begun {
		b.WriteString(l.head + "[")
	}
	l.begun = true
}

// add writes one more item.
func (l *list) add(b *bytes.Buffer, v any) error {
	l.begin(b)
	text, err := jsonWithin(l.prefix, v, l.indent)
	if l.items++; l.items > 1 {
		b.WriteByte(',')
	}
	b.WriteString("\n" + l.prefix)
	b.Write(text)
	return err
}

// end writes what stands behind the last item.
func (l *list) end(b *bytes.Buffer) {
	l.begin(b)
	if l.items > 0 {
		b.WriteString("\n" + strings.TrimSuffix(l.prefix, l.indent))
	}
	b.WriteByte(']')
}

// written hands on what was written, unless that failed.
func written(w io.Writer, b *bytes.Buffer, err error) error {
	if err == nil {
		_, err = w.Write(b.Bytes())
	}
	return err
}

type ownJSON struct{ list }

// JSON is all that was found, in the shape of our own.
func JSON() Document {
	return &ownJSON{list{head: "{\n  \"files\": ", prefix: "    ", indent: "  "}}
}

func (j *ownJSON) File(w io.Writer, f *File) error {
	var b bytes.Buffer
	err := j.add(&b, f)
	return written(w, &b, err)
}

func (j *ownJSON) End(w io.Writer, troubles []string) error {
	var b bytes.Buffer
	j.end(&b)
	var err error
	if len(troubles) > 0 {
		var text []byte
		text, err = jsonWithin("  ", troubles, "  ")
		b.WriteString(",\n  \"troubles\": ")
		b.Write(text)
	}
	b.WriteString("\n}\n")
	return written(w, &b, err)
}

// An issue is a finding in a code quality report.
type (
	issue struct {
		Type        string   `json:"type"`
		Description string   `json:"description"`
		CheckName   string   `json:"check_name"`
		Fingerprint string   `json:"fingerprint"`
		Severity    string   `json:"severity"`
		Location    location `json:"location"`
	}
	location struct {
		Path  string `json:"path"`
		Lines lines  `json:"lines"`
	}
	lines struct {
		Begin int `json:"begin"`
		End   int `json:"end"`
	}
)

type quality struct{ list }

// Quality is a code quality report.
func Quality() Document { return &quality{list{prefix: "  ", indent: "  "}} }

func (q *quality) File(w io.Writer, f *File) error {
	var b bytes.Buffer
	var err error
	for i := range f.Findings {
		d := &f.Findings[i]
		severity := map[string]string{check.Error.String(): "critical", check.Warning.String(): "major", check.Compromise.String(): "minor", check.Info.String(): "info"}[d.Severity]
		if err = q.add(&b, issue{"issue", d.text(), d.Rule, d.Fingerprint, severity,
			location{strings.TrimPrefix(d.path(f), "./"), lines{d.Line, max(d.Line, d.EndLine)}}}); err != nil {
			break
		}
	}
	return written(w, &b, err)
}

func (q *quality) End(w io.Writer, _ []string) error {
	var b bytes.Buffer
	q.end(&b)
	b.WriteByte('\n')
	return written(w, &b, nil)
}
