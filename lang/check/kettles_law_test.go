package check_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/check"
)

// kettlePiece draws a part for a set of kettles of one's own, with rolls, chords
// and rests, with feet that play besides, and with what is played elsewhere in
// between.
func kettlePiece(t *rapid.T) string {
	var b strings.Builder
	fmt.Fprintf(&b, "tempo %d\n", rapid.IntRange(40, 140).Draw(t, "tempo"))
	b.WriteString("instrument set\n  called \"Set\"\n  family membrane\n  size 150 70\n")
	kettles := rapid.IntRange(1, 3).Draw(t, "kettles")
	notes := []string{"F2", "A2", "C3", "D3", "Eb3", "F3", "A3"}[:1+2*kettles]
	for _, k := range [][2]string{{"F2", "C3"}, {"Bb2", "F3"}, {"D3", "A3"}}[:kettles] {
		fmt.Fprintf(&b, "  kettle 66 %s %s\n", k[0], k[1])
	}
	byHand := rapid.IntRange(0, 4).Draw(t, "by hand") == 0
	if byHand {
		b.WriteString("  tuning hand\n")
	}
	b.WriteString("  way floor takes 2 hands with timpani-mallet rolls\nplayer Ida\n")
	bars := rapid.IntRange(1, 5).Draw(t, "bars")
	var line strings.Builder
	var feet [2]strings.Builder
	for range bars {
		line.WriteString("| ")
		for f := range feet {
			feet[f].WriteString("| ")
		}
		rest := rapid.IntRange(0, 8).Draw(t, "rests")
		any, played := false, [2]bool{}
		for pos := 0; pos < 16; pos += 2 {
			for f := range feet {
				if rapid.IntRange(0, 5).Draw(t, "foot") == 0 {
					fmt.Fprintf(&feet[f], "%s ", madeup.Count(pos))
					played[f] = true
				}
			}
			if rapid.IntRange(0, 9).Draw(t, "stroke") < rest {
				continue
			}
			any = true
			note := func() string {
				return rapid.SampledFrom(notes).Draw(t, "note")
			}
			aim := note()
			if other := note(); other != aim && rapid.IntRange(0, 5).Draw(t, "chord") == 0 {
				aim += "+" + other
			}
			roll := ""
			if pos < 12 && rapid.IntRange(0, 5).Draw(t, "roll") == 0 {
				roll = "~" + madeup.Count(pos+2)
			}
			fmt.Fprintf(&line, "%s%s:%s ", madeup.Count(pos), roll, aim)
			if roll != "" {
				pos += 2
			}
		}
		if !any {
			line.WriteString("- ")
		}
		for f := range feet {
			if !played[f] {
				feet[f].WriteString("- ")
			}
		}
	}
	fmt.Fprintf(&b, "  RL set %s\n", line.String())
	switch rapid.IntRange(0, 4).Draw(t, "feet") {
	case 0:
		fmt.Fprintf(&b, "  RF bass-drum-pedal %s\n", feet[0].String())
	case 1:
		fmt.Fprintf(&b, "  seated\n  RF bass-drum-pedal %s\n  LF hi-hat %s\n", feet[0].String(), feet[1].String())
	}
	return b.String()
}

// What is told of how fast a timpani part goes is true: just below it everything
// has its time, and just above something has not.
func TestCeilingsOfKettles(t *testing.T) {
	set := 0
	law(t, func(t *rapid.T, n *tally) {
		text := kettlePiece(t)
		for _, c := range n.of(text).Ceilings() {
			n.tried++
			if wrong := ceilingHolds(text, c); wrong != "" {
				t.Fatalf("%s\n%s", wrong, text)
			}
			if strings.HasPrefix(c.Cannot.Words, "to tune") {
				set++
			}
		}
	})
	t.Logf("%d of them are set by a kettle", set)
}

// At a slower tempo no kettle has less time, and none more is wanting.
func TestSlowerLeavesMoreTimeToTune(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		text := kettlePiece(t)
		of := func(r *check.Result) int {
			return faults(r, func(f *check.Finding) bool {
				return f.Rule.Name == "short-retuning" || f.Rule.Name == "too-few-kettles"
			})
		}
		n.tried++
		fast := n.of(text)
		f := rapid.SampledFrom([]float64{0.999, 0.97, 0.9, 0.75, 0.5, 0.25}).Draw(t, "factor")
		if slow := at(text, f); of(slow) > of(fast) {
			t.Fatalf("%d, and %d at %g of the tempo\n%s\n%s\n%s", of(fast), of(slow), f, strings.Join(said(fast), "\n"), strings.Join(said(slow), "\n"), text)
		}
	})
}

// A kettle more that is offered is one more, of whatever part: its finding is gone
// then, and nothing else is wrong.
func TestOneMoreKettleHolds(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		text := kettlePiece(t)
		r := n.of(text)
		for i := range r.Findings {
			f := &r.Findings[i]
			if f.Rule.Name != "short-retuning" && f.Rule.Name != "too-few-kettles" {
				continue
			}
			for _, fix := range r.Fixes(f) {
				if !strings.HasPrefix(fix.Title, "have one more kettle") {
					continue
				}
				n.tried++
				if wrong := holds(r, f, fix, func(text string) *check.Result { return at(text, 1) }); wrong != "" {
					t.Fatalf("%s: %s\n%s", fix.Title, wrong, text)
				}
				after, _ := check.Apply(r.File, fix.Edits)
				if was, is := strings.Count(text, "  kettle "), strings.Count(after, "  kettle "); is != was+1 {
					t.Fatalf("%s: %d kettles, and were %d\n%s", fix.Title, is, was, after)
				}
			}
			return // one of a piece
		}
	})
}
