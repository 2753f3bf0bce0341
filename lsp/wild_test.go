package lsp

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"go.lsp.dev/uri"

	"example.org/handful/internal/compose"
)

// FuzzSessions drives a session through what no client should send, between
// what clients do send: places outside the text, versions that go back, edits
// of what is not open, documents opened twice, files that change below. The
// session lives, answers everything, and shows in the end what a fresh check of
// the last texts finds.
func FuzzSessions(f *testing.F) {
	f.Add([]byte("a client that does as it likes"))
	for i := range 8 {
		data := make([]byte, 400)
		rnd := rand.New(rand.NewPCG(7, uint64(i)))
		for k := range data {
			data[k] = byte(rnd.UintN(256))
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		wild(t, compose.Bytes(data), min(len(data)/4, 80))
	})
}

func TestWildSessions(t *testing.T) {
	sessions := 6 // a sample; HANDFUL_SESSIONS=400 is a long run by hand
	if n, err := strconv.Atoi(os.Getenv("HANDFUL_SESSIONS")); err == nil {
		sessions = n
	}
	for i := range sessions {
		t.Run(strconv.Itoa(i), func(t *testing.T) { wild(t, rand.New(rand.NewPCG(1, uint64(i))), 60) })
	}
}

// A shadow is what the test knows of one file.
type shadow struct {
	mirror
	open, lost bool
	disk       string
}

