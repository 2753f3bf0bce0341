package lsp

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.lsp.dev/uri"

	"example.org/handful/lang/check"
	"example.org/handful/lang/guide"
	"example.org/handful/lang/syntax"
)

// night is an invented piece with a kit, a mark, a station and two players.
const night = `title "A Night"
tempo 96
mark A at 5

part "Percussion 1"
  woodblock | mf 1 3 | % x7
part "Percussion 2"
  triangle  | -4 | p 1 | % x3

player Nell
  kit
    station bells at right 150
    woodblock  clamped at left 30 ahead 40
    high-block is woodblock clamped at right 30 ahead 40
    triangle   clipped at bells ahead 50
    table at right 20 ahead 30
  R woodblock with rubber-mallet as written
  from A
  any triangle with triangle-beater as written of "Percussion 2"
player Tam
  L high-block with rubber-mallet | -
`

// find is the line and column just inside the n-th place of a text.
func find(text, what string, n int) (line, col int) {
	at := -1
	for range n {
		at = strings.Index(text[at+1:], what) + at + 1
	}
	line = strings.Count(text[:at], "\n")
	return line, at - strings.LastIndex(text[:at], "\n")
}

func on(text, what string, n int) obj {
	line, col := find(text, what, n)
	return at(page, line, col)
}

type location struct {
	URI   string
	Range struct{ Start struct{ Line, Character int } }
}

func TestDefinitionGoesFromTheCueToTheKitToTheCatalogue(t *testing.T) {
	c := start(t, able, nil)
	c.open(page, night)
	for _, go_ := range []struct {
		what string
		nth  int
		uri  string
		line string // what the line that it leads to begins with
	}{
		{"woodblock with", 1, page, "    woodblock"},
		{"woodblock  clamped", 1, "handful:/catalogue/woods.handful", "instrument woodblock"},
		{"A\n  any", 1, page, "mark A"},
		{`"Percussion 2"` + "\nplayer", 1, page, `part "Percussion 2"`},
		{"bells ahead", 1, page, "    station bells"},
		{"triangle-beater", 1, "handful:/catalogue/implements.handful", "implement triangle-beater"},
	} {
		var got []location
		c.call("textDocument/definition", on(night, go_.what, go_.nth), &got)
		if assert.Len(t, got, 1, go_.what) {
			assert.Equal(t, go_.uri, got[0].URI, go_.what)
			text := night
			if go_.uri != page {
				var doc struct{ Text string }
				c.call("workspace/textDocumentContent", obj{"uri": got[0].URI}, &doc)
				text = doc.Text
			}
			assert.True(t, strings.HasPrefix(strings.Split(text, "\n")[got[0].Range.Start.Line], go_.line), "%s leads to %q", go_.what, strings.Split(text, "\n")[got[0].Range.Start.Line])
		}
	}
}

func TestReferencesFindEveryMention(t *testing.T) {
	c := start(t, able, nil)
	c.open(page, night)
	ask := on(night, "A at 5", 1)
	ask["context"] = obj{"includeDeclaration": true}
	var got []location
	c.call("textDocument/references", ask, &got)
	assert.Len(t, got, 2)
	ask["context"] = obj{"includeDeclaration": false}
	c.call("textDocument/references", ask, &got)
	assert.Len(t, got, 1)
}

// applied makes a workspace edit's changes of one document.
func applied(t *testing.T, text string, edit json.RawMessage) string {
	var e struct {
		DocumentChanges []struct {
			Edits []struct {
				Range struct {
					Start, End struct{ Line, Character int }
				}
				NewText string
			}
		}
	}
	require.NoError(t, json.Unmarshal(edit, &e))
	lines := strings.SplitAfter(text, "\n")
	offset := func(line, col int) int {
		n := col
		for _, l := range lines[:min(line, len(lines))] {
			n += len(l)
		}
		return n
	}
	type cut struct {
		from, to int
		is       string
	}
	var cuts []cut
	for _, ch := range e.DocumentChanges {
		for _, ed := range ch.Edits {
			cuts = append(cuts, cut{offset(ed.Range.Start.Line, ed.Range.Start.Character), offset(ed.Range.End.Line, ed.Range.End.Character), ed.NewText})
		}
	}
	for i := range cuts { // the last in the text first
		for k := i + 1; k < len(cuts); k++ {
			if cuts[k].from > cuts[i].from || cuts[k].from == cuts[i].from && cuts[k].to > cuts[i].to {
				cuts[i], cuts[k] = cuts[k], cuts[i]
			}
		}
	}
	for _, c := range cuts {
		text = text[:c.from] + c.is + text[c.to:]
	}
	return text
}

func TestRenamingIsCheckedAndComplete(t *testing.T) {
	c := start(t, able, nil)
	c.open(page, night)
	rename := func(what string, nth int, to string) message {
		p := on(night, what, nth)
		p["newName"] = to
		return c.answer(c.ask("textDocument/rename", p))
	}
	for _, good := range []struct {
		what string
		nth  int
		to   string
		has  []string
	}{
		{"Nell", 1, "Wren", []string{"player Wren"}},
		{"A at 5", 1, "Trio", []string{"mark Trio at 5", "from Trio"}},
		{`"Percussion 2"`, 1, "Bells", []string{`part "Bells"`, `of "Bells"`}},
		{"bells at", 1, "back", []string{"station back at", "clipped at back ahead"}},
		{"high-block is", 1, "upper", []string{"upper is woodblock"}},
	} {
		m := rename(good.what, good.nth, good.to)
		if assert.Nil(t, m.Error, "%s: %+v", good.what, m.Error) {
			after := applied(t, night, m.Result)
			for _, has := range good.has {
				assert.Contains(t, after, has)
			}
			assert.Equal(t, strings.Count(night, "\n"), strings.Count(after, "\n"))
			for _, l := range syntax.Parse(after).Lines {
				assert.Empty(t, l.Problems, l.Text)
			}
		}
	}
	for _, bad := range []struct {
		what string
		nth  int
		to   string
	}{
		{"woodblock with", 1, "thing"}, // the catalogue's
		{"Nell", 1, ""},
		{"Nell", 1, "Tam"}, // taken
		{"A at 5", 1, "9"},
		{"bells at", 1, "two words"},
		{"tempo 96", 1, "x"},
	} {
		assert.NotNil(t, rename(bad.what, bad.nth, bad.to).Error, "%s to %q", bad.what, bad.to)
	}
}

