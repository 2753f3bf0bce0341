package main

import (
	"fmt"
	"runtime/debug"
)

type versionVerb struct{}

func (v *versionVerb) Run(s *streams) error {
	text := "handful " + version()
	if info, ok := debug.ReadBuildInfo(); ok {
		text += ", built with " + info.GoVersion
	}
	_, err := fmt.Fprintln(s.out, text)
	return err
}

// version is what this program was built from.
func version() string {
	version, revision, changed := "development", "", ""
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return version
	}
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
	return version + revision + changed
}

// released says whether a commit stands for all of this program.
func released() bool {
	sure := false
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, set := range info.Settings {
			switch set.Key {
			case "vcs.revision":
				sure = true
			case "vcs.modified":
				if set.Value == "true" {
					return false
				}
			}
		}
	}
	return sure
}
