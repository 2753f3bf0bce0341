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

// The first of several things is straight ahead, the others stand to its left
// and right in turn, on an arc before the player that grows with their number
// as far as arms are long.
func TestTheArcOfThings(t *testing.T) {
	assert.Equal(t, body.Point{Ahead: 50}, arc(0, 1))
	assert.Equal(t, body.Point{Ahead: 50}, arc(0, 2))
	assert.Equal(t, body.Point{Right: -30, Ahead: 40}, arc(1, 2))
	assert.Equal(t, body.Point{Right: 30, Ahead: 40}, arc(2, 3))
	assert.Equal(t, body.Point{Right: -48, Ahead: 14}, arc(3, 5))
	assert.Equal(t, body.Point{Ahead: 61}, arc(0, 7), "seven need a wider arc")
	assert.Equal(t, body.Point{Ahead: 70}, arc(0, 40), "and no number a wider one than this")
	for n := 1; n <= 24; n++ {
		seen := map[body.Point]bool{}
		for i := range n {
			p := arc(i, n)
			assert.False(t, seen[p], "two of %d at %v", n, p)
			seen[p] = true
			switch {
			case i == 0:
				assert.Zero(t, p.Right)
			case i%2 == 1:
				assert.Less(t, p.Right, 0.0, "the %d. of %d is on the left", i+1, n)
				if i+1 < n {
					assert.Equal(t, body.Point{Right: -p.Right, Ahead: p.Ahead}, arc(i+1, n), "and the next one opposite")
				}
			}
			assert.InDelta(t, math.Hypot(arc(0, n).Right, arc(0, n).Ahead), math.Hypot(p.Right, p.Ahead), 1)
			if n > 1 { // of an even number the last one is half a place further round
				assert.LessOrEqual(t, math.Abs(math.Atan2(p.Right, p.Ahead))*180/math.Pi, 90+90/float64(n-1)+1, "none of %d is behind", n)
			}
		}
	}
	for n := 2; n <= 5; n++ { // a hand's breadth between two of them
		a, b := arc(0, n), arc(1, n)
		assert.InDelta(t, arcSpacing, math.Hypot(a.Right-b.Right, a.Ahead-b.Ahead), 2, "%d of them", n)
	}
}

