package score_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// apart is the tom-toms of a kit with those lines.
func apart(t *testing.T, lines string) (*score.Player, *score.Item) {
	s := boundText(t, "tempo 96\nplayer Ida\n  kit\n"+lines+"  R tom-toms with snare-stick | 1:high 2:2 3:low\n")
	it := s.Player("Ida").Item("tom-toms")
	require.NotNil(t, it)
	return s.Player("Ida"), it
}

// What the text places stands there, whatever the whole does; the rest of the set
// stands where such sets have it.
func TestDrumsArePlacedOneByOne(t *testing.T) {
	_, whole := apart(t, "    tom-toms on stand at right 10 ahead 50\n")
	_, one := apart(t, "    tom-toms:low at right 70 ahead 20\n    tom-toms on stand at right 10 ahead 50\n")
	assert.Equal(t, body.Point{Right: 70, Ahead: 20}, one.MemberAt(4))
	for n := 1; n <= 3; n++ {
		assert.Equal(t, whole.MemberAt(n), one.MemberAt(n), n)
	}
	for n := 1; n <= 4; n++ { // as a hand sees it, from the middle
		at, ok := one.Member(n)
		require.True(t, ok)
		assert.InDelta(t, one.MemberAt(n).Right, one.At.Right+at.Right, 1e-9)
		assert.InDelta(t, one.MemberAt(n).Ahead, one.At.Ahead+at.Ahead, 1e-9)
		same, _ := whole.Member(n)
		assert.Equal(t, same.Wide, at.Wide)
	}
}

// A set without a place of its own is about its drums: where one of them is moved,
// all of it is, and two that are where they usually are leave the others there.
func TestASetIsAboutItsDrums(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		right, ahead := rapid.IntRange(-80, 80).Draw(t, "right"), rapid.IntRange(20, 90).Draw(t, "ahead")
		text := "tempo 96\nplayer Ida\n  kit\n"
		if rapid.Bool().Draw(t, "listed") {
			text += "    tom-toms on stand\n"
		}
		text += fmt.Sprintf("    tom-toms:middle-low at right %d ahead %d\n  R tom-toms | 1:high\n", right, ahead)
		text = strings.ReplaceAll(text, "right -", "left ")
		s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
		require.Empty(t, s.Problems)
		it := s.Player("Ida").Item("tom-toms")
		require.True(t, it.Placed)
		assert.Equal(t, body.Point{Right: float64(right), Ahead: float64(ahead)}, it.MemberAt(3))
		for n := 1; n <= 4; n++ {
			usual, _ := it.Inst.Member(n)
			has, _ := it.Member(n)
			assert.InDelta(t, usual.Right, has.Right, 1e-9)
			assert.InDelta(t, usual.Ahead, has.Ahead, 1e-9)
		}
	})
}

// The places of drums are those of the room, however the whole is turned.
func TestATurnedSetKeepsTheDrumsThatArePlaced(t *testing.T) {
	for _, facing := range []string{"", " facing 90", " facing 213"} {
		_, it := apart(t, "    tom-toms on stand at right 10 ahead 50"+facing+"\n    tom-toms:high at left 40 ahead 30\n")
		high, _ := it.Member(1)
		high = high.Turned(it.Facing)
		assert.InDelta(t, -40, it.At.Right+high.Right, 1e-9, facing)
		assert.InDelta(t, 30, it.At.Ahead+high.Ahead, 1e-9, facing)
	}
}

// Each drum that is placed takes its own room, and what is placed by nobody keeps off it.
func TestDrumsByThemselvesTakeTheirOwnRoom(t *testing.T) {
	p, it := apart(t, "    tom-toms on stand at ahead 50\n    tom-toms:high at left 90 ahead 10\n    tom-toms:low at right 80 ahead 10\n    snare-drum on stand\n")
	bodies := p.BodiesOf(it)
	require.Len(t, bodies, 4)
	assert.Equal(t, -90.0, bodies[0].At.Right)
	assert.True(t, bodies[0].Round)
	assert.Equal(t, it.Inst.Wide/4, bodies[0].Wide)
	for _, l := range []string{"timpani", "temple-blocks", "congas"} {
		in := kit.Standard().Instrument(l)
		for n := 1; n <= in.Row(); n++ {
			wide, deep, round := in.MemberSize(n)
			assert.Positive(t, wide)
			assert.Positive(t, deep)
			assert.Equal(t, l != "temple-blocks", round)
			if l == "timpani" {
				assert.Equal(t, in.Kettles[n-1].Across, wide)
			}
		}
	}
	s := boundText(t, "tempo 96\nplayer Ida\n  kit\n    tom-toms:low at ahead 50\n    tom-toms:high at left 95 ahead 0\n  L tom-toms | 1:low\n  R snare-drum with snare-stick | 2\n")
	p = s.Player("Ida")
	snare := p.BodiesOf(p.Item("snare-drum"))
	require.Len(t, snare, 1)
	assert.True(t, snare[0].Free(p.BodiesOf(p.Item("tom-toms"))), "laid out into a drum that the text places")
	none := p.Item("tom-toms").Bodies(kit.Held, room.Spot{})
	assert.Empty(t, none)
}