func TestAPartIsRenamedInTheFilesThatUseIt(t *testing.T) {
	root := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(root, "parts.handful"), []byte("bars 4\npart \"One\"\n  woodblock | 1 | % x3\n"), 0o600))
	show := "use \"parts.handful\"\nbars 4\nplayer Ida\n  R woodblock as written of \"One\"\n"
	require.NoError(t, os.WriteFile(filepath.Join(root, "show.handful"), []byte(show), 0o600))
	c := start(t, able, obj{"rootUri": string(uri.File(root))})
	id := string(uri.File(filepath.Join(root, "show.handful")))
	c.open(id, show)
	c.shownFor(id, 1)
	p := at(id, 3, 30)
	p["newName"] = "Two"
	var edit struct {
		DocumentChanges []struct {
			TextDocument struct{ URI string }
			Edits        []struct{ NewText string }
		}
	}
	c.call("textDocument/rename", p, &edit)
	require.Len(t, edit.DocumentChanges, 2)
	for _, ch := range edit.DocumentChanges {
		assert.Equal(t, `"Two"`, ch.Edits[0].NewText)
	}
}

func TestAFileUsedByOthersRechecksThem(t *testing.T) {
	root := t.TempDir()
	file := func(name string) (path, id string) {
		path = filepath.Join(root, name)
		return path, string(uri.File(path))
	}
	kit, kitID := file("kit.handful")
	require.NoError(t, os.WriteFile(kit, []byte("instrument lantern-bell\n  way hung takes 1 hand with brass-mallet\n"), 0o600))
	_, id := file("show.handful")
	c := start(t, able, obj{"rootUri": string(uri.File(root))})
	c.open(id, "use \"kit.handful\"\ntempo 60\nplayer Ida\n  R lantern-bell | 1\n")
	assert.NotContains(t, codes(c.shownFor(id, 1)), "unknown-name")

	// An edit in an open file that it uses.
	c.open(kitID, "instrument ferry-bell\n  way hung takes 1 hand with brass-mallet\n")
	c.until(id, "unknown-name", true)
	c.change(kitID, 2, obj{"text": "instrument lantern-bell\n  way hung takes 1 hand with brass-mallet\n"})
	c.until(id, "unknown-name", false)

	// The same on the disk, once it is closed.
	c.notify("textDocument/didClose", obj{"textDocument": doc(kitID)})
	require.NoError(t, os.WriteFile(kit, []byte("instrument other-bell-entirely\n  way hung takes 1 hand with brass-mallet\n"), 0o600))
	c.notify("workspace/didChangeWatchedFiles", obj{"changes": arr{obj{"uri": kitID, "type": 2}}})
	c.until(id, "unknown-name", true)
}

// until waits until the last diagnostics of a document have a code, or not.
func (c *client) until(uri, code string, has bool) {
	c.t.Helper()
	_, ok := c.wait(func() (message, bool) {
		for i := len(c.notes) - 1; i >= 0; i-- {
			var p published
			if c.notes[i].Method == "textDocument/publishDiagnostics" && json.Unmarshal(c.notes[i].Params, &p) == nil && p.URI == uri {
				found := false
				for _, d := range p.Diagnostics {
					found = found || d.Code == code
				}
				return message{}, found == has
			}
		}
		return message{}, false
	})
	require.True(c.t, ok, "%s of %s never comes to %v", code, uri, has)
}

func TestAClientThatPullsIsNotPushedTo(t *testing.T) {
	root := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(root, "closed.handful"), []byte(tooQuick), 0o600))
	pull := obj{"textDocument": obj{"diagnostic": obj{}}, "workspace": obj{"diagnostics": obj{"refreshSupport": true}}}
	c := start(t, pull, obj{"rootUri": string(uri.File(root))})
	c.open(page, tooQuick)
	var report struct {
		Kind     string
		ResultID string
		Items    []diagnostic
	}
	c.call("textDocument/diagnostic", obj{"textDocument": doc(page)}, &report)
	assert.Equal(t, "full", report.Kind)
	assert.Contains(t, codes(report.Items), "short-change")
	id := report.ResultID
	c.call("textDocument/diagnostic", obj{"textDocument": doc(page), "previousResultId": id}, &report)
	assert.Equal(t, "unchanged", report.Kind)
	c.change(page, 2, obj{"range": span(9, 2, 9, 3), "text": "L"})
	c.call("textDocument/diagnostic", obj{"textDocument": doc(page), "previousResultId": id}, &report)
	assert.Equal(t, "full", report.Kind)
	assert.NotContains(t, codes(report.Items), "short-change")

	_, ok := c.wait(func() (message, bool) {
		for _, m := range c.notes {
			if m.Method == "workspace/diagnostic/refresh" {
				return m, true
			}
		}
		return message{}, false
	})
	assert.True(t, ok, "the client is told when the workspace has been read")
	var all struct {
		Items []struct {
			URI  string
			Kind string
		}
	}
	c.call("workspace/diagnostic", obj{"previousResultIds": arr{}}, &all)
	assert.Len(t, all.Items, 2)
	for _, m := range c.notes {
		assert.NotEqual(t, "textDocument/publishDiagnostics", m.Method)
	}
}

// A client that takes an answer in parts is sent each file once, in more than one
// part where there are many, and nothing is left for the end.
func TestFindingsOfAWorkspaceComeInParts(t *testing.T) {
	root := t.TempDir()
	const files = 2*handedOn + 7
	for i := range files {
		require.NoError(t, os.WriteFile(filepath.Join(root, fmt.Sprintf("%d.handful", i)), []byte(tooQuick), 0o600))
	}
	pull := obj{"textDocument": obj{"diagnostic": obj{}}, "workspace": obj{"diagnostics": obj{"refreshSupport": true}}}
	c := start(t, pull, obj{"rootUri": string(uri.File(root))})
	_, ok := c.wait(func() (message, bool) {
		for _, m := range c.notes {
			if m.Method == "workspace/diagnostic/refresh" {
				return m, true
			}
		}
		return message{}, false
	})
	require.True(t, ok)
	type part struct {
		Items []struct {
			URI   string
			Kind  string
			Items []diagnostic
		}
	}
	var rest part
	c.call("workspace/diagnostic", obj{"previousResultIds": arr{}, "partialResultToken": "parts"}, &rest)
	assert.Empty(t, rest.Items)
	seen := map[string]int{}
	parts := 0
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, m := range c.notes {
		if m.Method != "$/progress" {
			continue
		}
		var p struct {
			Token any
			Value part
		}
		require.NoError(t, json.Unmarshal(m.Params, &p))
		if p.Token != "parts" {
			continue
		}
		parts++
		for _, it := range p.Value.Items {
			seen[it.URI]++
			assert.Contains(t, codes(it.Items), "short-change")
		}
	}
	assert.Len(t, seen, files)
	assert.Equal(t, 3, parts)
	for id, n := range seen {
		assert.Equal(t, 1, n, id)
	}
}

