package lsp

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"time"

	"github.com/coder/websocket"
	"go.lsp.dev/jsonrpc2"
)

// A webStream carries one message in each WebSocket message, without header.
type webStream struct {
	ctx  context.Context // of the connection
	conn *websocket.Conn
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
// and what writes to the network may look at it later.
func (w webStream) Write(_ context.Context, msg jsonrpc2.Message) (int64, error) {
	body, err := jsonrpc2.EncodeMessage(msg)
	if err != nil {
		return 0, err
	}
	return int64(len(body)), w.conn.Write(w.ctx, websocket.MessageText, body)
}

func (w webStream) Close() error {
	return w.conn.Close(websocket.StatusNormalClosure, "")
}

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

// mostClients is how many connections are served at a time.
const mostClients = 32

// ServeTCP serves every connection that a listener takes, until ctx ends.
func ServeTCP(ctx context.Context, l net.Listener, opt Options) error {
	stop := context.AfterFunc(ctx, func() { l.Close() })
	defer stop()
	slots := make(chan struct{}, mostClients)
	for {
		slots <- struct{}{}
		c, err := l.Accept()
		if err != nil {
			if ctx.Err() != nil {
				return nil
			}
			return err
		}
		go func() {
			defer func() { <-slots }()
			defer c.Close()
			Serve(ctx, newFramed(c, c, c), opt)
		}()
	}
}

// ServeWeb serves a page's connections over WebSocket. A page may connect when
// it comes from this machine; any other site that is open in the same browser
// is turned away by its origin.
func ServeWeb(ctx context.Context, l net.Listener, opt Options) error {
	slots := make(chan struct{}, mostClients)
	server := &http.Server{
		ReadHeaderTimeout: 10 * time.Second,
		Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			select {
			case slots <- struct{}{}:
				defer func() { <-slots }()
			default:
				http.Error(w, "too many connections", http.StatusServiceUnavailable)
				return
			}
			c, err := websocket.Accept(w, r, &websocket.AcceptOptions{
				OriginPatterns: []string{"localhost", "localhost:*", "127.0.0.1", "127.0.0.1:*", `\[::1\]`, `\[::1\]:*`},
			})
			if err != nil {
				return // Accept has answered
			}
			c.SetReadLimit(maxMessage)
			Serve(ctx, webStream{ctx, c}, opt)
			c.CloseNow()
		}),
	}
	stop := context.AfterFunc(ctx, func() { server.Close() })
	defer stop()
	if err := server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}
