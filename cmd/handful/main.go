// Command handful checks, formats and explains .handful files: percussion
// cues for each hand, in plain text.
package main

import (
	"os"
	"runtime"
	"runtime/debug"
	"sync/atomic"

	"example.org/handful/cmd/handful/disk"
)

// headroom is how much memory is used at least before it is looked for what can
// be cleared away, in bytes. A check leaves much lying and keeps little, so that
// the runtime, which waits for as much again as is kept, would look without end:
// that took a fifth of the time of a large library. An import keeps to a bound of
// its own.
const headroom = 24 << 20

// room is that memory, once it is needed.
var room atomic.Pointer[[headroom]byte]

// roomy sees to the headroom. Until the runtime looks for the first time a
// larger share of nothing does for it, so that a short run has nothing cleared
// away at all; then it is memory that is never written and takes none of the
// machine's.
func roomy() {
	const (
		share = 100     // of what is kept, in percent, at which it is looked
		least = 4 << 20 // what is used at that share before it is looked at all
	)
	usual := debug.SetGCPercent(headroom / least * share)
	runtime.AddCleanup(new([16]*byte), func(int) {
		room.Store(new([headroom]byte))
		debug.SetGCPercent(usual)
	}, 0)
}

func main() {
	if len(os.Args) < 2 || os.Args[1] != "import" {
		roomy()
	}
	os.Exit(runIn(interruptible(), disk.Real{}, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
