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

	"example.org/handful/internal/draws"
)

func table(t *testing.T, name string) [][]string {
	f, err := os.Open(name)
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
		got, ok := reachTMU(c.kind, c.cm)
		assert.True(t, ok)
		assert.InDelta(t, c.tmu, got, 1e-9, "R%g%s", c.cm, c.kind)
	}
	for code, tmu := range map[string]float64{
		"G1A": 2.0, "G1B": 3.5, "G2": 5.6, "G3": 5.6, "G4B": 9.1, "RL1": 2.0, "TBC1": 18.6, "TBC2": 37.2, "W-P": 15.0, "W-PO": 17.0, "B": 29.0,
	} {
		got, status, ok := tmuOf(code)
		assert.True(t, ok, code)
		assert.InDelta(t, tmu, got, 1e-9, code)
		assert.Equal(t, "seen", status, code)
	}
	_, ok := reachTMU("Q", 10)
	assert.False(t, ok)
}

// Worked answers seen in print for MTM-1: T90L = 16.2 TMU = 0.5832 s;
// APB = APA 10.6 + G2 5.6 = 16.2 TMU; R40B + G1A = 17.6 TMU = 0.63 s.
func TestWorkedAnswers(t *testing.T) {
	t90l := 0.0
	for _, row := range table(t, "testdata/mtm1-turn.csv") {
		if row[0] == "L" && row[1] == "90" {
			t90l = number(t, row[2])
		}
	}
	assert.InDelta(t, 16.2, t90l, 1e-9)
	assert.InDelta(t, 0.5832, t90l*tmu, 1e-9)
	apa, _, _ := tmuOf("APA")
	g2, _, _ := tmuOf("G2")
	apb, _, _ := tmuOf("APB")
	assert.InDelta(t, 16.2, apb, 1e-9)
	assert.InDelta(t, apb, apa+g2, 1e-9)
	r, _ := reachTMU("B", 40)
	g1a, _, _ := tmuOf("G1A")
	assert.InDelta(t, 17.6, r+g1a, 1e-9)
	assert.InDelta(t, 0.63, (r+g1a)*tmu, 0.005)
}

// 1 TMU = 0.00001 h = 36 ms: every row of the four cards gives both, so that a
// slip of the pen in either shows. 28.3 TMU is printed as 1018.8 ms on M80A.
func TestEveryRowAgreesWithItsMilliseconds(t *testing.T) {
	for _, c := range []struct {
		file      string
		tmu, rows int
	}{{"tables/mtm1-reach-move.csv", 5, 460}, {"tables/mtm1-grasp-release-body.csv", 1, 61}, {"testdata/mtm1-turn.csv", 2, 33}, {"testdata/mtm2.csv", 3, 39}} {
		rows := table(t, c.file)
		assert.Equal(t, c.rows, len(rows), c.file)
		for _, row := range rows {
			ms := number(t, row[c.tmu+1])
			assert.InDelta(t, ms, number(t, row[c.tmu])*tmu*1000, 0.05, "%s: %v", c.file, row)
		}
	}
}

// The inch and the centimetre card are two roundings of the same curves: the
// centimetre rows lie within 0.13 TMU of the inch rows, straight between them,
// from 10 cm on, and within 0.25 TMU (9 ms) nearer, where the curves bend. It
// is what the rows from memory have been held against.
func TestTheCardsInInchesAndCentimetresAgree(t *testing.T) {
	inch, metric := map[string][]point{}, map[string][]point{}
	for _, row := range table(t, "tables/mtm1-reach-move.csv") {
		key, at := row[0]+" "+row[1]+" "+row[2], point{number(t, row[4]), number(t, row[5])}
		if row[3] == "in" {
			inch[key] = append(inch[key], point{at.cm * 2.54, at.tmu})
		} else {
			metric[key] = append(metric[key], at)
		}
	}
	require.Len(t, metric, 10)
	for key, rows := range metric {
		worst, near := 0.0, 0.0
		for _, m := range rows {
			for i := 1; i < len(inch[key]); i++ {
				if a, b := inch[key][i-1], inch[key][i]; m.cm > a.cm && m.cm <= b.cm {
					off := math.Abs(m.tmu - (a.tmu + (b.tmu-a.tmu)*(m.cm-a.cm)/(b.cm-a.cm)))
					if m.cm < 10 {
						near = max(near, off)
					} else {
						worst = max(worst, off)
					}
				}
			}
		}
		t.Logf("%-8s within %.2f TMU, below 10 cm within %.2f", key, worst, near)
		assert.Less(t, worst, 0.13, key)
		assert.Less(t, near, 0.25, key)
	}
}

