package syntax

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/handful/lang/pitch"
)

// An Aim is which of a thing's bars or drums a stroke is for: the note that it
// is written with, the name of a place in the set, or a place counted from the
// left. What the thing has is not known here.
type Aim struct {
	Pitch pitch.Pitch
	Name  string
	N     int // from 1
	at    shortSpan
	sign  int32 // of its bar list
}

// Span is where it stands.
func (a *Aim) Span() Span { return a.at.span() }

// String is the aim as the notation writes it.
func (a *Aim) String() string {
	switch {
	case !a.Pitch.None():
		return a.Pitch.String()
	case a.Name != "":
		return a.Name
	}
	return strconv.Itoa(a.N)
}

// Aims are what the sign with that number in the cell is for; none where it
// does not say.
func (c *Cell) Aims(sign int) []Aim {
	i := c.first + int32(sign)
	if c.count == 0 || !c.bars.signs[i].Flags.Has(Aimed) {
		return nil
	}
	all := c.bars.aims
	from := int(i) // where each sign before it is for one
	if from >= len(all) || all[from].sign != i || from > 0 && all[from-1].sign == i {
		from, _ = slices.BinarySearchFunc(all, i, func(a Aim, i int32) int { return cmp.Compare(a.sign, i) })
	}
	to := from
	for to < len(all) && all[to].sign == i {
		to++
	}
	return all[from:to:to]
}

// writeAims writes what a stroke is for behind it.
func writeAims(b *strings.Builder, aims []Aim) {
	for i := range aims {
		b.WriteByte(":+"[min(i, 1)])
		b.WriteString(aims[i].String())
	}
}

// sharp says whether a # in a bar list is no comment but raises the letter of a
// note: 1:F#4, 1:C5+F##5. Nothing else in a bar list has a letter behind a
// colon or a plus, so every line that could be read before notes were written
// has its comment where it had it.
func sharp(text string, at int) bool {
	i := at
	if i > 0 && text[i-1] == '#' {
		i--
	}
	return i > 1 && isNoteLetter(text[i-1]) && (text[i-2] == ':' || text[i-2] == '+')
}

// sharps is how long a note letter and its sharps are with which a word begins, as
// in range F#3 C7: a # directly behind a large letter from A to G that has a blank
// before it, and before a digit, is no comment. It is 0 where none is there.
func sharps(text string, at int) int {
	if at > 0 && !isBlank(text[at-1]) || text[at] < 'A' || text[at] > 'G' {
		return 0
	}
	end := at + 1
	for end < len(text) && end < at+3 && text[end] == '#' {
		end++
	}
	if end == at+1 || end == len(text) || !isDigit(text[end]) {
		return 0
	}
	return end - at
}

func isNoteLetter(c byte) bool { return 'A' <= c && c <= 'G' || 'a' <= c && c <= 'g' }

// aims reads what stands behind the colon of a stroke: C5, C5+E5, high, 3.
func (s *barScan) aims(it *Sign) {
	colon := s.at
	s.at++
	it.Flags |= Aimed
	sign := int32(len(s.signs))
	for len(s.bars.aims) > 0 && s.bars.aims[len(s.bars.aims)-1].sign >= sign { // of a sign that was taken back
		s.bars.aims = s.bars.aims[:len(s.bars.aims)-1]
	}
	if s.bars.aims == nil { // room for all that the line may have
		s.bars.aims = make([]Aim, 0, strings.Count(s.text[colon:], ":")+strings.Count(s.text[colon:], "+"))
	}
	first := len(s.bars.aims)
	for {
		from := s.at
		a, ok := s.aim()
		if !ok {
			s.noAim(colon, from)
			break
		}
		a.at, a.sign = s.span(from), sign
		s.bars.aims = append(s.bars.aims, a)
		if s.at >= len(s.text) || s.text[s.at] != '+' {
			break
		}
		s.at++
	}
	if len(s.bars.aims) == first {
		it.Flags &^= Aimed
	}
}

// aim reads one note, name or number.
func (s *barScan) aim() (a Aim, ok bool) {
	text := s.text[s.at:]
	if text == "" {
		return a, false
	}
	if n, size := digits(text); size > 0 {
		s.at += size
		a.N = n
		return a, n > 0
	}
	if size := noteSize(text); size > 0 {
		note := text[:size]
		if note[0] > 'G' {
			note = strings.ToUpper(text[:1]) + text[1:size]
		}
		if a.Pitch, ok = pitch.Parse(note); ok {
			s.at += size
		}
		return a, ok
	}
	size := 0
	for size < len(text) {
		r, n := utf8.DecodeRuneInString(text[size:])
		if r != '-' && (!isLetter(r, n) || 'A' <= r && r <= 'Z') {
			break
		}
		size += n
	}
	a.Name = text[:size]
	s.at += size
	return a, size > 1 && a.Name[0] != '-' && a.Name[size-1] != '-'
}

// noteSize is how much of a text is a letter, its accidentals and an octave, or
// 0 where there is no octave.
func noteSize(text string) int {
	if !isNoteLetter(text[0]) {
		return 0
	}
	_, size := pitch.Accidental(text[1:])
	at := 1 + size
	octave := at
	if strings.HasPrefix(text[at:], "-") {
		at++
	}
	_, size = digits(text[at:])
	if size == 0 {
		return 0
	}
	if at += size; at < octave {
		return 0
	}
	return at
}

// noAim answers what is neither a note nor a drum, from a byte on.
func (s *barScan) noAim(colon, from int) {
	end := s.chunkEnd(from)
	word := s.text[from:end]
	s.at = end
	switch {
	case word == "":
		s.fault(RuleSyntax, colon, end, aimBehindColon)
	case noteSize(word) > 0:
		s.fault(RuleSyntax, from, end, noteNobodyHas, clip(word))
	case isNoteLetter(word[0]) && strings.Trim(word[1:], "b#x♭♯") == "":
		s.fault(RuleSyntax, from, end, noteWithoutOctave, clip(word), strings.ToUpper(word[:1])+word[1:])
	case word[0] == '0':
		s.fault(RuleSyntax, from, end, drumsFromOne)
	default:
		s.fault(RuleSyntax, from, end, neitherNoteNorDrum, clip(word))
	}
}
