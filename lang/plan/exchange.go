package plan

import (
	"cmp"
	"math"
	"slices"
)

// Bounds on what is tried when stretches change places.
const (
	mostEjected   = 3 // other stretches that make room for one
	mostExchanges = 5 // ways that are given to the check
)

// exchanged is a plan with a stretch in the place of what somebody else, or another hand, has
// meanwhile, and that with whoever can have it, if a check says less of it.
func (j *job) exchanged(d *draft, list []*passage, left *int) *draft {
	if j.long() {
		return nil
	}
	var ways []exchange
	j.search.listening(func() { ways = j.exchanges(d, list) })
	for _, w := range ways[:min(len(ways), mostExchanges)] {
		if *left <= 0 || j.ctx.Err() != nil {
			return nil
		}
		*left--
		if next := j.tried(d, w.all); next != nil {
			return next
		}
	}
	return nil
}

// An exchange is a plan in which stretches have changed places, and what those cost.
type exchange struct {
	all  []plays
	cost float64
}

// exchanges are such plans, those that cost least first: the stretch goes to everybody, to either
// hand or both, in the way that costs least there.
func (j *job) exchanges(d *draft, list []*passage) []exchange {
	s := j.search
	all := slices.Clone(d.all)
	s.count(all)
	old := s.takeBack(all, list)
	var out []exchange
	for _, p := range j.people {
		for _, slots := range []uint8{right, left, hands} {
			if int(old[0].player) == p.at && old[0].slots == slots {
				continue
			}
			in := j.inTheWay(all, list, int8(p.at), slots)
			if len(in) == 0 || len(in) > mostEjected {
				continue
			}
			var was [][]plays
			for _, run := range in {
				was = append(was, s.takeBack(all, run))
			}
			if e, ok := j.exchange(all, list, in, int8(p.at), slots); ok {
				out = append(out, e)
			}
			for i, run := range in {
				s.giveTo(all, run, was[i])
			}
		}
	}
	s.giveTo(all, list, old)
	slices.SortStableFunc(out, func(a, b exchange) int { return cmp.Compare(a.cost, b.cost) })
	return out
}

// exchange gives a stretch to somebody's hands and what made room for it to whoever can have it, and
// leaves all as it was.
func (j *job) exchange(all []plays, list []*passage, in [][]*passage, player int8, slots uint8) (e exchange, ok bool) {
	s := j.search
	best, least := []plays(nil), math.Inf(1)
	for _, w := range s.waysOf(&track{bars: list}) {
		if w.player != player || w.slots != slots {
			continue
		}
		c := s.costAs(all, list, least, func(_ int, q *passage, most float64) (plays, float64) { return s.likest(all, q, w, most) })
		if c < 0 {
			continue
		}
		now := s.takeBack(all, list)
		if now[0].player == player && now[0].slots == slots {
			best, least = now, c
		}
	}
	if best == nil {
		return e, false
	}
	s.giveTo(all, list, best)
	given := [][]*passage{list}
	ok = true
	for _, run := range in {
		ways := s.others(all, run)
		if ok = len(ways) > 0; !ok {
			break
		}
		s.giveTo(all, run, ways[0].plays)
		given = append(given, run)
		least += ways[0].cost
	}
	if ok {
		e = exchange{slices.Clone(all), least}
	}
	for _, run := range given {
		s.takeBack(all, run)
	}
	return e, ok
}

// inTheWay are the stretches that somebody's hands have while a stretch is played, each whole as it
// is played alike.
func (j *job) inTheWay(all []plays, list []*passage, player int8, slots uint8) (out [][]*passage) {
	var seen []*passage
	for _, bar := range j.bars {
		if bar[0].bar < list[0].bar || bar[0].bar > list[len(list)-1].bar {
			continue
		}
		for _, o := range bar {
			pl := all[o.id]
			if pl.player != player || pl.slots&slots&hands == 0 || slices.Contains(seen, o) {
				continue
			}
			if o.fixed {
				return nil
			}
			run := runOf(all, o)
			seen = append(seen, run...)
			out = append(out, run)
		}
	}
	return out
}
