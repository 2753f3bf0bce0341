package plan

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// letStandIn takes what the catalogue says may stand in for what is written among the
// ways of playing it, but what there is none of.
func (k *stock) letStandIn(tracks []*track) {
	k.catalogued = true
	for _, t := range tracks {
		for _, s := range k.catalogue.StandIns(t.inst) {
			if g := k.score.GearOf(s.In); g != nil && g.Count == 0 {
				continue
			}
			if st := (stander{inst: s.In, name: s.In.ID}); !slices.ContainsFunc(k.standIns[t.name], func(o stander) bool { return o.inst == s.In }) {
				k.standIns[t.name] = append(k.standIns[t.name], st)
			}
		}
	}
}

// A stoodIn is an instrument that a plan plays instead of what is written.
type stoodIn struct {
	by, instead *kit.Instrument
	bars        []int
}

// stoodIns are the stand-ins that a plan has of its own, as they come.
func (j *job) stoodIns(all []plays) []stoodIn {
	var out []stoodIn
	for _, q := range j.passages {
		pl := all[q.id]
		if pl.player < 0 || q.fixed || q.options[pl.option].inst == q.track.inst {
			continue
		}
		by := q.options[pl.option].inst
		i := slices.IndexFunc(out, func(s stoodIn) bool { return s.by == by && s.instead == q.track.inst })
		if i < 0 {
			out, i = append(out, stoodIn{by: by, instead: q.track.inst}), len(out)
		}
		if s := &out[i]; !slices.Contains(s.bars, q.bar) {
			s.bars = append(s.bars, q.bar)
		}
	}
	return out
}

// standsIn is what is said of them at the top of a plan, with what the sound pays.
func (j *job) standsIn(all []plays) string {
	var out []string
	for _, s := range j.stoodIns(all) {
		costs, _ := j.stock.catalogue.StandsIn(s.by, s.instead)
		if costs != "" {
			costs = " – " + costs
		}
		out = append(out, fmt.Sprintf("the %s %s in for the %s (%s%s)", s.by.Name(), s.by.Verb("stands", "stand"), s.instead.Name(), stretches(s.bars), costs))
	}
	if len(out) == 0 {
		return ""
	}
	return "; " + strings.Join(out, "; ")
}

// stretches names bars, those that follow one another together.
func stretches(at []int) string {
	slices.Sort(at)
	var out []string
	for i := 0; i < len(at); {
		k := i
		for k+1 < len(at) && at[k+1] == at[k]+1 {
			k++
		}
		out = append(out, bars(at[i], at[k]))
		i = k + 1
	}
	if more := len(out) - 4; more > 0 {
		out = append(out[:4], fmt.Sprintf("%d more places", more))
	}
	word := "bars"
	if len(at) == 1 {
		word = "bar"
	}
	return word + " " + list(out)
}

// standsInFor says whether a way of playing a passage is on what stands in for what is written.
func standsInFor(q *passage, o *option) bool { return o.inst != q.track.inst }

// letStandIn is a plan in which things stand in for what is lost, all else being as it is in one
// without; it says no where that does not lose less than so much. What everything given away
// anew gains elsewhere may cost it more than that.
func (p *Plan) letStandIn(ctx context.Context, name string, f *syntax.File, opt Options, least float64) (Plan, bool) {
	if opt.open || opt.Keep || ctx.Err() != nil {
		return Plan{}, false
	}
	opt.Keep, opt.alone, opt.under, opt.Players, opt.Without, opt.Names = true, true, least, 0, nil, nil
	opt.brings = &bringing{new: standsInFor, says: true}
	for _, who := range p.Result.Score.Players {
		opt.Names = append(opt.Names, who.Name)
	}
	q, err := file(ctx, name, syntax.Parse(withoutOmits(p.Result.File)), opt)
	if err != nil || q.Stopped || q.Value >= least-1e-9 {
		return Plan{}, false
	}
	a := &assembly{file: f}
	first, last := 0, 0 // lines that are the same from the beginning, and at the end
	old, now := f.Lines, q.Result.File.Lines
	for first < min(len(old), len(now)) && old[first].Text == now[first].Text {
		first++
	}
	for last < min(len(old), len(now))-first && old[len(old)-1-last].Text == now[len(now)-1-last].Text {
		last++
	}
	q.fresh = nil
	for i, l := range now {
		at := -1
		switch {
		case i < first:
			at = i
		case i >= len(now)-last:
			at = i - len(now) + len(old)
		}
		a.lines = append(a.lines, outLine{old: at, text: l.Text})
		q.fresh = append(q.fresh, at < 0)
	}
	q.Edits, q.Moved = a.edits(), p.Moved
	return q, a.text() == q.Text
}
