package check

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A rule is found by its name, and by nothing else.
func TestRulesByName(t *testing.T) {
	for _, r := range Rules() {
		assert.Same(t, r, RuleNamed(r.Name))
	}
	assert.Nil(t, RuleNamed(""))
	assert.Nil(t, RuleNamed("no-such-rule"))
}

// How a player's ceiling is said, from what no tempo mends to what nothing
// limits.
func TestCeilingsInWords(t *testing.T) {
	for _, c := range []struct {
		text  string
		never bool // at any tempo
		says  []string
	}{
		{"tempo 60\ngear\n  0 timpani\nplayer Ida\n  R timpani | 1 | 1\n", true,
			[]string{"cannot be played at any tempo: how little there is of the timpani, at 1.1"}},
		{"tempo 60\nplayer Ida\n  R snare-drum | 1\n  R woodblock | 1\n", true,
			[]string{"cannot be played at any tempo: to play the snare drum and play the woodblock at once, at 1.1"}},
		{"tempo 60\nplayer Ida\n  R snare-drum | 1\n", false,
			[]string{"nothing here limits the tempo"}},
		{"tempo 60\nplayer Ida\n  R snare-drum with snare-stick | 1 2 3 4 | 1\n", false,
			[]string{"nothing is at the edge up to 1/4 =", "cannot above 1/4 =", "the strokes of the right hand on the snare drum, at "}},
		{"tempo 60\nplayer Ida\n  R snare-drum with snare-stick | 1 | -\n  R woodblock clamped with rubber-mallet | - | 1\n", false,
			[]string{"the right hand on its way to the woodblock, at 2.1"}},
		{"tempo 60\nplayer Ida\n  RF bass-drum | 1\n  RF hi-hat | 3\n", false,
			[]string{"the foot on its way to the hi-hat, at 1.3"}},
		{"tempo 60\ngear\n  1 tambourine\nplayer Ida\n  R tambourine | 1 | -\nplayer Per\n  R tambourine | 4 | -\n", false,
			[]string{"how little there is of the tambourine"}},
	} {
		r := checkText(c.text)
		ceilings := r.Ceilings()
		require.NotEmpty(t, ceilings, c.text)
		first := &ceilings[0]
		assert.Equal(t, c.never, first.Cannot.Never(), c.text)
		if c.never {
			assert.Zero(t, first.Cannot.Factor, c.text)
		}
		for _, words := range c.says {
			assert.Contains(t, r.Says(first), words, c.text)
		}
	}
	// What cannot be carried over any sooner is so in the counts of the piece.
	r := checkText("tempo 60\ngear\n  1 tambourine\nplayer Ida\n  R tambourine | 1 | -\nplayer Per\n  R tambourine | 4 | -\n")
	assert.InDelta(t, 1, r.Ceilings()[1].Cannot.Factor, 0.001, "three seconds are needed, and three there are")
	assert.InDelta(t, 60, r.Ceilings()[1].Cannot.CountsPerMinute, 0.1)
}

func TestRoundingDown(t *testing.T) {
	assert.Equal(t, 1.23, RoundDown(1.239, 100))
	assert.Equal(t, 96.0, RoundDown(95.9999999, 1), "what floating point takes off is no part")
	assert.Equal(t, 95.0, RoundDown(95.99, 1))
}

// Bars are named one by one, up to a dozen of them.
func TestBarsAreNamed(t *testing.T) {
	upTo := func(n int) (bars []int) {
		for i := range n {
			bars = append(bars, i+3)
		}
		return bars
	}
	assert.Equal(t, "bar 3", barList(&score.Score{}, upTo(1)))
	assert.Equal(t, "bars 3 and 4", barList(&score.Score{}, upTo(2)))
	assert.Equal(t, "bars 3, 4 and 5", barList(&score.Score{}, upTo(3)))
	assert.Equal(t, "bars 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13 and 14", barList(&score.Score{}, upTo(12)))
	assert.Equal(t, "bars 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14 and on to 15", barList(&score.Score{}, upTo(13)))
}

// Of alike places it is told how many more there are, and up to where.
func TestHowOftenItIsSo(t *testing.T) {
	for _, c := range []struct {
		more, bar, last int
		want            string
	}{
		{0, 3, 3, ""},
		{0, 3, 9, ""},
		{1, 3, 3, " (and once more in this bar)"},
		{1, 3, 0, " (and once more in this bar)"},
		{1, 3, 4, " (and once more, in bar 4)"},
		{2, 3, 3, " (and 2 times more in this bar)"},
		{2, 3, 4, " (and 2 times more, to bar 4)"},
	} {
		assert.Equal(t, c.want, times(&score.Score{}, c.more, c.bar, c.last), fmt.Sprint(c))
	}
	assert.Equal(t, "1 stroke", plural(1, "stroke"))
	assert.Equal(t, "0 strokes", plural(0, "stroke"))
	assert.Equal(t, "2", passWords(2))
	assert.Equal(t, "1 and 3", passWords(5))
	assert.Equal(t, "1, 2 and 63", passWords(3|1<<62))
}

