package score

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"handful/lang/beat"
	"handful/lang/body"
	"handful/lang/kit"
	"handful/lang/syntax"
)

// parts opens every part.
func (b *binder) parts() {
	for fi, src := range b.Sources {
		for i, l := range src.File.Lines {
			s, ok := l.Stmt.(*syntax.Part)
			if !ok || s.Name.Text == "" {
				continue
			}
			where := at(fi, i, s.Name.Span())
			p := b.part(s.Name.Value())
			if p == nil {
				p = &Part{Name: s.Name.Value(), Where: where}
				b.Parts = append(b.Parts, p)
			}
			if s.In != nil {
				p.Elsewhere = s.In.Value()
				b.fault("use", at(fi, i, s.In.Span()), "this version reads written parts in the notation only: write what %s holds as lines below", syntax.Quote(p.Elsewhere))
			}
		}
	}
}

func (b *binder) part(name string) *Part {
	for _, p := range b.Parts {
		if p.Name == name {
			return p
		}
	}
	return nil
}

// players opens every player and reads the set-ups.
func (b *binder) players() {
	src := b.Sources[0]
	byOwner := map[int]*Player{}
	for i, l := range src.File.Lines {
		s, ok := l.Stmt.(*syntax.Player)
		if !ok || s.Name.Text == "" {
			continue
		}
		name := s.Name.Value()
		p := b.Player(name)
		if p == nil {
			p = &Player{Name: name, Profile: body.Experienced(), Where: at(0, i, s.Name.Span()), Stations: []Station{{}}}
			b.Players = append(b.Players, p)
		}
		byOwner[i] = p
	}
	for fi := range b.Sources {
		b.kits(fi, byOwner)
	}
	for _, p := range b.Players {
		for _, it := range b.shared {
			if p.Item(it.Name) == nil {
				copied := *it
				p.Items = append(p.Items, &copied)
				p.HasKit = true
			}
		}
	}
	for i, l := range src.File.Lines {
		p := byOwner[src.Seats[i].Owner]
		if p == nil || l.Broken || src.Seats[i].Block != syntax.InPlayer {
			continue
		}
		switch s := l.Stmt.(type) {
		case *syntax.Profile:
			b.profile(p, i, s)
		case *syntax.Setting:
			b.setting(p, i, s)
		}
	}
	b.byOwner(byOwner)
}

// Player finds a player by name.
func (s *Score) Player(name string) *Player {
	for _, p := range s.Players {
		if p.Name == name {
			return p
		}
	}
	return nil
}

// Item finds an instrument of the player's set-up by its name there.
func (p *Player) Item(name string) *Item {
	for _, it := range p.Items {
		if it.Name == name {
			return it
		}
	}
	return nil
}

func (b *binder) profile(p *Player, line int, s *syntax.Profile) {
	pr, ok := body.ProfileNamed(s.Name.Text)
	if !ok {
		b.fault("value", at(0, line, s.Name.Span()), "there is no profile %s: %s", quoteWord(s.Name.Text), strings.Join(body.ProfileNames(), ", "))
		return
	}
	p.Profile = pr
	for k := range s.Settings {
		b.setting(p, line, &s.Settings[k])
	}
}

func (b *binder) setting(p *Player, line int, s *syntax.Setting) {
	v, err := strconv.ParseFloat(s.Value.Text, 64)
	where := at(0, line, s.Value.Span())
	check := func(least, most float64, what string) bool {
		if err != nil || !(v >= least && v <= most) {
			b.fault("value", where, "%s is %s: from %g to %g", s.Word.Text, what, least, most)
			return false
		}
		return true
	}
	switch s.Word.Text {
	case "reach":
		if check(20, 120, "how far the player reaches, in centimetres") {
			p.Profile.Lean += v - p.Profile.Reach
			p.Profile.Reach = v
		}
	case "fastest":
		if check(1, 20, "the most strokes a second of one hand") {
			p.Profile.Fastest = v
		}
	case "margin":
		if check(0.5, 5, "how many times the steady time a change should have") {
			p.Profile.Margin = v
		}
	default:
		b.fault("syntax", at(0, line, s.Word.Span()), "%s is not a setting: reach, fastest, margin", quoteWord(s.Word.Text))
	}
}

