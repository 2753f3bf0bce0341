package main

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"example.org/handful/cmd/handful/disk"
	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/exchange"
	"example.org/handful/lang/score"
)

type exportVerb struct {
	File    string `arg:"" help:"A .handful file; - reads standard input."`
	To      string `enum:",musicxml,midi,csv,ods,xlsx" default:"" placeholder:"musicxml|midi|csv|ods|xlsx" help:"What to make; without it, what the name behind -o ends in. musicxml: a part for each player, with hands and changes. midi: to hear who does what, the right hand on the right. csv, ods, xlsx: a table of who plays what, where and with what."`
	Omitted bool   `name:"with-omitted" help:"For musicxml: written strokes that nobody plays as cue notes, in the part of whoever plays most of their line."`
	Click   bool   `help:"For midi: a bar that counts in, and a click throughout."`
	Out     string `short:"o" placeholder:"FILE" help:"Write here instead of to standard output; a file that is there already stays."`
	Force   bool   `help:"Write over a file that is there already."`
}

// formatOf is what the name of a file asks for, or "".
func formatOf(name string) string {
	switch ext := strings.ToLower(filepath.Ext(name)); ext {
	case ".mid":
		return "midi"
	case ".musicxml", ".csv", ".ods", ".xlsx":
		return ext[1:]
	}
	return ""
}

func (v *exportVerb) Run(s *streams) error {
	if v.To = cmp.Or(v.To, formatOf(v.Out)); v.To == "" {
		return errors.New("export makes musicxml, midi, csv, ods or xlsx: say which with --to, or with -o and a name that ends so")
	}
	var place *disk.Place
	if v.Out != "" {
		var err error
		if place, err = newPlace(s, v.Out, v.Force); err != nil {
			return err
		}
	}
	inputs, failed := gather([]string{v.File}, s)
	if s.interrupted() {
		return unfinished{"nothing was written"}
	}
	if failed || len(inputs) != 1 {
		if !failed {
			return fmt.Errorf("export takes one file, and %s is %d", v.File, len(inputs))
		}
		return exitCode(exitFailed)
	}
	in := inputs[0]
	opt := in.checks(score.Options{}, folder.NewLibrary())
	opt.Stop = stopped(s.ctx)
	r := checkSafely(in, opt)
	if len(r.Faults) > 0 {
		return s.failed(in.path, r.Faults[0])
	}
	var data []byte
	var told []string
	var err error
	if fault := check.Contained(func() { data, told, err = v.exported(r) }); fault != nil {
		return s.failed(in.path, fault)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", in.path, err)
	}
	if s.interrupted() {
		return unfinished{"nothing was written"}
	}
	for _, what := range told {
		fmt.Fprintf(s.err, "handful: %s\n", clean(what))
	}
	if n := errorsIn(r); n > 0 {
		fmt.Fprintf(s.err, "handful: this piece has errors (%d): what is written may not be playable; see  handful check %s\n", n, clean(in.path))
	}
	if place == nil {
		_, err := s.data().Write(data)
		return err
	}
	return place.Write(data)
}

// exported is a piece in the format that was asked for, and what has to be told
// about it.
func (v *exportVerb) exported(r *check.Result) (data []byte, told []string, err error) {
	if v.Omitted && v.To != "musicxml" {
		return nil, nil, errors.New("--with-omitted is for --to musicxml: nothing else has cue notes")
	}
	if v.To == "midi" {
		return exchange.MIDI(r, exchange.MIDIOptions{Click: v.Click})
	}
	if v.To != "musicxml" {
		data, err = exchange.Table(r, exchange.TableFormat(v.To))
		return data, nil, err
	}
	return exchange.MusicXML(r, exchange.MusicXMLOptions{WithOmitted: v.Omitted})
}
