package lsp

import (
	"context"
	"maps"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// WillRenameFiles writes the new names of files, or of folders with what is in
// them, into the lines that use them, and into the lines by which a file that goes
// elsewhere uses others.
func (s *session) WillRenameFiles(ctx context.Context, p *protocol.RenameFilesParams) (*protocol.WorkspaceEdit, error) {
	w := s.worldOf(ctx)
	moves := map[string]moved{} // by root
	for _, f := range p.Files {
		was, err1 := uri.Parse(f.OldURI)
		is, err2 := uri.Parse(f.NewURI)
		if err1 != nil || err2 != nil {
			continue
		}
		root, from := placeOf(w, was)
		if to, name := placeOf(w, is); root != "" && root == to {
			if moves[root] == nil {
				moves[root] = moved{}
			}
			moves[root][from] = name
		}
	}
	var changes []change
	for _, root := range slices.Sorted(maps.Keys(moves)) {
		for _, name := range s.filesOf(w, root) {
			t, ok := s.namedText(w, root, name)
			if !ok {
				continue
			}
			if edits := moves[root].edits(name, t.file); len(edits) > 0 {
				changes = append(changes, change{t, edits})
			}
		}
	}
	return s.workspaceEdit(changes), nil
}

// moved says of files and folders, by their names within a root, what they will
// be called.
type moved map[string]string

// name is what a file will be called.
func (m moved) name(file string) string {
	for at := file; at != "." && at != "/"; at = path.Dir(at) {
		if to, ok := m[at]; ok {
			return to + file[len(at):]
		}
	}
	return file
}

// edits are those of a file in which lines use what is moved, or that is moved
// itself.
func (m moved) edits(name string, f *syntax.File) []check.Edit {
	var out []check.Edit
	for i, l := range f.Lines {
		used := l.Used()
		if used == nil {
			continue
		}
		is, ok := folder.Within(name, used.Value())
		if !ok {
			continue
		}
		home, to := m.name(name), m.name(is)
		rel, err := filepath.Rel(filepath.FromSlash(path.Dir(home)), filepath.FromSlash(to))
		if err != nil || filepath.ToSlash(rel) == path.Clean(filepath.ToSlash(used.Value())) {
			continue
		}
		at := used.Span()
		out = append(out, check.Edit{Line: i, Start: at.Start, End: at.End, Text: syntax.Quote(filepath.ToSlash(rel))})
	}
	return out
}

// filesOf are the names of the texts of a workspace folder, open or not.
func (s *session) filesOf(w *world, root string) []string {
	names := map[string]bool{}
	s.mu.Lock()
	for id, sh := range s.shelf {
		if _, name := placeOf(w, id); sh.root == root {
			names[name] = true
		}
	}
	s.mu.Unlock()
	for _, d := range w.docs.all() {
		if d.root == root && strings.HasSuffix(d.name, folder.Extension) {
			names[d.name] = true
		}
	}
	return slices.Sorted(maps.Keys(names))
}

// movable are the files and folders of whose new names the client is to tell.
func movable() protocol.FileOperationRegistrationOptions {
	filter := func(glob string, kind protocol.FileOperationPatternKind) protocol.FileOperationFilter {
		return protocol.FileOperationFilter{Scheme: ptr("file"), Pattern: protocol.FileOperationPattern{Glob: glob, Matches: kind}}
	}
	return protocol.FileOperationRegistrationOptions{Filters: []protocol.FileOperationFilter{
		filter("**/*.{handful,musicxml,mxl,xml,mid,midi}", protocol.FileOperationPatternKindFile),
		filter("**", protocol.FileOperationPatternKindFolder),
	}}
}
