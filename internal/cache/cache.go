// Package cache keeps what was worked out, so that it need not be worked out
// again.
//
// In come values by keys; a key has to stand for all that a value depends on.
// Out comes a value that was kept, or nothing. Whatever goes wrong with it is
// nothing but time lost: what is broken, or of another version, is not there;
// what cannot be written is not kept. Files are written beside their place and
// renamed, never changed: several runs may use one folder at once, and one that
// is killed leaves nothing that is half written. The package never judges what
// it keeps.
package cache

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// A Key stands for all that a value depends on.
type Key [16]byte

// How much is kept. A pack is a file of many values; from most packs on, they
// are made into one.
const (
	mostBytes     = 256 << 20 // in the whole folder
	mostValue     = 8 << 20   // in one value
	mostPending   = 1 << 20   // values that wait to be written
	mostUnwritten = 1 << 16   // of a pack that is being written
	mostPacks     = 8
	mostDays      = 30 // since a value was of use
	stale         = time.Hour
)

// The layout of a pack: its head, the values one behind the other, an entry for
// each of them, and its end. Numbers are little-endian.
const (
	head      = "handful cache 1\n"
	foot      = "that's it"
	entrySize = 16 + 8 + 4 + 4 + 4 // key, offset, length, checksum, day
	endSize   = 8 + 4 + 4 + len(foot)
	extension = ".pack"
	unready   = ".being-written"
)

var sums = sync.OnceValue(func() *crc32.Table { return crc32.MakeTable(crc32.Castagnoli) })

// A Cache is a folder of packs. A nil one keeps nothing. Several goroutines may
// use one at once.
type Cache struct {
	top   string // where all is that is kept, of any version
	dir   string // … and what is of this one
	limit int64  // bytes
	today uint32

	mu      sync.Mutex
	packs   []*pack
	at      map[Key]place
	pending map[Key][]byte
	waiting int // bytes of it
	last    uint64
	open    *writing // this run's own pack, which gets its name when it is whole
}

// pack is a file that was opened.
type pack struct {
	name string
	file *os.File
}

// place is where a value is.
type place struct {
	pack   *pack
	offset int64
	length uint32
	sum    uint32
	day    uint32 // on which it was last known to be of use
	used   bool   // by this run
}

// Open opens what is kept in a folder by a program of a version: any two that
// could come to different values have to have different ones.
func Open(top, version string) *Cache {
	c := &Cache{
		top: top, dir: filepath.Join(top, version), limit: mostBytes,
		today: uint32(time.Now().Unix() / (24 * 60 * 60)),
		at:    map[Key]place{}, pending: map[Key][]byte{},
	}
	there, _ := os.ReadDir(c.dir) // by their number: what was written later stands before what was there
	for _, d := range there {
		if strings.HasSuffix(d.Name(), extension) {
			c.read(filepath.Join(c.dir, d.Name()))
		}
	}
	return c
}

// read opens a pack. One that is broken is taken away.
func (c *Cache) read(name string) {
	if n := number(name); n > c.last {
		c.last = n
	}
	f, err := os.Open(name)
	if err != nil {
		return
	}
	entries, err := index(f)
	if err != nil {
		f.Close()
		os.Remove(name)
		return
	}
	p := &pack{name, f}
	c.packs = append(c.packs, p)
	for ; len(entries) > 0; entries = entries[entrySize:] {
		key, at := entryOf(entries)
		at.pack = p
		c.at[key] = at
	}
}

// number is that of a pack, which later ones have a higher one of.
func number(name string) (n uint64) {
	fmt.Sscanf(filepath.Base(name), "%016x-", &n)
	return n
}

