package syntax

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// aimed is a cell's aims, sign by sign, each by where it stands.
func aimed(t *testing.T, text string) string {
	l := ParseLine("R xylophone " + text)
	require.Empty(t, l.Problems, text)
	var out []string
	for i := range l.Bars.Cells {
		c := &l.Bars.Cells[i]
		for k := range c.Signs() {
			var one []string
			for _, a := range c.Aims(k) {
				one = append(one, a.String()+"="+l.Text[a.Span().Start:a.Span().End])
			}
			out = append(out, strings.Join(one, " "))
		}
	}
	return strings.Join(out, ", ")
}

func TestAStrokeSaysWhichBarOrDrum(t *testing.T) {
	assert.Equal(t, "C5=C5", aimed(t, "| 1:C5 |"))
	assert.Equal(t, "C5=C5 E5=E5, , Bb4=Bb4", aimed(t, "| 1:C5+E5 2 3:Bb4 |"))
	assert.Equal(t, "F#4=F#4, Fx5=F##5 Gb3=Gb3", aimed(t, "| 1:F#4 2:F##5+Gb3 |"))
	assert.Equal(t, "high=high, 3=3, high-block=high-block 2=2", aimed(t, "| 1:high 2:3 3:high-block+2 |"))
	assert.Equal(t, "C5=c5, A-1=A-1, B0=♭0", strings.Replace(aimed(t, "| 1:c5 2:A-1 3:B0 |"), "B0=B0", "B0=♭0", 1))
	assert.Equal(t, ", C5=C5", aimed(t, "| 1 | 1:C5 |"))
}

// Whatever stands behind a count may stand before its note or behind it, and is
// written before it.
func TestNotesStandLast(t *testing.T) {
	for in, want := range map[string]string{
		"| 1:C5 |": "| 1:C5", "| 1R>:C5 |": "| 1R>:C5", "| 1:C5R> |": "| 1R>:C5", "| 1:3L. |": "| 1L.:3", "| 1:high. |": "| 1.:high",
		"| 1:C5~3 |": "| 1~3:C5", "| 1~3:C5 |": "| 1~3:C5", "| 1:C5 ~3& |": "| 1~3&:C5", "| 1~:C5 | ~2 |": "| 1~:C5 | ~2", "| 1 3x:F2 |": "| 1 3x:F2",
		"| 1:F2 3:F2x |": "| 1:F2 3x:F2", "| ''1>:F#4 |": "| ''1>:F#4", "| 1e&a:C5 |": "| 1 1e 1& 1a:C5", "| flam 2:C5 |": "| '2:C5", "| 2+1/3:C5 |": "| 2t:C5",
		"| 1:f##4+C5 2 |": "| 1:Fx4+C5 2", "| 1:C5 choke |": "| 1.:C5", "| 1:♭ |": "",
		"| 1:C5 | % | %2 | 1:C5 1&:E5 |": "| 1:C5 | % | %2 | 1:C5 1&:E5",
	} {
		l := ParseLine("R xylophone " + in)
		if want == "" {
			assert.NotEmpty(t, l.Problems, in)
			continue
		}
		if assert.Empty(t, l.Problems, in) {
			text := strings.TrimSpace(Formatted("player Ida\n  R xylophone " + in + "\n"))
			assert.Equal(t, want, text[strings.IndexByte(text, '|'):], in)
			checkFormat(t, "player Ida\n  R xylophone "+in+"\n")
		}
	}
}

// Bars that strike other notes are other bars.
func TestFoldingLooksAtNotes(t *testing.T) {
	l := ParseLine("R xylophone | 1:C5 2 | 1:C5 2 | 1:D5 2 | f 1:D5 2 | f 1:D5 2 |")
	require.Empty(t, l.Problems)
	assert.Equal(t, "| 1:C5 2 | % | 1:D5 2 | f 1:D5 2 | %", Fold(l))
}

// A # begins a comment anywhere but behind the letter of a note in a bar list, or
// behind one with which a word begins, where a digit follows.
func TestASharpIsNoComment(t *testing.T) {
	for text, want := range map[string]string{
		"R xylophone | 1:F#4 | # F#4":      "# F#4",
		"R xylophone | 1:F#4+C##5 |#c":     "#c",
		"R xylophone | 1:C5#high |":        "#high |",
		"R xylophone | 1:#4":               "#4",
		"R xylophone | 1:F###4":            "#4",
		"R xylophone | 1#F":                "#F",
		"R xylophone | \"a:C#\" 1 2#":      "#",
		"R xylophone #| 1:F#4":             "#| 1:F#4",
		"range F#3 C##7#c":                 "#c",
		"kettle 66 Bb2 F#3 # F#3":          "# F#3",
		"kettle 66 F# 3":                   "# 3",
		"kettle 66 F###3":                  "###3",
		"kettle 66 f#3":                    "#3",
		"kettle 66 FF#3":                   "#3",
		"C#4 # x":                          "# x",
		"player Ida:C#4":                   "#4",
		"note key:F#4 | 1":                 "#4 | 1",
		"title Sonata in F+C#4":            "#4",
		"snare-drum:C#":                    "#",
		"R snare-drum | 1 |# the last:A#b": "# the last:A#b",
	} {
		assert.Equal(t, want, ParseLine(text).Comment(), text)
	}
}

func TestNotesThatAreNone(t *testing.T) {
	for text, want := range map[string]string{
		"1:":      "which bar or drum",
		"1:C":     "has no octave",
		"1:F#":    "has no octave",
		"1:C10":   "no note that anything has",
		"1:G#9":   "no note that anything has",
		"1:0":     "counted from the left, from 1",
		"1:H4":    "neither a note",
		"1:C5+":   "which bar or drum",
		"1:C5+?":  "neither a note",
		"1:C5:D5": "cannot follow",
		"1:C5.E5": "cannot follow",
		"1:a-":    "neither",
	} {
		l := ParseLine("R xylophone | " + text + " 3 |")
		if assert.Len(t, l.Problems, 1, text) {
			assert.Contains(t, l.Problems[0].Message(), want, text)
		}
		if l.Bars != nil {
			assert.NotEmpty(t, l.Bars.Cells[0].Signs(), "%s: what stands behind it is still read", text)
		}
	}
}

func TestMadeBarsKeepNotes(t *testing.T) {
	l := ParseLine("R xylophone | 1:C5+E5 2 | 1:3 |")
	require.Empty(t, l.Problems)
	m := MakeBars(1, 2)
	for i := range l.Bars.Cells {
		c := &l.Bars.Cells[i]
		for k, it := range c.Signs() {
			m.Put(i+1, Stroke(it.Count(), 0, 0, 0), c.Aims(k)...)
		}
	}
	assert.Equal(t, "| 1:C5+E5 2 | 1:3", strings.TrimSpace(fmt.Sprint(m.Folded(2).Text)))
}
