package score

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/syntax"
)

func bindText(text string) *Score { return Bind("test.handful", syntax.Parse(text), nil, Options{}) }

func clean(t testing.TB, text string) *Score {
	s := bindText(text)
	for _, p := range s.Problems {
		require.Fail(t, p.Message(), "line %d, %s\n%s", p.Where.Line+1, p.Rule, text)
	}
	return s
}

// onsets writes a line's strokes as players say them.
func onsets(s *Score, strokes []Stroke) string {
	var out []string
	for i := range strokes {
		st := &strokes[i]
		text := s.Place(st.At)
		if st.Has(Roll) {
			text += "~" + s.Place(st.End)
		}
		if st.Has(Stop) {
			text += "x"
		}
		if st.Has(Short) {
			text += "."
		}
		out = append(out, text)
	}
	return strings.Join(out, " ")
}

func TestBarsBecomeStrokes(t *testing.T) {
	for _, c := range []struct{ head, bars, want string }{
		{"", "| 1 2& 4 |", "1.1 1.2& 1.4"},
		{"", "| 1 | - | 3 |", "1.1 3.3"},
		{"", "| 1 2 | % | 4", "1.1 1.2 2.1 2.2 3.4"},
		{"", "| 1 | 2 | %2 x2", "1.1 2.2 3.1 4.2 5.1 6.2"},
		{"", "| 1 | -2 | %", "1.1"},
		{"", "| 1 | -2 | %2 | 4", "1.1 6.4"},
		{"", "| 1~3& 4 |", "1.1~1.3& 1.4"},
		{"", "| 1~ | ~ | ~4 |", "1.1~3.4"},
		{"", "| 1~ | 2 |", "1.1~2.1 2.2"},
		{"", "| 1~ | - |", "1.1~2.1"},
		{"", "| 3~ | ~2 4 |", "1.3~2.2 2.4"},
		{"", "| 1 3x | 2. |", "1.1 1.3x 2.2."},
		{"", "| 1~3. |", "1.1~1.3."},
		{"meter 6/8\n", "| 1 4 6& |", "1.1 1.4 1.6&"},
		{"meter 6/8 in 2\n", "| 1 1t 1l 2 |", "1.1 1.1t 1.1l 1.2"},
		{"meter 7/8 in 2+2+3\n", "| 1 2 3 3l |", "1.1 1.2 1.3 1.3l"},
		{"meter 3/4 from 2\n", "| 1 4 | 1 3 |", "1.1 1.4 2.1 2.3"},
	} {
		s := clean(t, c.head+"part \"P\"\n  woodblock "+c.bars+"\n")
		require.Len(t, s.Parts, 1)
		assert.Equal(t, c.want, onsets(s, s.Parts[0].Lines[0].Strokes), c.bars)
	}
}

func TestCountsAreExactTime(t *testing.T) {
	s := clean(t, "meter 6/8 in 2\ntempo 60\npart \"P\"\n  woodblock | 1 2 | 1l\n")
	st := s.Parts[0].Lines[0].Strokes
	assert.Equal(t, beat.R(3, 8), st[1].At)
	assert.InDelta(t, 1.0, s.Time.Seconds(0, st[1].At), 1e-12, "a count is a dotted quarter")
	assert.InDelta(t, 2+2.0/3, s.Time.Seconds(0, st[2].At), 1e-12)

	s = clean(t, "meter 6/8\ntempo 3/8 = 60\npart \"P\"\n  woodblock | 1 4 |\n")
	assert.InDelta(t, 1.0, s.Time.Seconds(0, s.Parts[0].Lines[0].Strokes[1].At), 1e-12, "a note value stands for itself")
}

// A pickup of one count in 4/4 is count 4 of bar 0, as players say it.
func TestPickup(t *testing.T) {
	s := clean(t, "pickup 1\npart \"P\"\n  from 0\n  woodblock | 4 | 1 2\n")
	assert.Equal(t, "0.4 1.1 1.2", onsets(s, s.Parts[0].Lines[0].Strokes))
	assert.Equal(t, beat.R(1, 4), s.Grid.Start(1))
	bad := bindText("pickup 1\npart \"P\"\n  from 0\n  woodblock | 1 | 1\n")
	require.NotEmpty(t, bad.Problems)
	assert.Contains(t, bad.Problems[0].Message(), "begin at 4 of 4/4")
}

