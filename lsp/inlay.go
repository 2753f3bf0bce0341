package lsp

import (
	"context"
	"fmt"

	"go.lsp.dev/protocol"

	"handful/lang/check"
	"handful/lang/motion"
	"handful/lang/score"
	"handful/lang/syntax"
)

// InlayHint shows at each change what the hand lays and takes and how much
// time is left over, behind any the hand that was chosen, and behind a line that
// a later from ends the bar where it does.
func (s *session) InlayHint(ctx context.Context, p *protocol.InlayHintParams) ([]protocol.InlayHint, error) {
	d, r, err := s.checked(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	out := []protocol.InlayHint{}
	first, last := int32(p.Range.Start.Line), int32(p.Range.End.Line)
	inRange := func(w score.Where) bool { return w.File == 0 && first <= w.Line && w.Line <= last }
	for _, m := range r.Motions {
		type group struct {
			worst *motion.Change
			n     int
		}
		at := map[score.Where]*group{}
		var order []score.Where
		for i := range m.Changes {
			ch := &m.Changes[i]
			w := ch.To.Where()
			if ch.From == nil || !real(ch) || !inRange(w) {
				continue
			}
			g := at[w]
			if g == nil {
				g = &group{worst: ch}
				at[w] = g
				order = append(order, w)
			}
			g.n++
			if ch.Spare() < g.worst.Spare() {
				g.worst = ch
			}
		}
		for _, w := range order {
			out = append(out, d.changeHint(r, w, at[w].worst, at[w].n))
		}
		for _, c := range m.Player.Cues {
			if c.Ended && inRange(c.Where) {
				out = append(out, protocol.InlayHint{
					Position: d.whereOf(c.Where).End, Label: protocol.String(fmt.Sprintf("to bar %d", c.To)), Kind: protocol.InlayHintKindParameter, PaddingLeft: ptr(true),
					Tooltip: protocol.String(fmt.Sprintf("a later from, at bar %d, ends what is taken as written here", c.To+1)),
				})
			}
			if limb, ok := m.AnyHands[c]; ok && inRange(c.Where) {
				end := syntax.Span{Start: int(c.Where.Start), End: int(c.Where.Start) + len("any")}
				out = append(out, protocol.InlayHint{
					Position: d.where(int(c.Where.Line), end).End, Label: protocol.String(limb.String()),
					Kind: protocol.InlayHintKindParameter, PaddingLeft: ptr(true), Tooltip: protocol.String("the " + limb.Name() + " was chosen"),
				})
			}
		}
	}
	return out, nil
}

// changeHint stands before the stroke that a change leads to; when the stroke
// is taken from a part, behind the line, with its place.
func (d *document) changeHint(r *check.Result, w score.Where, ch *motion.Change, n int) protocol.InlayHint {
	label := fmt.Sprintf("%s: %s", spare(ch), check.Doing(ch)) // editors cut long hints: what matters comes first
	h := protocol.InlayHint{Kind: protocol.InlayHintKindType}
	rng := d.whereOf(w)
	if ch.To.Cue != nil && ch.To.Cue.AsWritten {
		label = r.Score.Place(ch.To.At()) + ": " + label
		h.Position, h.PaddingLeft = rng.End, ptr(true)
	} else {
		h.Position, h.PaddingRight = rng.Start, ptr(true)
	}
	if n > 1 {
		label += fmt.Sprintf(" (the tightest of %d)", n)
	}
	h.Label = protocol.String(label)
	h.Tooltip = &protocol.MarkupContent{Kind: protocol.MarkupKindMarkdown, Value: changeWords(ch)}
	return h
}
