package plan

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// Wishes that cannot hold together, and the smallest set of them that a plan names.
func TestWishesThatCannotHoldTogetherAreNamed(t *testing.T) {
	const head = "tempo 60\nbars 2\n"
	const woodblock = "part \"P\"\n  woodblock | 1 | 1\n"
	const two = "part \"P\"\n  woodblock | 1 | 1\n  triangle | 2 | 2\n"
	for what, c := range map[string]struct {
		text string
		opt  Options
		fail bool     // there is no plan at all
		want []string // the lines and options, and no others
	}{
		"never everything": {head + woodblock + "player Ida\n  never woodblock\n  rolls one-handed no\nplayer Max\n  hands none\n", Options{}, true,
			[]string{"never woodblock (line 6)", "hands none (line 9)"}},
		"--keep against never": {head + two + "player Ida\n  never woodblock\n  hands R\n  R woodblock as written\n", Options{Keep: true}, true,
			[]string{"never woodblock (line 7)", "(--keep)"}},
		"a room too small": {head + woodblock + "player Ida\n  hands R\n", Options{Deep: 5, Wide: 500}, true,
			[]string{"(--deep)"}},
		"gear of nought": {head + "gear\n  0 woodblock, 2 clamp\n" + two + "player Ida\n  hands R\n", Options{Sentences: true}, false,
			[]string{"0 woodblock, 2 clamp (line 4)"}},
		"gear of nought for all": {head + "gear\n  0 woodblock, 2 clamp\n" + woodblock + "player Ida\n  hands R\n", Options{}, true,
			[]string{"0 woodblock, 2 clamp (line 4)"}},
		"no floor for what is large": {head + "part \"P\"\n  timpani | 1 | 1\nplayer Ida\n  hands R\n", Options{Wide: 60, Deep: 60}, true,
			[]string{"(--wide)"}},
		"a thing that there is not": {head + woodblock + "player Ida\n  hands R\n  never hard-mallet\n", Options{}, true,
			[]string{"one of your own (line 7)", "Ida: never hard-mallet (line 7)"}},
		"all left out on purpose": {head + two + "omit woodblock because \"the piano has it\"\nomit triangle because \"too soft\"\nplayer Ida\n", Options{}, true,
			[]string{"omit woodblock because \"the piano has it\" (line 6)", "omit triangle because \"too soft\" (line 7)"}},
		"gear of nought for what fixes it": {"tempo 120\nbars 4\ngear\n  1 woodblock, 1 triangle\n  0 clamp\npart \"P\"\n  woodblock | 1 2 3 4 | % x3\n  triangle | 1 3 | % x3\nplayer Ida\nplayer Max\n  hands none\n", Options{Sentences: true}, false,
			[]string{"0 clamp (line 5)", "hands none (line 11)"}},
		"what everybody refuses": {head + two + "player Ida\n  never woodblock\nplayer Max\n  never woodblock, timpani\n", Options{Sentences: true}, false,
			[]string{"never woodblock (line 7)", "never woodblock, timpani (line 9)"}},
	} {
		p, err := File(context.Background(), "x.handful", syntax.Parse(c.text), c.opt)
		said := strings.Join(p.Sentences, " ")
		if c.fail {
			require.Error(t, err, what)
			said = err.Error()
		} else {
			require.NoError(t, err, what)
		}
		for _, w := range c.want {
			assert.Contains(t, said, w, what)
		}
		named := len(regexp.MustCompile(`\(line \d+\)|\(--[a-z]+\)`).FindAllString(said, -1))
		assert.Equal(t, len(c.want), named, "%s: %s", what, said)
		for _, w := range c.want { // without any one of them it holds
			m := regexp.MustCompile(`\(line (\d+)\)`).FindStringSubmatch(w)
			if m == nil || !c.fail {
				continue
			}
			lines := strings.Split(c.text, "\n")
			at, err := strconv.Atoi(m[1])
			require.NoError(t, err)
			_, err = File(context.Background(), "x.handful", syntax.Parse(strings.Join(slices.Delete(lines, at-1, at), "\n")), c.opt)
			assert.NoError(t, err, "%s without %s", what, w)
		}
	}
	// What fails without any wish is not theirs.
	_, err := File(context.Background(), "x.handful", syntax.Parse("tempo 60\nplayer Ida\n  never timpani\n"), Options{})
	require.Error(t, err)
	assert.NotContains(t, err.Error(), "hold together")
}

// The set by taking out one wish after the other is one of the smallest that trying every
// subset finds: nothing in it could be spared.
func TestTheSmallestSetIsOneOfThoseThatTryingEverySubsetFinds(t *testing.T) {
	all := []demand{{words: "a"}, {words: "b"}, {words: "c"}, {words: "d"}, {words: "e"}}
	bitsOf := func(list []demand) (n int) {
		for _, d := range list {
			n |= 1 << (d.words[0] - 'a')
		}
		return n
	}
	for cores := range 1 << 10 { // two sets of wishes that cannot hold together
		x, y := cores&31, cores>>5
		fails := func(set int) bool { return x != 0 && set&x == x || y != 0 && set&y == y }
		got, sure := smallest(all, func(stay []demand) bool { return fails(bitsOf(stay)) })
		assert.True(t, sure)
		if x == 0 && y == 0 {
			assert.Nil(t, got)
			continue
		}
		set := bitsOf(got)
		assert.True(t, fails(set))
		for sub := range 1 << 5 {
			if sub&set == sub && sub != set {
				assert.False(t, fails(sub), "%b %b: %b could be less", x, y, set)
			}
		}
	}
}

