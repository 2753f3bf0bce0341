package lsp

import (
	"context"
	"runtime"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A pause is when nobody has written for so long, and not before: every edit and all
// that is shown puts it off.
func TestAPauseIsPutOffByWhoeverWrites(t *testing.T) {
	clock, paused := &handClock{}, 0
	s := newSession(context.Background(), nil, Options{after: clock.after, Paused: func() { paused++ }})
	busy := func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		s.busy()
	}
	busy()
	for range 3 {
		clock.advance(pauseAfter / 2)
		busy()
	}
	assert.Zero(t, paused, "somebody wrote all the time")
	clock.advance(pauseAfter)
	assert.Equal(t, 1, paused)
	clock.advance(10 * pauseAfter)
	assert.Equal(t, 1, paused, "one pause is told once")
}

// An edit is followed by a pause once what it led to is shown.
func TestAPauseComesBehindAnEdit(t *testing.T) {
	clock, paused := &handClock{}, atomic.Int32{}
	c := startWith(t, Options{Version: "test", after: clock.after, Paused: func() { paused.Add(1) }}, nil, nil)
	const uri = "file:///pause.handful"
	c.open(uri, "player Ida\n  R woodblock | 1 | 2\n")
	c.shownFor(uri, 1)
	c.change(uri, 2, obj{"text": "player Ida\n  L woodblock | 1 | 2\n"})
	c.shownFor(uri, 2)
	for paused.Load() == 0 {
		clock.advance(pauseAfter)
		runtime.Gosched()
	}
}
