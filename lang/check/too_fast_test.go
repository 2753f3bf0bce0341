package check

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// quickness is the worst too-fast severity of a piece, or -1.
func quickness(text string) int {
	worst := -1
	for _, f := range found(checkText(text), tooFast) {
		if worst < 0 || int(f.Severity) < worst {
			worst = int(f.Severity)
		}
	}
	return worst
}

const fine = -1

// Solomon, How to Write for Percussion, 2nd ed., Oxford 2016: comfortable
// rates, each hand staying on one surface. One step above each the checker
// warns, and at it it does not. Among them doubles, sixteenths at 200, and
// hard mallets hand to hand, sixteenths at 170.
func TestSolomonsRatesAreTheThreshold(t *testing.T) {
	eighths := "1 1& 2 2& 3 3& 4 4&"
	sixteenths := "1 1e 1& 1a 2 2e 2& 2a 3 3e 3& 3a 4 4e 4& 4a"
	doubles := "1R 1eR 1&L 1aL 2R 2eR 2&L 2aL 3R 3eR 3&L 3aL 4R 4eR 4&L 4aL"
	for _, c := range []struct {
		what, cue, bar string
		steady         float64 // the tempo
	}{
		{"one hand, 208 ms", "R woodblock clamped with rubber-mallet", eighths, 144},
		{"hand to hand, 104 ms", "RL woodblock clamped with rubber-mallet", sixteenths, 144},
		{"one foot, 300 ms", "RF bass-drum-pedal", eighths, 100},
		{"two mallets in one hand, 125 ms", "R marimba with 2 yarn-mallets", sixteenths, 120},
		{"stick doubles, 75 ms", "RL snare-drum with snare-stick", doubles, 200},
		{"hard mallets hand to hand, 88 ms", "RL xylophone with rubber-mallet", sixteenths, 170},
	} {
		text := "tempo %g\nplayer Ida\n  " + c.cue + " | " + c.bar + " | %% x3\n"
		assert.Equal(t, fine, quickness(fmt.Sprintf(text, c.steady)), "%s at %g", c.what, c.steady)
		assert.Equal(t, int(Warning), quickness(fmt.Sprintf(text, c.steady+4)), "%s above %g", c.what, c.steady)
		assert.Equal(t, int(Error), quickness(fmt.Sprintf(text, c.steady*2.4)), "%s far above %g", c.what, c.steady)
	}
	// Two feet, sixteenths at 100.
	feet := "tempo %g\nplayer Ida\n  RF bass-drum-pedal | 1 1& 2 2& 3 3& 4 4& | %% x3\n  LF bass-drum-pedal | 1e 1a 2e 2a 3e 3a 4e 4a | %% x3\n"
	assert.Equal(t, fine, quickness(fmt.Sprintf(feet, 100.0)))
	assert.Equal(t, int(Warning), quickness(fmt.Sprintf(feet, 104.0)))
	assert.Equal(t, int(Error), quickness(fmt.Sprintf(feet, 240.0)))
}

// even is so many strokes of a limb, so many milliseconds apart.
func even(cue string, n int, ms float64) string {
	letters := [...]string{"", "e", "&", "a"}
	var b strings.Builder
	fmt.Fprintf(&b, "tempo %.4f\nplayer Ida\n  %s ", 15000/ms, cue)
	for i := range n {
		if i%16 == 0 {
			b.WriteString("|")
		}
		fmt.Fprintf(&b, " %d%s", i%16/4+1, letters[i%4])
	}
	return b.String() + " |\n"
}

