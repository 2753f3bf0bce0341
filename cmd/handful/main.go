// Command handful checks, formats and explains .handful files: percussion
// cues for each hand, in plain text.
package main

import "os"

func main() { os.Exit(Run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
