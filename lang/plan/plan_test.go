package plan

import (
	"context"
	"os"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

func example(t testing.TB, name string) string {
	text, err := os.ReadFile("../../examples/" + name)
	require.NoError(t, err)
	return string(text)
}

func errorsOf(r *check.Result) (out []string) {
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Severity == check.Error {
			out = append(out, f.Rule.Name+": "+f.Message())
		}
	}
	return out
}

// clean says that a plan's text has no errors when it is checked by itself,
// and that every written stroke is accounted for.
func clean(t require.TestingT, p Plan) {
	r := check.Check("plan.handful", syntax.Parse(p.Text), check.Options{})
	for i := range r.Findings {
		if r.Findings[i].Severity == check.Error {
			require.Fail(t, r.Findings[i].Message(), "%s\n%s", r.Findings[i].Rule.Name, p.Text)
		}
	}
	c := r.Score.Coverage
	require.Equal(t, c.Written, c.Covered+c.Substituted+c.Omitted, "every stroke is covered, substituted or left out")
	lost := 0
	for _, l := range p.Lost {
		require.NotEmpty(t, l.Because)
		lost += l.Strokes
	}
	require.Equal(t, c.Omitted, lost, "what is left out is listed")
	require.LessOrEqual(t, p.Bound, p.Value+1e-9)
}

func TestTheShippedPitNumberForTwo(t *testing.T) {
	p := planned(t, example(t, "ferry-landing.handful"), Options{Players: 2})
	clean(t, p)
	assert.Empty(t, p.Lost)
	assert.Zero(t, p.Value)
}

// What is planned today is changed no more than it must: a plan of a plan is
// the same plan.
func TestAPlanOfAPlanMovesNobody(t *testing.T) {
	first := planned(t, example(t, "ferry-landing.handful"), Options{Players: 2})
	second := planned(t, first.Text, Options{Players: 2})
	assert.Zero(t, second.Moved)
	clean(t, second)
}

func TestOneIsIll(t *testing.T) {
	p := planned(t, example(t, "ferry-landing.handful"), Options{Without: []string{"Nell"}})
	clean(t, p)
	assert.NotContains(t, p.Text, "player Nell")
	assert.NotEmpty(t, p.Lost, "one cannot do it all")
	assert.NotEmpty(t, p.Why)
}

func TestKeptCuesStay(t *testing.T) {
	text := `tempo 96
bars 4
part "One"
  woodblock  | 1 3 | % x3
  tambourine | 2 4 | % x3
player Ida
  R woodblock clamped with snare-stick as written
`
	p := planned(t, text, Options{Keep: true, Names: []string{"Ida", "Per"}})
	clean(t, p)
	assert.Contains(t, p.Text, "  R woodblock clamped with snare-stick as written")
	assert.Empty(t, p.Lost)
}

// Whatever is written, for however many: the checker has nothing to say
// against a plan, and no plan beats its bound.
func TestPlansAreCleanWhateverIsWritten(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		text := band(rapid.IntRange(1, 4).Draw(t, "parts"), rapid.SampledFrom([]int{1, 7, 16}).Draw(t, "bars"), 0.8, rapid.Uint64Range(0, 1000).Draw(t, "number"))
		p, err := File(context.Background(), "x.handful", syntax.Parse(text), Options{Players: rapid.IntRange(1, 3).Draw(t, "players")})
		if err != nil {
			if !strings.Contains(err.Error(), "nothing is written") {
				t.Fatal(err)
			}
			return
		}
		clean(t, p)
	})
}

// One player more never has a higher bound.
func TestMorePlayersAreNoWorse(t *testing.T) {
	text := band(4, 16, 0.9, 3)
	last := -1.0
	for n := 3; n >= 1; n-- {
		p := planned(t, text, Options{Players: n})
		assert.GreaterOrEqual(t, p.Bound, last-1e-9, "%d players", n)
		last = p.Bound
	}
}

func TestAPlanThatIsStoppedIsStillClean(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	p, err := File(ctx, "x.handful", syntax.Parse(example(t, "ferry-landing.handful")), Options{Players: 2})
	require.NoError(t, err)
	assert.True(t, p.Stopped)
	clean(t, p)
}

func TestWhatCannotBePlanned(t *testing.T) {
	for what, c := range map[string]struct {
		text string
		opt  Options
		want string
	}{
		"no parts":          {"tempo 96\nbars 4\n", Options{Players: 2}, "nothing is written"},
		"a part in error":   {"bars 4\npart \"One\"\n  no-such-thing | 1\n", Options{Players: 2}, "cannot be planned"},
		"too many":          {example(t, "ferry-landing.handful"), Options{Players: 1000}, "at most"},
		"fewer than nobody": {example(t, "ferry-landing.handful"), Options{Players: -1}, "fewer than no"},
		"nobody at all":     {"bars 1\npart \"One\"\n  woodblock | 1\n", Options{}, "player"},
		"who is not there":  {example(t, "ferry-landing.handful"), Options{Without: []string{"Zoe"}}, "Zoe"},
	} {
		_, err := File(context.Background(), "x.handful", syntax.Parse(c.text), c.opt)
		if assert.Error(t, err, what) {
			assert.Contains(t, err.Error(), c.want, what)
		}
	}
}

// A roll of four bars outweighs the seven strokes that it costs to keep: what
// lasts is missed for as long.
func TestARollCountsForAsLongAsItLasts(t *testing.T) {
	text := `tempo 96
meter 4/4
part "P"
  bass-drum | 1 2 3 4 | 1 3 | - | 1
  timpani | 1:C3~ | ~ | ~ | ~4
`
	p := planned(t, text, Options{Players: 1})
	clean(t, p)
	lost := map[string]int{}
	for _, l := range p.Lost {
		lost[l.Line] += l.Strokes
	}
	assert.Zero(t, lost["timpani"], lost)
}

// Before anything has its place all ways to begin seem to lose about as much here, and
// only some of them turn out well: snare drum and woodblock side by side for one hand.
func TestMoreThanOneStartIsGivenItsPlaces(t *testing.T) {
	p := planned(t, `tempo 112
meter 4/4
part "Drums"
  snare-drum | 1 2& 4 | % x14 | ff 1~4
  bass-drum | 1 3 | % x15
part "Bells"
  glockenspiel | - | 1:C5 2:E5 3:G5 4:C6 | % x14
part "Colour"
  suspended-cymbal | -7 | pp 1~ cresc | ff 1 | -7
  woodblock | - | 1& 3 | % x14
part "Timpani"
  timpani | 1:C3 3:G3 | % x7 | 1:F3 3:C3 | % x7
`, Options{Players: 2})
	clean(t, p)
	assert.LessOrEqual(t, p.Value, 12.0)
}

// TestAPlanIsTheSameOnOneCoreAndOnMore plans pieces in which something is lost.
func TestAPlanIsTheSameOnOneCoreAndOnMore(t *testing.T) {
	text := band(6, 24, 0.9, 2)
	was := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(was)
	one := planned(t, text, Options{Players: 2})
	require.Positive(t, one.Value)
	for _, cores := range []int{2, 3} {
		runtime.GOMAXPROCS(cores)
		require.Equal(t, one.Text, planned(t, text, Options{Players: 2}).Text, "%d cores", cores)
	}
}