// A place serves in full where whoever plays there sees the conductor and
// reaches it at ease, with each hand that plays it; less where one looks round
// or leans; and not where no hand, or no foot, gets.
func TestHowWellAPlaceServes(t *testing.T) {
	catalogue := kit.Standard()
	drum, pedal := catalogue.Instrument("snare-drum"), catalogue.Instrument("bass-drum")
	p := &Player{Profile: body.Experienced(), Stations: []Station{{}}}
	l := layout{p: p, arms: p.Arms()}
	at := func(degrees, far float64) body.Point {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		return body.Point{Right: far * sin, Ahead: far * cos}
	}
	const high = 80
	for _, c := range []struct {
		what   string
		hands  uint8
		feet   bool
		at     body.Point
		serves int
	}{
		{"before the body", 3, false, at(0, 40), 0},
		{"nobody plays it", 0, false, at(0, 500), 0},
		{"in sight on the right", 0, false, at(59.5, 40), 0},
		{"out of sight on the right", 0, false, at(60.5, 40), 1},
		{"in sight on the left", 0, false, at(-59.5, 40), 0},
		{"out of sight on the left", 0, false, at(-60.5, 40), 1},
		{"at the side", 0, false, at(109.5, 40), 1},
		{"behind", 0, false, at(110.5, 40), 2},
		{"behind on the left", 0, false, at(-110.5, 40), 2},
		{"a pedal near by", 0, true, at(0, 45), 0},
		{"a pedal further off", 0, true, at(0, 45.5), 1},
		{"a pedal still further off", 0, true, at(0, 60), 1},
		{"a pedal out of reach", 0, true, at(0, 60.5), room.OutOfReach},
		{"a pedal near by and behind", 0, true, at(120, 40), 2},
		{"a pedal further off and behind", 0, true, at(120, 50), 2},
		{"too far for both", 3, false, at(0, 200), room.OutOfReach},
	} {
		in := drum
		if c.feet {
			in = pedal
		}
		pc := &piece{it: &Item{Inst: in}, hands: c.hands, feet: c.feet}
		assert.Equal(t, c.serves, served(l, pc, c.at, high), c.what)
	}
	// Reach at its border: at ease, leaning, and not at all; by the hand that
	// plays it, and by the further one where both do.
	for hand, side := range []float64{-30, 30} { // each to the other's side
		far := func(missing, lean float64) float64 { // how far ahead so much is missing
			for far := 30.0; far < 200; far += 0.1 {
				if l.arms.Missing(hand, body.Point{}, room.Target{At: body.Point{Right: side, Ahead: far, Up: high}, Zone: drum.Zone}, room.Stick(nil), false) > missing {
					return far + lean
				}
			}
			return 0
		}
		ease, lean := far(0, 0), far(p.Profile.Lean-p.Profile.Reach, 0)
		require.Less(t, ease, lean)
		mine := &piece{it: &Item{Inst: drum}, hands: 1 << hand}
		both := &piece{it: &Item{Inst: drum}, hands: 3}
		other := &piece{it: &Item{Inst: drum}, hands: 3 &^ (1 << hand)}
		serves := func(pc *piece, ahead float64) int { return served(l, pc, body.Point{Right: side, Ahead: ahead}, high) }
		assert.Equal(t, []int{0, 1, 1, room.OutOfReach}, []int{serves(mine, ease-0.3), serves(mine, ease+0.3), serves(mine, lean-0.3), serves(mine, lean+0.3)}, "hand %d", hand)
		assert.Equal(t, []int{1, room.OutOfReach}, []int{serves(both, ease+0.3), serves(both, lean+0.3)}, "the further hand decides")
		assert.Equal(t, 0, serves(other, ease+0.3), "the nearer one alone is at ease")
	}
}

// Whose things they are decides where they go: a thing that the left hand
// plays is not put where only the right one reaches, and a pedal is near the
// body.
func TestThingsStandForThoseWhoPlayThem(t *testing.T) {
	var text strings.Builder
	text.WriteString("player Ida\n")
	for i, name := range []string{"snare-drum", "tom-toms", "woodblock clamped", "cowbell clamped", "suspended-cymbal", "triangle clipped"} {
		fmt.Fprintf(&text, "  %s %s | %d\n", []string{"R", "L"}[i%2], name, i%4+1)
	}
	text.WriteString("  RF bass-drum | 1\n  LF hi-hat | 1\n")
	s := clean(t, text.String())
	p := s.Players[0]
	arms := p.Arms()
	for _, c := range p.Cues {
		it := c.Item
		assert.False(t, it.Placed, it.Name)
		if c.Limb == body.RightFoot || c.Limb == body.LeftFoot {
			assert.LessOrEqual(t, math.Hypot(it.At.Right, it.At.Ahead), body.FootReach, it.Name)
			continue
		}
		hand := int(c.Limb)
		assert.LessOrEqual(t, arms.Missing(hand, body.Point{}, p.Target(it), 0, false), arms.Lean-arms.Reach, it.Name)
	}
}