// Between two rows the card is read straight; below its first row it gives the
// first, and beyond its last it goes on as between the last two.
func TestBetweenAndBeyondTheRows(t *testing.T) {
	for _, c := range []struct{ cm, tmu float64 }{
		{0, 2.0}, {1, 2.0}, {2, 2.0}, {3, 3.0}, {32.5, 13.9}, {80, 25.2}, {85, 26.4}, {100, 30.0},
	} {
		got, ok := moveTMU("B", c.cm)
		assert.True(t, ok)
		assert.InDelta(t, c.tmu, got, 1e-9, "M%gB", c.cm)
	}
}

// Fitts 1954, table 1, 1 oz stylus: sixteen conditions against the fitted line.
// Least squares on ID = log2(A/W + 1), Shannon's form, give the line's own
// 27.7 + 111.5·ID ms, r = .9936. The residuals are logged; the largest, 41 ms,
// is that of the widest target at the least distance; of the others none is
// above 32 ms.
func TestFittsSixteenConditions(t *testing.T) {
	var xs, ys, fit []float64
	worst := 0.0
	for _, row := range table(t, "testdata/fitts1954-tapping-1oz.csv") {
		a, w, mt := number(t, row[0])*2.54, number(t, row[1])*2.54, number(t, row[3])/1000
		p := fitted(a, w)
		t.Logf("A %5.1f cm  W %4.1f cm  measured %.3f s  fit %.3f s  residual %+.3f s", a, w, mt, p, mt-p)
		worst = max(worst, math.Abs(mt-p))
		if mt > 0.180 {
			assert.Less(t, math.Abs(mt-p), 0.0325)
		}
		xs, ys, fit = append(xs, math.Log2(a/w+1)), append(ys, mt), append(fit, p)
		assert.GreaterOrEqual(t, mt, 0.180, "180 ms is his least mean, of a way of two inches")
	}
	require.Len(t, ys, 16)
	a, b, r := regression(xs, ys)
	t.Logf("least squares on the sixteen rows: %.1f + %.1f·ID ms, r = %.4f; largest residual %.0f ms", a*1e3, b*1e3, r, worst*1e3)
	assert.InDelta(t, fittsA, a, 0.00005)
	assert.InDelta(t, fittsB, b, 0.00005)
	assert.InDelta(t, 0.9936, r, 0.00005)
	assert.Less(t, worst, 0.042)
	assert.Greater(t, correlation(fit, ys), 0.99)
}