// The borders of the three bands, worked by hand from the table of rates: of a
// few strokes the least time, of a phrase 0.8 and of more 0.9 of the fastest.
// Where two hands are in turn each is also one hand: 114.4 and 128.7 ms are
// 57.2 and 64.35 from hand to hand. A foot's 150 is what is kept for a song.
func TestTheBordersOfTheRates(t *testing.T) {
	for _, c := range []struct {
		cue                  string
		n                    int
		limit, floor, steady float64 // ms
	}{
		{"R snare-drum with snare-stick", 4, 80, 143, 208},
		{"R snare-drum with snare-stick", 16, 0.8 * 143, 143, 208},
		{"R snare-drum with snare-stick", 30, 0.8 * 143, 143, 208},
		{"R snare-drum with snare-stick", 31, 0.9 * 143, 143, 208},
		{"R snare-drum with snare-stick", 64, 0.9 * 143, 143, 208},
		{"R hi-hat with snare-stick", 64, 0.9 * 143, 150, 176},
		{"R woodblock clamped with rubber-mallet", 2, 80, 143, 208},
		{"R cowbell clamped with snare-stick", 32, 0.9 * 143, 140, 200},
		{"R bass-drum with bass-drum-beater", 4, 80, 220, 400},
		{"R bass-drum with bass-drum-beater", 40, 0.9 * 143, 220, 400},
		{"RL snare-drum with snare-stick", 4, 45, 70, 104},
		{"RL snare-drum with snare-stick", 24, 57.2, 70, 104},
		{"RL snare-drum with snare-stick", 64, 64.35, 70, 104},
		{"RL xylophone with rubber-mallet", 64, 64.35, 65, 88},
		{"RL marimba with yarn-mallet", 24, 57.2, 80, 104},
		{"R marimba with 2 yarn-mallets", 4, 70, 95, 125},
		{"R marimba with 2 yarn-mallets", 40, 70, 95, 125},
		{"R shaker", 4, 75, 107, 130},
		{"R shaker", 16, 0.8 * 107, 107, 130},
		{"R shaker", 40, 0.9 * 107, 107, 130},
		{"R pandeiro held with fingers", 4, 80, 115, 150},
		{"R pandeiro held with fingers", 40, 0.9 * 115, 115, 150},
		{"R guiro held with scraper", 40, 0.9 * 100, 100, 150},
		{"RF bass-drum-pedal", 4, 70, 180, 300},
		{"RF bass-drum-pedal", 16, 0.8 * 150, 180, 300},
		{"RF bass-drum-pedal", 40, 0.9 * 150, 180, 300},
		{"R congas with fingers", 40, 0.9 * 143, 160, 240},
	} {
		what := fmt.Sprintf("%s, %d strokes", c.cue, c.n)
		assert.Equal(t, int(Error), quickness(even(c.cue, c.n, 0.99*c.limit)), "%s below the limit", what)
		for band, ms := range map[string]float64{"at the edge": 1.01 * c.limit, "at the edge: ": 0.99 * c.floor, "is comfortable": 1.01 * c.floor, "is comfortable, ": 0.99 * c.steady} {
			if ms < c.limit || band == "at the edge" && ms > c.floor {
				continue
			}
			found := found(checkText(even(c.cue, c.n, ms)), tooFast)
			if assert.NotEmpty(t, found, "%s at %g ms", what, ms) {
				assert.Equal(t, Warning, found[0].Severity, "%s at %g ms", what, ms)
				assert.Contains(t, found[0].Message(), strings.TrimRight(band, ": ,"), "%s at %g ms", what, ms)
			}
		}
		assert.Equal(t, fine, quickness(even(c.cue, c.n, 1.01*c.steady)), "%s in comfort", what)
	}
}

// timeline writes onsets in sixteenths as bars of 4/4.
func timeline(pulses int, onsets []int) string {
	out := ""
	letters := [...]string{"", "e", "&", "a"}
	for bar := range (pulses + 15) / 16 {
		out += "|"
		for _, o := range onsets {
			if o/16 == bar {
				out += fmt.Sprintf(" %d%s", o%16/4+1, letters[o%4])
			}
		}
		out += " "
	}
	return out
}

