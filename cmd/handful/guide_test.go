package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/guide"
	"example.org/handful/lang/syntax"
)

// Whoever follows a topic of the handbook step by step, with its files, its
// changes and its commands, sees what it shows. With -update what a command
// really says is put into the topic; shorten it by hand with … where a reader
// needs less.
func TestTheHandbookShowsRealOutput(t *testing.T) {
	ran := 0
	for _, topic := range guide.Topics() {
		t.Run(topic.Name, func(t *testing.T) {
			source, err := filepath.Abs(filepath.Join("../../lang/guide/topics", topic.Name+".md"))
			require.NoError(t, err)
			t.Chdir(t.TempDir())
			done := 0 // of the topic's file, with -update
			for _, b := range topic.Blocks() {
				switch b.Kind {
				case "handful":
					if b.File != "" {
						require.NoError(t, os.WriteFile(b.File, []byte(b.Text), 0o644))
					}
				case "edit":
					was, err := os.ReadFile(b.File)
					require.NoError(t, err)
					text, err := b.Edit(string(was))
					require.NoError(t, err)
					require.NoError(t, os.WriteFile(b.File, []byte(text), 0o644))
					assert.ElementsMatch(t, b.Finds, foundIn(text), "%s, after\n%s", b.File, b.Text)
				case "console":
					line, want, _ := strings.Cut(b.Text, "\n")
					args := asShell(t, line)
					out, errs, code := run(t, "", args...)
					assert.Equal(t, b.Exit, code, "%s\n%s", line, errs)
					ran++
					got := out + errs
					if shows(want, got) {
						continue
					}
					if *update {
						data, err := os.ReadFile(source)
						require.NoError(t, err)
						at := done + strings.Index(string(data)[done:], "\n"+b.Text+"```") + 1
						text := string(data)[:at] + line + "\n" + got + string(data)[at+len(b.Text):]
						require.NoError(t, os.WriteFile(source, []byte(text), 0o644))
						done = at + len(line) + 1 + len(got)
						continue
					}
					assert.Fail(t, "another output", "%s\nsays:\n%s\nand the handbook shows:\n%s", line, got, want)
				}
			}
		})
	}
	assert.Greater(t, ran, 12, "commands that were run")
}

// foundIn is which errors, warnings and compromises a check finds, each once.
func foundIn(text string) (out []string) {
	r := check.Check("block.handful", syntax.Parse(text), check.Options{})
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Severity != check.Info && !slices.Contains(out, f.Rule.Name) {
			out = append(out, f.Rule.Name)
		}
	}
	return out
}

// asShell is a command line of a topic as its words; words in quotes are one.
func asShell(t *testing.T, line string) []string {
	rest, ok := strings.CutPrefix(line, "$ handful ")
	require.True(t, ok, "%q is no command of ours", line)
	var out []string
	for i, part := range strings.Split(rest, `"`) {
		if i%2 == 1 {
			out = append(out, part)
		} else {
			out = append(out, strings.Fields(part)...)
		}
	}
	return out
}

// shows says whether an output is what a topic shows, in which … stands for
// lines that are left out.
func shows(want, got string) bool {
	parts := strings.Split("\n"+want, "\n…\n")
	got = "\n" + got
	if len(parts) == 1 {
		return parts[0] == got
	}
	for i, p := range parts {
		switch {
		case i == 0 && !strings.HasPrefix(got, p+"\n") && p != "":
			return false
		case i == len(parts)-1:
			return strings.HasSuffix(got, "\n"+p)
		}
		at := strings.Index(got, p+"\n")
		if at < 0 {
			return false
		}
		got = got[at+len(p):]
	}
	return true
}

func TestWhatATopicShows(t *testing.T) {
	for _, c := range []struct {
		want, got string
		is        bool
	}{
		{"a\nb\n", "a\nb\n", true},
		{"a\n", "a\nb\n", false},
		{"a\n…\nd\n", "a\nb\nc\nd\n", true},
		{"a\n…\nd\n", "a\nb\nc\nd\ne\n", false},
		{"b\n…\nd\n", "a\nb\nc\nd\n", false},
		{"…\nd\n", "a\nd\n", true},
		{"a\n…\n", "a\nb\n", true},
		{"a\n…\nc\n…\nb\nd\n", "a\nb\nc\nd\n", false},
	} {
		assert.Equal(t, c.is, shows(c.want, c.got), "%q shows %q", c.want, c.got)
	}
}
