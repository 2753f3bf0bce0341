package lsp

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/textproto"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.lsp.dev/jsonrpc2"
)

// patience is how long a test waits for a message before it fails. It is there
// for what never comes, not to measure anything.
const patience = 2 * time.Minute

// allTime is the patience of a test whose work takes what it takes: as long as
// the run of the tests itself.
func allTime(t testing.TB) time.Duration {
	if t, ok := t.(*testing.T); ok {
		if end, ok := t.Deadline(); ok {
			return max(patience, time.Until(end)-10*time.Second)
		}
	}
	return time.Hour
}

// A message is one of the wire's.
type message struct {
	JSONRPC string          `json:"jsonrpc"`
	ID      json.RawMessage `json:"id,omitempty"`
	Method  string          `json:"method,omitempty"`
	Params  json.RawMessage `json:"params,omitempty"`
	Result  json.RawMessage `json:"result,omitempty"`
	Error   *wireError      `json:"error,omitempty"`
}

type wireError struct {
	Code    int    `json:"code"`
	Message string `json:"message"`
}

// A client speaks to a server in the same process, over pipes, with messages
// of its own making: it shares no code with the server's side of the wire.
type client struct {
	t        testing.TB
	toServer io.WriteCloser
	done     chan int // the session's exit code
	mu       sync.Mutex
	cond     *sync.Cond
	next     int
	asked    map[string]string // method of each request of ours that is open
	answers  map[string]message
	notes    []message // notifications and requests of the server, unread
	closed   bool
	settings any // what workspace/configuration is answered with
	invalid  []string
	lax      bool // the test sends what is no message of ours
	patience time.Duration
}

// start begins a session; capabilities may be nil for a plain client.
func start(t testing.TB, capabilities any, more map[string]any) *client {
	return startWith(t, Options{Version: "test"}, capabilities, more)
}

func startWith(t testing.TB, opt Options, capabilities any, more map[string]any) *client {
	c := dial(t, opt)
	params := map[string]any{"processId": nil, "rootUri": nil, "capabilities": map[string]any{}}
	if capabilities != nil {
		params["capabilities"] = capabilities
	}
	for k, v := range more {
		params[k] = v
	}
	c.call("initialize", params, nil)
	c.notify("initialized", map[string]any{})
	return c
}

// dial connects without a greeting.
func dial(t testing.TB, opt Options) *client {
	return connect(t, func(ctx context.Context, stream jsonrpc2.Stream) int { return Serve(ctx, stream, opt) })
}

// connect connects to whatever serves a stream.
func connect(t testing.TB, serve func(context.Context, jsonrpc2.Stream) int) *client {
	inR, inW := io.Pipe()
	outR, outW := io.Pipe()
	c := &client{t: t, toServer: inW, done: make(chan int, 1), asked: map[string]string{}, answers: map[string]message{}, patience: patience}
	c.cond = sync.NewCond(&c.mu)
	ctx, cancel := context.WithCancel(context.Background())
	go func() {
		c.done <- serve(ctx, newFramed(inR, outW, both{inR, outW}))
		outW.Close()
	}()
	go c.listen(outR)
	t.Cleanup(func() {
		inW.Close()
		select {
		case <-c.done:
		case <-time.After(c.patience):
			t.Error("the session does not end with its stream")
		}
		cancel()
		c.mu.Lock()
		defer c.mu.Unlock()
		for _, w := range c.invalid {
			t.Error(w)
		}
		for id := range c.answers {
			if !c.lax {
				t.Errorf("nobody has read the answer to %s (%s)", id, c.asked[id])
			}
		}
	})
	return c
}

type both []io.Closer

func (b both) Close() error {
	for _, c := range b {
		c.Close()
	}
	return nil
}

func (c *client) listen(r io.Reader) {
	in := bufio.NewReader(r)
	defer func() {
		c.mu.Lock()
		c.closed = true
		c.cond.Broadcast()
		c.mu.Unlock()
	}()
	for {
		header, err := textproto.NewReader(in).ReadMIMEHeader()
		if err != nil {
			return
		}
		n, err := strconv.Atoi(header.Get("Content-Length"))
		if err != nil {
			c.complain("the server sent the length %q", header.Get("Content-Length"))
			return
		}
		body := make([]byte, n)
		if _, err := io.ReadFull(in, body); err != nil {
			return
		}
		var m message
		if err := json.Unmarshal(body, &m); err != nil {
			c.complain("the server sent %s: %v", body, err)
			continue
		}
		c.take(m)
	}
}

func (c *client) complain(format string, args ...any) {
	c.mu.Lock()
	c.invalid = append(c.invalid, fmt.Sprintf(format, args...))
	c.mu.Unlock()
}

