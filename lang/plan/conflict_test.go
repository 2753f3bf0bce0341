package plan

import (
	"context"
	"regexp"
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
			m := regexp.MustCompile(`^(.*) \(line `).FindStringSubmatch(w)
			if m == nil || !c.fail {
				continue
			}
			_, err := File(context.Background(), "x.handful", syntax.Parse(strings.Replace(c.text, "  "+m[1]+"\n", "", 1)), c.opt)
			assert.NoError(t, err, "%s without %s", what, m[1])
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
		got := smallest(all, func(stay []demand) bool { return fails(bitsOf(stay)) })
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
