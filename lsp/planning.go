package lsp

import (
	"context"
	"encoding/json"
	"strconv"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"handful/lang/check"
	"handful/lang/plan"
)

// planned plans an open document: for as many players as the text says, or for
// its own.
func (s *session) planned(ctx context.Context, id uri.URI, players string, keep bool) (*document, *plan.Plan, error) {
	d, err := s.find(ctx, id)
	if err != nil {
		return nil, nil, err
	}
	opt := plan.Options{Keep: keep, Load: d.analysis.load, TempoFactor: d.analysis.conf.factor(), Profile: d.analysis.conf.Profile}
	if players != "" {
		if opt.Players, err = strconv.Atoi(players); err != nil {
			return nil, nil, refuse("%q is no number of players", players)
		}
	}
	tell := s.progress("planning " + d.name)
	defer tell(1, 1)
	opt.Progress = func(p plan.Progress) {
		if p.Of > 0 && p.Done < p.Of {
			tell(p.Done, p.Of)
		}
	}
	p, err := plan.File(ctx, d.name, d.parsed(), opt)
	if err != nil {
		return nil, nil, refuse("%v", err)
	}
	return d, &p, ctx.Err()
}

// plan is a plan of the document, as text.
func (s *session) plan(ctx context.Context, id uri.URI, args []string) (string, error) {
	_, p, err := s.planned(ctx, id, first(args), false)
	if err != nil {
		return "", err
	}
	return p.Text, nil
}

// planHere puts a plan into the document, and cover only what nobody plays yet.
func (s *session) planHere(ctx context.Context, id uri.URI, args []string) (string, error) {
	return s.putPlan(ctx, id, first(args), false, "plan this piece")
}

func (s *session) cover(ctx context.Context, id uri.URI, args []string) (string, error) {
	return s.putPlan(ctx, id, first(args), true, "find somebody for what nobody plays")
}

func (s *session) putPlan(ctx context.Context, id uri.URI, players string, keep bool, label string) (string, error) {
	if !s.can.applyEdit {
		return "", refuse("this editor does not let the server change its text; handful.plan answers with the plan")
	}
	d, p, err := s.planned(ctx, id, players, keep)
	if err != nil {
		return "", err
	}
	got, err := s.client.ApplyEdit(ctx, &protocol.ApplyWorkspaceEditParams{Label: &label, Edit: *s.editOf(d, p.Edits)})
	switch {
	case err != nil:
		return "", err
	case !got.Applied:
		return "", refuse("the editor did not take the plan: the text may have changed meanwhile")
	}
	return "", nil
}

func first(args []string) string {
	if len(args) == 0 {
		return ""
	}
	return args[0]
}

// planActions offer to plan where something is written that nobody plays, and
// at the lines that open parts and players. They are worked out when chosen.
func planActions(d *document, r *check.Result, at protocol.Range) []*protocol.CodeAction {
	if len(r.Score.Parts) == 0 || len(r.Score.Players) == 0 {
		return nil
	}
	uncovered, opens := false, false
	for i := range r.Findings {
		f := &r.Findings[i]
		uncovered = uncovered || f.Rule.Name == "uncovered" && f.Where.File == 0 && touches(d.whereOf(f.Where), at)
	}
	line, _ := d.at(at.Start)
	if form := d.parsed().Lines[line].Form; form != nil {
		opens = form.Word == "part" || form.Word == "player"
	}
	var out []*protocol.CodeAction
	add := func(kind protocol.CodeActionKind, title, command string) {
		raw, err := json.Marshal(string(d.uri))
		if err == nil {
			out = append(out, &protocol.CodeAction{Title: title, Kind: &kind, Command: protocol.Command{Title: title, Command: command, Arguments: []protocol.LSPAny{raw}}})
		}
	}
	if uncovered {
		add(protocol.CodeActionKindQuickFix, "find somebody for what nobody plays, and leave the rest as it is", commandCover)
	}
	if opens {
		add(protocol.CodeActionKindRefactorRewrite, "plan this piece anew for its players", commandPlanHere)
	}
	return out
}
