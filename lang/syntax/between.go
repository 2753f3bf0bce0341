package syntax

import (
	"sort"
	"strings"
	"unicode/utf8"
)

// between reads of a text only what stands between a beginning and an end that an earlier
// text has as well, and is false where that one, or this, is not parted at plain line
// ends into no more lines than there may be.
func (f *File) between(old *File) bool {
	if old == nil || old.Refused || len(old.Lines) == 0 || len(old.Problems) > 0 || strings.HasPrefix(old.Text, bom) || strings.HasPrefix(f.Text, bom) ||
		strings.IndexByte(old.Text, '\r') >= 0 || strings.IndexByte(f.Text, '\r') >= 0 || wide(f.Text) != "" || !utf8.ValidString(f.Text) {
		return false
	}
	begin := alikeFrom(old.Text, f.Text)
	end := alikeTo(old.Text[begin:], f.Text[begin:])
	// Lines are the same whose ends are in what is, and those behind a line end that is.
	head := sort.SearchInts(old.Starts, begin+1) - 1
	tail := len(old.Starts) - sort.SearchInts(old.Starts, len(old.Text)-end+1)
	by := len(f.Text) - len(old.Text)
	from, to := old.Starts[head], len(f.Text)
	if tail > 0 {
		to = old.Starts[len(old.Starts)-tail] + by - 1
	}
	texts := strings.Split(f.Text[from:to], "\n")
	n := head + len(texts) + tail
	if n > MaxLines {
		return false
	}
	f.Lines, f.Starts = make([]*Line, n), make([]int, n)
	copy(f.Lines, old.Lines[:head])
	copy(f.Starts, old.Starts[:head])
	for i, text := range texts {
		f.Starts[head+i] = from
		from += len(text) + 1
	}
	behind := len(old.Lines) - tail
	copy(f.Lines[n-tail:], old.Lines[behind:])
	for i, at := range old.Starts[behind:] {
		f.Starts[n-tail+i] = at + by
	}
	read(f.Lines[head:n-tail], texts, old.Lines[head:behind], true, nil)
	return true
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
