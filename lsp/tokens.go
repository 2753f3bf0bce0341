package lsp

import (
	"bytes"
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
	f := d.parsed()
	from, to = max(0, min(from, len(f.Lines))), max(0, min(to+1, len(f.Lines)))
	w := tokenWriter{enc: d.idx.enc, known: map[tokenLine]lineTokens{}}
	return d.placed(from, w.all(colouredLines{lines: f.Lines[from:max(from, to)], seats: d.seats()[from:max(from, to)]}))
}

// encodeTokensAfter writes those of all lines, takes over the tokens of lines that are
// known from earlier, and says which are known now.
func (d *document) encodeTokensAfter(earlier colouredLines) ([]uint32, colouredLines) {
	now := colouredLines{lines: d.parsed().Lines, seats: d.seats()}
	now.lists = d.tokensOf(now, earlier)
	return d.placed(0, now.lists), now
}

// lineTokens are those of a line as they are sent: five numbers each. The first is
// at a column, each other one so far behind the one before.
type lineTokens []uint32

// colouredLines are lines and the tokens of each.
type colouredLines struct {
	lines []*syntax.Line
	seats []syntax.Seat
	lists []lineTokens
}

func (c colouredLines) part(from, to int) colouredLines {
	part := colouredLines{lines: c.lines[from:to], seats: c.seats[from:to]}
	if c.lists != nil {
		part.lists = c.lists[from:to]
	}
	return part
}

// at is what the tokens of a line depend on. Lines that are the same are one, and
// one that an edit left alone is still the one it was.
func (c colouredLines) at(i int) tokenLine { return tokenLine{c.lines[i], c.seats[i].Block} }

type tokenLine struct {
	line  *syntax.Line
	block syntax.Block
}

// tokensOf finds the tokens of all lines anew only between those at the beginning
// and the end that are as they were.
func (d *document) tokensOf(now, was colouredLines) []lineTokens {
	n, m := len(now.lines), len(was.lines)
	head, tail := 0, 0
	for head < min(n, m) && now.at(head) == was.at(head) {
		head++
	}
	for tail < min(n, m)-head && now.at(n-1-tail) == was.at(m-1-tail) {
		tail++
	}
	w := tokenWriter{enc: d.idx.enc, known: map[tokenLine]lineTokens{}}
	between := was.part(head, m-tail)
	for i, list := range between.lists {
		w.known[between.at(i)] = list
	}
	return slices.Concat(was.lists[:head], w.all(now.part(head, n-tail)), was.lists[m-tail:])
}

// placed are the tokens of lines one behind the other.
func (d *document) placed(from int, lists []lineTokens) []uint32 {
	f, n := d.parsed(), 0
	for _, list := range lists {
		n += len(list)
	}
	p := tokenPlacer{idx: d.idx, data: make([]uint32, 0, n)}
	for k, list := range lists {
		if len(list) > 0 {
			p.put(f.Starts[from+k], f.Lines[from+k].Text, list)
		}
	}
	return p.data
}

// A tokenPlacer puts the tokens of one line behind those of another.
type tokenPlacer struct {
	idx  *index
	data []uint32
	line int               // the client's, where it has come to
	last protocol.Position // of the token before
}

func (p *tokenPlacer) put(begins int, text string, list lineTokens) {
	starts := p.idx.starts
	for p.line+1 < len(starts) && starts[p.line+1] <= begins {
		p.line++
	}
	line := uint32(p.line)
	if starts[p.line] < begins || begins+len(text) > p.idx.end(p.line) {
		p.apart(begins, text, list)
		return
	}
	first := len(p.data)
	p.data = append(p.data, list...)
	p.data[first] = line - p.last.Line
	p.last = protocol.Position{Line: line}
	for i := 1; i < len(list); i += 5 {
		p.last.Character += list[i]
	}
}

// apart puts the tokens of what to the client is no line of its own.
func (p *tokenPlacer) apart(begins int, text string, list lineTokens) {
	column := uint32(0)
	for ; len(list) > 0; list = list[5:] {
		column += list[1]
		at := p.idx.position(begins + p.idx.enc.bytes(text, int(column)))
		delta := at.Character
		if at.Line == p.last.Line {
			delta -= p.last.Character
		}
		p.data = append(p.data, at.Line-p.last.Line, delta, list[2], list[3], list[4])
		p.last = at
	}
}

// A tokenWriter finds the tokens of lines.
type tokenWriter struct {
	enc   encoding
	parts pieces
	known map[tokenLine]lineTokens
}

func (w *tokenWriter) all(c colouredLines) []lineTokens {
	lists := make([]lineTokens, len(c.lines))
	for i, l := range c.lines {
		if l.Text == "" {
			continue
		}
		list, ok := w.known[c.at(i)]
		if !ok {
			list = w.fresh(l, c.seats[i])
			w.known[c.at(i)] = list
		}
		lists[i] = list
	}
	return lists
}

// fresh works the tokens of a line out. Columns are counted on from one to the
// next: a line may be long.
func (w *tokenWriter) fresh(l *syntax.Line, seat syntax.Seat) lineTokens {
	found := w.parts.of(l, seat)
	list := make(lineTokens, 0, 5*len(found))
	at, column, last := 0, uint32(0), uint32(0)
	for _, p := range found {
		if p.Start < at { // they come in their order
			at, column = 0, 0
		}
		column += uint32(w.enc.units(l.Text[at:p.Start]))
		at = p.Start
		modifiers := uint32(0)
		if p.defines {
			modifiers = 1
		}
		if p.role == roleLimb {
			modifiers |= sideOf(l.Text[p.Start:p.End])
		}
		list = append(list, 0, column-last, uint32(w.enc.units(l.Text[p.Start:p.End])), tokenNumbers()[p.role], modifiers)
		last = column
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
	lines colouredLines
}

// allTokens are those of a whole document, kept for the next time.
func (s *session) allTokens(d *document) (data []uint32, id string, last lastTokens) {
	s.mu.Lock()
	last = s.tokens[d.key]
	s.mu.Unlock()
	data, lines := d.encodeTokensAfter(last.lines)
	return data, s.keepTokens(d.key, data, lines), last
}

func (s *session) keepTokens(id uri.URI, data []uint32, lines colouredLines) string {
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

// tokensJSON is an answer with the tokens of a document as it is sent. A long one
// has half a million numbers, nearly all of them below ten, which need no more than
// their digit: what suits all numbers takes four times as long.
func tokensJSON(id string, data []uint32) []byte {
	const widest = len("4294967295,")
	out := append(make([]byte, 0, 64+len(id)+5*len(data)/2), `{"resultId":`...)
	out = strconv.AppendQuote(out, id) // letters and digits, by keepTokens
	out = append(out, `,"data":[`...)
	for len(data) > 0 {
		out = slices.Grow(out, 2*len(data)+widest)
		room := out[len(out):cap(out)]
		n, k := 0, 0
		for ; k < len(data) && n+widest <= len(room); k++ {
			if data[k] < 10 {
				room[n], room[n+1] = byte('0'+data[k]), ','
				n += 2
				continue
			}
			n = len(append(strconv.AppendUint(room[:n], uint64(data[k]), 10), ','))
		}
		out, data = out[:len(out)+n], data[k:]
	}
	return append(bytes.TrimSuffix(out, []byte{','}), "]}"...)
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
