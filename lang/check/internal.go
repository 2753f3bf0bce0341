package check

import (
	"fmt"
	"path"
	"runtime"
	"runtime/debug"
	"strings"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

var internalRule = &Rule{
	Name:       "internal",
	Severities: []Severity{Error},
	Finds:      "a piece on which the program itself failed",
	Means: `Something in the piece met a mistake in the program. The mistake is in the program, not in the piece; other files are
read all the same. Of this file, what was found before the failure is shown, if anything was: what is not shown is not known.`,
	Why: `A check that ends without a word looks like a clean one. To have the mistake mended, send the file and the place that
is named; leaving lines out one by one often shows which of them it was, and a way around it.`,
	Stands: `Nothing in the piece: no text is meant to do this. In the example the mistake is put there on purpose.`,
	Trips: `# suppose that the program fails on this piece
tempo 96
player Ida
  R snare-drum | 1 2
`,
	Passes: `# suppose that it does not
tempo 96
player Ida
  R snare-drum | 1 2
`,
	Look:    func(*Context) {}, // what fails cannot report itself: whoever called the check does, with Contained
	text:    true,
	mistake: "# suppose that the program fails on this piece",
}

// A Fault is a failure of the program in a piece of work on one file.
type Fault struct {
	Place string // in the program, as in lang/check/unused.go:42
	Panic string // what was said
	Stack string // for whoever mends it
}

// Contained does a piece of work on one file. If the program fails in it, the
// work ends there and nothing else does: the failure is returned.
func Contained(work func()) (fault *Fault) {
	defer func() {
		switch p := recover().(type) {
		case nil:
		case *Fault: // of another goroutine that was at the same work
			fault = p
		default:
			fault = &Fault{Place: failedAt(), Panic: fmt.Sprint(p), Stack: string(debug.Stack())}
		}
	}()
	work()
	return nil
}

// failedAt is the innermost place of our own that is failing. It is called
// while the failure is on its way, so that its frames are still there.
func failedAt() string {
	var pcs [64]uintptr
	frames := runtime.CallersFrames(pcs[:runtime.Callers(1, pcs[:])])
	failing := false
	for {
		f, more := frames.Next()
		switch {
		case f.Function == "runtime.gopanic" || strings.HasPrefix(f.Function, "runtime.panic"):
			failing = true // what lies above it is the handling, not the failure
		case failing && strings.HasPrefix(f.Function, "example.org/handful/"):
			in := strings.TrimPrefix(f.Function, "example.org/handful/")
			if dot := strings.Index(path.Base(in), "."); dot >= 0 {
				in = path.Join(path.Dir(in), path.Base(in)[:dot])
			}
			return fmt.Sprintf("%s/%s:%d", in, path.Base(f.File), f.Line)
		}
		if !more {
			return "an unknown place"
		}
	}
}

// Finding is what is said of a failure in the file it came from.
func (f *Fault) Finding() Finding {
	return Finding{Rule: internalRule, Severity: Error,
		About: syntax.Tells("the program failed on this piece, at %s; this is its mistake, not the piece's, and what else there is to find is not known: please report it with that place and the file", f.Place)}
}

// Message is what is said of it, in words.
func (f *Fault) Message() string {
	found := f.Finding()
	return found.Message()
}

// WholeFile says that a finding is about its file and no place in it.
func (f *Finding) WholeFile() bool { return f.Rule == internalRule }

// Failed is the result of a file of which nothing but a failure is known.
func Failed(name string, f *syntax.File, fault *Fault) *Result {
	if f == nil {
		f = syntax.Parse("")
	}
	r := &Result{Name: name, File: f, Score: score.Bind(name, syntax.Parse(""), nil, score.Options{})}
	r.Score.Sources[0].File = f
	r.Add(fault)
	return r
}

// Add puts a failure to what was found before it.
func (r *Result) Add(fault *Fault) {
	r.Faults = append(r.Faults, fault)
	r.Findings = append(r.Findings, fault.Finding())
	sortFindings(r.Findings)
}

// Safely is Check for whoever has more to do than this one file: a failure of
// the program becomes a finding.
func Safely(name string, f *syntax.File, opt Options) (r *Result) {
	if fault := Contained(func() { r = Check(name, f, opt) }); fault != nil {
		return Failed(name, f, fault)
	}
	return r
}
