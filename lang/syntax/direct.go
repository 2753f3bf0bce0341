package syntax

import (
	"reflect"
	"slices"
	"strings"
	"sync"

	"github.com/alecthomas/participle/v2/lexer"
)

// The statements that most lines of a piece are have their productions a second
// time here, written by hand, straight off the words of the line: a tenth of the
// time. They only read lines that they understand to the end. About any other
// line the grammar has the last word: what it makes of it, and what it says is
// wrong there. TestDirectReadsWhatTheGrammarReads compares the two.

// A direct node reads itself off the words of a line, and says whether they are
// that statement and nothing else.
type direct interface{ direct(*upcoming) bool }

// upcoming is the words of a line with the next one at hand.
type upcoming struct {
	words interface{ next() token }
	now   token
	in    *room // nil: each has its own
}

func (u *upcoming) next() { u.now = u.words.next() }

func (u *upcoming) ends() bool { return u.now.kind == lexer.EOF }

// leaf takes the next word, if it is of some kinds.
func (u *upcoming) leaf(kinds uint) (a Atom, ok bool) {
	if u.ends() || kinds&(1<<u.now.kind) == 0 {
		return a, false
	}
	a = Atom{Pos{int32(u.now.from), int32(u.now.to)}, u.now.text}
	u.next()
	return a, true
}

// word takes the next word, if it is that one.
func (u *upcoming) word(text string) bool {
	if u.now.text != text || u.ends() {
		return false
	}
	u.next()
	return true
}

func (u *upcoming) atom() (Atom, bool) { return u.leaf(atomTokens) }

func (u *upcoming) name() (Name, bool) {
	a, ok := u.leaf(nameTokens)
	return Name(a), ok
}

func (u *upcoming) num() (Num, bool) {
	a, ok := u.leaf(numTokens)
	return Num(a), ok
}

func (u *upcoming) str() (Str, bool) {
	a, ok := u.leaf(strTokens)
	return Str(a), ok
}

// behind takes a word and the leaf behind it, where the word stands there. ok is
// false where the leaf is missing.
func behind[T any](u *upcoming, word string, leaf func() (T, bool)) (found *T, ok bool) {
	if !u.word(word) {
		return nil, true
	}
	t, ok := leaf()
	return &t, ok
}

func (u *upcoming) bars() *BarText {
	if a, ok := u.leaf(barTokens); ok {
		var in room
		if u.in != nil {
			in = *u.in
		}
		b := in.said.New()
		*b = BarText(a)
		return b
	}
	return nil
}

func (u *upcoming) mount() *Mount {
	if u.now.kind != tokWord || !slices.Contains(mountWords[:], u.now.text) {
		return nil
	}
	a, _ := u.leaf(nameTokens)
	m := Mount(a)
	return &m
}

func (u *upcoming) here() lexer.Position {
	return lexer.Position{Offset: u.now.from, Line: 1, Column: u.now.to}
}

func (m *More) direct(u *upcoming) bool {
	b, ok := u.leaf(barTokens)
	m.Bars = BarText(b)
	return ok
}

func (f *From) direct(u *upcoming) (ok bool) {
	if !u.word("from") {
		return false
	}
	if f.Place, ok = u.atom(); !ok || !u.word("on") {
		return ok
	}
	if !u.word("pass") {
		return false
	}
	n, ok := u.num()
	f.Pass = &n
	return ok
}

func (i *Item) direct(u *upcoming) (ok bool) {
	if i.Name, ok = u.name(); !ok {
		return false
	}
	if i.Is, ok = behind(u, "is", u.name); !ok {
		return false
	}
	i.Mount = u.mount()
	if i.Spot, ok = u.spot(); !ok {
		return false
	}
	if i.Facing, ok = behind(u, "facing", u.num); !ok {
		return false
	}
	i.Bars = u.bars()
	return true
}

// spot is where something stands; nil where nothing is said of that.
func (u *upcoming) spot() (s *Spot, ok bool) {
	here := u.here()
	if !u.word("at") {
		return nil, true
	}
	s = &Spot{Pos: here}
	if u.now.kind == tokWord && !isDirection(u.now.text) && u.now.text != "facing" {
		n, _ := u.name()
		s.Station = &n
	}
	for u.now.text != "facing" {
		var step Step
		if step.Dir, ok = u.atom(); !ok {
			break
		}
		if step.By, ok = u.num(); !ok {
			return s, false
		}
		s.Steps = append(s.Steps, step)
	}
	return s, true
}

func (s *Stand) direct(u *upcoming) (ok bool) {
	if s.Word, ok = u.name(); !ok {
		return false
	}
	if u.now.text != "at" {
		if n, ok := u.name(); ok {
			s.Name = &n
		}
	}
	if s.Spot, ok = u.spot(); !ok {
		return false
	}
	s.Facing, ok = behind(u, "facing", u.num)
	return ok
}

