package lsp

import (
	"slices"
	"strings"
	"sync"

	"handful/lang/kit"
	"handful/lang/syntax"
)

// A role is what a piece of a line is there for.
type role uint8

const (
	roleWord       role = iota // a word of the notation
	roleLimb                   // R, LR, mouth
	rolePart                   // a part's name
	rolePlayer                 // a player's name
	roleInstrument             // an instrument's name, of the catalogue or of a kit
	roleKind                   // the instrument that a kit's name stands for
	roleImplement              // an implement's name
	roleThing                  // an implement or an instrument
	roleMount                  // held, on stand …
	roleWay                    // in one hand, shaken …
	roleWayName                // a way's own name, quoted
	roleStation                // a place to stand
	roleMark                   // a rehearsal mark
	rolePlace                  // bars and counts
	roleNumber                 // any other number
	roleDynamic                // mf
	roleSign                   // bar lines, rests, similes
	roleStroke                 // a stroke in a bar
	roleText                   // quoted text
	roleFile                   // the quoted path of a file
	roleRule                   // a rule's name
	roleComment
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
	p := pieces{line: l, seat: seat}
	if l.Stmt != nil {
		p.statement(l.Stmt)
	}
	p.rest()
	slices.SortFunc(p.list, func(a, b piece) int { return a.Start - b.Start })
	return p.list
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

type pieces struct {
	line *syntax.Line
	seat syntax.Seat
	list []piece
}

func (p *pieces) add(r role, s syntax.Span, text string) {
	if s.End > s.Start && s.End <= len(p.line.Text) {
		p.list = append(p.list, piece{Span: s, role: r, text: text})
	}
}

func (p *pieces) define(r role, s syntax.Span, text string) {
	n := len(p.list)
	p.add(r, s, text)
	if len(p.list) > n {
		p.list[n].defines = true
	}
}

func (p *pieces) name(r role, n syntax.Name) { p.add(r, n.Span(), n.Text) }
func (p *pieces) number(n *syntax.Num) {
	if n != nil {
		p.add(roleNumber, n.Span(), n.Text)
	}
}

func (p *pieces) text(r role, s *syntax.Str) {
	if s != nil {
		p.add(r, s.Span(), s.Value())
	}
}

// place parts A+4.3 and A-B into marks and numbers.
func (p *pieces) place(a *syntax.Atom) {
	if a == nil {
		return
	}
	at := a.Span().Start
	if raw := p.line.Text[at:min(a.Span().End, len(p.line.Text))]; !strings.HasPrefix(raw, a.Text) { // said in other words: A to B, bar 12 count 3
		from, to, ok := strings.Cut(a.Text, "-")
		raw = strings.TrimRight(raw, ",")
		if !ok || !strings.HasPrefix(raw, from) || !strings.HasSuffix(raw, to) {
			p.add(rolePlace, a.Span(), a.Text)
			return
		}
		p.onePlace(at, from)
		p.onePlace(at+len(raw)-len(to), to)
		return
	}
	for _, leg := range strings.SplitAfter(a.Text, "-") {
		p.onePlace(at, strings.TrimSuffix(leg, "-"))
		at += len(leg)
	}
}

func (p *pieces) places(list []syntax.Atom) {
	for i := range list {
		p.place(&list[i])
	}
}

func (p *pieces) onePlace(at int, text string) {
	if text == "" {
		return
	}
	size := 0
	if c := text[0]; c < '0' || c > '9' {
		size = len(text)
		if i := strings.IndexAny(text, ".+"); i >= 0 {
			size = i
		}
		p.add(roleMark, syntax.Span{Start: at, End: at + size}, text[:size])
	}
	p.add(rolePlace, syntax.Span{Start: at + size, End: at + len(text)}, text[size:])
}

func (p *pieces) thing(t *syntax.Thing, r role) {
	if t != nil {
		p.number(t.Count)
		p.name(r, t.Name)
	}
}

func (p *pieces) things(list []syntax.Thing, r role) {
	for i := range list {
		p.thing(&list[i], r)
	}
}

func (p *pieces) moved(m *syntax.Moved, r role) {
	if m != nil {
		p.thing(&m.Thing, r)
		p.things(m.And, r)
		p.place(m.At)
	}
}

func (p *pieces) spot(s *syntax.Spot) {
	if s == nil {
		return
	}
	if s.Station != nil {
		p.name(roleStation, *s.Station)
	}
	for i := range s.Steps {
		p.number(&s.Steps[i].By)
	}
}

func (p *pieces) statement(stmt syntax.Stmt) {
	switch s := stmt.(type) {
	case *syntax.Printed:
		p.text(roleText, &s.Text)
	case *syntax.Remark:
		p.text(roleText, &s.Text)
		p.place(s.At)
	case *syntax.Meter:
		p.number(&s.Value)
		p.number(s.In)
		p.place(s.From)
	case *syntax.Tempo:
		p.number(&s.First)
		p.number(s.Value)
		p.number(s.To)
		p.place(s.Over)
		p.place(s.From)
	case *syntax.Pause:
		p.place(&s.Place)
	case *syntax.Length:
		p.number(&s.Value)
	case *syntax.Mark:
		p.define(roleMark, s.Name.Span(), s.Name.Text)
		p.place(&s.Place)
	case *syntax.Repeat:
		p.place(&s.Range)
		if s.Times != nil {
			p.add(roleNumber, s.Times.Span(), s.Times.Text)
		}
	case *syntax.Ending:
		p.number(&s.Numbers)
		p.place(&s.Range)
	case *syntax.Vamp:
		p.place(&s.Range)
	case *syntax.Order:
		for i := range s.Legs {
			p.place(&s.Legs[i])
		}
	case *syntax.Use:
		p.text(roleFile, &s.Path)
	case *syntax.Omit:
		p.name(roleInstrument, s.What)
		p.places(s.In)
		p.text(rolePart, s.Of)
		p.text(roleText, s.Reason)
	case *syntax.Accept:
		p.name(roleRule, s.Rule)
		p.place(s.At)
		p.place(s.In)
		if s.Player != nil {
			p.add(rolePlayer, s.Player.Span(), s.Player.Value())
		}
		p.text(roleText, s.Reason)
	case *syntax.Part:
		p.define(rolePart, s.Name.Span(), s.Name.Value())
		p.text(roleFile, s.In)
	case *syntax.Player:
		p.define(rolePlayer, s.Name.Span(), s.Name.Value())
	case *syntax.Define:
		r := roleInstrument
		if s.Word.Text == "implement" {
			r = roleImplement
		}
		p.define(r, s.Name.Span(), s.Name.Text)
	case *syntax.From:
		p.place(&s.Place)
		p.number(s.Pass)
	case *syntax.Profile:
		for i := range s.Settings {
			p.number(&s.Settings[i].Value)
		}
	case *syntax.Setting:
		p.number(&s.Value)
	case *syntax.Amounts:
		for i := range s.List {
			a := &s.List[i]
			p.number(&a.Count)
			for _, n := range a.Name.Names() {
				p.name(roleThing, n)
			}
			p.text(roleText, a.Whose)
		}
	case *syntax.Hands:
		p.name(roleLimb, s.Which)
	case *syntax.Leads:
		p.name(roleWord, s.Hand)
	case *syntax.Ability:
		p.name(roleWord, s.Can)
	case *syntax.Likes:
		p.tastes(s.What)
	case *syntax.Stand:
		if s.Name != nil {
			p.define(roleStation, s.Name.Span(), s.Name.Text)
		}
		p.spot(s.Spot)
	case *syntax.Item:
		if p.seat.Block == syntax.InKit {
			p.define(roleInstrument, s.Name.Span(), s.Name.Text)
		} else {
			p.name(roleInstrument, s.Name)
		}
		if s.Is != nil {
			p.name(roleKind, *s.Is)
		}
		p.spot(s.Spot)
	case *syntax.LimbLine:
		p.limbLine(s)
	case *syntax.Texts:
		for i := range s.Text {
			p.text(roleText, &s.Text[i])
		}
	case *syntax.Words:
		for _, a := range s.Text {
			if a.Text != "" && a.Text[0] >= '0' && a.Text[0] <= '9' {
				p.add(roleNumber, a.Span(), a.Text)
			} else {
				p.add(roleWord, a.Span(), a.Text)
			}
		}
	case *syntax.Speaks:
		p.number(&s.Late)
		p.text(roleText, s.Why)
	case *syntax.Never:
		for _, n := range s.With {
			p.name(roleImplement, n)
		}
		p.tastes(s.What)
		p.text(roleText, s.Reason)
	case *syntax.StandsFor:
		p.name(roleInstrument, s.For)
		p.text(roleText, s.Costs)
	case *syntax.ButtEnd:
		p.name(roleImplement, s.As)
		p.text(roleText, s.Costs)
	case *syntax.Way:
		p.number(s.Hands)
		p.number(s.MouthToo)
		p.number(s.AndFeet)
		p.things(s.With, roleImplement)
		for _, c := range s.Clauses {
			p.number(c.UpTo)
			p.number(c.Apart)
			p.number(c.Least)
			p.text(roleText, c.Costs)
			p.text(roleText, c.Named)
		}
	}
}

// tastes are instruments, or families of them.
func (p *pieces) tastes(list []syntax.Listed) {
	for _, n := range syntax.NamesOf(list) {
		if slices.Contains(kit.Families(), strings.TrimSuffix(n.Text, "s")) {
			p.name(roleWord, n)
		} else {
			p.name(roleInstrument, n)
		}
	}
}

func (p *pieces) limbLine(s *syntax.LimbLine) {
	p.name(roleLimb, s.Limb)
	p.thing(s.Holds, roleThing)
	p.things(s.And, roleThing)
	p.moved(s.Takes, roleThing)
	p.moved(s.Lays, roleThing)
	p.moved(s.Damps, roleInstrument)
	p.place(s.Turns)
	if c := s.Cue; c != nil {
		p.name(roleInstrument, c.Name)
		for i := range c.Asked {
			a := &c.Asked[i]
			if a.Text[0] == '"' {
				p.add(roleWayName, a.Span(), syntax.Str(*a).Value())
			} else {
				p.add(roleWay, a.Span(), a.Text)
			}
		}
		p.thing(c.With, roleImplement)
		p.things(c.And, roleImplement)
		if c.For != nil {
			p.name(roleInstrument, *c.For)
		}
		if a := c.AsWritten; a != nil {
			for i := range a.On {
				p.add(rolePlace, a.On[i].Span(), a.On[i].Text)
			}
			p.places(a.In)
			p.text(rolePart, a.Of)
		}
	}
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
			p.add(r, sign.Span(), c.Text(sign))
		}
	}
}

