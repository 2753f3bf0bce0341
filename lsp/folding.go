package lsp

import (
	"context"
	"maps"
	"slices"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/lang/syntax"
)

func sortedKeys[V any](m map[uri.URI]V) []uri.URI { return slices.Sorted(maps.Keys(m)) }

// FoldingRanges are the blocks, the sections of a block, and runs of comments.
func (s *session) FoldingRanges(ctx context.Context, p *protocol.FoldingRangeParams) ([]protocol.FoldingRange, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	f := d.parsed()
	seats := d.seats()
	out := []protocol.FoldingRange{}
	add := func(from, to int, kind protocol.FoldingRangeKind) {
		if to > from {
			r := protocol.FoldingRange{StartLine: uint32(from), EndLine: uint32(to)}
			if kind != "" {
				r.Kind = kind
			}
			out = append(out, r)
		}
	}
	for from, to := range blocks(f, seats) {
		add(from, to, "")
	}
	for i := 0; i < len(f.Lines); i++ {
		from := i
		for i < len(f.Lines) && f.Lines[i].Stmt == nil && f.Lines[i].Comment() != "" {
			i++
		}
		add(from, i-1, protocol.FoldingRangeKindComment)
	}
	slices.SortFunc(out, func(a, b protocol.FoldingRange) int { return int(a.StartLine) - int(b.StartLine) })
	return out, nil
}

// blocks gives the first and last line of every block, of kits in players,
// and of the sections that from lines begin.
func blocks(f *syntax.File, seats []syntax.Seat) map[int]int {
	ends := map[int]int{}
	for i, l := range f.Lines {
		if l.Stmt == nil {
			continue
		}
		seat := seats[i]
		if seat.Owner >= 0 {
			ends[seat.Owner] = max(ends[seat.Owner], i)
		}
		if seat.Inner >= 0 {
			ends[seat.Inner] = max(ends[seat.Inner], i)
		}
	}
	section := -1
	for i, l := range f.Lines {
		if l.Stmt == nil {
			continue
		}
		_, from := l.Stmt.(*syntax.From)
		if from {
			section = i
			continue
		}
		if section >= 0 && seats[i].Owner == seats[section].Owner && seats[i].Inner < 0 {
			ends[section] = i
		} else {
			section = -1
		}
	}
	return ends
}

// SelectionRange grows a selection: a piece, the bar, the bars, the line, the
// section, the block, the file.
func (s *session) SelectionRange(ctx context.Context, p *protocol.SelectionRangeParams) ([]protocol.SelectionRange, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	f := d.parsed()
	seats := d.seats()
	ends := blocks(f, seats)
	out := []protocol.SelectionRange{}
	for _, pos := range p.Positions {
		var chain *protocol.SelectionRange
		for _, r := range d.around(pos, seats, ends) {
			if chain == nil || r != chain.Range && !before(r.Start, chain.Range.Start) && !before(chain.Range.End, r.End) {
				chain = &protocol.SelectionRange{Range: r, Parent: chain}
			}
		}
		out = append(out, *chain)
	}
	return out, nil
}

// around is what a position is in, from the whole file to the piece.
func (d *document) around(pos protocol.Position, seats []syntax.Seat, ends map[int]int) []protocol.Range {
	f := d.parsed()
	line, col := d.at(pos)
	l := f.Lines[line]
	lines := func(from, to int) protocol.Range {
		return d.idx.span(f.Starts[from], f.Starts[to]+len(f.Lines[to].Text))
	}
	out := []protocol.Range{d.idx.span(0, d.idx.size())}
	owner := seats[line].Owner
	if owner >= 0 {
		out = append(out, lines(owner, max(owner, ends[owner])))
	}
	for from := line; from >= 0 && seats[from].Owner == owner; from-- {
		if to, ok := ends[from]; ok && from != owner && to >= line {
			out = append(out, lines(from, to))
			break
		}
	}
	out = append(out, lines(line, line))
	if l.Bars != nil && col >= l.Bars.Span.Start {
		out = append(out, d.where(line, l.Bars.Span))
		for i := range l.Bars.Cells {
			if c := l.Bars.Cells[i].Span(); c.Start <= col && col <= c.End {
				out = append(out, d.where(line, c))
			}
		}
	}
	if piece, ok := pieceAt(l, seats[line], col); ok {
		out = append(out, d.where(line, piece.Span))
	}
	return out
}

func before(a, b protocol.Position) bool {
	return a.Line < b.Line || a.Line == b.Line && a.Character < b.Character
}
