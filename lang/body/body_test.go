package body

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func table(t *testing.T, name string) [][]string {
	f, err := os.Open("testdata/" + name)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment, r.FieldsPerRecord = '#', -1
	all, err := r.ReadAll()
	require.NoError(t, err)
	return all[1:]
}

func number(t *testing.T, s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err, s)
	return v
}

// MTM-1 card values (Maynard, Stegemerten & Schwab 1948; International MTM
// Directorate), as printed on the centimetre card.
func TestCellsOfTheCard(t *testing.T) {
	for _, c := range []struct {
		kind string
		cm   float64
		tmu  float64
	}{
		{"A", 2, 2.0}, {"A", 40, 11.3}, {"B", 30, 12.8}, {"B", 40, 15.6}, {"B", 80, 26.9},
		{"C", 20, 11.4}, {"C", 40, 16.8}, {"D", 40, 16.8}, {"E", 50, 16.5},
	} {
		got, ok := ReachTMU(c.kind, c.cm)
		assert.True(t, ok)
		assert.InDelta(t, c.tmu, got, 1e-9, "R%g%s", c.cm, c.kind)
	}
	for code, tmu := range map[string]float64{
		"G1A": 2.0, "G1B": 3.5, "G2": 5.6, "G3": 5.6, "G4B": 9.1, "RL1": 2.0, "TBC1": 18.6, "TBC2": 37.2, "W-P": 15.0, "W-PO": 17.0, "B": 29.0,
	} {
		got, status, ok := TMUOf(code)
		assert.True(t, ok, code)
		assert.InDelta(t, tmu, got, 1e-9, code)
		assert.Equal(t, "seen", status, code)
	}
	_, ok := ReachTMU("Q", 10)
	assert.False(t, ok)
}

// Worked answers seen in print for MTM-1: T90L = 16.2 TMU = 0.5832 s;
// APB = APA 10.6 + G2 5.6 = 16.2 TMU; R40B + G1A = 17.6 TMU = 0.63 s.
func TestWorkedAnswers(t *testing.T) {
	assert.InDelta(t, 0.5832, 16.2*TMU, 1e-9)
	apa, _, _ := TMUOf("APA")
	g2, _, _ := TMUOf("G2")
	apb, _, _ := TMUOf("APB")
	assert.InDelta(t, apb, apa+g2, 1e-9)
	r, _ := ReachTMU("B", 40)
	g1a, _, _ := TMUOf("G1A")
	assert.InDelta(t, 17.6, r+g1a, 1e-9)
	assert.InDelta(t, 0.63, (r+g1a)*TMU, 0.005)
}

// Fitts 1954, table 1, 1 oz stylus: sixteen conditions against the move floor.
// The residuals are logged; none is larger than 42 ms.
func TestFittsSixteenConditions(t *testing.T) {
	var xs, ys, fit []float64
	worst := 0.0
	for _, row := range table(t, "fitts1954-tapping-1oz.csv") {
		a, w, mt := number(t, row[0])*2.54, number(t, row[1])*2.54, number(t, row[3])/1000
		p := Fit(a, w)
		t.Logf("A %5.1f cm  W %4.1f cm  measured %.3f s  fit %.3f s  residual %+.3f s", a, w, mt, p, mt-p)
		worst = max(worst, math.Abs(mt-p))
		xs, ys, fit = append(xs, math.Log2(a/w+1)), append(ys, mt), append(fit, p)
		assert.GreaterOrEqual(t, moveFloor(a, w), 0.180, "180 ms is the fastest that Fitts measured")
	}
	require.Len(t, ys, 16)
	a, b, r := regression(xs, ys)
	t.Logf("least squares on the sixteen rows: %.1f + %.1f·ID ms, r = %.4f; largest residual of the floor %.0f ms", a*1e3, b*1e3, r, worst*1e3)
	assert.Less(t, worst, 0.042)
	assert.Greater(t, correlation(fit, ys), 0.99)
}

