package lsp

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/textproto"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/coder/websocket"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.lsp.dev/uri"
)

func TestOnlyLoopbackIsListenedOn(t *testing.T) {
	for _, address := range []string{"0.0.0.0:0", ":0", "[::]:0", "192.0.2.1:0", "example.org:0", "localhost:0"} {
		_, err := Listen(address)
		assert.Error(t, err, address)
	}
	l, err := Listen("127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	assert.True(t, l.Addr().(*net.TCPAddr).IP.IsLoopback())
	assert.Error(t, ServeTCP(t.Context(), l, "", Options{}), "nobody is let in without a token")
	assert.Error(t, ServeWeb(t.Context(), l, "", Options{}))
	assert.NotEqual(t, NewToken(), NewToken())
	assert.GreaterOrEqual(t, len(NewToken()), 26) // 128 bits, five a letter
}

// serving starts a server for the length of a test.
func serving(t *testing.T, serve func(context.Context, net.Listener, string, Options, times) error, opt Options, ts times) (address, token string) {
	l, err := Listen("127.0.0.1:0")
	require.NoError(t, err)
	token = NewToken()
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- serve(ctx, l, token, opt, ts) }()
	t.Cleanup(func() {
		cancel()
		assert.NoError(t, <-ended)
	})
	return l.Addr().String(), token
}

// The attempts of a page of another site, byte for byte as a browser sends
// them: one whose name was made to lead to this machine after it was loaded, one
// that calls the port directly, pages that hide where they are from, and those
// that do not know the word. HOST is where the server is, TOKEN its word. The
// log of this test is the record of them.
var attempts = []struct{ who, host, origin, path string }{
	{"a site whose name was made to lead here", "evil.example:PORT", "http://evil.example:PORT", "/TOKEN"},
	{"the same without the port", "evil.example", "http://evil.example", "/TOKEN"},
	{"a site that calls this address", "HOST", "https://evil.example", "/TOKEN"},
	{"a site whose name begins like this machine's", "HOST", "http://127.0.0.1.evil.example", "/TOKEN"},
	{"a site whose name ends like this machine's", "HOST", "http://localhost.evil.example:80", "/TOKEN"},
	{"a site that says it is somebody", "HOST", "http://127.0.0.1@evil.example", "/TOKEN"},
	{"a page from a file or a frame without a site", "HOST", "null", "/TOKEN"},
	{"an extension of the browser", "HOST", "chrome-extension://abcdef", "/TOKEN"},
	{"this machine by a foreign name", "evil.example:PORT", "http://localhost:PORT", "/TOKEN"},
	{"a page of this machine without the word", "HOST", "http://localhost:5173", "/"},
	{"a page of this machine with a wrong word", "HOST", "http://localhost:5173", "/AAAAAAAAAAAAAAAAAAAAAAAAAA"},
	{"a page of this machine with the word and more", "HOST", "http://localhost:5173", "/TOKEN/"},
	{"another process without the word", "HOST", "", "/"},
}

func TestAForeignPageIsTurnedAway(t *testing.T) {
	root := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(root, "secret.handful"), []byte("title \"SECRET\"\n"), 0o600))
	host, token := serving(t, serveWeb, Options{Folders: []string{root}}, usual)
	_, port, err := net.SplitHostPort(host)
	require.NoError(t, err)
	fill := strings.NewReplacer("HOST", host, "PORT", port, "TOKEN", token)
	try := func(who, name, origin, path string) string {
		conn, err := net.Dial("tcp", host)
		require.NoError(t, err)
		defer conn.Close()
		request := "GET " + fill.Replace(path) + " HTTP/1.1\r\nHost: " + fill.Replace(name) + "\r\n"
		if origin != "" {
			request += "Origin: " + fill.Replace(origin) + "\r\n"
		}
		request += "Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n"
		_, err = io.WriteString(conn, request)
		require.NoError(t, err)
		r, err := http.ReadResponse(bufio.NewReader(conn), nil)
		require.NoError(t, err)
		body := ""
		if r.StatusCode != http.StatusSwitchingProtocols {
			raw, err := io.ReadAll(r.Body)
			require.NoError(t, err)
			body = string(raw)
		}
		t.Logf("%s\n  > %s\n  < %s: %s", who, strings.ReplaceAll(strings.TrimSpace(request), "\r\n", "\n  > "), r.Status, body)
		assert.NotContains(t, body, "SECRET")
		assert.NotContains(t, body, token)
		return r.Status
	}
	for _, a := range attempts {
		assert.Equal(t, "403 Forbidden", try(a.who, a.host, a.origin, a.path), a.who)
	}
	for _, who := range [][2]string{{"HOST", "http://localhost:5173"}, {"localhost:PORT", "http://127.0.0.1"}, {"HOST", "https://[::1]:8443"}, {"HOST", ""}} {
		assert.Equal(t, "101 Switching Protocols", try("who may", who[0], who[1], "/TOKEN"))
	}
}

