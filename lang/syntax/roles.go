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
	"unicode"
)

// A Role is what a name, a number or a text of a line is there for. It stands in
// the tag `is` of the field that takes it: is:"instrument", or is:"mark defines"
// where the line makes the name. A node hands its role on to the names in it
// that have none of their own. Numbers are "number" and texts are "text"
// wherever nothing else is said; a name without a role is a word of the notation.
type Role string

// The roles of the two names that a line of a kit may begin with.
const (
	roleItem Role = "item"
	roleKey  Role = "key" // which of a set
)

// A Leaf is one name, number or text of a statement.
type Leaf struct {
	Span
	Role    Role
	Defines bool
	Text    string // without its quotes
}

// Leaves hands over every leaf of a statement that has a role, in the order of
// its type's fields.
func Leaves(s Stmt, each func(Leaf)) {
	node := reflect.ValueOf(s).Elem()
	visit(node, productions()[node.Type()], "", each)
}

func visit(node reflect.Value, prod *production, outer Role, each func(Leaf)) {
	for _, f := range prod.fields {
		if f.node == nil && f.leaf == nil {
			continue
		}
		v := node.Field(f.at)
		if v.Kind() != reflect.Slice {
			visitOne(v, f, outer, each)
			continue
		}
		for k := range v.Len() {
			visitOne(v.Index(k), f, outer, each)
		}
	}
}

func visitOne(v reflect.Value, f *field, outer Role, each func(Leaf)) {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return
		}
		v = v.Elem()
	}
	role := f.role
	if f.node != nil || f.leaf.inherits {
		role = cmp.Or(role, outer)
	}
	switch {
	case f.node != nil:
		visit(v, f.node, role, each)
	case role == "":
	case f.leaf.list:
		for _, n := range Listed(atomOf(v)).Names() {
			each(Leaf{n.Span(), role, f.defines, n.Text})
		}
	case role == roleItem && strings.IndexByte(atomOf(v).Text, MemberMark) > 0: // the set has the name
		set, which, _ := (&Item{Name: Name(atomOf(v))}).Member()
		each(Leaf{set.Span(), role, f.defines, set.Text})
		if set.Span() != which.Span() { // else the line says it in other words
			each(Leaf{which.Span(), roleKey, false, which.Text})
		}
	default:
		a := atomOf(v)
		each(Leaf{a.Span(), role, f.defines, Title(a).Value()})
	}
}

// atomOf is any leaf as an atom.
func atomOf(leaf reflect.Value) Atom {
	pos := leaf.Field(0)
	return Atom{Pos{int32(pos.Field(0).Int()), int32(pos.Field(1).Int())}, leaf.Field(leafText).String()}
}

// What an instrument is fixed on or held by, and what a cue may ask for besides.
var (
	mountWords = [...]string{"held", "on stand", "padded", "clipped", "clamped", "hung", "floor", "on body"}
	askedWords = [...]string{"shaken", "in one hand", "two in one hand", "by foot"}
	buttWords  = "butt of"
)

// The kinds of instrument there are.
var families = [...]string{"membrane", "metal", "wood", "shaken", "keyboard", "wind", "effect", "body", "composite"}

// Families are the kinds of instrument there are, in the order in which they
// are listed.
func Families() []string { return families[:] }

// Mounts are the words for how an instrument is fixed.
func Mounts() []string { return mountWords[:] }

// Asks are the words for a way of playing that a cue may ask for.
func Asks() []string { return askedWords[:] }

// Stoppers are what may stop a ring.
func Stoppers() []string { return stoppers() }

// They stand in the tag of their field, which is read without the table of all statements:
// a check that asks for them has no other need of it.
var stoppers = sync.OnceValue(func() []string {
	by, _ := reflect.TypeFor[Stops]().FieldByName("By")
	return strings.Split(by.Tag.Get("of"), "|")
})

var (
	options = regexp.MustCompile(`[A-Za-z-]+(\|[A-Za-z-]+)+`)
	written = regexp.MustCompile(`^([a-z][a-z-]*|[RL])$`)
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

// InnerWords are the words that the productions spell out and those of which a
// statement has one, in order, without what only begins a line. Words that are
// names elsewhere, as fingers are, are none of them.
func InnerWords() []string {
	set := map[string]bool{}
	add := func(phrase string) {
		for _, w := range strings.Fields(phrase) {
			if unicode.IsLetter(rune(w[0])) {
				set[w] = true
			}
		}
	}
	opens := map[*production]bool{}
	for _, f := range Forms() {
		for _, w := range f.Choices() {
			add(w)
		}
		opens[productions()[f.node]] = true
	}
	for _, p := range productions() {
		ways := p.ways
		if opens[p] && ways[0][0].field == nil && ways[0][0].ways == nil {
			ways = append([][]element{ways[0][1:]}, ways[1:]...)
		}
		eachWord(ways, add)
	}
	for _, list := range [...][]string{mountWords[:], askedWords[:], {buttWords, "end"}} { // butt end of, as it is said too
		for _, w := range list {
			add(w)
		}
	}
	return slices.Sorted(maps.Keys(set))
}

// eachWord hands over every word that ways to go on spell out.
func eachWord(ways [][]element, each func(string)) {
	for _, way := range ways {
		for i := range way {
			each(way[i].word)
			eachWord(way[i].ways, each)
		}
	}
}
