package written

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

func parade(t testing.TB) []byte {
	data, err := os.ReadFile("../../examples/quay-parade.musicxml")
	require.NoError(t, err)
	return data
}

// measures makes a score of one percussion part: a snare drum and a triangle.
func measures(list ...string) string {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0"?><score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Percussion</part-name>` +
		`<score-instrument id="S"><instrument-name>Snare Drum</instrument-name></score-instrument>` +
		`<score-instrument id="T"><instrument-name>Triangle</instrument-name></score-instrument></score-part></part-list><part id="P1">`)
	for i, m := range list {
		head := ""
		if i == 0 {
			head = `<attributes><divisions>12</divisions><time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>percussion</sign></clef></attributes>`
		}
		attrs := fmt.Sprintf(`number="%d"`, i+1)
		if a, rest, ok := strings.Cut(m, "@"); ok {
			attrs, m = attrs+" "+a, rest
		}
		fmt.Fprintf(&b, "<measure %s>%s%s</measure>", attrs, head, m)
	}
	return b.String() + "</part></score-partwise>"
}

// n is a note of so many twelfths of a quarter.
func n(inst string, duration int, more ...string) string {
	return fmt.Sprintf(`<note><unpitched/><duration>%d</duration><instrument id="%s"/>%s</note>`, duration, inst, strings.Join(more, ""))
}

func rst(duration int) string {
	return fmt.Sprintf("<note><rest/><duration>%d</duration></note>", duration)
}

const (
	tremolo3 = `<notations><ornaments><tremolo type="single">3</tremolo></ornaments></notations>`
	tremolo2 = `<notations><ornaments><tremolo type="single">2</tremolo></ornaments></notations>`
	grace    = `<note><grace/><unpitched/><instrument id="S"/></note>`
)

// What a file has, and the line that comes of it.
func TestWhatMusicXMLHasBecomesNotation(t *testing.T) {
	for what, c := range map[string]struct {
		bars []string
		want string
	}{
		"quarters":            {[]string{n("S", 12) + n("S", 12) + rst(12) + n("S", 12)}, "snare-drum | 1 2 4"},
		"a triplet":           {[]string{n("S", 4) + n("S", 4) + n("S", 4)}, "snare-drum | 1 1t 1l"},
		"a flam and a ruff":   {[]string{grace + n("S", 12) + grace + grace + grace + n("S", 12)}, "snare-drum | '1 '''2"},
		"a roll":              {[]string{n("S", 24, tremolo3) + rst(24)}, "snare-drum | 1~3"},
		"a roll over the bar": {[]string{n("S", 48, `<tie type="start"/>`, tremolo3), n("S", 24, `<tie type="stop"/>`, tremolo3)}, "snare-drum | 1~ | ~3"},
		"a counted tremolo":   {[]string{n("S", 12, tremolo2) + rst(36)}, "snare-drum | 1 1e 1& 1a"},
		"a tie is no stroke":  {[]string{n("T", 48, `<tie type="start"/>`), n("T", 48, `<tie type="stop"/>`) + "", n("T", 12)}, "triangle | 1 | - | 1"},
		"an accent":           {[]string{n("S", 12, `<notations><articulations><accent/></articulations></notations>`)}, "snare-drum | 1>"},
		"short, where it rings": {[]string{n("T", 12, `<notations><articulations><staccato/></articulations></notations>`)},
			"triangle | 1."},
		"damped": {[]string{n("T", 24) + `<direction><direction-type><words>damp</words></direction-type></direction>` + rst(24)}, "triangle | 1 3x"},
		"sticking": {[]string{n("S", 12, `<notations><technical><fingering>L</fingering></technical></notations>`)},
			"snare-drum | 1L"},
		"dynamics": {[]string{`<direction><direction-type><dynamics><pp/></dynamics></direction-type></direction>` + n("S", 12) + `<direction><direction-type><wedge type="crescendo"/></direction-type></direction>` + n("S", 12)},
			"snare-drum | pp 1 cresc 2"},
		"words":      {[]string{`<direction><direction-type><words>hard sticks</words></direction-type></direction>` + n("S", 12)}, `snare-drum | "hard sticks" 1`},
		"two voices": {[]string{n("S", 12) + rst(36) + `<backup><duration>48</duration></backup>` + rst(12) + n("S", 12)}, "snare-drum | 1 2"},
		"a chord":    {[]string{n("S", 12) + `<note><chord/><unpitched/><duration>12</duration><instrument id="T"/></note>`}, "triangle   | 1"},
		"a measure repeat": {[]string{n("S", 12) + rst(36), `<attributes><measure-style><measure-repeat type="start">1</measure-repeat></measure-style></attributes><note><rest measure="yes"/><duration>48</duration></note>`, rst(48)},
			"snare-drum | 1 | % x2"},
		"a wavy line": {[]string{n("T", 24, `<notations><ornaments><wavy-line type="start"/><wavy-line type="stop"/></ornaments></notations>`) + rst(24)}, "triangle | 1~3"},
	} {
		text, lost, err := Text([]byte(measures(c.bars...)), Options{})
		if assert.NoError(t, err, what) {
			assert.Contains(t, strings.ReplaceAll(text, "  ", " "), strings.ReplaceAll(c.want, "  ", " "), what)
			assert.Empty(t, lost, what)
		}
	}
}

