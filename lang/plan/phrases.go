package plan

import (
	"cmp"
	"math"
	"slices"

	"example.org/handful/lang/score"
)

// What a cut costs, in hand-overs: where a line stops or comes in again because bars of it are
// left out; judgement. It costs nothing at a mark, and beside a rest of a bar or more.
const (
	cutWithin = 1.0 // the bars on either side are written alike
	cutAtTurn = 0.5 // the rhythm is another one from there on
)

// cutUp notes for every line what it costs that it stops, or comes in, before each of its bars.
func (p *piece) cutUp() {
	marks := p.sections()
	for _, t := range p.tracks {
		t.cuts = make([]float64, len(t.bars))
		for i := 1; i < len(t.bars); i++ {
			a, b := t.bars[i-1], t.bars[i]
			switch {
			case b.bar != a.bar+1 || slices.Contains(marks, b.bar):
			case p.sameRhythm(a, b):
				t.cuts[i] = cutWithin
			default:
				t.cuts[i] = cutAtTurn
			}
		}
	}
}

// ragged is how far what is left out is from whole phrases: the sum of what cuts cost.
func (p *piece) ragged(all []plays) float64 {
	sum := 0.0
	for _, t := range p.tracks {
		for i := 1; i < len(t.bars); i++ {
			if t.cuts[i] > 0 && isOut(all, t.bars[i-1]) != isOut(all, t.bars[i]) {
				sum += t.cuts[i]
			}
		}
	}
	return sum
}

// isOut says whether a passage is left out by a plan.
func isOut(all []plays, q *passage) bool { return all[q.id].player < 0 && !q.fixed }

// sameRhythm says whether two bars of a line are written alike, but for how loud they are.
func (p *piece) sameRhythm(a, b *passage) bool {
	from, to := p.score.Grid.Start(a.bar), p.score.Grid.Start(b.bar)
	return slices.EqualFunc(a.strokes, b.strokes, func(x, y score.Stroke) bool {
		return x.At.Sub(from) == y.At.Sub(to) && x.Flags == y.Flags && x.Grace == y.Grace
	})
}

// phrases are the stretches of a line from one rest of a bar or more, or mark, to the next.
func (t *track) phrases() (out [][]*passage) {
	from := 0
	for i := 1; i <= len(t.bars); i++ {
		if i == len(t.bars) || t.cuts[i] == 0 {
			out = append(out, t.bars[from:i])
			from = i
		}
	}
	return out
}

// runsOf are the stretches of a phrase that are left out, or that are played.
func runsOf(all []plays, phrase []*passage, out bool) (list [][]*passage) {
	for i := 0; i < len(phrase); {
		k := i
		for k < len(phrase) && isOut(all, phrase[k]) == out {
			k++
		}
		if k > i {
			list = append(list, phrase[i:k])
		}
		i = max(k, i+1)
	}
	return list
}

// Bounds on how many plans are looked at, without a check, to leave out whole phrases: in all,
// and by bars of lines.
const (
	mostWholes = 2_400
	wholesWork = 1_000_000
)

// wholePhrases leaves out whole phrases rather than holes in them, wherever that loses no more: what
// is left out of a phrase is played in the place of what weighs as much, or all of it is left
// out and what the hands are free for then is played. A check is the judge of each, and in the
// end of what might be given back now.
func (j *job) wholePhrases(d *draft) *draft {
	was := d
	defer j.weighing()()
	left, looks := j.trials(d)/8, min(mostWholes, wholesWork/len(j.passages))
	for better := true; better; {
		better = false
		for _, t := range j.lines {
			for _, phrase := range t.phrases() {
				next := j.mended(d, phrase, &left, &looks)
				better = better || next != d
				d = next
			}
		}
		if left <= 0 || looks <= 0 || j.ctx.Err() != nil {
			break
		}
	}
	if d != was {
		return j.rescue(d)
	}
	return d
}

// mended is a plan with fewer cuts because of one phrase, or the same.
func (j *job) mended(d *draft, phrase []*passage, left, looks *int) *draft {
	outs := runsOf(d.all, phrase, true)
	if len(outs) == 0 || len(outs) == 1 && len(outs[0]) == len(phrase) {
		return d
	}
	now := j.ragged(d.all)
	var plans [][]plays
	look := func(all []plays) {
		*looks--
		if all != nil && j.value(all) <= j.value(d.all)+1e-9 && j.ragged(all) < now-1e-9 {
			plans = append(plans, all)
		}
	}
	for _, list := range append(outs, slices.Concat(outs...)) {
		for _, w := range j.search.waysOf(&track{bars: list}) {
			if *looks <= 0 || j.ctx.Err() != nil {
				return d
			}
			look(j.search.tradedFor(d.all, list, w))
		}
	}
	played := runsOf(d.all, phrase, false)
	for _, list := range append(played, slices.Concat(played...)) {
		look(j.search.without(d.all, list))
	}
	slices.SortStableFunc(plans, func(a, b []plays) int {
		return cmp.Or(cmp.Compare(j.ragged(a), j.ragged(b)), cmp.Compare(j.search.costs(a), j.search.costs(b)))
	})
	for _, all := range plans {
		if *left <= 0 || j.ctx.Err() != nil {
			return d
		}
		*left--
		if next := j.tried(d, all); next != nil {
			return next
		}
	}
	return d
}

// tradedFor is a plan in which somebody plays a stretch of a line that is left out, as much alike as
// can be, in the place of whatever that cannot be played beside; nil where it cannot be.
func (s *search) tradedFor(was []plays, list []*passage, w throughout) []plays {
	all := slices.Clone(was)
	s.count(all)
	for _, q := range list {
		best, least := nobody, math.Inf(1)
		var gone []*passage
		for i := range q.options {
			for _, sl := range q.options[i].slots {
				same := q.options[i].sig == w.sig && sl == w.slots
				if !same && q.way(w) >= 0 {
					continue
				}
				pl := plays{w.player, int8(i), sl}
				cost, hit := s.meets(all, q, pl)
				if cost < 0 || slices.ContainsFunc(hit, func(h *passage) bool { return h.fixed }) {
					continue
				}
				for _, h := range hit {
					cost += h.weight * s.weights.Lost
				}
				if cost < least {
					best, least, gone = pl, cost, hit
				}
			}
		}
		if best == nobody {
			return nil
		}
		s.takeBack(all, gone)
		s.giveTo(all, []*passage{q}, []plays{best})
	}
	return s.filled(all, list, nil)
}

// without is a plan that leaves a stretch of a line out, and gives what else is lost to whoever
// has a hand free then; nil where the stretch may not be left out.
func (s *search) without(was []plays, list []*passage) []plays {
	if slices.ContainsFunc(list, func(q *passage) bool { return q.fixed }) {
		return nil
	}
	all := slices.Clone(was)
	s.count(all)
	s.takeBack(all, list)
	return s.filled(s.filled(all, list, list), list, nil)
}

// filled gives what is lost near a stretch, no farther than a line goes on over what is lost, to whoever
// can play it beside the rest, but for some of it.
func (s *search) filled(all []plays, near, but []*passage) []plays {
	for _, q := range s.lost(all) {
		if slices.Contains(but, q) || q.bar < near[0].bar-acrossLost || q.bar > near[len(near)-1].bar+acrossLost {
			continue
		}
		if best, hit := s.bestOf(all, q, q.weight-1e-9, func(plays) bool { return true }); best != nobody && len(hit) == 0 {
			s.giveTo(all, []*passage{q}, []plays{best})
		}
	}
	return all
}