func TestTheWorkspaceIsReadWithProgress(t *testing.T) {
	root := t.TempDir()
	for i := range 30 {
		require.NoError(t, os.WriteFile(filepath.Join(root, string(rune('a'+i))+".handful"), []byte(tooQuick), 0o600))
	}
	c := start(t, able, obj{"rootUri": string(uri.File(root))})
	kinds := map[string]int{}
	_, ok := c.wait(func() (message, bool) {
		clear(kinds)
		for _, m := range c.notes {
			switch m.Method {
			case "$/progress":
				var p struct{ Value struct{ Kind string } }
				json.Unmarshal(m.Params, &p)
				kinds[p.Value.Kind]++
			case "textDocument/publishDiagnostics":
				kinds["shown"]++
			}
		}
		return message{}, kinds["end"] == 1 && kinds["shown"] == 30
	})
	assert.True(t, ok, "%v", kinds)
	assert.Equal(t, 1, kinds["begin"])
}

func TestTheClientSetsProfileTempoAndSeverities(t *testing.T) {
	c := start(t, fixing, obj{"initializationOptions": obj{"tempo": "50%", "severities": obj{"compromise": "off", "assumed-kit": "warning"}}})
	c.open(page, strings.Replace(tooQuick, "| 4 | 1", "| - | 1", 1))
	got := c.shownFor(page, 1)
	assert.NotContains(t, codes(got), "compromise")
	for _, d := range got {
		if d.Code == "short-change" {
			assert.Equal(t, 2, d.Severity, "at half the tempo it is tight, and not impossible")
		}
		if d.Code == "assumed-kit" {
			assert.Equal(t, 2, d.Severity)
		}
	}
	c.notify("workspace/didChangeConfiguration", obj{"settings": obj{"handful": obj{"severities": obj{"no-such-rule": "off", "compromise": "loud"}}}})
	_, ok := c.wait(func() (message, bool) {
		n := 0
		for _, m := range c.notes {
			if m.Method == "window/showMessage" {
				n++
			}
		}
		return message{}, n == 2
	})
	assert.True(t, ok, "what is wrong with the settings is said")
	c.until(page, "compromise", true)
}

// A finding's code leads to what its rule means: to a document of the server,
// or where the client says that the handbook is, or else the command.
func TestTheCodeOfAFindingLeadsToItsRule(t *testing.T) {
	book := t.TempDir()
	own := func(workspace []string) string {
		if len(workspace) == 0 {
			return filepath.Join(book, "own")
		}
		return ""
	}
	for _, way := range []struct {
		handbook string
		own      func([]string) string
		root     any
		href     uri.URI
	}{
		{"", nil, nil, "handful:/rules/short-change.md"},
		{book, nil, nil, uri.File(filepath.Join(book, "rules", "short-change.html"))},
		{"../book", nil, nil, "handful:/rules/short-change.md"},
		{"", own, nil, uri.File(filepath.Join(book, "own", "rules", "short-change.html"))},
		{"", own, string(uri.File(t.TempDir())), "handful:/rules/short-change.md"},
		{book, own, nil, uri.File(filepath.Join(book, "rules", "short-change.html"))},
	} {
		c := startWith(t, Options{Handbook: way.own}, able, obj{"initializationOptions": obj{"handbook": way.handbook}, "rootUri": way.root})
		c.open(page, tooQuick)
		seen := 0
		for _, d := range c.shownFor(page, 1) {
			if d.Code == "short-change" {
				assert.Equal(t, string(way.href), d.CodeDescription.Href)
				seen++
			}
		}
		assert.Positive(t, seen)
	}
	found := false
	for _, p := range guide.Pages() {
		found = found || p.Path == "rules/short-change.html"
	}
	assert.True(t, found, "the handbook has the page that is linked to")
}

func TestTheClientIsAskedForItsSettings(t *testing.T) {
	c := dial(t, Options{})
	c.settings = obj{"severities": obj{"short-change": "info"}}
	c.call("initialize", obj{"processId": nil, "rootUri": nil, "capabilities": able}, nil)
	c.notify("initialized", obj{})
	c.open(page, strings.Replace(tooQuick, "| 4 | 1", "| - | 1", 1))
	_, ok := c.wait(func() (message, bool) {
		for i := len(c.notes) - 1; i >= 0; i-- {
			var p published
			if c.notes[i].Method == "textDocument/publishDiagnostics" && json.Unmarshal(c.notes[i].Params, &p) == nil {
				for _, d := range p.Diagnostics {
					if d.Code == "short-change" && d.Severity == 4 {
						return message{}, true
					}
				}
			}
		}
		return message{}, false
	})
	assert.True(t, ok)
}

func TestSemanticTokensComeWholeInPartAndAsWhatChanged(t *testing.T) {
	c := start(t, able, nil)
	c.open(page, night)
	type tokens struct {
		ResultID string
		Data     []int
		Edits    []struct {
			Start, DeleteCount int
			Data               []int
		}
	}
	var first, part, delta, again tokens
	c.call("textDocument/semanticTokens/full", obj{"textDocument": doc(page)}, &first)
	c.call("textDocument/semanticTokens/range", obj{"textDocument": doc(page), "range": span(0, 0, 1, 0)}, &part)
	assert.Equal(t, first.Data[:len(part.Data)], part.Data)
	c.change(page, 2, obj{"range": span(1, 6, 1, 8), "text": "100 # quicker"})
	c.call("textDocument/semanticTokens/full/delta", obj{"textDocument": doc(page), "previousResultId": first.ResultID}, &delta)
	c.call("textDocument/semanticTokens/full", obj{"textDocument": doc(page)}, &again)
	require.Len(t, delta.Edits, 1)
	e := delta.Edits[0]
	made := append(append(append([]int{}, first.Data[:e.Start]...), e.Data...), first.Data[e.Start+e.DeleteCount:]...)
	assert.Equal(t, again.Data, made)
	assert.Less(t, len(e.Data), 20)
	c.call("textDocument/semanticTokens/full/delta", obj{"textDocument": doc(page), "previousResultId": "long ago"}, &delta)
	assert.Equal(t, again.Data, delta.Data)
}

