package check_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/check"
)

// The order of the lines under a from, of the kit and of the players means
// nothing.
func TestAnyOrderOfLines(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 3, Roads: true, Actions: true, Quick: true})
		q := p.Clone()
		q.Players = rapid.Permutation(q.Players).Draw(t, "players")
		for i := range q.Players {
			pl := &q.Players[i]
			pl.Kit = rapid.Permutation(pl.Kit).Draw(t, "kit")
			for k := range pl.Sections {
				pl.Sections[k].Cues = rapid.Permutation(pl.Sections[k].Cues).Draw(t, "cues")
			}
		}
		a, b := n.of(p.Text()), at(q.Text(), 1)
		n.tried++
		if d := unlike(a, b, said(a), said(b)); d != "" {
			t.Fatalf("%s\n%s\nand\n%s", d, p.Text(), q.Text())
		}
	})
}

// A cue over several bars may as well be two, one after the other.
func TestACueInTwoRanges(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 2, NoPairs: true, NoStops: true, Roads: true, Actions: true, Quick: true})
		q := p.Clone()
		for i := range q.Players {
			pl := &q.Players[i]
			for k := range pl.Sections {
				s := &pl.Sections[k]
				for x := len(s.Cues) - 1; x >= 0; x-- {
					if c := s.Cues[x]; c.Bars == 2 && !c.Tied() {
						first, second := c.Cut(0, 1), c.Cut(1, 1)
						if len(first.Strokes) == 0 || len(second.Strokes) == 0 {
							continue
						}
						second.From = 1
						s.Cues = slices.Replace(s.Cues, x, x+1, first, second)
						n.tried++
					}
				}
			}
		}
		p.Written = rapid.Bool().Draw(t, "as written")
		q.Written = p.Written
		a, b := n.of(p.Text()), at(q.Text(), 1)
		rest := func(f *check.Finding) bool { return f.Rule.Name != "too-fast" } // a row of strokes ends where its cue does
		if x, y := faults(a, rest), faults(b, rest); x != y {
			t.Fatalf("%d errors, in two ranges %d\n%s\nand\n%s\n%s", x, y, worst(a), worst(b), q.Text())
		}
	})
}
