package lsp

import (
	"context"
	"fmt"

	"go.lsp.dev/protocol"

	"example.org/handful/lang/check"
	"example.org/handful/lang/words"
)

// CodeLens stands above the file with its coverage, and above each player with
// the tempo that they can play up to.
func (s *session) CodeLens(ctx context.Context, p *protocol.CodeLensParams) ([]protocol.CodeLens, error) {
	d, r, err := s.checked(ctx, p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	out := []protocol.CodeLens{}
	lens := func(line int, title string, args ...any) {
		at := protocol.Position{Line: uint32(line)}
		out = append(out, protocol.CodeLens{
			Range:   protocol.Range{Start: at, End: at},
			Command: protocol.Command{Title: title, Command: commandSheet, Arguments: arguments(append([]any{string(d.uri)}, args...)...)},
		})
	}
	if c := r.Score.Coverage; c.Written > 0 {
		lens(0, coverageWords(r))
	}
	ceilings := r.Ceilings()
	for i, m := range r.Motions {
		if m.Player.Where.File == 0 {
			lens(int(m.Player.Where.Line), lensWords(r, i, &ceilings[i]), m.Player.Name)
		}
	}
	return out, nil
}

func coverageWords(r *check.Result) string {
	c := r.Score.Coverage
	return fmt.Sprintf("%s written: %d covered, %d substituted, %d left out, %d played by nobody",
		words.Count(c.Written, "stroke", "strokes"), c.Covered, c.Substituted, c.Omitted, c.Written-c.Covered-c.Substituted-c.Omitted)
}

func lensWords(r *check.Result, i int, c *check.Ceiling) string {
	words := r.Says(c)
	if ch := tightest(r.Motions[i], timed); ch != nil {
		words += fmt.Sprintf("; tightest change at %s, %s", r.Score.Place(ch.To.At()), check.Spare(ch))
	}
	return words
}
