package check

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/syntax"
)

// maxProposals is how many fixes are tried for one finding; each is a whole
// check of the piece.
const maxProposals = 12

// Fixes applies every fix proposed for a finding in memory, checks the piece
// again, and returns those after which the finding is gone and no error and no
// warning is there that was not there before, best first.
func (r *Result) Fixes(f *Finding) []Fix {
	return r.provenOf(f, r.inFull(f).toTry(), everyOne)
}

// SureFixes are those of the fixes that need nobody's judgement.
func (r *Result) SureFixes(f *Finding) []Fix {
	return r.sureFixes(f, everyOne)
}

func (r *Result) sureFixes(f *Finding, most int) []Fix {
	toTry := r.inFull(f).toTry()
	return r.provenOf(f, slices.DeleteFunc(toTry, func(p proposal) bool { return p.Judgement }), most)
}

// everyOne is more fixes than are tried for any finding.
const everyOne = math.MaxInt

// provenOf are the first so many of the fixes that hold.
func (r *Result) provenOf(f *Finding, toTry []proposal, most int) []Fix {
	return r.proven(toTry, most, func(i int) verdict { return r.verdict(f, r.trial(toTry[i].Edits)) })
}

// proven are the first so many of the fixes that hold, by what comes of each.
func (r *Result) proven(toTry []proposal, most int, try func(i int) verdict) []Fix {
	var out []Fix
	standIns := 0
	done, better := map[string]bool{}, false
	for i, p := range toTry {
		if p.instead() && (standIns == mostStandIns || done[p.what]) || p.rank == byAbsent && better {
			continue
		}
		switch try(i) {
		case givenUp:
			return nil
		case helps:
			p.Edits = remarked(r.File, p.Edits)
			if out = append(out, p.Fix); len(out) == most {
				return out
			}
			better = better || p.rank < byAbsent
			if p.instead() {
				standIns++
				done[p.what] = p.what != ""
			}
		}
	}
	return out
}

// A verdict is what comes of trying a fix.
type verdict uint8

const (
	noHelp verdict = iota
	helps
	givenUp // the check was told to stop
)

// verdict says what comes of a trial for a finding.
func (r *Result) verdict(f *Finding, try trial) verdict {
	switch after := try(); {
	case after == nil:
	case after.Stopped:
		return givenUp
	case r.better(after, f):
		return helps
	}
	return noHelp
}

// A trial is the piece with a fix in it; nil where that cannot be made, or loses something.
type trial = func() *Result

// trial tries some edits.
func (r *Result) trial(edits []Edit) trial {
	return func() *Result {
		text, ok := Apply(r.File, remarked(r.File, edits))
		if !ok || text == r.File.Text() || syntax.LostComment(r.File.Text(), text) != "" {
			return nil
		}
		return tryOut(r, syntax.Reparse(text, r.File))
	}
}

func keyOf(edits []Edit) string { return fmt.Sprintf("%#v", edits) }

// A search is what is tried for a finding, and what comes of each, which is
// found when it is first asked.
type search struct {
	of    int // the finding's index
	toTry []proposal
	tries []func() verdict
}

// FixesWithin looks for the fixes of some findings, by their index, in that order
// and several at once, as long as there are trials left: each fix that is tried
// is a whole check. The first is looked at in any case. It says how many were
// looked at, and before the first trial how many there are at the most: what
// depends on neither time nor the number of cores.
func (r *Result) FixesWithin(order []int, trials int, spends func(tried int)) (fixes map[int][]Fix, sought int) {
	var jobs []search
	lists := r.listed(order, trials)
	tried := 0
	for k, i := range order {
		list := lists[k]()
		if len(jobs) > 0 && tried+len(list) > trials {
			break
		}
		jobs, tried = append(jobs, search{of: i, toTry: list}), tried+len(list)
	}
	spends(tried)
	r.prepare(jobs)
	var first []func() verdict // what is tried whatever comes of the rest
	for _, j := range jobs {
		for k := range j.toTry {
			if !j.toTry[k].instead() {
				first = append(first, j.tries[k])
			}
		}
	}
	found := make([][]Fix, len(jobs))
	Each(len(first)+len(jobs), func(i int) {
		if i < len(first) {
			first[i]()
			return
		}
		i -= len(first)
		found[i] = r.proven(jobs[i].toTry, everyOne, func(k int) verdict { return jobs[i].tries[k]() })
	})
	fixes = map[int][]Fix{}
	for i, j := range jobs {
		fixes[j.of] = found[i]
	}
	return fixes, len(jobs)
}

// listed are the proposals of some findings, put into words by now as far as
// there are trials for.
func (r *Result) listed(order []int, trials int) []func() []proposal {
	lists := make([]func() []proposal, len(order))
	for k, i := range order {
		lists[k] = sync.OnceValue(func() []proposal { return r.inFull(&r.Findings[i]).toTry() })
	}
	var many atomic.Int64
	Each(len(lists), func(k int) {
		if many.Load() <= int64(trials) {
			many.Add(int64(len(lists[k]())))
		}
	})
	return lists
}

