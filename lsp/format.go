package lsp

import (
	"context"
	"strings"

	"github.com/aymanbagabas/go-udiff"
	"go.lsp.dev/protocol"

	"example.org/handful/lang/syntax"
)

// layout is the edits that put a document in its canonical layout, as few and
// as small as whole lines allow.
func (d *document) layout() ([]udiff.Edit, error) {
	text, lost := syntax.Format(d.parsed())
	if lost != nil {
		return nil, refuse("it stays as it is: %s", lost.Error())
	}
	return udiff.Lines(d.idx.text(), text), nil
}

func (d *document) edits(list []udiff.Edit, keep func(from, to protocol.Position) bool) []protocol.TextEdit {
	out := []protocol.TextEdit{}
	for _, e := range list {
		r := d.idx.span(e.Start, e.End)
		if keep == nil || keep(r.Start, r.End) {
			out = append(out, protocol.TextEdit{Range: r, NewText: e.New})
		}
	}
	return out
}

// Formatting puts a document in its canonical layout.
func (s *session) Formatting(ctx context.Context, p *protocol.DocumentFormattingParams) ([]protocol.TextEdit, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	list, err := d.layout()
	if err != nil {
		return nil, err
	}
	return d.edits(list, nil), nil
}

// RangeFormatting does it for some lines.
func (s *session) RangeFormatting(ctx context.Context, p *protocol.DocumentRangeFormattingParams) ([]protocol.TextEdit, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	last := p.Range.End.Line
	if p.Range.End.Character == 0 && last > p.Range.Start.Line {
		last-- // a selection of whole lines ends at the start of the next
	}
	return d.lineEdits(int(p.Range.Start.Line), int(last), -1), nil
}

// OnTypeFormatting brings the bar lines of the lines around under one another
// when one is typed. What stands behind the cursor in its own line stays.
func (s *session) OnTypeFormatting(ctx context.Context, p *protocol.DocumentOnTypeFormattingParams) ([]protocol.TextEdit, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	f := d.parsed()
	line, _ := d.at(p.Position)
	from, to := line, line
	for from > 0 && f.Lines[from-1].Bars != nil {
		from--
	}
	for to+1 < len(f.Lines) && f.Lines[to+1].Bars != nil {
		to++
	}
	return d.lineEdits(from, to, line), nil
}

// lineEdits are the edits of the layout within some lines, each line by
// itself. The line still is left as it is but for the blanks before its bars.
func (d *document) lineEdits(from, to, typing int) []protocol.TextEdit {
	f := d.parsed()
	formatted := syntax.FormatLines(f)
	out := []protocol.TextEdit{}
	for i := max(0, from); i <= to && i < len(f.Lines); i++ {
		was, is := f.Lines[i].Text, formatted[i]
		if strings.TrimSpace(was) == "" {
			is = "" // a line of blanks; one that is not understood stays
		}
		start := f.Starts[i]
		if i == typing {
			// Only up to the first bar line: the cursor is behind it.
			b := f.Lines[i].Bars
			if b == nil {
				continue
			}
			n := syntax.ParseLine(is)
			if n.Bars == nil {
				continue
			}
			was, is = was[:b.Span.Start], is[:n.Bars.Span.Start]
		}
		if was != is {
			out = append(out, protocol.TextEdit{Range: d.idx.span(start, start+len(was)), NewText: is})
		}
	}
	return out
}
