package written

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

func quarters(inst string, count int) string { return strings.Repeat(n(inst, 12), count) }

func said(text string, sound ...string) string {
	return "<direction><direction-type>" + text + "</direction-type>" + strings.Join(sound, "") + "</direction>"
}

func words(text string) string { return said("<words>" + text + "</words>") }

// onStaff is a note that only says where on the staff it stands.
func onStaff(step string, octave int, head string) string {
	if head != "" {
		head = "<notehead>" + head + "</notehead>"
	}
	return fmt.Sprintf("<note><unpitched><display-step>%s</display-step><display-octave>%d</display-octave></unpitched><duration>12</duration>%s</note>", step, octave, head)
}

// Parts as they really come: what stands in the file, the lines that come of
// it, and what is said to be left out or settled.
func TestPartsAsTheyComeIn(t *testing.T) {
	full := quarters("S", 4)
	for what, c := range map[string]struct {
		bars []string
		want []string
		said []string
	}{
		"a pickup": {[]string{`implicit="yes"@` + quarters("S", 1), full, quarters("S", 3)},
			[]string{"pickup 1", `printed "2" at 1`, "from 0", "snare-drum | 4 | 1 2 3 4 | 1 2 3"}, []string{"lasts 3/4"}},
		"a pickup that nothing marks":   {[]string{quarters("S", 1), full, full}, []string{"pickup 1", `printed "1" at 0`, "| 4 | 1 2 3 4 | %"}, nil},
		"a short bar":                   {[]string{full, quarters("S", 3), full}, []string{"meter 3/4 from 2", "meter 4/4 from 3", "| 1 2 3 4 | 1 2 3 | 1 2 3 4"}, []string{"lasts 3/4"}},
		"a long bar":                    {[]string{full, quarters("S", 5), full}, []string{"meter 5/4 from 2", "| 1 2 3 4 5 |"}, []string{"lasts 5/4"}},
		"a bar in two":                  {[]string{full, `implicit="yes"@` + quarters("S", 1), `implicit="yes"@` + quarters("S", 3), full}, []string{"meter 1/4 from 2", "meter 3/4 from 3"}, nil},
		"a last bar without its rests":  {[]string{full, quarters("S", 1)}, []string{"| 1 2 3 4 | 1"}, nil},
		"p and a hairpin":               {[]string{said("<dynamics><p/></dynamics>") + said(`<wedge type="crescendo"/>`) + full}, []string{"| p cresc 1 2 3 4"}, nil},
		"a hairpin and p":               {[]string{said(`<wedge type="crescendo"/>`) + said("<dynamics><p/></dynamics>") + full}, []string{"| p cresc 1 2 3 4"}, nil},
		"a hairpin that leads to f":     {[]string{said(`<wedge type="crescendo"/>`) + full, said("<dynamics><f/></dynamics>") + full}, []string{"| cresc 1 2 3 4 | f 1 2 3 4"}, nil},
		"sfz, and then p":               {[]string{said("<dynamics><sfz/></dynamics>") + said("<dynamics><p/></dynamics>") + full}, []string{"| sfz 1 p 2 3 4"}, nil},
		"words over a rest":             {[]string{full, words("soft mallets") + rst(48), full}, []string{`note "soft mallets" at 2.1`, "| 1 2 3 4 | - | 1 2 3 4"}, nil},
		"words at the end":              {[]string{full + words("attacca")}, []string{`note "attacca"`}, nil},
		"da capo in words":              {[]string{full + words("Fine"), full, full + words("D.C. al Fine")}, []string{"order 1-3 1-1"}, nil},
		"dal segno in words":            {[]string{full, said("<segno/>") + full, full + words("Dal Segno")}, []string{"order 1-3 2-3"}, nil},
		"two coda signs":                {[]string{full, full + said("<coda/>"), full + words("D.C. al Coda"), said("<coda/>") + full}, []string{"order 1-3 1-2 4-4"}, nil},
		"a sign to nowhere":             {[]string{full, full + words("D.S.")}, []string{"order 1-2 1-2"}, []string{"stands nowhere"}},
		"a segno and no way back":       {[]string{said("<segno/>") + full, full}, nil, []string{"nothing goes back"}},
		"sticking in words":             {[]string{words("R") + n("S", 12) + words("L.H.") + n("S", 12) + rst(24)}, []string{"| 1R 2L"}, nil},
		"sticking in lyrics":            {[]string{n("S", 12, "<lyric><text>R</text></lyric>") + n("S", 12, "<lyric><text>l</text></lyric>") + rst(24)}, []string{"| 1R 2L"}, nil},
		"lyrics that are words":         {[]string{n("S", 12, "<lyric><text>R</text></lyric>") + n("S", 12, "<lyric><text>oh</text></lyric>") + rst(24)}, []string{"| 1 2"}, []string{"lyrics"}},
		"a finger":                      {[]string{n("S", 12, "<notations><technical><fingering>3</fingering></technical></notations>") + rst(36)}, []string{"| 1"}, []string{"fingering 3"}},
		"beat repeats, sticking":        {[]string{words("R") + n("S", 6) + words("L") + n("S", 6) + `<attributes><measure-style><beat-repeat type="start" slashes="1"/></measure-style></attributes><forward><duration>36</duration></forward>`, full}, []string{"| 1R 1&L 2R 2&L 3R 3&L 4R 4&L | 1 2 3 4"}, nil},
		"beat repeats":                  {[]string{strings.Repeat(n("S", 3), 4) + `<attributes><measure-style><beat-repeat type="start" slashes="1"/></measure-style></attributes><forward><duration>36</duration></forward>`, full}, []string{"| 1 1e 1& 1a 2 2e 2& 2a 3 3e 3& 3a 4 4e 4& 4a | 1 2 3 4"}, nil},
		"slashes":                       {[]string{`<attributes><measure-style><slash type="start"/></measure-style></attributes><forward><duration>48</duration></forward>`, full}, []string{"| - | 1 2 3 4"}, []string{"left to the player"}},
		"a beater as a pictogram":       {[]string{said("<percussion><beater>medium yarn</beater></percussion>") + full}, []string{`"medium yarn" 1 2 3 4`}, nil},
		"a sound that changes":          {[]string{full, `<sound><instrument-change id="S"><instrument-sound>wood.wood-block</instrument-sound></instrument-change></sound>` + full}, []string{"woodblock  | - | 1 2 3 4"}, nil},
		"a roll that is released":       {[]string{n("S", 48, `<tie type="start"/>`, tremolo3), n("S", 12, `<tie type="stop"/>`) + rst(36), full}, []string{"| 1~ | 1 | 1 2 3 4"}, nil},
		"a grace on another drum":       {[]string{`<note><grace/><unpitched/><instrument id="T"/></note>` + full}, []string{"| 1 2 3 4"}, []string{"another instrument"}},
		"a grace behind the last note":  {[]string{full + grace}, []string{"| 1 2 3 4"}, []string{"no note behind"}},
		"noteheads":                     {[]string{n("S", 12, "<notehead>x</notehead>") + n("S", 12, `<notehead parentheses="yes">normal</notehead>`) + rst(24)}, []string{`| "x head" 1 "( )" 2`}, nil},
		"back to no Fine":               {[]string{full, full + words("D.C. al Fine")}, []string{"order 1-2 1-2"}, []string{"a Fine that stands nowhere"}},
		"a tempo at an offset":          {[]string{"<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>90</per-minute></metronome></direction-type><offset sound=\"yes\">24</offset><sound tempo=\"90\"/></direction>" + full}, []string{"tempo 1/4 = 90 from 1.3"}, nil},
		"a tempo drawn elsewhere":       {[]string{"<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>90</per-minute></metronome></direction-type><offset>24</offset><sound tempo=\"90\"/></direction>" + full}, []string{"tempo 1/4 = 90\n"}, nil},
		"a caesura":                     {[]string{quarters("S", 3) + n("S", 12, "<notations><articulations><caesura/></articulations></notations>"), full}, []string{"break 2.1"}, nil},
		"signs that the notation lacks": {[]string{n("S", 12, "<notations><articulations><tenuto/></articulations><slur type=\"start\"/><technical><stopped/></technical></notations>") + rst(36)}, []string{`| "+" 1`}, []string{"tenuto", "sign slur"}},
		"a tremolo without end":         {[]string{`<note><unpitched/><duration>900000</duration><instrument id="S"/>` + tremolo2 + `</note>`}, nil, []string{"the rest of them", "beyond the bar"}},
	} {
		text, lost, err := Text([]byte(measures(c.bars...)), Options{})
		if !assert.NoError(t, err, what) {
			continue
		}
		for _, w := range c.want {
			assert.Contains(t, text, w, what)
		}
		if assert.Len(t, lost, len(c.said), "%s: %v", what, lost) {
			for _, w := range c.said {
				assert.Contains(t, fmt.Sprint(lost), w, what)
			}
		}
		assert.Empty(t, score.Bind("x.handful", syntax.Parse(text), nil, score.Options{}).Problems, "%s:\n%s", what, text)
	}
}

