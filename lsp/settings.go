package lsp

import (
	"path/filepath"
	"sync"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/internal/folder"
	"example.org/handful/internal/settings"
)

// settingsRead are the files of settings that were read, by the folders that
// they hold for.
type settingsRead struct {
	mu sync.Mutex
	of map[string]*settings.Settings
	// told are the files that something was said of.
	told map[string]bool
}

// forget has them read again.
func (r *settingsRead) forget() {
	r.mu.Lock()
	r.of = nil
	r.mu.Unlock()
}

// confOf is what holds for a piece: what the client says, and for the rest what
// the settings of its folder say.
func (s *session) confOf(w *world, root, name string) config {
	c := w.conf
	if root == "" {
		return c
	}
	piece := filepath.Join(root, filepath.FromSlash(name))
	conf := s.settingsOf(root, filepath.Dir(piece))
	if conf == nil {
		return c
	}
	if c.Profile == "" {
		c.Profile = conf.ProfileOf(piece)
	}
	if of := conf.SeveritiesOf(piece); of != nil {
		for rule, severity := range c.Severities {
			of[rule] = severity
		}
		c.Severities = of
	}
	for _, use := range conf.Shared(piece) {
		if rel, err := filepath.Rel(root, filepath.Join(conf.Dir, filepath.FromSlash(use))); err == nil {
			c.uses = append(c.uses[:len(c.uses):len(c.uses)], filepath.ToSlash(rel))
		}
	}
	return c
}

// settingsOf are those that hold for a folder of a workspace folder; nil for
// none. Above the workspace folder nothing is read.
func (s *session) settingsOf(root, dir string) *settings.Settings {
	r := &s.settings
	r.mu.Lock()
	defer r.mu.Unlock()
	if conf, ok := r.of[dir]; ok {
		return conf
	}
	if r.of == nil {
		r.of = map[string]*settings.Settings{}
	}
	file := settings.Above(dir, root)
	conf, had := r.of[file]
	if file != "" && !had {
		conf = s.readSettings(file)
		r.of[file] = conf
	}
	r.of[dir] = conf
	return conf
}

// readSettings reads a file of settings, and has what is wrong with it shown
// where it stands.
func (s *session) readSettings(file string) *settings.Settings {
	conf, problems, err := settings.Read(file)
	if err != nil {
		problems = []settings.Problem{{File: file, Line: 1, Column: 1, Message: folder.Reason(err)}}
	}
	if len(problems) == 0 && !s.settings.told[file] {
		return conf
	}
	diags := []protocol.Diagnostic{}
	for _, p := range problems {
		at := protocol.Position{Line: uint32(max(0, p.Line-1)), Character: uint32(max(0, p.Column-1))}
		diags = append(diags, protocol.Diagnostic{
			Range: protocol.Range{Start: at, End: at}, Severity: protocol.DiagnosticSeverityError,
			Source: protocol.NewOptional("handful"), Message: protocol.String(p.Message),
		})
	}
	if s.settings.told == nil {
		s.settings.told = map[string]bool{}
	}
	s.settings.told[file] = len(diags) > 0
	s.background(func() {
		s.client.PublishDiagnostics(s.ctx, &protocol.PublishDiagnosticsParams{URI: uri.File(file), Diagnostics: diags})
	})
	return conf
}
