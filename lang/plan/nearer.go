package plan

import (
	"cmp"
	"math"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
	"example.org/handful/lang/score"
)

// nearer moves things, or the table, of whoever has too little time at ease for something, or no
// room for it, to where the hands are sooner, as long as a check warns of less then. Who plays what
// stays as it is. So many set-ups of each are given to the check.
func (j *job) nearer(d *draft, most int) *draft {
	for _, who := range j.people {
		if !slices.ContainsFunc(d.warnings(), func(f *check.Finding) bool { return f.Player == who.name && ofPlaces(f) }) {
			continue
		}
		way := j.moves(d, who)
		step := max(1, (len(way)+most-1)/most)
		for i := len(way) - 1; i >= 0 && j.ctx.Err() == nil; i -= step {
			if next := j.standingSo(d, who, way[i]); next != nil {
				d = next
				break
			}
		}
	}
	return d
}

// ofPlaces says whether a finding may be one of where things stand.
func ofPlaces(f *check.Finding) bool {
	return f.Timed && len(f.Related) > 0 || f.Rule.Name == sameSpace || f.Rule.Name == handsCross
}

// handsCross is the rule about arms that cross.
const handsCross = "crossed-hands"

// standingSo is a plan with the things of a player as they are in another set-up, if a check warns
// of less then and of no loss of sound more.
func (j *job) standingSo(d *draft, who *person, set *setUp) *draft {
	was := j.sets[who.at]
	j.sets[who.at] = set
	next, err := j.draft(d.all, d.result)
	if err != nil || len(next.errors()) > 0 || len(next.warnings()) >= len(d.warnings()) || len(next.of(check.Compromise)) > len(d.of(check.Compromise)) {
		j.sets[who.at] = was
		return nil
	}
	j.standAs(who, set)
	j.learn(next)
	return next
}

// A hurry is a change of a hand from one manner to another, the time that there is for it, and how
// much more it takes than it does by itself.
type hurry struct {
	from, to     int
	hand         uint8
	window, more float64
}

// hurries are the changes of a player, each sort once, with the least time there is for it.
func (j *job) hurries(d *draft, who *person) []hurry {
	var out []hurry
	for i, m := range d.result.Motions {
		if d.result.Score.Players[i].Name != who.name {
			continue
		}
		for k := range m.Changes {
			ch := &m.Changes[k]
			if ch.From == nil || ch.From.Cue == nil || ch.To.Cue == nil || ch.Hand > body.Left || ch.From.Cue == ch.To.Cue || ch.BodyBound {
				continue
			}
			a, b := j.played(d, ch.From, who.at), j.played(d, ch.To, who.at)
			if a == nil || b == nil {
				continue
			}
			h := hurry{a.options[d.all[a.id].option].sig, b.options[d.all[b.id].option].sig, 1 << ch.Hand, ch.Window, 0}
			h.more = max(0, ch.Need.Steady-who.changer.between(h.from, h.to, h.hand).Steady)
			at := slices.IndexFunc(out, func(o hurry) bool { return o.from == h.from && o.to == h.to && o.hand == h.hand })
			if at < 0 {
				out = append(out, h)
			} else if h.window-h.more < out[at].window-out[at].more {
				out[at] = h
			}
		}
	}
	return out
}

// What is weighed when things are moved: judgement.
const (
	easySpare   = 0.3       // seconds that a change is to leave over, some more than a check asks for
	eachHaste   = easySpare // what a change that leaves less counts for
	eachWay     = 0.0003    // a share of what a way of a hand counts for by its length and how soon it must be made
	eachAside   = 0.22      // seconds that a thing counts for that one leans to or looks away for, and twice that behind the player
	eachMisfit  = 1         // what a thing counts for that stands in something else
	mostMoves   = 12        // one after the other
	mostPlaced  = 32        // of them at a time, where it is looked for room
	gainOfMoves = 0.01      // seconds that are no gain
	nearest     = tooNear   // of what is struck from who plays it
	closest     = room.Toes // of what is struck from what else is
	mostJudged  = 4         // of a player's set-ups, by a check, in a short piece
)

// A layout is a set-up that is looked for: what it serves, and within which floor.
type layout struct {
	*uses
	j       *job
	who     *person
	hurries []hurry
	table   bool // it may be moved
}