func TestTheHeadOfAScore(t *testing.T) {
	full := n("S", 48)
	for what, c := range map[string]struct {
		bars []string
		want []string
	}{
		"a pickup":           {[]string{`implicit="yes"@` + n("S", 12), full}, []string{"pickup 1", "bars 1", "| 4 | 1"}},
		"a dotted beat unit": {[]string{`<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>72</per-minute></metronome></direction-type></direction>` + full}, []string{"tempo 3/8 = 72"}},
		"a tempo for sound":  {[]string{`<sound tempo="90"/>` + full}, []string{"tempo 1/4 = 90"}},
		"a meter change":     {[]string{full, `<attributes><time><beats>3</beats><beat-type>4</beat-type></time></attributes>` + n("S", 36)}, []string{"meter 4/4\n", "meter 3/4 from 2"}},
		"a mark":             {[]string{full, `<direction><direction-type><rehearsal>B</rehearsal></direction-type></direction>` + full}, []string{"mark B at 2"}},
		"a numbered mark":    {[]string{full, `<direction><direction-type><rehearsal>12</rehearsal></direction-type></direction>` + full}, []string{"mark M12 at 2"}},
		"a repeat":           {[]string{`<barline location="left"><repeat direction="forward"/></barline>` + full, full + `<barline location="right"><repeat direction="backward" times="3"/></barline>`, full}, []string{"repeat 1-2 x3"}},
		"endings": {[]string{`<barline location="left"><repeat direction="forward"/></barline>` + full,
			`<barline location="left"><ending number="1" type="start"/></barline>` + full + `<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/></barline>`,
			`<barline location="left"><ending number="2" type="start"/></barline>` + full + `<barline location="right"><ending number="2" type="discontinue"/></barline>`},
			[]string{"repeat 1-2", "ending 1 2-2", "ending 2 3-3"}},
		"da capo al fine": {[]string{full, full + `<sound fine="yes"/>`, full + `<sound dacapo="yes"/>`}, []string{"order 1-3 1-2"}},
		"dal segno, coda": {[]string{full, `<sound segno="s"/>` + full, full + `<sound tocoda="c"/>`, full + `<sound dalsegno="s"/>`, `<sound coda="c"/>` + full}, []string{"order 1-4 2-3 5-5"}},
		"a fermata":       {[]string{n("S", 12) + n("S", 36, `<notations><fermata/></notations>`)}, []string{"hold 1.2"}},
		"a multiple rest": {[]string{full, `<attributes><measure-style><multiple-rest>2</multiple-rest></measure-style></attributes><note><rest measure="yes"/><duration>48</duration></note>`, `<note><rest measure="yes"/><duration>48</duration></note>`, full}, []string{"| 1 | -2 | 1"}},
	} {
		text, _, err := Text([]byte(measures(c.bars...)), Options{})
		if assert.NoError(t, err, what) {
			for _, w := range c.want {
				assert.Contains(t, text, w, "%s:\n%s", what, text)
			}
			for _, l := range syntax.Parse(text).Lines {
				assert.Empty(t, l.Problems, "%s: %s", what, l.Text)
			}
		}
	}
}

func TestWhatIsAmbiguousIsAskedOnce(t *testing.T) {
	file := strings.Replace(measures(n("S", 12)+rst(36), n("S", 12)+rst(36)), "Snare Drum", "Cym.", 1)
	text, lost, err := Text([]byte(file), Options{})
	require.NoError(t, err)
	require.Len(t, lost, 1)
	assert.Contains(t, lost[0].What, "--name")
	assert.Contains(t, text, "# not carried over:")
	text, lost, err = Text([]byte(file), Options{Names: map[string]string{"Cym.": "suspended-cymbal"}})
	require.NoError(t, err)
	assert.Empty(t, lost)
	assert.Contains(t, text, "suspended-cymbal | 1 | %")
}

