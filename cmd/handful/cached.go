package main

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"sync"

	"example.org/handful/internal/baseline"
	"example.org/handful/internal/cache"
	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// cacheVariable names the folder in which what was found is kept, where it is
// not the person's usual one.
const cacheVariable = "HANDFUL_CACHE"

// fewestKept is from how many files on something is kept: a single one is
// checked sooner than it is looked for.
const fewestKept = 2

// A memory is what earlier runs have found. A nil one remembers nothing.
type memory struct {
	*cache.Cache
	how []byte // all that is the same for every file of a run
}

// openCache opens what earlier runs have found; nil where nothing is kept.
func openCache() *cache.Cache {
	if dir := cacheFolder(); dir != "" {
		return cache.Open(dir, stamp())
	}
	return nil
}

// memory is what earlier runs have found, for a run over so many files.
func (s *streams) memory(files int, how checking, form form) *memory {
	if s.store == nil || files < fewestKept {
		return nil
	}
	m := &memory{Cache: s.store}
	m.how = fmt.Appendf(nil, "%v\n%q\n%d\n%v\n", how.TempoFactor, how.Without, how.fixes, how.known != nil)
	if t, ok := form.(textForm); ok {
		m.how = fmt.Appendf(m.how, "text %v %v\n", t.on, t.named)
	}
	return m
}

// cacheFolder is where what was found is kept; "" is nowhere.
func cacheFolder() string {
	if dir := os.Getenv(cacheVariable); dir != "" {
		return dir
	}
	dir, err := os.UserCacheDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "handful")
}

// stamp stands for the program and its catalogue. A build that no commit stands
// for is told from others by its own file.
func stamp() string {
	h := sha256.New()
	fmt.Fprintln(h, version(), runtime.Version(), runtime.GOARCH, pageVersion)
	if !released() {
		h.Write(ownFile())
	}
	for _, name := range kit.CatalogueFiles() {
		fmt.Fprintf(h, "%q\n%s", name, kit.CatalogueText(name))
	}
	return hex.EncodeToString(h.Sum(nil)[:8])
}

// ownFile is what tells the file of this program from that of another: what it
// begins with, which is where the compiler writes of what it was made, its size
// and its time.
func ownFile() []byte {
	file, err := os.Executable()
	if err != nil {
		return nil
	}
	f, err := os.Open(file)
	if err != nil {
		return nil
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil
	}
	first := make([]byte, 4096)
	n, _ := io.ReadFull(f, first)
	return fmt.Appendf(first[:n], "%d %d\n", info.Size(), info.ModTime().UnixNano())
}

// usualKey is how long what a key stands for usually is, in bytes.
const usualKey = 512

// key stands for all that is found in a file depends on, but for the files that
// it uses.
func (m *memory) key(in *input, known *ledger) (key cache.Key) {
	text := append(make([]byte, 0, usualKey), m.how...)
	quoted := func(said ...string) {
		for _, s := range said {
			text = append(strconv.AppendQuote(text, s), ' ')
		}
		text = append(text, '\n')
	}
	root := in.root
	if rel, err := filepath.Rel(in.wd, root); err == nil && !filepath.IsAbs(in.path) {
		root = rel
	}
	quoted(in.path, root, in.name)
	if in.conf != nil {
		text = fmt.Appendf(text, "%q %q\n", in.conf.ProfileOf(in.abs), in.uses())
		of := in.conf.SeveritiesOf(in.abs)
		for _, rule := range slices.Sorted(maps.Keys(of)) {
			text = fmt.Appendf(text, "%q %q\n", rule, of[rule])
		}
	}
	if known != nil {
		name := known.called(in)
		quoted(name)
		for _, e := range known.list.Of(name) {
			quoted(e.Rule, e.Place, e.Fingerprint)
		}
	}
	text = append(append(text, 0), in.sum[:]...)
	sum := sha256.Sum256(text)
	copy(key[:], sum[:])
	return key
}

// recall is what was found in a file, if the files that it uses are what they
// were then and as many fixes would be looked for.
func (m *memory) recall(key cache.Key, in *input, lib *folder.Library, fixes seeking, turn job) (p page, ok bool) {
	text := m.Get(key)
	if text == nil {
		return p, false
	}
	p, used, err := decodePage(text)
	if err != nil {
		return page{}, false
	}
	for _, u := range used {
		if lib.Sum(in.root, u.name) != u.sum {
			return page{}, false
		}
	}
	if fixes != soonFixes || p.sought.order == 0 {
		return p, true
	}
	now := p.sought.within(turn)
	was := p.sought.budget
	if now == was || p.unsought == 0 && was != passedOver && now >= p.sought.tried {
		turn.purse.settle(turn.file, p.sought.tried*p.sought.cost)
		return p, true
	}
	return page{}, false
}

