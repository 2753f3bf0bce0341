package lsp

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What the README has a newcomer do in an editor comes out as it says.
func TestTheReadmesWalk(t *testing.T) {
	readme, err := os.ReadFile("../README.md")
	require.NoError(t, err)
	for _, said := range []string{"examples/first.handful", "`L triangle` for `R triangle`", "*play the triangle with the right hand*"} {
		require.Contains(t, string(readme), said)
	}
	data, err := os.ReadFile("../examples/first.handful")
	require.NoError(t, err)
	first := string(data)
	c := start(t, able, nil)
	c.open(page, first)
	for _, d := range c.shownFor(page, 1) {
		assert.Greater(t, d.Severity, 2, "nothing is wrong at first: %s", d.Message)
	}
	text := strings.Replace(first, "R triangle", "L triangle", 1)
	line := strings.Count(text[:strings.Index(text, "L triangle")], "\n")
	c.change(page, 2, obj{"text": text})
	assert.Subset(t, codes(c.shownFor(page, 2)), []string{"hand-overlap", "short-change"})
	var hover struct{ Contents struct{ Value string } }
	c.call("textDocument/hover", at(page, line, 5), &hover)
	for _, word := range []string{"two things to do at once", "needed", "there is", "to spare", "from:"} {
		assert.Contains(t, hover.Contents.Value, word)
	}
	var fixes []struct {
		Title string
		Edit  json.RawMessage
	}
	c.call("textDocument/codeAction", obj{"textDocument": doc(page), "range": span(line, 5, line, 5), "context": obj{"diagnostics": arr{}, "only": arr{"quickfix"}}}, &fixes)
	require.NotEmpty(t, fixes)
	assert.Equal(t, "play the triangle with the right hand", fixes[0].Title)
	assert.Equal(t, first, applied(t, text, fixes[0].Edit))
}
