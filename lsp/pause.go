package lsp

import "time"

// pauseAfter is how long nothing is written and shown before whoever runs the
// server is told: shorter than between two letters of somebody who types, so that
// it may clear away between them, and longer than between two edits that come of
// one another.
const pauseAfter = 20 * time.Millisecond

// busy says that somebody writes, or that something was just shown: what wants a
// pause waits for the next one. s.mu is held.
func (s *session) busy() {
	if s.opt.Paused == nil {
		return
	}
	if s.pausing != nil {
		s.pausing()
	}
	s.pausing = s.after(pauseAfter, func() {
		if s.ctx.Err() != nil {
			return
		}
		defer s.contain("in a pause")
		s.opt.Paused()
	})
}
