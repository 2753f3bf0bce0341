package check

import (
	"fmt"
	"slices"
	"strings"

	"handful/lang/kit"
	"handful/lang/motion"
	"handful/lang/score"
	"handful/lang/syntax"
)

// maxProposals is how many fixes are tried for one finding; each is a whole
// check of the piece.
const maxProposals = 12

// Fixes applies every fix proposed for a finding in memory, checks the piece
// again, and returns those after which the finding is gone and no error is
// there that was not there before, best first.
func (r *Result) Fixes(f *Finding) []Fix {
	return r.proven(f, func(Fix) bool { return true })
}

// SureFixes are those of the fixes that need nobody's judgement.
func (r *Result) SureFixes(f *Finding) []Fix {
	return r.proven(f, func(fix Fix) bool { return !fix.Judgement })
}

func (r *Result) proven(f *Finding, want func(Fix) bool) []Fix {
	var out []Fix
	list := f.allProposals()
	for _, p := range list[:min(len(list), maxProposals)] {
		if !want(p.Fix) {
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
		}
	}
	return out
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

// better says whether a finding is gone from a later check, and no rule finds
// more errors there than it did before.
func (r *Result) better(after *Result, f *Finding) bool {
	before, now := map[*Rule]int{}, map[*Rule]int{}
	same := func(g *Finding) bool {
		return g.Rule == f.Rule && g.Player == f.Player && g.Severity == f.Severity
	}
	was, is := 0, 0
	for i := range r.Findings {
		if g := &r.Findings[i]; g.Severity == Error {
			before[g.Rule] += 1 + g.Times
		}
		if same(&r.Findings[i]) {
			was += 1 + r.Findings[i].Times
		}
	}
	for i := range after.Findings {
		g := &after.Findings[i]
		if g.Severity == Error {
			now[g.Rule] += 1 + g.Times
		}
		if same(g) {
			is += 1 + g.Times
			if g.Bar == f.Bar && g.Count == f.Count && g.HasPlace && g.Limb == f.Limb && g.Message == f.Message {
				return false
			}
		}
	}
	for rule, n := range now {
		if n > before[rule] {
			return false
		}
	}
	return is < was
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
	g.proposals = slices.Clone(f.proposals)
	for _, l := range f.later {
		l(&g)
	}
	return g.proposals
}

// propose adds a fix to try. Only edits of the piece's own file can be made.
func (f *Finding) propose(title string, judgement bool, edits ...Edit) {
	f.proposals = append(f.proposals, proposal{Fix{Title: title, Edits: edits, Judgement: judgement}})
}

// replace is the edit that writes text in the place of a range.
func replace(w score.Where, text string) Edit {
	return Edit{Line: int(w.Line), Start: int(w.Start), End: int(w.End), Text: text}
}

// remove is the edit that takes a whole line out.
func remove(w score.Where) Edit { return Edit{Line: int(w.Line), Whole: true} }

// below is the edit that adds a line under another one.
func (c *Context) below(line int, text string) Edit {
	end := len(c.File.Lines[line].Text)
	return Edit{Line: line, Start: end, End: end, Text: "\n" + text}
}

// atEnd is the edit that adds a line to the end of the file.
func (c *Context) atEnd(text string) Edit {
	if strings.HasSuffix(c.File.Text, "\n") || c.File.Text == "" {
		return Edit{Line: len(c.File.Lines), Text: text + "\n"}
	}
	return Edit{Line: len(c.File.Lines), Text: "\n" + text + "\n"}
}

// proposeAccept offers to accept the finding; the reason is the arranger's to
// write.
func (c *Context) proposeAccept(f *Finding) {
	f.later = append(f.later, c.acceptNow)
}

func (c *Context) acceptNow(f *Finding) {
	at := ""
	if f.HasPlace {
		at = fmt.Sprintf(" at %d", f.Bar)
		if f.Times > 0 {
			at = fmt.Sprintf(" in %d-%d", f.Bar, max(f.Bar, f.LastBar))
		}
	}
	who := ""
	if f.Player != "" {
		who = " for " + nameOf(f.Player)
	}
	line := fmt.Sprintf("accept %s%s%s because \"say why\"", f.Rule.Name, at, who)
	f.propose("accept it, with your reason", true, c.atEnd(line))
}

func nameOf(player string) string {
	l := syntax.ParseLine("player " + player)
	if len(l.Problems) == 0 && l.Comment() == "" {
		return player
	}
	return syntax.Quote(player)
}

// limbEdit writes another limb before a cue.
func limbEdit(cue *score.Cue, limb string) Edit {
	w := cue.Where
	w.End = cue.LimbEnd
	return replace(w, limb)
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
	w.Start = w.End
	return replace(w, " with "+implement)
}

// mountEdit names another mount in a cue.
func mountEdit(cue *score.Cue, mount kit.Mount) Edit {
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
	if g.From != nil && g.From.Cue != nil && g.From.Cue != cue {
		c.proposeHand(f, g.From.Cue)
	}
	c.proposeEarlier(f, g)
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

func (c *Context) proposeHand(f *Finding, cue *score.Cue) {
	switch cue.Limb {
	case score.Right:
		f.propose("play the "+cue.Item.Inst.Name()+" with the left hand", true, limbEdit(cue, "L"))
	case score.Left:
		f.propose("play the "+cue.Item.Inst.Name()+" with the right hand", true, limbEdit(cue, "R"))
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
