package syntax

import (
	"fmt"
	"testing"
)

func TestSmoke(t *testing.T) {
	for _, f := range Forms() {
		l := ParseLine(f.Sample)
		if len(l.Problems) > 0 {
			t.Errorf("%s: %v", f.Sample, l.Problems)
		}
	}
	for _, s := range []string{"R suspended-cymbal with 2 yarn-mallets as written", "L sleigh-bells hung as written on 1 3 in 9-16 of \"Percussion 2\"", "R takes yarn-mallet at 12.3", "R lays it at 12.4", "L forearm damps wind-chimes at 14.1", "L damps x at 14.1", "L turns page at 32.3", "R holds 2 yarn-mallets", "table at right 20 ahead 40", "snare-drum on stand at timps ahead 35", "  woodblock | 1 1& 2 4 | % x7 # hi", "| 1 2~3 \"soft #2\" | -", "tmepo 96", "R drum | 1 2 foo 3 | 4q", "meter", "player", "R", "instrument x y", "omit x"} {
		l := ParseLine(s)
		fmt.Printf("%-50s %T %v\n", s, l.Stmt, l.Problems)
	}
}
func BenchmarkLine(b *testing.B) {
	for b.Loop() {
		ParseLine("  R snare-drum with snare-stick | f 1 2 2& 3 4 | % x7")
	}
}
