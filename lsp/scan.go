package lsp

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"runtime"
	"slices"
	"sync"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
)

// shelved is what is known of a file of the workspace that is not open.
type shelved struct {
	shown *shown
	uses  []string // names within the root
	root  string
	names []symbol // for searching the workspace
}

// nameURI is the URI of a name within a root.
func nameURI(root, name string) uri.URI {
	return fileURI(filepath.Join(root, filepath.FromSlash(name)))
}

// scan checks every file of the workspace that is not open.
func (s *session) scan() {
	w := s.now()
	type file struct{ root, path string }
	var files []file
	for _, root := range w.folders {
		paths, errs := folder.Below(root)
		for _, err := range errs {
			s.log.Print(err)
		}
		for _, p := range paths {
			files = append(files, file{root, p})
		}
	}
	report := s.progress(s.ctx, fmt.Sprintf("reading %d pieces", len(files)))
	next := make(chan file)
	var workers sync.WaitGroup
	for range max(1, runtime.GOMAXPROCS(0)) {
		workers.Go(func() {
			for f := range next {
				id := fileURI(f.path)
				if s.now().docs.get(id) == nil {
					s.visit(id)
				}
			}
		})
	}
	for i, f := range files {
		if s.ctx.Err() != nil {
			break
		}
		next <- f
		report(i, len(files))
	}
	close(next)
	workers.Wait()
	report(len(files), len(files))
	if s.can.pull && s.can.refreshDiagnostics && len(files) > 0 {
		s.client.DiagnosticRefresh(s.ctx)
	}
}

// progress begins to tell how far a long work is; the last call ends it.
func (s *session) progress(ctx context.Context, title string) func(done, of int) {
	token, ok := ctx.Value(tokenKey{}).(protocol.ProgressToken)
	if !ok {
		if !s.can.progress {
			return func(int, int) {}
		}
		token = protocol.String("handful-" + nextResultID())
		if err := s.client.WorkDoneProgressCreate(s.ctx, &protocol.WorkDoneProgressCreateParams{Token: token}); err != nil {
			return func(int, int) {}
		}
	}
	send := func(v any) {
		if raw, err := protocol.Marshal(v); err == nil {
			s.client.Progress(s.ctx, &protocol.ProgressParams{Token: token, Value: raw})
		}
	}
	send(protocol.WorkDoneProgressBegin{Kind: "begin", Title: title, Percentage: ptr(uint32(0))})
	last := 0
	return func(done, of int) {
		if done >= of {
			send(protocol.WorkDoneProgressEnd{Kind: "end"})
			return
		}
		if percent := done * 100 / of; percent >= last+5 {
			last = percent
			send(protocol.WorkDoneProgressReport{Kind: "report", Percentage: ptr(uint32(percent))})
		}
	}
}

// reshelve checks a file that is not open and shows what was found; a file
// that is gone, or outside the workspace, has nothing to show any more. Only
// the file's runner does it.
func (s *session) reshelve(id uri.URI) {
	sh := s.checkFile(s.now(), id)
	found := []protocol.Diagnostic{}
	s.mu.Lock()
	if sh == nil {
		delete(s.shelf, id)
	} else {
		s.shelf[id] = sh
		found = sh.shown.diags
	}
	news := len(found) > 0 || s.marked[id]
	open := s.now().docs.get(id) != nil // by now; its own findings come next
	s.mu.Unlock()
	if news && !open && !s.can.pull {
		s.publish(id, protocol.Optional[int32]{}, found)
	}
}

// checkFile checks a file of the workspace as it is on the disk. If the program
// fails on it, that is what is found.
func (s *session) checkFile(w *world, id uri.URI) (out *shelved) {
	root, name := placeOf(w, id)
	if root == "" || filepath.Ext(name) != folder.Extension {
		return nil
	}
	fault := s.contained("scanning", name, func() { out = s.checkOnDisk(w, id, root, name) })
	if fault != nil {
		text, _ := folder.Read(root, name)
		v := view{s: s, r: check.Failed(name, nil, fault), id: id, idx: newIndex(text, s.enc), root: root, conf: w.conf}
		out = &shelved{shown: &shown{id: nextResultID(), diags: []protocol.Diagnostic{}}, root: root}
		v.fill(out.shown)
	}
	return out
}

