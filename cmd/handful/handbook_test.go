package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/cmd/handful/disk"
)

// cacheIn gives the program a home of its own.
func cacheIn(t *testing.T, dir string) {
	for _, name := range []string{"HOME", "XDG_CACHE_HOME", "LocalAppData"} {
		t.Setenv(name, dir)
	}
}

// An editor that is not told where the handbook is gets it all the same: the pages
// are written once, and the code of a finding leads to one of them that is there.
func TestAFindingLeadsToAPageThatIsThere(t *testing.T) {
	cache, workspace := t.TempDir(), t.TempDir()
	cacheIn(t, cache)
	e := openEditor(t)
	defer e.end()
	e.open(workspace, "R triangle clipped with triangle-beater | ff 1x")
	var page string
	for n := 0; page == ""; n++ { // the first findings may be there before the pages are
		require.Less(t, n, 600, "no page in all that time")
		href := e.change(n)
		if path, ok := strings.CutPrefix(href, "file://"); ok {
			page = path
		} else {
			time.Sleep(50 * time.Millisecond)
		}
	}
	assert.True(t, strings.HasPrefix(page, really(cache)) || strings.HasPrefix(page, cache), page)
	text, err := os.ReadFile(page)
	require.NoError(t, err)
	assert.Contains(t, string(text), "<html")
	left, err := os.ReadDir(workspace)
	require.NoError(t, err)
	assert.Empty(t, left, "nothing is written in the workspace")
	mark, err := os.Stat(page)
	require.NoError(t, err)

	again := newOwnHandbook(quiet())
	folder := again.in([]string{workspace})
	assert.True(t, strings.HasPrefix(page, folder), "they are there at once for the next one")
	now, err := os.Stat(page)
	require.NoError(t, err)
	assert.Equal(t, mark.ModTime(), now.ModTime(), "and are not written again")
}

// Where the user's cache lies in the workspace, nothing is written, and the code
// leads to what the server itself says.
func TestNoPageIsWrittenIntoTheWorkspace(t *testing.T) {
	home := t.TempDir()
	cacheIn(t, filepath.Join(home, "cache"))
	for _, workspace := range []string{home, filepath.Join(home, "cache")} {
		assert.Empty(t, newOwnHandbook(quiet()).in([]string{t.TempDir(), workspace}))
	}
	link := filepath.Join(t.TempDir(), "link")
	require.NoError(t, os.Symlink(home, link))
	assert.Empty(t, newOwnHandbook(quiet()).in([]string{link}), "by whatever name")
	e := openEditor(t)
	defer e.end()
	e.open(home, "R triangle clipped with triangle-beater | ff 1x")
	assert.NotContains(t, e.change(1), "file:")
	left, err := os.ReadDir(home)
	require.NoError(t, err)
	assert.Empty(t, left)
}

// Pages of another build are written anew, and what somebody has written into one
// is written over.
func TestPagesOfAnotherBuildAreWrittenAnew(t *testing.T) {
	cacheIn(t, t.TempDir())
	folder := newOwnHandbook(quiet()).folder
	require.NoError(t, os.MkdirAll(folder, 0o777))
	require.NoError(t, os.WriteFile(filepath.Join(folder, ofBuild), []byte("another\n"), 0o666))
	require.NoError(t, os.WriteFile(filepath.Join(folder, "index.html"), []byte("old"), 0o666))
	h := newOwnHandbook(quiet())
	assert.False(t, h.current())
	h.write()
	assert.True(t, h.current())
	text, err := os.ReadFile(filepath.Join(folder, "index.html"))
	require.NoError(t, err)
	assert.NotEqual(t, "old", string(text))
}

func quiet() *streams {
	return &streams{ctx: context.Background(), disk: disk.Real{}, out: &output{to: io.Discard}, err: &output{to: io.Discard}}
}

// An editor talks to the program's own server.
type anEditor struct {
	t    *testing.T
	to   io.WriteCloser
	from *bufio.Reader
	done chan int
	uri  string
}

func openEditor(t *testing.T) *anEditor {
	in, to := io.Pipe()
	from, out := io.Pipe()
	e := &anEditor{t: t, to: to, from: bufio.NewReader(from), done: make(chan int, 1)}
	go func() {
		var errs bytes.Buffer
		e.done <- Run([]string{"lsp"}, in, out, &errs)
		out.Close()
	}()
	return e
}

func (e *anEditor) send(method string, id int, params any) {
	m := map[string]any{"jsonrpc": "2.0", "method": method, "params": params}
	if id > 0 {
		m["id"] = id
	}
	body, err := json.Marshal(m)
	require.NoError(e.t, err)
	_, err = fmt.Fprintf(e.to, "Content-Length: %d\r\n\r\n%s", len(body), body)
	require.NoError(e.t, err)
}

type message struct {
	ID     *int
	Method string
	Params struct {
		Version     int
		Diagnostics []struct {
			Code            string
			CodeDescription struct{ Href string }
		}
	}
}

func (e *anEditor) read() (m message) {
	size := 0
	for {
		line, err := e.from.ReadString('\n')
		require.NoError(e.t, err)
		if line = strings.TrimSpace(line); line == "" {
			break
		}
		if n, ok := strings.CutPrefix(line, "Content-Length: "); ok {
			_, err := fmt.Sscan(n, &size)
			require.NoError(e.t, err)
		}
	}
	body := make([]byte, size)
	_, err := io.ReadFull(e.from, body)
	require.NoError(e.t, err)
	_ = json.Unmarshal(body, &m)
	return m
}

func (e *anEditor) open(workspace, line string) {
	folder := (&url.URL{Scheme: "file", Path: filepath.ToSlash(workspace)}).String()
	e.uri = folder + "/show.handful"
	e.send("initialize", 1, map[string]any{"processId": nil, "rootUri": folder, "capabilities": map[string]any{
		"textDocument": map[string]any{"publishDiagnostics": map[string]any{"codeDescriptionSupport": true, "versionSupport": true}}}})
	for e.read().ID == nil {
	}
	e.send("initialized", 0, map[string]any{})
	e.send("textDocument/didOpen", 0, map[string]any{"textDocument": map[string]any{"uri": e.uri, "languageId": "handful", "version": 0,
		"text": "tempo 90\nplayer Ida\n  " + line + "\n"}})
}

// change changes the text and gives where the code of the first finding leads.
func (e *anEditor) change(n int) string {
	e.send("textDocument/didChange", 0, map[string]any{"textDocument": map[string]any{"uri": e.uri, "version": n + 1},
		"contentChanges": []map[string]any{{"text": fmt.Sprintf("tempo %d\nplayer Ida\n  R triangle clipped with triangle-beater | ff 1\n", 60+n%60)}}})
	for {
		if m := e.read(); m.Method == "textDocument/publishDiagnostics" && m.Params.Version == n+1 {
			require.NotEmpty(e.t, m.Params.Diagnostics)
			return m.Params.Diagnostics[0].CodeDescription.Href
		}
	}
}

func (e *anEditor) end() {
	e.send("shutdown", 2, nil)
	for {
		if m := e.read(); m.ID != nil && *m.ID == 2 {
			break
		}
	}
	e.send("exit", 0, nil)
	assert.Equal(e.t, exitClean, <-e.done)
}
