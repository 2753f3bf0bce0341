package lsp

import (
	"context"
	"fmt"
	"strings"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/lang/syntax"
)

// A symbol is something that a file has a name for.
type symbol struct {
	name   string
	detail string
	kind   protocol.SymbolKind
	at     protocol.Range // the name
	whole  protocol.Range // with what belongs to it
	inner  []symbol
}

// symbolsOf lists a file's marks, parts, players, kits and definitions, with
// the lines of parts and the cues of players in them.
func symbolsOf(f *syntax.File, idx *index) []symbol {
	var out []symbol
	seats := f.Seats()
	open := -1 // owner of the block that the last symbol is
	for i, l := range f.Lines {
		sym, span := symbolOf(l)
		if sym.name == "" {
			continue
		}
		start := f.Starts[i]
		line := syntax.Span{Start: indentOf(l.Text), End: len(strings.TrimRight(l.Text, " \t"))}
		if span.Start == span.End { // the name is not written yet
			span = syntax.Span{Start: line.End, End: line.End}
		}
		sym.at = idx.span(start+span.Start, start+span.End)
		sym.whole = idx.span(start+line.Start, start+max(line.End, span.End)) // a text that is not closed may end with blanks
		owner := seats[i].Owner
		if owner >= 0 && owner != i && owner == open {
			top := &out[len(out)-1]
			top.inner = append(top.inner, sym)
			top.whole.End = sym.whole.End
			continue
		}
		out = append(out, sym)
		open = -1
		if owner == i {
			open = i
		}
	}
	return out
}

// symbolOf is what a line has a name for, and where that stands in it.
func symbolOf(l *syntax.Line) (symbol, syntax.Span) {
	named := func(kind protocol.SymbolKind, name, detail string, at syntax.Span) (symbol, syntax.Span) {
		return symbol{name: name, detail: detail, kind: kind}, at
	}
	switch s := l.Stmt.(type) {
	case *syntax.Printed:
		if s.Word.Text == "title" {
			return named(protocol.SymbolKindFile, s.Text.Value(), "title", s.Text.Span())
		}
	case *syntax.Mark:
		return named(protocol.SymbolKindKey, s.Name.Text, "mark at "+s.Place.Text, s.Name.Span())
	case *syntax.Part:
		return named(protocol.SymbolKindNamespace, s.Name.Value(), "part", s.Name.Span())
	case *syntax.Player:
		return named(protocol.SymbolKindClass, s.Name.Value(), "player", s.Name.Span())
	case *syntax.Define:
		return named(protocol.SymbolKindStruct, s.Name.Text, s.Word.Text, s.Name.Span())
	case *syntax.Kit:
		return named(protocol.SymbolKindObject, "kit", "", s.Word.Span())
	case *syntax.From:
		return named(protocol.SymbolKindEvent, "from "+s.Place.Text, "", s.Place.Span())
	case *syntax.Item:
		return named(protocol.SymbolKindField, s.Name.Text, "", s.Name.Span())
	case *syntax.LimbLine:
		if s.Cue != nil {
			name := s.Cue.Name.Span()
			return named(protocol.SymbolKindMethod, s.Limb.Text+" "+s.Cue.Name.Text, strings.TrimSpace(l.Text[min(name.End, len(l.Text)):cueEnd(l)]), name)
		}
	}
	return symbol{}, syntax.Span{}
}

func indentOf(text string) int { return len(text) - len(strings.TrimLeft(text, " \t")) }

// cueEnd is the byte where a cue's bars begin, or its code ends.
func cueEnd(l *syntax.Line) int {
	if l.Bars != nil {
		return l.Bars.Span.Start
	}
	return len(l.Code())
}

func (y *symbol) document() protocol.DocumentSymbol {
	d := protocol.DocumentSymbol{Name: y.name, Kind: y.kind, Range: y.whole, SelectionRange: y.at}
	if y.detail != "" {
		d.Detail = ptr(y.detail)
	}
	for i := range y.inner {
		d.Children = append(d.Children, y.inner[i].document())
	}
	return d
}

// DocumentSymbol is the outline of a document.
func (s *session) DocumentSymbol(ctx context.Context, p *protocol.DocumentSymbolParams) (protocol.DocumentSymbolResult, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	list := symbolsOf(d.parsed(), d.idx)
	if !s.can.hierarchy {
		flat := protocol.SymbolInformationSlice{}
		for i := range list {
			for _, y := range append([]symbol{list[i]}, list[i].inner...) {
				info := protocol.SymbolInformation{Location: protocol.Location{URI: d.uri, Range: y.at}}
				info.Name, info.Kind = y.name, y.kind
				flat = append(flat, info)
			}
		}
		return flat, nil
	}
	out := protocol.DocumentSymbolSlice{}
	for i := range list {
		out = append(out, list[i].document())
	}
	return out, nil
}

// mostSymbols is how many symbols of a workspace are given at a time.
const mostSymbols = 500

// Symbols finds parts, players, marks and definitions in the whole workspace.
func (s *session) Symbols(ctx context.Context, p *protocol.WorkspaceSymbolParams) (protocol.WorkspaceSymbolResult, error) {
	w := s.worldOf(ctx)
	out := protocol.WorkspaceSymbolSlice{}
	take := func(id uri.URI, name string, list []symbol) {
		for i := range list {
			y := &list[i]
			if y.kind == protocol.SymbolKindEvent || len(out) >= mostSymbols || !contains(y.name, p.Query) {
				continue
			}
			ws := protocol.WorkspaceSymbol{Location: &protocol.Location{URI: id, Range: y.at}}
			ws.Name, ws.Kind, ws.ContainerName = y.name, y.kind, ptr(fmt.Sprintf("%s in %s", y.detail, name))
			out = append(out, ws)
		}
	}
	for _, d := range sortedDocs(w) {
		take(d.uri, d.name, symbolsOf(d.parsed(), d.idx))
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, id := range sortedKeys(s.shelf) {
		if w.docs.get(id) == nil {
			_, name := placeOf(w, id)
			take(id, name, s.shelf[id].names)
		}
	}
	return out, nil
}

// contains says whether the letters of a query come in a name in their order.
func contains(name, query string) bool {
	rest := strings.ToLower(name)
	for _, r := range strings.ToLower(query) {
		i := strings.IndexRune(rest, r)
		if i < 0 {
			return false
		}
		rest = rest[i+1:]
	}
	return true
}
