package lsp

import (
	"fmt"
	"html"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
	rendering "github.com/yuin/goldmark/renderer/html"
)

// hostile are names that Markdown would make something of.
var hostile = []string{
	"[here](command:workbench.action.quit)", "![x](https://example.org/x.png)", "<img src=x onerror=y>", "<b>bold</b>", "a | b", "**fat**", "`code`", "~~gone~~",
	"https://example.org/a", "www.example.org", "someone@example.org", "&lt;script&gt;", "&#60;", "$(zap) $x^2$", "[x]: https://example.org", "```", "# head", "\\", "_so_", "![", "<https://example.org>",
}

// shownAs is what a reader of Markdown makes of a text, by somebody else's
// renderer, with tables and links that are written plainly, raw HTML let through.
func shownAs(t testing.TB, text string) string {
	var b strings.Builder
	r := goldmark.New(goldmark.WithExtensions(extension.GFM), goldmark.WithRendererOptions(rendering.WithUnsafe()))
	require.NoError(t, r.Convert([]byte(text), &b))
	return b.String()
}

var (
	active = regexp.MustCompile(`<(a|img|script|b|del|h1|input)\b`)
	tag    = regexp.MustCompile(`<[^>]*>`)
)

func TestATextIsShownAsItIs(t *testing.T) {
	for _, name := range hostile {
		for _, around := range []string{"**%s**: plays", "The %s has 1 s", "- %s", "| x | y |\n| --- | --- |\n| %s | z |"} {
			page := shownAs(t, fmt.Sprintf(around, md(name)))
			assert.NotRegexp(t, active, page, name)
			text := html.UnescapeString(tag.ReplaceAllString(page, ""))
			assert.Contains(t, text, name)
			if strings.HasPrefix(around, "|") {
				assert.Equal(t, 2, strings.Count(page, "<td>"), page)
			}
			assert.Contains(t, plainText(fmt.Sprintf(around, md(name))), name, "for clients that show no Markdown")
		}
		page := shownAs(t, block(name+"\n"+name))
		assert.NotRegexp(t, active, page, name)
		assert.Equal(t, 1, strings.Count(page, "<pre>"), page)
		assert.Contains(t, html.UnescapeString(page), name+"\n"+name)
		assert.Contains(t, plainText(block(name)), name)
	}
}

// Whatever a piece calls its instruments, players and parts, a hover shows no
// link, no picture, no HTML, and no more columns than it has.
func TestNamesInHoversAreNothingButNames(t *testing.T) {
	c := start(t, able, nil)
	for i, name := range hostile {
		quoted := `"` + strings.ReplaceAll(strings.ReplaceAll(name, `\`, `\\`), `"`, `\"`) + `"`
		text := strings.ReplaceAll(`title N
tempo 96
bars 4
instrument bell-x
  called N
  family metal
  way held takes 1 hand with brass-mallet costs N
  way clamped takes 1 hand with triangle-beater
implement stick-x
  called N
part N
  bell-x | 1 2
  triangle | 3 | 3
player N
  R bell-x held with brass-mallet as written of N
  L triangle clipped with triangle-beater | - | 1
  R bell-x clamped with triangle-beater | - | 1 2 3 4
`, "N", quoted)
		id := fmt.Sprintf("untitled:%d", i)
		c.open(id, text)
		for l, line := range strings.Split(text, "\n") {
			for col := range len(line) {
				var h *struct{ Contents struct{ Value string } }
				c.call("textDocument/hover", at(id, l, col), &h)
				if h != nil {
					harmlessPage(t, h.Contents.Value)
				}
			}
		}
		var hints []struct{ Tooltip struct{ Value string } }
		c.call("textDocument/inlayHint", obj{"textDocument": doc(id), "range": span(0, 0, 99, 0)}, &hints)
		require.NotEmpty(t, hints)
		for _, h := range hints {
			harmlessPage(t, h.Tooltip.Value)
		}
	}
}

func harmlessPage(t *testing.T, text string) {
	page := shownAs(t, text)
	assert.NotRegexp(t, active, page, text)
	for _, row := range strings.Split(page, "<tr>")[1:] {
		cells := strings.Count(row, "<td>") + strings.Count(row, "<th>")
		assert.Contains(t, []int{3, 5}, cells, text)
	}
}
