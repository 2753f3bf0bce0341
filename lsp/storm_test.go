package lsp

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"go.lsp.dev/uri"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// A mirror is a document as the client has it: runes, so that what it applies
// is not the server's arithmetic.
type mirror struct {
	uri     string
	name    string
	version int
	text    []rune
}

// locate is the line and the UTF-16 column of a rune.
func (m *mirror) locate(at int) obj {
	line, start := 0, 0
	for i := 0; i < at; i++ {
		if m.text[i] == '\n' || m.text[i] == '\r' && (i+1 == len(m.text) || m.text[i+1] != '\n') {
			line, start = line+1, i+1
		}
	}
	return position(line, len(utf16.Encode(m.text[start:at])))
}

// lawful moves out of the middle of a line end, where no position is.
func (m *mirror) lawful(at int) int {
	if at > 0 && at < len(m.text) && m.text[at-1] == '\r' && m.text[at] == '\n' {
		return at - 1
	}
	return at
}

// edit changes the text as the server is told to.
func (m *mirror) edit(from, to int, is string) obj {
	from, to = m.lawful(from), m.lawful(to)
	if to < from {
		from, to = to, from
	}
	change := obj{"range": obj{"start": m.locate(from), "end": m.locate(to)}, "text": is}
	m.text = slices.Concat(m.text[:from], []rune(is), m.text[to:])
	m.version++
	return change
}

// figure is where a digit stands in some line that is there without bars: of the head,
// a kit, a mark; or -1.
func (m *mirror) figure(rnd *rand.Rand) int {
	var all []int
	start := 0
	for i, c := range m.text {
		switch {
		case c == '\n':
			start = i + 1
		case c >= '0' && c <= '9' && !slices.Contains(m.text[start:i], '|'):
			all = append(all, i)
		}
	}
	if len(all) == 0 {
		return -1
	}
	return all[rnd.IntN(len(all))]
}

// scraps are what people type, whole and in pieces, and what nobody types.
var scraps = []string{
	"1", "2&", " | ", "~", "%", "-", "\n", "\n  R triangle | 1 2\n", "player Tam\n", "mark A at 2\n", "tempo 144\n", "use \"kit.handful\"\n",
	"\"", "#", "𝄞", "é", "\r\n", "  L woodblock as written\n", "accept short-change because \"x\"\n", "repeat 1-2\n", "kit\n", "\x00", "bars 9999\n",
	"part \"P\"\n  woodblock | 1\n", "as written", " with ", "from A\n", "\n\n", "# a remark\n", " # why", "meter 3/4\n", "tempo 50 to 90 over 1-2\n",
	"mark B at 3\n", "  woodblock clamped at left 31 ahead 40\n", "ending 1 2-2\n", "pickup 1/4\n", "pause 2.1\n",
}

// fresh is what a check of the text by itself finds, in the words and places
// that a client is shown.
func fresh(t testing.TB, root string, m *mirror, all []*mirror) []string {
	over := func(name string) *syntax.File {
		for _, o := range all {
			if o.name == name && o != m {
				return syntax.Parse(string(o.text))
			}
		}
		return nil
	}
	file := syntax.Parse(string(m.text))
	r := check.Check(m.name, file, check.Options{Load: folder.NewLibrary().Loader(root, over)})
	v := view{s: &session{}, r: r, id: uri.URI(m.uri), idx: newIndex(file.Text(), utf16Columns), root: root}
	sh := &shown{}
	v.fill(sh)
	out := []string{}
	for _, d := range sh.diags {
		raw, err := json.Marshal(d.Range)
		require.NoError(t, err)
		text, err := json.Marshal(d.Message)
		require.NoError(t, err)
		out = append(out, fmt.Sprintf("%s %s", raw, text))
	}
	return out
}

// The server lives through a storm of edits, requests and cancellations, and
// shows at its end what a fresh check of the final texts finds.
func TestStorm(t *testing.T) {
	edits := 2000
	if testing.Short() {
		edits = 300
	}
	storm(t, rand.New(rand.NewPCG(20, 26)), 10, edits)
}

