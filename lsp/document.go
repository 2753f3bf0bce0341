package lsp

import (
	"context"
	"maps"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"handful/lang/check"
	"handful/lang/score"
	"handful/lang/syntax"
	"handful/lsp/folder"
)

// A world is all documents at one moment. It does not change once it is
// stored.
type world struct {
	docs    map[uri.URI]*document
	folders []string // of the workspace, as paths
	conf    config
}

func (w *world) clone() *world {
	c := *w
	c.docs = maps.Clone(w.docs)
	return &c
}

// A document is one version of an open text.
type document struct {
	*source
	version  int32
	root     string // the workspace folder it is in, or ""
	name     string // its name in there, with slashes
	analysis *analysis
}

// A source is a text, parsed when somebody asks.
type source struct {
	key  uri.URI // by which it is found
	uri  uri.URI // as the client writes it
	text string
	idx  *index
	once sync.Once
	base *syntax.File // an earlier version's, to take lines over from
	file atomic.Pointer[syntax.File]

	seated sync.Once
	seat   []syntax.Seat
}

func newSource(id, as uri.URI, text string, enc encoding, base *syntax.File) *source {
	return &source{key: id, uri: as, text: text, idx: newIndex(text, enc), base: base}
}

// parsed is the source's file.
func (s *source) parsed() *syntax.File {
	s.once.Do(func() {
		s.file.Store(syntax.Reparse(s.text, s.base))
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
func (s *session) newDocument(w *world, id, as uri.URI, version int32, text string, was *document) *document {
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
	d.source = newSource(id, as, text, s.enc, base)
	d.analysis = s.newAnalysis(w, d, line)
	return d
}

// again is the same version of a document, to be checked anew.
func (s *session) again(w *world, d *document) *document {
	n := *d
	n.root, n.name = placeOf(w, d.uri)
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

// loader reads what a document uses: open texts first, then files of its
// workspace folder. It is made of sources alone, so that a result that keeps
// it does not keep whole documents alive.
func (s *session) loader(w *world, d *document) score.Loader {
	if d.root == "" {
		return nil
	}
	open := map[string]*source{}
	for _, o := range w.docs {
		if o.root == d.root && o.key != d.key {
			open[o.name] = o.source
		}
	}
	return s.library.Loader(d.root, func(name string) *syntax.File {
		if o := open[name]; o != nil {
			return o.parsed()
		}
		return nil
	})
}

// A lineage is what the versions of one document hand on.
type lineage struct {
	mu   sync.Mutex
	last *check.Result
	conf string
}

// uses says whether a check read a file of that name or wanted to; ok is
// false while the check is not there.
func (a *analysis) uses(name string) (uses, ok bool) {
	a.mu.Lock()
	r := a.result
	a.mu.Unlock()
	if r == nil {
		return false, false
	}
	for _, src := range r.Score.Sources {
		if src.Name == name {
			return true, true
		}
		for _, l := range src.File.Lines {
			if path := usedPath(l); path != nil {
				if n, ok := folder.Within(src.Name, path.Value()); ok && n == name {
					return true, true
				}
			}
		}
	}
	return false, true
}

// find is an open document of the request's moment.
func (s *session) find(ctx context.Context, id uri.URI) (*document, error) {
	if d := s.worldOf(ctx).docs[id]; d != nil {
		return d, nil
	}
	return nil, refuse("%s is not open", id)
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
