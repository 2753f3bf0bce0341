package plan

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"maps"
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
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// A puzzle is a small made-up piece in which everything stands somewhere already, so that
// what is left to decide is who plays which bar, with which hand and with what. An exact
// answer to it is worked out below, from the verdicts of the check and of two outside
// solvers; nothing of the search for plans is used.
type puzzle struct {
	head    string            // up to the parts
	parts   map[string]string // by instrument
	things  []string
	kit     []string
	players []string
	bars    []barOfLine
	hows    map[string][]string // by instrument: all that a cue may say, from its limb on, %s being the bar
}

// A barOfLine is what one line has in one bar.
type barOfLine struct {
	inst    string
	bar     int
	strokes int
	worth   float64
	counts  []string
}

// A choiceOf is one bar for one player, in one way: what an outside solver says yes or no to.
type choiceOf struct{ bar, player, how int }

// things are what puzzles are made of: with sticks, beaters of their own, fingers, held,
// standing, for one hand, for both, and some that can be played in several ways.
var puzzleThings = []string{
	"triangle", "bass-drum", "snare-drum", "suspended-cymbal", "woodblock", "maracas", "tambourine",
	"claves", "crash-cymbals", "cowbell", "shaker", "tam-tam", "castanets", "wind-chimes",
}

// spotsOfPuzzles are where the things of a set-up stand, the first nearest.
var spotsOfPuzzles = []string{
	"at ahead 50", "at left 52 ahead 40", "at right 52 ahead 40", "at left 70 behind 8", "at right 70 behind 8",
}

// puzzleOf makes up the puzzle of a number, with so many lines, bars and players; with gear
// there is one of each thing.
func puzzleOf(number uint64, lines, bars, players int, gear bool) *puzzle {
	rng := rand.New(rand.NewPCG(number, 41))
	things := slices.Clone(puzzleThings)
	rng.Shuffle(len(things), func(i, k int) { things[i], things[k] = things[k], things[i] })
	things = things[:lines]
	rhythms := []string{"1 2 3 4", "1 3", "2 4", "1", "3", "4", "1 2& 4", "1& 2& 3&", "-", "-"}
	z := &puzzle{hows: map[string][]string{}, parts: map[string]string{}, things: things}
	tempo := 60 + rng.IntN(81)
	z.head = fmt.Sprintf("meter 4/4\ntempo %d\nbars %d\n", tempo, bars)
	if gear {
		z.head += "gear\n"
		for _, th := range things {
			z.head += "  1 " + th + "\n"
		}
	}
	cat := kit.Open()
	for i, th := range things {
		in := cat.Resolve(th)
		rolls := slices.ContainsFunc(in.Ways, func(w *kit.Way) bool { return w.Rolls && usualGear(in, w) })
		worth, words := 1.0, ""
		if rng.IntN(4) == 0 {
			worth, words = 4, " matters much"
		}
		part := fmt.Sprintf("part \"P%d\"%s\n  %s", i+1, words, th)
		for bar := 1; bar <= bars; bar++ {
			cell := rhythms[rng.IntN(len(rhythms))]
			if rolls && rng.IntN(5) == 0 {
				cell = []string{"1~3", "1~2 4", "3~"}[rng.IntN(3)]
			}
			part += " | " + cell
			if cell == "-" {
				continue
			}
			b := barOfLine{inst: th, bar: bar, counts: strings.Fields(cell), worth: worth}
			for _, c := range b.counts {
				b.strokes += lasts(c)
			}
			z.bars = append(z.bars, b)
		}
		z.parts[th] = part + "\n"
		z.kit = append(z.kit, th+mountOfPuzzle(in, rng)+" "+spotsOfPuzzles[i])
		z.hows[th] = waysToWrite(in)
	}
	z.kit = append(z.kit, "table at ahead 25")
	z.players = []string{"Ida", "Per", "Nell"}[:players]
	return z
}