func TestCompletionKnowsTheContext(t *testing.T) {
	c := start(t, able, nil)
	offered := func(text string) []string {
		// A | marks the cursor.
		line := strings.Count(text[:strings.IndexByte(text, '^')], "\n")
		col := strings.IndexByte(text, '^') - strings.LastIndexByte(text[:strings.IndexByte(text, '^')], '\n') - 1
		c.open(page, strings.Replace(text, "^", "", 1))
		c.call("textDocument/hover", at(page, 0, 0), nil) // so that a check is there to take names from
		var list struct{ Items []struct{ Label string } }
		c.call("textDocument/completion", at(page, line, col), &list)
		c.notify("textDocument/didClose", obj{"textDocument": doc(page)})
		var out []string
		for _, it := range list.Items {
			out = append(out, it.Label)
		}
		return out
	}
	for text, want := range map[string][]string{
		night + "  ^":                              {"R", "L", "mouth", "kit", "from", "profile"},
		night + "  R ^":                            {"woodblock", "triangle", "holds", "damps"},
		night + "  R triangle ^":                   {"held", "clipped", "with", "as written"},
		night + "  R tambourine ^":                 {"held", `"on the thigh"`},
		night + "  R tambourine held \"on^":        {"on the thigh"},
		night + "  R maracas held ^":               {"in one hand", `"both in one hand"`},
		night + "  R triangle with ^":              {"triangle-beater", "snare-stick"},
		night + "  R triangle as ^":                {"written"},
		night + "  R triangle as written of ^":     {`"Percussion 1"`},
		night + "  R triangle as written in ^":     {"A"},
		night + "  R triangle | ^":                 {"mf", "%", "-"},
		night + "  R xylophone | 1:^":              {"F3", "C5", "F#4", "C7"},
		night + "  R xylophone | 1:C5+^":           {"C5", "C7"},
		night + "  R xylophone | 1:F#^":            {"F#4"},
		night + "  R xylophone | 1 |\n  | 2:^":     {"C7"},
		night + "  R tom-toms | 1:^":               {"high", "low", "3", "4"},
		night + "  kit\n    tom-toms:^":            {"high", "middle-high", "low"},
		night + "  kit\n    timpani:^":             {"1", "4"},
		night + "  kit\n    tom-toms:low ^":        {"at"},
		night + "  from ^":                         {"A"},
		night + "  profile ^":                      {"student"},
		night + "  kit\n    drum is ^":             {"snare-drum"},
		night + "  kit\n    table at ^":            {"right", "ahead"},
		night + "accept ^":                         {"short-change"},
		night + "accept short-change for ^":        {"Nell", "Tam"},
		night + "omit ^":                           {"woodblock"},
		"^":                                        {"title", "player", "part", "tempo"},
		"part \"P\"\n  ^":                          {"woodblock", "snare-drum"},
		night + "  R triangle with 2 ^":            {"triangle-beater"},
		night + "  R takes 2 ^":                    {"yarn-mallet"},
		night + "  R takes snare-stick and ^":      {"yarn-mallet"},
		night + "  R takes snare-stick ^":          {"at", "and"},
		night + "  R holds snare-stick ^":          {"and"},
		night + "  R woodblock with butt of ^":     {"snare-stick"},
		night + "  R woodblock with snare-stick ^": {"and", "for"},
		night + "  R woodblock on ^":               {"stand"},
		"part \"P\" in ^":                          {`""`},
		night + "  R triangle with 2 # comment^":   nil,
		night + "  hands ^":                        {"R", "both"},
		night + "  rolls one-handed ^":             {"no", "yes"},
		night + "  holds four ^":                   {"mallets"},
		night + "  damps with ^":                   {"forearm"},
		night + "  never ^":                        {"woodblock", "keyboard"},
		night + "gear\n  2 ^":                      {"woodblock", "clamp", "snare-stick"},
		night + "gear\n  2 woodblock, 12 ^":        {"stand"},
	} {
		got := offered(text)
		for _, w := range want {
			assert.Contains(t, got, w, "%q", text[strings.LastIndexByte(text, '\n')+1:])
		}
		if want == nil {
			assert.Empty(t, got)
		}
	}
	// What the player has comes before what the catalogue has.
	assert.Equal(t, []string{"woodblock", "high-block", "triangle"}, offered(strings.Replace(night, "  any triangle", "  any ^triangle", 1))[:3])
}

func TestCompletionIsDocumentedWhenLookedAt(t *testing.T) {
	c := start(t, able, nil)
	c.open(page, night)
	var list struct{ Items []json.RawMessage }
	c.call("textDocument/completion", on(night, "woodblock with", 1), &list)
	require.NotEmpty(t, list.Items)
	assert.NotContains(t, string(list.Items[0]), "documentation")
	var item struct{ Documentation struct{ Value string } }
	c.call("completionItem/resolve", list.Items[0], &item)
	assert.Contains(t, item.Documentation.Value, "zone")
}

func TestRefactorings(t *testing.T) {
	c := start(t, able, nil)
	text := strings.Replace(night, "player Tam\n  L high-block with rubber-mallet | -\n", "player Tam\n  L tambourine padded with snare-stick | 1 2 | 1 2 | 1 2 | -5\n", 1)
	c.open(page, text)
	offer := func(what string, nth int) map[string]json.RawMessage {
		line, col := find(text, what, nth)
		var list []struct {
			Title string
			Edit  json.RawMessage
		}
		c.call("textDocument/codeAction", obj{"textDocument": doc(page), "range": span(line, col, line, col), "context": obj{"diagnostics": arr{}, "only": arr{"refactor"}}}, &list)
		out := map[string]json.RawMessage{}
		for _, a := range list {
			out[a.Title] = a.Edit
		}
		return out
	}
	got := offer("R woodblock", 1)
	require.Contains(t, got, "write the bars out")
	assert.Contains(t, applied(t, text, got["write the bars out"]), "  R woodblock with rubber-mallet | mf 1 3 | %")
	require.Contains(t, got, "swap the hands of this line")
	assert.Contains(t, applied(t, text, got["swap the hands of this line"]), "  L woodblock with rubber-mallet as written")
	require.Contains(t, got, "hand this line to Tam")
	handed := applied(t, text, got["hand this line to Tam"])
	assert.Greater(t, strings.Index(handed, "R woodblock with rubber-mallet as written"), strings.Index(handed, "player Tam"))

	got = offer("tambourine", 1)
	require.Contains(t, got, "fold equal bars into similes")
	assert.Contains(t, applied(t, text, got["fold equal bars into similes"]), "| 1 2 | % x2 | -5")

	got = offer("table at", 1)
	require.Contains(t, got, "make this kit everybody's")
	shared := applied(t, text, got["make this kit everybody's"])
	assert.Less(t, strings.Index(shared, "station bells"), strings.Index(shared, "player Nell"))
}

