package plan

import (
	"example.org/handful/lang/kit"
)

// oneOfEachWork is for how many bars of lines it is found out what is lost with one of
// everything that is hard to bring.
const oneOfEachWork = 400

// withOneOfEach is a plan in the place of one that needs a second one of what takes two people
// or wheels to bring, while no gear block says that there is: with one of each, if no more is lost
// so. Otherwise it is noted what would be.
func (j *job) withOneOfEach(d *draft) *draft {
	if j.single || j.opt.idle || j.opt.alone || j.opt.only != nil || len(j.passages) > oneOfEachWork || j.ctx.Err() != nil || len(j.borrowed(d.all)) == 0 {
		return d
	}
	there, with := j.places(), j.search
	j.single = true
	j.open()
	one, err := j.found()
	if err == nil && j.ctx.Err() == nil {
		if j.value(one.all) <= j.value(d.all)+1e-9 {
			return one
		}
		j.withOne = strokesLost(j.losses(one.all))
	}
	j.single, j.search = false, with
	j.putBack(there)
	return d
}

// strokesLost is how many strokes are lost.
func strokesLost(lost []Loss) (n int) {
	for _, l := range lost {
		n += l.Strokes
	}
	return n
}

// hardToBring says whether there is one of an instrument as a rule: judgement.
func hardToBring(in *kit.Instrument) bool { return in.Carry > kit.OnePerson }

// oneTooMany says whether somebody would have a second one of what there is one of in this plan;
// a check knows nothing of that.
func (j *job) oneTooMany(in *kit.Instrument, player int8) bool {
	s := j.search
	return j.single && hardToBring(in) && !s.have(in, int(player)) && !s.spare(in, func(i int) bool { return s.have(in, i) })
}
