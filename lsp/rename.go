package lsp

import (
	"context"
	"path"
	"slices"
	"strings"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// renameable says why a subject cannot be given another name, or nil.
func renameable(y subject, defined bool) error {
	switch y.role {
	case rolePart, rolePlayer, roleMark, roleStation:
		return nil
	case roleInstrument, roleImplement:
		if defined {
			return nil
		}
		return refuse("%s is the catalogue's name; for a name of your own write  my-name is %s  in a kit", y.name, y.name)
	}
	return refuse("this has no name of its own")
}

// PrepareRename says what would be renamed.
func (s *session) PrepareRename(ctx context.Context, p *protocol.PrepareRenameParams) (protocol.PrepareRenameResult, error) {
	d, r, err := s.checked(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	y, ok := d.subjectAt(p.Position, r.Score.Catalogue)
	if !ok {
		return nil, refuse("there is no name here")
	}
	if err := s.mayRename(s.worldOf(ctx), d, r, y); err != nil {
		return nil, err
	}
	return &protocol.PrepareRenamePlaceholder{Range: y.at, Placeholder: y.name}, nil
}

// mayRename says why a subject of a document cannot be renamed, or nil.
func (s *session) mayRename(w *world, d *document, r *check.Result, y subject) error {
	if y.role == rolePart {
		for i := range r.Score.Sources {
			for _, l := range r.Score.Sources[i].File.Lines {
				if p, ok := l.Stmt.(*syntax.Part); ok && p.In != nil && p.Name.Value() == y.name && path.Ext(p.In.Value()) != folder.Extension {
					return refuse("%s is what the part is called in %s; it cannot be renamed from here", y.name, p.In.Value())
				}
			}
		}
	}
	return renameable(y, s.defined(w, d, r, y))
}

// defined says whether some file makes the name.
func (s *session) defined(w *world, d *document, r *check.Result, y subject) bool {
	for _, t := range s.around(w, d, r, y) {
		if slices.ContainsFunc(mentions(t.file, y, r.Score.Catalogue), func(m mention) bool { return m.defines }) {
			return true
		}
	}
	return false
}

// Rename gives a thing another name wherever it is named, unless the piece
// would then mean something else.
func (s *session) Rename(ctx context.Context, p *protocol.RenameParams) (*protocol.WorkspaceEdit, error) {
	d, r, err := s.checked(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	y, ok := d.subjectAt(p.Position, r.Score.Catalogue)
	if !ok {
		return nil, refuse("there is no name here")
	}
	w := s.worldOf(ctx)
	if err := s.mayRename(w, d, r, y); err != nil {
		return nil, err
	}
	name, err := spelled(y.role, p.NewName)
	if err != nil {
		return nil, err
	}
	if p.NewName == y.name {
		return s.workspaceEdit(nil), nil
	}
	var changes []change
	for _, t := range s.around(w, d, r, y) {
		taken := y
		taken.name = p.NewName
		if list := mentions(t.file, taken, r.Score.Catalogue); len(list) > 0 {
			return nil, refuse("%s is taken already, in line %d of %s", p.NewName, list[0].line+1, lastPart(t.id))
		}
		var edits []check.Edit
		for _, m := range mentions(t.file, y, r.Score.Catalogue) {
			edits = append(edits, check.Edit{Line: m.line, Start: m.span.Start, End: m.span.End, Text: name})
		}
		if len(edits) == 0 {
			continue
		}
		changes = append(changes, change{t, edits})
	}
	if err := d.sameMeaning(r, changes); err != nil {
		return nil, err
	}
	return s.workspaceEdit(changes), nil
}

// sameMeaning refuses changes after which more is wrong with the document's
// piece than before, with what it uses changed alongside.
func (d *document) sameMeaning(r *check.Result, changes []change) error {
	file := d.parsed()
	others := map[string]*syntax.File{}
	for _, c := range changes {
		text, ok := check.Apply(c.in.file, c.edits)
		if !ok {
			return refuse("these edits cannot be made")
		}
		if c.in.id == d.uri {
			file = syntax.Reparse(text, file)
		} else {
			others[c.in.file.Text()] = syntax.Reparse(text, c.in.file)
		}
	}
	opt := check.Options{Score: d.analysis.conf.options()}
	if load := d.analysis.load; load != nil {
		opt.Load = func(from, path string) (string, *syntax.File, error) {
			name, f, err := load(from, path)
			if err == nil && others[f.Text()] != nil {
				f = others[f.Text()]
			}
			return name, f, err
		}
	}
	after := check.Check(d.name, file, opt)
	if played(after) < played(r) {
		return refuse("with that name fewer of the written strokes would be played")
	}
	for _, rule := range check.Rules() {
		if n := after.Count(rule, check.Error) - r.Count(rule, check.Error); n > 0 {
			return refuse("with that name the piece would have more errors (%s)", rule.Name)
		}
	}
	return nil
}

// spelled is a new name as the notation writes it.
func spelled(r role, name string) (string, error) {
	if strings.TrimSpace(name) == "" || strings.ContainsAny(name, "\n\r") {
		return "", refuse("a name has at least one letter and stays on its line")
	}
	var line string
	switch r {
	case rolePart:
		return syntax.Quote(name), nil
	case rolePlayer:
		return syntax.TitleOf(name).Text, nil
	case roleMark:
		line = "mark " + name + " at 1"
		if strings.ContainsAny(name, ".+-") || name[0] >= '0' && name[0] <= '9' {
			return "", refuse("a mark is a word that begins with a letter, without . + and -")
		}
	case roleStation:
		line = "station " + name + " at right 1"
	case roleImplement:
		line = "implement " + name
	default:
		line = "instrument " + name
	}
	if l := syntax.ParseLine(line); len(l.Problems) > 0 || l.Comment() != "" {
		return "", refuse("%s cannot be a name: letters, digits and hyphens, beginning with a letter", name)
	}
	return name, nil
}

func lastPart(id uri.URI) string {
	text := string(id)
	return text[strings.LastIndexByte(text, '/')+1:]
}

// A change is edits of one file.
type change struct {
	in    text
	edits []check.Edit
}

// textEdits are edits as the protocol writes them.
func (t *text) textEdits(edits []check.Edit) []protocol.TextEdit {
	out := make([]protocol.TextEdit, 0, len(edits))
	for _, e := range edits {
		from, to := t.file.Size(), t.file.Size()
		if e.Line < len(t.file.Starts) {
			start := t.file.Starts[e.Line]
			from, to = start+e.Start, start+e.End
			if e.Whole {
				from, to = start, t.file.Size()
				if e.Line+1 < len(t.file.Starts) {
					to = t.file.Starts[e.Line+1]
				}
			}
		}
		out = append(out, protocol.TextEdit{Range: t.idx.span(from, to), NewText: t.file.Ended(e.Text)})
	}
	return out
}

// workspaceEdit writes changes the way the client can take them.
func (s *session) workspaceEdit(changes []change) *protocol.WorkspaceEdit {
	w := &protocol.WorkspaceEdit{}
	if !s.can.versions {
		w.Changes = map[uri.URI][]protocol.TextEdit{}
		for i := range changes {
			w.Changes[changes[i].in.id] = changes[i].in.textEdits(changes[i].edits)
		}
		return w
	}
	w.DocumentChanges = []protocol.DocumentChange{}
	for i := range changes {
		e := &protocol.TextDocumentEdit{Edits: []protocol.TextDocumentEditElement{}}
		e.TextDocument.URI = changes[i].in.id
		e.TextDocument.Version = changes[i].in.ver
		for _, t := range changes[i].in.textEdits(changes[i].edits) {
			if filled, ok := reasonToFill(t.NewText); ok && s.can.snippetEdits {
				e.Edits = append(e.Edits, &protocol.SnippetTextEdit{Range: t.Range, Snippet: protocol.StringValue{Kind: "snippet", Value: filled}})
				continue
			}
			e.Edits = append(e.Edits, &t)
		}
		w.DocumentChanges = append(w.DocumentChanges, e)
	}
	return w
}
