package lsp

import (
	"context"
	"encoding/json"
	"path/filepath"
	"runtime/debug"
	"slices"
	"time"

	"go.lsp.dev/jsonrpc2"
	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"
)

// can is what the client can do, as far as it matters here.
type can struct {
	pull, related, tags, codeLink bool // diagnostics
	versions                      bool // document changes with versions
	snippets, markdown            bool
	literals, disabled            bool // code actions
	configuration, watch          bool
	progress, show, applyEdit     bool
	refreshDiagnostics            bool
	refreshHints, refreshLenses   bool
	refreshTokens                 bool
	hierarchy, lineFolding        bool
	linkTargets                   bool
	content                       bool // read-only documents of ours
	sendAgain                     bool // the whole text of a document, when asked
}

func yes(b *bool) bool   { return b != nil && *b }
func ptr[T any](v T) *T  { return &v }
func some(n int) *uint32 { return ptr(uint32(n)) }

func abilities(c *protocol.ClientCapabilities) can {
	var a can
	a.markdown = true
	if t := c.TextDocument; t != nil {
		a.pull = t.Diagnostic != nil
		if p := t.PublishDiagnostics; p != nil {
			a.related = yes(p.RelatedInformation)
			a.codeLink = yes(p.CodeDescriptionSupport)
			a.tags = len(p.TagSupport.ValueSet) > 0
		}
		if d := t.Diagnostic; d != nil {
			a.related = a.related || yes(d.RelatedInformation)
			a.codeLink = a.codeLink || yes(d.CodeDescriptionSupport)
			a.tags = a.tags || len(d.TagSupport.ValueSet) > 0
		}
		if x := t.CodeAction; x != nil {
			a.literals = x.CodeActionLiteralSupport.CodeActionKind.ValueSet != nil
			a.disabled = yes(x.DisabledSupport)
		}
		if x := t.Completion; x != nil && x.CompletionItem != nil {
			a.snippets = yes(x.CompletionItem.SnippetSupport)
		}
		if x := t.Hover; x != nil && len(x.ContentFormat) > 0 {
			a.markdown = slices.Contains(x.ContentFormat, protocol.MarkupKindMarkdown)
		}
		if x := t.DocumentSymbol; x != nil {
			a.hierarchy = yes(x.HierarchicalDocumentSymbolSupport)
		}
		if x := t.FoldingRange; x != nil {
			a.lineFolding = yes(x.LineFoldingOnly)
		}
		if x := t.Definition; x != nil {
			a.linkTargets = yes(x.LinkSupport)
		}
	}
	if w := c.Workspace; w != nil {
		a.applyEdit = yes(w.ApplyEdit)
		a.versions = w.WorkspaceEdit != nil && yes(w.WorkspaceEdit.DocumentChanges)
		a.configuration = yes(w.Configuration)
		a.watch = w.DidChangeWatchedFiles != nil && yes(w.DidChangeWatchedFiles.DynamicRegistration)
		a.refreshDiagnostics = w.Diagnostics != nil && yes(w.Diagnostics.RefreshSupport)
		a.refreshHints = w.InlayHint != nil && yes(w.InlayHint.RefreshSupport)
		a.refreshLenses = w.CodeLens != nil && yes(w.CodeLens.RefreshSupport)
		a.refreshTokens = w.SemanticTokens != nil && yes(w.SemanticTokens.RefreshSupport)
		a.content = w.TextDocumentContent != nil
	}
	var own struct {
		HandfulSendAgain bool `json:"handfulSendAgain"`
	}
	a.sendAgain = json.Unmarshal(c.Experimental, &own) == nil && own.HandfulSendAgain
	if w := c.Window; w != nil {
		a.progress = yes(w.WorkDoneProgress)
		a.show = w.ShowDocument != nil && w.ShowDocument.Support
	}
	return a
}

