package plan

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/syntax"
)

// A demand is one thing that whoever leads wants of a plan, which could be dropped: a
// line of the file, or an option.
type demand struct {
	line  int // of the file; -1 is an option
	words string
	drop  func(*Options)
}

// mostDemands is how many wishes are looked at together, each with a check or two.
const mostDemands = 48

// demandsOf lists the wishes of a file and of what was asked for that keep people from
// playing something.
func demandsOf(f *syntax.File, opt *Options) []demand {
	var out []demand
	seats := f.Seats()
	for i, l := range f.Lines {
		if l.Broken {
			continue
		}
		owner := ""
		if s := seats[i]; s.Owner >= 0 {
			if p, ok := f.Lines[s.Owner].Stmt.(*syntax.Player); ok {
				owner = p.Name.Value() + ": "
			}
		}
		switch l.Stmt.(type) {
		case *syntax.Never, *syntax.Hands, *syntax.Ability:
			if owner == "" || slices.Contains(opt.Without, strings.TrimSuffix(owner, ": ")) {
				continue
			}
		case *syntax.Amounts, *syntax.Together:
		default:
			continue
		}
		out = append(out, demand{line: i, words: fmt.Sprintf("%s%s (line %d)", owner, strings.TrimSpace(l.Code()), i+1)})
	}
	if opt.Keep && !opt.open {
		out = append(out, demand{-1, "every cue is kept as it is (--keep)", func(o *Options) { o.Keep = false }})
	}
	if opt.Wide > 0 {
		out = append(out, demand{-1, fmt.Sprintf("each player has %g cm of floor from side to side (--wide)", opt.Wide), func(o *Options) { o.Wide = 0 }})
	}
	if opt.Deep > 0 {
		out = append(out, demand{-1, fmt.Sprintf("each player has %g cm of floor from front to back (--deep)", opt.Deep), func(o *Options) { o.Deep = 0 }})
	}
	return out
}

// withOnly is a file and options with only some of their wishes.
func withOnly(f *syntax.File, opt Options, all, stay []demand) (*syntax.File, Options) {
	gone := map[int]bool{}
	for _, d := range all {
		if slices.ContainsFunc(stay, func(o demand) bool { return o.words == d.words }) {
			continue
		}
		if d.line >= 0 {
			gone[d.line] = true
		} else {
			d.drop(&opt)
		}
	}
	var lines []string
	for i, l := range f.Lines {
		if gone[i] {
			lines = append(lines, "")
			continue
		}
		lines = append(lines, l.Text)
	}
	return syntax.Parse(strings.Join(lines, "\n") + "\n"), opt
}

// smallest is the smallest set, by taking out one after the other, of wishes with which
// something fails that does not fail without any: of those that are left each is needed
// for it, which has been tried. It is nil where it fails without any, or not at all.
func smallest(all []demand, fails func(stay []demand) bool) []demand {
	if len(all) == 0 || len(all) > mostDemands || fails(nil) || !fails(all) {
		return nil
	}
	stay := slices.Clone(all)
	for i := 0; i < len(stay); {
		if less := slices.Delete(slices.Clone(stay), i, i+1); fails(less) {
			stay = less
		} else {
			i++
		}
	}
	return stay
}

// demandWords names wishes.
func demandWords(list []demand) string {
	var out []string
	for _, d := range list {
		out = append(out, d.words)
	}
	return strings.Join(out, "; ")
}

// explained is why there is no plan, with the smallest set of wishes that cannot hold
// together, where it is wishes that stand against one.
func explained(ctx context.Context, name string, f *syntax.File, opt Options, err error) error {
	all := demandsOf(f, &opt)
	set := smallest(all, func(stay []demand) bool {
		g, o := withOnly(f, opt, all, stay)
		j, err := newJob(ctx, name, g, o, false)
		return err != nil || j.noFloor() != nil
	})
	switch len(set) {
	case 0:
		return err
	case 1:
		return fmt.Errorf("%w. What stands against it, and would have to go: %s", err, demandWords(set))
	}
	return fmt.Errorf("%w. These cannot hold together, and one of them would have to go: %s", err, demandWords(set))
}

// noFloor says that nothing can stand around a player.
func (j *job) noFloor() error {
	if len(spotsIn(j.opt.Wide, j.opt.Deep)) == 0 {
		return fmt.Errorf("nothing has room around a player on %.0f by %.0f cm", j.opt.Wide, j.opt.Deep)
	}
	return nil
}

// playable says whether somebody can play something of a line, and there is an
// instrument for it.
func (j *job) playable(part, line string) bool {
	for _, q := range j.passages {
		if q.track.name != line || q.track.part.Name != part {
			continue
		}
		for i := range q.options {
			o := &q.options[i]
			if j.limitOf(o.inst) > 0 && slices.ContainsFunc(j.people, func(p *person) bool {
				return slices.ContainsFunc(o.slots, func(sl uint8) bool { return p.can(q, o, sl) })
			}) {
				return true
			}
		}
	}
	return false
}

// mostReplanned is how many bars of lines are planned anew, all plans together, to find out
// which wishes cost something that is lost.
const mostReplanned = 6_000

// atOdds is the smallest set of wishes with which more is lost than without any, where some
// of what is lost is to stay with somebody who cannot play it there; each is needed for
// that, and every plan without one was made anew. Nothing is said of long pieces with many
// wishes.
func (j *job) atOdds(lost []Loss) []demand {
	if !slices.ContainsFunc(lost, func(l Loss) bool { return kindOf(l.Because) == notAlone }) {
		return nil
	}
	all := demandsOf(j.file, &j.opt)
	if (len(all)+2)*len(j.passages) > mostReplanned {
		return nil
	}
	loses := func(stay []demand) float64 {
		g, o := withOnly(j.file, j.opt, all, stay)
		o.Sentences, o.unable, o.Progress = false, true, nil
		p, err := File(j.ctx, j.name, g, o)
		if err != nil {
			return j.written
		}
		return p.Value
	}
	free := loses(nil)
	set := smallest(all, func(stay []demand) bool { return len(stay) > 0 && loses(stay) > free+1e-9 })
	if j.ctx.Err() != nil { // what was cut short says nothing
		return nil
	}
	return set
}

// mostForbidden is for how many lines it is said which wishes stand against them.
const mostForbidden = 3

// forbidden says of lines that nobody can play which wishes stand against them.
func (j *job) forbidden(lost []Loss) []string {
	var out []string
	all := demandsOf(j.file, &j.opt)
	seen := map[string]bool{}
	for _, l := range lost {
		key := l.Part + "\n" + l.Line
		if seen[key] || len(out) == mostForbidden || j.playable(l.Part, l.Line) {
			continue
		}
		seen[key] = true
		set := smallest(all, func(stay []demand) bool {
			g, o := withOnly(j.file, j.opt, all, stay)
			o.unable = true
			p, err := newJob(j.ctx, j.name, g, o, false)
			return err != nil || !p.playable(l.Part, l.Line)
		})
		if len(set) > 0 {
			out = append(out, fmt.Sprintf("nobody can play the %s of %s as long as all of this holds – %s", l.Line, l.Part, demandWords(set)))
		}
	}
	return out
}
