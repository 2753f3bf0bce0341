package score

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
	"example.org/handful/lang/syntax"
)

// Where things of a kit stand, and what of it the text says.
func TestWhereThingsOfAKitStand(t *testing.T) {
	s := clean(t, `player Ida
  kit
    snare-drum on stand at left 10 ahead 35
    triangle clipped at right 20 ahead 40 down 5
    woodblock at bars behind 10
    station bars at right 180 behind 20
    xylophone at bars left 5 ahead 40 facing 90
    table at right 30 ahead 20 up 100 facing 45
    table at bars right 30
  R snare-drum | 1
`)
	p := s.Players[0]
	assert.Equal(t, body.Point{Right: -10, Ahead: 35}, p.Item("snare-drum").At)
	assert.Equal(t, body.Point{Right: 20, Ahead: 40, Up: -5}, p.Item("triangle").At)
	assert.Equal(t, body.Point{Right: 180, Ahead: -30}, p.Item("woodblock").At, "stations may be said below")
	assert.Equal(t, 1, p.Item("woodblock").Station)
	assert.Equal(t, 0, p.Item("triangle").Station)
	assert.Equal(t, 90.0, p.Item("xylophone").Facing)
	assert.False(t, p.Item("triangle").Raised, "down is from how high it usually hangs")
	require.Len(t, p.Tables, 2)
	assert.Equal(t, 45.0, p.Tables[0].Facing)
	assert.Equal(t, 1, p.Tables[1].Station)
	assert.Equal(t, body.Point{Right: 210, Ahead: -20}, p.Tables[1].At)

	line := s.Sources[0].File.Lines
	words := func(w Where) string { return line[w.Line].Text[w.Start:w.End] }
	assert.Equal(t, "at bars left 5 ahead 40 facing 90", words(p.Item("xylophone").Spot))
	assert.Equal(t, "at right 20 ahead 40 down 5", words(p.Item("triangle").Spot))
	assert.Equal(t, "clipped", words(p.Item("triangle").Fixed))
	assert.Equal(t, "at right 30 ahead 20 up 100 facing 45", words(p.Tables[0].Spot))
}

// What is said to be raised stands as high as said, whatever it is.
func TestHowHighThingsStand(t *testing.T) {
	s := clean(t, `player Ida
  kit
    triangle clipped at right 20 ahead 40 up 90
    woodblock at left 20 ahead 40 up 120
    snare-drum at ahead 40
  R snare-drum | 1
`)
	p := s.Players[0]
	assert.True(t, p.Item("triangle").Raised && p.Item("woodblock").Raised && !p.Item("snare-drum").Raised)
	assert.InDelta(t, 90, p.Target(p.Item("triangle")).At.Up, 1e-9)
	assert.InDelta(t, 120, p.Target(p.Item("woodblock")).At.Up, 1e-9)
}

// A kit of its own is a player's; what everybody shares is added to it unless
// the player has a thing of that name.
func TestWhoseKitItIs(t *testing.T) {
	s := clean(t, `kit
  station far at right 200
  woodblock clamped at far left 30 ahead 40
  triangle clipped at left 10 ahead 40
  table at far right 20 ahead 10
player Ida
  kit
    triangle clipped at right 10 ahead 40
  R triangle | 1
player Per
  kit
    station near at left 150
    snare-drum at near ahead 40
  R triangle | 2
`)
	ida, per := s.Players[0], s.Players[1]
	assert.Equal(t, 10.0, ida.Item("triangle").At.Right)
	assert.False(t, ida.Item("triangle").Shared)
	assert.True(t, per.Item("triangle").Shared && per.Item("woodblock").Shared && ida.Item("woodblock").Shared)
	assert.Nil(t, ida.Item("snare-drum"))
	assert.True(t, ida.HasKit && per.HasKit)
	assert.Len(t, ida.Stations, 2)
	assert.Equal(t, "far", ida.Stations[1].Name)
	require.Len(t, per.Stations, 2, "whose own stations are named goes to those")
	assert.Equal(t, "near", per.Stations[1].Name)
	assert.Equal(t, 220.0, ida.Tables[0].At.Right)

	s = clean(t, "player Ida\n  R triangle | 1\n")
	assert.False(t, s.Players[0].HasKit)

	// Of a used file the shared kit is taken, and no player's own.
	lib := files{"house.handful": "kit\n  woodblock clamped at left 30 ahead 40\nplayer Ida\n  kit\n    triangle clipped at left 10 ahead 40\n  R triangle | 1\n"}
	s = Bind("t", syntax.Parse("use \"house.handful\"\nplayer Ida\n  R woodblock | 1\n"), lib.load, Options{})
	assert.Empty(t, told(s))
	assert.NotNil(t, s.Players[0].Item("woodblock"))
	assert.Nil(t, s.Players[0].Item("triangle"))
}

