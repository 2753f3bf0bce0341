package body

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The limit is what one in a hundred reaches at full effort with everything
// prepared: 2.33 standard deviations below the mean of people's fastest times,
// taken on a logarithmic scale, since times spread in proportion.
const oneInAHundred = 2.33

// reached is the share of a mean time that so many deviations of a coefficient
// of variation come to.
func reached(sigmas, cv float64) float64 { return math.Exp(-sigmas * math.Sqrt(math.Log(1+cv*cv))) }

// together is the coefficient of variation of independent causes.
func together(cvs ...float64) float64 {
	sum := 0.0
	for _, c := range cvs {
		sum += c * c
	}
	return math.Sqrt(sum)
}

type spread struct{ mean, sd float64 }

func (s spread) cv() float64 { return s.sd / s.mean }

func spreads(t *testing.T) map[string]spread {
	out := map[string]spread{}
	for _, row := range table(t, "testdata/spreads.csv") {
		s := spread{mean: number(t, row[1])}
		if row[2] != "" {
			s.sd = number(t, row[2])
		}
		out[row[0]] = s
	}
	return out
}

// Fitts 1954, table 1: how far his sixteen means lie from the line, each from
// a line through the other fifteen. His least mean, 180 ms, bounds the line
// here: the one way whose line is quicker was made no quicker than that, and
// what was slower than the line says nothing of how quick people can be.
func misfit(t *testing.T) (cv float64) {
	var xs, ys []float64
	for _, row := range table(t, "testdata/fitts1954-tapping-1oz.csv") {
		xs = append(xs, math.Log2(number(t, row[0])/number(t, row[1])+1))
		ys = append(ys, number(t, row[3])/1000)
	}
	require.Len(t, xs, 16)
	var ratios []float64
	for out := range xs {
		var x, y []float64
		for i := range xs {
			if i != out {
				x, y = append(x, xs[i]), append(y, ys[i])
			}
		}
		a, b, _ := regression(x, y)
		ratios = append(ratios, ys[out]/max(0.180, a+b*xs[out]))
	}
	mean, square := 0.0, 0.0
	for _, r := range ratios {
		mean += r / float64(len(ratios))
	}
	for _, r := range ratios {
		square += (r - mean) * (r - mean)
	}
	return math.Sqrt(square/float64(len(ratios)-1)) / mean
}

// 0.62 of the fit for a hand's way to a stroke. Three things spread: the line
// itself (Fitts's means against it), people (Box and Block), and how wide the
// thing struck is, which is known to some 30 per cent (our own assumption).
func TestTheShareOfAnAimedMove(t *testing.T) {
	model := misfit(t)
	assert.InDelta(t, 0.041, model, 0.002, "of the model")
	people := spreads(t)["box-and-block"].cv()
	assert.InDelta(t, 0.143, people, 0.001, "of people")
	// d(fit)/fit for a width that is off by 0.3 of itself, 40 cm to 15 cm.
	d, w := 40.0, 15.0
	width := fittsB / math.Ln2 * d / (d + w) * 0.3 / fitted(d, w)
	assert.InDelta(t, 0.148, width, 0.001, "of what is struck")
	all := together(model, people, width)
	share := reached(oneInAHundred, all)
	t.Logf("all together %.3f: one in a hundred at %.3f, one in a thousand at %.3f", all, share, reached(3.09, all))
	assert.InDelta(t, share, aimedShare, 0.01)
}

// 0.50 to what is narrower than 8 cm: half way, in proportion, between what the
// wider targets have and the extreme that was ever reported, a recorded leap
// of over 30 cm between keys (4 cm wide, or 2.35 where the black ones lie
// between) six times a second. That extreme is one virtuoso's, and nobody
// books it; but it says that 0.62 is too much where the target is narrow.
func TestTheShareOfANarrowTarget(t *testing.T) {
	leap := spreads(t)["leap"].mean / 1000
	extreme := leap / fitted(30, 4)
	assert.InDelta(t, 0.45, extreme, 0.005)
	assert.InDelta(t, 0.37, leap/fitted(30, 2.35), 0.005)
	widest, narrowest := math.Sqrt(extreme*aimedShare), math.Sqrt(leap/fitted(30, 2.35)*aimedShare)
	t.Logf("half way between the extreme and the wider targets: %.3f to %.3f", narrowest, widest)
	assert.GreaterOrEqual(t, narrowShare, narrowest)
	assert.LessOrEqual(t, narrowShare, widest)
}

