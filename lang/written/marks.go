package written

import (
	_ "embed"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"example.org/handful/lang/kit"
)

//go:embed tables/marks.csv
var markTable string

// Brackets around a notehead say that the note is a ghost: hardly heard.
const ghostMark = "( )"

// shortMark stands in the table for a stroke that is short.
const shortMark = "."

// markWords are the lines of the table: by kind and name, which word.
var markWords = sync.OnceValue(func() map[[2]string]string {
	out := map[[2]string]string{}
	for line := range strings.Lines(markTable) {
		if cells := strings.Split(strings.TrimSpace(line), ","); len(cells) == 3 && cells[0] != "kind" && !strings.HasPrefix(line, "#") {
			out[[2]string{cells[0], cells[1]}] = cells[2]
		}
	}
	return out
})

// keyMark is the word of a key that an instrument has besides its first, or "".
func keyMark(in *kit.Instrument, key int) string {
	if in == nil || !slices.Contains(in.MIDI, key) || in.MIDI[0] == key {
		return ""
	}
	return markWords()[[2]string{"key", strconv.Itoa(key)}]
}

// MarkedKey is the key of an instrument that words at a stroke ask for, or that
// it is short; not ok if they ask for none.
func MarkedKey(in *kit.Instrument, words []string, short bool) (key int, ok bool) {
	for _, key := range in.MIDI {
		if word := keyMark(in, key); word != "" && (slices.Contains(words, word) || short && word == shortMark) {
			return key, true
		}
	}
	return 0, false
}

// nameMark is the word of a key that a name speaks of: "Open Hi-Hat" has one
// that "Closed Hi-Hat" has not. Numbers tell instruments apart, and no ways to
// play.
func nameMark(in *kit.Instrument, name string) string {
	if in == nil || len(in.MIDI) < 2 || len(in.MemberNames) > 0 { // which of a set is read elsewhere
		return ""
	}
	of := func(name string) []string {
		return strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r == ' ' || r == '-' || r == ',' || r == '(' || r == ')' })
	}
	said, plain := of(name), of(keyName(in.MIDI[0]))
	for _, key := range in.MIDI[1:] {
		for _, word := range of(keyName(key)) {
			if !isNumber(word) && !slices.Contains(plain, word) && slices.Contains(said, word) {
				return keyMark(in, key)
			}
		}
	}
	return ""
}

// A NoteMark is what stands in MusicXML for a word at a stroke.
type NoteMark struct {
	Technical string // an element of its technical signs, or ""
	Head      string // the form of its notehead, or ""
	Brackets  bool   // around its head
	Word      string // or the word itself, as a technical sign without a name
}

// MarkOf is what a word at a stroke says of how it is played; not ok of any
// other words.
func MarkOf(word string) (m NoteMark, ok bool) {
	if word == ghostMark {
		return NoteMark{Brackets: true}, true
	}
	m.Word = word
	for at, w := range markWords() {
		switch {
		case w != word || w == shortMark:
			continue
		case at[0] == "technical":
			return NoteMark{Technical: at[1]}, true
		case at[0] == "head":
			return NoteMark{Head: at[1]}, true
		}
		ok = true
	}
	return m, ok
}

// marksOf are the words of a note's own: of its signs and its head.
func (r *xmlReader) marksOf(p *xmlPart, n *rawNote, line string) []string {
	marks := n.marks
	if mean := p.means[n.instrument]; mean != "" {
		marks = append(marks, mean)
	}
	return append(marks, r.head(p, n, line)...)
}

// mark is the number of a list of words, from 1; 0 is none, also where there are
// more lists than are told apart, which is said.
func (r *xmlReader) mark(p *xmlPart, words []string) uint8 {
	if len(words) == 0 {
		return 0
	}
	i := slices.IndexFunc(r.marks, func(have []string) bool { return slices.Equal(have, words) })
	switch {
	case i >= 0:
	case len(r.marks) == math.MaxUint8:
		r.lose(p, "how it is struck, in more ways than are told apart: "+strings.Join(words[:min(len(words), 3)], " "))
	default:
		i = len(r.marks)
		r.marks = append(r.marks, words)
	}
	return uint8(i + 1)
}
