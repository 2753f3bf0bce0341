package lsp

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"

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
// chain runs notifications side by side and ends the connection with the
// first that fails.
func (s *session) handler() jsonrpc2.Handler {
	serve := protocol.CancelHandler(s.ordered(protocol.ServerHandler(s, nil)))
	return func(ctx context.Context, req *jsonrpc2.Request) (any, error) {
		if req.IsCall() {
			return serve(ctx, req)
		}
		if _, err := serve(ctx, req); err != nil {
			s.log.Printf("%s: %v", req.Method(), err)
		}
		return nil, nil
	}
}

func (s *session) ordered(next jsonrpc2.Handler) jsonrpc2.Handler {
	return func(ctx context.Context, req *jsonrpc2.Request) (result any, err error) {
		method := req.Method()
		defer func() {
			if r := recover(); r != nil {
				s.log.Printf("%s: %v\n%s", method, r, debug.Stack())
				result, err = nil, jsonrpc2.Errorf(jsonrpc2.InternalError, "this should not have happened, and the session goes on: %v", r)
			}
		}()
		if err := s.welcome(method, req.IsCall()); err != nil {
			return nil, err
		}
		if !req.IsCall() {
			if s.phase.Load() != phaseUp && method != protocol.MethodExit {
				return nil, nil // before initialize, or after shutdown
			}
			return next(ctx, req)
		}
		if method == protocol.MethodInitialize || method == protocol.MethodShutdown {
			result, err = next(ctx, req)
			return result, coded(err)
		}
		ctx = context.WithValue(ctx, worldKey{}, s.now())
		select {
		case s.slots <- struct{}{}:
		case <-s.ctx.Done():
			return nil, protocol.ErrRequestCancelled
		}
		defer func() { <-s.slots }()
		s.work.Add(1)
		defer s.work.Done()
		method = string([]byte(method)) // the request's own may go with its frame
		jsonrpc2.Async(ctx)
		result, err = next(ctx, req)
		if ctx.Err() != nil {
			err = protocol.ErrRequestCancelled
		}
		return result, coded(err)
	}
}

// welcome says whether a request may come now.
func (s *session) welcome(method string, call bool) error {
	if !call {
		return nil
	}
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