func (c *client) take(m message) {
	if !c.lax {
		c.validate(m)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	defer c.cond.Broadcast()
	if m.Method == "" {
		c.answers[string(m.ID)] = m
		return
	}
	c.notes = append(c.notes, m)
	if m.ID != nil {
		go c.reply(m)
	}
}

// reply answers what the server asks.
func (c *client) reply(m message) {
	var result any
	switch m.Method {
	case "workspace/configuration":
		c.mu.Lock()
		result = []any{c.settings}
		c.mu.Unlock()
	case "workspace/applyEdit":
		result = map[string]any{"applied": true}
	case "window/showDocument":
		result = map[string]any{"success": true}
	}
	c.send(map[string]any{"jsonrpc": "2.0", "id": m.ID, "result": result})
}

func (c *client) send(v any) {
	body, err := json.Marshal(v)
	require.NoError(c.t, err)
	c.raw(fmt.Sprintf("Content-Length: %d\r\n\r\n%s", len(body), body))
}

func (c *client) raw(text string) { io.WriteString(c.toServer, text) }

func (c *client) notify(method string, params any) {
	c.send(map[string]any{"jsonrpc": "2.0", "method": method, "params": params})
}

// ask sends a request and gives its id.
func (c *client) ask(method string, params any) string {
	c.mu.Lock()
	c.next++
	id := strconv.Itoa(c.next)
	c.asked[id] = method
	c.mu.Unlock()
	m := map[string]any{"jsonrpc": "2.0", "id": c.next, "method": method}
	if params != nil {
		m["params"] = params
	}
	c.send(m)
	return id
}

// answer waits for the answer to a request.
func (c *client) answer(id string) message {
	c.t.Helper()
	m, ok := c.wait(func() (message, bool) { m, ok := c.answers[id]; delete(c.answers, id); return m, ok })
	require.True(c.t, ok, "no answer to %s", c.asked[id])
	return m
}

// wait waits until the messages hold what is looked for.
func (c *client) wait(found func() (message, bool)) (message, bool) {
	deadline := time.Now().Add(c.patience)
	wake := time.AfterFunc(c.patience, c.cond.Broadcast)
	defer wake.Stop()
	c.mu.Lock()
	defer c.mu.Unlock()
	for {
		if m, ok := found(); ok {
			return m, true
		}
		if c.closed || time.Now().After(deadline) {
			return message{}, false
		}
		c.cond.Wait()
	}
}

// call asks, waits, and reads the result; an error fails the test.
func (c *client) call(method string, params, result any) {
	c.t.Helper()
	m := c.answer(c.ask(method, params))
	require.Nil(c.t, m.Error, "%s: %+v", method, m.Error)
	if result != nil {
		require.NoError(c.t, json.Unmarshal(m.Result, result), "%s", m.Result)
	}
}

// refused asks for what must be refused, and gives the error.
func (c *client) refused(method string, params any) wireError {
	c.t.Helper()
	m := c.answer(c.ask(method, params))
	require.NotNil(c.t, m.Error, "%s should be refused, and was answered %s", method, m.Result)
	return *m.Error
}

type obj = map[string]any
type arr = []any

func position(line, character int) obj { return obj{"line": line, "character": character} }
func span(l1, c1, l2, c2 int) obj      { return obj{"start": position(l1, c1), "end": position(l2, c2)} }
func doc(uri string) obj               { return obj{"uri": uri} }
func at(uri string, line, character int) obj {
	return obj{"textDocument": doc(uri), "position": position(line, character)}
}

func (c *client) open(uri, text string) {
	c.notify("textDocument/didOpen", obj{"textDocument": obj{"uri": uri, "languageId": "handful", "version": 1, "text": text}})
}

func (c *client) change(uri string, version int, changes ...any) {
	c.notify("textDocument/didChange", obj{"textDocument": obj{"uri": uri, "version": version}, "contentChanges": changes})
}

// A diagnostic is as a client reads it.
type diagnostic struct {
	Range struct {
		Start, End struct{ Line, Character int }
	}
	Severity           int
	Code               string
	Message            string
	Tags               []int
	CodeDescription    struct{ Href string }
	RelatedInformation []struct {
		Location struct{ URI string }
		Message  string
	}
}

type published struct {
	URI         string
	Version     int
	Diagnostics []diagnostic
}

// shownFor waits for the diagnostics of one version of a document.
func (c *client) shownFor(uri string, version int) []diagnostic {
	c.t.Helper()
	var got published
	_, ok := c.wait(func() (message, bool) {
		for _, m := range c.notes {
			if m.Method != "textDocument/publishDiagnostics" {
				continue
			}
			var p published
			json.Unmarshal(m.Params, &p)
			if p.URI == uri && p.Version == version {
				got = p
				return m, true
			}
		}
		return message{}, false
	})
	require.True(c.t, ok, "no diagnostics for version %d of %s", version, uri)
	return got.Diagnostics
}

func codes(list []diagnostic) []string {
	out := []string{}
	for _, d := range list {
		out = append(out, d.Code)
	}
	return out
}
