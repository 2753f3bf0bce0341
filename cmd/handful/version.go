package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"strings"
)

type versionVerb struct{}

func (v *versionVerb) Run(s *streams) error {
	text := "handful " + version()
	if info, ok := debug.ReadBuildInfo(); ok {
		text += ", built with " + info.GoVersion + " for " + runtime.GOOS + "/" + runtime.GOARCH
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

// dayOf is the day of the commit that this program was built from, if it was from one.
func dayOf() string {
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, set := range info.Settings {
			if set.Key == "vcs.time" {
				day, _, _ := strings.Cut(set.Value, "T")
				return day
			}
		}
	}
	return ""
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
