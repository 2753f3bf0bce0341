package score

import (
	"slices"
	"strings"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// mostGear is how many of one thing a gear block may have.
const mostGear = 999

// Gear is what there is of one thing: an instrument, an implement, or a piece
// of hardware that a way of playing asks for.
type Gear struct {
	Inst      *kit.Instrument
	Implement *kit.Implement
	Hardware  string // clamp, stand, cord; when it is neither of the others
	Count     int
	Whose     []string
	Where     Where // of the first line about it
}

// Name is the thing's name, for sentences.
func (g *Gear) Name() string {
	switch {
	case g.Inst != nil:
		return g.Inst.Name()
	case g.Implement != nil:
		return g.Implement.Name()
	}
	return strings.ReplaceAll(g.Hardware, "-", " ")
}

// GearOf is what there is of an instrument, or nil where no gear block speaks
// of it.
func (s *Score) GearOf(in *kit.Instrument) *Gear {
	return s.gear(func(g *Gear) bool { return g.Inst == in && in != nil })
}

// GearOfImplement is what there is of an implement, or nil.
func (s *Score) GearOfImplement(im *kit.Implement) *Gear {
	return s.gear(func(g *Gear) bool { return g.Implement == im && im != nil })
}

// gearOfHardware is what there is of a piece of hardware, or nil.
func (s *Score) gearOfHardware(word string) *Gear {
	return s.gear(func(g *Gear) bool { return g.Hardware == word && word != "" })
}

func (s *Score) gear(is func(*Gear) bool) *Gear {
	for _, g := range s.Gear {
		if is(g) {
			return g
		}
	}
	return nil
}

// gears reads the gear blocks of the piece and of the files it uses.
func (b *binder) gears() {
	for fi := range b.Sources {
		src := &b.Sources[fi]
		for i, l := range src.File.Lines {
			s, ok := l.Stmt.(*syntax.Amounts)
			if !ok || l.Broken || src.Seats[i].Block != syntax.InGear {
				continue
			}
			for k := range s.List {
				b.amount(fi, i, &s.List[k])
			}
		}
	}
}

func (b *binder) amount(fi, i int, a *syntax.Amount) {
	names := a.Name.Names()
	if len(names) != 1 {
		b.fault(syntax.RuleSyntax, at(fi, i, names[len(names)-1].Span()), amountBeforeThing)
		return
	}
	name := names[0]
	g := &Gear{Where: at(fi, i, syntax.Span{Start: a.Count.Span().Start, End: name.Span().End})}
	problems := len(b.Problems)
	g.Count = b.whole(at(fi, i, a.Count.Span()), a.Count.Text, 0, mostGear)
	if len(b.Problems) > problems {
		return
	}
	// What is looked up quickly comes first: names of other kinds need all of the
	// catalogue to be read.
	if g.Inst = b.Catalogue.Instrument(name.Text); g.Inst == nil {
		g.Implement = b.Catalogue.Implement(name.Text)
	}
	if g.Inst == nil && g.Implement == nil {
		g.Hardware = oneOf(name.Text, kit.MountHardware())
	}
	if g.Inst == nil && g.Implement == nil && g.Hardware == "" {
		if g.Inst = b.oneOrMore(name.Text); g.Inst == nil {
			g.Hardware = oneOf(name.Text, b.Catalogue.Hardware())
		}
	}
	if g.Inst == nil && g.Implement == nil && g.Hardware == "" {
		b.noSuchGear(at(fi, i, name.Span()), name.Text)
		return
	}
	if have := b.gear(func(o *Gear) bool {
		return o.Inst == g.Inst && o.Implement == g.Implement && o.Hardware == g.Hardware
	}); have != nil {
		have.Count = min(mostGear, have.Count+g.Count)
		g = have
	} else {
		b.Gear = append(b.Gear, g)
	}
	if a.Whose != nil {
		g.Whose = append(g.Whose, a.Whose.Value())
	}
}

// oneOf is the word of a list that is written, one or many of it, or "".
func oneOf(word string, list []string) string {
	for _, w := range [2]string{word, strings.TrimSuffix(word, "s")} {
		if slices.Contains(list, w) {
			return w
		}
	}
	return ""
}

func (b *binder) noSuchGear(where Where, word string) {
	ids := slices.Concat(b.Catalogue.Hardware(), b.Catalogue.InstrumentIDs(), b.Catalogue.ImplementIDs())
	b.fault(syntax.RuleUnknownName, where, noSuchThing, quoteWord(word)).mayMean(kit.Meant(word, ids)...)
}
