package lsp

import (
	"context"
	"encoding/json"
	"slices"
	"strings"

	"go.lsp.dev/jsonrpc2"
	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// kindFixAll makes every fix that needs nobody's judgement.
const kindFixAll protocol.CodeActionKind = "source.fixAll.handful"

// mostFixed is how many findings at one place fixes are sought for.
const mostFixed = 16

// CodeAction offers the fixes of the findings at a place and what may be done
// with the lines there. Every one has been made in memory and checked again.
func (s *session) CodeAction(ctx context.Context, p *protocol.CodeActionParams) ([]protocol.CommandOrCodeAction, error) {
	out := []protocol.CommandOrCodeAction{}
	if !s.can.literals {
		return out, nil
	}
	d, r, err := s.checked(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	r = r.Until(func() bool { return ctx.Err() != nil })
	p.Range = d.outOfIndent(p.Range)
	fault := s.contained("looking for fixes", d.name, func() { out = s.actions(ctx, d, r, p, out) })
	if fault != nil {
		return nil, d.analysis.blame(fault)
	}
	return out, ctx.Err()
}

func (s *session) actions(ctx context.Context, d *document, r *check.Result, p *protocol.CodeActionParams, out []protocol.CommandOrCodeAction) []protocol.CommandOrCodeAction {
	wants := func(kind protocol.CodeActionKind) bool { return wanted(p.Context.Only, kind) }
	if wants(protocol.CodeActionKindQuickFix) {
		for _, a := range s.fixesAt(ctx, d, r, p.Range) {
			out = append(out, a)
		}
	}
	if s.can.applyEdit {
		for _, a := range planActions(d, r, p.Range) {
			if wants(*a.Kind) {
				out = append(out, a)
			}
		}
	}
	if wants(protocol.CodeActionKindRefactorRewrite) || wants(protocol.CodeActionKindRefactorExtract) {
		for _, re := range refactors(d, r, p.Range) {
			if ctx.Err() == nil && wants(re.kind) && harmless(r, re) {
				out = append(out, &protocol.CodeAction{Title: re.title, Kind: ptr(re.kind), Edit: s.editOf(d, re.edits)})
			}
		}
	}
	if slices.ContainsFunc(p.Context.Only, func(k protocol.CodeActionKind) bool { return covers(k, kindFixAll) }) {
		if a := s.fixAll(d, r); a != nil {
			out = append(out, a)
		}
	}
	return out
}

// An unmade edit is one that is made when its action is chosen: of which text.
type unmadeEdit struct {
	URI     uri.URI `json:"uri"`
	Version int32   `json:"version"`
}

// fixAll is the action that makes every fix that needs no judgement, nil where there is
// none. Each is made in turn and the whole checked again, which may be much: a client that
// can ask again has it done when the action is chosen. All other edits are known when
// they are offered, since they have been proven.
func (s *session) fixAll(d *document, r *check.Result) *protocol.CodeAction {
	a := &protocol.CodeAction{Title: "make every fix that needs no judgement", Kind: ptr(kindFixAll)}
	if s.can.resolves {
		data, err := json.Marshal(unmadeEdit{d.uri, d.version})
		if a.Data = data; err != nil || !r.AnySure() {
			return nil
		}
		return a
	}
	text, made := r.FixAll()
	if made == 0 {
		return nil
	}
	a.Edit = s.editOf(d, difference(r, text))
	return a
}

// CodeActionResolve makes the edit of an action that was offered without one. What was
// offered for a text that has changed since has none.
func (s *session) CodeActionResolve(ctx context.Context, a *protocol.CodeAction) (*protocol.CodeAction, error) {
	var of unmadeEdit
	if a.Kind == nil || *a.Kind != kindFixAll || a.Edit != nil || json.Unmarshal(a.Data, &of) != nil {
		return a, nil // all that there is to know of it is known
	}
	d, r, err := s.checked(ctx, of.URI)
	if err != nil {
		return nil, err
	}
	if d.version != of.Version {
		return nil, jsonrpc2.NewError(jsonrpc2.Code(protocol.LSPErrorCodesContentModified), "the text has changed since this was offered: ask again")
	}
	r = r.Until(func() bool { return ctx.Err() != nil })
	fault := s.contained("making every fix", d.name, func() {
		text, _ := r.FixAll()
		a.Edit = s.editOf(d, difference(r, text))
	})
	if fault != nil {
		return nil, d.analysis.blame(fault)
	}
	return a, ctx.Err()
}

// outOfIndent is a caret before the first word of a line put to that word: who stands
// at the beginning of a line means what is in it.
func (d *document) outOfIndent(at protocol.Range) protocol.Range {
	if at.Start != at.End {
		return at
	}
	line, col := d.at(at.Start)
	if indent := indentOf(d.parsed().Lines[line].Text); col < indent {
		return d.where(line, syntax.Span{Start: indent, End: indent})
	}
	return at
}

// wanted says whether a client that asks only for some kinds asks for this.
func wanted(only []protocol.CodeActionKind, kind protocol.CodeActionKind) bool {
	return len(only) == 0 || slices.ContainsFunc(only, func(o protocol.CodeActionKind) bool { return covers(o, kind) })
}

// covers says whether one kind is the other or above it.
func covers(o, kind protocol.CodeActionKind) bool {
	return o == "" || o == kind || strings.HasPrefix(string(kind), string(o)+".")
}

func (s *session) editOf(d *document, edits []check.Edit) *protocol.WorkspaceEdit {
	return s.workspaceEdit([]change{{text{d.uri, d.parsed(), d.idx, ptr(d.version)}, edits}})
}

// fixesAt are the proven fixes of the findings that a range touches, the worst
// findings first.
func (s *session) fixesAt(ctx context.Context, d *document, r *check.Result, at protocol.Range) []*protocol.CodeAction {
	sh := d.shown(s)
	var here []int // indexes of diagnostics
	for i := range sh.diags {
		if sh.of[i] >= 0 && sh.of[i] < len(r.Findings) && touches(sh.diags[i].Range, at) {
			here = append(here, i)
		}
	}
	slices.SortStableFunc(here, func(a, b int) int { return int(sh.diags[a].Severity) - int(sh.diags[b].Severity) })
	var out []*protocol.CodeAction
	titles := map[string]*protocol.CodeAction{}
	for n, i := range here {
		if n == mostFixed || ctx.Err() != nil {
			break
		}
		for k, fix := range d.analysis.fixesOf(ctx, r, sh.of[i]) {
			key := fix.Title + "\x00" + editKey(fix.Edits)
			if same := titles[key]; same != nil {
				same.Diagnostics = append(same.Diagnostics, sh.diags[i])
				continue
			}
			a := &protocol.CodeAction{
				Title: fix.Title, Kind: ptr(protocol.CodeActionKindQuickFix), Edit: s.editOf(d, fix.Edits),
				Diagnostics: []protocol.Diagnostic{sh.diags[i]},
			}
			if k == 0 && len(out) == 0 && !fix.Judgement {
				a.IsPreferred = ptr(true)
			}
			titles[key] = a
			out = append(out, a)
		}
	}
	return out
}

func editKey(edits []check.Edit) string {
	var b strings.Builder
	for _, e := range edits {
		b.WriteString(e.Text)
		b.WriteByte(0)
	}
	return b.String()
}

// fixesOf are a finding's proven fixes, sought once.
func (a *analysis) fixesOf(ctx context.Context, r *check.Result, finding int) []check.Fix {
	a.mu.Lock()
	list, ok := a.fixes[finding]
	a.mu.Unlock()
	if ok {
		return list
	}
	list = r.Fixes(&r.Findings[finding])
	if ctx.Err() != nil {
		return nil
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.fixes == nil {
		a.fixes = map[int][]check.Fix{}
	}
	a.fixes[finding] = list
	return list
}

func touches(a, b protocol.Range) bool { return !before(a.End, b.Start) && !before(b.End, a.Start) }
