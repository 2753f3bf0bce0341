package score

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/syntax"
)

// told is what is wrong with a text: the rule, the words it is said of, and the
// message, in the order of the text.
//
// The names that somebody may have meant are each for some words of that line.
func told(s *Score) []string {
	var out []string
	for i := range s.Problems {
		p := &s.Problems[i]
		line := s.Sources[p.Where.File].File.Lines[p.Where.Line].Text
		if n := p.Named; len(p.Near) > 0 && (n.File != p.Where.File || n.Line != p.Where.Line || n.Start < p.Where.Start || n.Start >= n.End || n.End > p.Where.End) {
			out = append(out, fmt.Sprint("what may have been meant is not in its place: ", n))
		}
		out = append(out, fmt.Sprintf("%s [%s] %s", p.Rule, line[p.Where.Start:p.Where.End], p.Message()))
	}
	return out
}

// Each pair is a text at the edge of what may be written and one just past it:
// the first is taken as it is, the second told, once, at its place.
func TestAtTheEdgeAndPastIt(t *testing.T) {
	const ida = "player Ida\n  R woodblock | 1 |\n"
	for _, c := range []struct{ fits, past, told string }{
		{"bars 1\n" + ida, "bars 0\n" + ida, "value [0] “0” should be a whole number from 1 to"},
		{"mark A at 1\n", "mark 9 at 1\n", "syntax [9] a mark is a letter or a word"},
		{"mark B at 1\n", "mark 0 at 1\n", "syntax [0] a mark is a letter or a word"},
		{"mark A2 at 2\n", "mark A at 2.3\n", "unknown-place [2.3] a mark stands at a bar"},
		{"bars 8\nrepeat 3-3\n", "bars 8\nrepeat 3-2\n", "unknown-place [3-2] 3-2 runs backwards"},
		{"bars 8\nrepeat 3-8\n", "bars 8\nrepeat 3-9\n", "unknown-place [9] there is no bar 9: the piece has bars 1 to 8"},
		{"bars 8\nrepeat 1-8\n", "bars 8\nrepeat 0-8\n", "unknown-place [0] there is no bar 0: the piece has bars 1 to 8"},
		{"bars 8\nrepeat 1-2 x2\n", "bars 8\nrepeat 1-2 x1\n", "value [x1] “x1” does not say how often: write x3"},
		{"bars 8\nhold 3.4\n", "bars 8\nhold 3.5\n", "count [3.5] bar 3 has no count 5: it is 4/4 and has counts 1 to 4"},
		{"pickup 1\nbars 2\nhold 0.4\n", "pickup 1\nbars 2\nhold 0.3\n", "count [0.3] bar 0 has no count 3: it is the pickup, and its counts begin at 4 of 4/4"},
		{"tempo 5\n" + ida, "tempo 4\n" + ida, "value [4] “4” is not a tempo: counts a minute, from 5 to 999"},
		{"tempo 999\n" + ida, "tempo 1000\n" + ida, "value [1000] “1000” is not a tempo"},
		{"tempo 90 to 999 over 1-1\n" + ida, "tempo 90 to 1000 over 1-1\n" + ida, "value [1000] “1000” is not a tempo"},
		{"tempo 64/64 = 60\n" + ida, "tempo 65/64 = 60\n" + ida, "value [65/64] “65/64” is not a note value"},
		{"tempo 1/64 = 60\n" + ida, "tempo 1/65 = 60\n" + ida, "value [1/65] “1/65” is not a note value"},
		{"bars 4\ntempo 60 from 4\n", "bars 4\ntempo 60 from 5\n", "unknown-place [5] there is no bar 5"},
		{"bars 4\ntempo 60 to 90 over 1-4\n", "bars 4\ntempo 60 to 90 over 1-5\n", "unknown-place [5] there is no bar 5"},
		{"bars 4\nmeter 3/4 from 2\n", "bars 4\nmeter 3/4 from 2.2\n", "unknown-place [2.2] a meter begins with a bar"},
		{"meter 7/8 in 2+2+3\n", "meter 7/8 in 2+x\n", "value [2+x] “2+x” is not a grouping: write 2+2+3"},
		{"meter 1/4\n", "meter 0/4\n", "value [0/4] “0/4” is not a meter: write 4/4"},
		{"meter 4/1\n", "meter 4/0\n", "value [4/0] “4/0” is not a meter: write 4/4"},
		{"pickup 1/8\n", "pickup 0\n", "value [0] “0” should be a whole number from 1 to 64"},
		{"meter 6/8 in 2\n", "meter 6/8 in 4\n", "value [4]"},
		{"player Ida\n  R holds 2 snare-stick\n", "player Ida\n  R holds 3 snare-stick\n", "value [3] “3” should be a whole number from 1 to 2"},
		{"player Ida\n  R holds 1 snare-stick\n", "player Ida\n  R holds 0 snare-stick\n", "value [0] “0” should be a whole number from 1 to 2"},
		{"player Ida\n  R holds nothing\n", "player Ida\n  RF holds snare-stick\n", "syntax [RF] one hand holds"},
		{"player Ida\n  L holds snare-stick\n", "player Ida\n  any holds snare-stick\n", "syntax [any] one hand holds"},
		{"player Ida\n  R holds shaker\n", "player Ida\n  R holds shakker\n", "unknown-name [shakker] no implement is called"},
		{"player Ida\n  R holds snare-stick\n", "player Ida\n  R holds snare-stick\n  R holds rubber-mallet\n", "syntax [R holds rubber-mallet] Ida already says what the right hand holds at the start"},
		{"bars 4\nplayer Ida\n  any turns page at 2\n", "bars 4\nplayer Ida\n  any takes snare-stick at 2\n", "syntax [any] one hand takes, lays, damps or turns"},
		{"bars 4\nplayer Ida\n  L turns page at 2\n", "bars 4\nplayer Ida\n  LF turns page at 2\n", "syntax [LF] one hand takes, lays, damps or turns"},
		{"bars 4\nplayer Ida\n  L lays it at 2\n", "bars 4\nplayer Ida\n  L takes it at 2\n", "unknown-name [it] no implement is called"},
		{"bars 4\nplayer Ida\n  L damps triangle at 4.4\n", "bars 4\nplayer Ida\n  L damps triangle at 5\n", "unknown-place [5] there is no bar 5"},
		{"bars 4\nplayer Ida\n  L damps triangle at 4\n", "bars 4\nplayer Ida\n  L damps trangle at 4\n", "unknown-name [trangle] no instrument is called"},
		{"player Ida\n  profile student reach 20\n", "player Ida\n  profile student speed 20\n", "syntax [speed] “speed” is not a setting: reach, fastest, margin"},
		{"player Ida\n  profile student reach 20\n", "player Ida\n  profile student reach 19\n", "value [19] reach is how far the player reaches, in centimetres: from 20 to 120"},
		{"player Ida\n  profile student reach 120\n", "player Ida\n  profile student reach 121\n", "value [121]"},
		{"player Ida\n  profile student fastest 1\n", "player Ida\n  profile student fastest 0.9\n", "value [0.9] fastest is the most strokes a second of one hand: from 1 to 20"},
		{"player Ida\n  profile student fastest 20\n", "player Ida\n  profile student fastest 21\n", "value [21]"},
		{"player Ida\n  profile student margin 0.5\n", "player Ida\n  profile student margin 0.4\n", "value [0.4] margin is how many times"},
		{"player Ida\n  profile student margin 5\n", "player Ida\n  profile student margin 6\n", "value [6] margin"},
		{"player Ida\n  kit\n    woodblock at right 2000\n", "player Ida\n  kit\n    woodblock at right 2001\n", "value [2001] “2001” is not a distance in centimetres, 0 to 2000"},
		{"player Ida\n  kit\n    xylophone at right 20 facing 360\n", "player Ida\n  kit\n    xylophone at right 20 facing 361\n", "value [361] “361” is not a turn in degrees"},
		{"player Ida\n  kit\n    table at right 20\n", "player Ida\n  kit\n    table side at right 20\n", "syntax [side] a table has no name"},
		{"player Ida\n  kit\n    station bars at right 20\n", "player Ida\n  kit\n    station at right 20\n", "syntax [station at right 20] a station has a name"},
		{"player Ida\n  kit\n    station bars at right 20\n", "player Ida\n  kit\n    station bars at right 20 facing 90\n", "syntax [90] a station is not turned"},
		{"player Ida\n  kit\n    station a at right 20\n    station b at right 90\n", "player Ida\n  kit\n    station a at right 20\n    station a at right 90\n", "syntax [a] station a is already there"},
		{"player Ida\n  kit\n    station a at right 20\n    woodblock at a left 3\n", "player Ida\n  kit\n    station a at right 20\n    station b at a left 3\n", "unknown-name [a] there is no station"},
		{"gear\n  0 clamp\n", "gear\n  1000 clamp\n", "value [1000] “1000” should be a whole number from 0 to 999"},
		{"bars 8\nomit woodblock in 2-3 because \"x\"\n", "bars 8\nomit woodblock in 2-9 because \"x\"\n", "unknown-place [9] there is no bar 9"},
		{"omit woodblock because \"x\"\n", "omit woodblock because \" \"\n", "syntax [omit woodblock because \" \"] leaving something out needs its reason"},
		{"part \"P\"\nomit woodblock of \"P\" because \"x\"\n", "part \"P\"\nomit woodblock of \"Q\" because \"x\"\n", "unknown-name [\"Q\"] there is no part"},
		{"omit woodblock because \"x\"\n", "omit wodblock because \"x\"\n", "unknown-name [wodblock]"},
		{"accept seam because \"x\"\n", "accept seam because \"\"\n", "syntax [accept seam because \"\"] accepting a finding needs its reason"},
		{"bars 2\naccept seam at 2 because \"x\"\n", "bars 2\naccept seam at 3 because \"x\"\n", "unknown-place [3] there is no bar 3"},
		{"bars 2\naccept seam in 1-2 because \"x\"\n", "bars 2\naccept seam in 1-3 because \"x\"\n", "unknown-place [3] there is no bar 3"},
		{ida + "accept seam for Ida because \"x\"\n", ida + "accept seam for Per because \"x\"\n", "unknown-name [Per] there is no player Per"},
		{"bars 2\ncue \"horns\" at 2\n", "bars 2\ncue \"horns\"\n", "syntax [cue \"horns\"] what there is to listen for needs its place"},
		{"bars 2\nnote \"slowly\" at 2\n", "bars 2\nnote \"slowly\" at 3\n", "unknown-place [3] there is no bar 3"},
		{"part \"P\"\n  from 2\n  woodblock | 1\n", "part \"P\"\n  from 2.2\n  woodblock | 1\n", "unknown-place [2.2] lines begin at a bar"},
		{"part \"P\"\n  woodblock | 1\n", "part \"P\"\n  woodblock\n", "syntax [woodblock] this line has no bars: woodblock | 1 2 |"},
		{"part \"P\"\n  woodblock | 1\n", "part \"P\"\n  woodblock at right 3 | 1\n", "syntax [woodblock at right 3 | 1] a part says what is written"},
		{"part \"P\"\n  woodblock | 1\n  | 2\n", "part \"P\"\n  | 2\n", "syntax [| 2] these bars go on from nothing"},
		{"bars 2\npart \"P\"\n  woodblock | 1 | 2\n", "bars 2\npart \"P\"\n  woodblock | 1 | 2 | 3\n", "bar-length [3] these bars run past bar 2"},
		{"bars 3\npart \"P\"\n  woodblock | 1 | -2\n", "bars 3\npart \"P\"\n  woodblock | 1 | -3\n", "bar-length [-3] these bars run past bar 3"},
		{"bars 3\npart \"P\"\n  woodblock | 1 | % x2\n", "bars 3\npart \"P\"\n  woodblock | 1 | % x3\n", "bar-length [% x3] these bars run past bar 3"},
		{"part \"P\"\n  woodblock | 1 | 2 | %2\n", "part \"P\"\n  woodblock | 1 | %2\n", "syntax [%2] %2 repeats the 2 bars before, and this line has only 1 so far"},
		{"part \"P\"\n  woodblock | 1 | -63 | %64\n", "part \"P\"\n  woodblock | 1 | -64 | %65\n", "syntax [%65] a simile repeats at most 64 bars"},
		{"part \"P\"\n  woodblock | 1~2\n", "part \"P\"\n  woodblock | 2~2\n", "count [2~2] this roll ends before it begins"},
		{"part \"P\"\n  woodblock | 1~4&\n", "part \"P\"\n  woodblock | 1~5\n", "count [1~5] bar 1 has no count 5"},
		{"part \"P\"\n  woodblock | 1~ | ~4\n", "part \"P\"\n  woodblock | 1~ | ~5\n", "count [~5] bar 2 has no count 5"},
		{"part \"P\"\n  woodblock | 1~ | ~2\n", "part \"P\"\n  woodblock | 1~2 | ~2\n", "syntax [~2] ~ goes on with a roll from the bar before"},
		{"part \"P\"\n  woodblock | 1~ | ~2 | 1\n", "part \"P\"\n  woodblock | 1~ | ~2 | ~2\n", "syntax [~2] ~ goes on with a roll"},
		{"part \"P\"\n  woodblock | 1~ | ~ | ~2\n", "part \"P\"\n  woodblock | 1~ | - | ~2\n", "syntax [~2] ~ goes on with a roll"},
		{"part \"P\"\n  woodblock | 1~2 2\n", "part \"P\"\n  woodblock | 1~3 2\n", "count [2] count 2 of bar 1 comes before what stands to its left"},
		{"part \"P\"\n  triangle | 1x 1\n", "part \"P\"\n  triangle | 1 1x\n", "count [1x] count 1 of bar 1 is written twice"},
		{"meter 3/4 from 2\npart \"P\"\n  woodblock | 3 | %\n", "meter 3/4 from 2\npart \"P\"\n  woodblock | 4 | %\n", "bar-length [%] the bar that is repeated here does not fit bar 2: it is 3/4 and has counts 1 to 3"},
	} {
		assert.Empty(t, told(bindText(c.fits)), c.fits)
		got := told(bindText(c.past))
		if assert.NotEmpty(t, got, c.past) {
			assert.Len(t, got, 1, c.past)
			assert.Contains(t, got[0], c.told, c.past)
		}
	}
}