// An acceptance is written for the place, or the bars, of what it accepts, and
// for the player.
func TestWhatAnAcceptanceIsWrittenFor(t *testing.T) {
	for _, c := range []struct {
		f    Finding
		want string
	}{
		{Finding{Rule: seam}, `accept seam because "say why"`},
		{Finding{Rule: seam, Player: "Ida"}, `accept seam for Ida because "say why"`},
		{Finding{Rule: seam, Player: "Ida May"}, `accept seam for "Ida May" because "say why"`},
		{Finding{Rule: seam, Player: "Ida # May"}, `accept seam for "Ida # May" because "say why"`},
		{Finding{Rule: seam, HasPlace: true, Bar: 3}, `accept seam at 3 because "say why"`},
		{Finding{Rule: seam, HasPlace: true, Bar: 3, Times: 1, LastBar: 5, Player: "Ida"}, `accept seam in 3-5 for Ida because "say why"`},
		{Finding{Rule: seam, HasPlace: true, Bar: 3, Times: 2}, `accept seam in 3 because "say why"`},
	} {
		c.f.in = &Context{Result: checkText("tempo 60\n")}
		c.f.accept()
		require.Len(t, c.f.proposals, 1)
		require.Len(t, c.f.proposals[0].Edits, 1)
		assert.Equal(t, c.want+"\n", c.f.proposals[0].Edits[0].Text)
	}
}

// Beside an error that no tempo mends no ceiling says that nothing limits it.
func TestNoTempoBringsAnythingIntoReach(t *testing.T) {
	for _, text := range []string{
		"tempo 60\nplayer Ida\n  kit\n    woodblock clamped at right 10 ahead 40 up 260\n  R woodblock with snare-stick | 1\n",
		"tempo 60\nplayer Ida\n  kit\n    snare-drum on stand at ahead 40\n    cowbell clamped at right 250 ahead 40\n  L snare-drum | 1\n  R cowbell | - | 1\n",
		"tempo 60\nplayer Ida\n  seated\n  kit\n    snare-drum on stand at ahead 40\n    cowbell clamped at right 150 ahead 40\n  L snare-drum | 1\n  R cowbell | - | 1\n",
	} {
		r := checkText(text)
		c := r.Ceilings()[0]
		assert.True(t, c.Cannot.Never(), text)
		assert.NotContains(t, r.Says(&c), "nothing", text)
	}
}

// A ceiling is the same whatever tempo is supposed, and what nothing limits at
// one tempo nothing limits at another.
func TestCeilingsAtAnyTempo(t *testing.T) {
	for _, text := range []string{
		"tempo 60\nplayer Ida\n  R snare-drum with snare-stick | 1 2 3 4 | 1\n",
		"tempo 60\nplayer Ida\n  R snare-drum with snare-stick | 1 | -\n  R woodblock clamped with rubber-mallet | - | 1\n",
		"tempo 60\nplayer Ida\n  RF bass-drum | 1\n  RF hi-hat | 3\n",
		"tempo 60\ngear\n  1 tambourine\nplayer Ida\n  R tambourine | 1 | -\nplayer Per\n  R tambourine | 4 | -\n",
		"tempo 60\nplayer Ida\n  R snare-drum | 1\n",
		"tempo 60\nplayer Ida\n  R snare-drum | 1\n  R woodblock | 1\n",
	} {
		want := checkText(text).Ceilings()
		for _, factor := range []float64{0.1, 0.25, 0.8, 1.5, 10} {
			got := Check("x", syntax.Parse(text), Options{Score: score.Options{TempoFactor: factor}}).Ceilings()
			require.Len(t, got, len(want))
			for i := range want {
				for _, b := range [][2]Bound{{want[i].Edge, got[i].Edge}, {want[i].Cannot, got[i].Cannot}} {
					if assert.Equal(t, b[0].None(), b[1].None(), "%s at %g", text, factor) && !b[0].None() {
						assert.InDelta(t, b[0].Factor, b[1].Factor, 0.002, "%s at %g", text, factor)
						assert.InDelta(t, b[0].CountsPerMinute, b[1].CountsPerMinute, 0.2, "%s at %g", text, factor)
						assert.Equal(t, b[0].Place, b[1].Place, "%s at %g", text, factor)
						assert.Equal(t, b[0].Words, b[1].Words, "%s at %g", text, factor)
					}
				}
			}
		}
	}
}