// A player has so many stations at the most.
func TestStationsThereMayBe(t *testing.T) {
	text := func(n int) string {
		var b strings.Builder
		b.WriteString("player Ida\n  kit\n")
		for i := range n {
			fmt.Fprintf(&b, "    station s%d at right %d\n", i, 100+i)
		}
		return b.String()
	}
	assert.Empty(t, told(bindText(text(15))))
	got := told(bindText(text(16)))
	require.Len(t, got, 1)
	assert.Contains(t, got[0], "too-large [station s15 at right 115] a player has at most 16 stations")
}

// A name means the thing of that name in the player's kit, or the only one of
// that kind, or else one more.
func TestWhichThingANameMeans(t *testing.T) {
	const kit = "player Ida\n  kit\n    high is woodblock clamped at left 30 ahead 40\n"
	for _, c := range []struct{ text, item string }{
		{kit + "  R high | 1\n", "high"},
		{kit + "  R woodblock | 1\n", "high"},
		{kit + "    low is woodblock clamped at left 50 ahead 40\n  R woodblock | 1\n", "woodblock"}, // two: neither
		{kit + "    woodblock clamped at left 50 ahead 40\n  R woodblock | 1\n", "woodblock"},
		{kit + "    woodblock clamped at left 50 ahead 40\n  R wood-block | 1\n", "high"},
		{kit + "  R triangle | 1\n", "triangle"},
	} {
		s := clean(t, c.text)
		it := s.Players[0].Cues[0].Item
		assert.Equal(t, c.item, it.Name, c.text)
		assert.True(t, it.Used)
	}
	s := clean(t, kit+"  R triangle | 1\n  R triangle | 2\n")
	assert.Len(t, s.Players[0].Items, 2, "one triangle")
}

// A name of which nobody knows whether it is one thing or another.
func TestNamesThatAreNear(t *testing.T) {
	for _, c := range []struct {
		text, told string
		near       []string
	}{
		{"player Ida\n  R wodblock | 1\n", "did you mean woodblock?", []string{"woodblock"}},
		{"player Ida\n  kit\n    zzyzx is woodblock clamped at left 30 ahead 40\n  R zzyzy | 1\n", "did you mean zzyzx?", []string{"zzyzx"}},
		{"player Ida\n  R qqqqqqqq | 1\n", "the catalogue is shown by  handful instruments", nil},
	} {
		s := bindText(c.text)
		require.Len(t, s.Problems, 1, c.text)
		assert.Equal(t, "unknown-name", s.Problems[0].Rule)
		assert.Contains(t, s.Problems[0].Message(), c.told)
		assert.Equal(t, c.near, s.Problems[0].Near)
	}
}

// What hands begin with, and what they do besides playing, in the order of the
// music.
func TestHoldsAndActions(t *testing.T) {
	s := clean(t, `bars 8
player Ida
  R holds 2 snare-stick
  L holds nothing
  any turns page at 7
  R takes rubber-mallet at 5.3
  from 2 on pass 1
  L lays it at 3
  R lays 2 snare-stick at 4
  L takes shaker at 4.2
  L forearm damps triangle at 2
  R snare-drum | 1
`)
	p := s.Players[0]
	assert.True(t, p.Holds[body.Right].Said && p.Holds[body.Left].Said)
	assert.Equal(t, 2, p.Holds[body.Right].Count)
	assert.Equal(t, "snare-stick", p.Holds[body.Right].Implement.ID)
	assert.Nil(t, p.Holds[body.Left].Implement)
	assert.Nil(t, p.Holds[body.Left].Inst)
	var got []string
	for _, a := range p.Actions {
		text := fmt.Sprint(s.Place(a.At), " ", a.Limb, " ", a.Kind, " ", a.Bar, " pass ", a.Pass, " ", a.Count)
		if a.Implement != nil {
			text += " " + a.Implement.ID
		}
		if a.Item != nil {
			text += " " + a.Item.Name
		}
		got = append(got, text+" "+a.By)
	}
	assert.Equal(t, []string{
		"2.1 L 2 2 pass 1 1 triangle forearm", "3.1 L 1 3 pass 1 1 ", "4.1 R 1 4 pass 1 2 snare-stick ",
		"4.2 L 0 4 pass 1 1 shaker ", "5.3 R 0 5 pass 0 1 rubber-mallet ", "7.1 any 3 7 pass 0 1 ",
	}, got)
	s = clean(t, "player Ida\n  R holds shaker\n  R shaker | 1\n")
	assert.Same(t, s.Players[0].Cues[0].Item, s.Players[0].Holds[body.Right].Inst)
	assert.Equal(t, 1, s.Players[0].Holds[body.Right].Count)
}