// A statement where it means nothing is told where it belongs.
func TestStatementsInTheWrongPlace(t *testing.T) {
	for _, c := range []struct{ text, told string }{
		{"seated\n", "syntax [seated] seated belongs under a player"},
		{"table at right 20 ahead 30\n", "syntax [table at right 20 ahead 30] table belongs under  kit"},
		{"family metal\n", "syntax [family metal] family belongs under  instrument  or  implement"},
		{"from 3\n", "syntax [from 3] from belongs under a part or a player"},
		{"2 clamp\n", "syntax [2 clamp] how many there are of a thing belongs under  gear"},
		{"L woodblock | 1\n", "syntax [L woodblock | 1] a limb plays for somebody"},
		{"woodblock | 1\n", "syntax [woodblock | 1] a line that begins with an instrument belongs under  part"},
		{"player Ida\n  woodblock | 1\n", "syntax [woodblock | 1] who plays this? a player's line begins with a limb"},
		{"player Ida\n  woodblock\n", "syntax [woodblock] what a player plays begins with a limb, as in  R woodblock"},
		{"player Ida\n  profil student\n", "syntax [profil student] no statement begins with “profil”; did you mean profile?"},
		{"player Ida\n  kit\n    woodblock | 1\n", "syntax [woodblock | 1] who plays this?"},
		{"kit\n  woodblock | 1\n", "syntax [| 1] a kit says what stands where"},
		{"player Ida\n  kit\n    woodblock at right 20 | 1\n", "syntax [| 1] a kit says what stands where"},
	} {
		got := told(bindText(c.text))
		if assert.Len(t, got, 1, c.text) {
			assert.Contains(t, got[0], c.told)
		}
	}
	s := bindText("player Ida\n  profil student\n")
	require.Len(t, s.Problems, 1)
	assert.Equal(t, []string{"profile"}, s.Problems[0].Near)
	assert.Equal(t, Where{0, 1, 2, 8}, s.Problems[0].Named, "the word alone is to be replaced")
}

