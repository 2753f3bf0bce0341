package check

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"testing"

	"example.org/handful/lang/pitch"
	"example.org/handful/lang/syntax"
)

// noted is a piece of so many bars for one player, a line of eighths of which
// each says its note; or else, with the same rhythm, none does, and accents and
// dynamics are drawn instead, so that no two bars are alike there either. Nothing is
// played in a bar of which no note is drawn.
func noted(inst string, bars int, draw *rand.Rand, bar func(n int) []int, notes bool) string {
	var b strings.Builder
	fmt.Fprintf(&b, "title \"Notes to measure by\"\nmeter 4/4\ntempo 92\nbars %d\n\nplayer Ida\n", bars)
	for from := 1; from+3 <= bars; from += 4 {
		fmt.Fprintf(&b, "  from %d\n  RL %s |", from, inst)
		for n := range 4 {
			list := bar(from + n)
			if list == nil {
				b.WriteString(" -")
			}
			for i, n := range list {
				sign := fmt.Sprintf("%d%s", i/2+1, []string{"", "&"}[i%2])
				switch loud := draw.IntN(12); {
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

// anyNotes are eight from low to high a bar, whatever they are.
func anyNotes(low, high int) func(*rand.Rand) func(int) []int {
	return func(draw *rand.Rand) func(int) []int {
		return func(int) []int {
			list := make([]int, 8)
			for i := range list {
				list[i] = low + draw.IntN(high-low+1)
			}
			return list
		}
	}
}

// fourNotes are four at a time for kettles, one of them another one than before every
// four bars, without a rest: nobody could tune that.
func fourNotes(low, high int) func(*rand.Rand) func(int) []int {
	return func(draw *rand.Rand) func(int) []int {
		tuned := [4]int{40, 45, 50, 55}
		return func(bar int) []int {
			if bar%4 == 1 {
				tuned[draw.IntN(4)] = low + draw.IntN(high-low+1)
			}
			list := make([]int, 8)
			for i := range list {
				list[i] = tuned[draw.IntN(4)]
			}
			return list
		}
	}
}

// keyboardPart is as a part is: eighths that go on by at most a fifth within two and a
// half octaves, in phrases of four bars of which the third is the first once more.
func keyboardPart(low, high int) func(*rand.Rand) func(int) []int {
	return func(draw *rand.Rand) func(int) []int {
		at := (low + high) / 2
		var phrase [4][]int
		return func(bar int) []int {
			n := (bar - 1) % 4
			if n == 2 {
				return phrase[0]
			}
			list := make([]int, 8)
			for i := range list {
				at = max(low, min(high, at+draw.IntN(15)-7))
				list[i] = at
			}
			phrase[n] = list
			return list
		}
	}
}

// timpaniPart is as a part is: each of the four usual kettles has one note, which
// comes again or goes to a kettle beside it, and in a bar of rest out of every
// sixteen one of them gets another note.
func timpaniPart(draw *rand.Rand) func(int) []int {
	reach := [4][2]int{{38, 41}, {43, 46}, {48, 50}, {52, 57}}
	tuned, on := [4]int{41, 46, 48, 53}, 0
	return func(bar int) []int {
		if bar%16 == 0 {
			k := draw.IntN(4)
			tuned[k] = reach[k][0] + draw.IntN(reach[k][1]-reach[k][0]+1)
			return nil
		}
		list := make([]int, 8)
		for i := range list {
			if draw.IntN(2) == 0 {
				on = max(0, min(3, on+2*draw.IntN(2)-1))
			}
			list[i] = tuned[on]
		}
		return list
	}
}

// notesPieces are the pieces of BenchmarkNotes, with notes and without.
var notesPieces = []struct {
	name, inst string
	notes      func(*rand.Rand) func(bar int) []int
}{
	{"marimba", "marimba", keyboardPart(52, 82)},
	{"xylophone", "xylophone", keyboardPart(60, 90)},
	{"any-marimba", "marimba", anyNotes(45, 96)},
	{"any-xylophone", "xylophone", anyNotes(53, 96)},
	{"timpani", "timpani", timpaniPart},
	{"untunable-timpani", "timpani", fourNotes(38, 57)},
	{"any-timpani", "timpani", anyNotes(38, 57)},
}

// BenchmarkNotes checks 600 bars with notes, and the same file without, in turn, so
// that both meet the same machine, each from a clean heap. It prints how many times as
// long the notes take, in processor time where that is known: the median of the pairs,
// so that what else the machine does moves it by little. Nothing is collected meanwhile
// ("times"), and then once more as the program runs ("times-collected"); how far apart
// the quartiles of the pairs are ("apart") says how good that is. Run it for 100 pairs.
// Budget 1.5, but for the timpani parts that nobody could play, where each change of a
// note is a finding.
func BenchmarkNotes(b *testing.B) {
	for _, x := range notesPieces {
		b.Run(x.name, func(b *testing.B) {
			var texts [2]string
			for i := range texts {
				draw := rand.New(rand.NewPCG(15, 15))
				texts[i] = noted(x.inst, 600, draw, x.notes(draw), i == 0)
				if n := len(syntax.Parse(texts[i]).Problems); n > 0 {
					b.Fatal(n, "problems")
				}
			}
			findings := len(checkText(texts[0]).Findings)
			times := func() (list []float64, least [2]float64) {
				least = [2]float64{math.Inf(1), math.Inf(1)}
				for n := range b.N + 2 {
					var took [2]float64
					for k := range took {
						i := (n + k) % 2 // turned about, so that neither is always the first
						runtime.GC()     // what the other one left is not this one's
						start := spent()
						checkText(texts[i])
						took[i] = (spent() - start).Seconds()
						least[i] = min(least[i], took[i])
					}
					list = append(list, took[0]/took[1])
				}
				list = list[2:] // the first are slower: memory is new
				slices.Sort(list)
				return list, least
			}
			usual := debug.SetGCPercent(-1) // and no memory is given back
			list, least := times()
			debug.SetGCPercent(usual)
			b.ReportMetric(0, "ns/op")
			b.ReportMetric(least[0]*1e3, "ms-with")
			b.ReportMetric(least[1]*1e3, "ms-without")
			b.ReportMetric(list[len(list)/2], "times")
			b.ReportMetric(list[len(list)*3/4]-list[len(list)/4], "apart")
			list, _ = times()
			b.ReportMetric(list[len(list)/2], "times-collected")
			b.ReportMetric(float64(findings), "findings")
		})
	}
}
