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
	var p printer
	ok := v.IsValid() && p.node(v)
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

// node writes a leaf or what its production says. It is false when there is
// nothing to write.
func (p *printer) node(v reflect.Value) bool {
	prod, ok := productions()[v.Type()]
	if !ok { // a leaf
		text := v.FieldByName("Text").String()
		if text != "" {
			p.word(text)
		}
		return text != ""
	}
	n := filled{v: v, used: make([]int, v.NumField())}
	if !p.element(&prod.element, &n) {
		return false
	}
	for i := range n.used {
		if prod.captures[i] && n.has(i) {
			p.left = true
		}
	}
	return true
}

// filled is a node that is being written: how much of each field has been.
type filled struct {
	v    reflect.Value
	used []int
	took int
}

func (n *filled) has(i int) bool {
	f := n.v.Field(i)
	switch f.Kind() {
	case reflect.Slice:
		return n.used[i] < f.Len()
	case reflect.Bool, reflect.Pointer, reflect.String:
		return n.used[i] == 0 && !f.IsZero()
	}
	return n.used[i] == 0
}

// take writes what is next in a field.
func (p *printer) take(i int, word string, n *filled) bool {
	if !n.has(i) {
		return false
	}
	f := n.v.Field(i)
	ok := true
	switch f.Kind() {
	case reflect.Slice:
		f = f.Index(n.used[i])
		if f.Kind() == reflect.Pointer {
			f = f.Elem()
		}
		ok = p.node(f)
	case reflect.Pointer:
		ok = p.node(f.Elem())
	case reflect.Struct:
		ok = p.node(f)
	case reflect.String:
		p.word(f.String())
	default:
		p.word(word)
	}
	if ok {
		n.used[i]++
		n.took++
	}
	return ok
}

// try undoes what a part of a production has written if it comes to nothing.
func (p *printer) try(n *filled, write func() bool) bool {
	size, took, left := len(p.text), n.took, p.left
	var kept [16]int
	used := append(kept[:0], n.used...)
	if write() {
		return true
	}
	p.text, p.left, n.took = p.text[:size], left, took
	copy(n.used, used)
	return false
}

func (p *printer) sequence(list []element, n *filled) bool {
	for i := range list {
		if !p.element(&list[i], n) {
			return false
		}
	}
	return true
}

func (p *printer) element(e *element, n *filled) bool {
	switch {
	case e.field >= 0:
		return p.take(e.field, e.word, n)
	case e.ways == nil:
		p.word(e.word)
		return true
	case e.often == '?' && len(e.ways[0]) == 1 && e.ways[0][0].word == ",":
		if !strings.HasSuffix(string(p.text), ",") {
			p.word(",")
		}
		return true
	}
	once := func() bool {
		for _, way := range e.ways {
			if p.try(n, func() bool { return p.sequence(way, n) }) {
				return true
			}
		}
		return false
	}
	// What need not be there is there when it says something of the node.
	more := func() bool {
		return p.try(n, func() bool { was := n.took; return once() && n.took > was })
	}
	switch e.often {
	case '?':
		more()
		return true
	case '*', '+':
		ok := more()
		for again := ok; again; {
			again = more()
		}
		return ok || e.often == '*'
	}
	return once()
}

// An element of a production is a word of the notation, a field of the node, or
// a group of ways to go on.
type element struct {
	word  string
	field int // -1: none
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

func addProduction(all map[reflect.Type]*production, t reflect.Type) {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct || all[t] != nil {
		return
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
		return // a leaf
	}
	all[t] = r.prod
	r.prod.ways = r.group()
	for i, has := range r.prod.captures {
		if has {
			addProduction(all, t.Field(i).Type)
		}
	}
}

// A tagReader reads the tags of a type's fields as one production, since groups
// go on from one field to the next.
type tagReader struct {
	prod   *production
	words  []string
	fields []int // which each word is in the tag of
	at     int
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
			put(element{field: r.captured()})
		case "@":
			field := r.captured()
			r.at++
			if r.words[r.at] == "(" {
				r.at++
				r.group()
				put(element{field: field})
				break
			}
			put(element{field: field, word: strings.Trim(r.words[r.at], "'")})
		case "Equals":
			put(element{field: -1, word: "="})
		default:
			put(element{field: -1, word: strings.Trim(w, "'")})
		}
	}
	return ways
}

func (r *tagReader) captured() int {
	field := r.fields[r.at]
	r.prod.captures[field] = true
	return field
}
