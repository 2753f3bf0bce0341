package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"reflect"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/alecthomas/kong"

	"example.org/handful/cmd/handful/disk"
	"example.org/handful/internal/cache"
	"example.org/handful/internal/folder"
	"example.org/handful/internal/settings"
	"example.org/handful/lang/check"
)

// What the command's exit code means.
const (
	exitClean       = 0   // nothing at or above the level
	exitFindings    = 1   // findings, or files that would change
	exitFailed      = 2   // could not run: bad usage, unreadable file, full disk
	exitInterrupted = 130 // was asked to end before it had its answer
)

// program is the command line, verb by verb; each verb is a file.
type program struct {
	Check       checkVerb       `cmd:"" help:"Find what cannot be played, what it costs and what is missing."`
	Library     libraryVerb     `cmd:"" help:"Say which numbers stand or fall with whom and what, and what a season needs."`
	Watch       watchVerb       `cmd:"" help:"Check again what is saved, and what uses it, until Ctrl-C."`
	Merge       mergeVerb       `cmd:"" help:"Join the reports of parts of a library."`
	Fmt         fmtVerb         `cmd:"" help:"Put files in their canonical layout."`
	Explain     explainVerb     `cmd:"" help:"Say what a rule finds and why it matters."`
	Instruments instrumentsVerb `cmd:"" help:"Show the catalogue: instruments, implements, ways of playing."`
	Guide       guideVerb       `cmd:"" help:"The handbook: lessons, the notation, every rule and instrument; here or as pages."`
	Plan        planVerb        `cmd:"" help:"Find who covers what, with which hand, from where, and what has to go."`
	Sheet       sheetVerb       `cmd:"" help:"Make what goes on the stands: cue sheets, set-up plans, packing lists, practice."`
	Import      importVerb      `cmd:"" help:"Make a .handful file of written parts: MusicXML or MIDI."`
	Export      exportVerb      `cmd:"" help:"Take the result out: MusicXML or MIDI."`
	Init        initVerb        `cmd:"" help:"Write handful.toml, which says how a folder is checked and printed."`
	New         newVerb         `cmd:"" help:"Write a small commented file to start from."`
	Lsp         lspVerb         `cmd:"" help:"Be the language server of an editor."`
	Version     versionVerb     `cmd:"" help:"Say which version this is."`
	Completion  completionVerb  `cmd:"" help:"Print a completion script for a shell."`
	Man         manVerb         `cmd:"" help:"Print the manual page."`
}

// streams is what a verb may touch of the world besides the files that it
// reads.
type streams struct {
	ctx      context.Context // ends when the command is interrupted
	disk     disk.System     // where files are written
	in       io.Reader
	out, err *output
	model    *kong.Application
	troubles []string // what could not be read, for reports that name it

	settings    map[string]*settings.Settings // by the folder or the file
	badSettings bool                          // something is wrong with some

	store *cache.Cache // what earlier runs have found; nil for nothing
	seen  *sightings   // … and the files that they have read
}

// say puts an error before the person, in one line.
func (s *streams) say(err error) { fmt.Fprintf(s.err, "handful: %s\n", plain(err)) }

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
	return runIn(context.Background(), disk.Real{}, args, stdin, stdout, stderr)
}

// runIn is Run in a world that may end or fail.
func runIn(ctx context.Context, files disk.System, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	s := &streams{ctx: ctx, disk: files, in: stdin, out: &output{to: stdout}, err: &output{to: stderr}}
	code := s.run(args)
	if err := s.out.flush(); err != nil && code != exitInterrupted {
		s.say(fmt.Errorf("standard output: %w", err))
		code = exitFailed
	}
	if err := s.err.flush(); err != nil && code < exitFailed {
		code = exitFailed // there is nowhere left to say it
	}
	return code
}

// model is what the arguments are read by: the verb that they name, and all of
// them where it takes all to answer. To build all is a quarter of a start.
func model(args []string) any {
	all := reflect.TypeFor[program]()
	for i := 0; len(args) > 0 && i < all.NumField(); i++ {
		switch f := all.Field(i); {
		case strings.ToLower(f.Name) != args[0]:
		case f.Type == reflect.TypeFor[completionVerb](), f.Type == reflect.TypeFor[manVerb](): // which tell of all
		default:
			return reflect.New(reflect.StructOf([]reflect.StructField{f})).Interface()
		}
	}
	return new(program)
}

func (s *streams) run(args []string) int {
	code := -1
	parser, err := kong.New(model(args),
		kong.Name("handful"),
		kong.Description(helpText),
		kong.Writers(s.out, s.err),
		kong.Exit(func(c int) { code = c }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 110}),
	)
	if err != nil {
		s.say(err)
		return exitFailed
	}
	switch {
	case len(args) == 0:
		args = []string{"--help"}
	case args[0] == "help":
		args = append(slices.Clone(args[1:]), "--help")
	}
	ctx, err := parser.Parse(args)
	if code >= 0 { // help was asked for and given
		return code
	}
	if err != nil {
		s.say(err)
		fmt.Fprintln(s.err, "Try  handful --help  or  handful VERB --help.")
		return exitFailed
	}
	s.model = parser.Model
	if fault := check.Contained(func() { err = ctx.Run(s) }); fault != nil {
		err = s.failed("this command", fault) // a last net: what is done with a file has its own
	}
	var exit exitCode
	var early unfinished
	switch {
	case err == nil:
		return exitClean
	case errors.As(err, &exit):
		return int(exit)
	case errors.As(err, &early):
		s.say(err)
		return s.endsWith()
	case s.out.err != nil && errors.Is(err, s.out.err):
		return exitFailed // which is said when all is done
	}
	s.say(err)
	return exitFailed
}

// plain says an error as a person would, without the system's call names.
func plain(err error) string {
	var pe *os.PathError
	var le *os.LinkError
	switch {
	case errors.As(err, &pe):
		return clean(pe.Path) + ": " + reason(pe.Err)
	case errors.As(err, &le):
		return clean(le.New) + ": " + reason(le.Err)
	}
	return clean(err.Error())
}

func reason(err error) string { return clean(folder.Reason(err)) }

// clean is a text fit for a terminal: what would move the cursor, change the
// colours or turn the writing direction shows as a replacement character.
func clean(text string) string {
	if isPlain(text) {
		return text
	}
	if strings.IndexFunc(text, isUnfit) < 0 {
		return text
	}
	return strings.Map(func(r rune) rune {
		if unseen(r) {
			return utf8.RuneError
		}
		return r
	}, text)
}

// isUnfit says whether a character is not shown as it is.
func isUnfit(r rune) bool { return r == utf8.RuneError || unseen(r) }

// isPlain says whether a text is nothing but what nearly all are made of.
func isPlain(text string) bool {
	for i := range len(text) {
		if c := text[i]; c < ' ' || c >= 0x7f {
			return false
		}
	}
	return true
}

// unseen says whether a character is there and not to be seen. The two joiners
// are part of how some scripts are written.
func unseen(r rune) bool {
	switch {
	case r >= ' ' && r < 0x7f: // nearly all there is
		return false
	case r > 0xad && r < 0x300: // letters and signs
		return false
	}
	return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) && r != '\u200c' && r != '\u200d'
}