func storm(t testing.TB, rnd *rand.Rand, documents, edits int) {
	root := t.TempDir()
	kit := "kit\n  woodblock clamped at left 30 ahead 40\n  triangle clipped at right 20 ahead 50\n"
	require.NoError(t, os.WriteFile(filepath.Join(root, "kit.handful"), []byte(kit), 0o600))
	c := start(t, obj{"textDocument": fixing["textDocument"], "general": obj{"positionEncodings": arr{"utf-16"}}},
		obj{"rootUri": string(uri.File(root))})
	samples, err := filepath.Glob("../examples/*.handful")
	require.NoError(t, err)
	var docs []*mirror
	for i := range documents {
		m := &mirror{name: fmt.Sprintf("p%d.handful", i), version: 1}
		if i == 0 {
			m.name = "kit.handful"
			m.text = []rune(kit)
		} else {
			data, err := os.ReadFile(samples[i%len(samples)])
			require.NoError(t, err)
			m.text = []rune(string(data))
		}
		m.uri = string(uri.File(filepath.Join(root, m.name)))
		docs = append(docs, m)
		c.open(m.uri, string(m.text))
	}
	var open []string
	for range edits {
		m := docs[rnd.IntN(len(docs))]
		var changes []any
		for range 1 + rnd.IntN(3) {
			from := rnd.IntN(len(m.text) + 1)
			to := min(len(m.text), from+rnd.IntN(6)*rnd.IntN(2))
			is := ""
			if rnd.IntN(3) > 0 {
				is = scraps[rnd.IntN(len(scraps))]
			}
			if at := m.figure(rnd); at >= 0 && rnd.IntN(3) == 0 {
				from, to, is = at, at+1, string(rune('0'+rnd.IntN(10)))
			}
			changes = append(changes, m.edit(from, to, is))
		}
		m.version -= len(changes) - 1
		c.change(m.uri, m.version, changes...)
		for range rnd.IntN(3) {
			o := docs[rnd.IntN(len(docs))]
			place := o.locate(rnd.IntN(len(o.text) + 1))
			p := obj{"textDocument": doc(o.uri), "position": place}
			switch rnd.IntN(9) {
			case 0:
				open = append(open, c.ask("textDocument/hover", p))
			case 1:
				open = append(open, c.ask("textDocument/completion", p))
			case 2:
				open = append(open, c.ask("textDocument/semanticTokens/full", p))
			case 3:
				open = append(open, c.ask("textDocument/inlayHint", obj{"textDocument": doc(o.uri), "range": span(0, 0, 100, 0)}))
			case 4:
				open = append(open, c.ask("textDocument/codeAction", obj{"textDocument": doc(o.uri), "range": obj{"start": place, "end": place}, "context": obj{"diagnostics": arr{}}}))
			case 5:
				open = append(open, c.ask("textDocument/formatting", obj{"textDocument": doc(o.uri), "options": obj{"tabSize": 2, "insertSpaces": true}}))
			case 6:
				open = append(open, c.ask("textDocument/definition", p))
			case 7:
				p["newName"] = "another"
				open = append(open, c.ask("textDocument/rename", p))
			case 8:
				if len(open) > 0 {
					var id int
					fmt.Sscan(open[rnd.IntN(len(open))], &id)
					c.notify("$/cancelRequest", obj{"id": id})
				}
			}
		}
	}
	for _, id := range open {
		m := c.answer(id)
		if m.Error != nil && !slices.Contains([]int{-32800, -32803}, m.Error.Code) {
			t.Errorf("%s: %+v", c.asked[id], m.Error)
		}
	}
	for _, m := range docs {
		want := fresh(t, root, m, docs)
		require.True(t, utf8.ValidString(string(m.text)))
		require.NoError(t, c.eventually(m, want), m.name)
	}
}

// eventually waits until the last diagnostics of a document's last version are
// the wanted ones: a file that it uses may have changed after it did.
func (c *client) eventually(m *mirror, want []string) error {
	var last []string
	_, ok := c.wait(func() (message, bool) {
		for i := len(c.notes) - 1; i >= 0; i-- {
			n := c.notes[i]
			if n.Method != "textDocument/publishDiagnostics" {
				continue
			}
			var p struct {
				URI         string
				Version     int
				Diagnostics []struct {
					Range   json.RawMessage
					Message string
				}
			}
			json.Unmarshal(n.Params, &p)
			if p.URI != m.uri {
				continue
			}
			last = []string{}
			for _, d := range p.Diagnostics {
				text, _ := json.Marshal(d.Message)
				last = append(last, fmt.Sprintf("%s %s", d.Range, text))
			}
			return n, p.Version == m.version && slices.Equal(last, want)
		}
		return message{}, false
	})
	if !ok {
		return fmt.Errorf("version %d shows\n%s\nand a fresh check finds\n%s", m.version, strings.Join(last, "\n"), strings.Join(want, "\n"))
	}
	return nil
}
