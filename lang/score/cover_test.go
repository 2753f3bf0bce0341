package score

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// runs writes down what became of the written strokes, as bars and counts.
func runs(s *Score) []string {
	var out []string
	at := func(st []Stroke, first, last int) string {
		if first == last {
			return s.Place(st[first].At)
		}
		return s.Place(st[first].At) + " to " + s.Place(st[last].At)
	}
	for _, g := range s.Coverage.Uncovered {
		text := fmt.Sprintf("nobody %s %s", g.Line.Name, at(g.Line.Strokes, g.First, g.Last))
		if g.Passes != s.mask(int(g.Line.Strokes[g.First].Bar)) {
			text += fmt.Sprintf(" on passes %b", g.Passes)
		}
		if g.Refused {
			text += " refused"
		}
		out = append(out, text)
	}
	for _, d := range s.Coverage.Doubled {
		out = append(out, fmt.Sprintf("twice %s %s, %s also from %s", d.Line.Name, at(d.Line.Strokes, d.First, d.Last), d.Also.Player.Name, s.Place(d.Also.Strokes[d.AlsoFirst].At)))
	}
	for _, e := range s.Coverage.Extra {
		out = append(out, fmt.Sprintf("not written %s %s", e.Cue.Voice, at(e.Cue.Strokes, e.First, e.Last)))
	}
	for _, p := range s.Coverage.Plainer {
		kind := "grace"
		if p.Roll {
			kind = "roll"
		}
		out = append(out, fmt.Sprintf("plainer %s %s %s", p.Line.Name, s.Place(p.Cue.Strokes[p.Stroke].At), kind))
	}
	return out
}