// What is missing names what there is, as far as there is anything.
func TestWhatThereIsIsNamed(t *testing.T) {
	lib := files{
		"two.handful":   "part \"P\"\n  woodblock | 1\npart \"Q\"\n  woodblock | 1\n",
		"none.handful":  "tempo 60\n",
		"one.handful":   "oops !\n",
		"wrong.handful": "oops !\noops !\n",
	}
	for _, c := range []struct{ text, told string }{
		{"hold B\n", "unknown-place [B] there is no mark B: add  mark B at BAR"},
		{"mark A at 1\nmark C at 1\nhold B\n", "unknown-place [B] there is no mark B: add  mark B at BAR; the marks are A C"},
		{"hold 3\npart \"P\"\n  woodblock | 1 | 2\n", "unknown-place [3] there is no bar 3: the piece has bars 1 to 2; write  bars 3  if it is longer than what is written out"},
		{"bars 2\nhold 3\n", "unknown-place [3] there is no bar 3: the piece has bars 1 to 2"},
		{"hold 0\n", "unknown-place [0] there is no bar 0: the piece has bars 1 to 1"},
		{"player Ida\n  R woodblock as written of \"P\"\n", "unknown-name [\"P\"] there is no part \"P\"; there is nothing else"},
		{"part \"P\"\npart \"Q\"\nplayer Ida\n  R woodblock as written of \"R\"\n", "unknown-name [\"R\"] there is no part \"R\"; there is \"P\", \"Q\""},
		{"use \"one.handful\"\n", "use [\"one.handful\"] one.handful has 1 problem of its own: check it by itself"},
		{"use \"wrong.handful\"\n", "use [\"wrong.handful\"] wrong.handful has 2 problems of its own: check it by itself"},
		{"part \"R\" in \"two.handful\"\n", "use [\"two.handful\"] two.handful has no part \"R\"; it has \"P\", \"Q\""},
		{"part \"R\" in \"none.handful\"\n", "use [\"none.handful\"] none.handful has no parts"},
		{"bars 2\npart \"P\"\n  from 3\n  woodblock | 1\n  triangle | 1\n", "unknown-place [3] these bars begin at bar 3: the piece has bars 1 to 2"},
	} {
		got := told(Bind("main.handful", syntax.Parse(c.text), lib.load, Options{}))
		assert.Equal(t, []string{c.told}, got, c.text)
	}
}

