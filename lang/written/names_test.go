package written

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// listed makes a score of one bar with a part of the given name, and in it the
// given instruments: name, sound, key.
func listed(part string, instruments ...[3]string) string {
	var head, notes strings.Builder
	for i, in := range instruments {
		fmt.Fprintf(&head, `<score-instrument id="I%d"><instrument-name>%s</instrument-name>`, i, in[0])
		if in[1] != "" {
			fmt.Fprintf(&head, `<instrument-sound>%s</instrument-sound>`, in[1])
		}
		head.WriteString(`</score-instrument>`)
		fmt.Fprintf(&notes, `<note><unpitched/><duration>1</duration><instrument id="I%d"/></note>`, i)
	}
	for i, in := range instruments {
		if in[2] != "" {
			fmt.Fprintf(&head, `<midi-instrument id="I%d"><midi-unpitched>%s</midi-unpitched></midi-instrument>`, i, in[2])
		}
	}
	if len(instruments) == 0 {
		notes.WriteString(`<note><unpitched/><duration>1</duration></note>`)
	}
	return `<?xml version="1.0"?><score-partwise version="4.0"><part-list><score-part id="P1"><part-name>` + part + `</part-name>` + head.String() +
		`</score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions><time><beats>8</beats><beat-type>4</beat-type></time></attributes>` +
		notes.String() + `</measure></part></score-partwise>`
}

// read is the notation of a score, and all that is said about it.
func read(t *testing.T, score string) (text, said string) {
	t.Helper()
	text, lost, err := Text([]byte(score), Options{})
	require.NoError(t, err)
	for _, l := range lost {
		said += l.String() + "\n"
	}
	return text, said
}

// What is taken among several is said, with what each would mean, and what
// nobody knows is asked about.
func TestNothingIsTakenInSilence(t *testing.T) {
	for name, c := range map[string]struct{ line, says string }{
		"Cymbals":     {"crash-cymbals | 1", `"Cymbals" may be crash-cymbals or suspended-cymbal (a pair struck together`},
		"Susp. Cym.":  {"suspended-cymbal | 1", ""},
		"Woodblocks":  {"woodblock | 1", ""},
		"Gr. Cassa":   {"bass-drum | 1", ""},
		"Kl. Tr.":     {"snare-drum | 1", ""},
		"T.B.":        {"chimes | 1", "tubular bells; or temple blocks"},
		"Timbales":    {"timpani | 1", "in a French part the timpani"},
		"Horn":        {"auto-horn | 1", "or no percussion at all"},
		"Gizmo":       {"gizmo | 1", `nobody here knows an instrument "Gizmo"`},
		"Percussion":  {"percussion | 1", "does not say which instrument"},
		"S.D. / B.D.": {"snare-drum | 1", "snare-drum and bass-drum together"},
	} {
		text, said := read(t, listed(name))
		assert.Contains(t, text, c.line, name)
		if c.says == "" {
			assert.Empty(t, said, name)
		} else {
			assert.Contains(t, said, c.says, name)
		}
	}
}

func TestAHornIsNoMotorHorn(t *testing.T) {
	pitched := strings.ReplaceAll(listed("Horn 1"), "<unpitched/>", "<pitch><step>C</step><octave>4</octave></pitch>")
	_, _, err := Text([]byte(pitched), Options{})
	assert.ErrorContains(t, err, "no percussion part")
}

// In the company of a hi-hat a crash hangs on a stand and the bass drum has a
// pedal; alone they are what they are in a band.
func TestADrumSetChangesWhatACrashIs(t *testing.T) {
	text, said := read(t, listed("Drums", [3]string{"Crash Cymbal", "", "50"}, [3]string{"Bass Drum", "", "37"}, [3]string{"Closed Hi-Hat", "", "43"}))
	assert.Contains(t, text, "suspended-cymbal | 1")
	assert.Contains(t, text, "bass-drum-pedal  | 2")
	assert.Contains(t, said, `"Bass Drum" in the part of a drum set`)
	text, _ = read(t, listed("Percussion", [3]string{"Crash Cymbals", "", "50"}, [3]string{"Bass Drum", "", "37"}))
	assert.Contains(t, text, "crash-cymbals | 1")
	assert.Contains(t, text, "bass-drum     | 2")
}

// A sound id that nothing has falls back to the one above it, and says so.
func TestSoundsFallBackToTheirParents(t *testing.T) {
	for sound, want := range map[string]string{
		"metal.cymbal.crash": "suspended-cymbal", "metal.bells.jingle-bell": "sleigh-bells", "rattle.cog": "ratchet", "drum.snare-drum": "snare-drum",
		"metal.gong.luo": "opera-gong", "metal.gong.kempul": "tuned-gong", "drum.log-drum.african": "log-drum", "pitched-percussion.xylophone.alto": "xylophone",
	} {
		text, said := read(t, listed("Percussion", [3]string{"Perc A", sound, ""}))
		assert.Contains(t, text, want+" | 1", sound)
		if kit.Standard().ReadSound(sound).Sure() == nil {
			assert.Contains(t, said, "the sound is a kind of", sound)
		} else {
			assert.Empty(t, said, sound)
		}
	}
}

// Whatever an instrument is called, the file that comes of it is read, and its
// stroke is there.
func TestNamesThatAreWordsOfTheNotation(t *testing.T) {
	var words []string
	for _, f := range syntax.Forms() {
		words = append(words, f.Word)
	}
	for _, l := range syntax.Limbs() {
		words = append(words, l[0])
	}
	words = append(words, "held", "padded", "clipped", "on stand", "as written", "takes", "holds", "lays", "damps", "turns", "forearm", "with", "at", "is", "for", "7", "|", `"`, "#", "'", "f", "mf", "%", "-")
	for _, word := range words {
		for _, spelt := range []string{word, strings.ToUpper(word), word + " 2"} {
			score := listed("Percussion", [3]string{strings.NewReplacer(`"`, "&quot;", "<", "&lt;").Replace(spelt), "", ""})
			text, _ := read(t, score)
			f := syntax.Parse(text)
			written := 0
			for i, l := range f.Lines {
				assert.Empty(t, l.Problems, "%s: line %d of\n%s", spelt, i+1, text)
				if item, ok := l.Stmt.(*syntax.Item); ok && item.Bars != nil {
					written++
					cue := syntax.ParseLine("R " + item.Name.Text + " as written")
					assert.Empty(t, cue.Problems, "%s cannot be given to a hand", item.Name.Text)
				}
			}
			assert.Equal(t, 1, written, "%s:\n%s", spelt, text)
			r := check.Check("x.handful", f, check.Options{})
			require.Len(t, r.Score.Parts, 1, spelt)
			require.Len(t, r.Score.Parts[0].Lines, 1, "%s:\n%s", spelt, text)
			assert.Len(t, r.Score.Parts[0].Lines[0].Strokes, 1, spelt)
		}
	}
}
