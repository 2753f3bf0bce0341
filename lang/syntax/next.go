package syntax

import (
	"cmp"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"sync"

	"github.com/alecthomas/participle/v2/lexer"
)

// Expected is something that may stand next in a line: words of the notation, or
// what a name, a number or a text there is there for.
type Expected struct {
	Words  string
	Role   Role
	Quoted bool // only a text in quotes
}

// mostAhead is how many tokens of a line are followed to say what comes next,
// and mostSteps how many steps that may take, whatever is written.
const (
	mostAhead = 200
	mostSteps = 20_000
)

// Next is what may stand behind the beginning of a line, by the productions of
// its statement, in their order; nothing where the line is not one so far, or
// where only bars may follow. The beginning ends with a whole word.
func Next(text string, in Block) []Expected {
	form := FormFor(text, in)
	if form == nil || form == rules().item && in == InPart {
		return nil
	}
	var before []lexer.Token
	for words := (&reading{text: text}); len(before) <= mostAhead; {
		t, err := words.Next()
		if err != nil || t.Type == tokBars || t.Type == tokBad {
			return nil
		}
		if t.EOF() {
			return nextBehind(before, form)
		}
		before = append(before, t)
	}
	return nil
}

// nextBehind adds to words that only one word can follow what that is: as
// written, turns page at.
func nextBehind(before []lexer.Token, form *Form) []Expected {
	list := expected(before, form)
	for i := range list {
		for more := list[i].Words; more != ""; {
			before := slices.Clone(before)
			for _, w := range strings.Fields(list[i].Words) {
				before = append(before, lexer.Token{Type: tokWord, Value: w})
			}
			more = ""
			if then := expected(before, form); len(then) == 1 && then[0].Words != "" && list[i].Role == "" {
				more = then[0].Words
				list[i].Words += " " + more
			}
		}
	}
	return list
}

func expected(before []lexer.Token, form *Form) []Expected {
	a := ahead{before: before}
	a.follow(&step{kind: aNode, node: form.node}, 0, "", func(int) bool { return true })
	return a.found
}

// A step is one thing in a production: the tags of the tree, read once more for
// what the parser does not tell, which is what it would have taken.
type step struct {
	kind  stepKind
	words string // of a literal
	list  []*step
	leaf  reflect.Type
	node  reflect.Type
	role  Role
	fresh bool   // a name that nobody knows yet
	kinds string // +, *, ? behind it
}

type stepKind uint8

const (
	aWord stepKind = iota
	aToken
	aLeaf
	aNode
	inOrder
	oneOf
	notNext
	ifNext
)

var tagWords = regexp.MustCompile(`@@|'[^']*'|\(\?!|\(\?=|[()|?*+]|[A-Za-z]+`)

// tag is one word of a production, and the field that it fills.
type tag struct {
	text  string
	field reflect.StructField
}

// steps are the productions of every node, read from their tags once.
var steps = sync.OnceValue(func() map[reflect.Type]*step {
	all := map[reflect.Type]*step{}
	for node := range roleRows() {
		var tags []tag
		for i := range node.NumField() {
			f := node.Field(i)
			for _, w := range tagWords.FindAllString(f.Tag.Get("parser"), -1) {
				tags = append(tags, tag{w, f})
			}
		}
		all[node], _ = readSteps(tags)
	}
	return all
})

// readSteps reads alternatives up to the bracket that ends them.
func readSteps(tags []tag) (*step, []tag) {
	either := &step{kind: oneOf}
	row := &step{kind: inOrder}
	for len(tags) > 0 && tags[0].text != ")" {
		if tags[0].text == "|" {
			either.list = append(either.list, row)
			row, tags = &step{kind: inOrder}, tags[1:]
			continue
		}
		var s *step
		s, tags = readStep(tags)
		if len(tags) > 0 && strings.Contains("?*+", tags[0].text) {
			s = &step{kind: inOrder, list: []*step{s}, kinds: tags[0].text}
			tags = tags[1:]
		}
		row.list = append(row.list, s)
	}
	either.list = append(either.list, row)
	if len(either.list) == 1 {
		return row, tags
	}
	return either, tags
}

func readStep(tags []tag) (*step, []tag) {
	t := tags[0]
	switch {
	case t.text == "@@":
		node := elem(t.field.Type)
		name, how, _ := strings.Cut(t.field.Tag.Get("is"), " ")
		if isLeaf(node) {
			return &step{kind: aLeaf, leaf: node, role: Role(name), fresh: how == "defines"}, tags[1:]
		}
		return &step{kind: aNode, node: node, role: Role(name)}, tags[1:]
	case t.text[0] == '\'':
		return &step{kind: aWord, words: strings.Trim(t.text, "'")}, tags[1:]
	case t.text[0] == '(':
		s, rest := readSteps(tags[1:])
		switch t.text {
		case "(?!":
			s = &step{kind: notNext, list: []*step{s}}
		case "(?=":
			s = &step{kind: ifNext, list: []*step{s}}
		}
		return s, rest[1:]
	}
	return &step{kind: aToken, words: t.text}, tags[1:]
}

