package plan

import (
	"context"
	"fmt"
	"iter"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// sample is a made-up piece of a few lines and bars, in which much is at one time: parts
// apart, so that they can be put into another order.
func sample(number uint64) (head string, parts []string, players int) {
	rng := rand.New(rand.NewPCG(number, 29))
	kinds := []string{"snare-drum", "woodblock", "cowbell", "bass-drum", "triangle", "tambourine", "suspended-cymbal", "claves", "glockenspiel", "temple-blocks"}
	rng.Shuffle(len(kinds), func(i, k int) { kinds[i], kinds[k] = kinds[k], kinds[i] })
	rhythms := []string{"1 2 3 4", "1 3", "2 4", "1", "3", "1& 2& 3& 4&", "1 2& 4", "-", "-", "-"}
	bars := 4 + rng.IntN(5)
	head = fmt.Sprintf("meter 4/4\ntempo %d\nbars %d\n", 60+rng.IntN(90), bars)
	for p := range 3 + rng.IntN(3) {
		text := fmt.Sprintf("part \"P%d\"\n  %s", p+1, kinds[p])
		for range bars {
			text += " | " + rhythms[rng.IntN(len(rhythms))]
		}
		parts = append(parts, text+"\n")
	}
	return head, parts, 1 + rng.IntN(2)
}

// samples is how many pieces are made up; HANDFUL_FILES multiplies it.
func samples() uint64 {
	if testing.Short() {
		return 2
	}
	if more, err := strconv.Atoi(os.Getenv("HANDFUL_FILES")); err == nil && more > 0 {
		return 8 * uint64(more)
	}
	return 8
}

// drawn are the numbers of so many times as many made-up pieces; HANDFUL_SEED takes others.
func drawn(times uint64) iter.Seq[uint64] {
	from := uint64(0)
	if seed, err := strconv.ParseUint(os.Getenv("HANDFUL_SEED"), 10, 32); err == nil {
		from = seed * 1_000
	}
	return func(yield func(uint64) bool) {
		for n := range times * samples() {
			if !yield(from + n) {
				return
			}
		}
	}
}

// What is lost, weighted, does not depend on anybody's name nor on the order of the parts;
// one more player, one more of everything, a slower tempo, quicker people, or what is at the edge allowed lose no
// more; the bound is never above what is lost; and planning a plan returns it, or one that
// loses less.
func TestLawsOfPlans(t *testing.T) {
	for n := range drawn(1) {
		head, parts, players := sample(n)
		text := head + strings.Join(parts, "")
		p := planOf(t, text, Options{Players: players})
		assert.LessOrEqual(t, p.Bound, p.Value+1e-9, "%d: the bound\n%s", n, text)

		slices.Reverse(parts)
		other := planOf(t, head+strings.Join(parts, ""), Options{Players: players})
		assert.InDelta(t, p.Value, other.Value, 1e-9, "%d: the order of the parts\n%s", n, text)
		names := []string{"Zoe", "Abe"}[:players]
		assert.InDelta(t, p.Value, planOf(t, text, Options{Names: names}).Value, 1e-9, "%d: names\n%s", n, text)
		assert.LessOrEqual(t, planOf(t, text, Options{Players: players + 1}).Value, p.Value+1e-9, "%d: one more player\n%s", n, text)
		assert.LessOrEqual(t, planOf(t, text, Options{Players: players, TempoFactor: 0.9}).Value, p.Value+1e-9, "%d: slower\n%s", n, text)
		assert.LessOrEqual(t, planOf(t, text, Options{Players: players, Profile: "professional"}).Value, p.Value+1e-9, "%d: quicker people\n%s", n, text)
		assert.LessOrEqual(t, planOf(t, text, Options{Players: players, AtTheEdge: true}).Value, p.Value+1e-9, "%d: the edge\n%s", n, text)

		one := planOf(t, head+gearOf(parts, 1)+strings.Join(parts, ""), Options{Players: players + 1})
		two := planOf(t, head+gearOf(parts, 2)+strings.Join(parts, ""), Options{Players: players + 1})
		assert.LessOrEqual(t, two.Value, one.Value+1e-9, "%d: more gear\n%s", n, text)

		again := planOf(t, p.Text, Options{})
		assert.LessOrEqual(t, again.Value, p.Value+1e-9, "%d: a plan of a plan\n%s", n, text)
		if again.Value > p.Value-1e-9 && again.Moved == 0 {
			assert.Equal(t, withoutFigures(p.Text), withoutFigures(again.Text), "%d: a plan of a plan", n)
		}
	}
}

// What is lost does not depend on the order of the players, who differ here, nor on that of the
// lines, on how parts are made of them, on marks and on anybody's name.
func TestTheOrderInTheFileCostsNoStroke(t *testing.T) {
	said := []string{"", "  profile student\n", "  hands R\n", "  hands L\n", "  never triangle, claves\n", "  leads left\n", "  rolls one-handed no\n"}
	lossy := 0
	for n := range drawn(2) {
		head, parts, _ := sample(n)
		if n%2 == 1 {
			text, _ := phrased(n)
			parts = strings.SplitAfter(strings.ReplaceAll(text, "part ", "\x00part "), "\x00")
			for i := range parts {
				parts[i] = strings.TrimSuffix(parts[i], "\x00")
			}
			head, parts = parts[0], parts[1:]
		}
		rng := rand.New(rand.NewPCG(n, 31))
		var players, lines []string
		for _, name := range []string{"Ida", "Max", "Zoe"}[:1+rng.IntN(3)] {
			players = append(players, "player "+name+"\n"+said[rng.IntN(len(said))])
		}
		for _, part := range parts {
			_, line, _ := strings.Cut(part, "\n")
			lines = append(lines, line)
		}
		text := head + strings.Join(parts, "") + strings.Join(players, "")
		p, err := tryPlan(text)
		if err != nil {
			continue // nobody of these can play anything
		}
		if p.Value > 0 {
			lossy++
		}
		loses := func(what, other string) {
			assert.InDelta(t, p.Value, planOf(t, other, Options{}).Value, 1e-9, "%d: %s\n%s", n, what, text)
		}
		loses("names", strings.NewReplacer("Ida", "Zzz", "Max", "Bob", "Zoe", "Abe").Replace(text))
		loses("one part", head+"part \"P\"\n"+strings.Join(lines, "")+strings.Join(players, ""))
		slices.Reverse(players)
		slices.Reverse(lines)
		loses("players", head+strings.Join(parts, "")+strings.Join(players, ""))
		loses("lines and players", head+"part \"P\"\n"+strings.Join(lines, "")+strings.Join(players, ""))
	}
	t.Logf("something is lost in %d of %d", lossy, 2*samples())
}

// Of people who differ in nothing but their names the first has what stands first in the file, and to
// swap their names swaps them in the plan and does nothing else.
func TestToSwapNamesIsToSwapNames(t *testing.T) {
	swap := strings.NewReplacer("Ida", "Max", "Max", "Ida")
	for n := range drawn(2) {
		text, _ := phrased(n)
		if n%2 == 1 {
			head, parts, _ := sample(n)
			text = head + strings.Join(parts, "")
		}
		text += "player Ida\n  profile student\nplayer Max\n  profile student\n"
		p, q := planOf(t, text, Options{Sentences: true}), planOf(t, swap.Replace(text), Options{Sentences: true})
		assert.Equal(t, p.Text, swap.Replace(q.Text), "%d", n)
	}
	text, _ := phrased(3)
	p := planOf(t, text, Options{Players: 3})
	first := map[string]int{}
	for _, who := range p.Result.Score.Players {
		first[who.Name] = slices.IndexFunc(p.Result.Score.Parts, func(part *score.Part) bool {
			return slices.ContainsFunc(who.Cues, func(c *score.Cue) bool { return c.Voice == part.Lines[0].Name })
		})
	}
	assert.Equal(t, 0, first["One"], p.Text)
	assert.Less(t, first["One"], first["Two"], p.Text)
	assert.Less(t, first["Two"], first["Three"], p.Text)
}

// What is lost does not depend on how style is weighed.
func TestWhatIsLostDoesNotDependOnStyle(t *testing.T) {
	for n := range samples() {
		head, parts, players := sample(n)
		text := head + strings.Join(parts, "")
		usual := planOf(t, text, Options{Players: players})
		for _, name := range []string{"tight", "sound", "loud", "line", "hand", "way", "instrument", "change", "place", "even"} {
			for _, by := range []float64{0, 7} {
				w := DefaultWeights()
				for _, k := range weightTable() {
					if k.name == name {
						*k.at(&w) *= by
					}
				}
				p := planOf(t, text, Options{Players: players, Weights: &w})
				assert.InDelta(t, usual.Value, p.Value, 1e-9, "%d: %s by %g\n%s", n, name, by, text)
			}
		}
	}
}

// gearOf says that there are so many of every instrument of some parts.
func gearOf(parts []string, many int) string {
	out := "gear\n"
	for i, p := range parts {
		_, line, _ := strings.Cut(p, "\n")
		if i > 0 {
			out += ", "
		}
		out += fmt.Sprintf("  %d %s", many, strings.Fields(line)[0])
	}
	return out + "\n"
}

// Nothing is taken for possible while a plan is made that no plan can be: once things
// stand somewhere, what one hand has to play at one moment is still too much for it,
// however near they are.
func TestNoPlanOnTheWayIsBelowTheBound(t *testing.T) {
	for _, n := range []uint64{24, 56} {
		head, parts, players := sample(n)
		planOf(t, head+strings.Join(parts, ""), Options{Players: players, Progress: func(p Progress) {
			if p.Stage != "who plays what" { // as long as it is not given away, nothing is lost
				assert.GreaterOrEqual(t, p.Value, p.Bound-1e-9, "%d: %s", n, p.Stage)
			}
		}})
	}
}

// withoutFigures is a plan without the seconds of its reasons, which are those of the
// tries that it happened to make.
func withoutFigures(text string) string {
	return strings.TrimSpace(regexp.MustCompile(`in time: [^"]*"`).ReplaceAllString(text, `in time"`))
}

// What is kept is kept wherever a check has nothing against it: of a plan every second
// cue is taken out, and the rest stays to the letter; also where a player's kit stands in two blocks, the
// second among the cues, and where what was kept is kept again.
func TestWhateverACheckAcceptsIsKept(t *testing.T) {
	again := 0
	for n := range drawn(1) {
		head, parts, players := sample(n)
		p := planOf(t, head+strings.Join(parts, ""), Options{Players: players})
		half := everySecondCue(p.Text, 0)
		for _, text := range []string{half, inTwoKits(half, false), inTwoKits(half, true)} {
			kept, ok := keptToTheLetter(t, text, n)
			if !ok {
				continue
			}
			if _, ok = keptToTheLetter(t, everySecondCue(kept.Text, 1), n); ok {
				again++
			}
		}
	}
	t.Logf("%d were kept twice", again)
}

// keptToTheLetter plans what a check accepts, and keeps every line of it in its order; it says no where a check
// does not accept it.
func keptToTheLetter(t *testing.T, text string, n uint64) (Plan, bool) {
	r := check.Check("x.handful", syntax.Parse(text), check.Options{})
	if !onlyUncovered(r) {
		return Plan{}, false
	}
	kept, err := File(context.Background(), "x.handful", syntax.Parse(text), Options{Keep: true})
	if !assert.NoError(t, err, "%d\n%s", n, text) {
		return Plan{}, false
	}
	assert.Empty(t, errorsOf(kept.Result))
	left := strings.Split(kept.Text, "\n")
	for _, l := range strings.Split(text, "\n") {
		at := slices.Index(left, l)
		if !assert.GreaterOrEqual(t, at, 0, "%d: %q of\n%s\nin\n%s", n, l, text, kept.Text) {
			return Plan{}, false
		}
		left = left[at+1:]
	}
	return kept, true
}

// everySecondCue is a text without every second of its cues and without what it leaves out.
func everySecondCue(text string, first int) string {
	var lines []string
	cues := first
	for _, l := range syntax.Parse(text).Lines {
		if _, ok := l.Stmt.(*syntax.Omit); ok {
			continue
		}
		if c, ok := l.Stmt.(*syntax.LimbLine); ok && c.Cue != nil {
			if cues++; cues%2 == 0 {
				continue
			}
		}
		lines = append(lines, l.Text)
	}
	return strings.Join(lines, "\n")
}

// inTwoKits is a text in which every kit of two things or more stands in two blocks: the second behind the first
// cue, or where the player's block ends.
func inTwoKits(text string, atEnd bool) string {
	var out, second []string
	inKit := false
	flush := func() {
		if len(second) > 0 {
			out = append(append(out, "  kit  # and there"), second...)
		}
		second = nil
	}
	for _, l := range syntax.Parse(text).Lines {
		switch s := l.Stmt.(type) {
		case *syntax.Kit:
			inKit = true
		case *syntax.Item:
			if inKit && len(second) == 0 && !strings.Contains(out[len(out)-1], "  kit") {
				second = append(second, l.Text)
				continue
			}
		case *syntax.LimbLine:
			out = append(out, l.Text)
			if inKit = false; s.Cue != nil && !atEnd {
				flush()
			}
			continue
		case *syntax.Player, *syntax.Part:
			flush()
		}
		if strings.TrimSpace(l.Text) == "" {
			flush()
		}
		out = append(out, l.Text)
	}
	flush()
	return strings.Join(out, "\n")
}

func onlyUncovered(r *check.Result) bool {
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Severity == check.Error && f.Rule.Name != "uncovered" {
			return false
		}
	}
	return true
}

