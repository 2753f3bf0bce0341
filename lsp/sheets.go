package lsp

import (
	"context"
	"strconv"

	"go.lsp.dev/uri"

	"example.org/handful/lang/check"
	"example.org/handful/lang/sheet"
)

// sheet is what goes on the stands: of the player named first, or of everybody
// with the section's; as text, or as a page of HTML where that is asked for, and of that
// only what is shown where a view is as many pixels wide as is said then.
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
	case args[1] == "html" && len(args) > 2:
		width, err := strconv.Atoi(args[2])
		if err != nil || width < 0 {
			return "", refuse("%q is no width in pixels", args[2])
		}
		return sheet.HTMLView(docs, width), nil
	case args[1] == "html":
		return sheet.HTMLPage(docs), nil
	}
	return "", refuse("%s makes text or html, not %s", commandSheet, args[1])
}