// 0.65 of the floor for what the body does in grasping, carrying, laying. Box
// and Block is the one measurement of such a cycle: the average of young
// people at their fastest stands at 0.90 to 1.17 of the model's own sum, by
// how the path and the widths in it are read, and 1 is taken; people spread as
// they do there, and one set-up differs from another by a tenth (our own
// assumption). The record of any comparable handling stays far below.
func TestTheShareOfGraspingAndCarrying(t *testing.T) {
	s := spreads(t)
	p := Experienced()
	cycle := 60 / s["box-and-block"].mean
	assert.InDelta(t, 0.673, cycle, 0.001)
	sum := func(d, grasp, drop float64) float64 {
		return fitted(d, grasp) + seconds("G1B") + max(p.handFloor(), fitted(d, drop)) + seconds("RL1")
	}
	least, most := math.Inf(1), 0.0
	for _, d := range []float64{15, 20, 25, 30} {
		for _, grasp := range []float64{2.5, 5} {
			for _, drop := range []float64{15, 25} {
				ratio := cycle / sum(d, grasp, drop)
				least, most = min(least, ratio), max(most, ratio)
			}
		}
	}
	t.Logf("Box and Block against the model's sum: %.2f to %.2f", least, most)
	assert.Less(t, least, 1.0)
	assert.Greater(t, most, 1.0)
	withG4B := fitted(25, 5) + seconds("G4B") + max(0.180, fitted(25, 25)) + seconds("RL1")
	assert.InDelta(t, 0.75, cycle/withG4B, 0.005, "with the card's own G4B the floor would be slower than the average")

	all := together(s["box-and-block"].cv(), 0.10)
	share := reached(oneInAHundred, all)
	t.Logf("all together %.3f: one in a hundred at %.3f, one in a thousand at %.3f", all, share, reached(3.09, all))
	assert.InDelta(t, share, bodyShare, 0.025)
	record := s["cup"].mean / 1000 / 0.640
	assert.Less(t, record, bodyShare, "a record is no booking")
	assert.InDelta(t, 0.48, record, 0.005)
}

// The same share for walking: the card's pace is slower than people's fastest,
// and the limit lies at the mean of men in their twenties, running not counted.
func TestTheShareOfWalking(t *testing.T) {
	card := openPace / seconds("W-P")
	fastest := spreads(t)["walk-fastest"]
	assert.InDelta(t, 159, card, 1)
	assert.InDelta(t, 0.63, card/fastest.mean, 0.005)
	assert.InDelta(t, card/fastest.mean, bodyShare, 0.025)
}

// 0.8 and 0.9 of the fast time for a phrase and for more. People's fastest
// tapping spreads by 11 per cent: one in a hundred reaches 0.77 of the mean
// interval in ten seconds of nothing else. How a rate falls with its length is
// seen in one hand: 80 ms a burst, 94 for a minute in a contest, 100 the
// fastest drummer measured: 0.8, 0.94 and 1.
func TestTheSharesOfAPhraseAndOfMore(t *testing.T) {
	s := spreads(t)
	one := reached(oneInAHundred, s["finger"].cv())
	t.Logf("one in a hundred in ten seconds of tapping: %.3f", one)
	assert.InDelta(t, one, phraseShare, 0.03)
	minute := 2 * 60 / s["hands-60s"].mean
	assert.InDelta(t, 0.094, minute, 0.0005)
	assert.InDelta(t, 0.85*minute, TechniqueOf(Stick, OneHand).Least, 0.0005, "a burst: 0.85 of it, our own margin")
	fastest := Professional().Same().Floor
	assert.InDelta(t, 0.100, fastest, 1e-9, "about 10 a second, Fujii et al. 2009–2011")
	assert.InDelta(t, TechniqueOf(Stick, OneHand).Least/fastest, phraseShare, 0.005)
	assert.InDelta(t, minute/fastest, keptShare, 0.05)
	assert.InDelta(t, 0.9*60/s["hands-60s-second"].mean, TechniqueOf(Stick, TwoHands).Least, 0.0005)
}

// Nobody's limit is quicker than the quickest that were seen, the longer the
// slower, and a row that is common practice alone never limits more than its
// limb does.
func TestTheLimitsOfTheRows(t *testing.T) {
	assert.Len(t, allTechniques(), 82)
	for _, row := range allTechniques() {
		if row.Fast == 0 && row.Least == 0 {
			continue
		}
		for _, p := range profiles() {
			few, phrase, kept := p.Rate(row, Few), p.Rate(row, Phrase), p.Rate(row, Phrase+1)
			for _, pace := range []Pace{few, phrase, kept} {
				assert.LessOrEqual(t, pace.Limit, pace.Floor, "%s %s", row.Word, row.Limb)
				assert.LessOrEqual(t, pace.Floor, pace.Steady, "%s %s", row.Word, row.Limb)
			}
			assert.LessOrEqual(t, few.Limit, phrase.Limit)
			assert.LessOrEqual(t, phrase.Limit, kept.Limit)
			if base := row.limb; base != nil && !row.seen() {
				assert.LessOrEqual(t, few.Limit, p.Rate(base, Few).Limit, "%s %s", row.Word, row.Limb)
				assert.LessOrEqual(t, kept.Limit, p.Rate(base, Phrase+1).Limit, "%s %s", row.Word, row.Limb)
			}
		}
	}
	for limb, ms := range map[string]float64{OneHand: 80, TwoHands: 45} {
		assert.InDelta(t, ms/1000, Experienced().Rate(TechniqueOf(Stick, limb), 2).Limit, 1e-9)
	}
	for limb, ms := range map[string]float64{OneFoot: 70, TwoFeet: 48} {
		assert.InDelta(t, ms/1000, Experienced().Rate(TechniqueOf(Pedal, limb), 2).Limit, 1e-9)
	}
	// A contest's minute is not beyond doubt for a professional, nor a foot's song in a fast style for anybody.
	assert.Less(t, Professional().Rate(TechniqueOf(Stick, OneHand), 1000).Limit, 0.094)
	assert.Less(t, Experienced().Rate(TechniqueOf(Pedal, OneFoot), 1000).Limit, 0.150)
}
