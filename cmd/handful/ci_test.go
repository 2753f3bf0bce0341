package main

import (
	"encoding/json"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What the README says to paste is what stands in the examples.
func TestTheReadmesCIIsTheExamples(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	for _, name := range []string{"workflow.yml", "job.gitlab-ci.yml"} {
		text, err := os.ReadFile("../../examples/ci/" + name)
		require.NoError(t, err)
		assert.Contains(t, string(readme), "```yaml\n"+string(text)+"```\n", name)
		for _, command := range regexp.MustCompile(`handful check [^>\n]*`).FindAllString(string(text), -1) {
			t.Run(command, func(t *testing.T) {
				t.Chdir(library(t, 4))
				out, errs, code := run(t, "", strings.Fields(command)[1:]...)
				assert.Empty(t, errs)
				assert.NotEmpty(t, out)
				assert.Less(t, code, exitFailed)
			})
		}
	}
}

// The problem matcher takes every line apart that a check says, and each only once.
func TestTheProblemMatcherReadsOurLines(t *testing.T) {
	text, err := os.ReadFile("../../examples/ci/problem-matcher.json")
	require.NoError(t, err)
	var matchers struct {
		ProblemMatcher []struct {
			Owner, Severity string
			Pattern         []struct {
				Regexp                            string
				File, Line, Column, Message, Code int
			}
		}
	}
	require.NoError(t, json.Unmarshal(text, &matchers))
	out, errs, code := run(t, "", "check", "../../examples", "--format", "line", "--no-fixes")
	assert.Empty(t, errs)
	assert.Equal(t, exitFindings, code)
	lines := strings.Split(strings.TrimSuffix(out, "\n"), "\n")
	assert.Greater(t, len(lines), 10)
	for _, line := range lines {
		read := 0
		for _, m := range matchers.ProblemMatcher {
			p := m.Pattern[0]
			if parts := regexp.MustCompile(p.Regexp).FindStringSubmatch(line); parts != nil {
				read++
				assert.True(t, strings.HasPrefix(line, parts[p.File]+":"+parts[p.Line]+":"+parts[p.Column]+": "), line)
				assert.True(t, strings.HasSuffix(parts[p.File], ".handful"), line)
				assert.True(t, strings.HasSuffix(line, parts[p.Message]+" ["+parts[p.Code]+"]"), line)
			}
		}
		assert.Equal(t, 1, read, line)
	}
}
