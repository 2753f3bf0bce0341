package plan

import (
	"cmp"
	"math"
	"slices"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
)

// Bounds on what is tried with the checker alone, by the size of the piece:
// a trial takes as long as a check.
const (
	trialStrokes = 300_000
	mostTrials   = 400
	leastTrials  = 24
)

// rescue gives back what is lost wherever the checker itself lets it: what a
// hand needs is reckoned pair by pair in the search, and a whole plan may ask
// less. The heaviest losses come first, and of each the ways that cost least.
func (j *job) rescue(d *draft) *draft {
	left := min(mostTrials, max(leastTrials, trialStrokes/(1+strokesOf(d.result))))
	for {
		var lost []*passage
		for _, q := range j.passages {
			if d.all[q.id].player < 0 && !q.fixed && q.weight > 0 {
				lost = append(lost, q)
			}
		}
		slices.SortStableFunc(lost, func(a, b *passage) int { return cmp.Compare(b.weight, a.weight) })
		better := false
		for _, q := range lost {
			for _, pl := range j.candidates(d, q) {
				if left == 0 || j.ctx.Err() != nil {
					return d
				}
				left--
				all := slices.Clone(d.all)
				all[q.id] = pl
				next, err := j.draft(all, d.result)
				if err == nil && len(errorsOf(next.result)) == 0 {
					d, better = next, true
					j.tell("giving back", mostTrials-left, mostTrials, j.value(d.all))
					break
				}
			}
		}
		if !better {
			return d
		}
	}
}

// candidates are the ways of playing a passage beside the rest of a plan in
// which no slot has two things at one moment, the likeliest first.
func (j *job) candidates(d *draft, q *passage) []plays {
	type candidate struct {
		plays
		cost float64
	}
	j.anyImplement(q)
	j.search.count(d.all)
	var list []candidate
	j.search.each(q, func(pl plays) {
		who := j.people[pl.player]
		o := &q.options[pl.option]
		if !who.can(q, o, pl.slots) {
			return
		}
		cost := j.weights.Sound * o.sound
		if o.loud {
			cost += j.weights.Loud
		}
		if n := j.sets[who.at]; n != nil && n.byName[o.name] == nil {
			cost += 4 // it would have to stand there first
		}
		for _, other := range j.passages {
			p := d.all[other.id]
			if p.player != pl.player || p.slots&pl.slots == 0 || other.t1 < q.t0-2 || other.t0 > q.t1+2 {
				continue
			}
			if clash(other, q) {
				return
			}
			if other.options[max(0, p.option)].manner != o.manner {
				cost++
			}
		}
		list = append(list, candidate{pl, cost})
	})
	slices.SortStableFunc(list, func(a, b candidate) int { return cmp.Compare(a.cost, b.cost) })
	var out []plays
	for _, c := range list[:min(len(list), 24)] {
		out = append(out, c.plays)
	}
	return out
}

// anyImplement adds to the ways of playing a passage those that leave the
// implement open: the checker then takes whatever the hand has, if it can play
// that. A roll may be made by one hand as well as that can.
func (j *job) anyImplement(q *passage) {
	from := q.options
	if q.roll {
		single := *q
		single.roll = false
		var list []option
		j.stock.waysOf(&single, q.track.inst, q.track.name, 2, &list)
		for _, o := range list {
			if o.manner.hands == 1 {
				from = append(slices.Clip(from), o)
			}
		}
	}
	for _, o := range from {
		if o.with.Implement == "" || o.mount == kit.Held || len(q.options) > 100 {
			continue
		}
		o.with = kit.Choice{}
		o.sound += 0.3
		if !slices.ContainsFunc(q.options, func(p option) bool { return p.manner == o.manner }) {
			o.sig = j.stock.sig(o.manner)
			q.options = append(q.options, o)
		}
	}
}

// clash says whether two passages sound at one moment.
func clash(a, b *passage) bool {
	for i := range a.on {
		for k := range b.on {
			if math.Abs(a.on[i]-b.on[k]) < 1e-6 || a.on[i] < b.off[k]-1e-6 && b.on[k] < a.off[i]-1e-6 {
				return true
			}
		}
	}
	return false
}

func strokesOf(r *check.Result) int {
	n := 0
	for _, m := range r.Motions {
		n += len(m.Events)
	}
	return n
}
