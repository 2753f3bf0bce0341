package pitch

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The keys of the General MIDI Level 1 specification, and the spellings of
// scientific pitch notation (Young 1939): A4 is key 69, C4 is key 60.
func TestNotesAreTheirKeys(t *testing.T) {
	for text, key := range map[string]int{
		"C4": 60, "A4": 69, "C-1": 0, "G9": 127, "F#4": 66, "Gb4": 66, "Bb2": 46, "B#3": 60, "Cb4": 59, "Fx4": 67, "F##4": 67, "Ebb5": 74, "E♭5": 75, "F♯4": 66, "A0": 21,
	} {
		p, ok := Parse(text)
		assert.True(t, ok, text)
		assert.Equal(t, key, p.Semitone(), text)
	}
}

func TestWhatIsNoNote(t *testing.T) {
	for _, text := range []string{"", "C", "c5", "H4", "C10", "G#9", "Cb-1", "C5 ", "C+5", "C05", "C-2", "Cbbb4", "C#", "5", "high", "C--1", "C-0", "b4"} {
		p, ok := Parse(text)
		assert.False(t, ok, text)
		assert.True(t, p.None(), text)
	}
}

func TestEveryNoteReadsBack(t *testing.T) {
	count := 0
	for octave := -1; octave <= 9; octave++ {
		for _, letter := range []byte(letters) {
			for alter := -2; alter <= 2; alter++ {
				p := Of(letter, alter, octave)
				if p.None() {
					continue
				}
				count++
				back, ok := Parse(p.String())
				assert.True(t, ok)
				assert.Equal(t, p, back)
				if up := p.Octaves(1); !up.None() {
					assert.Equal(t, p.Semitone()+12, up.Semitone())
					assert.Equal(t, p.Step()+7, up.Step())
				}
			}
		}
	}
	assert.Greater(t, count, 350)
	for n := range 128 {
		assert.Equal(t, n, FromSemitone(n).Semitone())
	}
	assert.True(t, FromSemitone(128).None())
	assert.Equal(t, -1, Pitch{}.Semitone())
	assert.Empty(t, Pitch{}.String())
}

func FuzzParse(f *testing.F) {
	f.Add("F#4")
	f.Add("Ebb-1")
	f.Fuzz(func(t *testing.T, text string) {
		p, ok := Parse(text)
		if ok == p.None() {
			t.Fatalf("%q: %v %v", text, p, ok)
		}
		if ok {
			if back, _ := Parse(p.String()); back != p {
				t.Fatalf("%q: %v reads back as %v", text, p, back)
			}
		}
	})
}
