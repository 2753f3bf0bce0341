package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
	"example.org/handful/lang/score"
)

// A thing is one instrument of somebody's set-up.
type thing struct {
	manner
	used  [2]float64 // strokes of the right and the left hand
	first int        // passage that uses it first
	at    body.Point
	spot  int // -1: in the hand, on the body, or where it stood
	foot  bool
	item  *score.Item // as the file has it already
	known bool        // it has its place from an earlier draft
	turn  float64     // degrees
	// misfit says that it stands in something else where both are as large as they
	// usually are, and noRoom that it does whatever their sizes, or is out of reach.
	misfit, noRoom bool
}

// A setUp is where one player has what.
type setUp struct {
	things []*thing
	byName map[string]*thing
	table  body.Point
	tabled bool        // the table has its place from an earlier draft
	idle   []room.Body // what the file has there and nobody plays
	// crowded says that so many things lie on the table that each lies among
	// others.
	crowded bool
	stand   *sharedStand      // at what somebody else stands too
	spare   map[string]*thing // what is not played yet, and has its place beside the rest
	seen    *memory
}

// spots are where instruments may stand around a player and the table that
// implements lie on: an outer row within sight of the conductor, an inner one,
// then to the sides. All can be reached without a step; a hand's breadth lies
// between neighbours. Common practice, no source.
func spots() []body.Point {
	var out []body.Point
	add := func(radius float64, degrees ...float64) {
		for _, d := range degrees {
			a := d * math.Pi / 180
			out = append(out, body.Point{Right: math.Round(radius * math.Sin(a)), Ahead: math.Round(radius * math.Cos(a))})
		}
	}
	add(50, 0) // cm, and degrees to either side
	add(58, -32, 32)
	add(62, -58, 58)
	add(34, -55)
	add(72, 0)
	add(74, -22, 22)
	add(74, -42, 42)
	add(64, -84, 84)
	add(36, -105, 105)
	return out
}

// tooNear is how near to a thing that has its place no other one goes, in cm:
// common practice, no source.
const tooNear = 22.0

// tableSpot is where the table stands: at the right hand, within the row.
func tableSpot() body.Point { return body.Point{Right: 24, Ahead: 26} }

// A trip is a hand's way from one thing to the next, or to the table.
type trip struct {
	a, b   int // things; -1 the table
	weight float64
}

// layOut places a player's things. What the piece already places stays, and so
// does what an earlier draft did.
func layOut(p *piece, who *person, all []plays, old *score.Player, earlier *setUp, wide, deep float64) (*setUp, error) {
	s := &setUp{byName: map[string]*thing{}, table: tableSpot(), seen: &who.memory}
	for i := range old.Tables {
		if t := &old.Tables[i]; !t.Assumed && !s.tabled {
			s.table, s.tabled = t.At, true
		}
	}
	u := usesOf(p, who, all, s)
	s.crowded = len(u.lies) >= body.Crowd
	if earlier != nil {
		s.table, s.tabled = earlier.table, true
	}
	for _, t := range s.things {
		if it := old.Item(t.name); it != nil && it.Listed && (it.Placed || !it.Shared) {
			t.at, t.turn, t.item = it.At, it.Facing, it
		} else if e := earlier.has(t.name); e != nil && e.spot >= 0 {
			t.at, t.turn, t.spot, t.known, t.misfit, t.noRoom = e.at, e.turn, e.spot, true, e.misfit, e.noRoom
		}
	}
	s.passOver(old)
	s.standAt(who.stand)
	if err := s.arrange(u.trips, u.cross, wide, deep); err != nil {
		return nil, err
	}
	if s.misfits() > 0 {
		s.asAssumed(p, who, old, wide, deep)
	}
	return s, nil
}

// has is a thing that has its place in a set-up, whether it is played or not.
func (s *setUp) has(name string) *thing {
	if s == nil {
		return nil
	}
	if t := s.byName[name]; t != nil && !t.noRoom || s.spare[name] == nil {
		return t
	}
	return s.spare[name]
}

// passOver notes what of a player's kit has its place and is not played.
func (s *setUp) passOver(old *score.Player) {
	for _, it := range old.Items {
		if it.Listed && it.Placed && s.byName[it.Name] == nil {
			spot := old.SpotOf(it)
			spot.You, spot.Seated = body.Point{}, false
			mount := it.Mount
			if mount == kit.AnyMount {
				mount = it.Inst.Usual().Mount
			}
			s.idle = append(s.idle, it.Bodies(mount, spot)...)
		}
	}
}

