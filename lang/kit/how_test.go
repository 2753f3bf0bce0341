package kit_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/kit"
)

// Whoever is sent to a way that is not the usual one is told how it is done.
func TestEveryWayThatIsNotTheUsualOneSaysHow(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		for _, w := range in.Ways[1:] {
			lines := in.How(w)
			assert.NotEmpty(t, lines, kit.Standard().DescribeWay(w))
			assert.LessOrEqual(t, len(lines), 5)
			for _, l := range lines {
				assert.Regexp(t, `[.]$`, l)
				assert.Less(t, len(l), 260, l)
			}
		}
	})
}

// The way that is told is the one that is meant.
func TestHowIsForTheWayThatIsMeant(t *testing.T) {
	for _, c := range []struct{ id, way, says string }{
		{"triangle", "clipped, 1 hand, with triangle beater; strokes", "second loop"},
		{"triangle", "needs second clip", "level"},
		{"tambourine", `asked for as "on the thigh"`, "just above the knee"},
		{"tambourine", "on body, 2 hands and 1 foot; ", "between fist and knee"},
		{"suspended-cymbal", "two yarn mallets in the hand", "turning the forearm"},
		{"suspended-cymbal", "with bow", "Rosin"},
		{"police-whistle", "mouth and one hand", "nothing else can be in that hand"},
		{"vibraphone", "needs tied pedal", "Tie the bar half down"},
		{"bass-drum", "floor, 1 foot", "Pedal on a carpet"},
	} {
		in := kit.Standard().Instrument(c.id)
		require.NotNil(t, in, c.id)
		found := false
		for _, w := range in.Ways {
			if strings.Contains(kit.Standard().DescribeWay(w), c.way) && strings.Contains(strings.Join(in.How(w), " "), c.says) {
				found = true
			}
		}
		assert.True(t, found, "%s, %s: nothing says %q", c.id, c.way, c.says)
	}
}

// No paragraph is written for a way that nobody has.
func TestEveryParagraphIsForSomeWay(t *testing.T) {
	for _, head := range kit.HowHeads() {
		ids, _, _ := strings.Cut(head, ":")
		for _, id := range strings.Fields(ids) {
			if id != "any" {
				assert.NotNil(t, kit.Standard().Instrument(id), head)
			}
		}
		assert.True(t, kit.HowIsUsed(head), "no way is told by %q", head)
	}
}

// Every way can be asked for in words: what they leave open differs only in what
// the cue says besides, the implement, the limbs, or that it rolls.
func TestEveryWayCanBeAskedFor(t *testing.T) {
	each(t, func(t *testing.T, in *kit.Instrument) {
		for _, w := range in.Ways {
			a := in.AskFor(w)
			assert.Contains(t, in.Asked(w.Mount, a), w, a.String())
			words := strings.Fields(a.String())
			if a.Named != "" {
				words = []string{`"` + a.Named + `"`}
			}
			back, read := kit.ReadAsk(words)
			assert.Equal(t, len(words), read, a.String())
			assert.Equal(t, a, back)
			for _, o := range in.Asked(w.Mount, a) {
				if a == (kit.Ask{}) && in.Asked(w.Mount, a)[0] == w {
					break // the usual one of its mount
				}
				if o == w || len(o.With) > 0 && len(w.With) > 0 && o.With[0] != w.With[0] || (len(o.With) > 0) != (len(w.With) > 0) ||
					o.Limb != w.Limb || o.Hands != w.Hands && (w.Fixed() || w.Limb == kit.Foot) {
					continue
				}
				assert.Equal(t, [3]any{w.Limb, w.Hands, w.Shaken}, [3]any{o.Limb, o.Hands, o.Shaken}, "%q leaves %s and %s", a.String(), kit.Standard().DescribeWay(w), kit.Standard().DescribeWay(o))
			}
		}
	})
	a, read := kit.ReadAsk([]string{"shaken", "in", "one", "hand", "with", "fingers"})
	assert.Equal(t, kit.Ask{Shaken: true, OneHand: true}, a)
	assert.Equal(t, 4, read)
}