// What nobody plays, two play, or nobody wrote is told in runs of neighbouring
// strokes, and each run once.
func TestRunsOfStrokes(t *testing.T) {
	const part = "part \"P\"\n  woodblock | 1 2 3 4 | 1 2 3 4 | 1 2\n"
	for _, c := range []struct {
		text string
		want []string
	}{
		{part, []string{"nobody woodblock 1.1 to 3.2"}},
		{part + "player Ida\n  R woodblock as written\n", nil},
		{part + "player Ida\n  R woodblock | 1 2 3 4 | 1 2 3 4 | 1 2\n", nil},
		{part + "player Ida\n  R woodblock as written in 2\n", []string{"nobody woodblock 1.1 to 1.4", "nobody woodblock 3.1 to 3.2"}},
		{part + "player Ida\n  R woodblock as written on 2\n", []string{"nobody woodblock 1.1", "nobody woodblock 1.3 to 2.1", "nobody woodblock 2.3 to 3.1"}},
		// what two play
		{part + "player Ida\n  R woodblock as written\nplayer Per\n  R woodblock as written in 2\n", []string{"twice woodblock 2.1 to 2.4, Per also from 2.1"}},
		{part + "player Ida\n  R woodblock as written\nplayer Per\n  R woodblock as written in 1, 3\n", []string{"twice woodblock 1.1 to 1.4, Per also from 1.1", "twice woodblock 3.1 to 3.2, Per also from 3.1"}},
		{part + "player Ida\n  R woodblock as written\nplayer Per\n  R woodblock | 1 3\n", []string{"twice woodblock 1.1 to 1.3, Per also from 1.1"}},
		{part + "player Ida\n  R woodblock as written\nplayer Per\n  R woodblock | 1 4\n", []string{"twice woodblock 1.1, Per also from 1.1", "twice woodblock 1.4, Per also from 1.4"}},
		{part + "player Ida\n  R woodblock as written in 1\n  R woodblock as written in 2-3\nplayer Per\n  R woodblock as written in 1-2\n", []string{"twice woodblock 1.1 to 1.4, Per also from 1.1", "twice woodblock 2.1 to 2.4, Per also from 2.1"}},
		// what nobody wrote
		{part + "player Ida\n  R woodblock as written in 1-3\n  from 3\n  L woodblock | 3 4 | 1\n", []string{"not written woodblock 3.3 to 4.1"}},
		{part + "player Ida\n  R woodblock as written in 1-3\n  from 3\n  L triangle | 3 4 | 1\n", []string{"not written triangle 3.3 to 4.1"}},
		{part + "player Ida\n  R woodblock as written in 1-2\n  from 3\n  L woodblock | 1 1& 2 2& 3\n", []string{"not written woodblock 3.1&", "not written woodblock 3.2& to 3.3"}},
		{part + "player Ida\n  R woodblock as written in 1-2\n  from 3\n  L woodblock | 1 1&x 2 2&x\n", nil}, // a stop is no stroke
		{"player Ida\n  L triangle | 3 4 | 1\n", nil}, // without parts nothing is
		// what is written plays on
		{"part \"P\"\n  woodblock | 1~2 '3 4\nplayer Ida\n  R woodblock | 1 3 4\n", []string{"plainer woodblock 1.1 roll", "plainer woodblock 1.3 grace"}},
		{"part \"P\"\n  woodblock | 1~2 '3 4\nplayer Ida\n  R woodblock | 1~2 '3 4\n", nil},
		{"part \"P\"\n  woodblock | 1~2 '3 4\nplayer Ida\n  R woodblock | 1~2& ''3 4\n", nil},
		{"part \"P\"\n  woodblock | ''3 4\nplayer Ida\n  R woodblock | '3 '4\n", []string{"plainer woodblock 1.3 grace"}},
		{"part \"P\"\n  woodblock | '3\nplayer Ida\n  R woodblock | 3~4\n", nil}, // a roll is not plainer
		{"part \"P\"\n  woodblock | 1~2\nplayer Ida\n  R woodblock as written\n", nil},
		// stops in the part are nobody's duty
		{"part \"P\"\n  triangle | 1 2x 3\nplayer Ida\n  R triangle | 1 3\n", nil},
		// omitted
		{part + "omit woodblock in 2 because \"x\"\n", []string{"nobody woodblock 1.1 to 1.4", "nobody woodblock 3.1 to 3.2"}},
		{part + "omit woodblock in 1, 3 because \"x\"\n", []string{"nobody woodblock 2.1 to 2.4"}},
		{part + "omit woodblock because \"x\"\n", nil},
		{part + "omit woodblock of \"P\" because \"x\"\n", nil},
		{part + "part \"Q\"\n  woodblock | 4\nomit woodblock of \"P\" because \"x\"\n", []string{"nobody woodblock 1.4"}},
		// passes
		{"bars 3\nrepeat 2-2\n" + part + "player Ida\n  from 2 on pass 1\n  R woodblock as written in 2\n  from 1\n  R woodblock as written in 1, 3\n", []string{"nobody woodblock 2.1 to 2.4 on passes 10"}},
		{"bars 3\nrepeat 2-2\n" + part + "player Ida\n  R woodblock as written\nplayer Per\n  from 2 on pass 2\n  R woodblock | 1 2 3 4\n", []string{"twice woodblock 2.1 to 2.4, Per also from 2.1"}},
		{"bars 3\nrepeat 2-2\n" + part + "player Ida\n  R woodblock as written in 1, 3\n  from 2 on pass 1\n  R woodblock | 1 2 3 4\nplayer Per\n  from 2 on pass 2\n  R woodblock | 1 2 3 4\n", nil},
		{"bars 3\norder 1-1 3-3\n" + part + "player Ida\n  R woodblock as written in 1, 3\n", nil}, // what is never played nobody need play
	} {
		s := bindText(c.text)
		if assert.Empty(t, told(s), c.text) {
			assert.Equal(t, c.want, runs(s), c.text)
		}
	}
}