// moves are set-ups of a player, each with one thing or two, or the table, in a better place than in
// the one before: as little haste and as short ways as may be.
func (j *job) moves(d *draft, who *person) []*setUp {
	all, old := j.added(d.all, who), j.listed(who)
	set, err := layOut(j.piece, who, all, old, j.sets[who.at], j.opt.Wide, j.opt.Deep)
	if err != nil {
		return nil
	}
	u := usesOf(j.piece, who, all, &setUp{byName: map[string]*thing{}})
	l := &layout{u, j, who, j.hurries(d, who), !slices.ContainsFunc(old.Tables, func(t score.Table) bool { return !t.Assumed })}
	var out []*setUp
	cost := l.cost(set)
	for range mostMoves {
		was := l.hastes(set)
		list := l.promising(set, was, cost)
		costs := make([]float64, len(list))
		atOnce(len(list), func(i int) { costs[i] = l.costOf(set, list[i], was, cost-gainOfMoves) })
		best := -1
		for i, c := range costs {
			if c < cost-gainOfMoves && (best < 0 || c < costs[best]) {
				best = i
			}
		}
		if best < 0 {
			break
		}
		set, cost = set.with(list[best], j.opt.Wide, j.opt.Deep), costs[best]
		out = append(out, set)
	}
	return out
}

// A shift is where things of a set-up go, by their numbers, and the table if it goes too.
type shift struct {
	things []int
	to     []body.Point
	table  *body.Point
}

// near are the moves from a set-up that are tried: everything to where it may stand, to what else
// there is, or in the place of it.
func (l *layout) near(s *setUp) []shift {
	var out []shift
	targets := spots()
	for _, t := range s.things {
		if t.needsPlace() || t.item != nil {
			targets = append(targets, t.at)
		}
	}
	if l.table {
		out = s.nearTables(targets)
	}
	targets = append(targets, s.table)
	for i, t := range s.things {
		if !t.needsPlace() {
			continue
		}
		for _, to := range targets {
			if to != t.at {
				out = append(out, shift{things: []int{i}, to: []body.Point{to}})
			}
		}
		for k, o := range s.things[:i] {
			if o.needsPlace() {
				out = append(out, shift{things: []int{i, k}, to: []body.Point{o.at, t.at}})
			}
		}
		if l.table {
			out = append(out, shift{things: []int{i}, to: []body.Point{s.table}, table: &t.at})
		}
	}
	return out
}

// nearTables are the shifts of the table alone: to everything, and between any two.
func (s *setUp) nearTables(targets []body.Point) (out []shift) {
	for _, to := range targets {
		out = append(out, shift{table: &to})
	}
	for i, a := range s.things {
		for _, b := range s.things[:i] {
			out = append(out, shift{table: &body.Point{Right: math.Round((a.at.Right + b.at.Right) / 2), Ahead: math.Round((a.at.Ahead + b.at.Ahead) / 2)}})
		}
	}
	return out
}

// promising are the shifts that would gain most if there were room for everything everywhere.
func (l *layout) promising(s *setUp, was []float64, cost float64) []shift {
	list := l.near(s)
	ideal := make([]float64, len(list))
	atOnce(len(list), func(i int) {
		c := s.copied()
		c.put(list[i])
		ideal[i] = l.costAfter(c, list[i], was, cost-gainOfMoves)
	})
	at := make([]int, 0, len(list))
	for i := range list {
		if ideal[i] < cost-gainOfMoves {
			at = append(at, i)
		}
	}
	slices.SortStableFunc(at, func(a, b int) int { return cmp.Compare(ideal[a], ideal[b]) })
	var out []shift
	for _, i := range at[:min(len(at), mostPlaced)] {
		out = append(out, list[i])
	}
	return out
}

// copied is a set-up in which everything has its place.
func (s *setUp) copied() *setUp {
	c := *s
	c.things, c.byName = make([]*thing, len(s.things)), map[string]*thing{}
	for i, t := range s.things {
		copied := *t
		copied.known = t.needsPlace()
		c.things[i], c.byName[t.name] = &copied, &copied
	}
	return &c
}

// put puts things where a shift has them go, whether there is room or not, and says which.
func (s *setUp) put(m shift) (stand []*thing) {
	for k, i := range m.things {
		t := s.things[i]
		t.at, t.known, t.misfit = m.to[k], false, false
		stand = append(stand, t)
	}
	if m.table != nil {
		s.table, s.tabled = *m.table, false
	}
	return stand
}

