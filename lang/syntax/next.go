package syntax

import (
	"cmp"
	"slices"
	"strings"

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
// its statement, in their order, without the clauses that a line has once and
// this one has already; nothing where the line is not one so far, or where only
// bars may follow. The beginning ends with a whole word.
func Next(text string, in Block) []Expected {
	form := FormFor(text, in)
	if form == nil {
		return nil
	}
	if form == rules().item && in == InPart { // bars, or how much it matters
		form = rules().worth
	}
	return next(text, form)
}

func next(text string, form *Form) []Expected {
	var before []lexer.Token
	for words := (&reading{text: text, goesOn: true}); len(before) <= mostAhead; {
		t, err := words.Next()
		if err != nil || t.Type == tokBars || t.Type == tokBad && t.Value != "," {
			return nil
		}
		if t.EOF() {
			list := nextBehind(before, form)
			if words.seen == 0 {
				return list
			}
			return slices.DeleteFunc(list, func(e Expected) bool { return e.isAgain(text) })
		}
		before = append(before, t)
	}
	return nil
}

// isAgain says whether behind the beginning of a line it would be a clause that
// stands there already.
func (e Expected) isAgain(text string) bool {
	more := e.Words
	if e.Quoted {
		more = `""`
	}
	for words := (&reading{text: text + " " + more, goesOn: true}); ; {
		t, _ := words.Next()
		switch {
		case t.EOF():
			return words.twice.End > 0
		case t.Pos.Column <= len(text):
			words.twice = Span{} // what the beginning itself says twice
		}
	}
}

// nextBehind adds to words that one word alone must follow what that is: as
// written, turns page at.
func nextBehind(before []lexer.Token, form *Form) []Expected {
	list, _ := expected(before, form)
	for i := range list {
		for more := list[i].Words; more != "" && list[i].Role == ""; {
			behind := slices.Clone(before)
			for _, w := range strings.Fields(list[i].Words) {
				behind = append(behind, lexer.Token{Type: tokWord, Value: w})
			}
			more = ""
			if then, ends := expected(behind, form); !ends && len(then) == 1 && then[0].Words != "" {
				more = then[0].Words
				list[i].Words += " " + more
			}
		}
	}
	return list
}

// expected is what may come behind tokens, and whether the line may end there.
func expected(before []lexer.Token, form *Form) (list []Expected, ends bool) {
	a := ahead{before: before}
	a.ways(productions()[form.node].ways, 0, "", func(i int) bool {
		ends = ends || i == len(before)
		return true
	})
	return a.found, ends
}

func always(int) bool { return true }

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

// ways goes on behind any of several ways, and says whether the line so far fits.
// Like the parser it takes the first that fits; where the line ends it takes all.
func (a *ahead) ways(list [][]element, i int, outer Role, then func(int) bool) bool {
	fits := false
	for _, way := range list {
		if fits = a.way(way, i, outer, then) || fits; fits && i < len(a.before) {
			break
		}
	}
	return fits
}

func (a *ahead) way(list []element, i int, outer Role, then func(int) bool) bool {
	if len(list) == 0 {
		return then(i)
	}
	return a.follow(&list[0], i, outer, func(i int) bool { return a.way(list[1:], i, outer, then) })
}

// follow goes on behind an element.
func (a *ahead) follow(e *element, i int, outer Role, then func(int) bool) bool {
	if a.steps++; a.steps > mostSteps {
		return false
	}
	switch {
	case e.looks != 0:
		return a.looks(e, i, outer) && then(i)
	case e.often != 0:
		return a.repeat(e, i, outer, then)
	case e.ways != nil:
		return a.ways(e.ways, i, outer, then)
	case e.field == nil || e.word != "":
		return a.phrase(e.word, "", i, then)
	case e.field.node != nil:
		return a.ways(e.field.node.ways, i, cmp.Or(e.field.role, outer), then)
	}
	return a.leaf(e.field, i, outer, then)
}

// looks says whether what comes next allows to go on.
func (a *ahead) looks(e *element, i int, outer Role) bool {
	if e.looks == '=' {
		return a.ways(e.ways, i, outer, always) && i < len(a.before)
	}
	return i == len(a.before) || !(&ahead{before: a.before[:i+1]}).ways(e.ways, i, outer, always)
}

func (a *ahead) repeat(e *element, i int, outer Role, then func(int) bool) bool {
	again := func(next int) bool {
		if e.often == '?' || next == i {
			return then(next)
		}
		more := *e
		more.often = '*'
		return a.repeat(&more, next, outer, then)
	}
	fits := a.ways(e.ways, i, outer, again)
	if e.often == '+' || fits && i < len(a.before) {
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
func (a *ahead) leaf(f *field, i int, outer Role, then func(int) bool) bool {
	role := f.role
	if f.leaf.inherits {
		role = cmp.Or(role, outer)
	}
	fits := false
	for _, words := range f.leaf.words {
		fits = a.phrase(words, cmp.Or(role, "mount"), i, then) || fits
	}
	switch {
	case i < len(a.before):
		return fits || f.leaf.kinds&(1<<a.before[i].Type) != 0 && then(i+1)
	case f.leaf.kinds == 0:
		return fits
	case f.words != nil:
		for _, word := range f.words {
			a.note(Expected{Words: word})
		}
	case role != "" && !f.defines:
		a.note(Expected{Role: role, Quoted: f.leaf.quoted})
	}
	return true
}
