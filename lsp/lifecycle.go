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

	"example.org/handful/internal/settings"
)

// abilities are what the client can do, as far as it matters here.
type abilities struct {
	pull, related, tags, codeLink bool // diagnostics
	data                          bool
	versions                      bool // document changes with versions
	snippets, markdown            bool
	insertReplace                 bool
	literals, disabled            bool // code actions
	resolves                      bool // asks for an action's edit when it is chosen
	configuration, watch          bool
	progress, show, applyEdit     bool
	refreshDiagnostics            bool
	refreshHints, refreshLenses   bool
	refreshTokens                 bool
	hierarchy, lineFolding        bool
	linkTargets                   bool
	content                       bool // read-only documents of ours
	snippetEdits                  bool // places to fill in, in any edit
	sendAgain                     bool // the whole text of a document, when asked
	tellsFindings                 bool // of what is under the cursor, beside what a hover answers
}

func ptr[T any](v T) *T { return &v }

// abilitiesOf reads what the client has said of itself.
func abilitiesOf(c *protocol.ClientCapabilities) abilities {
	var own struct {
		HandfulSendAgain     bool `json:"handfulSendAgain"`
		HandfulTellsFindings bool `json:"handfulTellsFindings"`
	}
	a := abilities{markdown: true}
	if json.Unmarshal(c.Experimental, &own) == nil {
		a.sendAgain, a.tellsFindings = own.HandfulSendAgain, own.HandfulTellsFindings
	}
	if c.TextDocument != nil {
		a.readDiagnostics(c.TextDocument)
		a.readRequests(c.TextDocument)
	}
	if c.Workspace != nil {
		a.readWorkspace(c.Workspace)
	}
	if w := c.Window; w != nil {
		a.progress = orZero(w.WorkDoneProgress)
		a.show = w.ShowDocument != nil && w.ShowDocument.Support
	}
	return a
}

// orZero is what a client said, or the zero value where it said nothing.
func orZero[T any](p *T) T {
	if p == nil {
		return *new(T)
	}
	return *p
}

func (a *abilities) readDiagnostics(t *protocol.TextDocumentClientCapabilities) {
	pushed, pulled := orZero(t.PublishDiagnostics), orZero(t.Diagnostic)
	a.pull = t.Diagnostic != nil
	a.related = orZero(pushed.RelatedInformation) || orZero(pulled.RelatedInformation)
	a.codeLink = orZero(pushed.CodeDescriptionSupport) || orZero(pulled.CodeDescriptionSupport)
	a.data = orZero(pushed.DataSupport) || orZero(pulled.DataSupport)
	a.tags = len(pushed.TagSupport.ValueSet)+len(pulled.TagSupport.ValueSet) > 0
}

func (a *abilities) readRequests(t *protocol.TextDocumentClientCapabilities) {
	actions := orZero(t.CodeAction)
	a.literals = actions.CodeActionLiteralSupport.CodeActionKind.ValueSet != nil
	a.disabled = orZero(actions.DisabledSupport)
	a.resolves = orZero(actions.DataSupport) && slices.Contains(actions.ResolveSupport.Properties, "edit")
	item := orZero(orZero(t.Completion).CompletionItem)
	a.snippets, a.insertReplace = orZero(item.SnippetSupport), orZero(item.InsertReplaceSupport)
	if formats := orZero(t.Hover).ContentFormat; len(formats) > 0 {
		a.markdown = slices.Contains(formats, protocol.MarkupKindMarkdown)
	}
	a.hierarchy = orZero(orZero(t.DocumentSymbol).HierarchicalDocumentSymbolSupport)
	a.lineFolding = orZero(orZero(t.FoldingRange).LineFoldingOnly)
	a.linkTargets = orZero(orZero(t.Definition).LinkSupport)
}

func (a *abilities) readWorkspace(w *protocol.WorkspaceClientCapabilities) {
	a.applyEdit = orZero(w.ApplyEdit)
	edits := orZero(w.WorkspaceEdit)
	a.versions, a.snippetEdits = orZero(edits.DocumentChanges), orZero(edits.SnippetEditSupport)
	a.configuration = orZero(w.Configuration)
	a.watch = orZero(orZero(w.DidChangeWatchedFiles).DynamicRegistration)
	a.refreshDiagnostics = orZero(orZero(w.Diagnostics).RefreshSupport)
	a.refreshHints = orZero(orZero(w.InlayHint).RefreshSupport)
	a.refreshLenses = orZero(orZero(w.CodeLens).RefreshSupport)
	a.refreshTokens = orZero(orZero(w.SemanticTokens).RefreshSupport)
	a.content = w.TextDocumentContent != nil
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
	s.can = abilitiesOf(&p.Capabilities)
	s.enc = s.encodingFor(orZero(p.Capabilities.General).PositionEncodings)
	s.trace.Store(p.Trace == protocol.TraceValueMessages || p.Trace == protocol.TraceValueVerbose)
	s.change(func(w *world) {
		w.conf = readConfig(p.InitializationOptions)
		s.openFolders(w, foldersOf(p))
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

// encodingFor is how columns are counted with this client. Bytes are cheapest,
// and every client can say what it wants.
func (s *session) encodingFor(kinds []protocol.PositionEncodingKind) encoding {
	switch {
	case slices.Contains(kinds, protocol.PositionEncodingKindUTF8):
		return utf8Columns
	case slices.Contains(kinds, protocol.PositionEncodingKindUTF16) || len(kinds) == 0:
		return utf16Columns
	case slices.Contains(kinds, protocol.PositionEncodingKindUTF32):
		return utf32Columns
	}
	return s.enc
}

// foldersOf are the folders that the client has open.
func foldersOf(p *protocol.InitializeParams) []string {
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
	return folders
}

// openFolders takes the client's folders over, as far as they may be read.
func (s *session) openFolders(w *world, folders []string) {
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
		CallHierarchyProvider:            on,
		LinkedEditingRangeProvider:       on,
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
		}, ResolveProvider: ptr(s.can.resolves)},
		SemanticTokensProvider: &protocol.SemanticTokensOptions{
			Legend: protocol.SemanticTokensLegend{TokenTypes: tokenTypes(), TokenModifiers: tokenModifiers()},
			Range:  on,
			Full:   &protocol.SemanticTokensFullDelta{Delta: ptr(true)},
		},
		ExecuteCommandProvider: protocol.ExecuteCommandOptions{Commands: commandNames(), WorkDoneProgressOptions: protocol.WorkDoneProgressOptions{WorkDoneProgress: ptr(true)}},
		Workspace: &protocol.WorkspaceOptions{
			WorkspaceFolders:    &protocol.WorkspaceFoldersServerCapabilities{Supported: ptr(true), ChangeNotifications: on},
			TextDocumentContent: &protocol.TextDocumentContentOptions{Schemes: []string{scheme}},
			FileOperations:      &protocol.FileOperationOptions{WillRename: movable()},
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

// traced sends a line of trace, if the client asked for it.
func (s *session) traced(format string, args ...any) {
	if s.trace.Load() {
		s.client.LogTrace(s.ctx, &protocol.LogTraceParams{Message: jsonrpc2.Errorf(0, format, args...).Message})
	}
}

// register asks the client to say when files change.
func (s *session) register() {
	options, err := protocol.Marshal(protocol.DidChangeWatchedFilesRegistrationOptions{
		Watchers: []protocol.FileSystemWatcher{
			{GlobPattern: protocol.Pattern("**/*.handful")},
			{GlobPattern: protocol.Pattern("**/" + settings.FileName)},
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
