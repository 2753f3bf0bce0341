package main

import (
	"fmt"
	"runtime/debug"
)

type versionVerb struct{}

func (v *versionVerb) Run(s *streams) error {
	version, revision, changed := "development", "", ""
	if info, ok := debug.ReadBuildInfo(); ok {
		if info.Main.Version != "" && info.Main.Version != "(devel)" {
			version = info.Main.Version
		}
		for _, set := range info.Settings {
			switch {
			case set.Key == "vcs.revision":
				revision = " " + set.Value[:min(12, len(set.Value))]
			case set.Key == "vcs.modified" && set.Value == "true":
				changed = " with changes"
			}
		}
		_, err := fmt.Fprintf(s.out, "handful %s%s%s, built with %s\n", version, revision, changed, info.GoVersion)
		return err
	}
	_, err := fmt.Fprintf(s.out, "handful %s\n", version)
	return err
}
