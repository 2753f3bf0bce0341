package lsp

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"
)

// Error codes of JSON-RPC 2.0 and of LSP 3.18.
const (
	parseError     = -32700
	invalidRequest = -32600
	methodNotFound = -32601
	invalidParams  = -32602
	notInitialized = -32002
	cancelled      = -32800
	requestFailed  = -32803
)

func TestRequestsOutOfTheirTimeAreRefused(t *testing.T) {
	c := dial(t, Options{})
	assert.Equal(t, notInitialized, c.refused("textDocument/hover", at(page, 0, 0)).Code)
	c.open(page, tooQuick) // dropped: nobody has said hello
	hello := obj{"processId": nil, "rootUri": nil, "capabilities": obj{}}
	c.call("initialize", hello, nil)
	assert.Equal(t, invalidRequest, c.refused("initialize", hello).Code)
	assert.Equal(t, requestFailed, c.refused("textDocument/hover", at(page, 0, 0)).Code)
	c.call("shutdown", nil, nil)
	assert.Equal(t, invalidRequest, c.refused("textDocument/hover", at(page, 0, 0)).Code)
	c.notify("exit", nil)
	assert.Equal(t, exitClean, c.exitCode())
}

func (c *client) exitCode() int {
	select {
	case code := <-c.done:
		c.done <- code // the end of the test looks for it too
		return code
	case <-time.After(patience):
		c.t.Fatal("the session does not end")
		return -1
	}
}

func TestAnExitWithoutShutdownIsEarly(t *testing.T) {
	c := start(t, nil, nil)
	c.notify("exit", nil)
	assert.Equal(t, exitEarly, c.exitCode())
}

func TestTheEndOfTheStreamEndsTheSession(t *testing.T) {
	c := start(t, nil, nil)
	c.toServer.Close()
	assert.Equal(t, exitEarly, c.exitCode())
}

func TestWhatIsNoMessageIsAnsweredOrEndsTheSession(t *testing.T) {
	for _, body := range []string{"{", "nonsense", "[]", `[{"jsonrpc":"2.0","id":1,"method":"shutdown"}]`, `{"jsonrpc":"2.0"}`, `"text"`, "\xff\xfe", ""} {
		c := start(t, nil, nil)
		c.raw(fmt.Sprintf("Content-Length: %d\r\n\r\n%s", len(body), body))
		m, ok := c.wait(func() (message, bool) { m, ok := c.answers["null"]; delete(c.answers, "null"); return m, ok })
		require.True(t, ok, "%q is not answered", body)
		assert.Equal(t, parseError, m.Error.Code, "%q", body)
		c.call("textDocument/documentSymbol", obj{"textDocument": c.opened(tooQuick)}, nil) // and it goes on
	}
	for _, bytes := range []string{
		"Content-Length: -5\r\n\r\n{}", "Content-Length: x\r\n\r\n{}", "Content-Type: y\r\n\r\n{}",
		"Content-Length: 99999999999\r\n\r\n{}", strings.Repeat("x", 100_000), "Content-Length: 50\r\n\r\n{}",
	} {
		c := start(t, nil, nil)
		c.raw(bytes)
		c.toServer.Close()
		assert.Equal(t, exitEarly, c.exitCode(), "%.40q", bytes)
	}
}

// opened opens a text and gives the document.
func (c *client) opened(text string) obj {
	c.open(page, text)
	return doc(page)
}

func TestUnknownThingsAreRefused(t *testing.T) {
	c := start(t, able, nil)
	c.open(page, tooQuick)
	assert.Equal(t, methodNotFound, c.refused("handful/nothing", obj{}).Code)
	assert.Equal(t, methodNotFound, c.refused("textDocument/moniker", at(page, 0, 0)).Code)
	assert.Equal(t, invalidParams, c.refused("textDocument/hover", obj{"textDocument": 7}).Code)
	assert.Equal(t, requestFailed, c.refused("textDocument/hover", at("untitled:other", 0, 0)).Code)
	assert.Equal(t, requestFailed, c.refused("workspace/executeCommand", obj{"command": "handful.dance", "arguments": arr{page}}).Code)
	assert.Equal(t, requestFailed, c.refused("workspace/executeCommand", obj{"command": "handful.sheet"}).Code)
	c.notify("$/unknown", obj{"x": 1})
	c.notify("unknown/notification", nil)
	c.notify("$/cancelRequest", obj{"id": 1.5})
	c.notify("$/cancelRequest", obj{"id": "never asked"})
	c.notify("textDocument/didChange", obj{"textDocument": 12})
	c.notify("textDocument/didChange", obj{"textDocument": obj{"uri": "untitled:never", "version": 2}, "contentChanges": arr{}})
	c.notify("textDocument/didClose", obj{"textDocument": doc("untitled:never")})
	c.call("textDocument/hover", at(page, 4, 20), nil)
}