// prepare says how each fix is tried. What is proposed for several findings is
// tried once.
func (r *Result) prepare(jobs []search) {
	times := map[string]int{}
	for _, j := range jobs {
		for k := range j.toTry {
			times[keyOf(j.toTry[k].Edits)]++
		}
	}
	shared := map[string]trial{}
	for i := range jobs {
		j := &jobs[i]
		for k := range j.toTry {
			try, key := r.trial(j.toTry[k].Edits), keyOf(j.toTry[k].Edits)
			if times[key] > 1 {
				if shared[key] == nil {
					shared[key] = sync.OnceValue(try)
				}
				try = shared[key]
			}
			j.tries = append(j.tries, sync.OnceValue(func() verdict { return r.verdict(&r.Findings[j.of], try) }))
		}
	}
}

// Each does a piece of work so many times, on all cores. A failure of the program
// in one of them is one of whoever asked.
func Each(n int, work func(int)) {
	if n < 2 || runtime.GOMAXPROCS(0) < 2 {
		for i := range n {
			work(i)
		}
		return
	}
	var next atomic.Int32
	var failed atomic.Pointer[Fault]
	var all sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < n && failed.Load() == nil; i = int(next.Add(1)) - 1 {
				if fault := Contained(func() { work(i) }); fault != nil {
					failed.Store(fault)
				}
			}
		})
	}
	all.Wait()
	if fault := failed.Load(); fault != nil {
		panic(fault)
	}
}

// toTry are the proposals in the order in which they are tried and offered:
// what costs least first. What plays something else is counted by itself, so
// that neither crowds the other out.
func (f *Finding) toTry() []proposal {
	var ranks [lastResort + 1][]proposal
	for _, p := range f.allProposals() {
		ranks[p.rank] = append(ranks[p.rank], p)
	}
	first := ranks[asWritten]
	first = first[:min(len(first), maxProposals-len(ranks[lastResort]))]
	others := slices.Concat(ranks[byAnother], ranks[byAbsent])
	others = others[:min(len(others), mostStandInsTried)]
	return slices.Concat(first, others, ranks[lastResort])
}

// mostTurns is how many fixes are made one after the other.
const mostTurns = 500

// FixAll makes the fixes that need nobody's judgement, one after the other,
// and says how many there were. It stops where it is when the check is told
// to stop.
func (r *Result) FixAll() (text string, made int) {
	for made < mostTurns && !r.Stopped {
		text, ok := r.fixOne()
		if !ok {
			break
		}
		made++
		r = Recheck(r, syntax.Reparse(text, r.File))
	}
	return r.File.Text(), made
}

// AnySure says whether FixAll would make a fix.
func (r *Result) AnySure() bool {
	_, any := r.fixOne()
	return any
}

func (r *Result) fixOne() (string, bool) {
	for i := range r.Findings {
		for _, fix := range r.sureFixes(&r.Findings[i], 1) {
			return Apply(r.File, fix.Edits)
		}
	}
	return "", false
}

// better says whether a finding is gone from a later check, and nothing is
// wrong there that was not before: see holds.
func (r *Result) better(after *Result, f *Finding) bool {
	same := func(g *Finding) bool {
		return g.Rule == f.Rule && g.Player == f.Player && g.Severity == f.Severity
	}
	was, is, there := 0, 0, !f.HasPlace
	r.eachTold(func(g *Finding) {
		if same(g) {
			was += 1 + g.Times
		}
	})
	for i := range after.Findings {
		if g := &after.Findings[i]; same(g) {
			is += 1 + g.Times
			there = there || slices.Contains(g.everywhere(), f.At)
			if g.Bar == f.Bar && g.Count == f.Count && g.HasPlace && g.Limb == f.Limb && g.Message() == f.Message() {
				return false
			}
		}
	}
	return (is < was || !there) && r.holds(after, f.Rule.text)
}

// alike are the rules that look at one thing from different sides: whether a
// limb gets from one thing to the next in time.
var alike = map[string]string{
	"short-change": "a change", "seam": "a change", "vamp-exit": "a change", "fermata-as-time": "a change", "thin-margin": "a change",
}

// A sort is what findings must have in common for one of them to stand where
// another one was.
type sort struct{ kind, player string }

func sortOf(f *Finding) sort {
	if kind, ok := alike[f.Rule.Name]; ok {
		return sort{kind, f.Player}
	}
	return sort{f.Rule.Name, f.Player}
}

