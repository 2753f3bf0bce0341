package lsp

import (
	"context"
	"maps"
	"slices"
	"strconv"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"
)

// tokenOf is the kind of semantic token of each role: kinds of the protocol's
// own, so that every theme has a colour for them.
var tokenOf = map[role]string{
	roleWord:       "keyword",
	roleLimb:       "parameter",
	rolePart:       "namespace",
	rolePlayer:     "class",
	roleInstrument: "variable",
	roleKind:       "variable",
	roleImplement:  "type",
	roleThing:      "type",
	roleMount:      "property",
	roleWay:        "keyword",
	roleWayName:    "string",
	roleStation:    "label",
	roleMark:       "label",
	rolePlace:      "number",
	roleNumber:     "number",
	roleDynamic:    "enumMember",
	roleSign:       "operator",
	roleStroke:     "number",
	roleKey:        "enumMember",
	roleText:       "string",
	roleFile:       "string",
	roleRule:       "function",
	roleComment:    "comment",
}

// tokenTypes is the legend: every kind of token once.
func tokenTypes() []string {
	return slices.Compact(slices.Sorted(maps.Values(tokenOf)))
}

// encodeTokens writes the tokens of some lines as the protocol wants them:
// five numbers each, places relative to the one before.
func (d *document) encodeTokens(from, to int) []uint32 {
	f := d.parsed()
	seats := d.seats()
	kinds := tokenTypes()
	numbers := map[role]uint32{}
	for r, k := range tokenOf {
		numbers[r] = uint32(slices.Index(kinds, k))
	}
	data := []uint32{}
	var parts pieces
	lastLine, lastStart := uint32(0), uint32(0)
	for i := max(0, from); i <= to && i < len(f.Lines); i++ {
		text := f.Lines[i].Text
		for _, p := range parts.of(f.Lines[i], seats[i]) {
			start := d.idx.position(f.Starts[i] + p.Start)
			deltaStart := start.Character
			if start.Line == lastLine {
				deltaStart -= lastStart
			}
			modifiers := uint32(0)
			if p.defines {
				modifiers = 1
			}
			data = append(data, start.Line-lastLine, deltaStart, uint32(d.idx.enc.units(text[p.Start:p.End])), numbers[p.role], modifiers)
			lastLine, lastStart = start.Line, start.Character
		}
	}
	return data
}

// lastTokens is what a client was sent last for a document.
type lastTokens struct {
	id   string
	data []uint32
}

func (s *session) keepTokens(id uri.URI, data []uint32) string {
	name := strconv.FormatInt(resultIDs.Add(1), 36)
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.world.Load().docs.get(id) != nil {
		s.tokens[id] = lastTokens{name, data}
	}
	return name
}

// SemanticTokensFull says what every piece of a document is.
func (s *session) SemanticTokensFull(ctx context.Context, p *protocol.SemanticTokensParams) (*protocol.SemanticTokens, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	data := d.encodeTokens(0, len(d.parsed().Lines))
	return &protocol.SemanticTokens{ResultID: ptr(s.keepTokens(d.key, data)), Data: data}, nil
}

// SemanticTokensRange does it for what the editor shows.
func (s *session) SemanticTokensRange(ctx context.Context, p *protocol.SemanticTokensRangeParams) (*protocol.SemanticTokens, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	return &protocol.SemanticTokens{Data: d.encodeTokens(int(p.Range.Start.Line), int(p.Range.End.Line))}, nil
}

// SemanticTokensFullDelta says what has changed since the last answer.
func (s *session) SemanticTokensFullDelta(ctx context.Context, p *protocol.SemanticTokensDeltaParams) (protocol.SemanticTokensDeltaResult, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	last := s.tokens[d.key]
	s.mu.Unlock()
	data := d.encodeTokens(0, len(d.parsed().Lines))
	id := s.keepTokens(d.key, data)
	if last.id == "" || last.id != p.PreviousResultID {
		return &protocol.SemanticTokens{ResultID: &id, Data: data}, nil
	}
	return &protocol.SemanticTokensDelta{ResultID: &id, Edits: tokenEdits(last.data, data)}, nil
}

// tokenEdits is the one stretch in which two lists of tokens differ.
func tokenEdits(was, is []uint32) []protocol.SemanticTokensEdit {
	head := 0
	for head < len(was) && head < len(is) && was[head] == is[head] {
		head++
	}
	tail := 0
	for tail < len(was)-head && tail < len(is)-head && was[len(was)-1-tail] == is[len(is)-1-tail] {
		tail++
	}
	if head == len(was) && head == len(is) {
		return []protocol.SemanticTokensEdit{}
	}
	return []protocol.SemanticTokensEdit{{
		Start: uint32(head), DeleteCount: uint32(len(was) - head - tail), Data: is[head : len(is)-tail],
	}}
}
