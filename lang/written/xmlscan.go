package written

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// maxText is about how much of one element's text is kept.
const maxText = 1 << 16

// What bytes may be in a document (XML 1.0, fifth edition, productions 2 to 5).
const (
	inName    = 1 << iota // may stand in a name
	firstName             // may begin one
	space                 // stands between attributes
	unplain               // in text it may mean more than itself, or nothing at all
)

// kinds is which of these a byte is. Letters beyond ASCII are all taken as parts
// of names: MusicXML has none.
var kinds = func() (table [256]byte) {
	for c := range table {
		letter := 'a' <= c|0x20 && c|0x20 <= 'z' || c == '_' || c == ':' || c >= utf8.RuneSelf
		if letter {
			table[c] |= inName | firstName
		}
		if '0' <= c && c <= '9' || c == '-' || c == '.' {
			table[c] |= inName
		}
		switch c {
		case ' ', '\t', '\n':
			table[c] |= space
		case '\r':
			table[c] |= space | unplain
		case '&', ']', 0xef: // 0xef begins U+FFFE and U+FFFF
			table[c] |= unplain
		default:
			if c < ' ' {
				table[c] |= unplain
			}
		}
	}
	return table
}()

// line is where the reader stands, from 1.
func (p *puller) line() int {
	p.lines += strings.Count(p.doc[p.counted:p.at], "\n")
	p.counted = p.at
	return p.lines + 1
}

// wrong is an error where the reader stands.
func (p *puller) wrong(format string, args ...any) error {
	return fmt.Errorf("line %d: %s", p.line(), fmt.Sprintf(format, args...))
}

// short is the end of a document that is not at its end.
func (p *puller) short() error {
	p.at = len(p.doc)
	return p.wrong("it ends in the middle")
}

// next reads up to the next tag and over it: the text before it, and either the
// element that it begins or that one ends.
func (p *puller) next() (said string, e element, begins bool, err error) {
	if p.closes {
		p.closes = false
		p.open = p.open[:len(p.open)-1]
		return "", element{}, false, nil
	}
	for {
		i := strings.IndexByte(p.doc[p.at:], '<')
		if i < 0 {
			return "", element{}, false, p.short()
		}
		if i > 0 {
			piece, err := p.plain(p.doc[p.at:p.at+i], true)
			if err != nil {
				return "", element{}, false, err
			}
			said = added(said, piece)
			p.at += i
		}
		if p.at+1 == len(p.doc) {
			return "", element{}, false, p.short()
		}
		switch p.doc[p.at+1] {
		case '/':
			return said, element{}, false, p.end()
		case '?':
			if err = p.over("<?", "?>"); err != nil {
				return "", element{}, false, err
			}
		case '!':
			piece, err := p.declared()
			if err != nil {
				return "", element{}, false, err
			}
			said = added(said, piece)
		default:
			e, err := p.begin()
			return said, e, true, err
		}
	}
}

// added is a text with more of it behind, as far as it is kept.
func added(said, piece string) string {
	if len(said) < maxText {
		return said + piece
	}
	return said
}

// over passes over what begins with one mark and ends with another.
func (p *puller) over(from, to string) error {
	i := strings.Index(p.doc[p.at+len(from):], to)
	if i < 0 {
		return p.short()
	}
	p.at += len(from) + i + len(to)
	return nil
}

// declared passes over what begins with an exclamation mark: a comment, or the
// type of the document. What stands for text as it is, is text.
func (p *puller) declared() (said string, err error) {
	const as = "<![CDATA["
	rest := p.doc[p.at:]
	switch {
	case strings.HasPrefix(rest, "<!--"):
		return "", p.over("<!--", "-->")
	case strings.HasPrefix(rest, as):
		from := p.at + len(as)
		if err := p.over(as, "]]>"); err != nil {
			return "", err
		}
		return p.allowed(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(p.doc[from : p.at-len("]]>")]))
	}
	return "", p.doctype()
}

// doctype passes over the type of the document, with all that is declared in it.
func (p *puller) doctype() error {
	depth := 0
	for i := p.at; i < len(p.doc); i++ {
		switch c := p.doc[i]; c {
		case '"', '\'':
			n := strings.IndexByte(p.doc[i+1:], c)
			if n < 0 {
				return p.short()
			}
			i += 1 + n
		case '<':
			if strings.HasPrefix(p.doc[i:], "<!--") {
				n := strings.Index(p.doc[i+4:], "-->")
				if n < 0 {
					return p.short()
				}
				i += 4 + n + 2
				continue
			}
			depth++
		case '>':
			if depth--; depth == 0 {
				p.at = i + 1
				return nil
			}
		}
	}
	return p.short()
}

// name reads a name from a place on, and gives where it ends; "" is none.
func (p *puller) name(from int) (name string, end int) {
	if from >= len(p.doc) || kinds[p.doc[from]]&firstName == 0 {
		return "", from
	}
	for end = from + 1; end < len(p.doc) && kinds[p.doc[end]]&inName != 0; end++ {
	}
	return p.doc[from:end], end
}

func (p *puller) blanks(i int) int {
	for i < len(p.doc) && kinds[p.doc[i]]&space != 0 {
		i++
	}
	return i
}

