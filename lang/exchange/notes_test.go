package exchange

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/beat"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// drawn is a piece for one player with notes, chords and drums of sets. Each
// line is a thing of its own, and each stroke says what it strikes or nothing.
func drawn(t *rapid.T) string {
	bars := rapid.IntRange(1, 4).Draw(t, "bars")
	var b strings.Builder
	fmt.Fprintf(&b, "tempo 60\nbars %d\nplayer Ida\n", bars)
	lines := []struct {
		text string
		aims []string
	}{
		{"R xylophone with rubber-mallet", []string{"", ":F3", ":C5", ":F#5", ":Bb6", ":C5+E5", ":Eb4+Bb4", ":C7"}},
		{"L glockenspiel with plastic-mallet", []string{"", ":G3", ":C6", ":Ab4", ":C4+G4"}},
		{"L timpani with timpani-mallet", []string{":D2", ":F2", ":Bb2", ":A3", ""}},
		{"R bongos", []string{"", ":high", ":low", ":high+low"}},
		{"R temple-blocks with rubber-mallet", []string{":low", ":middle", ":high", ":2"}},
		{"L triangle clipped with triangle-beater", []string{""}},
	}
	for _, line := range lines {
		if rapid.IntRange(0, 2).Draw(t, "there") == 0 {
			continue
		}
		b.WriteString("  " + line.text)
		for range bars {
			b.WriteString(" |")
			any := false
			for _, at := range []string{"1", "1&", "2", "2t", "3", "4", "4a"} {
				if rapid.IntRange(0, 2).Draw(t, "stroke") > 0 {
					continue
				}
				any = true
				fmt.Fprintf(&b, " %s%s%s", at, rapid.SampledFrom([]string{"", ">"}).Draw(t, "accent"), rapid.SampledFrom(line.aims).Draw(t, "aim"))
			}
			if !any {
				b.WriteString(" -")
			}
		}
		b.WriteString("\n")
	}
	return b.String()
}

// keysOf are the bars and drums that are struck, as one list of words.
func keysOf(s *score.Struck) string {
	if s == nil {
		return ""
	}
	var out []string
	for _, k := range s.Keys {
		out = append(out, k.String())
	}
	slices.Sort(out)
	return strings.Join(out, "+")
}

func TestNotesAndDrumsComeBack(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		text := drawn(t)
		was := check.Check("was.handful", syntax.Parse(text), check.Options{})
		if len(was.Score.Problems) > 0 {
			t.Fatalf("%v\n%s", was.Score.Problems, text)
		}
		data, _, err := MusicXML(was, MusicXMLOptions{})
		if err != nil {
			t.Fatal(err)
		}
		back, lost, err := written.Text(data, written.Options{})
		if strings.Contains(fmt.Sprint(err), "no percussion part") {
			return
		}
		if err != nil || len(lost) > 0 {
			t.Fatalf("%v %v\n%s\n%s", err, lost, text, data)
		}
		is := score.Bind("is.handful", syntax.Parse(back), nil, score.Options{})
		var a, b []string
		for _, p := range was.Score.Players {
			for _, c := range p.Cues {
				for i := range c.Strokes {
					a = append(a, soundWords(c.Item.Inst.ID, &c.Strokes[i])+" "+keysOf(c.StruckAt(i)))
				}
			}
		}
		for _, p := range is.Parts {
			for _, l := range p.Lines {
				for i := range l.Strokes {
					b = append(b, soundWords(l.Inst.ID, &l.Strokes[i])+" "+keysOf(l.StruckAt(i)))
				}
			}
		}
		if sorted(a) != sorted(b) {
			t.Fatalf("%s\nwas\n%s\nis\n%s\n%s\n%s", text, sorted(a), sorted(b), back, data)
		}
	})
}

const mallets = `tempo 60
player Ida
  R xylophone with rubber-mallet        | 1:C5 2:F#5 3:C5+E5 |
  L glockenspiel with plastic-mallet    | 1:G4 -            |
  L timpani with timpani-mallet | - | 1:F2 3:Bb2 |
  R bongos | - | - | 1:high 2:low 3:high |
`

// Each staff has its clef, and says how it sounds; MusicXML 4.0.
func TestNotesStandOnStaves(t *testing.T) {
	text := strings.ReplaceAll(mallets, "1:G4 -  ", "1:G4   ")
	r := check.Check("t.handful", syntax.Parse(text), check.Options{})
	require.Empty(t, r.Score.Problems)
	data, _, err := MusicXML(r, MusicXMLOptions{})
	require.NoError(t, err)
	valid(t, "staves", data)
	file := string(data)
	for _, want := range []string{
		"<staves>4</staves>", `<clef number="2"><sign>G</sign><line>2</line></clef>`, `<sign>F</sign><line>4</line>`,
		`<transpose number="2"><chromatic>0</chromatic><octave-change>1</octave-change></transpose>`,
		"<step>F</step><alter>1</alter><octave>5</octave>", "Bongos, high", "Bongos, low",
	} {
		assert.Contains(t, file, want)
	}
}

// Notes come back from MIDI as the same bars, by whatever name.
func TestNotesComeBackFromMIDI(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		in := rapid.SampledFrom([]string{"xylophone with rubber-mallet", "glockenspiel with plastic-mallet", "marimba with yarn-mallet", "timpani with timpani-mallet", "vibraphone with cord-mallet"}).Draw(t, "instrument")
		id, _, _ := strings.Cut(in, " ")
		r := kit.Standard().Instrument(id).Range
		var struck, want []string
		for count := 1; count <= 4; count++ {
			low := rapid.IntRange(r.Low.Semitone(), r.High.Semitone()-4).Draw(t, "note")
			notes := []string{pitch.FromSemitone(low).String()}
			if rapid.Bool().Draw(t, "chord") {
				notes = append(notes, pitch.FromSemitone(low+rapid.IntRange(1, 4).Draw(t, "above")).String())
			}
			struck = append(struck, fmt.Sprintf("%d:%s", count, strings.Join(notes, "+")))
			slices.Sort(notes)
			want = append(want, strings.Join(notes, "+"))
		}
		text := fmt.Sprintf("tempo 60\nbars 1\nplayer Ida\n  R+L %s | %s\n", in, strings.Join(struck, " "))
		was := check.Check("was.handful", syntax.Parse(text), check.Options{})
		data, _, err := MIDI(was, MIDIOptions{})
		if err != nil || len(was.Score.Problems) > 0 {
			t.Fatal(err, was.Score.Problems)
		}
		back, _, err := written.Text(data, written.Options{})
		if err != nil {
			t.Fatal(err)
		}
		is := score.Bind("is.handful", syntax.Parse(back), nil, score.Options{})
		got := map[string][]string{} // by place: each hand has a track of its own
		for _, p := range is.Parts {
			for _, l := range p.Lines {
				for i := range l.Strokes {
					for _, k := range l.StruckAt(i).Keys {
						at := l.Strokes[i].At.String()
						got[at] = append(got[at], k.String())
					}
				}
			}
		}
		for count, w := range want {
			at := was.Score.Grid.Start(1).Add(beat.R(int64(count), 4)).String()
			slices.Sort(got[at])
			if g := strings.Join(slices.Compact(got[at]), "+"); g != w { // both hands on one note are two strokes
				t.Fatalf("%s: %s for %s\n%s", at, g, w, back)
			}
		}
	})
}
