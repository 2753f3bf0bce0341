package lsp

import (
	"context"
	"encoding/json"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// mostShown is how many findings of one document are shown.
const mostShown = 2000

// shown is what the client sees of a check.
type shown struct {
	id    string // of this very result
	diags []protocol.Diagnostic
	of    []int // for each diagnostic the index of its finding, or -1
}

var resultIDs atomic.Int64

func nextResultID() string { return strconv.FormatInt(resultIDs.Add(1), 36) }

// shown is what the client sees of the document's check, which has ended.
func (d *document) shown(s *session) *shown {
	d.analysis.mu.Lock()
	defer d.analysis.mu.Unlock()
	if d.analysis.shown == nil {
		sh := &shown{id: nextResultID(), diags: []protocol.Diagnostic{}}
		switch {
		case d.analysis.failed != nil:
			sh.diags = append(sh.diags, protocol.Diagnostic{
				Severity: protocol.DiagnosticSeverityError, Source: protocol.NewOptional("handful"), Message: protocol.String(d.analysis.failed.Error()),
			})
			sh.of = []int{-1}
		case d.analysis.known() != nil:
			r := d.analysis.known()
			if len(d.analysis.faults) > 0 {
				r = with(r, d.analysis.faults)
			}
			v := view{s: s, r: r, id: d.uri, idx: d.idx, root: d.root, conf: d.analysis.conf}
			if fault := s.contained("showing", d.name, func() { v.fill(sh) }); fault != nil {
				v.r, sh.diags, sh.of = check.Failed(d.name, d.parsed(), fault), []protocol.Diagnostic{}, nil
				v.fill(sh)
				sh.of = make([]int, len(sh.diags))
				for i := range sh.of {
					sh.of[i] = -1
				}
			}
		}
		d.analysis.shown = sh
	}
	return d.analysis.shown
}

// with is a result with failures of other work on its file put behind what it
// found, so that findings keep their numbers.
func with(r *check.Result, faults []*check.Fault) *check.Result {
	c := *r
	c.Findings = slices.Clone(r.Findings)
	for _, f := range faults {
		c.Findings = append(c.Findings, f.Finding())
	}
	return &c
}

// A view turns the findings of one result into diagnostics.
type view struct {
	s     *session
	r     *check.Result
	id    uri.URI
	idx   *index
	root  string
	conf  config
	other map[int32]*index
}

func (v *view) fill(sh *shown) {
	for i := range v.r.Findings {
		f := &v.r.Findings[i]
		severity := v.conf.severity(f)
		if severity == off {
			continue
		}
		if len(sh.diags) == mostShown {
			sh.diags = append(sh.diags, protocol.Diagnostic{
				Severity: protocol.DiagnosticSeverityInformation, Source: protocol.NewOptional("handful"),
				Message: protocol.String(fmt.Sprintf("only the first %d of %d findings are shown", mostShown, len(v.r.Findings))),
			})
			sh.of = append(sh.of, -1)
			return
		}
		sh.diags = append(sh.diags, v.diagnostic(f, severity))
		sh.of = append(sh.of, i)
	}
}

func (v *view) diagnostic(f *check.Finding, severity check.Severity) protocol.Diagnostic {
	d := protocol.Diagnostic{
		Severity: [...]protocol.DiagnosticSeverity{
			protocol.DiagnosticSeverityError, protocol.DiagnosticSeverityWarning,
			protocol.DiagnosticSeverityInformation, protocol.DiagnosticSeverityHint,
		}[severity],
		Source:  protocol.NewOptional("handful"),
		Code:    protocol.String(f.Rule.Name),
		Message: protocol.String(findingWords(f)),
	}
	if v.s.can.codeLink {
		d.CodeDescription = protocol.CodeDescription{Href: v.s.rulePage(&v.conf, f.Rule.Name)}
	}
	if v.s.can.data {
		d.Data = figures(f)
	}
	if v.s.can.tags && f.Rule.Name == syntax.RuleUnused {
		d.Tags = protocol.NewDiagnosticTags(protocol.DiagnosticTagUnnecessary)
	}
	related := f.Related
	if f.Where.File == 0 {
		d.Range = v.rangeOf(f.Where)
	} else {
		// What is wrong in a file that this one uses stands at the line that
		// uses it, and says where it really is.
		d.Range = v.rangeOf(v.useOf(f.Where))
		related = append([]score.Note{{Where: f.Where, About: syntax.Tells("here")}}, related...)
	}
	if v.s.can.related {
		for _, n := range related {
			if loc, ok := v.location(n.Where); ok {
				d.RelatedInformation = append(d.RelatedInformation, protocol.DiagnosticRelatedInformation{Location: loc, Message: n.Message()})
			}
		}
	}
	return d
}

// figures is what a program that does not read sentences may want of a finding:
// who, where, and how much time something needs and has, in seconds.
func figures(f *check.Finding) protocol.LSPAny {
	d := struct {
		Player string   `json:"player,omitempty"`
		Limb   string   `json:"limb,omitempty"`
		Bar    *int     `json:"bar,omitempty"`
		Count  string   `json:"count,omitempty"`
		Needs  *float64 `json:"needs,omitempty"`
		Has    *float64 `json:"has,omitempty"`
	}{Player: f.Player, Limb: f.Limb}
	if f.HasPlace {
		d.Bar, d.Count = &f.Bar, f.Count
	}
	if f.Timed {
		d.Needs, d.Has = &f.Need.Limit, &f.Window
	}
	raw, err := json.Marshal(d)
	if err != nil { // a time that is no number
		return nil
	}
	return raw
}

// findingWords is the finding in a sentence, with its place.
func findingWords(f *check.Finding) string {
	if !f.HasPlace {
		return f.Message()
	}
	return f.Place() + ": " + f.Message()
}

// useOf is the line of the document that leads to another file.
func (v *view) useOf(w score.Where) score.Where {
	var first score.Where
	for i, l := range v.r.File.Lines {
		used := l.Used()
		if used == nil {
			continue
		}
		span := used.Span()
		at := score.Where{Line: int32(i), Start: int32(span.Start), End: int32(span.End)}
		if strings.HasSuffix(v.r.Score.Sources[w.File].Name, strings.TrimPrefix(used.Value(), "./")) {
			return at
		}
		if first == (score.Where{}) {
			first = at
		}
	}
	return first
}

// rangeOf is the range of a place in the document itself.
func (v *view) rangeOf(w score.Where) protocol.Range { return rangeIn(v.idx, v.r.File, w) }

func rangeIn(idx *index, f *syntax.File, w score.Where) protocol.Range {
	if int(w.Line) >= len(f.Starts) {
		return idx.span(idx.size(), idx.size())
	}
	start := f.Starts[w.Line]
	return idx.span(start+int(w.Start), start+int(w.End))
}

// location is where a place is, in whichever file.
func (v *view) location(w score.Where) (protocol.Location, bool) {
	if w.File == 0 {
		return protocol.Location{URI: v.id, Range: v.rangeOf(w)}, true
	}
	if v.root == "" {
		return protocol.Location{}, false
	}
	src := v.r.Score.Sources[w.File]
	if path.Ext(src.Name) != folder.Extension {
		// What is bound is a text made of the file, whose lines are others.
		return protocol.Location{URI: nameURI(v.root, src.Name)}, true
	}
	if v.other == nil {
		v.other = map[int32]*index{}
	}
	idx := v.other[w.File]
	if idx == nil {
		idx = newIndex(src.File.Text(), v.idx.enc)
		v.other[w.File] = idx
	}
	return protocol.Location{URI: nameURI(v.root, src.Name), Range: rangeIn(idx, src.File, w)}, true
}

// Diagnostic answers a client that asks for what was found.
func (s *session) Diagnostic(ctx context.Context, p *protocol.DocumentDiagnosticParams) (protocol.DocumentDiagnosticReport, error) {
	id := p.TextDocument.URI
	d := s.worldOf(ctx).docs.get(id)
	var sh *shown
	if d == nil {
		sh = s.onDisk(id)
	} else if d.analysis.unchanged() {
		sh = s.visible(d)
	} else {
		if _, err := d.analysis.wait(ctx); err != nil && ctx.Err() != nil {
			return nil, err
		}
		sh = s.visible(d)
	}
	if p.PreviousResultID != nil && *p.PreviousResultID == sh.id {
		return &protocol.RelatedUnchangedDocumentDiagnosticReport{
			UnchangedDocumentDiagnosticReport: protocol.UnchangedDocumentDiagnosticReport{Kind: "unchanged", ResultID: sh.id},
		}, nil
	}
	return &protocol.RelatedFullDocumentDiagnosticReport{FullDocumentDiagnosticReport: full(sh)}, nil
}

func full(sh *shown) protocol.FullDocumentDiagnosticReport {
	return protocol.FullDocumentDiagnosticReport{Kind: "full", ResultID: ptr(sh.id), Items: sh.diags}
}