// Initialize answers with what the server offers to this client.
func (s *session) Initialize(_ context.Context, p *protocol.InitializeParams) (*protocol.InitializeResult, error) {
	if s.opt.door != nil {
		var own struct{ Token string }
		json.Unmarshal(p.InitializationOptions, &own) // what cannot be read has no token
		if err := s.opt.door.opens(own.Token); err != nil {
			return nil, err
		}
	}
	s.can = abilities(&p.Capabilities)
	if g := p.Capabilities.General; g != nil {
		switch { // bytes are cheapest, and every client can say what it wants
		case slices.Contains(g.PositionEncodings, protocol.PositionEncodingKindUTF8):
			s.enc = utf8Columns
		case slices.Contains(g.PositionEncodings, protocol.PositionEncodingKindUTF16) || len(g.PositionEncodings) == 0:
			s.enc = utf16Columns
		case slices.Contains(g.PositionEncodings, protocol.PositionEncodingKindUTF32):
			s.enc = utf32Columns
		}
	}
	s.trace.Store(p.Trace == protocol.TraceValueMessages || p.Trace == protocol.TraceValueVerbose)
	var folders []string
	if list, ok := p.WorkspaceFolders.Get(); ok {
		for _, f := range list {
			folders = append(folders, pathOf(f.URI))
		}
		//lint:ignore SA1019 older clients say nothing else
	} else if p.RootURI != nil {
		//lint:ignore SA1019 the same
		folders = append(folders, pathOf(*p.RootURI))
	}
	s.change(func(w *world) {
		w.conf = readConfig(p.InitializationOptions)
		for _, f := range folders {
			switch {
			case f == "" || slices.Contains(w.folders, f):
			case !s.mayRead(f):
				w.conf.problems = append(w.conf.problems, plainName(f)+" is in none of the folders that this server was started with, and is not read")
			default:
				w.folders = append(w.folders, f)
			}
		}
		if s.opt.Confined && len(w.folders) == 0 {
			w.folders = slices.Clone(s.opt.Folders)
		}
	})
	if p.ProcessID != nil && *p.ProcessID > 0 && s.opt.Alive != nil {
		s.watchParent(int(*p.ProcessID))
	}
	s.phase.Store(phaseUp)
	return &protocol.InitializeResult{
		Capabilities: s.capabilities(),
		ServerInfo:   protocol.ServerInfo{Name: "handful", Version: protocol.NewOptional(s.opt.Version)},
	}, nil
}

// mayRead says whether a folder is one that may be read, wherever links in its
// path lead.
func (s *session) mayRead(path string) bool {
	if !s.opt.Confined {
		return true
	}
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		return false
	}
	return slices.ContainsFunc(s.opt.Folders, func(f string) bool {
		home, err := filepath.EvalSymlinks(f)
		if err != nil {
			return false
		}
		rel, err := filepath.Rel(home, real)
		return err == nil && filepath.IsLocal(rel)
	})
}

func (s *session) capabilities() protocol.ServerCapabilities {
	on := protocol.Boolean(true)
	c := protocol.ServerCapabilities{
		PositionEncoding: s.enc.kind(),
		TextDocumentSync: &protocol.TextDocumentSyncOptions{
			OpenClose: ptr(true),
			Change:    ptr(protocol.TextDocumentSyncKindIncremental),
			Save:      &protocol.SaveOptions{IncludeText: ptr(false)},
		},
		HoverProvider:                    on,
		DefinitionProvider:               on,
		ReferencesProvider:               on,
		DocumentHighlightProvider:        on,
		DocumentSymbolProvider:           on,
		WorkspaceSymbolProvider:          on,
		FoldingRangeProvider:             on,
		SelectionRangeProvider:           on,
		InlayHintProvider:                on,
		DocumentFormattingProvider:       on,
		DocumentRangeFormattingProvider:  on,
		DocumentOnTypeFormattingProvider: protocol.DocumentOnTypeFormattingOptions{FirstTriggerCharacter: "|"},
		RenameProvider:                   &protocol.RenameOptions{PrepareProvider: ptr(true)},
		CodeLensProvider:                 &protocol.CodeLensOptions{},
		DocumentLinkProvider:             &protocol.DocumentLinkOptions{},
		CompletionProvider: &protocol.CompletionOptions{
			TriggerCharacters: []string{" ", "\"", "."},
			ResolveProvider:   ptr(true),
		},
		SignatureHelpProvider: &protocol.SignatureHelpOptions{TriggerCharacters: []string{" "}},
		CodeActionProvider: &protocol.CodeActionOptions{CodeActionKinds: []protocol.CodeActionKind{
			protocol.CodeActionKindQuickFix, protocol.CodeActionKindRefactorRewrite, protocol.CodeActionKindRefactorExtract,
			kindFixAll,
		}},
		SemanticTokensProvider: &protocol.SemanticTokensOptions{
			Legend: protocol.SemanticTokensLegend{TokenTypes: tokenTypes(), TokenModifiers: []string{"definition"}},
			Range:  on,
			Full:   &protocol.SemanticTokensFullDelta{Delta: ptr(true)},
		},
		ExecuteCommandProvider: protocol.ExecuteCommandOptions{Commands: commandNames()},
		Workspace: &protocol.WorkspaceOptions{
			WorkspaceFolders:    &protocol.WorkspaceFoldersServerCapabilities{Supported: ptr(true), ChangeNotifications: on},
			TextDocumentContent: &protocol.TextDocumentContentOptions{Schemes: []string{scheme}},
		},
	}
	if !s.can.content {
		c.Workspace.TextDocumentContent = nil
	}
	if s.can.pull {
		c.DiagnosticProvider = &protocol.DiagnosticOptions{
			Identifier:            ptr("handful"),
			InterFileDependencies: true,
			WorkspaceDiagnostics:  true,
		}
	}
	return c
}

