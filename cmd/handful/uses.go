package main

import (
	"path/filepath"
	"strings"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/syntax"
)

// uses knows which files a file names, each read once.
type uses struct {
	known map[string][]string
	// spelled may know what a file names, as it stands there, without reading it;
	// nil knows nothing.
	spelled func(file string, read func() []string) []string
}

func newUses() uses { return uses{known: map[string][]string{}} }

// all are the whole paths of the files that a piece uses, at first hand or
// through others, said or not, there or not. Nothing outside the folder that
// the piece may use files of is looked at.
func (u uses) all(in *input) (paths []string) {
	had := map[string]bool{in.name: true}
	var follow func(names []string)
	follow = func(names []string) {
		for _, name := range names {
			if had[name] {
				continue
			}
			had[name] = true
			paths = append(paths, filepath.Join(in.root, filepath.FromSlash(name)))
			follow(u.named(in.root, name))
		}
	}
	follow(u.named(in.root, in.name))
	if in.conf != nil {
		follow(in.uses())
	}
	return paths
}

// named are the files that a file names itself, called from the root. Most
// files name none, which is seen without reading them as the notation.
func (u uses) named(root, name string) (names []string) {
	key := root + "\x00" + name
	if known, ok := u.known[key]; ok {
		return known
	}
	if filepath.Ext(name) == folder.Extension {
		read := func() []string { return spelledIn(root, name) }
		var spelled []string
		if u.spelled != nil {
			spelled = u.spelled(filepath.Join(root, filepath.FromSlash(name)), read)
		} else {
			spelled = read()
		}
		names = withinOf(name, spelled)
	}
	u.known[key] = names
	return names
}

// spelledIn are the files that a file names, as it does.
func spelledIn(root, name string) (names []string) {
	text, err := folder.Read(root, name)
	if err != nil || !strings.Contains(text, "use") && !strings.Contains(text, " in ") {
		return nil
	}
	for _, l := range syntax.Parse(text).Lines {
		if used := l.Used(); used != nil {
			names = append(names, used.Value())
		}
	}
	return names
}
