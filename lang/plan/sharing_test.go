package plan

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/proof"
	"example.org/handful/lang/syntax"
)

// oneDrum is a piece in which the one bass drum is wanted while the one has both hands full, and
// later while the other has.
const oneDrum = `tempo 126
bars 14
part "Percussion"
  snare-drum    | 1 1e 1& 1a 2 2e 2& 2a 3 3e 3& 3a 4 4e 4& 4a | % x5 | -8
  crash-cymbals | -8 | 1 2 3 4 | % x5
  bass-drum     | 1 3 | % x5 | - | - | 1 3 | % x5
player Ida
  never crash-cymbals
player Per
  never snare-drum
`

// Two people stand at one thing where less is lost so, each with what else they have on their own
// side of it; the plan says so, it is kept and planned again as it is, and without one of them
// the file is still a file.
func TestTwoPeopleStandAtOneThing(t *testing.T) {
	for _, gear := range []string{"", "gear\n  1 bass-drum\n"} {
		text := gear + oneDrum
		canonical := planned(t, syntax.Formatted(text), Options{}).Text
		assert.Equal(t, syntax.Formatted(canonical), canonical)
		apart := planned(t, text, Options{each: true})
		assert.Greater(t, apart.Value, 1.0)
		p := planned(t, text, Options{Sentences: true})
		clean(t, p)
		assert.Empty(t, p.Lost)
		assert.Empty(t, p.Borrowed)
		assert.Contains(t, p.Text, "\nkit\n  bass-drum\nplayer Ida\n")
		assert.Regexp(t, `bass-drum +on stand at right \d+`, blockOf(p.Text, "Ida"))
		assert.Regexp(t, `bass-drum +on stand at left \d+`, blockOf(p.Text, "Per"))
		assert.Contains(t, p.Sentences[0], "Ida and Per stand at the one concert bass drum, one after the other: Ida has it at the right and Per has it at the left")
		assert.Empty(t, found(p.Result, check.RuleSharedGear))

		for _, opt := range []Options{{Sentences: true}, {Keep: true, Sentences: true}} {
			again := planned(t, p.Text, opt)
			assert.Equal(t, p.Text, again.Text)
		}
		alone := planned(t, p.Text, Options{Without: []string{"Per"}})
		clean(t, alone)
		assert.NotContains(t, alone.Text, "player Per")
	}
}

// Nothing is shared where nothing is lost, and nothing where that brings nothing back.
func TestNobodySharesForNothing(t *testing.T) {
	for _, text := range []string{
		strings.ReplaceAll(oneDrum, "  never snare-drum\n", ""),                                            // one plays it throughout
		"gear\n  2 bass-drum\n" + oneDrum,                                                                  // there are two
		strings.Replace(oneDrum, "player Per", "  never bass-drum\nplayer Per", 1),                         // who would stand at it does not play it
		strings.Replace(oneDrum, "tempo 126", "gear\n  0 bass-drum\ntempo 126", 1),                         // there is none
		strings.Replace(oneDrum, "player Per", "  kit\n    bass-drum on stand at ahead 50\nplayer Per", 1), // it stands before Ida
	} {
		p := planned(t, text, Options{})
		clean(t, p)
		assert.NotContains(t, p.Text, "\nkit\n", text)
	}
}

func found(r *check.Result, rule string) (out []string) {
	for i := range r.Findings {
		if r.Findings[i].Rule.Name == rule {
			out = append(out, r.Findings[i].Message())
		}
	}
	return out
}

// Of a small piece all ways of giving the one drum away, bar by bar, are looked through with nothing
// but the check, and none loses less than the plan.
func TestAPlanOfOneThingForTwoLosesTheLeast(t *testing.T) {
	const head = `tempo 96
part "A"
  bass-drum | 1 2 3 4 | % | % | % | %
part "B"
  cowbell | 1 2 3 4 | % | - | - | -
  triangle | - | - | - | 1 2 3 4 | %
`
	p := planned(t, head+"player Ida\n  hands R\n  never cowbell\nplayer Per\n  hands R\n  never triangle\n", Options{})
	clean(t, p)
	const bars = 5
	least := 4 * bars
	ways := 1
	for range bars {
		ways *= 3
	}
	for way := range ways {
		var ida, per, out []string
		for bar, w := 1, way; bar <= bars; bar, w = bar+1, w/3 {
			list := [3]*[]string{&ida, &per, &out}[w%3]
			*list = append(*list, fmt.Sprint(bar))
		}
		cue := func(bars []string) string {
			if len(bars) == 0 {
				return ""
			}
			return "  R bass-drum as written in " + strings.Join(bars, " ") + "\n"
		}
		text := head + "kit\n  bass-drum\nplayer Ida\n  hands R\n  kit\n    triangle clipped at left 20 ahead 50\n    bass-drum on stand at right 46 ahead 40\n    table at left 24 ahead 26\n" +
			cue(ida) + "  R triangle as written\nplayer Per\n  hands R\n  kit\n    cowbell on stand at right 20 ahead 50\n    bass-drum on stand at left 46 ahead 40\n    table at right 24 ahead 26\n" + cue(per) + "  R cowbell as written\n"
		if len(out) > 0 {
			text += "omit bass-drum in " + strings.Join(out, " ") + " because \"no\"\n"
		}
		r := check.Check("x.handful", syntax.Parse(text), check.Options{})
		if len(errorsOf(r)) == 0 && len(found(r, check.RuleSharedGear)) == 0 {
			least = min(least, 4*len(out))
		}
	}
	assert.Less(t, least, 4*bars)
	assert.Equal(t, least, p.Result.Score.Coverage.Omitted, p.Text)
}

