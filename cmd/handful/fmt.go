package main

import (
	"fmt"
	"io"

	"handful/lang/check"
	"handful/lang/syntax"
)

type fmtVerb struct {
	Paths []string `arg:"" optional:"" name:"path" help:"Files, folders, or - for standard input. Without one, this folder."`
	Write bool     `short:"w" xor:"how" help:"Put the layout into the files themselves."`
	Check bool     `short:"c" xor:"how" help:"Only name the files that would change; exit code 1 if there are any."`
}

func (v *fmtVerb) Help() string {
	return `The canonical layout keeps words, comments and the order of lines, and lines up the bar lines of what sounds together.
Without --write or --check the result goes to standard output.`
}

func (v *fmtVerb) Run(s *streams) error {
	inputs, failed := gather(v.Paths, s)
	differ := false
	for i, in := range inputs {
		if s.interrupted() {
			return unfinished{share(i, len(inputs), "files were done")}
		}
		var f *syntax.File
		var out string
		var lost *syntax.Difference
		if fault := check.Contained(func() {
			if f = syntax.Parse(in.text); len(f.Problems) == 0 {
				out, lost = syntax.Format(f)
			}
		}); fault != nil {
			s.failed(in.path, fault)
			failed = true
			continue
		}
		if len(f.Problems) > 0 { // what was not read must not be lost
			s.say(fmt.Errorf("%s: it stays as it is: %s", in.path, f.Problems[0].Message))
			failed = true
			continue
		}
		if lost != nil {
			s.say(fmt.Errorf("%s: it stays as it is: %w", in.path, lost))
			failed = true
			continue
		}
		changed := out != in.text
		switch {
		case v.Check:
			if changed {
				differ = true
				fmt.Fprintln(s.out, in.path)
			}
		case v.Write && in.path != "-":
			if !changed {
				continue
			}
			place, err := in.place(s)
			if err == nil {
				err = place.Write([]byte(out))
			}
			if err != nil {
				s.say(err)
				failed = true
				continue
			}
			fmt.Fprintln(s.out, in.path)
		default:
			if _, err := io.WriteString(s.data(), out); err != nil {
				return err
			}
		}
	}
	switch {
	case s.interrupted() && failed:
		return unfinished{"not every file was read"}
	case failed:
		return exitCode(exitFailed)
	case differ:
		return exitCode(exitFindings)
	}
	return nil
}