func TestRangesOutsideTheTextAreAtItsEdge(t *testing.T) {
	c := start(t, able, nil)
	c.open(page, tooQuick)
	for _, method := range []string{"hover", "completion", "definition", "documentHighlight", "signatureHelp"} {
		c.call("textDocument/"+method, at(page, 100_000, 100_000), nil)
		c.call("textDocument/"+method, at(page, 3, 2147483647), nil)
	}
	c.call("textDocument/inlayHint", obj{"textDocument": doc(page), "range": span(5, 0, 2_000_000, 0)}, nil)
	c.call("textDocument/semanticTokens/range", obj{"textDocument": doc(page), "range": span(0, 0, 2_000_000, 9)}, nil)
	lines := strings.Count(tooQuick, "\n")
	c.change(page, 2, obj{"range": span(5, 100_000, 5, 200_000), "text": " # at the end of its line"})
	c.change(page, 3, obj{"range": span(lines, 0, lines+1, 0), "text": "# the end\n"})
	c.shownFor(page, 3)
	var found []struct {
		Range struct{ Start struct{ Line int } }
	}
	c.call("textDocument/foldingRange", obj{"textDocument": doc(page)}, &found)
}

// An edit that cannot be read, or lies outside the text, changes nothing: the
// text is kept, the client is asked for it again, and until it comes whole
// nothing is said that could be wrong. Once it has come, all is as before.
func TestAnEditThatDoesNotFitChangesNothing(t *testing.T) {
	lines := strings.Count(tooQuick, "\n")
	at := func(l1, c1, l2, c2 any) obj {
		return obj{"start": obj{"line": l1, "character": c1}, "end": obj{"line": l2, "character": c2}}
	}
	for name, change := range map[string]any{
		"behind the end":            obj{"range": span(900, 0, 901, 5), "text": "# the end\n"},
		"the wrong way round":       obj{"range": span(7, 9, 2, 1), "text": ""},
		"a line below nothing":      obj{"range": at(-1, 0, 0, 0), "text": "x"},
		"a line beyond all numbers": obj{"range": at(0, 0, 1<<32, 0), "text": "x"},
		"a line of letters":         obj{"range": at("a", 0, 0, 0), "text": "x"},
		"half a line":               obj{"range": at(0.5, 0, 1, 0), "text": "x"},
		"no column":                 obj{"range": obj{"start": obj{"line": 1}, "end": obj{"line": 2}}, "text": "x"},
		"no end":                    obj{"range": obj{"start": position(1, 0)}, "text": "x"},
		"a range that is a list":    obj{"range": arr{0, 0, 1, 0}, "text": "x"},
		"no text":                   obj{"range": span(0, 0, 0, 1)},
		"a number for a text":       obj{"text": 7},
		"no edit at all":            7,
		"inside a character":        obj{"range": span(0, 8, 0, 8), "text": "x"},
		"one line too many":         obj{"range": span(lines+1, 0, lines+1, 0), "text": "x"},
	} {
		t.Run(name, func(t *testing.T) {
			for _, again := range []bool{false, true} {
				capable := obj{}
				for k, v := range able {
					capable[k] = v
				}
				capable["experimental"] = obj{"handfulSendAgain": again}
				c := start(t, capable, nil)
				text := strings.Replace(tooQuick, "Two Hands", "\U0001d11e Hands", 1)
				c.open(page, text)
				before := c.shownFor(page, 1)
				c.change(page, 2, change, obj{"range": span(0, 0, 3, 0), "text": ""})
				asked := "window/showMessage"
				if again {
					asked = methodSendAgain
				}
				_, ok := c.wait(func() (message, bool) {
					for _, m := range c.notes {
						if m.Method == asked {
							return m, true
						}
					}
					return message{}, false
				})
				require.True(t, ok, "the client is not asked for the text")
				got := c.shownFor(page, 2)
				require.Len(t, got, 1)
				assert.Contains(t, got[0].Message, "whole text")
				for _, method := range []string{"formatting", "rename", "hover", "documentSymbol"} {
					p := obj{"textDocument": doc(page), "position": position(4, 3), "newName": "x", "options": obj{"tabSize": 2, "insertSpaces": true}}
					assert.Contains(t, c.refused("textDocument/"+method, p).Message, "whole text", method)
				}
				c.change(page, 3, obj{"range": span(0, 0, 0, 1), "text": ""}) // still not known
				c.change(page, 4, obj{"text": text})
				assert.Equal(t, before, c.shownFor(page, 4))
			}
		})
	}
}

