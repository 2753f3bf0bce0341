package lsp

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"github.com/coder/websocket"
	"go.lsp.dev/jsonrpc2"
)

// Whoever is on this machine, and every page open in its browser, can reach a
// loopback port. So a server that listens answers to nobody who does not know
// the token that it was started with, reads no folder but those that it was
// started with, and keeps no place for who does not speak.

// NewToken is a word that nobody guesses.
func NewToken() string { return rand.Text() }

// times are how long a connection may keep the server waiting.
type times struct {
	hello time.Duration // from connecting to initialize
	write time.Duration // until the other side has taken a message
	alive time.Duration // between two pings, and until the answer to one
}

var usual = times{hello: 10 * time.Second, write: time.Minute, alive: 30 * time.Second}

// Bounds on how many connect.
const (
	mostClients = 32 // that have said hello
	mostWaiting = 64 // that have not; the oldest goes first
	maxHello    = 1 << 20
)

// A doorway is where connections wait until they have shown that they may come
// in. Whoever only stands there is sent away when others come.
type doorway struct {
	mu      sync.Mutex
	waiting []*guest
	inside  int
}

type guest struct {
	at   *doorway
	drop func()
	in   bool
}

var errFull = fmt.Errorf("%d clients are being served: end one of them first", mostClients)

func (d *doorway) arrive(drop func()) *guest {
	g := &guest{at: d, drop: drop}
	var oldest *guest
	d.mu.Lock()
	d.waiting = append(d.waiting, g)
	if len(d.waiting) > mostWaiting {
		oldest = d.waiting[0]
		d.waiting = d.waiting[1:]
	}
	d.mu.Unlock()
	if oldest != nil {
		oldest.drop()
	}
	return g
}

// enter lets a guest in who may come.
func (g *guest) enter() error {
	g.at.mu.Lock()
	defer g.at.mu.Unlock()
	g.at.part(g)
	if g.at.inside == mostClients {
		return errFull
	}
	g.in = true
	g.at.inside++
	return nil
}

// leave forgets a guest, wherever it stood.
func (g *guest) leave() {
	g.at.mu.Lock()
	defer g.at.mu.Unlock()
	g.at.part(g)
	if g.in {
		g.in = false
		g.at.inside--
	}
}

func (d *doorway) part(g *guest) {
	for i, w := range d.waiting {
		if w == g {
			d.waiting = append(d.waiting[:i:i], d.waiting[i+1:]...)
			return
		}
	}
}

// A door is what initialize has to pass in a session over the network.
type door struct {
	token  string // wanted in the initialization options; "" when it was in the URL
	enter  func() error
	within time.Duration
}

func (d *door) opens(token string) error {
	if d.token != "" && !same(token, d.token) {
		return refuse("this server wants the token that it was started with, as \"token\" in the initialization options")
	}
	return d.enter()
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

// ErrNotLoopback is returned for an address that others could reach.
var ErrNotLoopback = errors.New("the server listens on loopback only: use 127.0.0.1:PORT or [::1]:PORT")

// Listen opens a loopback address, and no other.
func Listen(address string) (net.Listener, error) {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return nil, err
	}
	if ip := net.ParseIP(host); ip == nil || !ip.IsLoopback() {
		return nil, ErrNotLoopback
	}
	return net.Listen("tcp", address)
}

// ServeTCP serves every connection that a listener takes, until ctx ends. A
// client says the token in its initialization options.
func ServeTCP(ctx context.Context, l net.Listener, token string, opt Options) error {
	return serveTCP(ctx, l, token, opt, usual)
}

func serveTCP(ctx context.Context, l net.Listener, token string, opt Options, t times) error {
	if token == "" {
		return errors.New("a server that listens wants a token")
	}
	opt.Confined = true
	stop := context.AfterFunc(ctx, func() { l.Close() })
	defer stop()
	var at doorway
	for {
		c, err := l.Accept()
		if err != nil {
			if ctx.Err() != nil {
				return nil
			}
			return err
		}
		g := at.arrive(func() { c.Close() })
		go func() {
			defer g.leave()
			defer c.Close()
			stream := newFramed(c, c, c)
			stream.strict = true
			stream.most.Store(maxHello)
			stream.before = func() { c.SetWriteDeadline(time.Now().Add(t.write)) }
			opt := opt
			opt.door = &door{token: token, within: t.hello, enter: func() error {
				err := g.enter()
				if err == nil {
					stream.most.Store(maxMessage)
				}
				return err
			}}
			Serve(ctx, stream, opt)
		}()
	}
}

// A webStream carries one message in each WebSocket message, without header.
type webStream struct {
	ctx   context.Context // of the connection
	conn  *websocket.Conn
	write time.Duration
}