const helloMessage = `{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"processId":null,"rootUri":null,"capabilities":{}%s}}`

func hello(more string) string { return fmt.Sprintf(helloMessage, more) }

func TestAPageTalksOverWebSocket(t *testing.T) {
	host, token := serving(t, serveWeb, Options{}, usual)
	c := paged(t, host, token)
	require.NoError(t, c.Write(t.Context(), websocket.MessageText, []byte(hello(""))))
	_, answer, err := c.Read(t.Context())
	require.NoError(t, err)
	assert.Contains(t, string(answer), `"positionEncoding":"utf-16"`)
}

func paged(t *testing.T, host, token string) *websocket.Conn {
	c, _, err := websocket.Dial(t.Context(), "ws://"+host+"/"+token, &websocket.DialOptions{HTTPHeader: http.Header{"Origin": {"http://localhost:5173"}}})
	require.NoError(t, err)
	t.Cleanup(func() { c.CloseNow() })
	return c
}

// A wire is a plain connection to a server.
type wire struct {
	t    *testing.T
	conn net.Conn
	in   *bufio.Reader
}

func wired(t *testing.T, host string) *wire {
	conn, err := net.Dial("tcp", host)
	require.NoError(t, err)
	t.Cleanup(func() { conn.Close() })
	return &wire{t, conn, bufio.NewReader(conn)}
}

func (w *wire) send(body string) {
	fmt.Fprintf(w.conn, "Content-Length: %d\r\n\r\n%s", len(body), body)
}

// read is the next message, or what ended the connection.
func (w *wire) read() (message, error) {
	w.conn.SetReadDeadline(time.Now().Add(patience))
	var m message
	header, err := textproto.NewReader(w.in).ReadMIMEHeader()
	if err != nil {
		return m, err
	}
	n, err := strconv.Atoi(header.Get("Content-Length"))
	require.NoError(w.t, err)
	body := make([]byte, n)
	if _, err := io.ReadFull(w.in, body); err != nil {
		return m, err
	}
	return m, json.Unmarshal(body, &m)
}

// ends waits for the other side to end the connection.
func (w *wire) ends(what string) {
	for {
		if _, err := w.read(); err != nil {
			var late net.Error
			if ok := asError(err, &late); ok && late.Timeout() {
				w.t.Error("the connection stays: " + what)
			}
			return
		}
	}
}

func asError(err error, late *net.Error) bool {
	e, ok := err.(net.Error)
	*late = e
	return ok
}

func TestOverTCPTheTokenIsWanted(t *testing.T) {
	soon := usual
	soon.hello = 300 * time.Millisecond
	host, token := serving(t, serveTCP, Options{}, soon)
	for _, more := range []string{"", `,"initializationOptions":{}`, `,"initializationOptions":[]`, `,"initializationOptions":{"token":"x"}`, `,"initializationOptions":{"token":7}`} {
		w := wired(t, host)
		w.send(hello(more))
		m, err := w.read()
		if err == nil { // it may have been sent away already
			require.NotNil(t, m.Error, more)
			assert.Contains(t, m.Error.Message, "token", more)
			assert.NotContains(t, m.Error.Message, token)
		}
		w.ends("without the token")
	}
	w := wired(t, host)
	w.send(hello(`,"initializationOptions":{"token":"` + token + `"}`))
	m, err := w.read()
	require.NoError(t, err)
	require.Nil(t, m.Error)
	assert.Contains(t, string(m.Result), "positionEncoding")
}