// A ceiling says its tempo in the counts of the bar that sets it, and its edge
// and what cannot be done apart from one another.
func TestHowCeilingsAreSaid(t *testing.T) {
	for _, c := range []struct{ head, bars, says string }{
		{"tempo 60\n", "1 2 3 4", "nothing is at the edge up to 1/4 = "},
		{"meter 6/8 in 2\ntempo 60\n", "1 1t 1l 2", "nothing is at the edge up to 3/8 = "},
		{"meter 6/8\ntempo 60\n", "1 2 3 4", "nothing is at the edge up to 1/8 = "},
		{"meter 2/2\ntempo 60\n", "1 1& 2", "nothing is at the edge up to 1/2 = "},
	} {
		r := checkText(c.head + "player Ida\n  R snare-drum with snare-stick | " + c.bars + "\n")
		assert.Contains(t, r.Says(&r.Ceilings()[0]), c.says)
	}
	r := checkText("tempo 60\nplayer Ida\n  R snare-drum | 1\n")
	inf := math.Inf(1)
	for _, c := range []struct {
		edge, cannot float64
		says         string
	}{
		{inf, inf, "nothing here limits the tempo, up to 10 times what is written"},
		{1.5, inf, "nothing is at the edge up to 1/4 = 90 (1.50 × the written tempo): this, at 1.1; nothing is out of reach"},
		{0, inf, "at the edge at any tempo: this, at 1.1; nothing is out of reach"},
		{inf, 2, "nothing is at the edge; cannot above 1/4 = 120 (2.00 × the written tempo): that, at 1.2"},
		{1.5, 2, "nothing is at the edge up to 1/4 = 90 (1.50 × the written tempo): this, at 1.1; cannot above 1/4 = 120 (2.00 × the written tempo): that, at 1.2"},
		{0, 2, "at the edge at any tempo: this, at 1.1; cannot above 1/4 = 120 (2.00 × the written tempo): that, at 1.2"},
		{0, 0, "cannot be played at any tempo: that, at 1.2"},
	} {
		ceiling := Ceiling{
			Edge:   Bound{Factor: c.edge, CountsPerMinute: 60 * c.edge, Place: "1.1", Words: "this"},
			Cannot: Bound{Factor: c.cannot, CountsPerMinute: 60 * c.cannot, Place: "1.2", Words: "that"},
		}
		assert.Equal(t, c.says, r.Says(&ceiling))
	}
	// Nothing is looked for beyond ten times what is written.
	for factor, none := range map[float64]bool{9.99: false, 10: false, 10.01: true} {
		b := r.tempo(Bound{Factor: factor})
		assert.Equal(t, none, b.None(), "%g", factor)
	}
}

// Each player's ceiling counts what is wrong for that player, and no tempo mends
// what has nothing to do with time.
func TestWhoseCeilingItIs(t *testing.T) {
	r := checkText("tempo 60\nplayer Ida\n  R snare-drum with snare-stick | 1 2\nplayer Per\n  kit\n    woodblock on stand at left 20 ahead 40\n  R woodblock clamped with rubber-mallet | 2 3\n")
	require.NotEmpty(t, found(r, missingGear))
	ceilings := r.Ceilings()
	assert.Equal(t, []string{"Ida", "Per"}, []string{ceilings[0].Player, ceilings[1].Player})
	assert.Greater(t, ceilings[0].Cannot.Factor, 1.0, "Ida has nothing to do with it")
	assert.Zero(t, ceilings[1].Cannot.Factor)
	assert.Equal(t, "cannot be played at any tempo: Per's kit has the woodblock on stand, and this cue wants it clamped, at 1.2", r.Says(&ceilings[1]))
	assert.Zero(t, ceilings[1].Edge.Factor, "nor can it be safe")
	// What is merely a warning, or is weighed, limits nothing.
	r = checkText("tempo 60\nplayer Per\n  kit\n    woodblock on stand at left 20 ahead 40\n  R woodblock clamped with rubber-mallet | 2 3\naccept missing-gear because \"it comes with the hall\"\n")
	assert.Greater(t, r.Ceilings()[0].Cannot.Factor, 1.0)
}

// Where there is no room for a thing, that is said with what is assumed.
func TestWhatHasNoRoomIsSaid(t *testing.T) {
	r := checkText(`tempo 60
player Ida
  kit
    a is marimba at ahead 70
    b is marimba at right 140 ahead 20 facing 90
    c is marimba at left 140 ahead 20 facing 90
    d is marimba at behind 70
    e is marimba at ahead 160
    f is marimba at behind 160
    table at right 60 ahead 10
    table at left 60 ahead 10
  R timpani with timpani-mallet | 1
  R a with yarn-mallet          | - | 3
`)
	got := found(r, assumedKit)
	require.Len(t, got, 1)
	assert.Equal(t, "where Ida has these is assumed: timpani; there is no room within reach for the timpani", got[0].Message())
}

