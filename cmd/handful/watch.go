package main

import (
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"

	"example.org/handful/internal/folder"
	"example.org/handful/internal/settings"
	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
	"example.org/handful/lang/written"
)

type watchVerb struct {
	Paths   []string `arg:"" optional:"" name:"path" help:"Files and folders, as for check. Without one, this folder."`
	NoFixes bool     `name:"no-fixes" help:"Do not look for fixes."`
	// NoBaseline is as for check.
	NoBaseline bool `name:"no-baseline" help:"Report everything, also where the settings name a list of what is known."`
}

func (v *watchVerb) Help() string {
	return `Checks everything, and then again what is saved, with the pieces that use it, until Ctrl-C.

  handful watch .                 a folder and all below it
  handful watch show.handful      one piece, and what it uses`
}

// settles is how long nothing has to happen before a check: editors write a
// file in several steps.
const settles = 60 * time.Millisecond

func (v *watchVerb) Run(s *streams) error {
	w, err := fsnotify.NewWatcher()
	if err != nil {
		return fmt.Errorf("files cannot be watched here: %w", err)
	}
	defer w.Close()
	o := &watching{streams: s, verb: v, watcher: w, folders: map[string]bool{}, uses: map[string][]string{}}
	if err := o.everything(); err != nil {
		return err
	}
	return o.follow()
}

// A watching is what is watched, and what each piece uses.
type watching struct {
	*streams
	verb    *watchVerb
	watcher *fsnotify.Watcher
	folders map[string]bool
	uses    map[string][]string // by piece: the whole paths of what it uses
	known   string              // the whole path of the baseline; "" for none
}

// everything checks all there is, and watches where it lies.
func (o *watching) everything() error {
	o.settings = nil
	inputs, _ := gatherChosen(o.verb.Paths, folder.Choice{Root: workingFolder()}, o.streams)
	if o.interrupted() {
		return unfinished{"not everything was checked"}
	}
	o.tell(inputs)
	o.look()
	if len(o.folders) == 0 {
		return fmt.Errorf("there is nothing to watch")
	}
	fmt.Fprintf(o.err, "watching %s; Ctrl-C ends it\n", words.Count(len(o.folders), "folder", "folders"))
	return o.err.flush()
}

// look watches the folders that were asked for and those below them in which
// files are checked, and the folders that files are in.
func (o *watching) look() {
	paths := o.verb.Paths
	if len(paths) == 0 {
		paths = []string{"."}
	}
	for _, p := range paths {
		if !isFolder(p) {
			o.add(filepath.Dir(p))
			continue
		}
		for _, at := range folder.Folders(p, folder.Choice{Root: workingFolder()}) {
			o.add(at)
		}
	}
}

func (o *watching) add(dir string) {
	abs, err := filepath.Abs(dir)
	if err != nil || o.folders[abs] {
		return
	}
	if err := o.watcher.Add(abs); err != nil {
		o.say(fmt.Errorf("%s is not watched: %w", clean(dir), err))
		return
	}
	o.folders[abs] = true
}

// takes notes what an event changed, and says whether that is anything.
func (o *watching) takes(e fsnotify.Event, changed map[string]bool) (any bool) {
	if e.Has(fsnotify.Create) && isFolder(e.Name) && o.below(e.Name) {
		o.look()
		for _, f := range concernedBelow(e.Name) { // written before the folder was watched
			changed[f], any = true, true
		}
	}
	if e.Op != fsnotify.Chmod && (concerns(e.Name) || e.Name == o.known) {
		changed[e.Name], any = true, true
	}
	return any
}

// follow waits for what is saved.
func (o *watching) follow() error {
	changed := map[string]bool{}
	var settled <-chan time.Time
	for {
		select {
		case <-o.ctx.Done():
			return unfinished{"no longer watching"}
		case err, ok := <-o.watcher.Errors:
			if !ok {
				return nil
			}
			o.say(fmt.Errorf("something may have been missed, and all is checked again: %w", err))
			changed[settings.FileName] = true
			settled = time.After(settles)
		case e, ok := <-o.watcher.Events:
			if !ok {
				return nil
			}
			if o.takes(e, changed) {
				settled = time.After(settles)
			}
		case <-settled:
			settled = nil
			o.again(changed)
			clear(changed)
		}
	}
}

