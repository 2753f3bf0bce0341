package lsp

import (
	"encoding/json"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What an editor has at the bottom of its window: whose line the caret is at,
// what is played of what is written, up to which tempo, and what is supposed.
func TestHowADocumentStands(t *testing.T) {
	c := start(t, obj{}, obj{"initializationOptions": obj{"tempo": "110%"}})
	c.open(page, quay)
	ask := func(line string) (is standing) {
		var text string
		c.call("workspace/executeCommand", obj{"command": "handful.standing", "arguments": arr{page, line}}, &text)
		require.NoError(t, json.Unmarshal([]byte(text), &is), text)
		return is
	}
	head, ida, bo := ask("1"), ask("10"), ask("11")
	assert.Equal(t, []string{"", "Ida", "Bo"}, []string{head.Player, ida.Player, bo.Player})
	assert.Contains(t, ida.Short, "66 % played · Ida: up to 1/4 = ", "16 of 24 strokes")
	assert.Contains(t, ida.Short, "at 110%")
	assert.Contains(t, ida.Long, "24 strokes written: 16 covered")
	assert.Contains(t, head.Short, "Ida: ", "the lowest of all")
	assert.Contains(t, bo.Short, "Bo: any tempo")
	assert.Equal(t, requestFailed, c.refused("workspace/executeCommand", obj{"command": "handful.standing", "arguments": arr{page, "x"}}).Code)
	c = start(t, obj{}, nil)
	c.open("untitled:none", "")
	var text string
	c.call("workspace/executeCommand", obj{"command": "handful.standing", "arguments": arr{"untitled:none"}}, &text)
	assert.Contains(t, text, "nothing is written yet")
}

// Right and left are told apart for editors that show it, and what is both is
// neither.
func TestLimbsSayTheirSide(t *testing.T) {
	text := "player Ida\n  R woodblock | 1\n  L woodblock | 2\n  RL woodblock | 3\n  RF hi-hat | 1\n  LF hi-hat | 2\n"
	c := start(t, able, nil)
	c.open(page, text)
	var got struct{ Data []int }
	c.call("textDocument/semanticTokens/full", obj{"textDocument": doc(page)}, &got)
	var sides []int
	line, last := 0, -1
	for at := range slices.Chunk(got.Data, 5) {
		line += at[0]
		if line > 0 && line != last {
			sides = append(sides, at[4])
			last = line
		}
	}
	assert.Equal(t, []int{2, 4, 0, 2, 4}, sides)
}
