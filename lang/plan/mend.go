package plan

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// Bounds on the rounds of mending. In each at least one passage that an error
// speaks of is taken out; in the first ones it may come back elsewhere.
const (
	mostMends  = 200
	firstMends = 12
)

// mend changes a plan until its check is clean.
func (j *job) mend(d *draft) (*draft, error) {
	for round := range mostMends {
		errs := j.inOrder(d, d.errors())
		j.tell(mending, round, mostMends, j.value(d.all))
		if len(errs) == 0 {
			return d, nil
		}
		all := slices.Clone(d.all)
		changed := 0
		for _, f := range errs {
			if j.loosen(d, f, false) || j.makeRoom(d, f, all) || j.takeOut(d, f, all) {
				changed++
			}
		}
		for i := 0; changed == 0 && i < len(errs); i++ {
			if j.loosen(d, errs[i], true) {
				changed++
			}
		}
		if changed == 0 && !slices.ContainsFunc(errs, func(f *check.Finding) bool { return f.Severity == check.Error }) {
			return d, nil // at the edge, and by what is kept
		}
		if changed == 0 {
			return nil, fmt.Errorf("no plan was found that a check does not object to: %s%s", errs[0].Message(), j.lineOf(d, errs[0]))
		}
		if round < firstMends && j.ctx.Err() == nil {
			j.learn(d)
			all = j.search.yield(all)
			all = j.better(all, mending, func(b int) bool {
				return slices.ContainsFunc(j.bars[b], func(q *passage) bool { return all[q.id] != d.all[q.id] })
			})
		}
		next, err := j.draft(all, d.result)
		if err != nil {
			return nil, err
		}
		d = next
	}
	return nil, errors.New("no plan was found that a check does not object to, however much is left out")
}

// lineOf is, in brackets, the line of the file that a finding about a draft is about, where it
// is not about what the plan wrote anew.
func (j *job) lineOf(d *draft, f *check.Finding) string {
	if f.Where.File != 0 || int(f.Where.Line) >= len(d.out.lines) {
		return ""
	}
	l := d.out.lines[f.Where.Line]
	if l.old >= 0 {
		return fmt.Sprintf(" (line %d)", l.old+1)
	}
	owners, who := j.owners(), ownerOf(d.out.lines, int(f.Where.Line))
	text := syntax.Canonical(syntax.ParseLine(l.text).Code())
	for i, o := range j.file.Lines {
		if owners[i] == who && syntax.Canonical(o.Code()) == text {
			return fmt.Sprintf(" (line %d)", i+1)
		}
	}
	return ""
}

// inOrder puts errors into an order that does not depend on where in the file the lines
// are that they are about.
func (j *job) inOrder(d *draft, errs []*check.Finding) []*check.Finding {
	who := func(f *check.Finding) int {
		return slices.IndexFunc(j.people, func(p *person) bool { return p.name == f.Player })
	}
	place := func(f *check.Finding) int {
		here := j.passagesAt(d, f.Where.Line, f.Bar, f.HasPlace)
		if len(here) == 0 {
			return -1
		}
		return here[0].id
	}
	slices.SortStableFunc(errs, func(a, b *check.Finding) int {
		return cmp.Or(cmp.Compare(a.Bar, b.Bar), cmp.Compare(a.Rule.Name, b.Rule.Name), cmp.Compare(who(a), who(b)), cmp.Compare(place(a), place(b)))
	})
	return errs
}

// learn notes what the changes of a draft need that was thought to need less.
func (j *job) learn(d *draft) (bars []int) {
	for i, m := range d.result.Motions {
		who := slices.IndexFunc(j.people, func(p *person) bool { return p.name == d.result.Score.Players[i].Name })
		if who < 0 {
			continue
		}
		for k := range m.Changes {
			ch := &m.Changes[k]
			if ch.From == nil || ch.From.Cue == nil || ch.To.Cue == nil || ch.Hand > body.Left || ch.From.Cue == ch.To.Cue || ch.BodyBound {
				continue
			}
			a, b := j.played(d, ch.From, who), j.played(d, ch.To, who)
			if a == nil || b == nil {
				continue
			}
			if j.people[who].changer.learn(a.options[d.all[a.id].option].sig, b.options[d.all[b.id].option].sig, ch.Hand, ch.Need, ch.Lays || ch.Takes) {
				bars = append(bars, b.bar)
			}
		}
	}
	return bars
}

// played is the passage that an event belongs to.
func (j *job) played(d *draft, e *motion.Event, who int) *passage {
	line := e.Cue.Where.Line
	if int(line) >= len(d.out.lines) {
		return nil
	}
	means := d.out.lines[line].means
	i, ok := slices.BinarySearchFunc(means, e.Bar(), func(q *passage, bar int) int { return q.bar - bar })
	if !ok || int(d.all[means[i].id].player) != who {
		return nil
	}
	return means[i]
}

