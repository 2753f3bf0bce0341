package report

import (
	"fmt"
	"strings"

	"example.org/handful/lang/check"
)

// Lines are a line a finding, as compilers write them: file, line, column,
// severity, message, rule.
func Lines(f *File) []string {
	var out []string
	for i := range f.Findings {
		d := &f.Findings[i]
		out = append(out, fmt.Sprintf("%s:%d:%d: %s: %s [%s]", d.path(f), d.Line, d.Column, d.Severity, d.text(), d.Rule))
	}
	return out
}

// jsonLine is a finding that stands by itself.
type jsonLine struct {
	File string `json:"file"` // that was checked
	Finding
}

// JSONLines are a line of JSON a finding.
func JSONLines(f *File) ([]string, error) {
	var out []string
	for _, d := range f.Findings {
		if d.Path == "" {
			d.Path = f.Path
		}
		line, err := jsonWithin("", jsonLine{f.Path, d}, "")
		if err != nil {
			return nil, err
		}
		out = append(out, string(line))
	}
	return out, nil
}

// A Tally is how much there was of what was told file by file.
type Tally struct {
	files    int
	findings map[string]int // by their severity
}

// Add counts a file.
func (t *Tally) Add(f *File) {
	if t.findings == nil {
		t.findings = map[string]int{}
	}
	t.files++
	for i := range f.Findings {
		t.findings[f.Findings[i].Severity]++
	}
}

// JSONEnd is the line of JSON behind the last finding. A report without it is
// not a whole one.
func (t *Tally) JSONEnd(troubles []string) (string, error) {
	by := map[string]int{}
	for s := check.Error; s <= check.Info; s++ {
		by[s.String()] = t.findings[s.String()]
	}
	line, err := jsonWithin("", struct {
		End      bool           `json:"end"`
		Files    int            `json:"files"`
		Findings map[string]int `json:"findings"`
		Troubles []string       `json:"troubles"`
	}{true, t.files, by, append([]string{}, troubles...)}, "")
	return string(line), err
}

// Annotations are a workflow command a finding, as a build service that shows
// them beside the change reads them. What stands in a piece is written so that
// it stays a message: nothing of it ends a line or a property.
func Annotations(f *File) []string {
	var out []string
	for i := range f.Findings {
		d := &f.Findings[i]
		level := map[string]string{"error": "error", "warning": "warning"}[d.Severity]
		if level == "" {
			level = "notice"
		}
		place := fmt.Sprintf("line=%d,endLine=%d,", d.Line, max(d.Line, d.EndLine))
		if d.Line == d.EndLine { // columns are for one line only
			place += fmt.Sprintf("col=%d,endColumn=%d,", d.Column, max(d.Column, d.EndColumn))
		}
		out = append(out, fmt.Sprintf("::%s file=%s,%stitle=%s::%s", level, property(d.path(f)), place, property(d.Rule), data(d.text())))
	}
	return out
}

// Trouble is an annotation of a file that could not be read.
func Trouble(text string) string { return "::error title=handful::" + data(text) }

func data(text string) string {
	return strings.NewReplacer("%", "%25", "\r", "%0D", "\n", "%0A").Replace(text)
}

func property(text string) string {
	return strings.NewReplacer("%", "%25", "\r", "%0D", "\n", "%0A", ":", "%3A", ",", "%2C").Replace(text)
}
