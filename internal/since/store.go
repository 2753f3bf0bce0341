package since

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/go-git/go-billy/v5"
	"github.com/go-git/go-billy/v5/osfs"
	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/cache"
	"github.com/go-git/go-git/v5/storage/filesystem"
	"github.com/go-git/go-git/v5/storage/filesystem/dotgit"
)

// A store is a repository that is only read. Of the library only what stores things
// is used: all of it brings cryptography and transports along, which take most
// of a millisecond at each start of the program.
type store struct {
	top string // the folder that its files are in
	*filesystem.Storage
}

var errNone = errors.New("this folder is in no git repository")

// find finds the repository that a folder is in.
func find(dir string) (*store, error) {
	top, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	for {
		switch info, err := os.Stat(filepath.Join(top, ".git")); {
		case err == nil:
			return open(top, info.IsDir())
		case !errors.Is(err, os.ErrNotExist):
			return nil, err
		}
		above := filepath.Dir(top)
		if above == top {
			return nil, errNone
		}
		top = above
	}
}

// open opens the repository of a folder. What .git is there may be a file that
// says where the repository is, which may say where most of it is.
func open(top string, whole bool) (*store, error) {
	at := filepath.Join(top, ".git")
	if !whole {
		is, err := os.ReadFile(at)
		if err != nil {
			return nil, err
		}
		line, _, _ := strings.Cut(string(is), "\n")
		to, says := strings.CutPrefix(line, "gitdir: ")
		if !says {
			return nil, fmt.Errorf("%s does not say where the repository is", at)
		}
		at = from(top, to)
	}
	var common billy.Filesystem
	switch to, err := os.ReadFile(filepath.Join(at, "commondir")); {
	case err == nil:
		common = osfs.New(from(at, string(to)))
	case !errors.Is(err, os.ErrNotExist):
		return nil, err
	}
	// Objects may be those of another repository, wherever that is.
	anywhere := filesystem.Options{AlternatesFS: osfs.New(filepath.VolumeName(top) + string(filepath.Separator))}
	r := &store{top, filesystem.NewStorageWithOptions(dotgit.NewRepositoryFilesystem(osfs.New(at), common), cache.NewObjectLRUDefault(), anywhere)}
	if _, err := r.Reference(plumbing.HEAD); errors.Is(err, plumbing.ErrReferenceNotFound) {
		return nil, errNone
	}
	return r, r.legible()
}

// from is a path that is seen from a folder, unless it is whole.
func from(dir, path string) string {
	if path = strings.TrimSpace(path); filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(dir, path)
}

// extensions are those of a repository's format that change nothing of how
// files, revisions and the index are read.
var extensions = map[string]bool{
	"noop": true, "noop-v1": true, "preciousobjects": true, "partialclone": true, "worktreeconfig": true,
	"objectformat sha1": true, "refstorage files": true,
}

// legible says why a repository cannot be read, if it says so itself.
func (r *store) legible() error {
	c, err := r.Config()
	if err != nil {
		return err
	}
	if v := c.Raw.Section("core").Option("repositoryformatversion"); v != "" && v != "0" && v != "1" {
		return fmt.Errorf("its format is of version %q, which is not known here", v)
	}
	for _, o := range c.Raw.Section("extensions").Options {
		if key := strings.ToLower(o.Key); !extensions[key] && !extensions[key+" "+strings.ToLower(o.Value)] {
			return fmt.Errorf("its format has the extension %q, which is not known here", o.Key+" = "+o.Value)
		}
	}
	return nil
}

// object is the text of one.
func (r *store) object(kind plumbing.ObjectType, hash plumbing.Hash) ([]byte, error) {
	o, err := r.EncodedObject(kind, hash)
	if err != nil {
		return nil, err
	}
	text, err := o.Reader()
	if err != nil {
		return nil, err
	}
	defer text.Close()
	return io.ReadAll(text)
}

// A commit is what it says of others.
type commit struct {
	tree    plumbing.Hash
	parents []plumbing.Hash
}

// commit reads one.
func (r *store) commit(hash plumbing.Hash) (c commit, err error) {
	text, err := r.object(plumbing.CommitObject, hash)
	if err != nil {
		return c, err
	}
	for line := range bytes.Lines(text) {
		word, rest, _ := strings.Cut(strings.TrimSuffix(string(line), "\n"), " ")
		switch word {
		case "tree":
			c.tree = plumbing.NewHash(rest)
		case "parent":
			c.parents = append(c.parents, plumbing.NewHash(rest))
		default:
			return c, nil
		}
	}
	return c, nil
}

// tagged is what a tag is of.
func (r *store) tagged(hash plumbing.Hash) (of plumbing.Hash, err error) {
	text, err := r.object(plumbing.TagObject, hash)
	if err != nil {
		return of, err
	}
	line, _, _ := strings.Cut(string(text), "\n")
	return plumbing.NewHash(strings.TrimPrefix(line, "object ")), nil
}

var errMalformed = errors.New("a folder of it is not as one is written")

// eachFile visits the files of a tree, by their paths, and of the trees in it.
func (r *store) eachFile(tree plumbing.Hash, dir string, visit func(path string, hash plumbing.Hash)) error {
	const (
		file   = "10"    // how the mode of one begins
		folder = "40000" // the mode of one
	)
	text, err := r.object(plumbing.TreeObject, tree)
	if err != nil {
		return err
	}
	for len(text) > 0 {
		head, rest, ok := bytes.Cut(text, []byte{0})
		mode, name, named := strings.Cut(string(head), " ")
		if !ok || !named || len(rest) < len(tree) {
			return errMalformed
		}
		hash := plumbing.Hash(rest[:len(tree)])
		text = rest[len(tree):]
		switch {
		case strings.HasPrefix(mode, file) && len(mode) == len("100644"):
			visit(dir+name, hash)
		case strings.TrimLeft(mode, "0") == folder:
			if err := r.eachFile(hash, dir+name+"/", visit); err != nil {
				return err
			}
		}
	}
	return nil
}