// uses are how a player's hands go from thing to thing, while that is gathered.
type uses struct {
	*setUp
	all       []plays
	trips     []trip
	cross     map[[2]int]float64 // how often hands would cross if the first stood to the right of the second
	last      [2]*passage        // of each hand
	lastThing [2]int
	index     map[string]int  // of things
	lies      map[string]bool // what lies on the table
}

// usesOf are how a player's hands go from thing to thing of a set-up in which nothing is yet.
func usesOf(p *piece, who *person, all []plays, s *setUp) *uses {
	u := &uses{setUp: s, all: all, cross: map[[2]int]float64{}, lastThing: [2]int{-1, -1}, index: map[string]int{}, lies: map[string]bool{}}
	for _, q := range p.passages {
		if int(all[q.id].player) == who.at {
			u.add(q)
		}
	}
	return u
}

// add takes a passage that the player plays.
func (u *uses) add(q *passage) {
	pl := u.all[q.id]
	o := &q.options[pl.option]
	t := u.byName[o.name]
	if t == nil {
		t = &thing{manner: o.manner, first: q.id, spot: -1}
		u.index[o.name] = len(u.things)
		u.things = append(u.things, t)
		u.byName[o.name] = t
	}
	if o.mount != kit.Held {
		t.mount = o.mount
	} else {
		u.lies[o.name] = true
	}
	if o.with.Implement != "" {
		u.lies[o.with.Implement] = true
	}
	t.foot = t.foot || pl.slots&foot != 0
	for h := range 2 {
		if pl.slots&(1<<h) != 0 {
			t.used[h] += float64(q.sounds)
			u.hand(h, q, u.index[o.name])
		}
	}
}

// hand takes a hand from where it was to a thing.
func (u *uses) hand(h int, q *passage, me int) {
	pl := u.all[q.id]
	if last := u.last[h]; last != nil && u.lastThing[h] != me {
		w := 1 / max(0.3, q.t0-last.t1)
		u.trips = append(u.trips, trip{u.lastThing[h], me, w})
		if prev := u.all[last.id]; last.options[prev.option].with != q.options[pl.option].with {
			u.trips = append(u.trips, trip{u.lastThing[h], -1, w}, trip{-1, me, w})
		}
	}
	if other := u.last[1-h]; other != nil && pl.slots&hands != hands && u.lastThing[1-h] != me && q.t0 < other.t1+1 {
		if h == 0 {
			u.cross[[2]int{me, u.lastThing[1]}]++
		} else {
			u.cross[[2]int{u.lastThing[0], me}]++
		}
	}
	u.last[h], u.lastThing[h] = q, me
}

// misfits is how many things have found no room.
func (s *setUp) misfits() (n int) {
	for _, t := range s.things {
		if t.misfit {
			n++
		}
	}
	return n
}

// asAssumed lays things out as a check does where no kit says how, in the order of
// their use or the largest first, where more of them have room so.
func (s *setUp) asAssumed(p *piece, who *person, old *score.Player, wide, deep float64) {
	if wide > 0 || deep > 0 || s.stand != nil {
		return // of which a check knows nothing
	}
	for _, largest := range []bool{false, true} {
		things := slices.Clone(s.things)
		if largest {
			slices.SortStableFunc(things, func(a, b *thing) int { return cmp.Compare(b.inst.Wide*b.inst.Deep, a.inst.Wide*a.inst.Deep) })
		}
		player := &score.Player{Profile: who.profile, Person: who.who, Stations: old.Stations}
		for i := range old.Tables {
			if !old.Tables[i].Assumed {
				player.Tables = append(player.Tables, old.Tables[i])
			}
		}
		items := map[*thing]*score.Item{}
		for _, t := range things {
			it := &score.Item{Name: t.name, Inst: t.inst, Mount: t.mount, Used: true}
			if t.item != nil {
				copied := *t.item
				it, it.Used = &copied, true
			}
			items[t] = it
			player.Items = append(player.Items, it)
			for h := range 2 {
				if t.used[h] > 0 {
					player.Cues = append(player.Cues, cueOf(player, it, t.manner, body.Right+body.Limb(h), nil))
				}
			}
			if t.foot {
				player.Cues = append(player.Cues, cueOf(player, it, t.manner, body.RightFoot, nil))
			}
		}
		who.layOut(player, p.score.Catalogue)
		without := 0
		for _, it := range items {
			if it.NoRoom {
				without++
			}
		}
		if without >= s.misfits() {
			continue
		}
		for t, it := range items {
			if t.needsPlace() {
				t.at, t.turn, t.known, t.misfit, t.noRoom = it.At, it.Facing, true, it.NoRoom, it.NoRoom
				t.spot = max(t.spot, 0)
			}
		}
		s.table, s.tabled = player.Tables[0].At, true
	}
}