// takeOut takes the lightest passage that an error is about out of a plan, and
// remembers what did not go together.
func (j *job) takeOut(d *draft, f *check.Finding, all []plays) bool {
	here := j.passagesAt(d, f.Where.Line, f.Bar, f.HasPlace)
	var from []*passage
	for _, n := range f.Related {
		from = append(from, j.passagesAt(d, n.Where.Line, f.Bar, f.HasPlace)...)
	}
	if len(here) == 0 {
		here = j.ofPlayer(d, f)
	}
	if len(here) > 0 && len(from) > 0 && changes(f) {
		a, b := from[len(from)-1], here[0]
		if pa, pb := d.all[a.id], d.all[b.id]; pa.player >= 0 && pb.player >= 0 {
			j.search.pairs[pair{choice{a, &a.options[pa.option]}, choice{b, &b.options[pb.option]}, pb.player}] = true
		}
	}
	rivals := len(here) > 0 && len(from) > 0 && j.search.fallOut(d.all, from[len(from)-1], here[0])
	near := slices.DeleteFunc(append(slices.Clone(here), from...), func(q *passage) bool { return q.fixed })
	if slices.ContainsFunc(near, func(q *passage) bool { return all[q.id].player < 0 }) {
		return false // already out, for another error
	}
	if len(near) == 0 {
		return false
	}
	q := slices.MinFunc(near, func(a, b *passage) int {
		return cmp.Or(cmp.Compare(a.weight, b.weight), cmp.Compare(a.id, b.id))
	})
	if !rivals && (!changes(f) || len(from) == 0) {
		j.search.banned[ban{q.id, all[q.id]}] = true
	}
	all[q.id] = nobody
	return true
}

// changes says whether a finding is about one hand that goes from one thing to
// another.
func changes(f *check.Finding) bool { return f.Timed && len(f.Related) > 0 }

// passagesAt are the passages near a bar that a line of the text stands for,
// the nearest first.
func (j *job) passagesAt(d *draft, line int32, bar int, placed bool) []*passage {
	if int(line) >= len(d.out.lines) {
		return nil
	}
	var out []*passage
	for _, q := range d.out.lines[line].means {
		if !placed || q.bar <= bar && j.lastBar(q) >= bar-2 {
			out = append(out, q)
		}
	}
	slices.SortStableFunc(out, func(a, b *passage) int { return cmp.Compare(b.bar, a.bar) })
	return out[:min(len(out), 1)]
}

// lastBar is the bar in which the last of a passage ends: a roll may go on for long.
func (j *job) lastBar(q *passage) int {
	last := q.bar
	for i := range q.strokes {
		if q.strokes[i].Has(score.Roll) {
			bar, _ := j.score.Grid.Place(q.strokes[i].End)
			last = max(last, bar)
		}
	}
	return last
}

// ofPlayer is what the player of an error has at its place.
func (j *job) ofPlayer(d *draft, f *check.Finding) []*passage {
	var out []*passage
	for _, q := range j.passages {
		pl := d.all[q.id]
		if pl.player >= 0 && j.people[pl.player].name == f.Player && !q.fixed && (!f.HasPlace || q.bar == f.Bar) {
			out = append(out, q)
		}
	}
	return out
}

// errors are those of a draft's check that are the plan's own, and what of it is at
// the edge, if that may not stand. Things that the file itself has stand in one another
// do so whoever plays what: nothing that is given away otherwise mends that.
func (d *draft) errors() []*check.Finding {
	fresh := func(w score.Where) bool {
		return w.File == 0 && int(w.Line) < len(d.out.lines) && d.out.lines[w.Line].old < 0
	}
	var out []*check.Finding
	for i := range d.result.Findings {
		f := &d.result.Findings[i]
		own := fresh(f.Where) || len(f.Related) > 0 && fresh(f.Related[0].Where)
		if f.Severity == check.Error && (d.stood(f) || d.bare && f.Rule.Name == check.RuleUncovered) {
			continue
		}
		if f.Severity == check.Error && (own || f.Rule.Name != sameSpace) || own && f.Rule.Name == notTogether || own && d.oneByOne && f.Rule.Name == check.RuleSharedGear || own && !d.edge && atTheEdge(f) {
			out = append(out, f)
		}
	}
	return out
}

// atTheEdge says whether a finding is about something that is quicker than people are
// on average when they do their utmost, or about a roll that nobody keeps up so long.
func atTheEdge(f *check.Finding) bool {
	return f.Severity == check.Warning && (f.Timed && f.Window < f.Need.Floor-1e-6 || f.Wears > longestRoll)
}

// sameSpace is the rule about two things in one place, and notTogether the one about
// what is to stay with one person.
const (
	sameSpace   = "same-space"
	notTogether = "not-together"
)

// makeRoom takes from a player what stands in something else of theirs: of the two
// things the one that has less to do, where the plan gave it to them.
func (j *job) makeRoom(d *draft, f *check.Finding, all []plays) bool {
	if f.Rule.Name != sameSpace {
		return false
	}
	at := slices.IndexFunc(j.people, func(p *person) bool { return p.name == f.Player })
	if at < 0 {
		return false
	}
	who := j.people[at]
	where := []score.Where{f.Where}
	for _, n := range f.Related {
		where = append(where, n.Where)
	}
	var least *kit.Instrument
	weight := 0.0
	for _, w := range where {
		if int(w.Line) >= len(d.out.lines) || d.out.lines[w.Line].old >= 0 {
			continue
		}
		item, ok := syntax.ParseLine(d.out.lines[w.Line].text).Stmt.(*syntax.Item)
		if !ok {
			continue
		}
		var in *kit.Instrument
		sum := 0.0
		for _, q := range j.passages {
			if pl := d.all[q.id]; int(pl.player) == at && q.options[pl.option].name == item.Name.Text {
				in, sum = q.options[pl.option].inst, sum+q.weight
			}
		}
		if in == nil {
			continue
		}
		if least == nil || sum < weight {
			least, weight = in, sum
		}
	}
	if least == nil {
		return false
	}
	who.lacksRoom(least)
	out := false
	for _, q := range j.passages {
		if pl := all[q.id]; int(pl.player) == at && !q.fixed && q.options[pl.option].inst == least {
			all[q.id], out = nobody, true
		}
	}
	return out
}