func (s *session) checkOnDisk(w *world, id uri.URI, root, name string) *shelved {
	file, err := s.library.Load(root, name)
	if err != nil {
		return nil
	}
	d := &document{source: &source{key: id, uri: id}, root: root, name: name}
	near, load := s.loader(d)
	near.begin(w)
	conf := s.confOf(w, root, name)
	r := check.Check(name, file, check.Options{
		Score: conf.options(),
		Load:  load,
		Stop:  func() bool { return s.ctx.Err() != nil },
	})
	if r.Stopped {
		return nil
	}
	sh := &shown{id: nextResultID(), diags: []protocol.Diagnostic{}}
	v := view{s: s, r: r, id: id, idx: newIndex(file.Text(), s.enc), root: root, conf: conf}
	v.fill(sh)
	sh.of = nil
	out := &shelved{shown: sh, root: root, names: symbolsOf(file, v.idx)}
	for _, src := range r.Score.Sources[1:] {
		out.uses = append(out.uses, src.Name)
	}
	return out
}

// onDisk is what is known of a file that is not open.
func (s *session) onDisk(id uri.URI) *shown {
	s.mu.Lock()
	sh := s.shelf[id]
	s.mu.Unlock()
	if sh == nil {
		return &shown{id: "none", diags: []protocol.Diagnostic{}}
	}
	return sh.shown
}

// changedOnDisk checks again the files that changed and what uses them.
func (s *session) changedOnDisk(ids []uri.URI) {
	var touched []uri.URI
	s.change(func(w *world) {
		for _, id := range ids {
			root, name := placeOf(w, id)
			if w.docs.get(id) == nil {
				touched = append(touched, id)
				touched = append(touched, s.dependents(w, root, name, id)...)
			}
			for other, sh := range s.shelf {
				if other != id && sh.root == root && slices.Contains(sh.uses, name) && w.docs.get(other) == nil {
					touched = append(touched, other)
				}
			}
		}
	})
	for _, id := range touched {
		s.queue(id)
	}
	if len(touched) > 0 {
		s.refresh()
	}
}

// handedOn is how many files' findings a client that takes an answer in parts is
// sent at once.
const handedOn = 50

// DiagnosticWorkspace answers a client that asks for what was found in all
// files: in parts where it takes them, and then there is nothing left to say in
// the end.
func (s *session) DiagnosticWorkspace(ctx context.Context, p *protocol.WorkspaceDiagnosticParams) (*protocol.WorkspaceDiagnosticReport, error) {
	had := map[uri.URI]string{}
	for _, prev := range p.PreviousResultIds {
		had[prev.URI] = prev.Value
	}
	out := &protocol.WorkspaceDiagnosticReport{Items: []protocol.WorkspaceDocumentDiagnosticReport{}}
	add := func(id uri.URI, version *int32, sh *shown) {
		as := s.spelling(id)
		if had[id] == sh.id {
			out.Items = append(out.Items, &protocol.WorkspaceUnchangedDocumentDiagnosticReport{
				UnchangedDocumentDiagnosticReport: protocol.UnchangedDocumentDiagnosticReport{Kind: "unchanged", ResultID: sh.id}, URI: as, Version: version,
			})
		} else {
			out.Items = append(out.Items, &protocol.WorkspaceFullDocumentDiagnosticReport{FullDocumentDiagnosticReport: full(sh), URI: as, Version: version})
		}
		delete(had, id)
		if p.PartialResultToken != nil && len(out.Items) >= handedOn {
			s.handOn(p.PartialResultToken, out)
		}
	}
	w := s.worldOf(ctx)
	for _, d := range sortedDocs(w) {
		if _, err := d.analysis.wait(ctx); err != nil && ctx.Err() != nil {
			return nil, err
		}
		add(d.key, ptr(d.version), s.visible(d))
	}
	s.mu.Lock()
	closed := map[uri.URI]*shown{}
	for id, sh := range s.shelf {
		if w.docs.get(id) == nil {
			closed[id] = sh.shown
		}
	}
	s.mu.Unlock()
	for _, id := range sortedKeys(closed) {
		add(id, nil, closed[id])
	}
	for id, was := range had { // what is gone has nothing to show
		if was != "none" {
			add(id, nil, &shown{id: "none", diags: []protocol.Diagnostic{}})
		}
	}
	if p.PartialResultToken != nil && len(out.Items) > 0 {
		s.handOn(p.PartialResultToken, out)
	}
	return out, nil
}

// handOn sends what there is of an answer, and takes it out of that.
func (s *session) handOn(token protocol.ProgressToken, out *protocol.WorkspaceDiagnosticReport) {
	if raw, err := protocol.Marshal(out); err == nil && s.client.Progress(s.ctx, &protocol.ProgressParams{Token: token, Value: raw}) == nil {
		out.Items = []protocol.WorkspaceDocumentDiagnosticReport{}
	}
}

func sortedDocs(w *world) []*document {
	var docs []*document
	for _, d := range w.docs.all() {
		docs = append(docs, d)
	}
	slices.SortFunc(docs, func(a, b *document) int { return cmp.Compare(a.uri, b.uri) })
	return docs
}
