package check

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"
	"time"

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

// BenchmarkNotes checks 600 bars with notes, and beside them the same file without,
// one after the other so that both meet the same machine. It prints how many times as
// long the notes take, of the least of each, in processor time where that is known,
// and how many findings there are with notes; budget 1.5, but for the timpani parts
// that nobody could play, where each change of a note is a finding.
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
			least := [2]time.Duration{time.Hour, time.Hour}
			findings := 0
			for b.Loop() {
				for i, text := range texts {
					runtime.GC() // what the other one left is not this one's
					start := spent()
					r := checkText(text)
					least[i] = min(least[i], spent()-start)
					if i == 0 {
						findings = len(r.Findings)
					}
				}
			}
			b.ReportMetric(least[0].Seconds()*1e3, "ms-with")
			b.ReportMetric(least[1].Seconds()*1e3, "ms-without")
			b.ReportMetric(least[0].Seconds()/least[1].Seconds(), "times")
			b.ReportMetric(float64(findings), "findings")
		})
	}
}
