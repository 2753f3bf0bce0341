package plan

import (
	"cmp"
	"context"
	"math"
	"math/bits"
	"slices"
)

// Bounds on how often every line is given away for the whole piece, each time in
// another order, and on how many of these beginnings are gone on with: how many, and
// by how many bars of lines that is.
const (
	mostStatic = 32
	staticWork = 16_000
	mostGoneOn = 6
	goneOnWork = 5_000
)

// statics gives every line to one hand for the whole piece, in several orders of the
// lines, and returns what loses least, the best first.
func (s *search) statics(ctx context.Context) [][]plays {
	type start struct {
		all         []plays
		value, cost float64
	}
	shuffle := shuffler()
	lines := slices.Clone(s.tracks)
	weight := func(t *track) (w float64) {
		for _, q := range t.bars {
			w += q.weight
		}
		return w
	}
	slices.SortStableFunc(lines, func(a, b *track) int { return cmp.Compare(weight(b), weight(a)) })
	var orders [][]*track
	starts, on := mostStatic, mostGoneOn
	if n := len(s.tracks); !s.short() { // the fewer lines, the less do orders of them differ
		starts, on = min(starts, max(1, 2*n/3)), min(on, max(2, n/4))
	}
	for range max(1, min(starts, staticWork/max(1, len(s.passages)))) {
		orders = append(orders, slices.Clone(lines))
		shuffle(len(lines), func(i, k int) { lines[i], lines[k] = lines[k], lines[i] })
	}
	found := make([]start, len(orders))
	s.ready()
	atOnce(len(orders), func(i int) {
		here := *s // a search of its own
		all := here.improve(ctx, here.static(ctx, orders[i]))
		found[i] = start{all, here.value(all), here.costs(all)}
	})
	slices.SortStableFunc(found, func(a, b start) int {
		return cmp.Or(cmp.Compare(math.Round(a.value), math.Round(b.value)), cmp.Compare(a.cost, b.cost))
	})
	var out [][]plays
	for _, f := range found[:min(len(found), max(1, min(on, goneOnWork/max(1, len(s.passages)))))] {
		out = append(out, f.all)
	}
	return out
}

// shuffler puts things into one order after another, the same whenever it is asked for:
// Marsaglia's xorshift, Journal of Statistical Software 8 (14), 2003.
func shuffler() func(n int, swap func(i, k int)) {
	x := uint32(2463534242)
	return func(n int, swap func(i, k int)) {
		for i := n - 1; i > 0; i-- {
			x ^= x << 13
			x ^= x >> 17
			x ^= x << 5
			swap(i, int(x%uint32(i+1)))
		}
	}
}

// static gives every line to one hand for the whole piece, as a section leader
// begins: one line after the other, to whoever can play most of it, with as few
// hands as will do, and beside what somebody has already, so that those with both
// hands free stay free for what needs two. Then lines take the way that sounds
// best where nothing stands against it.
func (s *search) static(ctx context.Context, lines []*track) []plays {
	all := make([]plays, len(s.passages))
	for _, q := range s.passages {
		all[q.id] = nobody
		if q.fixed {
			all[q.id] = q.today
		}
	}
	s.count(all)
	load := make([]int, len(s.people)) // lines
	for _, t := range lines {
		var best []plays
		most, cost := -1.0, math.Inf(1)
		for _, w := range s.waysOf(t) {
			if ctx.Err() != nil {
				return all
			}
			busy, new := 100*float64(bits.OnesCount8(w.slots&hands)*len(t.bars)), float64(b2i(load[w.player] == 0))
			now, kept, pays := s.through(all, t, w, most, cost-busy-new)
			if pays = pays + busy + new; now != nil && (kept > most+1e-9 || kept > most-1e-9 && pays < cost) {
				best, most, cost = now, kept, pays
			}
		}
		if most > 0 {
			who := int8(-1)
			for i, q := range t.bars {
				if best[i].player >= 0 {
					s.note(q, best[i], 1)
					all[q.id], who = best[i], best[i].player
				}
			}
			load[who]++
		}
	}
	for _, t := range lines {
		s.sound(ctx, all, t)
	}
	return all
}

