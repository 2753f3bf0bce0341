package check

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

func found(r *Result, rule *Rule) []*Finding {
	var out []*Finding
	for i := range r.Findings {
		if r.Findings[i].Rule == rule {
			out = append(out, &r.Findings[i])
		}
	}
	return out
}

// Every rule's first example trips it, and its second does not and has no
// error of any kind.
func TestEveryRulesExamples(t *testing.T) {
	for _, rule := range Rules() {
		t.Run(rule.Name, func(t *testing.T) {
			for what, text := range map[string]string{"finds": rule.Finds, "means": rule.Means, "why": rule.Why, "stands on": rule.Stands} {
				assert.NotEmpty(t, strings.TrimSpace(text), "what it %s", what)
			}
			require.NotEmpty(t, rule.Severities)
			trips := rule.Example(rule.Trips)
			got := found(trips, rule)
			assert.NotEmpty(t, got, "the example that should trip it\n%s", rule.Trips)
			for _, f := range got {
				assert.Contains(t, rule.Severities, f.Severity, f.Message())
			}
			passes := rule.Example(rule.Passes)
			for _, f := range found(passes, rule) {
				assert.Fail(t, f.Message(), "the example that should pass\n%s", rule.Passes)
			}
			for i := range passes.Findings {
				assert.NotEqual(t, Error, passes.Findings[i].Severity, "%s: %s", passes.Findings[i].Rule.Name, passes.Findings[i].Message())
			}
			for _, text := range []string{rule.Passes, rule.Trips} {
				assert.Equal(t, text, compact(syntax.Formatted(text)), "examples are in their canonical layout, but for blank lines")
			}
		})
	}
}

func compact(text string) string { return strings.ReplaceAll(text, "\n\n", "\n") }

// Every fix that is offered for the examples applies, parses, and rids the
// piece of the finding without a new error.
func TestEveryFixHelps(t *testing.T) {
	for _, rule := range Rules() {
		r := rule.Example(rule.Trips)
		for _, f := range found(r, rule) {
			for _, fix := range r.Fixes(f) {
				text, ok := Apply(r.File, fix.Edits)
				require.True(t, ok, "%s: %s", rule.Name, fix.Title)
				after := checkText(text)
				assert.Less(t, total(found(after, rule), f.Severity), total(found(r, rule), f.Severity), "%s: %s\n%s", rule.Name, fix.Title, text)
			}
		}
	}
}

// total counts the places of findings that are as bad as a severity.
func total(list []*Finding, as Severity) int {
	n := 0
	for _, f := range list {
		if f.Severity <= as {
			n += 1 + f.Times
		}
	}
	return n
}

// A rule is a file of its own, named after it, and the list of rules is made
// from the files.
func TestARuleIsAFile(t *testing.T) {
	names := map[string]bool{}
	for _, rule := range Rules() {
		assert.False(t, names[rule.Name], "%s is there twice", rule.Name)
		names[rule.Name] = true
		file := strings.ReplaceAll(rule.Name, "-", "_") + ".go"
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		assert.Equal(t, 1, strings.Count(string(text), "Trips:"), "%s declares one rule", file)
	}
	sources, err := filepath.Glob("*.go")
	require.NoError(t, err)
	declared := 0
	for _, s := range sources {
		if text, _ := os.ReadFile(s); !strings.HasSuffix(s, "_test.go") && regexp.MustCompile(`(?m)^var \w+ = (&Rule\{|textRule\()`).Match(text) {
			declared++
		}
	}
	assert.Equal(t, declared, len(names), "run go generate")
}

// Whatever the binding of a score reports has a rule that explains it.
func TestEveryProblemHasARule(t *testing.T) {
	names := map[string]bool{}
	for _, r := range Rules() {
		names[r.Name] = true
	}
	list, err := os.ReadFile("../syntax/rules.go")
	require.NoError(t, err)
	constants := regexp.MustCompile(`Rule\w+ += "([a-z-]+)"`).FindAllStringSubmatch(string(list), -1)
	require.NotEmpty(t, constants)
	for _, m := range constants {
		assert.True(t, names[m[1]], "no rule explains %s", m[1])
	}
	call := regexp.MustCompile(`(?:fault\(|Rule: )"([a-z-]+)"`)
	for _, dir := range []string{"../score", "../kit", "../syntax"} {
		files, err := filepath.Glob(dir + "/*.go")
		require.NoError(t, err)
		for _, name := range files {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			assert.Empty(t, call.FindAllString(string(text), -1), "%s names a rule by itself", name)
		}
	}
}

