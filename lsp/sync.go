package lsp

import (
	"context"
	"encoding/json"
	"path/filepath"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/internal/settings"
)

type writtenKey struct{}

// writtenURI is the URI of a document as the client writes it. The library
// brings every URI into one form, by which documents are found; what is sent
// back is what the client wrote, since some compare letter by letter.
func writtenURI(params []byte) uri.URI {
	var p struct {
		TextDocument struct{ URI string }
	}
	json.Unmarshal(params, &p) // what cannot be read opens nothing
	return uri.URI(p.TextDocument.URI)
}

// spelling is how the client writes a URI.
func (s *session) spelling(id uri.URI) uri.URI {
	s.mu.Lock()
	defer s.mu.Unlock()
	if as, ok := s.spelled[id]; ok {
		return as
	}
	return id
}

// unspell forgets how the client wrote a document that is not open any more,
// unless there is a file of which something may be shown again.
func (s *session) unspell(id uri.URI) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.shelf[id] == nil && s.now().docs.get(id) == nil {
		delete(s.spelled, id)
	}
}

// DidOpen takes a text over from the client.
func (s *session) DidOpen(ctx context.Context, p *protocol.DidOpenTextDocumentParams) error {
	t := p.TextDocument
	as, ok := ctx.Value(writtenKey{}).(uri.URI)
	if !ok {
		as = t.URI
	}
	s.edit(t.URI, func(w *world) *document {
		s.spelled[t.URI] = as // with the document, so that nobody forgets it in between
		return s.newDocument(w, t.URI, as, t.Version, newIndex(t.Text, s.enc), w.docs.get(t.URI))
	})
	return nil
}

// edit puts a new version of a document in the place of the old one, and
// renews the documents that use it.
func (s *session) edit(id uri.URI, f func(w *world) *document) {
	var touched []uri.URI
	var d *document
	s.change(func(w *world) {
		if was := w.docs.get(id); was != nil {
			was.analysis.supersede()
		}
		s.stir(id)
		s.busy()
		d = f(w)
		w.put(d)
		touched = s.dependents(w, d.root, d.name, id)
	})
	if d.analysis.lineage.known() {
		s.checkNow(id) // somebody is writing in it
	} else {
		s.queue(id)
	}
	for _, o := range touched {
		s.queue(o)
	}
}

// dependents renews the open documents that use a file, and those that may:
// whose check is going on. It says which. A document whose check has not begun
// will see the file as it is then. s.mu is held.
func (s *session) dependents(w *world, root, name string, self uri.URI) (touched []uri.URI) {
	if root == "" {
		return nil
	}
	renew := func(id uri.URI, d *document) {
		if d == nil || id == self || d.root != root || d.lost != nil {
			return
		}
		d.analysis.supersede()
		w.put(s.again(w, d))
		touched = append(touched, id)
	}
	for id := range s.users[placeKey(root, name)] {
		renew(id, w.docs.get(id))
	}
	for a := range s.underway {
		if d := w.docs.get(a.src.key); d != nil && d.analysis == a {
			renew(a.src.key, d)
		}
	}
	return touched
}

// DidSave shows all of a document, and checks again what uses the file.
func (s *session) DidSave(_ context.Context, p *protocol.DidSaveTextDocumentParams) error {
	s.rest(p.TextDocument.URI, nil)
	s.changedOnDisk([]uri.URI{p.TextDocument.URI})
	return nil
}

// DidClose gives a text back: from now on the file on the disk counts.
func (s *session) DidClose(_ context.Context, p *protocol.DidCloseTextDocumentParams) error {
	id := p.TextDocument.URI
	var touched []uri.URI
	s.change(func(w *world) {
		d := w.docs.get(id)
		if d == nil {
			return
		}
		d.analysis.supersede()
		s.stir(id)
		w.drop(d)
		s.wants(id, d.analysis.lineage, nil)
		touched = s.dependents(w, d.root, d.name, id)
	})
	s.mu.Lock()
	delete(s.tokens, id)
	s.mu.Unlock()
	s.queue(id)
	for _, o := range touched {
		s.queue(o)
	}
	return nil
}

// DidChangeWatchedFiles checks again what changed on the disk.
func (s *session) DidChangeWatchedFiles(_ context.Context, p *protocol.DidChangeWatchedFilesParams) error {
	var ids []uri.URI
	anew := false
	for _, c := range p.Changes {
		anew = anew || filepath.Base(pathOf(c.URI)) == settings.FileName
		ids = append(ids, c.URI)
	}
	if anew {
		s.settings.forget()
		s.renew(func(*world) {})
		return nil
	}
	s.changedOnDisk(ids)
	return nil
}

// DidChangeWorkspaceFolders takes folders in and lets others go.
func (s *session) DidChangeWorkspaceFolders(_ context.Context, p *protocol.DidChangeWorkspaceFoldersParams) error {
	s.renew(func(w *world) {
		var kept []string
		for _, f := range w.folders {
			gone := false
			for _, r := range p.Event.Removed {
				gone = gone || pathOf(r.URI) == f
			}
			if !gone {
				kept = append(kept, f)
			}
		}
		for _, a := range p.Event.Added {
			if f := pathOf(a.URI); f != "" && s.mayRead(f) {
				kept = append(kept, f)
			}
		}
		w.folders = kept
	})
	return nil
}