// A throughout is a way of playing a line for as long as it goes.
type throughout struct {
	player int8
	sig    int
	slots  uint8
}

func (s *search) waysOf(t *track) []throughout {
	var out []throughout
	for pi := range s.people {
		for k, q := range t.bars {
			if k > 0 && q.playedLike(t.bars[k-1]) {
				continue
			}
			for i := range q.options {
				for _, sl := range q.options[i].slots {
					if w := (throughout{int8(pi), q.options[i].sig, sl}); !slices.Contains(out, w) {
						out = append(out, w)
					}
				}
			}
		}
	}
	return out
}

// playedLike says whether there are the same ways of playing two passages.
func (q *passage) playedLike(o *passage) bool {
	if len(q.options) != len(o.options) {
		return false
	}
	if len(q.options) == 0 || &q.options[0] == &o.options[0] {
		return true
	}
	for i := range q.options {
		if a, b := &q.options[i], &o.options[i]; a.sig != b.sig || !slices.Equal(a.slots, b.slots) {
			return false
		}
	}
	return true
}

// through plays a line in one way wherever that goes beside the rest, as long as more of it may
// be kept than by another way, or as much for less.
func (s *search) through(all []plays, t *track, w throughout, most, dearest float64) (now []plays, kept, cost float64) {
	now = make([]plays, len(t.bars))
	beside := limit{math.Inf(1), math.Inf(1), true}
	open := 0.0 // of what is still to come
	for _, q := range t.bars {
		open += q.weight
	}
	for i, q := range t.bars {
		if best := kept + open; best < most-nearly || best < most+1e-10 && cost-nearly > dearest {
			return nil, 0, 0
		}
		open -= q.weight
		now[i] = nobody
		at := q.way(w)
		if at < 0 || q.fixed || q.track != t || all[q.id].player >= 0 {
			continue
		}
		pl := plays{w.player, int8(at), w.slots}
		if c, _ := s.meetsBelow(&beside, all, q, pl); c >= 0 {
			now[i], kept, cost = pl, kept+q.weight, cost+c
		}
	}
	return now, kept, cost
}

// sound gives a line that one player has throughout the way that costs least,
// where all of it can be played so.
func (s *search) sound(ctx context.Context, all []plays, t *track) {
	var mine []*passage
	var old []plays
	for _, q := range t.bars {
		if q.track == t && !q.fixed && all[q.id].player >= 0 {
			mine, old = append(mine, q), append(old, all[q.id])
		}
	}
	if len(mine) == 0 || ctx.Err() != nil {
		return
	}
	set := func(list []plays) {
		for i, q := range mine {
			s.note(q, all[q.id], -1)
			s.note(q, list[i], 1)
			all[q.id] = list[i]
		}
	}
	none := slices.Repeat([]plays{nobody}, len(mine))
	set(none)
	line := &track{bars: mine}
	best, least := old, -1.0
	beside := limit{math.Inf(1), math.Inf(1), true}
	for _, w := range s.waysOf(line) {
		if w.player != old[0].player {
			continue
		}
		now, pays, whole := make([]plays, 0, len(mine)), 0.0, true
		for _, q := range mine {
			at := q.way(w)
			if at < 0 {
				whole = false
				break
			}
			pl := plays{w.player, int8(at), w.slots}
			if least >= 0 {
				beside.cost = least - pays
			}
			c, _ := s.meetsBelow(&beside, all, q, pl)
			if c < 0 {
				whole = false
				break
			}
			now, pays = append(now, pl), pays+c
		}
		if whole && (least < 0 || pays < least) {
			best, least = now, pays
		}
	}
	set(best)
}
