package lsp

import (
	"errors"
	"runtime"
	"time"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"
)

// A runner checks one document, or the file on the disk where none is open, and
// shows what was found, as often as it changes. There is at most one for a
// document, and nobody else shows anything of it, so that what is shown comes
// in order; edits that come meanwhile are taken together.
type runner struct {
	again  bool
	queued bool // it waits for a worker
}

// checkNow says that a document is to be checked and shown at once: somebody is
// writing in it.
func (s *session) checkNow(id uri.URI) {
	s.mu.Lock()
	defer s.mu.Unlock()
	r := s.runners[id]
	switch {
	case r == nil:
		s.runners[id] = &runner{}
	case r.queued:
		r.queued = false // it need not wait any longer
	default:
		r.again = true
		return
	}
	s.background(func() { s.runFor(id) })
}

// queue says that a document is to be checked and shown in its turn: it was
// opened, or something that it uses has changed. As many are checked at a time
// as there are processors, so that ten thousand that are opened together do not
// all lie half done in memory.
func (s *session) queue(id uri.URI) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if r := s.runners[id]; r != nil {
		r.again = !r.queued
		return
	}
	s.runners[id] = &runner{queued: true}
	s.line = append(s.line, id)
	if s.workers < max(1, runtime.GOMAXPROCS(0)) {
		s.workers++
		s.background(s.workOff)
	}
}

// visit checks and shows a document before it returns, unless somebody is at it
// or it waits for its turn: who is at it does it once more.
func (s *session) visit(id uri.URI) {
	s.mu.Lock()
	if r := s.runners[id]; r != nil {
		r.again = !r.queued
		s.mu.Unlock()
		return
	}
	s.runners[id] = &runner{}
	s.mu.Unlock()
	s.runFor(id)
}

// workOff takes documents from the queue until none is left.
func (s *session) workOff() {
	for {
		s.mu.Lock()
		if len(s.line) == 0 || s.ctx.Err() != nil {
			s.line = nil
			s.workers--
			s.mu.Unlock()
			return
		}
		id := s.line[0]
		s.line = s.line[1:]
		r := s.runners[id]
		if r == nil || !r.queued {
			s.mu.Unlock()
			continue
		}
		r.queued = false
		s.mu.Unlock()
		s.runFor(id)
	}
}

func (s *session) runFor(id uri.URI) {
	for s.ctx.Err() == nil {
		s.show(id)
		s.mu.Lock()
		r := s.runners[id]
		if !r.again {
			delete(s.runners, id)
			s.busy()
			s.mu.Unlock()
			return
		}
		r.again = false
		s.mu.Unlock()
	}
}

// show checks a document as it is now and publishes what was found, unless it
// has changed meanwhile or the client asks for it by itself.
func (s *session) show(id uri.URI) {
	defer s.contain("showing " + string(id))
	d := s.now().docs.get(id)
	if d == nil {
		s.reshelve(id)
		s.unspell(id)
		return
	}
	began := time.Now()
	err := d.analysis.run()
	if errors.Is(err, errSuperseded) {
		return
	}
	s.traced("%s, version %d: checked in %.1f ms", d.name, d.version, float64(time.Since(began).Microseconds())/1000)
	if s.can.pull {
		return
	}
	found := s.visible(d).diags
	if now := s.now().docs.get(id); now == nil || now.analysis != d.analysis {
		return
	}
	s.publish(id, protocol.NewOptional(d.version), found)
}

// publish sends what was found to the client; only a document's runner does.
func (s *session) publish(id uri.URI, version protocol.Optional[int32], found []protocol.Diagnostic) {
	s.mu.Lock()
	if len(found) > 0 {
		s.marked[id] = true
	} else {
		delete(s.marked, id)
	}
	s.mu.Unlock()
	err := s.client.PublishDiagnostics(s.ctx, &protocol.PublishDiagnosticsParams{URI: s.spelling(id), Version: version, Diagnostics: found})
	if err != nil && s.ctx.Err() == nil {
		s.log.Printf("publishing: %v", err)
	}
}
