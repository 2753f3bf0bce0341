package plan

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"example.org/handful/lang/kit"
)

// each visits every way of playing a passage.
func (s *search) each(q *passage, visit func(plays)) {
	for pi := range s.people {
		for oi := range q.options {
			for _, sl := range q.options[oi].slots {
				visit(plays{int8(pi), int8(oi), sl})
			}
		}
	}
}

// farthest is how many bars to either side are looked at for what a hand does
// before and after; no change lasts as long as the music in between.
const farthest = 24

// meets says what it costs to play a passage so, and which others it cannot
// be played beside; a cost below 0 means never.
func (s *search) meets(all []plays, q *passage, pl plays) (cost float64, hit []*passage) {
	return s.meetsBelow(nil, all, q, pl)
}

// A limit is where a way of playing a passage is given up: at what it costs, with what it
// takes the place of, or at what that weighs.
type limit struct {
	cost, weight float64
	beside       bool // it is to be played beside all others
}

// meetsBelow is the same below a limit; as soon as that is reached it means never.
func (s *search) meetsBelow(most *limit, all []plays, q *passage, pl plays) (cost float64, hit []*passage) {
	person := s.people[pl.player]
	o := &q.options[pl.option]
	if s.asRule && o.otherwise || !person.can(q, o, pl.slots) || len(s.banned) > 0 && s.banned[ban{q.id, pl}] || !s.hasRoom(o, pl.player) {
		return -1, nil
	}
	m := meeting{search: s, all: all, q: q, pl: pl, o: o, cost: s.itself(person, q, o), most: most}
	if s.common[o.inst] != nil {
		for _, other := range s.elsewhere(q, o.inst, pl.player, func(other *passage) plays { return all[other.id] }) {
			m.weigh(0, false, other)
		}
	}
	if most != nil {
		m.ahead = m.inLine(0)
	}
	at := q.row
	m.together()
	m.beside(at)
	m.next(at, -1)
	m.next(at, 1)
	if m.isOver() {
		return -1, nil
	}
	m.cost, m.ahead = m.inLine(m.cost), 0
	if len(s.rivals) > 0 {
		if m.rivalry(at); m.isOver() {
			return -1, nil
		}
	}
	if q.today.player >= 0 && q.today != pl {
		m.cost += s.weights.Moved
	}
	if s.listens && !s.adding && s.byOneHand(all, q, pl) {
		m.cost += s.weights.Sound * hearing * alone
	}
	return m.cost, m.hit
}

// acrossLost is how many bars that are lost a line still goes on over.
const acrossLost = 4

// hasRoom says whether a player has an instrument fixed as it is for a way of playing, or
// could have one: there is a spare one, and room for it, and it is not fixed otherwise.
func (s *search) hasRoom(o *option, player int8) bool {
	at := s.thing(o)
	if s.counts[player][at] > 0 {
		return true
	}
	if s.have(o.inst, int(player)) {
		return false
	}
	return (s.stands&(1<<(at%64)) == 0 || s.standing(player) < s.room) && s.spare(o.inst, func(i int) bool { return s.have(o.inst, i) })
}

// A meeting is a way of playing a passage among all others.
type meeting struct {
	*search
	all  []plays
	q    *passage
	pl   plays
	o    *option
	cost float64
	hit  []*passage // that it cannot be played beside
	most *limit     // nil is none
	// What the hit ones weigh, and the least that it will cost how the line goes on: known
	// where there is a limit.
	gone, ahead float64
}

// isOver says whether the limit is reached.
func (m *meeting) isOver() bool {
	if m.most == nil {
		return false
	}
	return m.most.beside && len(m.hit) > 0 || m.gone >= m.most.weight || m.cost+m.ahead+m.gone*m.weights.Lost-nearly >= m.most.cost
}

// together finds what is to stay with the passage and somebody else has.
func (m *meeting) together() {
	for _, g := range m.q.groups {
		for _, o := range m.groups[g] {
			if p := m.all[o.id].player; o != m.q && p >= 0 && p != m.pl.player {
				m.weigh(0, false, o)
			}
		}
	}
}

