package syntax

import (
	"reflect"
	"slices"
	"strings"
	"sync"
	"unicode"
)

// What a statement may say is said once, in the tags of its type: the parser is
// made of them, and here they are read a second time, into a table by which the
// printer writes, Leaves finds what is there for what, and Next says what may
// come.

// A production is how one type of node is written.
type production struct {
	ways   [][]element
	fields []*field // those that it has a place for, in their order
}

// An element of a production is a word of the notation, a field of the node, a
// group of ways to go on, or a look at what comes next, which takes nothing.
type element struct {
	word  string // of the notation; of a field that is true or false, what says it
	field *field // nil: none
	ways  [][]element
	often byte // of a group: ? * + or 0 for once
	looks byte // = where what comes next must fit the ways, ! where it must not
}

// A field is one that a production fills: with nodes, with leaves, or, where it
// has neither, with a word.
type field struct {
	at      int // which of the type's fields it is
	node    *production
	leaf    *leafType
	role    Role
	defines bool
	words   []string // of which a name is one, where there are no others
}

// A leafType is what a type of leaf takes.
type leafType struct {
	kinds    uint     // tokens of these kinds
	words    []string // or these
	quoted   bool     // a text in quotes
	role     Role     // where its field says nothing else
	inherits bool     // or that of the node that it is in
	list     bool     // names of a list, with their commas
}

func leafTypes() map[reflect.Type]*leafType {
	return map[reflect.Type]*leafType{
		reflect.TypeFor[Atom]():    {kinds: atomTokens},
		reflect.TypeFor[Name]():    {kinds: nameTokens, inherits: true},
		reflect.TypeFor[Num]():     {kinds: numTokens, role: "number"},
		reflect.TypeFor[Title]():   {kinds: titleTokens},
		reflect.TypeFor[Listed]():  {kinds: nameTokens, inherits: true, list: true},
		reflect.TypeFor[Str]():     {kinds: strTokens, quoted: true, role: "text"},
		reflect.TypeFor[BarText](): {kinds: barTokens},
		reflect.TypeFor[Mount]():   {words: Mounts()},
		reflect.TypeFor[Asked]():   {kinds: strTokens, words: Asks(), quoted: true},
		reflect.TypeFor[Butt]():    {words: []string{buttWords}},
	}
}

// productions are those of every statement, and of the nodes within them. They
// are made once, and never change.
var productions = sync.OnceValue(func() map[reflect.Type]*production {
	t := tableOf{leaves: leafTypes(), all: map[reflect.Type]*production{}}
	for _, f := range allForms() {
		t.production(f.node)
	}
	return t.all
})

// allForms is every statement there is.
func allForms() []*Form { return slices.Concat(Forms(), Wordless()) }

// tableOf collects productions.
type tableOf struct {
	leaves map[reflect.Type]*leafType
	all    map[reflect.Type]*production
}

func (t *tableOf) production(node reflect.Type) *production {
	if p := t.all[node]; p != nil {
		return p
	}
	r := tagReader{fields: make([]*field, node.NumField())}
	p := &production{}
	t.all[node] = p
	for i := range node.NumField() {
		f := node.Field(i)
		if tag := f.Tag.Get("parser"); tag != "" {
			r.add(i, tag)
			r.fields[i] = t.field(i, f)
			p.fields = append(p.fields, r.fields[i])
		}
	}
	p.ways = r.group()
	if first := p.ways[0][0].field; first != nil && first.leaf == t.leaves[reflect.TypeFor[Name]()] && first.role == "" {
		first.words = openingWords(node)
	}
	return p
}

// field reads what a field holds. What its leaves are there for is in its tag.
func (t *tableOf) field(at int, f reflect.StructField) *field {
	out := &field{at: at}
	of := f.Type
	for of.Kind() == reflect.Pointer || of.Kind() == reflect.Slice {
		of = of.Elem()
	}
	name, how, _ := strings.Cut(f.Tag.Get("is"), " ")
	out.role, out.defines = Role(name), how == "defines"
	if words := f.Tag.Get("of"); words != "" {
		out.words = strings.Split(words, "|")
	}
	if out.leaf = t.leaves[of]; out.leaf != nil && out.role == "" {
		out.role = out.leaf.role
	}
	if out.leaf == nil && of.Kind() == reflect.Struct {
		out.node = t.production(of)
	}
	return out
}

// openingWords are the words of the statements that a type is the node of.
func openingWords(node reflect.Type) (words []string) {
	for _, f := range Forms() {
		if f.node == node {
			words = append(words, f.Word)
		}
	}
	return words
}

// A tagReader reads the tags of a type's fields as one production, since groups
// go on from one field to the next.
type tagReader struct {
	words  []string
	in     []int // the field that each word is in the tag of
	fields []*field
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
		r.words, r.in = append(r.words, tag[:n]), append(r.in, field)
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
			if e.ways == nil || e.field != nil {
				*e = element{ways: [][]element{{*e}}}
			}
			e.often = w[0]
		case "(":
			r.at++
			put(element{ways: r.group()})
		case "(?!", "(?=":
			r.at++
			put(element{ways: r.group(), looks: w[2]})
		case "@@":
			put(element{field: r.fields[r.in[r.at]]})
		case "@":
			put(r.captured())
		case "Equals":
			put(element{word: equalsSign})
		default:
			put(element{word: strings.Trim(w, "'")})
		}
	}
	return ways
}

const equalsSign = "="

// captured reads a field that is a word, or one of several.
func (r *tagReader) captured() element {
	e := element{field: r.fields[r.in[r.at]]}
	if r.at++; r.words[r.at] == "(" {
		r.at++
		e.ways = r.group()
	} else {
		e.word = strings.Trim(r.words[r.at], "'")
	}
	return e
}