// What limbs are called.
func TestLimbs(t *testing.T) {
	for limb, want := range map[body.Limb][2]bool{ // two hands on one thing; one hand
		body.Right: {false, true}, body.Left: {false, true}, body.RightFoot: {}, body.LeftFoot: {}, body.Mouth: {}, body.AnyHand: {},
		body.Together: {true, false}, body.RightFirst: {true, false}, body.LeftFirst: {true, false},
	} {
		assert.Equal(t, want, [2]bool{limb.TwoHands(), limb.IsHand()}, limb)
		got, ok := body.LimbNamed(limb.String())
		assert.True(t, ok)
		assert.Equal(t, limb, got)
	}
	_, ok := body.LimbNamed("X")
	assert.False(t, ok)
}

func TestRangesOfTheText(t *testing.T) {
	a, b := Where{0, 3, 5, 9}, Where{0, 3, 2, 7}
	assert.Equal(t, Where{0, 3, 2, 9}, a.Cover(b))
	assert.Equal(t, Where{0, 3, 2, 9}, b.Cover(a))
	assert.Equal(t, a, a.Cover(Where{0, 4, 1, 20}), "on another line")
	assert.Equal(t, a, a.Cover(Where{1, 3, 1, 20}), "in another file")
}

// Things without a place stand where the first of them is straight ahead,
// where hands reach them and nothing stands in anything else.
func TestThingsFindTheirPlace(t *testing.T) {
	s := clean(t, `player Ida
  R snare-drum | 1
  L triangle clipped | 2
  R woodblock clamped | 3
  L tambourine held | 4
  RF bass-drum | 1
`)
	p := s.Players[0]
	first := p.Item("snare-drum")
	assert.InDelta(t, 0, first.At.Right, 12)
	assert.Greater(t, first.At.Ahead, 20.0)
	assert.Equal(t, body.Point{Ahead: body.HandsAhead}, p.Item("tambourine").At, "what is held is before the body")
	assert.Equal(t, kit.Held, p.Item("tambourine").Stands)
	assert.Equal(t, kit.MountNamed("clipped"), p.Item("triangle").Stands)
	arms := p.Arms()
	standing := 0
	for i, it := range p.Items {
		assert.False(t, it.NoRoom, it.Name)
		if it.Stands == kit.Held {
			continue
		}
		standing++
		for _, o := range p.Items[:i] {
			if o.Stands != kit.Held {
				_, clash := room.Between(p.BodiesOf(it), p.BodiesOf(o))
				assert.False(t, clash, "%s in %s", it.Name, o.Name)
			}
		}
	}
	assert.Equal(t, 4, standing)
	assert.LessOrEqual(t, arms.Missing(0, body.Point{}, p.Target(p.Item("woodblock")), 0, false), arms.Lean-arms.Reach)
	require.Len(t, p.Tables, 1)
	assert.True(t, p.Tables[0].Assumed)

	// A table that is said is the only one at its station; the others get one.
	s = clean(t, "player Ida\n  kit\n    station far at right 200\n    table at right 40 ahead 20\n    triangle clipped at far ahead 40\n  R triangle | 1\n")
	tables := s.Players[0].Tables
	require.Len(t, tables, 2)
	assert.Equal(t, [2]bool{false, true}, [2]bool{tables[0].Assumed, tables[1].Assumed})
	assert.Equal(t, 1, tables[1].Station)
	assert.InDelta(t, 200, tables[1].At.Right, 75)
}