// weigh adds what it costs to play another passage as well.
func (m *meeting) weigh(c float64, ok bool, other *passage) {
	if ok {
		m.cost += c
	} else if !slices.Contains(m.hit, other) {
		m.hit = append(m.hit, other)
		if m.gone += other.weight; other.fixed {
			m.gone = math.Inf(1)
		}
	}
}

// beside weighs what the player's slots have to do in the same bar.
func (m *meeting) beside(at int) {
	for _, other := range m.bars[at] {
		if m.isOver() {
			return
		}
		if p := m.all[other.id]; other != m.q && p.player == m.pl.player && p.slots&m.pl.slots != 0 {
			c, ok := m.weave(m.people[p.player], other, &other.options[p.option], m.q, m.o, p.slots&m.pl.slots)
			m.weigh(c, ok, other)
		}
	}
}

// next weighs what each of the player's slots does before, or after.
func (m *meeting) next(at, dir int) {
	open := m.pl.slots
	for i := at + dir; i >= 0 && i < len(m.bars) && open != 0 && abs(i-at) <= farthest; i += dir {
		for k := range slots {
			slot := uint8(1 << k)
			if open&slot == 0 {
				continue
			}
			if m.isOver() {
				return
			}
			if other := m.nextTo(m.all, i, m.pl.player, slot, dir); other != nil {
				c, ok := m.change(other, slot, dir)
				if dir > 0 && m.q.bar < m.lastBar {
					c = 0 // the hand comes there from a later bar of the stretch
				}
				m.weigh(c, ok, other)
				open &^= slot
			}
		}
	}
}

// change is what it costs to get from another passage to this one, or from
// this one to it.
func (m *meeting) change(other *passage, slot uint8, dir int) (float64, bool) {
	person, oo := m.people[m.pl.player], &other.options[m.all[other.id].option]
	if dir < 0 {
		return m.step(person, other, oo, m.q, m.o, slot)
	}
	return m.step(person, m.q, m.o, other, oo, slot)
}

// inLine adds how the line goes on: by whom, by which hand and in which way
// the bars to either side are played.
func (m *meeting) inLine(cost float64) float64 {
	for _, d := range [2]int{-1, 1} {
		i := m.q.place + d
		if d > 0 && m.q.bar < m.lastBar || i < 0 || i >= len(m.q.track.bars) {
			continue
		}
		for range acrossLost { // what is left out between them is no rest
			if next := i + d; m.all[m.q.track.bars[i].id].player < 0 && next >= 0 && next < len(m.q.track.bars) {
				i = next
			}
		}
		n := m.q.track.bars[i]
		cost = m.goesOn(cost, m.all[n.id], n, m.q, m.pl, m.o)
	}
	return cost
}

// nextTo is what a slot does last in a bar, or first when looking ahead.
func (s *search) nextTo(all []plays, bar int, player int8, slot uint8, dir int) *passage {
	var best *passage
	for _, q := range s.bars[bar] {
		if p := all[q.id]; p.player != player || p.slots&slot == 0 {
			continue
		}
		if best == nil || dir < 0 && q.t1 > best.t1 || dir > 0 && q.t0 < best.t0 {
			best = q
		}
	}
	return best
}

// count notes who has which instruments.
func (s *search) count(all []plays) {
	s.counts = make([][]int, len(s.people))
	for i := range s.counts {
		s.counts[i] = make([]int, len(s.insts))
	}
	for _, q := range s.passages {
		s.note(q, all[q.id], 1)
	}
}

func (s *search) note(q *passage, pl plays, n int) {
	if pl.player >= 0 {
		s.counts[pl.player][s.thing(&q.options[pl.option])] += n
	}
}

// standing is how many instruments stand around a player.
func (s *search) standing(player int8) int {
	n := 0
	for in, c := range s.counts[player] {
		if c > 0 && s.stands&(1<<(in%64)) != 0 {
			n++
		}
	}
	return n
}

