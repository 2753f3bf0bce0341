package written

import (
	"encoding/binary"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// strokesOf are the strokes that a text has, bound as any other text is.
func strokesOf(t *testing.T, text string) (n int) {
	t.Helper()
	s := score.Bind("x.handful", syntax.Parse(text), nil, score.Options{})
	require.Empty(t, s.Problems)
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			n += len(l.Strokes)
		}
	}
	return n
}

func lostIn(lost []Loss, bar int, what string) bool {
	return slices.ContainsFunc(lost, func(l Loss) bool { return l.Bar == bar && strings.Contains(l.What, what) })
}

const wideMeter = `<attributes><divisions>12</divisions><time><beats>64</beats><beat-type>4</beat-type></time></attributes>`

// Two thousand bytes of tremolos and signs to repeat do not become hundreds of
// thousands of strokes; what comes behind them does.
func TestTremolosAndSignsToRepeatHaveALimit(t *testing.T) {
	repeat := `<attributes><measure-style><measure-repeat type="start">1</measure-repeat></measure-style></attributes>`
	stop := `<attributes><measure-style><measure-repeat type="stop"/></measure-style></attributes>`
	sixteenths := "<notations><ornaments><tremolo>2</tremolo></ornaments></notations>"
	bars := []string{wideMeter + n("S", 64*12, sixteenths), repeat + n("", 0)[:0]}
	for range 200 {
		bars = append(bars, "")
	}
	bars = append(bars, stop+n("T", 12, sixteenths)+n("T", 12))
	text, lost, err := Text(measures(bars...), Options{})
	require.NoError(t, err)
	played := strokesOf(t, text)
	assert.Greater(t, played, 19_000)
	assert.Less(t, played, 22_000)
	assert.True(t, slices.ContainsFunc(lost, func(l Loss) bool { return l.Bar > 60 && strings.Contains(l.What, "a sign to repeat a bar") }), "%v", lost)
	// What is left of what may come in is enough for the tremolo behind, as counted strokes.
	assert.Contains(t, text, "triangle")
}

// Every one of a bar's strokes that can be read again comes in, whatever the
// length of its lines, and what cannot is counted.
func TestALineThatIsWrittenCanBeRead(t *testing.T) {
	irregular := func(notes int, more string) string { // no two beats alike
		var b strings.Builder
		b.WriteString(strings.Replace(wideMeter, ">12<", ">2310<", 1))
		x := uint32(1)
		for left, k := 64*2310, 0; k < notes && left > 0; k++ {
			x = x*1664525 + 1013904223
			d := min(left, []int{210, 110, 330, 77, 154, 385, 165}[x>>24%7])
			left -= d
			b.WriteString(n("S", d, more))
		}
		return b.String()
	}
	dense := func(after string) string { // a bar that no line has room for
		var b strings.Builder
		b.WriteString(strings.Replace(wideMeter, ">12<", ">770<", 1))
		for left, k := 64*770, 0; left > 0; k++ {
			d := min(left, []int{7, 9, 5, 6, 4, 6, 5}[k*k%7])
			left -= d
			b.WriteString(n("S", d))
		}
		return b.String() + after
	}
	for name, data := range map[string]string{
		"a bar too full for a line":     measures(n("T", 48), dense(""), n("S", 770)),
		"many strokes in every bar":     measures(slices.Repeat([]string{irregular(600, "")}, 3)...),
		"sixteen bars in a section":     measures(irregular(400, ""), irregular(401, ""), irregular(402, ""), irregular(403, ""), irregular(404, ""), irregular(405, ""), irregular(406, ""), irregular(407, ""), irregular(408, ""), irregular(409, ""), irregular(410, ""), irregular(411, ""), irregular(412, ""), irregular(413, ""), irregular(414, ""), irregular(415, "")),
		"words at strokes":              measures(strings.ReplaceAll(irregular(500, ""), "<note>", words(strings.Repeat("so ", 60))+"<note>")),
		"long words":                    measures(words(strings.Repeat("loud ", 1000)) + n("S", 48)),
		"a long name":                   strings.ReplaceAll(measures(n("S", 48)), "Snare Drum", strings.Repeat("Unheard-of ", 9000)),
		"a long title":                  strings.Replace(measures(n("S", 48)), "<part-list>", "<movement-title>"+strings.Repeat("Long ", 50_000)+"</movement-title><part-list>", 1),
		"a bar with a very long number": strings.Replace(measures(n("S", 48), n("S", 48)), `number="2"`, `number="`+strings.Repeat("2", 100_000)+`"`, 1),
	} {
		w, err := Read(data, Options{})
		require.NoError(t, err, name)
		want := 0
		for _, p := range w.Parts {
			for _, l := range p.Lines {
				want += len(l.Strokes)
			}
		}
		text, lost, err := Text(data, Options{})
		require.NoError(t, err, name)
		for line := range strings.Lines(text) {
			assert.LessOrEqual(t, len(line), syntax.MaxLine, name)
		}
		left := 0
		for _, l := range lost {
			var k int
			if fmt.Sscanf(l.What, "%d strokes", &k); k > 0 {
				assert.Positive(t, l.Bar, name)
				left += k
			}
		}
		assert.Equal(t, name == "a bar too full for a line", left > 0, name)
		assert.Equal(t, want, strokesOf(t, text)+left, "%s: %d left out", name, left)
		assert.Equal(t, text, syntax.Formatted(text), name)
	}
}

// What a file says for so long that a line has no room for it is said to be cut.
func TestLongWordsAreCutAndSaid(t *testing.T) {
	text, lost, err := Text(measures(n("S", 48), words(strings.Repeat("loud ", 1000))+n("S", 48)), Options{})
	require.NoError(t, err)
	assert.True(t, lostIn(lost, 2, "what is behind the first 1000 bytes of a text"), "%v", lost)
	assert.Contains(t, text, `note "loud loud`)
}

