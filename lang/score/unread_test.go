package score

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/handful/lang/beat"
)

// summary is what a piece says, its problems apart.
func summary(s *Score) string {
	var b strings.Builder
	fmt.Fprintln(&b, s.Title, s.Grid.First(), s.Grid.Last(), s.HasTempo, len(s.Remarks))
	for bar := s.Grid.First(); bar <= s.Grid.Last(); bar++ {
		fmt.Fprintln(&b, bar, s.Grid.Meter(bar), s.Grid.Length(bar), s.Passes(bar), s.Tempo.At(s.Grid.Start(bar)))
	}
	section := func(list []Section) {
		for _, x := range list {
			fmt.Fprint(&b, x.From, x.To, x.Times, x.Numbers, " ")
		}
		fmt.Fprintln(&b)
	}
	section(s.Repeats)
	section(s.Endings)
	section(s.Vamps)
	section(s.Orders)
	for _, m := range s.Marks {
		fmt.Fprintln(&b, "mark", m.Name, m.Bar)
	}
	for _, n := range s.Numbers {
		fmt.Fprintln(&b, "printed", n.Text, n.Bar)
	}
	for _, p := range s.Pauses {
		fmt.Fprintln(&b, "pause", p.Break, p.At)
	}
	for _, o := range s.Omits {
		fmt.Fprintln(&b, "omit", o.Name, o.From, o.To)
	}
	for _, w := range s.Worths {
		fmt.Fprintln(&b, "worth", w.Part, w.Name, w.From, w.To, w.Times)
	}
	for _, t := range s.Together {
		fmt.Fprintln(&b, "together", t.Names, t.Part, t.From, t.To)
	}
	for _, a := range s.Accepts {
		fmt.Fprintln(&b, "accept", a.Rule)
	}
	for _, g := range s.Gear {
		fmt.Fprintln(&b, "gear", g.Name(), g.Count)
	}
	for _, in := range s.Defined {
		fmt.Fprintln(&b, "instrument", in.ID, len(in.Ways), len(in.StandsFor))
	}
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			fmt.Fprintln(&b, "line", p.Name, l.Name, l.From, onsets(s, l.Strokes))
		}
	}
	for _, p := range s.Players {
		fmt.Fprintln(&b, "player", p.Name, p.Profile.Name, p.Profile.Reach, p.Person.Words(), len(p.Stations), len(p.Actions), p.Holds[0].Said)
		for _, it := range p.Items {
			fmt.Fprintln(&b, "item", it.Name, it.At, it.Listed)
		}
		for _, t := range p.Tables {
			fmt.Fprintln(&b, "table", t.At, t.Assumed)
		}
		for _, c := range p.Cues {
			fmt.Fprintln(&b, "cue", c.Item.Name, c.From, c.Pass, onsets(s, c.Strokes))
		}
	}
	return b.String()
}

// spoilt is a line with something in it, before its bars, that nobody can read.
func spoilt(line string) string {
	says, bars, _ := strings.Cut(line, " |")
	if bars != "" {
		bars = " |" + bars
	}
	return says + " !?" + bars
}