// index is what a pack has, an entry behind the other, if it is a whole one.
func index(f *os.File) ([]byte, error) {
	broken := fs.ErrInvalid
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	size := info.Size()
	first := make([]byte, len(head))
	end := make([]byte, endSize)
	if !info.Mode().IsRegular() || size < int64(len(head)+endSize) {
		return nil, broken
	}
	if _, err := f.ReadAt(first, 0); err != nil || string(first) != head {
		return nil, broken
	}
	if _, err := f.ReadAt(end, size-int64(endSize)); err != nil || string(end[endSize-len(foot):]) != foot {
		return nil, broken
	}
	from, n := binary.LittleEndian.Uint64(end), binary.LittleEndian.Uint32(end[8:])
	if length := int64(n) * entrySize; from > uint64(size) || int64(from)+length+int64(endSize) != size {
		return nil, broken
	}
	entries := make([]byte, int64(n)*entrySize)
	if _, err := f.ReadAt(entries, int64(from)); err != nil || crc32.Checksum(entries, sums()) != binary.LittleEndian.Uint32(end[12:]) {
		return nil, broken
	}
	return entries, nil
}

func entryOf(b []byte) (key Key, at place) {
	copy(key[:], b)
	at.offset = int64(binary.LittleEndian.Uint64(b[16:]))
	at.length = binary.LittleEndian.Uint32(b[24:])
	at.sum = binary.LittleEndian.Uint32(b[28:])
	at.day = binary.LittleEndian.Uint32(b[32:])
	return key, at
}

func (at place) append(b []byte, key Key) []byte {
	b = append(b, key[:]...)
	b = binary.LittleEndian.AppendUint64(b, uint64(at.offset))
	b = binary.LittleEndian.AppendUint32(b, at.length)
	b = binary.LittleEndian.AppendUint32(b, at.sum)
	return binary.LittleEndian.AppendUint32(b, at.day)
}

// Get is the value of a key; nil if there is none.
func (c *Cache) Get(key Key) []byte {
	if c == nil {
		return nil
	}
	c.mu.Lock()
	at, ok := c.at[key]
	value := c.pending[key]
	c.mu.Unlock()
	if value != nil || !ok {
		return value
	}
	if value = at.read(); value == nil {
		return nil
	}
	c.mu.Lock()
	at.used = true
	c.at[key] = at
	c.mu.Unlock()
	return value
}

// read is a value as it was written, or nil.
func (at place) read() []byte {
	if at.length > mostValue { // which nobody has put
		return nil
	}
	value := make([]byte, at.length)
	if _, err := at.pack.file.ReadAt(value, at.offset); err != nil || crc32.Checksum(value, sums()) != at.sum {
		return nil
	}
	return value
}

