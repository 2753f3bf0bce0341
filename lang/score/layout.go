package score

import (
	"math"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
)

// SpotOf is where a thing of the player's is struck.
func (p *Player) SpotOf(it *Item) room.Spot {
	s := room.Spot{At: it.At, Turn: it.Facing, Raised: it.Raised, Seated: p.Person.Seated}
	if it.Station < len(p.Stations) {
		s.You = p.Stations[it.Station].At
	}
	return s
}

// Arms are the player's.
func (p *Player) Arms() room.Arms { return room.ArmsOf(p.Profile, p.Person.Seated) }

// Target is what of a thing is to be struck.
func (p *Player) Target(it *Item) room.Target {
	at := it.At
	at.Up = room.Height(it.Inst, it.Stands, p.SpotOf(it))
	return room.Target{At: at, Zone: it.Inst.Zone}
}

// shelf places what the text leaves unplaced, before the player in the order
// of first use, where nothing stands in anything else and hands reach it, and
// gives every player a table.
func (b *binder) shelf() {
	for _, p := range b.Players {
		b.layOut(p)
	}
}

func (b *binder) layOut(p *Player) {
	l := layoutOf(p)
	l.fixed(b.Catalogue)
	if b.opt.Earlier == nil || !l.asBefore(b.opt.Earlier.Player(p.Name)) {
		l.place()
	}
}

// LayOut places what a player uses and nobody has placed, as it is done for a text
// that does not say where things stand; as one of some was laid out, where all that decides it
// is the same.
func (p *Player) LayOut(catalogue *kit.Catalogue, earlier []*Player) (same bool) {
	l := layoutOf(p)
	l.fixed(catalogue)
	if slices.ContainsFunc(earlier, l.asBefore) {
		return true
	}
	l.place()
	return false
}

func layoutOf(p *Player) *layout {
	l := &layout{p: p, arms: p.Arms()}
	l.gather()
	return l
}

// A layout places the things of one player.
type layout struct {
	p      *Player
	arms   room.Arms
	pieces []piece
	bodies []room.Body // what stands
}

// A piece is one thing to be laid out, or that stands where the text says.
type piece struct {
	it     *Item
	hands  uint8 // that play it: 1 the right, 2 the left
	feet   bool
	bodies []room.Body
	stands bool
}

// gather lists the things that take part, with who plays them.
func (l *layout) gather() {
	for _, it := range l.p.Items {
		if it.Placed || it.Used {
			l.pieces = append(l.pieces, piece{it: it})
		}
	}
	for _, c := range l.p.Cues {
		pc := l.of(c.Item)
		if pc == nil {
			continue
		}
		switch c.Limb {
		case body.Right:
			pc.hands |= 1
		case body.Left:
			pc.hands |= 2
		case body.RightFoot, body.LeftFoot:
			pc.feet = true
		case body.Mouth:
		default:
			pc.hands |= 3
		}
	}
}

func (l *layout) of(it *Item) *piece {
	for i := range l.pieces {
		if l.pieces[i].it == it {
			return &l.pieces[i]
		}
	}
	return nil
}

// fixed says of every thing how it is fixed where it stands, held only where
// no cue has it stand, and how long what strikes it is.
func (l *layout) fixed(catalogue *kit.Catalogue) {
	for i := range l.pieces {
		it := l.pieces[i].it
		it.Stands, it.Stick = it.Mount, room.Stick(nil)
	}
	stick := func(it *Item, ch kit.Choice) {
		it.Stick = max(it.Stick, room.Stick(catalogue.Implement(ch.Implement)))
	}
	for _, c := range l.p.Cues {
		it := c.Item
		if m := c.SaidMount(); it.Mount == kit.AnyMount && m != kit.AnyMount && (it.Stands == kit.AnyMount || it.Stands == kit.Held) {
			it.Stands = m
		}
		if len(c.With) > 0 {
			stick(it, c.With[0])
		}
	}
	for i := range l.pieces {
		it := l.pieces[i].it
		if it.Stands == kit.AnyMount {
			it.Stands = it.Inst.Usual().Mount
		}
		for _, w := range it.Inst.Ways {
			if w.Mount == it.Stands && w.Limb == kit.Hand && len(w.With) > 0 {
				stick(it, w.With[0])
				break
			}
		}
	}
}

// asBefore takes over where things were before an edit that changed nothing
// of what decides it.
func (l *layout) asBefore(old *Player) bool {
	p := l.p
	if old == nil || old.Profile != p.Profile || old.Person.Seated != p.Person.Seated || !slices.EqualFunc(old.Stations, p.Stations, func(a, b Station) bool { return a.At == b.At }) {
		return false
	}
	was := layout{p: old}
	was.gather()
	if !slices.EqualFunc(was.pieces, l.pieces, func(a, b piece) bool {
		return a.it.Inst == b.it.Inst && a.it.Placed == b.it.Placed && a.it.Stands == b.it.Stands && a.hands == b.hands && a.feet == b.feet &&
			(!a.it.Placed || a.it.At == b.it.At && a.it.Facing == b.it.Facing && a.it.Station == b.it.Station && a.it.Raised == b.it.Raised && a.it.SamePlaces(b.it))
	}) {
		return false
	}
	said := 0 // tables that the text has
	for _, t := range old.Tables {
		if !t.Assumed {
			said++
		}
	}
	if said != len(p.Tables) {
		return false
	}
	for i, t := range p.Tables {
		if o := old.Tables[i]; o.At != t.At || o.Station != t.Station || o.Facing != t.Facing {
			return false
		}
	}
	p.Tables = append(p.Tables, old.Tables[said:]...)
	for i := range l.pieces {
		if it, o := l.pieces[i].it, was.pieces[i].it; !it.Placed {
			it.At, it.Facing, it.NoRoom = o.At, o.Facing, o.NoRoom
		}
	}
	return true
}

