package main

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"example.org/handful/internal/cache"
	"example.org/handful/internal/settings"
	"example.org/handful/internal/since"
)

// A shard is one of several parts of a library, each of which is checked by
// itself.
type shard struct{ at, of int }

// mostShards is how many parts there may be.
const mostShards = 1000

// parseShard reads 2/8; of is 0 where nothing is asked.
func parseShard(text string) (shard, error) {
	if text == "" {
		return shard{}, nil
	}
	at, of, ok := strings.Cut(text, "/")
	a, errA := strconv.Atoi(at)
	b, errB := strconv.Atoi(of)
	if !ok || errA != nil || errB != nil || a < 1 || a > b || b > mostShards {
		return shard{}, fmt.Errorf("--shard says which part of how many, as in 2/8, up to %d; not %q", mostShards, text)
	}
	return shard{a, b}, nil
}

// pick takes the files of this part. Parts are about equally large: the largest
// file that is left goes to the part that has least, so that all parts agree on
// who has what without asking each other.
func (h shard) pick(files []string) []string {
	type sized struct {
		file string
		size int64
	}
	all := make([]sized, len(files))
	for i, f := range files {
		all[i].file = f
		if info, err := os.Stat(f); err == nil {
			all[i].size = info.Size()
		}
	}
	slices.SortFunc(all, func(a, b sized) int {
		return cmp.Or(cmp.Compare(b.size, a.size), strings.Compare(a.file, b.file))
	})
	has := make([]int64, h.of)
	var mine []string
	for _, f := range all {
		least := slices.Index(has, slices.Min(has))
		has[least] += f.size + 1
		if least == h.at-1 {
			mine = append(mine, f.file)
		}
	}
	return mine
}

// pick is which of the files that are meant are checked; nil is all of them.
func (v *checkVerb) pick(s *streams) (func(files []string) ([]string, error), error) {
	part, err := parseShard(v.Shard)
	if err != nil {
		return nil, err
	}
	if part.of == 0 && v.ChangedSince == "" {
		return nil, nil
	}
	return func(files []string) ([]string, error) {
		if v.ChangedSince != "" {
			if files, err = s.changedSince(v.ChangedSince, files); err != nil {
				return nil, err
			}
		}
		if part.of > 0 {
			files = part.pick(files)
		}
		return files, nil
	}, nil
}

// changedSince takes the files that are not as they were at a revision, or use
// a file that is not, or stand below settings that are not.
func (s *streams) changedSince(revision string, files []string) (out []string, err error) {
	c := changes{streams: s, wd: workingFolder(), revisions: map[string]*since.Revision{}, uses: newUses()}
	c.recall()
	defer c.keep()
	inputs := make([]input, len(files))
	of := make([]*since.Revision, len(files))
	looked := map[*since.Revision][]string{}
	for i, f := range files {
		if f == "-" {
			continue
		}
		inputs[i] = c.inputOf(c.wd, f)
		rev, err := c.revision(filepath.Dir(inputs[i].abs), revision)
		if err != nil {
			return nil, fmt.Errorf("--changed-since: %s: %w", filepath.Dir(f), err)
		}
		of[i], looked[rev] = rev, append(looked[rev], inputs[i].abs)
	}
	for rev, list := range looked {
		rev.Look(list)
	}
	for i, f := range files {
		if of[i] == nil || c.touched(of[i], &inputs[i]) {
			out = append(out, f)
		}
	}
	return out, nil
}

// A changes finds out what changed.
type changes struct {
	*streams
	wd        string
	revisions map[string]*since.Revision // by folder
	uses      uses
	named     map[[20]byte][]string // what files name, by what they hold, as earlier runs found
	news      map[[20]byte][]string // and as this one needs it
	fresh     bool                  // that is more than was known
}

// usesKey is under what that is kept.
var usesKey = cache.Key{'u', 's', 'e', 's'}

// recall has what files name taken from what earlier runs have found, where
// the repository knows without reading them what they hold.
func (c *changes) recall() {
	c.named, c.news = map[[20]byte][]string{}, map[[20]byte][]string{}
	r := reader{text: c.store.Get(usesKey)}
	for range r.count() {
		var hash [20]byte
		copy(hash[:], r.bytes())
		c.named[hash] = nil
		for range r.count() {
			c.named[hash] = append(c.named[hash], r.string())
		}
	}
	if r.broken {
		c.named = map[[20]byte][]string{}
	}
	c.uses.spelled = func(file string, read func() []string) []string {
		for _, rev := range c.revisions {
			if hash, ok := rev.Content(file); ok {
				names, known := c.named[hash]
				if !known {
					names, c.fresh = read(), true
				}
				c.news[hash] = names
				return names
			}
		}
		return read()
	}
}

// keep has the next run know it.
func (c *changes) keep() {
	if !c.fresh {
		return
	}
	for hash, names := range c.named {
		if len(c.news) >= mostNamed {
			break
		}
		c.news[hash] = names
	}
	var w writer
	w.number(len(c.news))
	for hash, names := range c.news {
		w.text(string(hash[:]))
		w.number(len(names))
		for _, name := range names {
			w.text(name)
		}
	}
	c.store.Put(usesKey, w)
}

// mostNamed is of how many files what they name is kept.
const mostNamed = 100_000

// revision is that of the repository which a folder is in.
func (c *changes) revision(dir, of string) (*since.Revision, error) {
	for top, rev := range c.revisions { // mostly there is one
		if rel, err := filepath.Rel(top, dir); err == nil && filepath.IsLocal(rel) {
			return rev, nil
		}
	}
	rev, err := since.Open(dir, of)
	if err == nil {
		c.revisions[rev.Top()] = rev
	}
	return rev, err
}

// touched says whether anything that the check of a file goes by has changed.
func (c *changes) touched(rev *since.Revision, in *input) bool {
	if in.conf.Dir != "" && rev.Changed(filepath.Join(in.conf.Dir, settings.FileName)) {
		return true
	}
	return rev.Changed(in.abs) || slices.ContainsFunc(c.uses.all(in), rev.Changed)
}
