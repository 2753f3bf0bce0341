package check_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// tomsAt is who has tom-toms so far to the right, in cm, and strikes those.
func tomsAt(right int, strokes string) *check.Result {
	return at(fmt.Sprintf("tempo 60\nplayer Sol\n  kit\n    tom-toms on stand at right %d ahead 40\n  R tom-toms with snare-stick | %s |\n", right, strokes), 1)
}

func outOfReach(r *check.Result) int {
	return faults(r, func(f *check.Finding) bool { return f.Rule.Name == "out-of-reach" })
}

// Reach is asked of each drum that is struck, where the strokes say which: further to the
// right the low one is beyond a hand that still has the high one.
func TestReachIsAskedOfEachDrumThatIsStruck(t *testing.T) {
	last := func(strokes string) (right int) {
		for right = 60; outOfReach(tomsAt(right+1, strokes)) == 0; right++ {
			if right > 400 {
				t.Fatal("everything is in reach")
			}
		}
		return right
	}
	low, high, any := last("1:low"), last("1:high"), last("1")
	assert.InDelta(t, 0, last("1:high 3:low")-low, 1, "with the high one, it is the low one that counts")
	assert.Greater(t, high, low+60, "they stand three drums from one another")
	assert.Greater(t, any, low, "without a word it is the middle of the set that counts")
	assert.Greater(t, high, any)
	assert.Equal(t, low, last("1:low 2"), "what says nothing beside it asks for no less")
	t.Logf("up to %d cm with the low one, %d with the high one, %d where nothing says", low, high, any)
}

// What is beyond one hand without a step and with it. The path takes the step.
func TestAStepIsTakenForADrumThatIsStruck(t *testing.T) {
	steps := func(strokes string) int {
		n := 0
		for _, p := range tomsAt(70, strokes).Motions[0].Places {
			if p.Implied {
				n++
			}
		}
		return n
	}
	assert.Zero(t, steps("1:high"))
	assert.Zero(t, steps("1"))
	assert.Equal(t, 1, steps("1:low"))
}

// Of every set there is, all drums can be played by who stands before it.
func TestWhoStandsBeforeASetReachesAllOfIt(t *testing.T) {
	tried := 0
	for _, in := range score.Bind("x.handful", syntax.Parse("title \"x\"\n"), nil, score.Options{}).Catalogue.Instruments() {
		mount := ""
		for _, w := range in.Ways {
			if w.Mount != kit.Held && w.Mount != kit.OnBody && mount == "" {
				mount = w.Mount.String()
			}
		}
		if in.Row() < 2 || mount == "" {
			continue
		}
		text := fmt.Sprintf("tempo 30\nplayer Sol\n  kit\n    %s on %s at ahead 50\n  R+L %s | 1:1 3:%d |\n", in.ID, mount, in.ID, in.Row())
		r := at(text, 1)
		assert.Zero(t, outOfReach(r), "%s\n%v", text, said(r))
		tried++
	}
	assert.Greater(t, tried, 5)
	t.Log(tried, "sets")
}
