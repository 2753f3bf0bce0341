package lsp

import (
	"slices"
	"strings"
	"sync"

	"example.org/handful/lang/syntax"
)

// A role is what a piece of a line is there for: what the productions say about
// a leaf, or what bars and the words between leaves are.
type role = syntax.Role

const (
	roleWord       role = "word"       // of the notation
	roleLimb       role = "limb"       // R, LR, mouth
	rolePart       role = "part"       // its name
	rolePlayer     role = "player"     // its name
	roleInstrument role = "instrument" // its name, of the catalogue or of a kit
	roleKind       role = "kind"       // the instrument that a kit's name stands for
	roleImplement  role = "implement"  // its name
	roleThing      role = "thing"      // an implement or an instrument
	roleMount      role = "mount"      // held, on stand …
	roleWay        role = "way"        // in one hand, shaken …
	roleWayName    role = "way name"   // a way's own name, quoted
	roleStation    role = "station"    // a place to stand
	roleMark       role = "mark"       // a rehearsal mark
	rolePlace      role = "place"      // bars and counts
	roleCount      role = "count"      // counts of every bar
	roleNumber     role = "number"     // any other number
	roleDynamic    role = "dynamic"    // mf
	roleSign       role = "sign"       // bar lines, rests, similes
	roleStroke     role = "stroke"     // in a bar
	roleKey        role = "key"        // of a stroke: the bar or the drum that it is for
	roleText       role = "text"       // quoted
	roleFile       role = "file"       // the quoted path of a file
	roleRule       role = "rule"       // its name
	roleComment    role = "comment"

	// What the productions leave open, because the name or the block says it.
	roleDefined role = "defined" // an instrument or an implement of one's own
	roleItem    role = "item"    // the name that begins a line of a part or a kit
	roleTaste   role = "taste"   // an instrument or a whole family
	roleValue   role = "value"   // a number or a word
	roleSide    role = "side"    // right, ahead: the word for it
	roleMotion  role = "motion"  // how a limb makes strokes: the word for it
	roleGear    role = "hardware"
)

// A piece is a stretch of a line that means one thing.
type piece struct {
	syntax.Span
	role    role
	defines bool
	text    string // without its quotes
}

// piecesOf parts a line into what it is made of, in order.
func piecesOf(l *syntax.Line, seat syntax.Seat) []piece {
	var p pieces
	return p.of(l, seat)
}

// pieceAt is the piece that a byte is in or just behind.
func pieceAt(l *syntax.Line, seat syntax.Seat, col int) (piece, bool) {
	var best piece
	found := false
	for _, p := range piecesOf(l, seat) {
		if p.Start <= col && col <= p.End && (!found || col < p.End || p.Start == col && p.role != roleSign) {
			best, found = p, true
		}
	}
	return best, found
}

// pieces parts lines, one after the other.
type pieces struct {
	line   *syntax.Line
	seat   syntax.Seat
	list   []piece // what is being filled
	named  []piece // what the statement and the bars speak of
	filled []piece // all of them
}

// of is the pieces of a line, until it is asked for those of the next.
func (p *pieces) of(l *syntax.Line, seat syntax.Seat) []piece {
	p.line, p.seat, p.list = l, seat, p.named[:0]
	if l.Stmt != nil {
		syntax.Leaves(l.Stmt, p.leaf)
	}
	if l.Bars != nil {
		p.list = slices.Grow(p.list, l.Bars.Count())
		p.bars(l.Bars)
	}
	p.list, p.named = p.filled[:0], p.list
	inOrder := func(a, b piece) int { return a.Start - b.Start }
	if !slices.IsSortedFunc(p.named, inOrder) {
		slices.SortFunc(p.named, inOrder)
	}
	p.rest()
	p.filled = p.list
	return p.list
}

func (p *pieces) add(r role, s syntax.Span, text string) {
	if s.End > s.Start && s.End <= len(p.line.Text) {
		p.list = append(p.list, piece{Span: s, role: r, text: text})
	}
}

// leaf adds a leaf of the statement, as what it turns out to be.
func (p *pieces) leaf(l syntax.Leaf) {
	switch l.Role {
	case rolePlace:
		p.place(l.Span, l.Text)
		return
	case roleCount:
		l.Role = rolePlace
	case roleSide, roleMotion:
		l.Role = roleWord
	case roleGear:
		l.Role = roleThing
	case roleDefined:
		l.Role = role(p.line.Form.Word)
	case roleItem:
		l.Role, l.Defines = roleInstrument, p.seat.Block == syntax.InKit
	case roleTaste:
		l.Role = roleInstrument
		if slices.Contains(syntax.Families(), strings.TrimSuffix(l.Text, "s")) {
			l.Role = roleWord
		}
	case roleValue:
		l.Role = roleWord
		if digit(l.Text[0]) {
			l.Role = roleNumber
		}
	case roleWay:
		if p.line.Text[l.Start] == '"' {
			l.Role = roleWayName
		}
	}
	n := len(p.list)
	p.add(l.Role, l.Span, l.Text)
	if len(p.list) > n {
		p.list[n].defines = l.Defines
	}
}