// set makes a part of a drum set whose notes do not say what they are for.
func set(notes string) string {
	return `<score-partwise><part-list><score-part id="P"><part-name>Drum Set</part-name></score-part></part-list><part id="P"><measure number="1">` +
		`<attributes><divisions>12</divisions><clef><sign>percussion</sign></clef></attributes>` + notes + `</measure></part></score-partwise>`
}

// A drum set's notes that only stand on a staff are told apart by where, and
// with which head; and that is said.
func TestADrumSetIsReadByItsStaff(t *testing.T) {
	text, lost, err := Text([]byte(set(onStaff("F", 4, "")+onStaff("C", 5, "")+onStaff("G", 5, "x")+onStaff("C", 5, "x"))), Options{})
	require.NoError(t, err)
	for _, w := range []string{"bass-drum-pedal | 1", "snare-drum      | 2", "hi-hat          | 3", "snare-rim-click | 4"} {
		assert.Contains(t, text, w)
	}
	assert.Len(t, lost, 4)
	text, lost, err = Text([]byte(set(onStaff("C", 3, "")+rst(36))), Options{})
	require.NoError(t, err)
	assert.Contains(t, fmt.Sprint(lost), "C3")
	assert.Contains(t, text, "drum-set | 1")
	for place, id := range staffPlaces() {
		assert.NotNil(t, (Options{}).catalogue().Instrument(id), place)
	}
}