// MacKenzie 1992 reports 12.8 + 94.7·ID ms, r = .9831, for Fitts's 1 oz table.
// That line belongs to Fitts's own index, ID = log2(2A/W), the table's third
// column; in Shannon's form the same rows give the line above.
func TestMacKenziesRegression(t *testing.T) {
	var xs, ys []float64
	for _, row := range table(t, "testdata/fitts1954-tapping-1oz.csv") {
		assert.InDelta(t, math.Log2(2*number(t, row[0])/number(t, row[1])), number(t, row[2]), 1e-9)
		xs, ys = append(xs, number(t, row[2])), append(ys, number(t, row[3]))
	}
	a, b, r := regression(xs, ys)
	t.Logf("%.1f + %.1f·ID ms, r = %.4f", a, b, r)
	assert.InDelta(t, 12.8, a, 0.05)
	assert.InDelta(t, 94.7, b, 0.05)
	assert.InDelta(t, 0.9831, r, 0.00005)
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
	assert.InDelta(t, (3.5-2.0)*tmu, among.Floor-swap.Floor, 1e-9, "G1B for G1A")

	cells := map[string]float64{}
	for _, row := range table(t, "testdata/mtm2.csv") {
		key := row[0]
		if row[1] != "" {
			key += row[1]
		}
		cells[key] = number(t, row[3])
	}
	mtm2 := (cells["PA45"] + cells["GB30"] + cells["PA45"] + cells["R"]) * tmu
	assert.InDelta(t, 1.80, mtm2, 0.005)
	assert.InDelta(t, swap.Steady, mtm2, 0.05, "the two tables agree")
	mtm2Among := (cells["PA45"] + cells["GC30"] + cells["PA45"] + cells["R"]) * tmu
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
	assert.InDelta(t, sixteenths(120), p.alternate().Steady, 0.001, "two mallets in one hand, sixteenths at 120")
	assert.InDelta(t, sixteenths(100), p.twoFeet().Steady, 0.001, "two feet, sixteenths at 100")
	assert.InDelta(t, 60.0/100/2, p.oneFoot().Steady, 0.001, "one foot, eighths at 100")
	assert.InDelta(t, sixteenths(60), p.sameMallet().Steady, 0.001, "both of the two mallets together half of that")
	assert.InDelta(t, 1.0/7, p.Same().Floor, 1e-9, "5–7 Hz, Fujii et al. 2009–2011")
	assert.InDelta(t, 0.1, Professional().Same().Floor, 1e-9, "about 10 Hz the fastest, Fujii et al.")
}

// Five yards: a turn and six paces, 18.6 + 6 × 15.0 TMU = 3.91 s by MTM-1.
func TestFiveYards(t *testing.T) {
	p := Experienced()
	got := Sum(p.Between(457.2))
	assert.InDelta(t, (18.6+6*15.0)*tmu, got.Floor, 1e-9)
	assert.InDelta(t, 3.91, got.Floor, 0.005)
	bar := func(tempo float64) float64 { return 4 * 60 / tempo }
	assert.Greater(t, got.Floor, bar(120), "one bar of 4/4 at 120 is not enough")
	assert.Less(t, got.Floor, bar(60), "at 60 it just is")
}

// What a player says is the fastest that one hand can do holds for that hand,
// for its two mallets and for the two hands in turn, but not for the feet.
func TestTheFastestThatAPlayerNames(t *testing.T) {
	for _, fastest := range []float64{3, 4, 6, 9, 12} {
		p := Experienced()
		plain := p
		p.Fastest = fastest
		assert.InDelta(t, 1/fastest, p.Same().Floor, 1e-12)
		assert.InDelta(t, 1/(2*fastest), p.HandToHand().Floor, 0.02/fastest, "each hand at its own limit")
		assert.Equal(t, p.Same().Floor, p.Same().Limit, "nobody is quicker than he says he is")
		assert.InDelta(t, 7/fastest, p.alternate().Floor/plain.alternate().Floor, 1e-9)
		assert.Equal(t, plain.oneFoot(), p.oneFoot())
		assert.Equal(t, plain.twoFeet(), p.twoFeet())
		for name, pace := range rates(p) {
			assert.GreaterOrEqual(t, pace.Steady, pace.Floor, "%s at %g a second", name, fastest)
		}
	}
}

func rates(p Profile) map[string]Pace {
	return map[string]Pace{
		"one hand": p.Same(), "one mallet of two": p.sameMallet(), "mallet to mallet": p.alternate(),
		"one foot": p.oneFoot(), "two feet": p.twoFeet(), "hand to hand": p.HandToHand(),
	}
}

