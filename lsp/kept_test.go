package lsp

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.lsp.dev/uri"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// folderWith is a client in a folder with some files.
func folderWith(t *testing.T, files map[string]string) (c *client, id func(name string) string) {
	root := t.TempDir()
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(root, name), []byte(text), 0o600))
	}
	c = start(t, able, obj{"rootUri": string(uri.File(root))})
	return c, func(name string) string { return string(uri.File(filepath.Join(root, name))) }
}

func TestAPartOfAnotherFormatIsNotRenamed(t *testing.T) {
	parts, err := os.ReadFile("../examples/quay-parade.musicxml")
	require.NoError(t, err)
	show := "part \"Percussion 2\" in \"quay.musicxml\"\nplayer Ida\n  R woodblock with snare-stick as written of \"Percussion 2\"\n"
	c, id := folderWith(t, map[string]string{"quay.musicxml": string(parts), "show.handful": show})
	c.open(id("show.handful"), show)
	c.shownFor(id("show.handful"), 1)
	p := at(id("show.handful"), 0, 8)
	p["newName"] = "Drums"
	assert.Contains(t, c.refused("textDocument/rename", p).Message, "quay.musicxml")
	var places []struct{ URI string }
	p = at(id("show.handful"), 2, 6)
	p["context"] = obj{"includeDeclaration": true}
	c.call("textDocument/references", p, &places)
	require.NotEmpty(t, places)
	for _, pl := range places {
		assert.True(t, strings.HasSuffix(pl.URI, ".handful"), pl.URI)
	}
}

func TestAPartIsRenamedOnlyWhereItIsTheSamePart(t *testing.T) {
	piece := "use \"kit.handful\"\nbars 2\npart \"Perc\"\n  woodblock | 1 | 1\nplayer Ida\n  R woodblock as written of \"Perc\"\n"
	c, id := folderWith(t, map[string]string{"kit.handful": "kit\n  woodblock clamped at ahead 40\n", "a.handful": piece, "b.handful": piece})
	c.open(id("a.handful"), piece)
	c.shownFor(id("a.handful"), 1)
	p := at(id("a.handful"), 2, 8)
	p["newName"] = "Blocks"
	var edit struct {
		DocumentChanges []struct{ TextDocument struct{ URI string } }
	}
	c.call("textDocument/rename", p, &edit)
	require.Len(t, edit.DocumentChanges, 1)
	assert.Equal(t, id("a.handful"), edit.DocumentChanges[0].TextDocument.URI)
}

func TestARenamingIsCheckedWithWhatTheFileUses(t *testing.T) {
	piece := "use \"parts.handful\"\nkit\n  sd is woodblock\nplayer Ida\n  R sd as written of \"P\"\n"
	c, id := folderWith(t, map[string]string{"parts.handful": "bars 2\npart \"P\"\n  woodblock | 1 2 | 1\n  bass-drum | 1 | -\n", "a.handful": piece})
	c.open(id("a.handful"), piece)
	c.shownFor(id("a.handful"), 1)
	p := at(id("a.handful"), 2, 3)
	p["newName"] = "bass-drum"
	c.refused("textDocument/rename", p)
	p["newName"] = "block"
	c.call("textDocument/rename", p, &json.RawMessage{})
}

// A line that is handed over or given away takes along the lines that go on
// from it.
func TestALineThatIsHandedOverTakesItsWholeLength(t *testing.T) {
	text := "tempo 60\npart \"P\"\n  woodblock | 1 | 1 | 1 | 1\n  cowbell | 2 | 2\n    | 2 | 2\nplayer Ida\n  R woodblock with snare-stick | 1 | 1 | 1 | 1\n  L cowbell with snare-stick | 2 | 2\n    | 2 | 2\nplayer Per\n  R snare-drum | - | -\n"
	c := start(t, able, nil)
	c.open(page, text)
	r := check.Check("", syntax.Parse(text), check.Options{})
	require.Equal(t, 8, r.Score.Coverage.Covered)
	var actions []struct {
		Title   string
		Edit    json.RawMessage
		Command struct {
			Command   string
			Arguments []string
		}
	}
	c.call("textDocument/codeAction", obj{"textDocument": doc(page), "range": span(7, 2, 7, 2), "context": obj{"diagnostics": arr{}, "only": arr{"refactor"}}}, &actions)
	seen := 0
	for _, a := range actions {
		after := ""
		switch {
		case a.Title == "hand this line to Per":
			after = applied(t, text, a.Edit)
		case strings.HasPrefix(a.Title, "give 1 line away anew"):
			c.call("workspace/executeCommand", obj{"command": a.Command.Command, "arguments": a.Command.Arguments}, nil)
			m, ok := c.wait(func() (message, bool) {
				for _, m := range c.notes {
					if m.Method == "workspace/applyEdit" {
						return m, true
					}
				}
				return message{}, false
			})
			require.True(t, ok)
			var p struct{ Edit json.RawMessage }
			require.NoError(t, json.Unmarshal(m.Params, &p))
			after = applied(t, text, p.Edit)
		default:
			continue
		}
		seen++
		r := check.Check("", syntax.Parse(after), check.Options{})
		assert.Equal(t, 8, r.Score.Coverage.Covered, "%s:\n%s", a.Title, after)
		assert.Contains(t, after, "R woodblock with snare-stick | 1 | 1 | 1 | 1", a.Title)
	}
	assert.Equal(t, 2, seen)
}

