// Command handful checks, formats and explains .handful files: percussion
// cues for each hand, in plain text.
package main

import (
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"sync/atomic"

	"example.org/handful/cmd/handful/disk"
)

// headroom is how much memory is used at least before it is looked for what can
// be cleared away, in bytes. A check leaves much lying and keeps little, so that
// the runtime, which waits for as much again as is kept, would look without end:
// that took a fifth of the time of a large library. An import keeps to a bound of
// its own.
const headroom = 24 << 20

// serverRoom is the headroom of a server, which stays: what is cleared away while
// somebody waits for an edit makes that one up to twice as long.
const serverRoom = 64 << 20

// room is that memory, once it is needed.
var room atomic.Pointer[[]byte]

// roomy sees to the headroom. Until the runtime looks for the first time a
// larger share of nothing does for it, so that a short run has nothing cleared
// away at all; then it is memory that is never written and takes none of the
// machine's.
func roomy(bytes int) {
	const (
		share = 100     // of what is kept, in percent, at which it is looked
		least = 4 << 20 // what is used at that share before it is looked at all
	)
	usual := debug.SetGCPercent(bytes / least * share)
	runtime.AddCleanup(new([16]*byte), func(int) {
		held := make([]byte, bytes)
		room.Store(&held)
		debug.SetGCPercent(usual)
	}, 0)
}

// worthClearing is how much has to lie about for it to be cleared away in a pause.
const worthClearing = 16 << 20

// clearAway clears away in a pause what would be cleared away while somebody waits.
func clearAway() {
	used := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}, {Name: "/gc/heap/live:bytes"}}
	metrics.Read(used)
	if used[0].Value.Uint64() > used[1].Value.Uint64()+worthClearing {
		runtime.GC()
	}
}

func main() {
	switch {
	case len(os.Args) > 1 && os.Args[1] == "lsp":
		roomy(serverRoom)
	case len(os.Args) < 2 || os.Args[1] != "import":
		roomy(headroom)
	}
	os.Exit(runIn(interruptible(), disk.Real{}, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