// Lines for a pass that their bars are never played on are told, with how
// often the bars are played.
func TestPassesThatNeverCome(t *testing.T) {
	const line = "player Ida\n  from %s\n  R woodblock | 1 | 2\n"
	for _, c := range []struct{ head, from, told string }{
		{"bars 4\n", "1 on pass 1", ""},
		{"bars 4\n", "1 on pass 2", "there is no pass 2: bars 1 to 2 are played once"},
		{"bars 4\nrepeat 1-2\n", "1 on pass 2", ""},
		{"bars 4\nrepeat 2-3\n", "1 on pass 2", ""}, // one of its bars is
		{"bars 4\nrepeat 3-4\n", "1 on pass 2", "there is no pass 2: bars 1 to 2 are played once"},
		{"bars 4\nrepeat 1-2\n", "1 on pass 3", "there is no pass 3: bars 1 to 2 are played twice at the most"},
		{"bars 4\nrepeat 1-2 x3\n", "1 on pass 3", ""},
		{"bars 4\nrepeat 1-2 x3\n", "1 on pass 4", "there is no pass 4: bars 1 to 2 are played 3 times at the most"},
		{"bars 4\nvamp 2-3\n", "1 on pass 2", ""}, // nobody knows
		{"bars 4\nvamp 3-4\n", "1 on pass 2", "there is no pass 2: bars 1 to 2 are played once"},
		{"bars 4\nvamp 1-1\n", "2 on pass 2", "there is no pass 2: bars 2 to 3 are played once"},
		{"bars 4\norder 3-4 3-4\n", "1 on pass 2", ""}, // never played at all: told elsewhere
	} {
		text := c.head + fmt.Sprintf(line, c.from)
		var got []string
		for _, p := range bindText(text).Problems {
			got = append(got, p.Message())
		}
		if c.told == "" {
			assert.Empty(t, got, text)
		} else {
			assert.Equal(t, []string{c.told}, got, text)
		}
	}
	one := "bars 4\nrepeat 2-2\nplayer Ida\n  from %d on pass %d\n  R woodblock | 1\n"
	assert.Contains(t, told(bindText(fmt.Sprintf(one, 1, 2)))[0], "there is no pass 2: bar 1 is played once")
	assert.Empty(t, told(bindText(fmt.Sprintf(one, 2, 2))))
	assert.Contains(t, told(bindText(fmt.Sprintf(one, 2, 3)))[0], "there is no pass 3: bar 2 is played twice")
	assert.Contains(t, told(bindText(fmt.Sprintf(one, 2, 64)))[0], "should be a whole number from 1 to 63")
}

