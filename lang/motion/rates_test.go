package motion

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
)

// Every motion that the catalogue may name has a row in the table of rates for
// some limb.
func TestEveryMotionHasItsRates(t *testing.T) {
	for _, word := range kit.Motions() {
		found := false
		for _, limb := range []string{body.OneHand, body.BothHands, body.TwoHands, body.OneFoot, body.ByMouth} {
			found = found || body.TechniqueOf(word, limb) != nil
		}
		assert.True(t, found, word)
	}
}

// strokes is a bar list with a stroke at each of some sixteenths.
func strokes(at []int) string {
	letters := [...]string{"", "e", "&", "a"}
	var b strings.Builder
	bars := 1
	for _, n := range at {
		bars = max(bars, n/16+1)
	}
	for bar := range bars {
		rest := " -"
		b.WriteString(" |")
		for _, n := range at {
			if n/16 == bar {
				fmt.Fprintf(&b, " %d%s", n%16/4+1, letters[n%4])
				rest = ""
			}
		}
		b.WriteString(rest)
	}
	return b.String() + " |\n"
}

// lines are the cues of a made-up player: a limb and an instrument each, with
// strokes on some sixteenths.
type line struct {
	cue string
	at  []int
}

func drawLines(t *rapid.T) []line {
	hands := rapid.SampledFrom([][][]string{
		{{"R snare-drum with snare-stick", "R cowbell clamped with snare-stick"}, {"L snare-drum with snare-stick"}},
		{{"R snare-drum with snare-stick", "R tom-toms with snare-stick"}, {}},
		{{"R woodblock clamped with snare-stick"}, {"L woodblock clamped with snare-stick", "L snare-drum with snare-stick"}},
		{{"RL tom-toms with snare-stick"}},
		{{"R marimba with 2 yarn-mallets"}, {"L shaker"}},
		{{"R hi-hat with snare-stick"}, {"L snare-drum with snare-stick"}, {"RF bass-drum-pedal"}, {"LF bass-drum-pedal"}},
	}).Draw(t, "limbs")
	density := rapid.IntRange(4, 10).Draw(t, "how many of ten")
	var out []line
	for _, limb := range hands { // a limb does one thing at a time
		own := make([]line, len(limb))
		for i, cue := range limb {
			own[i].cue = cue
		}
		for n := range 48 {
			if len(limb) > 0 && rapid.IntRange(0, 9).Draw(t, "stroke") < density {
				i := rapid.IntRange(0, len(limb)-1).Draw(t, "on")
				own[i].at = append(own[i].at, n)
			}
		}
		for _, l := range own {
			if len(l.at) > 0 {
				out = append(out, l)
			}
		}
	}
	return out
}

// piece is the player's text. The kit stands on one spot, so that no way takes
// time and nothing but rates is in the way.
func piece(tempo float64, lines []line) string {
	var b strings.Builder
	fmt.Fprintf(&b, "tempo %.6f\nplayer Ida\n", tempo)
	for _, l := range lines {
		b.WriteString("  " + l.cue + strokes(l.at))
	}
	return b.String()
}

func ceilings(t *rapid.T, text string) (edge, cannot RateCeiling) {
	s := bind(t, text)
	return Solve(s, s.Players[0]).RateCeilings()
}

// What can be played at a tempo can be played at every slower one: the tempo
// at the ceiling is the same, whatever tempo it is worked out from.
func TestTheCeilingOfTheRatesIsTheSameFromAnyTempo(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		lines := drawLines(t)
		if len(lines) == 0 {
			t.Skip()
		}
		edge1, cannot1 := ceilings(t, piece(60, lines))
		f := rapid.Float64Range(0.5, 4).Draw(t, "factor")
		edge2, cannot2 := ceilings(t, piece(60*f, lines))
		for _, c := range [][2]float64{{edge1.Factor, f * edge2.Factor}, {cannot1.Factor, f * cannot2.Factor}} {
			if math.IsInf(c[0], 1) != math.IsInf(c[1], 1) || !math.IsInf(c[0], 1) && math.Abs(c[0]-c[1]) > 1e-6*c[0] {
				t.Fatalf("%g at 60, %g at %g", c[0], c[1], 60*f)
			}
		}
	})
}

// A stroke that is left out never makes what is left impossible.
func TestAStrokeLessIsNeverHarder(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		lines := drawLines(t)
		if len(lines) == 0 {
			t.Skip()
		}
		_, all := ceilings(t, piece(60, lines))
		i := rapid.IntRange(0, len(lines)-1).Draw(t, "line")
		k := rapid.IntRange(0, len(lines[i].at)-1).Draw(t, "stroke")
		if strings.HasPrefix(lines[i].cue, "RL") { // the hands would change about
			t.Skip()
		}
		gone := lines[i].at[k]
		lines[i].at = append(append([]int(nil), lines[i].at[:k]...), lines[i].at[k+1:]...)
		if len(lines[i].at) == 0 {
			t.Skip()
		}
		if _, less := ceilings(t, piece(60, lines)); less.Factor < all.Factor-1e-6 {
			t.Fatalf("%g with all, %g without sixteenth %d of\n%swindow %g to %g, was %g to %g", all.Factor, less.Factor, gone, piece(60, lines), less.Rate.From.T0*4, less.Rate.To.T0*4, all.Rate.From.T0*4, all.Rate.To.T0*4)
		}
	})
}

// Just below a ceiling nothing is under its limit, and just above something is;
// the same of the edge and the floor.
func TestAtTheCeilingOfTheRates(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		lines := drawLines(t)
		if len(lines) == 0 {
			t.Skip()
		}
		edge, cannot := ceilings(t, piece(60, lines))
		worst := func(tempo float64) (missing, atEdge bool) {
			s := bind(t, piece(tempo, lines))
			for _, r := range Rates(Solve(s, s.Players[0])) {
				missing = missing || r.Gap < r.Pace.Limit-eps
				atEdge = atEdge || r.Gap < r.Pace.Floor-eps
			}
			return missing, atEdge
		}
		if !math.IsInf(cannot.Factor, 1) {
			below, _ := worst(60 * cannot.Factor * 0.999)
			above, _ := worst(60 * cannot.Factor * 1.001)
			if below || !above {
				t.Fatalf("limit at %g: below %t, above %t", 60*cannot.Factor, below, above)
			}
		}
		if !math.IsInf(edge.Factor, 1) {
			_, below := worst(60 * edge.Factor * 0.999)
			_, above := worst(60 * edge.Factor * 1.001)
			if below || !above {
				t.Fatalf("floor at %g: below %t, above %t", 60*edge.Factor, below, above)
			}
		}
	})
}

// A roll's own way of playing is not charged to the strokes of its cue: two
// mallets in one hand make sixteenths at 139, with or without a roll after.
func TestARollElsewhereInTheCueChangesNothing(t *testing.T) {
	text := "tempo 139\nplayer Ann\n  L suspended-cymbal with 2 yarn-mallets | f 1 1e 1& 1a | %s |\n  R snare-drum with snare-stick | f 1 3 | 1 3 |\n"
	_, plain := solved(t, fmt.Sprintf(text, "-"))
	_, rolled := solved(t, fmt.Sprintf(text, "1~2"))
	for _, r := range []*Result{plain, rolled} {
		list := Rates(r)
		if assert.Len(t, list, 3) {
			assert.Equal(t, body.Pair, list[0].Technique.Word)
			assert.InDelta(t, 15.0/139, list[0].Gap, 1e-9)
		}
	}
}