func (l *LimbLine) direct(u *upcoming) (ok bool) {
	if l.Limb, ok = u.name(); !ok {
		return false
	}
	switch act := u.now.text; {
	case act == "holds":
		u.next()
		var t Thing
		if t, ok = u.thing(); !ok {
			return false
		}
		l.Holds = &t
		l.And, ok = u.and()
	case act == "takes":
		u.next()
		l.Takes, ok = u.moved()
	case act == "lays":
		u.next()
		l.Lays, ok = u.moved()
	case slices.Contains(acts[:], act), slices.Contains(dampers[:], act):
		return false // seldom
	default:
		l.Cue, ok = u.cue()
	}
	return ok
}

func (u *upcoming) thing() (t Thing, ok bool) {
	if n, ok := u.num(); ok {
		t.Count = &n
	}
	if u.now.text == buttWords {
		a, _ := u.leaf(nameTokens)
		b := Butt(a)
		t.Butt = &b
	}
	t.Name, ok = u.name()
	return t, ok
}

func (u *upcoming) and() (list []Thing, ok bool) {
	for u.word("and") {
		t, ok := u.thing()
		if !ok {
			return list, false
		}
		list = append(list, t)
	}
	return list, true
}

func (u *upcoming) moved() (m *Moved, ok bool) {
	m = new(Moved)
	if m.Thing, ok = u.thing(); !ok {
		return m, false
	}
	if m.And, ok = u.and(); !ok {
		return m, false
	}
	m.At, ok = behind(u, "at", u.atom)
	return m, ok
}

// cue reads what a limb plays. A clause that stands there a second time is for
// the grammar.
func (u *upcoming) cue() (c *Cue, ok bool) {
	c = new(Cue)
	if c.Name, ok = u.name(); !ok {
		return c, false
	}
	for more := true; more && ok; {
		more, ok = u.clause(c)
	}
	if !ok {
		return c, false
	}
	if u.now.text == "as" {
		c.AsWritten, ok = u.asWritten()
		return c, ok
	}
	c.Bars = u.bars()
	return c, true
}

// clause reads one of the clauses of a cue; more is false where none is there.
func (u *upcoming) clause(c *Cue) (more, ok bool) {
	switch {
	case u.now.kind == tokString || u.now.kind == tokWord && slices.Contains(askedWords[:], u.now.text):
		a, _ := u.leaf(strTokens | nameTokens)
		c.Asked = append(c.Asked, Asked(a))
	case u.now.text == "with":
		if c.With != nil {
			return true, false
		}
		u.next()
		t, ok := u.thing()
		if !ok {
			return true, false
		}
		c.With = &t
		c.And, ok = u.and()
		return true, ok
	case u.now.text == "for":
		if c.For != nil {
			return true, false
		}
		c.For, ok = behind(u, "for", u.name)
		return true, ok
	default:
		m := u.mount()
		if m == nil {
			return false, true
		}
		if c.Mount != nil {
			return true, false
		}
		c.Mount = m
	}
	return true, true
}

func (u *upcoming) asWritten() (a *AsWritten, ok bool) {
	a = &AsWritten{Pos: u.here()}
	if !u.word("as") || !u.word("written") {
		return a, false
	}
	for {
		switch u.now.text {
		case "on":
			u.next()
			n, ok := u.num()
			if !ok {
				return a, false
			}
			for ; ok; n, ok = u.num() {
				a.On = append(a.On, n)
			}
		case "in":
			u.next()
			before := len(a.In)
			for u.now.text != "of" && u.now.text != "on" && u.now.text != "in" {
				at, ok := u.atom()
				if !ok {
					break
				}
				a.In = append(a.In, at)
			}
			if len(a.In) == before {
				return a, false
			}
		case "of":
			if a.Of != nil {
				return a, false
			}
			if a.Of, ok = behind(u, "of", u.str); !ok {
				return a, false
			}
		default:
			return a, true
		}
	}
}

func (m *Mark) direct(u *upcoming) (ok bool) {
	if !u.word("mark") {
		return false
	}
	if m.Name, ok = u.atom(); !ok || !u.word("at") {
		return false
	}
	m.Place, ok = u.atom()
	return ok
}

func (t *Tempo) direct(u *upcoming) (ok bool) {
	if !u.word("tempo") {
		return false
	}
	if t.First, ok = u.num(); !ok {
		return false
	}
	if u.now.kind == tokEquals {
		u.next()
		n, ok := u.num()
		if !ok {
			return false
		}
		t.Value = &n
	}
	if t.To, ok = behind(u, "to", u.num); !ok {
		return false
	}
	if t.To != nil {
		if t.Over, ok = behind(u, "over", u.atom); !ok || t.Over == nil {
			return false
		}
	}
	t.From, ok = behind(u, "from", u.atom)
	return ok
}

