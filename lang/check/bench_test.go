package check

import (
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"
	"time"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// band writes a piece of so many bars: four parts, four players, a new
// passage every four bars, no two neighbouring passages alike. It is made up
// for the measurement.
func band(bars int) string {
	kinds := [4][2]string{
		{"snare-drum", "suspended-cymbal"}, {"woodblock", "triangle"},
		{"bass-drum", "tom-toms"}, {"tambourine", "cowbell"},
	}
	mounts := map[string]string{"triangle": " clipped", "tambourine": " padded"}
	rhythms := []string{"1 2 3 4", "1 2& 3 4", "1 3", "2 4"}
	var b strings.Builder
	fmt.Fprintf(&b, "title \"A band to measure by\"\nmeter 4/4\ntempo 72\nbars %d\n", bars)
	for p := range 4 {
		fmt.Fprintf(&b, "\npart \"Percussion %d\"\n", p+1)
		for bar := 1; bar+3 <= bars; bar += 4 {
			k := bar / 4
			fmt.Fprintf(&b, "  from %d\n  %s | mf %s | %s | %% | -\n", bar, kinds[p][k/2%2], rhythms[k%4], rhythms[(k+p)%4])
		}
	}
	for p := range 4 {
		fmt.Fprintf(&b, "\nplayer P%d\n", p+1)
		for bar := 1; bar+3 <= bars; bar += 4 {
			k := bar / 4
			kind := kinds[p][k/2%2]
			limb := "RL"[k%2 : k%2+1]
			if k%3 == 0 {
				fmt.Fprintf(&b, "  from %d\n  %s %s%s as written\n", bar, limb, kind, mounts[kind])
				continue
			}
			fmt.Fprintf(&b, "  from %d\n  %s %s%s | %s | %s | %% | -\n", bar, limb, kind, mounts[kind], rhythms[k%4], rhythms[(k+p)%4])
		}
	}
	return b.String()
}

// thousand is a piece whose file has about a thousand lines.
func thousand() string { return band(248) }

func checkText(text string) *Result { return Check("bench.handful", syntax.Parse(text), Options{}) }

// BenchmarkThousandLines parses, binds and checks a file of a thousand lines;
// budget 25 ms on one core.
func BenchmarkThousandLines(b *testing.B) {
	text := thousand()
	lines := strings.Count(text, "\n")
	var r *Result
	for b.Loop() {
		r = checkText(text)
	}
	b.ReportMetric(float64(lines), "lines")
	b.ReportMetric(float64(strokes(r.Score)), "strokes")
	b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N)/25, "of-25ms")
}

// BenchmarkOneLineEdit changes one line of that file back and forth, parses
// it again and checks it again; budget 3 ms.
func BenchmarkOneLineEdit(b *testing.B) {
	text := thousand()
	other := strings.Replace(text, "P3\n  from 1\n  R bass-drum as written", "P3\n  from 1\n  L bass-drum as written", 1)
	if other == text {
		b.Fatal("the edit did not edit")
	}
	r := Check("bench.handful", syntax.Parse(text), Options{Score: score.Options{Remember: true}})
	for i := 0; b.Loop(); i++ {
		next := other
		if i%2 == 1 {
			next = text
		}
		r = Recheck(r, syntax.Reparse(next, r.File))
	}
	b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N)/3, "of-3ms")
}

func strokes(s *score.Score) int {
	n := 0
	for _, p := range s.Parts {
		for _, l := range p.Lines {
			n += len(l.Strokes)
		}
	}
	for _, p := range s.Players {
		for _, c := range p.Cues {
			n += len(c.Strokes)
		}
	}
	return n
}

// BenchmarkGrowth checks pieces of 100 to 100,000 bars and reports the
// exponent of the time in the bars (1 is linear) and the live bytes a stroke
// of the largest, text and tree included, as it is and with no two lines alike.
func BenchmarkGrowth(b *testing.B) {
	kit.Standard() // it is there in any case
	for b.Loop() {
		var x, y []float64
		var perStroke float64
		for _, bars := range []int{100, 1_000, 10_000, 100_000} {
			took, alike, r := measured(func() string { return band(bars) })
			_, perStroke, _ = measured(func() string { return unlike(band(bars)) })
			x, y = append(x, math.Log(float64(bars))), append(y, math.Log(took.Seconds()))
			b.Logf("%7d bars: %10.2f ms, %6.1f live bytes a stroke, %6.1f with no two lines alike, %d findings", bars, took.Seconds()*1e3, alike, perStroke, len(r.Findings))
		}
		b.ReportMetric(slope(x[1:], y[1:]), "exponent")
		b.ReportMetric(perStroke, "B/stroke")
		b.ReportMetric(perStroke/220, "of-220B")
	}
}

// measured checks a text, and says how long that took and how many bytes a
// stroke are kept, its own among them.
func measured(write func() string) (took time.Duration, perStroke float64, r *Result) {
	runtime.GC()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	text := write()
	start := time.Now()
	r = checkText(text)
	took = time.Since(start)
	runtime.GC()
	runtime.ReadMemStats(&after)
	perStroke = float64(after.HeapAlloc-before.HeapAlloc) / float64(strokes(r.Score))
	runtime.KeepAlive(text)
	return took, perStroke, r
}

// unlike writes a number of its own behind each line, as a comment.
func unlike(text string) string {
	lines := strings.Split(text, "\n")
	for i := range lines {
		if lines[i] != "" {
			lines[i] += fmt.Sprintf(" # %d", i)
		}
	}
	return strings.Join(lines, "\n")
}

func slope(x, y []float64) float64 {
	n, sx, sy, sxx, sxy := float64(len(x)), 0.0, 0.0, 0.0, 0.0
	for i := range x {
		sx, sy, sxx, sxy = sx+x[i], sy+y[i], sxx+x[i]*x[i], sxy+x[i]*y[i]
	}
	return (n*sxy - sx*sy) / (n*sxx - sx*sx)
}
