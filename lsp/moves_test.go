package lsp

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.lsp.dev/uri"
)

// A file or a folder that gets another name gets it in the lines that use it,
// open or not, and a file that goes elsewhere still finds what it uses.
func TestMovedFilesAreUsedWhereTheyAre(t *testing.T) {
	show := "use \"shared/store.handful\"\nbars 2\nplayer Ida\n  R triangle clipped with triangle-beater | 1\n"
	files := map[string]string{
		"show.handful":         show,
		"other.handful":        "bars 2\nuse \"shared/store.handful\"  # ours\n",
		"shared/store.handful": "use \"more.handful\"\nkit\n  triangle clipped at ahead 40\n",
		"shared/more.handful":  "note \"x\"\n",
	}
	root := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(root, "shared"), 0o700))
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(root, name), []byte(text), 0o600))
	}
	c := start(t, able, obj{"rootUri": string(uri.File(root))})
	id := func(name string) string { return string(uri.File(filepath.Join(root, name))) }
	c.open(id("show.handful"), show)
	c.shownFor(id("show.handful"), 1)
	for _, ex := range []struct {
		from, to string
		want     map[string]string
	}{
		{"shared/store.handful", "shared/van.handful", map[string]string{
			"show.handful": `"shared/van.handful"`, "other.handful": `"shared/van.handful"`}},
		{"shared", "common", map[string]string{
			"show.handful": `"common/store.handful"`, "other.handful": `"common/store.handful"`}},
		{"shared/store.handful", "store.handful", map[string]string{
			"show.handful": `"store.handful"`, "other.handful": `"store.handful"`, "shared/store.handful": `"shared/more.handful"`}},
		{"show.handful", "shared/show.handful", map[string]string{"show.handful": `"store.handful"`}},
		{"show.handful", "show2.handful", map[string]string{}},
	} {
		var got map[string]string
		for range 1000 { // what is not open is read in the background
			var edit struct {
				DocumentChanges []struct {
					TextDocument struct{ URI string }
					Edits        []struct{ NewText string }
				}
			}
			c.call("workspace/willRenameFiles", obj{"files": arr{obj{"oldUri": id(ex.from), "newUri": id(ex.to)}}}, &edit)
			got = map[string]string{}
			for _, ch := range edit.DocumentChanges {
				rel, err := filepath.Rel(root, uri.URI(ch.TextDocument.URI).FsPath())
				require.NoError(t, err)
				require.Len(t, ch.Edits, 1)
				got[filepath.ToSlash(rel)] = ch.Edits[0].NewText
			}
			if len(got) == len(ex.want) {
				break
			}
		}
		assert.Equal(t, ex.want, got, "%s becomes %s", ex.from, ex.to)
	}
}

// Where an editor can put the caret into what a fix writes, it stands in the
// reason that somebody has to give.
func TestTheCaretStandsInTheReason(t *testing.T) {
	text := "tempo 120\npart \"P\"\n  woodblock | 1 2 3 4& | -\n  triangle | - | 1\nplayer Ida\n  R woodblock clamped with rubber-mallet as written\n  R triangle clipped with triangle-beater as written\n"
	for _, snippets := range []bool{true, false} {
		c := start(t, obj{
			"workspace":    obj{"workspaceEdit": obj{"documentChanges": true, "snippetEditSupport": snippets}},
			"textDocument": able["textDocument"],
		}, nil)
		c.open(page, text)
		c.shownFor(page, 1)
		var list []struct {
			Title string
			Edit  struct {
				DocumentChanges []struct {
					Edits []struct {
						NewText string
						Snippet struct{ Kind, Value string }
					}
				}
			}
		}
		c.call("textDocument/codeAction", obj{"textDocument": doc(page), "range": span(6, 2, 6, 3), "context": obj{"diagnostics": arr{}, "only": arr{"quickfix"}}}, &list)
		seen := false
		for _, a := range list {
			if a.Title != "accept it, with your reason" {
				continue
			}
			seen = true
			raw, _ := json.Marshal(a.Edit)
			e := a.Edit.DocumentChanges[0].Edits[0]
			if snippets {
				assert.Equal(t, "snippet", e.Snippet.Kind, string(raw))
				assert.Contains(t, e.Snippet.Value, `because "${1:say why}"`)
			} else {
				assert.Contains(t, e.NewText, `because "say why"`)
			}
		}
		assert.True(t, seen)
	}
}

// A program may read who, where and how much time from a finding, if it says
// that it can.
func TestFindingsCarryTheirFigures(t *testing.T) {
	text := "tempo 120\npart \"P\"\n  woodblock | 1 2 3 4& | -\n  triangle | - | 1\nplayer Ida\n  R woodblock clamped with rubber-mallet as written\n  R triangle clipped with triangle-beater as written\n"
	for _, asked := range []bool{true, false} {
		c := start(t, obj{"textDocument": obj{"publishDiagnostics": obj{"dataSupport": asked}}}, nil)
		c.open(page, text)
		m, ok := c.wait(func() (message, bool) {
			for _, m := range c.notes {
				if m.Method == "textDocument/publishDiagnostics" {
					return m, true
				}
			}
			return message{}, false
		})
		require.True(t, ok)
		var p struct {
			Diagnostics []struct {
				Code string
				Data *struct {
					Player, Limb string
					Bar          int
					Needs, Has   float64
				}
			}
		}
		require.NoError(t, json.Unmarshal(m.Params, &p))
		seen := false
		for _, d := range p.Diagnostics {
			if !asked {
				assert.Nil(t, d.Data)
			} else if d.Code == "short-change" {
				seen = true
				assert.Equal(t, "Ida", d.Data.Player)
				assert.Equal(t, 2, d.Data.Bar)
				assert.InDelta(t, 0.25, d.Data.Has, 0.001, "half a count at 120")
				assert.Greater(t, d.Data.Needs, d.Data.Has)
			}
		}
		assert.Equal(t, asked, seen)
	}
}