// A line that could not be read says nothing, however much of it could be: the
// piece is as if it were not there, and it is told once.
func TestALineThatCannotBeReadSaysNothing(t *testing.T) {
	const text = `HEAD
gear
  2 woodblock
GEAR
instrument ships-bell
  family metal
  way hung takes 1 hand with brass-mallet
INSTRUMENT
part "P"
PART
  woodblock | 1 | 2 | 3 | 4 | 1 | 2 | 3 | 4
player Ida
PLAYER
  kit
    woodblock clamped at left 30 ahead 40
KIT
  R woodblock as written
  from 3
  L triangle clipped | 1
`
	with := func(where, line string) string {
		return strings.NewReplacer("HEAD", "", "GEAR", "", "INSTRUMENT", "", "PART", "", "PLAYER", "", "KIT", "").Replace(strings.Replace(text, where+"\n", line+"\n", 1))
	}
	without := bindText(with("HEAD", ""))
	assert.Empty(t, told(without))
	for _, c := range []struct{ where, line string }{
		{"HEAD", "title \"One\""}, {"HEAD", "meter 3/4"}, {"HEAD", "pickup 1"}, {"HEAD", "bars 9"}, {"HEAD", "tempo 200"},
		{"HEAD", "mark Z at 2"}, {"HEAD", "hold 2"}, {"HEAD", "break 2"}, {"HEAD", "repeat 1-2"}, {"HEAD", "ending 1 2-2"},
		{"HEAD", "vamp 1-2"}, {"HEAD", "order 1-2 1-8"}, {"HEAD", "note \"slowly\""}, {"HEAD", "cue \"horns\" at 2"},
		{"HEAD", "omit woodblock in 1 because \"x\""}, {"HEAD", "accept seam because \"x\""},
		{"GEAR", "  3 clamp"},
		{"INSTRUMENT", "  way clamped takes 1 hand with snare-stick"}, {"INSTRUMENT", "  stands for chimes costs \"softer\""},
		{"PART", "  triangle | 1"},
		{"PLAYER", "  seated"}, {"PLAYER", "  profile student"}, {"PLAYER", "  profile student reach 70"}, {"PLAYER", "  hands R"},
		{"PLAYER", "  rolls one-handed no"}, {"PLAYER", "  never timpani"}, {"PLAYER", "  likes timpani"},
		{"PLAYER", "  R holds snare-stick"}, {"PLAYER", "  L lays it at 3"}, {"PLAYER", "  R cowbell clamped | 1"},
		{"KIT", "    cowbell at left 50 ahead 30"}, {"KIT", "    station far at right 300"}, {"KIT", "    table at right 40 ahead 20"},
	} {
		whole := bindText(with(c.where, c.line))
		assert.NotEqual(t, summary(without), summary(whole), "%s: it says something when it can be read", c.line)
		broken := bindText(with(c.where, spoilt(c.line)))
		assert.Equal(t, summary(without), summary(broken), c.line)
		assert.NotEmpty(t, told(broken), c.line)
		for _, at := range told(broken) {
			assert.NotContains(t, at, "unknown-", c.line)
		}
	}
	// Names that nobody knows are not looked for in it either.
	for _, c := range []struct{ where, line string }{
		{"INSTRUMENT", "  way clamped takes 1 hand with snare-stik"}, {"INSTRUMENT", "  stands for chymes costs \"softer\""},
		{"KIT", "    cowbel at left 50 ahead 30"}, {"PLAYER", "  never timpany"}, {"GEAR", "  3 klamp"}, {"PART", "  tryangle | 1"},
		{"HEAD", "omit wodblock because \"x\""}, {"HEAD", "accept seam for Per because \"x\""},
	} {
		for _, at := range told(bindText(with(c.where, spoilt(c.line)))) {
			assert.NotContains(t, at, "unknown-", c.line)
		}
	}
}

// What somebody never plays or likes and nobody knows is told, and is nothing
// that they never play or like.
func TestTastesThatNobodyKnows(t *testing.T) {
	p, s := personOf(t, "never wodblock, timpani", "likes tryangle")
	assert.Equal(t, []string{
		"unknown-name [wodblock] no instrument is called “wodblock”; did you mean woodblock?",
		"unknown-name [tryangle] no instrument is called “tryangle”; did you mean triangle?",
	}, told(s))
	assert.Equal(t, []string{"never plays timpani"}, p.Person.Words())
	// A name of the own kit means what it is there.
	p, s = personOf(t, "kit", "  hoop is tambourine at left 30 ahead 40", "never hoop", "likes woods")
	assert.Empty(t, told(s))
	assert.Equal(t, "tambourine", p.Person.Never[0].Inst.ID)
	assert.Equal(t, "wood", p.Person.Likes[0].Family)
}

// What there is, by the name that it has in sentences, one or many of it.
func TestWhatThereIsByName(t *testing.T) {
	for line, want := range map[string]string{
		"2 snare-drum": "snare drum 2", "3 snare-drums": "snare drum 3", "1 triangle-beater": "triangle beater 1", "4 yarn-mallets": "yarn mallet 4",
		"2 clamps": "clamp 2", "1 stand": "stand 1", "2 cow-bells": "cowbell 2", "999 clamp": "clamp 999", "600 clamp, 600 clamp": "clamp 999",
		"1 clamp, 2 clamps": "clamp 3", "0 timpani": "timpani 0",
	} {
		s := gearOf(t, "gear\n  "+line+"\n")
		assert.Empty(t, told(s), line)
		if assert.Len(t, s.Gear, 1, line) {
			assert.Equal(t, want, fmt.Sprint(s.Gear[0].Name(), " ", s.Gear[0].Count))
		}
	}
	s := gearOf(t, "gear\n  1 clamp, 2 snare-drum, 3 snare-stick\n")
	assert.Len(t, s.Gear, 3, "each is a thing of its own")
	assert.Nil(t, s.GearOf(nil))
	assert.Nil(t, s.GearOfImplement(nil))
	assert.Nil(t, s.gearOfHardware(""))
	assert.Equal(t, 1, s.gearOfHardware("clamp").Count)
}

