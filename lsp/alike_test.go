package lsp

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/sheet"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/words"
)

// What a change is, of which thing under which name, at what place and with how many
// seconds is said alike by what is found, a hover, a hint, a lens and the sheets.
func TestAChangeIsSaidAlikeEverywhere(t *testing.T) {
	const text = "tempo 132\nplayer Ida\n  kit\n    big-one is snare-drum on stand at ahead 40\n    triangle clipped at left 20 ahead 55\n" +
		"  R triangle clipped with triangle-beater | 1 3 | 1 3\n  from 3\n  R big-one with snare-stick | 1 2\n"
	r := check.Check("alike", syntax.Parse(text), check.Options{})
	ch := tightest(r.Motions[0], timed)
	require.NotNil(t, ch)
	require.True(t, ch.Lays && ch.Takes && ch.Tight())
	window, spare, doing, place := words.Seconds(ch.Window), check.Spare(ch), check.Doing(ch), r.Score.Place(ch.To.At())
	assert.Equal(t, "big one", ch.To.Item().Called())

	i := -1
	for n := range r.Findings {
		if r.Findings[n].Rule.Name == "short-change" {
			i = n
		}
	}
	require.GreaterOrEqual(t, i, 0)
	for _, want := range []string{window, doing, "count 1"} {
		assert.Contains(t, r.Findings[i].Place()+" "+r.Findings[i].Message(), want)
	}
	named := false
	for _, s := range r.Findings[i].Sums {
		named = named || strings.Contains(s.Words, "to the big one")
	}
	assert.True(t, named, "%v", r.Findings[i].Sums)

	c := start(t, able, nil)
	c.open("untitled:alike", text)
	ask := func(method string, params obj) string {
		var got any
		c.call(method, params, &got)
		data, err := json.Marshal(got)
		require.NoError(t, err)
		var plain strings.Builder
		e := json.NewEncoder(&plain)
		e.SetEscapeHTML(false)
		require.NoError(t, e.Encode(json.RawMessage(data)))
		return plain.String()
	}
	line, col := find(text, "1 2\n", 1)
	hover := ask("textDocument/hover", at("untitled:alike", line, col))
	for _, want := range []string{window, md(doing), spare[:6], "to the big one"} {
		assert.Contains(t, hover, want)
	}
	hint := ask("textDocument/inlayHint", obj{"textDocument": doc("untitled:alike"), "range": span(0, 0, 50, 0)})
	assert.Contains(t, hint, spare+": "+doing)
	lens := ask("textDocument/codeLens", obj{"textDocument": doc("untitled:alike")})
	assert.Contains(t, lens, place+", "+spare)

	page := strings.ReplaceAll(sheet.HTML(r, "Ida"), "\u00a0", " ")
	for _, want := range []string{doing + " – " + window + ", " + spare, "There is " + window, doing + ", and play the big one", "<th scope=\"row\">big one</th>", "bar 3, count 1"} {
		assert.Contains(t, page, want)
	}
}