// A long thing is turned where it has room only so, and says so; where there is
// no room at all, that is known too, and nothing is put over what the text
// places.
func TestThingsThatHardlyFit(t *testing.T) {
	apart := func(p *Player) {
		for i, it := range p.Items {
			if it.NoRoom {
				continue
			}
			for _, o := range p.Items[:i] {
				if !o.NoRoom {
					_, clash := room.Between(p.BodiesOf(it), p.BodiesOf(o))
					assert.False(t, clash, "%s in %s", it.Name, o.Name)
				}
			}
		}
	}
	s := clean(t, "player Ida\n  R marimba | 1\n  L timpani | 2\n  R xylophone | 3\n  L glockenspiel | 4\n")
	p := s.Players[0]
	apart(p)
	for _, it := range p.Items {
		assert.Contains(t, []float64{0, 90}, it.Facing, it.Name)
		if it.Inst.Round {
			assert.Zero(t, it.Facing, "%s has no side to turn", it.Name)
		}
	}
	// A ring of placed things round the player leaves no room for a large one.
	var ring strings.Builder
	ring.WriteString("player Ida\n  kit\n")
	names := []string{"marimba", "vibraphone", "xylophone", "tubular-bells", "bass-drum", "tam-tam"}
	for i, n := range names {
		sin, cos := math.Sincos(float64(i) * 2 * math.Pi / float64(len(names)))
		for k, far := range []float64{60, 130} {
			fmt.Fprintf(&ring, "    t%d-%d is %s at %s %.0f %s %.0f\n", i, k, n, side(sin, "right", "left"), math.Abs(far*sin), side(cos, "ahead", "behind"), math.Abs(far*cos))
		}
	}
	s = bindText(ring.String() + "  R timpani | 1\n  L tambourine held | 2\n")
	p = s.Players[0]
	assert.True(t, p.Item("timpani").NoRoom, "there is none")
	assert.False(t, p.Item("tambourine").NoRoom, "what is held needs none")
	for _, it := range p.Items {
		assert.Equal(t, strings.HasPrefix(it.Name, "t") && strings.Contains(it.Name, "-") && it.Listed, it.Placed, it.Name)
	}
}

func side(v float64, one, other string) string {
	if v < 0 {
		return other
	}
	return one
}

// Every station has a table: the one that the text puts there, or one that is
// taken to be there, within reach of who stands at it and in nothing else. Where
// the text puts any table, the first station has those alone.
func TestTablesOfStations(t *testing.T) {
	const stations = "player Ida\n  kit\n    station left-side at left 300\n    station right-side at right 300\n"
	for _, c := range []struct {
		what, text string
		want       []string
	}{
		{"no station", "player Ida\n  R triangle | 1\n", []string{"0 assumed"}},
		{"none is said", stations + "  R triangle | 1\n", []string{"0 assumed", "1 assumed", "2 assumed"}},
		{"one where the player begins", stations + "    table at right 40 ahead 20\n  R triangle | 1\n", []string{"0 said", "1 assumed", "2 assumed"}},
		{"one at a station", stations + "    table at left-side right 40 ahead 20\n  R triangle | 1\n", []string{"1 said", "2 assumed"}},
		{"two at a station", stations + "    table at left-side right 40 ahead 20\n    table at left-side left 40 ahead 20\n  R triangle | 1\n", []string{"1 said", "1 said", "2 assumed"}},
		{"one at each", stations + "    table at left-side right 40 ahead 20\n    table at right 40 ahead 20\n    table at right-side right 40 ahead 20\n  R triangle | 1\n", []string{"1 said", "0 said", "2 said"}},
		{"with nothing that stands", "player Ida\n  R tambourine held | 1\n", []string{"0 assumed"}},
	} {
		p := clean(t, c.text).Players[0]
		var got []string
		for _, table := range p.Tables {
			word := "said"
			if table.Assumed {
				word = "assumed"
				you := p.Stations[table.Station].At
				assert.LessOrEqual(t, math.Hypot(table.At.Right-you.Right, table.At.Ahead-you.Ahead), 75.0, c.what)
				assert.GreaterOrEqual(t, room.Table(table.At, 0).Near(you), room.Toes-1, c.what)
				for _, o := range p.Tables {
					if o != table {
						assert.True(t, room.Table(table.At, 0).Free([]room.Body{room.Table(o.At, o.Facing)}), c.what)
					}
				}
			}
			got = append(got, fmt.Sprint(table.Station, " ", word))
		}
		assert.Equal(t, c.want, got, c.what)
	}
	// With room for it, it is where tables are looked for first.
	p := clean(t, "player Ida\n  R tambourine held | 1\n").Players[0]
	assert.Equal(t, body.Point{Right: 20, Ahead: 40}, p.Tables[0].At)
}

