package written

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// Sticking without a note, a ring that is stopped before anything rings, and a
// pause behind everything are listed, with the number that their bar has here.
func TestWhatHasNothingToStandOnIsListed(t *testing.T) {
	full := quarters("S", 4)
	left := "<notations><technical><fingering>L</fingering></technical></notations>"
	repeated := `<attributes><measure-style><measure-repeat type="start">1</measure-repeat></measure-style></attributes><forward><duration>48</duration></forward>`
	for what, c := range map[string]struct {
		bars []string
		want string
		said []string
	}{
		"sticking over a rest":        {[]string{full, rst(12) + words("R") + rst(12) + quarters("S", 2)}, "| 1 2 3 4 | 3 4", []string{`Percussion, bar 2, line 1: the sticking "R" where no note stands`}},
		"sticking behind the notes":   {[]string{full, full + words("L")}, "| 1 2 3 4 | %", []string{`bar 2, line 1: the sticking "L" where no note stands`}},
		"sticking twice over rests":   {[]string{words("R") + rst(48), words("R") + rst(48), full}, "| -2 | 1 2 3 4", []string{`bar 1, line 1: the sticking "R" where no note stands (and 1 times more)`}},
		"in a pickup":                 {[]string{`implicit="yes"@` + words("R") + rst(12) + n("S", 12), full, full}, "| 4 | 1 2 3 4 | %", []string{`bar 0, line 1: the sticking "R" where no note stands`}},
		"two hands for one note":      {[]string{words("L") + words("R") + full}, "| 1L 2 3 4", []string{`bar 1, line 1: the sticking "R" at a note that has the other hand already`}},
		"against its own hand":        {[]string{words("R") + n("S", 12, left) + rst(36)}, "| 1L", []string{`the sticking "R" at a note that has the other hand already`}},
		"its own hand in words":       {[]string{words("L") + n("S", 12, left) + rst(36)}, "| 1L", nil},
		"said twice":                  {[]string{words("L") + words("L.") + full}, "| 1L 2 3 4", nil},
		"in a bar that is repeated":   {[]string{words("R") + full, repeated}, "| 1R 2 3 4 | %", nil},
		"damped before anything":      {[]string{words("damp") + full, full}, "| 1 2 3 4 | %", []string{`bar 1, line 1: "damp" where nothing has been struck yet`}},
		"a sign to damp all":          {[]string{rst(24) + said("<damp-all/>") + rst(24), full}, "| - | 1 2 3 4", []string{`bar 1, line 1: "damp-all" where nothing has been struck yet`}},
		"damped, what it has not":     {[]string{full, words("damp triangle") + full}, "| 1 2 3 4 | %", []string{`bar 2, line 1: "damp triangle" in a part that does not have it`}},
		"damped at the very end":      {[]string{full, n("T", 48) + words("damp")}, "| - | 1", []string{`bar 2, line 1: "damp" at the very end`}},
		"damped twice at one place":   {[]string{n("T", 12) + words("damp") + words("étouffez") + rst(36)}, "| 1 2x", nil},
		"damped by name":              {[]string{n("T", 12) + n("S", 12) + words("damp triangle") + rst(24)}, "triangle   | 1 3x", nil},
		"damped: the last that rings": {[]string{n("T", 12) + n("S", 12) + words("damp") + rst(24)}, "triangle   | 1 3x", nil},
		"damped: in more words":       {[]string{n("T", 12) + n("S", 12) + words("damp it all") + rst(24)}, "note \"damp it all\" at 1.3\n\npart \"Percussion\"\n  triangle   | 1 3x", nil},
		"a caesura behind the piece":  {[]string{full, quarters("S", 3) + n("S", 12, "<notations><articulations><caesura/></articulations></notations>")}, "| 1 2 3 4 | %", []string{"bar 2: a caesura behind the last note"}},
	} {
		text, lost, err := Text([]byte(measures(c.bars...)), Options{})
		require.NoError(t, err, what)
		assert.Contains(t, text, c.want, what)
		if assert.Len(t, lost, len(c.said), "%s: %v", what, lost) {
			for i, w := range c.said {
				assert.Contains(t, fmt.Sprint(lost[i]), w, what)
			}
		}
		assert.Empty(t, score.Bind("x.handful", syntax.Parse(text), nil, score.Options{}).Problems, "%s:\n%s", what, text)
	}
}

// A part without notes that nothing says is for percussion is left out, and what
// stands in it is listed; so are dynamics of one for percussion.
func TestWhatStandsInAPartWithoutNotesIsListed(t *testing.T) {
	inside := words("listen here") + said("<dynamics><ff/></dynamics>") + words("R") + words("damp") + rst(48)
	file := func(clef string) string {
		return strings.NewReplacer("</part-list>", `<score-part id="P2"><part-name>Tacet</part-name></score-part></part-list>`,
			"</score-partwise>", `<part id="P2"><measure number="1"><attributes><divisions>12</divisions>`+clef+`</attributes>`+rst(48)+`</measure><measure number="2">`+inside+`</measure></part></score-partwise>`).
			Replace(measures(quarters("S", 4), quarters("S", 4)))
	}
	_, lost, err := Text([]byte(file("")), Options{})
	require.NoError(t, err)
	for _, w := range []string{`"listen here"`, "ff", `"damp"`, `the sticking "R"`} {
		assert.Regexp(t, "Tacet, bar 2(, line 1)?: "+w+" in a part without notes", fmt.Sprint(lost))
	}
	text, lost, err := Text([]byte(file(`<clef><sign>percussion</sign></clef>`)), Options{})
	require.NoError(t, err)
	assert.Contains(t, text, `note "Tacet: listen here" at 2.1`)
	for _, w := range []string{"ff", `"damp"`, `the sticking "R"`} {
		assert.Regexp(t, "Tacet, bar 2(, line 1)?: "+w, fmt.Sprint(lost))
	}
}