// Put keeps a value, which nobody changes any more.
func (c *Cache) Put(key Key, value []byte) {
	if c == nil || len(value) == 0 || len(value) > mostValue {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.waiting += len(value) - len(c.pending[key])
	c.pending[key] = value
	if c.waiting >= mostPending {
		c.write()
	}
}

// Close writes what waits, makes one pack of many, and takes away what is too
// much or of no use any more.
func (c *Cache) Close() {
	if c == nil {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.write()
	if c.open != nil {
		c.end(c.open)
		if len(c.packs) > mostPacks {
			c.join()
		}
		c.bound()
	}
	for _, p := range c.packs {
		p.file.Close()
	}
	c.packs, c.at, c.open = nil, map[Key]place{}, nil
}

// write puts what waits into this run's pack. If it cannot be written, it is not
// kept.
func (c *Cache) write() {
	if len(c.pending) == 0 {
		return
	}
	if c.open == nil {
		c.open = c.begin()
	}
	w, had := c.open, len(c.open.keys)
	for key, value := range c.pending {
		w.add(key, value, c.today, true)
	}
	w.flush()
	unnamed := &pack{w.name, w.file}
	for i, key := range w.keys[had:] {
		if w.err == nil {
			at := w.at[had+i]
			at.pack = unnamed
			c.at[key] = at
		}
	}
	c.pending, c.waiting = map[Key][]byte{}, 0
}

// A writing is a pack that is not there yet.
type writing struct {
	file    *os.File
	name    string // that it will have
	buf     bytes.Buffer
	written int64
	at      []place
	keys    []Key
	err     error
}

func (c *Cache) begin() *writing {
	w := &writing{}
	if w.err = os.MkdirAll(c.dir, 0o700); w.err != nil {
		return w
	}
	c.last++
	w.name = filepath.Join(c.dir, fmt.Sprintf("%016x-%016x%s", c.last, rand.Uint64(), extension))
	w.file, w.err = os.OpenFile(w.name+unready, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	w.buf.WriteString(head)
	return w
}

func (w *writing) add(key Key, value []byte, day uint32, used bool) {
	w.keys = append(w.keys, key)
	w.at = append(w.at, place{offset: w.written + int64(w.buf.Len()), length: uint32(len(value)), sum: crc32.Checksum(value, sums()), day: day, used: used})
	w.buf.Write(value)
	if w.buf.Len() > mostUnwritten {
		w.flush()
	}
}

func (w *writing) flush() {
	if w.err == nil {
		_, w.err = w.file.Write(w.buf.Bytes())
	}
	w.written += int64(w.buf.Len())
	w.buf.Reset()
}

// end gives the pack its name, and takes what is in it from there.
func (c *Cache) end(w *writing) bool {
	from := w.written + int64(w.buf.Len())
	var entries []byte
	for i, key := range w.keys {
		entries = w.at[i].append(entries, key)
	}
	w.buf.Write(entries)
	w.buf.Write(binary.LittleEndian.AppendUint64(nil, uint64(from)))
	w.buf.Write(binary.LittleEndian.AppendUint32(nil, uint32(len(w.keys))))
	w.buf.Write(binary.LittleEndian.AppendUint32(nil, crc32.Checksum(entries, sums())))
	w.buf.WriteString(foot)
	w.flush()
	if w.file == nil {
		return false
	}
	w.err = cmp.Or(w.err, w.file.Close())
	if w.err == nil {
		w.err = os.Rename(w.name+unready, w.name)
	}
	if w.err != nil {
		os.Remove(w.name + unready)
		return false
	}
	f, err := os.Open(w.name)
	if err != nil {
		return false
	}
	p := &pack{w.name, f}
	c.packs = append(c.packs, p)
	for i, key := range w.keys {
		w.at[i].pack = p
		c.at[key] = w.at[i]
	}
	return true
}

// join makes one pack of all that were there: what was of use lately, first
// what was of use last, up to half of what may be kept.
func (c *Cache) join() {
	type kept struct {
		key Key
		place
	}
	var all []kept
	for key, at := range c.at {
		if at.used {
			at.day = c.today
		}
		if at.day+mostDays >= c.today {
			all = append(all, kept{key, at})
		}
	}
	slices.SortFunc(all, func(a, b kept) int {
		return cmp.Or(cmp.Compare(b.day, a.day), strings.Compare(a.pack.name, b.pack.name), cmp.Compare(a.offset, b.offset))
	})
	old := c.packs
	w := c.begin()
	for _, k := range all {
		if w.written > c.limit/2 {
			break
		}
		if value := k.read(); value != nil {
			w.add(k.key, value, k.day, k.used)
		}
	}
	if !c.end(w) {
		return
	}
	c.packs = c.packs[len(c.packs)-1:]
	for _, p := range old {
		p.file.Close()
		os.Remove(p.name)
	}
}

// bound takes away what was left half written long ago, what no program has
// used for long, and, while there is too much, what was used longest ago.
func (c *Cache) bound() {
	type there struct {
		name string
		size int64
		when time.Time
	}
	var all []there
	total := int64(0)
	now := time.Now()
	filepath.WalkDir(c.top, func(at string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return nil
		}
		info, err := d.Info()
		switch {
		case err != nil:
		case strings.HasSuffix(at, extension+unready):
			if now.Sub(info.ModTime()) > stale {
				os.Remove(at)
			}
		case strings.HasSuffix(at, extension):
			all = append(all, there{at, info.Size(), info.ModTime()})
			total += info.Size()
		}
		return nil
	})
	slices.SortFunc(all, func(a, b there) int { return a.when.Compare(b.when) })
	for _, f := range all {
		old := filepath.Dir(f.name) != c.dir && now.Sub(f.when) > mostDays*24*time.Hour
		if total <= c.limit && !old {
			continue
		}
		if os.Remove(f.name) == nil {
			total -= f.size
			os.Remove(filepath.Dir(f.name)) // once nothing is in it
		}
	}
}