// rest adds what no statement speaks of: the notation's own words, bar lines
// and the comment.
func (p *pieces) rest() {
	l := p.line
	if l.Bars != nil {
		p.bars(l.Bars)
	}
	slices.SortFunc(p.list, func(a, b piece) int { return a.Start - b.Start })
	code := len(l.Code())
	if c := l.Comment(); c != "" {
		start := strings.Index(l.Text[code:], c) + code
		p.add(roleComment, syntax.Span{Start: start, End: start + len(c)}, c)
	}
	named := p.list
	at := 0
	for _, q := range named {
		if q.role == roleComment {
			continue
		}
		p.gap(at, min(q.Start, code))
		at = max(at, q.End)
	}
	p.gap(at, code)
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
			for end < to && (letter(text[end]) || text[end] == '-' || text[end] >= '0' && text[end] <= '9') {
				end++
			}
			word := text[i:end]
			switch {
			case isMount(word):
				p.add(roleMount, syntax.Span{Start: i, End: end}, word)
			case notation()[word]:
				p.add(roleWord, syntax.Span{Start: i, End: end}, word)
			}
			i = end
		default:
			i++
		}
	}
}

func letter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= 0x80 }

func isMount(word string) bool {
	switch word {
	case "held", "stand", "padded", "clipped", "clamped", "hung", "floor", "body":
		return true
	}
	return false
}

// notation is every word of the notation.
var notation = sync.OnceValue(func() map[string]bool {
	set := map[string]bool{}
	for _, f := range syntax.Forms() {
		set[f.Word] = true
	}
	for _, w := range strings.Fields("in from to over at on pass of because for with is as written holds takes lays damps turns page " +
		"right left ahead behind up down facing student experienced professional hand hands foot feet or by late forearm knee " +
		"yes no one-handed four mallets both none " +
		"and butt end rolls shaken keeps light seated strokes apart softest loudest needs costs x") {
		set[w] = true
	}
	return set
})
