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
	all := j.candidates(d.all, q)
	list := slices.DeleteFunc(slices.Clone(all), func(pl plays) bool { return j.vain[j.besides(d, q, pl)] > 0 })
	for len(list) > 0 && next == nil {
		if *left <= 0 || j.ctx.Err() != nil {
			return nil, false
		}
		n := min(len(list), *left, runtime.GOMAXPROCS(0))
		tried, fits := j.firstFit(d, q, list[:n])
		next, list, *left = fits, list[n:], *left-tried
	}
	if next == nil {
		next = j.broughtNear(d, q, all, left)
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
	return j.firstOf(d, plans, func(i int, next *draft) {
		j.refused(q, next)
		if short := j.haste(next.errors(), j.people[list[i].player].name); short > 0 {
			j.vain[j.besides(d, q, list[i])] = short
			j.slowly(next.errors(), j.besides(d, q, list[i]))
		}
	})
}

// firstOf is the first of some plans, made side by side of another, that a check lets be, and how
// many of them were tried until then; it tells of those before it.
func (j *job) firstOf(d *draft, plans [][]plays, refused func(i int, next *draft)) (tried int, fits *draft) {
	ground, err := j.ground(d)
	if err != nil {
		return len(plans), nil
	}
	for i, next := range j.sketches(plans, ground.result) {
		if next.err == nil && len(next.errors()) == 0 {
			next.draft, next.err = j.draft(plans[i], d.result)
		}
		switch {
		case next.err != nil:
		case len(next.errors()) == 0:
			return i + 1, next.draft
		default:
			refused(i, next.draft)
		}
	}
	return len(plans), nil
}

// ground is a bare draft of a plan, from which tries go on.
func (j *job) ground(d *draft) (*draft, error) {
	if j.bareOf != d {
		bare, err := j.bareDraft(d.all, d.result)
		if err != nil {
			return nil, err
		}
		j.bareOf, j.bareIs = d, bare
	}
	return j.bareIs, nil
}

// haste is by how many seconds somebody has too little time, at the worst place, whatever
// others do; 0 where it is not time that is short.
func (j *job) haste(errs []*check.Finding, name string) (short float64) {
	for _, f := range errs {
		if f.Timed && f.Player == name {
			short = max(short, j.needed(f)-f.Window)
		}
	}
	return short
}

// needed is the time that a plan counts on for what a finding is about.
func (j *job) needed(f *check.Finding) float64 { return j.stock.least(&f.Need) }

// A try is a way of playing what is lost beside all else that a player has.
type try struct {
	block blockKey
	id    int
	plays
}

func (j *job) besides(d *draft, q *passage, pl plays) try {
	return try{j.blockKey(d.all, j.people[pl.player]), q.id, pl}
}

// A refusal is what a check has against a way of playing what is lost, and how many
// seconds that is short of.
type refusal struct {
	short  float64
	player string
	words  string // behind the name
}

