package check

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// everyName is a piece that has a name of every kind, so that each can be
// mistyped.
const everyName = `title "Evening Ferry"
bars 16
meter 4/4
tempo 96
mark Landing at 9
repeat 1-4 x2
note "lights" at Landing
gear
  2 snare-drum, 3 triangle, 2 snare-stick, 2 triangle-beater, 2 cowbell, 2 woodblock
instrument harbour-bell
  called "harbour bell" "h.b."
  family metal
  rings short
  noise audible
  handling careful
  basis common-practice
  way on stand takes 1 hand with harbour-hammer softest p loudest ff
  way held takes 1 hand with harbour-hammer costs "less ring" needs clamp
  stands for cowbell costs "lower"
implement harbour-hammer
  weighs medium
  length 30
  noise silent
kit
  station pierside at right 200
  woodblock at pierside right 20 ahead 40
  snare-drum at right 20 ahead 40
  high-triangle is triangle clipped at left 20 ahead 40
part "Percussion"
  snare-drum     | 1 2 3 4 | % x15
  high-triangle  | 1 | % x15
  cowbell        | 2 | -15
  woodblock      | -8 | 1 | -7
player Annika
  profile experienced reach 70
  likes membrane
  R snare-drum with snare-stick as written
player Bertil
  hands both
  R high-triangle clipped with triangle-beater as written on 1 3
  L cowbell clamped with snare-stick as written of "Percussion"
  L takes triangle-beater at Landing
omit woodblock in Landing of "Percussion" because "nobody is free"
accept compromise for Bertil because "it is soft there"
`

// misspelt is a word in a few ways in which people mistype: a letter left out,
// one too many, two swapped, another one.
func misspelt(word string) []string {
	if len(word) < 5 || strings.ContainsAny(word, `"0123456789`) {
		return nil
	}
	var out []string
	places := []int{1, len(word) / 2, len(word) - 2}
	if testing.Short() {
		places = places[1:2]
	}
	for _, i := range places {
		out = append(out, word[:i]+word[i+1:], word[:i]+word[i:i+1]+word[i:], word[:i]+"z"+word[i+1:])
		if word[i] != word[i+1] {
			out = append(out, word[:i]+word[i+1:i+2]+word[i:i+1]+word[i+2:])
		}
	}
	return slices.Compact(out)
}

// wordsOf are the words of a line before its bars and comments, each with what it
// is there for.
func wordsOf(l *syntax.Line) map[syntax.Span]string {
	roles := map[int]string{}
	if l.Stmt != nil {
		syntax.Leaves(l.Stmt, func(leaf syntax.Leaf) { roles[leaf.Start] = string(leaf.Role) })
	}
	out := map[syntax.Span]string{}
	for i := 0; i < len(l.Text) && l.Text[i] != '|'; {
		end := i + strings.IndexByte(l.Text[i:]+" ", ' ')
		if l.Text[i] == '"' {
			end = i + 1 + strings.IndexByte(l.Text[i+1:], '"') + 1
		}
		if word := strings.Trim(l.Text[i:end], `",`); word != "" {
			from := i + strings.Index(l.Text[i:], word)
			role, ok := roles[i]
			if !ok {
				role = "word of the notation"
			}
			out[syntax.Span{Start: from, End: from + len(word)}] = role
		}
		i = end + 1
	}
	return out
}

// Whatever is mistyped: each name that a message asks for can be put there, and
// then what the message said is so no more.
func TestEveryNameThatAMessageAsksForCanBeWritten(t *testing.T) {
	f := syntax.Parse(everyName)
	for i := range Check("a", f, Options{}).Findings {
		fd := &Check("a", f, Options{}).Findings[i]
		require.GreaterOrEqual(t, fd.Severity, Compromise, "line %d: %s", fd.Where.Line+1, fd.Message())
	}
	asked, told := map[string]int{}, map[string]bool{}
	for n, l := range f.Lines {
		for span, role := range wordsOf(l) {
			for _, wrong := range misspelt(l.Text[span.Start:span.End]) {
				text := everyName[:f.Starts[n]+span.Start] + wrong + everyName[f.Starts[n]+span.End:]
				r := Check("a", syntax.Parse(text), Options{})
				for i := range r.Findings {
					fd := &r.Findings[i]
					if len(fd.Near) == 0 {
						assert.NotContains(t, fd.Message(), "did you mean", "a name that is asked for is no name but words")
						continue
					}
					if said := fmt.Sprint(fd.Where.Line, fd.Message()); told[said] {
						continue
					} else {
						told[said] = true
					}
					asked[role]++
					mended(t, r, fd, wrong)
				}
			}
		}
	}
	t.Log(len(told), "messages that ask:", asked)
	for _, role := range []string{"word of the notation", "instrument", "implement", "thing", "kind", "rule", "player", "part", "place", "station", "value"} {
		assert.NotZero(t, asked[role], "no %s is asked for, of %s", role, slices.Sorted(maps.Keys(asked)))
	}
}

// mended checks that each name that a finding asks for is offered, and that it
// takes the finding away.
func mended(t *testing.T, r *Result, f *Finding, wrong string) {
	t.Helper()
	what := fmt.Sprintf("%s: line %d: %s", wrong, f.Where.Line+1, f.Message())
	fixes := r.Fixes(f)
	for _, near := range f.Near {
		assert.Contains(t, f.Message(), near)
		i := slices.IndexFunc(fixes, func(fix Fix) bool { return fix.Title == "write "+near })
		if !assert.GreaterOrEqual(t, i, 0, "%s: no fix writes %s", what, near) {
			continue
		}
		after, ok := r.After(fixes[i].Edits)
		require.True(t, ok, what)
		for k := range after.Findings {
			g := &after.Findings[k]
			assert.False(t, g.Rule == f.Rule && g.Where.Line == f.Where.Line && g.Message() == f.Message(), "%s: it is there still", what)
		}
	}
}
