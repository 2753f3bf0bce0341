// Command handful checks, formats and explains .handful files: percussion
// cues for each hand, in plain text.
package main

import (
	"os"

	"example.org/handful/cmd/handful/disk"
)

func main() {
	os.Exit(runIn(interruptible(), disk.Real{}, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
