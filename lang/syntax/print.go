package syntax

import (
	"reflect"
	"strings"
	"sync"
	"unicode"
)

// Print writes a statement, or a node within one, as the notation does, in one
// line and without its indent. It follows the productions that the parser
// follows, so that what a statement may say is said once, in its type: reading
// what is printed gives an equal tree. What no production has room for is left
// out.
func Print(node any) string {
	text, _ := printed(node)
	return text
}

// printed also says whether all of the node was written.
func printed(node any) (string, bool) {
	v := reflect.ValueOf(node)
	for v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	if !v.IsValid() {
		return "", false
	}
	p := printer{text: make([]byte, 0, 80)}
	ok := p.node(v, productions()[v.Type()])
	return string(p.text), ok && !p.left
}

type printer struct {
	text []byte
	left bool // something of a node had no place
}

// word adds a word, and a blank before it; a comma closes up.
func (p *printer) word(text string) {
	if len(p.text) > 0 && text != "," {
		p.text = append(p.text, ' ')
	}
	p.text = append(p.text, text...)
}

// node writes what a production says, or without one a leaf. It is false when
// there is nothing to write.
func (p *printer) node(v reflect.Value, prod *production) bool {
	if prod == nil {
		text := v.Field(leafText).String()
		if text != "" {
			p.word(text)
		}
		return text != ""
	}
	n := filled{v: v}
	if !p.ways(&prod.element, &n) {
		return false
	}
	for i, placed := range prod.captures {
		p.left = p.left || placed && n.has(i)
	}
	return true
}

// leafText is the field of a leaf that its text is in.
const leafText = 1

// filled is a node that is being written: how much of each field has been.
type filled struct {
	v    reflect.Value
	used used
	took int
}

// used says how much of each field is written. No node has more fields.
type used [24]uint16

func (n *filled) has(i int) bool {
	f := n.v.Field(i)
	switch f.Kind() {
	case reflect.Slice:
		return int(n.used[i]) < f.Len()
	case reflect.Bool, reflect.Pointer, reflect.String:
		return n.used[i] == 0 && !f.IsZero()
	}
	return n.used[i] == 0
}

// take writes what is next in a field.
func (p *printer) take(e *element, n *filled) bool {
	i := e.field
	if !n.has(i) {
		return false
	}
	f := n.v.Field(i)
	ok := true
	switch f.Kind() {
	case reflect.Slice:
		f = f.Index(int(n.used[i]))
		if f.Kind() == reflect.Pointer {
			f = f.Elem()
		}
		ok = p.node(f, e.prod)
	case reflect.Pointer:
		ok = p.node(f.Elem(), e.prod)
	case reflect.Struct:
		ok = p.node(f, e.prod)
	case reflect.String:
		p.word(f.String())
	default:
		p.word(e.word)
	}
	if ok {
		n.used[i]++
		n.took++
	}
	return ok
}

// way writes one way to go on, and undoes it if it comes to nothing.
func (p *printer) way(list []element, n *filled) bool {
	size, left, was := len(p.text), p.left, *n
	for i := range list {
		if !p.element(&list[i], n) {
			p.text, p.left, *n = p.text[:size], left, was
			return false
		}
	}
	return true
}

func (p *printer) ways(e *element, n *filled) bool {
	for _, way := range e.ways {
		if p.way(way, n) {
			return true
		}
	}
	return false
}

func (p *printer) element(e *element, n *filled) bool {
	switch {
	case e.field >= 0:
		return p.take(e, n)
	case e.ways == nil:
		p.word(e.word)
		return true
	case e.often == 0:
		return p.ways(e, n)
	case e.ways[0][0].word == ",":
		if p.text[len(p.text)-1] != ',' {
			p.word(",")
		}
		return true
	}
	// What need not be there is there when it says something of the node.
	some := false
	for {
		size, took := len(p.text), n.took
		if !p.ways(e, n) {
			break
		}
		if n.took == took {
			p.text = p.text[:size]
			break
		}
		if some = true; e.often == '?' {
			break
		}
	}
	return some || e.often != '+'
}

// An element of a production is a word of the notation, a field of the node, or
// a group of ways to go on.
type element struct {
	word  string
	field int // -1: none
	prod  *production
	ways  [][]element
	often byte // of a group: ? * + or 0 for once
}

// A production is how one type of node is written.
type production struct {
	element
	captures []bool // which fields it has a place for
}

// productions are those of every statement, and of the nodes within them. They
// are made once of the tags that the parser is made of, and never change.
var productions = sync.OnceValue(func() map[reflect.Type]*production {
	all := map[reflect.Type]*production{}
	for _, f := range append(Forms(), Wordless()...) {
		addProduction(all, f.node)
	}
	return all
})

// addProduction is a type's production, nil for a leaf.
func addProduction(all map[reflect.Type]*production, t reflect.Type) *production {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct || all[t] != nil {
		return all[t]
	}
	r := tagReader{prod: &production{element: element{field: -1}, captures: make([]bool, t.NumField())}}
	for i := range t.NumField() {
		tag := t.Field(i).Tag.Get("parser")
		if tag == "" {
			continue
		}
		r.add(i, tag)
	}
	if r.words == nil {
		return nil
	}
	all[t] = r.prod
	r.of = func(field int) *production { return addProduction(all, t.Field(field).Type) }
	r.prod.ways = r.group()
	return r.prod
}

// A tagReader reads the tags of a type's fields as one production, since groups
// go on from one field to the next.
type tagReader struct {
	prod   *production
	words  []string
	fields []int // which each word is in the tag of
	at     int
	of     func(field int) *production
}

func (r *tagReader) add(field int, tag string) {
	for tag = strings.TrimSpace(tag); tag != ""; tag = strings.TrimSpace(tag) {
		n := 1
		switch {
		case strings.HasPrefix(tag, "@@"):
			n = 2
		case strings.HasPrefix(tag, "(?"):
			n = 3
		case tag[0] == '\'':
			n = strings.IndexByte(tag[1:], '\'') + 2
		case unicode.IsLetter(rune(tag[0])):
			for n < len(tag) && unicode.IsLetter(rune(tag[n])) {
				n++
			}
		}
		r.words, r.fields = append(r.words, tag[:n]), append(r.fields, field)
		tag = tag[n:]
	}
}

// group reads ways to go on up to the bracket that closes them.
func (r *tagReader) group() [][]element {
	ways := [][]element{nil}
	put := func(e element) { ways[len(ways)-1] = append(ways[len(ways)-1], e) }
	for ; r.at < len(r.words); r.at++ {
		switch w := r.words[r.at]; w {
		case ")":
			return ways
		case "|":
			ways = append(ways, nil)
		case "?", "*", "+":
			last := ways[len(ways)-1]
			e := &last[len(last)-1]
			if e.ways == nil {
				*e = element{field: -1, ways: [][]element{{*e}}}
			}
			e.often = w[0]
		case "(", "(?!", "(?=":
			r.at++
			if inner := r.group(); w == "(" { // looking ahead writes nothing
				put(element{field: -1, ways: inner})
			}
		case "@@":
			put(r.captured())
		case "@":
			e := r.captured()
			if r.at++; r.words[r.at] == "(" {
				r.at++
				r.group()
			} else {
				e.word = strings.Trim(r.words[r.at], "'")
			}
			put(e)
		case "Equals":
			put(element{field: -1, word: "="})
		default:
			put(element{field: -1, word: strings.Trim(w, "'")})
		}
	}
	return ways
}

func (r *tagReader) captured() element {
	field := r.fields[r.at]
	r.prod.captures[field] = true
	return element{field: field, prod: r.of(field)}
}
