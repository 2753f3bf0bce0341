package lsp

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// able is a client that can do all that the server may use.
var able = obj{
	"general": obj{"positionEncodings": arr{"utf-8", "utf-16"}},
	"window":  obj{"workDoneProgress": true, "showDocument": obj{"support": true}},
	"workspace": obj{
		"applyEdit": true, "workspaceEdit": obj{"documentChanges": true}, "configuration": true,
		"didChangeWatchedFiles": obj{"dynamicRegistration": true},
		"diagnostics":           obj{"refreshSupport": true}, "inlayHint": obj{"refreshSupport": true}, "codeLens": obj{"refreshSupport": true},
	},
	"textDocument": obj{
		"codeAction":         fixing["textDocument"].(obj)["codeAction"],
		"publishDiagnostics": obj{"relatedInformation": true, "codeDescriptionSupport": true, "tagSupport": obj{"valueSet": arr{1}}},
		"completion":         obj{"completionItem": obj{"snippetSupport": true}},
		"hover":              obj{"contentFormat": arr{"markdown"}},
		"documentSymbol":     obj{"hierarchicalDocumentSymbolSupport": true},
	},
}

// Every request may be asked at every place of every example; none fails, and
// none is answered with what the protocol does not allow.
func TestEveryRequestAtEveryPlace(t *testing.T) {
	files, err := filepath.Glob("../examples/*.handful")
	require.NoError(t, err)
	c := start(t, able, nil)
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		step := 1
		if testing.Short() {
			step = 7
		}
		c.everything("untitled:"+filepath.Base(file), string(data), step)
	}
}

// everything opens a text and asks every request at every so many lines of it.
func (c *client) everything(uri, text string, step int) {
	c.open(uri, text)
	lines := strings.Split(text, "\n")
	whole := span(0, 0, len(lines), 0)
	for _, ask := range []struct {
		method string
		params obj
	}{
		{"textDocument/documentSymbol", obj{}},
		{"textDocument/foldingRange", obj{}},
		{"textDocument/codeLens", obj{}},
		{"textDocument/documentLink", obj{}},
		{"textDocument/semanticTokens/full", obj{}},
		{"textDocument/semanticTokens/range", obj{"range": whole}},
		{"textDocument/inlayHint", obj{"range": whole}},
		{"textDocument/formatting", obj{"options": obj{"tabSize": 2, "insertSpaces": true}}},
		{"textDocument/rangeFormatting", obj{"range": whole, "options": obj{"tabSize": 2, "insertSpaces": true}}},
		{"textDocument/codeAction", obj{"range": whole, "context": obj{"diagnostics": arr{}, "only": arr{"source.fixAll"}}}},
	} {
		ask.params["textDocument"] = doc(uri)
		c.call(ask.method, ask.params, nil)
	}
	for l := 0; l < len(lines); l += step {
		line := lines[l]
		c.call("textDocument/codeAction", obj{"textDocument": doc(uri), "range": span(l, 0, l, len(line)), "context": obj{"diagnostics": arr{}}}, nil)
		for col := 0; col <= len(line); col += 5 {
			for _, method := range []string{"hover", "definition", "documentHighlight", "completion", "signatureHelp", "prepareCallHierarchy", "linkedEditingRange"} {
				c.call("textDocument/"+method, at(uri, l, col), nil)
			}
			refs := at(uri, l, col)
			refs["context"] = obj{"includeDeclaration": true}
			c.call("textDocument/references", refs, nil)
			c.call("textDocument/selectionRange", obj{"textDocument": doc(uri), "positions": arr{position(l, col)}}, nil)
			m := c.answer(c.ask("textDocument/prepareRename", at(uri, l, col)))
			assert.True(c.t, m.Error == nil || m.Error.Code == int(codeRequestFailed), "%+v", m.Error)
		}
	}
}