// end reads the end of an element.
func (p *puller) end() error {
	name, i := p.name(p.at + 2)
	i = p.blanks(i)
	switch {
	case i >= len(p.doc):
		return p.short()
	case name == "" || p.doc[i] != '>':
		return p.wrong("the end of an element that is none: %.20q", p.doc[p.at:min(p.at+20, len(p.doc))])
	case len(p.open) == 0:
		return p.wrong("</%s> ends what has not begun", name)
	case p.open[len(p.open)-1] != name:
		return p.wrong("<%s> is ended by </%s>", p.open[len(p.open)-1], name)
	}
	p.open = p.open[:len(p.open)-1]
	p.at = i + 1
	return nil
}

// begin reads the beginning of an element.
func (p *puller) begin() (element, error) {
	name, i := p.name(p.at + 1)
	if name == "" {
		return element{}, p.wrong("a < that begins no element")
	}
	from := i
	for {
		i = p.blanks(i)
		if i >= len(p.doc) {
			return element{}, p.short()
		}
		c := p.doc[i]
		if c == '>' || c == '/' {
			e := element{name: name, attrs: p.doc[from:i]}
			if _, local, ok := strings.Cut(name, ":"); ok {
				e.name = local
			}
			if p.closes = c == '/'; p.closes {
				if i++; i >= len(p.doc) {
					return element{}, p.short()
				}
				if p.doc[i] != '>' {
					return element{}, p.wrong("a / in <%s> that does not end it", name)
				}
			}
			p.at = i + 1
			if p.open = append(p.open, name); len(p.open) > maxNesting {
				return element{}, p.wrong("elements stand more than %d deep in one another", maxNesting)
			}
			return e, nil
		}
		var err error
		if i, err = p.attribute(i, name); err != nil {
			return element{}, err
		}
	}
}

// attribute passes over an attribute, and gives where it ends.
func (p *puller) attribute(i int, of string) (int, error) {
	key, i := p.name(i)
	if key == "" {
		return i, p.wrong("something in <%s> that is no attribute", of)
	}
	i = p.blanks(i)
	if i >= len(p.doc) {
		return i, p.short()
	}
	if p.doc[i] != '=' {
		return i, p.wrong("the attribute %s of <%s> has no value", key, of)
	}
	i = p.blanks(i + 1)
	if i >= len(p.doc) {
		return i, p.short()
	}
	quote := p.doc[i]
	if quote != '"' && quote != '\'' {
		return i, p.wrong("the attribute %s of <%s> has a value without quotation marks", key, of)
	}
	n := strings.IndexByte(p.doc[i+1:], quote)
	if n < 0 {
		return i, p.short()
	}
	value := p.doc[i+1 : i+1+n]
	if strings.IndexByte(value, '<') >= 0 {
		return i, p.wrong("the attribute %s of <%s> does not end, or has a < in it", key, of)
	}
	if _, err := p.plain(value, false); err != nil {
		return i, err
	}
	return i + 1 + n + 1, nil
}

// plain is what a piece of text between elements, or of an attribute, means, its
// entities read.
func (p *puller) plain(piece string, between bool) (string, error) {
	i := 0
	for i < len(piece) && kinds[piece[i]]&unplain == 0 {
		i++
	}
	if i == len(piece) {
		return piece, nil
	}
	if between && strings.Contains(piece, "]]>") {
		return "", p.wrong("]]> where nothing of that kind has begun")
	}
	if strings.IndexByte(piece, '\r') >= 0 {
		piece = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(piece)
	}
	if strings.IndexByte(piece, '&') < 0 {
		return p.allowed(piece)
	}
	var out strings.Builder
	for {
		before, rest, ok := strings.Cut(piece, "&")
		out.WriteString(before)
		if !ok {
			return p.allowed(out.String())
		}
		name, after, ok := strings.Cut(rest, ";")
		char := meant(name)
		if !ok || char < 0 {
			return "", p.wrong("&%.20s; is no character that XML itself has; a & by itself is written &amp;", name)
		}
		out.WriteRune(char)
		piece = after
	}
}

// meant is the character that an entity is, or -1 of what is none in XML itself.
func meant(entity string) rune {
	switch entity {
	case "lt":
		return '<'
	case "gt":
		return '>'
	case "amp":
		return '&'
	case "apos":
		return '\''
	case "quot":
		return '"'
	}
	number, ok := strings.CutPrefix(entity, "#")
	base := 10
	if hex, is := strings.CutPrefix(number, "x"); is {
		number, base = hex, 16
	}
	n, err := strconv.ParseUint(number, base, 32)
	if !ok || err != nil || n > utf8.MaxRune || !utf8.ValidRune(rune(n)) {
		return -1
	}
	return rune(n)
}

// allowed is the text itself, if all characters are ones that XML has.
func (p *puller) allowed(text string) (string, error) {
	for _, c := range text {
		if c < ' ' && c != '\t' && c != '\n' && c != '\r' || c == 0xfffe || c == 0xffff {
			return "", p.wrong("a character that no document can have: %U", c)
		}
	}
	return text, nil
}

// attr is an attribute's value, or "".
func attr(e element, name string) (value string) {
	if len(e.attrs) > len(name) { // most elements have none
		e.each(func(key, v string) {
			if key == name && value == "" {
				value = v
			}
		})
	}
	return value
}

// each hands on an element's attributes in order.
func (e element) each(f func(key, value string)) {
	rest := e.attrs
	for {
		key, after, ok := strings.Cut(rest, "=")
		if !ok {
			return
		}
		after = strings.TrimLeft(after, " \t\r\n")
		value, left, _ := strings.Cut(after[1:], after[:1])
		if strings.ContainsAny(value, "&\r") {
			value, _ = (&puller{}).plain(value, false) // it has been read before
		}
		f(strings.Trim(key, " \t\r\n"), value)
		rest = left
	}
}
