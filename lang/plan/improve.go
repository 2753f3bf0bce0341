package plan

import (
	"cmp"
	"context"
	"slices"
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
	person := s.people[pl.player]
	o := &q.options[pl.option]
	if !person.can(q, o, pl.slots) {
		return -1, nil
	}
	if len(s.banned) > 0 && s.banned[ban{q.id, pl}] {
		return -1, nil
	}
	if in := s.insts[o.inst]; s.counts[pl.player][in] == 0 && s.stands&(1<<(in%64)) != 0 && s.standing(pl.player) >= s.room {
		return -1, nil
	}
	if in := s.insts[o.inst]; s.counts[pl.player][in] == 0 && !s.spare(o.inst, func(i int) bool { return s.counts[i][in] > 0 }) {
		return -1, nil
	}
	w := &s.weights
	cost = w.Sound*o.sound + s.prefer(person, o.inst)
	if o.loud {
		cost += w.Loud
	}
	at, _ := slices.BinarySearchFunc(s.bars, q.bar, func(bar []*passage, b int) int { return bar[0].bar - b })
	weigh := func(c float64, ok bool, other *passage) {
		if !ok {
			if !slices.Contains(hit, other) {
				hit = append(hit, other)
			}
			return
		}
		cost += c
	}
	for _, other := range s.bars[at] {
		if p := all[other.id]; other != q && p.player == pl.player && p.slots&pl.slots != 0 {
			c, ok := s.weave(person, other, &other.options[p.option], q, o, p.slots&pl.slots)
			weigh(c, ok, other)
		}
	}
	for _, dir := range [2]int{-1, 1} {
		open := pl.slots
		for i := at + dir; i >= 0 && i < len(s.bars) && open != 0 && abs(i-at) <= farthest; i += dir {
			var met uint8
			for k := range slots {
				if open&(1<<k) == 0 {
					continue
				}
				other := s.nextTo(all, i, pl.player, 1<<k, dir)
				if other == nil {
					continue
				}
				met |= 1 << k
				oo := &other.options[all[other.id].option]
				var c float64
				var ok bool
				if dir < 0 {
					c, ok = s.step(person, other, oo, q, o, 1<<k)
				} else {
					c, ok = s.step(person, q, o, other, oo, 1<<k)
				}
				weigh(c, ok, other)
			}
			open &^= met
		}
	}
	for _, d := range [2]int{-1, 1} {
		i := q.track.byBar[q.bar] + d
		if i < 0 || i >= len(q.track.bars) {
			continue
		}
		n := q.track.bars[i]
		switch was := all[n.id]; {
		case was.player < 0:
		case was.player != pl.player:
			cost += w.Line
		default:
			if was.slots != pl.slots {
				cost += w.Hand
			}
			if n.options[was.option].manner != o.manner {
				cost += w.Way
			}
		}
	}
	if q.today.player >= 0 && q.today != pl {
		cost += w.Moved
	}
	return cost, hit
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
		s.counts[pl.player][s.insts[q.options[pl.option].inst]] += n
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
		var lost []*passage
		for _, q := range s.passages {
			if all[q.id].player < 0 && !q.fixed && q.weight > 0 {
				lost = append(lost, q)
			}
		}
		slices.SortStableFunc(lost, func(a, b *passage) int { return cmp.Compare(b.weight, a.weight) })
		for _, q := range lost {
			if ctx.Err() != nil {
				return all
			}
			best, least := nobody, 0.0
			var out []*passage
			s.each(q, func(pl plays) {
				cost, hit := s.meets(all, q, pl)
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
				if gone >= q.weight-1e-9 {
					return
				}
				if cost += gone * s.weights.Lost; best == nobody || cost < least {
					best, least, out = pl, cost, hit
				}
			})
			if best == nobody {
				continue
			}
			for _, h := range out {
				s.note(h, all[h.id], -1)
				all[h.id] = nobody
			}
			s.note(q, best, 1)
			all[q.id] = best
			better = true
		}
		if !better {
			break
		}
	}
	return all
}

// Bounds on giving stretches away anew.
const (
	stretch    = 8  // bars
	wideBeam   = 64 // ways that are kept meanwhile
	mostRounds = 6
)

// redo gives stretches in which something is lost away anew, reaching back
// further in every round, as long as that helps; only where want says so.
func (s *search) redo(ctx context.Context, all []plays, want func(bar int) bool, tell func(round int, all []plays)) []plays {
	for round := range mostRounds {
		better := false
		for b := 0; b < len(s.bars); b++ {
			if ctx.Err() != nil {
				return all
			}
			if !s.loses(all, b) || !want(b) {
				continue
			}
			from := max(0, b-1-round*2)
			until := min(len(s.bars), b+stretch)
			next, ok := s.again(all, from, until, wideBeam, round%2 == 0)
			if ok {
				all, better = next, true
			}
			b = until - 1
		}
		all = s.improve(ctx, all)
		tell(round, all)
		if !better && round > 0 {
			break
		}
	}
	return all
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

func abs(n int) int { return max(n, -n) }