// A line that could not be read is what is wrong with the strokes that it was
// to play, and with those alone.
func TestARefusedLineExplainsItsOwnBars(t *testing.T) {
	const part = "bars 6\npart \"P\"\n  woodblock | 1 | 1 | 1 | 1 | 1 | 1\n  triangle | 1 | - | - | - | - | -\n"
	for _, c := range []struct {
		line string
		want []string
	}{
		{"from 2\n  R woodblock | 1 | 1\n", []string{"nobody woodblock 1.1", "nobody woodblock 4.1 to 6.1", "nobody triangle 1.1"}},
		{"from 2\n  R wodblock | 1 | 1\n", []string{"nobody woodblock 1.1", "nobody woodblock 2.1 to 3.1 refused", "nobody woodblock 4.1 to 6.1", "nobody triangle 1.1"}},
		{"from 2\n  R woodblock !\n", []string{"nobody woodblock 1.1", "nobody woodblock 2.1 to 6.1 refused", "nobody triangle 1.1"}},
		{"from 2\n  R woodblock !\n  from 4\n  R woodblock as written\n", []string{"nobody woodblock 1.1", "nobody woodblock 2.1 to 3.1 refused", "nobody triangle 1.1"}},
		{"from 2\n  R snare-drum !\n", []string{"nobody woodblock 1.1 to 6.1", "nobody triangle 1.1"}},
		{"from 9\n  R woodblock | 1\n", []string{"nobody woodblock 1.1 to 6.1 refused", "nobody triangle 1.1"}}, // of any bars
		{"from Q\n  R triangle | 1\n", []string{"nobody woodblock 1.1 to 6.1", "nobody triangle 1.1 refused"}},
	} {
		assert.Equal(t, c.want, runs(bindText(part+"player Ida\n  "+c.line)), c.line)
	}
}

// What is accepted, and where.
func TestWhatIsAccepted(t *testing.T) {
	s := clean(t, `bars 8
player Ida
  R woodblock | 1
accept seam because "a"
accept seam at 3 because "b"
accept seam at 3.2& for Ida because "c"
accept seam in 2-3 because "d"
`)
	var got []string
	for _, a := range s.Accepts {
		got = append(got, fmt.Sprint(a.Rule, " ", a.HasPlace, " ", a.Bar, " ", a.HasCount, " ", a.Count, " ", a.From, "-", a.To, " ", a.Player, " ", a.Reason))
	}
	assert.Equal(t, []string{"seam false 0 false 0 1-8  a", "seam true 3 false 0 1-8  b", "seam true 3 true 2& 1-8 Ida c", "seam false 0 false 0 2-3  d"}, got)

	// Of somebody who is left out for once, an acceptance says nothing wrong.
	s = Bind("t", syntax.Parse("player Ida\n  R woodblock | 1\naccept seam for Ida because \"x\"\n"), nil, Options{Without: []string{"Ida"}})
	assert.Empty(t, told(s))
	require.Len(t, s.Accepts, 1)
}

// A cue covers the written line that its name, or the name behind for, means.
func TestWhichLineACueCovers(t *testing.T) {
	const parts = "part \"P\"\n  woodblock | 1\n  high-block | 2\n"
	const kits = "player Ida\n  kit\n    high-block is woodblock clamped at left 30 ahead 40\n    low-block is woodblock clamped at left 10 ahead 40\n"
	for _, c := range []struct{ text, voice string }{
		{"part \"P\"\n  woodblock | 1\nplayer Ida\n  R woodblock | 1\n", "woodblock"},
		{parts + kits + "  R high-block | 2\n", "high-block"},
		{parts + kits + "  R low-block | 1\n", "woodblock"}, // no part has a line of that name
		{parts + kits + "  R low-block for high-block | 2\n", "high-block"},
		{parts + kits + "  R snare-drum for woodblock | 1\n", "woodblock"},
		{parts + kits + "  R high-block for wood-block | 1\n", "woodblock"},
	} {
		s := clean(t, c.text)
		require.Len(t, s.Players[0].Cues, 1)
		assert.Equal(t, c.voice, s.Players[0].Cues[0].Voice, c.text)
	}
}

