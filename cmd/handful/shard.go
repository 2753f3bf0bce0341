package main

import (
	"cmp"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
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
func (h shard) pick(files []*reading) []*reading {
	sizes := make(map[*reading]int64, len(files))
	for _, f := range files {
		if info, err := os.Stat(f.path); err == nil {
			sizes[f] = info.Size()
		}
	}
	all := slices.SortedFunc(slices.Values(files), func(a, b *reading) int {
		return cmp.Or(cmp.Compare(sizes[b], sizes[a]), strings.Compare(a.path, b.path))
	})
	has := make([]int64, h.of)
	mine := map[*reading]bool{}
	for _, f := range all {
		least := slices.Index(has, slices.Min(has))
		has[least] += sizes[f] + 1
		mine[f] = least == h.at-1
	}
	return slices.DeleteFunc(slices.Clone(files), func(f *reading) bool { return !mine[f] })
}

// top is the folder that is checked, or the first of them.
func (v *checkVerb) top() string {
	if len(v.Paths) > 0 && isFolder(v.Paths[0]) {
		return v.Paths[0]
	}
	return workingFolder()
}

// pick is which of the files that are meant are checked; nil is all of them.
func (v *checkVerb) pick() (picking, error) {
	part, err := parseShard(v.Shard)
	if err != nil {
		return nil, err
	}
	if part.of == 0 && v.ChangedSince == "" {
		return nil, nil
	}
	var first opening
	if v.ChangedSince != "" {
		first = opened(v.top(), v.ChangedSince)
	}
	return func(g *gathering, files []*reading) ([]*reading, error) {
		if v.ChangedSince != "" {
			if files, err = g.changedSince(v.ChangedSince, first, files); err != nil {
				return nil, err
			}
		}
		if part.of > 0 {
			files = part.pick(files)
		}
		return files, nil
	}, nil
}