func TestEditsEndLinesAsTheDocumentDoes(t *testing.T) {
	text := strings.ReplaceAll("tempo 60\npart \"P\"\n  woodblock | 1 | 1\nplayer Ida\n  R woodblock with snare-stick as written\nplayer Per\n  R snare-drum | - | -\n", "\n", "\r\n")
	c := start(t, able, nil)
	c.open(page, text)
	var actions []struct {
		Title string
		Edit  json.RawMessage
	}
	c.call("textDocument/codeAction", obj{"textDocument": doc(page), "range": span(4, 2, 4, 2), "context": obj{"diagnostics": arr{}, "only": arr{"refactor"}}}, &actions)
	seen := false
	for _, a := range actions {
		if a.Title == "hand this line to Per" {
			seen = true
			after := applied(t, text, a.Edit)
			assert.Equal(t, strings.Count(after, "\n"), strings.Count(after, "\r\n"), "%q", after)
		}
	}
	assert.True(t, seen)
}

// What is completed in the middle of a word replaces the whole word, and one
// end of a range only that end.
func TestACompletedWordLeavesNoTailBehind(t *testing.T) {
	c := start(t, able, nil)
	base := "bars 9\nmark B at 3\nmark Coda at 5\npart \"Perc \\\"two\\\"\"\n  woodblock | 1\nplayer \"Mary #2\"\n  R woodblock as written\n"
	for _, ex := range []struct{ line, pick, want string }{
		{"omit wood^block in 3", "woodblock", "omit woodblock in 3"},
		{"accept sho^rt-change at 3", "short-change", "accept short-change at 3"},
		{"accept short-change for ^", `"Mary #2"`, `accept short-change for "Mary #2"`},
		{`omit woodblock of "Perc^"`, `Perc \"two\"`, `omit woodblock of "Perc \"two\""`},
		{"repeat B-^", "Coda", "repeat B-Coda"},
		{"repeat B-C^o", "Coda", "repeat B-Coda"},
		{`tit^ "x"`, "title", `title "x"`},
		{"  R woodblock | 1 m^f", "mf", "  R woodblock | 1 mf"},
	} {
		col := strings.IndexByte(ex.line, '^')
		text := base + strings.Replace(ex.line, "^", "", 1)
		c.open(page, text)
		c.call("textDocument/hover", at(page, 0, 0), nil)
		var list struct {
			Items []struct {
				Label    string
				TextEdit struct {
					Range   struct{ Start, End struct{ Character int } }
					NewText string
				}
			}
		}
		c.call("textDocument/completion", at(page, strings.Count(base, "\n"), col), &list)
		c.notify("textDocument/didClose", obj{"textDocument": doc(page)})
		got := "not offered"
		for _, it := range list.Items {
			if it.Label == ex.pick {
				line := strings.Replace(ex.line, "^", "", 1)
				got = line[:it.TextEdit.Range.Start.Character] + it.TextEdit.NewText + line[it.TextEdit.Range.End.Character:]
			}
		}
		assert.Equal(t, ex.want, got, ex.line)
	}
}

func TestWrittenPartsInTheFolderAreOffered(t *testing.T) {
	text := "bars 2\npart \"P\" in \"\"\n"
	c, id := folderWith(t, map[string]string{"quay.musicxml": "<x/>", "notes.txt": "", "other.handful": "bars 1\n", "show.handful": text})
	c.open(id("show.handful"), text)
	c.shownFor(id("show.handful"), 1)
	var list struct{ Items []struct{ Label string } }
	c.call("textDocument/completion", at(id("show.handful"), 1, 13), &list)
	var labels []string
	for _, it := range list.Items {
		labels = append(labels, it.Label)
	}
	assert.Contains(t, labels, "quay.musicxml")
	assert.NotContains(t, labels, "notes.txt")
}

func TestHoverOnAPassIsAboutThatPass(t *testing.T) {
	text := "tempo 60\nrepeat 1-4\nbars 4\nplayer Ida\n  R woodblock with snare-stick | 1\n  from 1 on pass 2\n  L cowbell with snare-stick | 1\n"
	c := start(t, able, nil)
	c.open(page, text)
	var h struct{ Contents struct{ Value string } }
	c.call("textDocument/hover", at(page, 6, 32), &h)
	assert.Contains(t, h.Contents.Value, "at 0:16.0")
	assert.NotContains(t, h.Contents.Value, "0:00.0")
}
