package main

import (
	"fmt"
	"os"

	"example.org/handful/lang/check"
	"example.org/handful/lang/sheet"
	"example.org/handful/lang/syntax"
)

// traceVariable is set by whoever wants to see more of a failure of the
// program than its place.
const traceVariable = "HANDFUL_TRACE"

// failed says that the program failed on something, for the verbs that do not
// report findings, and that the run has failed.
func (s *streams) failed(on string, fault *check.Fault) error {
	s.say(fmt.Errorf("%s: %s", on, fault.Message()))
	s.trace(fault)
	return exitCode(exitFailed)
}

// trace shows where a failure came from, to whoever asked for it.
func (s *streams) trace(fault *check.Fault) {
	if os.Getenv(traceVariable) != "" {
		fmt.Fprintf(s.err, "handful: %s: %s\n%s", version(), clean(fault.Panic), cleanLines(fault.Stack))
	}
}

// checkSafely checks one input, whatever happens.
func checkSafely(in input, opt check.Options) *check.Result { return checkAfter(nil, in, opt) }

// checkAfter is checkSafely of an input that may have lines in common with those before it.
func checkAfter(known *syntax.Known, in input, opt check.Options) *check.Result {
	var f *syntax.File
	if fault := check.Contained(func() { f = known.Parse(in.text) }); fault != nil {
		return check.Failed(in.name, nil, fault)
	}
	return check.Safely(in.name, f, opt)
}

// docsSafely makes the sheets of all results. When that fails, the pieces on
// which it fails are left out, and faults has their failures by their place in
// the list.
func docsSafely(results []*check.Result, opt sheet.Options) (docs []sheet.Doc, faults map[int]*check.Fault) {
	faults = map[int]*check.Fault{}
	if check.Contained(func() { docs = sheet.Docs(results, opt) }) == nil {
		return docs, faults
	}
	var well []*check.Result
	for i, r := range results {
		if fault := check.Contained(func() { sheet.Docs([]*check.Result{r}, opt) }); fault != nil {
			faults[i] = fault
		} else {
			well = append(well, r)
		}
	}
	if fault := check.Contained(func() { docs = sheet.Docs(well, opt) }); fault != nil {
		faults[0] = fault // each goes alone and all together do not: it is nobody's in particular
		return nil, faults
	}
	return docs, faults
}
