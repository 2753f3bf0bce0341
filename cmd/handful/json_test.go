package main

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// run runs the command in this process.
func run(t testing.TB, stdin string, args ...string) (stdout, stderr string, code int) {
	t.Helper()
	var out, err bytes.Buffer
	code = Run(args, strings.NewReader(stdin), &out, &err)
	return out.String(), err.String(), code
}

// A report as somebody who knows only the documented shape would read it.
type reported struct {
	Files []struct {
		Path     string    `json:"path"`
		Findings []finding `json:"findings"`
		Coverage struct {
			Written, Covered, Substituted, Omitted int
		} `json:"coverage"`
		Ceiling  ceiling   `json:"ceiling"`
		Ceilings []ceiling `json:"ceilings"`
	} `json:"files"`
}

type finding struct {
	Rule, Severity, Message          string
	Line, Column, EndLine, EndColumn int
	Path                             *string
	Player, Limb                     string
	Bar                              *int
	Count                            string
	NeedSeconds, WindowSeconds       *float64
	Related                          []struct {
		Path                             string
		Line, Column, EndLine, EndColumn int
		Message                          string
	}
	Fixes []struct {
		Title     string
		Judgement bool
		Edits     []edit
	}
}

type edit struct {
	Line, Column, EndLine, EndColumn int
	Text                             string
}

type ceiling struct {
	Player          string
	Factor          *float64
	CountsPerMinute *float64 `json:"counts per minute"`
	Where           string
}

func checkJSON(t testing.TB, text string, args ...string) reported {
	t.Helper()
	if !slices.Contains(args, "--no-fixes") {
		args = append(args, "--fixes")
	}
	out, errs, code := run(t, text, append([]string{"check", "--format", "json", "-"}, args...)...)
	require.Empty(t, errs)
	require.Less(t, code, exitFailed)
	var r reported
	dec := json.NewDecoder(strings.NewReader(out))
	require.NoError(t, dec.Decode(&r), out)
	require.Len(t, r.Files, 1)
	return r
}

// of is the first finding of a rule.
func of(t testing.TB, findings []finding, rule string) finding {
	t.Helper()
	i := slices.IndexFunc(findings, func(f finding) bool { return f.Rule == rule })
	require.GreaterOrEqual(t, i, 0, "%s is not found", rule)
	return findings[i]
}

const late = `tempo 1/4 = 120
player Ida
  kit
    snare-drum on stand at ahead 35
    woodblock  clamped  at left 30 ahead 45
    table               at right 38 ahead 40
  R snare-drum with snare-stick  | 1 2 3
  R woodblock with rubber-mallet | 3&
`

func TestJSONOfATimedFinding(t *testing.T) {
	f := checkJSON(t, late).Files[0]
	g := of(t, f.Findings, "short-change")
	assert.Equal(t, "-", f.Path)
	assert.Equal(t, "error", g.Severity)
	assert.Equal(t, [4]int{8, 36, 8, 38}, [4]int{g.Line, g.Column, g.EndLine, g.EndColumn})
	assert.Nil(t, g.Path, "the place is in the file itself")
	assert.Equal(t, "Ida", g.Player)
	assert.Equal(t, "right hand", g.Limb)
	assert.Equal(t, 1, *g.Bar)
	assert.Equal(t, "3&", g.Count)
	assert.InDelta(t, 0.25, *g.WindowSeconds, 1e-9, "half a count at 120")
	assert.Greater(t, *g.NeedSeconds, *g.WindowSeconds)
	require.Len(t, g.Related, 1)
	assert.Equal(t, 7, g.Related[0].Line)
	assert.Equal(t, "-", g.Related[0].Path)
	assert.NotEmpty(t, g.Fixes)

	assert.InDelta(t, *g.WindowSeconds / *g.NeedSeconds, *f.Ceiling.Factor, 1e-9, "the tempo at which it just fits")
	assert.InDelta(t, 120**f.Ceiling.Factor, *f.Ceiling.CountsPerMinute, 1e-6)
	assert.Equal(t, "Ida", f.Ceiling.Player)
	assert.Equal(t, "1.3&", f.Ceiling.Where)
	assert.Equal(t, []ceiling{f.Ceiling}, f.Ceilings)
}

func TestTheCeilingIsOfTheWrittenTempoUnderAWhatIf(t *testing.T) {
	as := checkJSON(t, late).Files[0].Ceiling
	half := checkJSON(t, late, "--tempo", "50%").Files[0].Ceiling
	assert.InDelta(t, *as.Factor, *half.Factor, 1e-9)
	assert.InDelta(t, *as.CountsPerMinute, *half.CountsPerMinute, 1e-6)
}