func TestAnInstrumentThatTheCatalogueLacksGetsABlock(t *testing.T) {
	text, _, err := Text([]byte(strings.Replace(measures(n("S", 12)), "Snare Drum", "Fog Signal", 1)), Options{})
	require.NoError(t, err)
	assert.Contains(t, text, "instrument fog-signal\n  called \"Fog Signal\"")
	assert.Contains(t, text, "fog-signal | 1")
}

// Whatever is wrong with a file is said with its place, or it is carried over
// as far as it goes.
func TestBadMusicXML(t *testing.T) {
	deep := strings.Repeat("<a>", 100_000)
	for what, c := range map[string]struct{ file, want string }{
		"nothing":                   {"", "empty"},
		"no score":                  {"<html></html>", "no MusicXML"},
		"timewise":                  {`<score-timewise version="4.0"></score-timewise>`, "no bars"},
		"cut off":                   {measures(n("S", 12))[:500], "line 1"},
		"an entity bomb":            {`<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><score-partwise><work><work-title>&b;</work-title></work></score-partwise>`, "line 1"},
		"deep nesting":              {"<score-partwise><work>" + deep, "line 1"},
		"no parts":                  {`<score-partwise><part-list/></score-partwise>`, "no bars"},
		"another encoding":          {`<?xml version="1.0" encoding="EBCDIC-37"?><score-partwise/>`, "UTF-8"},
		"a part that is none of us": {strings.ReplaceAll(strings.ReplaceAll(strings.ReplaceAll(strings.ReplaceAll(measures(`<note><pitch><step>C</step><octave>4</octave></pitch><duration>48</duration></note>`), "percussion", "G"), "Percussion", "Flute"), "Snare Drum", "Flute"), "Triangle", "Oboe"), "no percussion part"},
	} {
		_, _, err := Text([]byte(c.file), Options{})
		if assert.Error(t, err, what) {
			assert.Contains(t, err.Error(), c.want, what)
		}
	}
	for what, c := range map[string]struct {
		bar  string
		want string
	}{
		"divisions of 0":        {`<attributes><divisions>0</divisions></attributes>` + n("S", 12), "divisions"},
		"a tempo of 0":          {`<sound tempo="0"/>` + n("S", 12), "tempo"},
		"a note without length": {`<note><unpitched/><instrument id="S"/></note>`, "without a duration"},
		"more than the bar":     {n("S", 48) + n("S", 4), "beyond the bar's meter"},
		"a step before the bar": {n("S", 12) + `<backup><duration>500</duration></backup>` + n("S", 12), "step back"},
		"an absurd duration":    {`<note><unpitched/><duration>99999999999999999999</duration><instrument id="S"/></note>`, "duration is no number"},
		"an unknown dynamic":    {`<direction><direction-type><dynamics><other-dynamics>loud</other-dynamics></dynamics></direction-type></direction>` + n("S", 12), "dynamic"},
		"a meter of 0":          {`<attributes><time><beats>0</beats><beat-type>4</beat-type></time></attributes>` + n("S", 12), "meter"},
		"cue notes":             {`<note><cue/><unpitched/><duration>12</duration><instrument id="S"/></note>` + n("S", 12), "cue notes"},
		"a note for no one":     {`<note><unpitched/><duration>12</duration></note>`, "does not say which instrument"},
	} {
		text, lost, err := Text([]byte(measures(c.bar)), Options{})
		if assert.NoError(t, err, what) && assert.NotEmpty(t, lost, what) {
			assert.Contains(t, fmt.Sprint(lost), c.want, what)
			assert.Contains(t, text, "part", what)
		}
	}
}