// improve gives back what is lost wherever it fits, if need be in the place
// of what weighs less.
func (s *search) improve(ctx context.Context, all []plays) []plays {
	s.count(all)
	for range 4 {
		better := false
		for _, q := range s.lost(all) {
			if ctx.Err() != nil {
				return all
			}
			better = s.replace(all, q, func(plays) bool { return true }) || better
		}
		if !better {
			break
		}
	}
	return all
}

// lost are the passages that nobody plays, what weighs most first.
func (s *search) lost(all []plays) []*passage {
	var lost []*passage
	for _, q := range s.passages {
		if all[q.id].player < 0 && !q.fixed && q.weight > 0 {
			lost = append(lost, q)
		}
	}
	slices.SortStableFunc(lost, func(a, b *passage) int { return cmp.Compare(b.weight, a.weight) })
	return lost
}

// bestOf is the cheapest of some ways to play a passage at the cost of others that
// weigh less together than something, and which those are; or nobody.
func (s *search) bestOf(all []plays, q *passage, weight float64, may func(plays) bool) (best plays, out []*passage) {
	best = nobody
	least := 0.0
	most := limit{cost: math.Inf(1), weight: weight}
	s.each(q, func(pl plays) {
		if !may(pl) {
			return
		}
		cost, hit := s.meetsBelow(&most, all, q, pl)
		if cost < 0 {
			return
		}
		gone := 0.0
		for _, h := range hit {
			if h.fixed {
				return
			}
			gone += h.weight
		}
		if gone >= weight {
			return
		}
		if cost += gone * s.weights.Lost; best == nobody || cost < least {
			best, least, out = pl, cost, hit
			most.cost = least
		}
	})
	return best, out
}

// Bounds on giving stretches away anew.
const (
	stretch    = 8  // bars
	wideBeam   = 64 // ways that are kept meanwhile
	mostRounds = 6
)

// redo gives stretches in which something is lost away anew, reaching back
// further in every round, as long as that helps; only where want says so.
func (s *search) redo(ctx context.Context, all []plays, rounds int, want func(bar int) bool, tell func(round int, all []plays)) []plays {
	for round := range rounds {
		var better bool
		all, better = s.redoOnce(ctx, all, round, want)
		if ctx.Err() != nil {
			return all
		}
		all = s.improve(ctx, all)
		tell(round, all)
		if !better && round > 0 {
			break
		}
	}
	return all
}

// redoOnce gives every stretch in which something is lost away anew, once.
func (s *search) redoOnce(ctx context.Context, all []plays, round int, want func(bar int) bool) (now []plays, better bool) {
	lanes := s.lanes()
	for ctx.Err() == nil {
		next, of := s.ahead(all, lanes, round, want)
		if len(next) == 0 {
			break
		}
		old := all
		for i, got := range s.allAgain(old, next) {
			if got.barren != 0 {
				s.barren[next[i]] = got.barren
			}
			both, ok := s.both(old, all, got.all, next[i])
			if !ok {
				continue // it was tried beside what is no more
			}
			lanes[of[i]].at = next[i].until
			if all = both; got.all == nil {
				continue
			}
			if better = true; len(lanes) == 1 {
				break // so were the others
			}
		}
	}
	return all, better
}

// A lane is bars of a piece the stretches of which are given away anew one after the other.
type lane struct{ at, end int }

// laneBars is how many bars a lane has at the least: far more than a stretch looks at.
const laneBars = 72

// mostLanes is how many lanes there are at the most, however many cores, so that the plan does not
// depend on them.
const mostLanes = 4

// lanes are a piece as one, or a long one in a few: stretches far from one another have
// little to do with one another and are given away anew side by side.
func (s *search) lanes() []lane {
	n := 1
	if len(s.passages) > settleWork {
		n = max(1, min(mostLanes, len(s.bars)/laneBars))
	}
	out := make([]lane, n)
	for i := range out {
		out[i] = lane{i * len(s.bars) / n, (i + 1) * len(s.bars) / n}
	}
	return out
}