// The times of one hand on one surface are each profile's own and are not
// scaled again: student 1/6 and 0.25 s, experienced 1/7 and 0.208 s,
// professional 1/10 and 1/7 s. The other limbs stand in proportion.
func TestRatesOfTheProfiles(t *testing.T) {
	assert.Equal(t, Pace{Limit: 0.080 * (1.0 / 6) / (1.0 / 7), Floor: 1.0 / 6, Steady: 0.25}, Student().Same())
	assert.Equal(t, Pace{Limit: 0.080, Floor: 1.0 / 7, Steady: 0.208}, Experienced().Same())
	assert.Equal(t, Pace{Limit: 0.080, Floor: 1.0 / 10, Steady: 1.0 / 7}, Professional().Same())
	s, e, p := rates(Student()), rates(Experienced()), rates(Professional())
	for name := range e {
		assert.InDelta(t, 7.0/6, s[name].Limit/e[name].Limit, 1e-9, name)
		assert.Equal(t, e[name].Limit, p[name].Limit, "nobody is quicker than the quickest that were seen: %s", name)
		assert.Greater(t, s[name].Floor, e[name].Floor, name)
		assert.Greater(t, s[name].Steady, e[name].Steady, name)
		assert.Less(t, p[name].Floor, e[name].Floor, name)
		assert.Less(t, p[name].Steady, e[name].Steady, name)
		assert.InDelta(t, max(p[name].Limit, 7.0/10*e[name].Floor), p[name].Floor, 1e-9, name)
		assert.InDelta(t, 0.25/0.208, s[name].Steady/e[name].Steady, 1e-9, name)
	}
}

func TestProfilesByName(t *testing.T) {
	for _, name := range ProfileNames() {
		p, ok := ProfileNamed(name)
		assert.True(t, ok)
		assert.Equal(t, name, p.Name)
	}
	_, ok := ProfileNamed("virtuoso")
	assert.False(t, ok)
}

// A class costs what its codes cost on the card, at the floor as when steady.
func TestWhatHandlingAdds(t *testing.T) {
	p := Experienced()
	for _, c := range []struct {
		h         Handling
		take, lay float64 // TMU
	}{{Easy, 0, 0}, {Careful, 5.6, 5.6}, {Awkward, 11.2, 11.2}} {
		take, lay := p.Take(40, "drum", c.h, false).Pace, p.Lay(40, "drum", c.h, false).Pace
		easyTake, easyLay := p.Take(40, "drum", Easy, false).Pace, p.Lay(40, "drum", Easy, false).Pace
		assert.InDelta(t, c.take*tmu, take.Floor-easyTake.Floor, 1e-9)
		assert.InDelta(t, c.take*tmu, take.Steady-easyTake.Steady, 1e-9)
		assert.InDelta(t, c.lay*tmu, lay.Floor-easyLay.Floor, 1e-9)
		assert.InDelta(t, c.lay*tmu, lay.Steady-easyLay.Steady, 1e-9)
	}
	assert.Equal(t, modelled, p.Take(40, "drum", Careful, false).Source)
	assert.Equal(t, modelled, p.Lay(40, "drum", Awkward, false).Source)
}

// To lay a thing quietly is the exact placing M-C in place of M-B, MTM-1:
// 18.5 against 15.6 TMU at 40 cm.
func TestLayingQuietly(t *testing.T) {
	p := Experienced()
	loud, quiet := p.Lay(40, "stick", Easy, false).Pace, p.Lay(40, "stick", Easy, true).Pace
	assert.Equal(t, loud.Floor, quiet.Floor)
	assert.InDelta(t, (18.5-15.6)*tmu, quiet.Steady-loud.Steady, 1e-9)
}

