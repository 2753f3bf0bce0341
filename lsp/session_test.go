package lsp

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// tooQuick has one hand on two instruments with different things to hold, and
// no time between them. It is invented.
const tooQuick = `title "Two Hands, Two Sounds"
tempo 100

part "Percussion"
  woodblock | mf 1 2 3 4 | 1 2& 4 | % | -
  triangle  | -          | -      | 4 | 1

player Wren
  R woodblock clamped with rubber-mallet as written
  R triangle clipped with triangle-beater as written
`

const page = "untitled:show.handful"

var fixing = obj{"textDocument": obj{"codeAction": obj{
	"codeActionLiteralSupport": obj{"codeActionKind": obj{"valueSet": arr{"quickfix"}}},
}}}

func TestAnImpossibleDoublingIsShownFixedAndGone(t *testing.T) {
	c := start(t, fixing, nil)
	c.open(page, tooQuick)
	first := c.shownFor(page, 1)
	require.Contains(t, codes(first), "short-change")

	var actions []struct {
		Title string
		Edit  struct {
			Changes map[string][]struct {
				Range   any
				NewText string
			}
		}
	}
	c.call("textDocument/codeAction", obj{"textDocument": doc(page), "range": span(9, 4, 9, 4), "context": obj{"diagnostics": arr{}}}, &actions)
	require.NotEmpty(t, actions)
	assert.Equal(t, "play the triangle with the left hand", actions[0].Title)

	edit := actions[0].Edit.Changes[page][0]
	c.change(page, 2, obj{"range": edit.Range, "text": edit.NewText})
	assert.NotContains(t, codes(c.shownFor(page, 2)), "short-change")
}
