package main

import (
	"fmt"
	"io"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
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
		out, err := laidOut(s, in)
		switch {
		case err != nil:
		case v.Check && out != in.text:
			differ = true
			fmt.Fprintln(s.out, in.path)
		case v.Check:
		case v.Write && in.path != "-":
			err = putBack(s, in, out)
		default:
			if _, err := io.WriteString(s.data(), out); err != nil {
				return err
			}
		}
		if err != nil {
			s.say(err)
			failed = true
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

// laidOut is a file in the canonical layout. What cannot be read or would be
// lost keeps the file as it is.
func laidOut(s *streams, in input) (out string, err error) {
	fault := check.Contained(func() {
		f := syntax.Parse(in.text)
		if len(f.Problems) > 0 {
			err = fmt.Errorf("%s: it stays as it is: %s", in.path, f.Problems[0].Message())
			return
		}
		text, lost := syntax.Format(f)
		if lost != nil {
			err = fmt.Errorf("%s: it stays as it is: %w", in.path, lost)
		}
		out = text
	})
	if fault != nil {
		s.trace(fault)
		return "", fmt.Errorf("%s: %s", in.path, fault.Message())
	}
	return out, err
}

// putBack writes a file's new layout into it, if it is new.
func putBack(s *streams, in input, text string) error {
	if text == in.text {
		return nil
	}
	place, err := in.place(s)
	if err != nil {
		return err
	}
	if err := place.Write([]byte(text)); err != nil {
		return err
	}
	fmt.Fprintln(s.out, in.path)
	return nil
}