// lasts is for how many strokes one counts that is written so in 4/4: a roll for as many as
// it lasts counts.
func lasts(count string) int {
	from, to, rolled := strings.Cut(count, "~")
	if !rolled {
		return 1
	}
	if to == "" {
		to = "5"
	}
	return int(to[0]) - int(from[0])
}

// usualGear says whether a way needs no hardware but what the usual way needs.
func usualGear(in *kit.Instrument, w *kit.Way) bool {
	return !slices.ContainsFunc(w.Needs, func(n string) bool { return !slices.Contains(in.Ways[0].Needs, n) })
}

// mountOfPuzzle is how a thing is fixed, one of the ways that hands have with the usual gear.
func mountOfPuzzle(in *kit.Instrument, rng *rand.Rand) string {
	var mounts []string
	for _, w := range in.Ways {
		if w.Limb == kit.Hand && usualGear(in, w) && !slices.Contains(mounts, " "+w.Mount.String()) && w.Mount != kit.OnBody {
			mounts = append(mounts, " "+w.Mount.String())
		}
	}
	if rng.IntN(3) > 0 {
		return mounts[0]
	}
	return mounts[rng.IntN(len(mounts))]
}

// waysToWrite are all cues for an instrument that need no hardware beyond the usual, "in %s"
// to be filled in.
func waysToWrite(in *kit.Instrument) (out []string) {
	for _, w := range in.Ways {
		if !usualGear(in, w) {
			continue
		}
		limbs := []string{"R", "L"}
		switch {
		case w.Limb == kit.Foot:
			limbs = []string{"RF"}
		case w.Limb == kit.Mouth:
			limbs = []string{"mouth"}
		case w.Hands == 2 && w.Mount == kit.Held && len(w.With) == 0:
			limbs = []string{"R+L"}
		case w.Hands == 2 && w.Mount == kit.Held:
		case w.Hands == 2:
			limbs = []string{"RL", "LR"}
		case w.Mount != kit.Held:
			limbs = []string{"R", "L", "RL", "LR"}
		}
		with := []string{""}
		if len(w.With) > 0 {
			with = nil
		}
		for _, c := range w.With {
			with = append(with, " with "+syntax.Print(c.Thing()))
		}
		asked := " " + w.Mount.String()
		if w.Named != "" {
			asked += " " + strconv.Quote(w.Named)
		}
		for _, l := range limbs {
			for _, c := range with {
				if cue := l + " " + in.ID + asked + c + " as written in %s"; !slices.Contains(out, cue) {
					out = append(out, cue)
				}
			}
		}
	}
	return out
}

// text is a puzzle with the cues of some choices; short, without lines and players that have
// nothing to do with them.
func (z *puzzle) text(set []choiceOf, short bool) string {
	var b strings.Builder
	b.WriteString(z.head)
	for _, th := range z.things {
		if !short || slices.ContainsFunc(set, func(c choiceOf) bool { return z.bars[c.bar].inst == th }) {
			b.WriteString(z.parts[th])
		}
	}
	for p, name := range z.players {
		if short && !slices.ContainsFunc(set, func(c choiceOf) bool { return c.player == p }) {
			continue
		}
		fmt.Fprintf(&b, "player %s\n  kit\n", name)
		for _, l := range z.kit {
			b.WriteString("    " + l + "\n")
		}
		for _, c := range set {
			if c.player == p {
				b.WriteString("  " + z.cue(c) + "\n")
			}
		}
	}
	return b.String()
}

func (z *puzzle) cue(c choiceOf) string {
	q := &z.bars[c.bar]
	return fmt.Sprintf(z.hows[q.inst][c.how], strconv.Itoa(q.bar))
}

func (z *puzzle) weight(c choiceOf) float64 {
	return float64(z.bars[c.bar].strokes) * z.bars[c.bar].worth
}

func (z *puzzle) written() (sum float64) {
	for i := range z.bars {
		sum += float64(z.bars[i].strokes) * z.bars[i].worth
	}
	return sum
}

