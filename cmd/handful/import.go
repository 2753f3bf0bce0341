package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"handful/lang/check"
	"handful/lang/exchange"
	"handful/lang/kit"
	"handful/lang/words"
	"handful/lsp/folder"
)

type importVerb struct {
	File string            `arg:"" help:"A MusicXML file (.musicxml, .xml, .mxl) or a Standard MIDI File (.mid); - reads standard input."`
	Out  string            `short:"o" placeholder:"FILE" help:"Write here instead of to standard output; a file that is there already stays."`
	Name map[string]string `placeholder:"ABBR=INSTRUMENT" help:"Which instrument an abbreviation or a name in the file means: --name Cym.=suspended-cymbal. May be given several times."`
}

func (v *importVerb) Help() string {
	return `Makes a .handful file of written parts: parts only, in sections, ready for players to be added. What could
not be carried over is listed on standard error and as comments at the top of the file.`
}

func (v *importVerb) Run(s *streams) error {
	for abbr, name := range v.Name {
		if kit.Standard().Resolve(name) == nil {
			return fmt.Errorf("--name %s=%s: there is no instrument %s; handful instruments lists them", abbr, name, name)
		}
	}
	var in io.Reader = s.in
	if v.File != "-" {
		f, err := os.Open(v.File)
		if err != nil {
			return err
		}
		defer f.Close()
		in = f
	}
	data, err := folder.ReadAll(in, v.File)
	if err != nil {
		return err
	}
	var text string
	var lost []exchange.Loss
	if fault := check.Contained(func() {
		text, lost, err = exchange.Text([]byte(data), exchange.Options{Names: v.Name})
	}); fault != nil {
		return s.failed(v.File, fault)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", v.File, err)
	}
	for _, l := range lost {
		fmt.Fprintf(s.err, "not carried over: %s\n", clean(l.String()))
	}
	if v.Out == "" {
		_, err := io.WriteString(s.out, text)
		return err
	}
	if err := writeNew(v.Out, text); err != nil {
		return err
	}
	fmt.Fprintf(s.err, "handful: wrote %s: %s\n", clean(v.Out), words.Count(strings.Count("\n"+text, "\npart "), "part", "parts"))
	return nil
}

// writeNew puts a text into a file that is not there yet, whole or not at all.
func writeNew(file, text string) (err error) {
	if _, err := os.Lstat(file); err == nil {
		return fmt.Errorf("%s is there already and stays as it is", file)
	} else if !errors.Is(err, os.ErrNotExist) {
		return err
	}
	tmp, err := os.CreateTemp(filepath.Dir(file), "."+filepath.Base(file)+".*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name())
	if _, err = io.WriteString(tmp, text); err == nil {
		err = tmp.Chmod(0o644)
	}
	if err = errors.Join(err, tmp.Close()); err != nil {
		return err
	}
	return os.Link(tmp.Name(), file) // fails when somebody was quicker
}
