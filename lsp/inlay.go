package lsp

import (
	"context"
	"fmt"

	"go.lsp.dev/protocol"

	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
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
		for _, g := range changesByPlace(m, inRange) {
			out = append(out, d.changeHint(r, g.worst.To.Where(), g.worst, g.n))
		}
		for _, c := range m.Player.Cues {
			if inRange(c.Where) {
				out = append(out, d.cueHints(m, c)...)
			}
		}
	}
	return out, nil
}

// changesAt are the changes that lead to one place of the text.
type changesAt struct {
	worst *motion.Change
	n     int
}

// changesByPlace puts together the changes to places that are wanted, in order.
func changesByPlace(m *motion.Result, wanted func(score.Where) bool) []*changesAt {
	var out []*changesAt
	at := map[score.Where]*changesAt{}
	for i := range m.Changes {
		ch := &m.Changes[i]
		w := ch.To.Where()
		if !timed(ch) || !wanted(w) {
			continue
		}
		if at[w] == nil {
			at[w] = &changesAt{worst: ch}
			out = append(out, at[w])
		}
		at[w].n++
		if ch.Spare() < at[w].worst.Spare() {
			at[w].worst = ch
		}
	}
	return out
}

// cueHints stand behind a cue that a later from ends, and behind the any of one
// whose hand was chosen.
func (d *document) cueHints(m *motion.Result, c *score.Cue) []protocol.InlayHint {
	var out []protocol.InlayHint
	add := func(at protocol.Position, label, tip string) {
		out = append(out, protocol.InlayHint{
			Position: at, Label: protocol.String(label), Kind: protocol.InlayHintKindParameter, PaddingLeft: ptr(true), Tooltip: protocol.String(tip),
		})
	}
	if c.Ended {
		add(d.whereOf(c.Where).End, fmt.Sprintf("to bar %d", c.To), fmt.Sprintf("a later from, at bar %d, ends what is taken as written here", c.To+1))
	}
	if limb, ok := m.AnyHands[c]; ok {
		word := syntax.Span{Start: int(c.Where.Start), End: int(c.Where.Start) + len("any")}
		add(d.where(int(c.Where.Line), word).End, limb.String(), "the "+limb.Name()+" was chosen")
	}
	return out
}

// changeHint stands before the stroke that a change leads to; when the stroke
// is taken from a part, behind the line, with its place.
func (d *document) changeHint(r *check.Result, w score.Where, ch *motion.Change, n int) protocol.InlayHint {
	label := fmt.Sprintf("%s: %s", check.Spare(ch), check.Doing(ch)) // editors cut long hints: what matters comes first
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
