package main

import (
	"path/filepath"
	"strings"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/syntax"
)

// uses knows which files a file names, each read once.
type uses map[string][]string

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
	if known, ok := u[key]; ok {
		return known
	}
	if filepath.Ext(name) == folder.Extension {
		text, err := folder.Read(root, name)
		if err == nil && (strings.Contains(text, "use") || strings.Contains(text, " in ")) {
			for _, l := range syntax.Parse(text).Lines {
				if used := l.Used(); used != nil {
					if within, ok := folder.Within(name, used.Value()); ok {
						names = append(names, within)
					}
				}
			}
		}
	}
	u[key] = names
	return names
}
