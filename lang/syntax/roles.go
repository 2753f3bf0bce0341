package syntax

//go:generate go run ./internal/colours

import (
	"cmp"
	"maps"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"sync"
)

// A Role is what a name, a number or a text of a line is there for. It stands in
// the tag `is` of the field that takes it: is:"instrument", or is:"mark defines"
// where the line makes the name. A node hands its role on to the names in it
// that have none of their own. Numbers are "number" and texts are "text"
// wherever nothing else is said; a name without a role is a word of the notation.
type Role string

// A Leaf is one name, number or text of a statement.
type Leaf struct {
	Span
	Role    Role
	Defines bool
	Text    string // without its quotes
}

// Leaves hands over every leaf of a statement that has a role, in the order of
// the roleRows.
func Leaves(s Stmt, each func(Leaf)) {
	node := reflect.ValueOf(s).Elem()
	visit(node, roleRows()[node.Type()], "", each)
}

// A roleRow is what may be said about a leaf or a node by the field it is in.
type roleRow struct {
	field   int
	leaf    reflect.Type // nil for a node
	node    reflect.Type
	role    Role
	defines bool
}

// roleRows are the fields of every node, found once.
var roleRows = sync.OnceValue(func() map[reflect.Type][]roleRow {
	all := map[reflect.Type][]roleRow{}
	for _, f := range append(Wordless(), Forms()...) {
		addRoleRows(all, f.node)
	}
	return all
})

func addRoleRows(all map[reflect.Type][]roleRow, node reflect.Type) {
	if _, done := all[node]; done {
		return
	}
	all[node] = nil
	for i := range node.NumField() {
		f := node.Field(i)
		p := roleRow{field: i}
		name, how, _ := strings.Cut(f.Tag.Get("is"), " ")
		p.role, p.defines = Role(name), how == "defines"
		switch t := elem(f.Type); {
		case f.Tag.Get("parser") == "" || t.Kind() != reflect.Struct:
			continue
		case isLeaf(t):
			p.leaf = t
			p.role = cmp.Or(p.role, map[reflect.Type]Role{reflect.TypeFor[Num](): "number", reflect.TypeFor[Str](): "text"}[t])
		default:
			p.node = t
			addRoleRows(all, t)
		}
		all[node] = append(all[node], p)
	}
}

// elem is the type of one of what a field holds.
func elem(t reflect.Type) reflect.Type {
	for t.Kind() == reflect.Slice || t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	return t
}

func isLeaf(t reflect.Type) bool { return t.ConvertibleTo(reflect.TypeFor[Atom]()) }

func visit(node reflect.Value, list []roleRow, outer Role, each func(Leaf)) {
	for i := range list {
		p := &list[i]
		v := node.Field(p.field)
		if v.Kind() != reflect.Slice {
			visitOne(v, p, outer, each)
			continue
		}
		for k := range v.Len() {
			visitOne(v.Index(k), p, outer, each)
		}
	}
}

func visitOne(v reflect.Value, p *roleRow, outer Role, each func(Leaf)) {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return
		}
		v = v.Elem()
	}
	switch {
	case p.leaf == nil:
		visit(v, roleRows()[p.node], cmp.Or(p.role, outer), each)
	case p.leaf == reflect.TypeFor[Listed]():
		for _, n := range v.Interface().(Listed).Names() {
			each(Leaf{n.Span(), cmp.Or(p.role, outer), p.defines, n.Text})
		}
	default:
		role := p.role
		if p.leaf == reflect.TypeFor[Name]() {
			role = cmp.Or(role, outer)
		}
		if role == "" {
			return
		}
		a := Atom{v.Field(0).Interface().(Pos), v.Field(1).String()}
		each(Leaf{a.Span(), role, p.defines, Title(a).Value()})
	}
}

// What an instrument is fixed on or held by, and what a cue may ask for besides.
var (
	mountWords = [...]string{"held", "on stand", "padded", "clipped", "clamped", "hung", "floor", "on body"}
	askedWords = [...]string{"shaken", "in one hand", "two in one hand", "by foot"}
	buttWords  = "butt of"
)

// Mounts are the words for how an instrument is fixed.
func Mounts() []string { return mountWords[:] }

// Asks are the words for a way of playing that a cue may ask for.
func Asks() []string { return askedWords[:] }

var (
	literals = regexp.MustCompile(`'([^']+)'`)
	options  = regexp.MustCompile(`[A-Za-z-]+(\|[A-Za-z-]+)+`)
	written  = regexp.MustCompile(`^([a-z][a-z-]*|[RL])$`)
)

// Choices are the words of which the statement has one behind its own, as its
// shape lists them: left and right for leads left|right.
func (f *Form) Choices() []string {
	list := strings.Split(options.FindString(f.Shape), "|")
	return slices.DeleteFunc(list, func(w string) bool { return !written.MatchString(w) })
}

// Vocabulary is every word of the notation, in order.
func Vocabulary() []string {
	list := InnerWords()
	for _, f := range Forms() {
		list = append(list, f.Word)
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// InnerWords are the words that the roleRows spell out and those of which one
// may be chosen, in order, without what only begins a line.
func InnerWords() []string {
	set := map[string]bool{}
	add := func(list ...string) {
		for _, phrase := range list {
			for _, w := range strings.FieldsFunc(phrase, func(r rune) bool { return r == ' ' || r == ',' }) {
				set[w] = true
			}
		}
	}
	opens := map[reflect.Type]bool{}
	for _, f := range Forms() {
		add(f.Choices()...)
		opens[f.node] = true
	}
	for node := range roleRows() {
		for i := range node.NumField() {
			tag := node.Field(i).Tag.Get("parser")
			for k, m := range literals.FindAllStringSubmatch(tag, -1) {
				if !(opens[node] && i == 0 && k == 0 && tag[0] == '\'') {
					add(m[1])
				}
			}
		}
	}
	add(mountWords[:]...)
	add(askedWords[:]...)
	add(buttWords, "end") // butt end of, as it is said too
	return slices.Sorted(maps.Keys(set))
}
