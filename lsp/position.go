package lsp

import (
	"sort"
	"strings"
	"unicode/utf8"

	"go.lsp.dev/protocol"
)

// An encoding is how the client counts columns.
type encoding uint8

const (
	utf16Columns encoding = iota
	utf8Columns
	utf32Columns
)

func (e encoding) kind() protocol.PositionEncodingKind {
	return [...]protocol.PositionEncodingKind{protocol.PositionEncodingKindUTF16, protocol.PositionEncodingKindUTF8, protocol.PositionEncodingKindUTF32}[e]
}

// units is how wide a text is.
func (e encoding) units(text string) int {
	switch e {
	case utf8Columns:
		return len(text)
	case utf32Columns:
		return utf8.RuneCountInString(text)
	}
	n := len(text)
	for i := 0; i < len(text); i++ {
		if text[i] >= utf8.RuneSelf {
			n = i
			for _, r := range text[i:] {
				n++
				if r > 0xffff {
					n++
				}
			}
			break
		}
	}
	return n
}

// bytes is how many bytes of a line lie before a column; a column behind the
// line's end is at its end.
func (e encoding) bytes(line string, column int) int {
	if e == utf8Columns {
		column = min(column, len(line))
		for column > 0 && column < len(line) && !utf8.RuneStart(line[column]) {
			column--
		}
		return column
	}
	at, seen := 0, 0
	for at < len(line) && seen < column {
		r, size := utf8.DecodeRuneInString(line[at:])
		seen++
		if e == utf16Columns && r > 0xffff {
			if seen++; seen > column {
				break // in the middle of a surrogate pair
			}
		}
		at += size
	}
	return at
}

// An index finds the lines of a text.
type index struct {
	text   string
	starts []int
	enc    encoding
	plain  bool // no line ends with a carriage return
}

func newIndex(text string, enc encoding) *index {
	starts := make([]int, 1, strings.Count(text, "\n")+1)
	plain := strings.IndexByte(text, '\r') < 0
	for at := 0; at < len(text); {
		var i int
		if plain {
			i = strings.IndexByte(text[at:], '\n')
		} else {
			i = strings.IndexAny(text[at:], "\r\n")
		}
		if i < 0 {
			break
		}
		at += i + 1
		if text[at-1] == '\r' && at < len(text) && text[at] == '\n' {
			at++
		}
		starts = append(starts, at)
	}
	return &index{text, starts, enc, plain}
}

// with is the index of a text in which something stands in the place of a stretch of
// this one.
func (x *index) with(from, to int, added string) *index {
	text := x.text[:from] + added + x.text[to:]
	if !x.plain || strings.IndexByte(added, '\r') >= 0 {
		return newIndex(text, x.enc)
	}
	head, tail := sort.SearchInts(x.starts, from+1), sort.SearchInts(x.starts, to+1)
	starts := make([]int, 0, head+strings.Count(added, "\n")+len(x.starts)-tail)
	starts = append(starts, x.starts[:head]...)
	for i := range len(added) {
		if added[i] == '\n' {
			starts = append(starts, from+i+1)
		}
	}
	for _, at := range x.starts[tail:] {
		starts = append(starts, at+len(added)-(to-from))
	}
	return &index{text, starts, x.enc, true}
}

// line is the text of a line without its end.
func (x *index) line(n int) string {
	return strings.TrimRight(x.text[x.starts[n]:x.end(n)], "\r\n")
}

// end is the byte behind a line, its end included.
func (x *index) end(n int) int {
	if n+1 < len(x.starts) {
		return x.starts[n+1]
	}
	return len(x.text)
}

// offset is the byte of the text at a position. Positions outside the text are
// at its nearest place.
func (x *index) offset(p protocol.Position) int {
	n := int(p.Line)
	if n >= len(x.starts) {
		return len(x.text)
	}
	return x.starts[n] + x.enc.bytes(x.line(n), int(p.Character))
}

// position is where a byte of the text is.
func (x *index) position(offset int) protocol.Position {
	offset = max(0, min(offset, len(x.text)))
	n := sort.SearchInts(x.starts, offset+1) - 1
	return protocol.Position{Line: uint32(n), Character: uint32(x.enc.units(x.text[x.starts[n]:offset]))}
}

func (x *index) span(from, to int) protocol.Range {
	return protocol.Range{Start: x.position(from), End: x.position(to)}
}
