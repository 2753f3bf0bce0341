package report

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
)

// reported is what was found, and what could not be read.
type reported struct {
	files    []File
	troubles []string
}

// text is a document of all of it.
func (r *reported) text(t *testing.T, d Document) []byte {
	t.Helper()
	var b bytes.Buffer
	for i := range r.files {
		require.NoError(t, d.File(&b, &r.files[i]))
	}
	require.NoError(t, d.End(&b, r.troubles))
	return b.Bytes()
}

func errorsFail(severity string) bool { return severity == "error" }

// sample has a finding of every severity, with all that a finding can have.
func sample() *reported {
	span := Range{Line: 3, Column: 4, EndLine: 3, EndColumn: 9}
	r := &reported{troubles: []string{"gone.handful: there is no such file"}}
	r.files = []File{
		{Path: "season/café 1%.handful", Findings: []Finding{
			{Rule: "short-change", Severity: "error", Message: "no time: 100 %\r\n::error::x, y", Range: span, Player: "Nell", Bar: new(4), Count: "1", NeedSeconds: new(0.6), WindowSeconds: new(0.5),
				Fingerprint: "a", Related: []Related{{Path: "season/kit.handful", Range: span, Message: "from here"}},
				Fixes: []Fix{{Title: "with the left", Edits: []Edit{{Range: span, Text: "L"}}}, {Title: "nothing to edit"}}},
			{Rule: "thin-margin", Severity: "warning", Message: "tight", Range: Range{1, 1, 2, 1}, Fingerprint: "b", Path: "season/kit.handful"},
			{Rule: "compromise", Severity: "compromise", Message: "it rattles <&>\x01", Range: span, Fingerprint: "c"},
			{Rule: "assumed-kit", Severity: "info", Message: "assumed", Range: Range{1, 1, 1, 1}, Fingerprint: "d"},
			{Rule: Internal, Severity: "error", Message: "the program failed", Range: Range{1, 1, 1, 1}, Fingerprint: "e"},
		}},
		{Path: "well.handful"},
	}
	return r
}

func validate(t *testing.T, schema string, text []byte) {
	t.Helper()
	f, err := os.Open(schema)
	require.NoError(t, err)
	defer f.Close()
	doc, err := jsonschema.UnmarshalJSON(f)
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	require.NoError(t, c.AddResource("schema.json", doc))
	s, err := c.Compile("schema.json")
	require.NoError(t, err)
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	assert.NoError(t, s.Validate(value))
	wrong := regexp.MustCompile(`"startLine": *3`).ReplaceAll(text, []byte(`"startLine": 0`))
	if value, err = jsonschema.UnmarshalJSON(bytes.NewReader(wrong)); !bytes.Equal(wrong, text) {
		require.NoError(t, err)
		assert.Error(t, s.Validate(value), "the schema notices what is wrong")
	}
}

