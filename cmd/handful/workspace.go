package main

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"example.org/handful/cmd/handful/disk"
	"example.org/handful/internal/folder"
	"example.org/handful/internal/settings"
	"example.org/handful/lang/words"
)

// input is one text to work on.
type input struct {
	path string // as it is shown; "-" for standard input
	text string
	sum  contentSum // of the text, where it is asked for
	// unread is a file whose text is not there yet: its sum is known from earlier,
	// or it is read when its turn comes.
	unread bool
	seen   sighting // how it was from outside before it was read
	root   string   // the folder that its use lines may read in
	name   string   // its path within the root, with slashes
	abs    string   // its whole path, which is asked for often
	wd     string   // the working folder
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
	return gatherSome(paths, choice, s, choosing{})
}

// choosing is how files are gathered.
type choosing struct {
	pick  picking // nil takes all
	later bool    // files are read when their turn comes
}

// A picking takes some of the files that are meant, in their order.
type picking func(g *gathering, files []*reading) ([]*reading, error)

// gatherSome is gatherChosen for those of the files that are picked from all of
// them.
func gatherSome(paths []string, choice folder.Choice, s *streams, how choosing) (inputs []input, failed bool) {
	if len(paths) == 0 {
		paths = []string{"."}
	}
	g := gathering{streams: s, choice: choice, later: how.later, wd: workingFolder(), had: map[string]bool{}}
	for _, p := range paths {
		if s.interrupted() {
			return nil, true
		}
		g.path(p)
	}
	if how.pick != nil {
		g.pick(how.pick)
	}
	g.readAll()
	return g.inputs, g.failed || s.interrupted()
}

// A gathering is what was read so far.
type gathering struct {
	*streams
	choice folder.Choice
	later  bool
	wd     string     // the working folder
	reads  []*reading // the files that are meant, and how each is read
	inputs []input
	had    map[string]bool
	failed bool
}

// pick leaves the files that are picked to be read.
func (g *gathering) pick(pick picking) {
	var err error
	if g.reads, err = pick(g, g.reads); err != nil {
		g.fail(err)
		g.reads = nil
	}
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
		in := input{path: p, root: g.wd, name: p, abs: filepath.Join(g.wd, p), wd: g.wd, conf: g.settingsFor(g.wd)}
		g.add(in, "standard input", true, func() (string, error) { return folder.ReadAll(g.in, "standard input") })
		return
	}
	files, errs := folder.Chosen(p, g.choice)
	for _, err := range errs {
		g.fail(err)
	}
	inputs := make([]input, len(files))
	for i, f := range files {
		inputs[i] = g.inputOf(g.wd, f)
	}
	if g.choice.Root != "" && isFolder(p) {
		inputs = slices.DeleteFunc(inputs, func(in input) bool { return !in.conf.Meant(in.abs) })
	}
	if len(inputs) == 0 && len(errs) == 0 {
		g.fail(g.nothing(p)) // a gate on nothing must not pass
	}
	named := filepath.Clean(p)
	for _, in := range inputs {
		f := in.path
		in.within = p
		itself := filepath.Clean(f) == named // a file that was named
		if itself {
			in.within = in.root
		}
		g.add(in, f, itself, func() (string, error) { return readFile(f) })
	}
}

func (g *gathering) nothing(p string) error {
	err := fmt.Errorf("there is no %s file below %s", folder.Extension, p)
	if all, _ := folder.Below(p); len(all) > 0 {
		return fmt.Errorf("%w that is meant: %s passed over, by a pattern or a .gitignore", err, words.Count(len(all), "file is", "files are"))
	}
	return err
}

// inputOf is a file, seen from the working folder, that is not read yet.
func (s *streams) inputOf(wd, file string) input {
	in := input{path: file, abs: within(wd, file), wd: wd}
	in.conf = s.settingsFor(filepath.Dir(in.abs))
	in.root, in.name = in.workspace()
	return in
}

// within is the whole path of a file that is called from a folder.
func within(dir, file string) string {
	if filepath.IsAbs(file) {
		return filepath.Clean(file)
	}
	return filepath.Join(dir, file)
}

// A reading is how an input is read.
type reading struct {
	input
	called string
	slow   bool // it may wait for somebody
	read   func() (string, error)
	err    error
}

// add has an input read, unless it is there already.
func (g *gathering) add(in input, called string, slow bool, read func() (string, error)) {
	key := filepath.Clean(in.path)
	if g.had[key] {
		return
	}
	g.had[key] = true
	g.reads = append(g.reads, &reading{input: in, called: called, slow: slow, read: read})
}

// readAll reads what is meant, several at once, and takes it in its order.
func (g *gathering) readAll() {
	var next atomic.Int64
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(g.reads)) {
		workers.Go(func() {
			for i := next.Add(1) - 1; i < int64(len(g.reads)) && !g.interrupted(); i = next.Add(1) - 1 {
				g.reads[i].now(g.streams, g.later)
			}
		})
	}
	workers.Wait()
	if g.interrupted() {
		return // which is said once, when the command ends
	}
	for _, r := range g.reads {
		if r.err != nil {
			g.fail(r.err)
		} else {
			g.inputs = append(g.inputs, r.input)
		}
	}
}

func (r *reading) now(s *streams, later bool) {
	if !r.slow {
		if r.seen, r.unread = s.seen.known(r.abs); r.unread {
			r.sum = r.seen.sum
			return
		}
		if r.unread = later; later {
			return
		}
	}
	if r.slow {
		r.text, r.err = s.waiting(r.read)
	} else {
		r.text, r.err = r.read()
	}
	if r.err == nil {
		r.err = native(r.called, r.text)
	}
	if r.err == nil && s.store != nil {
		r.sum = sumOf(r.text)
		s.seen.note(r.abs, r.seen, r.sum)
	}
}

// load reads a file that was not read yet.
func (in *input) load(seen *sightings) (err error) {
	if !in.unread {
		return nil
	}
	if in.text, err = readFile(in.path); err == nil {
		err = native(in.path, in.text)
	}
	known := in.sum != contentSum{}
	in.sum, in.unread = sumOf(in.text), false
	if err == nil && !known {
		seen.note(in.abs, in.seen, in.sum)
	}
	return err
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

// workspace is the folder that a file's use lines may read in, and the file's
// name there: the folder of its settings, or else the working folder if the
// file is below it, or else the file's own folder.
func (in *input) workspace() (root, name string) {
	for _, dir := range []string{in.conf.Dir, in.wd} {
		if dir == "" {
			continue
		}
		if name, ok := folder.Inside(dir, in.abs); ok {
			return dir, name
		}
	}
	return filepath.Dir(in.abs), filepath.Base(in.abs)
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