// Words that name an instrument change what a part of one instrument plays.
func TestWordsChangeTheInstrument(t *testing.T) {
	file := strings.NewReplacer(`<score-instrument id="T"><instrument-name>Triangle</instrument-name></score-instrument>`, "").Replace(measures(quarters("S", 4), words("to Triangle")+quarters("S", 4), words("W.B.")+quarters("S", 4)))
	text, lost, err := Text([]byte(file), Options{})
	require.NoError(t, err)
	assert.Contains(t, text, "snare-drum | 1 2 3 4")
	assert.Contains(t, text, `triangle   | - | "to Triangle" 1 2 3 4`)
	assert.Contains(t, text, `woodblock  | -2 | "W.B." 1 2 3 4`)
	assert.Len(t, lost, 2, lost)
}

// Tempos, marks and pauses that stand only in a later part are kept; what two parts
// say alike is kept once.
func TestWhatOnlyALaterPartSays(t *testing.T) {
	tempo := `<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>%d</per-minute></metronome></direction-type></direction>`
	hold := "<notations><fermata/></notations>"
	one := measures(fmt.Sprintf(tempo, 90)+quarters("S", 3)+n("S", 12, hold), quarters("S", 4), quarters("S", 4))
	two := measures(fmt.Sprintf(tempo, 90)+n("S", 48, hold), fmt.Sprintf(tempo, 60)+said("<rehearsal>B</rehearsal>")+quarters("S", 4),
		quarters("S", 1)+n("S", 12, hold)+n("S", 12, "<notations><articulations><caesura/></articulations></notations>")+n("S", 12, hold))
	i := strings.Index(two, "<part id")
	file := strings.Replace(one, "</score-partwise>", strings.Replace(two[i:], `id="P1"`, `id="P2"`, 1), 1)
	file = strings.Replace(file, "</part-list>", `<score-part id="P2"><part-name>Triangle</part-name></score-part></part-list>`, 1)
	text, lost, err := Text([]byte(file), Options{})
	require.NoError(t, err)
	assert.Contains(t, text, "tempo 1/4 = 90\ntempo 1/4 = 60 from 2\n")
	assert.Contains(t, text, "mark B at 2")
	assert.Contains(t, text, "hold 1.4\nhold 3.2\nhold 3.4\nbreak 3.4\n", "holds and breaks of the first part that has some in the bar")
	assert.Empty(t, lost)
}

