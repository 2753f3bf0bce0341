package score

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// A cue's strokes written out as bars: what stood there, equal bars folded.
func TestACueWrittenOut(t *testing.T) {
	for _, c := range []struct{ head, from, bars, want string }{
		{"", "1", "| 1 2 | 3", "| 1 2 | 3"},
		{"", "3", "| 1 2 | 3", "| 1 2 | 3"},
		{"", "1", "| 1 | - | 3", "| 1 | - | 3"},
		{"", "1", "| 1 | 1 | 1", "| 1 | % x2"},
		{"", "1", "| p 1 2 f 3 f 4 | p 1", "| p 1 2 f 3 4 | p 1"},
		{"", "1", "| ppp 1 | pp 2 | fff 3", "| ppp 1 | pp 2 | fff 3"},
		{"", "1", "| '1 ''2R> 3L. 4x", "| '1 ''2R> 3L. 4x"},
		{"", "1", "| 1~2 3~ | 2", "| 1~2 3~ | 2"},
		{"", "1", "| 1~ | ~2 3", "| 1~ | ~2 3"},
		{"", "1", "| 1~ | ~ | ~3.", "| 1~. | ~ | ~3"}, // the sign stands where the roll begins
		{"", "1", "| 1~ | ~", "| 1~ | ~"},
		{"pickup 1\n", "0", "| 4 | 1", "| 4 | 1"},
		{"meter 6/8 in 2\n", "1", "| 1 1t 1l", "| 1 1t 1l"},
	} {
		s := clean(t, c.head+"player Ida\n  from "+c.from+"\n  R triangle "+c.bars+"\n")
		got, ok := s.WriteBars(s.Players[0].Cues[0])
		assert.True(t, ok, c.bars)
		assert.Equal(t, c.want, strings.TrimSuffix(got, " |"), c.bars)
	}
	s := clean(t, "player Ida\n  R triangle | - | -\n")
	_, ok := s.WriteBars(s.Players[0].Cues[0])
	assert.False(t, ok, "there is nothing to write")

	for bars, want := range map[int]bool{2000: true, 2001: false} {
		s = clean(t, fmt.Sprintf("player Ida\n  R triangle | 1 | -%d | 1\n", bars-2))
		_, ok = s.WriteBars(s.Players[0].Cues[0])
		assert.Equal(t, want, ok, "%d bars", bars)
	}
}

// What a stroke is written with is read.
func TestSignsOfAStroke(t *testing.T) {
	s := clean(t, "player Ida\n  R triangle | 1 mf '2R> ''3L. 4x | p 1~2 \"soft\" 3~ | ~2. 3 |\n")
	c := s.Players[0].Cues[0]
	var got []string
	for i := range c.Strokes {
		st := &c.Strokes[i]
		hand := "-"
		if st.Hand != 0 {
			hand = string(st.Hand)
		}
		got = append(got, fmt.Sprint(s.Place(st.At), " ", s.Place(st.End), " ", st.Bar, " ", st.Dyn, " ", st.Grace, hand, " ", st.Has(Accent), st.Has(Short), st.Has(Stop), st.Has(Roll), " ", st.Sounds()))
	}
	assert.Equal(t, []string{
		"1.1 1.1 1  0- false false false false true",
		"1.2 1.2 1 mf 1R true false false false true",
		"1.3 1.3 1 mf 2L false true false false true",
		"1.4 1.4 1 mf 0- false false true false false",
		"2.1 2.2 2 p 0- false false false true true",
		"2.3 3.2 2 p 0- false true false true true",
		"3.3 3.3 3 p 0- false false false false true",
	}, got)
	require.Len(t, c.Words, 1)
	assert.Equal(t, "soft", c.Words[0].Text)
	assert.Equal(t, 2, c.Words[0].Bar)
	assert.Equal(t, "2.3", s.Place(c.Words[0].At), "at the stroke that it stands before")
}

// Words stand at the stroke that they are written before, and behind the last
// one at that.
func TestWhereWordsStand(t *testing.T) {
	for bars, want := range map[string]string{
		"| 1 | \"w\" 2":              "2.2",
		"| 1 | \"w\" mf 2":           "2.2",
		"| 1 \"w\" 3& 4":             "1.3&",
		"| 1 \"w\" \"v\" 3":          "1.3 1.3",
		"| 1 3 \"w\"":                "1.3",
		"| 1 \"w\" 2 | % x2":         "1.2 2.2 3.2",
		"| \"w\" - | 1":              "1.1",
		"| 1~2 \"w\" 4":              "1.4",
		"| 1~2 \"w\"":                "1.2",
		"| 1 3~ \"w\" | ~2 \"v\"":    "1.3 2.2",
		"| 1~ | \"w\" ~2":            "2.1",
		"| 1~ | ~ \"w\" | 1":         "2.1",
		"| 1 \"w\" 2x 3 \"v\" ''4R>": "1.2 1.4",
	} {
		s := clean(t, "player Ida\n  R triangle "+bars+"\n")
		var got []string
		for _, w := range s.Players[0].Cues[0].Words {
			got = append(got, s.Place(w.At))
		}
		assert.Equal(t, want, strings.Join(got, " "), bars)
	}
}

