package plan

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// instance is a made-up piece, the same for the same number: so many lines of
// so many bars, on instruments that one hand plays with a stick, so slow that
// every change has time. Only what sounds at once has to be shared out.
func instance(lines, bars int, number uint64) string {
	rng := rand.New(rand.NewPCG(number, 5))
	kinds := []string{"snare-drum", "woodblock", "cowbell", "tom-toms", "temple-blocks", "bongos", "claves", "suspended-cymbal"}
	var b strings.Builder
	fmt.Fprintf(&b, "meter 4/4\ntempo 30\nbars %d\n", bars)
	for l := range lines {
		fmt.Fprintf(&b, "part \"P%d\"\n  %s", l+1, kinds[(l+int(number))%len(kinds)])
		for range bars {
			cell := ""
			for c := 1; c <= 4; c++ {
				if rng.IntN(3) == 0 {
					cell += fmt.Sprintf(" %d", c)
				}
			}
			if cell == "" {
				cell = " -"
			}
			b.WriteString(" |" + cell)
		}
		b.WriteString("\n")
	}
	return b.String()
}

// program writes an instance as an integer program: each bar of a line goes to
// at most one hand, no hand has two strokes at one moment, and what is kept
// weighs as much as can be. Instruments that only two hands can hold are left
// out of it, so that its optimum loses no more than any plan.
func program(p *piece, hands int) (lp string, total float64) {
	var obj, cons, bins strings.Builder
	at := map[string][]int{}
	for _, q := range p.passages {
		total += q.weight
		fmt.Fprintf(&cons, " one%d:", q.id)
		for h := range hands {
			fmt.Fprintf(&obj, " + %g x%d_%d", q.weight, q.id, h)
			fmt.Fprintf(&cons, " + x%d_%d", q.id, h)
			fmt.Fprintf(&bins, " x%d_%d", q.id, h)
		}
		cons.WriteString(" <= 1\n")
		for _, t := range q.on {
			k := strconv.FormatFloat(t, 'f', 6, 64)
			at[k] = append(at[k], q.id)
		}
	}
	for k, ids := range at {
		if len(ids) < 2 {
			continue
		}
		for h := range hands {
			fmt.Fprintf(&cons, " at%s_%d:", strings.ReplaceAll(k, ".", "_"), h)
			for _, id := range ids {
				fmt.Fprintf(&cons, " + x%d_%d", id, h)
			}
			cons.WriteString(" <= 1\n")
		}
	}
	return "Maximize\n obj:" + obj.String() + "\nSubject To\n" + cons.String() + "Binary\n" + bins.String() + "\nEnd\n", total
}

// Integer programs of small and middling instances, seeds fixed, solved by npm
// highs 1.15.3 and Debian's coinor-cbc 2.10: both reach one optimum, and it
// lies between the planner's bound and its value.
func TestTwoSolversAgreeWithThePlanner(t *testing.T) {
	modules := os.Getenv("HANDFUL_NODE_MODULES")
	if _, err := os.Stat(filepath.Join(modules, "highs")); modules == "" || err != nil {
		t.Skip("npm's highs is not in HANDFUL_NODE_MODULES")
	}
	cbc, err := exec.LookPath("cbc")
	if err != nil {
		t.Skip("Debian's coinor-cbc is not there")
	}
	const script = `
const fs = require("node:fs");
require(process.argv[2] + "/highs")().then((h) => {
  const out = process.argv.slice(3).map((f) => h.solve(fs.readFileSync(f, "utf8")).ObjectiveValue);
  console.log(JSON.stringify(out));
});`
	dir := t.TempDir()
	main := filepath.Join(dir, "solve.cjs")
	require.NoError(t, os.WriteFile(main, []byte(script), 0o600))
	type inst struct{ lines, bars, players int }
	list := []inst{{3, 4, 1}, {4, 6, 1}, {5, 4, 1}, {5, 8, 2}, {6, 6, 2}, {7, 4, 2}, {8, 8, 3}, {6, 12, 2}}
	var files []string
	var pieces []*piece
	for i, in := range list {
		j, err := newJob(context.Background(), "x.handful", syntax.Parse(instance(in.lines, in.bars, uint64(i))), Options{Players: in.players}, false)
		require.NoError(t, err)
		lp, _ := program(j.piece, 2*in.players)
		file := filepath.Join(dir, fmt.Sprintf("i%d.lp", i))
		require.NoError(t, os.WriteFile(file, []byte(lp), 0o600))
		files, pieces = append(files, file), append(pieces, j.piece)
	}
	out, err := exec.Command("node", append([]string{main, modules}, files...)...).Output()
	require.NoError(t, err)
	var kept []float64
	require.NoError(t, json.Unmarshal(out, &kept))
	number := regexp.MustCompile(`Objective value:\s+(-?[0-9.]+)`)
	equal := 0
	for i, in := range list {
		log, err := exec.Command(cbc, files[i], "sec", "60", "solve").CombinedOutput()
		require.NoError(t, err)
		m := number.FindSubmatch(log)
		require.NotNil(t, m, "%.2000s", log)
		other, err := strconv.ParseFloat(string(m[1]), 64)
		require.NoError(t, err)
		assert.InDelta(t, kept[i], math.Abs(other), 1e-4, "the two solvers on instance %d", i)
		total := 0.0
		for _, q := range pieces[i].passages {
			total += q.weight
		}
		optimum := total - kept[i]
		p := planned(t, instance(in.lines, in.bars, uint64(i)), Options{Players: in.players})
		clean(t, p)
		t.Logf("%d lines, %2d bars, %d players: theirs %6.2f, ours %6.2f, bound %6.2f, gap %.1f %%", in.lines, in.bars, in.players, optimum, p.Value, p.Bound, 100*p.Gap)
		assert.LessOrEqual(t, optimum, p.Value+1e-6, "no plan beats the optimum")
		if math.Abs(optimum-p.Value) < 1e-6 {
			equal++
		}
	}
	assert.GreaterOrEqual(t, equal, len(list)/2, "the planner reaches the optimum in most of these")
}

