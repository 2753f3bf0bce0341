//go:build linux

package lsp

import (
	"context"
	"encoding/json"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"go.lsp.dev/jsonrpc2"
	"go.lsp.dev/protocol"
	"golang.org/x/sys/unix"
)

// BenchmarkCompletion measures what completion costs by itself on 1,000 bars for 8 players,
// in processor time of the thread that answers: reading the request, the offers, and
// writing the answer, without a client, the wire, or what is proven meanwhile. Behind the limb
// of a line with nothing else, whole cues are tried in the background as it is asked.
func BenchmarkCompletion(b *testing.B) {
	text := show(1000, 8)
	for _, place := range completionPlaces(text) {
		b.Run(place.name, func(b *testing.B) {
			for b.Loop() {
				ownTime(b, text, place)
			}
		})
	}
}

// A completionPlace is what is written before completion is asked for, in which
// column, 0 for behind all that is written, and how long nothing is written before it.
type completionPlace struct {
	name  string
	edit  func(n int) (line int, text string)
	col   int
	rests time.Duration
}

func completionPlaces(text string) []completionPlace {
	lines := strings.Split(text, "\n")
	var cues []int
	for i, l := range lines {
		if strings.Contains(l, " as written") {
			cues = append(cues, i)
		}
	}
	cue := func(n int) int { return cues[n*37%len(cues)] }
	return []completionPlace{
		{"in-a-line", func(n int) (int, string) { return cue(n), lines[cue(n)] + " # " + strconv.Itoa(n) }, 4, 0},
		{"behind-a-limb", func(n int) (int, string) { return cue(n), lines[cue(n)][:4] }, 4, 0},
		{"a-letter-on", func(n int) (int, string) { return cue(n / 8), lines[cue(n/8)][:4+n%8] }, 0, 30 * time.Millisecond},
		{"a-line-begun", func(n int) (int, string) { return cue(n), "  " }, 2, 0},
	}
}

const asked = 300

func ownTime(b *testing.B, text string, place completionPlace) {
	var s *session
	c := connect(b, func(ctx context.Context, stream jsonrpc2.Stream) int {
		s = newSession(ctx, stream, Options{})
		s.conn.Go(ctx, s.handler())
		<-s.conn.Done()
		return exitClean
	})
	c.lax = true
	c.call("initialize", obj{"processId": nil, "rootUri": nil, "capabilities": able}, nil)
	c.notify("initialized", obj{})
	c.open(page, text)
	c.shownFor(page, 1)
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	var took, clock []time.Duration
	lines, was := strings.Split(text, "\n"), -1
	for n := range asked {
		line, now := place.edit(n)
		if was >= 0 && was != line {
			c.change(page, 2*n+2, obj{"range": span(was, 0, was+1, 0), "text": lines[was] + "\n"})
			c.forget(page, 2*n+2)
		}
		was = line
		c.change(page, 2*n+3, obj{"range": span(line, 0, line+1, 0), "text": now + "\n"})
		c.forget(page, 2*n+3)
		at := place.col
		if at == 0 {
			at = len(now)
		}
		raw, _ := json.Marshal(obj{"textDocument": obj{"uri": page}, "position": obj{"line": line, "character": at}, "context": obj{"triggerKind": 1}})
		began, own := time.Now(), ownProcessor()
		var p protocol.CompletionParams
		if err := protocol.Unmarshal(raw, &p); err != nil {
			b.Fatal(err)
		}
		list, err := s.Completion(context.Background(), &p)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := (codec{}).Marshal(list); err != nil {
			b.Fatal(err)
		}
		took, clock = append(took, ownProcessor()-own), append(clock, time.Since(began))
	}
	quantiles(b, "own", took)
	quantiles(b, "clock", clock)
}

// ownProcessor is the processor time that this thread has taken.
func ownProcessor() time.Duration {
	var t unix.Timespec
	if unix.ClockGettime(unix.CLOCK_THREAD_CPUTIME_ID, &t) != nil {
		return 0
	}
	return time.Duration(t.Nano())
}