// A part that is damped behind each of its many strokes takes time in
// proportion: this one took more than a minute when each stop looked at every stroke.
func TestManyStopsAreRead(t *testing.T) {
	bar := strings.Repeat(n("T", 1)+words("damp")+rst(1), 24)
	bars := make([]string, 2000)
	for i := range bars {
		bars[i] = bar
	}
	w, err := Read([]byte(measures(bars...)), Options{})
	require.NoError(t, err)
	stops := 0
	for _, s := range w.Parts[0].Lines[0].Strokes {
		if s.Flags.has(Stop) {
			stops++
		}
	}
	assert.Equal(t, 24*len(bars), stops)
}

// Of MIDI what is no stroke is in the text or in the list, at the bar in which it comes
// first: words, what is played on other programs, and what changes how it is heard.
func TestOfMIDIEverythingIsAccountedFor(t *testing.T) {
	at := func(delta int, event ...byte) []byte {
		return append([]byte{byte(delta>>7&127 | 128), byte(delta & 127)}, event...)
	}
	meta := func(kind byte, text string) []byte { return append([]byte{0xff, kind, byte(len(text))}, text...) }
	track := slices.Concat(
		at(0, meta(0x02, "(c) nobody")...), at(0, meta(0x03, "Mallets")...), at(0, 0xb0, 7, 100), at(0, 0xc0, 11),
		at(0, 0x90, 60, 80), at(384, 0xb0, 7, 60), at(0, meta(0x01, "with soft sticks")...), at(0, 0x90, 62, 80),
		at(384, 0xc0, 0), at(0, 0x90, 64, 80), at(96, 0x90, 65, 80), at(288, 0xc0, 11), at(0, 0x90, 64, 80),
		at(0, 0xe0, 0, 70), at(96, 0xe0, 0, 64), at(0, 0xa0, 64, 99), at(0, 0xff, 0x2f, 0))
	file := slices.Concat([]byte("MThd\x00\x00\x00\x06\x00\x01\x00\x01\x00\x60MTrk\x00\x00\x00"), []byte{byte(len(track))}, track)
	text, lost, err := Text(file, Options{})
	require.NoError(t, err)
	var list []string
	for _, l := range lost {
		list = append(list, l.String())
	}
	assert.Contains(t, text, `credit "(c) nobody"`)
	assert.Contains(t, text, `note "with soft sticks" at 2.1`)
	assert.Contains(t, text, "vibraphone | f 1:C4 | 1:D4 | - | 1:E4")
	assert.ElementsMatch(t, []string{
		"bar 2: track 1, channel 1: a change of controller 7 (volume)",
		"bar 3: track 1, channel 1: a note of program 1, which is not percussion, 2 times",
		"bar 4: track 1, channel 1: a bend of the pitch, 2 times",
		"bar 4: track 1, channel 1: pressure on a key, by which a cymbal may be choked"}, list)
}

// What a score says of itself stands in front, a tempo that is only about right is said to
// be taken as it stands, and of a trill the note beside the written one is listed.
func TestWhatAScoreSaysOfItselfStays(t *testing.T) {
	file := strings.Replace(measures(said(`<metronome><beat-unit>quarter</beat-unit><per-minute>ca. 96</per-minute></metronome>`)+n("S", 48)), `<part-list>`,
		`<work><work-number>Op. 9</work-number><work-title>Suite</work-title></work><movement-number>2</movement-number><movement-title>Ebb</movement-title>`+
			`<identification><creator type="composer">Nobody</creator><creator type="arranger">Somebody</creator><rights>Free to play</rights></identification><part-list>`, 1)
	text, lost, err := Text([]byte(file), Options{})
	require.NoError(t, err)
	for _, want := range []string{`title "Suite"`, `note "Op. 9"`, `note "2"`, `note "Ebb"`, `credit "Nobody"`, `credit "arranger: Somebody"`, `credit "rights: Free to play"`, "tempo 1/4 = 96"} {
		assert.Contains(t, text, want+"\n")
	}
	require.Len(t, lost, 1)
	assert.Contains(t, lost[0].String(), `a tempo of "ca. 96": written as 96`)
	_, lost, err = Text([]byte(strings.NewReplacer("Snare Drum", "Xylophone", "<unpitched/>", "<pitch><step>C</step><octave>5</octave></pitch>").Replace(
		measures(n("S", 48, "<notations><ornaments><trill-mark/></ornaments></notations>")))), Options{})
	require.NoError(t, err)
	require.Len(t, lost, 1)
	assert.Contains(t, lost[0].String(), "bar 1, line 1: a trill, of which only the written note is rolled")
}