func wild(t testing.TB, by compose.Source, steps int) {
	root := t.TempDir()
	var docs []*shadow
	for i := range 4 {
		d := &shadow{disk: compose.Text(by)}
		d.name = fmt.Sprintf("p%d.handful", i)
		d.uri = string(uri.File(filepath.Join(root, d.name)))
		docs = append(docs, d)
	}
	text := func() string { // that often uses another of the files
		made := compose.Text(by)
		for by.IntN(2) == 0 {
			made = fmt.Sprintf("use \"p%d.handful\"\n", by.IntN(5)) + made
		}
		return made
	}
	save := func(d *shadow) {
		require.NoError(t, os.WriteFile(filepath.Join(root, d.name), []byte(d.disk), 0o600))
	}
	for _, d := range docs {
		save(d)
	}
	c := start(t, obj{"textDocument": able["textDocument"], "workspace": obj{"applyEdit": true}, "general": obj{"positionEncodings": arr{"utf-16"}}},
		obj{"rootUri": string(uri.File(root))})
	anywhere := func(d *shadow) obj { // a place that may be nowhere
		switch by.IntN(4) {
		case 0:
			return obj{"line": by.IntN(1 << 20), "character": by.IntN(1 << 20)}
		default:
			return d.locate(d.lawful(by.IntN(len(d.text) + 1)))
		}
	}
	misfits := []func(d *shadow) any{
		func(*shadow) any { return obj{"range": span(1<<20, 0, 1<<20, 4), "text": "x"} },
		func(*shadow) any { return obj{"range": span(-1, 0, 0, 0), "text": "x"} },
		func(*shadow) any {
			return obj{"range": obj{"start": position(0, 0), "end": obj{"line": "a", "character": 0}}, "text": "x"}
		},
		func(*shadow) any { return obj{"range": arr{}, "text": "x"} },
		func(*shadow) any { return obj{"range": span(0, 0, 0, 0)} },
		func(*shadow) any { return "x" },
	}
	version := func(d *shadow) int { // mostly the next
		if by.IntN(5) == 0 {
			return by.IntN(100) - 50
		}
		return d.version + 1
	}
	opened := func(d *shadow, text string) {
		d.text, d.version, d.open, d.lost = []rune(text), by.IntN(9), true, false
		c.notify("textDocument/didOpen", obj{"textDocument": obj{"uri": d.uri, "languageId": "handful", "version": d.version, "text": text}})
	}
	var asked []string
	for range steps {
		d := docs[by.IntN(len(docs))]
		switch by.IntN(14) {
		case 0, 1:
			opened(d, text()) // again, perhaps
		case 2:
			c.notify("textDocument/didClose", obj{"textDocument": doc(d.uri)}) // perhaps it never was open
			d.open = false
		case 3, 4, 5, 6:
			v := version(d)
			from := by.IntN(len(d.text) + 1)
			to := min(len(d.text), from+by.IntN(6)*by.IntN(2))
			is := scraps[by.IntN(len(scraps))]
			if by.IntN(3) == 0 {
				is = compose.Line(by, 0xff) + "\n"
			}
			if !d.open || d.lost {
				c.change(d.uri, v, obj{"range": span(0, 0, 0, 0), "text": is})
				d.lost = d.lost && d.open
				continue
			}
			change := d.edit(from, to, is)
			d.version = v
			c.change(d.uri, v, change)
		case 7:
			v := version(d)
			if d.open {
				d.lost, d.version = true, v
			}
			c.change(d.uri, v, misfits[by.IntN(len(misfits))](d), obj{"range": span(0, 0, 0, 0), "text": "y"})
		case 8:
			v := version(d)
			is := text()
			if d.open {
				d.text, d.version, d.lost = []rune(is), v, false
			}
			c.change(d.uri, v, obj{"text": is})
		case 9:
			d.disk = text()
			save(d)
			c.notify("workspace/didChangeWatchedFiles", obj{"changes": arr{obj{"uri": d.uri, "type": 1 + by.IntN(3)}}})
		case 10:
			c.notify("textDocument/didSave", obj{"textDocument": doc(d.uri)})
		case 11:
			folders := arr{obj{"uri": string(uri.File(root)), "name": "w"}}
			c.notify("workspace/didChangeWorkspaceFolders", obj{"event": obj{"added": arr{}, "removed": folders}})
			c.notify("workspace/didChangeWorkspaceFolders", obj{"event": obj{"added": folders, "removed": arr{}}})
		case 12:
			if len(asked) > 0 {
				id, err := strconv.Atoi(asked[by.IntN(len(asked))])
				require.NoError(t, err)
				c.notify("$/cancelRequest", obj{"id": id})
			}
		}
		for range by.IntN(3) {
			o := docs[by.IntN(len(docs))]
			a, b := anywhere(o), anywhere(o)
			method := []string{"hover", "completion", "definition", "references", "documentHighlight", "prepareRename", "rename", "signatureHelp", "codeAction",
				"inlayHint", "formatting", "rangeFormatting", "onTypeFormatting", "semanticTokens/full", "semanticTokens/range", "semanticTokens/full/delta",
				"documentSymbol", "foldingRange", "selectionRange", "codeLens", "documentLink", "prepareCallHierarchy", "linkedEditingRange"}[by.IntN(23)]
			asked = append(asked, c.ask("textDocument/"+method, obj{
				"textDocument": doc(o.uri), "position": a, "positions": arr{a, b}, "range": obj{"start": a, "end": b}, "newName": "another", "ch": "|",
				"context": obj{"diagnostics": arr{}, "includeDeclaration": true}, "options": obj{"tabSize": 2, "insertSpaces": true}, "previousResultId": "1",
			}))
		}
		if by.IntN(12) == 0 {
			o := docs[by.IntN(len(docs))]
			command := []arr{{"handful.sheet", ""}, {"handful.sheet", "", "html"}, {"handful.sheet", "", "html", "800"}, {"handful.export", "musicxml"}, {"handful.plan", "2"}, {"handful.cover"},
				{"handful.setup", strconv.Itoa(by.IntN(40))}, {"handful.put", "1", "Ida", strconv.Itoa(by.IntN(9) - 1), "10", "-4e3"}, {"handful.lineOf", "Ida", "3"}, {"handful.standing", "5", strconv.Itoa(by.IntN(90) - 9)},
			}[by.IntN(9)]
			asked = append(asked, c.ask("workspace/executeCommand", obj{"command": command[0], "arguments": append(arr{o.uri}, command[1:]...)}))
		}
	}
	for _, id := range asked {
		m := c.answer(id)
		if m.Error != nil && !slices.Contains([]int{cancelled, requestFailed}, m.Error.Code) {
			t.Errorf("%s: %+v", c.asked[id], m.Error)
		}
	}
	var all []*mirror
	for _, d := range docs {
		if !d.open {
			continue
		}
		if d.lost {
			c.refused("textDocument/hover", at(d.uri, 0, 0))
			d.version++
			c.change(d.uri, d.version, obj{"text": string(d.text)})
		}
		all = append(all, &d.mirror)
	}
	for _, d := range docs {
		if d.open {
			want := fresh(t, root, &d.mirror, all)
			require.NoError(t, c.eventually(&d.mirror, want), d.name)
		}
	}
}