func TestEveryFixThatNeedsNoJudgementIsOneAction(t *testing.T) {
	c := start(t, able, nil)
	text := "tempo 60\nplayer Ida\n  R woodblok | 1 2\n  L cowbel | 1 2\n"
	c.open(page, text)
	var list []struct {
		Title string
		Edit  json.RawMessage
	}
	c.call("textDocument/codeAction", obj{"textDocument": doc(page), "range": span(0, 0, 0, 0), "context": obj{"diagnostics": arr{}, "only": arr{"source.fixAll"}}}, &list)
	require.Len(t, list, 1)
	assert.Equal(t, "tempo 60\nplayer Ida\n  R woodblock | 1 2\n  L cowbell | 1 2\n", applied(t, text, list[0].Edit))
}

// A client that asks for an action's edit when it is chosen gets it then, the same as one
// that has it at once, and none of a text that has changed since.
func TestTheEditOfEveryFixIsMadeWhenItIsChosen(t *testing.T) {
	c := start(t, obj{"workspace": obj{"workspaceEdit": obj{"documentChanges": true}}, "textDocument": obj{"codeAction": obj{
		"codeActionLiteralSupport": obj{"codeActionKind": obj{"valueSet": arr{"quickfix"}}},
		"dataSupport":              true, "resolveSupport": obj{"properties": arr{"edit"}},
	}}}, nil)
	text := "tempo 60\nplayer Ida\n  R woodblok | 1 2\n  L cowbel | 1 2\n"
	c.open(page, text)
	ask := func() (list []obj) {
		c.call("textDocument/codeAction", obj{"textDocument": doc(page), "range": span(0, 0, 0, 0), "context": obj{"diagnostics": arr{}, "only": arr{"source.fixAll"}}}, &list)
		return list
	}
	list := ask()
	require.Len(t, list, 1)
	assert.NotContains(t, list[0], "edit")
	var made struct{ Edit json.RawMessage }
	c.call("codeAction/resolve", list[0], &made)
	want := "tempo 60\nplayer Ida\n  R woodblock | 1 2\n  L cowbell | 1 2\n"
	assert.Equal(t, want, applied(t, text, made.Edit))

	c.change(page, 2, obj{"text": want})
	err := c.refused("codeAction/resolve", list[0])
	assert.Equal(t, -32801, err.Code)
	assert.Empty(t, ask(), "nothing is left to be fixed")

	var other struct{ Title string }
	c.call("codeAction/resolve", obj{"title": "an action of another kind"}, &other)
	assert.Equal(t, "an action of another kind", other.Title)
}

func TestFormattingKeepsWhatIsBeingTyped(t *testing.T) {
	c := start(t, able, nil)
	text := "part \"P\"\n  woodblock   | 1 2 |   3 4\n  triangle | 1 | \n"
	c.open(page, text)
	var edits []struct {
		Range   struct{ Start, End struct{ Line, Character int } }
		NewText string
	}
	c.call("textDocument/formatting", obj{"textDocument": doc(page), "options": obj{"tabSize": 2, "insertSpaces": true}}, &edits)
	assert.NotEmpty(t, edits)
	p := at(page, 2, 16)
	p["ch"], p["options"] = "|", obj{"tabSize": 2, "insertSpaces": true}
	c.call("textDocument/onTypeFormatting", p, &edits)
	for _, e := range edits {
		if e.Range.Start.Line == 2 {
			assert.LessOrEqual(t, e.Range.End.Character, 11, "the line that is typed is left alone behind its first bar line")
		}
	}
}

func TestHoverSaysWhatIsGoingOn(t *testing.T) {
	c := start(t, able, nil)
	c.open(page, night)
	for _, look := range []struct {
		what string
		nth  int
		has  []string
	}{
		{"1 3 |", 1, []string{"bar 1, count 1", "0:00.0", "right hand", "strikes the woodblock", "hard rubber mallet"}},
		{"Nell", 1, []string{"**Nell**", "cannot above", "at 5.1"}},
		{"clipped", 1, []string{"triangle", "ring"}},
		{"A\n  any", 1, []string{"mark A", "bar 5", "0:10.0"}},
		{"any", 1, []string{"whichever hand", "here the"}},
		{"tempo", 1, []string{"counts a minute"}},
		{"rubber-mallet", 1, []string{"rubber-mallet:", "plays"}},
	} {
		var h struct{ Contents struct{ Value string } }
		c.call("textDocument/hover", on(night, look.what, look.nth), &h)
		for _, has := range look.has {
			assert.Contains(t, h.Contents.Value, has, look.what)
		}
	}
}

// Wherever somebody points in a cue that does not work out, or that takes a
// change, the arithmetic is there: what is found first, then what the word is.
func TestHoverSaysTheReasonAnywhereInACue(t *testing.T) {
	const text = "tempo 100\npart \"P\"\n  woodblock | 1 2 3 4 | 1 2& 4 | % | -\n  triangle | - | - | - | 1\n" +
		"player Wren\n  R woodblock clamped with rubber-mallet as written\n  R triangle clipped with triangle-beater as written  # there\n" +
		"player Ida\n  L triangle held with triangle-beater | 1 | -\n  R snare-drum with snare-stick | 1 | -\n  R cowbell with rubber-mallet | - | - | 1\n"
	c := start(t, able, nil)
	c.open("untitled:reason", text)
	lines := strings.Split(text, "\n")
	hover := func(line, col int) string {
		var h *struct{ Contents struct{ Value string } }
		c.call("textDocument/hover", at("untitled:reason", line, col), &h)
		if h == nil {
			return ""
		}
		return strings.Join(strings.Fields(h.Contents.Value), " ")
	}
	r := check.Check("reason", syntax.Parse(text), check.Options{})
	i := slices.IndexFunc(r.Findings, func(f check.Finding) bool { return f.Rule.Name == "short-change" })
	require.GreaterOrEqual(t, i, 0)
	f := &r.Findings[i]
	require.EqualValues(t, 6, f.Where.Line)
	for col := 2; col <= strings.Index(lines[6], "  #"); col++ {
		said := hover(6, col)
		assert.True(t, strings.HasPrefix(said, "**error short-change**"), "column %d: %s", col, said)
		for _, row := range []string{"| needed |", "| there is |", "| to spare |"} {
			assert.Equal(t, 1, strings.Count(said, row), "column %d: %s", col, said)
		}
		assert.Contains(t, said, fmt.Sprintf("| needed | %.2f s | %.2f s | %.2f s |", f.Need.Limit, f.Need.Floor, f.Need.Steady))
		assert.Less(t, strings.Index(said, "| to spare |"), strings.Index(said, "| needed |"), "the outcome first")
		assert.Contains(t, said, "from: ")
		for _, sum := range f.Sums {
			assert.Contains(t, said, md(sum.Words))
		}
	}
	word := hover(6, strings.Index(lines[6], "clipped"))
	assert.Greater(t, strings.Index(word, "clipped to a stand"), strings.Index(word, "| needed |"), "the word comes behind")
	easy := hover(10, strings.Index(lines[10], "cowbell"))
	assert.Contains(t, easy, "to spare")
	assert.NotContains(t, easy, "short-change")
	assert.Equal(t, 1, strings.Count(hover(10, strings.LastIndex(lines[10], "1")), "| needed |"))
}

