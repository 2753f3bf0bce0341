package plan

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A demand is one thing that whoever leads wants of a plan, which could be dropped: a
// line of the file, or an option.
type demand struct {
	line  int // of the file; -1 is an option
	words string
	drop  func(*Options)
}

// mostDemands is how many wishes are looked at together, and mostQuestions how often it is asked
// at most whether some of them hold together.
const (
	mostDemands   = 1_000
	mostQuestions = 200
)

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

// smallest is the smallest set, by taking out some and then one after the other, of wishes with
// which something fails that does not fail without any: of those that are left each is needed
// for it, which has been tried. It is nil where it fails without any, or not at all; and where
// asking so often took too long, sure is false, and fewer of them might do.
func smallest(all []demand, fails func(stay []demand) bool) (set []demand, sure bool) {
	if len(all) == 0 || len(all) > mostDemands || fails(nil) || !fails(all) {
		return nil, true
	}
	stay := slices.Clone(all)
	asked := 0
	for size := (len(stay) + 1) / 2; ; size = (size + 1) / 2 {
		for at := 0; at < len(stay); {
			if asked++; asked > mostQuestions {
				return stay, false
			}
			if less := slices.Delete(slices.Clone(stay), at, min(len(stay), at+size)); len(less) > 0 && fails(less) {
				stay = less
			} else {
				at += size
			}
		}
		if size == 1 {
			return stay, true
		}
	}
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
// together, where it is wishes that stand against one. Where that is seen only once all is
// planned, a piece is planned anew without some of them if it is short enough.
func explained(ctx context.Context, name string, f *syntax.File, opt Options, err error) error {
	all := append(demandsOf(f, &opt), omitsOf(f)...)
	opt.Progress = nil
	fails := func(stay []demand) bool {
		g, o := withOnly(f, opt, all, stay)
		j, err := newJob(ctx, name, g, o, false)
		return err != nil || j.noFloor() != nil
	}
	if !fails(all) {
		j, jobErr := newJob(ctx, name, f, opt, false)
		switch {
		case jobErr != nil || len(all) == 0:
			return err
		case (len(all)+2)*len(j.passages) > mostReplanned:
			return fmt.Errorf("%w. Whether that is due to what is wished was not tried: the piece is too long for that", err)
		}
		opt.Sentences = false
		fails = func(stay []demand) bool {
			g, o := withOnly(f, opt, all, stay)
			p, err := file(ctx, name, g, o)
			return err != nil || p.empty()
		}
	}
	set, sure := smallest(all, fails)
	if ctx.Err() != nil { // what was cut short says nothing
		return err
	}
	switch {
	case len(set) == 0:
		return err
	case !sure:
		return fmt.Errorf("%w. What stands against it is among these, of which not all could be tried in time: %s", err, demandWords(set))
	case len(set) == 1:
		return fmt.Errorf("%w. What stands against it, and would have to go: %s", err, demandWords(set))
	}
	return fmt.Errorf("%w. These cannot hold together, and one of them would have to go: %s", err, demandWords(set))
}

// omitsOf are the lines of a file that leave something out for reasons of its own.
func omitsOf(f *syntax.File) (out []demand) {
	for i, l := range f.Lines {
		if o, ok := l.Stmt.(*syntax.Omit); ok && !l.Broken && o.Reason != nil && !ours(o.Reason.Value()) {
			out = append(out, demand{line: i, words: fmt.Sprintf("%s (line %d)", strings.TrimSpace(l.Code()), i+1)})
		}
	}
	return out
}

// empty says whether nobody plays anything of what was to be given away.
func (p *Plan) empty() bool {
	return !p.Stopped && len(p.Lost) > 0 && p.Value >= p.Written-1e-9
}

// nothing is why a plan in which nobody plays anything is none.
func (p *Plan) nothing() error {
	l := p.Lost[0]
	for _, o := range p.Lost[1:] {
		if o.Weight > l.Weight {
			l = o
		}
	}
	return fmt.Errorf("no plan was found in which anybody plays anything: for the %s of %s %s, %s", l.Line, l.Part, barsWord(l.From, l.To), l.Because)
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
	return slices.ContainsFunc(j.passages, func(q *passage) bool {
		return q.track.name == line && q.track.part.Name == part && j.someone(q)
	})
}

// someone says whether somebody can play a passage, and there is an instrument for it.
func (j *job) someone(q *passage) bool {
	for i := range q.options {
		o := &q.options[i]
		if j.limitOf(o.inst) > 0 && slices.ContainsFunc(j.people, func(p *person) bool {
			return slices.ContainsFunc(o.slots, func(sl uint8) bool { return p.can(q, o, sl) })
		}) {
			return true
		}
	}
	return false
}

// mostReplanned is how many bars of lines are planned anew, all plans together, to find out
// which wishes cost something that is lost.
const mostReplanned = 1_200

// atOdds is the smallest set of wishes with which more is lost than without any, where what
// is lost has to do with something that is wished for all; each is needed for
// that, and every plan without one was made anew. Nothing is said of long pieces with many
// wishes.
func (j *job) atOdds(lost []Loss) []demand {
	all := demandsOf(j.file, &j.opt)
	if len(all) == 0 || (len(all)+2)*len(j.passages) > mostReplanned || !slices.ContainsFunc(lost, j.concerned) {
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
	set, sure := smallest(all, func(stay []demand) bool { return len(stay) > 0 && loses(stay) > free+1e-9 })
	if !sure || j.ctx.Err() != nil { // what was cut short says nothing
		return nil
	}
	return set
}

// concerned says whether something that is lost has to do with what is wished for everybody:
// with what is to stay together, or with gear of which there is no more or none. What has no room
// says so by itself.
func (j *job) concerned(l Loss) bool {
	none := func(g *score.Gear) bool { return g.Count == 0 }
	if (kindOf(l.Because) == noGear || slices.ContainsFunc(j.score.Gear, none)) && j.playable(l.Part, l.Line) {
		return true
	}
	return slices.ContainsFunc(j.score.Together, func(t *score.Together) bool {
		for bar := l.From; bar <= l.To; bar++ {
			if t.Has(l.Part, l.Line, bar) {
				return true
			}
		}
		return false
	})
}

// mostForbidden is for how many lines it is said which wishes stand against them.
const mostForbidden = 3

// forbidden says of lines that nobody can play which wishes stand against them.
func (j *job) forbidden(lost []Loss) []string {
	var sets, names []string
	all := demandsOf(j.file, &j.opt)
	seen := map[string]bool{}
	for _, l := range lost {
		key := l.Part + "\n" + l.Line
		if seen[key] || len(seen) == mostForbidden || j.playable(l.Part, l.Line) {
			continue
		}
		seen[key] = true
		set, sure := smallest(all, func(stay []demand) bool {
			g, o := withOnly(j.file, j.opt, all, stay)
			o.unable = true
			p, err := newJob(j.ctx, j.name, g, o, false)
			return err != nil || !p.playable(l.Part, l.Line)
		})
		if len(set) == 0 || !sure || j.ctx.Err() != nil {
			continue
		}
		what := fmt.Sprintf("the %s of %s", l.Line, l.Part)
		if i := slices.Index(sets, demandWords(set)); i >= 0 {
			names[i] += " nor " + what
		} else {
			sets, names = append(sets, demandWords(set)), append(names, what)
		}
	}
	var out []string
	for i := range sets {
		out = append(out, fmt.Sprintf("nobody can play %s as long as all of this holds – %s", names[i], sets[i]))
	}
	return out
}