// accepted says whether a check has nothing against a text, but for what nobody plays, and
// whether nothing in it is below what people can on average.
func accepted(text string) bool {
	r := check.Check("puzzle.handful", syntax.Parse(text), check.Options{})
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Severity == check.Error && f.Rule.Name != check.RuleUncovered || f.Severity == check.Warning && f.Timed && f.Window < f.Need.Floor-1e-6 {
			return false
		}
	}
	return true
}

// An exactly works a puzzle out: choices, and the sets of them that a check has been found to
// refuse, none of which can go with nothing left out.
type exactly struct {
	*puzzle
	choices []choiceOf
	cuts    map[string]cut
	known   map[string]bool // verdicts on what one player plays, everybody else idle
	asked   int             // of the check
}

// A cut says that of some choices, by number, no more than so many can be made.
type cut struct {
	of   []int
	most int
}

func compareChoices(a, b choiceOf) int {
	if a.bar != b.bar {
		return a.bar - b.bar
	}
	if a.player != b.player {
		return a.player - b.player
	}
	return a.how - b.how
}

// alone says whether a check lets the first player play these choices, nobody else playing.
func (x *exactly) alone(set []choiceOf) bool {
	mine := make([]choiceOf, len(set))
	for i, c := range set {
		c.player = 0
		mine[i] = c
	}
	slices.SortFunc(mine, compareChoices)
	key := fmt.Sprint(mine)
	if ok, known := x.known[key]; known {
		return ok
	}
	x.asked++
	ok := accepted(x.text(mine, true))
	x.known[key] = ok
	return ok
}

// together says whether a check lets all of them play these choices.
func (x *exactly) together(set []choiceOf) bool {
	playing := 0
	for p := range x.players {
		var own []choiceOf
		for _, c := range set {
			if c.player == p {
				own = append(own, c)
			}
		}
		if len(own) == 0 {
			continue
		}
		if playing++; !x.alone(own) {
			return false
		}
	}
	if playing < 2 {
		return true
	}
	x.asked++
	return accepted(x.text(set, true))
}

// leastPart leaves out of what is refused all that it is refused without.
func leastPart(set []choiceOf, goes func([]choiceOf) bool) []choiceOf {
	set = slices.Clone(set)
	for size := max(1, len(set)/2); ; size /= 2 {
		for i := 0; i+size <= len(set); {
			if less := slices.Delete(slices.Clone(set), i, i+size); len(less) > 0 && !goes(less) {
				set = less
			} else {
				i += size
			}
		}
		if size <= 1 {
			return set
		}
	}
}

// newExactly has every choice that can be made at all.
func newExactly(z *puzzle) *exactly {
	x := &exactly{puzzle: z, cuts: map[string]cut{}, known: map[string]bool{}}
	for b := range z.bars {
		for how := range z.hows[z.bars[b].inst] {
			if c := (choiceOf{bar: b, how: how}); x.alone([]choiceOf{c}) {
				for p := range z.players {
					c.player = p
					x.choices = append(x.choices, c)
				}
			}
		}
	}
	slices.SortFunc(x.choices, compareChoices)
	return x
}

// waysOf are the ways of playing the bar of a choice, by the same player.
func (x *exactly) waysOf(c choiceOf) (out []choiceOf) {
	for _, o := range x.choices {
		if o.bar == c.bar && o.player == c.player {
			out = append(out, o)
		}
	}
	return out
}

// mostTriedWider is how many sets the check is asked about before one more way is taken
// into a cut.
const mostTriedWider = 48