// A client that shows what is found under the cursor by itself is not told it
// again: the table comes first, and elsewhere in the line the sentence does.
func TestHoverDoesNotRepeatWhatTheClientShows(t *testing.T) {
	c := start(t, obj{"textDocument": able["textDocument"], "experimental": obj{"handfulTellsFindings": true}}, nil)
	c.open(page, tooQuick)
	lines := strings.Split(tooQuick, "\n")
	under, elsewhere := 0, 0
	for _, d := range c.shownFor(page, 1) {
		if d.Code != "short-change" {
			continue
		}
		line := d.Range.Start.Line
		for col := range lines[line] {
			var h struct{ Contents struct{ Value string } }
			c.call("textDocument/hover", at(page, line, col), &h)
			if d.Range.Start.Character <= col && col <= d.Range.End.Character {
				under++
				assert.NotContains(t, h.Contents.Value, "short-change", "column %d", col)
			} else {
				elsewhere++
				assert.Contains(t, h.Contents.Value, "**error short-change**", "column %d", col)
			}
			assert.Equal(t, 1, strings.Count(h.Contents.Value, "| to spare "), "column %d: %s", col, h.Contents.Value)
		}
	}
	assert.NotZero(t, under)
	assert.NotZero(t, elsewhere)
}

// A way that is asked for is told with what it costs and how it is done, and its
// words have their own place in the line.
func TestHoverSaysTheWayThatIsAskedFor(t *testing.T) {
	const text = "tempo 60\nplayer Ida\n  R tambourine held \"on the thigh\" | 1 2\n  L maracas in one hand | - | 1 2\n  R anvil shaken | - | - | 1\n"
	c := start(t, able, nil)
	c.open("untitled:asked", text)
	for what, has := range map[string]string{
		"\"on the thigh": "rim against the thigh",
		"in one hand":    "one maraca to and fro",
		"shaken":         "no way of playing the anvil like that",
	} {
		var h struct{ Contents struct{ Value string } }
		params := on(text, what, 1)
		params["textDocument"] = doc("untitled:asked")
		c.call("textDocument/hover", params, &h)
		assert.Contains(t, h.Contents.Value, has, what)
	}
	got := map[string]role{}
	line := "L maracas held one-handed \"x\" as written"
	for _, p := range piecesOf(syntax.ParseLine(line), syntax.Seat{Block: syntax.InPlayer}) {
		got[line[p.Start:p.End]] = p.role
	}
	assert.Equal(t, roleWay, got["one-handed"])
	assert.Equal(t, roleWayName, got[`"x"`])
	assert.Equal(t, roleMount, got["held"])
}

