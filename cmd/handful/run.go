package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/alecthomas/kong"
)

// What the command's exit code means.
const (
	exitClean    = 0 // nothing at or above the level
	exitFindings = 1 // findings, or files that would change
	exitFailed   = 2 // could not run: bad usage, unreadable file
)

// program is the command line, verb by verb; each verb is a file.
type program struct {
	Check       checkVerb       `cmd:"" help:"Find what cannot be played, what it costs and what is missing."`
	Fmt         fmtVerb         `cmd:"" help:"Put files in their canonical layout."`
	Explain     explainVerb     `cmd:"" help:"Say what a rule finds and why it matters."`
	Instruments instrumentsVerb `cmd:"" help:"Show the catalogue: instruments, implements, ways of playing."`
	New         newVerb         `cmd:"" help:"Write a small commented file to start from."`
	Version     versionVerb     `cmd:"" help:"Say which version this is."`
	Completion  completionVerb  `cmd:"" help:"Print a completion script for a shell."`
}

// streams is what a verb may touch besides files.
type streams struct {
	in       io.Reader
	out, err io.Writer
	model    *kong.Application
}

// exitCode ends a run with a code and nothing more to say.
type exitCode int

func (e exitCode) Error() string { return fmt.Sprintf("exit code %d", int(e)) }

const helpText = `Handful reads plain-text files that say who covers which percussion part, with which hand, with what, from where,
and finds what hands cannot do in the time there is.

  handful new show.handful        write a small file to start from
  handful check show.handful      see whether it can be played
  handful check .                 the same for every file below this folder
  handful explain short-change    what a finding means`

// Run is the whole program.
func Run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	var p program
	code := -1
	parser, err := kong.New(&p,
		kong.Name("handful"),
		kong.Description(helpText),
		kong.Writers(stdout, stderr),
		kong.Exit(func(c int) { code = c }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 110}),
	)
	if err != nil {
		fmt.Fprintf(stderr, "handful: %v\n", err)
		return exitFailed
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	ctx, err := parser.Parse(args)
	if code >= 0 { // help was asked for and given
		return code
	}
	if err != nil {
		fmt.Fprintf(stderr, "handful: %v\n", err)
		fmt.Fprintln(stderr, "Try  handful --help  or  handful VERB --help.")
		return exitFailed
	}
	err = ctx.Run(&streams{in: stdin, out: stdout, err: stderr, model: parser.Model})
	var exit exitCode
	switch {
	case err == nil:
		return exitClean
	case errors.As(err, &exit):
		return int(exit)
	}
	fmt.Fprintf(stderr, "handful: %s\n", plain(err))
	return exitFailed
}

// plain says an error as a person would, without the system's call names.
func plain(err error) string {
	var pe *os.PathError
	if errors.As(err, &pe) {
		return pe.Path + ": " + reason(pe.Err)
	}
	return err.Error()
}

func reason(err error) string {
	switch {
	case errors.Is(err, os.ErrNotExist):
		return "there is no such file"
	case errors.Is(err, os.ErrPermission):
		return "it may not be read"
	}
	return err.Error()
}
