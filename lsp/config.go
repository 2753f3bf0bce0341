package lsp

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/internal/settings"
	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/guide"
	"example.org/handful/lang/score"
)

// A config is what the client may set, at start or later, under the section
// "handful".
type config struct {
	// Profile is that of players who do not say one.
	Profile string `json:"profile"`
	// Tempo asks what if: "110%".
	Tempo string `json:"tempo"`
	// Severities gives rules another severity: error, warning, compromise,
	// info, or off.
	Severities map[string]string `json:"severities"`
	// Handbook is the folder into which "handful guide -o" has put its pages: the
	// code of a finding leads there. Nothing is read from it here.
	Handbook string `json:"handbook"`

	problems []string
	uses     []string // files that the piece uses without saying so
}

func readConfig(raw []byte) (c config) {
	switch strings.Join(strings.Fields(string(raw)), "") {
	case "", "null", "[]": // an empty table is an empty list to some clients
		return c
	}
	if err := json.Unmarshal(raw, &c); err != nil {
		return config{problems: []string{"the settings cannot be read: " + err.Error()}}
	}
	if c.Profile != "" && !slices.Contains(body.ProfileNames(), c.Profile) {
		c.problems = append(c.problems, fmt.Sprintf("there is no profile %q: %v", c.Profile, body.ProfileNames()))
	}
	if _, err := score.ParseTempoFactor(c.Tempo); c.Tempo != "" && err != nil {
		c.problems = append(c.problems, "tempo "+err.Error())
	}
	if c.Handbook != "" && !filepath.IsAbs(c.Handbook) {
		c.problems = append(c.problems, fmt.Sprintf("handbook: write the whole path of the folder, not %q", c.Handbook))
		c.Handbook = ""
	}
	for _, rule := range slices.Sorted(maps.Keys(c.Severities)) {
		if check.RuleNamed(rule) == nil {
			c.problems = append(c.problems, fmt.Sprintf("severities: there is no rule %q", rule))
		}
		if _, ok := severityNamed(c.Severities[rule]); !ok {
			c.problems = append(c.problems, fmt.Sprintf("severities: %s is error, warning, compromise, info or off, not %q", rule, c.Severities[rule]))
		}
	}
	return c
}

// factor is the what-if of the tempo.
func (c *config) factor() float64 {
	if f, err := score.ParseTempoFactor(c.Tempo); err == nil {
		return f
	}
	return 1
}

// rulePage is where a rule is told of: in the handbook that the client or the
// command has, or in a document that the server has itself.
func (s *session) rulePage(c *config, rule string) uri.URI {
	pages := c.Handbook
	if pages == "" && s.opt.Handbook != nil {
		pages = s.opt.Handbook(s.now().folders)
	}
	if pages == "" {
		return ruleURI(rule)
	}
	return uri.File(filepath.Join(pages, filepath.FromSlash(guide.RulePage(rule))))
}

// key tells configurations apart for which a check comes out differently.
func (c *config) key() string {
	return strings.Join(append([]string{c.Profile, c.Tempo}, c.uses...), "\x00")
}

// options is how a piece is read.
func (c *config) options() score.Options {
	return score.Options{TempoFactor: c.factor(), Profile: c.Profile, Uses: c.uses}
}

const off = check.Severity(255)

func severityNamed(word string) (check.Severity, bool) {
	if s, ok := settings.SeverityNamed(word); ok {
		return s, true
	}
	return off, word == settings.Off
}

// severity is a finding's, as the client wants it.
func (c *config) severity(f *check.Finding) check.Severity {
	if word, ok := c.Severities[f.Rule.Name]; ok {
		if s, ok := severityNamed(word); ok {
			return s
		}
	}
	return f.Severity
}

// DidChangeConfiguration takes new settings.
func (s *session) DidChangeConfiguration(_ context.Context, p *protocol.DidChangeConfigurationParams) error {
	if s.can.configuration {
		s.background(s.askConfig)
		return nil
	}
	var settings struct {
		Handful json.RawMessage `json:"handful"`
	}
	if json.Unmarshal(p.Settings, &settings) == nil && len(settings.Handful) > 0 {
		s.configure(readConfig(settings.Handful))
	}
	return nil
}

// askConfig asks the client for its settings.
func (s *session) askConfig() {
	got, err := s.client.Configuration(s.ctx, &protocol.ConfigurationParams{Items: []protocol.ConfigurationItem{{Section: ptr("handful")}}})
	if err != nil || len(got) == 0 || len(got[0]) == 0 || string(got[0]) == "null" {
		return // what came with initialize holds
	}
	s.configure(readConfig(got[0]))
}

func (s *session) configure(c config) {
	s.warn(c.problems)
	was := s.now().conf
	if was.key() == c.key() && was.Handbook == c.Handbook && maps.Equal(was.Severities, c.Severities) {
		return
	}
	s.renew(func(w *world) { w.conf = c })
}

// warn shows what is wrong with the settings.
func (s *session) warn(problems []string) {
	for _, p := range problems {
		s.client.ShowMessage(s.ctx, &protocol.ShowMessageParams{Type: protocol.MessageTypeWarning, Message: "handful: " + p})
	}
}

// renew changes what every document depends on, and checks all again.
func (s *session) renew(f func(w *world)) {
	w := s.change(func(w *world) {
		f(w)
		for _, d := range w.docs.all() {
			d.analysis.supersede()
			w.put(s.again(w, d))
		}
	})
	for id := range w.docs.all() {
		s.queue(id)
	}
	s.background(s.scan)
	s.refresh()
}

// refresh asks the client to ask again.
func (s *session) refresh() {
	s.background(func() {
		if s.can.pull && s.can.refreshDiagnostics {
			s.client.DiagnosticRefresh(s.ctx)
		}
		if s.can.refreshHints {
			s.client.InlayHintRefresh(s.ctx)
		}
		if s.can.refreshLenses {
			s.client.CodeLensRefresh(s.ctx)
		}
	})
}
