package lsp

import (
	"context"
	"maps"
	"path/filepath"
	"slices"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A subject is what a name at the cursor is the name of.
type subject struct {
	role role
	name string
	// owner is the line that opened the player, for what is the player's own:
	// instruments and stations of a kit. -1 is the whole piece.
	owner int
	at    protocol.Range // the name under the cursor
}

// nameRole brings together roles that name the same things.
func nameRole(r role, name string, cat *kit.Catalogue) role {
	switch r {
	case roleKind:
		return roleInstrument
	case roleThing:
		if cat != nil && cat.Implement(name) == nil {
			return roleInstrument
		}
		return roleImplement
	}
	return r
}

// subjectAt is what is named at a place of a document.
func (d *document) subjectAt(p protocol.Position, cat *kit.Catalogue) (subject, bool) {
	f := d.parsed()
	line, col := d.at(p)
	seats := d.seats()
	at, ok := pieceAt(f.Lines[line], seats[line], col)
	if !ok {
		return subject{}, false
	}
	switch r := nameRole(at.role, at.text, cat); r {
	case rolePart, rolePlayer, roleInstrument, roleImplement, roleStation, roleMark, roleFile, roleRule:
		y := subject{role: r, name: at.text, owner: -1, at: d.where(line, at.Span)}
		if y.owned() {
			y.owner = ownerOf(f, seats, line, y)
		}
		return y, true
	}
	return subject{}, false
}

// ownerOf is the player whose own kit has the name, seen from a line, or -1.
func ownerOf(f *syntax.File, seats []syntax.Seat, line int, y subject) int {
	owner := playerOf(f, seats, line)
	if owner < 0 {
		return -1
	}
	for i, l := range f.Lines {
		if seats[i].Owner != owner || seats[i].Block != syntax.InKit {
			continue
		}
		switch s := l.Stmt.(type) {
		case *syntax.Item:
			// A kit that lists the catalogue's own instrument names nothing new.
			if y.role == roleInstrument && s.Name.Text == y.name && s.Is != nil {
				return owner
			}
		case *syntax.Stand:
			if y.role == roleStation && s.Name != nil && s.Name.Text == y.name {
				return owner
			}
		}
	}
	return -1
}

// playerOf is the line of the player that a line belongs to, or -1.
func playerOf(f *syntax.File, seats []syntax.Seat, line int) int {
	o := seats[line].Owner
	if o >= 0 {
		if _, ok := f.Lines[o].Stmt.(*syntax.Player); ok {
			return o
		}
	}
	return -1
}

// A mention is one place where a subject is named.
type mention struct {
	line    int
	span    syntax.Span
	defines bool
}

// mentions finds every place of a file that names the subject.
func mentions(f *syntax.File, y subject, cat *kit.Catalogue) []mention {
	var out []mention
	seats := f.Seats()
	for i, l := range f.Lines {
		if l.Stmt == nil {
			continue
		}
		named := slices.DeleteFunc(piecesOf(l, seats[i]), func(p piece) bool { return p.text != y.name || nameRole(p.role, p.text, cat) != y.role })
		if len(named) == 0 || y.owned() && ownerOf(f, seats, i, y) != y.owner {
			continue
		}
		// In a kit a name is new only when it says what it is a name of.
		it, ok := l.Stmt.(*syntax.Item)
		old := ok && it.Is == nil
		for _, p := range named {
			out = append(out, mention{i, p.Span, p.defines && !old})
		}
	}
	return out
}

// owned says whether the subject may be one player's own.
func (y *subject) owned() bool { return y.role == roleInstrument || y.role == roleStation }

// A text is one file that a name may come in.
type text struct {
	id   uri.URI
	file *syntax.File
	idx  *index
	ver  *int32
}

// around lists the files in which a name of the document may come: the
// document; for what files share, the one that makes it and those that use
// that one. Only text of ours is looked through: written parts in other
// formats are read, and never named or changed in.
func (s *session) around(w *world, d *document, r *check.Result, y subject) []text {
	out := []text{{d.uri, d.parsed(), d.idx, ptr(d.version)}}
	if d.root == "" || y.owner >= 0 || y.role != rolePart && y.role != roleInstrument && y.role != roleImplement {
		return out
	}
	names := sharing(d, r, y)
	users := s.usersOf(w, d.root, names)
	names[d.name] = true
	for _, u := range users {
		names[u] = true
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		if t, ok := s.namedText(w, d.root, name); ok && t.id != d.uri {
			out = append(out, t)
		}
	}
	return out
}

// sharing are the files that make what the document calls by a name; where none
// does, the document and all that it uses.
func sharing(d *document, r *check.Result, y subject) map[string]bool {
	names, makers := map[string]bool{d.name: true}, map[string]bool{}
	for _, src := range r.Score.Sources {
		if filepath.Ext(src.Name) != folder.Extension && src.Name != d.name {
			continue
		}
		names[src.Name] = true
		if slices.ContainsFunc(mentions(src.File, y, r.Score.Catalogue), func(m mention) bool { return m.defines }) {
			makers[src.Name] = true
		}
	}
	if len(makers) > 0 {
		return makers
	}
	return names
}

// usersOf are the files of a folder, open or not, that use one of some.
func (s *session) usersOf(w *world, root string, names map[string]bool) []string {
	var users []string
	s.mu.Lock()
	for id, sh := range s.shelf {
		if _, name := placeOf(w, id); sh.root == root && slices.ContainsFunc(sh.uses, func(u string) bool { return names[u] }) {
			users = append(users, name)
		}
	}
	s.mu.Unlock()
	for _, o := range w.docs.all() {
		uses := func(l *syntax.Line) bool {
			path := l.Used()
			if path == nil {
				return false
			}
			name, ok := folder.Within(o.name, path.Value())
			return ok && names[name]
		}
		if o.root == root && slices.ContainsFunc(o.parsed().Lines, uses) {
			users = append(users, o.name)
		}
	}
	return users
}

// namedText is a file of a workspace folder, open or not.
func (s *session) namedText(w *world, root, name string) (text, bool) {
	if src := w.names.get(placeKey(root, name)); src != nil {
		if o := w.docs.get(src.key); o != nil {
			return text{o.uri, o.parsed(), o.idx, ptr(o.version)}, true
		}
	}
	f, err := s.library.Load(root, name)
	if err != nil {
		return text{}, false
	}
	return text{nameURI(root, name), f, newIndex(f.Text(), s.enc), nil}, true
}

func (t *text) where(m mention) protocol.Range {
	return t.idx.span(t.file.Starts[m.line]+m.span.Start, t.file.Starts[m.line]+m.span.End)
}

// Definition goes from a name to where it is made: an instrument to its kit,
// then to its block; a mark, a part, a player, a station, a used file.
func (s *session) Definition(ctx context.Context, p *protocol.DefinitionParams) (protocol.DefinitionResult, error) {
	d, r, err := s.checked(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	y, ok := d.subjectAt(p.Position, r.Score.Catalogue)
	if !ok {
		return protocol.LocationSlice{}, nil
	}
	w := s.worldOf(ctx)
	switch {
	case y.role == roleFile:
		return s.fileLocation(w, d, y.name), nil
	case y.role == roleRule && check.RuleNamed(y.name) != nil:
		return protocol.LocationSlice{{URI: ruleURI(y.name)}}, nil
	case y.role == roleRule:
		return protocol.LocationSlice{}, nil
	}
	out := protocol.LocationSlice{}
	if loc, ok := s.inKit(d, r, y, p.Position); ok {
		return append(out, loc), nil
	}
	for _, t := range s.around(w, d, r, y) {
		for _, m := range mentions(t.file, y, r.Score.Catalogue) {
			if m.defines && !(t.id == d.uri && t.where(m) == y.at) {
				out = append(out, protocol.Location{URI: t.id, Range: t.where(m)})
			}
		}
	}
	if len(out) == 0 {
		if loc, ok := s.entry(d, r, y, p.Position); ok {
			out = append(out, loc)
		}
	}
	return out, nil
}

// fileLocation is where a used file is, if it may be read.
func (s *session) fileLocation(w *world, d *document, path string) protocol.LocationSlice {
	if name, ok := folder.Within(d.name, path); ok && d.root != "" {
		if t, ok := s.namedText(w, d.root, name); ok {
			return protocol.LocationSlice{{URI: t.id}}
		}
	}
	return protocol.LocationSlice{}
}

// inKit is where a player's kit lists an instrument, seen from anywhere else.
func (s *session) inKit(d *document, r *check.Result, y subject, p protocol.Position) (protocol.Location, bool) {
	if y.role != roleInstrument {
		return protocol.Location{}, false
	}
	line, _ := d.at(p)
	owner := playerOf(d.parsed(), d.seats(), line)
	for _, pl := range r.Score.Players {
		if int(pl.Where.Line) != owner || pl.Where.File != 0 {
			continue
		}
		for _, it := range pl.Items {
			if it.Name == y.name && it.Listed && !(it.Where.File == 0 && int(it.Where.Line) == line) {
				v := view{s: s, r: r, id: d.uri, idx: d.idx, root: d.root}
				return v.location(it.Where)
			}
		}
	}
	return protocol.Location{}, false
}

// entry is where the catalogue, or the piece itself, says what an instrument
// or an implement is.
func (s *session) entry(d *document, r *check.Result, y subject, p protocol.Position) (protocol.Location, bool) {
	var file string
	var line int
	own := false
	switch y.role {
	case roleInstrument:
		in := instrumentAt(d, r, y, p)
		if in == nil {
			return protocol.Location{}, false
		}
		file, line, own = in.File, in.Line, in.Own
	case roleImplement:
		im := r.Score.Catalogue.Implement(y.name)
		if im == nil {
			return protocol.Location{}, false
		}
		file, line, own = im.File, im.Line, im.Own
	default:
		return protocol.Location{}, false
	}
	at := protocol.Position{Line: uint32(line)}
	if own {
		if d.root == "" && file != d.name {
			return protocol.Location{}, false
		}
		id := d.uri
		if file != d.name {
			id = nameURI(d.root, file)
		}
		return protocol.Location{URI: id, Range: protocol.Range{Start: at, End: at}}, true
	}
	return protocol.Location{URI: catalogueURI(file), Range: protocol.Range{Start: at, End: at}}, true
}

// instrumentAt is the instrument that a name stands for at a place.
func instrumentAt(d *document, r *check.Result, y subject, p protocol.Position) *kit.Instrument {
	line, _ := d.at(p)
	return instrumentNamed(d.parsed(), d.seats(), r.Score, y.name, line)
}

// instrumentNamed is what a name means on a line.
func instrumentNamed(f *syntax.File, seats []syntax.Seat, s *score.Score, name string, line int) *kit.Instrument {
	if o := playerOf(f, seats, line); o >= 0 {
		for _, pl := range s.Players {
			if int(pl.Where.Line) != o {
				continue
			}
			for _, it := range pl.Items {
				if it.Name == name {
					return it.Inst
				}
			}
		}
	}
	for _, part := range s.Parts {
		for _, l := range part.Lines {
			if l.Name == name {
				return l.Inst
			}
		}
	}
	return s.Catalogue.Resolve(name)
}

// References finds every place that names what the cursor is on.
func (s *session) References(ctx context.Context, p *protocol.ReferenceParams) ([]protocol.Location, error) {
	d, r, err := s.checked(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	out := []protocol.Location{}
	y, ok := d.subjectAt(p.Position, r.Score.Catalogue)
	if !ok {
		return out, nil
	}
	for _, t := range s.around(s.worldOf(ctx), d, r, y) {
		for _, m := range mentions(t.file, y, r.Score.Catalogue) {
			if !m.defines || p.Context.IncludeDeclaration {
				out = append(out, protocol.Location{URI: t.id, Range: t.where(m)})
			}
		}
	}
	return out, nil
}

// mostHighlights is how many strokes are marked at a time.
const mostHighlights = 5000

// DocumentHighlight marks the names alike; of an instrument all its strokes;
// in a finding the two sides of it.
func (s *session) DocumentHighlight(ctx context.Context, p *protocol.DocumentHighlightParams) ([]protocol.DocumentHighlight, error) {
	d, r, err := s.checked(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	out := []protocol.DocumentHighlight{}
	y, ok := d.subjectAt(p.Position, r.Score.Catalogue)
	if !ok {
		return append(out, sides(d, r, p.Position)...), nil
	}
	t := text{d.uri, d.parsed(), d.idx, nil}
	for _, m := range mentions(t.file, y, r.Score.Catalogue) {
		kind := protocol.DocumentHighlightKindText
		if m.defines {
			kind = protocol.DocumentHighlightKindWrite
		}
		out = append(out, protocol.DocumentHighlight{Range: t.where(m), Kind: kind})
	}
	if y.role != roleInstrument {
		return out, nil
	}
	seen := map[score.Where]bool{}
	for _, list := range strokesOf(r.Score, y.name) {
		for i := range list {
			w := list[i].Where()
			if w.File == 0 && !seen[w] && len(out) < mostHighlights {
				seen[w] = true
				out = append(out, protocol.DocumentHighlight{Range: d.whereOf(w), Kind: protocol.DocumentHighlightKindRead})
			}
		}
	}
	return out, nil
}

// strokesOf are the strokes of an instrument, in each line of a part and in each
// cue that writes them out.
func strokesOf(sc *score.Score, name string) [][]score.Stroke {
	var out [][]score.Stroke
	for _, part := range sc.Parts {
		for _, l := range part.Lines {
			if l.Name == name {
				out = append(out, l.Strokes)
			}
		}
	}
	for _, pl := range sc.Players {
		for _, c := range pl.Cues {
			if c.Item.Name == name && !c.AsWritten {
				out = append(out, c.Strokes)
			}
		}
	}
	return out
}

// sides are the places of a finding that the cursor is in.
func sides(d *document, r *check.Result, p protocol.Position) []protocol.DocumentHighlight {
	var out []protocol.DocumentHighlight
	seen := map[score.Where]bool{}
	add := func(w score.Where) {
		if w.File == 0 && !seen[w] {
			seen[w] = true
			out = append(out, protocol.DocumentHighlight{Range: d.whereOf(w), Kind: protocol.DocumentHighlightKindText})
		}
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Where.File != 0 || len(f.Related) == 0 || !within(p, d.whereOf(f.Where)) {
			continue
		}
		add(f.Where)
		for _, n := range f.Related {
			add(n.Where)
		}
	}
	return out
}

func within(p protocol.Position, r protocol.Range) bool {
	return !before(p, r.Start) && !before(r.End, p)
}

// DocumentLink makes the paths of used files links.
func (s *session) DocumentLink(ctx context.Context, p *protocol.DocumentLinkParams) ([]protocol.DocumentLink, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	out := []protocol.DocumentLink{}
	if d.root == "" {
		return out, nil
	}
	for i, l := range d.parsed().Lines {
		path := l.Used()
		if path == nil {
			continue
		}
		if name, ok := folder.Within(d.name, path.Value()); ok {
			target := fileURI(filepath.Join(d.root, filepath.FromSlash(name)))
			out = append(out, protocol.DocumentLink{Range: d.where(i, path.Span()), Target: &target})
		}
	}
	return out, nil
}
