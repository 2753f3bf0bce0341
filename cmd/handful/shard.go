package main

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

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
	c := changes{streams: s, wd: workingFolder(), revisions: map[string]*since.Revision{}, uses: uses{}}
	for _, f := range files {
		if f == "-" {
			out = append(out, f)
			continue
		}
		rev, err := c.revision(filepath.Dir(f), revision)
		if err != nil {
			return nil, fmt.Errorf("--changed-since: %s: %w", filepath.Dir(f), err)
		}
		if c.touched(rev, f) {
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
}

// revision is that of the repository which a folder is in.
func (c *changes) revision(dir, of string) (*since.Revision, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	for top, rev := range c.revisions { // mostly there is one
		if rel, err := filepath.Rel(top, abs); err == nil && filepath.IsLocal(rel) {
			return rev, nil
		}
	}
	rev, err := since.Open(abs, of)
	if err == nil {
		c.revisions[rev.Top()] = rev
	}
	return rev, err
}

// touched says whether anything that the check of a file goes by has changed.
func (c *changes) touched(rev *since.Revision, file string) bool {
	in := c.inputOf(c.wd, file)
	if in.conf.Dir != "" && rev.Changed(filepath.Join(in.conf.Dir, settings.FileName)) {
		return true
	}
	return rev.Changed(file) || slices.ContainsFunc(c.uses.all(&in), rev.Changed)
}
