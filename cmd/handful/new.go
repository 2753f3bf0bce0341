package main

import (
	_ "embed"
	"errors"
	"fmt"
	"os"
)

//go:embed start.handful
var startText string

type newVerb struct {
	File string `arg:"" help:"The file to write; - for standard output."`
}

func (v *newVerb) Run(s *streams) error {
	if v.File == "-" {
		_, err := fmt.Fprint(s.out, startText)
		return err
	}
	f, err := os.OpenFile(v.File, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, os.ErrExist) {
		return fmt.Errorf("%s is already there: nothing was written", v.File)
	}
	if errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s: there is no such folder to write it in", v.File)
	}
	if err != nil {
		return err
	}
	_, err = f.WriteString(startText)
	if err2 := f.Close(); err == nil {
		err = err2
	}
	if err != nil {
		os.Remove(v.File)
		return err
	}
	fmt.Fprintf(s.out, "%s is written. See what it says:  handful check %s\n", v.File, v.File)
	return nil
}
