package plan

import (
	"cmp"
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// What a plan is like: how many strokes are lost, where a roll is as many as it lasts
// counts, what a check says, and how often a line goes from one player to another.
type figures struct{ lost, errors, warnings, handOvers int }

func figuresOf(r *check.Result) figures {
	f := figures{lost: r.Score.Coverage.Omitted + rolledOn(r.Score), handOvers: handOvers(r.Score)}
	for i := range r.Findings {
		switch r.Findings[i].Severity {
		case check.Error:
			f.errors++
		case check.Warning:
			f.warnings++
		}
	}
	return f
}

// rolledOn is how many counts the rolls that are left out last beyond their first.
func rolledOn(s *score.Score) int {
	n := 0.0
	for _, part := range s.Parts {
		for _, l := range part.Lines {
			for i := range l.Strokes {
				st := &l.Strokes[i]
				if st.Has(score.Roll) && slices.ContainsFunc(s.Omits, func(o *score.Omit) bool {
					return o.Name == l.Name && (o.Part == "" || o.Part == part.Name) && o.From <= int(st.Bar) && int(st.Bar) <= o.To
				}) {
					m := s.Grid.Meter(int(st.Bar))
					n += max(0, st.End.Sub(st.At).Float()/m.CountLength(1).Float()-1)
				}
			}
		}
	}
	return int(math.Round(n))
}

func handOvers(s *score.Score) int {
	type played struct {
		bar int32
		by  string
	}
	lines := map[string][]played{}
	for _, p := range s.Players {
		for _, c := range p.Cues {
			for i := range c.Strokes {
				lines[c.Voice] = append(lines[c.Voice], played{c.Strokes[i].Bar, p.Name})
			}
		}
	}
	n := 0
	for _, list := range lines {
		slices.SortStableFunc(list, func(a, b played) int { return cmp.Compare(a.bar, b.bar) })
		for i := 1; i < len(list); i++ {
			if list[i].by != list[i-1].by {
				n++
			}
		}
	}
	return n
}

// handMade are pieces with a plan that somebody made by hand, and for how many.
func handMade(t testing.TB) map[string]int {
	out := map[string]int{}
	files, err := filepath.Glob("testdata/byhand/*.handful")
	require.NoError(t, err)
	for _, f := range files {
		name := strings.TrimSuffix(filepath.Base(f), ".handful")
		n, err := strconv.Atoi(name[strings.LastIndex(name, "-")+1:])
		require.NoError(t, err)
		out[f] = n
	}
	require.NotEmpty(t, out)
	return out
}

// fewWarnings is how much a check warns of at the most in plans that lose less than those made by
// hand.
var fewWarnings = map[string]int{"skyline-4.handful": 9, "lanterns-3.handful": 7, "mambo-3.handful": 2, "lock-street-3.handful": 7, "sluice-gate-2.handful": 6}

// No plan loses more than one made by hand, nor has it more that a check warns of, nor
// does it give lines to and fro more often.
func TestPlansAreAsGoodAsThoseMadeByHand(t *testing.T) {
	for file, players := range handMade(t) {
		if testing.Short() && players > 1 {
			continue
		}
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		hand := figuresOf(check.Check(file, syntax.Parse(string(text)), check.Options{}))
		parts, _, _ := strings.Cut(string(text), "\nplayer ")
		inReadme := strings.HasSuffix(file, "mambo-3.handful")
		p, err := File(context.Background(), file, syntax.Parse(parts+"\n"), Options{Players: players, Sentences: inReadme})
		require.NoError(t, err)
		clean(t, p)
		if inReadme {
			readme, err := os.ReadFile("../../README.md")
			require.NoError(t, err)
			assert.Contains(t, string(readme), strings.Join(p.Sentences, "\n"), "what the README shows")
		}
		plan := figuresOf(p.Result)
		t.Logf("%-45s by hand %+v, planned %+v", file, hand, plan)
		assert.LessOrEqual(t, plan.lost, hand.lost, file)
		if plan.lost == hand.lost {
			assert.LessOrEqual(t, plan.handOvers, hand.handOvers, file)
		}
		if plan.lost == hand.lost {
			assert.LessOrEqual(t, plan.warnings, hand.warnings, file)
		}
		if most, ok := fewWarnings[filepath.Base(file)]; ok {
			assert.LessOrEqual(t, plan.warnings, most, file)
		}
	}
}

// What is only just possible is asked of nobody, unless whoever leads allows it: what
// takes people longer on average than there is, if they do their utmost.
func TestNothingAtTheEdgeIsAskedOfAnybody(t *testing.T) {
	const text = `tempo 60
bars 4
part "One"
  woodblock | mf 1 1& 2 2& | 1 | 1 1& 2 2& | 1
`
	edges := func(p Plan) (n int) {
		for i := range p.Result.Findings {
			if atTheEdge(&p.Result.Findings[i]) {
				n++
			}
		}
		return n
	}
	loses := false
	for tempo := 180; tempo <= 260; tempo += 20 {
		slow := strings.Replace(text, "tempo 60", "tempo "+strconv.Itoa(tempo), 1) + "player Ida\n  hands R\n"
		plain := planned(t, slow, Options{})
		clean(t, plain)
		assert.Zero(t, edges(plain), tempo)
		edge := planned(t, slow, Options{AtTheEdge: true})
		clean(t, edge)
		assert.LessOrEqual(t, edge.Value, plain.Value+1e-9, tempo)
		loses = loses || edge.Value < plain.Value
	}
	assert.True(t, loses, "at some tempo it makes a difference")
}
