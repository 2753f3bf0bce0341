package syntax

import (
	"fmt"
	"slices"
	"strings"

	"github.com/alecthomas/participle/v2/lexer"
)

// A Difference is the first place where two texts that should say the same do
// not.
type Difference struct {
	Line          int // of the text before, from 0
	Before, After string
}

func (d *Difference) Error() string {
	switch {
	case d.After == "":
		return fmt.Sprintf("line %d would be lost: %s", d.Line+1, clip(d.Before))
	case d.Before == "":
		return fmt.Sprintf("at line %d something would be added: %s", d.Line+1, clip(d.After))
	}
	return fmt.Sprintf("line %d would say something else: %s, not %s", d.Line+1, clip(d.After), clip(d.Before))
}

// Same is the gate before anything is written that should say what was there:
// formatting, and whatever lays text out anew. It reads both texts word by word,
// without the tree that one was written from, and compares the notation's words
// for what they say, line by line, with every comment. The layout may differ,
// blank lines may, the order of a cue's clauses, and other words for the same
// (RH for R, snare drum for snare-drum). It is nil when nothing else does.
func Same(before, after string) *Difference {
	var f, g File
	a, b := splitLines(before, &f, new(room)), splitLines(after, &g, new(room))
	j := 0
	for i := range a {
		if j < len(b) && sameBars(a[i], b[j]) {
			j++
			continue
		}
		x := saying1(a[i])
		if x == "" {
			continue
		}
		y := ""
		for ; j < len(b) && y == ""; j++ {
			y = saying1(b[j])
		}
		if x != y {
			return &Difference{i, x, y}
		}
	}
	for ; j < len(b); j++ {
		if y := saying1(b[j]); y != "" {
			return &Difference{len(a) - 1, "", y}
		}
	}
	return nil
}

// sameBars says whether two lines with bars plainly say the same: they are
// letter for letter the same but for the blanks between the words before those.
func sameBars(a, b string) bool {
	i, k := strings.IndexByte(a, '|'), strings.IndexByte(b, '|')
	if i < 0 || k < 0 || a[i:] != b[k:] || strings.IndexByte(a[:i], '"') >= 0 || strings.IndexByte(a[:i], '#') >= 0 {
		return false
	}
	next := func(text string) (word, rest string) {
		text = strings.TrimLeft(text, " ")
		n := strings.IndexByte(text, ' ')
		if n < 0 {
			n = len(text)
		}
		return text[:n], text[n:]
	}
	for left, right := a[:i], b[:k]; ; {
		var x, y string
		x, left = next(left)
		y, right = next(right)
		if x != y {
			return false
		}
		if x == "" {
			return true
		}
	}
}

// saying1 is what one line says, in the notation's words.
func saying1(text string) string {
	if text = bare(text); text == "" || len(text) > MaxLine {
		return text
	}
	var b strings.Builder
	r := reading{text: text}
	if clauses := r.clauses(&b); len(clauses) > 0 {
		slices.Sort(clauses)
		for _, c := range clauses {
			b.WriteString(c)
		}
	}
	if r.last.kind == tokBars {
		barsSaid(&b, r.last.text)
	}
	if c := commentStart(text, 0); c < len(text) {
		b.WriteByte('\x00')
		b.WriteString(text[c:])
	}
	return b.String()
}

// clauses writes a line's words up to its bars; those of a limb's line that may
// change places it returns, each with its words.
func (r *reading) clauses(b *strings.Builder) []string {
	var out []string
	for {
		seen := r.seen
		t := r.next()
		if t.kind == lexer.EOF || t.kind == tokBars {
			return out
		}
		said := t.text
		if t.kind == tokString {
			said = Quote(unquote(said))
		} else if r.first == "never" || r.first == "likes" || r.want == wantStock { // commas part a list; so do blanks
			if said = strings.Trim(strings.ReplaceAll(said, ",", " "), " "); said == "" {
				continue
			}
		}
		if r.limb && r.seen != seen && t.text != "at" && t.text != "from" {
			out = append(out, "")
		}
		if n := len(out); n > 0 {
			out[n-1] += " " + said
			continue
		}
		b.WriteByte(' ')
		b.WriteString(said)
	}
}

// barsSaid writes what a bar list says: its signs, or when it is not understood
// its words as they stand.
func barsSaid(b *strings.Builder, text string) {
	bars, problems := scanBars(text, 0, new(room))
	if len(problems) > 0 {
		b.WriteString(strings.Join(strings.Fields(text), " "))
		return
	}
	for i := range bars.Cells {
		b.WriteString("|")
		b.WriteString(bars.Cells[i].String())
	}
}

// Canonical is what a line says in the notation's words, without its comment.
func Canonical(text string) string { return strings.TrimSpace(saying1(text[:commentStart(text, 0)])) }

// otherLines leaves out of two texts the lines that both begin with and those that
// both end with.
func otherLines(a, b string) (restA, restB string) {
	n := 0
	for {
		next := strings.IndexByte(a[n:], '\n') + 1
		if next == 0 || !strings.HasPrefix(b[n:], a[n:n+next]) {
			break
		}
		n += next
	}
	a, b = a[n:], b[n:]
	if strings.HasSuffix(a, "\n") != strings.HasSuffix(b, "\n") {
		return a, b
	}
	for a != "" && b != "" {
		last := strings.LastIndexByte(a[:len(a)-1], '\n') + 1
		if last == 0 || !strings.HasSuffix(b, a[last-1:]) {
			break
		}
		b, a = b[:len(b)-(len(a)-last)], a[:last]
	}
	return a, b
}

// LostComment is the first comment of a text that another text has not, or "".
// It guards whatever changes a text on purpose: what was remarked stays.
func LostComment(before, after string) string {
	before, after = otherLines(before, after)
	has := map[string]int{}
	var f, g File
	for _, text := range splitLines(after, &g, new(room)) {
		if c := commentStart(text, 0); c < len(text) {
			has[bare(text[c:])]++
		}
	}
	for _, text := range splitLines(before, &f, new(room)) {
		c := commentStart(text, 0)
		if c == len(text) {
			continue
		}
		if said := bare(text[c:]); has[said] > 0 {
			has[said]--
		} else {
			return said
		}
	}
	return ""
}