func TestWhatIsWrongHasARuleAndAPlace(t *testing.T) {
	for _, c := range []struct{ text, rule, at, says string }{
		{"meter 3/4\npart \"P\"\n  woodblock | 1 4\n", "count", "4", "counts 1 to 3"},
		{"part \"P\"\n  woodblock | 1 3 2\n", "count", "2", "in order"},
		{"part \"P\"\n  woodblock | 1 1\n", "count", "1", "twice"},
		{"part \"P\"\n  woodblock | 2~1\n", "count", "2~1", "ends before it begins"},
		{"part \"P\"\n  woodblock | ~2\n", "syntax", "~2", "there is none"},
		{"part \"P\"\n  woodblock | % |\n", "syntax", "%", "none in this line"},
		{"bars 2\npart \"P\"\n  woodblock | 1 | % x4\n", "bar-length", "% x4", "past bar 2"},
		{"meter 3/4 from 2\npart \"P\"\n  woodblock | 4 | %\n", "bar-length", "%", "does not fit bar 2"},
		{"part \"P\"\n  wodblock | 1\n", "unknown-name", "wodblock", "did you mean woodblock"},
		{"player Ida\n  R woodblock with rubbr-mallet | 1\n", "unknown-name", "rubbr-mallet", "did you mean rubber-mallet"},
		{"player Ida\n  from Q\n  R woodblock | 1\n", "unknown-place", "Q", "no mark Q"},
		{"mark A at 2\nmark A at 3\n", "syntax", "A", "already set"},
		{"repeat 9-1\n", "unknown-place", "9", "bar 9"},
		{"bars 16\nrepeat 9-1\n", "unknown-place", "9-1", "backwards"},
		{"bars 16\nrepeat 9-31\n", "unknown-place", "31", "bar 31"},
		{"bars 9\nhold 3.5\n", "count", "3.5", "no count 5"},
		{"meter 4/5\n", "value", "4/5", ""},
		{"meter 7/8 in 2+2\n", "value", "2+2", "adds up to 4"},
		{"tempo 0\n", "value", "0", "counts a minute"},
		{"player Ida\n  profile heroic\n", "value", "heroic", "student"},
		{"R woodblock | 1\n", "syntax", "R woodblock | 1", "player NAME"},
		{"woodblock | 1\n", "syntax", "woodblock | 1", "part"},
		{"| 1\n", "syntax", "| 1", "go on from nothing"},
		{"way held takes 1 hand\n", "syntax", "way held takes 1 hand", "instrument"},
		{"player Ida\n  R woodblock\n", "syntax", "R woodblock", "plays nothing yet"},
		{"player Ida\n  R lays it\n", "syntax", "R lays it", "at 12.3"},
		{"player Ida\n  RF takes snare-stick at 1\n", "syntax", "RF", "one hand"},
		{"player Ida\n  kit\n    table\n", "syntax", "table", "where it stands"},
		{"player Ida\n  kit\n    woodblock at shed left 3\n", "unknown-name", "shed", "no station"},
		{"player Ida\n  kit\n    woodblock at left 3\n    woodblock at left 9\n", "syntax", "woodblock", "already in this kit"},
		{"omit woodblock\n", "syntax", "omit woodblock", "needs its reason"},
		{"accept short-change at 1\n", "syntax", "accept short-change at 1", "needs its reason"},
		{"use \"kit.handful\"\n", "use", "\"kit.handful\"", ""},
		{"part \"P\" in \"show.musicxml\"\n", "use", "\"show.musicxml\"", "no folder to find it in"},
		{"part \"P\"\n  T.T. | 1\n", "unclear-name", "T.T.", " or "},
		{"bars 8\nrepeat 1-5\nrepeat 3-8\n", "road-map", "repeat 3-8", ""},
	} {
		s := bindText(c.text)
		var got *Problem
		for i := range s.Problems {
			if s.Problems[i].Rule == c.rule {
				got = &s.Problems[i]
				break
			}
		}
		require.NotNil(t, got, "%s\n%+v", c.text, s.Problems)
		line := s.Sources[got.Where.File].File.Lines[got.Where.Line].Text
		assert.Equal(t, c.at, line[got.Where.Start:got.Where.End], c.text)
		assert.Contains(t, got.Message(), c.says, c.text)
	}
}