// forbid adds a set that is refused, and with it whatever of the same bars and players is
// refused in its place, so that one row of the program forbids them all: of each bar one
// choice is made at most, and not all of these bars can be played in these ways. The same
// holds for other players, who are alike.
func (x *exactly) forbid(set []choiceOf) {
	refuse := func(list []choiceOf) bool {
		list = slices.Clone(list)
		slices.SortFunc(list, compareChoices)
		return !x.together(list)
	}
	wide := make([][]choiceOf, len(set))
	for i, c := range set {
		wide[i] = []choiceOf{c}
	}
	for i, c := range set {
		for _, o := range x.waysOf(c) {
			if o == c {
				continue
			}
			tries := 1
			for k := range wide {
				if k != i {
					tries *= len(wide[k])
				}
			}
			if tries > mostTriedWider {
				continue // a cut that is not as wide is as true
			}
			fits := true
			var try func(k int, list []choiceOf)
			try = func(k int, list []choiceOf) {
				if !fits {
					return
				}
				if k == len(set) {
					fits = refuse(list)
					return
				}
				if k == i {
					try(k+1, append(list, o))
					return
				}
				for _, w := range wide[k] {
					try(k+1, append(slices.Clone(list), w))
				}
			}
			if try(0, nil); fits {
				wide[i] = append(wide[i], o)
			}
		}
	}
	var players []int
	for _, c := range set {
		if !slices.Contains(players, c.player) {
			players = append(players, c.player)
		}
	}
	to := map[int]int{}
	var place func(i int)
	place = func(i int) {
		if i == len(players) {
			c := cut{most: len(set) - 1}
			for _, list := range wide {
				for _, o := range list {
					o.player = to[o.player]
					if n, found := slices.BinarySearchFunc(x.choices, o, compareChoices); found {
						c.of = append(c.of, n)
					}
				}
			}
			slices.Sort(c.of)
			x.cuts[fmt.Sprint(c)] = c
			return
		}
		for p := range x.players {
			if !slices.Contains(slices.Collect(maps.Values(to)), p) {
				to[players[i]] = p
				place(i + 1)
				delete(to, players[i])
			}
		}
	}
	place(0)
}

// program is the puzzle as an integer program: as much as can be is kept, each bar is
// played once, and nothing that has been refused stands in it.
func (x *exactly) program() string {
	var obj, cons, bins strings.Builder
	byBar := map[int][]int{}
	for n, c := range x.choices {
		fmt.Fprintf(&obj, "\n + %g x%d", x.weight(c), n)
		fmt.Fprintf(&bins, " x%d\n", n)
		byBar[c.bar] = append(byBar[c.bar], n)
	}
	row := func(name string, list []int, most int) {
		fmt.Fprintf(&cons, " %s:", name)
		for _, n := range list {
			fmt.Fprintf(&cons, "\n + x%d", n)
		}
		fmt.Fprintf(&cons, " <= %d\n", most)
	}
	for _, b := range slices.Sorted(maps.Keys(byBar)) {
		row(fmt.Sprintf("bar%d", b), byBar[b], 1)
	}
	for i, key := range slices.Sorted(maps.Keys(x.cuts)) {
		row(fmt.Sprintf("cut%d", i), x.cuts[key].of, x.cuts[key].most)
	}
	return "Maximize\n obj:" + obj.String() + "\nSubject To\n" + cons.String() + "Binary\n" + bins.String() + "End\n"
}

// An outside solver takes a program to its optimum: how much is kept, and which choices.
type outside func(t testing.TB, lp string) (kept float64, chosen []int)

var cbcLine = regexp.MustCompile(`(?m)^\s*\d+\s+x(\d+)\s+(\S+)`)

