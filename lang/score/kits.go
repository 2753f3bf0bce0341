package score

import (
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
	"example.org/handful/lang/syntax"
)

// kits reads the set-ups of one file: its players' own, and the shared one.
func (b *binder) kits(fi int, byOwner map[int]*Player) {
	shared := &Player{Stations: []Station{{}}}
	b.eachInKit(fi, byOwner, shared, func(p *Player, i int, stmt syntax.Stmt) {
		// Stations first: what stands at one may be listed above it.
		p.HasKit = true
		if s, ok := stmt.(*syntax.Stand); ok && s.Word.Text == "station" {
			b.station(p, fi, i, s)
		}
	})
	b.eachInKit(fi, byOwner, shared, func(p *Player, i int, stmt syntax.Stmt) {
		switch s := stmt.(type) {
		case *syntax.Stand:
			if s.Word.Text != "station" {
				b.table(p, fi, i, s)
			}
		case *syntax.Item:
			if _, _, one := s.Member(); !one {
				b.item(p, fi, i, s)
			}
		}
	})
	b.members(fi, byOwner, shared)
	for _, it := range shared.Items {
		it.Shared = true
	}
	for _, h := range shared.Hardware {
		h.Shared = true
		for _, p := range b.Players {
			p.Hardware, p.HasKit = append(p.Hardware, h), true
		}
	}
	b.Shared = append(b.Shared, shared.Items...)
	if len(shared.Tables) == 0 && len(shared.Stations) == 1 {
		return
	}
	for _, p := range b.Players {
		if len(p.Stations) == 1 {
			p.Stations = append(p.Stations, shared.Stations[1:]...)
		}
		p.Tables = append(p.Tables, shared.Tables...)
	}
}

// members reads where single ones of a set stand. Their lines may stand above its own.
func (b *binder) members(fi int, byOwner map[int]*Player, shared *Player) {
	b.eachInKit(fi, byOwner, shared, func(p *Player, i int, stmt syntax.Stmt) {
		if s, ok := stmt.(*syntax.Item); ok {
			if _, _, one := s.Member(); one {
				b.member(p, fi, i, s)
			}
		}
	})
	b.parted = b.parted && !shared.HasKit
	shared.settle()
	for _, p := range byOwner {
		p.settle()
	}
}

// eachInKit visits the lines of a file's kits with whose kit it is. The players
// of a used file are its own affair.
func (b *binder) eachInKit(fi int, byOwner map[int]*Player, shared *Player, visit func(p *Player, i int, stmt syntax.Stmt)) {
	src := b.Sources[fi]
	for i, l := range b.eachLine(fi) {
		seat := src.Seats[i]
		if seat.Block != syntax.InKit || l.Broken {
			continue
		}
		p := shared
		if seat.Inner >= 0 {
			if p = byOwner[seat.Owner]; fi != 0 || p == nil {
				continue
			}
		}
		visit(p, i, l.Stmt)
	}
}

// table reads where a table stands.
func (b *binder) table(p *Player, fi, i int, s *syntax.Stand) {
	pt, st, raised, ok := b.spot(p, fi, i, s.Spot, false)
	if !ok {
		return
	}
	if raised {
		pt.Up -= room.TableHeight
	}
	t := Table{At: pt, Station: st, Where: b.wholeLine(fi, i)}
	t.Facing, t.Spot = b.facing(fi, i, s.Facing), spotSpan(fi, i, s.Spot, s.Facing)
	if s.Name != nil {
		b.fault(syntax.RuleSyntax, at(fi, i, s.Name.Span()), tableHasNoName)
	}
	p.Tables = append(p.Tables, t)
}

// station reads where a station is.
func (b *binder) station(p *Player, fi, i int, s *syntax.Stand) {
	if s.Name == nil {
		b.fault(syntax.RuleSyntax, b.wholeLine(fi, i), stationHasName)
		return
	}
	pt, _, _, ok := b.spot(p, fi, i, s.Spot, true)
	if !ok {
		return
	}
	if s.Facing != nil {
		b.fault(syntax.RuleSyntax, at(fi, i, s.Facing.Span()), stationNotTurned)
	}
	switch {
	case slices.ContainsFunc(p.Stations, func(have Station) bool { return have.Name == s.Name.Text }):
		b.fault(syntax.RuleSyntax, at(fi, i, s.Name.Span()), stationTwice, s.Name.Text)
	case len(p.Stations) >= 16:
		b.fault(syntax.RuleTooLarge, b.wholeLine(fi, i), stationsAtMost)
	default:
		p.Stations = append(p.Stations, Station{Name: s.Name.Text, At: pt, Where: b.wholeLine(fi, i)})
	}
}

// facing reads how far a thing is turned.
func (b *binder) facing(fi, i int, n *syntax.Num) float64 {
	if n == nil {
		return 0
	}
	v, err := strconv.ParseFloat(n.Text, 64)
	if err != nil || !(v >= 0 && v <= 360) {
		b.fault(syntax.RuleValue, at(fi, i, n.Span()), notATurn, quoteWord(n.Text)).within(0, 360)
		return 0
	}
	return v
}

