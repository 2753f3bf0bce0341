package lsp

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// An editor that takes the first offer on Enter, as many do, leaves every line
// of the examples as it was typed: at the end of a line that is complete
// nothing is offered.
func TestEnterTakesNothingBehindACompleteLine(t *testing.T) {
	files, err := filepath.Glob("../examples/*.handful")
	require.NoError(t, err)
	c := start(t, able, nil)
	lines := 0
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		id := "untitled:" + filepath.Base(file)
		c.open(id, string(data))
		c.shownFor(id, 1)
		for n, line := range strings.Split(strings.ReplaceAll(string(data), "\r", ""), "\n") {
			if strings.TrimSpace(line) == "" || strings.Contains(line, "#") {
				continue
			}
			lines++
			assert.Empty(t, c.offers(id, n, len(line), line), "%s:%d: %s", file, n+1, line)
		}
	}
	assert.Greater(t, lines, 100)
}

// offers are what an editor shows at a place: what begins with what is written.
func (c *client) offers(id string, line, col int, text string) []string {
	c.t.Helper()
	p := at(id, line, col)
	p["context"] = obj{"triggerKind": 1}
	if strings.HasSuffix(text, " ") {
		p["context"] = obj{"triggerKind": 2, "triggerCharacter": " "}
	}
	var list struct {
		Items []struct {
			Label    string
			TextEdit struct {
				Range struct{ Start struct{ Character int } }
			}
		}
	}
	c.call("textDocument/completion", p, &list)
	out := []string{}
	for _, it := range list.Items {
		if strings.HasPrefix(it.Label, text[it.TextEdit.Range.Start.Character:col]) {
			out = append(out, it.Label)
		}
	}
	return out
}

func TestACompleteWordIsNotOffered(t *testing.T) {
	c := start(t, able, nil)
	head := "bars 9\nmark A at 3\npart \"P\"\n  woodblock | 1 2 | 3\nplayer Ida\n  R woodblock as written\n"
	for i, ex := range []struct {
		line string
		want string // an offer, or "" for none at all
	}{
		{"from A", ""},
		{"  L triangle", ""},
		{"  L trian", "triangle"},
		{"  L triangle with triangle-beater", ""},
		{"  L triangle with triangle", "triangle-beater"},
		{"  R woodblock as written", ""},
		{"  R woodblock as writ", "written"},
		{`accept short-change at 3 because "x"`, ""},
		{`accept short-change at 3 be`, "because"},
		{"kit", ""},
		{"ki", "kit"},
		{"  R woodblock | 1 2 ", ""},
		{"  R woodblock | -", ""},
		{"  R woodblock | 1 m", "mf"},
		{"  R woodblock | 1 mf", ""},
		{`  R woodblock as written of "P"`, ""},
		{`  R woodblock as written of "P`, ""},
		{`  R woodblock as written of `, `"P"`},
		{"  R ", "woodblock"},
	} {
		id := fmt.Sprintf("untitled:%d", i)
		c.open(id, head+ex.line+"\n")
		c.shownFor(id, 1)
		got := c.offers(id, strings.Count(head, "\n"), len(ex.line), ex.line)
		if ex.want == "" {
			assert.Empty(t, got, ex.line)
		} else {
			assert.Contains(t, got, ex.want, ex.line)
		}
	}
}