// How quickly strokes come is said by how many there are, and why they are too
// quick by the band that they fall into.
func TestHowQuicklyStrokesCome(t *testing.T) {
	pace := body.Pace{Limit: 0.08, Floor: 0.1, Steady: 0.125}
	for _, c := range []struct {
		r       repetition
		every   string
		verdict string
	}{
		{repetition{Rate: motion.Rate{Gap: 0.05, Pace: pace, Strokes: 2}, severity: Error}, "every 0.050 s", "the limit is 0.080 s"},
		{repetition{Rate: motion.Rate{Gap: 0.05, Pace: pace, Strokes: body.Few}, severity: Error}, "every 0.050 s", "the limit is 0.080 s"},
		{repetition{Rate: motion.Rate{Gap: 0.05, Pace: pace, Strokes: body.Few + 1}, severity: Error}, fmt.Sprintf("%d times in a row, every 0.050 s,", body.Few+1), "for more than a few the limit is 0.080 s"},
		{repetition{Rate: motion.Rate{Gap: 0.05, Pace: pace, Strokes: body.Phrase}, severity: Error}, fmt.Sprintf("%d times in a row, every 0.050 s,", body.Phrase), "for more than a few the limit is 0.080 s"},
		{repetition{Rate: motion.Rate{Gap: 0.05, Pace: pace, Strokes: body.Phrase + 1}, severity: Error}, fmt.Sprintf("%d times in a row, every 0.050 s,", body.Phrase+1), "for so many the limit is 0.080 s"},
		{repetition{Rate: motion.Rate{Gap: 0.05, Pace: pace, Strokes: 2, Grace: 1}, severity: Error}, "after 0.050 s, 1 grace stroke counted,", "the limit is 0.080 s"},
		{repetition{Rate: motion.Rate{Gap: 0.05, Pace: pace, Strokes: 2, Grace: 2}, severity: Error}, "after 0.050 s, 2 grace strokes counted,", "the limit is 0.080 s"},
		{repetition{Rate: motion.Rate{Gap: 0.09, Pace: pace, Strokes: 2}, severity: Warning}, "every 0.090 s", "that is at the edge: 0.100 s is the fastest on average, at 90 % of this tempo"},
		{repetition{Rate: motion.Rate{Gap: 0.11, Pace: pace, Strokes: 2}, severity: Warning, tight: true}, "every 0.110 s", "0.125 s is comfortable, at 88 % of this tempo"},
		{repetition{Rate: motion.Rate{Gap: 1, Pace: body.Pace{Limit: 1.5}, Strokes: 2}, severity: Error}, "every 1.00 s", "the limit is 1.50 s"},
		{repetition{Rate: motion.Rate{Gap: 0.999, Pace: body.Pace{Limit: 1.5}, Strokes: 2}, severity: Error}, "every 0.999 s", "the limit is 1.50 s"},
	} {
		assert.Equal(t, c.every, c.r.every())
		assert.Equal(t, c.verdict, c.r.verdict())
	}
}

// What stops the show comes first: what is not even read, what no tempo mends,
// what has the least of its time; then warnings, and then the rest, each in the
// order of the text.
func TestWhatIsReadFirst(t *testing.T) {
	timed := func(limit, window float64) Finding {
		return Finding{Rule: shortChange, Timed: true, Need: body.Pace{Limit: limit}, Window: window}
	}
	r := &Result{Findings: []Finding{
		0:  {Rule: assumedKit, Severity: Info},
		1:  {Rule: compromise, Severity: Compromise},
		2:  {Rule: seam, Severity: Warning},
		3:  timed(1, 0.9),
		4:  timed(1, 0.2),
		5:  timed(0.5, 0.3),
		6:  {Rule: handOverlap},
		7:  timed(0, 0.1), // has no limit, so no tempo mends it
		8:  {Rule: syntaxRule},
		9:  {Rule: internalRule},
		10: {Rule: thinMargin, Severity: Warning, Timed: true, Need: body.Pace{Limit: 1}, Window: 0.1},
		11: {Rule: missingGear},
		12: {Rule: lateCue, Severity: Info},
	}}
	assert.Equal(t, []int{8, 9, 6, 7, 11, 4, 5, 3, 2, 10, 0, 1, 12}, r.ByWeight())
}

// A name of another file is mended there, and not here.
func TestNamesOfAnotherFileAreNotMendedHere(t *testing.T) {
	load := func(_, path string) (string, *syntax.File, error) {
		return path, syntax.Parse("kit\n  snare-drmu on stand at ahead 40\n"), nil
	}
	r := Check("x", syntax.Parse("use \"house.handful\"\nplayer Ida\n  R woodblock clamped | 1\n"), Options{Load: load})
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Where.File != 0 {
			assert.Empty(t, r.Fixes(f), f.Message())
		}
	}
	text, made := r.FixAll()
	assert.Zero(t, made)
	assert.Equal(t, r.File.Text(), text)
}