// place parts A+4.3 and A-B into marks and numbers.
func (p *pieces) place(span syntax.Span, text string) {
	at := span.Start
	if raw := p.line.Text[at:min(span.End, len(p.line.Text))]; !strings.HasPrefix(raw, text) { // said in other words: A to B, bar 12 count 3
		from, to, ok := strings.Cut(text, "-")
		raw = strings.TrimRight(raw, ",")
		if !ok || !strings.HasPrefix(raw, from) || !strings.HasSuffix(raw, to) {
			p.add(rolePlace, span, text)
			return
		}
		p.onePlace(at, from)
		p.onePlace(at+len(raw)-len(to), to)
		return
	}
	for _, leg := range strings.SplitAfter(text, "-") {
		p.onePlace(at, strings.TrimSuffix(leg, "-"))
		at += len(leg)
	}
}

func (p *pieces) onePlace(at int, text string) {
	if text == "" {
		return
	}
	size := 0
	if !digit(text[0]) {
		size = len(text)
		if i := strings.IndexAny(text, ".+"); i >= 0 {
			size = i
		}
		p.add(roleMark, syntax.Span{Start: at, End: at + size}, text[:size])
	}
	p.add(rolePlace, syntax.Span{Start: at + size, End: at + len(text)}, text[size:])
}

// bars adds what stands between the bar lines.
func (p *pieces) bars(b *syntax.Bars) {
	for i := range b.Cells {
		c := &b.Cells[i]
		if c.Kind != syntax.StrokeCell {
			p.add(roleSign, c.Span(), p.line.Text[c.Span().Start:min(c.Span().End, len(p.line.Text))])
			continue
		}
		signs := c.Signs()
		for k := range signs {
			sign := &signs[k]
			r := roleStroke
			switch sign.Kind {
			case syntax.DynamicSign:
				r = roleDynamic
			case syntax.WordsSign:
				r = roleText
			}
			aims := c.Aims(k)
			if len(aims) == 0 {
				p.add(r, sign.Span(), c.Text(sign))
				continue
			}
			at := sign.Span().Start // what stands before, between and behind its notes
			for i := range aims {
				span := aims[i].Span()
				p.add(r, syntax.Span{Start: at, End: span.Start}, "")
				p.add(roleKey, span, aims[i].String())
				at = span.End
			}
			p.add(r, syntax.Span{Start: at, End: sign.Span().End}, "")
		}
	}
}

// rest adds what no statement speaks of: the notation's own words, bar lines
// and the comment.
func (p *pieces) rest() {
	l := p.line
	if l.Bars != nil {
		p.list = slices.Grow(p.list, len(p.named)+len(l.Bars.Cells)+8)
	}
	code := len(l.Code())
	at := 0
	for _, q := range p.named {
		p.gap(at, min(q.Start, code))
		p.list = append(p.list, q)
		at = max(at, q.End)
	}
	p.gap(at, code)
	if c := l.Comment(); c != "" {
		start := strings.Index(l.Text[code:], c) + code
		p.add(roleComment, syntax.Span{Start: start, End: start + len(c)}, c)
	}
}

// gap adds the words and bar lines of a stretch that has no piece yet.
func (p *pieces) gap(from, to int) {
	text := p.line.Text
	for i := from; i < to; {
		c := text[i]
		switch {
		case c == '|' || c == '=' || c == '~' || c == '%' || c == '-':
			p.add(roleSign, syntax.Span{Start: i, End: i + 1}, text[i:i+1])
			i++
		case c == '"':
			end := i + 1
			for end < to && text[end] != '"' {
				end++
			}
			end = min(end+1, to)
			p.add(roleText, syntax.Span{Start: i, End: end}, strings.Trim(text[i:end], `"`))
			i = end
		case letter(c):
			end := i
			for end < to && (letter(text[end]) || text[end] == '-' || digit(text[end])) {
				end++
			}
			if r, ok := wordRoles()[text[i:end]]; ok {
				p.add(r, syntax.Span{Start: i, End: end}, text[i:end])
			}
			i = end
		default:
			i++
		}
	}
}

func digit(c byte) bool  { return c >= '0' && c <= '9' }
func letter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= 0x80 }

// wordRoles has every word of the notation, and those for mounts.
var wordRoles = sync.OnceValue(func() map[string]role {
	roles := map[string]role{}
	for _, w := range syntax.Vocabulary() {
		roles[w] = roleWord
	}
	for _, m := range syntax.Mounts() {
		roles[strings.TrimPrefix(m, "on ")] = roleMount
	}
	return roles
})