// A sign that damps everything damps all that rings, however many there are.
func TestEverythingIsDamped(t *testing.T) {
	damp := said("<damp-all/>")
	cymbal := `<score-instrument id="C"><instrument-name>Suspended Cymbal</instrument-name></score-instrument>`
	w, err := Read(strings.Replace(measures(
		n("T", 12)+n("C", 12)+rst(12)+damp+n("C", 12),
		damp+n("T", 12)+damp+n("T", 12)+damp+rst(12)+damp+rst(12)), "</score-part>", cymbal+"</score-part>", 1), Options{})
	require.NoError(t, err)
	got := map[string][]string{}
	for _, l := range w.Parts[0].Lines {
		for _, s := range l.Strokes {
			bar, count := w.grid().Place(s.At)
			kind := "+"
			if s.Flags.has(Stop) {
				kind = "-"
			}
			got[l.Name] = append(got[l.Name], fmt.Sprintf("%s%d.%s", kind, bar, count))
		}
	}
	assert.Equal(t, []string{"+1.1", "-1.4", "+2.1", "-2.2", "+2.2", "-2.3"}, got["triangle"])
	assert.Equal(t, []string{"+1.2", "-1.4", "+1.4", "-2.1"}, got["suspended-cymbal"])
}

// A MIDI file's tempos and meters that there are not are listed, each with its
// bar; a run of strokes is a roll by the tempo that holds on.
func TestTemposAndMetersThatThereAreNotAreListed(t *testing.T) {
	bar := func(events ...byte) []byte { return append(events, 0, 0x99, 38, 90) }
	track := slices.Concat(
		[]byte{0, 0xff, 0x51, 3, 7, 0xa1, 0x20},        // 120
		bar(), bar(0x83, 0x00, 0xff, 0x51, 3, 0, 0, 1), // bar 2: 60 million
		bar(0x83, 0x00, 0xff, 0x58, 4, 200, 2, 24, 8), // bar 3: 200/4
		bar(0x83, 0x00, 0xff, 0x51, 3, 0, 0, 0),       // bar 4: 0 microseconds
		bar(0x83, 0x60, 0xff, 0x58, 4, 3, 2, 24, 8),   // within bar 5
		[]byte{0x83, 0x00, 0x99, 38, 90, 0, 0xff, 0x2f, 0})
	data := append([]byte{'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, 0, 0, 1, 0, 96, 'M', 'T', 'r', 'k', 0, 0, 0, byte(len(track))}, track...)
	text, lost, err := Text(data, Options{})
	require.NoError(t, err)
	assert.True(t, lostIn(lost, 2, "a tempo of 6e+07"), "%v", lost)
	assert.True(t, lostIn(lost, 3, "a meter of 200/4"), "%v", lost)
	assert.True(t, lostIn(lost, 4, "a tempo of 6e+10"), "%v", lost)
	assert.True(t, lostIn(lost, 5, "a change of meter to 3/4 within the bar"), "%v", lost)
	assert.NotContains(t, text, "~")
	assert.Equal(t, 6, strokesOf(t, text))
}

// A hundred thousand bars in forty bytes are a few lines of text.
func TestFewBytesAreNeverALongText(t *testing.T) {
	far := []byte{0, 0xff, 0x51, 3, 0, 0, 1, 0, 0x99, 38, 90}
	for range 6 {
		far = append(far, 0x83, 0xd4, 0x60, 0x99, 38, 90) // 60,000 ticks on
	}
	far = append(far, 0, 0xff, 0x2f, 0)
	data := append([]byte{'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, 0, 0, 1, 0, 1, 'M', 'T', 'r', 'k', 0, 0, 0, byte(len(far))}, far...)
	text, _, err := Text(data, Options{})
	require.NoError(t, err)
	assert.Less(t, len(text), 2000)
	assert.Equal(t, 7, strokesOf(t, text))
}

// A text has no more lines than are read: what would be behind them is listed, part by
// part, from the bar on in which it begins.
func TestATextHasNoMoreLinesThanAreRead(t *testing.T) {
	const bars, tracks, read = 9_000, 2, 40_000
	var track []byte
	for bar := 0; bar < bars; bar += sectionBars {
		for key := byte(35); key < 82; key++ {
			delta := []byte{0}
			if bar > 0 && key == 35 {
				delta = []byte{128 | sectionBars*4>>7, sectionBars * 4 & 127} // a tick a quarter note
			}
			track = append(append(track, delta...), 0x99, key, 80)
		}
	}
	track = append(track, 0, 0xff, 0x2f, 0)
	file := []byte{'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, 1, 0, tracks, 0, 1}
	for range tracks {
		file = append(binary.BigEndian.AppendUint32(append(file, "MTrk"...), uint32(len(track))), track...)
	}
	w, err := opened(string(file), Options{})
	require.NoError(t, err)
	text := strings.Join(w.piecesOf(false, read), "")
	lines := strings.Count(text, "\n")
	assert.LessOrEqual(t, lines, read)
	assert.Greater(t, lines, read-maxTempos-maxLosses-100, "and makes use of those")
	i := slices.IndexFunc(w.Lost, func(l Loss) bool { return strings.Contains(l.What, "more than the 40000 lines") })
	require.GreaterOrEqual(t, i, 0)
	assert.Equal(t, "Track 2", w.Lost[i].Part)
	assert.Contains(t, text, fmt.Sprintf("# not carried over: Track 2, bar %d: 16 bars: the text would", w.Lost[i].Bar))
}
