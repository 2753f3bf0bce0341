package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"example.org/handful/cmd/handful/disk"
	"example.org/handful/internal/folder"
	"example.org/handful/internal/settings"
	"example.org/handful/lang/words"
)

// input is one text to work on.
type input struct {
	path string // as it is shown; "-" for standard input
	text string
	root string // the folder that its use lines may read in
	name string // its path within the root, with slashes
	// within is the folder that no link may lead out of when it is written.
	within string
	conf   *settings.Settings // of the folder that it is in; nil for none
}

// gather reads every file that the paths mean: files themselves, folders for
// every .handful file below, - for standard input. What cannot be read is said
// on stderr, and the rest still comes.
func gather(paths []string, s *streams) (inputs []input, failed bool) {
	return gatherChosen(paths, folder.Choice{Ignored: true}, s)
}

// gatherChosen is gather for those files of the folders that are meant.
func gatherChosen(paths []string, choice folder.Choice, s *streams) (inputs []input, failed bool) {
	return gatherSome(paths, choice, s, nil)
}

// gatherSome is gatherChosen for those of the files that are picked from all of
// them, in their order; nil picks all.
func gatherSome(paths []string, choice folder.Choice, s *streams, pick func(files []string) ([]string, error)) (inputs []input, failed bool) {
	if len(paths) == 0 {
		paths = []string{"."}
	}
	g := gathering{streams: s, choice: choice, had: map[string]bool{}}
	for _, p := range paths {
		if s.interrupted() {
			return nil, true
		}
		g.path(p)
	}
	if pick != nil {
		g.pick(pick)
	}
	for _, read := range g.reads {
		if s.interrupted() {
			return g.inputs, true
		}
		read()
	}
	return g.inputs, g.failed
}

// A gathering is what was read so far.
type gathering struct {
	*streams
	choice folder.Choice
	files  []string // that are meant
	reads  []func() // and how each is read
	inputs []input
	had    map[string]bool
	failed bool
}

// pick leaves the files that are picked to be read.
func (g *gathering) pick(pick func(files []string) ([]string, error)) {
	picked, err := pick(g.files)
	if err != nil {
		g.fail(err)
		g.reads = nil
		return
	}
	is := map[string]bool{}
	for _, f := range picked {
		is[f] = true
	}
	var reads []func()
	for i, f := range g.files {
		if is[f] {
			reads = append(reads, g.reads[i])
		}
	}
	g.reads = reads
}

func (g *gathering) fail(err error) {
	if !g.interrupted() { // which is said once, when the command ends
		g.say(err)
		g.troubles = append(g.troubles, plain(err))
	}
	g.failed = true
}

// path reads what one path means.
func (g *gathering) path(p string) {
	if p == "-" {
		g.add(input{path: p, root: workingFolder(), name: p, conf: g.settingsFor(workingFolder())}, "standard input", func() (string, error) {
			return folder.ReadAll(g.in, "standard input")
		})
		return
	}
	files, errs := folder.Chosen(p, g.choice)
	for _, err := range errs {
		g.fail(err)
	}
	if g.choice.Root != "" && isFolder(p) {
		files = slices.DeleteFunc(files, func(f string) bool { return !g.settingsFor(filepath.Dir(f)).Meant(f) })
	}
	if len(files) == 0 && len(errs) == 0 {
		g.fail(g.nothing(p)) // a gate on nothing must not pass
	}
	for _, f := range files {
		in := input{path: f, within: p, conf: g.settingsFor(filepath.Dir(f))}
		in.root, in.name = workspaceOf(f, in.conf)
		if filepath.Clean(f) == filepath.Clean(p) { // a file that was named itself
			in.within = in.root
		}
		g.add(in, f, func() (string, error) { return readFile(f) })
	}
}

func (g *gathering) nothing(p string) error {
	err := fmt.Errorf("there is no %s file below %s", folder.Extension, p)
	if all, _ := folder.Below(p); len(all) > 0 {
		return fmt.Errorf("%w that is meant: %s passed over, by a pattern or a .gitignore", err, words.Count(len(all), "file is", "files are"))
	}
	return err
}

// add has an input read, unless it is there already.
func (g *gathering) add(in input, called string, read func() (string, error)) {
	key := filepath.Clean(in.path)
	if g.had[key] {
		return
	}
	g.had[key] = true
	g.files = append(g.files, in.path)
	g.reads = append(g.reads, func() { g.read(in, called, read) })
}

func (g *gathering) read(in input, called string, read func() (string, error)) {
	text, err := g.waiting(read)
	if err == nil {
		err = native(called, text)
	}
	if err != nil {
		g.fail(err)
		return
	}
	in.text = text
	g.inputs = append(g.inputs, in)
}

// native is an error for a text of another kind, with the way in, if there is
// one.
func native(file, text string) error {
	kind := folder.Kind(text)
	switch {
	case kind == nil:
		return nil
	case kind.Line > 0:
		return fmt.Errorf("%s:%d:%d: this is %s: save the file as UTF-8", file, kind.Line, kind.Column, kind.What)
	case kind.Imports && file == "standard input":
		return fmt.Errorf("%s: %w, as in  handful import - | handful check -", file, kind)
	case kind.Imports:
		return fmt.Errorf("%s: %w:  handful import %s -o %s", file, kind, file, strings.TrimSuffix(file, filepath.Ext(file))+folder.Extension)
	}
	return fmt.Errorf("%s: %w", file, kind)
}

func readFile(p string) (string, error) {
	f, err := os.Open(p)
	if err != nil {
		return "", err
	}
	defer f.Close()
	return folder.ReadAll(f, p)
}

func workingFolder() string {
	dir, err := os.Getwd()
	if err != nil {
		return "."
	}
	return dir
}

// workspaceOf is the folder that a file's use lines may read in, and the
// file's name there: the folder of its settings, or else the working folder if
// the file is below it, or else the file's own folder.
func workspaceOf(file string, conf *settings.Settings) (root, name string) {
	abs, err := filepath.Abs(file)
	if err != nil {
		return ".", filepath.ToSlash(file)
	}
	for _, dir := range []string{conf.Dir, workingFolder()} {
		if rel, err := filepath.Rel(dir, abs); dir != "" && err == nil && filepath.IsLocal(rel) {
			return dir, filepath.ToSlash(rel)
		}
	}
	return filepath.Dir(abs), filepath.Base(abs)
}

// place is where a text that was read goes back to.
func (in input) place(s *streams) (*disk.Place, error) {
	p, err := disk.At(s.disk, in.path, in.within)
	if err == nil {
		p.Holds([]byte(in.text))
	}
	return p, err
}

// newPlace is where a command writes what it made. A file that is there and
// holds something else stays, unless the command is told to write over it.
func newPlace(s *streams, file string, force bool) (*disk.Place, error) {
	p, err := disk.At(s.disk, file, filepath.Dir(file))
	if err != nil || !p.There() {
		return p, err
	}
	if !force {
		return nil, thereAlready(file)
	}
	_, err = p.Look()
	return p, err
}

func thereAlready(file string) error {
	return fmt.Errorf("%s is there already and stays as it is; --force writes over it", file)
}

func isFolder(p string) bool {
	info, err := os.Stat(p)
	return err == nil && info.IsDir()
}