// Side steps on the MTM-1 card: 17.0 and 34.1 TMU at 30 cm, 0.2 and 0.4 TMU
// more for each centimetre. Up to 90 cm one is cheaper than to turn and walk.
func TestAStepIsCheaperThanTurningAndWalking(t *testing.T) {
	p := Experienced()
	assert.Empty(t, p.Between(29.9), "a shift of weight")
	assert.Equal(t, Pace{}, p.step(29.9).Pace)
	assert.InDelta(t, 17.0*tmu, p.step(30).Pace.Floor, 1e-9)
	assert.InDelta(t, 34.1*tmu, p.step(30).Pace.Steady, 1e-9)
	assert.InDelta(t, 23.0*tmu, p.step(60).Pace.Floor, 1e-9)
	assert.InDelta(t, 46.1*tmu, p.step(60).Pace.Steady, 1e-9)
	for d := 30.0; d <= longestStep; d++ {
		step, walk := Sum(p.Between(d)), Sum([]Motion{p.turn(), p.walk(d)})
		assert.Equal(t, p.step(d).Pace, step)
		assert.Less(t, step.Floor, walk.Floor, "%g cm", d)
		assert.Less(t, step.Steady, walk.Steady, "%g cm", d)
	}
	assert.Equal(t, Sum([]Motion{p.turn(), p.walk(91)}), Sum(p.Between(91)))
}

// A distance or width that is no number, negative or without end gives times
// that are numbers or without end, and never below nothing.
func TestOddDistances(t *testing.T) {
	for _, d := range []float64{math.NaN(), -40, math.Inf(-1), math.Inf(1), 0} {
		for _, w := range []float64{math.NaN(), -1, 0, 15} {
			ms := append(motionsOf(Experienced(), d, w), Experienced().Between(d)...)
			for _, m := range ms {
				assert.False(t, math.IsNaN(m.Pace.Limit) || math.IsNaN(m.Pace.Floor) || math.IsNaN(m.Pace.Steady), "%s %s", m.Words, m.Code)
				assert.GreaterOrEqual(t, m.Pace.Limit, 0.0, m.Words)
				assert.GreaterOrEqual(t, m.Pace.Floor, m.Pace.Limit, m.Words)
				assert.GreaterOrEqual(t, m.Pace.Steady, m.Pace.Floor, m.Words)
			}
		}
	}
}

func TestPaces(t *testing.T) {
	assert.Equal(t, Pace{Limit: 3, Floor: 4, Steady: 6}, Pace{1, 1, 2}.Add(Pace{2, 3, 4}))
	assert.Equal(t, Pace{Limit: 2, Floor: 3, Steady: 5}, Pace{1, 1, 5}.Max(Pace{2, 3, 4}))
	assert.Equal(t, Pace{}, Sum(nil))
	assert.InDelta(t, 13, Point{3, 4, 12}.Dist(Point{}), 1e-12)
}

// What rests on values that were not seen on the card says so.
func TestMotionsFromMemorySaySo(t *testing.T) {
	for code, m := range map[string]Motion{"B": Experienced().Bend(), "AB": Experienced().Rise(), "SIT": Experienced().SitDown(), "STD": Experienced().StandUp(), "G2": Experienced().Regrasp("x"), "G3": Experienced().PassOver("x")} {
		_, status, ok := tmuOf(code)
		require.True(t, ok)
		assert.Equal(t, code, m.Code)
		assert.Equal(t, status == "memory", m.Source == mtm1Memory, code)
	}
}

func profiles() []Profile { return []Profile{Student(), Experienced(), Professional()} }

func motionsOf(p Profile, d, w float64) []Motion {
	return []Motion{
		p.Travel(d, w), p.Lay(d, "stick", Easy, false), p.Lay(d, "stick", Awkward, true), p.Take(d, "stick", Easy, false),
		p.Take(d, "stick", Careful, true), p.Carry(d, w), p.step(d), p.walk(d), p.TurnPage(), p.Damp(d, w),
		p.Regrasp("x"), p.PassOver("x"), p.turn(), p.glance(), p.SitDown(), p.StandUp(), p.Bend(), p.Rise(), p.Touch(), p.TouchAfter(),
	}
}

func TestSteadyIsNeverBelowTheFloorNorTheFloorBelowTheLimit(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(profiles()).Draw(t, "profile")
		d, w := rapid.Float64Range(0, 2000).Draw(t, "distance"), rapid.Float64Range(1, 100).Draw(t, "width")
		for _, m := range motionsOf(p, d, w) {
			if m.Pace.Steady < m.Pace.Floor || m.Pace.Floor < m.Pace.Limit || m.Pace.Limit < 0 {
				t.Fatalf("%s: %+v", m.Words, m.Pace)
			}
			if m.Pace != (Pace{}) && (m.Code == "" || m.Source == "" || m.Words == "") {
				t.Fatalf("a motion without its code, source or words: %+v", m)
			}
		}
	})
}

