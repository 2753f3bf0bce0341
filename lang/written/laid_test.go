package written

import (
	"encoding/binary"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/syntax"
)

// drawMIDI is a file of percussion: strokes alone and together, rolls, over
// hundreds of bars, in several tracks, with tempos, meters and marks.
func drawMIDI(t *rapid.T) []byte {
	var tracks [][]byte
	keys := []byte{38, 36, 42, 46, 41, 45, 47, 50, 62, 63, 64, 49, 39, 3}
	for range rapid.IntRange(1, 3).Draw(t, "tracks") {
		var b []byte
		add := func(delta int, event ...byte) {
			b = append(b, byte(delta>>14&127|128), byte(delta>>7&127|128), byte(delta&127))
			b = append(b, event...)
		}
		for range rapid.IntRange(1, 60).Draw(t, "events") {
			delta := rapid.SampledFrom([]int{0, 0, 12, 24, 32, 48, 96, 97, 380, 2000, 9000}).Draw(t, "delta")
			key, loud := rapid.SampledFrom(keys).Draw(t, "key"), rapid.ByteRange(1, 127).Draw(t, "velocity")
			switch rapid.IntRange(0, 9).Draw(t, "kind") {
			case 0:
				for range rapid.IntRange(5, 40).Draw(t, "run") {
					add(rapid.SampledFrom([]int{6, 7, 12}).Draw(t, "apart"), 0x99, key, loud)
				}
			case 1:
				add(delta, 0xff, 0x51, 3, 5+loud/16, 0, 0)
			case 2:
				add(delta, 0xff, 0x58, 4, 2+loud%6, 2+loud&1, 24, 8)
			case 3:
				add(delta, 0xff, 0x06, 2, 'A'+loud%20, 'a')
			default:
				add(delta, 0x99, key, loud)
			}
		}
		add(0, 0xff, 0x2f, 0)
		tracks = append(tracks, b)
	}
	out := append([]byte("MThd\x00\x00\x00\x06\x00\x01\x00"), byte(len(tracks)), 0, 96)
	for _, b := range tracks {
		out = binary.BigEndian.AppendUint32(append(out, "MTrk"...), uint32(len(b)))
		out = append(out, b...)
	}
	return out
}

// What is laid bar by bar as it is written out says the same as the work that is
// laid as a whole, and stands as the formatter would have it.
func TestWhatIsLaidMeanwhileIsTheWhole(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		data := drawMIDI(t)
		text, _, err := Text(data, Options{})
		w, readErr := Read(data, Options{})
		if (err == nil) != (readErr == nil) {
			t.Fatalf("%v, %v", err, readErr)
		}
		if err != nil {
			return
		}
		if whole := w.notation(false); whole != text {
			t.Fatalf("bar by bar\n%s\nas a whole\n%s", text, whole)
		}
		f := syntax.Parse(text)
		for _, l := range f.Lines {
			for _, p := range l.Problems {
				t.Fatalf("%s: %s", l.Text, p.Message())
			}
		}
		if laid, _ := syntax.Format(f); laid != text {
			t.Fatalf("laid out otherwise than the formatter does:\n%s\n%s", text, laid)
		}
	})
}
