package check

import (
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// maxProposals is how many fixes are tried for one finding; each is a whole
// check of the piece.
const maxProposals = 12

// Fixes applies every fix proposed for a finding in memory, checks the piece
// again, and returns those after which the finding is gone and no error and no
// warning is there that was not there before, best first.
func (r *Result) Fixes(f *Finding) []Fix {
	return r.proven(f, func(Fix) bool { return true })
}

// SureFixes are those of the fixes that need nobody's judgement.
func (r *Result) SureFixes(f *Finding) []Fix {
	return r.proven(f, func(fix Fix) bool { return !fix.Judgement })
}

func (r *Result) proven(f *Finding, want func(Fix) bool) []Fix {
	var out []Fix
	standIns := 0
	done, better := map[string]bool{}, false
	for _, p := range f.toTry() {
		if !want(p.Fix) || p.instead() && (standIns == mostStandIns || done[p.what]) || p.rank == byAbsent && better {
			continue
		}
		p.Edits = remarked(r.File, p.Edits)
		text, ok := Apply(r.File, p.Edits)
		if !ok || text == r.File.Text || syntax.LostComment(r.File.Text, text) != "" {
			continue
		}
		after := Recheck(r, syntax.Reparse(text, r.File))
		if after.Stopped {
			return nil
		}
		if r.better(after, f) {
			out = append(out, p.Fix)
			better = better || p.rank < byAbsent
			if p.instead() {
				standIns++
				done[p.what] = p.what != ""
			}
		}
	}
	return out
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
	return r.File.Text, made
}

func (r *Result) fixOne() (string, bool) {
	for i := range r.Findings {
		for _, fix := range r.SureFixes(&r.Findings[i]) {
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
			if g.Bar == f.Bar && g.Count == f.Count && g.HasPlace && g.Limb == f.Limb && g.Message == f.Message {
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
	type tally struct {
		errors, all int
		places      map[beat.Rat]Severity // the worst that was found there
		anywhere    bool                  // not all of its places are known
	}
	before := map[sort]*tally{}
	r.eachTold(func(f *Finding) {
		if f.Severity > worst {
			return
		}
		t := before[sortOf(f)]
		if t == nil {
			t = &tally{places: map[beat.Rat]Severity{}}
			before[sortOf(f)] = t
		}
		t.all += 1 + f.Times
		if f.Severity == Error {
			t.errors += 1 + f.Times
		}
		t.anywhere = t.anywhere || f.Times > 0 && f.more == nil
		for _, at := range f.everywhere() {
			if s, ok := t.places[at]; !ok || f.Severity < s {
				t.places[at] = f.Severity
			}
		}
	})
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
		if text && f.Rule.Name == "uncovered" && hidden > 0 {
			hidden-- // what a refused line leaves to others was not told
			continue
		}
		t := before[sortOf(f)]
		if t == nil {
			return false
		}
		t.all -= 1 + f.Times
		if f.Severity == Error {
			t.errors -= 1 + f.Times
		}
		if t.all < 0 || t.errors < 0 {
			return false
		}
		if text || t.anywhere {
			continue
		}
		for _, at := range f.everywhere() {
			if s, ok := t.places[at]; !ok || f.Severity < s {
				return false
			}
		}
	}
	return true
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
			cuts = append(cuts, cut{len(f.Text), len(f.Text), e.Text})
			continue
		}
		start := f.Starts[e.Line]
		if e.Start < 0 || e.End < e.Start || e.End > len(f.Lines[e.Line].Text) {
			return "", false
		}
		c := cut{start + e.Start, start + e.End, e.Text}
		if e.Whole {
			c.from, c.to = start, len(f.Text)
			if e.Line+1 < len(f.Starts) {
				c.to = f.Starts[e.Line+1]
			}
		}
		cuts = append(cuts, c)
	}
	slices.SortStableFunc(cuts, func(a, b cut) int { return a.from - b.from })
	var b strings.Builder
	at := 0
	for _, c := range cuts {
		if c.from < at {
			return "", false
		}
		b.WriteString(f.Text[at:c.from])
		b.WriteString(c.text)
		at = c.to
	}
	b.WriteString(f.Text[at:])
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

// propose adds a fix to try. Only edits of the piece's own file can be made.
func (f *Finding) propose(title string, judgement bool, edits ...Edit) {
	f.proposals = append(f.proposals, proposal{Fix: Fix{Title: title, Edits: edits, Judgement: judgement}})
}

// lastly adds what is left where nothing else helps.
func (f *Finding) lastly(title string, edits ...Edit) {
	f.proposals = append(f.proposals, proposal{Fix: Fix{Title: title, Edits: edits, Judgement: true}, rank: lastResort})
}

// replace is the edit that writes text in the place of a range.
func replace(w score.Where, text string) Edit {
	return Edit{Line: int(w.Line), Start: int(w.Start), End: int(w.End), Text: text}
}

// remove is the edit that takes a whole line out.
func remove(w score.Where) Edit { return Edit{Line: int(w.Line), Whole: true} }

// below is the edit that adds statements under a line, so many steps deep.
func (c *Context) below(line, deep int, list ...syntax.Stmt) Edit {
	end := len(c.File.Lines[line].Text)
	e := Edit{Line: line, Start: end, End: end}
	for _, s := range list {
		e.Text += "\n" + strings.Repeat("  ", deep) + syntax.Print(s)
		if _, opens := s.(*syntax.Kit); opens {
			deep++
		}
	}
	return e
}

// atEnd is the edit that adds a statement to the end of the file.
func (c *Context) atEnd(s syntax.Stmt) Edit {
	e := Edit{Line: len(c.File.Lines), Text: syntax.Print(s) + "\n"}
	if c.File.Text != "" && !strings.HasSuffix(c.File.Text, "\n") {
		e.Text = "\n" + e.Text
	}
	return e
}

// whySo stands for the reason, which is the arranger's to write.
func whySo() *syntax.Str { return new(syntax.Quoted("say why")) }

// proposeAccept offers to accept the finding; the reason is the arranger's to
// write.
func (c *Context) proposeAccept(f *Finding) {
	f.later = append(f.later, c.acceptNow)
}

func (c *Context) acceptNow(f *Finding) {
	accept := &syntax.Accept{Rule: syntax.Word(f.Rule.Name), Reason: whySo()}
	if f.HasPlace && f.Times > 0 {
		accept.In = new(syntax.BarsBetween(f.Bar, max(f.Bar, f.LastBar)))
	} else if f.HasPlace {
		accept.At = new(syntax.Bar(f.Bar))
	}
	if f.Player != "" {
		accept.Player = new(syntax.TitleOf(f.Player))
	}
	f.lastly("accept it, with your reason", c.atEnd(accept))
}

// limbEdit writes another limb before a cue.
func limbEdit(cue *score.Cue, limb body.Limb) Edit {
	w := cue.Where
	w.End = cue.LimbEnd
	return replace(w, limb.String())
}

// withEdit names another implement in a cue.
func withEdit(cue *score.Cue, implement string) Edit {
	if len(cue.With) > 0 {
		return replace(cue.WithWhere, implement)
	}
	w := cue.Name
	if cue.Mount != kit.AnyMount {
		w = cue.MountWhere
	}
	if cue.Asks != nil {
		w.End = max(w.End, cue.Asks.Where.End)
	}
	w.Start = w.End
	return replace(w, " with "+implement)
}

// mountEdit names another mount in a cue.
func mountEdit(cue *score.Cue, mount kit.Mount) Edit {
	if cue.Asks != nil && cue.Asks.Where.Line == cue.Name.Line { // what it asks for is for the other mount
		w := cue.Asks.Where
		if cue.Mount != kit.AnyMount {
			w = w.Cover(cue.MountWhere)
		}
		if len(cue.With) == 0 || cue.WithWhere.Start > w.End {
			return replace(w, mount.String())
		}
	}
	if cue.Mount != kit.AnyMount {
		return replace(cue.MountWhere, mount.String())
	}
	w := cue.Name
	w.Start = w.End
	return replace(w, " "+mount.String())
}

// proposeForChange offers what may help a change that does not fit: the other
// hand, the implement that is in the hand already, another way of playing,
// and in the end to accept it.
func (c *Context) proposeForChange(f *Finding, g *changeGroup) {
	f.later = append(f.later, func(f *Finding) { c.forChange(f, g) })
}

func (c *Context) forChange(f *Finding, g *changeGroup) {
	cue := g.To.Cue
	if cue != nil {
		c.proposeForCue(f, cue, g.Change)
	}
	if g.From != nil {
		c.proposeRelease(f, g.From, g.To, g.Need.Steady)
	}
	if g.From != nil && g.From.Cue != nil && g.From.Cue != cue {
		c.proposeHand(f, g.From.Cue)
		c.proposeStandIns(f, g.From.Cue, nil)
	}
	c.proposeEarlier(f, g)
	c.proposeOtherStop(f, g.To)
	c.proposeBothMallets(f, g.Change)
	c.proposeFingers(f, g)
	c.proposeTable(f, g)
	c.acceptNow(f)
}

// proposeEarlier offers to drop a set place for taking or laying, so that the
// change may begin as soon as the hand is free.
func (c *Context) proposeEarlier(f *Finding, g *changeGroup) {
	for _, a := range g.player.Player.Actions {
		if a.Kind != score.Take && a.Kind != score.Lay || a.Limb != g.Hand || g.To.At().Less(a.At) || g.From != nil && a.At.Less(g.From.At()) {
			continue
		}
		verb := map[score.ActionKind]string{score.Take: "take", score.Lay: "lay"}[a.Kind]
		f.propose(fmt.Sprintf("%s it earlier: as soon as the hand is free, not at %s", verb, c.Score.Place(a.At)), true, remove(a.Where))
	}
}

// releaseTime is what to leave between a roll and what comes after it where it
// is not known what that takes, in seconds: modelled.
const releaseTime = 0.5

// proposeRelease offers to let go of a written roll early enough for what comes
// after it, so that the change has its time at a steady pace.
func (c *Context) proposeRelease(f *Finding, roll, next *motion.Event, need float64) {
	if roll.Kind != motion.RollOn || roll.Cue == nil || roll.Cue.AsWritten || roll.Where().File != 0 {
		return
	}
	w := roll.Where()
	token := c.File.Lines[w.Line].Text[w.Start:w.End]
	tilde := strings.IndexByte(token, '~')
	if tilde <= 0 || tilde == len(token)-1 {
		return // it goes on over the bar line
	}
	st := &roll.Cue.Strokes[roll.Stroke]
	bar, begins := int(st.Bar), st.At
	ends := st.End
	m := c.Score.Grid.Meter(bar)
	for k := 2 * m.Counts(); k > 1; k-- {
		count := beat.Count{Beat: (k + 1) / 2}
		if k%2 == 0 {
			count.Frac = beat.R(1, 2)
		}
		at, ok := c.Score.Grid.At(bar, count)
		if !ok || !begins.Less(at) || !at.Less(ends) {
			continue
		}
		share := at.Add(begins.Neg()).Float() / ends.Add(begins.Neg()).Float()
		if left := next.T0 - (roll.T0 + share*(roll.T1-roll.T0)); left < need-1e-6 {
			continue
		}
		f.propose(fmt.Sprintf("let go of the roll on the %s early, at %s", roll.Item().Inst.Name(), c.Score.Place(at)), true,
			replace(score.Where{File: w.File, Line: w.Line, Start: w.Start + int32(tilde) + 1, End: w.End}, count.String()))
		break
	}
}

// proposeOtherStop offers the other hand for a stop that a line gives to one.
func (c *Context) proposeOtherStop(f *Finding, stop *motion.Event) {
	if !stop.Kind.Stops() || stop.Action == nil || stop.Action.Where.File != 0 {
		return
	}
	w, other := stop.Action.Where, "L"
	if stop.Action.Limb == body.Left {
		other = "R"
	}
	w.End = w.Start + 1
	f.propose("let the other hand stop it", true, replace(w, other))
}

// proposeBothMallets offers to keep a pair of mallets in a hand that lays one
// of them, or takes a second one.
func (c *Context) proposeBothMallets(f *Finding, ch *motion.Change) {
	from, to := ch.Before, ch.After
	if from.Implement == nil || from.Implement != to.Implement || from.Count == to.Count {
		return
	}
	cue := ch.To.Cue
	if from.Count < to.Count {
		if ch.From == nil {
			return
		}
		cue = ch.From.Cue
	}
	if cue != nil {
		f.propose("keep both mallets in the hand", true, withEdit(cue, syntax.Print(kit.Choice{Implement: from.Implement.ID, Count: 2}.Thing())))
	}
}

// proposeFingers offers to have both things in the hand that it would lay and
// take: the one that it lays stays beside the other, or the one that it takes is
// there already.
func (c *Context) proposeFingers(f *Finding, g *changeGroup) {
	laid, taken := g.Laid().Implement, g.Taken().Implement
	if !g.Takes || laid == nil || taken == nil || laid == taken || g.From == nil || laid.AloneBecause()+taken.AloneBecause() != "" {
		return
	}
	offer := func(cue *score.Cue, plays, stays *kit.Implement, title string) {
		if cue == nil || cue.Beside != nil || cue.Where.File != 0 || !cue.Limb.IsHand() && cue.Limb != body.AnyHand || len(cue.With) > 0 && cue.With[0].Count != 1 {
			return
		}
		f.propose(title, true, withEdit(cue, plays.ID+" and "+stays.ID))
	}
	offer(g.To.Cue, taken, laid, "keep the "+laid.Name()+" in the fingers")
	title := fmt.Sprintf("take the %s up together with the %s", taken.Name(), laid.Name())
	for _, sp := range g.player.Spells[g.Hand] {
		if sp.From < g.From.T0 && sp.Grip.Of(taken) > 0 && sp.Grip.Of(laid) == 0 {
			title = "keep the " + taken.Name() + " in the fingers"
		}
	}
	offer(g.From.Cue, laid, taken, title)
}

// proposeTable offers a table nearer to what a change is for. Beside an
// instrument there is room for one at this distance, in cm: modelled.
func (c *Context) proposeTable(f *Finding, g *changeGroup) {
	it, p := g.To.Item(), g.player.Player
	if !g.Takes && !g.Lays || it == nil || !it.Placed || it.Station != 0 || len(p.Tables) == 0 {
		return
	}
	const beside = 45
	for i := range p.Tables {
		t := &p.Tables[i]
		if t.Assumed || t.Station != 0 || t.Where.File != 0 || t.Spot == (score.Where{}) {
			continue
		}
		for _, side := range []float64{beside, -beside} {
			f.propose("move the table nearer to the "+it.Inst.Name(), true,
				replace(t.Spot, syntax.Print(syntax.SpotAt("", it.At.Right+side, it.At.Ahead, 0))))
		}
		return
	}
}

func (c *Context) proposeHand(f *Finding, cue *score.Cue) {
	if cue.Limb.IsHand() {
		other := cue.Limb.Other()
		f.propose("play the "+cue.Item.Inst.Name()+" with the "+other.Name(), true, limbEdit(cue, other))
	}
}

func (c *Context) proposeForCue(f *Finding, cue *score.Cue, ch *motion.Change) {
	in := cue.Item.Inst
	c.proposeHand(f, cue)
	have := map[string]bool{}
	if ch != nil && ch.Before.Implement != nil {
		id := ch.Before.Implement.ID
		for _, w := range in.Ways {
			for _, choice := range w.With {
				if choice.Implement == id && !have[id] && (len(cue.With) == 0 || cue.With[0].Implement != id) {
					have[id] = true
					f.propose(fmt.Sprintf("play the %s with the %s that is in the hand already", in.Name(), ch.Before.Implement.Name()), true, withEdit(cue, id))
				}
			}
		}
	}
	seen := map[kit.Mount]bool{motion.Wanted(cue): true}
	for _, w := range in.Ways {
		if seen[w.Mount] || w.Limb != kit.Hand {
			continue
		}
		seen[w.Mount] = true
		title := fmt.Sprintf("play the %s %s", in.Name(), w.Mount)
		if w.Costs != "" {
			title += " (" + w.Costs + ")"
		}
		f.propose(title, true, mountEdit(cue, w.Mount))
	}
	c.proposeStandIns(f, cue, ch)
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
