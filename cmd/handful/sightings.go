package main

import (
	"crypto/sha256"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"
	"unsafe"

	"example.org/handful/internal/cache"
)

// Sightings are what the files of a library were when earlier runs read them:
// one that is the same to the eye of the system need not be read to know what it
// holds. A nil one has seen nothing.
//
// The same to the eye is size, both of the system's times, and which file of
// which disk it is. The time of the last change of any kind cannot be set by
// anybody, so that a file which is put back in its old time is another one. What
// was changed in the moments before it was read may be changed again in the same
// tick of the disk's clock: such a file is not noted, and the next run reads it
// again.
type sightings struct {
	store *cache.Cache
	now   time.Time // when this run began

	mu      sync.Mutex
	folders map[string]*folderSeen
}

// A folderSeen is what was seen of the files right in a folder, by their names.
type folderSeen struct {
	files map[string]sighting
	fresh bool // not as it is kept
}

// A sighting is a file from outside, and what it held.
type sighting struct {
	size, modified, changed, number, device int64
	sum                                     contentSum
}

// contentSum stands for a text.
type contentSum [16]byte

func sumOf(text string) (sum contentSum) {
	all := sha256.Sum256(unsafe.Slice(unsafe.StringData(text), len(text))) // which only reads it
	copy(sum[:], all[:])
	return sum
}

// tick is how coarse a disk's clock may be.
const tick = 2 * time.Second

// mostSeen is of how many files of a folder it is kept.
const mostSeen = 50_000

func newSightings(store *cache.Cache) *sightings {
	if store == nil {
		return nil
	}
	return &sightings{store: store, now: time.Now(), folders: map[string]*folderSeen{}}
}

// known is what a file holds, if it is as it was when it was read, and how it is
// from outside. It is not ok for a file that has to be read.
func (s *sightings) known(file string) (is sighting, ok bool) {
	if s == nil {
		return is, false
	}
	info, err := os.Stat(file)
	if err != nil || !info.Mode().IsRegular() {
		return is, false
	}
	is, can := sighted(info)
	if !can {
		return is, false
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	was, ok := s.of(filepath.Dir(file)).files[filepath.Base(file)]
	is.sum = was.sum
	return is, ok && is == was
}

// note keeps what a file holds that was read after it looked like that.
func (s *sightings) note(file string, is sighting, sum contentSum) {
	if s == nil {
		return
	}
	sure := s.now.Add(-tick).UnixNano()
	if is == (sighting{}) || is.modified >= sure || is.changed >= sure {
		return
	}
	is.sum = sum
	s.mu.Lock()
	defer s.mu.Unlock()
	in := s.of(filepath.Dir(file))
	in.files[filepath.Base(file)], in.fresh = is, true
}

// of is what was seen of a folder.
func (s *sightings) of(dir string) *folderSeen {
	if in := s.folders[dir]; in != nil {
		return in
	}
	in := &folderSeen{files: map[string]sighting{}}
	s.folders[dir] = in
	r := reader{text: s.store.Get(seenKey(dir))}
	for range r.count() {
		var is sighting
		name := r.string()
		for _, n := range is.numbers() {
			*n = int64(r.number())
		}
		copy(is.sum[:], r.bytes())
		in.files[name] = is
	}
	if r.broken {
		in.files = map[string]sighting{}
	}
	return in
}

func (is *sighting) numbers() []*int64 {
	return []*int64{&is.size, &is.modified, &is.changed, &is.number, &is.device}
}

// seenKey is under what the files of a folder are kept.
func seenKey(dir string) (key cache.Key) {
	sum := sha256.Sum256([]byte("seen\x00" + dir))
	copy(key[:], sum[:])
	return key
}

// keep has the next run know it.
func (s *sightings) keep() {
	if s == nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for dir, in := range s.folders {
		if !in.fresh {
			continue
		}
		names := slices.Sorted(maps.Keys(in.files))
		names = names[:min(len(names), mostSeen)]
		var w writer
		w.number(len(names))
		for _, name := range names {
			is := in.files[name]
			w.text(name)
			for _, n := range is.numbers() {
				w.number(int(*n))
			}
			w.text(string(is.sum[:]))
		}
		s.store.Put(seenKey(dir), w)
	}
}
