package score

import (
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// A Person is what somebody can and cannot do, never does and likes to do.
// The zero value is somebody with both hands of whom nothing is said.
type Person struct {
	// Without are the hands that this person does not have for playing, as
	// bits: 1 is the right hand, 2 the left.
	Without      body.Limbs
	LeadsLeft    bool
	Seated       bool // never walks, never stoops
	OneHandRoll  Ability
	FourMallets  Ability
	ForearmDamps Ability
	Never        []Taste
	Likes        []Taste

	// Where it is said, for what speaks of it.
	saidHands, saidLeads, saidSeated     *Where
	saidRolls, saidMallets, saidForearms *Where
}

// An Ability is whether somebody can do a thing.
type Ability uint8

const (
	Unsaid Ability = iota // as anybody can
	Can
	Cannot
)

// A Taste is an instrument, or a whole family of them.
type Taste struct {
	Inst   *kit.Instrument // nil: the family
	Family string
	Reason string
	Where  Where
}

// Of says whether an instrument is meant.
func (t *Taste) of(in *kit.Instrument) bool {
	if t.Inst != nil {
		return t.Inst == in
	}
	return t.Family == in.Family
}

// Hands are the hands that the person has for playing, as bits.
func (p *Person) Hands() body.Limbs { return body.Hands &^ p.Without }

// HandsWords says which hands the person has.
func (p *Person) HandsWords() string {
	return [...]string{"neither hand", "the right hand alone", "the left hand alone", "both hands"}[p.Hands()]
}

// Words is what is said of the person, a few words for each thing.
func (p *Person) Words() []string {
	var out []string
	add := func(said bool, words string) {
		if said {
			out = append(out, words)
		}
	}
	add(p.Without != 0, p.HandsWords()+" for playing")
	add(p.LeadsLeft, "leads with the left hand")
	add(p.Seated, "seated: never walks, never stoops")
	add(p.OneHandRoll == Cannot, "no one-hand rolls")
	add(p.FourMallets == Cannot, "one mallet in a hand")
	add(p.FourMallets == Can, "two mallets in a hand")
	add(p.ForearmDamps == Cannot, "does not damp with the forearm")
	add(len(p.Never) > 0, "never plays "+tasteWords(p.Never))
	add(len(p.Likes) > 0, "likes "+tasteWords(p.Likes))
	return out
}

func tasteWords(list []Taste) string {
	var words []string
	for _, t := range list {
		if t.Inst != nil {
			words = append(words, t.Inst.Name())
		} else {
			words = append(words, t.Family+" instruments")
		}
	}
	return strings.Join(words, ", ")
}

// Refuses is why the person is never asked to play an instrument, or nil.
func (p *Person) Refuses(in *kit.Instrument) *Taste { return tasteOf(p.Never, in) }

// Prefers is what makes the person like to play an instrument, or nil.
func (p *Person) Prefers(in *kit.Instrument) *Taste { return tasteOf(p.Likes, in) }

func tasteOf(list []Taste, in *kit.Instrument) *Taste {
	for i := range list {
		if list[i].of(in) {
			return &list[i]
		}
	}
	return nil
}

// Said is where the text says that the person lacks a hand, or is seated; or
// the player's name.
func (p *Player) Said(of *Where) Where {
	if of != nil {
		return *of
	}
	return p.Where
}

// WhereHands, WhereSeated and the like are where the text says it.
func (p *Player) WhereHands() Where    { return p.Said(p.Person.saidHands) }
func (p *Player) WhereSeated() Where   { return p.Said(p.Person.saidSeated) }
func (p *Player) WhereRolls() Where    { return p.Said(p.Person.saidRolls) }
func (p *Player) WhereMallets() Where  { return p.Said(p.Person.saidMallets) }
func (p *Player) WhereForearms() Where { return p.Said(p.Person.saidForearms) }

// SamePerson says whether two people can, cannot, never do and like the same.
func SamePerson(a, b *Person) bool {
	same := func(x, y Taste) bool { return x.Inst == y.Inst && x.Family == y.Family }
	return a.Without == b.Without && a.LeadsLeft == b.LeadsLeft && a.Seated == b.Seated &&
		a.OneHandRoll == b.OneHandRoll && a.FourMallets == b.FourMallets && a.ForearmDamps == b.ForearmDamps &&
		slices.EqualFunc(a.Never, b.Never, same) && slices.EqualFunc(a.Likes, b.Likes, same)
}

// person reads one line of what somebody can, cannot, never does and likes.
func (b *binder) person(p *Player, line int, stmt syntax.Stmt) {
	switch s := stmt.(type) {
	case *syntax.Hands:
		lacks := map[string]body.Limbs{"both": 0, "RL": 0, "R+L": 0, "R": body.L, "L": body.R, "none": body.Hands}
		without, ok := lacks[s.Which.Text]
		if !ok {
			b.fault(syntax.RuleValue, at(0, line, s.Which.Span()), notAHand, quoteWord(s.Which.Text))
			return
		}
		if b.once(p, line, &p.Person.saidHands, "which hands there are for playing") {
			p.Person.Without = without
		}
	case *syntax.Leads:
		if s.Hand.Text != "left" && s.Hand.Text != "right" {
			b.fault(syntax.RuleValue, at(0, line, s.Hand.Span()), doesNotLead, quoteWord(s.Hand.Text))
			return
		}
		if b.once(p, line, &p.Person.saidLeads, "which hand leads") {
			p.Person.LeadsLeft = s.Hand.Text == "left"
		}
	case *syntax.Seated:
		if b.once(p, line, &p.Person.saidSeated, "that this player is seated") {
			p.Person.Seated = true
		}
	case *syntax.Ability:
		b.ability(p, line, s)
	case *syntax.Never:
		if len(s.With) > 0 {
			b.fault(syntax.RuleSyntax, b.wholeLine(0, line), neverWithoutWith)
			return
		}
		reason := b.reason(0, line, s.Reason)
		p.Person.Never = b.tastes(p, line, s.What, p.Person.Never, reason)
	case *syntax.Likes:
		p.Person.Likes = b.tastes(p, line, s.What, p.Person.Likes, "")
	}
}

// ability reads whether somebody can do a thing.
func (b *binder) ability(p *Player, line int, s *syntax.Ability) {
	can, ok := map[string]Ability{"yes": Can, "no": Cannot}[s.Can.Text]
	if !ok {
		b.fault(syntax.RuleValue, at(0, line, s.Can.Span()), neitherYesNorNo, quoteWord(s.Can.Text))
		return
	}
	said, of, what := &p.Person.saidRolls, &p.Person.OneHandRoll, "whether this player makes one-hand rolls"
	switch {
	case s.Holds:
		said, of, what = &p.Person.saidMallets, &p.Person.FourMallets, "whether this player has two mallets in a hand"
	case s.Damps:
		said, of, what = &p.Person.saidForearms, &p.Person.ForearmDamps, "whether this player damps with the forearm"
	}
	if b.once(p, line, said, what) {
		*of = can
	}
}

// once says whether this is the first line that says something of a player,
// and reports a later one.
func (b *binder) once(p *Player, line int, said **Where, what string) bool {
	where := b.wholeLine(0, line)
	if *said != nil {
		b.fault(syntax.RuleValue, where, saidTwiceOfPlayer, p.Name, what).also(**said, theFirstOne)
		return false
	}
	*said = &where
	return true
}

// tastes adds the instruments and families of a list.
func (b *binder) tastes(p *Player, line int, list []syntax.Listed, to []Taste, reason string) []Taste {
	for _, n := range syntax.NamesOf(list) {
		t := Taste{Reason: reason, Where: at(0, line, n.Span())}
		if it := p.Item(n.Text); it != nil {
			t.Inst = it.Inst
		} else if family := familyNamed(n.Text); family != "" && b.Catalogue.Instrument(n.Text) == nil {
			t.Family = family
		} else if t.Inst = b.oneOrMore(n.Text); t.Inst == nil {
			if t.Inst = b.instrument(t.Where, n.Text, p); t.Inst == nil {
				continue
			}
		}
		to = append(to, t)
	}
	return to
}

// oneOrMore finds an instrument by its name or by that of several of it.
func (b *binder) oneOrMore(name string) *kit.Instrument {
	if in := b.Catalogue.Resolve(name); in != nil {
		return in
	}
	for _, plural := range []string{"s", "es"} {
		if one, ok := strings.CutSuffix(name, plural); ok {
			if in := b.Catalogue.Resolve(one); in != nil {
				return in
			}
		}
	}
	return nil
}

// familyNamed is the family that a word means, one or many of it, or "".
func familyNamed(word string) string {
	for _, f := range syntax.Families() {
		if word == f || word == f+"s" {
			return f
		}
	}
	return ""
}

// contradictions reports what a player's block says against itself.
func (b *binder) contradictions(byOwner map[int]*Player) {
	for _, p := range b.Players {
		if byOwner[int(p.Where.Line)] != p {
			continue
		}
		who := &p.Person
		lead := body.R
		if who.LeadsLeft {
			lead = body.L
		}
		if who.saidLeads != nil && who.saidHands != nil && who.Hands()&lead == 0 {
			b.fault(syntax.RuleValue, *who.saidLeads, otherHandLeads, p.Name, who.HandsWords()).also(*who.saidHands, handsThereAre)
		}
		if who.FourMallets == Can && who.Without != 0 {
			b.fault(syntax.RuleValue, *who.saidMallets, fourTakeTwoHands, p.Name, who.HandsWords()).also(*who.saidHands, handsThereAre)
		}
		for _, l := range who.Likes {
			if i := slices.IndexFunc(who.Never, l.within); i >= 0 {
				b.fault(syntax.RuleValue, l.Where, likesAndNever, p.Name).also(who.Never[i].Where, neverPlays)
			}
		}
	}
}

// within says whether all that t means is meant by n, too.
func (t *Taste) within(n Taste) bool {
	if t.Inst != nil {
		return n.of(t.Inst)
	}
	return n.Inst == nil && t.Family == n.Family
}