func (m *Meter) direct(u *upcoming) (ok bool) {
	if !u.word("meter") {
		return false
	}
	if m.Value, ok = u.num(); !ok {
		return false
	}
	if m.In, ok = behind(u, "in", u.num); !ok {
		return false
	}
	m.From, ok = behind(u, "from", u.atom)
	return ok
}

func (p *Printed) direct(u *upcoming) (ok bool) {
	if p.Word, ok = u.name(); !ok {
		return false
	}
	p.Text, ok = u.str()
	return ok
}

func (r *Remark) direct(u *upcoming) (ok bool) {
	if r.Word, ok = u.name(); !ok {
		return false
	}
	if r.Text, ok = u.str(); !ok {
		return false
	}
	r.At, ok = behind(u, "at", u.atom)
	return ok
}

func (l *Length) direct(u *upcoming) (ok bool) {
	if l.Word, ok = u.name(); !ok {
		return false
	}
	l.Value, ok = u.num()
	return ok
}

func (p *Part) direct(u *upcoming) (ok bool) {
	if !u.word("part") {
		return false
	}
	a, ok := u.leaf(titleTokens)
	if !ok {
		return false
	}
	p.Name = Title(a)
	p.In, ok = behind(u, "in", u.str)
	return ok
}

func (p *Player) direct(u *upcoming) bool {
	if !u.word("player") {
		return false
	}
	a, ok := u.leaf(titleTokens)
	p.Name = Title(a)
	return ok
}

func (k *Kit) direct(u *upcoming) (ok bool) {
	k.Word, ok = u.name()
	return ok
}

// What a catalogue is written in, of which a command that checks a few pieces
// reads some thirty entries each time it is started.

func (d *Define) direct(u *upcoming) (ok bool) {
	if d.Word, ok = u.name(); !ok {
		return false
	}
	d.Name, ok = u.name()
	return ok
}

func (t *Texts) direct(u *upcoming) (ok bool) {
	if t.Word, ok = u.name(); !ok {
		return false
	}
	t.Text, ok = some(u, u.str)
	return ok
}

func (w *Words) direct(u *upcoming) (ok bool) {
	if w.Word, ok = u.name(); !ok {
		return false
	}
	w.Text, ok = some(u, u.atom)
	return ok
}

// some takes leaves as long as there are any; one at least.
func some[T any](u *upcoming, leaf func() (T, bool)) (list []T, ok bool) {
	for {
		t, ok := leaf()
		if !ok {
			return list, len(list) > 0
		}
		list = append(list, t)
	}
}

func (s *StandsFor) direct(u *upcoming) (ok bool) {
	if !u.word("stands") || !u.word("for") {
		return false
	}
	if s.For, ok = u.name(); !ok {
		return false
	}
	s.Costs, ok = behind(u, "costs", u.str)
	return ok
}

func (a *Accept) direct(u *upcoming) (ok bool) {
	if !u.word("accept") {
		return false
	}
	if a.Rule, ok = u.name(); !ok {
		return false
	}
	for ok {
		switch {
		case u.now.text == "at" && a.At == nil:
			a.At, ok = behind(u, "at", u.atom)
		case u.now.text == "in" && a.In == nil:
			a.In, ok = behind(u, "in", u.atom)
		case u.now.text == "for" && a.Player == nil:
			a.Player, ok = behind(u, "for", u.title)
		default:
			a.Reason, ok = behind(u, "because", u.str)
			return ok
		}
	}
	return false
}

func (u *upcoming) title() (Title, bool) {
	a, ok := u.leaf(titleTokens)
	return Title(a), ok
}

func (w *Way) direct(u *upcoming) (ok bool) {
	if !u.word("way") {
		return false
	}
	m := u.mount()
	if m == nil || !u.word("takes") || !w.limbs(u) {
		return false
	}
	w.Mount = *m
	if u.word("with") {
		for more := true; more; more = u.word("or") {
			t, ok := u.thing()
			if !ok {
				return false
			}
			w.With = append(w.With, t)
		}
	}
	for !u.ends() {
		c := &Clause{Pos: u.here()}
		if !c.direct(u) {
			return false
		}
		w.Clauses = append(w.Clauses, c)
	}
	return true
}

