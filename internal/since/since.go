// Package since says which files are not as they were at some revision of the
// git repository that they are in.
//
// In come a revision and paths. Out comes whether what is on the disk is
// something else. The package reads the repository and the files, and writes
// nothing.
package since

import (
	"crypto/sha1"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"time"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/format/index"
)

// A Revision is a state of a repository that files are compared with.
type Revision struct {
	top    string                   // the repository's own folder
	was    map[string]plumbing.Hash // by the path from there, with slashes
	staged map[string]*index.Entry
	known  map[string]State // what was found, by the whole path
	dirs   map[string]inside
}

// A State is how a file is beside a revision.
type State struct {
	Changed bool     // it is another one, new, gone, or not in the repository
	Content [20]byte // stands for what a file holds that is not changed
}

// inside is a folder's place in the repository.
type inside struct {
	name string // with slashes, and one at its end; empty is the top
	ok   bool   // it is in it
}

// unconflicted is the stage of what is in an index once; the library's own name
// for it is that of another one.
const unconflicted index.Stage = 0

// Open finds the repository that a folder is in, and a revision of it: a
// branch, a tag, a commit, HEAD~3.
func Open(dir, revision string) (*Revision, error) {
	repo, err := find(dir)
	if err != nil {
		return nil, err
	}
	top, err := filepath.EvalSymlinks(repo.top)
	if err != nil {
		return nil, err
	}
	r := &Revision{top: top, was: map[string]plumbing.Hash{}, known: map[string]State{}, dirs: map[string]inside{}}
	var staged *index.Index
	var looked sync.WaitGroup
	looked.Go(func() {
		defer func() {
			if recover() != nil {
				staged = nil // the library could not read it
			}
		}()
		staged, _ = repo.Index()
	})
	err = r.read(repo, revision)
	looked.Wait()
	if err != nil {
		return nil, err
	}
	if staged == nil {
		return r, nil // every file is looked into
	}
	sure := settled(repo)
	r.staged = make(map[string]*index.Entry, len(staged.Entries))
	for _, e := range staged.Entries {
		// What was written in the moment in which git looked may have been
		// written again in it.
		if e.Stage == unconflicted && e.ModifiedAt.Before(sure) {
			r.staged[e.Name] = e
		}
	}
	return r, nil
}

// Top is the repository's own folder.
func (r *Revision) Top() string { return r.top }

// settled is the time before which what the repository's index says of a file
// on the disk is sure.
func settled(repo *store) (t time.Time) {
	if info, err := repo.Filesystem().Stat("index"); err == nil {
		t = info.ModTime().Add(-50 * time.Millisecond)
	}
	return t
}

// read collects what the files of the revision are.
func (r *Revision) read(repo *store, revision string) error {
	hash, err := repo.commitNamed(revision)
	if err != nil {
		return fmt.Errorf("this repository has no revision %q; a shallow copy of it may not have come with one", revision)
	}
	c, err := repo.commit(hash)
	if err != nil {
		return fmt.Errorf("%q is no commit: %w", revision, err)
	}
	return repo.eachFile(c.tree, "", func(path string, hash plumbing.Hash) { r.was[path] = hash })
}

// Look finds out of many files, by their whole paths, how each is, several at
// once.
func (r *Revision) Look(files []string) []State {
	names := make([]string, len(files))
	for i, file := range files {
		names[i], _ = r.named(file)
	}
	states := make([]State, len(files))
	var looked sync.WaitGroup
	share := (len(files) + runtime.GOMAXPROCS(0) - 1) / runtime.GOMAXPROCS(0)
	for from := 0; from < len(files); from += share {
		looked.Go(func() {
			for i := from; i < min(from+share, len(files)); i++ {
				states[i] = r.state(files[i], names[i])
			}
		})
	}
	looked.Wait()
	return states
}

// Of says how a file is. One outside the repository always counts as changed.
func (r *Revision) Of(file string) State {
	abs, err := filepath.Abs(file)
	if err != nil {
		return State{Changed: true}
	}
	is, known := r.known[abs]
	if !known {
		name, _ := r.named(abs)
		is = r.state(abs, name)
		r.known[abs] = is
	}
	return is
}

// named is what a file is called in the repository, by its whole path; it is
// not ok for one outside.
func (r *Revision) named(abs string) (name string, ok bool) {
	at, base := filepath.Split(abs)
	dir, known := r.dirs[at]
	if !known {
		if real, err := filepath.EvalSymlinks(at); err == nil {
			rel, err := filepath.Rel(r.top, real)
			dir.name, dir.ok = filepath.ToSlash(rel)+"/", err == nil && filepath.IsLocal(rel)
		}
		if dir.name == "./" {
			dir.name = ""
		}
		r.dirs[at] = dir
	}
	if !dir.ok {
		return "", false
	}
	return dir.name + base, true
}

// state looks at a file that is called so in the repository; "" is in none.
func (r *Revision) state(abs, name string) State {
	if name == "" || r.differs(abs, name) {
		return State{Changed: true}
	}
	return State{Content: r.was[name]} // nought where it never was
}

// differs looks at a file that is called so in the repository.
func (r *Revision) differs(abs, name string) bool {
	was, there := r.was[name]
	info, err := os.Stat(abs)
	if err != nil {
		return there || !errors.Is(err, os.ErrNotExist)
	}
	if !there || !info.Mode().IsRegular() { // a pipe would have no end
		return true
	}
	if e := r.staged[name]; e != nil && e.Size == uint32(info.Size()) && e.ModifiedAt.Equal(info.ModTime()) {
		return e.Hash != was
	}
	is, err := blob(abs, info.Size())
	return err != nil || is != was
}

// blob is what git calls the content of a file.
func blob(file string, size int64) (hash plumbing.Hash, err error) {
	f, err := os.Open(file)
	if err != nil {
		return hash, err
	}
	defer f.Close()
	h := sha1.New()
	fmt.Fprintf(h, "blob %d\x00", size)
	if _, err := io.Copy(h, f); err != nil {
		return hash, err
	}
	copy(hash[:], h.Sum(nil))
	return hash, nil
}