// What a page of another site can send to such a port is no message.
func TestOverTCPABrowserIsSentAway(t *testing.T) {
	host, _ := serving(t, serveTCP, Options{}, usual)
	for _, text := range []string{
		"POST / HTTP/1.1\r\nHost: " + host + "\r\nOrigin: https://evil.example\r\nContent-Length: 2\r\n\r\n{}",
		"GET / HTTP/1.1\r\n\r\n",
		"\x16\x03\x01\x00\xa5\x01\x00\x00\xa1\x03\x03\n",
		fmt.Sprintf("Content-Length: %d\r\n\r\n", maxHello+1),
	} {
		w := wired(t, host)
		io.WriteString(w.conn, text)
		w.ends(text)
	}
}

// Whoever connects and says nothing is sent away, after a while or when others
// come, and keeps nobody out.
func TestWhoSaysNothingKeepsNobodyOut(t *testing.T) {
	for name, serve := range map[string]func(context.Context, net.Listener, string, Options, times) error{"tcp": serveTCP, "web": serveWeb} {
		t.Run(name, func(t *testing.T) {
			host, token := serving(t, serve, Options{}, usual) // they would be let stand for ten seconds
			var idle []*wire
			for range 3 * mostWaiting {
				idle = append(idle, wired(t, host))
			}
			if name == "web" {
				c := paged(t, host, token)
				require.NoError(t, c.Write(t.Context(), websocket.MessageText, []byte(hello(""))))
				_, _, err := c.Read(t.Context())
				require.NoError(t, err)
			} else {
				w := wired(t, host)
				w.send(hello(`,"initializationOptions":{"token":"` + token + `"}`))
				_, err := w.read()
				require.NoError(t, err)
			}
			for _, w := range idle[:2*mostWaiting-1] {
				w.ends("others have come")
			}
		})
		t.Run(name+", after a while", func(t *testing.T) {
			soon := usual
			soon.hello = 50 * time.Millisecond
			host, token := serving(t, serve, Options{}, soon)
			wired(t, host).ends("it says nothing")
			if name == "web" {
				c := paged(t, host, token)
				_, _, err := c.Read(t.Context())
				assert.Error(t, err, "a page that does not say hello")
			}
		})
	}
}

// One client that sends and never reads is let go, and the others never notice.
func TestAClientThatStallsStopsNobodyElse(t *testing.T) {
	soon := usual
	soon.write = 200 * time.Millisecond
	host, token := serving(t, serveTCP, Options{}, soon)
	greeting := hello(`,"initializationOptions":{"token":"` + token + `"}`)
	stalled := wired(t, host)
	stalled.send(greeting)
	gone := make(chan struct{})
	go func() {
		defer close(gone)
		text, _ := json.Marshal(strings.Repeat("part \"A very long name of a part, so that answers are long\"\n", 200))
		open := `{"jsonrpc":"2.0","method":"textDocument/didOpen","params":{"textDocument":{"uri":"untitled:x","languageId":"handful","version":1,"text":` + string(text) + `}}}`
		fmt.Fprintf(stalled.conn, "Content-Length: %d\r\n\r\n%s", len(open), open)
		for n := 2; ; n++ {
			body := fmt.Sprintf(`{"jsonrpc":"2.0","id":%d,"method":"textDocument/documentSymbol","params":{"textDocument":{"uri":"untitled:x"}}}`, n)
			if _, err := fmt.Fprintf(stalled.conn, "Content-Length: %d\r\n\r\n%s", len(body), body); err != nil {
				return // the server has let go
			}
		}
	}()
	for range 20 {
		w := wired(t, host)
		w.send(greeting)
		m, err := w.read()
		require.NoError(t, err)
		require.Nil(t, m.Error)
		w.conn.Close()
	}
	select {
	case <-gone:
	case <-time.After(patience):
		t.Error("the client that stalls is kept")
	}
}