// spotSpan is the text that says where a thing stands and how it is turned.
func spotSpan(fi, i int, s *syntax.Spot, facing *syntax.Num) Where {
	if s == nil {
		return Where{}
	}
	span := syntax.Span{Start: s.Pos.Offset, End: s.Pos.Offset + len("at")}
	if s.Station != nil {
		span = span.Cover(s.Station.Span())
	}
	if n := len(s.Steps); n > 0 {
		span = span.Cover(s.Steps[n-1].By.Span())
	}
	if facing != nil {
		span = span.Cover(facing.Span())
	}
	return at(fi, i, span)
}

// spot reads a place in space. Without one, a station is where the player
// stands and anything else is not placed. Up counts from the floor there, and
// raised says that it does; down counts from how high the thing usually is.
func (b *binder) spot(p *Player, fi, i int, s *syntax.Spot, absolute bool) (pt body.Point, station int, raised, ok bool) {
	if s == nil {
		b.fault(syntax.RuleSyntax, b.wholeLine(fi, i), spotSaysNothing)
		return pt, 0, false, false
	}
	if s.Station != nil {
		station = slices.IndexFunc(p.Stations, func(st Station) bool { return st.Name == s.Station.Text })
		if station < 0 || absolute {
			b.fault(syntax.RuleUnknownName, at(fi, i, s.Station.Span()), noSuchStation, quoteWord(s.Station.Text), s.Station.Text).mayMean(syntax.Nearest(s.Station.Text, p.stationsNamed()))
			return pt, 0, false, false
		}
		pt = p.Stations[station].At
	}
	for _, st := range s.Steps {
		v, err := strconv.ParseFloat(st.By.Text, 64)
		if err != nil || !(v >= 0 && v <= furthestSpot) {
			b.fault(syntax.RuleValue, at(fi, i, st.By.Span()), notADistance, quoteWord(st.By.Text)).within(0, furthestSpot)
			return pt, 0, false, false
		}
		to, ok := syntax.Toward(st.Dir.Text)
		if !ok {
			b.fault(syntax.RuleSyntax, at(fi, i, st.Dir.Span()), notADirection, quoteWord(st.Dir.Text)).expects(st.Dir.Text, syntax.Directions()...)
			return pt, 0, false, false
		}
		pt = body.Point{Right: pt.Right + v*to.Right, Ahead: pt.Ahead + v*to.Ahead, Up: pt.Up + v*to.Up}
		raised = raised || to.Up > 0
	}
	return pt, station, raised, true
}

func (p *Player) stationsNamed() []string {
	var names []string
	for _, st := range p.Stations {
		names = append(names, st.Name)
	}
	return names
}

// furthestSpot is as far as anything stands away, in cm.
const furthestSpot = 2000

func (b *binder) item(p *Player, fi, i int, s *syntax.Item) {
	where := at(fi, i, s.Name.Span())
	if s.Bars != nil {
		seat := b.Sources[fi].Seats[i]
		if l := b.Sources[fi].File.Lines[i]; seat.Inner >= 0 && s.Is == nil && s.Spot == nil {
			b.fault(syntax.RuleSyntax, b.wholeLine(fi, i), syntax.WhoPlaysThis).Readings = syntax.Limbed(strings.TrimSpace(l.Code()))
		} else {
			b.fault(syntax.RuleSyntax, at(fi, i, s.Bars.Span()), kitHasNoBars)
		}
	}
	kind, kindWhere := s.Name.Text, where
	if s.Is != nil {
		kind, kindWhere = s.Is.Text, at(fi, i, s.Is.Span())
	}
	if s.Is == nil && b.hardware(p, fi, i, s) {
		return
	}
	in := b.instrument(kindWhere, kind, p)
	if in == nil {
		return
	}
	if have := p.Item(s.Name.Text); have != nil && !have.Shared {
		b.fault(syntax.RuleSyntax, where, twiceInKit, s.Name.Text).also(have.Where, theFirstOne)
		return
	}
	it := &Item{Name: s.Name.Text, Kind: kind, Inst: in, Where: b.wholeLine(fi, i), Listed: true}
	if s.Mount != nil {
		it.Mount = kit.MountNamed(s.Mount.String())
		it.Fixed = at(fi, i, s.Mount.Span())
	}
	if s.Spot != nil {
		pt, st, raised, ok := b.spot(p, fi, i, s.Spot, false)
		if ok {
			it.At, it.Station, it.Placed, it.Raised = pt, st, true, raised
		}
		if raised {
			mount := it.Mount
			if mount == kit.AnyMount {
				mount = in.Usual().Mount
			}
			it.At.Up -= room.Height(in, mount, room.Spot{})
		}
	}
	it.Facing, it.Spot = b.facing(fi, i, s.Facing), spotSpan(fi, i, s.Spot, s.Facing)
	p.Items = append(p.Items, it)
}