// A refused line may mean a written one by its name, by what it is, or by a
// name that is near to it.
func TestWhichLineARefusedOneMeant(t *testing.T) {
	const kits = "player Per\n  kit\n    high is woodblock clamped at left 30 ahead 40\n    low is woodblock clamped at left 50 ahead 40\n"
	for _, c := range []struct {
		line, refused string
		want          bool
	}{
		{"woodblock", "R woodblock !", true},
		{"woodblock", "R wood block !", true},
		{"woodblock", "R woodblok !", true},
		{"woodblock", "R triangle for woodblock !", true},
		{"woodblock", "R triangle !", false},
		{"woodblock", "R wood !", false},
		{"high", "R woodblock !", true}, // which it is
		{"high", "R high !", true},
		{"low", "R low !", true},
		{"low", "R lo !", false},
		{"high", "R triangle !", false},
		{"low", "R high !", false}, // each is a line of a part
		{"woodblock", "R high !", true},
		{"S.D.", "R S.D. !", true},
		{"S.D.", "R snare drum !", true},
		{"snare-drum", "R S.D. !", true},
		{"gong", "R gong !", true}, // it may be one of two, and the first is taken
		{"gong", "R tam-tam !", true},
	} {
		text := "  " + c.line + " | 1\n"
		if c.line == "low" {
			text += "  high | -\n"
		}
		s := bindText("part \"P\"\n" + text + kits + "player Ida\n  " + c.refused + "\n")
		require.Len(t, s.Coverage.Uncovered, 1, c)
		assert.Equal(t, c.want, s.Coverage.Uncovered[0].Refused, fmt.Sprint(c))
	}
}

// What a kit lists that nobody knows is told, and is not there; the rest is.
func TestAKitWithAnUnknownThing(t *testing.T) {
	s := bindText("player Ida\n  kit\n    wodblock at left 3\n    high is wodblock at left 30\n    triangle clipped at left 30 ahead 30\n  R triangle | 1\n")
	require.Len(t, s.Problems, 2)
	for _, text := range told(s) {
		assert.Contains(t, text, "unknown-name [wodblock] no instrument is called “wodblock”; did you mean woodblock?")
	}
	require.Len(t, s.Players[0].Items, 1)
	assert.Equal(t, "triangle", s.Players[0].Items[0].Name)
}

// The table that is given to a player who has none stands in reach of where
// the player stands, before the feet, and in nothing else.
func TestTheTableStandsInReach(t *testing.T) {
	s := clean(t, "player Ida\n  kit\n    xylophone at ahead 45\n    snare-drum at right 40 ahead 30\n    bass-drum at right 90\n    timpani at left 70 ahead 20\n  R snare-drum | 1\n")
	p := s.Players[0]
	require.Len(t, p.Tables, 1)
	at := p.Tables[0].At
	assert.LessOrEqual(t, math.Hypot(at.Right, at.Ahead), 75.0)
	table := room.Table(at, 0)
	assert.GreaterOrEqual(t, table.Near(body.Point{}), room.Toes-1)
	for _, it := range p.Items {
		_, clash := room.Between([]room.Body{table}, p.BodiesOf(it))
		assert.False(t, clash, it.Name)
	}
}

// What the kit for everybody has without a place is where each player's own kit has it, and still
// one thing; what has a place there, or is something else or fixed otherwise, is the player's own.
func TestWhoStandsAtWhatEverybodyShares(t *testing.T) {
	for _, c := range []struct {
		shared, own string
		same        bool
	}{
		{"bass-drum", "bass-drum on stand at left 46 ahead 40", true},
		{"bass-drum on stand", "bass-drum on stand at left 46 ahead 40", true},
		{"bass-drum on stand at right 20 ahead 40", "bass-drum on stand at left 46 ahead 40", false},
		{"bass-drum", "bass-drum on stand", false},
		{"bass-drum on stand", "bass-drum floor at left 46 ahead 40", false},
		{"low is bass-drum", "bass-drum on stand at left 46 ahead 40", false},
		{"low is bass-drum", "low is snare-drum on stand at left 46 ahead 40", false},
	} {
		s := clean(t, "kit\n  "+c.shared+"\nplayer Ida\n  kit\n    "+c.own+"\n  R bass-drum | 1\nplayer Per\n  R cowbell | 1\n")
		own := s.Players[0].Items[0]
		assert.Equal(t, c.same, own.Shared, "%s; %s", c.shared, c.own)
		assert.Equal(t, c.same, s.Players[0].StandsAt(s.Shared[0]), "%s; %s", c.shared, c.own)
		assert.True(t, s.Players[1].Items[0].Shared)
		assert.False(t, s.Players[1].StandsAt(s.Shared[0]), "who does not say where")
	}
}