// A stroke's notes have their own places in the line, and a hover says which bar
// or drum each is, and how it sounds.
func TestHoverSaysWhichBarOrDrum(t *testing.T) {
	const text = "tempo 60\nplayer Ida\n  R+L xylophone | 1:F#4+C5 2:E5 |\n  from 2\n  R tom-toms | 1:high 2:3 |\n  R timpani | - | 1:D3\n"
	c := start(t, able, nil)
	c.open("untitled:keys", text)
	for what, has := range map[string][]string{
		"F#4":  {"F#4 on the xylophone: sounds F#5; a bar of the far row", "C5 on the xylophone: sounds C6; a bar of the near row, ", "cm wide"},
		"2:E5": {"E5 on the xylophone", "bar 1, count 2"},
		"high": {"1 of 4 of the tom-toms from the left, the high one", "cm left of the middle"},
		"2:3":  {"3 of 4 of the tom-toms from the left, the middle-low one", "cm right of the middle"},
		"1:D3": {"D3 on the timpani: sounds as written", "kettle 3, 66 cm across", "kettle 4"},
	} {
		var h struct{ Contents struct{ Value string } }
		params := on(text, what, 1)
		params["textDocument"] = doc("untitled:keys")
		c.call("textDocument/hover", params, &h)
		for _, has := range has {
			assert.Contains(t, strings.ReplaceAll(h.Contents.Value, `\`, ""), has, what)
		}
	}
	got := map[string]role{}
	line := "R xylophone | '1>:F#4+C5 2:E5~3"
	for _, p := range piecesOf(syntax.ParseLine(line), syntax.Seat{Block: syntax.InPlayer}) {
		got[line[p.Start:p.End]] = p.role
	}
	assert.Equal(t, map[string]role{"R": roleLimb, "xylophone": roleInstrument, "|": roleSign, "'1>:": roleStroke, "F#4": roleKey, "+": roleStroke, "C5": roleKey, "2:": roleStroke, "E5": roleKey, "~3": roleStroke}, got)
}

// A note or a drum that is not there is said to be none where it is looked at, and
// what there is instead is offered, whatever stands there.
func TestANoteThatIsNotThere(t *testing.T) {
	const text = "tempo 60\nplayer Ida\n  R glockenspiel | 1:C9\n  R snare-drum | 2:high\n"
	c := start(t, able, nil)
	c.open("untitled:none", text)
	for what, has := range map[string][]string{
		"1:C9":   {"C9 is not on the glockenspiel", "C9 is out of the instrument's range: as written, the notes of the glockenspiel go from F3 to C6"},
		"C9":     {"C9 is not on the glockenspiel"},
		"2:high": {"high is not on the snare drum", "the snare drum is one thing, and has no high one"},
		"high":   {"high is not on the snare drum"},
	} {
		var h struct{ Contents struct{ Value string } }
		params := on(text, what, 1)
		params["textDocument"] = doc("untitled:none")
		c.call("textDocument/hover", params, &h)
		for _, has := range has {
			assert.Contains(t, h.Contents.Value, has, what)
		}
	}
	offered := func(behind string) []string {
		var list struct{ Items []struct{ Label string } }
		line, col := find(text, behind, 1)
		c.call("textDocument/completion", at("untitled:none", line, col-1+len(behind)), &list)
		var out []string
		for _, it := range list.Items {
			out = append(out, it.Label)
		}
		return out
	}
	bars := offered("1:C")
	assert.Contains(t, bars, "C6")
	assert.NotContains(t, bars, "C9")
	assert.Contains(t, offered("1:C9"), "C5", "in the place of what is not there")
	assert.Empty(t, offered("2:h"), "one thing has no drums to name")
	assert.Empty(t, offered("2:high"))
}

func TestHintsShowTheHandThatWasChosen(t *testing.T) {
	c := start(t, able, nil)
	c.open(page, night)
	var hints []struct{ Label string }
	c.call("textDocument/inlayHint", obj{"textDocument": doc(page), "range": span(0, 0, 50, 0)}, &hints)
	var all string
	for _, h := range hints {
		all += h.Label + "\n"
	}
	assert.Regexp(t, `(?m)^[RL]$`, all)
	assert.Regexp(t, `(?m)^to bar 4$`, all, "where a later from ends a line")

	c.open("untitled:quick", tooQuick)
	c.call("textDocument/inlayHint", obj{"textDocument": doc("untitled:quick"), "range": span(0, 0, 50, 0)}, &hints)
	require.Len(t, hints, 1)
	assert.Equal(t, "4.1: 0.02 s too little: lay the hard rubber mallet, take the triangle beater", hints[0].Label)
}

// Marks, names and counts have their places in a line that says them in other words
// than the notation's, so that they can be renamed and looked up there too.
func TestPiecesOfWhatIsSaidOtherwise(t *testing.T) {
	const line = "RH snare drum with sticks as written from A to B"
	got := map[string]role{}
	for _, p := range piecesOf(syntax.ParseLine(line), syntax.Seat{Block: syntax.InPlayer}) {
		got[line[p.Start:p.End]] = p.role
	}
	for text, want := range map[string]role{"RH": roleLimb, "snare drum": roleInstrument, "sticks": roleImplement, "A": roleMark, "B": roleMark, "with": roleWord} {
		assert.Equal(t, want, got[text], text)
	}
}

// A piece without players says so once, and offers to be planned for some.
func TestAPieceWithoutPlayersIsOfferedAPlan(t *testing.T) {
	text := "tempo 60\npart \"P\"\n  triangle | 1 | 1\n  woodblock | 3 | 1 3\n  cowbell | 2\n"
	c := start(t, able, nil)
	c.open(page, text)
	assert.Equal(t, []string{"uncovered"}, codes(c.shownFor(page, 1)))
	var actions []struct {
		Title   string
		Command struct {
			Command   string
			Arguments []string
		}
	}
	c.call("textDocument/codeAction", obj{"textDocument": doc(page), "range": span(1, 0, 1, 0), "context": obj{"diagnostics": arr{}}}, &actions)
	seen := false
	for _, a := range actions {
		if a.Title != "plan this piece for 1 player" {
			continue
		}
		seen = true
		c.call("workspace/executeCommand", obj{"command": a.Command.Command, "arguments": a.Command.Arguments}, nil)
		after := c.afterItsEdit(t, text)
		c.change(page, 2, obj{"text": after})
		assert.NotContains(t, codes(c.shownFor(page, 2)), "uncovered", after)
	}
	assert.True(t, seen, "%v", actions)
}

func TestASheetIsShownForAPlayer(t *testing.T) {
	c := start(t, able, nil)
	c.open(page, night)
	var text string
	c.call("workspace/executeCommand", obj{"command": "handful.sheet", "arguments": arr{page, "Nell"}}, &text)
	assert.Contains(t, text, ": cue sheet for Nell")
	assert.Contains(t, text, ": practice sheet for Nell")
	assert.NotContains(t, text, "Tam\n")
	c.call("workspace/executeCommand", obj{"command": "handful.sheet", "arguments": arr{page, "", "html"}}, &text)
	assert.Contains(t, text, "<!DOCTYPE html>")
	assert.Contains(t, text, "section chart")
	assert.Contains(t, text, `<div class="screen w0">`)
	c.call("workspace/executeCommand", obj{"command": "handful.sheet", "arguments": arr{page, "Nell", "html", "900"}}, &text)
	assert.Contains(t, text, `<div class="screen w1">`)
	assert.NotContains(t, text, `<div class="screen w0">`)
	for _, width := range []string{"", "wide", "-1", "1e3"} {
		assert.Contains(t, c.refused("workspace/executeCommand", obj{"command": "handful.sheet", "arguments": arr{page, "Nell", "html", width}}).Message, "is no width")
	}
	assert.Contains(t, c.refused("workspace/executeCommand", obj{"command": "handful.sheet", "arguments": arr{page, "Nobody"}}).Message, "Nobody")
	c.call("workspace/executeCommand", obj{"command": "handful.export", "arguments": arr{page, "musicxml"}}, &text)
	assert.Contains(t, text, "<part-name>Nell</part-name>")
	assert.Equal(t, requestFailed, c.refused("workspace/executeCommand", obj{"command": "handful.export", "arguments": arr{page, "midi"}}).Code)
}

func TestAPartFromAnotherFormatIsCheckedWhereItIsUsed(t *testing.T) {
	root := t.TempDir()
	data, err := os.ReadFile("../examples/quay-parade.musicxml")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(root, "book.musicxml"), data, 0o600))
	c := start(t, able, obj{"rootUri": string(uri.File(root))})
	id := string(uri.File(filepath.Join(root, "show.handful")))
	text := "bars 160\ntempo 112\npart \"Percussion 1\" in \"book.musicxml\"\nplayer Ida\n  R woodblock | 1\n"
	c.open(id, text)
	for _, d := range c.shownFor(id, 1) {
		if d.Code != "uncovered" {
			continue
		}
		assert.Equal(t, 2, d.Range.Start.Line, "at the line that takes the part")
		require.NotEmpty(t, d.RelatedInformation)
		assert.Equal(t, string(uri.File(filepath.Join(root, "book.musicxml"))), d.RelatedInformation[0].Location.URI)
		return
	}
	t.Error("what nobody plays is not found")
}

func TestAPieceIsPlannedFromTheEditor(t *testing.T) {
	c := start(t, able, nil)
	data, err := os.ReadFile("../examples/ferry-landing.handful")
	require.NoError(t, err)
	c.open(page, string(data))
	var text string
	c.call("workspace/executeCommand", obj{"command": "handful.plan", "arguments": arr{page, "2"}}, &text)
	assert.Contains(t, text, "player Nell")
	assert.Equal(t, requestFailed, c.refused("workspace/executeCommand", obj{"command": "handful.plan", "arguments": arr{page, "many"}}).Code)

	// What nobody plays is offered to be given away, and goes in as an edit.
	part := "tempo 60\nbars 2\npart \"P\"\n  woodblock | 1 | 1\nplayer Ida\n"
	c.open("untitled:open", part)
	var actions []struct {
		Title   string
		Command struct {
			Command   string
			Arguments []string
		}
	}
	c.call("textDocument/codeAction", obj{"textDocument": doc("untitled:open"), "range": span(3, 14, 3, 15), "context": obj{"diagnostics": arr{}}}, &actions)
	for _, a := range actions {
		if a.Command.Command != "handful.cover" {
			continue
		}
		c.call("workspace/executeCommand", obj{"command": a.Command.Command, "arguments": arr{a.Command.Arguments[0]}}, nil)
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
		assert.Contains(t, applied(t, part, p.Edit), "woodblock")
		assert.Contains(t, applied(t, part, p.Edit), "as written")
		return
	}
	t.Errorf("no action covers it: %v", actions)
}

// Somebody is not there: offered at their line; the page answers, the text changes, and
// everybody else's lines stay.
func TestWithoutSomebodyFromTheEditor(t *testing.T) {
	c := start(t, able, nil)
	const text = "tempo 60\nbars 2\npart \"P\"\n  woodblock | 1 | 1\n  triangle | 2 | 2\nplayer Ida\n  R woodblock as written\nplayer Max\n  L triangle as written\n"
	c.open("untitled:ill", text)
	var actions []struct {
		Command struct {
			Command   string
			Arguments []string
		}
	}
	c.call("textDocument/codeAction", obj{"textDocument": doc("untitled:ill"), "range": span(7, 1, 7, 2), "context": obj{"diagnostics": arr{}}}, &actions)
	for _, a := range actions {
		if a.Command.Command != "handful.without" {
			continue
		}
		assert.Equal(t, "Max", a.Command.Arguments[1])
		var said string
		c.call("workspace/executeCommand", obj{"command": a.Command.Command, "arguments": arr{a.Command.Arguments[0], "Max"}}, &said)
		assert.Contains(t, said, "Ida takes 2 strokes over, and nothing is lost")
		after := c.afterItsEdit(t, text)
		assert.Contains(t, after, "player Ida\n  R woodblock as written\n")
		assert.NotContains(t, after, "player Max")
		assert.Equal(t, requestFailed, c.refused("workspace/executeCommand", obj{"command": "handful.without", "arguments": arr{a.Command.Arguments[0]}}).Code)
		assert.Equal(t, requestFailed, c.refused("workspace/executeCommand", obj{"command": "handful.without", "arguments": arr{a.Command.Arguments[0], "Nobody"}}).Code)
		return
	}
	t.Errorf("nothing is offered: %v", actions)
}

// afterItsEdit is a text after the edit that the server asks the client to make.
func (c *client) afterItsEdit(t *testing.T, text string) string {
	t.Helper()
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
	return applied(t, text, p.Edit)
}

func TestLinesAreGivenAwayAnew(t *testing.T) {
	c := start(t, able, nil)
	text := "tempo 60\nbars 4\npart \"P\"\n  woodblock | 1 3 | % x3\n  cowbell | 2 4 | % x3\nplayer Ida\n  R woodblock with snare-stick as written\n  R cowbell with snare-stick | 9\nplayer Per\n"
	c.open(page, text)
	var actions []struct {
		Title   string
		Command struct {
			Command   string
			Arguments []string
		}
	}
	c.call("textDocument/codeAction", obj{"textDocument": doc(page), "range": span(7, 0, 8, 0), "context": obj{"diagnostics": arr{}, "only": arr{"refactor"}}}, &actions)
	require.NotEmpty(t, actions)
	assert.Equal(t, "give 1 line away anew, and leave the rest as it is", actions[0].Title)
	c.call("workspace/executeCommand", obj{"command": actions[0].Command.Command, "arguments": actions[0].Command.Arguments}, nil)
	after := c.afterItsEdit(t, text)
	assert.Contains(t, after, "  R woodblock with snare-stick as written")
	assert.NotContains(t, after, "| 9")
	assert.Regexp(t, `cowbell .*as written`, after)
}

// A set's name is renamed where one of its drums is placed, and a hover there says
// which it is and where.
func TestDrumsThatArePlacedOneByOne(t *testing.T) {
	const text = "tempo 60\nplayer Ida\n  kit\n    toms is tom-toms on stand at ahead 50\n    toms:low at right 60 ahead 30\n    toms:1 at left 60\n  R toms | 1:high 2:low 3:2 |\n"
	c := start(t, able, nil)
	c.open("untitled:apart", text)
	hover := func(what string, nth int) string {
		var h struct{ Contents struct{ Value string } }
		params := on(text, what, nth)
		params["textDocument"] = doc("untitled:apart")
		c.call("textDocument/hover", params, &h)
		return strings.ReplaceAll(h.Contents.Value, `\`, "")
	}
	const low = "4 of 4 of the tom-toms from the left, the low one: placed by itself, 60 cm to the right and 30 cm ahead"
	assert.Contains(t, hover("low at", 1), low)
	assert.Contains(t, hover("2:low", 1), low)
	assert.Contains(t, hover("1 at left", 1), "the high one: placed by itself, 60 cm to the left")
	assert.Contains(t, hover("3:2", 1), "2 of 4 of the tom-toms from the left, the middle-high one: 16 cm left of the middle")
	params := on(text, "toms:low", 1)
	params["textDocument"], params["newName"] = doc("untitled:apart"), "drums"
	m := c.answer(c.ask("textDocument/rename", params))
	require.Nil(t, m.Error)
	assert.Equal(t, strings.NewReplacer("toms is", "drums is", "toms:", "drums:", "R toms", "R drums").Replace(text), applied(t, text, m.Result))
	got := map[string]role{}
	line := "toms:low at right 60"
	for _, p := range piecesOf(syntax.ParseLine(line), syntax.Seat{Block: syntax.InKit}) {
		got[line[p.Start:p.End]] = p.role
	}
	assert.Equal(t, roleInstrument, got["toms"])
	assert.Equal(t, roleKey, got["low"])
}