// How often a bar is played, before, within and behind what is repeated.
func TestHowOftenBarsArePlayed(t *testing.T) {
	s := clean(t, "bars 9\nrepeat 2-3 x3\nrepeat 6-8\nending 1 7-7\nending 2 8-8\n")
	var got []int
	for bar := -1; bar <= 11; bar++ {
		got = append(got, s.Passes(bar))
	}
	assert.Equal(t, []int{0, 0, 1, 3, 3, 1, 1, 2, 1, 1, 1, 0, 0}, got)

	// Of more than 63 times nobody's line can speak, so a line for every
	// pass is whole.
	s = clean(t, "bars 1\nrepeat 1-1 x70\npart \"P\"\n  woodblock | 1\nplayer Ida\n  R woodblock as written\n")
	assert.Equal(t, 1, s.Coverage.Covered)
	s = clean(t, "bars 1\nrepeat 1-1 x70\npart \"P\"\n  woodblock | 1\n")
	require.Len(t, s.Coverage.Uncovered, 1)
	assert.Equal(t, uint64(1)<<63-1, s.Coverage.Uncovered[0].Passes, "of 63 passes it is told")
	s = clean(t, "bars 1\nrepeat 1-1 x63\npart \"P\"\n  woodblock | 1\nplayer Ida\n  from 1 on pass 63\n  R woodblock as written\n")
	require.Len(t, s.Coverage.Uncovered, 1)
	assert.Equal(t, uint64(1)<<62-1, s.Coverage.Uncovered[0].Passes, "all but the last")
}

