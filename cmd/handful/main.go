// Command handful checks, formats and explains .handful files: percussion
// cues for each hand, in plain text.
package main

import (
	"os"
	"runtime"

	"example.org/handful/cmd/handful/disk"
)

// headroom is how much memory is used at least before it is looked for what can
// be cleared away, in bytes. A check leaves much lying and keeps little, so that
// the runtime, which waits for as much again as is kept, would look without end:
// that took a fifth of the time of a large library. An import keeps to a bound of
// its own.
const headroom = 24 << 20

func main() {
	var room []byte
	if len(os.Args) < 2 || os.Args[1] != "import" {
		room = make([]byte, headroom) // which is never written, so that it takes none of the machine's memory
	}
	code := runIn(interruptible(), disk.Real{}, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	runtime.KeepAlive(room)
	os.Exit(code)
}