// A file that uses a text which is not known any more is checked with the last
// that was.
func TestWhatUsesALostTextKeepsWhatItHad(t *testing.T) {
	piece := "tempo 60\nbars 2\nuse \"kit.handful\"\nplayer Ida\n  R woodblock with snare-stick | 1\n"
	kit := "kit\n  woodblock clamped at ahead 40\n"
	c, id := folderWith(t, map[string]string{"kit.handful": "", "a.handful": ""})
	c.open(id("kit.handful"), kit)
	c.shownFor(id("kit.handful"), 1)
	c.change(id("kit.handful"), 2, obj{"range": span(99, 0, 99, 0), "text": "x"})
	c.open(id("a.handful"), piece)
	assert.NotContains(t, codes(c.shownFor(id("a.handful"), 1)), "assumed-kit")
}

// Nothing is kept of documents that were opened and closed.
func TestClosedDocumentsAreForgotten(t *testing.T) {
	inR, inW := io.Pipe()
	outR, outW := io.Pipe()
	go io.Copy(io.Discard, outR)
	s := newSession(t.Context(), newFramed(inR, outW, both{inR, outW}), Options{})
	defer inW.Close()
	s.phase.Store(phaseUp)
	for i := range 50 {
		id := fmt.Sprintf("file:///nowhere/p%%C3%%A4%d.handful", i)
		raw, err := json.Marshal(obj{"textDocument": obj{"uri": id, "languageId": "handful", "version": 1, "text": tooQuick}})
		require.NoError(t, err)
		key, err := uri.Parse(id)
		require.NoError(t, err)
		var p protocol.DidOpenTextDocumentParams
		require.NoError(t, protocol.Unmarshal(raw, &p))
		require.NoError(t, s.DidOpen(context.WithValue(t.Context(), writtenKey{}, writtenURI(raw)), &p))
		require.Equal(t, uri.URI(id), s.spelling(key))
		d := s.now().docs.get(key)
		require.NotNil(t, d)
		s.keepTokens(key, []uint32{1}, colouredLines{})
		require.NoError(t, s.DidClose(t.Context(), &protocol.DidCloseTextDocumentParams{TextDocument: protocol.TextDocumentIdentifier{URI: key}}))
	}
	s.work.Wait()
	assert.Empty(t, s.spelled)
	assert.Empty(t, s.tokens)
	assert.Empty(t, s.runners)
	assert.Empty(t, s.users)
	assert.Empty(t, s.underway)
	assert.Empty(t, s.line)
	assert.Zero(t, s.now().docs.n)
	assert.Zero(t, s.now().names.n)
}

func TestDocumentsOfAnySchemeAreChecked(t *testing.T) {
	c := start(t, fixing, nil)
	for _, uri := range []string{"untitled:Untitled-1", "vscode-notebook-cell:/a/b#c", "git:/x/y.handful?ref=HEAD", "file:///nowhere/here/piece.handful", "inmemory://model/1"} {
		c.open(uri, tooQuick)
		assert.Contains(t, codes(c.shownFor(uri, 1)), "short-change", uri)
	}
}