// Every reason for which something is left out is true: put back into the written plan,
// bar by bar, for everybody, with every limb and in every way of the catalogue that needs
// no hardware beyond the usual, it is refused by a check. Nothing of the search is used.
func TestWhatIsLeftOutNobodyCouldPlayBesides(t *testing.T) {
	tried, wrong := 0, 0
	for n := range drawn(1) {
		head, parts, players := sample(n)
		p := planOf(t, head+strings.Join(parts, ""), Options{Players: players})
		for _, text := range putBack(&p, &tried) {
			wrong++
			t.Errorf("%d: this could be played after all: %s\n%s", n, text, p.Text)
		}
	}
	t.Logf("%d ways of putting something back were tried, %d went", tried, wrong)
	require.Positive(t, tried)
}

// What is lost is played after all where a hand is free for it only once the plan has been made
// easier to play, and in time only because a thing that is there for nothing else is near the
// hand that comes to it: what is left then is what the bound says.
func TestAHandThatBecomesFreeTakesWhatIsLost(t *testing.T) {
	p := planOf(t, `meter 4/4
tempo 125
bars 4
part "P1"
  woodblock | 1 2& 4 | 1 2 3 4 | - | 1 2 3 4
part "P2"
  bass-drum | - | 1 3 | 1 2 3 4 | -
part "P3"
  cowbell | 3 | 1 3 | 3 | -
part "P4"
  triangle | 1& 2& 3& 4& | 2 4 | 1 3 | 1 2 3 4
`, Options{Players: 1})
	tried := 0
	assert.Empty(t, putBack(&p, &tried), p.Text)
	require.Positive(t, tried)
	assert.InDelta(t, p.Bound, p.Value, 1e-9, p.Text)
}