// The same score in any encoding that its head names, or that its first bytes
// show, and bar by bar as well as part by part, is the same text.
func TestEncodingsAndTimewise(t *testing.T) {
	score := `<score-partwise><movement-title>Étude</movement-title>` + strings.TrimPrefix(measures(quarters("S", 4), quarters("T", 4)), `<?xml version="1.0"?><score-partwise version="4.0">`)
	want, _, err := Text([]byte(score), Options{})
	require.NoError(t, err)
	require.Contains(t, want, "Étude")
	wide := func(order binary.AppendByteOrder, mark bool, text string) []byte {
		var out []byte
		if mark {
			out = order.AppendUint16(out, 0xfeff)
		}
		for _, u := range utf16.Encode([]rune(text)) {
			out = order.AppendUint16(out, u)
		}
		return out
	}
	latin := func(text string) []byte {
		var out []byte
		for _, r := range text {
			out = append(out, byte(r))
		}
		return out
	}
	body := strings.TrimSuffix(strings.Split(score, `<part id="P1">`)[1], "</part></score-partwise>")
	head := strings.Replace(strings.Split(score, `<part id="P1">`)[0], "partwise", "timewise", 1)
	timewise := head
	for _, m := range strings.SplitAfter(body, "</measure>") {
		if open, inside, ok := strings.Cut(m, ">"); ok {
			timewise += open + `><part id="P1">` + strings.Replace(inside, "</measure>", "</part></measure>", 1)
		}
	}
	for what, data := range map[string][]byte{
		"UTF-16, little end first":         wide(binary.LittleEndian, true, `<?xml version="1.0" encoding="UTF-16"?>`+score),
		"UTF-16, big end first":            wide(binary.BigEndian, true, `<?xml version="1.0" encoding="UTF-16"?>`+score),
		"UTF-16 without a mark":            wide(binary.LittleEndian, false, `<?xml version="1.0" encoding="UTF-16LE"?>`+score),
		"UTF-16BE without a mark":          wide(binary.BigEndian, false, `<?xml version="1.0" encoding="UTF-16BE"?>`+score),
		"UTF-8 with a mark":                []byte("\ufeff" + score),
		"Latin-1":                          latin(`<?xml version="1.0" encoding="ISO-8859-1"?>` + score),
		"windows-1252":                     latin(`<?xml version="1.0" encoding="windows-1252"?>` + score),
		"bar by bar":                       []byte(timewise + "</score-timewise>"),
		"bar by bar, in UTF-16":            wide(binary.LittleEndian, true, timewise+"</score-timewise>"),
		"bar by bar, in Latin-1, no names": latin(`<?xml version="1.0" encoding="ISO-8859-1"?>` + timewise + "</score-timewise>"),
	} {
		got, _, err := Text(data, Options{})
		if assert.NoError(t, err, what) {
			assert.Equal(t, want, got, what)
		}
	}
}

// A pickup of half a count, and the ways back of three endings, in the order in
// which the standard has them on a bar line.
func TestPickupsAndEndingsAsTheyCome(t *testing.T) {
	text, lost, err := Text([]byte(measures(n("S", 6), n("S", 48))), Options{})
	require.NoError(t, err)
	assert.Empty(t, lost)
	assert.Contains(t, text, "pickup 1/2\n")
	assert.Contains(t, text, "snare-drum | 4& | 1")
	full := n("S", 48)
	ending := func(number, kind, more string) string {
		side := map[string]string{"start": "left"}[kind]
		return `<barline location="` + cmp.Or(side, "right") + `"><ending number="` + number + `" type="` + kind + `"/>` + more + `</barline>`
	}
	back := `<repeat direction="backward"/>`
	text, lost, err = Text([]byte(measures(full, ending("1", "start", "")+full+ending("1", "stop", back), ending("2", "start", "")+full+ending("2", "stop", back),
		ending("3", "start", "")+full+ending("3", "discontinue", ""), full, full+`<barline location="right">`+back+`</barline>`, full)), Options{})
	require.NoError(t, err)
	assert.Empty(t, lost)
	assert.Contains(t, text, "repeat 1-3 x3\nrepeat 5-6\nending 1 2-2\nending 2 3-3\nending 3 4-4\n", "and a repeat without a beginning goes back behind the last ending")
}

// What damps everything stops each thing that rings, and nothing that is dry or
// is stopped already.
func TestAllThatRingsIsDamped(t *testing.T) {
	two := func(sign string) string {
		head := `<?xml version="1.0"?><score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Percussion</part-name>`
		for _, in := range []string{"Triangle", "Suspended Cymbal", "Snare Drum"} {
			head += `<score-instrument id="` + in[:1] + in[1:2] + `"><instrument-name>` + in + `</instrument-name></score-instrument>`
		}
		return head + `</score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>12</divisions></attributes>` +
			n("Tr", 12) + n("Su", 12) + n("Sn", 12) + said(sign) + n("Sn", 12) + said(sign) + `</measure><measure number="2">` + said(sign) + n("Tr", 12) + rst(24) + said(sign) + rst(12) + `</measure></part></score-partwise>`
	}
	for _, sign := range []string{"<damp-all/>", "<words>damp all</words>", "<words>Étouffez tout</words>"} {
		text, _, err := Text([]byte(two(sign)), Options{})
		require.NoError(t, err)
		assert.Contains(t, text, "triangle         | 1 4x | %\n  suspended-cymbal | 2 4x\n  snare-drum       | 3 4\n", sign)
	}
}

