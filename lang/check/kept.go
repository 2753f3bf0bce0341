package check

import (
	"slices"
	"sync"

	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// A rule that looks at each player by themselves finds of a player whom an edit
// leaves alone what it found before. So what such rules find is kept by player, as
// they said it: before anything else was told with it or was taken out as accepted.

// kept is what a rule that looks at each player found.
type kept map[string]*ofPlayer

// ofPlayer is what it found of one of them.
type ofPlayer struct {
	findings []Finding
	weighed  []int // acceptances that met something which it therefore did not even say
	met      int   // how often one did
}

func (k *kept) of(player string) *ofPlayer {
	o := (*k)[player]
	if o == nil {
		o = &ofPlayer{}
		k.set(player, o)
	}
	return o
}

// set makes the table once there is something to keep: most rules find nothing.
func (k *kept) set(player string, o *ofPlayer) {
	if *k == nil {
		*k = kept{}
	}
	(*k)[player] = o
}

// comparable says whether what rules found of a player before holds for as long as
// the player is the same: everybody else may have changed, and not the course of
// the music and what things are. See acceptedAlike for what is accepted.
func (r *Result) comparable(old *Result) bool {
	return old != nil && !old.Stopped && len(old.Faults) == 0 && old.kept != nil && score.SameCourse(old.Score, r.Score)
}

// retimed says whether two results are of the same music in two tempos: what timeless rules found
// of a player before holds then for as long as the player plays everything in the ways of before.
func (r *Result) retimed(old *Result) bool {
	return old != nil && !old.Stopped && len(old.Faults) == 0 && old.kept != nil && score.SameBars(old.Score, r.Score)
}

// acceptedAlike says whether a piece accepts of what a rule finds what it accepted
// before, by the same lines in the same order among all.
func acceptedAlike(rule *Rule, was, now []*score.Accept) bool {
	for i := range max(len(was), len(now)) {
		before, there := i < len(was) && was[i].Rule == rule.Name, i < len(now) && now[i].Rule == rule.Name
		if before != there || there && *was[i] != *now[i] {
			return false
		}
	}
	return true
}

// runEach is run for a rule that looks at each player: only at those of whom it is
// not known already.
func (c *Context) runEach(rule *Rule) {
	all := c.Motions
	c.keeps = nil
	k := &c.keeps
	was, changed := c.old, all
	if was == nil && rule.timeless {
		was = c.otherTime
	}
	if was != nil && !acceptedAlike(rule, was.Score.Accepts, c.Score.Accepts) {
		was = nil
	}
	if was != nil {
		changed = was.keptFor(rule, all, k)
	}
	first := len(c.findings)
	if len(changed) > 0 {
		c.Motions, c.keeping = changed, k
		c.run(rule)
		c.Motions, c.keeping = all, nil
		if c.kept == nil { // nobody takes it over
			first = len(c.findings)
		}
		for _, f := range c.findings[first:] {
			f.Related = slices.Clip(f.Related) // more may be told with it
			f.in, f.proposals, f.later, f.instead, f.before = nil, nil, nil, nil, true
			o := k.of(f.Player)
			o.findings = append(o.findings, f)
		}
	}
	if *k != nil && c.kept != nil {
		c.kept[rule] = *k
	}
	if len(changed) == len(all) {
		return
	}
	for _, m := range all {
		if o := (*k)[m.Player.Name]; o != nil && !slices.Contains(changed, m) {
			c.findAgain(o)
		}
	}
}

// keptFor puts what a rule found before of those who are the same into k, and is everybody
// else.
func (r *Result) keptFor(rule *Rule, all []*motion.Result, k *kept) (changed []*motion.Result) {
	for i, m := range all {
		if !slices.Contains(r.Motions, m) && !(rule.timeless && i < len(r.Motions) && m.PlaysAs(r.Motions[i])) {
			changed = append(changed, m)
		} else if o := r.kept[rule][m.Player.Name]; o != nil {
			k.set(m.Player.Name, o)
		}
	}
	return changed
}

// findAgain finds of a player what was found before.
func (c *Context) findAgain(o *ofPlayer) {
	for _, f := range o.findings {
		f.in = c
		c.findings = append(c.findings, f)
	}
	for _, i := range o.weighed {
		c.accepted[i] = true
	}
	c.Accepted += o.met
}

// afresh are the findings as they are when nothing is taken over: with what may be
// done about them, which only a rule that looks at this very text can say.
type afresh struct {
	once     sync.Once
	findings []Finding
}

// inFull is a finding with what may be done about it.
func (r *Result) inFull(f *Finding) *Finding {
	if !f.before {
		return f
	}
	r.again.once.Do(func() {
		c := *r
		c.Accepted, c.opt.Stop, c.opt.Room = 0, nil, nil
		c.look(nil)
		r.again.findings = c.Findings
	})
	for i := range r.again.findings {
		g := &r.again.findings[i]
		if g.Rule == f.Rule && g.Where == f.Where && g.Severity == f.Severity && g.Player == f.Player && g.Limb == f.Limb && g.At == f.At && g.Message() == f.Message() {
			return g
		}
	}
	return f
}
