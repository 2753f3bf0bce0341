package lsp

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/plan"
	"example.org/handful/lang/score"
	"example.org/handful/lang/sheet"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

// planned plans an open document: for as many players as the text says, or for
// its own. Lines from one to another are given away anew, if there are any.
func (s *session) planned(ctx context.Context, id uri.URI, players string, keep bool, lines []int) (*document, *plan.Plan, error) {
	d, err := s.find(ctx, id)
	if err != nil {
		return nil, nil, err
	}
	file := d.parsed()
	var before *check.Result
	if len(lines) == 2 {
		if _, before, err = s.sound(ctx, id); err != nil {
			return nil, nil, err
		}
		if file, err = without(file, givable(before, lines[0], lines[1])); err != nil {
			return nil, nil, err
		}
	}
	conf := &d.analysis.conf
	opt := plan.Options{Keep: keep, Sentences: before == nil, Load: d.analysis.load, TempoFactor: conf.factor(), Usual: conf.Profile, Uses: conf.uses}
	if players != "" {
		if opt.Players, err = strconv.Atoi(players); err != nil {
			return nil, nil, refuse("%q is no number of players", players)
		}
	}
	report := s.progress(ctx, "planning "+d.name)
	defer report(1, 1)
	opt.Progress = func(p plan.Progress) {
		if p.Of > 0 && p.Done < p.Of {
			report(p.Done, p.Of)
		}
	}
	p, err := plan.File(ctx, d.name, file, opt)
	if err != nil {
		return nil, nil, refuse("%v", err)
	}
	if !strings.HasSuffix(p.Text, "\n") {
		p.Text += "\n"
	}
	if before != nil && played(p.Result) < played(before) {
		return nil, nil, refuse("nobody was found who loses nothing of it: the lines stay as they are")
	}
	return d, &p, ctx.Err()
}

// without is a file without some lines, and what goes on from them.
func without(file *syntax.File, lines []int) (*syntax.File, error) {
	var out []check.Edit
	for _, n := range lines {
		for _, line := range append([]int{n}, file.GoesOn(n)...) {
			out = append(out, check.TakeOut(file, line))
		}
	}
	text, ok := check.Apply(file, out)
	if !ok || len(out) == 0 {
		return nil, refuse("no part has these lines written, so there is nothing to give away anew")
	}
	return syntax.Reparse(text, file), nil
}

func played(r *check.Result) int { return r.Score.Coverage.Covered + r.Score.Coverage.Substituted }