// What lasts goes on over bar lines until the road jumps.
func TestHowFarARollLasts(t *testing.T) {
	s := clean(t, "bars 6\nrepeat 2-3\n")
	spans := s.Time.Spans()
	require.Len(t, spans, 3, "1 to 3, 2 to 3 again, and on to 6")
	bar := func(n int) beat.Rat { return s.Grid.Start(n) }
	in := func(n int) beat.Rat { return bar(n).Add(beat.R(1, 4)) }
	for _, c := range []struct {
		span     int
		end      beat.Rat
		wantSpan int
		want     beat.Rat
	}{
		{0, bar(3), 0, bar(3)},
		{0, bar(4), 0, bar(4)}, // ends with the bar line
		{0, in(4), 0, bar(4)},  // the road jumps back there
		{1, bar(4), 1, bar(4)},
		{1, in(4), 2, in(4)},  // and the second time it goes on
		{2, in(7), 2, bar(7)}, // no further than the piece
	} {
		span, end := s.Lasts(c.span, c.end)
		assert.Equal(t, c.wantSpan, span, c)
		assert.Equal(t, c.want, end, c)
	}
}

func TestShareOfTheTempo(t *testing.T) {
	for text, want := range map[string]float64{"110%": 1.1, "1.1": 1.1, "10%": 0.1, "0.1": 0.1, "10": 10, "1000%": 10} {
		got, err := ParseTempoFactor(text)
		assert.NoError(t, err, text)
		assert.InDelta(t, want, got, 1e-12, text)
	}
	for _, text := range []string{"9%", "0.09", "10.1", "1001%", "0", "-1", "NaN", "fast", "", "%"} {
		_, err := ParseTempoFactor(text)
		assert.ErrorContains(t, err, "share of the written tempo", text)
	}
}

