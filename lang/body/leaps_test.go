package body_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/handful/lang/body"
)

// The rows of leaps on keyboards, with how far and how wide they say they are:
// common practice, but that the comfortable ones are Fitts's fit itself.
func TestLeapsAreThoseOfTheTable(t *testing.T) {
	p := body.Experienced()
	for limb, way := range map[string][2]float64{"octave": {30, 4}, "low octave": {45, 5.5}} {
		row := body.TechniqueOf("leap", limb)
		if !assert.NotNil(t, row, limb) {
			continue
		}
		leap := p.Leap(way[0], way[1])
		assert.InEpsilon(t, row.Comfortable, leap.Steady, 0.05, limb)
		assert.InEpsilon(t, row.Fast, leap.Floor, 0.08, limb)
		assert.GreaterOrEqual(t, leap.Limit, row.Least, "%s: the row's limit is one virtuoso's", limb)
	}
	// What two hands play in turn, step by step, each hand goes a third in twice the time.
	row := body.TechniqueOf("bar", body.TwoHands)
	third := p.Leap(10, 4)
	assert.InEpsilon(t, 2*row.Comfortable, third.Steady, 0.05)
	assert.InEpsilon(t, 2*row.Fast, third.Floor, 0.15)
	assert.InEpsilon(t, 2*row.Least, third.Limit, 0.15)
}

// A drum is as wide as what the fit was made for, and the way there the same
// whether it stands in a set or by itself.
func TestADrumOfASetIsAnyDrum(t *testing.T) {
	for _, p := range []body.Profile{body.Student(), body.Experienced(), body.Professional()} {
		assert.Equal(t, p.Travel(40, 25).Pace, p.Leap(40, 25))
	}
}

// Two usual mallets of 40 cm, by the angles: an octave on the bars of a
// xylophone in comfort (7 naturals of 4.2 cm), an octave and a half at the most
// (11 of them), and no tenth on a marimba's low bars (9 of 6.5 cm).
func TestHowFarAHandSpreads(t *testing.T) {
	easy, widest := body.Spread(0)
	assert.Greater(t, easy, 7*4.2)
	assert.Greater(t, widest, 11*4.2)
	assert.Less(t, widest, 9*6.5)
	assert.Less(t, easy, 7*6.5, "an octave there is a stretch")
	short, _ := body.Spread(30)
	assert.Less(t, short, easy)
}