// keep remembers what was found in a file.
func (m *memory) keep(key cache.Key, p *page, used []usedFile) {
	if text, err := encodePage(p, used); err == nil {
		m.Put(key, text)
	}
}

// A usedFile is a file that was loaded, or could not be.
type usedFile struct{ name, sum string }

// noting is a loader that notes what it was asked for.
func noting(load score.Loader, root string, lib *folder.Library) (score.Loader, func() []usedFile) {
	var mu sync.Mutex
	asked := map[string]bool{}
	return func(from, use string) (string, *syntax.File, error) {
			if name, ok := folder.Within(from, use); ok {
				mu.Lock()
				asked[name] = true
				mu.Unlock()
			}
			return load(from, use)
		}, func() (used []usedFile) {
			mu.Lock()
			defer mu.Unlock()
			for _, name := range slices.Sorted(maps.Keys(asked)) {
				used = append(used, usedFile{name, lib.Sum(root, name)})
			}
			return used
		}
}

// pageVersion is that of how pages are kept.
const pageVersion = 2

// besideReport is how much room what is kept of a page besides its report takes at first.
const besideReport = 128

// encodePage is a page and what it depends on, as it is kept.
func encodePage(p *page, used []usedFile) ([]byte, error) {
	w := make(writer, 0, len(p.findings)+len(p.ceilings)+besideReport)
	w.number(len(used))
	for _, u := range used {
		w.text(u.name)
		w.text(u.sum)
	}
	w.bytes(p.findings)
	w.bytes(p.ceilings)
	found := []byte{}
	if p.json.Path != "" {
		var err error
		if found, err = json.Marshal(&p.json); err != nil {
			return nil, err
		}
	}
	w.bytes(found)
	w.number(len(p.names))
	for _, name := range p.names {
		w.text(name)
	}
	for _, n := range p.numbers() {
		w.number(*n)
	}
	w.text(p.called)
	for _, list := range [][]baseline.Entry{p.now, p.gone} {
		w.number(len(list))
		for _, e := range list {
			w.text(e.Rule)
			w.text(e.Place)
			w.text(e.Fingerprint)
		}
	}
	return w, nil
}

// numbers are all of a page.
func (p *page) numbers() []*int {
	c := &p.coverage
	return []*int{
		&p.bars, &p.players, &p.strokes, &p.by[0], &p.by[1], &p.by[2], &p.by[3], &p.accepted,
		&c.Written, &c.Covered, &c.Substituted, &c.Omitted,
		&p.unsought, &p.known, &p.sought.order, &p.sought.cost, &p.sought.budget, &p.sought.tried,
	}
}

var errBroken = errors.New("this is no page")

func decodePage(text []byte) (p page, used []usedFile, err error) {
	r := reader{text: text}
	for range r.count() {
		used = append(used, usedFile{r.string(), r.string()})
	}
	p.findings = r.bytes()
	p.ceilings = r.bytes()
	if found := r.bytes(); len(found) > 0 && !r.broken {
		if err := json.Unmarshal(found, &p.json); err != nil {
			return p, nil, err
		}
	}
	for range r.count() {
		p.names = append(p.names, r.string())
	}
	for _, n := range p.numbers() {
		*n = r.number()
	}
	p.called = r.string()
	for _, list := range []*[]baseline.Entry{&p.now, &p.gone} {
		for range r.count() {
			*list = append(*list, baseline.Entry{File: p.called, Rule: r.string(), Place: r.string(), Fingerprint: r.string()})
		}
	}
	if r.broken || len(r.text) > 0 || int(check.Info) != len(p.by)-1 {
		return page{}, nil, errBroken
	}
	p.done = true
	return p, used, nil
}

// writer and reader put numbers and texts one behind the other.
type writer []byte

func (w *writer) number(n int) { *w = binary.AppendVarint(*w, int64(n)) }

func (w *writer) text(s string) {
	w.number(len(s))
	*w = append(*w, s...)
}

func (w *writer) bytes(b []byte) {
	w.number(len(b))
	*w = append(*w, b...)
}

type reader struct {
	text   []byte
	broken bool
}

func (r *reader) number() int {
	n, size := binary.Varint(r.text)
	if size <= 0 {
		r.text, r.broken = nil, true
		return 0
	}
	r.text = r.text[size:]
	return int(n)
}

// count is a number of things that are still to come.
func (r *reader) count() int {
	n := r.number()
	if n < 0 || n > len(r.text) {
		r.text, r.broken = nil, true
		return 0
	}
	return n
}

func (r *reader) bytes() []byte {
	n := r.count()
	b := r.text[:n:n]
	r.text = r.text[n:]
	return b
}

func (r *reader) string() string { return string(r.bytes()) }