// limbs reads what a way takes. That of a mouth and a hand is for the grammar.
func (w *Way) limbs(u *upcoming) bool {
	if u.now.text == "mouth" {
		u.next()
		w.Mouth = true
		return u.now.kind != tokNum && u.now.text != "and"
	}
	n, ok := u.num()
	if !ok {
		return false
	}
	w.Hands = &n
	switch u.now.text {
	case "hand", "hands", "foot", "feet":
		w.Limb = u.now.text
		u.next()
	default:
		return false
	}
	if !u.word("and") {
		return true
	}
	feet, ok := u.num()
	w.AndFeet = &feet
	return ok && (u.word("foot") || u.word("feet"))
}

func (c *Clause) direct(u *upcoming) (ok bool) {
	word := u.now.text
	if u.now.kind != tokWord {
		return false
	}
	switch word {
	case "costs":
		c.Costs, ok = behind(u, word, u.str)
	case "named":
		c.Named, ok = behind(u, word, u.str)
	case "least":
		c.Least, ok = behind(u, word, u.num)
	case "moves":
		c.Moves, ok = behind(u, word, u.name)
	case "softest":
		c.Softest, ok = behind(u, word, u.name)
	case "loudest":
		c.Loudest, ok = behind(u, word, u.name)
	default:
		u.next()
		ok = c.rest(u, word)
	}
	return ok
}

// rest reads a clause behind its first word, where it is more than that and what
// it names.
func (c *Clause) rest(u *upcoming, word string) (ok bool) {
	switch word {
	case "shaken":
		c.Shaken = true
	case "seated":
		c.Seated = true
	case "stays":
		c.Stays = true
	case "keeps":
		c.Keeps = true
		return u.word("light")
	case "strokes":
		c.Apart, ok = behind(u, "apart", u.num)
		return ok && c.Apart != nil
	case "rolls":
		c.Rolls = true
		return c.upTo(u)
	case "stops":
		return c.stops(u)
	case "needs":
		for !u.ends() && !clauseWords()[u.now.text] {
			n, ok := u.name()
			if !ok {
				return false
			}
			c.Needs = append(c.Needs, n)
		}
		return len(c.Needs) > 0
	default:
		return false
	}
	return true
}

func (c *Clause) upTo(u *upcoming) (ok bool) {
	if u.now.text != "up" {
		return true
	}
	if c.UpTo, ok = u.upToNum(); !ok || u.now.text != "loud" {
		return ok
	}
	u.next()
	c.Loud, ok = u.upToNum()
	return ok
}

// upToNum takes "up to" and a number.
func (u *upcoming) upToNum() (*Num, bool) {
	if !u.word("up") {
		return nil, false
	}
	n, ok := behind(u, "to", u.num)
	return n, ok && n != nil
}

func (c *Clause) stops(u *upcoming) bool {
	c.Stops = new(Stops)
	return c.Stops.by(u)
}

func (s *Stops) direct(u *upcoming) bool { return u.word("stops") && s.by(u) }

func (s *Stops) by(u *upcoming) (ok bool) {
	if !u.word("by") {
		return false
	}
	s.By, ok = u.either()
	return ok
}

// either reads names of which one will do.
func (u *upcoming) either() (list []Name, ok bool) {
	for more := true; more; more = u.word("or") {
		n, ok := u.name()
		if !ok {
			return list, false
		}
		list = append(list, n)
	}
	return list, true
}

func (p *Pause) direct(u *upcoming) (ok bool) {
	if p.Word, ok = u.name(); !ok {
		return false
	}
	p.Place, ok = u.atom()
	return ok
}

func (b *ButtEnd) direct(u *upcoming) (ok bool) {
	if !u.word("butt") || !u.word("as") {
		return false
	}
	if b.As, ok = u.name(); !ok {
		return false
	}
	b.Costs, ok = behind(u, "costs", u.str)
	return ok
}

// What is never in other words than with is for the grammar.
func (n *Never) direct(u *upcoming) (ok bool) {
	if !u.word("never") || !u.word("with") {
		return false
	}
	if n.With, ok = u.either(); !ok {
		return false
	}
	n.Reason, ok = behind(u, "because", u.str)
	return ok
}

// clauseWords are the words that open a clause, as its production has them.
var clauseWords = sync.OnceValue(func() map[string]bool {
	words := map[string]bool{}
	var open func(reflect.Type)
	open = func(node reflect.Type) {
		for i := range node.NumField() {
			f := node.Field(i)
			tag := strings.TrimSpace(f.Tag.Get("parser"))
			if i > 1 && !strings.HasPrefix(tag, "|") {
				continue // more of the clause before
			}
			if _, behind, ok := strings.Cut(tag, "'"); ok {
				word, _, _ := strings.Cut(behind, "'")
				words[word] = true
			} else if f.Type.Kind() == reflect.Pointer {
				open(f.Type.Elem())
			}
		}
	}
	open(reflect.TypeFor[Clause]())
	delete(words, "needs") // which opens none behind itself
	return words
})
