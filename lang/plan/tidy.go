package plan

import (
	"cmp"
	"context"
	"math"
	"slices"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// tidy makes a plan easier to learn and loses nothing by it: stretches of a line, from
// one hand-over or change of way, one mark or one rest to the next or the whole, go to whoever
// plays all of them at the least cost, as long as that costs less than before.
func (s *search) tidy(ctx context.Context, all []plays) []plays {
	s.tidyUp(ctx, all)
	return all
}

// tidyAll tidies several plans, side by side.
func (s *search) tidyAll(ctx context.Context, list [][]plays) {
	s.ready()
	atOnce(len(list), func(i int) {
		here := *s // a search of its own
		here.tidyUp(ctx, list[i])
	})
}

func (s *search) tidyUp(ctx context.Context, all []plays) {
	s.count(all)
	for range mostTidied {
		better := false
		for _, t := range s.tracks {
			for _, st := range s.stretches(all, t) {
				if ctx.Err() != nil {
					return
				}
				better = s.regive(all, st) || better
			}
		}
		if !better {
			break
		}
	}
}

// costs is what a plan costs beside what is lost.
func (s *search) costs(all []plays) float64 {
	here := *s // a search of its own
	here.adding, here.listens = true, true
	sum := here.costsHeard(all)
	for _, q := range s.passages {
		if pl := all[q.id]; pl.player >= 0 && s.byOneHand(all, q, pl) {
			sum += s.weights.Sound * hearing * alone
		}
	}
	return sum
}

func (s *search) costsHeard(all []plays) float64 {
	sum := 0.0
	now := slices.Repeat([]plays{nobody}, len(all))
	s.count(now)
	for _, q := range s.passages {
		if pl := all[q.id]; pl.player >= 0 {
			c, hit := s.meets(now, q, pl)
			sum += max(0, c) + s.taking(q, pl) + s.weights.Tight*float64(len(hit))
			s.note(q, pl, 1)
			now[q.id] = pl
		}
	}
	return sum
}

// mostTidied is how often everything is gone over.
const mostTidied = 3

// stretches are those of a line that are given away anew, each of bars that are all
// played: between neighbouring changes of who and how, those on either side of one,
// sections, and the line as a whole. Where nothing changes and nothing costs sound,
// there are none.
func (s *search) stretches(all []plays, t *track) [][]*passage {
	mine, cuts := s.turns(all, t)
	if len(cuts) == 0 {
		return nil
	}
	var out [][]*passage
	there := map[[2]int]bool{}
	add := func(from, to int) {
		if to > from && !there[[2]int{from, to}] {
			there[[2]int{from, to}] = true
			out = append(out, mine[from:to])
		}
	}
	each(cuts, add)
	for i := 2; i < len(cuts); i++ {
		add(cuts[i-2], cuts[i])
	}
	marks := s.marksIn(mine)
	each(marks, add)
	if s.listens {
		each(among(cuts, marks), add)
		rests := restsIn(mine)
		each(rests, add)
		each(among(cuts, rests), add)
		for _, c := range cuts[1 : len(cuts)-1] { // a few bars earlier or later
			for n := 1; n <= 4; n *= 2 {
				add(max(0, c-n), c)
				add(c, min(len(mine), c+n))
			}
		}
		each(cuts, func(from, to int) { // all but what is next to a neighbour
			for n := 1; n <= 2; n++ {
				add(from+n, to)
				add(from, to-n)
			}
		})
	}
	add(0, len(mine))
	return out
}

// turns are the bars of a line that are played and may be given away, and where who plays
// them, or how, changes, with the beginning and the end; no turns at all where nothing
// changes and nothing costs sound.
func (s *search) turns(all []plays, t *track) (mine []*passage, cuts []int) {
	plain := true
	for _, q := range t.bars {
		if q.track != t || q.fixed || all[q.id].player < 0 || len(q.options) == 0 {
			continue
		}
		plain = plain && q.heard(&q.options[all[q.id].option]) < 0.5 && !s.byOneHand(all, q, all[q.id])
		if n := len(mine); n == 0 || s.differ(all, mine[n-1], q) {
			cuts = append(cuts, n)
		}
		mine = append(mine, q)
	}
	if len(cuts) <= 1 && plain {
		return mine, nil
	}
	return mine, append(cuts, len(mine))
}

// each hands out what lies between neighbours of a list.
func each(at []int, to func(from, to int)) {
	for i := 1; i < len(at); i++ {
		to(at[i-1], at[i])
	}
}

// among is two lists as one, in order.
func among(a, b []int) []int {
	both := append(slices.Clone(a), b...)
	slices.Sort(both)
	return slices.Compact(both)
}

// marksIn is where sections begin among passages of a line, with the beginning and the end.
func (s *search) marksIn(mine []*passage) []int {
	out := []int{0, len(mine)}
	for _, from := range s.sections() {
		i, _ := slices.BinarySearchFunc(mine, from, func(q *passage, bar int) int { return q.bar - bar })
		out = append(out, i)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// restsIn is where a line comes in again after a rest of a bar or more, with the beginning and the end.
func restsIn(mine []*passage) []int {
	out := []int{0}
	for i := 1; i < len(mine); i++ {
		if mine[i].bar > mine[i-1].bar+1 {
			out = append(out, i)
		}
	}
	return append(out, len(mine))
}

func (s *search) differ(all []plays, a, b *passage) bool {
	p, q := all[a.id], all[b.id]
	return p.player != q.player || p.slots != q.slots || a.options[p.option].manner != b.options[q.option].manner
}

// regive gives a stretch of a line to whoever plays all of it at less than it costs
// now; it says whether there was anybody.
func (s *search) regive(all []plays, list []*passage) bool {
	old := s.takeBack(all, list)
	best := old
	least := s.costAs(all, list, math.Inf(1), func(i int, q *passage, _ float64) (plays, float64) {
		c, hit := s.meets(all, q, old[i])
		return old[i], max(0, c) + s.weights.Tight*float64(len(hit)) // as it stood before
	})
	s.takeBack(all, list)
	for _, w := range s.waysOf(&track{bars: list}) {
		if c := s.costAs(all, list, least-1e-6, func(_ int, q *passage, most float64) (plays, float64) { return s.likest(all, q, w, most) }); c >= 0 {
			best, least = s.takeBack(all, list), c
		}
	}
	s.giveTo(all, list, best)
	return !slices.Equal(best, old)
}

// takeBack takes a stretch from whoever has it, and says how it was played.
func (s *search) takeBack(all []plays, list []*passage) []plays {
	old := make([]plays, len(list))
	for i, q := range list {
		old[i] = all[q.id]
		s.note(q, old[i], -1)
		all[q.id] = nobody
	}
	return old
}

func (s *search) giveTo(all []plays, list []*passage, to []plays) {
	for i, q := range list {
		s.note(q, to[i], 1)
		all[q.id] = to[i]
	}
}

// A giving is a way of playing a stretch.
type giving struct {
	plays []plays
	cost  float64
}

// others are the ways of playing a stretch, that nobody plays now, beside the rest, by
// one person each; the one that costs least first.
func (s *search) others(all []plays, list []*passage) []giving {
	var out []giving
	for _, w := range s.waysOf(&track{bars: list}) {
		c := s.costAs(all, list, math.Inf(1), func(_ int, q *passage, most float64) (plays, float64) { return s.likest(all, q, w, most) })
		now := s.takeBack(all, list)
		if c >= 0 {
			out = append(out, giving{now, c})
		}
	}
	slices.SortStableFunc(out, func(a, b giving) int { return cmp.Compare(a.cost, b.cost) })
	return out
}

// costAs gives a stretch away as it is picked, one bar after the other, and says what
// that costs; below 0 where some bar cannot be played or that is as much as may be, and
// then nobody has any.
func (s *search) costAs(all []plays, list []*passage, most float64, pick func(i int, q *passage, most float64) (plays, float64)) float64 {
	sum := 0.0
	if s.listens {
		s.lastBar = list[len(list)-1].bar
		defer func() { s.lastBar = 0 }()
	}
	for i, q := range list {
		pl, c := pick(i, q, most-sum)
		if c >= 0 {
			sum += c + s.taking(q, pl)
		}
		if c < 0 || sum >= most {
			s.takeBack(all, list[:i])
			return -1
		}
		s.note(q, pl, 1)
		all[q.id] = pl
	}
	return sum
}

// taking is what it costs that a player has an instrument for a passage that had it
// for nothing else.
func (s *search) taking(q *passage, pl plays) float64 {
	in := q.options[pl.option].inst
	if s.have(in, int(pl.player)) {
		return 0
	}
	return s.another(in, func(i int) bool { return i != int(pl.player) && s.have(in, i) })
}

// likest is how somebody plays a passage in a way, or where the passage cannot be
// played so, in the one of theirs that costs least beside the rest; the cost is
// below 0 where there is none that costs less than so much.
func (s *search) likest(all []plays, q *passage, w throughout, most float64) (plays, float64) {
	best, least := nobody, -1.0
	below, has := limit{most, math.Inf(1), true}, q.way(w) >= 0
	for i := range q.options {
		for _, sl := range q.options[i].slots {
			same := q.options[i].sig == w.sig && sl == w.slots
			if !same && has {
				continue
			}
			pl := plays{w.player, int8(i), sl}
			c, _ := s.meetsBelow(&below, all, q, pl)
			if c >= 0 && (least < 0 || c < least) {
				best, least = pl, c
				below.cost = min(below.cost, c)
			}
		}
	}
	return best, least
}

// way is which of the ways of playing a passage one is; -1 where it is none.
func (q *passage) way(w throughout) int {
	for i := range q.options {
		if o := &q.options[i]; o.sig == w.sig && slices.Contains(o.slots, w.slots) {
			return i
		}
	}
	return -1
}

// polish makes a finished plan easier by the judge's own measure and loses nothing by
// it: what a check warns of is given to others, one stretch at a time, and so are
// stretches that cost more than they need, as long as a check then says less.
func (j *job) polish(d *draft) *draft {
	left := j.trials(d) / 4
	defer j.weighing()()
	j.search.listening(func() { d = j.tidied(d, &left) })
	if j.long() {
		return j.nearer(j.unwarned(d, &left), 1)
	}
	for range min(mostRounds, max(1, settleWork/len(j.passages))) {
		left = j.trials(d)
		next := j.nearer(j.unwarned(d, &left), mostJudged) // what was too far may be near enough by now
		if next == d {
			break
		}
		d = next
	}
	return d
}

// unwarned gives what a check warns of to others, one stretch at a time.
func (j *job) unwarned(d *draft, left *int) *draft {
	seen := map[string]bool{}
	for {
		i := slices.IndexFunc(d.warnings(), func(f *check.Finding) bool { return !seen[f.Message()] })
		if i < 0 || *left <= 0 || j.ctx.Err() != nil {
			return d
		}
		f := d.warnings()[i]
		seen[f.Message()] = true
		best := d
		for _, list := range j.runsAt(d, f) {
			if next := j.oneStick(d, f, list, left); next != nil && j.easier(next, best) {
				best = next
			}
			if next := j.otherwise(d, list, left); next != nil && j.easier(next, best) {
				best = next
			}
			if next := j.exchanged(d, list, left); next != nil && j.easier(next, best) {
				best = next
			}
		}
		d = best
	}
}

// tidied is a plan with all its lines tidied, or if a check objects to something of that,
// those that it lets be, one after the other.
func (j *job) tidied(d *draft, left *int) *draft {
	all := slices.Clone(d.all)
	j.search.tidyUp(j.ctx, all)
	if next := j.tried(d, all); next != nil || slices.Equal(all, d.all) {
		return cmp.Or(next, d)
	}
	for _, t := range j.tracks {
		all := slices.Clone(d.all)
		j.search.count(all)
		for _, st := range j.search.stretches(all, t) {
			was := slices.Clone(all)
			if *left <= 0 || j.ctx.Err() != nil {
				return d
			}
			if !j.search.regive(all, st) {
				continue
			}
			*left--
			if next := j.tried(d, slices.Clone(all)); next != nil {
				d = next
			} else {
				all = was
				j.search.count(all)
			}
		}
	}
	return d
}

// oneStick is a plan in which the player of a finding plays with one implement whatever
// can be played with it, if a check says less of that: of those that a stretch can be
// played with the first.
func (j *job) oneStick(d *draft, f *check.Finding, list []*passage, left *int) *draft {
	who := slices.IndexFunc(j.people, func(p *person) bool { return p.name == f.Player })
	if who < 0 {
		return nil
	}
	var tried []kit.Choice
	for i := range list[0].options {
		with := list[0].options[i].with
		if with.Implement == "" || slices.Contains(tried, with) || *left <= 0 || len(tried) == mostOthers || j.ctx.Err() != nil {
			continue
		}
		tried = append(tried, with)
		now := slices.Clone(d.all)
		for _, q := range j.passages {
			pl := d.all[q.id]
			if int(pl.player) != who || q.fixed {
				continue
			}
			was := &q.options[pl.option]
			if at := slices.IndexFunc(q.options, func(o option) bool {
				m := was.manner
				m.with = with
				return o.manner == m && slices.Equal(o.split, was.split) && slices.Contains(o.slots, pl.slots)
			}); at >= 0 {
				now[q.id].option = int8(at)
			} else if was.split != nil && splitAlike(q, was, with) {
				now[q.id].option = int8(len(q.options) - 1)
			}
		}
		*left--
		if next := j.tried(d, now); next != nil {
			return next
		}
	}
	return nil
}

// splitAlike adds to the ways of a passage that both hands share one with another
// implement, if there is one and room for it.
func splitAlike(q *passage, was *option, with kit.Choice) bool {
	m := was.manner
	m.with = with
	i := slices.IndexFunc(q.options, func(p option) bool { return p.manner == m })
	if i < 0 {
		return false
	}
	o := q.options[i]
	o.split, o.slots, o.gaps, o.turn = was.split, was.slots, was.gaps, was.turn
	return q.more(o)
}

// otherwise is a plan with a stretch played in another way, if a check says less of it.
func (j *job) otherwise(d *draft, list []*passage, left *int) *draft {
	all := slices.Clone(d.all)
	j.search.count(all)
	old := j.search.takeBack(all, list)
	var ways []giving
	j.search.listening(func() { ways = j.search.others(all, list) })
	for _, w := range ways[:min(len(ways), mostOthers)] {
		if slices.Equal(w.plays, old) || *left <= 0 || j.ctx.Err() != nil {
			continue
		}
		*left--
		now := slices.Clone(all)
		for i, q := range list {
			now[q.id] = w.plays[i]
		}
		if next := j.tried(d, now); next != nil {
			return next
		}
	}
	return nil
}

// mostOthers is how many ways of playing what a check warns of are tried.
const mostOthers = 6

// tried is a draft of a plan where a check has nothing against it and warns of less
// than of another, or as much where it costs less; else nil.
func (j *job) tried(d *draft, all []plays) *draft {
	if slices.Equal(all, d.all) || j.value(all) > j.value(d.all)+1e-9 {
		return nil
	}
	w := j.weigh(all)
	if w.style+j.weights.Tight*float64(j.stay(d, all)) >= j.pays(d)-1e-9 {
		return nil // whatever a check says
	}
	if w.refused || w.judged && !w.easier(j.judgement(d)) {
		return nil
	}
	next, err := j.draft(all, d.result)
	if w.refused = err != nil || len(next.errors()) > 0; w.refused {
		return nil
	}
	next.paid = payment{w.style + j.weights.Tight*float64(len(next.warnings())), j.search.laid + 1}
	w.judged, w.judgement = true, j.judgement(next)
	if !w.easier(j.judgement(d)) {
		return nil
	}
	return next
}

// A weighed is what is known of a plan that was tried: what it costs beside what is lost and what a
// check says, and if one was asked, what that said.
type weighed struct {
	style           float64
	judged, refused bool
	judgement
}

// weighing remembers plans that are tried, since many come up again and again, until what it
// returns is done: as long as they are worth the same.
func (j *job) weighing() (done func()) {
	j.tries = map[string]*weighed{}
	return func() { j.tries = nil }
}

func (j *job) weigh(all []plays) *weighed {
	key := make([]byte, 0, 3*len(all))
	for _, pl := range all {
		key = append(key, byte(pl.player), byte(pl.option), pl.slots)
	}
	w := j.tries[string(key)]
	if w == nil {
		w = &weighed{style: j.style(all)}
		j.tries[string(key)] = w
	}
	return w
}

// A judgement is what a check has against a plan, and what it costs.
type judgement struct {
	warnings, compromises int
	pays                  float64
}

func (j *job) judgement(d *draft) judgement {
	return judgement{len(d.warnings()), len(d.of(check.Compromise)), j.pays(d)}
}

// easier says whether a plan costs less than another, what a check warns of among it. No
// margin is bought with sound.
func (j *job) easier(d, than *draft) bool { return j.judgement(d).easier(j.judgement(than)) }

func (v judgement) easier(than judgement) bool {
	if v.warnings < than.warnings && v.compromises > than.compromises {
		return false
	}
	return v.pays < than.pays-1e-9
}

// pays is what a plan costs beside what is lost, each warning of a check as much as a
// change in haste; those of haste itself, which are in both, once.
func (j *job) pays(d *draft) float64 {
	if laid := j.search.laid + 1; d.paid.laid != laid {
		d.paid = payment{j.style(d.all) + j.weights.Tight*float64(len(d.warnings())), laid}
	}
	return d.paid.cost
}

// style is what a plan costs beside what is lost and what a check says: how it is played, and
// how far what is left out is from whole phrases.
func (j *job) style(all []plays) float64 {
	return j.search.costs(all) + j.weights.Line*j.ragged(all)
}

// stay is how much of what a check warns of in a draft another plan has as well: what is
// about people who play the same in both.
func (j *job) stay(d *draft, all []plays) int {
	other := map[string]bool{}
	for _, q := range j.passages {
		if was, now := d.all[q.id], all[q.id]; was != now {
			for _, pl := range [2]plays{was, now} {
				if pl.player >= 0 {
					other[j.people[pl.player].name] = true
				}
			}
		}
	}
	n := 0
	for _, f := range d.warnings() {
		if f.Player != "" && !other[f.Player] {
			n++
		}
	}
	return n
}

func (d *draft) warnings() []*check.Finding { return d.of(check.Warning) }

// of are a check's findings of one kind.
func (d *draft) of(kind check.Severity) []*check.Finding {
	var out []*check.Finding
	for i := range d.result.Findings {
		if f := &d.result.Findings[i]; f.Severity == kind {
			out = append(out, f)
		}
	}
	return out
}

// runsAt are the stretches of lines about which a finding is, each played alike.
func (j *job) runsAt(d *draft, f *check.Finding) [][]*passage {
	var out [][]*passage
	where := []score.Where{f.Where}
	for _, n := range f.Related {
		where = append(where, n.Where)
	}
	for _, w := range where {
		if here := j.passagesAt(d, w.Line, f.Bar, f.HasPlace); w.File == 0 && len(here) > 0 && !here[0].fixed {
			out = append(out, runOf(d.all, here[0]))
		}
	}
	return out
}

// runOf is the stretch about a passage that is played like it.
func runOf(all []plays, q *passage) []*passage {
	bars := q.track.bars
	like := func(o *passage) bool { return o.track == q.track && !o.fixed && all[o.id] == all[q.id] }
	from := q.place
	to := from + 1
	for from > 0 && like(bars[from-1]) {
		from--
	}
	for to < len(bars) && like(bars[to]) {
		to++
	}
	return bars[from:to]
}
