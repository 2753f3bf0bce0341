package lsp

import (
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.lsp.dev/uri"
)

// crashes are the texts that once ended the program.
func crashes(t testing.TB) map[string]string {
	files, err := filepath.Glob("../testdata/crashes/*.handful")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	out := map[string]string{}
	for _, f := range files {
		data, err := os.ReadFile(f)
		require.NoError(t, err)
		out[filepath.Base(f)] = string(data)
	}
	return out
}

// What once ended the program lies in a workspace and is opened: every request
// is answered, and no failure is among what is found.
func TestNoCrashComesBackInTheServer(t *testing.T) {
	texts := crashes(t)
	c, id := folderWith(t, texts)
	for _, name := range slices.Sorted(maps.Keys(texts)) {
		c.everything(id(name), texts[name], 1)
		assert.NotContains(t, codes(c.shownFor(id(name), 1)), "internal", name)
		for _, command := range [][]string{{"handful.sheet", "", "text"}, {"handful.sheet", "", "html"}, {"handful.plan"}, {"handful.export", "musicxml"}, {"handful.setup"}, {"handful.standing", "3", "9"}} {
			args := arr{id(name)}
			for _, a := range command[1:] {
				args = append(args, a)
			}
			m := c.answer(c.ask("workspace/executeCommand", obj{"command": command[0], "arguments": args}))
			assert.True(t, m.Error == nil || m.Error.Code == requestFailed && !strings.Contains(m.Error.Message, "the program failed"), "%s of %s: %+v", command[0], name, m.Error)
		}
	}
}

// failingOn is a program that fails in some work on one file.
func failingOn(name string, works ...string) func(work, on string) {
	return func(work, on string) {
		if strings.HasSuffix(on, name) && slices.Contains(works, work) {
			var nothing *document
			_ = nothing.version
		}
	}
}

const bad = "bad.handful"

// A file on which the program fails is one finding of that file, whether it is
// open or lies on the disk, and every other is read as ever.
func TestAFailureIsOneFindingOfItsFile(t *testing.T) {
	for _, work := range []string{"scanning", "checking", "showing"} {
		t.Run(work, func(t *testing.T) {
			root := t.TempDir()
			id := func(name string) string { return string(uri.File(filepath.Join(root, name))) }
			for _, name := range []string{"a.handful", bad, "c.handful"} {
				require.NoError(t, os.WriteFile(filepath.Join(root, name), []byte(tooQuick), 0o600))
			}
			c := startWith(t, Options{failing: failingOn(bad, work)}, able, obj{"rootUri": string(uri.File(root))})
			for _, name := range []string{"a.handful", "c.handful"} {
				assert.Contains(t, codes(c.shownFor(id(name), 0)), "short-change", name)
			}
			version := 0
			if work != "scanning" {
				version = 1
				c.open(id(bad), tooQuick)
			}
			got := c.shownFor(id(bad), version)
			require.Equal(t, []string{"internal"}, codes(got))
			assert.Contains(t, got[0].Message, "report")
			assert.Equal(t, 1, got[0].Severity)
			if work != "scanning" {
				c.everything(id(bad), tooQuick, 1)
				c.change(id(bad), 2, obj{"text": "tempo 90\n"})
				assert.Equal(t, []string{"internal"}, codes(c.shownFor(id(bad), 2)))
			}
			c.call("workspace/symbol", obj{"query": "Wren"}, nil)
		})
	}
}

// So is a failure in other work on an open document: it is refused, with what
// to report, and stands among what is found from then on.
func TestAFailureInOtherWorkIsOneFindingToo(t *testing.T) {
	for work, ask := range map[string]func(c *client, id string) wireError{
		"sheet": func(c *client, id string) wireError {
			return c.refused("workspace/executeCommand", obj{"command": "handful.sheet", "arguments": arr{id}})
		},
		"plan": func(c *client, id string) wireError {
			return c.refused("workspace/executeCommand", obj{"command": "handful.plan", "arguments": arr{id}})
		},
		"export": func(c *client, id string) wireError {
			return c.refused("workspace/executeCommand", obj{"command": "handful.export", "arguments": arr{id, "musicxml"}})
		},
		"looking for fixes": func(c *client, id string) wireError {
			return c.refused("textDocument/codeAction", obj{"textDocument": doc(id), "range": span(0, 0, 9, 9), "context": obj{"diagnostics": arr{}}})
		},
	} {
		t.Run(work, func(t *testing.T) {
			c := startWith(t, Options{failing: failingOn(bad, work)}, able, nil)
			id := "untitled:" + bad
			c.open(id, tooQuick)
			before := codes(c.shownFor(id, 1))
			for range 3 { // it is said once, however often it happens
				got := ask(c, id)
				assert.Equal(t, requestFailed, got.Code)
				assert.Contains(t, got.Message, "report")
			}
			var after []string
			_, ok := c.wait(func() (message, bool) {
				for _, m := range c.notes {
					var p published
					if json.Unmarshal(m.Params, &p) == nil && m.Method == "textDocument/publishDiagnostics" && slices.Contains(codes(p.Diagnostics), "internal") {
						after = codes(p.Diagnostics)
						return m, true
					}
				}
				return message{}, false
			})
			require.True(t, ok)
			assert.Equal(t, append(before, "internal"), after)
			c.call("textDocument/hover", at(id, 4, 3), nil)
			c.change(id, 2, obj{"text": tooQuick}) // another version is another piece of work
			assert.Equal(t, before, codes(c.shownFor(id, 2)))
		})
	}
}

// A failure that comes only of taking something over from the check before is
// none of the text's: a check from nothing answers.
func TestACheckFromNothingAnswersForOneThatFails(t *testing.T) {
	n := 0
	c := startWith(t, Options{failing: func(work, _ string) {
		if work == "checking" {
			if n++; n == 2 {
				panic("the second time")
			}
		}
	}}, able, nil)
	c.open(page, tooQuick)
	c.shownFor(page, 1)
	c.change(page, 2, obj{"range": span(0, 0, 0, 0), "text": "# "})
	assert.Contains(t, codes(c.shownFor(page, 2)), "short-change")
}