// What is to stay with one person, who cannot get there: the wish is named, and what doing
// without it would bring back has been tried.
func TestAWishThatSomethingStaysTogetherAcrossAWalkIsNamed(t *testing.T) {
	const text = `tempo 120
bars 4
part "P"
  woodblock | 1 2 3 4 | % x3
  timpani | 1 | -3
  tambourine | - | 1 2 3 4 | -2
together woodblock and timpani and tambourine in 1-4 because "one voice"
player Ida
  kit
    station far at right 400 ahead 0
    woodblock clamped at left 20 ahead 40
    timpani floor at right 400 ahead 60
    tambourine padded at right 20 ahead 40
player Max
  never woodblock
`
	p := planned(t, text, Options{Sentences: true})
	clean(t, p)
	require.NotEmpty(t, p.Lost)
	assert.Equal(t, notAlone, kindOf(p.Lost[0].Because))
	assert.Regexp(t, `without together woodblock and timpani and tambourine in 1-4 because "one voice" \(line 7\): all of it`, p.Sentences[2])
	free := planned(t, strings.Replace(text, "together", "# together", 1), Options{Sentences: true})
	assert.Empty(t, free.Lost)
	assert.Contains(t, p.Sentences[0], `all of this holds and nothing is lost by it, and without any one of them there is one – together woodblock and timpani and tambourine in 1-4 because "one voice" (line 7); Max: never woodblock (line 15)`)
	assert.Empty(t, planned(t, strings.Replace(text, "  never woodblock\n", "", 1), Options{}).Lost, "without the other one it holds too")
}

// A piece that nobody can begin, with and without wishes that stand against it.
func TestAPieceThatNobodyCanBegin(t *testing.T) {
	const part = "tempo 120\nbars 1\npart \"P\"\n  timpani | 1 2 3 4\n"
	_, err := File(context.Background(), "x.handful", syntax.Parse(part+"player Ida\n  hands R\n  never timpani\nplayer Max\n  hands none\n"), Options{})
	require.Error(t, err)
	for _, want := range []string{"nobody in this cast", "Ida: never timpani (line 7)", "Max: hands none (line 9)"} {
		assert.Contains(t, err.Error(), want)
	}
	assert.NotContains(t, err.Error(), "hands R")
	_, err = File(context.Background(), "x.handful", syntax.Parse("tempo 400\nbars 1\npart \"P\"\n  crash-cymbals | 1 1e 1& 1a 2 2e 2& 2a\nplayer Ida\n"), Options{})
	require.ErrorContains(t, err, "too fast")
	assert.NotContains(t, err.Error(), "hold together", "no wish stands against it")
}

// Among a hundred wishes the two that cannot hold together are found, and with few questions;
// where it takes too many, that is said and not passed over.
func TestAmongManyWishesTheOnesAtOddsAreFound(t *testing.T) {
	var all []demand
	for i := range 100 {
		all = append(all, demand{words: fmt.Sprint(i)})
	}
	has := func(list []demand, words string) bool {
		return slices.ContainsFunc(list, func(d demand) bool { return d.words == words })
	}
	asked := 0
	set, sure := smallest(all, func(stay []demand) bool { asked++; return has(stay, "17") && has(stay, "81") })
	assert.Equal(t, "17; 81", demandWords(set))
	assert.True(t, sure)
	assert.Less(t, asked, 60)
	_, sure = smallest(all, func(stay []demand) bool { return len(stay) >= 99 })
	assert.False(t, sure)

	text := "tempo 60\nbars 1\npart \"P\"\n  woodblock | 1\n  triangle | 2\nplayer Ida\n"
	for _, in := range []string{"cowbell", "timpani", "woodblock", "claves", "maracas", "guiro", "marimba", "xylophone", "triangle"} {
		for range 8 {
			text += "  never " + in + "\n"
		}
	}
	_, err := File(context.Background(), "x.handful", syntax.Parse(text), Options{})
	require.ErrorContains(t, err, "These cannot hold together")
	assert.Len(t, regexp.MustCompile(`never woodblock \(line`).FindAllString(err.Error(), -1), 1)
	assert.Len(t, regexp.MustCompile(`never triangle \(line`).FindAllString(err.Error(), -1), 1)
	assert.Len(t, regexp.MustCompile(`\(line \d+\)`).FindAllString(err.Error(), -1), 2)
}

// A piece that is too long to be planned anew without some of its wishes is not said to fail because of them.
func TestWhatIsTooLongToAskIsSaidToBe(t *testing.T) {
	text := "tempo 120\nbars 500\npart \"P\"\n  timpani | 1 | % x499\nplayer Ida\n  hands R\n"
	_, err := File(context.Background(), "x.handful", syntax.Parse(text), Options{Wide: 60, Deep: 60})
	require.ErrorContains(t, err, "anybody plays anything")
	require.ErrorContains(t, err, "too long for that")
	_, err = File(context.Background(), "x.handful", syntax.Parse(strings.NewReplacer("500", "50", "x499", "x49").Replace(text)), Options{Wide: 60, Deep: 60})
	require.ErrorContains(t, err, "(--wide)")
}

// The fewest players are found where whoever comes first in the file can play nothing, and
// where nobody can, it is said why.
func TestTheFewestWhereTheFirstCanPlayNothing(t *testing.T) {
	const part = "tempo 60\nbars 1\npart \"P\"\n  woodblock | 1\nplayer Ida\n  hands none\nplayer Max\n"
	few, err := Fewest(context.Background(), "x.handful", syntax.Parse(part), Options{})
	require.NoError(t, err)
	assert.Equal(t, 2, few.Players)
	_, err = Fewest(context.Background(), "x.handful", syntax.Parse("gear\n  0 woodblock\n"+part), Options{})
	require.ErrorContains(t, err, "0 woodblock (line 2)")
}