// kits reads the set-ups of one file: its players' own, and the shared one.
func (b *binder) kits(fi int, byOwner map[int]*Player) {
	src := b.Sources[fi]
	shared := &Player{Stations: []Station{{}}}
	ownerOf := func(i int) *Player {
		seat := src.Seats[i]
		if seat.Inner >= 0 {
			if fi != 0 {
				return nil // the players of a used file are its own affair
			}
			return byOwner[seat.Owner]
		}
		return shared
	}
	// Stations first: what stands at one may be listed above it.
	for pass := range 2 {
		for i, l := range src.File.Lines {
			if src.Seats[i].Block != syntax.InKit || l.Broken {
				continue
			}
			p := ownerOf(i)
			if p == nil {
				continue
			}
			p.HasKit = true
			switch s := l.Stmt.(type) {
			case *syntax.Stand:
				b.stand(p, fi, i, s, pass)
			case *syntax.Item:
				if pass == 1 {
					b.item(p, fi, i, s)
				}
			}
		}
	}
	for _, it := range shared.Items {
		it.Shared = true
	}
	b.shared = append(b.shared, shared.Items...)
	if len(shared.Tables) > 0 || len(shared.Stations) > 1 {
		for _, p := range b.Players {
			if len(p.Stations) == 1 {
				p.Stations = append(p.Stations, shared.Stations[1:]...)
			}
			p.Tables = append(p.Tables, shared.Tables...)
		}
	}
}

func (b *binder) stand(p *Player, fi, i int, s *syntax.Stand, pass int) {
	station := s.Word.Text == "station"
	if station != (pass == 0) {
		return
	}
	if station && s.Name == nil {
		b.fault("syntax", b.wholeLine(fi, i), "a station has a name: station timps at right 180 behind 40")
		return
	}
	pt, st, ok := b.spot(p, fi, i, s.Spot, station)
	if !ok {
		return
	}
	if !station {
		if s.Name != nil {
			b.fault("syntax", at(fi, i, s.Name.Span()), "a table has no name: table at [STATION] right 20 ahead 40")
		}
		p.Tables = append(p.Tables, Table{At: pt, Station: st, Where: b.wholeLine(fi, i)})
		return
	}
	for _, have := range p.Stations {
		if have.Name == s.Name.Text {
			b.fault("syntax", at(fi, i, s.Name.Span()), "station %s is already there", s.Name.Text)
			return
		}
	}
	if len(p.Stations) >= 16 {
		b.fault("too-large", b.wholeLine(fi, i), "a player has at most 16 stations")
		return
	}
	p.Stations = append(p.Stations, Station{Name: s.Name.Text, At: pt, Where: b.wholeLine(fi, i)})
}

// spot reads a place in space. Without one, a station is where the player
// stands and anything else is not placed.
func (b *binder) spot(p *Player, fi, i int, s *syntax.Spot, absolute bool) (pt body.Point, station int, ok bool) {
	if s == nil {
		b.fault("syntax", b.wholeLine(fi, i), "this says nothing of where it stands: at right 20 ahead 40, in centimetres")
		return pt, 0, false
	}
	if s.Station != nil {
		station = slices.IndexFunc(p.Stations, func(st Station) bool { return st.Name == s.Station.Text })
		if station < 0 || absolute {
			b.fault("unknown-name", at(fi, i, s.Station.Span()), "there is no station %s: add  station %s at right 180", quoteWord(s.Station.Text), s.Station.Text)
			return pt, 0, false
		}
		pt = p.Stations[station].At
	}
	for _, st := range s.Steps {
		v, err := strconv.ParseFloat(st.By.Text, 64)
		if err != nil || !(v >= 0 && v <= 2000) {
			b.fault("value", at(fi, i, st.By.Span()), "%s is not a distance in centimetres, 0 to 2000", quoteWord(st.By.Text))
			return pt, 0, false
		}
		switch st.Dir.Text {
		case "right":
			pt.Right += v
		case "left":
			pt.Right -= v
		case "ahead":
			pt.Ahead += v
		case "behind":
			pt.Ahead -= v
		case "up":
			pt.Up += v
		case "down":
			pt.Up -= v
		default:
			b.fault("syntax", at(fi, i, st.Dir.Span()), "%s is not a direction: right, left, ahead, behind, up, down", quoteWord(st.Dir.Text))
			return pt, 0, false
		}
	}
	return pt, station, true
}