// givable is the lines of cues in a range whose every stroke is written in
// some part: whatever is taken out of them can be given to somebody.
func givable(r *check.Result, from, to int) []int {
	type stroke struct {
		inst *kit.Instrument
		at   beat.Rat
	}
	plays := func(c *score.Cue) *kit.Instrument {
		if c.For != nil {
			return c.For
		}
		return c.Item.Inst
	}
	cues := cuesOf(r.Score, from, to)
	wanted := map[*kit.Instrument]bool{}
	for _, c := range cues {
		wanted[plays(c)] = true
	}
	written := map[stroke]bool{}
	for _, p := range r.Score.Parts {
		for _, l := range p.Lines {
			if !wanted[l.Inst] {
				continue
			}
			for i := range l.Strokes {
				written[stroke{l.Inst, l.Strokes[i].At}] = true
			}
		}
	}
	var out []int
	for _, c := range cues {
		if !slices.ContainsFunc(c.Strokes, func(st score.Stroke) bool { return !written[stroke{plays(c), st.At}] }) {
			out = append(out, int(c.Where.Line))
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// plan is a plan of the document, as text.
func (s *session) plan(ctx context.Context, id uri.URI, args []string) (string, error) {
	_, p, err := s.planned(ctx, id, first(args), false, nil)
	if err != nil {
		return "", err
	}
	return p.Text, nil
}

// planHere puts a plan into the document, and cover only what nobody plays yet.
func (s *session) planHere(ctx context.Context, id uri.URI, args []string) (string, error) {
	return s.putPlan(ctx, id, first(args), false, nil, "plan this piece")
}

func (s *session) cover(ctx context.Context, id uri.URI, args []string) (string, error) {
	return s.putPlan(ctx, id, first(args), true, nil, "find somebody for what nobody plays")
}

// planLines gives the cues of some lines away anew: their numbers, from 0, come
// behind the URI.
func (s *session) planLines(ctx context.Context, id uri.URI, args []string) (string, error) {
	if len(args) < 2 {
		return "", refuse("%s wants the first line and the last", commandPlanLines)
	}
	from, err1 := strconv.Atoi(args[0])
	to, err2 := strconv.Atoi(args[1])
	if err1 != nil || err2 != nil {
		return "", refuse("%s wants line numbers", commandPlanLines)
	}
	return s.putPlan(ctx, id, "", true, []int{from, to}, "plan these lines anew")
}

func (s *session) putPlan(ctx context.Context, id uri.URI, players string, keep bool, lines []int, label string) (string, error) {
	if !s.can.applyEdit {
		return "", refuse("this editor does not let the server change its text; handful.plan answers with the plan")
	}
	d, p, err := s.planned(ctx, id, players, keep, lines)
	if err != nil {
		return "", err
	}
	if p.Text == d.idx.text() { // an empty edit is one that some editors do not take
		s.client.ShowMessage(s.ctx, &protocol.ShowMessageParams{Type: protocol.MessageTypeInfo, Message: "handful: no plan was found that is better than what is written: nothing is changed"})
		return "", nil
	}
	return "", s.put(ctx, d, p.Text, label)
}

// absent gives away what somebody plays who is not there, leaves everything else as it
// is, and answers with the page that says what changes. The name comes behind the URI.
func (s *session) absent(ctx context.Context, id uri.URI, args []string) (string, error) {
	if len(args) == 0 {
		return "", refuse("%s wants the name of whoever is not there", commandWithout)
	}
	d, err := s.find(ctx, id)
	if err != nil {
		return "", err
	}
	report := s.progress(ctx, "planning "+d.name)
	defer report(1, 1)
	conf := d.analysis.conf
	a, err := plan.Absent(ctx, d.name, d.parsed(), plan.Options{Without: args, Load: d.analysis.load, TempoFactor: conf.factor(), Usual: conf.Profile, Uses: conf.uses})
	switch {
	case err != nil:
		return "", refuse("%v", err)
	case ctx.Err() != nil:
		return "", ctx.Err()
	}
	page := sheet.Absent(a, sheet.Options{})
	if s.can.applyEdit && a.Plan.Text == d.idx.text() { // an empty edit is one that some editors do not take
		s.client.ShowMessage(s.ctx, &protocol.ShowMessageParams{Type: protocol.MessageTypeInfo, Message: "handful: " + args[0] + " has nothing that anybody else could take: nothing is changed"})
	} else if s.can.applyEdit {
		label := "without " + args[0]
		if err := s.put(ctx, d, a.Plan.Text, label); err != nil {
			return "", err
		}
	}
	return page.Text(), nil
}

// put makes a document what a plan says.
func (s *session) put(ctx context.Context, d *document, text, label string) error {
	got, err := s.client.ApplyEdit(ctx, &protocol.ApplyWorkspaceEditParams{Label: &label, Edit: *s.editOf(d, differenceOf(d.parsed(), text))})
	if err == nil && !got.Applied {
		err = refuse("the editor did not take the plan: the text may have changed meanwhile")
	}
	return err
}

func first(args []string) string {
	if len(args) == 0 {
		return ""
	}
	return args[0]
}

// mostOffers is for how many players a piece without any is offered a plan.
const mostOffers = 4

// uncoveredAt says whether something stands there that nobody plays, or that is found to be
// so.
func uncoveredAt(d *document, r *check.Result, at protocol.Range) bool {
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Rule.Name == check.RuleUncovered && f.Where.File == 0 && touches(d.whereOf(f.Where), at) {
			return true
		}
	}
	for _, g := range r.Score.Coverage.Uncovered {
		for i := g.First; i <= g.Last; i++ {
			if where := g.Line.Strokes[i].Where(); where.File == 0 && touches(d.whereOf(where), at) {
				return true
			}
		}
	}
	return false
}

// planActions offer to plan where something is written that nobody plays, and
// at the lines that open parts and players. They are worked out when chosen.
func planActions(d *document, r *check.Result, at protocol.Range) []*protocol.CodeAction {
	if len(r.Score.Parts) == 0 {
		return nil
	}
	uncovered, opens := uncoveredAt(d, r, at), false
	line, _ := d.at(at.Start)
	if form := d.parsed().Lines[line].Form; form != nil {
		opens = form.Word == "part" || form.Word == "player"
	}
	var out []*protocol.CodeAction
	add := func(kind protocol.CodeActionKind, title, command string, more ...any) {
		args := arguments(append([]any{string(d.uri)}, more...)...)
		out = append(out, &protocol.CodeAction{Title: title, Kind: &kind, Command: protocol.Command{Title: title, Command: command, Arguments: args}})
	}
	if len(r.Score.Players) == 0 {
		for n := 1; (uncovered || opens) && n <= mostOffers; n++ {
			add(protocol.CodeActionKindQuickFix, "plan this piece for "+words.Count(n, "player", "players"), commandPlanHere, strconv.Itoa(n))
		}
		return out
	}
	if uncovered {
		add(protocol.CodeActionKindQuickFix, "find somebody for what nobody plays, and leave the rest as it is", commandCover)
	}
	last, col := d.at(at.End)
	if last > line && col == 0 {
		last--
	}
	if cues := len(givable(r, line, last)); cues > 0 {
		add(protocol.CodeActionKindRefactorRewrite, "give "+words.Count(cues, "line", "lines")+" away anew, and leave the rest as it is", commandPlanLines, strconv.Itoa(line), strconv.Itoa(last))
	}
	if p, ok := d.parsed().Lines[line].Stmt.(*syntax.Player); ok && len(r.Score.Players) > 1 {
		add(protocol.CodeActionKindRefactorRewrite, p.Name.Value()+" is not there: give that away, and leave the rest as it is", commandWithout, p.Name.Value())
	}
	if opens {
		add(protocol.CodeActionKindRefactorRewrite, "plan this piece anew for its players", commandPlanHere)
	}
	return out
}