// Over a note that rings "choke" means that note; elsewhere what rings by then. What
// else the words say stays, and "muffled" is no choke.
func TestWordsThatChoke(t *testing.T) {
	text, lost, err := Text([]byte(measures(
		words("choke")+n("T", 12)+n("S", 12)+words("Secco")+n("T", 12)+words("choke quickly")+n("S", 12),
		words("muffled")+n("S", 12)+n("T", 12)+n("S", 12)+words("damp with the left")+rst(12),
		n("T", 12)+n("S", 12)+words("choke")+n("S", 12)+rst(12),
		n("T", 12)+words("choke.")+n("T", 12)+words("damp triangle")+n("S", 12)+rst(12))), Options{})
	require.NoError(t, err)
	assert.Empty(t, lost)
	assert.Contains(t, text, `note "damp with the left" at 2.4`)
	assert.Contains(t, text, `triangle   | 1. 3. 4x            | 2 4x          | 1 3x | 1 2. 3x`)
	assert.Contains(t, text, `snare-drum | 2 "choke quickly" 4 | "muffled" 1 3 |`)
}

// A tie that begins nowhere is said; one into a second ending begins where the
// one into the first did.
func TestTiesThatBeginNowhere(t *testing.T) {
	start, stop := `<tie type="start"/>`, `<tie type="stop"/>`
	text, lost, err := Text([]byte(measures(n("T", 24, start)+n("T", 24, stop), n("T", 48, stop))), Options{})
	require.NoError(t, err)
	require.Len(t, lost, 1)
	assert.Contains(t, lost[0].String(), "bar 2, line 1: a tie that begins nowhere")
	assert.Contains(t, text, "triangle | 1 | %\n")
	ending := func(number, kind, side string) string {
		return `<barline location="` + side + `"><ending number="` + number + `" type="` + kind + `"/>` + map[bool]string{true: `<repeat direction="backward"/>`}[number == "1" && kind == "stop"] + `</barline>`
	}
	text, lost, err = Text([]byte(measures(n("T", 48, start), ending("1", "start", "left")+n("T", 48, stop)+ending("1", "stop", "right"), ending("2", "start", "left")+n("T", 48, stop)+ending("2", "discontinue", "right"))), Options{})
	require.NoError(t, err)
	assert.Empty(t, lost)
	assert.Contains(t, text, "triangle | 1\n")
}

// A roll that is cut short by a stroke on the same drum, and the end of a
// hairpin that has no dynamic, are said.
func TestWhatEndsEarlyOrLateIsSaid(t *testing.T) {
	_, lost, err := Text([]byte(measures(n("S", 48, tremolo3)+`<backup><duration>24</duration></backup>`+n("S", 24))), Options{})
	require.NoError(t, err)
	require.Len(t, lost, 1)
	assert.Contains(t, lost[0].String(), "bar 1: a roll on the snare-drum that goes on under another stroke")
	wedge := func(kind string) string { return said(`<wedge type="` + kind + `"/>`) }
	_, lost, err = Text([]byte(measures(wedge("crescendo")+quarters("S", 2)+wedge("stop")+quarters("S", 2))), Options{})
	require.NoError(t, err)
	require.Len(t, lost, 1)
	assert.Contains(t, lost[0].String(), "bar 1: the end of a hairpin, where no dynamic stands")
	for _, bars := range []string{wedge("crescendo") + quarters("S", 3) + wedge("stop") + n("S", 12), wedge("crescendo") + quarters("S", 2) + wedge("stop") + said("<dynamics><f/></dynamics>") + quarters("S", 2)} {
		_, lost, err = Text([]byte(measures(bars)), Options{})
		require.NoError(t, err)
		assert.Empty(t, lost)
	}
}

// However many ways a hostile file strikes its notes in, each is in the text or in
// the list.
func TestMoreWaysToStrikeThanAreToldApart(t *testing.T) {
	var bars []string
	for k := range 65 {
		bar := ""
		for beat := range 4 {
			bar += n("S", 12, "<notations><technical>"+strings.Repeat("<open/>", 4*k+beat+1)+"</technical></notations>")
		}
		bars = append(bars, bar)
	}
	text, lost, err := Text([]byte(measures(bars...)), Options{})
	require.NoError(t, err)
	assert.Contains(t, text, `"o" 1`)
	said := 0
	for _, l := range lost {
		if strings.Contains(l.What, "in more ways than are told apart") {
			said += 1 + l.More
		}
	}
	assert.Equal(t, 260-255, said, "%v", lost)
}