func (b *binder) item(p *Player, fi, i int, s *syntax.Item) {
	where := at(fi, i, s.Name.Span())
	if s.Bars != nil {
		b.fault("syntax", at(fi, i, s.Bars.Span()), "a kit says what stands where; bars belong under a part, or behind a limb")
	}
	kind, kindWhere := s.Name.Text, where
	if s.Is != nil {
		kind, kindWhere = s.Is.Text, at(fi, i, s.Is.Span())
	}
	in := b.instrument(kindWhere, kind, p)
	if in == nil {
		return
	}
	if have := p.Item(s.Name.Text); have != nil && !have.Shared {
		pr := b.fault("syntax", where, "%s is already in this kit: a second one needs a name of its own, as in  high-block is woodblock", s.Name.Text)
		pr.Related = []Note{{have.Where, "the first one"}}
		return
	}
	it := &Item{Name: s.Name.Text, Inst: in, Where: b.wholeLine(fi, i), Listed: true}
	if s.Mount != nil {
		it.Mount = kit.MountNamed(s.Mount.String())
	}
	if s.Spot != nil {
		pt, st, ok := b.spot(p, fi, i, s.Spot, false)
		if ok {
			it.At, it.Station, it.Placed = pt, st, true
		}
	}
	p.Items = append(p.Items, it)
}

// instrument finds the kind of a thing, and says what else it may have meant.
func (b *binder) instrument(where Where, name string, p *Player) *kit.Instrument {
	if in := b.Catalogue.Resolve(name); in != nil {
		if in.ID != name && strings.ContainsAny(name, ".") {
			b.fault("unclear-name", where, "%s is taken for %s: write %s", quoteWord(name), in.Name(), in.ID)
		}
		return in
	}
	if all := b.Catalogue.Called(name); len(all) > 1 {
		var ids []string
		for _, in := range all {
			ids = append(ids, in.ID)
		}
		b.fault("unclear-name", where, "%s may be %s: write which", quoteWord(name), strings.Join(ids, " or "))
		return all[0]
	}
	var ids []string
	for _, in := range b.Catalogue.Instruments() {
		ids = append(ids, in.ID)
	}
	if p != nil {
		for _, it := range p.Items {
			ids = append(ids, it.Name)
		}
	}
	near := kit.Nearest(name, ids)
	hint := didYouMean(near)
	if near == "" {
		hint = "; the catalogue is shown by  handful instruments, and an  instrument " + name + "  block defines one of your own"
	}
	b.fault("unknown-name", where, "no instrument is called %s%s", quoteWord(name), hint)
	return nil
}

// byOwner reads every player's holds, cues and actions.
func (b *binder) byOwner(players map[int]*Player) {
	src := b.Sources[0]
	for k := range b.bound {
		lg := &b.bound[k]
		if lg.file != 0 {
			continue
		}
		l := src.File.Lines[lg.line]
		p := players[src.Seats[lg.line].Owner]
		s, ok := l.Stmt.(*syntax.LimbLine)
		if !ok || p == nil || l.Broken || src.Seats[lg.line].Block != syntax.InPlayer {
			continue
		}
		limb, ok := limbNamed(s.Limb.Text)
		if !ok {
			continue
		}
		switch {
		case s.Holds != nil:
			b.holds(p, limb, lg.line, s)
		case s.Cue != nil:
			b.cue(p, limb, *lg, s)
		default:
			b.action(p, limb, *lg, s)
		}
	}
	for _, p := range b.Players {
		slices.SortStableFunc(p.Actions, func(x, y *Action) int { return x.At.Cmp(y.At) })
	}
	if len(b.opt.Without) > 0 {
		b.Players = slices.DeleteFunc(b.Players, func(p *Player) bool { return slices.Contains(b.opt.Without, p.Name) })
	}
}

func limbNamed(word string) (Limb, bool) {
	if word == "L+R" {
		word = "R+L"
	}
	i := slices.Index(limbWords[:], word)
	return Limb(max(0, i)), i >= 0
}

