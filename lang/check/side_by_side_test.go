package check

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/syntax"
)

// atOneDrum is a piece in which two people stand at one bass drum, each with a kit of their own.
func atOneDrum(ida, per string) string {
	kit := func(lines string) string { return "  kit\n    " + strings.ReplaceAll(lines, "; ", "\n    ") + "\n" }
	return "tempo 96\nkit\n  bass-drum\n  triangle\nplayer Ida\n" + kit(ida) + "  R bass-drum | 1 3 | - | - | -\nplayer Per\n" + kit(per) + "  R bass-drum | - | - | - | 1 3\n"
}

func sharedGearIn(text string) (out []string) {
	r := Check("x.handful", syntax.Parse(text), Options{})
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Rule == sharedGear {
			out = append(out, f.Severity.String()+": "+f.Message())
		}
	}
	return out
}

// Who stands at one thing has nothing in the other, or in what the other has.
func TestTwoAtOneThingHaveRoom(t *testing.T) {
	const right, left = "bass-drum on stand at right 46 ahead 40", "bass-drum on stand at left 46 ahead 40"
	for _, c := range []struct{ ida, per, want string }{
		{right, left, ""},
		{right + "; snare-drum on stand at left 24 ahead 46", left + "; snare-drum on stand at right 24 ahead 46", ""},
		{right, "bass-drum on stand at right 46 ahead 40", "Ida and Per would stand 0 cm from one another at the concert bass drum, and need 60"},
		{right, left + "; snare-drum on stand at left 92 ahead 2", "the snare drum of Per stands where Ida does"},
		{right + "; snare-drum on stand at right 92 ahead 2", left, "the snare drum of Ida stands where Per does"},
		{right + "; snare-drum on stand at left 24 ahead 46", left + "; snare-drum on stand at left 110 ahead 46", "the snare drum of Per and the snare drum of Ida stand in one another by 30 cm"},
		{right + "; table at left 30 ahead 20", left + "; table at left 122 ahead 20", "the table of Per and the table of Ida stand in one another"},
		{right + "; triangle on stand at left 60 ahead 30", left + "; triangle on stand at left 152 ahead 30", ""}, // one thing as well
		{right + "; triangle on stand at left 60 ahead 30", left + "; triangle on stand at right 60 ahead 30", "the triangle would stand in two places, 212 cm apart"},
		// Across the drum, facing one another: what is at the right of the one is at the left of the other.
		{"bass-drum on stand at ahead 50", "bass-drum on stand at ahead 50 facing 180", ""},
		{"bass-drum on stand at ahead 50; snare-drum on stand at right 80 ahead 50", "bass-drum on stand at ahead 50 facing 180; snare-drum on stand at left 80 ahead 50", "stand in one another by 36 cm"},
		{"bass-drum on stand at ahead 50; snare-drum on stand at right 80 ahead 50", "bass-drum on stand at ahead 50 facing 180; snare-drum on stand at right 80 ahead 50", ""},
	} {
		got := sharedGearIn(atOneDrum(c.ida, c.per))
		if c.want == "" {
			assert.Empty(t, got, "%s\n%s", c.ida, c.per)
			continue
		}
		if assert.Len(t, got, 1, "%s\n%s", c.ida, c.per) {
			assert.Contains(t, got[0], c.want)
		}
	}
}

// Where things stand in a room that both are in says whether they stand in one another, and so
// does what each of two players says of where they have them.
func TestTwoAtOneThingAreWhereTheyAreInTheRoom(t *testing.T) {
	type place struct{ right, ahead float64 }
	rng := rand.New(rand.NewPCG(16, 28))
	drum := func(p place) string {
		return "snare-drum on stand at " + spoken(p.right, "right", "left") + " " + spoken(p.ahead, "ahead", "behind")
	}
	const wide = 36.0 // of a snare drum, as the catalogue has it
	free, not := 0, 0
	for range 200 {
		// In the room Ida stands at 0, 0, and Per somewhere at her right.
		per := place{80 + float64(rng.IntN(60)), float64(rng.IntN(41) - 20)}
		bass := place{math.Round(per.right / 2), 45}
		at := func() place { return place{float64(rng.IntN(200) - 40), float64(rng.IntN(80) + 70)} }
		ida, his := at(), at()
		far := math.Hypot(ida.right-his.right, ida.ahead-his.ahead)
		if math.Abs(far-wide) < 4 { // an edge of less than 2 cm is not told
			continue
		}
		text := atOneDrum(
			fmt.Sprintf("bass-drum on stand at %s ahead 45; %s", spoken(bass.right, "right", "left"), drum(ida)),
			fmt.Sprintf("bass-drum on stand at %s %s; %s", spoken(bass.right-per.right, "right", "left"), spoken(45-per.ahead, "ahead", "behind"), drum(place{his.right - per.right, his.ahead - per.ahead})))
		got := strings.Join(sharedGearIn(text), "\n")
		if strings.Contains(got, "does, since") { // in the way of a person, which is looked at above
			continue
		}
		if far < wide {
			not++
			require.Contains(t, got, "the snare drum of Per and the snare drum of Ida stand in one another", text)
		} else {
			free++
			require.Empty(t, got, text)
		}
	}
	require.Greater(t, free, 20)
	require.Greater(t, not, 5)
}

func spoken(v float64, plus, minus string) string {
	if v < 0 {
		plus, v = minus, -v
	}
	return fmt.Sprintf("%s %g", plus, v)
}

// However many people have one thing, what is said of it grows with the text: only so many are looked at, and it says so.
func TestManyAtOneThingAreNotAllLookedAt(t *testing.T) {
	said := func(n int) (out []string) {
		var b strings.Builder
		b.WriteString("kit\n  bass-drum\n")
		for i := range n {
			fmt.Fprintf(&b, "player P%d\n  kit\n    bass-drum on stand at right 46 ahead 40\n", i+1)
		}
		return sharedGearIn(b.String())
	}
	assert.Len(t, said(mostAtOne), mostAtOne*(mostAtOne-1)/2)
	const many = "error: 60 players stand at the concert bass drum, and how they stand beside one another is looked at for 16, as far as to P16"
	list := said(60)
	assert.Contains(t, list, many)
	assert.Len(t, list, mostAtOne*(mostAtOne-1)/2+1)
}
