package main

import (
	"crypto/sha256"
	"fmt"
	"path/filepath"
	"sort"
	"strings"

	"example.org/handful/cmd/handful/disk"
)

// A making is a kind of files that are made into a folder all together. A list
// beside them says which were made there, and as what: by that the next run
// knows its own from files of the same names, and from those that somebody has
// written into.
type making struct {
	list string // the name of the list
	what string // what the files are
	tell bool   // say each that was written
}

var (
	sheetsMade = making{madeName, "sheets", true}
	guidePages = making{".handful-guide", "pages", false}
)

const madeName = ".handful-sheets"

func (k making) head() string {
	return "# The " + k.what + " that handful has made in this folder, each with the sum of what was written.\n"
}

// made has the sums under which each sheet may be found.
type made map[string][]string

func sum(text []byte) string { return fmt.Sprintf("%x", sha256.Sum256(text)) }

func readMade(text []byte) made {
	m := made{}
	for _, line := range strings.Split(string(text), "\n") {
		if sum, name, ok := strings.Cut(line, "  "); ok && len(sum) == 2*sha256.Size {
			m[name] = append(m[name], sum)
		}
	}
	return m
}

func (m made) text(head string) []byte {
	var names []string
	for name := range m {
		names = append(names, name)
	}
	sort.Strings(names)
	var b strings.Builder
	b.WriteString(head)
	for _, name := range names {
		for _, sum := range m[name] {
			fmt.Fprintf(&b, "%s  %s\n", sum, name)
		}
	}
	return []byte(b.String())
}

// has says whether a sheet was made as this text.
func (m made) has(name string, text []byte) bool {
	for _, s := range m[name] {
		if s == sum(text) {
			return true
		}
	}
	return false
}

// write writes the files of a folder, and of folders in it.
func (k making) write(s *streams, dir string, files []outFile, force bool) error {
	if err := makeFolders(s, dir, files); err != nil {
		return err
	}
	list, m, err := k.read(s, dir)
	if err != nil {
		return err
	}
	places := make([]*disk.Place, len(files))
	for i, f := range files {
		if places[i], err = m.place(s, dir, f, force); err != nil {
			return err
		}
	}
	// Until all are written each may be the old one or the new one, and is to be
	// known again as either, should this be cut off.
	for _, f := range files {
		if !m.has(f.name, f.data) {
			m[f.name] = append(m[f.name], sum(f.data))
		}
	}
	if err := list.Write(m.text(k.head())); err != nil {
		return err
	}
	for i, f := range files {
		if s.interrupted() {
			return unfinished{share(i, len(files), k.what+" were written; the others are as they were")}
		}
		if err := places[i].Write(f.data); err != nil {
			return err
		}
		if k.tell {
			fmt.Fprintln(s.out, filepath.Join(dir, f.name))
		}
	}
	for _, f := range files {
		m[f.name] = []string{sum(f.data)}
	}
	return list.Write(m.text(k.head()))
}

func makeFolders(s *streams, dir string, files []outFile) error {
	below := map[string]bool{}
	for _, f := range files {
		if in := filepath.Join(dir, filepath.Dir(f.name)); !below[in] {
			below[in] = true
			if err := disk.MakeFolder(s.disk, in); err != nil {
				return err
			}
		}
	}
	return nil
}

// read reads the list of what was made in a folder, if there is one.
func (k making) read(s *streams, dir string) (*disk.Place, made, error) {
	list, err := disk.At(s.disk, filepath.Join(dir, k.list), dir)
	if err != nil || !list.There() {
		return list, made{}, err
	}
	text, err := list.Look()
	return list, readMade(text), err
}

// place is where a file may be written: where none is, or one that was made and
// not changed since.
func (m made) place(s *streams, dir string, f outFile, force bool) (*disk.Place, error) {
	path := filepath.Join(dir, f.name)
	p, err := disk.At(s.disk, path, dir)
	if err != nil || !p.There() {
		return p, err
	}
	was, err := p.Look()
	switch {
	case err != nil:
		return nil, err
	case force || m.has(f.name, was) || string(was) == string(f.data):
		return p, nil
	case len(m[f.name]) > 0:
		return nil, fmt.Errorf("%s was changed after it was made and stays as it is, and so does everything else; --force writes over it", path)
	}
	return nil, fmt.Errorf("%s is there already, and was not made by handful: it stays as it is, and so does everything else; --force writes over it", path)
}