// itemFor finds the thing that a name means to a player, adding it to the
// set-up when the catalogue has it and no kit does.
func (b *binder) itemFor(p *Player, where Where, name string) *Item {
	if it := p.Item(name); it != nil {
		it.Used = true
		return it
	}
	var only *Item
	if in := b.Catalogue.Resolve(name); in != nil {
		for _, it := range p.Items {
			if it.Inst == in && it.Name != in.ID {
				if only != nil {
					only = nil
					break
				}
				only = it
			}
		}
		if only != nil {
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

func (b *binder) count(line int, n *syntax.Num) int {
	if n == nil {
		return 1
	}
	return b.whole(at(0, line, n.Span()), n.Text, 1, 2)
}

func (b *binder) holds(p *Player, limb Limb, line int, s *syntax.LimbLine) {
	where := at(0, line, s.Holds.Name.Span())
	if limb != Right && limb != Left {
		b.fault("syntax", at(0, line, s.Limb.Span()), "one hand holds: write R holds or L holds")
		return
	}
	h := Hold{Said: true, Count: b.count(line, s.Holds.Count), Where: where}
	if name := s.Holds.Name.Text; name != "nothing" {
		if h.Implement = b.Catalogue.Implement(name); h.Implement == nil {
			if p.Item(name) == nil && b.Catalogue.Resolve(name) == nil {
				b.implement(where, name)
				return
			}
			h.Inst = b.itemFor(p, where, name)
		}
	}
	if p.Holds[limb].Said {
		pr := b.fault("syntax", b.wholeLine(0, line), "%s already says what the %s holds at the start; later changes are takes and lays", p.Name, limb.Name())
		pr.Related = []Note{{p.Holds[limb].Where, "here"}}
		return
	}
	p.Holds[limb] = h
}

func (b *binder) action(p *Player, limb Limb, lg logical, s *syntax.LimbLine) {
	a := &Action{Limb: limb, Count: 1, Pass: lg.pass, Where: b.wholeLine(0, lg.line)}
	if !limb.IsHand() && (limb != AnyHand || s.Turns == nil) {
		b.fault("syntax", at(0, lg.line, s.Limb.Span()), "one hand takes, lays, damps or turns: write R or L")
		return
	}
	var place *syntax.Atom
	var thing *syntax.Thing
	switch {
	case s.Turns != nil:
		a.Kind, place = TurnPage, s.Turns
	case s.Takes != nil:
		a.Kind, place, thing = Take, s.Takes.At, &s.Takes.Thing
	case s.Lays != nil:
		a.Kind, place, thing = Lay, s.Lays.At, &s.Lays.Thing
	case s.Damps != nil:
		a.Kind, place, thing = Damp, s.Damps.At, &s.Damps.Thing
		if s.With != nil {
			a.By = s.With.Text
		}
	default:
		return
	}
	if place == nil {
		b.fault("syntax", b.wholeLine(0, lg.line), "this change needs its place: … at 12.3")
		return
	}
	var ok bool
	if a.At, a.Bar, ok = b.moment(0, lg.line, *place); !ok {
		return
	}
	if thing != nil {
		where := at(0, lg.line, thing.Name.Span())
		name := thing.Name.Text
		a.Count = b.count(lg.line, thing.Count)
		switch {
		case a.Kind == Damp:
			if a.Item = b.itemFor(p, where, name); a.Item == nil {
				return
			}
		case name == "it" && a.Kind == Lay:
		default:
			if a.Implement = b.Catalogue.Implement(name); a.Implement == nil {
				if p.Item(name) == nil && b.Catalogue.Resolve(name) == nil {
					b.implement(where, name)
					return
				}
				a.Item = b.itemFor(p, where, name)
			}
		}
	}
	p.Actions = append(p.Actions, a)
}

func (b *binder) cue(p *Player, limb Limb, lg logical, s *syntax.LimbLine) {
	c := &Cue{Player: p, Limb: limb, Pass: lg.pass, From: lg.from, Where: b.wholeLine(0, lg.line), Name: at(0, lg.line, s.Cue.Name.Span())}
	if s.Cue.Bars == nil && s.Cue.AsWritten == nil {
		b.fault("syntax", c.Where, "this cue plays nothing yet: put its bars behind it, | 1 2 |, or  as written")
		return
	}
	if s.Cue.Bars != nil {
		c.Where.End = int32(len(strings.TrimRight(b.Sources[0].File.Lines[lg.line].Text[:s.Cue.Bars.Pos.Offset], " \t")))
	}
	if c.Item = b.itemFor(p, c.Name, s.Cue.Name.Text); c.Item == nil {
		return
	}
	if m := s.Cue.Mount; m != nil {
		c.Mount = kit.MountNamed(m.String())
		c.MountWhere = at(0, lg.line, syntax.Span{Start: m.Pos.Offset, End: m.Pos.Offset + len(m.String())})
	}
	if w := s.Cue.With; w != nil {
		c.WithWhere = at(0, lg.line, w.Name.Span())
		im := b.implement(c.WithWhere, w.Name.Text)
		if im != nil {
			c.With = []kit.Choice{{Implement: im.ID, Count: b.count(lg.line, w.Count)}}
		}
	}
	c.Voice = c.Item.Name
	if f := s.Cue.For; f != nil {
		c.Voice = f.Text
		if c.For = b.instrument(at(0, lg.line, f.Span()), f.Text, p); c.For != nil {
			if b.Catalogue.Instrument(f.Text) == nil {
				c.Voice = c.For.ID
			}
		}
	} else if c.Item.Inst.ID != c.Item.Name && !b.writtenAs(c.Voice) {
		c.Voice = c.Item.Inst.ID
	}
	if !lg.fromOK {
		return
	}
	if a := s.Cue.AsWritten; a != nil {
		c.AsWritten = true
		b.asWritten(c, lg, a)
	} else {
		if !b.Grid.Has(lg.from) {
			b.fault("unknown-place", c.Where, "these bars begin at bar %d: the piece has bars %d to %d", lg.from, b.Grid.First(), b.Grid.Last())
			return
		}
		c.Strokes, c.Words, c.To = b.expand(lg)
	}
	p.Cues = append(p.Cues, c)
}

// writtenAs says whether some part has a line of that very name.
func (b *binder) writtenAs(name string) bool {
	if b.names == nil {
		b.names = map[string]bool{}
		for k := range b.bound {
			lg := &b.bound[k]
			src := b.Sources[lg.file]
			if s, ok := src.File.Lines[lg.line].Stmt.(*syntax.Item); ok && src.Seats[lg.line].Block == syntax.InPart {
				b.names[s.Name.Text] = true
			}
		}
	}
	return b.names[name]
}

// written expands the lines of the parts, then fills in the cues that take
// their strokes from them.
func (b *binder) written() {
	for k := range b.bound {
		lg := b.bound[k]
		src := b.Sources[lg.file]
		l := src.File.Lines[lg.line]
		s, ok := l.Stmt.(*syntax.Item)
		if !ok || l.Broken || src.Seats[lg.line].Block != syntax.InPart {
			continue
		}
		opener, _ := src.File.Lines[src.Seats[lg.line].Owner].Stmt.(*syntax.Part)
		if opener == nil || opener.Name.Text == "" {
			continue
		}
		part := b.part(opener.Name.Value())
		where := at(lg.file, lg.line, s.Name.Span())
		if s.Is != nil || s.Mount != nil || s.Spot != nil {
			b.fault("syntax", b.wholeLine(lg.file, lg.line), "a part says what is written; what it is and where it stands belongs under  kit")
		}
		if s.Bars == nil {
			b.fault("syntax", b.wholeLine(lg.file, lg.line), "this line has no bars: %s | 1 2 |", s.Name.Text)
			continue
		}
		in := b.kindOf(s.Name.Text)
		if in == nil {
			if in = b.instrument(where, s.Name.Text, nil); in == nil {
				continue
			}
		}
		if !lg.fromOK {
			continue
		}
		if !b.Grid.Has(lg.from) {
			b.fault("unknown-place", where, "these bars begin at bar %d: the piece has bars %d to %d", lg.from, b.Grid.First(), b.Grid.Last())
			continue
		}
		line := &Line{Part: part, Name: b.voice(s.Name.Text, in), Inst: in, From: lg.from, Where: where}
		line.Strokes, line.Words, line.To = b.expand(lg)
		line.covered = make([]uint64, len(line.Strokes))
		part.Lines = append(part.Lines, line)
	}
	b.lines = indexLines(b.Parts)
	for _, p := range b.Players {
		for _, c := range p.Cues {
			if c.AsWritten {
				b.fill(c)
			}
		}
	}
}

// kindOf finds what a name means in any kit of the piece.
func (b *binder) kindOf(name string) *kit.Instrument {
	for _, it := range b.shared {
		if it.Name == name {
			return it.Inst
		}
	}
	for _, p := range b.Players {
		if it := p.Item(name); it != nil {
			return it.Inst
		}
	}
	return nil
}

// voice is the name that coverage goes by: the item's, or the kind's id.
func (b *binder) voice(name string, in *kit.Instrument) string {
	if b.Catalogue.Instrument(name) == nil && in.ID != name && b.kindOf(name) == nil {
		return in.ID // written by an abbreviation or another name
	}
	return name
}

// asWritten notes what a cue takes from the parts; fill does it, once the
// parts are there.
func (b *binder) asWritten(c *Cue, lg logical, a *syntax.AsWritten) {
	c.To = b.Grid.Last()
	if lg.next > 0 {
		c.To = lg.next - 1
	}
	if a.In != nil {
		from, to, ok := b.span(0, lg.line, *a.In)
		if !ok {
			return
		}
		c.From, c.To = from, to
	}
	if a.Of != nil {
		c.Of = a.Of.Value()
		if b.part(c.Of) == nil {
			var names []string
			for _, p := range b.Parts {
				names = append(names, syntax.Quote(p.Name))
			}
			b.fault("unknown-name", at(0, lg.line, a.Of.Span()), "there is no part %s; there is %s", syntax.Quote(c.Of), strings.Join(append(names, "nothing else")[:max(1, len(names))], ", "))
			return
		}
	}
	for _, n := range a.On {
		if _, ok := syntax.ParseCount(n.Text); !ok {
			b.fault("count", at(0, lg.line, n.Span()), "%s is not a count: write  on 1 3", quoteWord(n.Text))
		}
	}
}

func (b *binder) fill(c *Cue) {
	l := b.Sources[0].File.Lines[c.Where.Line]
	s := l.Stmt.(*syntax.LimbLine).Cue.AsWritten
	var only []beat.Count
	for _, n := range s.On {
		if cnt, ok := syntax.ParseCount(n.Text); ok {
			only = append(only, cnt)
		}
	}
	from, to := b.Grid.Start(c.From), b.Grid.Start(c.To+1)
	sources := 0
	for _, line := range b.lines.overlapping(c.Voice, c.From, c.To) {
		if c.Of != "" && line.Part.Name != c.Of {
			continue
		}
		first, _ := slices.BinarySearchFunc(line.Strokes, from, func(s Stroke, r beat.Rat) int { return s.At.Cmp(r) })
		took := false
		for i := first; i < len(line.Strokes) && line.Strokes[i].At.Less(to); i++ {
			st := line.Strokes[i]
			if len(only) > 0 {
				_, cnt := b.Grid.Place(st.At)
				if !slices.Contains(only, cnt) {
					continue
				}
			}
			st.Where = c.Where
			st.Hand = 0
			c.Strokes = append(c.Strokes, st)
			took = true
		}
		for _, w := range line.Words {
			if !w.At.Less(from) && w.At.Less(to) {
				c.Words = append(c.Words, w)
			}
		}
		if took {
			sources++
		}
	}
	if sources > 1 {
		slices.SortStableFunc(c.Strokes, func(x, y Stroke) int { return x.At.Cmp(y.At) })
		c.Strokes = slices.CompactFunc(c.Strokes, func(x, y Stroke) bool { return x.At == y.At && x.Has(Stop) == y.Has(Stop) })
	}
	if len(c.Strokes) == 0 {
		where := fmt.Sprintf("from bar %d to bar %d", c.From, c.To)
		if c.To <= c.From {
			where = fmt.Sprintf("in bar %d", c.From)
		}
		b.fault("unused", c.Where, "nothing is written for %s %s, so this cue plays nothing", c.Voice, where)
	}
}

// shelf places what the text leaves unplaced, in an arc before the player in
// the order of first use, and gives every player a table.
func (b *binder) shelf() {
	for _, p := range b.Players {
		if len(p.Tables) == 0 {
			p.Tables = []Table{{At: body.Point{Right: 20, Ahead: 40}, Assumed: true}}
		}
		for si := 1; si < len(p.Stations); si++ {
			has := slices.ContainsFunc(p.Tables, func(t Table) bool { return t.Station == si })
			if !has {
				at := p.Stations[si].At
				at.Right += 20
				at.Ahead += 40
				p.Tables = append(p.Tables, Table{At: at, Station: si, Assumed: true})
			}
		}
		var loose []*Item
		for _, it := range p.Items {
			if !it.Placed && it.Used {
				loose = append(loose, it)
			}
		}
		for i, it := range loose {
			it.At = arc(i, len(loose))
		}
	}
}

// The arc on which instruments are assumed to stand: common practice, no
// source. Up to seven stand a hand's breadth apart within easy reach.
const (
	arcRadius  = 50.0
	arcSpacing = 32.0
)

// arc is the place of the i-th of n instruments: the first straight ahead,
// the next ones to its left and right in turn.
func arc(i, n int) body.Point {
	radius := min(70, max(arcRadius, float64(n-1)*arcSpacing/math.Pi))
	step := min(arcSpacing/radius, math.Pi/float64(max(1, n-1)))
	slot := float64((i + 1) / 2)
	if i%2 == 1 {
		slot = -slot
	}
	angle := slot * step
	return body.Point{Right: math.Round(radius * math.Sin(angle)), Ahead: math.Round(radius * math.Cos(angle))}
}