// spotsIn are the spots on the floor that one player has.
func spotsIn(wide, deep float64) []body.Point {
	var out []body.Point
	for _, at := range spots() {
		if wide > 0 && math.Abs(at.Right) > wide/2 || deep > 0 && (at.Ahead > deep || at.Ahead < 0) {
			continue
		}
		out = append(out, at)
	}
	return out
}

// arrange finds a spot for everything that stands: by use first, then by
// exchanging two as long as that shortens the ways.
func (s *setUp) arrange(trips []trip, cross map[[2]int]float64, wide, deep float64) error {
	var free []body.Point
	for _, at := range spotsIn(wide, deep) {
		if !slices.ContainsFunc(s.things, func(t *thing) bool { return (t.item != nil || t.known) && t.at.Dist(at) < tooNear }) {
			free = append(free, at)
		}
	}
	var stand []*thing
	for _, t := range s.things {
		if t.needsPlace() && !t.known {
			stand = append(stand, t)
		}
	}
	if len(stand) > len(free) {
		return fmt.Errorf("%d instruments do not find room around one player", len(s.things))
	}
	slices.SortStableFunc(stand, func(a, b *thing) int {
		return cmp.Or(cmp.Compare(b.used[0]+b.used[1], a.used[0]+a.used[1]), cmp.Compare(a.first, b.first))
	})
	for i, t := range stand {
		t.spot = i
		t.at = free[i]
	}
	s.exchange(stand, free, trips, cross)
	s.makeRoom(stand, wide, deep)
	return nil
}

// stands is where a thing is, and how it is turned.
func (t *thing) stands() room.Spot {
	s := room.Spot{At: t.at, Turn: t.turn}
	if t.item != nil {
		s.Raised = t.item.Raised
	}
	return s
}

// makeRoom moves what would stand in something else, or behind the player, to the
// nearest place where it does not, and the table with it: what is used most stays, and
// what has its place already. Where something finds no good place so, what is largest
// goes first and the table last, if all have better places so.
func (s *setUp) makeRoom(stand []*thing, wide, deep float64) {
	best := s.placeAll(stand, wide, deep, false)
	if best.poor > 0 {
		largest := slices.Clone(stand)
		slices.SortStableFunc(largest, func(a, b *thing) int { return cmp.Compare(b.inst.Wide*b.inst.Deep, a.inst.Wide*a.inst.Deep) })
		if other := s.placeAll(largest, wide, deep, true); other.poor < best.poor {
			best = other
		}
	}
	for _, t := range stand {
		to := best.places[t]
		t.misfit, t.noRoom = to.misfit, to.noRoom
		if !to.noRoom {
			t.at, t.turn = to.At, to.Turn
		}
	}
	s.table, s.tabled = best.table, true
}

// A floor is where everything goes that stands, in one order of looking for places.
type floor struct {
	*setUp
	wide, deep float64
	bodies     []room.Body // what stands
	places     map[*thing]placed
	table      body.Point
	poor       int  // how much has no good place: first what has no room, then what is behind
	usual      bool // nothing is taken to be as small as it may be
}

type placed struct {
	room.Place
	misfit, noRoom bool
}

// What a thing without a good place counts for: nothing has room for it, it has room if
// it is a small one, one turns about for it.
const (
	withoutRoom  = 10000
	withoutEase  = 100
	turnedAround = 1
)

func (s *setUp) placeAll(stand []*thing, wide, deep float64, tableLast bool) *floor {
	l := &floor{setUp: s, wide: wide, deep: deep, bodies: slices.Clone(s.idle), places: map[*thing]placed{}, table: s.table}
	for _, t := range s.things {
		if t.item != nil {
			l.bodies = append(l.bodies, t.item.Bodies(t.mount, t.stands())...)
		} else if t.known {
			l.bodies = append(l.bodies, room.Of(t.inst, t.mount, t.stands())...)
		}
	}
	tabled := s.tabled
	if tabled {
		l.bodies = append(l.bodies, room.Table(s.table, 0))
	}
	for _, t := range stand {
		l.place(t)
		if !tabled && !tableLast {
			l.findTable()
			tabled = true
		}
	}
	if !tabled {
		l.findTable()
	}
	return l
}

// outside says whether something that is struck or taken from at a place is off the floor
// that the player has, or stands beyond its edges: those at the sides and before the player.
func (l *floor) outside(at body.Point, there ...room.Body) bool {
	if l.deep > 0 && at.Ahead < 0 {
		return true
	}
	return slices.ContainsFunc(there, l.stand.beyond) || slices.ContainsFunc(there, func(b room.Body) bool {
		right, ahead := b.Extent()
		return l.wide > 0 && math.Abs(b.At.Right)+right > l.wide/2 || l.deep > 0 && b.At.Ahead+ahead > l.deep
	})
}