// refused notes what stands against a way of playing a passage, if it is short of less
// time than all before.
func (j *job) refused(q *passage, d *draft) {
	var worst refusal
	for _, f := range d.errors() {
		need := j.needed(f)
		if !f.Timed || need <= f.Window || math.IsInf(need, 0) {
			return // something that no time mends
		}
		if r := (refusal{need - f.Window, f.Player, fmt.Sprintf("'s %s has %s", f.Limb, tooLittle(max(0, f.Window), need))}); r.short > worst.short {
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

// mostBrought is how many ways of playing what is lost are tried with a new thing brought near.
const mostBrought = 3

// broughtNear is a plan in which a passage that is lost is played on a thing that its player
// has for nothing else, with that thing near what the hand plays before or behind it: of the ways
// that came to nothing for want of time those first that were short of the least.
func (j *job) broughtNear(d *draft, q *passage, list []plays, left *int) *draft {
	short := func(pl plays) float64 { return j.vain[j.besides(d, q, pl)] }
	list = slices.DeleteFunc(list, func(pl plays) bool {
		n := j.sets[pl.player]
		return short(pl) == 0 || n == nil || n.byName[q.options[pl.option].name] != nil
	})
	slices.SortStableFunc(list, func(a, b plays) int { return cmp.Compare(short(a), short(b)) })
	for _, pl := range list[:min(len(list), mostBrought)] {
		all := slices.Clone(d.all)
		all[q.id] = pl
		for _, set := range j.setNear(all, q) {
			if *left <= 0 || j.ctx.Err() != nil {
				return nil
			}
			*left--
			was := j.sets[pl.player]
			j.sets[pl.player] = set
			if next, err := j.draft(all, d.result); err == nil && len(next.errors()) == 0 {
				return next
			}
			j.sets[pl.player] = was
		}
	}
	return nil
}

// setNear are set-ups in which the thing of a passage stands near what its hands play before
// and behind it, and all else where it is.
func (j *job) setNear(all []plays, q *passage) (out []*setUp) {
	who := j.people[all[q.id].player]
	name := q.options[all[q.id].option].name
	for _, other := range j.beforeAndBehind(all, q) {
		set, err := layOut(j.piece, who, j.added(all, who), j.listed(who), j.sets[who.at], j.opt.Wide, j.opt.Deep)
		if err != nil || set.byName[name] == nil || set.byName[other] == nil || set.byName[other].spot < 0 {
			continue
		}
		if set.bring(set.byName[name], set.byName[other].at, j.opt.Wide, j.opt.Deep) {
			out = append(out, set)
		}
	}
	return out
}

// bring puts a thing that has no place of its own yet near to somewhere, if there is room.
func (s *setUp) bring(t *thing, to body.Point, wide, deep float64) bool {
	if t.spot < 0 {
		return false // where it is does not depend on the set-up
	}
	for _, o := range s.things {
		o.known = o.known || o != t && o.spot >= 0
	}
	t.at, t.known = to, false
	p := s.placeAll([]*thing{t}, wide, deep, false).places[t]
	t.at, t.turn, t.misfit, t.noRoom = p.At, p.Turn, p.misfit, p.noRoom
	return !p.misfit
}

// beforeAndBehind are the names of what the hands that play a passage play last before it
// and first behind it, where that is something else.
func (j *job) beforeAndBehind(all []plays, q *passage) (out []string) {
	pl := all[q.id]
	for _, back := range []bool{true, false} {
		name, nearest := "", math.Inf(1)
		for _, o := range j.passages {
			p := all[o.id]
			if o == q || p.player != pl.player || p.slots&pl.slots&hands == 0 {
				continue
			}
			if far := gapTo(o, q, back); far < nearest {
				name, nearest = o.options[p.option].name, far
			}
		}
		if name != "" && name != q.options[pl.option].name && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}

// gapTo is the least time from a stroke of one passage to a later one of another, or back.
func gapTo(o, q *passage, back bool) float64 {
	least := math.Inf(1)
	for _, a := range o.on {
		for _, b := range q.on {
			if far := b - a; far > 0 == back {
				least = min(least, math.Abs(far))
			}
		}
	}
	return least
}

// trials is how much may be tried with the checker.
func (j *job) trials(d *draft) int {
	return min(mostTrials, max(leastTrials, trialStrokes/(1+strokesOf(d.result))))
}

// candidates are the ways of playing a passage beside the rest of a plan in
// which no slot has two things at one moment, the likeliest first.
func (j *job) candidates(all []plays, q *passage) []plays {
	type candidate struct {
		plays
		cost float64
	}
	j.anyImplement(q)
	j.byStroke(all, q)
	j.search.count(all)
	var list []candidate
	j.search.each(q, func(pl plays) {
		who := j.people[pl.player]
		o := &q.options[pl.option]
		if !who.can(q, o, pl.slots) || !j.opt.brings.tries(q, pl) || j.oneTooMany(o.inst, pl.player) {
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
			p := all[other.id]
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
		if o.with.Implement == "" || o.mount == kit.Held {
			continue
		}
		o.with = kit.Choice{}
		o.sound += 0.3
		if !slices.ContainsFunc(q.options, func(p option) bool { return p.manner == o.manner }) {
			o.sig = j.stock.sig(o.manner)
			if !q.more(o) {
				return
			}
		}
	}
}

// byStroke adds to the ways of playing a passage those in which somebody shares its
// strokes out between the hands: each to the one that is free longer before and
// behind it.
func (j *job) byStroke(all []plays, q *passage) {
	if q.roll {
		return
	}
	for pi, who := range j.people {
		if who.who.Hands().Count() < 2 {
			continue
		}
		split := j.freer(all, q, int8(pi))
		if split == nil || j.oneHandAlone(split) {
			continue
		}
		for _, o := range slices.Clone(q.options) {
			if o.manner.hands != 1 || o.split != nil || o.manner.limb != body.Right || !slices.Contains(o.slots, right) {
				continue
			}
			o.split, o.slots, o.gaps, o.turn = split, []uint8{hands}, noGaps, 0
			o.sound += 0.2
			if !slices.ContainsFunc(q.options, func(p option) bool { return p.manner == o.manner && slices.Equal(p.split, split) }) && !q.more(o) {
				return
			}
		}
	}
}

func (j *job) oneHandAlone(split []uint8) bool {
	return !slices.Contains(split, right) || !slices.Contains(split, left)
}

// freer says by stroke which hand of a player has more time for it, or nil where
// for one of them neither has any.
func (j *job) freer(all []plays, q *passage, player int8) []uint8 {
	out := make([]uint8, len(q.on))
	for i := range q.on {
		room := [2]float64{}
		for h := range room {
			room[h] = math.Inf(1)
			for _, o := range j.passages {
				if p := all[o.id]; o == q || p.player != player || p.slots&(1<<h) == 0 || o.t1 < q.t0-4 || o.t0 > q.t1+4 {
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