// ahead are the next stretches in which something is lost, and of which lanes: one of each, or of
// the only one as many as are looked at side by side.
func (s *search) ahead(all []plays, lanes []lane, round int, want func(bar int) bool) (out []stretchOf, of []int) {
	most := 1
	if len(lanes) == 1 {
		most = runtime.GOMAXPROCS(0)
	}
	for i := range lanes {
		l := &lanes[i]
		for n, b := 0, l.at; b < l.end && n < most; b++ {
			if !s.loses(all, b) || !want(b) {
				continue
			}
			until := min(len(s.bars), b+stretch)
			out, of = append(out, stretchOf{max(0, b-1-round*2), until, wideBeam, round%2 == 0}), append(of, i)
			b, n = until-1, n+1
		}
	}
	return out, of
}

// both is a plan with a stretch given away as it was in an older one, if all of it can be played
// beside what is others by now.
func (s *search) both(old, now, got []plays, what stretchOf) ([]plays, bool) {
	if got == nil {
		return now, true
	}
	out := slices.Clone(now)
	var others []*passage
	for _, bar := range s.bars[what.from:min(what.until+tail, len(s.bars))] {
		for _, q := range bar {
			if now[q.id] != old[q.id] {
				return now, false
			}
			if out[q.id] = got[q.id]; got[q.id] != old[q.id] {
				others = append(others, q)
			}
		}
	}
	if slices.Equal(old, now) {
		return out, true
	}
	s.count(out)
	for _, q := range others {
		pl := out[q.id]
		if pl.player < 0 {
			continue
		}
		s.note(q, pl, -1)
		out[q.id] = nobody
		cost, hit := s.meets(out, q, pl)
		out[q.id] = pl
		s.note(q, pl, 1)
		if cost < 0 || len(hit) > 0 {
			return now, false
		}
	}
	return out, true
}

// allAgain gives stretches away anew, each as if the others stayed as they are, side by side.
// A plan is the same however many that are: of several that come out better the first counts.
func (s *search) allAgain(all []plays, list []stretchOf) []anew {
	out := make([]anew, len(list))
	s.ready()
	atOnce(len(list), func(i int) { out[i] = s.again(all, list[i]) })
	return out
}

// atOnce does something for every number below another, as many at once as there are cores.
func atOnce(n int, do func(i int)) {
	var next atomic.Int32
	work := func() {
		for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
			do(i)
		}
	}
	var others sync.WaitGroup
	var failed atomic.Value
	for range min(n, runtime.GOMAXPROCS(0)) - 1 {
		others.Go(func() {
			defer func() {
				if what := recover(); what != nil { // whoever asked for a plan is told
					failed.Store(fmt.Sprint(what))
				}
			}()
			work()
		})
	}
	work()
	others.Wait()
	if what := failed.Load(); what != nil {
		panic(what)
	}
}

// ready makes room for what is found out side by side.
func (s *search) ready() {
	s.refresh()
	for _, who := range s.people {
		who.changer.grow()
		for _, r := range who.changer.stock.paces {
			r.by(who)
		}
	}
}

// loses says whether something of a bar is lost.
func (s *search) loses(all []plays, b int) bool {
	return slices.ContainsFunc(s.bars[b], func(q *passage) bool { return all[q.id].player < 0 && !q.fixed && q.weight > 0 })
}

// yield takes out of a plan what cannot be played beside the rest, now that
// more is known of the ways between things: the lighter of every two.
func (s *search) yield(all []plays) []plays {
	all = slices.Clone(all)
	s.count(all)
	for _, q := range s.passages {
		pl := all[q.id]
		if pl.player < 0 || q.fixed {
			continue
		}
		all[q.id] = nobody
		s.note(q, pl, -1)
		cost, hit := s.meets(all, q, pl)
		if cost < 0 {
			continue
		}
		heavier := slices.ContainsFunc(hit, func(h *passage) bool { return h.fixed || h.weight > q.weight })
		if heavier {
			continue
		}
		for _, h := range hit {
			s.note(h, all[h.id], -1)
			all[h.id] = nobody
		}
		s.note(q, pl, 1)
		all[q.id] = pl
	}
	return all
}

