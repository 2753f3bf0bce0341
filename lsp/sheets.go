package lsp

import (
	"context"

	"go.lsp.dev/uri"

	"example.org/handful/lang/check"
	"example.org/handful/lang/sheet"
)

// sheet is what goes on the stands: of the player named first, or of everybody
// with the section's; as text, or as a page of HTML where that is asked for.
func (s *session) sheet(ctx context.Context, id uri.URI, args []string) (string, error) {
	_, r, err := s.sound(ctx, id)
	if err != nil {
		return "", err
	}
	opt := sheet.Options{Player: first(args)}
	if opt.Player != "" && r.Score.Player(opt.Player) == nil {
		return "", refuse("no player is called %s here", opt.Player)
	}
	docs := sheet.Docs([]*check.Result{r}, opt)
	switch {
	case len(args) < 2 || args[1] == "text":
		return sheet.TextPage(docs), nil
	case args[1] == "html":
		return sheet.HTMLPage(docs), nil
	}
	return "", refuse("%s makes text or html, not %s", commandSheet, args[1])
}