func TestFurtherIsNeverQuicker(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(profiles()).Draw(t, "profile")
		d, more := rapid.Float64Range(0, 500).Draw(t, "distance"), rapid.Float64Range(0, 500).Draw(t, "more")
		near, far := motionsOf(p, d, 15), motionsOf(p, d+more, 15)
		for i := range near {
			if far[i].Pace.Limit < near[i].Pace.Limit-1e-9 || far[i].Pace.Floor < near[i].Pace.Floor-1e-9 || far[i].Pace.Steady < near[i].Pace.Steady-1e-9 {
				t.Fatalf("%s %+v, then %s %+v", near[i].Words, near[i].Pace, far[i].Words, far[i].Pace)
			}
		}
		a, b := Sum(p.Between(d)), Sum(p.Between(d+more))
		if b.Limit < a.Limit-1e-9 || b.Floor < a.Floor-1e-9 || b.Steady < a.Steady-1e-9 {
			t.Fatalf("%g cm takes %+v, %g cm %+v", d, a, d+more, b)
		}
	})
}

func TestStudentsAreSlowerAndProfessionalsQuicker(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0, 500).Draw(t, "distance")
		s, e, p := motionsOf(Student(), d, 15), motionsOf(Experienced(), d, 15), motionsOf(Professional(), d, 15)
		for i := range e {
			if s[i].Pace.Limit < e[i].Pace.Limit || e[i].Pace.Limit < p[i].Pace.Limit || s[i].Pace.Floor < e[i].Pace.Floor || e[i].Pace.Floor < p[i].Pace.Floor || s[i].Pace.Steady < e[i].Pace.Steady || e[i].Pace.Steady < p[i].Pace.Steady {
				t.Fatalf("%s: %v %v %v", e[i].Words, s[i].Pace, e[i].Pace, p[i].Pace)
			}
		}
	})
}

// A way of a hand is never quicker than the hand is on one spot, at any of the
// three, and its limit stands where its share or one hand's limit is.
func TestAWayIsNoQuickerThanOneSpot(t *testing.T) {
	for _, p := range profiles() {
		same := p.Same()
		for _, d := range []float64{0, 1, 5, 15, 40, 100} {
			for _, w := range []float64{4, 8, 15, 60} {
				got := p.Travel(d, w).Pace
				assert.GreaterOrEqual(t, got.Limit, same.Limit)
				assert.GreaterOrEqual(t, got.Floor, same.Floor)
				assert.GreaterOrEqual(t, got.Steady, same.Steady)
			}
		}
		assert.Equal(t, same, p.Travel(0, 15).Pace, "no way is a stroke on the spot")
	}
}

func TestAMarginWidensOnlyTheSteadyTime(t *testing.T) {
	p := Experienced()
	wide := p
	wide.Margin = 1.4
	a, b := p.Carry(40, 15).Pace, wide.Carry(40, 15).Pace
	assert.Equal(t, a.Floor, b.Floor)
	assert.InDelta(t, 1.4*a.Steady, b.Steady, 1e-9)
}