func TestSARIFIsWhatItsSchemaSays(t *testing.T) {
	var text []byte
	for _, r := range []*reported{{}, sample()} {
		d, err := SARIF("1.2.3")
		require.NoError(t, err)
		text = r.text(t, d)
		validate(t, "testdata/sarif-schema-2.1.0.json", text)
		var laidOut bytes.Buffer
		require.NoError(t, json.Indent(&laidOut, text, "", " "))
		assert.Equal(t, laidOut.String(), string(text), "the standard library lays it out like this")
	}
	var log struct {
		Runs []struct {
			Tool struct {
				Driver struct {
					Rules []struct {
						ID   string
						Help struct{ Text, Markdown string }
					}
				}
			}
			Invocations []struct{ ExecutionSuccessful bool }
			ColumnKind  string
			Results     []struct {
				RuleID    string `json:"ruleId"`
				RuleIndex int
				Level     string
				Locations []struct {
					PhysicalLocation struct {
						ArtifactLocation struct{ URI string }
						Region           map[string]int
					}
				}
				RelatedLocations []any
				Fixes            []any
			}
		}
	}
	require.NoError(t, json.Unmarshal(text, &log))
	run := log.Runs[0]
	assert.Len(t, run.Tool.Driver.Rules, len(check.Rules()))
	for _, rule := range run.Tool.Driver.Rules {
		assert.NotEmpty(t, rule.Help.Text, rule.ID)
		assert.NotEmpty(t, rule.Help.Markdown, rule.ID)
	}
	assert.False(t, run.Invocations[0].ExecutionSuccessful)
	assert.Equal(t, "unicodeCodePoints", run.ColumnKind)
	var levels []string
	for _, res := range run.Results {
		levels = append(levels, res.Level)
		assert.Equal(t, res.RuleID, run.Tool.Driver.Rules[res.RuleIndex].ID)
	}
	assert.Equal(t, []string{"error", "warning", "note", "note", "error"}, levels)
	first := run.Results[0]
	assert.Equal(t, "season/caf%C3%A9%201%25.handful", first.Locations[0].PhysicalLocation.ArtifactLocation.URI)
	assert.Equal(t, map[string]int{"startLine": 3, "startColumn": 4, "endLine": 3, "endColumn": 9}, first.Locations[0].PhysicalLocation.Region)
	assert.Len(t, first.RelatedLocations, 1)
	assert.Len(t, first.Fixes, 1, "one without edits is none there")
	assert.Equal(t, "season/kit.handful", run.Results[1].Locations[0].PhysicalLocation.ArtifactLocation.URI)
}

// counted reads a test report as a build service does: by what its tests are
// rather than by what it says that they are.
func TestJUnitCountsWhatItHas(t *testing.T) {
	text := sample().text(t, JUnit(errorsFail))
	dec := xml.NewDecoder(bytes.NewReader(text))
	counts := map[string]int{}
	said := map[string]string{}
	names := map[string]bool{}
	for {
		tok, err := dec.Token()
		if tok == nil {
			assert.ErrorContains(t, err, "EOF")
			break
		}
		require.NoError(t, err)
		if el, ok := tok.(xml.StartElement); ok {
			counts[el.Name.Local]++
			for _, a := range el.Attr {
				if el.Name.Local == "testsuites" {
					said[a.Name.Local] = a.Value
				}
				if el.Name.Local == "testcase" && a.Name.Local == "name" {
					assert.False(t, names[a.Value], a.Value)
					names[a.Value] = true
				}
			}
		}
	}
	assert.Equal(t, map[string]int{"testsuites": 1, "testsuite": 3, "testcase": 7, "failure": 1, "error": 2, "system-out": 3}, counts)
	assert.Equal(t, map[string]string{"name": "handful", "tests": "7", "failures": "1", "errors": "2"}, said)
}

// A service reads an annotation by its documented rules: the command up to the
// first two colons behind it, properties between commas, and escapes undone.
func TestAnnotationsComeBackAsTheyWere(t *testing.T) {
	r := sample()
	lines := Annotations(&r.files[0])
	require.Len(t, lines, 5)
	undo := strings.NewReplacer("%0D", "\r", "%0A", "\n", "%3A", ":", "%2C", ",", "%25", "%")
	for i, line := range lines {
		assert.NotContains(t, line, "\n")
		head, message, ok := strings.Cut(strings.TrimPrefix(line, "::"), "::")
		require.True(t, ok)
		level, properties, _ := strings.Cut(head, " ")
		assert.Contains(t, []string{"error", "warning", "notice"}, level)
		got := map[string]string{}
		for _, p := range strings.Split(properties, ",") {
			key, value, ok := strings.Cut(p, "=")
			require.True(t, ok, line)
			got[key] = undo.Replace(value)
		}
		f := r.files[0].Findings[i]
		assert.Equal(t, f.path(&r.files[0]), got["file"])
		assert.Equal(t, f.Rule, got["title"])
		assert.Equal(t, f.text(), undo.Replace(message))
	}
	assert.Equal(t, "::error title=handful::gone: 100%25%0A", Trouble("gone: 100%\n"))
}

