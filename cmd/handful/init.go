package main

import (
	"fmt"
	"path/filepath"

	"example.org/handful/internal/settings"
)

type initVerb struct {
	Dir    string `arg:"" optional:"" default:"." name:"folder" help:"The folder of the library; without one, this folder."`
	Schema bool   `help:"Print the JSON schema of the file instead, for editors."`
}

func (v *initVerb) Help() string {
	return `Writes handful.toml: what holds for every piece in the folder and below. Each line of it is a comment until you take the # away.

  handful init                  here
  handful init season           for the pieces in season/
  handful init --schema         what may stand in it, for an editor`
}

func (v *initVerb) Run(s *streams) error {
	if v.Schema {
		_, err := s.data().Write(settings.Schema())
		return err
	}
	file := filepath.Join(v.Dir, settings.FileName)
	place, err := newPlace(s, file, false)
	if err != nil {
		return err
	}
	if err := place.Write([]byte(settings.First())); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%s is written; take the # away from what should hold\n", clean(file))
	return nil
}
