package plan

import (
	"cmp"
	"fmt"
	"math"
	"runtime"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/words"
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
	left := j.trials(d)
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
			next, more := j.giveBack(d, q, &left)
			if !more {
				return d
			}
			if next != nil {
				d, better = next, true
				j.tell("giving back", mostTrials-left, mostTrials, j.value(d.all))
			}
		}
		if !better {
			return d
		}
	}
}

// giveBack is a plan in which a passage that is lost is played, nil where a check lets none be;
// it says no once no more may be tried.
func (j *job) giveBack(d *draft, q *passage, left *int) (next *draft, more bool) {
	for list := j.candidates(d, q); len(list) > 0 && next == nil; {
		if *left <= 0 || j.ctx.Err() != nil {
			return nil, false
		}
		n := min(len(list), *left, runtime.GOMAXPROCS(0))
		tried, fits := j.firstFit(d, q, list[:n])
		next, list, *left = fits, list[n:], *left-tried
	}
	return next, true
}

// firstFit is a plan in which a passage that is lost is played in the first of some ways that a
// check lets be, and how many of them were tried until then.
func (j *job) firstFit(d *draft, q *passage, list []plays) (tried int, fits *draft) {
	plans := make([][]plays, len(list))
	for i, pl := range list {
		plans[i] = slices.Clone(d.all)
		plans[i][q.id] = pl
	}
	for i, next := range j.sketches(plans, d.result) {
		switch {
		case next.err != nil:
		case len(next.errors()) == 0:
			return i + 1, next.draft
		default:
			j.refused(q, next.draft)
		}
	}
	return len(list), nil
}

// A refusal is what a check has against a way of playing what is lost, and how many
// seconds that is short of.
type refusal struct {
	short float64
	words string
}

// refused notes what stands against a way of playing a passage, if it is short of less
// time than all before.
func (j *job) refused(q *passage, d *draft) {
	var worst refusal
	for _, f := range d.errors() {
		need := f.Need.Limit
		if !j.opt.AtTheEdge {
			need = f.Need.Floor
		}
		if !f.Timed || need <= f.Window || math.IsInf(need, 0) {
			return // something that no time mends
		}
		if r := (refusal{need - f.Window, fmt.Sprintf("%s's %s has %s", f.Player, f.Limb, tooLittle(max(0, f.Window), need))}); r.short > worst.short {
			worst = r
		}
	}
	if was, ok := j.nearest[q]; worst.words != "" && (!ok || worst.short < was.short) {
		j.nearest[q] = worst
	}
}

// tooLittle says by how much there is less than is needed, so that who subtracts comes to
// the same.
func tooLittle(there, need float64) string {
	short := "less than 0.01 s"
	if by := math.Round(need*100) - math.Round(there*100); by > 0 {
		short = words.Seconds(by / 100)
	}
	return fmt.Sprintf("%s where it takes %s, %s too little", words.Seconds(there), words.Seconds(need), short)
}

// trials is how much may be tried with the checker.
func (j *job) trials(d *draft) int {
	return min(mostTrials, max(leastTrials, trialStrokes/(1+strokesOf(d.result))))
}

// candidates are the ways of playing a passage beside the rest of a plan in
// which no slot has two things at one moment, the likeliest first.
func (j *job) candidates(d *draft, q *passage) []plays {
	type candidate struct {
		plays
		cost float64
	}
	j.anyImplement(q)
	j.byStroke(d, q)
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
			if o.split == nil && clash(other, q) { // else it was looked at stroke by stroke
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
				j.search.fixtureOf(&o)
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

// byStroke adds to the ways of playing a passage those in which somebody shares its
// strokes out between the hands: each to the one that is free longer before and
// behind it.
func (j *job) byStroke(d *draft, q *passage) {
	if q.roll || len(q.options) > 100 {
		return
	}
	for pi, who := range j.people {
		if who.who.Hands().Count() < 2 {
			continue
		}
		split := j.freer(d, q, int8(pi))
		if split == nil || j.oneHandAlone(split) {
			continue
		}
		for _, o := range slices.Clone(q.options) {
			if o.manner.hands != 1 || o.split != nil || o.manner.limb != body.Right || !slices.Contains(o.slots, right) {
				continue
			}
			o.split, o.slots, o.gaps, o.turn = split, []uint8{hands}, noGaps, 0
			o.sound += 0.2
			if !slices.ContainsFunc(q.options, func(p option) bool { return p.manner == o.manner && slices.Equal(p.split, split) }) {
				q.options = append(q.options, o)
			}
		}
	}
}

func (j *job) oneHandAlone(split []uint8) bool {
	return !slices.Contains(split, right) || !slices.Contains(split, left)
}

// freer says by stroke which hand of a player has more time for it, or nil where
// for one of them neither has any.
func (j *job) freer(d *draft, q *passage, player int8) []uint8 {
	out := make([]uint8, len(q.on))
	for i := range q.on {
		room := [2]float64{}
		for h := range room {
			room[h] = math.Inf(1)
			for _, o := range j.passages {
				if p := d.all[o.id]; o == q || p.player != player || p.slots&(1<<h) == 0 || o.t1 < q.t0-4 || o.t0 > q.t1+4 {
					continue
				}
				for k := range o.on {
					room[h] = min(room[h], max(o.on[k]-q.off[i], q.on[i]-o.off[k]))
				}
			}
		}
		switch {
		case max(room[0], room[1]) < 1e-6:
			return nil
		case room[1] > room[0]:
			out[i] = left
		default:
			out[i] = right
		}
	}
	return out
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
