package lsp

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.lsp.dev/uri"
)

// A hand is an item of the hierarchy as a client has it, to hand back as it came.
type hand struct {
	Name           string          `json:"name"`
	Detail         string          `json:"detail"`
	URI            string          `json:"uri"`
	Kind           int             `json:"kind"`
	Range          lineRange       `json:"range"`
	SelectionRange lineRange       `json:"selectionRange"`
	Data           json.RawMessage `json:"data"`
}

type lineRange struct {
	Start linePlace `json:"start"`
	End   linePlace `json:"end"`
}

type linePlace struct {
	Line      int `json:"line"`
	Character int `json:"character"`
}

// cut is the text of a range on one line, counted as the client does.
func (r lineRange) cut(enc encoding, text string) string {
	line := strings.Split(text, "\n")[r.Start.Line]
	return line[enc.bytes(line, r.Start.Character):enc.bytes(line, r.End.Character)]
}

func (c *client) prepare(params obj) hand {
	var got []hand
	c.call("textDocument/prepareCallHierarchy", params, &got)
	if !assert.Len(c.t, got, 1) {
		return hand{}
	}
	return got[0]
}

// played is who plays what, in words: "Nell (woodblock): R woodblock … as written".
func (c *client) played(of hand, enc encoding, text string) (incoming, outgoing []string) {
	var in []struct {
		From       hand
		FromRanges []lineRange
	}
	var out []struct {
		To         hand
		FromRanges []lineRange
	}
	c.call("callHierarchy/incomingCalls", obj{"item": of}, &in)
	c.call("callHierarchy/outgoingCalls", obj{"item": of}, &out)
	say := func(h hand, at []lineRange) string {
		said := h.Name + " (" + h.Detail + ")"
		for _, r := range at {
			said += ": " + r.cut(enc, text)
		}
		return said
	}
	for _, x := range in {
		incoming = append(incoming, say(x.From, x.FromRanges))
	}
	for _, x := range out {
		outgoing = append(outgoing, say(x.To, x.FromRanges))
	}
	return incoming, outgoing
}

// 𝄞 takes one column in UTF-32, two in UTF-16 and four in UTF-8.
const quartet = `tempo 60
bars 2

part "𝄞 One"
  woodblock | 1 3 | 1
  triangle  | 2 | -
part "𝄞 Two"
  woodblock | 2 | 2

player "Zoë 𝄞" # plays both
  R woodblock with snare-stick as written of "𝄞 One" in 1
  L woodblock with snare-stick as written of "𝄞 Two"
player Per
  R snare-drum for woodblock | - | 1
  L cowbell with snare-stick | 1 | 1
`

func TestWhoPlaysWhat(t *testing.T) {
	for kind, enc := range map[string]encoding{"utf-8": utf8Columns, "utf-16": utf16Columns, "utf-32": utf32Columns} {
		c := start(t, obj{"general": obj{"positionEncodings": arr{kind}}}, nil)
		c.open(page, quartet)
		at := func(what string, n int) obj {
			line, col := find(quartet, what, n)
			return at(page, line, enc.units(strings.Split(quartet, "\n")[line][:col]))
		}
		const zoe, zoe2 = `R woodblock with snare-stick as written of "𝄞 One" in 1`, `L woodblock with snare-stick as written of "𝄞 Two"`
		const per = "R snare-drum for woodblock"
		for _, ask := range []struct {
			what      string
			nth       int
			name, sel string
			last      int // line of its range
			in, out   []string
		}{
			{`"𝄞 One`, 1, "𝄞 One", `"𝄞 One"`, 5, []string{"Zoë 𝄞 (woodblock): " + zoe, "Per (woodblock): " + per}, nil},
			{`"𝄞 One`, 2, "𝄞 One", `"𝄞 One"`, 5, []string{"Zoë 𝄞 (woodblock): " + zoe, "Per (woodblock): " + per}, nil},
			{`"𝄞 Two`, 1, "𝄞 Two", `"𝄞 Two"`, 7, []string{"Zoë 𝄞 (woodblock): " + zoe2}, nil},
			{"woodblock |", 1, "woodblock", "woodblock", 4, []string{"Zoë 𝄞 (woodblock): " + zoe, "Per (woodblock): " + per}, nil},
			{"| 2 | -", 1, "triangle", "triangle", 5, nil, nil},
			{"Zoë", 1, "Zoë 𝄞", `"Zoë 𝄞"`, 11, nil, []string{"𝄞 One (woodblock): " + zoe, "𝄞 Two (woodblock): " + zoe2}},
			{"snare-stick", 1, "Zoë 𝄞", `"Zoë 𝄞"`, 11, nil, []string{"𝄞 One (woodblock): " + zoe, "𝄞 Two (woodblock): " + zoe2}},
			{"cowbell", 1, "Per", "Per", 14, nil, []string{"𝄞 One (woodblock): " + per}},
		} {
			got := c.prepare(at(ask.what, ask.nth))
			assert.Equal(t, ask.name, got.Name, "%s %s", kind, ask.what)
			assert.Equal(t, ask.sel, got.SelectionRange.cut(enc, quartet), "%s %s", kind, ask.what)
			assert.Equal(t, ask.last, got.Range.End.Line, "%s %s", kind, ask.what)
			in, out := c.played(got, enc, quartet)
			assert.Equal(t, ask.in, in, "%s %s", kind, ask.what)
			assert.Equal(t, ask.out, out, "%s %s", kind, ask.what)
		}
		var none []hand
		c.call("textDocument/prepareCallHierarchy", at("tempo", 1), &none)
		assert.Empty(t, none)
		// What the client hands back may be nonsense, or gone since.
		whoever := c.prepare(at("cowbell", 1))
		text := strings.Replace(quartet, "player Per", "player Pia", 1)
		c.change(page, 2, obj{"text": text})
		_, out := c.played(whoever, enc, text)
		assert.Empty(t, out)
		whoever.Data = json.RawMessage(`{"piece":7}`)
		c.refused("callHierarchy/incomingCalls", obj{"item": whoever})
		whoever.Data = json.RawMessage(`{"piece":"untitled:gone","player":"Per"}`)
		c.refused("callHierarchy/outgoingCalls", obj{"item": whoever})
	}
}

func TestWhoPlaysAPartOfAnotherFile(t *testing.T) {
	parts := "bars 2\n\npart \"Perc\"\n  woodblock | 1 | 1\n"
	show := "use \"parts.handful\"\nplayer Ida\n  R woodblock with snare-stick as written of \"Perc\"\n"
	c, id := folderWith(t, map[string]string{"parts.handful": parts, "show.handful": show})
	c.open(id("show.handful"), show)
	part := c.prepare(at(id("show.handful"), 2, 46))
	assert.Equal(t, id("parts.handful"), part.URI)
	assert.Equal(t, `"Perc"`, part.SelectionRange.cut(utf8Columns, parts))
	assert.Equal(t, 3, part.Range.End.Line)
	in, _ := c.played(part, utf8Columns, show)
	require.Equal(t, []string{`Ida (woodblock): R woodblock with snare-stick as written of "Perc"`}, in)

	// A text that is in no folder reads no other, and a question in it leads nowhere.
	c.open(string(uri.File("/nowhere/show.handful")), show)
	var none []hand
	c.call("textDocument/prepareCallHierarchy", at(string(uri.File("/nowhere/show.handful")), 2, 46), &none)
	assert.Empty(t, none)
}
