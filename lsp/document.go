package lsp

import (
	"context"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A world is all documents at one moment. It does not change once it is
// stored.
type world struct {
	docs    *table[uri.URI, *document]
	names   *table[string, *source] // the same texts, by placeKey
	folders []string                // of the workspace, as paths
	conf    config
}

func newWorld() *world {
	return &world{docs: &table[uri.URI, *document]{}, names: &table[string, *source]{}}
}

func (w *world) clone() *world { c := *w; return &c }

// placeKey is a name within a root.
func placeKey(root, name string) string { return root + "\x00" + name }

// put puts a document in the place of its earlier version.
func (w *world) put(d *document) {
	if was := w.docs.get(d.key); was != nil && (was.root != d.root || was.name != d.name) {
		w.forget(was)
	}
	w.docs = w.docs.with(d.key, d)
	if d.root != "" {
		w.names = w.names.with(placeKey(d.root, d.name), d.source)
	}
}

// drop takes a document out.
func (w *world) drop(d *document) {
	w.forget(d)
	w.docs = w.docs.without(d.key)
}

func (w *world) forget(d *document) {
	if key := placeKey(d.root, d.name); w.names.get(key) == d.source {
		w.names = w.names.without(key)
	}
}

// A document is one version of an open text.
type document struct {
	*source
	version  int32
	root     string // the workspace folder it is in, or ""
	name     string // its name in there, with slashes
	analysis *analysis
	pen      *pen  // where somebody writes, or nil
	lost     error // why the client's text is not known any more, or nil
}

// A source is a text, parsed when somebody asks, unless its index has that already.
type source struct {
	key  uri.URI // by which it is found
	uri  uri.URI // as the client writes it
	idx  *index
	once sync.Once
	base *syntax.File // an earlier version's, to take lines over from
	file atomic.Pointer[syntax.File]
	bad  any // what went wrong in parsing it, or nil

	seated sync.Once
	seat   []syntax.Seat
}

func newSource(id, as uri.URI, idx *index, base *syntax.File) *source {
	s := &source{key: id, uri: as, idx: idx, base: base}
	if idx.file != nil {
		s.file.Store(idx.file)
	}
	return s
}

// parsed is the source's file.
func (s *source) parsed() *syntax.File {
	if s.idx.file != nil {
		return s.idx.file
	}
	s.once.Do(func() {
		defer func() {
			if s.bad = recover(); s.bad != nil {
				s.file.Store(syntax.Parse("")) // as good as no text at all
			}
		}()
		s.file.Store(syntax.Reparse(s.idx.text(), s.base))
		s.base = nil
	})
	return s.file.Load()
}

// seats says where each line belongs.
func (s *source) seats() []syntax.Seat {
	s.seated.Do(func() { s.seat = s.parsed().Seats() })
	return s.seat
}

// latest is the file to take lines over from, whether it is this version's or
// an earlier one's.
func (d *document) latest() *syntax.File {
	if f := d.file.Load(); f != nil {
		return f
	}
	d.analysis.lineage.mu.Lock()
	defer d.analysis.lineage.mu.Unlock()
	if r := d.analysis.lineage.last; r != nil {
		return r.File
	}
	return nil
}

// newDocument is a version of a text within a world.
func (s *session) newDocument(w *world, id, as uri.URI, version int32, idx *index, was *document) *document {
	d := &document{version: version}
	var line *lineage
	var base *syntax.File
	if was != nil {
		line, base = was.analysis.lineage, was.latest()
		d.root, d.name = was.root, was.name
	} else {
		line = &lineage{}
		d.root, d.name = placeOf(w, id)
	}
	d.source = newSource(id, as, idx, base)
	d.analysis = s.newAnalysis(w, d, line)
	return d
}

// again is the same version of a document, to be checked anew.
func (s *session) again(w *world, d *document) *document {
	n := *d
	n.root, n.name = placeOf(w, d.key)
	n.analysis = s.newAnalysis(w, &n, d.analysis.lineage)
	return &n
}

// placeOf finds the workspace folder that a document is in, and its name
// there. A document that is in none has a name and no folder.
func placeOf(w *world, id uri.URI) (root, name string) {
	file := pathOf(id)
	if file == "" {
		return "", path.Base(strings.TrimSuffix(string(id), "/"))
	}
	for _, f := range w.folders {
		if rel, err := filepath.Rel(f, file); err == nil && filepath.IsLocal(rel) && len(f) > len(root) {
			root, name = f, filepath.ToSlash(rel)
		}
	}
	if root == "" {
		name = filepath.Base(file)
	}
	return root, name
}

// pathOf is the path of a file URI, or "" for any other.
func pathOf(id uri.URI) string {
	if !id.IsFile() {
		return ""
	}
	p := id.Path()
	if len(p) > 2 && p[0] == '/' && p[2] == ':' { // /c:/piece.handful
		p = p[1:]
	}
	return filepath.FromSlash(p)
}

// neighbours are the open texts that stand in front of the files which a
// document uses: those of the moment at which its check begins and, once the
// check is done, those that it has read. A result that is kept keeps no more
// texts alive than that.
type neighbours struct {
	s    *session
	root string
	self uri.URI

	mu   sync.Mutex
	at   *table[string, *source] // while a check is going on
	read map[string]*source      // what it has read
	done bool
}

// begin takes the texts of a moment.
func (n *neighbours) begin(w *world) {
	if n == nil {
		return
	}
	n.mu.Lock()
	defer n.mu.Unlock()
	n.at, n.read, n.done = w.names, nil, false
}

// end lets go of all that was not read.
func (n *neighbours) end() {
	if n == nil {
		return
	}
	n.mu.Lock()
	defer n.mu.Unlock()
	n.at, n.done = nil, true
}

// open is the open text of a name, or nil.
func (n *neighbours) open(name string) *syntax.File {
	n.mu.Lock()
	o := n.read[name]
	if o == nil && !n.done {
		at := n.at
		if at == nil { // nobody has checked yet: a plan reads by itself
			at = n.s.now().names
		}
		if o = at.get(placeKey(n.root, name)); o != nil && n.at != nil {
			if n.read == nil {
				n.read = map[string]*source{}
			}
			n.read[name] = o
		}
	}
	n.mu.Unlock()
	if o == nil || o.key == n.self {
		return nil
	}
	return o.parsed()
}

// loader reads what a document uses: open texts first, then files of its
// workspace folder.
func (s *session) loader(d *document) (*neighbours, score.Loader) {
	if d.root == "" {
		return nil, nil
	}
	n := &neighbours{s: s, root: d.root, self: d.key}
	return n, s.library.Loader(d.root, n.open)
}

// A lineage is what the versions of one document hand on.
type lineage struct {
	mu    sync.Mutex
	last  *check.Result
	conf  string
	ahead *foresight // what may be written where somebody writes
	// wanted are the files that its last check read or wanted to, by placeKey;
	// the session's mu guards it.
	wanted []string
}

// known says whether some version has been checked.
func (l *lineage) known() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.last != nil
}

