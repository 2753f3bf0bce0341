package main

import (
	_ "embed"
	"fmt"
	"io"
	"path/filepath"

	"example.org/handful/cmd/handful/disk"
)

//go:embed start.handful
var startText string

type newVerb struct {
	File string `arg:"" help:"The file to write; - for standard output."`
}

func (v *newVerb) Run(s *streams) error {
	if v.File == "-" {
		_, err := io.WriteString(s.data(), startText)
		return err
	}
	place, err := disk.At(s.disk, v.File, filepath.Dir(v.File))
	switch {
	case err != nil:
		return err
	case place.There():
		return fmt.Errorf("%s is already there: nothing was written", v.File)
	}
	if err := place.Write([]byte(startText)); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%s is written. See what it says:  handful check %s\n", v.File, v.File)
	return nil
}
