package plan

import (
	"slices"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// hardToBring says whether there is one of an instrument as a rule, since it takes two people
// or wheels to bring: judgement.
func hardToBring(in *kit.Instrument) bool { return in.Carry > kit.OnePerson }

// ownOnly notes how many there are of what is hard to bring, while no gear block speaks of it: as
// many as are written at once, in several parts, or as people have already; else one. What would have to be
// borrowed is no part of a plan, unless that was asked for.
func (j *job) ownOnly() {
	j.own = map[*kit.Instrument]int{}
	if j.opt.Borrow {
		return
	}
	for _, bar := range j.bars {
		parts := map[*kit.Instrument]map[*score.Part]bool{}
		for _, q := range bar {
			for _, o := range append([]*passage{q}, q.unison...) {
				in := o.track.inst
				if parts[in] == nil {
					parts[in] = map[*score.Part]bool{}
				}
				parts[in][o.track.part] = true
				j.atLeast(in, len(parts[in]))
			}
		}
	}
	have := map[*kit.Instrument]int{}
	for _, p := range j.old.Score.Players {
		var list []*kit.Instrument
		for _, it := range p.Items {
			if !slices.Contains(list, it.Inst) {
				list = append(list, it.Inst)
			}
		}
		for _, in := range list {
			have[in]++
			j.atLeast(in, have[in])
		}
	}
}

func (j *job) atLeast(in *kit.Instrument, n int) {
	if hardToBring(in) {
		j.own[in] = max(j.own[in], n)
	}
}

// oneTooMany says whether somebody would have one more of something than there is of it in this
// plan, where a check knows nothing of that.
func (j *job) oneTooMany(in *kit.Instrument, player int8) bool {
	s := j.search
	return j.score.GearOf(in) == nil && j.limitOf(in) < noLimit && !s.have(in, int(player)) && !s.spare(in, func(i int) bool { return s.have(in, i) })
}

// tooFew says whether something that is lost might be played if there were more of what is hard
// to bring.
func (j *job) tooFew(all []plays, lost []Loss) bool {
	if j.opt.Borrow {
		return false
	}
	return slices.ContainsFunc(j.passages, func(q *passage) bool {
		in := q.track.inst
		return hardToBring(in) && j.score.GearOf(in) == nil && len(j.having(all, in)) >= j.limitOf(in) && slices.ContainsFunc(lost, func(l Loss) bool { return l.From <= q.bar && q.bar <= l.To })
	})
}
