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
	"example.org/handful/internal/outside"
	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// drumSet is a drawn piece for drummers, in which things are struck in ways that
// the General MIDI percussion map has keys for.
func drumSet(t *rapid.T) string {
	bars := rapid.IntRange(1, 6).Draw(t, "bars")
	var b strings.Builder
	fmt.Fprintf(&b, "meter 4/4\ntempo %d\nbars %d\n", rapid.SampledFrom([]int{60, 88, 100}).Draw(t, "tempo"), bars)
	lines := []struct {
		text string
		ways []string
		ends []string
	}{
		{"R hi-hat with snare-stick", []string{"", "", `"o" `, `"foot" `}, []string{"", ">"}},
		{"L snare-drum with snare-stick", []string{"", "", `"electric" `}, []string{"", ">"}},
		{"RF bass-drum-pedal", []string{""}, []string{"", ">"}},
		{"R ride-cymbal with snare-stick", []string{"", `"bell" `, `"second" `}, []string{"", ">"}},
		{"L tom-toms with snare-stick", []string{"", `"floor" `, `"high floor" `}, []string{":low"}},
		{"L tom-toms with snare-stick", []string{""}, []string{":high", ":middle-high", ":middle-low", ":low"}},
		{"R congas", []string{"", `"mute" `}, []string{":high"}},
		{"L triangle with triangle-beater", []string{""}, []string{"", "."}},
		{"R guiro", []string{"", `"long" `}, []string{""}},
		{"R woodblock with snare-stick", []string{"", `"low" `}, []string{""}},
	}
	for i := range rapid.IntRange(1, 3).Draw(t, "players") {
		fmt.Fprintf(&b, "player P%d\n", i)
		used := map[string]bool{}
		for range rapid.IntRange(1, 4).Draw(t, "lines") {
			l := rapid.SampledFrom(lines).Draw(t, "line")
			if used[l.text] {
				continue
			}
			used[l.text] = true
			b.WriteString("  " + l.text)
			for range bars {
				b.WriteString(" |")
				any, dyn := false, ""
				for _, at := range []string{"1", "1&", "2", "2&", "3", "3t", "3l", "4", "4e", "4a"} {
					if rapid.IntRange(0, 2).Draw(t, "stroke") > 0 {
						continue
					}
					any = true
					if d := rapid.SampledFrom([]string{dyn, dyn, "p", "f"}).Draw(t, "dynamic"); d != dyn {
						dyn = d
						b.WriteString(" " + d)
					}
					fmt.Fprintf(&b, " %s%s%s", rapid.SampledFrom(l.ways).Draw(t, "way"), at, rapid.SampledFrom(l.ends).Draw(t, "end"))
				}
				if !any {
					b.WriteString(" -")
				}
			}
			b.WriteString("\n")
		}
	}
	return b.String()
}

// heldByKeys is what a file of keys holds of a drum set: everything that it
// holds of any part, and in which way things are struck.
func heldByKeys(s *score.Score) []string {
	out := heldByMIDI(s, false)
	one := func(id string, words []score.Word, strokes []score.Stroke, struck func(int) *score.Struck) {
		for _, w := range words {
			out = append(out, fmt.Sprintf("%s %q at %s", id, w.Text, w.At))
		}
		for i := range strokes {
			if id == "triangle" && strokes[i].Has(score.Short) {
				out = append(out, fmt.Sprintf("short at %s", strokes[i].At))
			}
		}
	}
	for _, p := range s.Players {
		for _, c := range p.Cues {
			one(p.Name+", "+c.Limb.Name()+" "+c.Item.Inst.ID, c.Words, c.Strokes, c.StruckAt)
		}
	}
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			one(p.Name+" "+l.Inst.ID, l.Words, l.Strokes, l.StruckAt)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// What drummers play goes out as MIDI and comes in again with every way in which
// it is struck.
func TestADrumSetComesBackFromMIDI(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		text := drumSet(t)
		was, back, lost := throughMIDI(t, text)
		if was == nil {
			return // nothing to hear
		}
		is := score.Bind("is.handful", syntax.Parse(back), nil, score.Options{})
		if len(is.Problems) > 0 {
			t.Fatalf("%v\n%s", is.Problems, back)
		}
		a, b := heldByKeys(was.Score), heldByKeys(is)
		if diff := unlike(a, b); len(diff) > 0 {
			t.Fatalf("%s\n%v\n%s\n%s", strings.Join(diff, "\n"), lost, text, back)
		}
	})
}

// The keys are those of the General MIDI percussion key map: 46 is the open
// hi-hat, 44 the one by its pedal, 53 the ride's bell, 80 the muted triangle.
func TestWaysOfStrikingAreHeard(t *testing.T) {
	r := check.Check("x.handful", syntax.Parse("meter 4/4\ntempo 60\nbars 1\nplayer Ida\n  R hi-hat with snare-stick | 1 \"o\" 2 \"foot\" 3 \"+\" 4\n"+
		"player Ben\n  R ride-cymbal with snare-stick | 1 \"bell\" 2\nplayer Eva\n  L triangle with triangle-beater | 1 2.\n"), check.Options{})
	require.Empty(t, r.Score.Problems)
	data, _, err := MIDI(r, MIDIOptions{})
	require.NoError(t, err)
	var keys []int
	for _, h := range outside.Mido(t, data, false) {
		keys = append(keys, h.Key)
	}
	slices.Sort(keys)
	assert.Equal(t, []int{42, 42, 44, 46, 51, 53, 80, 81}, keys)
}

// Open, closed, ghost notes and heads go out as the signs that the standard has,
// on the note for which they are, and not as words.
func TestMarksGoOutAsSigns(t *testing.T) {
	r := check.Check("x.handful", syntax.Parse("meter 4/4\ntempo 60\nbars 2\nplayer Ida\n  R hi-hat with snare-stick | \"o\" 1 \"+\" 2 \"foot\" 3 | %\n"+
		"  L snare-drum with snare-stick | 1 \"( )\" 2 \"x head\" 3 \"softly\" 4\n"), check.Options{})
	require.Empty(t, r.Score.Problems)
	data, _, err := MusicXML(r, MusicXMLOptions{})
	require.NoError(t, err)
	for what, n := range map[string]int{
		"<open/>": 2, "<stopped/>": 2, "<other-technical>foot<": 2,
		`<notehead parentheses="yes">normal</notehead>`: 1, ">foot</words>": 1, ">softly</words>": 1, ">o</words>": 0, ">( )</words>": 0,
	} {
		assert.Equal(t, n, strings.Count(string(data), what), "%s\n%s", what, data)
	}
	assert.Equal(t, 6+1, strings.Count(string(data), "<notehead>x</notehead>"), "the hi-hat's own, and the drum's")
}