// A line that was refused explains the bars that it was to play: as many as it
// has, or up to the next from, or all that follow.
func TestWhichBarsARefusedLineExplains(t *testing.T) {
	const part = "bars 6\npart \"P\"\n  woodblock | 1 | 1 | 1 | 1 | 1 | 1\n"
	for line, want := range map[string][]string{
		"from 2\n  R wodblock | 1\n": {"nobody woodblock 1.1", "nobody woodblock 2.1 refused", "nobody woodblock 3.1 to 6.1"},
		"R wodblock | 1\n":           {"nobody woodblock 1.1 refused", "nobody woodblock 2.1 to 6.1"},
		"R wodblock | 1 | 1\n":       {"nobody woodblock 1.1 to 2.1 refused", "nobody woodblock 3.1 to 6.1"},
		"from 6\n  R wodblock | 1\n": {"nobody woodblock 1.1 to 5.1", "nobody woodblock 6.1 refused"},
		"R wodblock as written\n  from 3\n  R triangle clipped | 1\n":           {"nobody woodblock 1.1 to 2.1 refused", "nobody woodblock 3.1 to 6.1", "not written triangle 3.1"},
		"from 2\n  R wodblock as written\n  from 3\n  R woodblock as written\n": {"nobody woodblock 1.1", "nobody woodblock 2.1 refused"},
	} {
		assert.Equal(t, want, runs(bindText(part+"player Ida\n  "+line)), line)
	}
	// A short word is near to too many names to mean one of them.
	for word, refused := range map[string]bool{"tock": true, "tocl": true, "toc": false, "wood-block": true, "shaker": false} {
		s := bindText("part \"P\"\n  tock | 1\nplayer Ida\n  kit\n    tock is woodblock clamped at left 30 ahead 40\n  R " + word + "\n")
		if assert.Len(t, s.Coverage.Uncovered, 1, word) {
			assert.Equal(t, refused, s.Coverage.Uncovered[0].Refused, word)
		}
	}
}

// A roll goes on only from the bar before: what is struck in between ends it.
func TestWhatEndsARollOverTheBarLine(t *testing.T) {
	for _, c := range []struct {
		bars, want string
		told       bool
	}{
		{"| 1~ | ~2", "1.1~2.2", false},
		{"| 1~ | ~ | ~2", "1.1~3.2", false},
		{"| 1~ | ~ 1 | ~2", "1.1~3.2", true}, // bar 2 is full
		{"| 1~ | 2 | ~2", "1.1~2.1 2.2", true},
		{"| 1~ | 2 3~ | ~2", "1.1~2.1 2.2 2.3~3.2", false},
		{"| 1~ | \"dolce\" | ~2", "1.1~2.1", true},
		{"| 1~ | p ~2", "1.1~2.2", false},
		{"| 1~ | ~2 ~3", "1.1~2.2", true},
		{"| 1~ | ~2 2", "1.1~2.2 2.2", false}, // a stroke may end it
	} {
		s := bindText("player Ida\n  R triangle " + c.bars + "\n")
		assert.Equal(t, c.told, len(told(s)) > 0, "%s: %q", c.bars, told(s))
		assert.Equal(t, c.want, onsets(s, s.Players[0].Cues[0].Strokes), c.bars)
	}
}

// Bars are named by a range that is read from its beginning to its end.
func TestBarsAndCountsThatArePlaces(t *testing.T) {
	s := clean(t, "bars 12\nmark A at 5\nmark B at 9\nrepeat A-B\nvamp A+1-A+2\nhold B+1.3\nomit woodblock in A because \"x\"\n")
	assert.Equal(t, [2]int{5, 9}, [2]int{s.Repeats[0].From, s.Repeats[0].To})
	assert.Equal(t, [2]int{6, 7}, [2]int{s.Vamps[0].From, s.Vamps[0].To})
	assert.Equal(t, "10.3", s.Place(s.Pauses[0].At))
	assert.Equal(t, [2]int{5, 5}, [2]int{s.Omits[0].From, s.Omits[0].To})
	assert.True(t, s.Marks[0].Used && s.Marks[1].Used)
	assert.False(t, clean(t, "bars 3\nmark A at 2\n").Marks[0].Used)
	assert.Equal(t, beat.R(1, 1), s.Grid.Start(2))
	for text, says := range map[string]string{
		"mark A at 2\nhold C\n":   "there is no mark C: add  mark C at BAR; the marks are A",
		"hold C\n":                "there is no mark C: add  mark C at BAR",
		"mark A at 2\nhold A+9\n": "there is no bar 11: the piece has bars 1 to 2; write  bars 11  if it is longer than what is written out",
		"bars 3\nhold 4\n":        "there is no bar 4: the piece has bars 1 to 3",
	} {
		got := bindText(text).Problems
		if assert.Len(t, got, 1, text) {
			assert.Equal(t, says, got[0].Message())
			assert.Equal(t, "unknown-place", got[0].Rule)
		}
	}
}
