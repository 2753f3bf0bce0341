package plan

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// Three lines at the same moments, and two hands: one of them has to go.
const threeLines = `tempo 96
part "A"
  snare-drum | mf 1 2 3 4 | % x3
part "B"
  cowbell | mf 1 2 3 4 | % x3
part "C"
  tom-toms | mf 1 2 3 4 | % x3
player Ida
`

func lostLines(p Plan) string {
	var out []string
	for _, l := range p.Lost {
		out = append(out, fmt.Sprintf("%s %d-%d", l.Line, l.From, l.To))
	}
	return strings.Join(out, ", ")
}

func TestWhatMattersLessIsLostFirst(t *testing.T) {
	for line, called := range map[string]string{"snare-drum": "snare drum", "cowbell": "cowbell", "tom-toms": "tom-toms"} {
		p := planned(t, threeLines+line+" matters little because \"the band has it\"\n", Options{Sentences: true})
		clean(t, p)
		assert.Equal(t, line+" 1-4", lostLines(p))
		assert.InDelta(t, p.Bound, p.Value, 1e-9, "the bound weighs as the plan does")
		assert.Contains(t, p.Sentences[1], "16 strokes of the "+called+" (bars 1-4, which matters less: the band has it)")
	}
	for part, lost := range map[string]string{"A": "snare-drum", "B": "cowbell", "C": "tom-toms"} {
		p := planned(t, strings.Replace(threeLines, `part "`+part+`"`, `part "`+part+`" matters 0.5`, 1), Options{})
		clean(t, p)
		assert.Equal(t, lost+" 1-4", lostLines(p))
	}
	p := planned(t, threeLines+"snare-drum matters little\ncowbell matters little in 2-3\nsnare-drum matters much in 2-3\n", Options{Sentences: true})
	clean(t, p)
	assert.Equal(t, "snare-drum 1-1, snare-drum 4-4, cowbell 2-3", lostLines(p))
	assert.Contains(t, p.Sentences[0], "all that is said to matter more is played")
}

// What counts is how things compare: to say of everything that it matters three times
// as much changes no plan, and what is lost of the one counts three times.
func TestWhatMattersIsAMatterOfProportion(t *testing.T) {
	text := band(4, 8, 0.9, 3)
	plain := planned(t, text, Options{Players: 2})
	more := planned(t, mattersInAll(text, 3), Options{Players: 2})
	assert.InDelta(t, 3*plain.Value, more.Value, 1e-6)
	assert.InDelta(t, 3*plain.Bound, more.Bound, 1e-6)
	assert.Equal(t, lostLines(plain), lostLines(more))
}

func mattersInAll(text string, times int) string {
	var out []string
	for _, l := range strings.Split(text, "\n") {
		if strings.HasPrefix(l, "part ") {
			l += fmt.Sprintf(" matters %d", times)
		}
		out = append(out, l)
	}
	return strings.Join(out, "\n")
}

// However little something matters, how it is played never costs a stroke of it.
func TestStyleNeverCostsAStrokeOfWhatMattersLeast(t *testing.T) {
	text := "tempo 60\npart \"P\"\n  snare-drum | mf 1 2 3 4 | % x7\n  triangle | mf 1& 3& | % x7\ntriangle matters 0.01\nplayer Ida\n"
	p := planned(t, text, Options{})
	clean(t, p)
	assert.Empty(t, p.Lost)
}

// What is to stay with one person does, whatever else it costs.
func TestWhatStaysTogetherIsPlayedByOnePerson(t *testing.T) {
	for seed := range uint64(4) {
		rng := rand.New(rand.NewPCG(seed, 5))
		text := band(4, 16, 0.8, seed)
		kinds := []string{}
		f := syntax.Parse(text)
		for _, l := range f.Lines {
			if it, ok := l.Stmt.(*syntax.Item); ok {
				kinds = append(kinds, it.Name.Text)
			}
		}
		a, b := kinds[rng.IntN(len(kinds))], kinds[rng.IntN(len(kinds))]
		wish := fmt.Sprintf("together %s in 1-12\n", a)
		if a != b {
			wish = fmt.Sprintf("together %s and %s in 5-12\n", a, b)
		}
		p := planned(t, text+wish, Options{Players: 2})
		clean(t, p)
		for i := range p.Result.Findings {
			assert.NotEqual(t, notTogether, p.Result.Findings[i].Rule.Name, "%s%s", wish, p.Text)
		}
	}
}

func TestWhatStaysTogetherIsLostRatherThanParted(t *testing.T) {
	const text = `tempo 120
part "P"
  snare-drum | f 1 1& 2 2& 3 3& 4 4& | % x3
  cowbell    | f 1 1& 2 2& 3 3& 4 4& | % x3
  tom-toms   | f 1 1& 2 2& 3 3& 4 4& | % x3
player Ida
player Per
`
	assert.Empty(t, planned(t, text, Options{}).Lost)
	p := planned(t, text+"together snare-drum and cowbell and tom-toms\n", Options{Sentences: true})
	clean(t, p)
	require.NotEmpty(t, p.Lost)
	for _, l := range p.Lost {
		assert.Equal(t, notAlone, l.Because)
	}
	assert.Contains(t, p.Sentences[0], "stay with")
	again := planned(t, p.Text, Options{})
	assert.InDelta(t, p.Value, again.Value, 1e-9)
	assert.Zero(t, again.Moved)
}

// Kept cues that part what is to stay together are left as they are.
func TestKeepingWhatIsPartedAlready(t *testing.T) {
	const text = `tempo 96
part "P"
  snare-drum | 1 3 | %
  cowbell    | 2 4 | %
  tom-toms   | 1 2 | %
together snare-drum and cowbell
player Ida
  R snare-drum as written
player Per
  R cowbell as written
`
	p, err := File(context.Background(), "x.handful", syntax.Parse(text), Options{Keep: true})
	require.NoError(t, err)
	clean(t, p)
	assert.Empty(t, p.Lost)
}
