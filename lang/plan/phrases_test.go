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

// phrased is a made-up piece of more lines than one or two people have hands for, each in phrases of a few bars
// that are alike, some of them with another last bar.
func phrased(number uint64) (string, int) {
	rng := rand.New(rand.NewPCG(number, 4))
	kinds := []string{"snare-drum", "woodblock", "cowbell", "bass-drum", "triangle", "tambourine", "suspended-cymbal", "claves", "glockenspiel", "temple-blocks"}
	rng.Shuffle(len(kinds), func(i, k int) { kinds[i], kinds[k] = kinds[k], kinds[i] })
	rhythms := []string{"1 2 3 4", "1 3", "2 4", "1", "3", "1& 2& 3& 4&", "1 2& 4", "-", "-"}
	bars := 8 + 4*rng.IntN(2)
	text := fmt.Sprintf("meter 4/4\ntempo %d\nbars %d\nmark A at 5\n", 60+rng.IntN(90), bars)
	for p := range 4 + rng.IntN(2) {
		var line []string
		for len(line) < bars {
			r := rhythms[rng.IntN(len(rhythms))]
			for range 3 {
				line = append(line, r)
			}
			if rng.IntN(3) == 0 && r != "-" {
				r = rhythms[rng.IntN(len(rhythms)-2)]
			}
			line = append(line, r)
		}
		text += fmt.Sprintf("part \"P%d\"\n  %s | %s\n", p+1, kinds[p], strings.Join(line[:bars], " | "))
	}
	return text, 1 + rng.IntN(2)
}

// Leaving out whole phrases loses nothing, has no error and leaves no more holes; and of some of the
// pieces it leaves fewer.
func TestWholePhrasesCostNoStroke(t *testing.T) {
	for n := range drawn(3) {
		text, players := phrased(n)
		before, after := wholeOf(t, text, players)
		assert.LessOrEqual(t, after.value(), before.value()+1e-9, "%d\n%s", n, text)
		assert.Empty(t, after.errors(), "%d", n)
		if after.value() > before.value()-1e-9 {
			assert.LessOrEqual(t, after.holes(), before.holes(), "%d\n%s", n, text)
		}
	}
	for _, n := range []uint64{3, 5, 15} {
		text, players := phrased(n)
		before, after := wholeOf(t, text, players)
		assert.Less(t, after.holes(), before.holes(), "%d\n%s", n, text)
	}
}

// A made is a draft of a job.
type made struct {
	*draft
	of *job
}

func (m made) value() float64 { return m.of.value(m.all) }

// wholeOf is a plan before and after whole phrases are left out.
func wholeOf(t *testing.T, text string, players int) (before, after made) {
	j, err := newJob(context.Background(), "x.handful", syntax.Parse(text), Options{Players: players}, false)
	require.NoError(t, err)
	j.open()
	all, err := j.settle(j.search.tidy(j.ctx, j.begun()))
	require.NoError(t, err)
	d, err := j.given(all)
	require.NoError(t, err)
	d = j.polished(d)
	return made{d, j}, made{j.wholePhrases(d), j}
}

// What is left out is a phrase and said as one, where bars of two lines, one here and three there, would weigh the
// same; and what is left over of a phrase is played where leaving it out as well would cost a stroke.
func TestWhatIsLeftOutIsAPhrase(t *testing.T) {
	text, players := phrased(3)
	p := planOf(t, text, Options{Players: players})
	clean(t, p)
	require.Len(t, p.Lost, 2, "%v", p.Lost)
	assert.Equal(t, Loss{Part: "P1", Line: "suspended-cymbal", Called: "suspended cymbal", From: 1, To: 3, Strokes: 3, Weight: p.Lost[0].Weight, Because: noHand + "claves and snare drum"}, p.Lost[0])
	assert.Equal(t, Loss{Part: "P3", Line: "snare-drum", Called: "snare drum", From: 5, To: 8, Strokes: 4, Weight: p.Lost[1].Weight, Because: noHand + "claves, suspended cymbal and cowbell"}, p.Lost[1])
	assert.InDelta(t, 7, p.Value, 1e-9)
	assert.InDelta(t, 7, p.Bound, 1e-9)
}

// holes counts, from what the check of a plan says of its strokes and nothing else, where a line stops or comes
// in between two neighbouring bars in which it has something, but for marks; half of those where the rhythm is another.
func (d made) holes() (n float64) {
	marks := map[int]bool{}
	for _, m := range d.result.Score.Marks {
		marks[m.Bar] = true
	}
	for _, part := range d.result.Score.Parts {
		for _, l := range part.Lines {
			counts, out := map[int]string{}, map[int]bool{}
			for i := range l.Strokes {
				bar := int(l.Strokes[i].Bar)
				counts[bar] += l.Strokes[i].At.Sub(d.result.Score.Grid.Start(bar)).String() + " "
			}
			for _, o := range d.result.Score.Omits {
				for bar := o.From; bar <= o.To && o.Name == l.Name; bar++ {
					out[bar] = true
				}
			}
			for bar := range counts {
				if counts[bar+1] == "" || marks[bar+1] || out[bar] == out[bar+1] {
					continue
				}
				if n += 1; counts[bar] != counts[bar+1] {
					n -= 0.5
				}
			}
		}
	}
	return n
}
