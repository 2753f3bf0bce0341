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

	"github.com/go-git/go-git/v5"
	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/filemode"
	"github.com/go-git/go-git/v5/plumbing/format/index"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/storage/filesystem"
)

// A Revision is a state of a repository that files are compared with.
type Revision struct {
	top     string                   // the repository's own folder
	was     map[string]plumbing.Hash // by the path from there, with slashes
	staged  map[string]*index.Entry
	changed map[string]bool   // what was found, by the whole path
	dirs    map[string]string // folders with no link in their path
}

// unconflicted is the stage of what is in an index once; the library's own name
// for it is that of another one.
const unconflicted index.Stage = 0

// Open finds the repository that a folder is in, and a revision of it: a
// branch, a tag, a commit, HEAD~3.
func Open(dir, revision string) (*Revision, error) {
	repo, err := git.PlainOpenWithOptions(dir, &git.PlainOpenOptions{DetectDotGit: true, EnableDotGitCommonDir: true})
	if errors.Is(err, git.ErrRepositoryNotExists) {
		return nil, errors.New("this folder is in no git repository")
	}
	if err != nil {
		return nil, err
	}
	tree, err := repo.Worktree()
	if err != nil {
		return nil, errors.New("this repository has no files of its own: it is a bare one")
	}
	top, err := filepath.EvalSymlinks(tree.Filesystem.Root())
	if err != nil {
		return nil, err
	}
	r := &Revision{top: top, changed: map[string]bool{}, dirs: map[string]string{}}
	var staged *index.Index
	var looked sync.WaitGroup
	looked.Go(func() { staged, _ = repo.Storer.Index() })
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
func settled(repo *git.Repository) (t time.Time) {
	if at, ok := repo.Storer.(*filesystem.Storage); ok {
		if info, err := at.Filesystem().Stat("index"); err == nil {
			t = info.ModTime().Add(-50 * time.Millisecond)
		}
	}
	return t
}

// read collects what the files of the revision are.
func (r *Revision) read(repo *git.Repository, revision string) error {
	hash, err := repo.ResolveRevision(plumbing.Revision(revision))
	if err != nil {
		return fmt.Errorf("this repository has no revision %q; a shallow copy of it may not have come with one", revision)
	}
	commit, err := repo.CommitObject(*hash)
	if err != nil {
		return fmt.Errorf("%q is no commit: %w", revision, err)
	}
	tree, err := commit.Tree()
	if err != nil {
		return err
	}
	walker := object.NewTreeWalker(tree, true, nil)
	defer walker.Close()
	type file struct {
		name string
		hash plumbing.Hash
	}
	var files []file
	for {
		name, e, err := walker.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if e.Mode == filemode.Regular || e.Mode == filemode.Executable || e.Mode == filemode.Deprecated {
			files = append(files, file{name, e.Hash})
		}
	}
	r.was = make(map[string]plumbing.Hash, len(files))
	for _, f := range files {
		r.was[f.name] = f.hash
	}
	return nil
}

// Look finds out of many files whether they are as they were, several at once, so
// that Changed knows it.
func (r *Revision) Look(files []string) {
	names := make([]string, len(files))
	inside := make([]bool, len(files))
	for i, file := range files {
		names[i], inside[i] = r.named(file)
	}
	is := make([]bool, len(files))
	var looked sync.WaitGroup
	share := (len(files) + runtime.GOMAXPROCS(0) - 1) / runtime.GOMAXPROCS(0)
	for from := 0; from < len(files); from += share {
		looked.Go(func() {
			for i := from; i < min(from+share, len(files)); i++ {
				is[i] = !inside[i] || r.differs(files[i], names[i])
			}
		})
	}
	looked.Wait()
	if len(r.changed) == 0 {
		r.changed = make(map[string]bool, len(files))
	}
	for i, file := range files {
		r.changed[file] = is[i]
	}
}

// Changed says whether a file is not as it was: changed, new or gone. A file
// outside the repository always counts as changed.
func (r *Revision) Changed(file string) bool {
	abs, err := filepath.Abs(file)
	if err != nil {
		return true
	}
	if known, ok := r.changed[abs]; ok {
		return known
	}
	name, ok := r.named(abs)
	is := !ok || r.differs(abs, name)
	r.changed[abs] = is
	return is
}

// named is what a file is called in the repository.
func (r *Revision) named(abs string) (string, bool) {
	dir, ok := r.dirs[filepath.Dir(abs)]
	if !ok {
		dir, _ = filepath.EvalSymlinks(filepath.Dir(abs))
		r.dirs[filepath.Dir(abs)] = dir
	}
	if dir == "" {
		return "", false
	}
	rel, err := filepath.Rel(r.top, filepath.Join(dir, filepath.Base(abs)))
	return filepath.ToSlash(rel), err == nil && filepath.IsLocal(rel)
}

// Content stands for what a file that is not changed holds. It is not ok for one
// that is, or is not in the repository.
func (r *Revision) Content(abs string) (hash [20]byte, ok bool) {
	name, ok := r.named(abs)
	if !ok || r.Changed(abs) {
		return hash, false
	}
	was, ok := r.was[name]
	return was, ok
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
