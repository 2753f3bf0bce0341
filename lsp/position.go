package lsp

import (
	"slices"
	"sort"
	"strings"
	"unicode/utf8"

	"go.lsp.dev/protocol"

	"example.org/handful/lang/syntax"
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
	whole  string       // the text, where there is no file
	file   *syntax.File // whose lines are the text's
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
	return &index{whole: text, starts: starts, enc: enc, plain: plain}
}

// text is the whole text.
func (x *index) text() string {
	if x.file != nil {
		return x.file.Text()
	}
	return x.whole
}

// size is how many bytes it has.
func (x *index) size() int {
	if x.file != nil {
		return x.file.Size()
	}
	return len(x.whole)
}

// sameText says whether two texts are the same.
func (x *index) sameText(o *index) bool {
	switch {
	case x == o:
		return true
	case x.size() != o.size():
		return false
	case x.file != nil && o.file != nil:
		return slices.EqualFunc(x.file.Lines, o.file.Lines, func(a, b *syntax.Line) bool { return a == b || a.Text == b.Text })
	}
	return x.text() == o.text()
}

// with is the index of a text in which something stands in the place of a stretch of
// this one. If the file is this text's, that is read from it, and the text need not be
// written out.
func (x *index) with(f *syntax.File, from, to int, added string) *index {
	if f != nil {
		if f = f.Edited(from, to, added); f != nil {
			return &index{file: f, starts: f.Starts, enc: x.enc, plain: true}
		}
	}
	was := x.text()
	text := was[:from] + added + was[to:]
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
	return &index{whole: text, starts: starts, enc: x.enc, plain: true}
}

// line is the text of a line without its end.
func (x *index) line(n int) string {
	if x.file != nil {
		return x.file.Lines[n].Text
	}
	return strings.TrimRight(x.whole[x.starts[n]:x.end(n)], "\r\n")
}

// stretch is what stands between two bytes.
func (x *index) stretch(from, to int) string {
	if x.file == nil {
		return x.whole[from:to]
	}
	n := x.lineAt(from)
	at := from - x.starts[n]
	if l := x.line(n); to-from <= len(l)-at {
		return l[at : at+to-from]
	}
	var b strings.Builder
	for b.WriteString(x.line(n)[at:]); b.Len() < to-from; b.WriteString(x.line(n)) {
		b.WriteByte('\n')
		n++
	}
	return b.String()[:to-from]
}

// lineAt is the line that a byte is in.
func (x *index) lineAt(offset int) int { return sort.SearchInts(x.starts, offset+1) - 1 }

// end is the byte behind a line, its end included.
func (x *index) end(n int) int {
	if n+1 < len(x.starts) {
		return x.starts[n+1]
	}
	return x.size()
}

// offset is the byte of the text at a position. Positions outside the text are
// at its nearest place.
func (x *index) offset(p protocol.Position) int {
	n := int(p.Line)
	if n >= len(x.starts) {
		return x.size()
	}
	return x.starts[n] + x.enc.bytes(x.line(n), int(p.Character))
}

// position is where a byte of the text is.
func (x *index) position(offset int) protocol.Position {
	offset = max(0, min(offset, x.size()))
	n := x.lineAt(offset)
	return protocol.Position{Line: uint32(n), Character: uint32(x.enc.units(x.stretch(x.starts[n], offset)))}
}

func (x *index) span(from, to int) protocol.Range {
	return protocol.Range{Start: x.position(from), End: x.position(to)}
}
