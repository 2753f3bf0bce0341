package check

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A rule that says that it looks at each player alone finds the same where there is
// nobody else, no part, nothing shared and nothing that others found; and all that it
// finds, it finds of a player.
func TestRulesThatLookAtEachPlayerLookAtNothingElse(t *testing.T) {
	seeds := 3
	if testing.Short() {
		seeds = 1
	}
	found := map[string]int{}
	for n, text := range pieces(t) {
		for seed := range seeds {
			if seed > 0 {
				text = edited(rand.New(rand.NewPCG(uint64(n), uint64(seed))), text)
			}
			r := Check("each.handful", syntax.Parse(text), Options{})
			for _, rule := range Rules() {
				if !rule.each {
					continue
				}
				whole := r.only(t, rule, r.Motions, r.Score)
				var alone []string
				for _, m := range r.Motions {
					s := *r.Score
					s.Players, s.Parts, s.Coverage, s.Problems, s.Omits, s.Shared = []*score.Player{m.Player}, nil, score.Coverage{}, nil, nil, nil
					s.Marks, s.Remarks, s.Gear, s.Together, s.Worths, s.Defined = nil, nil, nil, nil, nil, nil
					alone = append(alone, r.only(t, rule, []*motion.Result{m}, &s)...)
				}
				slices.Sort(whole)
				slices.Sort(alone)
				require.Equal(t, whole, alone, "%s:\n%s", rule.Name, text)
				found[rule.Name] += len(whole)
			}
		}
	}
	for _, rule := range Rules() {
		if rule.each {
			require.Positive(t, found[rule.Name], rule.Name)
		}
	}
}

// only is what one rule finds by itself of some players.
func (r *Result) only(t *testing.T, rule *Rule, of []*motion.Result, s *score.Score) (out []string) {
	alone := *r
	alone.Motions, alone.Score = of, s
	c := &Context{Result: &alone, accepted: make([]bool, len(s.Accepts))}
	c.run(rule)
	for i := range c.findings {
		f := &c.findings[i]
		require.True(t, slices.ContainsFunc(of, func(m *motion.Result) bool { return m.Player.Name == f.Player }), "%s: of nobody: %s", rule.Name, f.Message())
		out = append(out, fmt.Sprintf("%+v %s %s %s %s: %s %v", f.Where, f.Severity, f.Player, f.Limb, f.Place(), f.Message(), f.Related))
	}
	return out
}

// What may be done about what was taken over is what may be done about it in a text
// that is checked afresh.
func TestWhatIsTakenOverHasItsFixes(t *testing.T) {
	tried := 0
	for n, text := range pieces(t) {
		if testing.Short() && n%5 > 0 {
			continue
		}
		last := Check("edits.handful", syntax.Parse(text), Options{Score: score.Options{Remember: true}})
		for seed := range 3 {
			rnd := rand.New(rand.NewPCG(uint64(n), uint64(seed)))
			text = edited(rnd, text)
			last = Recheck(last, syntax.Reparse(text, last.File))
		}
		fresh := Check("edits.handful", syntax.Parse(text), Options{})
		require.Equal(t, len(fresh.Findings), len(last.Findings))
		for i := range fresh.Findings {
			if !last.Findings[i].before {
				continue
			}
			tried++
			require.Equal(t, fmt.Sprint(fresh.Findings[i].toTry()), fmt.Sprint(last.inFull(&last.Findings[i]).toTry()), "%s in\n%s", last.Findings[i].Message(), text)
		}
	}
	require.Greater(t, tried, 10)
}
