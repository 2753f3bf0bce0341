package lsp

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"go.lsp.dev/protocol"
	"go.lsp.dev/uri"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
)

// scheme of the read-only documents that the server has itself:
// handful:/catalogue/metal.handful, handful:/rules/short-change.md.
const scheme = "handful"

// methodDocument is the request for such a document by clients that do not
// know the protocol's own, which is new in 3.18: {uri} in, {text} out.
const methodDocument = "handful/document"

func ruleURI(rule string) uri.URI      { return uri.URI(scheme + ":/rules/" + rule + ".md") }
func catalogueURI(file string) uri.URI { return uri.URI(scheme + ":/catalogue/" + file) }

// contentOf is the text of a read-only document.
func contentOf(id uri.URI) (string, error) {
	rest, ok := strings.CutPrefix(string(id), scheme+":/")
	folder, name, _ := strings.Cut(rest, "/")
	switch {
	case !ok:
	case folder == "catalogue":
		if text := kit.CatalogueText(name); text != "" {
			return text, nil
		}
	case folder == "rules":
		if r := check.RuleNamed(strings.TrimSuffix(name, ".md")); r != nil {
			return ruleText(r), nil
		}
	}
	return "", refuse("there is no document %s", id)
}

// ruleText is what a rule means, for reading.
func ruleText(r *check.Rule) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s\n\nFinds %s.\n\n%s\n\n%s\n\n%s\n", r.Name, r.Finds, r.Means, r.Why, r.Stands)
	fmt.Fprintf(&b, "\nThis trips it:\n\n```handful\n%s```\n\nThis does not:\n\n```handful\n%s```\n", r.Trips, r.Passes)
	return b.String()
}

// TextDocumentContent gives a read-only document.
func (s *session) TextDocumentContent(_ context.Context, p *protocol.TextDocumentContentParams) (*protocol.TextDocumentContentResult, error) {
	text, err := contentOf(p.URI)
	if err != nil {
		return nil, err
	}
	return &protocol.TextDocumentContentResult{Text: text}, nil
}

func (s *session) document(params any) (any, error) {
	raw, err := protocol.Marshal(params)
	var p struct {
		URI string `json:"uri"`
	}
	if err == nil {
		err = json.Unmarshal(raw, &p)
	}
	if err != nil {
		return nil, refuse("%s wants {uri}: %v", methodDocument, err)
	}
	text, err := contentOf(uri.URI(p.URI))
	if err != nil {
		return nil, err
	}
	return &protocol.TextDocumentContentResult{Text: text}, nil
}