// putBack lists the bars of what a plan leaves out that a check lets somebody play besides.
func putBack(p *Plan, tried *int) (found []string) {
	cat := p.Result.Score.Catalogue
	for _, l := range p.Lost {
		in := cat.Resolve(l.Line)
		for bar := l.From; bar <= l.To; bar++ {
			for _, who := range p.Result.Score.Players {
				for _, how := range cuesFor(in, l.Line) {
					*tried++
					cue := fmt.Sprintf("  %s as written in %d of %q", how.cue, bar, l.Part)
					if besides(p, who, in, how.mount, cue) {
						found = append(found, who.Name+cue)
					}
				}
			}
		}
	}
	return found
}

type howPlayed struct {
	cue   string
	mount kit.Mount
}

// cuesFor are cues for an instrument in every way that needs nothing beyond the usual.
func cuesFor(in *kit.Instrument, name string) (out []howPlayed) {
	for _, w := range in.Ways {
		if slices.ContainsFunc(w.Needs, func(n string) bool { return !slices.Contains(in.Usual().Needs, n) }) {
			continue
		}
		limbs := []string{"R", "L", "RL"}
		switch w.Limb {
		case kit.Foot:
			limbs = []string{"RF", "LF"}
		case kit.Mouth:
			limbs = []string{"mouth"}
		}
		with := []string{""}
		if len(w.With) > 0 {
			with = nil
		}
		for _, c := range w.With {
			count := ""
			if c.Count > 1 {
				count = fmt.Sprint(c.Count) + " "
			}
			with = append(with, " with "+count+c.Implement+strings.Repeat("s", min(1, max(0, c.Count-1))))
		}
		for _, limb := range limbs {
			for _, c := range with {
				out = append(out, howPlayed{fmt.Sprintf("%s %s %s%s", limb, name, w.Mount, c), w.Mount})
			}
		}
	}
	return out
}

