package exchange

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
	"example.org/handful/lang/written"
)

// piece is a drawn piece for one player, all of whose strokes the notation and
// the standard can both hold.
func piece(t *rapid.T) string {
	meter := rapid.SampledFrom([]string{"4/4", "3/4", "6/8", "7/8", "2/2"}).Draw(t, "meter")
	counts := int(meter[0] - '0')
	bars := rapid.IntRange(1, 6).Draw(t, "bars")
	var b strings.Builder
	fmt.Fprintf(&b, "meter %s\ntempo %d\nbars %d\n", meter, rapid.IntRange(50, 160).Draw(t, "tempo"), bars)
	if bars > 2 && rapid.Bool().Draw(t, "repeated") {
		fmt.Fprintf(&b, "repeat 1-%d x%d\n", bars-1, rapid.IntRange(2, 4).Draw(t, "times"))
		fmt.Fprintf(&b, "mark A at %d\n", rapid.IntRange(1, bars).Draw(t, "mark"))
	}
	b.WriteString("player Ida\n")
	lines := []string{"R snare-drum with snare-stick", "L triangle clipped with triangle-beater", "RF bass-drum-pedal"}
	for i, line := range lines[:rapid.IntRange(1, 3).Draw(t, "lines")] {
		b.WriteString("  " + line)
		dyn := ""
		for range bars {
			b.WriteString(" |")
			any := false
			for c := 1; c <= counts; c++ {
				for _, f := range []string{"", "t", "l", "&", "a", "+2/5"} {
					if rapid.IntRange(0, 5).Draw(t, "stroke") > 0 || f != "" && rapid.IntRange(0, 2).Draw(t, "rarely") > 0 {
						continue
					}
					if d := rapid.SampledFrom([]string{dyn, "p", "mf", "ff"}).Draw(t, "dynamic"); d != dyn {
						dyn = d
						b.WriteString(" " + d)
					}
					grace := ""
					if i == 0 {
						grace = rapid.SampledFrom([]string{"", "", "", "'", "''"}).Draw(t, "grace")
					}
					mark := rapid.SampledFrom([]string{"", "", ">"}).Draw(t, "accent")
					fmt.Fprintf(&b, " %s%d%s%s", grace, c, f, mark)
					any = true
				}
			}
			if !any {
				b.WriteString(" -")
			}
		}
		b.WriteString("\n")
	}
	return b.String()
}

// thereAndBack sends a piece out to MusicXML and reads it again; every stroke that
// is played must have come. Out come also what was told on the way and the text
// that came back. Where no player has anything to play, there is no score.
func thereAndBack(t *rapid.T, text string) (was *check.Result, is *score.Score, told []string, back string) {
	was = check.Check("was.handful", syntax.Parse(text), check.Options{})
	for _, p := range was.Score.Problems {
		t.Skip(p.Message()) // counts that the meter does not have
	}
	data, told, err := MusicXML(was, MusicXMLOptions{})
	if err != nil {
		t.Fatal(err)
	}
	back, lost, err := written.Text(data, written.Options{})
	if strings.Contains(fmt.Sprint(err), "no percussion part") {
		return was, nil, told, ""
	}
	if err != nil || len(lost) > 0 {
		t.Fatalf("%v %v\n%s\n%s", err, lost, text, data)
	}
	is = score.Bind("is.handful", syntax.Parse(back), nil, score.Options{})
	if a, b := played(was.Score), ofParts(is); a != b {
		t.Fatalf("%s\nwas\n%s\nis\n%s\n%s", text, a, b, back)
	}
	return was, is, told, back
}

// Out to MusicXML and back, a piece keeps every stroke, its place, its length,
// its loudness, and the order in which bars are played.
func TestRoundTripThroughMusicXML(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		text := piece(t)
		was, is, _, back := thereAndBack(t, text)
		if is == nil {
			return
		}
		if a, b := was.Score.Time.Spans(), is.Time.Spans(); fmt.Sprint(a) != fmt.Sprint(b) {
			t.Fatalf("played %v, and then %v\n%s", a, b, back)
		}
	})
}

// played is what a player's cues play, and ofParts what parts have, in the
// same words.
func played(s *score.Score) string {
	var out []string
	for _, p := range s.Players {
		for _, c := range p.Cues {
			for i := range c.Strokes {
				out = append(out, soundWords(c.Item.Inst.ID, &c.Strokes[i]))
			}
		}
	}
	return sorted(out)
}

func ofParts(s *score.Score) string {
	var out []string
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			for i := range l.Strokes {
				out = append(out, soundWords(l.Inst.ID, &l.Strokes[i]))
			}
		}
	}
	return sorted(out)
}

func soundWords(id string, s *score.Stroke) string {
	return fmt.Sprintf("%s %s-%s roll=%t accent=%t grace=%d %s", id, s.At, s.End, s.Has(score.Roll), s.Has(score.Accent), s.Grace, s.Dyn)
}

func sorted(list []string) string {
	for i := range list {
		for k := i + 1; k < len(list); k++ {
			if list[k] < list[i] {
				list[i], list[k] = list[k], list[i]
			}
		}
	}
	return strings.Join(list, "\n")
}

// Rolls over bar lines and stops come back too.
func TestRollsAndStopsComeBack(t *testing.T) {
	text := "meter 4/4\ntempo 90\nbars 5\nplayer Ida\n  R suspended-cymbal with yarn-mallet | p 1~3 | 2~ | ~ | ~2& mf 4 | 2x\n"
	was := check.Check("was.handful", syntax.Parse(text), check.Options{})
	require.Empty(t, was.Score.Problems)
	data, _, err := MusicXML(was, MusicXMLOptions{})
	require.NoError(t, err)
	back, lost, err := written.Text(data, written.Options{})
	require.NoError(t, err)
	assert.Empty(t, lost)
	is := score.Bind("is.handful", syntax.Parse(back), nil, score.Options{})
	assert.Equal(t, played(was.Score), ofParts(is), back)
	assert.Contains(t, back, "| 2x")
}

// Every program that is read, and every instrument that a table names, is one
// of the catalogue's; what has a key of its own is not written otherwise.
func TestTheTablesNameInstrumentsThatThereAre(t *testing.T) {
	for _, p := range written.Programs() {
		for _, id := range append(p.Writes, p.Reads) {
			assert.True(t, id == "" || kit.Standard().Instrument(id) != nil, "program %d: %s", p.Number, id)
		}
	}
	for id := range sounds().near {
		in := kit.Standard().Instrument(id)
		if assert.NotNil(t, in, id) {
			assert.Empty(t, in.MIDI, "%s has a key of its own", id)
			assert.Equal(t, -1, programOf(in), "%s has a program", id)
		}
	}
}

// What has pitch sounds with its own program, and nothing sounds as what it
// could not be taken for.
func TestWhatInstrumentsSoundAs(t *testing.T) {
	for id, want := range map[string]int{"chimes": 14, "crotales": 9, "steel-drum": 114, "handbell": 112, "timpani": 47, "taiko": 116, "xylophone": 13, "marimba": 12} {
		in := kit.Standard().Instrument(id)
		require.NotNil(t, in, id)
		assert.Equal(t, want, programOf(in), id)
	}
	for id, want := range map[string]int{"tam-tam": 52, "tenor-drum": 41, "field-drum": 38, "cajon": 64, "anvil": 56, "triangle": 81} {
		in := kit.Standard().Instrument(id)
		require.NotNil(t, in, id)
		assert.Equal(t, -1, programOf(in), id)
		assert.Equal(t, want, keyOf(in), id)
	}
}
