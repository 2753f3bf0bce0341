package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"sort"
	"sync"

	"example.org/handful/internal/cache"
	"example.org/handful/internal/folder"
	"example.org/handful/internal/settings"
	"example.org/handful/internal/since"
	"example.org/handful/lang/check"
)

// changedSince takes the files that are not as they were at a revision, or use
// a file that is not, or stand below settings that are not.
func (g *gathering) changedSince(revision string, first opening, files []*reading) (out []*reading, err error) {
	c := newChanges(g.streams, first)
	defer c.keep()
	of := make([]*repository, len(files))
	for i, f := range files {
		if f.path == "-" {
			continue
		}
		if of[i], err = c.repository(filepath.Dir(f.abs), revision); err != nil {
			return nil, fmt.Errorf("--changed-since: %s: %w", filepath.Dir(f.path), err)
		}
		of[i].looked = append(of[i].looked, f.abs)
	}
	for _, r := range c.repositories {
		r.states = r.Look(r.looked)
	}
	for i, f := range files {
		if of[i] == nil || c.touched(of[i], of[i].next(), &f.input) {
			out = append(out, f)
		}
	}
	return out, nil
}

// A changes finds out what changed.
type changes struct {
	*streams
	first        opening
	repositories []*repository // mostly there is one
	folders      map[string]*repository
	naming
}

// A repository is one as it was, and what was asked of it.
type repository struct {
	*since.Revision
	looked   []string      // files that are asked for
	states   []since.State // of each of them that was not told yet
	settings map[*settings.Settings]bool
	moved    map[string]bool // of files that are used, whether they or what they use is another one
	uses     uses
}

// next is how the next of the files is that were asked for.
func (r *repository) next() since.State {
	is := r.states[0]
	r.states = r.states[1:]
	return is
}

func newChanges(s *streams, first opening) *changes {
	c := &changes{streams: s, first: first, folders: map[string]*repository{}}
	c.recall(s.store)
	return c
}

// An opening is a repository as it was that is opened while the files are looked
// for; nil if it cannot be.
type opening func() *since.Revision

func opened(dir, revision string) opening {
	o := sync.OnceValue(func() (r *since.Revision) {
		check.Contained(func() { r, _ = since.Open(dir, revision) })
		return r
	})
	go o()
	return o
}

func (c *changes) keep() { c.naming.keep(c.store) }

// repository is that which a folder is in.
func (c *changes) repository(dir, revision string) (*repository, error) {
	if r := c.folders[dir]; r != nil {
		return r, nil
	}
	for _, r := range c.repositories {
		if _, ok := folder.Inside(r.Top(), dir); ok {
			c.folders[dir] = r
			return r, nil
		}
	}
	rev := c.first()
	inside := false
	if rev != nil {
		_, inside = folder.Inside(rev.Top(), dir)
	}
	if !inside {
		var err error
		if rev, err = since.Open(dir, revision); err != nil {
			return nil, err
		}
	}
	r := &repository{Revision: rev, settings: map[*settings.Settings]bool{}, moved: map[string]bool{}, uses: newUses()}
	r.uses.spelled = func(file string, read func() []string) []string { return c.spelled(r.Of(file).Content, read) }
	c.repositories, c.folders[dir] = append(c.repositories, r), r
	return r, nil
}

// touched says whether anything that the check of a file goes by has changed.
func (c *changes) touched(r *repository, is since.State, in *input) bool {
	if is.Changed || r.otherSettings(in.conf) {
		return true
	}
	uses := func(name string) bool { return r.usedMoved(in.root, name) }
	names := c.spelled(is.Content, func() []string { return spelledIn(in.root, in.name) })
	return slices.ContainsFunc(withinOf(in.name, names), uses) || slices.ContainsFunc(in.uses(), uses)
}

// otherSettings says whether settings are not as they were.
func (r *repository) otherSettings(conf *settings.Settings) bool {
	is, known := r.settings[conf]
	if !known {
		is = conf.Dir != "" && r.Of(filepath.Join(conf.Dir, settings.FileName)).Changed
		r.settings[conf] = is
	}
	return is
}

// usedMoved says whether a file that is used, or what it uses, is not as it was.
func (r *repository) usedMoved(root, name string) bool {
	key := root + "\x00" + name
	is, known := r.moved[key]
	if !known {
		itself := filepath.Join(root, filepath.FromSlash(name))
		others := r.uses.all(&input{root: root, name: name})
		is = slices.ContainsFunc(append(others, itself), func(file string) bool { return r.Of(file).Changed })
		r.moved[key] = is
	}
	return is
}

// withinOf are the files that a file names, called from the root.
func withinOf(name string, spelled []string) (names []string) {
	for _, used := range spelled {
		if within, ok := folder.Within(name, used); ok {
			names = append(names, within)
		}
	}
	return names
}

// A naming is what files name, as it stands there, by what they hold, which the
// repository knows without reading them: what earlier runs have found, and this
// one. Most name nothing.
type naming struct {
	nothing []byte // the contents that name nothing, in order
	names   map[[20]byte][]string
	news    map[[20]byte][]string
}

// namingKey is under what it is kept.
var namingKey = cache.Key{'n', 'a', 'm', 'i', 'n', 'g'}

// mostNamed is of how many files it is kept.
const mostNamed = 100_000

const contentSize = len([20]byte{})

// spelled is what a file names that holds something.
func (n *naming) spelled(content [20]byte, read func() []string) []string {
	if content == [20]byte{} {
		return read()
	}
	if names, ok := n.names[content]; ok || n.namesNothing(content[:]) {
		return names
	}
	names, known := n.news[content]
	if !known {
		names = read()
		n.news[content] = names
	}
	return names
}

func (n *naming) namesNothing(content []byte) bool {
	_, is := sort.Find(len(n.nothing)/contentSize, func(i int) int {
		return bytes.Compare(content, n.nothing[i*contentSize:][:contentSize])
	})
	return is
}

// recall takes what earlier runs have found.
func (n *naming) recall(store *cache.Cache) {
	*n = naming{names: map[[20]byte][]string{}, news: map[[20]byte][]string{}}
	r := reader{text: store.Get(namingKey)}
	nothing, names := r.bytes(), map[[20]byte][]string{}
	for range r.count() {
		content := [20]byte(append(r.bytes(), make([]byte, contentSize)...))
		for range r.count() {
			names[content] = append(names[content], r.string())
		}
	}
	if !r.broken && len(nothing)%contentSize == 0 {
		n.nothing, n.names = nothing, names
	}
}

// keep has the next run know it.
func (n *naming) keep(store *cache.Cache) {
	if len(n.news) == 0 {
		return
	}
	if len(n.nothing)/contentSize+len(n.names)+len(n.news) > mostNamed {
		n.nothing, n.names = nil, map[[20]byte][]string{}
	}
	var nothing [][]byte
	for known := range slices.Chunk(n.nothing, contentSize) {
		nothing = append(nothing, known)
	}
	for content, names := range n.news {
		if len(names) > 0 {
			n.names[content] = names
		} else {
			nothing = append(nothing, content[:])
		}
	}
	slices.SortFunc(nothing, bytes.Compare)
	var w writer
	w.text(string(bytes.Join(nothing, nil)))
	w.number(len(n.names))
	for content, names := range n.names {
		w.text(string(content[:]))
		w.number(len(names))
		for _, name := range names {
			w.text(name)
		}
	}
	store.Put(namingKey, w)
}
