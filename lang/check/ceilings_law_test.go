package check_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/check"
)

// atEdge counts the errors of a player, and what is at the edge: faster than
// people do it on average.
func atEdge(r *check.Result, name string) int {
	n := 0
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Player == name && f.Rule.Name != "same-space" && (f.Severity == check.Error || f.Timed && f.Need.Floor > f.Window+1e-6) {
			n++
		}
	}
	return n
}

// ceilingHolds says what is wrong with a player's ceiling: just under each of
// its two bounds nothing is found, and just above it something is.
func ceilingHolds(text string, c check.Ceiling) string {
	for _, side := range []struct {
		what  string
		bound check.Bound
		count func(*check.Result) int
	}{
		{"the limit", c.Cannot, func(r *check.Result) int {
			return faults(r, func(f *check.Finding) bool { return f.Player == c.Player && f.Rule.Name != "same-space" })
		}},
		{"the edge", c.Edge, func(r *check.Result) int { return atEdge(r, c.Player) }},
	} {
		b := &side.bound
		probe := func(f float64) int { return side.count(at(text, f)) }
		set := fmt.Sprintf("%s of %s is %.4f (%s, at %s)", side.what, c.Player, b.Factor, b.Words, b.Place)
		switch {
		case b.None():
			if probe(check.Furthest) > 0 {
				return set + fmt.Sprintf(", and at %d times what is written:\n", check.Furthest) + strings.Join(said(at(text, check.Furthest)), "\n")
			}
		case b.Factor < 0.02:
			if probe(0.02) == 0 {
				return set + ", and at 2 % there is nothing"
			}
		default:
			if f := b.Factor * 0.9995; probe(f) > 0 {
				return set + ", and just under it:\n" + strings.Join(said(at(text, f)), "\n")
			}
			if f := b.Factor * 1.0005; probe(f) == 0 {
				return set + ", and just above it there is nothing:\n" + strings.Join(said(at(text, f)), "\n")
			}
		}
	}
	return ""
}

func TestCeilings(t *testing.T) {
	law(t, func(t *rapid.T, n *tally) {
		p := madeup.Draw(t, madeup.Options{Notes: true, Players: 2, Roads: true, Actions: true})
		text := p.Text()
		for _, c := range n.of(text).Ceilings() {
			n.tried++
			if wrong := ceilingHolds(text, c); wrong != "" {
				t.Fatalf("%s\n%s", wrong, text)
			}
		}
	})
}

func TestCeilingsOfTheExamples(t *testing.T) {
	names, err := filepath.Glob("../../examples/*.handful")
	if err != nil || len(names) == 0 {
		t.Fatal("no examples", err)
	}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range at(string(text), 1).Ceilings() {
			if wrong := ceilingHolds(string(text), c); wrong != "" {
				t.Errorf("%s: %s", name, wrong)
			}
		}
	}
}