// ahead follows what a line says through the productions, and notes what could
// have come where it ends.
type ahead struct {
	before []lexer.Token
	found  []Expected
	steps  int
}

func (a *ahead) note(e Expected) bool {
	if !slices.Contains(a.found, e) {
		a.found = append(a.found, e)
	}
	return true
}

// follow goes on behind a step, and says whether the line so far fits. Like the
// parser it takes the first that fits; where the line ends it takes all.
func (a *ahead) follow(s *step, i int, outer Role, then func(int) bool) bool {
	if a.steps++; a.steps > mostSteps {
		return false
	}
	if s.kinds != "" {
		return a.repeat(s, i, outer, then)
	}
	switch s.kind {
	case inOrder:
		return a.row(s.list, i, outer, then)
	case oneOf:
		fits := false
		for _, one := range s.list {
			if fits = a.follow(one, i, outer, then) || fits; fits && i < len(a.before) {
				break
			}
		}
		return fits
	case aNode:
		return a.follow(steps()[s.node], i, cmp.Or(s.role, outer), then)
	case aLeaf:
		return a.leaf(s, i, outer, then)
	case notNext:
		if i < len(a.before) && (&ahead{before: a.before[:i+1]}).follow(s.list[0], i, outer, func(int) bool { return true }) {
			return false
		}
		return then(i)
	case ifNext:
		if i == len(a.before) {
			return a.follow(s.list[0], i, outer, func(int) bool { return true })
		}
		return a.follow(s.list[0], i, outer, func(int) bool { return true }) && then(i)
	case aToken:
		return i < len(a.before) && a.before[i].Type == tokens{}.Symbols()[s.words] && then(i+1)
	}
	return a.phrase(s.words, "", i, then)
}

func (a *ahead) row(list []*step, i int, outer Role, then func(int) bool) bool {
	if len(list) == 0 {
		return then(i)
	}
	return a.follow(list[0], i, outer, func(i int) bool { return a.row(list[1:], i, outer, then) })
}

func (a *ahead) repeat(s *step, i int, outer Role, then func(int) bool) bool {
	once := *s
	once.kinds = ""
	again := func(next int) bool {
		if s.kinds == "?" || next == i {
			return then(next)
		}
		more := *s
		more.kinds = "*"
		return a.repeat(&more, next, outer, then)
	}
	fits := a.follow(&once, i, outer, again)
	if s.kinds == "+" || fits && i < len(a.before) {
		return fits
	}
	return then(i) || fits
}

// phrase follows words that are one token, or as many as they are.
func (a *ahead) phrase(words string, role Role, i int, then func(int) bool) bool {
	if i == len(a.before) {
		return a.note(Expected{Words: words, Role: role})
	}
	if a.before[i].Value == words {
		return then(i + 1)
	}
	first, rest, more := strings.Cut(words, " ")
	return more && a.before[i].Value == first && a.phrase(rest, role, i+1, then)
}

// leaf follows a name, a number or a text.
func (a *ahead) leaf(s *step, i int, outer Role, then func(int) bool) bool {
	phrases, role := phrasesOf(s.leaf), s.role
	if s.leaf == reflect.TypeFor[Name]() || s.leaf == reflect.TypeFor[Listed]() {
		role = cmp.Or(role, outer)
	}
	fits := false
	for _, words := range phrases {
		fits = a.phrase(words, cmp.Or(role, "mount"), i, then) || fits
	}
	quoted := s.leaf == reflect.TypeFor[Str]() || s.leaf == reflect.TypeFor[Asked]()
	switch {
	case phrases != nil && !quoted:
		return fits
	case i < len(a.before):
		return fits || takes(s.leaf, a.before[i].Type) && then(i+1)
	case s.leaf == reflect.TypeFor[Num]():
		a.note(Expected{Role: cmp.Or(role, "number")})
	case role != "" && !s.fresh || quoted:
		a.note(Expected{Role: cmp.Or(role, "text"), Quoted: quoted})
	}
	return true
}

// phrasesOf are the words of which a leaf is one.
func phrasesOf(leaf reflect.Type) []string {
	switch leaf {
	case reflect.TypeFor[Mount]():
		return Mounts()
	case reflect.TypeFor[Asked]():
		return Asks()
	case reflect.TypeFor[Butt]():
		return []string{buttWords}
	}
	return nil
}

// takes says whether a leaf takes a kind of token.
func takes(leaf reflect.Type, kind lexer.TokenType) bool {
	switch leaf {
	case reflect.TypeFor[Num]():
		return kind == tokNum
	case reflect.TypeFor[Name](), reflect.TypeFor[Listed]():
		return kind == tokWord
	case reflect.TypeFor[Str](), reflect.TypeFor[Asked]():
		return kind == tokString
	case reflect.TypeFor[Title]():
		return kind == tokString || kind == tokWord
	case reflect.TypeFor[Atom]():
		return kind == tokWord || kind == tokNum
	}
	return kind == tokBars
}
