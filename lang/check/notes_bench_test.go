package check

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"example.org/handful/lang/pitch"
	"example.org/handful/lang/syntax"
)

// noted is a piece of so many bars for one player, a line of eighths of which
// each says its note; or else, with the same rhythm, none does, and accents and
// dynamics are drawn instead, so that no two bars are alike there either.
func noted(inst string, low, high, bars int, kettles, notes bool) string {
	tuned := [4]int{40, 45, 50, 55}
	draw := rand.New(rand.NewPCG(15, uint64(low)))
	var b strings.Builder
	fmt.Fprintf(&b, "title \"Notes to measure by\"\nmeter 4/4\ntempo 92\nbars %d\n\nplayer Ida\n", bars)
	for from := 1; from+3 <= bars; from += 4 {
		fmt.Fprintf(&b, "  from %d\n  RL %s |", from, inst)
		if kettles { // a passage has four notes, one of them another one than before
			tuned[draw.IntN(4)] = low + draw.IntN(high-low+1)
		}
		for range 4 {
			for i := range 8 {
				sign := fmt.Sprintf("%d%s", i/2+1, []string{"", "&"}[i%2])
				n, loud := low+draw.IntN(high-low+1), draw.IntN(12)
				if kettles {
					n = tuned[n%4]
				}
				switch {
				case notes:
					sign += ":" + pitch.FromSemitone(n).String()
				case loud < 4:
					sign += ">"
				case loud < 6:
					sign = []string{"mf", "mp"}[loud-4] + " " + sign
				}
				b.WriteString(" " + sign)
			}
			b.WriteString(" |")
		}
		b.WriteString("\n")
	}
	return b.String()
}

// BenchmarkNotes checks 600 bars of random notes, and beside them the same file
// without notes, one after the other so that both meet the same machine. It
// prints how many times as long the notes take, of the least of each; budget 1.5.
func BenchmarkNotes(b *testing.B) {
	for _, x := range []struct {
		name, inst string
		low, high  int
		kettles    bool
	}{{"marimba", "marimba", 45, 96, false}, {"xylophone", "xylophone", 53, 96, false}, {"timpani", "timpani", 38, 57, true}, {"any-timpani", "timpani", 38, 57, false}} {
		b.Run(x.name, func(b *testing.B) {
			with, without := noted(x.inst, x.low, x.high, 600, x.kettles, true), noted(x.inst, x.low, x.high, 600, x.kettles, false)
			if n := len(syntax.Parse(with).Problems) + len(syntax.Parse(without).Problems); n > 0 {
				b.Fatal(n, "problems")
			}
			least := [2]time.Duration{time.Hour, time.Hour}
			for b.Loop() {
				for i, text := range [2]string{with, without} {
					start := time.Now()
					checkText(text)
					least[i] = min(least[i], time.Since(start))
				}
			}
			b.ReportMetric(least[0].Seconds()*1e3, "ms-with")
			b.ReportMetric(least[1].Seconds()*1e3, "ms-without")
			b.ReportMetric(least[0].Seconds()/least[1].Seconds(), "times")
		})
	}
}