// What cannot be is said where it stands, in a player's words, and the rest works.
func TestPlacesOfDrumsThatCannotBe(t *testing.T) {
	const rest = "    tom-toms on stand at ahead 50\n    station back at behind 100\n    cowbell at back ahead 40\n    my-blocks is temple-blocks at back ahead 60\n"
	for line, want := range map[string]string{
		"tom-toms:5 at left 30":                  "5: there is no 5 of the tom-toms: from the left there are 4",
		"tom-toms:0 at left 30":                  "0: there is no 0 of the tom-toms: from the left there are 4",
		"tom-toms:hihg at left 30":               "hihg: none of the tom-toms is called hihg: from the left they are high, middle-high, middle-low, low; did you mean high?",
		"tom-toms:F2 at left 30":                 "F2: F2 is a note: which of a set, its name or its number from the left says",
		"tom-toms: at left 30":                   "tom-toms:: this does not say which of the tom-toms: high, middle-high, middle-low, low",
		"tom-toms:low clamped at left 30":        "clamped: one of a set is fixed as all of it is: say it in the line of tom-toms",
		"tom-toms:low at left 30 up 90":          "up 90: all of a set are as high as one another: how high, the line of tom-toms says",
		"tom-toms:low at left 30 facing 90":      "90: one of a set is not turned by itself: its place is all there is to say",
		"tom-toms:low is bongos at left 30":      "bongos: this is one of a set: what the set is, the line of tom-toms says",
		"tom-toms:low":                           "tom-toms:low: this says nothing of where it stands: at right 20 ahead 40, in centimetres",
		"tom-toms:low at left 30 | 1 2":          "| 1 2: a kit says what stands where; bars belong under a part, or behind a limb",
		"tom-toms:low at back left 30":           "at back left 30: tom-toms stands at no station, and so does each of its drums: at left 20 ahead 40",
		"my-blocks:low at left 30":               "at left 30: my-blocks stands at the station back, and so does each of its drums: at back left 20 ahead 40",
		"snare-drum:high at left 30":             "snare-drum:high: the snare drum is one thing, and nothing of it is placed by itself",
		"marimba:C4 at left 30":                  "marimba:C4: the marimba is one thing, and nothing of it is placed by itself",
		"table:1 at left 30":                     "table: no instrument is called “table”; did you mean tabla?",
		"timpani:1 at left 99999":                "99999: “99999” is not a distance in centimetres, 0 to 2000",
		"congas held\n    congas:low at left 30": "congas:low: congas is carried, and all its drums with it: none of them has a place of its own",
	} {
		text := "tempo 96\nplayer Ida\n  kit\n" + rest + "    " + line + "\n  R tom-toms with snare-stick | 1:high 2:2\n"
		s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
		require.Len(t, s.Problems, 1, line)
		p := s.Problems[0]
		at := strings.Split(text, "\n")[p.Where.Line][p.Where.Start:p.Where.End]
		assert.Equal(t, want, at+": "+p.Message(), line)
		assert.Len(t, s.Player("Ida").Cues, 1, line)
		assert.Empty(t, s.Player("Ida").Item("tom-toms").Apart, line)
	}
	text := "tempo 96\nplayer Ida\n  kit\n    timpani:2 at left 30 ahead 60\n    timpani:2 at right 30 ahead 60\n  RL timpani | 1\n"
	s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
	require.Len(t, s.Problems, 1)
	assert.Equal(t, "kettle 2 of the timpani has its place already", s.Problems[0].Message())
	assert.EqualValues(t, 4, s.Problems[0].Where.Line)
	require.Len(t, s.Problems[0].Related, 1)
	assert.EqualValues(t, 3, s.Problems[0].Related[0].Where.Line)

	s = score.Bind("made-up.handful", syntax.Parse("tempo 96\nplayer Ida\n  R tom-toms:high with snare-stick | 1 2\n"), nil, score.Options{})
	require.Len(t, s.Problems, 1)
	assert.Equal(t, "which of the tom-toms is struck stands behind each count: 1:high; did you mean tom-toms?", s.Problems[0].Message())
}

// A drum of a shared kit stands there for everybody.
func TestDrumsOfASharedKit(t *testing.T) {
	s := boundText(t, "tempo 96\nkit\n  tom-toms on stand at ahead 50\n  tom-toms:low at right 80 ahead 20\nplayer Ida\n  R tom-toms | 1:low\nplayer Sol\n  R tom-toms | 2:low\n")
	for _, p := range s.Players {
		assert.Equal(t, body.Point{Right: 80, Ahead: 20}, p.Item("tom-toms").MemberAt(4))
	}
}