func TestABrokenLineLeavesTheRest(t *testing.T) {
	s := bindText("tempo 96\nplayer Ida\n  R snare-drum | 1 2 oops |\n  garbage !!\n  L woodblock | 3 |\n")
	require.NotEmpty(t, s.Problems)
	require.Len(t, s.Players[0].Cues, 2)
	assert.Equal(t, "1.1 1.2", onsets(s, s.Players[0].Cues[0].Strokes))
	assert.Equal(t, "1.3", onsets(s, s.Players[0].Cues[1].Strokes))
}

const twoParts = `bars 8
mark A at 5
part "P1"
  woodblock | 1 2 | 3 4 | % | % | 1 | - | - | 4
part "P2"
  woodblock | - | - | - | - | - | 2 | - | -
  triangle  | 1 | - | - | - | 1 | - | - | -
`

func TestAsWritten(t *testing.T) {
	for _, c := range []struct{ cue, want string }{
		{"R woodblock as written", "1.1 1.2 2.3 2.4 3.3 3.4 4.3 4.4 5.1 6.2 8.4"},
		{"R woodblock as written in 2-3", "2.3 2.4 3.3 3.4"},
		{"R woodblock as written on 1 4", "1.1 2.4 3.4 4.4 5.1 8.4"},
		{"R woodblock as written of \"P2\"", "6.2"},
		{"R woodblock as written in 1-2 on 3 of \"P1\"", "2.3"},
		{"from A\n  R woodblock as written", "5.1 6.2 8.4"},
		{"R woodblock as written\n  from A\n  R triangle as written", "1.1 1.2 2.3 2.4 3.3 3.4 4.3 4.4"},
		{"R snare-drum for woodblock as written in 1", "1.1 1.2"},
	} {
		s := clean(t, twoParts+"player Ida\n  "+c.cue+"\n")
		assert.Equal(t, c.want, onsets(s, s.Players[0].Cues[0].Strokes), c.cue)
	}
	s := bindText(twoParts + "player Ida\n  R claves as written\n")
	require.Len(t, s.Problems, 1)
	assert.Equal(t, "unused", s.Problems[0].Rule)
}

func TestCoverageCountsEveryStroke(t *testing.T) {
	for _, c := range []struct {
		players string
		want    Coverage
		gaps    int
	}{
		{"player Ida\n  R woodblock as written\n  L triangle as written\n", Coverage{Written: 13, Covered: 13}, 0},
		{"player Ida\n  R woodblock as written\n", Coverage{Written: 13, Covered: 11}, 1},
		{"player Ida\n  R woodblock as written\nomit triangle because \"x\"\n", Coverage{Written: 13, Covered: 11, Omitted: 2}, 0},
		{"player Ida\n  R woodblock as written\nomit triangle in 1-4 because \"x\"\n", Coverage{Written: 13, Covered: 11, Omitted: 1}, 1},
		{"player Ida\n  R snare-drum for woodblock as written\n  L triangle as written\n", Coverage{Written: 13, Covered: 2, Substituted: 11}, 0},
		{"player Ida\n  R woodblock | 1 2 | 3 4\n", Coverage{Written: 13, Covered: 4}, 3},
	} {
		s := clean(t, twoParts+c.players)
		got := s.Coverage
		assert.Len(t, got.Uncovered, c.gaps, c.players)
		assert.Len(t, got.Left, got.Omitted, c.players)
		got.Uncovered, got.Left, got.Doubled, got.Extra = nil, nil, nil, nil
		assert.Equal(t, c.want, got, c.players)
	}
	s := clean(t, twoParts+"player Ida\n  R woodblock as written\n  L triangle as written\nplayer Per\n  R woodblock as written in 5-8\n")
	assert.Len(t, s.Coverage.Doubled, 2, "a run of each part's line")
	s = clean(t, twoParts+"player Ida\n  R woodblock | 1 2 4\n")
	require.Len(t, s.Coverage.Extra, 1)
	assert.Equal(t, 2, s.Coverage.Extra[0].First)
}

