package lsp

import (
	"context"
	"encoding/json"
	"slices"
	"strings"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A cast is what stands in the hierarchy of who plays what: a player, a part, or
// one voice of a part. A client hands it back with its next question, and it
// stays within the piece that it was asked in.
type cast struct {
	Piece  uri.URI `json:"piece"`
	Player string  `json:"player,omitempty"`
	Part   string  `json:"part,omitempty"`
	Voice  string  `json:"voice,omitempty"` // "": the whole part
}

// PrepareCallHierarchy finds the part or the player that is named at a place, or
// else the line of a part, the part or the player that the place is in.
func (s *session) PrepareCallHierarchy(ctx context.Context, p *protocol.CallHierarchyPrepareParams) ([]protocol.CallHierarchyItem, error) {
	d, r, err := s.checked(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	x := s.casting(d, r)
	it, ok := x.item(x.at(p.Position))
	if !ok {
		return nil, nil
	}
	return []protocol.CallHierarchyItem{it}, nil
}

// IncomingCalls are the players of a part or of one of its voices, with their
// cues that are taken from it.
func (s *session) IncomingCalls(ctx context.Context, p *protocol.CallHierarchyIncomingCallsParams) ([]protocol.CallHierarchyIncomingCall, error) {
	x, of, err := s.recast(ctx, &p.Item)
	out := []protocol.CallHierarchyIncomingCall{}
	if err != nil || of.Player != "" {
		return out, err
	}
	for _, pl := range x.r.Score.Players {
		var what voices
		for _, c := range pl.Cues {
			for _, l := range x.r.Score.LinesOf(c) {
				if l.Part.Name == of.Part && (of.Voice == "" || l.Name == of.Voice) {
					what.add(l, x.d.whereOf(c.Where))
				}
			}
		}
		if it, ok := x.item(cast{Piece: of.Piece, Player: pl.Name}); ok && what.names != nil {
			it.Detail = ptr(strings.Join(what.names, ", "))
			out = append(out, protocol.CallHierarchyIncomingCall{From: it, FromRanges: what.cues})
		}
	}
	return out, nil
}

// OutgoingCalls are the parts that a player plays something of, with the cues
// that are taken from each.
func (s *session) OutgoingCalls(ctx context.Context, p *protocol.CallHierarchyOutgoingCallsParams) ([]protocol.CallHierarchyOutgoingCall, error) {
	x, of, err := s.recast(ctx, &p.Item)
	out := []protocol.CallHierarchyOutgoingCall{}
	if err != nil || of.Player == "" {
		return out, err
	}
	pl := x.r.Score.Player(of.Player)
	if pl == nil {
		return out, nil // renamed or gone since
	}
	parts := map[*score.Part]*voices{}
	for _, c := range pl.Cues {
		for _, l := range x.r.Score.LinesOf(c) {
			if parts[l.Part] == nil {
				parts[l.Part] = &voices{}
			}
			parts[l.Part].add(l, x.d.whereOf(c.Where))
		}
	}
	for _, part := range x.r.Score.Parts {
		what := parts[part]
		if what == nil {
			continue
		}
		if it, ok := x.item(cast{Piece: of.Piece, Part: part.Name}); ok {
			it.Detail = ptr(strings.Join(what.names, ", "))
			out = append(out, protocol.CallHierarchyOutgoingCall{To: it, FromRanges: what.cues})
		}
	}
	return out, nil
}

// voices are what somebody plays of a part, and the cues that do.
type voices struct {
	names []string
	cues  []protocol.Range
}

func (v *voices) add(l *score.Line, cue protocol.Range) {
	if !slices.Contains(v.names, l.Name) {
		v.names = append(v.names, l.Name)
	}
	if !slices.Contains(v.cues, cue) {
		v.cues = append(v.cues, cue)
	}
}

// A casting is a document in which it is asked who plays what.
type casting struct {
	d       *document
	r       *check.Result
	view    view
	symbols map[int32][]symbol // of its files
}

func (s *session) casting(d *document, r *check.Result) *casting {
	return &casting{d: d, r: r, view: view{s: s, r: r, id: d.uri, idx: d.idx, root: d.root}, symbols: map[int32][]symbol{}}
}

// recast is what a client hands back, and the piece as it is now.
func (s *session) recast(ctx context.Context, it *protocol.CallHierarchyItem) (*casting, cast, error) {
	var of cast
	if err := json.Unmarshal(it.Data, &of); err != nil || of.Piece == "" || (of.Player == "") == (of.Part == "") {
		return nil, of, refuse("%s is neither a player nor a part that was asked about before", it.Name)
	}
	d, r, err := s.checked(ctx, of.Piece)
	if err != nil {
		return nil, of, err
	}
	return s.casting(d, r), of, nil
}

// at is who or what is asked about at a place.
func (x *casting) at(p protocol.Position) cast {
	is := cast{Piece: x.d.uri}
	if y, ok := x.d.subjectAt(p, x.r.Score.Catalogue); ok {
		switch y.role {
		case rolePart:
			is.Part = y.name
			return is
		case rolePlayer:
			is.Player = y.name
			return is
		}
	}
	line, _ := x.d.at(p)
	owner := x.d.seats()[line].Owner
	if owner < 0 {
		return is
	}
	switch o := x.d.parsed().Lines[owner].Stmt.(type) {
	case *syntax.Player:
		is.Player = o.Name.Value()
	case *syntax.Part:
		is.Part = o.Name.Value()
		for _, part := range x.r.Score.Parts {
			for _, l := range part.Lines {
				if part.Name == is.Part && l.Where.File == 0 && int(l.Where.Line) == line {
					is.Voice = l.Name
				}
			}
		}
	}
	return is
}

// item is a player, a part or a voice as the protocol writes it, where it begins.
func (x *casting) item(is cast) (protocol.CallHierarchyItem, bool) {
	it := protocol.CallHierarchyItem{Name: is.Player, Kind: protocol.SymbolKindClass, Detail: ptr("player")}
	var where score.Where
	if is.Player != "" {
		pl := x.r.Score.Player(is.Player)
		if pl == nil {
			return it, false
		}
		where = pl.Where
	} else {
		i := slices.IndexFunc(x.r.Score.Parts, func(p *score.Part) bool { return p.Name == is.Part })
		if i < 0 {
			return it, false
		}
		part := x.r.Score.Parts[i]
		it.Name, it.Kind, it.Detail, where = part.Name, protocol.SymbolKindNamespace, ptr("part"), part.Where
		if is.Voice != "" {
			k := slices.IndexFunc(part.Lines, func(l *score.Line) bool { return l.Name == is.Voice })
			if k < 0 {
				return it, false
			}
			it.Name, it.Kind, it.Detail, where = is.Voice, protocol.SymbolKindField, ptr(part.Name), part.Lines[k].Where
		}
	}
	loc, ok := x.view.location(where)
	if !ok {
		return it, false
	}
	it.URI, it.SelectionRange, it.Range = loc.URI, loc.Range, x.whole(where, loc.Range)
	it.Data, _ = json.Marshal(is)
	return it, true
}

// whole is the block or the line that a name opens.
func (x *casting) whole(w score.Where, name protocol.Range) protocol.Range {
	list, ok := x.symbols[w.File]
	if !ok {
		if w.File == 0 {
			list = symbolsOf(x.r.File, x.view.idx)
		} else if idx := x.view.other[w.File]; idx != nil { // what is in another format has none
			list = symbolsOf(x.r.Score.Sources[w.File].File, idx)
		}
		x.symbols[w.File] = list
	}
	for i := range list {
		for _, y := range append(list[i:i+1:i+1], list[i].inner...) {
			if y.at == name {
				return y.whole
			}
		}
	}
	return name
}