// gather gives what stays with one person to somebody else, where less is lost so.
func (s *search) gather(ctx context.Context, all []plays) []plays {
	for _, list := range s.groups {
		if !slices.ContainsFunc(list, func(q *passage) bool { return all[q.id].player < 0 }) || slices.ContainsFunc(list, func(q *passage) bool { return q.fixed }) {
			continue
		}
		list = slices.Clone(list)
		slices.SortStableFunc(list, func(a, b *passage) int { return cmp.Compare(b.weight, a.weight) })
		for who := range s.people {
			if ctx.Err() != nil {
				return all
			}
			now := slices.Clone(all)
			for _, q := range list {
				now[q.id] = nobody
			}
			s.count(now)
			for _, q := range list {
				s.replace(now, q, func(pl plays) bool { return int(pl.player) == who })
			}
			if now = s.improve(ctx, now); s.value(now) < s.value(all)-1e-9 {
				all = now
			}
		}
	}
	return all
}

// refix has somebody's instrument fixed otherwise for all they have on it, where less is lost so.
func (s *search) refix(ctx context.Context, all []plays) []plays {
	for _, in := range s.refixable() {
		for who := range s.people {
			for _, at := range s.whole[in] {
				if ctx.Err() != nil || s.value(all) <= 1e-9 {
					return all
				}
				if now := s.refixed(ctx, all, in, int8(who), at); now != nil && s.value(now) < s.value(all)-1e-9 {
					all = now
				}
			}
		}
	}
	s.count(all)
	return all
}

// refixable are the instruments that may be fixed in several ways, in the order of the piece.
func (s *search) refixable() (out []*kit.Instrument) {
	for _, q := range s.passages {
		for i := range q.options {
			if in := q.options[i].inst; q.options[i].otherwise && !slices.Contains(out, in) {
				out = append(out, in)
			}
		}
	}
	return out
}

// refixed is a plan in which somebody's instrument is fixed in one way, as far as it can be
// played so; nil where nothing would be otherwise.
func (s *search) refixed(ctx context.Context, all []plays, in *kit.Instrument, who int8, at int) []plays {
	now := slices.Clone(all)
	var list []*passage
	changed := false
	for _, q := range s.passages {
		pl := all[q.id]
		switch {
		case pl.player == who && q.options[pl.option].inst == in:
			if q.fixed {
				return nil
			}
			changed = changed || s.thing(&q.options[pl.option]) != at
			now[q.id] = nobody
			list = append(list, q)
		case pl.player < 0 && !q.fixed && slices.ContainsFunc(q.options, func(o option) bool { return o.inst == in }):
			list = append(list, q)
		}
	}
	if !changed {
		return nil
	}
	s.count(now)
	slices.SortStableFunc(list, func(a, b *passage) int { return cmp.Compare(b.weight, a.weight) })
	for _, q := range list {
		s.replace(now, q, func(pl plays) bool {
			return pl.player == who && s.thing(&q.options[pl.option]) == at
		})
	}
	return s.improve(ctx, now)
}

// replace gives a passage away in the cheapest of some ways, in the place of what weighs less.
func (s *search) replace(all []plays, q *passage, may func(plays) bool) bool {
	return s.replaceUpTo(all, q, q.weight-1e-9, may)
}

// replaceUpTo is the same in the place of what weighs less than something.
func (s *search) replaceUpTo(all []plays, q *passage, weight float64, may func(plays) bool) bool {
	best, out := s.bestOf(all, q, weight, may)
	if best == nobody {
		return false
	}
	for _, h := range out {
		s.note(h, all[h.id], -1)
		all[h.id] = nobody
	}
	s.note(q, best, 1)
	all[q.id] = best
	return true
}

func abs(n int) int { return max(n, -n) }