// use is by whom a thing is played: by which hands, or a foot.
func (t *thing) use() room.Use {
	use := room.Use{Arms: room.ArmsOf(body.Experienced(), false), Foot: t.foot, Unturned: true}
	for h := range 2 {
		if t.used[h] > 0 {
			use.Hands |= 1 << h
		}
	}
	return use
}

// place gives a thing its place: as large as it usually is, or else as small as it may be.
func (l *floor) place(t *thing) {
	use := t.use()
	p := placed{Place: l.find(use, t, 1)}
	p.misfit = p.Serves >= room.OutOfReach
	if p.noRoom = p.misfit; p.misfit && !l.usual {
		p.Place = l.find(use, t, 1-room.Vary)
		p.noRoom = p.Serves >= room.OutOfReach
	}
	switch {
	case p.noRoom:
		l.poor += withoutRoom
	case p.misfit:
		l.poor += withoutEase
	case p.Serves == room.Behind:
		l.poor += turnedAround
	}
	if !p.noRoom {
		l.bodies = append(l.bodies, p.Bodies...)
	}
	l.places[t] = p
}

// find is where a thing goes that is so many times as large as it usually is; it was looked for
// already where the same stands as some time before.
func (l *floor) find(use room.Use, t *thing, size float64) room.Place {
	const grid = 4
	what := sought{use, t.inst, t.mount, t.at, size, l.wide, l.deep}
	if p, ok := l.seen.place(what, l.bodies); ok && l.stand == nil {
		return p
	}
	p := use.Find(t.inst, t.mount, t.at, grid, size, func(at body.Point, there []room.Body) bool {
		return !l.outside(at, there...) && room.AllFree(there, l.bodies)
	})
	if l.stand == nil {
		l.seen.put(what, l.bodies, p)
	}
	return p
}

func (l *floor) findTable() {
	const grid = 4
	b, ok := room.FindTable(l.table, body.Point{}, grid, func(b room.Body) bool { return !l.outside(b.At, b) && b.Free(l.bodies) })
	switch {
	case !ok:
		l.poor += withoutEase
	case room.Round(b.At) == room.Behind:
		l.poor += turnedAround
	}
	l.table = b.At
	l.bodies = append(l.bodies, b)
}

func (s *setUp) exchange(stand []*thing, free []body.Point, trips []trip, cross map[[2]int]float64) {
	cost := s.cost(trips, cross)
	for range 8 {
		better := false
		try := func(t *thing, spot int, other *thing) {
			was := t.spot
			t.spot, t.at = spot, free[spot]
			if other != nil {
				other.spot, other.at = was, free[was]
			}
			if c := s.cost(trips, cross); c < cost-1e-9 {
				cost, better = c, true
				return
			}
			t.spot, t.at = was, free[was]
			if other != nil {
				other.spot, other.at = spot, free[spot]
			}
		}
		for i, t := range stand {
			taken := map[int]*thing{}
			for _, o := range stand {
				taken[o.spot] = o
			}
			for spot := range min(len(free), len(stand)+4) {
				if o := taken[spot]; o == nil {
					try(t, spot, nil)
					taken = map[int]*thing{}
					for _, o := range stand {
						taken[o.spot] = o
					}
				}
			}
			for _, o := range stand[i+1:] {
				try(t, o.spot, o)
			}
		}
		if !better {
			return
		}
	}
}

// cost is how far the hands go, and how much of it is across the body.
func (s *setUp) cost(trips []trip, cross map[[2]int]float64) float64 {
	at := func(i int) body.Point {
		if i < 0 {
			return s.table
		}
		if t := s.things[i]; t.mount == kit.Held || t.mount == kit.OnBody {
			return body.Point{Ahead: body.HandsAhead}
		} else {
			return t.at
		}
	}
	c := 0.0
	for _, t := range trips {
		c += t.weight * at(t.a).Dist(at(t.b))
	}
	for k, n := range cross {
		if d := at(k[1]).Right - at(k[0]).Right; d > -5 {
			c += n * (d + 30)
		}
	}
	for _, t := range s.things {
		if t.spot < 0 {
			continue
		}
		c += 0.05 * (t.used[0]*max(0, -t.at.Right) + t.used[1]*max(0, t.at.Right))
		c += 0.02 * (t.used[0] + t.used[1]) * t.at.Dist(body.Point{Ahead: body.UsualAhead})
		if a := math.Abs(math.Atan2(t.at.Right, t.at.Ahead)); a > body.InSight*math.Pi/180 {
			c += 20
		}
	}
	return c
}
