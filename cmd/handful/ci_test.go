package main

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"example.org/handful/internal/outside"
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
	strict := json.NewDecoder(bytes.NewReader(text))
	strict.DisallowUnknownFields()
	require.NoError(t, strict.Decode(&matchers))
	// What the service's runner refuses when a matcher is added, as its source (actions/runner, IssueMatcher.cs) has it: an owner
	// that is empty or there twice in any case, a severity of its own words only, no message, a group that the pattern has not.
	owners := map[string]bool{}
	for _, m := range matchers.ProblemMatcher {
		assert.NotEmpty(t, m.Owner)
		assert.False(t, owners[strings.ToLower(m.Owner)], m.Owner)
		owners[strings.ToLower(m.Owner)] = true
		assert.Contains(t, []string{"error", "warning", "notice"}, m.Severity)
		require.Len(t, m.Pattern, 1, m.Owner)
		p := m.Pattern[0]
		groups := regexp.MustCompile(p.Regexp).NumSubexp()
		for _, group := range []int{p.File, p.Line, p.Column, p.Message, p.Code} {
			assert.True(t, group > 0 && group <= groups, m.Owner)
		}
	}
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

// The job is one that GitLab's published schema lets pass, by a reader that is not ours, which refuses the same job with a report under a
// wrong name.
func TestTheJobIsWhatItsSchemaSays(t *testing.T) {
	reader := filepath.Join(outside.NodeModules(t, "gitlab-ci-local"), ".bin", "gitlab-ci-local")
	outside.Need(t, "git")
	text, err := os.ReadFile("../../examples/ci/job.gitlab-ci.yml")
	require.NoError(t, err)
	dir := t.TempDir()
	for _, args := range [][]string{{"init", "--quiet", "."}, {"remote", "add", "origin", "git@gitlab.example.org:band/library.git"}} {
		git := exec.Command("git", args...)
		git.Dir = dir
		require.NoError(t, git.Run())
	}
	list := func(job string) (string, error) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, ".gitlab-ci.yml"), []byte(job), 0o600))
		cmd := exec.Command(reader, "--list")
		cmd.Dir = dir
		cmd.Env = append(os.Environ(), "HOME="+dir)
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
	out, err := list(string(text))
	require.NoError(t, err, out)
	assert.Contains(t, out, "schema validated")
	assert.Regexp(t, `(?m)^pieces\s`, out)
	out, err = list(strings.Replace(string(text), "codequality:", "quality:", 1))
	require.Error(t, err, out)
	assert.Contains(t, out, "quality")
}
