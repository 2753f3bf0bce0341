package score

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/room"
	"example.org/handful/lang/syntax"
)

// The drums of a set that a kit places one by one.

// Member is where the n-th of a set stands, from the middle of the whole and as
// that is turned: where the text has it, else where such sets have it.
func (it *Item) Member(n int) (kit.Target, bool) {
	t, ok := it.Inst.Member(n)
	if a := it.apart(n); ok && a != nil {
		t.Right, t.Ahead = a.At.Right-it.At.Right, a.At.Ahead-it.At.Ahead
		t = t.Turned(-it.Facing)
	}
	return t, ok
}

// MemberAt is where the n-th of a set is struck.
func (it *Item) MemberAt(n int) body.Point {
	if a := it.apart(n); a != nil {
		return a.At
	}
	t, _ := it.Inst.Member(n)
	t = t.Turned(it.Facing)
	return body.Point{Right: it.At.Right + t.Right, Ahead: it.At.Ahead + t.Ahead, Up: it.At.Up}
}

// MemberWhere is the text that places the n-th of a set.
func (it *Item) MemberWhere(n int) Where {
	if a := it.apart(n); a != nil {
		return a.Where
	}
	return it.Where
}

// DescribeMember says in a sentence which of the set the n-th is, and where it stands.
func (it *Item) DescribeMember(n int) string {
	a := it.apart(n)
	if a == nil {
		return it.Inst.DescribeMember(n)
	}
	var place []string
	say := func(cm float64, plus, minus string) {
		switch v := math.Round(cm); {
		case v > 0:
			place = append(place, fmt.Sprintf("%.0f cm %s", v, plus))
		case v < 0:
			place = append(place, fmt.Sprintf("%.0f cm %s", -v, minus))
		}
	}
	say(a.At.Right, "to the right", "to the left")
	say(a.At.Ahead, "ahead", "behind")
	return it.Inst.DescribeApart(n, "placed by itself, "+cmp.Or(strings.Join(place, " and "), "where the player stands"))
}

func (it *Item) apart(n int) *Apart {
	for i := range it.Apart {
		if it.Apart[i].N == n {
			return &it.Apart[i]
		}
	}
	return nil
}

// Targets are what of a thing is to be reached: the whole, and of a set that the text
// places whole each drum that a stroke names, or where its drums are placed one by one each of
// those that something strikes. Whole says that the first is the whole.
func (p *Player) Targets(it *Item) (out []room.Target, whole bool) {
	all := p.Target(it)
	if !it.Placed || it.Inst.Row() == 0 {
		return []room.Target{all}, true
	}
	named, any := p.strikes(it)
	if whole = len(it.Apart) == 0 && any; whole {
		out = append(out, all)
	}
	for n := range named {
		if it.alone(n+1, named[n], any) {
			t := all
			at := it.MemberAt(n + 1)
			t.At.Right, t.At.Ahead = at.Right, at.Ahead
			out = append(out, t)
		}
	}
	if out == nil {
		return []room.Target{all}, true
	}
	return out, whole
}

// alone says whether one of a set is to be reached by itself: where drums are placed one
// by one, those are, since nothing says where the others stand; else what strokes name.
func (it *Item) alone(n int, named, any bool) bool {
	if len(it.Apart) > 0 {
		return it.apart(n) != nil && (named || any)
	}
	return named
}

// strikes says which of a set strokes name, and whether one is for any of it or for a
// note, of which nothing says on which drum it is.
func (p *Player) strikes(it *Item) (named []bool, any bool) {
	named = make([]bool, it.Inst.Row())
	for _, c := range p.Cues {
		if c.Item != it {
			continue
		}
		for i := range c.Strokes {
			s := c.StruckAt(i)
			if s == nil {
				any = true
				continue
			}
			for _, k := range s.Keys {
				n := k.Member(it.Inst)
				if any = any || n == 0; n > 0 {
					named[n-1] = true
				}
			}
		}
	}
	return named, any
}

// Furthest is which drum of a set, from 1, stands furthest from where it is played, of
// those that are to be reached by themselves, and how far that is in cm; 0 where only the
// whole is.
func (p *Player) Furthest(it *Item) (far int, cm float64) {
	named, any := p.strikes(it)
	st := p.Stations[it.Station].At
	for n := range named {
		if !it.Placed || !it.alone(n+1, named[n], any) {
			continue
		}
		at := it.MemberAt(n + 1)
		if d := math.Hypot(at.Right-st.Right, at.Ahead-st.Ahead); far == 0 || d > cm {
			far, cm = n+1, d
		}
	}
	return far, cm
}

// BodiesOf is the room that a thing of the player's takes; of a set whose drums stand
// each by itself that of each of them, from the first. None for what is held or worn.
func (p *Player) BodiesOf(it *Item) []room.Body {
	return it.Bodies(it.Stands, p.SpotOf(it))
}