// More clients than are served at a time are told so, and let in when one goes.
func TestTooManyClientsAreToldSo(t *testing.T) {
	host, token := serving(t, serveTCP, Options{}, usual)
	greeting := hello(`,"initializationOptions":{"token":"` + token + `"}`)
	var in []*wire
	for range mostClients {
		w := wired(t, host)
		w.send(greeting)
		m, err := w.read()
		require.NoError(t, err)
		require.Nil(t, m.Error)
		in = append(in, w)
	}
	w := wired(t, host)
	w.send(greeting)
	m, err := w.read()
	require.NoError(t, err)
	require.NotNil(t, m.Error)
	assert.Contains(t, m.Error.Message, "32 clients")
	in[0].conn.Close()
	require.Eventually(t, func() bool {
		w := wired(t, host)
		w.send(greeting)
		m, err := w.read()
		return err == nil && m.Error == nil
	}, patience, 10*time.Millisecond)
}

// A page's connection whose other side does not answer a ping is ended.
func TestAPageThatIsGoneIsLetGo(t *testing.T) {
	soon := usual
	soon.alive = 50 * time.Millisecond
	host, token := serving(t, serveWeb, Options{}, soon)
	w := wired(t, host)
	fmt.Fprintf(w.conn, "GET /%s HTTP/1.1\r\nHost: %s\r\nConnection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n", token, host)
	w.conn.SetReadDeadline(time.Now().Add(patience))
	_, err := io.Copy(io.Discard, w.in) // it reads, and answers nothing
	assert.NoError(t, err)
}

// The folders are those of the command line, whatever a client names.
func TestOnlyTheFoldersOfTheCommandLineAreRead(t *testing.T) {
	shows, home := t.TempDir(), t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(shows, "spring"), 0o700))
	for _, f := range []string{filepath.Join(shows, "spring", "open.handful"), filepath.Join(home, "secret.handful")} {
		require.NoError(t, os.WriteFile(f, []byte("part \""+strings.TrimSuffix(filepath.Base(f), ".handful")+"\"\n"), 0o600))
	}
	require.NoError(t, os.Symlink(home, filepath.Join(shows, "link")))
	names := func(c *client) string {
		var out string
		require.Eventually(t, func() bool { // what is there is read in its own time
			var found []struct{ Name string }
			c.call("workspace/symbol", obj{"query": ""}, &found)
			for _, f := range found {
				out += f.Name + " "
			}
			return out != ""
		}, patience, 5*time.Millisecond)
		return out
	}
	for _, folder := range []string{home, "/", filepath.Dir(shows), filepath.Join(shows, "link"), filepath.Join(shows, "..", filepath.Base(home)), shows, filepath.Join(shows, "spring")} {
		c := startWith(t, Options{Folders: []string{shows}, Confined: true}, able, obj{"rootUri": string(uri.File(folder)), "workspaceFolders": arr{obj{"uri": string(uri.File(folder)), "name": "x"}}})
		assert.Equal(t, "open ", names(c), folder)
		c.notify("workspace/didChangeWorkspaceFolders", obj{"event": obj{"added": arr{obj{"uri": string(uri.File(home)), "name": "y"}}, "removed": arr{}}})
		id := string(uri.File(filepath.Join(home, "mine.handful")))
		c.open(id, "use \"secret.handful\"\n")
		assert.Contains(t, codes(c.shownFor(id, 1)), "use", "nothing beside it is read")
		assert.Equal(t, "open ", names(c), folder)
	}
	c := startWith(t, Options{Confined: true}, able, obj{"rootUri": string(uri.File(home))})
	id := string(uri.File(filepath.Join(home, "mine.handful")))
	c.open(id, "use \"secret.handful\"\npart \"mine\"\n")
	assert.Contains(t, codes(c.shownFor(id, 1)), "use")
	assert.Equal(t, "mine ", names(c))
}