// isThat says whether a thing of a player's own kit is one of the kit that everybody shares: that
// does not say where it stands, and this where it stands as the player has it, who is one of
// those who stand at it.
func (it *Item) isThat(shared *Item) bool {
	return !shared.Placed && it.Placed && it.Inst == shared.Inst && (shared.Mount == kit.AnyMount || shared.Mount == it.Mount)
}

// StandsAt says whether a player says where they have a thing of the kit that everybody shares.
func (p *Player) StandsAt(shared *Item) bool {
	it := p.Item(shared.Name)
	return it != nil && it.Shared && it.isThat(shared)
}

// hardware reads a line of a kit that names no instrument but what one is played
// with, and says whether it is one.
func (b *binder) hardware(p *Player, fi, i int, s *syntax.Item) bool {
	word := s.Name.Text
	if b.Catalogue.Instrument(word) != nil || len(b.Catalogue.Called(word)) > 0 {
		return false
	}
	name := oneOf(word, b.Catalogue.Hardware())
	if name == "" {
		return false
	}
	said := strings.ReplaceAll(name, "-", " ")
	switch {
	case name == kit.Table:
		return false
	case s.Mount != nil || s.Spot != nil || s.Facing != nil:
		b.fault(syntax.RuleSyntax, at(fi, i, s.Name.Span()), goesWhereUsed, said, name)
	case slices.ContainsFunc(p.Hardware, func(h Hardware) bool { return h.Name == name }):
		b.fault(syntax.RuleSyntax, at(fi, i, s.Name.Span()), alreadyInKit, said)
		return true
	}
	p.Hardware = append(p.Hardware, Hardware{Name: name, Where: b.wholeLine(fi, i)})
	return true
}

// instrument finds the kind of a thing, and says what else it may have meant.
// fixed is what a name may mean whose last word was to say how its instrument is
// fixed and is misspelt: it was taken for a part of the name.
func (b *binder) fixed(name string) (near []string) {
	i := strings.LastIndexByte(name, '-')
	if i < 0 {
		return nil
	}
	in := b.Catalogue.Resolve(name[:i])
	if in == nil {
		return nil
	}
	var mounts []string
	for _, w := range in.Ways {
		if w.Mount != kit.AnyMount {
			mounts = append(mounts, w.Mount.String())
		}
	}
	if m := syntax.Nearest(name[i+1:], mounts); m != "" {
		near = append(near, name[:i]+" "+m)
	}
	return near
}

// known says whether something goes by a name.
func (b *binder) known(name string, p *Player) bool {
	return b.Catalogue.Resolve(name) != nil || p != nil && p.Item(name) != nil
}

func (b *binder) instrument(where Where, name string, p *Player) *kit.Instrument {
	if in := b.Catalogue.Resolve(name); in != nil {
		if in.ID != name && strings.ContainsAny(name, ".") {
			b.fault(syntax.RuleUnclearName, where, nameTakenFor, quoteWord(name), in.Name(), in.ID)
		}
		return in
	}
	if all := b.Catalogue.Called(name); len(all) > 1 {
		var ids []string
		for _, in := range all {
			ids = append(ids, in.ID)
		}
		b.fault(syntax.RuleUnclearName, where, nameMayBe, quoteWord(name), strings.Join(ids, " or "))
		return all[0]
	}
	if set, which, one := strings.Cut(name, string(syntax.MemberMark)); one && which != "" && b.known(set, p) {
		b.fault(syntax.RuleUnknownName, where, memberElsewhere, set, which).mayMean(set)
		return nil
	}
	ids := b.Catalogue.InstrumentIDs()
	if p != nil {
		for _, it := range p.Items {
			ids = append(ids, it.Name)
		}
	}
	near := kit.Meant(name, ids)
	if r := b.Catalogue.Read(name, kit.Alone); len(r.Kinds) > 0 { // as a part writes it
		near = nil
		for _, in := range r.Kinds {
			near = append(near, in.ID)
		}
	}
	if len(near) == 0 {
		near = b.fixed(name)
	}
	if len(near) == 0 {
		b.fault(syntax.RuleUnknownName, where, defineOne, quoteWord(name), name).Defines = Definition{"instrument", name}
		return nil
	}
	b.fault(syntax.RuleUnknownName, where, noSuchInstrument, quoteWord(name)).mayMean(near...)
	return nil
}

// itemFor finds the thing that a name means to a player, adding it to the
// set-up when the catalogue has it and no kit does.
func (b *binder) itemFor(p *Player, where Where, name string) *Item {
	if it := p.Item(name); it != nil {
		it.Used = true
		return it
	}
	if in := b.Catalogue.Resolve(name); in != nil {
		if only := p.only(in); only != nil {
			only.Used = true
			return only
		}
		if it := p.Item(in.ID); it != nil {
			it.Used = true
			return it
		}
	}
	in := b.instrument(where, name, p)
	if in == nil {
		return nil
	}
	it := &Item{Name: name, Inst: in, Used: true, Where: where}
	p.Items = append(p.Items, it)
	return it
}