// How fast a piece begins: the count is that of its bar, the shortest where
// counts differ, unless a note value is named.
func TestTemposInCounts(t *testing.T) {
	for _, c := range []struct {
		head string
		want float64 // seconds of a whole note at the beginning
	}{
		{"", 2},
		{"tempo 60\n", 4},
		{"meter 6/8 in 2\ntempo 60\n", 8.0 / 3},
		{"meter 6/8\ntempo 60\n", 8},
		{"meter 7/8 in 2+2+3\ntempo 60\n", 4},
		{"meter 7/8 in 3+2+2\ntempo 60\n", 4},
		{"meter 8/8 in 3+3+2\ntempo 60\n", 4},
		{"tempo 1/2 = 60\n", 2},
	} {
		s := clean(t, c.head+"bars 4\n")
		assert.InDelta(t, c.want/8, s.Time.Seconds(0, beat.R(1, 8)), 1e-9, c.head)
		assert.Equal(t, strings.Contains(c.head, "tempo"), s.HasTempo, c.head)
	}
	s := clean(t, "bars 6\ntempo 60\ntempo 60 to 120 over 3-4\n")
	assert.InDelta(t, 8, s.Time.Seconds(0, s.Grid.Start(3)), 1e-9)
	was := s.Time.Seconds(0, s.Grid.Start(5))
	assert.Greater(t, was, 8+4.0)
	assert.Less(t, was, 8+8.0)
	assert.InDelta(t, 2, s.Time.Seconds(0, s.Grid.Start(6))-was, 1e-9, "it stays as quick as it became")

	assert.Nil(t, clean(t, "bars 4\ntempo 60\ntempo 90 from 3\n").LateTempo)
	assert.Nil(t, clean(t, "bars 4\ntempo 90 from 3\ntempo 60\n").LateTempo)
	late := clean(t, "bars 4\ntempo 90 from 3\ntempo 60 from 2\n").LateTempo
	require.NotNil(t, late)
	assert.Equal(t, int32(2), late.Line, "the first of them in the music")
}

// The head's words, and who reads what.
func TestWordsOfThePiece(t *testing.T) {
	s := clean(t, "title \"One\"\ntitle \"Two\"\nbars 4\nnote \"for all\"\nnote \"here\" at 3\nplayer Ida\n  note \"hers\" at 2\n  cue \"horns\" at 4.2\nplayer Per\n  note \"his\"\n")
	assert.Equal(t, "One", s.Title)
	var got []string
	for _, r := range s.Remarks {
		got = append(got, fmt.Sprint(r.Player, " ", r.Text, " ", r.Cue, " ", r.Placed, " ", r.Bar))
	}
	assert.Equal(t, []string{" for all false false 0", " here false true 3", "Ida hers false true 2", "Ida horns true true 4", "Per his false false 0"}, got)
}

// What a piece may use, and how deep: as many files as the limits say, and not
// one more.
func TestHowManyFilesAPieceUses(t *testing.T) {
	chain := func(n int) *Score { // of files that use one another
		lib := files{}
		for i := range n {
			lib[fmt.Sprintf("f%d.handful", i)] = fmt.Sprintf("use \"f%d.handful\"\n", i+1)
		}
		lib[fmt.Sprintf("f%d.handful", n)] = "tempo 60\n"
		return Bind("main.handful", syntax.Parse("use \"f0.handful\"\n"), lib.load, Options{})
	}
	assert.Empty(t, told(chain(31)), "the 32nd uses nothing")
	got := told(chain(32))
	require.Len(t, got, 1)
	assert.Contains(t, got[0], "too-large [\"f32.handful\"] files use one another 33 deep here; 32 is the most")

	wide := func(n int) *Score { // of files beside one another
		lib, text := files{}, ""
		for i := range n {
			lib[fmt.Sprintf("w%d.handful", i)] = "tempo 60\n"
			text += fmt.Sprintf("use \"w%d.handful\"\n", i)
		}
		return Bind("main.handful", syntax.Parse(text), lib.load, Options{})
	}
	assert.Empty(t, told(wide(255)))
	got = told(wide(256))
	require.Len(t, got, 1)
	assert.Contains(t, got[0], "too-large [\"w255.handful\"] a piece uses at most 256 files")
}

// What is lost of a file of another format is told once, by the piece itself.
func TestWhatIsNotCarriedOver(t *testing.T) {
	load := func(_, path string) (string, *syntax.File, error) {
		f := syntax.Parse("tempo 60\n")
		f.Lost = []string{"a trill", "a slur"}[:len(path)-len("n.handful")]
		return path, f, nil
	}
	for name, want := range map[string][]string{
		"n.handful":   nil,
		"on.handful":  {"not-carried [\"on.handful\"] 1 thing of on.handful could not be carried over; the first is: a trill"},
		"two.handful": {"not-carried [\"two.handful\"] 2 things of two.handful could not be carried over; the first is: a trill"},
	} {
		assert.Equal(t, want, told(Bind("main.handful", syntax.Parse("use \""+name+"\"\n"), load, Options{})))
	}
}