func TestACodeQualityReport(t *testing.T) {
	text := sample().text(t, Quality())
	var issues []map[string]any
	require.NoError(t, json.Unmarshal(text, &issues))
	prints := map[any]bool{}
	var severities []any
	for _, i := range issues {
		for _, key := range []string{"description", "check_name", "fingerprint", "severity", "location"} {
			assert.NotEmpty(t, i[key])
		}
		assert.False(t, prints[i["fingerprint"]])
		prints[i["fingerprint"]] = true
		severities = append(severities, i["severity"])
		at := i["location"].(map[string]any)
		assert.False(t, strings.HasPrefix(at["path"].(string), "./"))
		assert.GreaterOrEqual(t, at["lines"].(map[string]any)["begin"], 1.0)
	}
	assert.Equal(t, []any{"critical", "major", "minor", "info", "critical"}, severities)
	assert.Equal(t, "[]\n", string((&reported{}).text(t, Quality())), "an empty one is a list too")
}

// problem is how editors and services take a line apart; it stands in the README.
var problem = regexp.MustCompile(`^(.+?):(\d+):(\d+): (error|warning|compromise|info): (.*) \[([a-z-]+)\]$`)

func TestLinesAreTakenApart(t *testing.T) {
	r := sample()
	r.files[0].Findings = r.files[0].Findings[1:] // line ends are taken out of messages before they come here
	for i, line := range Lines(&r.files[0]) {
		m := problem.FindStringSubmatch(line)
		require.NotNil(t, m, line)
		assert.Equal(t, r.files[0].Findings[i].Rule, m[6])
	}
	text, err := JSONLines(&r.files[0])
	require.NoError(t, err)
	for i, line := range text {
		var f Finding
		require.NoError(t, json.Unmarshal([]byte(line), &f))
		assert.Equal(t, r.files[0].Findings[i].Message, f.Message)
		assert.NotEmpty(t, f.Path)
	}
	var all Tally
	for i := range r.files {
		all.Add(&r.files[i])
	}
	end, err := all.JSONEnd(r.troubles)
	require.NoError(t, err)
	assert.JSONEq(t, `{"end": true, "files": 2, "findings": {"error": 1, "warning": 1, "compromise": 1, "info": 1}, "troubles": ["gone.handful: there is no such file"]}`, end)
}

// File by file it is what the standard library makes of all at once.
func TestJSONFileByFile(t *testing.T) {
	r := sample()
	for n := range len(r.files) + 1 {
		for _, troubles := range [][]string{nil, r.troubles} {
			text := (&reported{r.files[:n], troubles}).text(t, JSON())
			var want bytes.Buffer
			enc := json.NewEncoder(&want)
			enc.SetEscapeHTML(false)
			enc.SetIndent("", "  ")
			require.NoError(t, enc.Encode(struct {
				Files    []File   `json:"files"`
				Troubles []string `json:"troubles,omitempty"`
			}{r.files[:n:n], troubles}))
			require.Equal(t, want.String(), string(text))
		}
	}
}

func TestFingerprints(t *testing.T) {
	a := Fingerprint("p", "p", "r", "Nell", "right hand", "  R woodblock | 1")
	assert.Equal(t, a, Fingerprint("p", "p", "r", "Nell", "right hand", "R  woodblock |\t1"), "layout is nothing new")
	for _, other := range [][6]string{{"q", "p", "r", "Nell", "right hand", "R woodblock | 1"}, {"p", "p", "r", "Nell", "right hand", "R woodblock | 2"}, {"p", "pr", "", "Nell", "right hand", "R woodblock | 1"}} {
		assert.NotEqual(t, a, Fingerprint(other[0], other[1], other[2], other[3], other[4], other[5]))
	}
	fs := []Finding{{Fingerprint: a}, {Fingerprint: "x"}, {Fingerprint: a}, {Fingerprint: a}}
	Number(fs)
	assert.Equal(t, []string{a, "x", a + "-2", a + "-3"}, []string{fs[0].Fingerprint, fs[1].Fingerprint, fs[2].Fingerprint, fs[3].Fingerprint})
}
