package lsp

import (
	"errors"
	"time"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"
)

// A runner checks one document and shows what was found, as often as it
// changes. There is at most one for a document, so that what is shown comes in
// order, and edits that come meanwhile are taken together.
type runner struct{ again bool }

// poke says that a document is to be checked and shown.
func (s *session) poke(id uri.URI) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if r := s.runners[id]; r != nil {
		r.again = true
		return
	}
	s.runners[id] = &runner{}
	s.background(func() { s.runFor(id) })
}

func (s *session) runFor(id uri.URI) {
	for s.ctx.Err() == nil {
		s.show(id)
		s.mu.Lock()
		r := s.runners[id]
		if !r.again {
			delete(s.runners, id)
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
	d := s.now().docs[id]
	if d == nil {
		s.reshelve(id)
		return
	}
	began := time.Now()
	_, err := d.analysis.run()
	if errors.Is(err, errSuperseded) {
		return
	}
	s.tell("%s, version %d: checked in %.1f ms", d.name, d.version, float64(time.Since(began).Microseconds())/1000)
	if s.can.pull {
		return
	}
	found := d.shown(s).diags
	if now := s.now().docs[id]; now == nil || now.analysis != d.analysis {
		return
	}
	s.publish(id, protocol.NewOptional(d.version), found)
}

func (s *session) publish(id uri.URI, version protocol.Optional[int32], found []protocol.Diagnostic) {
	err := s.client.PublishDiagnostics(s.ctx, &protocol.PublishDiagnosticsParams{URI: s.spelling(id), Version: version, Diagnostics: found})
	if err != nil && s.ctx.Err() == nil {
		s.log.Printf("publishing: %v", err)
	}
}