// Initialized begins what needs the client's help, and reads the workspace.
func (s *session) Initialized(context.Context, *protocol.InitializedParams) error {
	s.background(func() {
		if s.can.watch {
			s.register()
		}
		s.warn(s.now().conf.problems)
		if s.can.configuration {
			s.askConfig()
		}
		s.scan()
	})
	return nil
}

// background runs something for as long as the session lasts.
func (s *session) background(f func()) {
	s.work.Add(1)
	go func() {
		defer s.work.Done()
		defer s.contain("in the background")
		f()
	}()
}

// contain ends a panic where it is deferred: the session goes on.
func (s *session) contain(doing string) {
	if r := recover(); r != nil {
		s.log.Printf("%s: %v\n%s", doing, r, debug.Stack())
	}
}

// Shutdown makes the server answer nothing but exit any more.
func (s *session) Shutdown(context.Context) error {
	s.phase.Store(phaseDown)
	return nil
}

// Exit ends the session.
func (s *session) Exit(context.Context) error {
	s.exit.Do(func() { close(s.gone) })
	return nil
}

// watchParent ends the session when the process that began it is gone.
func (s *session) watchParent(pid int) {
	go func() {
		tick := time.NewTicker(3 * time.Second)
		defer tick.Stop()
		for {
			select {
			case <-s.ctx.Done():
				return
			case <-tick.C:
				if !s.opt.Alive(pid) {
					s.log.Print("the editor is gone")
					s.Exit(s.ctx)
					return
				}
			}
		}
	}()
}

// SetTrace turns telling what the server does on and off.
func (s *session) SetTrace(_ context.Context, p *protocol.SetTraceParams) error {
	s.trace.Store(p.Value == protocol.TraceValueMessages || p.Value == protocol.TraceValueVerbose)
	return nil
}

// tell sends a line of trace, if the client asked for it.
func (s *session) tell(format string, args ...any) {
	if s.trace.Load() {
		s.client.LogTrace(s.ctx, &protocol.LogTraceParams{Message: jsonrpc2.Errorf(0, format, args...).Message})
	}
}

// register asks the client to say when files change.
func (s *session) register() {
	options, err := protocol.Marshal(protocol.DidChangeWatchedFilesRegistrationOptions{
		Watchers: []protocol.FileSystemWatcher{
			{GlobPattern: protocol.Pattern("**/*.handful")},
			{GlobPattern: protocol.Pattern("**/*.{musicxml,mxl,xml,mid,midi}")}, // written parts
		},
	})
	if err != nil {
		return
	}
	err = s.client.RegisterCapability(s.ctx, &protocol.RegistrationParams{Registrations: []protocol.Registration{{
		ID: "handful-files", Method: protocol.MethodWorkspaceDidChangeWatchedFiles, RegisterOptions: options,
	}}})
	if err != nil {
		s.log.Print("watching files: ", err)
	}
}

// fileURI is the URI of a file.
func fileURI(path string) uri.URI { return uri.File(path) }