// holds says whether a later check finds no error and no warning that was not
// there before, at any place. What is found at a place where something worse
// of its sort was found is nothing new: a change that did not fit and is tight
// now. A text that could not be read hides what is to be found in it; to be
// able to read it is worth its warnings, and only what becomes impossible
// counts.
func (r *Result) holds(after *Result, text bool) bool {
	worst := Warning
	if text {
		worst = Error
	}
	before := r.tallies(worst)
	hidden := 0
	for i := range r.Score.Coverage.Uncovered {
		if r.Score.Coverage.Uncovered[i].Refused {
			hidden++
		}
	}
	for i := range after.Findings {
		f := &after.Findings[i]
		if f.Severity > worst {
			continue
		}
		if text && f.Rule.Name == RuleUncovered && hidden > 0 {
			hidden-- // what a refused line leaves to others was not told
			continue
		}
		if t := before[sortOf(f)]; t == nil || !t.has(f) || !text && !t.knows(f) {
			return false
		}
	}
	return true
}

// A tally is what was found of one sort.
type tally struct {
	errors, all int
	places      map[beat.Rat]Severity // the worst that was found there
	anywhere    bool                  // not all of its places are known
}

// tallies counts what was found, as far as it is as bad as worst.
func (r *Result) tallies(worst Severity) map[sort]*tally {
	out := map[sort]*tally{}
	r.eachTold(func(f *Finding) {
		if f.Severity > worst {
			return
		}
		t := out[sortOf(f)]
		if t == nil {
			t = &tally{places: map[beat.Rat]Severity{}}
			out[sortOf(f)] = t
		}
		t.count(f, 1)
		t.anywhere = t.anywhere || f.Times > 0 && f.more == nil
		for _, at := range f.everywhere() {
			if s, ok := t.places[at]; !ok || f.Severity < s {
				t.places[at] = f.Severity
			}
		}
	})
	return out
}

func (t *tally) count(f *Finding, sign int) {
	t.all += sign * (1 + f.Times)
	if f.Severity == Error {
		t.errors += sign * (1 + f.Times)
	}
}

// has takes a finding from what there is of it, and says whether there was as
// much.
func (t *tally) has(f *Finding) bool {
	t.count(f, -1)
	return t.all >= 0 && t.errors >= 0
}

// knows says whether something as bad was found at each of a finding's places.
func (t *tally) knows(f *Finding) bool {
	return t.anywhere || !slices.ContainsFunc(f.everywhere(), func(at beat.Rat) bool {
		s, ok := t.places[at]
		return !ok || f.Severity < s
	})
}

// everywhere lists the places of a finding: its own and those like it.
func (f *Finding) everywhere() []beat.Rat {
	if !f.HasPlace {
		return nil
	}
	return append([]beat.Rat{f.At}, f.more...)
}

// Apply makes edits in a file's text. It fails when they overlap or lie
// outside it.
func Apply(f *syntax.File, edits []Edit) (string, bool) {
	type cut struct {
		from, to int
		text     string
	}
	var cuts []cut
	for _, e := range edits {
		e.Text = f.Ended(e.Text)
		if e.Line < 0 || e.Line > len(f.Lines) {
			return "", false
		}
		if e.Line == len(f.Lines) {
			cuts = append(cuts, cut{f.Size(), f.Size(), e.Text})
			continue
		}
		start := f.Starts[e.Line]
		if e.Start < 0 || e.End < e.Start || e.End > len(f.Lines[e.Line].Text) {
			return "", false
		}
		c := cut{start + e.Start, start + e.End, e.Text}
		if e.Whole {
			c.from, c.to = start, f.Size()
			if e.Line+1 < len(f.Starts) {
				c.to = f.Starts[e.Line+1]
			}
		}
		cuts = append(cuts, c)
	}
	slices.SortStableFunc(cuts, func(a, b cut) int { return a.from - b.from })
	var b strings.Builder
	more := 0
	for _, c := range cuts {
		more += len(c.text)
	}
	text := f.Text()
	b.Grow(f.Size() + more)
	at := 0
	for _, c := range cuts {
		if c.from < at {
			return "", false
		}
		b.WriteString(text[at:c.from])
		b.WriteString(c.text)
		at = c.to
	}
	b.WriteString(text[at:])
	return b.String(), true
}

// allProposals are the fixes to try, those that are only put into words when
// somebody asks among them: a check finds much that nobody asks about.
func (f *Finding) allProposals() []proposal {
	g := *f
	g.proposals, g.instead = slices.Clone(f.proposals), slices.Clone(f.instead)
	for _, l := range f.later {
		l(&g)
	}
	for _, l := range g.instead {
		l(&g)
	}
	return g.proposals
}

// After is the result with edits made in memory; not ok when they cannot be.
func (r *Result) After(edits []Edit) (*Result, bool) {
	text, ok := Apply(r.File, edits)
	if !ok {
		return nil, false
	}
	return Recheck(r, syntax.Reparse(text, r.File)), true
}

// Count is how many findings of a rule have a severity.
func (r *Result) Count(rule *Rule, s Severity) int {
	n := 0
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Rule == rule && f.Severity == s {
			n += 1 + f.Times
		}
	}
	return n
}