// wanted is what a check read or wanted to, by placeKey.
func (a *analysis) wanted(r *check.Result) []string {
	if a.near == nil {
		return nil
	}
	var keys []string
	add := func(name string) {
		if key := placeKey(a.near.root, name); !slices.Contains(keys, key) {
			keys = append(keys, key)
		}
	}
	uses := func(name string, f *syntax.File) {
		for _, l := range f.Lines {
			if path := l.Used(); path != nil {
				if n, ok := folder.Within(name, path.Value()); ok {
					add(n)
				}
			}
		}
	}
	for i, src := range r.Score.Sources {
		if i > 0 {
			add(src.Name)
		}
		uses(src.Name, src.File)
	}
	return keys
}

// begun keeps that a check is going on, and gives the world that it sees. A
// file that changes from now on has it made again.
func (s *session) begun(a *analysis) *world {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.underway[a] = true
	return s.now()
}

// ended keeps what a check wanted to read.
func (s *session) ended(a *analysis, r *check.Result) {
	if r.Stopped {
		s.mu.Lock()
		delete(s.underway, a)
		s.mu.Unlock()
		return
	}
	wanted := a.wanted(r)
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.underway, a)
	if d := s.now().docs.get(a.src.key); d != nil && d.analysis == a {
		s.wants(a.src.key, a.lineage, wanted)
	}
}

// wants keeps which files a document wants; s.mu is held.
func (s *session) wants(id uri.URI, l *lineage, keys []string) {
	for _, key := range l.wanted {
		if delete(s.users[key], id); len(s.users[key]) == 0 {
			delete(s.users, key)
		}
	}
	l.wanted = keys
	for _, key := range keys {
		if s.users[key] == nil {
			s.users[key] = map[uri.URI]bool{}
		}
		s.users[key][id] = true
	}
}

// find is an open document of the request's moment.
func (s *session) find(ctx context.Context, id uri.URI) (*document, error) {
	switch d := s.worldOf(ctx).docs.get(id); {
	case d == nil:
		return nil, refuse("%s is not open", id)
	case d.lost != nil:
		return nil, refuse("%v", d.lost)
	default:
		return d, nil
	}
}

// checked is an open document and its check, waited for if need be.
func (s *session) checked(ctx context.Context, id uri.URI) (*document, *check.Result, error) {
	d, err := s.find(ctx, id)
	if err != nil {
		return nil, nil, err
	}
	r, err := d.analysis.wait(ctx)
	return d, r, err
}

// at is the line and byte of a position.
func (d *document) at(p protocol.Position) (line, col int) {
	off := d.idx.offset(p)
	f := d.parsed()
	line = min(int(d.idx.position(off).Line), len(f.Lines)-1)
	return line, max(0, min(off-f.Starts[line], len(f.Lines[line].Text)))
}

// where is the range of a span of a line.
func (d *document) where(line int, s syntax.Span) protocol.Range {
	start := d.parsed().Starts[line]
	return d.idx.span(start+s.Start, start+s.End)
}

// whereOf is the range of a place in the document's own file.
func (d *document) whereOf(w score.Where) protocol.Range {
	return d.where(int(w.Line), syntax.Span{Start: int(w.Start), End: int(w.End)})
}
