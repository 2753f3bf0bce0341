package proof

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A witness is a little piece for one person, who tries something: the lines of the
// kit, and all others of the player.
type witness struct {
	kit, lines []string
}

// mostWitnesses is how many are checked together, as players of one piece.
const mostWitnesses = 48

// The measure of the little pieces: so many counts go by while a clock ticks once, and a place is a part
// of that; of a bar there is enough.
const (
	counts    = 4
	fineness  = 960
	barCounts = 10 * counts
)

// place is a time, in seconds from the beginning, as a count: the time itself, or the
// next one behind it that there is.
func place(t float64) string {
	at := int64(math.Ceil(t*counts*fineness - 1e-6))
	whole, rest := at/fineness, at%fineness
	if rest == 0 {
		return fmt.Sprint(whole + 1)
	}
	return fmt.Sprintf("%d+%d/%d", whole+1, rest, fineness)
}

// A judgement is what the checker says of a witness.
type judgement struct {
	free  bool // it can be done, wherever things have to stand for it
	short bool // there is too little time, or two things are wanted at once
}

// try has the checker judge witnesses.
func (v *verifier) try(list []witness) []judgement {
	var out []judgement
	for some := range slices.Chunk(list, mostWitnesses) {
		out = append(out, v.together(some)...)
	}
	return out
}

func (v *verifier) together(list []witness) []judgement {
	lines := slices.Clone(v.own)
	lines = append(lines, fmt.Sprintf("meter %d/4", barCounts), fmt.Sprintf("tempo 1/4 = %d", 60*counts), "bars 1")
	var first []int // line of each witness
	for i := range list {
		first = append(first, len(lines))
		lines = append(lines, fmt.Sprintf("player W%d", i+1), "  kit")
		for _, l := range append(slices.Clone(list[i].kit), "table at ahead 40") {
			lines = append(lines, "    "+l)
		}
		for _, l := range list[i].lines {
			lines = append(lines, "  "+l)
		}
	}
	r := check.Check(v.name, syntax.Parse(strings.Join(lines, "\n")+"\n"), check.Options{Score: score.Options{Uses: v.opt.Uses}, Load: v.opt.Load, Stop: v.stopped})
	out := make([]judgement, len(list))
	for i := range out {
		out[i].free = !r.Stopped
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Severity != check.Error || slices.Contains(v.things, f.Rule.Name) {
			continue
		}
		if f.Where.File != 0 || int(f.Where.Line) < first[0] { // nothing here can be trusted
			return make([]judgement, len(list))
		}
		at, exactly := slices.BinarySearch(first, int(f.Where.Line))
		if !exactly {
			at--
		}
		out[at].free = false
		out[at].short = out[at].short || f.Timed || slices.Contains(v.atOnce, f.Rule.Name)
	}
	return out
}