// byCBC asks Debian's coinor-cbc.
func byCBC(t testing.TB) outside {
	cbc, err := exec.LookPath("cbc")
	if err != nil {
		t.Skip("Debian's coinor-cbc is not there")
	}
	dir := t.TempDir()
	return func(t testing.TB, lp string) (float64, []int) {
		file, answer := filepath.Join(dir, "p.lp"), filepath.Join(dir, "p.txt")
		require.NoError(t, os.WriteFile(file, []byte(lp), 0o600))
		log, err := exec.Command(cbc, file, "ratio", "0", "solve", "solu", answer).CombinedOutput()
		require.NoError(t, err, "%s", log)
		text, err := os.ReadFile(answer)
		require.NoError(t, err)
		require.True(t, strings.HasPrefix(string(text), "Optimal"), "%.300s", text)
		var chosen []int
		for _, m := range cbcLine.FindAllStringSubmatch(string(text), -1) {
			if v, err := strconv.ParseFloat(m[2], 64); err == nil && v > 0.5 {
				n, err := strconv.Atoi(m[1])
				require.NoError(t, err)
				chosen = append(chosen, n)
			}
		}
		m := regexp.MustCompile(`objective value\s+(\S+)`).FindStringSubmatch(string(text))
		require.NotNil(t, m, "%.300s", text)
		kept, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		return math.Abs(kept), chosen
	}
}

// byHiGHS asks npm's highs, which one process of node answers for.
func byHiGHS(t testing.TB) outside {
	modules := os.Getenv("HANDFUL_NODE_MODULES")
	if _, err := os.Stat(filepath.Join(modules, "highs")); modules == "" || err != nil {
		t.Skip("npm's highs is not in HANDFUL_NODE_MODULES")
	}
	const script = `
const fs = require("node:fs"), lines = require("node:readline").createInterface({ input: process.stdin });
require(process.argv[2] + "/highs")().then((h) => lines.on("line", (f) => {
  const s = h.solve(fs.readFileSync(f, "utf8"), { mip_rel_gap: 0, mip_abs_gap: 0 });
  const on = Object.values(s.Columns).filter((c) => c.Primal > 0.5).map((c) => +c.Name.slice(1));
  console.log(JSON.stringify({ status: s.Status, kept: s.ObjectiveValue, on }));
}));`
	dir := t.TempDir()
	main, file := filepath.Join(dir, "solve.cjs"), filepath.Join(dir, "p.lp")
	require.NoError(t, os.WriteFile(main, []byte(script), 0o600))
	node := exec.Command("node", main, modules)
	in, err := node.StdinPipe()
	require.NoError(t, err)
	out, err := node.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, node.Start())
	t.Cleanup(func() {
		in.Close()
		_ = node.Wait()
	})
	answers := json.NewDecoder(bufio.NewReader(out))
	return func(t testing.TB, lp string) (float64, []int) {
		require.NoError(t, os.WriteFile(file, []byte(lp), 0o600))
		_, err := io.WriteString(in, file+"\n")
		require.NoError(t, err)
		var a struct {
			Status string
			Kept   float64
			On     []int
		}
		require.NoError(t, answers.Decode(&a))
		require.Equal(t, "Optimal", a.Status)
		return a.Kept, a.On
	}
}

// solve asks a solver until the check has nothing against what it answers: of each answer
// that is refused, smallest sets that are refused too are forbidden.
func (x *exactly) solve(t testing.TB, ask outside) (kept float64, best []choiceOf, rounds int) {
	for {
		rounds++
		value, on := ask(t, x.program())
		var set []choiceOf
		for _, n := range on {
			set = append(set, x.choices[n])
		}
		slices.SortFunc(set, compareChoices)
		if x.together(set) {
			return value, set, rounds
		}
		for left := set; !x.together(left); {
			s := x.refused(left)
			x.forbid(s)
			left = slices.DeleteFunc(slices.Clone(left), func(c choiceOf) bool { return c == s[0] })
		}
	}
}

// refused is a smallest part of what is refused, of one player if one is enough.
func (x *exactly) refused(set []choiceOf) []choiceOf {
	for p := range x.players {
		var own []choiceOf
		for _, c := range set {
			if c.player == p {
				own = append(own, c)
			}
		}
		if len(own) > 0 && !x.alone(own) {
			return leastPart(own, x.alone)
		}
	}
	return leastPart(set, x.together)
}