// A simile plays what stood in the bars before it, itself a bar that may be
// repeated, and its strokes stand in the text where it does.
func TestSimiles(t *testing.T) {
	for _, c := range []struct{ bars, want string }{
		{"| 1 | 2 | %2 | 3 | %2", "1.1 2.2 3.1 4.2 5.3 6.2 7.3"},
		{"| 1 | % x2 | 2 | %3", "1.1 2.1 3.1 4.2 5.1 6.1 7.2"},
		{"| 1 | - | %2 x2", "1.1 3.1 5.1"},
		{"| 1~ | % | 2", "1.1~2.1 2.1~3.1 3.2"},
		{"| 1~ | ~2 | %2", "1.1~2.2 3.1~4.2"},
		{"| 1 | 2 | 3 | %3 x3 | %", "1.1 2.2 3.3 4.1 5.2 6.3 7.1 8.2 9.3 10.1 11.2 12.3 13.3"},
	} {
		s := clean(t, "player Ida\n  R triangle "+c.bars+"\n")
		assert.Equal(t, c.want, onsets(s, s.Players[0].Cues[0].Strokes), c.bars)
	}
	s := clean(t, "player Ida\n  R triangle | 1 | % x3\n  | 2 | %\n")
	c := s.Players[0].Cues[0]
	assert.Equal(t, "1.1 2.1 3.1 4.1 5.2 6.2", onsets(s, c.Strokes))
	words := func(st Stroke) string {
		at := st.Where()
		return s.Sources[0].File.Lines[at.Line].Text[at.Start:at.End]
	}
	assert.Equal(t, "1", words(c.Strokes[0]))
	assert.Equal(t, "% x3", words(c.Strokes[3]))
	assert.Equal(t, "%", words(c.Strokes[5]))
	assert.Equal(t, 6, c.To)
	// many bars, many times
	long := clean(t, "player Ida\n  R triangle | 1 | 2 | %2 x200 | 3 | %3\n")
	st := long.Players[0].Cues[0].Strokes
	assert.Equal(t, "403.3 404.1 405.2 406.3", onsets(long, st[len(st)-4:]))
}

// A score that takes over from an earlier one what an edit did not touch is the
// same as one that is bound afresh.
func TestTakenOverIsTheSame(t *testing.T) {
	const text = `tempo 96
bars 8
part "P"
  woodblock | 1 2 | 3 | % | 4
  triangle  | 1 | - | 2
part "Q"
  woodblock | 4
player Ida
  kit
    high is woodblock clamped at left 30 ahead 40
    table at right 40 ahead 20
  R high for woodblock as written in 1-2
  L triangle as written
  from 3
  R high as written of "P"
player Per
  R snare-drum | 1 2 | %
`
	edits := [][2]string{
		{"", ""},
		{"tempo 96", "tempo 90"},
		{"bars 8", "bars 9"},
		{"bars 8", "bars 8\nmeter 3/4 from 5"},
		{"bars 8", "bars 8\n"}, // everything stands a line lower
		{"| 1 2 | 3 | % | 4", "| 1 2 | 3 | % | 3"},
		{"woodblock | 4", "woodblock | 4&"},
		{"part \"Q\"", "part \"R\""},
		{"in 1-2", "in 1-3"},
		{"in 1-2", "in 1, 2"},
		{"of \"P\"", "of \"Q\""},
		{"from 3", "from 4"},
		{"from 3", "from 1"},
		{"as written\n  from", "as written on 1\n  from"},
		{"left 30", "left 50"},
		{"clamped at", "hung at"},
		{"table at right 40", "table at right 60"},
		{"    table at right 40 ahead 20\n", ""},
		{"player Per", "player Per\n  seated"},
		{"player Per", "player Per\n  reach 50"},
		{"R snare-drum | 1", "L snare-drum | 1"},
		{"R snare-drum | 1", "RF bass-drum | 1"},
		{"| %\n", "| % | 1\n"},
		{"player Per", "player Eva"},
	}
	says := func(s *Score) string {
		var b strings.Builder
		fmt.Fprintln(&b, told(s), runs(s))
		for _, p := range s.Players {
			fmt.Fprintln(&b, p.Name, p.Tables)
			for _, it := range p.Items {
				fmt.Fprintln(&b, it.Name, it.At, it.Facing, it.Stands, it.NoRoom, it.Where)
			}
			for _, c := range p.Cues {
				fmt.Fprintln(&b, c.Voice, c.From, c.To, c.Where, c.Strokes, c.Words)
			}
		}
		for _, p := range s.Parts {
			for _, l := range p.Lines {
				fmt.Fprintln(&b, p.Name, l.Name, l.From, l.To, l.Where, l.Strokes)
			}
		}
		return b.String()
	}
	for _, e := range edits {
		require.Contains(t, text, e[0])
		first := syntax.Parse(text)
		was := Bind("t", first, nil, Options{Remember: true})
		file := syntax.Reparse(strings.Replace(text, e[0], e[1], 1), first)
		is := Bind("t", file, nil, Options{Remember: true, Earlier: was})
		assert.Equal(t, says(bindText(strings.Replace(text, e[0], e[1], 1))), says(is), e[1])
		again := Bind("t", first, nil, Options{Remember: true, Earlier: is}) // and back
		assert.Equal(t, says(was), says(again), e[1])
	}
}
