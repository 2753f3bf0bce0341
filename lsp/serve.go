package lsp

import (
	"context"
	"io"
	"log"
	"sync"
	"sync/atomic"
	"time"

	"go.lsp.dev/jsonrpc2"
	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/internal/folder"
)

// Options are what the command gives the server.
type Options struct {
	// Version is told to the client.
	Version string
	// Log takes what goes wrong with the client's messages; nil drops it.
	Log io.Writer
	// Alive says whether a process is still there. The server ends with the
	// process that began it; nil never asks.
	Alive func(pid int) bool
	// Folders are those that may be read, when the server is confined to them:
	// what the client names must lie in one of them, and they are the workspace
	// of a client that names none.
	Folders  []string
	Confined bool

	// Handbook says, without waiting, in which folder the handbook's pages are,
	// for a client that does not say it: "" while there is none, or it would lie
	// in one of the workspace's folders. Nil is none.
	Handbook func(workspace []string) string

	// Quiet is how long what may still become right waits while somebody writes
	// in its line. Zero shows everything at once.
	Quiet time.Duration

	// Paused is called when nobody has written for a while and nothing is left to
	// show, for what would be in the way of an edit. Nil is nothing.
	Paused func()

	after func(time.Duration, func()) (stop func() bool) // time.AfterFunc but in tests

	door *door // what initialize has to pass; nil for an editor's own process
	// failing is called at the beginning of every piece of work on a file, so
	// that a test can make it fail; nil outside of tests.
	failing func(work, name string)
}

// Exit codes of a session, as the protocol wants them.
const (
	exitClean = 0 // exit after shutdown
	exitEarly = 1 // exit, or the end of the stream, without shutdown
)

// ServeStdio serves one client over a pair of pipes.
func ServeStdio(ctx context.Context, in io.ReadCloser, out io.Writer, opt Options) (exit int) {
	return Serve(ctx, newFramed(in, out, in), opt)
}

// Serve serves one client until it says exit, its stream ends, or ctx does.
func Serve(ctx context.Context, stream jsonrpc2.Stream, opt Options) (exit int) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	s := newSession(ctx, stream, opt)
	s.conn.Go(ctx, s.handler())
	if opt.door != nil {
		late := time.AfterFunc(opt.door.within, func() {
			if s.phase.Load() == phaseNew {
				s.Exit(ctx)
			}
		})
		defer late.Stop()
	}
	select {
	case <-s.conn.Done():
		if err := s.conn.Err(); err != nil {
			s.log.Print(err)
		}
	case <-s.gone:
	case <-ctx.Done():
	}
	cancel()
	stream.Close()
	s.waitAWhile()
	if s.phase.Load() == phaseDown {
		return exitClean
	}
	return exitEarly
}

func newSession(ctx context.Context, stream jsonrpc2.Stream, opt Options) *session {
	if opt.Log == nil {
		opt.Log = io.Discard
	}
	s := &session{
		opt:       opt,
		log:       log.New(opt.Log, "handful lsp: ", 0),
		ctx:       ctx,
		library:   folder.NewLibrary(),
		slots:     make(chan struct{}, mostRequests),
		gone:      make(chan struct{}),
		answering: map[string]context.CancelFunc{},
		runners:   map[uri.URI]*runner{},
		shelf:     map[uri.URI]*shelved{},
		tokens:    map[uri.URI]lastTokens{},
		spelled:   map[uri.URI]uri.URI{},
		marked:    map[uri.URI]bool{},
		users:     map[string]map[uri.URI]bool{},
		underway:  map[*analysis]bool{},
		waking:    map[uri.URI]func() bool{},
	}
	s.world.Store(newWorld())
	s.conn = jsonrpc2.NewConn(stream, jsonrpc2.WithCodec(codec{}))
	s.client = protocol.ClientDispatcher(s.conn)
	return s
}

// waitAWhile waits two seconds at most for what is still running, so that a test or a page
// that ends a session finds it ended.
func (s *session) waitAWhile() {
	done := make(chan struct{})
	go func() { s.work.Wait(); close(done) }()
	select {
	case <-done:
	case <-time.After(2 * time.Second):
	}
}

// codec reads and writes the protocol's types.
type codec struct{}

func (codec) Marshal(v any) ([]byte, error) {
	switch v := v.(type) {
	case jsonrpc2.RawMessage:
		if v == nil {
			return []byte("null"), nil
		}
		return v, nil
	case protocol.LSPAny: // what a command answers is JSON already
		if v == nil {
			return []byte("null"), nil
		}
		return v, nil
	case *protocol.SemanticTokens:
		if v != nil && v.ResultID != nil {
			return tokensJSON(*v.ResultID, v.Data), nil
		}
	}
	return protocol.Marshal(v)
}

func (codec) Unmarshal(data []byte, v any) error { return protocol.Unmarshal(data, v) }

// A session is one client's connection.
type session struct {
	protocol.UnimplementedServer

	opt      Options
	log      *log.Logger
	ctx      context.Context // ends with the session
	conn     jsonrpc2.Conn
	client   protocol.Client
	library  *folder.Library
	settings settingsRead
	work     sync.WaitGroup
	slots    chan struct{} // requests that are being answered
	gone     chan struct{} // closed by exit
	exit     sync.Once
	phase    atomic.Int32
	trace    atomic.Bool

	can abilities // what the client can do; does not change after initialize
	enc encoding

	mu        sync.Mutex // guards changes of world, and what follows
	world     atomic.Pointer[world]
	answering map[string]context.CancelFunc // requests, by their ids
	runners   map[uri.URI]*runner
	shelf     map[uri.URI]*shelved // files of the workspace that are not open
	tokens    map[uri.URI]lastTokens
	spelled   map[uri.URI]uri.URI         // as the client writes them
	marked    map[uri.URI]bool            // the client shows something of them
	users     map[string]map[uri.URI]bool // open documents that want a file, by placeKey
	underway  map[*analysis]bool          // checks that are going on
	waking    map[uri.URI]func() bool     // stops the alarm that shows what waits for a pen
	pausing   func() bool                 // stops the alarm of the next pause
	line      []uri.URI                   // documents that wait for a worker
	workers   int
}

// The phases of a session.
const (
	phaseNew int32 = iota
	phaseUp
	phaseDown
)

// now is the state of all documents. It does not change.
func (s *session) now() *world { return s.world.Load() }

// change replaces the state of all documents.
func (s *session) change(f func(w *world)) *world {
	s.mu.Lock()
	defer s.mu.Unlock()
	w := s.world.Load().clone()
	f(w)
	s.world.Store(w)
	return w
}
