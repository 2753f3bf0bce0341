package lsp

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What a player's block says of the person is told with the player's name, and
// what a gear block names is known by its own.
func TestHoverTellsOfPeopleAndGear(t *testing.T) {
	c := start(t, able, nil)
	text := strings.Replace(night, "player Nell\n", "player Nell\n  hands R\n  never timpani, keyboards because \"no ear\"\n  likes triangle\n", 1) +
		"gear\n  3 woodblock \"ours\", 2 snare-stick, 6 clamp\n"
	c.open(page, text)
	hover := func(what string, n int) string {
		var h struct{ Contents struct{ Value string } }
		c.call("textDocument/hover", on(text, what, n), &h)
		return h.Contents.Value
	}
	told := hover("Nell\n", 1)
	for _, want := range []string{"the right hand alone for playing", "never plays", "keyboard instruments", "likes triangle"} {
		assert.Contains(t, told, want)
	}
	assert.Contains(t, hover("timpani, keyboards", 1), "family    membrane")
	assert.Contains(t, hover("woodblock \"ours", 1), "woodblock")
	assert.Contains(t, hover("snare-stick, 6", 1), "snare-stick")
	assert.Contains(t, hover("hands R", 1), "for playing")
	assert.Contains(t, hover("gear\n", 1), "what there is")
}