// MacKenzie 1992 reports 12.8 + 94.7·ID ms, r = .9831, for Fitts's 1 oz table
// in Welford's or Fitts's own form; with ID = log2(2A/W) the table gives just
// that line.
func TestMacKenziesRegression(t *testing.T) {
	var xs, ys []float64
	for _, row := range table(t, "fitts1954-tapping-1oz.csv") {
		xs, ys = append(xs, number(t, row[2])), append(ys, number(t, row[3]))
	}
	a, b, r := regression(xs, ys)
	t.Logf("%.1f + %.1f·ID ms, r = %.4f", a, b, r)
	assert.InDelta(t, 12.8, a, 0.1)
	assert.InDelta(t, 94.7, b, 0.1)
	assert.InDelta(t, 0.9831, r, 0.0002)
}

func regression(x, y []float64) (a, b, r float64) {
	n, sx, sy, sxx, sxy := float64(len(x)), 0.0, 0.0, 0.0, 0.0
	for i := range x {
		sx, sy, sxx, sxy = sx+x[i], sy+y[i], sxx+x[i]*x[i], sxy+x[i]*y[i]
	}
	b = (n*sxy - sx*sy) / (n*sxx - sx*sx)
	return (sy - b*sx) / n, b, correlation(x, y)
}

func correlation(x, y []float64) float64 {
	n, sx, sy, sxx, syy, sxy := float64(len(x)), 0.0, 0.0, 0.0, 0.0, 0.0
	for i := range x {
		sx, sy, sxx, syy, sxy = sx+x[i], sy+y[i], sxx+x[i]*x[i], syy+y[i]*y[i], sxy+x[i]*y[i]
	}
	return (n*sxy - sx*sy) / math.Sqrt((n*sxx-sx*sx)*(n*syy-sy*sy))
}

// A whole swap, 40 cm to the table, 20 cm along it, 40 cm back. MTM-2
// (International MTM Directorate), an independent table, sums the same swap as
// PA45 + GB30 + PA45 = 15 + 14 + 15 TMU and a regrasp of 6: 50 TMU = 1.80 s;
// from among others GC30 takes the place of GB30: 59 TMU = 2.12 s.
func TestASwapByTwoTables(t *testing.T) {
	p := Experienced()
	swap := Sum([]Motion{p.Lay(40, "stick", Easy, false), p.Take(20, "mallet", Easy, false), p.Carry(40, 15)})
	assert.InDelta(t, 0.90, swap.Floor, 0.005)
	assert.InDelta(t, 1.83, swap.Steady, 0.005)
	among := Sum([]Motion{p.Lay(40, "stick", Easy, false), p.Take(20, "mallet", Easy, true), p.Carry(40, 15)})
	assert.InDelta(t, 2.13, among.Steady, 0.005)

	cells := map[string]float64{}
	for _, row := range table(t, "mtm2.csv") {
		key := row[0]
		if row[1] != "" {
			key += row[1]
		}
		cells[key] = number(t, row[3])
	}
	mtm2 := (cells["PA45"] + cells["GB30"] + cells["PA45"] + cells["R"]) * TMU
	assert.InDelta(t, 1.80, mtm2, 0.005)
	assert.InDelta(t, swap.Steady, mtm2, 0.05, "the two tables agree")
	mtm2Among := (cells["PA45"] + cells["GC30"] + cells["PA45"] + cells["R"]) * TMU
	assert.InDelta(t, 2.12, mtm2Among, 0.005)
	assert.InDelta(t, among.Steady, mtm2Among, 0.05)
}

// Solomon, How to Write for Percussion, 2nd ed., Oxford 2016: comfortable
// rates, each hand staying on one surface.
func TestSolomonsRates(t *testing.T) {
	sixteenths := func(tempo float64) float64 { return 60 / tempo / 4 }
	p := Experienced()
	assert.InDelta(t, sixteenths(144), p.HandToHand().Steady, 0.001, "hand to hand, sixteenths at 144")
	assert.InDelta(t, 2*sixteenths(144), p.Same().Steady, 0.001, "one hand, half of that")
	assert.InDelta(t, sixteenths(120), p.Alternate().Steady, 0.001, "two mallets in one hand, sixteenths at 120")
	assert.InDelta(t, sixteenths(100), p.TwoFeet().Steady, 0.001, "two feet, sixteenths at 100")
	assert.InDelta(t, 60.0/100/2, p.OneFoot().Steady, 0.001, "one foot, eighths at 100")
	assert.InDelta(t, 1.0/7, p.Same().Floor, 1e-9, "5–7 Hz, Fujii et al. 2009–2011")
	assert.InDelta(t, 0.1, Professional().Same().Floor, 1e-9, "about 10 Hz the fastest, Fujii et al.")
}