// One hand fewer than sound at once must lose something; as many suffice where
// every change has time: maximum overlap, the theorem of interval scheduling.
func TestHandsNeededAreTheMostThatSoundAtOnce(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		lines := rapid.IntRange(2, 6).Draw(t, "lines")
		text := instance(lines, 3, rapid.Uint64Range(0, 500).Draw(t, "number"))
		j, err := newJob(context.Background(), "x.handful", syntax.Parse(text), Options{Players: 1}, false)
		if err != nil {
			return
		}
		most := 0
		at := map[string]int{}
		for _, q := range j.passages {
			for _, on := range q.on {
				k := fmt.Sprintf("%.6f", on)
				at[k]++
				most = max(most, at[k])
			}
		}
		if p, err := File(context.Background(), "x.handful", syntax.Parse(text), Options{Players: 1}); err == nil && most > 2 && (p.Value <= 0 || p.Bound <= 0) {
			t.Fatalf("%d at once, and one player loses %g (bound %g)\n%s", most, p.Value, p.Bound, text)
		}
	})
}

// Published casts. Tchaikovsky, Symphony 4, finale: bass drum, cymbals and
// triangle at once are three people's parts, played as they usually are; Grove
// 1879: bass drum with attached cymbal is one player's; Gehrkens 1919: bass drum
// and snare drum are one player's.
func TestPublishedCasts(t *testing.T) {
	for text, want := range map[string]int{
		"tempo 160\npart \"Triangle\"\n  triangle | f 1 2 3 4 | %\npart \"Cymbals\"\n  crash-cymbals | f 1 2 3 4 | %\npart \"Bass drum\"\n  bass-drum | f 1 2 3 4 | %\n": 3,
		"tempo 112\npart \"B\"\n  bass-drum-with-attached-cymbal | f 1 2 3 4 | % x7\n":                                                                                   1,
		"tempo 112\npart \"Drums\"\n  bass-drum  | f 1 3 | % x3\n  snare-drum | f 2 4 | % x3\n":                                                                          1,
	} {
		least := 1
		for ; ; least++ { // without a way of playing that costs sound
			p := planned(t, text, Options{Players: least})
			if len(p.Lost) == 0 && !slices.ContainsFunc(p.Result.Findings, func(f check.Finding) bool { return f.Severity == check.Compromise }) {
				break
			}
			require.Less(t, least, 5, text)
		}
		assert.Equal(t, want, least, text)
	}
	few, err := Fewest(context.Background(), "x.handful", syntax.Parse(example(t, "ferry-landing.handful")), Options{})
	require.NoError(t, err)
	assert.Equal(t, 2, few.Players)
	assert.True(t, few.proven())
	assert.Contains(t, few.Words(), "want 4 hands")
}

// What-ifs of a file that cannot be played: each has been made and checked.
func TestWhatIfs(t *testing.T) {
	p := planned(t, example(t, "ferry-landing.handful"), Options{Players: 2})
	tempo, list := WhatIfs(p.Result)
	assert.Equal(t, 1.0, tempo)
	assert.Empty(t, list, "a plan has no errors to mend")
	wrong := check.Check("x.handful", syntax.Parse(example(t, "what-can-go-wrong.handful")), check.Options{})
	_, list = WhatIfs(wrong)
	require.NotEmpty(t, list)
	assert.Positive(t, list[0].Freed)
	for i := range list[1:] {
		assert.GreaterOrEqual(t, list[i].Freed, list[i+1].Freed)
	}
}
