package lsp

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"go.lsp.dev/protocol"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// Every byte where a character begins has one position in every encoding, and
// that position leads back to it.
func TestPositionsLeadBack(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		text := rapid.StringOfN(rapid.SampledFrom([]rune("ab |é𝄞\n\r\u2028'")), 0, 40, -1).Draw(t, "text")
		for _, enc := range []encoding{utf8Columns, utf16Columns, utf32Columns} {
			x := newIndex(text, enc)
			for at := range text {
				if at > 0 && text[at-1] == '\r' && text[at] == '\n' {
					continue // within a line end there is no position
				}
				p := x.position(at)
				if got := x.offset(p); got != at && !(text[at] == '\r' || text[at] == '\n') {
					t.Fatalf("%q in %v: byte %d is at %v, which is byte %d", text, enc.kind(), at, p, got)
				}
			}
		}
	})
}

// Columns as the protocol's specification counts them: its example is a𐐀b,
// where b is at column 3 in UTF-16.
func TestColumnsOfTheSpecificationsExample(t *testing.T) {
	const text = "a𐐀b"
	b := len("a𐐀")
	assert.Equal(t, protocol.Position{Character: 3}, newIndex(text, utf16Columns).position(b))
	assert.Equal(t, protocol.Position{Character: 5}, newIndex(text, utf8Columns).position(b))
	assert.Equal(t, protocol.Position{Character: 2}, newIndex(text, utf32Columns).position(b))
	assert.Equal(t, len(utf16.Encode([]rune(text[:b]))), utf16Columns.units(text[:b]))
	// In the middle of a character, and behind the line.
	assert.Equal(t, 1, newIndex(text, utf16Columns).offset(protocol.Position{Character: 2}))
	assert.Equal(t, len(text), newIndex(text, utf16Columns).offset(protocol.Position{Character: 99}))
	assert.Equal(t, len(text), newIndex(text, utf16Columns).offset(protocol.Position{Line: 99}))
}

// The edits from one text to another make the other, whatever the two are.
func TestDifferencesLeadFromTextToText(t *testing.T) {
	lines := rapid.SliceOfN(rapid.SampledFrom([]string{"tempo 96", "player Ida", "  R woodblock | 1", "", "# x", "bars 4"}), 0, 8)
	draws.Check(t, func(t *rapid.T) {
		end := rapid.SampledFrom([]string{"", "\n"})
		was := strings.Join(lines.Draw(t, "was"), "\n") + end.Draw(t, "end")
		is := strings.Join(lines.Draw(t, "is"), "\n") + end.Draw(t, "end")
		got, ok := check.Apply(syntax.Parse(was), differenceOf(syntax.Parse(was), is))
		if !ok || got != is {
			t.Fatalf("%q to %q made %q (%t)", was, is, got, ok)
		}
	})
}

// The index of a text after an edit is that of the whole text, whatever its line ends.
func TestAnEditsIndexIsThatOfTheWholeText(t *testing.T) {
	whole, plain := rapid.StringOfN(rapid.SampledFrom([]rune("ab\n\n\r𐐀")), 0, 24, -1), rapid.StringOfN(rapid.SampledFrom([]rune("ab\n\n𐐀")), 0, 24, -1)
	read := 0 // texts that were read as edits of a file
	draws.Check(t, func(t *rapid.T) {
		text := plain
		if rapid.Bool().Draw(t, "whole") {
			text = whole
		}
		is := text.Draw(t, "text")
		x, file := newIndex(is, utf16Columns), syntax.Parse(is)
		for range 4 {
			from := rapid.IntRange(0, len(is)).Draw(t, "from")
			to := rapid.IntRange(from, len(is)).Draw(t, "to")
			if got := x.stretch(from, to); got != is[from:to] {
				t.Fatalf("%q has %q from %d to %d", is, got, from, to)
			}
			added := text.Draw(t, "added")
			was := x
			x, is = x.with(file, from, to, added), is[:from]+added+is[to:]
			if file = x.file; file != nil {
				read++
			}
			fresh := newIndex(is, utf16Columns)
			if !slices.Equal(x.starts, fresh.starts) || x.plain && strings.Contains(is, "\r") || x.size() != len(is) || x.sameText(was) != (is == was.text()) {
				t.Fatalf("%q has lines at %v, not %v", is, fresh.starts, x.starts)
			}
			for n := range fresh.starts {
				if x.line(n) != fresh.line(n) {
					t.Fatalf("line %d of %q is %q", n, is, x.line(n))
				}
			}
			at := rapid.IntRange(0, len(is)).Draw(t, "at")
			if x.position(at) != fresh.position(at) {
				t.Fatalf("%d of %q is at %v, not %v", at, is, x.position(at), fresh.position(at))
			}
			if x.text() != is {
				t.Fatalf("%q is %q", x.text(), is)
			}
		}
	})
	assert.Positive(t, read)
}