// with is a set-up after a shift, everything as near to where it goes as there is room; nil where
// something has none.
func (s *setUp) with(m shift, wide, deep float64) *setUp {
	c := s.copied()
	stand := c.put(m)
	slices.SortStableFunc(stand, func(a, b *thing) int { return cmp.Compare(b.inst.Wide*b.inst.Deep, a.inst.Wide*a.inst.Deep) })
	f := c.placeAll(stand, wide, deep, false)
	if f.poor >= withoutRoom {
		return nil
	}
	for _, t := range stand {
		p, was := f.places[t], s.byName[t.name]
		if p.misfit && !was.misfit || room.Round(p.At) == room.Behind && room.Round(was.at) < room.Behind || p.At.Dist(body.Point{}) < nearest {
			return nil
		}
		if slices.ContainsFunc(c.things, func(o *thing) bool {
			return o != t && o.mount != kit.Held && o.mount != kit.OnBody && o.at.Dist(p.At) < closest
		}) {
			return nil
		}
		t.at, t.turn, t.known, t.misfit, t.noRoom = p.At, p.Turn, true, p.misfit, p.noRoom
	}
	if m.table != nil {
		if !slices.ContainsFunc(stand, func(t *thing) bool { return t.misfit }) && f.poor >= withoutEase || room.Round(f.table) == room.Behind && room.Round(s.table) < room.Behind {
			return nil
		}
		c.table, c.tabled = f.table, true
	}
	return c
}

func (l *layout) costOf(s *setUp, m shift, was []float64, most float64) float64 {
	to := s.with(m, l.j.opt.Wide, l.j.opt.Deep)
	if to == nil {
		return math.Inf(1)
	}
	return l.costAfter(to, m, was, most)
}

// changerAt knows what changes take in a set-up.
func (l *layout) changerAt(s *setUp) *changer {
	c := newChanger(l.j.score, l.j.stock, l.who.profile)
	c.set = s
	return c
}

// haste is what a change costs that is short of time.
func (l *layout) haste(c *changer, h *hurry) float64 {
	n := c.between(h.from, h.to, h.hand)
	need := n.Steady + h.more
	if n.moves {
		need = max(need*check.TempoUp, need+easySpare)
	}
	if short := need - h.window; short > 0 {
		return eachHaste + short
	}
	return 0
}

// hastes are what all changes cost that are short of time.
func (l *layout) hastes(s *setUp) []float64 {
	c := l.changerAt(s)
	out := make([]float64, len(l.hurries))
	for i := range l.hurries {
		out[i] = l.haste(c, &l.hurries[i])
	}
	return out
}

// cost is what a set-up costs in haste, ways and what stands in one another.
func (l *layout) cost(s *setUp) float64 {
	return l.sum(s, l.ways(s), l.hastes(s))
}

// ways is what the ways of the hands cost in a set-up.
func (l *layout) ways(s *setUp) float64 { return eachWay * s.cost(l.trips, l.cross) }

// costAfter is what a set-up costs after a shift from one in which changes cost so much; infinite where
// that is too much. Only what changes to or from what was moved take is asked anew.
func (l *layout) costAfter(s *setUp, m shift, was []float64, most float64) float64 {
	now := slices.Clone(was)
	var moved []int
	ways := l.ways(s)
	sure := ways
	for i := range l.hurries {
		if l.touches(s, m, &l.hurries[i]) {
			moved = append(moved, i)
		} else {
			sure += was[i]
		}
	}
	c := l.changerAt(s)
	for _, i := range moved {
		if sure >= most+nearly {
			return math.Inf(1)
		}
		now[i] = l.haste(c, &l.hurries[i])
		sure += now[i]
	}
	return l.sum(s, ways, now)
}

// touches says whether a change is to or from something that is moved, or the table is, so that it may
// take another time.
func (l *layout) touches(s *setUp, m shift, h *hurry) bool {
	return m.table != nil || slices.ContainsFunc(m.things, func(i int) bool {
		name := s.things[i].name
		return l.j.stock.manners[h.from].name == name || l.j.stock.manners[h.to].name == name
	})
}

// sum is what a set-up costs in which ways and changes cost so much.
func (l *layout) sum(s *setUp, ways float64, hastes []float64) float64 {
	sum := ways
	for _, h := range hastes {
		if h > 0 {
			sum += h
		}
	}
	for _, t := range s.things {
		if t.misfit {
			sum += eachMisfit
		}
		if t.needsPlace() {
			high := t.at
			high.Up = room.Height(t.inst, t.mount, t.stands())
			sum += eachAside * float64(t.use().Serves(room.Target{At: high, Zone: t.inst.Zone}))
		}
	}
	return sum
}