// Every motion of an experienced player at 40 cm, hand-worked from the card:
// R40B 15.6, R40C 16.8, M40B 15.6, M40C 18.5, G1A 2.0, G1B 3.5, G2 and G3 5.6,
// G4B 9.1, RL1 2.0 TMU; a pace W-P 15.0 and W-PO 17.0; E 7 on the MTM-2 card.
func TestEveryMotionWorkedByHand(t *testing.T) {
	p := Experienced()
	fitts15 := 0.0277 + 0.1115*math.Log2(40.0/15+1)
	fitts5 := 0.0277 + 0.1115*math.Log2(40.0/5+1)
	for _, c := range []struct {
		motion             Motion
		code               string
		fitts, floor, card float64 // seconds; TMU beside it; TMU
	}{
		{p.Lay(40, "stick", Easy, false), "M-B 40 cm + RL1", fitts15, 2.0, 15.6 + 2.0},
		{p.Lay(40, "stick", Easy, true), "M-C 40 cm + RL1", fitts15, 2.0, 18.5 + 2.0},
		{p.Take(40, "stick", Easy, false), "R-B 40 cm + G1A + G2", fitts5, 2.0, 15.6 + 2.0 + 5.6},
		{p.Take(40, "stick", Easy, true), "R-C 40 cm + G4B + G2", fitts5, 3.5, 16.8 + 9.1 + 5.6},
		{p.Carry(40, 15), "M-B 40 cm", fitts15, 0, 15.6},
		{p.TurnPage(), "R-B 40 cm + G1B + M-B 40 cm + RL1", fitts5 + fitts15, 3.5 + 2.0, 15.6 + 3.5 + 15.6 + 2.0},
		{p.Regrasp("form the grip"), "G2", 0, 5.6, 5.6},
		{p.PassOver("stick"), "G3", 0, 5.6, 5.6},
		{p.step(40), "SS 40 cm", 0, 17.0 + 2.0, 34.1 + 4.0},
		{p.turn(), "TBC1 / TBC2", 0, 18.6, 37.2},
		{p.walk(40), "1 W-P / 1 W-PO", 0, 15.0, 17.0},
		{p.walk(152), "2 W-P / 3 W-PO", 0, 30.0, 51.0},
		{p.walk(300), "4 W-P / 4 W-PO", 0, 60.0, 68.0},
		{p.glance(), "2 E", 0, 14.0, 14.0},
		{p.SitDown(), "SIT", 0, 34.7, 34.7},
		{p.StandUp(), "STD", 0, 43.4, 43.4},
		{p.Bend(), "B", 0, 29.0, 29.0},
		{p.Rise(), "AB", 0, 31.9, 31.9},
	} {
		assert.Equal(t, c.code, c.motion.Code)
		assert.InDelta(t, c.fitts+c.floor*tmu, c.motion.Pace.Floor, 1e-9, c.code)
		assert.InDelta(t, c.card*tmu, c.motion.Pace.Steady, 1e-9, c.code)
		assert.InDelta(t, 0.65*c.motion.Pace.Floor, c.motion.Pace.Limit, 1e-9, c.code)
	}
	for _, w := range []float64{5, 15, 40} {
		fit := 0.0277 + 0.1115*math.Log2(40/w+1)
		limit := max(0.080, 0.62*fit)
		if w == 5 {
			limit = 0.50 * fit
		}
		for _, m := range []Motion{p.Travel(40, w), p.Damp(40, w)} {
			assert.InDelta(t, limit, m.Pace.Limit, 1e-9, m.Code)
			assert.InDelta(t, max(1.0/7, fit), m.Pace.Floor, 1e-9, m.Code)
			assert.InDelta(t, max(0.208, 1.4*fit), m.Pace.Steady, 1e-9, m.Code)
		}
	}
}

// What the profiles are made of, modelled but for the rates: student 1.3 and
// 1.2 times, professional 0.9 and 0.8 times an experienced player's; reach 60
// cm, 75 when leaning.
func TestWhatTheProfilesAreMadeOf(t *testing.T) {
	base := Experienced().Carry(40, 15).Pace
	for _, c := range []struct {
		p             Profile
		floor, steady float64
	}{{Student(), 1.3, 1.2}, {Experienced(), 1, 1}, {Professional(), 0.9, 0.8}} {
		got := c.p.Carry(40, 15).Pace
		assert.InDelta(t, c.floor*base.Floor, got.Floor, 1e-9, c.p.Name)
		assert.InDelta(t, c.steady*base.Steady, got.Steady, 1e-9, c.p.Name)
		assert.Equal(t, []float64{60, 75, 1}, []float64{c.p.Reach, c.p.Lean, c.p.Margin}, c.p.Name)
	}
}
