package written

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// note is a pitched note of so many twelfths of a quarter: "C5", "F#4", "Bb2".
func note(name string, duration int, more ...string) string {
	step, octave, alter := name[:1], name[len(name)-1:], strings.Count(name, "#")-strings.Count(name, "b")
	return fmt.Sprintf(`<note>%%s<pitch><step>%s</step><alter>%d</alter><octave>%s</octave></pitch><duration>%d</duration>%s</note>`, step, alter, octave, duration, strings.Join(more, ""))
}

func one(name string, duration int, more ...string) string {
	return fmt.Sprintf(note(name, duration, more...), "")
}

// with is a note that sounds together with the one before it.
func with(name string, duration int, more ...string) string {
	return fmt.Sprintf(note(name, duration, more...), "<chord/>")
}

// on makes a score of one part in 4/4.
func on(instrument, attributes string, bars ...string) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<score-partwise><part-list><score-part id="P1"><part-name>%s</part-name></score-part></part-list><part id="P1">`, instrument)
	for i, bar := range bars {
		head := ""
		if i == 0 {
			head = `<attributes><divisions>12</divisions><time><beats>4</beats><beat-type>4</beat-type></time>` + attributes + `</attributes>`
		}
		fmt.Fprintf(&b, `<measure number="%d">%s%s</measure>`, i+1, head, bar)
	}
	return b.String() + "</part></score-partwise>"
}

const (
	treble   = `<clef><sign>G</sign><line>2</line></clef>`
	treble8  = `<clef><sign>G</sign><line>2</line><clef-octave-change>1</clef-octave-change></clef>`
	octaveUp = `<transpose><chromatic>0</chromatic><octave-change>1</octave-change></transpose>`
)

// The octaves are those of MusicXML 4.0: a pitch sounds as it says, moved by
// the transposition, and an octave clef is in it already.
func TestNotesComeInAsTheyAreRead(t *testing.T) {
	for what, c := range map[string]struct {
		instrument, attributes string
		bars                   []string
		want, lost             string
	}{
		"notes":                          {"Marimba", treble, []string{one("C5", 12) + one("F#4", 12) + one("Bb3", 24)}, "marimba | 1:C5 2:F#4 3:Bb3", ""},
		"a chord":                        {"Vibraphone", treble, []string{one("G4", 12) + with("C5", 12) + with("E4", 12)}, "vibraphone | 1:E4+G4+C5", ""},
		"one note twice":                 {"Marimba", treble, []string{one("F#4", 12) + with("Gb4", 12)}, "marimba | 1:F#4", "bar 1: a note on the marimba that sounds together"},
		"nothing said of how it sounds":  {"Xylophone", treble, []string{one("C5", 12)}, "xylophone | 1:C5", ""},
		"said to sound an octave higher": {"Xylophone", treble + octaveUp, []string{one("C5", 12)}, "xylophone | 1:C5", ""},
		"said to sound as it stands":     {"Xylophone", treble + `<transpose><chromatic>0</chromatic></transpose>`, []string{one("C6", 12)}, "xylophone | 1:C5", ""},
		"an octave clef":                 {"Xylophone", treble8, []string{one("C6", 12)}, "xylophone | 1:C5", ""},
		"two octaves in semitones":       {"Glockenspiel", treble + `<transpose><chromatic>24</chromatic></transpose>`, []string{one("C5", 12)}, "glockenspiel | 1:C5", ""},
		"another transposition":          {"Marimba", treble + `<transpose><chromatic>-2</chromatic></transpose>`, []string{one("C5", 12)}, "marimba | 1:C5", "other than octaves"},
		"by the staff that it stands on": {"Xylophone", treble + `<transpose number="2"><chromatic>0</chromatic></transpose>`,
			[]string{one("C5", 12) + one("C6", 12, "<staff>2</staff>")}, "xylophone | 1:C5 2:C5", ""},
		"timpani": {"Timpani", `<clef><sign>F</sign><line>4</line></clef>`, []string{one("F2", 24, tremolo3) + one("Bb2", 24)}, "timpani | 1~3:F2 3:Bb2", ""},
		"a chord that rings on in one of its notes": {"Vibraphone", treble, []string{
			one("C4", 48, `<tie type="start"/>`) + with("G4", 48), one("C4", 48, `<tie type="stop"/>`) + with("A4", 48)},
			"vibraphone | 1:C4+G4 | 1:A4", ""},
		"a roll on two bars over the line": {"Marimba", treble, []string{
			one("C4", 48, `<tie type="start"/>`, tremolo3) + with("E4", 48, `<tie type="start"/>`, tremolo3),
			one("C4", 24, `<tie type="stop"/>`, tremolo3) + with("E4", 24, `<tie type="stop"/>`, tremolo3)},
			"marimba | 1~:C4+E4 | ~3", ""},
		"a grace on another note": {"Marimba", treble, []string{
			`<note><grace/><pitch><step>B</step><octave>4</octave></pitch></note>` + one("C5", 12)}, "marimba | '1:C5", "a grace stroke on another note"},
		"no note":          {"Marimba", treble, []string{`<note><pitch><step>H</step><octave>4</octave></pitch><duration>12</duration></note>`}, "marimba | 1", `the pitch "H  4"`},
		"a quarter-tone":   {"Marimba", treble, []string{`<note><pitch><step>A</step><alter>0.5</alter><octave>4</octave></pitch><duration>12</duration></note>`}, "marimba | 1", `the pitch "A 0.5 4"`},
		"on what has none": {"Triangle", treble, []string{one("C5", 12)}, "triangle | 1", "pitches of notes on the triangle"},
	} {
		t.Run(what, func(t *testing.T) {
			w, err := Read([]byte(on(c.instrument, c.attributes, c.bars...)), Options{})
			require.NoError(t, err)
			text := w.notation(false)
			assert.Contains(t, strings.Join(strings.Fields(text), " "), c.want)
			if c.lost == "" {
				assert.Empty(t, w.Lost)
			} else {
				assert.Contains(t, text, c.lost)
			}
		})
	}
}

// A lone letter over notes may be short for a drum, but nobody changes to that in the
// middle of a marimba part. A longer word still says what to change to, and where
// strokes have no notes a letter does too.
func TestALetterOverNotesChangesNothing(t *testing.T) {
	words := func(text string) string {
		return `<direction><direction-type><words>` + text + `</words></direction-type></direction>`
	}
	for _, c := range []struct{ instrument, said, want string }{
		{"Marimba", "(C.)", `marimba | 1:C5 "(C.)" 2:D5`},
		{"Marimba", "C.", `marimba | 1:C5 "C." 2:D5`},
		{"Marimba", "to B.D.", `bass-drum | "to B.D." 2`},
		{"Marimba", "Xyl.", `xylophone | "Xyl." 2:D5`},
		{"Triangle", "C.", `bass-drum | "C." 2`},
	} {
		w, err := Read([]byte(on(c.instrument, treble, one("C5", 12)+words(c.said)+one("D5", 12))), Options{})
		require.NoError(t, err)
		assert.Contains(t, strings.Join(strings.Fields(w.notation(false)), " "), c.want, "%s, %s", c.instrument, c.said)
	}
}

// Drums of a set come in by their names, whatever order the words have.
func TestDrumsOfASetComeInByName(t *testing.T) {
	for called, want := range map[string]string{
		"Bongos, high": "bongos | 1:high", "High Bongo": "bongos | 1:high", "Conga (low)": "congas | 1:low", "Hi-Mid Tom": "tom-toms | 1:middle-high",
		"Temple Blocks, 4": "temple-blocks | 1:4", "Timbales, low": "timpani | 1", "Mid Tom": "tom-toms | 1", "Temple Block 4": "temple-blocks | 1",
		"Low Agogo Bell": "agogo | 1:low", "Snare Drum, high": "snare-drum | 1", "Temple Blocks, 9": "temple-blocks | 1",
	} {
		score := strings.ReplaceAll(on("Percussion", `<clef><sign>percussion</sign></clef>`, `<note><unpitched/><duration>12</duration><instrument id="A"/></note>`),
			"</part-name>", `</part-name><score-instrument id="A"><instrument-name>`+called+`</instrument-name></score-instrument>`)
		w, err := Read([]byte(score), Options{})
		require.NoError(t, err)
		assert.Contains(t, strings.Join(strings.Fields(w.notation(false)), " ")+" ", want+" ", called)
	}
}

// A floor tom lies below the low one of a set that has none on the floor, and
// that is said; it used to come in as the high one.
func TestAFloorTomIsTheLowOne(t *testing.T) {
	for _, called := range []string{"High Floor Tom", "Low Floor Tom", "Floor Tom"} {
		score := strings.ReplaceAll(on("Percussion", `<clef><sign>percussion</sign></clef>`, `<note><unpitched/><duration>12</duration><instrument id="A"/></note>`),
			"</part-name>", `</part-name><score-instrument id="A"><instrument-name>`+called+`</instrument-name></score-instrument>`)
		w, err := Read([]byte(score), Options{})
		require.NoError(t, err)
		assert.Contains(t, strings.Join(strings.Fields(w.notation(false)), " "), "tom-toms | 1:low", called)
		require.Len(t, w.Lost, 1)
		assert.Equal(t, fmt.Sprintf("Percussion: %q: taken as the low one of the tom-toms", called), w.Lost[0].String())
	}
}

// The names beside the keys are those of the General MIDI percussion key map
// (MIDI Association), and say which drum each is.
func TestKeysOfTheDrumMapComeInAsDrums(t *testing.T) {
	for key, want := range map[byte]string{
		50: "tom-toms | f 1:high",               // High Tom
		48: "tom-toms | f 1:middle-high",        // Hi-Mid Tom
		47: "tom-toms | f 1:middle-low",         // Low-Mid Tom
		45: "tom-toms | f 1:low",                // Low Tom
		43: "tom-toms | \"high floor\" f 1:low", // High Floor Tom
		41: "tom-toms | \"floor\" f 1:low",      // Low Floor Tom
		60: "bongos | f 1:high",                 // Hi Bongo
		61: "bongos | f 1:low",                  // Low Bongo
		62: "congas | \"mute\" f 1:high",        // Mute Hi Conga
		63: "congas | f 1:high",                 // Open Hi Conga
		64: "congas | f 1:low",                  // Low Conga
		65: "timbales | f 1:high",               // High Timbale
		66: "timbales | f 1:low",                // Low Timbale
		67: "agogo | f 1:high",                  // High Agogo
		68: "agogo | f 1:low",                   // Low Agogo
		56: "cowbell | f 1 ",                    // Cowbell
	} {
		body := []byte{0, 0x99, key, 80, 0x60, 0x89, key, 0, 0, 0xff, 0x2f, 0}
		w, err := Read(append([]byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk\x00\x00\x00\x0c"), body...), Options{})
		require.NoError(t, err)
		assert.Contains(t, strings.Join(strings.Fields(w.notation(false)), " ")+" ", want, "key %d", key)
		told := map[byte]bool{41: true, 43: true, 62: true}[key]
		assert.Equal(t, told, strings.Contains(fmt.Sprint(w.Lost), "taken as the"), "key %d: %v", key, w.Lost)
	}
}

// The bytes are those of the Standard MIDI File 1.0 specification, and the
// programs those of General MIDI: 47 is timpani, 13 xylophone, from 0.
func TestKeysComeInAsNotes(t *testing.T) {
	track := func(program byte, keys ...byte) []byte {
		body := []byte{0, 0xc0, program}
		for _, k := range keys {
			body = append(body, 0, 0x90, k, 80, 0x60, 0x80, k, 0)
		}
		body = append(body, 0, 0xff, 0x2f, 0)
		file := append([]byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk"), 0, 0, 0, byte(len(body)))
		return append(file, body...)
	}
	for want, data := range map[string][]byte{
		"timpani | 1:F2 2:Bb2":      track(47, 41, 46),
		"xylophone | 1:C5 2:F#5":    track(13, 84, 90), // it sounds an octave higher than written
		"glockenspiel | 1:C5 2:Eb5": track(9, 96, 99),  // two
	} {
		w, err := Read(data, Options{})
		require.NoError(t, err)
		assert.Contains(t, strings.Join(strings.Fields(w.notation(false)), " "), strings.ReplaceAll(want, "| ", "| f "))
	}
}