func TestAcceptTakesOutWhatItNames(t *testing.T) {
	const text = `tempo 120
player Ida
  R snare-drum with snare-stick           | 1 2 3 | 1 2 3
  R triangle clipped with triangle-beater | 3&    | 3&
`
	before := found(checkText(text), shortChange)
	require.NotEmpty(t, before)
	for _, c := range []struct {
		accept string
		left   bool
	}{
		{`accept short-change because "we practised it"`, false},
		{`accept short-change in 1-2 because "we practised it"`, false},
		{`accept short-change for Ida because "we practised it"`, false},
		{`accept short-change at 1.3& because "we practised it"`, true},
		{`accept hand-overlap because "another rule"`, true},
	} {
		after := checkText(text + c.accept + "\n")
		assert.Equal(t, c.left, len(found(after, shortChange)) > 0, c.accept)
	}
}

func TestTextItselfCannotBeAccepted(t *testing.T) {
	r := checkText("tempo 96\nplayer Ida\n  R snare-drum | 1 foo |\naccept syntax because \"never mind\"\n")
	assert.NotEmpty(t, found(r, syntaxRule))
	assert.NotEmpty(t, found(r, unused), "and the acceptance is reported")
}

func TestAnAcceptanceThatMeetsNothingIsReported(t *testing.T) {
	r := checkText("tempo 96\nplayer Ida\n  R snare-drum | 1 2\naccept short-change at 1 because \"was so once\"\n")
	got := found(r, unused)
	require.Len(t, got, 1)
	fixes := r.SureFixes(got[0])
	require.NotEmpty(t, fixes, "taking the line out needs no judgement")
	text, _ := Apply(r.File, fixes[0].Edits)
	assert.NotContains(t, text, "accept")
}

func TestFindingsAreOrderedAndStable(t *testing.T) {
	text, err := os.ReadFile("../../examples/what-can-go-wrong.handful")
	require.NoError(t, err)
	first := checkText(string(text))
	require.NotEmpty(t, first.Findings)
	for range 5 {
		assert.Equal(t, lines(first), lines(checkText(string(text))))
	}
	for i := 1; i < len(first.Findings); i++ {
		a, b := first.Findings[i-1].Where, first.Findings[i].Where
		assert.True(t, a.Line < b.Line || a.Line == b.Line && a.Start <= b.Start)
	}
}

func TestASpellingIsMendedWithoutAsking(t *testing.T) {
	r := checkText("tempo 96\nplayer Ida\n  R snare-drmu | 1 2\n")
	got := found(r, unknownNameRule)
	require.NotEmpty(t, got)
	fixes := r.SureFixes(got[0])
	require.Len(t, fixes, 1)
	text, _ := Apply(r.File, fixes[0].Edits)
	assert.Contains(t, text, "R snare-drum |")
}

func TestEditsThatOverlapOrLieOutsideAreRefused(t *testing.T) {
	f := syntax.Parse("one\ntwo\n")
	for _, bad := range [][]Edit{
		{{Line: 0, Start: 2, End: 9, Text: "x"}}, {{Line: -1}}, {{Line: 7}}, {{Line: 0, Start: 2, End: 1}},
		{{Line: 0, Start: 0, End: 2}, {Line: 0, Start: 1, End: 3}},
	} {
		_, ok := Apply(f, bad)
		assert.False(t, ok, "%+v", bad)
	}
	text, ok := Apply(f, []Edit{{Line: 1, Whole: true}, {Line: 0, Start: 3, End: 3, Text: "!"}})
	assert.True(t, ok)
	assert.Equal(t, "one!\n", text)
	text, ok = Apply(f, []Edit{{Line: 3, Text: "end\n"}})
	assert.True(t, ok)
	assert.Equal(t, "one\ntwo\nend\n", text)
}