// How a thing is fixed where it stands is as the kit has it, else as the first
// cue wants it that does not hold it, else held, else as usual; and it is as
// far away as the longest stick that strikes it allows.
func TestHowThingsAreFixedWhereTheyStand(t *testing.T) {
	const ida = "player Ida\n"
	for _, c := range []struct{ text, name, stands string }{
		{ida + "  kit\n    triangle hung at right 20 ahead 40\n  R triangle held | 1\n", "triangle", "hung"},
		{ida + "  kit\n    triangle at right 20 ahead 40\n  R triangle clipped | 1\n", "triangle", "clipped"},
		{ida + "  R triangle clipped | 1\n", "triangle", "clipped"},
		{ida + "  R triangle held | 1\n  R triangle clipped | 2\n", "triangle", "clipped"},
		{ida + "  R triangle clipped | 1\n  R triangle held | 2\n", "triangle", "clipped"},
		{ida + "  R triangle clipped | 1\n  R triangle hung | 2\n", "triangle", "clipped"},
		{ida + "  R triangle held | 1\n", "triangle", "held"},
		{ida + "  R triangle | 1\n", "triangle", "held"},
		{ida + "  R triangle | 1\n  R triangle clipped | 2\n", "triangle", "clipped"},
		{ida + "  R snare-drum | 1\n", "snare-drum", "on stand"},
	} {
		it := clean(t, c.text).Players[0].Item(c.name)
		assert.Equal(t, c.stands, it.Stands.String(), c.text)
	}
	catalogue := kit.Standard()
	stick := func(name string) float64 { return room.Stick(catalogue.Implement(name)) }
	require.Less(t, stick("triangle-beater"), stick("snare-stick"))
	for text, want := range map[string]float64{
		"  R triangle clipped with triangle-beater | 1\n":                                                 stick("triangle-beater"),
		"  R triangle clipped with snare-stick | 1\n":                                                     stick("snare-stick"),
		"  R triangle clipped with triangle-beater | 1\n  R triangle clipped with snare-stick | 2\n":      stick("snare-stick"),
		"  R triangle clipped with snare-stick | 1\n  R triangle clipped with triangle-beater | 2\n":      stick("snare-stick"),
		"  R triangle clipped | 1\n":                                                                      stick("triangle-beater"),
		"  R tambourine held | 1\n":                                                                       room.Stick(nil),
		"  R triangle clipped with triangle-beater | 1\n  R snare-drum with snare-stick | 2\n":            stick("triangle-beater"),
		"  kit\n    triangle hung at right 20 ahead 40\n  R triangle | 1\n":                               stick("triangle-beater"),
		"  kit\n    triangle clipped at right 20 ahead 40\n  R triangle clipped with snare-stick | 1\n":   stick("snare-stick"),
		"  R triangle clipped with fingers | 1\n":                                                         stick("triangle-beater"), // it may be struck so besides
		"  R triangle clipped with fingers | 1\n  R triangle clipped with snare-stick | 2\n  # nothing\n": stick("snare-stick"),
	} {
		s := bindText(ida + text)
		assert.InDelta(t, want, s.Players[0].Items[0].Stick, 1e-9, text)
	}
}

