package plan

import (
	"cmp"
	"runtime"
	"slices"
)

// Bounds on what is tried to be played otherwise, so that something is given back.
const (
	otherwiseWork  = 500 // bars of lines that a piece has at the most
	howFarBeside   = 1   // from what is lost
	mostAlike      = 2   // ways in which the same hands play what is lost
	mostWaysBeside = 12  // ways of what is played otherwise
)

// givenBackBeside is a plan with what is lost given back where one passage beside it can be played otherwise, by the same
// hands or by others, in every way that there is. The search weighs that by what it reckons pair
// by pair; here a check is the judge, as in rescue. Only in pieces of [otherwiseWork] there is time for that.
func (j *job) givenBackBeside(d *draft) *draft {
	if len(j.passages) > otherwiseWork {
		return d
	}
	for _, q := range j.search.lost(d.all) {
		j.everyWay(q)
	}
	d = j.rescue(d)
	left := j.trials(d)
	for again := true; again; {
		again = false
		for _, q := range j.search.lost(d.all) {
			for _, o := range j.near(d.all, q) {
				if left <= 0 || j.ctx.Err() != nil {
					return d
				}
				if next := j.besideAnother(d, q, o, &left); next != nil {
					d, again = next, true
					break
				}
			}
		}
	}
	return d
}

// mostWays is how many ways of playing a passage there are at most where a check tries them.
const mostWays = 60

// everyWay adds to the ways of playing a passage those that the search had no room for.
func (j *job) everyWay(q *passage) {
	if q.widened {
		return
	}
	q.widened = true
	for _, o := range j.stock.chosenFor(q, mostWays) {
		if len(q.options) < mostWays && !slices.ContainsFunc(q.options, func(p option) bool { return p.manner == o.manner }) {
			j.search.fixtureOf(&o)
			q.more(o)
		}
	}
}

// near are the passages beside one that is lost, what is nearest to it in time first.
func (j *job) near(all []plays, q *passage) (out []*passage) {
	for _, o := range j.passages {
		if all[o.id].player >= 0 && !o.fixed && o.bar >= q.bar-howFarBeside && o.bar <= q.bar+howFarBeside {
			out = append(out, o)
		}
	}
	apart := func(o *passage) float64 { return max(0, o.t0-q.t1, q.t0-o.t1) }
	slices.SortStableFunc(out, func(a, b *passage) int { return cmp.Compare(apart(a), apart(b)) })
	return out
}

// besideAnother is a plan in which a passage that is lost is played by whoever plays another, and that one
// otherwise than before; or not at all if it weighs less.
func (j *job) besideAnother(d *draft, q, o *passage, left *int) *draft {
	j.everyWay(q)
	j.everyWay(o)
	was := d.all[o.id]
	all := slices.Clone(d.all)
	all[o.id] = nobody
	ways := slices.DeleteFunc(j.candidates(all, q), func(pl plays) bool { return pl.player != was.player })
	var plans [][]plays
	alike := map[uint8]int{}
	for _, pl := range ways {
		if alike[pl.slots]++; alike[pl.slots] > mostAlike || len(plans) == *left {
			continue
		}
		in := slices.Clone(all)
		in[q.id] = pl
		plans = append(plans, in)
	}
	ground, err := j.ground(d)
	if err != nil {
		return nil
	}
	*left -= len(plans)
	for i, alone := range j.sketches(plans, ground.result) {
		if alone.err != nil || len(alone.errors()) > 0 {
			continue
		}
		if next := j.filledBeside(d, plans[i], q, o, left); next != nil {
			return next
		}
	}
	return nil
}

// filledBeside is a plan with a passage given back in which another is played in some way, or left
// out if it weighs less.
func (j *job) filledBeside(d *draft, in []plays, q, o *passage, left *int) *draft {
	var plans [][]plays
	for _, other := range j.candidates(in, o) {
		both := slices.Clone(in)
		both[o.id] = other
		plans = append(plans, both)
	}
	plans = plans[:min(len(plans), mostWaysBeside)]
	if o.weight < q.weight {
		plans = append(plans, in)
	}
	return j.firstThatFits(d, plans, left)
}

// firstThatFits is the first of some plans that a check lets be, as long as some may be tried.
func (j *job) firstThatFits(d *draft, plans [][]plays, left *int) *draft {
	for len(plans) > 0 && *left > 0 && j.ctx.Err() == nil {
		n := min(len(plans), *left, runtime.GOMAXPROCS(0))
		tried, next := j.firstOf(d, plans[:n], func(int, *draft) {})
		*left -= tried
		if next != nil {
			return next
		}
		plans = plans[n:]
	}
	return nil
}