func TestBadArchives(t *testing.T) {
	pack := func(files map[string]string) []byte {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for name, text := range files {
			w, err := z.Create(name)
			require.NoError(t, err)
			_, err = w.Write([]byte(text))
			require.NoError(t, err)
		}
		require.NoError(t, z.Close())
		return b.Bytes()
	}
	container := func(path string) string {
		return `<container><rootfiles><rootfile full-path="` + path + `"/></rootfiles></container>`
	}
	text, _, err := Text(pack(map[string]string{"META-INF/container.xml": container("score.xml"), "score.xml": measures(n("S", 12))}), Options{})
	require.NoError(t, err)
	assert.Contains(t, text, "snare-drum | 1")
	for what, data := range map[string][]byte{
		"no container":    pack(map[string]string{"score.xml": ""}),
		"a path outside":  pack(map[string]string{"META-INF/container.xml": container("../score.xml")}),
		"an absolute one": pack(map[string]string{"META-INF/container.xml": container("/etc/passwd")}),
		"nothing there":   pack(map[string]string{"META-INF/container.xml": container("score.xml")}),
		"not an archive":  []byte("PK\x03\x04 and nothing else"),
		"a bomb":          pack(map[string]string{"META-INF/container.xml": strings.Repeat(" ", 2<<20)}),
	} {
		_, _, err := Text(data, Options{})
		assert.Error(t, err, what)
	}
}

// The text of a work plays exactly the strokes of the work.
func TestTheTextPlaysWhatTheFileHas(t *testing.T) {
	w, err := Read(parade(t), Options{})
	require.NoError(t, err)
	text := w.notation(false)
	s := score.Bind("parade.handful", syntax.Parse(text), nil, score.Options{})
	assert.Empty(t, s.Problems)
	assert.Equal(t, workStrokes(w), scoreStrokes(s))
	assert.GreaterOrEqual(t, s.Grid.Last(), 150)
}

// workStrokes and scoreStrokes say every stroke in one line of text each.
func workStrokes(w *Work) map[string][]string {
	out := map[string][]string{}
	for _, p := range w.Parts {
		for _, l := range p.Lines {
			for _, s := range l.Strokes {
				out[p.Name+"/"+l.Name] = append(out[p.Name+"/"+l.Name], strokeWords(s.At, s.End, s.Flags.has(Roll), s.Flags.has(Stop), s.Flags.has(Short), s.Flags.has(Accent), s.Grace, s.Hand))
			}
		}
	}
	return out
}

func scoreStrokes(s *score.Score) map[string][]string {
	out := map[string][]string{}
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			for _, st := range l.Strokes {
				out[p.Name+"/"+l.Name] = append(out[p.Name+"/"+l.Name], strokeWords(st.At, st.End, st.Has(score.Roll), st.Has(score.Stop), st.Has(score.Short), st.Has(score.Accent), st.Grace, st.Hand))
			}
		}
	}
	return out
}

func strokeWords(at, end beat.Rat, roll, stop, short, accent bool, grace uint8, hand byte) string {
	return fmt.Sprintf("%s-%s roll=%t stop=%t short=%t accent=%t grace=%d hand=%q", at, end, roll, stop, short, accent, grace, hand)
}

func FuzzMusicXML(f *testing.F) {
	f.Add([]byte(measures(n("S", 12, tremolo3), grace+n("T", 48))))
	f.Add([]byte(`<score-partwise><part-list><score-part id="a"/></part-list><part id="a"><measure/></part></score-partwise>`))
	f.Fuzz(func(t *testing.T, data []byte) { readsSafely(t, data) })
}

func FuzzSMF(f *testing.F) {
	f.Add([]byte("\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk\x00\x00\x00\x0c\x00\x99\x26\x40\x60\x89\x26\x00\x00\xff\x2f\x00"))
	f.Fuzz(func(t *testing.T, data []byte) { readsSafely(t, append([]byte("MThd"), data...)) })
}

// readsSafely reads anything; what comes of it is a text without faults.
func readsSafely(t *testing.T, data []byte) {
	text, _, err := Text(data, Options{})
	if err != nil {
		return
	}
	for _, l := range syntax.Parse(text).Lines {
		for _, p := range l.Problems {
			t.Fatalf("%s: %s\n%s", l.Text, p.Message(), text)
		}
	}
}

// BenchmarkMusicXML reads a file of about 10 MB; the target is 20 MB/s.
func BenchmarkMusicXML(b *testing.B) {
	one := parade(b)
	parts := bytes.Index(one, []byte("<part id"))
	end := bytes.LastIndex(one, []byte("</score-partwise>"))
	data := bytes.Clone(one[:parts])
	for range 32 {
		data = append(data, one[parts:end]...)
	}
	data = append(data, "</score-partwise>"...)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := Read(data, Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(data))/1e6/b.Elapsed().Seconds()*float64(b.N)/20, "of-20MB/s")
}
