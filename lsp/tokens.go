package lsp

import (
	"context"
	"maps"
	"slices"
	"strconv"
	"sync"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/lang/body"
	"example.org/handful/lang/syntax"
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
	data, _ := d.encodeTokensAfter(from, to, nil)
	return data
}

// tokenLine is a line by what its tokens depend on. Lines that are the same are
// one, and one that an edit left alone is still the one it was.
type tokenLine struct {
	line  *syntax.Line
	block syntax.Block
}

// A token is a piece of a line: where it begins and how wide it is, in the client's
// columns, and what it is.
type lineToken struct{ start, width, number, modifiers uint32 }

// encodeTokensAfter takes over the tokens of lines that are known from earlier,
// and says which are known now.
func (d *document) encodeTokensAfter(from, to int, earlier map[tokenLine][]lineToken) ([]uint32, map[tokenLine][]lineToken) {
	f := d.parsed()
	seats := d.seats()
	from, to = max(0, from), min(to+1, len(f.Lines))
	lines := tokenWriter{enc: d.idx.enc, earlier: earlier, known: make(map[tokenLine][]lineToken, min(max(0, to-from), 1024))}
	lists := make([][]lineToken, 0, max(0, to-from))
	n := 0
	for i := from; i < to; i++ {
		lists = append(lists, lines.of(f.Lines[i], seats[i]))
		n += len(lists[len(lists)-1])
	}
	data := make([]uint32, 0, 5*n)
	lastLine, lastStart := uint32(0), uint32(0)
	for k, list := range lists {
		if len(list) == 0 {
			continue
		}
		begins := f.Starts[from+k]
		start := d.idx.position(begins)
		whole := begins+len(f.Lines[from+k].Text) <= d.idx.end(int(start.Line)) // to the client it is one line, too
		for _, t := range list {
			at := protocol.Position{Line: start.Line, Character: start.Character + t.start}
			if !whole {
				at = d.idx.position(begins + d.idx.enc.bytes(f.Lines[from+k].Text, int(t.start)))
			}
			deltaStart := at.Character
			if at.Line == lastLine {
				deltaStart -= lastStart
			}
			data = append(data, at.Line-lastLine, deltaStart, t.width, t.number, t.modifiers)
			lastLine, lastStart = at.Line, at.Character
		}
	}
	return data, lines.known
}

// A tokenWriter finds the tokens of lines.
type tokenWriter struct {
	enc            encoding
	parts          pieces
	earlier, known map[tokenLine][]lineToken
}

func (w *tokenWriter) of(l *syntax.Line, seat syntax.Seat) []lineToken {
	if l.Text == "" {
		return nil
	}
	key := tokenLine{l, seat.Block}
	list, ok := w.known[key]
	if ok {
		return list
	}
	if list, ok = w.earlier[key]; !ok {
		list = w.fresh(l, seat)
	}
	w.known[key] = list
	return list
}

// fresh works the tokens of a line out. Columns are counted on from one to the
// next: a line may be long.
func (w *tokenWriter) fresh(l *syntax.Line, seat syntax.Seat) []lineToken {
	found := w.parts.of(l, seat)
	list := make([]lineToken, 0, len(found))
	at, column := 0, uint32(0)
	for _, p := range found {
		if p.Start < at { // they come in their order
			at, column = 0, 0
		}
		column += uint32(w.enc.units(l.Text[at:p.Start]))
		at = p.Start
		t := lineToken{start: column, width: uint32(w.enc.units(l.Text[p.Start:p.End])), number: tokenNumbers()[p.role]}
		if p.defines {
			t.modifiers = 1
		}
		if p.role == roleLimb {
			t.modifiers |= sideOf(l.Text[p.Start:p.End])
		}
		list = append(list, t)
	}
	return list
}

// tokenModifiers are the bits of what more is said of a token. Which side a limb
// is on is for editors that show the two apart.
func tokenModifiers() []string { return []string{"definition", "right", "left"} }

// sideOf is the modifier of a limb's word: none where it is both or neither.
func sideOf(word string) uint32 {
	switch limb, ok := body.LimbNamed(word); {
	case ok && (limb.OnTheRight()):
		return 2
	case ok && (limb.OnTheLeft()):
		return 4
	}
	return 0
}

// tokenNumbers is the place of each role's kind in the legend.
var tokenNumbers = sync.OnceValue(func() map[role]uint32 {
	kinds := tokenTypes()
	numbers := make(map[role]uint32, len(tokenOf))
	for r, k := range tokenOf {
		numbers[r] = uint32(slices.Index(kinds, k))
	}
	return numbers
})

// lastTokens is what a client was sent last for a document.
type lastTokens struct {
	id    string
	data  []uint32
	lines map[tokenLine][]lineToken
}

// allTokens are those of a whole document, kept for the next time.
func (s *session) allTokens(d *document) (data []uint32, id string, last lastTokens) {
	s.mu.Lock()
	last = s.tokens[d.key]
	s.mu.Unlock()
	data, lines := d.encodeTokensAfter(0, len(d.parsed().Lines), last.lines)
	return data, s.keepTokens(d.key, data, lines), last
}

func (s *session) keepTokens(id uri.URI, data []uint32, lines map[tokenLine][]lineToken) string {
	name := strconv.FormatInt(resultIDs.Add(1), 36)
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.world.Load().docs.get(id) != nil {
		s.tokens[id] = lastTokens{name, data, lines}
	}
	return name
}

// SemanticTokensFull says what every piece of a document is.
func (s *session) SemanticTokensFull(ctx context.Context, p *protocol.SemanticTokensParams) (*protocol.SemanticTokens, error) {
	d, err := s.find(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	data, id, _ := s.allTokens(d)
	return &protocol.SemanticTokens{ResultID: &id, Data: data}, nil
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
	data, id, last := s.allTokens(d)
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
