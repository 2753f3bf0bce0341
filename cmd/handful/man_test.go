package main

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/alecthomas/kong"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The manual has every verb and every flag, and formatters of manual pages find
// nothing wrong with it.
func TestTheManualHasEverything(t *testing.T) {
	page, errs, code := run(t, "", "man")
	require.Equal(t, exitClean, code, errs)
	file := filepath.Join(t.TempDir(), "handful.1")
	require.NoError(t, os.WriteFile(file, []byte(page), 0o644))
	parser, err := kong.New(&program{})
	require.NoError(t, err)
	for _, node := range parser.Model.Children {
		_, after, ok := strings.Cut(page, "\n.SS "+node.Name+" ")
		if !ok {
			_, after, ok = strings.Cut(page, "\n.SS "+node.Name+"\n")
		}
		require.True(t, ok, node.Name)
		of, _, _ := strings.Cut(after, "\n.SS ")
		for _, f := range node.Flags {
			assert.Regexp(t, `\n\.B (\\-., )?`+regexp.QuoteMeta(strings.ReplaceAll("--"+f.Name, "-", `\-`)), of, "%s --%s", node.Name, f.Name)
		}
	}
	for _, line := range strings.Split(page, "\n") {
		assert.False(t, strings.HasPrefix(line, "'"), line)
		for _, r := range line {
			assert.Less(t, r, rune(0x80), line)
		}
	}
	if groff, err := exec.LookPath("groff"); err == nil {
		said, err := exec.Command(groff, "-man", "-Tutf8", "-ww", "-z", file).CombinedOutput()
		assert.NoError(t, err)
		assert.Empty(t, string(said))
	}
	if mandoc, err := exec.LookPath("mandoc"); err == nil {
		said, _ := exec.Command(mandoc, "-Tlint", "-Wwarning", file).CombinedOutput()
		for _, line := range strings.Split(strings.TrimSpace(string(said)), "\n") {
			if !strings.Contains(line, "missing date") { // which the commit gives, and a test has none
				assert.Empty(t, line)
			}
		}
	}
}

// In zsh, from a file where the shell looks for completions and read by the
// shell itself, what is offered is what there is.
func TestZshCompletes(t *testing.T) {
	zsh, err := exec.LookPath("zsh")
	if err != nil {
		t.Skip("no zsh here")
	}
	script, errs, code := run(t, "", "completion", "zsh")
	require.Equal(t, exitClean, code, errs)
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "_handful"), []byte(script), 0o644))
	asks := []struct{ typed, has string }{
		{"handful expl", "handful explain "},
		{"handful check --form", "handful check --format="},
		{"handful check --format=juni", "handful check --format=junit "},
		{"handful completion fi", "handful completion fish "},
		{"handful explain short-ch", "handful explain short-change "},
		{"handful check neat", "handful check neat.handful "},
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "neat.handful"), nil, 0o644))
	for _, how := range []string{"fpath=(" + dir + " $fpath); autoload -U compinit && compinit -D -u", "autoload -U compinit && compinit -D -u; source " + dir + "/_handful"} {
		// A shell in a terminal of its own, into which somebody types; the key
		// ^G says what stands on the line.
		script := "zmodload zsh/zpty\nzpty shell zsh -f -i\nzpty -w shell '" + how + "; show() { print -r -- is:${BUFFER}:; BUFFER= }; zle -N show; bindkey ^G show; PS1=rea\"\"dy'\nzpty -r -m shell seen '*ready*'\n"
		for _, ask := range asks {
			script += "zpty -w -n shell $'" + ask.typed + "\\t\\x07'\nzpty -r -m shell seen '*is:*:*'\nprint -r -- $seen\n"
		}
		ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
		defer cancel()
		cmd := exec.CommandContext(ctx, zsh, "-f", "-c", script+"zpty -d shell")
		cmd.Dir = dir
		said, err := cmd.CombinedOutput()
		require.NoError(t, err, string(said))
		for _, ask := range asks {
			assert.Contains(t, string(said), "is:"+ask.has+":", how)
		}
	}
}