// Five yards: a turn and six paces, 18.6 + 6 × 15.0 TMU = 3.91 s by MTM-1.
func TestFiveYards(t *testing.T) {
	p := Experienced()
	got := Sum(p.Between(457.2, true))
	assert.InDelta(t, (18.6+6*15.0)*TMU, got.Floor, 1e-9)
	assert.Greater(t, got.Floor, 2.0)
	assert.Less(t, got.Floor, 4.0)
}

func profiles() []Profile { return []Profile{Student(), Experienced(), Professional()} }

func motionsOf(p Profile, d, w float64) []Motion {
	return []Motion{
		p.Travel(d, w), p.Lay(d, "stick", Easy, false), p.Lay(d, "stick", Awkward, true), p.Take(d, "stick", Easy, false),
		p.Take(d, "stick", Careful, true), p.Carry(d, w), p.Step(d), p.Walk(d), p.TurnPage(d), p.Damp(d, w),
		p.Regrasp("x"), p.PassOver("x"), p.Turn(), p.Glance(), p.SitDown(), p.StandUp(),
	}
}

func TestSteadyIsNeverBelowTheFloor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(profiles()).Draw(t, "profile")
		d, w := rapid.Float64Range(0, 2000).Draw(t, "distance"), rapid.Float64Range(1, 100).Draw(t, "width")
		for _, m := range motionsOf(p, d, w) {
			if m.Pace.Steady < m.Pace.Floor {
				t.Fatalf("%s: %+v", m.Words, m.Pace)
			}
			if m.Pace != (Pace{}) && (m.Code == "" || m.Source == "" || m.Words == "") {
				t.Fatalf("a motion without its code, source or words: %+v", m)
			}
		}
	})
}

func TestFurtherIsNeverQuicker(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(profiles()).Draw(t, "profile")
		d, more := rapid.Float64Range(0, 500).Draw(t, "distance"), rapid.Float64Range(0, 500).Draw(t, "more")
		near, far := motionsOf(p, d, 15), motionsOf(p, d+more, 15)
		for i := range near {
			if far[i].Pace.Floor < near[i].Pace.Floor-1e-9 || far[i].Pace.Steady < near[i].Pace.Steady-1e-9 {
				t.Fatalf("%s %+v, then %s %+v", near[i].Words, near[i].Pace, far[i].Words, far[i].Pace)
			}
		}
	})
}

func TestStudentsAreSlowerAndProfessionalsQuicker(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0, 500).Draw(t, "distance")
		s, e, p := motionsOf(Student(), d, 15), motionsOf(Experienced(), d, 15), motionsOf(Professional(), d, 15)
		for i := range e {
			if s[i].Pace.Floor < e[i].Pace.Floor || e[i].Pace.Floor < p[i].Pace.Floor || s[i].Pace.Steady < e[i].Pace.Steady || e[i].Pace.Steady < p[i].Pace.Steady {
				t.Fatalf("%s: %v %v %v", e[i].Words, s[i].Pace, e[i].Pace, p[i].Pace)
			}
		}
	})
}

func TestAMarginWidensOnlyTheSteadyTime(t *testing.T) {
	p := Experienced()
	wide := p
	wide.Margin = 1.4
	a, b := p.Carry(40, 15).Pace, wide.Carry(40, 15).Pace
	assert.Equal(t, a.Floor, b.Floor)
	assert.InDelta(t, 1.4*a.Steady, b.Steady, 1e-9)
}
