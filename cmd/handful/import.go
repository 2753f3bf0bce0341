package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
	"strings"

	"example.org/handful/cmd/handful/disk"
	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/words"
	"example.org/handful/lang/written"
)

type importVerb struct {
	File  string            `arg:"" help:"A MusicXML file (.musicxml, .xml, .mxl) or a Standard MIDI File (.mid); - reads standard input."`
	Out   string            `short:"o" placeholder:"FILE" help:"Write here instead of to standard output; a file that is there already stays."`
	Force bool              `help:"Write over a file that is there already."`
	Name  map[string]string `placeholder:"ABBR=INSTRUMENT" help:"Which instrument an abbreviation or a name in the file means: --name Cym.=suspended-cymbal. May be given several times."`
	Names string            `placeholder:"FILE" help:"The same as a table of comma-separated values: in each row a name as the file has it, and the instrument."`
}

func (v *importVerb) Help() string {
	return `Makes a .handful file of written parts: parts only, in sections, ready for players to be added. What could
not be carried over is listed on standard error and as comments at the top of the file.`
}

func (v *importVerb) Run(s *streams) error {
	if err := v.readNames(); err != nil {
		return err
	}
	for abbr, name := range v.Name {
		if kit.Standard().Resolve(name) == nil {
			return fmt.Errorf("--name %s=%s: there is no instrument %s; handful instruments lists them", abbr, name, name)
		}
	}
	var place *disk.Place
	var err error
	if v.Out != "" {
		if place, err = newPlace(s, v.Out, v.Force); err != nil {
			return err
		}
	}
	data, err := s.waiting(func() (string, error) {
		if v.File != "-" {
			return readFile(v.File)
		}
		return folder.ReadAll(s.in, "standard input")
	})
	if err != nil {
		return err
	}
	if kind := folder.Kind(data); kind != nil && !kind.Imports && !strings.HasPrefix(kind.What, "text in") && kind.Line == 0 {
		return fmt.Errorf("%s is %s: what can be imported is MusicXML and MIDI", v.File, kind.What)
	}
	var pieces []string
	var lost []written.Loss
	// What is left lying is cleared away before there is more of it than a few times
	// the file's length.
	debug.SetMemoryLimit(max(39<<18, 4*int64(len(data))+4<<20))
	if fault := check.Contained(func() {
		from := data
		data = "" // which is let go of as soon as it is read
		pieces, lost, err = written.Pieces(from, written.Options{Names: v.Name})
	}); fault != nil {
		return s.failed(v.File, fault)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", v.File, err)
	}
	if s.interrupted() {
		return unfinished{"nothing was written"}
	}
	for _, l := range lost {
		fmt.Fprintf(s.err, "not carried over: %s\n", clean(l.String()))
	}
	text := together(pieces)
	if place == nil {
		_, err := s.data().Write(text)
		return err
	}
	parts := bytes.Count(text, []byte("\npart "))
	if err := place.Write(text); err != nil {
		return err
	}
	fmt.Fprintf(s.err, "handful: wrote %s: %s\n", clean(v.Out), words.Count(parts, "part", "parts"))
	return nil
}

// together is a text of its pieces, of which none is held any longer.
func together(pieces []string) []byte {
	size := 0
	for _, p := range pieces {
		size += len(p)
	}
	text := make([]byte, 0, size)
	for i, p := range pieces {
		text = append(text, p...)
		pieces[i] = ""
	}
	return text
}

// readNames adds the rows of the table of names to those that were given by
// themselves, which count more. A row of other than a name and an instrument is
// none, but for the first, which may be a heading.
func (v *importVerb) readNames() error {
	if v.Names == "" {
		return nil
	}
	text, err := readFile(v.Names)
	if err != nil {
		return err
	}
	rows := csv.NewReader(strings.NewReader(strings.TrimPrefix(text, "\ufeff")))
	rows.FieldsPerRecord, rows.TrimLeadingSpace, rows.Comment = -1, true, '#'
	if head, _, _ := strings.Cut(text, "\n"); strings.Contains(head, ";") && !strings.Contains(head, ",") {
		rows.Comma = ';' // as programs write it where the comma is in numbers
	}
	if v.Name == nil {
		v.Name = map[string]string{}
	}
	for first := true; ; first = false {
		row, err := rows.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("%s: %w", v.Names, err)
		}
		line, _ := rows.FieldPos(0)
		if len(row) < 2 || strings.TrimSpace(row[0]) == "" {
			return fmt.Errorf("%s:%d: a row has a name as the file has it, and the instrument", v.Names, line)
		}
		name, in := strings.TrimSpace(row[0]), strings.TrimSpace(row[1])
		if kit.Standard().Resolve(in) == nil {
			if first {
				continue // a heading
			}
			return fmt.Errorf("%s:%d: there is no instrument %s; handful instruments lists them", v.Names, line, in)
		}
		if _, given := v.Name[name]; !given {
			v.Name[name] = in
		}
	}
}