// Cues of one pass cover that pass only.
func TestPasses(t *testing.T) {
	text := `bars 2
repeat 1-2
part "P"
  woodblock | 1 | 1
player Ida
  from 1 on pass 1
  R woodblock as written
`
	s := clean(t, text)
	assert.Equal(t, 2, s.Passes(1))
	require.Len(t, s.Coverage.Uncovered, 1)
	assert.Equal(t, uint64(2), s.Coverage.Uncovered[0].Passes, "the second pass")
	s = clean(t, text+"  from 1 on pass 2\n  L woodblock as written\n")
	assert.Empty(t, s.Coverage.Uncovered)
	assert.Empty(t, s.Coverage.Doubled)
}

func TestKits(t *testing.T) {
	s := clean(t, `kit
  bass-drum on stand at ahead 50
player Ida
  kit
    station bars at right 200 behind 20
    high-block is woodblock clamped at left 30 ahead 40 up 10
    vibraphone on stand at bars ahead 40
    table at bars right 30
  R high-block | 1
  R vibraphone | 2
  L bass-drum  | 1
  R woodblock  | 3
  profile student reach 55 margin 1.2
`)
	p := s.Players[0]
	assert.Equal(t, -30.0, p.Item("high-block").At.Right)
	assert.Equal(t, 200.0, p.Item("vibraphone").At.Right)
	assert.Equal(t, 20.0, p.Item("vibraphone").At.Ahead)
	assert.True(t, p.Item("bass-drum").Shared)
	assert.Same(t, p.Item("high-block"), p.Cues[3].Item, "the only woodblock there is")
	assert.Equal(t, 230.0, p.Tables[0].At.Right)
	assert.Equal(t, "student", p.Profile.Name)
	assert.Equal(t, 55.0, p.Profile.Reach)
}

func TestUnplacedThingsStandInAnArcWithinReach(t *testing.T) {
	for n := 1; n <= 8; n++ {
		for i := range n {
			a := arc(i, n)
			d := a.Dist(arc(0, 1))
			assert.LessOrEqual(t, a.Dist(struct{ Right, Ahead, Up float64 }{}), 75.0)
			if i > 0 {
				assert.Greater(t, d, 10.0)
			}
		}
	}
}

// files is a loader over texts in memory.
type files map[string]string

func (f files) load(_, path string) (string, *syntax.File, error) {
	text, ok := f[path]
	if !ok {
		return "", nil, errors.New("there is no such file")
	}
	return path, syntax.Parse(text), nil
}

func TestUse(t *testing.T) {
	lib := files{
		"kit.handful":   "kit\n  woodblock clamped at left 30 ahead 40\ninstrument ships-bell\n  family metal\n  way hung takes 1 hand with brass-mallet\n",
		"parts.handful": "part \"P\"\n  woodblock | 1 2\n",
		"a.handful":     "use \"b.handful\"\n", "b.handful": "use \"a.handful\"\n",
		"wrong.handful": "oops !\n",
	}
	s := Bind("main.handful", syntax.Parse("use \"kit.handful\"\nuse \"parts.handful\"\nuse \"kit.handful\"\nplayer Ida\n  R woodblock as written\n  L ships-bell | 1\n"), lib.load, Options{})
	assert.Empty(t, s.Problems)
	assert.True(t, s.Players[0].Item("woodblock").Placed)
	assert.Equal(t, "1.1 1.2", onsets(s, s.Players[0].Cues[0].Strokes))

	for text, says := range map[string]string{
		"use \"gone.handful\"\n":  "no such file",
		"use \"a.handful\"\n":     "uses itself, through",
		"use \"main.handful\"\n":  "no such file",
		"use \"wrong.handful\"\n": "of its own",
	} {
		s := Bind("main.handful", syntax.Parse(text), lib.load, Options{})
		require.NotEmpty(t, s.Problems, text)
		assert.Contains(t, s.Problems[0].Message(), says)
	}
}