func (l *layout) place() {
	if !l.said() {
		l.findPlaces()
		return
	}
	for i := range l.pieces {
		if it := l.pieces[i].it; !it.Placed {
			it.At = body.Point{Ahead: body.HandsAhead}
		}
	}
}

func (l *layout) findPlaces() {
	for i := range l.pieces {
		if pc := &l.pieces[i]; pc.it.Placed {
			pc.bodies = l.p.BodiesOf(pc.it)
			pc.stands = len(pc.bodies) > 0 && len(pc.it.Apart) == 0
			l.bodies = append(l.bodies, pc.bodies...)
		}
	}
	for _, t := range l.p.Tables {
		l.bodies = append(l.bodies, room.Table(t.At, t.Facing))
	}
	n := 0
	for i := range l.pieces {
		if l.pieces[i].loose() {
			n++
		}
	}
	k := 0
	for i := range l.pieces {
		pc := &l.pieces[i]
		switch {
		case pc.it.Placed:
		case !pc.loose():
			pc.it.At = body.Point{Ahead: body.HandsAhead}
		default:
			l.find(pc, arc(k, n))
			if k == 0 {
				l.tables()
			}
			k++
		}
	}
	if k == 0 {
		l.tables()
	}
}

// said says whether the text says of all that stands where that is.
func (l *layout) said() bool {
	for si := range l.p.Stations {
		if l.lacksTable(si) {
			return false
		}
	}
	return !slices.ContainsFunc(l.pieces, func(pc piece) bool { return pc.loose() })
}

// lacksTable says whether a station is to be given a table.
func (l *layout) lacksTable(station int) bool {
	if station == 0 {
		return len(l.p.Tables) == 0
	}
	return !slices.ContainsFunc(l.p.Tables, func(t Table) bool { return t.Station == station })
}

// loose says whether a thing stands, and the text does not say where.
func (pc *piece) loose() bool {
	return !pc.it.Placed && pc.it.Stands != kit.Held && pc.it.Stands != kit.OnBody
}

// The grid on which places are tried, in cm.
const grid = 6

// find gives a thing the place nearest to a wanted one that serves best: in
// sight and within comfortable reach, or else further round and leaning, or
// else just where there is room.
func (l *layout) find(pc *piece, want body.Point) {
	it := pc.it
	others := l.bodies
	for i := range l.pieces {
		o := &l.pieces[i]
		if !o.stands || !room.Shares(it.Inst, o.it.Inst) { // it is a part of that, or that of it
			continue
		}
		want = o.it.At
		others = slices.DeleteFunc(slices.Clone(others), func(b room.Body) bool { return slices.Contains(o.bodies, b) })
	}
	found := l.use(pc).Find(it.Inst, it.Stands, want, grid, 1, func(_ body.Point, there []room.Body) bool { return room.AllFree(there, others) })
	it.At, it.Facing, it.NoRoom = found.At, found.Turn, found.Serves >= room.OutOfReach
	if pc.stands = found.Serves <= room.OutOfReach; pc.stands {
		pc.bodies = found.Bodies
		l.bodies = append(l.bodies, pc.bodies...)
	}
}

// use is by whom a thing is played.
func (l *layout) use(pc *piece) room.Use {
	return room.Use{Arms: l.arms, Hands: pc.hands, Foot: pc.feet}
}

// tables gives every station that has none a table.
func (l *layout) tables() {
	for si := range l.p.Stations {
		if !l.lacksTable(si) {
			continue
		}
		you := l.p.Stations[si].At
		want := body.UsualTable()
		want.Right, want.Ahead = you.Right+want.Right, you.Ahead+want.Ahead
		table, _ := room.FindTable(want, you, grid, func(t room.Body) bool { return t.Free(l.bodies) })
		l.p.Tables = append(l.p.Tables, Table{At: table.At, Station: si, Assumed: true})
		l.bodies = append(l.bodies, table)
	}
}

// The arc on which instruments are assumed to stand where they have room, in
// cm: common practice, no source. Up to seven stand a hand's breadth apart
// within easy reach.
const (
	arcRadius  = 50.0
	arcFar     = 70.0
	arcSpacing = 32.0
)

// arc is the place of the i-th of n instruments: the first straight ahead,
// the next ones to its left and right in turn.
func arc(i, n int) body.Point {
	radius := min(arcFar, max(arcRadius, float64(n-1)*arcSpacing/math.Pi))
	step := min(arcSpacing/radius, math.Pi/float64(max(1, n-1)))
	slot := float64((i + 1) / 2)
	if i%2 == 1 {
		slot = -slot
	}
	angle := slot * step
	return body.Point{Right: math.Round(radius * math.Sin(angle)), Ahead: math.Round(radius * math.Cos(angle))}
}
