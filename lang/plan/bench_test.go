package plan

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// band writes parts alone: sections of eight bars with a mark each; in every
// section every part plays one of its three instruments or rests. It is made
// up for the measurement, and the same for the same number.
func band(parts, bars int, busy float64, number uint64) string {
	rng := rand.New(rand.NewPCG(number, 17))
	kinds := []string{"snare-drum", "woodblock", "suspended-cymbal", "bass-drum", "triangle", "tom-toms", "tambourine", "cowbell",
		"glockenspiel", "crash-cymbals", "shaker", "timpani", "temple-blocks", "claves", "xylophone", "tam-tam"}
	rhythms := []string{"1 2 3 4", "1 2& 3 4", "1 3", "2 4", "1", "1 1& 2 3", "3", "4", "1& 2& 3& 4&"}
	dyns := []string{"p", "mp", "mf", "f"}
	var b strings.Builder
	fmt.Fprintf(&b, "title \"A band to plan for\"\nmeter 4/4\ntempo 88\nbars %d\n", bars)
	for bar := 1; bar <= bars; bar += 8 {
		fmt.Fprintf(&b, "mark M%d at %d\n", bar/8+1, bar)
	}
	for p := range parts {
		fmt.Fprintf(&b, "\npart \"Percussion %d\"\n", p+1)
		for bar := 1; bar <= bars; bar += 8 {
			if rng.Float64() > busy {
				continue
			}
			kind := kinds[(p+3*rng.IntN(3))%len(kinds)]
			n := min(8, bars-bar+1)
			x, y := rhythms[rng.IntN(len(rhythms))], rhythms[rng.IntN(len(rhythms))]
			fmt.Fprintf(&b, "  from %d\n  %s | %s %s", bar, kind, dyns[rng.IntN(len(dyns))], x)
			for k := 1; k < n; k++ {
				switch {
				case k%4 == 3 && rng.IntN(3) == 0:
					b.WriteString(" | -")
				case k%2 == 1:
					b.WriteString(" | " + y)
				default:
					b.WriteString(" | " + x)
				}
			}
			b.WriteString("\n")
		}
	}
	return b.String()
}

func planned(tb testing.TB, text string, opt Options) Plan {
	p, err := File(context.Background(), "test.handful", syntax.Parse(text), opt)
	require.NoError(tb, err)
	return p
}

// BenchmarkPlan plans made-up pieces; it reports what is lost, the bound and
// the gap beside the time. Budgets: four parts of 64 bars for two in 0.3 s,
// twelve of 300 for four in 10 s with a gap of at most 1 %.
func BenchmarkPlan(b *testing.B) {
	for _, c := range []struct {
		parts, bars, players int
		busy                 float64
		budget               float64
	}{{4, 64, 2, 0.8, 0.3}, {12, 300, 4, 0.55, 10}, {12, 300, 4, 0.75, 10}} {
		b.Run(fmt.Sprintf("%dparts-%dbars-%dplayers-%.0f%%", c.parts, c.bars, c.players, c.busy*100), func(b *testing.B) {
			text := band(c.parts, c.bars, c.busy, 1)
			var p Plan
			for b.Loop() {
				p = planned(b, text, Options{Players: c.players})
			}
			b.ReportMetric(p.Written, "written")
			b.ReportMetric(p.Value, "value")
			b.ReportMetric(p.Bound, "bound")
			b.ReportMetric(100*p.Gap, "gap-%")
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/c.budget, "of-budget")
		})
	}
}

// BenchmarkGrowth plans pieces of one width and ever more bars; it reports the
// exponent of time in bars, which should be about 1.
func BenchmarkGrowth(b *testing.B) {
	bars := []int{64, 128, 256, 512, 1024}
	var took []float64
	for b.Loop() {
		took = took[:0]
		for _, n := range bars {
			text := band(4, n, 0.8, 1)
			began := time.Now()
			planned(b, text, Options{Players: 2})
			took = append(took, time.Since(began).Seconds())
		}
	}
	last := len(bars) - 1
	b.ReportMetric(math.Log(took[last]/took[0])/math.Log(float64(bars[last])/float64(bars[0])), "exponent")
	for i, n := range bars {
		b.ReportMetric(took[i]*1000, fmt.Sprintf("ms-at-%d", n))
	}
}