// Bodies is the same of a thing that is fixed in some way.
func (it *Item) Bodies(mount kit.Mount, s room.Spot) (out []room.Body) {
	if len(it.Apart) == 0 {
		return room.Of(it.Inst, mount, s)
	}
	for n := range it.Inst.Row() {
		at := it.MemberAt(n + 1)
		s.At.Right, s.At.Ahead = at.Right, at.Ahead
		if b, ok := room.OfMember(it.Inst, n+1, mount, s); ok {
			out = append(out, b)
		}
	}
	return out
}

// member reads where a kit has one of a set.
func (b *binder) member(p *Player, fi, i int, s *syntax.Item) {
	set, which, _ := s.Member()
	fault := func(span syntax.Span, says string, of ...any) *Problem {
		return b.fault(syntax.RuleSyntax, at(fi, i, span), says, of...)
	}
	switch {
	case s.Bars != nil:
		fault(s.Bars.Span(), kitHasNoBars)
		return
	case s.Is != nil:
		fault(s.Is.Span(), memberIsOfSet, set.Text)
		return
	case s.Mount != nil:
		fault(s.Mount.Span(), memberFixedWithSet, set.Text)
		return
	case s.Facing != nil:
		fault(s.Facing.Span(), memberNotTurned)
		return
	}
	it, listed := b.setOf(p, fi, i, set)
	switch {
	case it == nil:
		return
	case it.Inst.Row() == 0:
		fault(s.Name.Span(), memberOfOne, it.Inst.Name())
		return
	case which.Text == "":
		fault(s.Name.Span(), memberSaysWhich, it.Inst.Name()).expects("", it.Inst.MemberWords()...)
		return
	case it.Mount == kit.Held || it.Mount == kit.OnBody:
		fault(s.Name.Span(), memberCarried, set.Text)
		return
	}
	if _, note := pitch.Parse(which.Text); note {
		if _, named := it.Inst.MemberNamed(which.Text); !named {
			fault(which.Span(), memberIsNoNote, which.Text)
			return
		}
	}
	n, lacks := it.Inst.MemberCalled(which.Text)
	if lacks != "" {
		f := fault(which.Span(), memberLacking, lacks)
		if near := kit.Meant(which.Text, it.Inst.MemberWords()); len(near) > 0 {
			f.mayMean(near...)
		}
		return
	}
	if have := it.apart(n); have != nil {
		fault(s.Name.Span(), memberTwice, it.Inst.MemberName(n)).also(have.Where, theFirstOne)
		return
	}
	pt, st, _, ok := b.spot(p, fi, i, s.Spot, false)
	if !ok {
		return
	}
	for _, step := range s.Spot.Steps {
		if to, _ := syntax.Toward(step.Dir.Text); to.Up != 0 {
			fault(step.Dir.Span().Cover(step.By.Span()), memberAsHigh, set.Text)
			return
		}
	}
	if it.Placed || len(it.Apart) > 0 {
		switch name := p.Stations[it.Station].Name; {
		case st == it.Station:
		case name == "":
			b.fault(syntax.RuleSyntax, spotSpan(fi, i, s.Spot, nil), memberBeforeYou, set.Text)
			return
		default:
			b.fault(syntax.RuleSyntax, spotSpan(fi, i, s.Spot, nil), memberAtStation, set.Text, name, name)
			return
		}
	}
	if it.Station = st; !listed {
		p.Items = append(p.Items, it)
	}
	it.Apart = append(it.Apart, Apart{N: n, At: pt, Where: b.wholeLine(fi, i), Spot: spotSpan(fi, i, s.Spot, nil)})
}

// setOf is the set of a kit that has one of its drums placed. Where the kit does not
// list it, the drums themselves say that it is there.
func (b *binder) setOf(p *Player, fi, i int, set syntax.Name) (it *Item, listed bool) {
	if it := p.Item(set.Text); it != nil {
		return it, true
	}
	in := b.instrument(at(fi, i, set.Span()), set.Text, p)
	if in == nil {
		return nil, false
	}
	if it := p.only(in); it != nil {
		return it, true
	}
	return &Item{Name: set.Text, Kind: set.Text, Inst: in, Where: b.wholeLine(fi, i), Listed: true}, false
}

// only is the one thing of a kind that goes by another name; nil where there are
// none or several.
func (p *Player) only(in *kit.Instrument) (only *Item) {
	for _, it := range p.Items {
		if it.Inst == in && it.Name != in.ID {
			if only != nil {
				return nil
			}
			only = it
		}
	}
	return only
}

// settle gives a set its place whose drums are placed one by one and which itself is
// not: the one from which those are where they usually are, as nearly as can be.
func (p *Player) settle() {
	for _, it := range p.Items {
		if len(it.Apart) == 0 {
			continue
		}
		slices.SortFunc(it.Apart, func(a, b Apart) int { return cmp.Compare(a.N, b.N) })
		if it.Placed {
			continue
		}
		it.Placed = true
		for _, a := range it.Apart {
			t, _ := it.Inst.Member(a.N)
			t = t.Turned(it.Facing)
			it.At.Right += (a.At.Right - t.Right) / float64(len(it.Apart))
			it.At.Ahead += (a.At.Ahead - t.Ahead) / float64(len(it.Apart))
		}
	}
}
