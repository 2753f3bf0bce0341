package syntax

import (
	"sort"
	"strings"
	"unicode/utf8"
)

// between reads of a text only what stands between a beginning and an end that an earlier
// text has as well, and is false where that one, or this, is not parted at plain line
// ends into no more lines than there may be.
func (f *File) between(text string, old *File) bool {
	if old == nil || !old.plain || strings.HasPrefix(text, bom) || strings.ContainsAny(text, "\r\x00") || wide(text) != "" || !utf8.ValidString(text) {
		return false
	}
	was := old.Text()
	begin := alikeFrom(was, text)
	end := alikeTo(was[begin:], text[begin:])
	// Lines are the same whose ends are in what is, and those behind a line end that is.
	head := sort.SearchInts(old.Starts, begin+1) - 1
	behind := sort.SearchInts(old.Starts, len(was)-end+1)
	by := len(text) - len(was)
	from, to := old.Starts[head], len(text)
	if behind < len(old.Starts) {
		to = old.Starts[behind] + by - 1
	}
	return f.splice(old, head, behind, by, text[from:to])
}

// splice takes over the lines of an earlier file but for some, in whose place a text stands
// that is longer by so much. It is false where there would be too many.
func (f *File) splice(old *File, head, behind, by int, text string) bool {
	texts := strings.Split(text, "\n")
	tail := len(old.Lines) - behind
	n := head + len(texts) + tail
	if n > MaxLines {
		return false
	}
	f.Lines, f.Starts, f.plain = make([]*Line, n), make([]int, n), true
	copy(f.Lines, old.Lines[:head])
	copy(f.Starts, old.Starts[:head])
	from := old.Starts[head]
	for i, text := range texts {
		f.Starts[head+i] = from
		from += len(text) + 1
	}
	copy(f.Lines[n-tail:], old.Lines[behind:])
	for i, at := range old.Starts[behind:] {
		f.Starts[n-tail+i] = at + by
	}
	read(f.Lines[head:n-tail], texts, old.Lines[head:behind], true, nil)
	return true
}

// Edited is Reparse of the text with something in the place of a stretch, for which the
// text itself is not needed; nil where that may be another one.
func (f *File) Edited(from, to int, added string) *File {
	if !f.plain || from <= 0 || to < from || to > f.Size() || strings.ContainsAny(added, "\r\x00") || !utf8.ValidString(added) {
		return nil
	}
	head, last := sort.SearchInts(f.Starts, from+1)-1, sort.SearchInts(f.Starts, to+1)-1
	begin, end := f.Lines[head].Text[:from-f.Starts[head]], f.Lines[last].Text[to-f.Starts[last]:]
	if !utf8.ValidString(begin) || !utf8.ValidString(end) { // in the middle of a letter
		return nil
	}
	now := &File{}
	if !now.splice(f, head, last+1, len(added)-(to-from), begin+added+end) {
		return nil
	}
	return now
}

// pieceAlike is how much of two texts is compared at a time.
const pieceAlike = 512

// alikeFrom is how many bytes two texts have in common at their beginning.
func alikeFrom(a, b string) int {
	n, least := 0, min(len(a), len(b))
	for n+pieceAlike <= least && a[n:n+pieceAlike] == b[n:n+pieceAlike] {
		n += pieceAlike
	}
	for n < least && a[n] == b[n] {
		n++
	}
	return n
}

// alikeTo is how many they have at their end.
func alikeTo(a, b string) int {
	n, least := 0, min(len(a), len(b))
	for n+pieceAlike <= least && a[len(a)-n-pieceAlike:len(a)-n] == b[len(b)-n-pieceAlike:len(b)-n] {
		n += pieceAlike
	}
	for n < least && a[len(a)-1-n] == b[len(b)-1-n] {
		n++
	}
	return n
}
