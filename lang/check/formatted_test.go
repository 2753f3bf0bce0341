package check

import (
	"fmt"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"example.org/handful/internal/compose"
	"example.org/handful/lang/syntax"
)

// said is what a check says of a text, in any order of places within lines.
func said(text string) (*syntax.File, string) {
	f := syntax.Parse(text)
	r := Check("x", f, Options{})
	var list []string
	for i := range r.Findings {
		g := &r.Findings[i]
		list = append(list, fmt.Sprintf("%s %s %s %s %d", g.Severity, g.Rule.Name, g.Player, lineNumber.ReplaceAllString(g.Message(), "line …"), g.Times))
	}
	slices.Sort(list) // a line's findings stand in the order of its words, and clauses may change places
	c := r.Score.Coverage
	return f, fmt.Sprintf("%s\n%d %d %d %d", strings.Join(list, "\n"), c.Written, c.Covered, c.Substituted, c.Omitted)
}

// lineNumber is where a message says in which line something else stands, which
// blank lines that are put in change.
var lineNumber = regexp.MustCompile(`line \d+`)

// sameAfterFormatting says what a check says otherwise once a text is formatted.
func sameAfterFormatting(text string) string {
	f, before := said(text)
	out, lost := syntax.Format(f)
	if lost != nil {
		return lost.Error()
	}
	if _, after := said(out); before != after {
		a, b := strings.Split(before, "\n"), strings.Split(after, "\n")
		for len(a) > 0 && len(b) > 0 && a[0] == b[0] {
			a, b = a[1:], b[1:]
		}
		return fmt.Sprintf("before: %s\nafter:  %s\n%s", strings.Join(a[:min(2, len(a))], " / "), strings.Join(b[:min(2, len(b))], " / "), out)
	}
	return ""
}

// Checked, formatted and checked again, whatever was composed says the same.
func TestFormattingChangesNoFinding(t *testing.T) {
	seeds := uint64(1500)
	if testing.Short() {
		seeds = 300
	}
	for seed := range seeds {
		text := compose.Text(rand.New(rand.NewPCG(seed, 4)))
		if wrong := sameAfterFormatting(text); wrong != "" {
			t.Fatalf("seed %d: %s\n---\n%s", seed, wrong, text)
		}
	}
}

func FuzzFormattingChangesNoFinding(f *testing.F) {
	f.Add([]byte("any bytes"))
	f.Fuzz(func(t *testing.T, data []byte) {
		text := compose.Text(compose.Bytes(data))
		if wrong := sameAfterFormatting(text); wrong != "" {
			t.Fatalf("%s\n---\n%s", wrong, text)
		}
	})
}