// What an edit did not touch is taken over from the score before it and not
// made again: the place of what no kit places, a line that is written out, the
// strokes of a cue that takes them from the parts.
func TestWhatIsTakenOver(t *testing.T) {
	const text = `tempo 96
bars 8
part "P"
  woodblock | 1 2 | 3 | % | 4
  triangle  | 1 | - | 2
player Ida
  kit
    station bells at right 300
    high is woodblock clamped at left 30 ahead 40
    table at right 40 ahead 20
  R high for woodblock as written in 1-2
  L triangle clipped as written of "P"
  RF bass-drum | 1
`
	for _, c := range []struct {
		what, from, to     string
		places, line, cues bool // are taken over: where things stand, the triangle's written line, its cue
	}{
		{"nothing", "", "", true, true, true},
		{"the tempo", "tempo 96", "tempo 90", true, true, true},
		{"another line of the part", "| 1 2 | 3 | % | 4", "| 1 2 | 3 | % | 3", true, true, true},
		{"the line itself", "triangle  | 1 | - | 2", "triangle  | 1 | - | 3", true, false, false},
		{"a line above it", "part \"P\"", "# here\npart \"P\"", true, false, false},
		{"where its bars begin", "  triangle  |", "  from 2\n  triangle  |", true, false, false},
		{"the meter", "tempo 96", "tempo 96\nmeter 3/4 from 7", true, false, false},
		{"how many bars there are", "bars 8", "bars 9", true, true, false},
		{"the cue's limb", "L triangle", "R triangle", false, true, false},
		{"the cue's bars", "as written of", "as written in 1-2 of", true, true, false},
		{"the cue's pass", "  L triangle", "  from 1 on pass 1\n  L triangle", true, true, false},
		{"how the thing is fixed", "triangle clipped", "triangle hung", false, true, false},
		{"what somebody else plays", "RF bass-drum | 1", "RF bass-drum | 1 2", true, true, true},
		{"the foot", "RF bass-drum", "LF bass-drum", true, true, true},
		{"a foot instead of a hand", "RF bass-drum", "R bass-drum", false, true, true},
		{"another thing", "RF bass-drum", "RF hi-hat", false, true, true},
		{"one thing more", "RF bass-drum | 1", "RF bass-drum | 1\n  R cowbell clamped | 1", false, true, true},
		{"where a thing stands", "left 30 ahead 40", "left 31 ahead 40", false, true, true},
		{"how it is turned", "left 30 ahead 40", "left 30 ahead 40 facing 20", false, true, true},
		{"how high it is", "left 30 ahead 40", "left 30 ahead 40 up 100", false, true, true},
		{"how the placed one is fixed", "woodblock clamped at", "woodblock on stand at", false, true, true},
		{"its station", "clamped at left 30", "clamped at bells left 330", false, true, true},
		{"where the station is", "right 300", "right 301", false, true, true},
		{"where the table is", "table at right 40", "table at right 41", false, true, true},
		{"how it is turned too", "table at right 40 ahead 20", "table at right 40 ahead 20 facing 10", false, true, true},
		{"at which station it is", "table at right 40 ahead 20", "table at bells left 260 ahead 20", false, true, true},
		{"one table more", "ahead 20\n", "ahead 20\n    table at left 60 behind 20\n", false, true, false},
		{"no table", "    table at right 40 ahead 20\n", "", false, true, false},
		{"who sits", "  kit\n", "  seated\n  kit\n", false, true, false},
		{"who reaches further", "  kit\n", "  reach 70\n  kit\n", false, true, false},
		{"whose it is", "player Ida", "player Eva", false, true, true},
	} {
		require.Contains(t, text, c.from)
		first := syntax.Parse(text)
		was := Bind("t", first, nil, Options{Remember: true})
		require.Empty(t, told(was))
		// Nobody would put it there: who has it there has it from here.
		nowhere := body.Point{Right: 1234, Ahead: 5678}
		was.Players[0].Item("triangle").At = nowhere
		line, cue := was.Parts[0].Lines[1], was.Players[0].Cues[1]
		is := Bind("t", syntax.Reparse(strings.Replace(text, c.from, c.to, -1), first), nil, Options{Remember: true, Earlier: was})
		p := is.Players[0]
		assert.Equal(t, c.places, p.Item("triangle").At == nowhere, "places, after a change of %s", c.what)
		var now *Line
		for _, l := range is.Parts[0].Lines {
			if l.Name == "triangle" {
				now = l
			}
		}
		assert.Equal(t, c.line, sameStrokes(line.Strokes, now.Strokes), "the line, after a change of %s", c.what)
		for _, k := range p.Cues {
			if k.Item.Name == "triangle" {
				assert.Equal(t, c.cues, sameStrokes(cue.Strokes, k.Strokes), "the cue, after a change of %s", c.what)
			}
		}
		if c.places { // tables that were taken to be there are taken over as well
			assert.Equal(t, was.Players[0].Tables[1:], p.Tables[1:], c.what)
		}
	}
}

// served is how well a place serves those who play a thing there.
func served(l layout, pc *piece, at body.Point, high float64) int {
	at.Up = high
	return l.use(pc).Serves(room.Target{At: at, Zone: pc.it.Inst.Zone})
}