func (w webStream) Read(ctx context.Context) (jsonrpc2.Message, int64, error) {
	for {
		_, body, err := w.conn.Read(ctx)
		switch {
		case websocket.CloseStatus(err) >= 0:
			return nil, 0, io.EOF
		case err != nil:
			return nil, 0, err
		}
		msg, err := jsonrpc2.DecodeMessage(body)
		if err == nil {
			return msg, int64(len(body)), nil
		}
		if err := answerUnreadable(ctx, w, err); err != nil {
			return nil, 0, err
		}
	}
}

// Write does not hand its context on: that of an answer goes with its request,
// and what writes to the network may look at it later. A client that does not
// take a message in time is let go.
func (w webStream) Write(_ context.Context, msg jsonrpc2.Message) (int64, error) {
	body, err := jsonrpc2.EncodeMessage(msg)
	if err != nil {
		return 0, err
	}
	ctx, cancel := context.WithTimeout(w.ctx, w.write)
	defer cancel()
	return int64(len(body)), w.conn.Write(ctx, websocket.MessageText, body)
}

func (w webStream) Close() error {
	return w.conn.Close(websocket.StatusNormalClosure, "")
}

// WebURL is where a page finds the server.
func WebURL(l net.Listener, token string) string { return "ws://" + l.Addr().String() + "/" + token }

// ServeWeb serves a page's connections over WebSocket. It answers only when it
// is called by its own address, so that no name of somebody else's leads here;
// only pages of this machine; and only who knows the token, as the path of the
// URL.
func ServeWeb(ctx context.Context, l net.Listener, token string, opt Options) error {
	return serveWeb(ctx, l, token, opt, usual)
}

func serveWeb(ctx context.Context, l net.Listener, token string, opt Options, t times) error {
	if token == "" {
		return errors.New("a server that listens wants a token")
	}
	opt.Confined = true
	var at doorway
	var mu sync.Mutex
	guests := map[net.Conn]*guest{} // that have not asked yet
	server := &http.Server{
		ReadHeaderTimeout: t.hello,
		ReadTimeout:       t.hello,
		WriteTimeout:      t.write,
		MaxHeaderBytes:    maxHeader,
		ConnState: func(c net.Conn, state http.ConnState) {
			switch state {
			case http.StateNew:
				g := at.arrive(func() { c.Close() })
				mu.Lock()
				guests[c] = g
				mu.Unlock()
			case http.StateHijacked, http.StateClosed:
				mu.Lock()
				g := guests[c]
				delete(guests, c)
				mu.Unlock()
				if g != nil {
					g.leave()
				}
			}
		},
		Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if why := turnedAway(l.Addr(), token, r); why != "" {
				http.Error(w, why, http.StatusForbidden)
				return
			}
			g := at.arrive(func() {})
			defer g.leave()
			if err := g.enter(); err != nil {
				http.Error(w, err.Error(), http.StatusServiceUnavailable)
				return
			}
			c, err := websocket.Accept(w, r, &websocket.AcceptOptions{
				OriginPatterns: []string{"localhost", "localhost:*", "127.0.0.1", "127.0.0.1:*", `\[::1\]`, `\[::1\]:*`},
			})
			if err != nil {
				return // Accept has answered
			}
			c.SetReadLimit(maxMessage)
			own, cancel := context.WithCancel(ctx)
			defer cancel()
			go keepAlive(own, cancel, c, t.alive)
			opt := opt
			opt.door = &door{within: t.hello, enter: func() error { return nil }}
			Serve(own, webStream{own, c, t.write}, opt)
			c.CloseNow()
		}),
	}
	server.SetKeepAlivesEnabled(false)
	stop := context.AfterFunc(ctx, func() { server.Close() })
	defer stop()
	if err := server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// keepAlive ends a connection on whose other side nobody answers.
func keepAlive(ctx context.Context, cancel func(), c *websocket.Conn, every time.Duration) {
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		soon, done := context.WithTimeout(ctx, every)
		err := c.Ping(soon)
		done()
		if err != nil {
			cancel()
			return
		}
	}
}

// turnedAway says why a request is not let in, or "".
func turnedAway(here net.Addr, token string, r *http.Request) string {
	_, port, _ := net.SplitHostPort(here.String())
	if !strings.EqualFold(r.Host, here.String()) && !strings.EqualFold(r.Host, "localhost:"+port) {
		return "this server is called by another name than its own"
	}
	for _, origin := range r.Header.Values("Origin") {
		if !ofThisMachine(origin) {
			return "a page of another site may not connect"
		}
	}
	if !same(strings.TrimPrefix(r.URL.Path, "/"), token) {
		return "this needs the address that the server printed when it was started, with the word behind it"
	}
	return ""
}

// ofThisMachine says whether an origin is a page that this machine serves.
func ofThisMachine(origin string) bool {
	u, err := url.Parse(origin)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.User != nil || u.Path != "" {
		return false
	}
	switch strings.ToLower(u.Hostname()) {
	case "localhost", "127.0.0.1", "::1":
		return true
	}
	return false
}