// The lines that a cue plays strokes of: of its name, of the part it says, at the
// same places, on something else too.
func TestWhichLinesACuePlays(t *testing.T) {
	const parts = "bars 4\npart \"P\"\n  woodblock | 1 | 2\n  triangle | 1\n  from 3\n  woodblock | 1\npart \"Q\"\n  woodblock | 3 | 2\nplayer Ida\n"
	for _, c := range []struct {
		cue  string
		want []string
	}{
		{"R woodblock as written", []string{"P 1", "P 3", "Q 1"}},
		{"R woodblock as written of \"P\" in 1-2", []string{"P 1"}},
		{"R woodblock | 1", []string{"P 1"}},
		{"R woodblock | - | 2", []string{"P 1", "Q 1"}},
		{"R snare-drum for woodblock | 3", []string{"Q 1"}},
		{"R woodblock | 4", nil},
		{"R snare-drum | 1", nil},
	} {
		s := clean(t, parts+"  "+c.cue+"\n")
		require.Len(t, s.Players[0].Cues, 1, c.cue)
		var got []string
		for _, l := range s.LinesOf(s.Players[0].Cues[0]) {
			got = append(got, fmt.Sprint(l.Part.Name, " ", l.From))
		}
		assert.Equal(t, c.want, got, c.cue)
	}
}

// The range of a cue, its words and dynamics, and what of the part's signs it
// takes over.
func TestWhatACueTakesFromThePart(t *testing.T) {
	s := clean(t, `bars 8
part "P"
  triangle | f 1 "let ring" 2R> | p '3~ | ~2 4. | - | "on" 1 |
player Ida
  R triangle as written in 1-2
  L triangle as written in 3, 5
  from 2
  R triangle as written
  from 4
  R triangle as written
`)
	cues := s.Players[0].Cues
	require.Len(t, cues, 4)
	assert.Equal(t, "1.1 1.2 2.3~3.2", onsets(s, cues[0].Strokes))
	assert.Equal(t, "3.4. 5.1", onsets(s, cues[1].Strokes))
	assert.Equal(t, "2.3~3.2 3.4.", onsets(s, cues[2].Strokes))
	assert.Equal(t, "5.1", onsets(s, cues[3].Strokes))
	var got []string
	for _, c := range cues {
		text := fmt.Sprint(c.From, "-", c.To, " ", c.Ended)
		for _, w := range c.Words {
			text += " " + w.Text
		}
		got = append(got, text)
	}
	assert.Equal(t, []string{"1-2 false let ring", "3-5 false on", "2-3 true", "4-8 false on"}, got)
	st := cues[0].Strokes
	assert.Equal(t, "f f p", st[0].Dyn.String()+" "+st[1].Dyn.String()+" "+st[2].Dyn.String())
	assert.True(t, st[1].Has(Accent) && !st[0].Has(Accent))
	assert.Equal(t, byte(0), st[1].Hand, "whose hand it is the cue says")
	assert.Equal(t, byte('R'), s.Parts[0].Lines[0].Strokes[1].Hand)
	assert.Equal(t, uint8(1), st[2].Grace)

	// From two lines, what both have is played once.
	s = clean(t, "part \"P\"\n  triangle | 1 2x\npart \"Q\"\n  triangle | 1 2 | 4\nplayer Ida\n  R triangle as written\n")
	assert.Equal(t, "1.1 1.2x 1.2 2.4", onsets(s, s.Players[0].Cues[0].Strokes))

	for text, says := range map[string]string{"in 2": "in bar 2", "in 2-3": "from bar 2 to bar 3"} {
		s := bindText("bars 4\npart \"P\"\n  triangle | 1\nplayer Ida\n  R triangle as written " + text + "\n")
		require.Len(t, s.Problems, 1)
		assert.Equal(t, "nothing is written for triangle "+says+", so this cue plays nothing", s.Problems[0].Message())
	}
}
