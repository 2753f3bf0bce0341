package kit_test

import (
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/syntax"
)

// Ranges, octaves and widths of bars are those of testdata/pitched.csv, which
// is common practice from memory, written apart from the catalogue.
func TestRangesAreThoseOfTheTable(t *testing.T) {
	octaves := map[string]int{"as written": 0, "one octave higher": 1, "two octaves higher": 2}
	ids := map[string]string{"tubular-bells": "chimes", "handbells": "handbell"}
	var kettles []kit.Kettle
	rows := table(t, "pitched.csv")
	for _, id := range slices.Sorted(maps.Keys(rows)) {
		row := rows[id]
		name, low, high := row[0], note(t, row[1]), note(t, row[2])
		if across, ok := strings.CutPrefix(name, "timpani-"); ok {
			inches, err := strconv.ParseFloat(across, 64)
			require.NoError(t, err)
			size, err := strconv.ParseFloat(row[4], 64)
			require.NoError(t, err)
			assert.InDelta(t, inches*2.54, size, 1, name)
			kettles = append([]kit.Kettle{{Across: size, Low: low, High: high}}, kettles...)
			continue
		}
		if id, ok := ids[name]; ok {
			name = id
		}
		in := kit.Standard().Instrument(name)
		require.NotNil(t, in, name)
		assert.Equal(t, kit.Range{Low: low, High: high}, in.Range, name)
		assert.Equal(t, octaves[row[3]], in.Octaves, name)
		if row[4] != "" {
			for k, wide := range in.Bars {
				want, err := strconv.ParseFloat(row[4+k], 64)
				require.NoError(t, err)
				assert.Equal(t, want, wide, name)
			}
		}
	}
	timpani := kit.Standard().Instrument("timpani")
	assert.Equal(t, kettles[:4], timpani.Kettles, "the smallest kettle is an extra")
	assert.Equal(t, kettles, kit.UsualKettles())
	assert.Equal(t, "D2 to A3", timpani.Range.String())
}

func note(t *testing.T, s string) pitch.Pitch {
	p, ok := pitch.Parse(s)
	require.True(t, ok, s)
	return p
}

// Bars go up to the right in two rows, none on another, and lie within the
// frame.
func TestBarsLieAsOnAKeyboard(t *testing.T) {
	seen := 0
	for _, in := range kit.Standard().Instruments() {
		if in.Bars == [2]float64{} {
			continue
		}
		seen++
		var last [2]*kit.Target
		for n := in.Range.Low.Semitone(); n <= in.Range.High.Semitone(); n++ {
			p := pitch.FromSemitone(n)
			bar, ok := in.Bar(p)
			require.True(t, ok, "%s %s", in.ID, p)
			row := 0
			if p.Alter() != 0 {
				row = 1
			}
			assert.Equal(t, row == 1, bar.Ahead > 0, "%s %s", in.ID, p)
			if was := last[row]; was != nil {
				assert.GreaterOrEqual(t, bar.Right-was.Right, (bar.Wide+was.Wide)/2, "%s %s is on the bar before it", in.ID, p)
			}
			last[row] = &bar
			assert.LessOrEqual(t, math.Abs(bar.Right)+bar.Wide/2, in.Wide/2, "%s %s", in.ID, p)
			assert.LessOrEqual(t, math.Abs(bar.Ahead), in.Deep/2, "%s %s", in.ID, p)
		}
		_, ok := in.Bar(in.Range.High.Octaves(1))
		assert.False(t, ok)
	}
	assert.GreaterOrEqual(t, seen, 6)
}

// An octave is about 33 cm on a xylophone, 42 on a marimba's middle and 22 on a
// glockenspiel, by measuring usual instruments from memory: within a fifth.
func TestAnOctaveIsAsWideAsItIs(t *testing.T) {
	for id, want := range map[string]float64{"xylophone": 34, "marimba": 42, "vibraphone": 40, "glockenspiel": 24} {
		in := kit.Standard().Instrument(id)
		low, ok := in.Bar(note(t, "C5"))
		require.True(t, ok)
		high, ok := in.Bar(note(t, "C6"))
		require.True(t, ok)
		assert.InEpsilon(t, want, low.Dist(high), 0.2, id)
	}
}

func TestMembersStandInARow(t *testing.T) {
	seen := 0
	for _, in := range kit.Standard().Instruments() {
		for n := 1; n <= in.Row(); n++ {
			seen++
			at, ok := in.Member(n)
			require.True(t, ok)
			mirrored, _ := in.Member(in.Row() + 1 - n)
			assert.InDelta(t, at.Right, -mirrored.Right, 1e-9, in.ID)
			if n > 1 {
				before, _ := in.Member(n - 1)
				assert.Greater(t, at.Right, before.Right, in.ID)
				assert.GreaterOrEqual(t, at.Dist(before), at.Wide*0.99, "%s: one stands in the other", in.ID)
			}
		}
		for _, name := range in.MemberNames {
			n, ok := in.MemberNamed(name)
			assert.True(t, ok && n >= 1)
		}
	}
	assert.Greater(t, seen, 25)
	timpani := kit.Standard().Instrument("timpani")
	for n, k := range timpani.Kettles {
		at, _ := timpani.Member(n + 1)
		assert.Less(t, math.Hypot(at.Right, at.Ahead+75), 80.0, "a kettle of %g cm is out of reach", k.Across)
	}
	_, ok := kit.Standard().Instrument("triangle").Member(1)
	assert.False(t, ok)
}

func TestADefinitionsNotesAreChecked(t *testing.T) {
	for text, want := range map[string]string{
		"range F3 H7":       `"H7" is no note: a letter from A to G, b if it is flat, # if it is sharp, and an octave, as in C5, Bb2`,
		"range F3":          "range says its lowest and its highest note as written: range F3 C7",
		"range C7 F3":       "the lower note comes first: F3 C7",
		"widths 4":          "widths says how wide its lowest and its highest bar are, in cm: widths 6.4 4",
		"widths 4 4 4":      "widths says how wide its lowest and its highest bar are, in cm: widths 6.4 4",
		"kettle 66 Bb2":     "kettle says how far across it is, in cm, and its lowest and its highest note: kettle 66 Bb2 F3",
		"kettle 900 Bb2 F3": `"900" should be a number from 20 to 120`,
		"row high low high": "two in a row are called high",
		"octaves a":         `"a" should be a number from 0 to 3`,
		"range F3 C7":       "",
		"kettle 66 Bb2 F3":  "",
		"row near far":      "",
		"range F#3 C#7":     "",
		"kettle 66 Bb2 F#3": "",
		"tuning hand":       "",
		"tuning feet":       `"feet" is not one of foot, hand`,
		"octaves 1":         "",
		"widths 4 3":        "",
	} {
		f := syntax.Parse("instrument my-own\n  " + text + "\n  way on stand takes 1 hand with snare-stick\n")
		ins, _, problems := kit.Read("t", f, f.Seats(), true)
		require.Len(t, ins, 1)
		var got []string
		for _, p := range problems {
			got = append(got, p.Message())
		}
		assert.Equal(t, want, strings.Join(got, "; "), text)
	}
}
