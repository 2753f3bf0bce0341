package score

import (
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// byOwner reads every player's holds, cues and actions.
func (b *binder) byOwner(players map[int]*Player) {
	src := b.Sources[0]
	b.upTo.own = make([]own, len(b.Players))
	for k := range b.bound {
		lg := &b.bound[k]
		if lg.file != 0 {
			continue
		}
		p := players[src.Seats[lg.line].Owner]
		if p == nil {
			continue
		}
		o := &b.upTo.own[slices.Index(b.Players, p)]
		if !o.begun {
			o.begun, o.from = true, b.noting()
		}
		b.ownLine(p, lg)
		o.to = b.noting()
	}
	for _, p := range b.Players {
		p.inOrder()
	}
	if len(b.opt.Without) > 0 {
		b.Players = slices.DeleteFunc(b.Players, func(p *Player) bool { return slices.Contains(b.opt.Without, p.Name) })
	}
}

// ownLine reads a line of a player's, if it says what a limb does.
func (b *binder) ownLine(p *Player, lg *logical) {
	l := b.Sources[0].File.Lines[lg.line]
	if s, ok := l.Stmt.(*syntax.LimbLine); ok && b.Sources[0].Seats[lg.line].Block == syntax.InPlayer {
		b.limbLine(p, lg, l, s)
	}
}

// inOrder puts what somebody does besides playing into its order in the music.
func (p *Player) inOrder() {
	slices.SortStableFunc(p.Actions, func(x, y *Action) int { return x.At.Cmp(y.At) })
}

// limbLine reads a line of what a limb of a player does.
func (b *binder) limbLine(p *Player, lg *logical, l *syntax.Line, s *syntax.LimbLine) {
	if l.Broken {
		p.Refused++
		b.refuse(*lg)
		return
	}
	limb, ok := body.LimbNamed(s.Limb.Text)
	if !ok {
		return
	}
	switch {
	case s.Holds != nil:
		b.holds(p, limb, lg.line, s)
	case s.Cue != nil:
		if !b.cue(p, limb, *lg, s) {
			p.Refused++
			b.refuse(*lg)
		}
	default:
		b.action(p, limb, *lg, s)
	}
}

func (b *binder) count(line int, n *syntax.Num) int {
	if n == nil {
		return 1
	}
	return b.whole(at(0, line, n.Span()), n.Text, 1, 2)
}

func (b *binder) holds(p *Player, limb body.Limb, line int, s *syntax.LimbLine) {
	where := at(0, line, s.Holds.Name.Span())
	if limb != body.Right && limb != body.Left {
		b.fault(syntax.RuleSyntax, at(0, line, s.Limb.Span()), oneHandHolds)
		return
	}
	h := Hold{Said: true, Count: b.count(line, s.Holds.Count), Where: where}
	if name := s.Holds.Name.Text; name != "nothing" {
		if h.Implement = b.Catalogue.Implement(name); h.Implement == nil {
			if !b.isInstrument(p, name) {
				b.implement(where, name)
				return
			}
			h.Inst = b.itemFor(p, where, name)
		}
	}
	b.noEnds(line, s.Holds)
	second, _ := b.beside(p, line, s.Holds, s.And, h.Implement, h.Inst)
	second.into(&h.Implement, &h.Inst, &h.Beside)
	if p.Holds[limb].Said {
		b.fault(syntax.RuleSyntax, b.wholeLine(0, line), holdsTwice, p.Name, limb.Name()).also(p.Holds[limb].Where, here)
		return
	}
	p.Holds[limb] = h
}

// butt says whether a cue is played with the butt end of an implement.
func (b *binder) butt(line int, t *syntax.Thing, im *kit.Implement) bool {
	if t.Butt == nil {
		return false
	}
	where := at(0, line, t.Butt.Span()).Cover(at(0, line, t.Name.Span()))
	switch {
	case t.Count != nil:
		b.fault(syntax.RuleSyntax, where, buttOfTwo, im.ID)
	case im.Butt == "" || b.Catalogue.Implement(im.Butt) == nil:
		b.fault(syntax.RuleValue, where, noButtEnd, im.Name())
	default:
		return true
	}
	return false
}

// noEnds reports a butt end where nothing plays.
func (b *binder) noEnds(line int, t *syntax.Thing) {
	if t.Butt != nil {
		b.fault(syntax.RuleSyntax, at(0, line, t.Butt.Span()), buttWherePlayed, t.Name.Text)
	}
}

// A second is what a hand holds beside another thing: one of the two, or
// nothing.
type second struct {
	implement *kit.Implement
	item      *Item
}

// into writes it beside the first thing that the hand holds.
func (s second) into(implement **kit.Implement, item **Item, beside **kit.Implement) {
	switch {
	case s.item != nil:
		*item = s.item
	case *item != nil && s.implement != nil:
		*implement = s.implement
	default:
		*beside = s.implement
	}
}

// beside reads what a hand holds beside another thing, an implement or an
// instrument, with where its name stands; nothing where it holds nothing more,
// or cannot.
func (b *binder) beside(p *Player, line int, first *syntax.Thing, and []syntax.Thing, im *kit.Implement, it *Item) (s second, stands Where) {
	if len(and) == 0 || !b.twoThings(p, line, first, and, im, it) {
		return s, stands
	}
	next := &and[0]
	where := at(0, line, next.Name.Span())
	var other *kit.Implement
	switch instrument := b.Catalogue.Implement(next.Name.Text) == nil && b.isInstrument(p, next.Name.Text); {
	case instrument && it != nil:
		b.fault(syntax.RuleSyntax, where, roomForLightStick)
		return s, stands
	case instrument && im != nil:
		it = b.itemFor(p, where, next.Name.Text)
	case instrument:
		return s, stands
	default:
		if other = b.implement(where, next.Name.Text); other == nil {
			return s, stands
		}
	}
	switch {
	case it != nil && !it.Inst.LeavesStick():
		b.fault(syntax.RuleSyntax, where, noRoomForStick, it.Inst.Name())
		return s, stands
	case other != nil && other == im:
		both := at(0, line, first.Name.Span()).Cover(where)
		two := "2 " + im.ID + "s"
		b.fault(syntax.RuleSyntax, both, twoOfOneKind, two).Readings = []syntax.Reading{{Says: "two of them", Text: two}}
		return s, stands
	}
	for _, x := range []*kit.Implement{im, other} {
		if x == nil {
			continue
		}
		if why := x.AloneBecause(); why != "" {
			b.fault(syntax.RuleValue, where, notHeldTogether, x.Name(), why)
			return s, stands
		}
	}
	if other != nil {
		return second{implement: other}, where
	}
	return second{item: it}, where
}

// twoThings says whether a hand holds one thing and another, and reports what it
// cannot.
func (b *binder) twoThings(p *Player, line int, first *syntax.Thing, and []syntax.Thing, im *kit.Implement, it *Item) bool {
	next := &and[0]
	where := at(0, line, next.Name.Span())
	switch {
	case len(and) > 1:
		b.fault(syntax.RuleSyntax, at(0, line, and[1].Name.Span()), twoThingsAtMost, len(and)+1)
	case next.Butt != nil:
		b.noEnds(line, next)
	case first.Count != nil || next.Count != nil:
		b.fault(syntax.RuleSyntax, where, twoThingsOfWhichKinds)
	case im != nil || it != nil || b.Catalogue.Implement(first.Name.Text) != nil:
		return true
	case b.isInstrument(p, first.Name.Text):
		b.fault(syntax.RuleSyntax, where, noRoomBesideInstrument)
	case first.Name.Text == "it" || first.Name.Text == "nothing":
		b.fault(syntax.RuleSyntax, where, nameBothThings, first.Name.Text)
	}
	return false // what is not known has been said
}

func (b *binder) action(p *Player, limb body.Limb, lg logical, s *syntax.LimbLine) {
	a := &Action{Limb: limb, Count: 1, Pass: lg.pass, Where: b.wholeLine(0, lg.line)}
	if !limb.IsHand() && (limb != body.AnyHand || s.Turns == nil) {
		b.fault(syntax.RuleSyntax, at(0, lg.line, s.Limb.Span()), oneHandMoves)
		return
	}
	place := s.Turns
	var moved *syntax.Moved
	switch {
	case s.Turns != nil:
		a.Kind = TurnPage
	case s.Takes != nil:
		a.Kind, moved = Take, s.Takes
	case s.Lays != nil:
		a.Kind, moved = Lay, s.Lays
	case s.Damps != nil:
		a.Kind, moved = Damp, s.Damps
		if s.With != nil {
			a.By = s.With.Text
		}
	default:
		return
	}
	if moved != nil {
		place = moved.At
	}
	if place == nil {
		b.fault(syntax.RuleSyntax, b.wholeLine(0, lg.line), changeWithoutPlace)
		return
	}
	var ok bool
	if a.At, a.Bar, ok = b.moment(0, lg.line, *place); !ok {
		return
	}
	if moved == nil || b.moves(p, a, lg.line, moved) {
		p.Actions = append(p.Actions, a)
	}
}

// moves reads what an action takes, lays or damps, and says whether that is
// known.
func (b *binder) moves(p *Player, a *Action, line int, moved *syntax.Moved) bool {
	where, name := at(0, line, moved.Thing.Name.Span()), moved.Thing.Name.Text
	b.noEnds(line, &moved.Thing)
	a.Count = b.count(line, moved.Thing.Count)
	if a.Kind == Damp {
		if a.Item = b.itemFor(p, where, name); a.Item != nil && len(moved.And) > 0 {
			b.fault(syntax.RuleSyntax, at(0, line, moved.And[0].Name.Span()), oneThingDamped)
		}
		return a.Item != nil
	}
	if name != "it" || a.Kind != Lay {
		if a.Implement = b.Catalogue.Implement(name); a.Implement == nil {
			if !b.isInstrument(p, name) {
				b.implement(where, name)
				return false
			}
			a.Item = b.itemFor(p, where, name)
		}
	}
	second, _ := b.beside(p, line, &moved.Thing, moved.And, a.Implement, a.Item)
	second.into(&a.Implement, &a.Item, &a.Beside)
	return true
}

// isInstrument says whether a name is that of a thing which the player has, or
// of one in the catalogue.
func (b *binder) isInstrument(p *Player, name string) bool {
	return p.Item(name) != nil || b.Catalogue.Resolve(name) != nil
}

// cue reads a cue, and says whether it could.
func (b *binder) cue(p *Player, limb body.Limb, lg logical, s *syntax.LimbLine) bool {
	c := b.room.cues.New()
	*c = Cue{Player: p, Limb: limb, Pass: lg.pass, From: lg.from, Where: b.wholeLine(0, lg.line), Name: at(0, lg.line, s.Cue.Name.Span()), LimbEnd: int32(s.Limb.Span().End)}
	if s.Cue.Bars == nil && s.Cue.AsWritten == nil {
		b.fault(syntax.RuleSyntax, c.Where, cueWithoutBars)
		return false
	}
	if s.Cue.Bars != nil {
		c.Where.End = int32(len(strings.TrimRight(b.Sources[0].File.Lines[lg.line].Text[:s.Cue.Bars.Pos.From], " \t")))
	}
	c.Item = b.itemFor(p, c.Name, s.Cue.Name.Text)
	if m := s.Cue.Mount; m != nil {
		c.Mount = kit.MountNamed(m.String())
		c.MountWhere = at(0, lg.line, m.Span())
	}
	if s.Cue.With != nil {
		b.strikesWith(c, lg.line, s)
	}
	if c.Item == nil {
		return false // what else the line names has been looked up all the same
	}
	b.asked(c, lg.line, s.Cue)
	b.sounds(c, lg.line, s.Cue.For)
	if !lg.fromOK || !b.plays(c, lg, s.Cue.AsWritten) {
		return false
	}
	if p.Cues == nil {
		p.Cues = b.room.cueLists.List(usualLines)
	}
	p.Cues = append(p.Cues, c)
	p.voices.add(c.Voice)
	return true
}

// strikesWith reads what a cue is played with.
func (b *binder) strikesWith(c *Cue, line int, s *syntax.LimbLine) {
	w := s.Cue.With
	c.WithWhere = at(0, line, w.Name.Span())
	im := b.implement(c.WithWhere, w.Name.Text)
	if im != nil {
		c.With = append(b.room.choices.List(1), kit.Choice{Implement: im.ID, Count: 1, Butt: b.butt(line, w, im)})
		switch {
		case c.Limb.TwoHands() && w.Count != nil:
			if c.Mallets = b.whole(at(0, line, w.Count.Span()), w.Count.Text, 1, 4); c.Mallets == 3 {
				b.fault(syntax.RuleValue, at(0, line, w.Count.Span()), malletsOfTwoHands)
			}
		default:
			c.With[0].Count = b.count(line, w.Count)
		}
		if c.With[0].Butt {
			c.WithWhere.Start = at(0, line, w.Butt.Span()).Start
		}
	}
	if len(s.Cue.And) > 0 && !c.Limb.IsHand() && c.Limb != body.AnyHand {
		b.fault(syntax.RuleSyntax, at(0, line, s.Limb.Span()), twoThingsOneHand)
		return
	}
	second, where := b.beside(c.Player, line, w, s.Cue.And, im, nil)
	if second.item != nil {
		b.fault(syntax.RuleSyntax, where, besideIsTaken, second.item.Inst.Name(), im.Name(), im.ID, second.item.Name)
	}
	c.Beside, c.AndWhere = second.implement, where
}

// share gives each hand of a cue for both what the cue is to be played with: of two
// one, or both where one hand strikes several at once; of four two.
func (c *Cue) share() {
	if c.Mallets == 0 || len(c.With) == 0 {
		return
	}
	each := 1
	if c.Mallets == 4 || c.Mallets == 2 && c.strikesTwo() {
		each = 2
	}
	if c.With[0].Count != each {
		c.With = slices.Clone(c.With)
		c.With[0].Count = each
	}
}

// strikesTwo says whether two hands cannot strike all that a cue strikes at once with
// one mallet each.
func (c *Cue) strikesTwo() bool {
	for i, s := range c.Struck {
		if n := s.Count(); n > 2 || n == 2 && i < len(c.Strokes) && c.Strokes[i].Hand != 0 {
			return true
		}
	}
	return false
}

// sounds finds which written voice a cue plays: what it stands for, or its
// instrument's own.
func (b *binder) sounds(c *Cue, line int, standsFor *syntax.Name) {
	c.Voice = c.Item.Name
	if standsFor == nil {
		if c.Item.Inst.ID != c.Item.Name && !b.writtenAs(c.Voice) {
			c.Voice = c.Item.Inst.ID
		}
		return
	}
	c.Voice = standsFor.Text
	if c.For = b.kindOf(c.Voice); c.For != nil && b.writtenAs(c.Voice) {
		return // a line of a part that has a kit's own name
	}
	c.For = b.instrument(at(0, line, standsFor.Span()), c.Voice, c.Player)
	if c.For != nil && b.Catalogue.Instrument(c.Voice) == nil {
		c.Voice = c.For.ID
	}
}

// plays reads a cue's strokes, or where they are to be taken from, and says
// whether it could.
func (b *binder) plays(c *Cue, lg logical, a *syntax.AsWritten) bool {
	if a != nil {
		c.AsWritten = true
		return b.asWritten(c, lg, a)
	}
	if !b.Grid.Has(lg.from) {
		b.noSuchBar(lg, c.Where)
		return false
	}
	w := b.expand(lg)
	c.Strokes, c.Struck, c.Words, c.To = w.strokes, w.struck, w.words, w.last
	c.share()
	return true
}
