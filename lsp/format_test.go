package lsp

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestFormattingARangeKeepsLinesThatAreNotUnderstood(t *testing.T) {
	text := "tempo   100\n$$$ what\n1 2 3\n   \ntempo 90\n"
	var enc encoding
	d := &document{source: newSource("file:///a.handful", "file:///a.handful", newIndex(text, enc), nil)}
	lines := strings.Split(text, "\n")
	for _, e := range d.lineEdits(0, 4, -1) {
		lines[e.Range.Start.Line] = e.NewText
	}
	assert.Equal(t, []string{"tempo 100", "$$$ what", "1 2 3", "", "tempo 90", ""}, lines)
}

func TestAPlayersNameThatReadsAsMoreIsQuoted(t *testing.T) {
	for name, want := range map[string]string{"Nell": "Nell", "Nell #2": `"Nell #2"`, " Nell": `" Nell"`} {
		got, err := spelled(rolePlayer, name)
		assert.NoError(t, err)
		assert.Equal(t, want, got)
	}
}