// Toussaint, The Geometry of Musical Rhythm, 2013: the son clave has its
// onsets at 0 3 6 10 12 of sixteen pulses and the cinquillo at 0 2 3 5 6 of
// eight. With Solomon's 208 ms for one hand the clave in sixteenths is steady
// up to quarter = 144, where its shortest step, two pulses, is 208 ms; the
// cinquillo, with steps of one pulse, only to 72.
func TestNamedRhythmsForOneHand(t *testing.T) {
	clave := timeline(16, []int{0, 3, 6, 10, 12})
	cinquillo := timeline(16, []int{0, 2, 3, 5, 6, 8, 10, 11, 13, 14})
	text := func(tempo float64, bars string) string {
		return fmt.Sprintf("tempo %g\nplayer Ida\n  R woodblock clamped with rubber-mallet %s| %% x3\n", tempo, bars)
	}
	assert.Equal(t, fine, quickness(text(144, clave)))
	assert.Equal(t, int(Warning), quickness(text(146, clave)))
	assert.Equal(t, fine, quickness(text(72, cinquillo)))
	assert.Equal(t, int(Warning), quickness(text(74, cinquillo)))
}

// Two or three strokes by rebound, with twice their gap before and after, come
// as quickly as a stick bounces: pairs from 40 ms and threes from 45, 60 and 65
// on average, 75 and 85 in comfort. Four of the kind are four motions, and
// nothing bounces off a woodblock or under a soft head.
func TestByRebound(t *testing.T) {
	text := func(ms float64, cue string, bars string) string {
		return fmt.Sprintf("tempo %.4f\nplayer Ida\n  %s | %s |\n", 15000/ms, cue, bars)
	}
	snare, hard := "R snare-drum with snare-stick", "R woodblock clamped with snare-stick"
	two, three, four := "1 1e 3 3e", "1 1e 1& 3", "1 1e 1& 1a 3"
	for _, c := range []struct {
		text string
		want int
	}{
		{text(77, snare, two), fine}, {text(73, snare, two), int(Warning)}, {text(41, snare, two), int(Warning)}, {text(39, snare, two), int(Error)},
		{text(87, snare, three), fine}, {text(83, snare, three), int(Warning)}, {text(46, snare, three), int(Warning)}, {text(44, snare, three), int(Error)},
		{text(82, snare, four), int(Warning)}, {text(78, snare, four), int(Error)},
		{text(82, hard, two), int(Warning)}, {text(78, hard, two), int(Error)},
		{text(78, "R tom-toms with snare-stick", two), fine}, {text(78, "R tom-toms with yarn-mallet", two), int(Error)},
		{text(78, "R hi-hat with snare-stick", two), int(Warning)}, // 100 ms are a ride pattern's, and it bounces
	} {
		assert.Equal(t, c.want, quickness(c.text), c.text)
	}
}

// A jazz ride pattern's short pair stays at about 100 ms from medium tempi on
// (Friberg & Sundström 2002): at 200 it is in the tight band, not at the edge.
func TestTheRidePattern(t *testing.T) {
	got := found(checkText("tempo 200\nplayer Kim\n  R ride-cymbal with snare-stick | 1 2 2l 3 4 4l | % x3\n"), tooFast)
	if assert.Len(t, got, 1) {
		assert.Equal(t, Warning, got[0].Severity)
		assert.Contains(t, got[0].Message(), "is comfortable")
	}
}

// What is only tight is told once for an instrument, not for every cue; what
// is at the edge is told for each.
func TestTightIsToldOnce(t *testing.T) {
	text := "tempo %g\nplayer Ida\n  R snare-drum with snare-stick | 1 1& 2 2& | - | \n  from 2\n  R snare-drum with snare-stick | 1 1& 2 2& | - |\n"
	assert.Len(t, found(checkText(fmt.Sprintf(text, 150.0)), tooFast), 1)
	assert.Len(t, found(checkText(fmt.Sprintf(text, 250.0)), tooFast), 2)
}

// Four strokes in an eighth of a second are too many for two hands, and a flam
// on every beat is not.
func TestGraceStrokesTakeTime(t *testing.T) {
	at, _ := errorsAt("tempo 120\nplayer Ida\n  RL snare-drum with snare-stick | '''1 '''1e '''1& '''1a '''2\n")
	assert.Equal(t, []string{"too-fast 1.1e"}, at, "three times 40 ms and 45: 165 ms at the least")
	at, _ = errorsAt("tempo 120\nplayer Ida\n  RL snare-drum with snare-stick | '1 '2 ''3 '''4 | '1 '1& '2\n")
	assert.Empty(t, at)
}
