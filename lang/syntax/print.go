package syntax

import "reflect"

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
	if !p.ways(prod.ways, &n) {
		return false
	}
	for _, f := range prod.fields {
		p.left = p.left || n.has(f.at)
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
	i := e.field.at
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
		ok = p.node(f, e.field.node)
	case reflect.Pointer:
		ok = p.node(f.Elem(), e.field.node)
	case reflect.Struct:
		ok = p.node(f, e.field.node)
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

func (p *printer) ways(list [][]element, n *filled) bool {
	for _, way := range list {
		if p.way(way, n) {
			return true
		}
	}
	return false
}

func (p *printer) element(e *element, n *filled) bool {
	switch {
	case e.looks != 0:
		return true
	case e.field != nil:
		return p.take(e, n)
	case e.ways == nil:
		p.word(e.word)
		return true
	case e.often == 0:
		return p.ways(e.ways, n)
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
		if !p.ways(e.ways, n) {
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
