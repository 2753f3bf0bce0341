package lsp

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"
	"strconv"
	"strings"

	"go.lsp.dev/jsonrpc2"
	"go.lsp.dev/protocol"
)

// mostRequests is how many requests are answered at a time. A client that
// sends more and reads no answers is not read from until some are through.
const mostRequests = 128

// codeRequestFailed says that a request was understood and could not be done.
const codeRequestFailed jsonrpc2.Code = -32803

type worldKey struct{}

// worldOf is the state of the documents when a request arrived.
func (s *session) worldOf(ctx context.Context) *world {
	if w, ok := ctx.Value(worldKey{}).(*world); ok {
		return w
	}
	return s.now()
}

// handler handles messages: notifications one after the other, by the
// goroutine that reads, so that edits keep their order; requests each by
// itself, upon the documents as they stood when it arrived. The library's own
// chain runs notifications side by side, ends the connection with the first
// that fails, and lets a cancellation outlive the request's context.
func (s *session) handler() jsonrpc2.Handler {
	next := protocol.ServerHandler(s, nil)
	return func(ctx context.Context, req *jsonrpc2.Request) (any, error) {
		if req.IsCall() {
			return s.request(ctx, req, next)
		}
		if err := s.notification(ctx, req, next); err != nil {
			s.log.Printf("%s: %v", req.Method(), err)
		}
		return nil, nil
	}
}

func (s *session) notification(ctx context.Context, req *jsonrpc2.Request, next jsonrpc2.Handler) (err error) {
	defer s.survive(req.Method(), &err)
	switch {
	case req.Method() == protocol.MethodExit:
		return s.Exit(ctx)
	case s.phase.Load() != phaseUp:
		return nil // before initialize, or after shutdown
	case req.Method() == protocol.MethodCancelRequest:
		return s.cancel(req.Params())
	case req.Method() == protocol.MethodTextDocumentDidChange:
		return s.didChange(req.Params())
	case req.Method() == protocol.MethodTextDocumentDidOpen:
		ctx = context.WithValue(ctx, writtenKey{}, writtenURI(req.Params()))
	}
	_, err = next(ctx, req)
	return err
}

func (s *session) request(ctx context.Context, req *jsonrpc2.Request, next jsonrpc2.Handler) (result any, err error) {
	method := strings.Clone(req.Method()) // the request's own goes with its frame
	defer s.survive(method, &err)
	if err := s.welcome(method); err != nil {
		return nil, err
	}
	if method == protocol.MethodInitialize || method == protocol.MethodShutdown {
		result, err = next(ctx, req)
		return result, coded(err)
	}
	select {
	case s.slots <- struct{}{}:
	case <-s.ctx.Done():
		return nil, protocol.ErrRequestCancelled
	}
	defer func() { <-s.slots }()
	s.work.Add(1)
	defer s.work.Done()
	own, cancel := context.WithCancel(context.WithValue(jsonrpc2.DetachContext(ctx), worldKey{}, s.now()))
	defer cancel()
	id := keyOf(req.ID())
	s.mu.Lock()
	s.answering[id] = cancel
	s.mu.Unlock()
	defer func() {
		s.mu.Lock()
		delete(s.answering, id)
		s.mu.Unlock()
	}()
	jsonrpc2.Async(ctx)
	result, err = next(own, req)
	if own.Err() != nil {
		return nil, protocol.ErrRequestCancelled
	}
	return result, coded(err)
}

// keyOf tells the request 1 from the request "1".
func keyOf(id jsonrpc2.ID) string {
	if n, ok := id.Number(); ok {
		return strconv.FormatInt(n, 10)
	}
	text, _ := id.StringValue()
	return strconv.Quote(text)
}

// cancel gives up a request that is being answered.
func (s *session) cancel(params []byte) error {
	var p struct {
		ID json.RawMessage `json:"id"`
	}
	if err := json.Unmarshal(params, &p); err != nil {
		return err
	}
	id := string(p.ID)
	var text string
	if json.Unmarshal(p.ID, &text) == nil {
		id = strconv.Quote(text)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if cancel := s.answering[id]; cancel != nil {
		cancel()
	}
	return nil
}

// survive turns a panic into an error, and the session goes on.
func (s *session) survive(method string, err *error) {
	if r := recover(); r != nil {
		s.log.Printf("%s: %v\n%s", method, r, debug.Stack())
		*err = jsonrpc2.Errorf(jsonrpc2.InternalError, "this should not have happened, and the session goes on: %v", r)
	}
}

// welcome says whether a request may come now.
func (s *session) welcome(method string) error {
	switch phase := s.phase.Load(); {
	case phase == phaseNew && method != protocol.MethodInitialize:
		return jsonrpc2.NewError(jsonrpc2.ServerNotInitialized, "the server has not been initialized")
	case phase == phaseUp && method == protocol.MethodInitialize:
		return jsonrpc2.NewError(jsonrpc2.InvalidRequest, "the server has been initialized already")
	case phase == phaseDown:
		return jsonrpc2.NewError(jsonrpc2.InvalidRequest, "the server has been shut down")
	}
	return nil
}

// coded gives every error the code that the protocol wants for it.
func coded(err error) error {
	var wire *jsonrpc2.Error
	switch {
	case err == nil:
		return nil
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return protocol.ErrRequestCancelled
	case errors.Is(err, jsonrpc2.ErrParse):
		return jsonrpc2.NewError(jsonrpc2.InvalidParams, err.Error())
	case errors.As(err, &wire):
		return err
	}
	return jsonrpc2.NewError(codeRequestFailed, err.Error())
}

// refuse is an error for the person at the editor.
func refuse(format string, args ...any) error {
	return jsonrpc2.NewError(codeRequestFailed, fmt.Sprintf(format, args...))
}

// Request answers what is not in the protocol.
func (s *session) Request(ctx context.Context, method string, params any) (any, error) {
	if method == methodDocument {
		return s.document(params)
	}
	return nil, jsonrpc2.Errorf(jsonrpc2.MethodNotFound, "there is no method %s here", method)
}