// besides says whether a check accepts a plan with one cue more.
func besides(p *Plan, who *score.Player, in *kit.Instrument, mount kit.Mount, cue string) bool {
	if it := who.Item(in.ID); it != nil && it.Listed && it.Mount != mount && mount != kit.Held {
		return false // it would have to be fixed in two ways
	}
	var lines []string
	mine := false
	for _, l := range p.Result.File.Lines {
		if s, ok := l.Stmt.(*syntax.Player); ok {
			if mine {
				lines = append(lines, cue)
			}
			mine = s.Name.Value() == who.Name
		} else if _, ok := l.Stmt.(*syntax.Omit); ok && mine {
			lines, mine = append(lines, cue), false
		}
		lines = append(lines, l.Text)
		if _, ok := l.Stmt.(*syntax.Kit); ok && mine && who.Item(in.ID) == nil {
			lines = append(lines, fmt.Sprintf("    %s %s", in.ID, mount))
		}
	}
	if mine {
		lines = append(lines, cue)
	}
	r := check.Check("x.handful", syntax.Parse(strings.Join(lines, "\n")+"\n"), check.Options{})
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Severity == check.Error || f.Severity == check.Warning && (f.Timed && f.Window < f.Need.Floor-1e-6 || f.Wears > 4) {
			return false
		}
	}
	return r.Score.Coverage.Omitted < p.Result.Score.Coverage.Omitted
}