// below says whether a folder is one of those that were asked for, or in one.
func (o *watching) below(dir string) bool {
	for _, p := range append([]string{}, o.verb.Paths...) {
		abs, err := filepath.Abs(p)
		rel, err2 := filepath.Rel(abs, dir)
		if err == nil && err2 == nil && filepath.IsLocal(rel) {
			return true
		}
	}
	rel, err := filepath.Rel(workingFolder(), dir)
	return len(o.verb.Paths) == 0 && err == nil && filepath.IsLocal(rel)
}

// concerns says whether a file may be one that a check goes by.
func concerns(file string) bool {
	base := filepath.Base(file)
	return base == settings.FileName || filepath.Ext(base) == folder.Extension && !strings.HasPrefix(base, ".") || written.Elsewhere(base)
}

func concernedBelow(dir string) (files []string) {
	filepath.WalkDir(dir, func(at string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() && concerns(at) {
			files = append(files, at)
		}
		return nil
	})
	return files
}

// again checks the pieces that changed, and those that use what changed.
func (o *watching) again(changed map[string]bool) {
	for file := range changed {
		if filepath.Base(file) == settings.FileName || file == o.known {
			changed = nil // it may be about any of them
			break
		}
	}
	o.settings, o.badSettings = nil, false
	inputs, _ := gatherSome(o.verb.Paths, folder.Choice{Root: workingFolder()}, o.streams, choosing{pick: func(_ *gathering, files []*reading) ([]*reading, error) {
		return slices.DeleteFunc(files, func(f *reading) bool {
			return changed != nil && !changed[f.abs] && !slices.ContainsFunc(o.uses[f.abs], func(u string) bool { return changed[u] })
		}), nil
	}})
	if len(inputs) == 0 && changed != nil {
		return
	}
	fmt.Fprintf(o.out, "\n%s\n", time.Now().Format("15:04:05"))
	o.tell(inputs)
}

// baseline is what the settings say is known already, which is watched too. The
// rest of what they say of checks is taken with it.
func (o *watching) baseline(v *checkVerb) (*ledger, error) {
	o.known = ""
	if err := v.take(o.streams); err != nil || v.Baseline == "" {
		return nil, err
	}
	if abs, err := filepath.Abs(v.Baseline); err == nil {
		o.known = abs
		o.add(filepath.Dir(abs))
	}
	return v.ledger(o.streams)
}

// tell checks pieces and says what was found.
func (o *watching) tell(inputs []input) {
	v := &checkVerb{Paths: o.verb.Paths, Format: "text", FailOn: "never", NoFixes: o.verb.NoFixes, NoBaseline: o.verb.NoBaseline}
	known, err := o.baseline(v)
	if err != nil {
		o.say(err) // and everything is told
	}
	form, to := v.form(o.out, true, o.streams)
	telling := &telling{form: form, to: to, progress: o.progress(len(inputs))}
	pages := checkAll(o.ctx, inputs, checking{Options: score.Options{TempoFactor: 1}, fixes: v.seeks(false), known: known}, form, telling.next)
	telling.progress.end()
	if o.interrupted() {
		return
	}
	if err := telling.all(pages); err != nil {
		o.say(err)
	}
	if known != nil {
		known.tellGone(o.streams, v.Baseline, pages)
	}
	anyFault(pages, o.streams)
	named := newUses()
	for i := range inputs {
		in := &inputs[i]
		abs, err := filepath.Abs(in.path)
		if err == nil && in.path != "-" && check.Contained(func() { o.uses[abs] = named.all(in) }) == nil {
			for _, u := range o.uses[abs] {
				if isFolder(filepath.Dir(u)) {
					o.add(filepath.Dir(u))
				}
			}
		}
	}
	o.out.flush()
	o.err.flush()
}