func TestNothingOutsideTheWorkspaceIsRead(t *testing.T) {
	outer := t.TempDir()
	root := filepath.Join(outer, "work")
	require.NoError(t, os.Mkdir(root, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(outer, "secret.handful"), []byte("instrument secret-bell\n"), 0o600))
	require.NoError(t, os.Symlink(filepath.Join(outer, "secret.handful"), filepath.Join(root, "link.handful")))
	c := start(t, fixing, obj{"workspaceFolders": arr{obj{"uri": string(uri.File(root)), "name": "work"}}})
	in := string(uri.File(filepath.Join(root, "a.handful")))
	for i, path := range []string{"../secret.handful", filepath.Join(outer, "secret.handful"), "link.handful", "sub/../../secret.handful"} {
		id := strings.Replace(in, "a.handful", fmt.Sprintf("a%d.handful", i), 1)
		c.open(id, fmt.Sprintf("use %q\nplayer Ida\n  R secret-bell | 1\n", path))
		got := c.shownFor(id, 1)
		assert.Contains(t, codes(got), "use", path)
		assert.Contains(t, codes(got), "unknown-name", path)
	}
	out := string(uri.File(filepath.Join(outer, "b.handful"))) // open, and in no folder of the workspace
	c.open(out, "use \"secret.handful\"\n")
	assert.Contains(t, codes(c.shownFor(out, 1)), "use")
}

func TestCancelledRequestsSaySo(t *testing.T) {
	c := start(t, able, nil)
	c.open(page, large(4000))
	id := c.ask("textDocument/codeAction", obj{"textDocument": doc(page), "range": span(0, 0, 4000, 0), "context": obj{"diagnostics": arr{}}})
	c.notify("$/cancelRequest", obj{"id": json.Number(id)})
	if m := c.answer(id); m.Error != nil {
		assert.Equal(t, cancelled, m.Error.Code)
	}
	c.call("textDocument/hover", at(page, 4, 20), nil)
}

// large is a piece of about so many lines, all of them music.
func large(lines int) string {
	var b strings.Builder
	b.WriteString("tempo 100\n")
	for i := 0; b.Len() < lines*30; i++ {
		fmt.Fprintf(&b, "part \"P%d\"\n", i)
		for k := range 40 {
			fmt.Fprintf(&b, "  from %d\n  woodblock | 1 2 3 4 | 1 2& 3 4\n", 1+k*2)
		}
		fmt.Fprintf(&b, "player Q%d\n  RL woodblock as written of \"P%d\"\n", i, i)
	}
	return b.String()
}

// A text of 50 MB is taken, answered for, edited and closed.
func TestAVeryLargeDocument(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a while")
	}
	c := start(t, able, nil)
	c.patience = allTime(t)
	line := "  woodblock | 1 2 3 4 | 1 2& 3 4 | 1 2 3 4 | 1 2 3 4 | 1 2 3 4 | 1 2 3 4 | 1 2 3 4 |\n"
	c.open(page, "part \"P\"\n"+strings.Repeat(line, 50<<20/len(line)))
	c.change(page, 2, obj{"range": span(0, 0, 0, 0), "text": "# "})
	c.change(page, 3, obj{"range": span(0, 0, 0, 2), "text": ""})
	c.call("textDocument/completion", at(page, 1, 2), nil)
	c.change(page, 4, obj{"text": tooQuick})
	assert.Contains(t, codes(c.shownFor(page, 4)), "short-change")
}

// A client that sends and never reads is not listened to for ever: the server
// waits with it, and ends with it.
func TestAClientThatStopsReading(t *testing.T) {
	inR, inW := io.Pipe()
	outR, outW := io.Pipe()
	done := make(chan int, 1)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go func() { done <- Serve(ctx, newFramed(inR, outW, both{inR, outW}), Options{}) }()
	before := runtime.NumGoroutine()
	sent := make(chan int, 1)
	go func() {
		n := 0
		for ; n < 100_000; n++ {
			body := fmt.Sprintf(`{"jsonrpc":"2.0","id":%d,"method":"workspace/symbol","params":{"query":""}}`, n)
			if n == 0 {
				body = `{"jsonrpc":"2.0","id":0,"method":"initialize","params":{"processId":null,"rootUri":null,"capabilities":{}}}`
			}
			if _, err := fmt.Fprintf(inW, "Content-Length: %d\r\n\r\n%s", len(body), body); err != nil {
				break
			}
		}
		sent <- n
	}()
	time.Sleep(300 * time.Millisecond)
	assert.Less(t, runtime.NumGoroutine()-before, 3*mostRequests)
	outR.Close() // the client is gone
	inW.Close()
	select {
	case <-done:
	case <-time.After(patience):
		t.Fatal("the session does not end")
	}
	assert.Less(t, <-sent, 100_000)
}
