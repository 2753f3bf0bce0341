package plan

import (
	"cmp"
	"context"
	"runtime"
	"slices"

	"example.org/handful/lang/kit"
)

// A trade is a thing that one person gives to another, and what comes back for it, if anything.
type trade struct {
	in, back *kit.Instrument
	from, to int8
}

// tradeWork is for how many bars of lines, all tries together, it is tried who else could have
// what there is no more of.
const tradeWork = 50_000

// entrust gives what there are not enough of for everybody to other people, all that is played
// on it together, and something else of theirs back for it, where less is lost so. While
// passages are given away one by one, whoever had it first keeps it.
func (s *search) entrust(ctx context.Context, all []plays) []plays {
	for left := tradeWork; left > 0 && ctx.Err() == nil && s.value(all) > 1e-9; {
		list := s.trades(all)
		list = list[:min(len(list), left/len(s.passages))]
		left -= max(1, len(list)) * len(s.passages)
		now := s.firstBetter(ctx, all, list)
		if now == nil {
			break
		}
		all = now
	}
	s.count(all)
	return all
}

// firstBetter is the plan after the first trade of a list by which less is lost; nil where
// there is none. Some are tried side by side, and which is taken does not depend on how many.
func (s *search) firstBetter(ctx context.Context, all []plays, list []trade) []plays {
	s.ready()
	old := s.value(all)
	for len(list) > 0 && ctx.Err() == nil {
		n := min(len(list), runtime.GOMAXPROCS(0))
		found := make([][]plays, n)
		atOnce(n, func(i int) {
			here := *s // a search of its own
			if now := here.traded(ctx, all, list[i]); here.value(now) < old-1e-9 {
				found[i] = now
			}
		})
		for _, now := range found {
			if now != nil {
				return now
			}
		}
		list = list[n:]
	}
	return nil
}

// trades are the ways of giving one thing to somebody else, first those by which nothing else
// changes hands.
func (s *search) trades(all []plays) (out []trade) {
	s.count(all)
	scarce := s.scarce()
	for _, in := range scarce {
		for from := range s.people {
			for to := range s.people {
				if from != to && s.have(in, from) && !s.have(in, to) {
					out = append(out, trade{in, nil, int8(from), int8(to)})
				}
			}
		}
	}
	for _, t := range out[:len(out):len(out)] {
		for _, back := range scarce {
			if s.have(back, int(t.to)) && !s.have(back, int(t.from)) {
				t.back = back
				out = append(out, t)
			}
		}
	}
	return out
}

// scarce are the instruments that not everybody can have at once, in the order of the piece.
func (s *search) scarce() (out []*kit.Instrument) {
	for _, q := range s.passages {
		for i := range q.options {
			if in := q.options[i].inst; s.limits[in] > 0 && s.limits[in] < len(s.people) && !slices.Contains(out, in) {
				out = append(out, in)
			}
		}
	}
	return out
}

// traded is a plan after a trade: who gets something plays what was played on it, whatever else
// they have meanwhile, and what has to go for it is given back wherever that can be done.
func (s *search) traded(ctx context.Context, all []plays, t trade) []plays {
	now := slices.Clone(all)
	took, gave := s.takeOut(now, t.from, t.in), s.takeOut(now, t.to, t.back)
	s.count(now)
	if s.have(t.in, int(t.from)) || t.back != nil && s.have(t.back, int(t.to)) { // some of it has to stay
		return all
	}
	s.handTo(now, took, t.to, t.in)
	s.handTo(now, gave, t.from, t.back)
	return s.improve(ctx, now)
}

// takeOut takes from somebody what they play on an instrument and need not keep.
func (s *search) takeOut(all []plays, who int8, in *kit.Instrument) (list []*passage) {
	for _, q := range s.passages {
		if pl := all[q.id]; pl.player == who && in != nil && !q.fixed && q.options[pl.option].inst == in {
			all[q.id] = nobody
			list = append(list, q)
		}
	}
	return list
}

// handTo gives passages to somebody on one instrument, the heaviest first, in the place of
// what weighs no more.
func (s *search) handTo(all []plays, list []*passage, who int8, in *kit.Instrument) {
	slices.SortStableFunc(list, func(a, b *passage) int { return cmp.Compare(b.weight, a.weight) })
	for _, q := range list {
		s.replaceUpTo(all, q, q.weight+1e-9, func(pl plays) bool {
			return pl.player == who && q.options[pl.option].inst == in
		})
	}
}