// An outcome is what the exact answer and the planner say of one puzzle.
type outcome struct {
	theirs, ours, bound float64
	asked, rounds       int
	theirTime, ourTime  time.Duration
	best, planned       string
}

func outcomeOf(t testing.TB, z *puzzle, ask outside, other outside) outcome {
	begun := time.Now()
	if !accepted(z.text(nil, false)) {
		return outcome{}
	}
	x := newExactly(z)
	kept, best, rounds := x.solve(t, ask)
	if other != nil {
		again, _ := other(t, x.program())
		assert.InDelta(t, kept, again, 1e-6, "the two solvers")
	}
	for i := range best {
		assert.True(t, x.together(slices.Delete(slices.Clone(best), i, i+1)), "what is left of a plan can be played too")
	}
	o := outcome{theirs: z.written() - kept, asked: x.asked, rounds: rounds, theirTime: time.Since(begun), best: z.text(best, false)}
	begun = time.Now()
	alike := DefaultWeights()
	alike.Exposed, alike.Driving, alike.Climax, alike.Doubled = 1, 1, 1, 1
	p, err := File(context.Background(), "puzzle.handful", syntax.Parse(z.text(nil, false)), Options{Weights: &alike})
	require.NoError(t, err, "%s", z.text(nil, false))
	o.ourTime = time.Since(begun)
	o.ours, o.bound, o.planned = p.Value, p.Bound, p.Text
	return o
}

// beyondTheModel says whether a plan has what the model has not: a bar shared between two
// hands stroke by stroke, or something struck with what is not usual for it.
func beyondTheModel(plan string) bool {
	if strings.Contains(plan, " on 1") || strings.Contains(plan, " on 2") {
		return true
	}
	r := check.Check("plan.handful", syntax.Parse(plan), check.Options{})
	return slices.ContainsFunc(r.Findings, func(f check.Finding) bool { return f.Rule.Name == check.RuleWrongImplement })
}

// The exact model, with changes of what is held, gear, rolls and bars for both hands: both
// solvers reach one optimum, no plan beats it but by what the model does not have, and no
// bound is above it. HANDFUL_PUZZLES says
// how many; the first dozen are tried for every change, two in short.
func TestTwoSolversAndTheCheckAgreeWithThePlanner(t *testing.T) {
	ask, other := byCBC(t), byHiGHS(t)
	number := 12
	if n, err := strconv.Atoi(os.Getenv("HANDFUL_PUZZLES")); err == nil && n > 0 {
		number = n
	} else if testing.Short() {
		number = 2
	}
	tried, equal := 0, 0
	for n := 0; tried < number; n++ {
		lines, bars, players := 2+n%2, 3+n/2%2, 1+n%5/4
		gear := n%3 == 0
		o := outcomeOf(t, puzzleOf(uint64(n), lines, bars, players, gear), ask, other)
		if o.planned == "" {
			continue
		}
		tried++
		t.Logf("| %d | %d × %d, %d%s | %g | %g | %g | %d | %v | %v |", n, lines, bars, players, map[bool]string{true: ", gear"}[gear],
			o.theirs, o.ours, o.bound, o.asked, o.theirTime.Round(100*time.Millisecond), o.ourTime.Round(10*time.Millisecond))
		assert.LessOrEqual(t, o.bound, o.theirs+1e-6, "%d: the bound\n%s", n, o.best)
		if !beyondTheModel(o.planned) {
			assert.GreaterOrEqual(t, o.ours, o.theirs-1e-6, "%d: what beats the optimum\n%s", n, o.planned)
		}
		if math.Abs(o.ours-o.theirs) < 1e-6 {
			equal++
		} else {
			t.Logf("%d: the optimum\n%s\nthe plan\n%s", n, o.best, o.planned)
		}
	}
	t.Logf("%d of %d plans lose as little as can be", equal, tried)
	assert.GreaterOrEqual(t, 4*equal, 3*tried)
}
