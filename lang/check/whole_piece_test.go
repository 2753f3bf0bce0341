package check

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// Cymbals that are written stand where they are written: in the bass drum's own
// part or in another one.
func TestImpliedCymbalsLooksAtEveryPart(t *testing.T) {
	const drum = "title \"Quay March\"\ntempo 112\npart \"Bass Drum\"\n  bass-drum | 1 2 3 4 | 1 3 |\n"
	for _, c := range []struct {
		what, more string
		presumed   bool
	}{
		{"no cymbals anywhere", "", true},
		{"a line in the next part", "part \"Cymbals\"\n  crash-cymbals | 1 2 3 4 | - |\n", false},
		{"in the next part, where the drum is silent", "part \"Cymbals\"\n  crash-cymbals | - | - | 1 |\n", true},
		{"an empty line in the next part", "part \"Cymbals\"\n  crash-cymbals | - | - |\n", true},
		{"a suspended cymbal in the next part is another matter", "part \"Cymbals\"\n  suspended-cymbal | 1 | - |\n", true},
		{"a line in its own part", "  crash-cymbals | 1 | - |\n", false},
		{"two bass drums, one of them alone", "part \"Bass Drum 2\"\n  bass-drum | \"B.D. only\" 1 | - |\n", true},
	} {
		assert.Equal(t, c.presumed, len(found(checkText(drum+c.more), impliedCymbals)) > 0, c.what)
	}
}

func TestAPickupThatNoLineBeginsWithIsTold(t *testing.T) {
	const head = "meter 4/4\npickup 1\ntempo 100\n"
	for _, c := range []struct {
		what, text string
		told       bool
	}{
		{"a line from bar 1", head + "part \"P\"\n  snare-drum | 4 | 1 2 |\n", true},
		{"a line from bar 0", head + "part \"P\"\n  from 0\n  snare-drum | 4 | 1 2 |\n", false},
		{"a rest in bar 0", head + "part \"P\"\n  from 0\n  snare-drum | - | 1 2 |\n", false},
		{"one of two lines", head + "part \"P\"\n  snare-drum | 1 | 1 2 |\npart \"Q\"\n  from 0\n  triangle | 4 | 1\n", false},
		{"no pickup", "tempo 100\npart \"P\"\n  snare-drum | 4 | 1 2 |\n", false},
		{"a cue of its own bars", head + "player Ida\n  from 0\n  R snare-drum | 4 | 1\n", false},
		{"a cue from bar 1", head + "player Ida\n  R snare-drum | 4 | 1\n", true},
		{"nothing written yet", head, false},
	} {
		told := false
		for _, f := range found(checkText(c.text), unused) {
			told = told || strings.Contains(f.Message(), "pickup")
		}
		assert.Equal(t, c.told, told, c.what)
	}
	r := checkText(head + "part \"P\"\n  snare-drum | 4 | 1 2 3 4 |\nplayer Kim\n  RL snare-drum as written\n")
	got := found(r, unused)
	require.Len(t, got, 1)
	fixes := r.Fixes(got[0])
	require.Len(t, fixes, 1)
	text, _ := Apply(r.File, fixes[0].Edits)
	assert.Equal(t, head+"part \"P\"\n  from 0\n  snare-drum | 4 | 1 2 3 4 |\nplayer Kim\n  from 0\n  RL snare-drum as written\n", text)
}

// Who cannot or never does what is asked has no ceiling: no tempo mends that.
// And where only time is wanting to carry a thing over, the ceiling is the
// tempo at which there is enough: none is short just below it, and one is just
// above.
func TestCeilingsKnowPeopleAndGear(t *testing.T) {
	for _, block := range []string{
		"hands L\n  R snare-drum with snare-stick | 1 2",
		"hands none\n  L snare-drum with snare-stick | 1 2",
		"never membranes\n  R snare-drum with snare-stick | 1 2",
		"never membranes, metals, woods, shaken, keyboards, wind, effects, body, composite\n  R snare-drum with snare-stick | 1 2",
		"holds four mallets no\n  R vibraphone with 2 yarn-mallets | 1 2",
	} {
		r := checkText("tempo 60\nplayer Ida\n  " + block + "\n")
		require.NotEmpty(t, found(r, cannotOrNever), block)
		assert.Zero(t, r.Ceilings()[0].Cannot.Factor, block)
	}
	for text, want := range map[string]float64{
		"1 tambourine\nplayer Ida\n  R tambourine | 1 | -\nplayer Per\n  R tambourine | - | 1": 4.0 / 3,
		"1 snare-drum\nplayer Ida\n  R snare-drum | 1 | -\nplayer Per\n  R snare-drum | - | 1": 4.0 / 6,
		"1 snare-drum\nplayer Ida\n  R snare-drum | 1 | -\nplayer Per\n  R snare-drum | 1 | -": 0,
	} {
		text = "tempo 60\ngear\n  " + text + "\n"
		for _, c := range checkText(text).Ceilings() {
			assert.InDelta(t, want, c.Cannot.Factor, 1e-4, text)
		}
		if want > 0 {
			for tempo, short := range map[float64]int{0.99: 0, 1.01: 1} {
				assert.Len(t, found(Check("x.handful", syntax.Parse(text), Options{Score: score.Options{TempoFactor: want * tempo}}), notEnoughGear), short, "%s at %g", text, tempo)
			}
		}
	}
}
