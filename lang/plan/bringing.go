package plan

import (
	"slices"

	"example.org/handful/lang/check"
)

// A bringing is what a trial knows of the plan that it is to bring something back for: that
// what is lost was tried there already in the ways that it could be played in then.
type bringing struct {
	new  func(q *passage, o *option) bool // ways that were not there before; nil is all
	late map[lateWay]bool                 // ways for which there is too little time here as well
	says bool                             // it is a plan that says why it leaves out what it does
}

// isTrial says whether nothing is asked of a plan but what it loses.
func (b *bringing) isTrial() bool { return b != nil && !b.says }

// A lateWay is a way in which somebody would play a bar of a line, whatever it is called in
// another plan of the same piece.
type lateWay struct {
	part, line string
	bar        int
	player     int8
	manner
	slots uint8
	split string
}

func (q *passage) lateWay(pl plays) lateWay {
	o := &q.options[pl.option]
	return lateWay{q.track.part.Name, q.track.name, q.bar, pl.player, o.manner, pl.slots, string(o.split)}
}

// tries says whether a way of playing what is lost is to be tried.
func (b *bringing) tries(q *passage, pl plays) bool {
	return b == nil || (b.new == nil || b.new(q, &q.options[pl.option])) && !b.late[q.lateWay(pl)]
}

// onlyNew leaves what is lost the ways of playing it that were not there before.
func (j *job) onlyNew() {
	if j.opt.brings == nil || j.opt.brings.new == nil || j.opt.brings.says {
		return
	}
	for _, q := range j.passages {
		if !q.fixed {
			q.options = slices.DeleteFunc(slices.Clone(q.options), func(o option) bool { return !j.opt.brings.new(q, &o) })
		}
	}
}

// hasNew says whether something that is lost can be played in a way that was not there before.
func (j *job) hasNew() bool {
	return j.opt.brings == nil || j.opt.brings.new == nil || slices.ContainsFunc(j.passages, func(q *passage) bool { return !q.fixed && len(q.options) > 0 })
}

// slowly notes that somebody has too little time for a way of playing what is lost, and would
// at the slower tempo that is tried.
func (j *job) slowly(errs []*check.Finding, what try) {
	name := j.people[what.player].name
	if slices.ContainsFunc(errs, func(f *check.Finding) bool {
		return f.Timed && f.Player == name && j.needed(f) > max(0, f.Window)/slower+1e-6
	}) {
		j.lates[what] = true
	}
}

// late are the ways of playing what a plan loses for which there is too little time at the
// slower tempo as well.
func (j *job) late(d *draft) map[lateWay]bool {
	out := map[lateWay]bool{}
	blocks := make([]blockKey, len(j.people))
	for i, who := range j.people {
		blocks[i] = j.blockKey(d.all, who)
		blocks[i].asFile = false
	}
	for t := range j.lates {
		if t.block.asFile = false; t.block == blocks[t.player] {
			out[j.passages[t.id].lateWay(t.plays)] = true
		}
	}
	return out
}