// Limits are met, said, and bounded.
func TestLimits(t *testing.T) {
	rule := func(s *Score) string {
		if len(s.Problems) == 0 {
			return ""
		}
		return s.Problems[0].Rule
	}
	assert.Equal(t, "too-large", rule(bindText("player Ida\n  R woodblock | 1 | % x999999999\n")))
	assert.Equal(t, "too-large", rule(bindText("player Ida\n  R woodblock | 1 | -999999999 | 2\n")))
	assert.Equal(t, "road-map", rule(bindText("repeat 1-1 x999999999\nplayer Ida\n  R woodblock | 1\n")))
	assert.Equal(t, "road-map", rule(bindText("bars 4\norder"+strings.Repeat(" 1-1 3-4", 3_000)+"\nplayer Ida\n  R woodblock | 1\n")))

	many := bindText("bars 200000\n" + strings.Repeat("player Ida\n  R woodblock | 1 2 3 4 | % x199999\n", 20))
	assert.Equal(t, "too-large", rule(many))
	total := 0
	for _, c := range many.Players[0].Cues {
		total += len(c.Strokes)
	}
	assert.LessOrEqual(t, total, maxWritten)

	// A million bars by files that use one another.
	lib := files{}
	for i := range 300 {
		lib[fmt.Sprintf("f%d.handful", i)] = fmt.Sprintf("use \"f%d.handful\"\npart \"P%d\"\n  woodblock | 1 | %% x3999\n", i+1, i)
	}
	s := Bind("f0.handful", syntax.Parse(lib["f0.handful"]), lib.load, Options{})
	assert.Equal(t, "too-large", rule(s))
	assert.LessOrEqual(t, len(s.Sources), maxDepth+1)

	wide := "" // and by one that uses many
	for i := range 400 {
		wide += fmt.Sprintf("use \"w%d.handful\"\n", i)
		lib[fmt.Sprintf("w%d.handful", i)] = fmt.Sprintf("part \"P%d\"\n  woodblock | 1\n", i)
	}
	s = Bind("main.handful", syntax.Parse(wide), lib.load, Options{})
	assert.Equal(t, "too-large", rule(s))
	assert.LessOrEqual(t, len(s.Sources), maxFiles)
}

func TestWhatIf(t *testing.T) {
	text := "tempo 60\npart \"P\"\n  woodblock | 1 2\nplayer Ida\n  R woodblock as written\nplayer Per\n  L triangle | 1\n"
	s := Bind("t", syntax.Parse(text), nil, Options{TempoFactor: 2, Without: []string{"Ida"}})
	assert.InDelta(t, 0.5, s.Time.Seconds(0, beat.R(1, 4)), 1e-12)
	require.Len(t, s.Players, 1)
	assert.Equal(t, "Per", s.Players[0].Name)
	assert.Len(t, s.Coverage.Uncovered, 1)
}

func FuzzBind(f *testing.F) {
	names, _ := filepath.Glob("../../examples/*.handful")
	for _, n := range names {
		if text, err := os.ReadFile(n); err == nil {
			f.Add(string(text))
		}
	}
	f.Add(twoParts + "player Ida\n  R woodblock as written on 1 4 in A-A+1\n  from 1 on pass 2\n  any triangle | 1~ | ~2 | %2 x2\n  L turns page at A.2&\n")
	f.Add("pickup 3/2\nmeter 7/8 in 2+2+3 from 2\ntempo 3/8 = 50 to 90 over 1-2\nvamp 1-2\nending 1,2 2-3\norder 1-2 1-3\nhold 2.3\nbars 9\n")
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 4096 {
			return
		}
		s := bindText(text)
		for _, p := range s.Problems {
			lines := s.Sources[p.Where.File].File.Lines
			if int(p.Where.Line) >= len(lines) || p.Where.Start < 0 || p.Where.End < p.Where.Start || int(p.Where.End) > len(lines[p.Where.Line].Text) || p.Message() == "" {
				t.Fatalf("%+v", p)
			}
		}
		c := s.Coverage
		if c.Covered+c.Substituted+c.Omitted > c.Written {
			t.Fatalf("%+v", c)
		}
		for _, p := range s.Players {
			for _, cue := range p.Cues {
				for i := 1; i < len(cue.Strokes); i++ {
					if cue.Strokes[i].At.Less(cue.Strokes[i-1].At) {
						t.Fatalf("strokes out of order in %q", text)
					}
				}
			}
		}
	})
}
