// Package pitch holds the notes of pitched percussion as parts write them: a
// letter, its accidentals and an octave, where C4 is middle C.
//
// A pitch keeps its spelling, since a player reads E♭ and D♯ as two notes of
// one bar. [Pitch.Semitone] is the bar. It knows no instrument, and never
// guesses: what is not wholly a note is none.
package pitch

import (
	"strconv"
	"strings"
)

// A Pitch is a spelled note between C-1 and G9, what MIDI can say. The zero
// value is no note.
type Pitch struct {
	step   int8 // 1 is C, 7 is B; 0 is no note
	alter  int8 // semitones that the accidentals raise it by
	octave int8
}

var (
	letters   = "CDEFGAB"
	semitones = [7]int{0, 2, 4, 5, 7, 9, 11}
)

// Of is the note with that letter, raised by that many semitones, in that
// octave. It is no note where MIDI has none, or with more than two accidentals.
func Of(letter byte, alter, octave int) Pitch {
	for i := range letters {
		if letters[i] == letter && -2 <= alter && alter <= 2 && -1 <= octave && octave <= 9 {
			p := Pitch{int8(i + 1), int8(alter), int8(octave)}
			if s := p.Semitone(); 0 <= s && s <= 127 {
				return p
			}
		}
	}
	return Pitch{}
}

// Parse reads a note such as C5, F#4, Bb3, Fx4 or Ebb-1. Letters are large and
// accidentals small; the signs ♯ and ♭ are read too.
func Parse(s string) (Pitch, bool) {
	if s == "" {
		return Pitch{}, false
	}
	alter, size := Accidental(s[1:])
	letter, rest := s[0], s[1+size:]
	if rest == "" {
		return Pitch{}, false
	}
	octave, err := strconv.Atoi(rest)
	if err != nil || rest[0] == '+' || (rest[0] == '0' || rest[0] == '-') && len(rest) > 1 && rest != "-1" {
		return Pitch{}, false
	}
	p := Of(letter, alter, octave)
	return p, !p.None()
}

// Accidental is what the sign does that a text begins with, in semitones, and of
// how many bytes it is.
func Accidental(text string) (alter, size int) {
	if text == "" || '0' <= text[0] && text[0] <= '9' { // the octave, as mostly
		return 0, 0
	}
	for _, a := range accidentals {
		if strings.HasPrefix(text, a.sign) {
			return a.alter, len(a.sign)
		}
	}
	return 0, 0
}

// The first that fits is taken, so longer signs stand first.
var accidentals = []struct {
	sign  string
	alter int
}{{"bb", -2}, {"♭♭", -2}, {"##", 2}, {"♯♯", 2}, {"x", 2}, {"b", -1}, {"♭", -1}, {"#", 1}, {"♯", 1}}

// FromSemitone is the note of that MIDI key as it is usually spelled: C♯ E♭
// F♯ A♭ B♭ and the naturals.
func FromSemitone(n int) Pitch {
	if n < 0 || n > 127 {
		return Pitch{}
	}
	letter := "CCDEEFFGAABB"[n%12]
	alter := [12]int{1: 1, 3: -1, 6: 1, 8: -1, 10: -1}[n%12]
	return Of(letter, alter, n/12-1)
}

// None says that it is no note.
func (p Pitch) None() bool { return p.step == 0 }

// Letter is its name without accidentals, 'A' to 'G'.
func (p Pitch) Letter() byte {
	if p.None() {
		return 0
	}
	return letters[p.step-1]
}

// Alter is how many semitones its accidentals raise it by: -1 for a flat.
func (p Pitch) Alter() int { return int(p.alter) }

// Octave is the octave it is written in; 4 begins at middle C.
func (p Pitch) Octave() int { return int(p.octave) }

// Semitone is its MIDI key: 60 is middle C, and notes spelled apart that are
// one bar have the same.
func (p Pitch) Semitone() int {
	if p.None() {
		return -1
	}
	return 12*(int(p.octave)+1) + semitones[p.step-1] + int(p.alter)
}

// Step counts lines and spaces of a staff from C0 upwards, whatever the
// accidentals.
func (p Pitch) Step() int { return 7*int(p.octave) + int(p.step) - 1 }

// Octaves is the same note so many octaves higher, or no note.
func (p Pitch) Octaves(n int) Pitch {
	if p.None() {
		return p
	}
	return Of(p.Letter(), p.Alter(), p.Octave()+n)
}

func (p Pitch) String() string {
	if p.None() {
		return ""
	}
	return string(p.Letter()) + [5]string{"bb", "b", "", "#", "x"}[p.alter+2] + strconv.Itoa(int(p.octave))
}
