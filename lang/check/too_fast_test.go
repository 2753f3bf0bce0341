package check

import (
	"fmt"
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
// warns, and at it it does not.
func TestSolomonsRatesAreTheThreshold(t *testing.T) {
	eighths := "1 1& 2 2& 3 3& 4 4&"
	sixteenths := "1 1e 1& 1a 2 2e 2& 2a 3 3e 3& 3a 4 4e 4& 4a"
	for _, c := range []struct {
		what, cue, bar string
		steady         float64 // the tempo
	}{
		{"one hand, 208 ms", "R woodblock clamped with rubber-mallet", eighths, 144},
		{"hand to hand, 104 ms", "RL woodblock clamped with rubber-mallet", sixteenths, 144},
		{"one foot, 300 ms", "RF bass-drum-pedal", eighths, 100},
		{"two mallets in one hand, 125 ms", "R marimba with 2 yarn-mallets", sixteenths, 120},
	} {
		text := "tempo %g\nplayer Ida\n  " + c.cue + " | " + c.bar + " | %% x3\n"
		assert.Equal(t, fine, quickness(fmt.Sprintf(text, c.steady)), "%s at %g", c.what, c.steady)
		assert.Equal(t, int(Warning), quickness(fmt.Sprintf(text, c.steady+4)), "%s above %g", c.what, c.steady)
		assert.Equal(t, int(Error), quickness(fmt.Sprintf(text, c.steady*1.7)), "%s far above %g", c.what, c.steady)
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

// Two or three strokes by rebound may come at up to twelve a second on a
// membrane or a pad; a longer run may not, and a bare woodblock does not
// bounce.
func TestBursts(t *testing.T) {
	text := "tempo 120\nplayer Ida\n  R %s | %s\n"
	assert.Equal(t, fine, quickness(fmt.Sprintf(text, "snare-drum with snare-stick", "1 1+1/5 3")))
	assert.Equal(t, fine, quickness(fmt.Sprintf(text, "snare-drum with snare-stick", "1 1+1/5 1+2/5 3")))
	assert.Equal(t, int(Error), quickness(fmt.Sprintf(text, "snare-drum with snare-stick", "1 1+1/5 1+2/5 1+3/5 3")))
	assert.Equal(t, int(Error), quickness(fmt.Sprintf(text, "woodblock clamped with rubber-mallet", "1 1+1/5 3")))
}

// Four strokes in an eighth of a second are too many for two hands, and a flam
// on every beat is not.
func TestGraceStrokesTakeTime(t *testing.T) {
	at, _ := errorsAt("tempo 120\nplayer Ida\n  RL snare-drum with snare-stick | '''1 '''1e '''1& '''1a '''2\n")
	assert.Equal(t, []string{"too-fast 1.1e"}, at)
	at, _ = errorsAt("tempo 120\nplayer Ida\n  RL snare-drum with snare-stick | '1 '2 ''3 '''4 | '1 '1& '2\n")
	assert.Empty(t, at)
}