func TestAPacedWarningNeedsMoreThanThereIsToo(t *testing.T) {
	f := checkJSON(t, strings.Replace(late, "120", "30", 1)).Files[0]
	g := of(t, f.Findings, "short-change")
	assert.Equal(t, "warning", g.Severity)
	assert.Greater(t, *g.NeedSeconds, *g.WindowSeconds, "at the steady pace, which it fails")
	assert.GreaterOrEqual(t, *f.Ceiling.Factor, 1.0)
}

// The keys are a contract; null, [] and what is left out are part of it.
func TestTheShapeOfTheJSONReport(t *testing.T) {
	out, _, code := run(t, "tempo 1/4 = 90\nplayer Nell\n  kit\n    woodblock clamped at ahead 40\n  R woodblock with rubber-mallet | 1\n", "check", "--format", "json", "-")
	assert.Equal(t, exitClean, code)
	assert.JSONEq(t, `{"files": [{
	  "path": "-",
	  "findings": [],
	  "coverage": {"written": 0, "covered": 0, "substituted": 0, "omitted": 0},
	  "ceiling": {"factor": null, "counts per minute": null, "edge": {"factor": null, "counts per minute": null}},
	  "ceilings": [{"player": "Nell", "factor": null, "counts per minute": null, "edge": {"factor": null, "counts per minute": null}}]
	}]}`, out)

	out, _, _ = run(t, "tempo 1/4 = 90\nplayer Nell\n  R snorkel | 1\n", "check", "--format", "json", "--no-fixes", "-")
	var raw struct {
		Files []struct{ Findings []map[string]any }
	}
	require.NoError(t, json.Unmarshal([]byte(out), &raw))
	i := slices.IndexFunc(raw.Files[0].Findings, func(f map[string]any) bool { return f["rule"] == "unknown-name" })
	require.GreaterOrEqual(t, i, 0)
	first := raw.Files[0].Findings[i]
	assert.NotContains(t, first, "needSeconds")
	assert.Equal(t, []any{}, first["related"])
	assert.Equal(t, []any{}, first["fixes"])

	t.Chdir(t.TempDir())
	out, _, code = run(t, "", "check", "--format", "json")
	assert.Equal(t, exitFailed, code, "a gate on nothing does not pass")
	assert.JSONEq(t, `{"files": [], "troubles": ["there is no .handful file below ."]}`, out)
}

func TestColumnsAreCharacters(t *testing.T) {
	f := checkJSON(t, "player Zoë\n  R \"\" snorkel\n\tR\tsnörkel | 1\n").Files[0]
	g := of(t, f.Findings, "unknown-name")
	assert.Equal(t, [4]int{3, 4, 3, 11}, [4]int{g.Line, g.Column, g.EndLine, g.EndColumn})
}

// apply makes edits as an editor would that knows nothing but the JSON: lines
// and characters from 1, all of them places in the text as it was.
func apply(t *testing.T, text string, edits []edit) string {
	at := func(line, column int) int {
		lines := strings.SplitAfter(text, "\n")
		require.LessOrEqual(t, line, len(lines))
		off := len(strings.Join(lines[:line-1], ""))
		rest := []rune(lines[line-1])
		require.LessOrEqual(t, column-1, len(rest))
		return off + len(string(rest[:column-1]))
	}
	for i := len(edits) - 1; i >= 0; i-- {
		e := edits[i]
		text = text[:at(e.Line, e.Column)] + e.Text + text[at(e.EndLine, e.EndColumn):]
	}
	return text
}

// Every fix of every finding, made from the JSON alone, makes its finding go.
func TestFixesCanBeMadeFromTheReportAlone(t *testing.T) {
	made := 0
	for _, text := range []string{
		late,
		strings.TrimSuffix(late, "\n"),
		"tempo 1/4 = 90\nplayer Zoë\n  R wodblock with rubber-mallet | 1 # «x»\n",
		"title \"Quay\"\ntempo 1/4 = 90\npart \"P\"\n  woodblock | 1 2\nplayer Nell\n  R woodblock as written in 1\nomit triangle because \"gone\"\n",
	} {
		for _, f := range checkJSON(t, text).Files[0].Findings {
			for _, fix := range f.Fixes {
				made++
				fixed := apply(t, text, fix.Edits)
				require.NotEqual(t, text, fixed, fix.Title)
				for _, g := range checkJSON(t, fixed, "--no-fixes").Files[0].Findings {
					assert.False(t, g.Rule == f.Rule && g.Message == f.Message && g.Severity == f.Severity, "%s is still there after: %s\n%s", f.Rule, fix.Title, fixed)
				}
			}
		}
	}
	assert.Greater(t, made, 5)
}