// Of a file that gives one part, its other parts are not taken, until they are
// asked for too.
func TestPartsThatAreTaken(t *testing.T) {
	lib := files{"all.handful": "part \"P\"\n  woodblock | 1\npart \"Q\"\n  triangle | 1\npart \"R\"\n  shaker | 1\n"}
	for text, want := range map[string]string{
		"part \"P\" in \"all.handful\"\n":                                "P",
		"part \"P\" in \"all.handful\"\npart \"R\" in \"all.handful\"\n": "P R",
		"part \"P\" in \"all.handful\"\nuse \"all.handful\"\n":           "P Q R",
		"use \"all.handful\"\npart \"P\" in \"all.handful\"\n":           "P Q R",
		"part \"Q\"\n  claves | 1\npart \"Q\" in \"all.handful\"\n":      "Q",
	} {
		s := Bind("main.handful", syntax.Parse(text), lib.load, Options{})
		assert.Empty(t, told(s), text)
		var got []string
		for _, p := range s.Parts {
			got = append(got, p.Name)
			assert.NotEmpty(t, p.Lines, text)
		}
		assert.ElementsMatch(t, strings.Fields(want), got, text)
	}
}

// What is said of endings and repeats, as the road has it.
func TestEndingsAndRepeatsAsRead(t *testing.T) {
	s := clean(t, "bars 9\nrepeat 1-4 x3\nending 1,2 3-3\nending 3 4-4\n")
	require.Len(t, s.Endings, 2)
	assert.Equal(t, []int{1, 2}, s.Endings[0].Numbers)
	assert.Equal(t, []int{3}, s.Endings[1].Numbers)
	assert.Equal(t, 3, s.Repeats[0].Times)
	assert.Equal(t, 2, clean(t, "bars 9\nrepeat 1-4\n").Repeats[0].Times, "a repeat is played twice")
	assert.Contains(t, told(bindText("bars 9\nrepeat 1-4 x2\nending 1 3-3\nending 64 4-4\n"))[0], "value [64] “64” should be a whole number from 1 to 63")
	assert.Contains(t, told(bindText("bars 9\nrepeat 1-4 x2\nending 1 3-3\nending 0 4-4\n"))[0], "value [0] “0” should be a whole number from 1 to 63")

	many := "1" + strings.Repeat(",1", 69)
	assert.Len(t, bindText("bars 9\nrepeat 1-4 x3\nending " + many + " 3-3\n").Endings[0].Numbers, 63, "more there is no way to play")

	s = clean(t, "bars 9\nhold 3.2\nbreak 4\nvamp 5-6\n")
	require.Len(t, s.Pauses, 2)
	assert.Equal(t, [2]bool{false, true}, [2]bool{s.Pauses[0].Break, s.Pauses[1].Break})
	assert.Equal(t, "3.2", s.Place(s.Pauses[0].At))
	assert.Equal(t, [2]int{5, 6}, [2]int{s.Vamps[0].From, s.Vamps[0].To})
}

// What the piece's own instruments name has to be there as well.
func TestWhatOwnInstrumentsName(t *testing.T) {
	const own = "instrument ships-bell\n  family metal\n  way hung takes 1 hand with brass-mallet\n"
	for _, c := range []struct{ fits, past, told string }{
		{own, strings.Replace(own, "brass-mallet", "bras-mallet", 1), "unknown-name [bras-mallet] no implement is called “bras-mallet”; did you mean brass-mallet?"},
		{own + "  never with snare-stick because \"it dents\"\n", own + "  never with snare-stik because \"it dents\"\n", "unknown-name [snare-stik] no implement is called “snare-stik”; did you mean snare-stick?"},
		{own + "  stands for chimes costs \"softer\"\n", own + "  stands for chymes costs \"softer\"\n", "unknown-name [chymes] no instrument is called “chymes”"},
	} {
		assert.Empty(t, told(bindText(c.fits)), c.fits)
		got := told(bindText(c.past))
		if assert.Len(t, got, 1, c.past) {
			assert.Contains(t, got[0], c.told)
		}
	}
}