// bigThings is a made-up piece of phrases for things of which there is one each, with a rest behind
// each phrase, for people who do not play all of them.
func bigThings(number uint64) string {
	rng := rand.New(rand.NewPCG(number, 31))
	kinds := []string{"snare-drum", "crash-cymbals", "bass-drum", "xylophone", "timpani", "tam-tam", "triangle", "tubular-bells"}
	rng.Shuffle(len(kinds), func(i, k int) { kinds[i], kinds[k] = kinds[k], kinds[i] })
	rhythms := []string{"1 2 3 4", "1 3", "1 1e 1& 1a 2 2e 2& 2a 3 3e 3& 3a 4 4e 4& 4a", "1 1& 2 2& 3 3& 4 4&"}
	said := []string{"", "  never snare-drum\n", "  never crash-cymbals\n", "  never xylophone\n", "  never timpani\n", "  hands R\n"}
	head := fmt.Sprintf("meter 4/4\ntempo %d\nbars 20\n", 80+rng.IntN(50))
	var parts []string
	for i := range 3 + rng.IntN(2) {
		line := ""
		for range 4 {
			rhythm := "-"
			if rng.IntN(5) < 3 {
				rhythm = rhythms[rng.IntN(len(rhythms))]
				if kinds[i] != "snare-drum" && kinds[i] != "xylophone" {
					rhythm = rhythms[rng.IntN(2)]
				}
			}
			line += " | " + rhythm + " | % x3 | -"
		}
		parts = append(parts, fmt.Sprintf("part \"P%d\"\n  %s%s\n", i+1, kinds[i], line))
	}
	text := head + gearOf(parts, 1) + strings.Join(parts, "")
	for _, name := range []string{"Ida", "Max"} {
		text += "player " + name + "\n" + said[rng.IntN(len(said))]
	}
	return text
}

// That two people may stand at one thing never loses more; nothing of theirs stands in one another,
// nobody has the thing too soon behind somebody else, the bound is never above what is lost and
// proven as before, and a plan is kept and planned again as it is.
func TestLawsOfSharedThings(t *testing.T) {
	numbers := []uint64{9, 51}
	for n := range drawn(1) {
		numbers = append(numbers, n)
	}
	for _, n := range numbers {
		text := bigThings(n)
		apart, p := planOf(t, text, Options{each: true}), planOf(t, text, Options{})
		assert.LessOrEqual(t, p.Value, apart.Value+1e-9, "%d\n%s", n, text)
		assert.LessOrEqual(t, p.Bound, p.Value+1e-9, "%d\n%s", n, text)
		assert.Equal(t, apart.Bound, p.Bound, "%d", n)
		assert.Empty(t, found(p.Result, check.RuleSharedGear), "%d\n%s", n, p.Text)
		assert.Equal(t, p.Value < apart.Value-1e-9, strings.Contains(p.Text, "\nkit\n"), "%d: what is shared brings something back\n%s", n, p.Text)
		if n == 9 || n == 51 {
			assert.Less(t, p.Value, apart.Value-1, "%d", n)
		}
		again := planOf(t, p.Text, Options{})
		assert.LessOrEqual(t, again.Value, p.Value+1e-9, "%d", n)
		if again.Value > p.Value-1e-9 && again.Moved == 0 {
			assert.Equal(t, withoutFigures(p.Text), withoutFigures(again.Text), "%d: a plan of a plan", n)
		}
		kept := planOf(t, p.Text, Options{Keep: true})
		assert.Equal(t, withoutFigures(p.Text), withoutFigures(kept.Text), "%d: what is kept", n)
		v, err := proof.Verify(context.Background(), "x.handful", syntax.Parse(text), p.Certificate, proof.Options{})
		require.NoError(t, err, "%d", n)
		assert.LessOrEqual(t, v.LostAtLeast, p.Value+1e-9, "%d", n)
	}
}
