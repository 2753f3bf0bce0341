package motion

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

func bind(t require.TestingT, text string) *score.Score {
	s := score.Bind("test.handful", syntax.Parse(text), nil, score.Options{})
	for _, p := range s.Problems {
		require.Fail(t, p.Message(), "line %d: %s\n%s", p.Where.Line+1, p.Rule, text)
	}
	return s
}

func solved(t require.TestingT, text string) (*score.Score, *Result) {
	s := bind(t, text)
	require.Len(t, s.Players, 1)
	return s, Solve(s, s.Players[0])
}

// impossible counts the changes that cannot be made and the conflicts.
func impossible(r *Result) int {
	n := len(r.Conflicts)
	for i := range r.Changes {
		if r.Changes[i].Short() {
			n++
		}
	}
	return n
}

// Laying the beater as soon as it is not needed looks cheapest at that
// moment, and makes the change after it impossible. The path keeps it in the
// fingers.
func TestThePathKeepsTheBeaterWhereGreedLaysIt(t *testing.T) {
	const music = `tempo 240
player Ida
  kit
    triangle    clipped  at right 20 ahead 45
    tambourine  padded   at left 10 ahead 40
    table                at right 45 ahead 20
  R triangle with triangle-beater | 1 | 1 |
  R tambourine with fingers       | 3 | - |
`
	_, kept := solved(t, music)
	assert.Zero(t, impossible(kept), "%+v", kept.Changes)
	var words []string
	for _, sp := range kept.Spells[0] {
		words = append(words, sp.Grip.Words())
	}
	assert.Equal(t, []string{"the triangle beater", "the triangle beater in the fingers", "the triangle beater"}, words)

	_, greedy := solved(t, music+"  R lays it at 1.1&\n")
	assert.NotZero(t, impossible(greedy), "laying it at once leaves no time to take it again")
	assert.Greater(t, greedy.Cost, kept.Cost)
}

// exhaustive tries every sequence of choices and returns the least cost and
// the best bottlenecks. It shares the price of one step with the path, and
// nothing of how the path remembers situations.
func exhaustive(v *solver, opts [][]stageOption) (cost int64, bears [2]float64) {
	cost, bears = math.MaxInt64, [2]float64{-1, -1}
	type step struct {
		next  situation
		cost  int64
		bears [2]float64
	}
	var from func(si int, s situation, c int64, r [2]float64)
	from = func(si int, s situation, c int64, r [2]float64) {
		if si == len(v.stages) {
			cost = min(cost, c)
			for b := range r {
				bears[b] = max(bears[b], r[b])
			}
			return
		}
		var steps []step
		v.gather(si)
		for oi := range opts[si] {
			v.try(si, &s, &opts[si][oi], func(next *situation, cost int64, bears [2]float64) {
				steps = append(steps, step{*next, cost, bears})
			})
		}
		for _, st := range steps {
			from(si+1, st.next, c+st.cost, [2]float64{min(r[0], st.bears[0]), min(r[1], st.bears[1])})
		}
	}
	for _, s := range v.starts() {
		from(0, s.situation, 0, [2]float64{math.Inf(1), math.Inf(1)})
	}
	return cost, bears
}

func TestThePathCostsWhatExhaustiveSearchFinds(t *testing.T) {
	instruments := []string{
		"triangle clipped", "tambourine padded", "tambourine held", "woodblock clamped", "suspended-cymbal",
		"snare-drum", "shaker", "claves padded", "bass-drum",
	}
	draws.Check(t, func(t *rapid.T) {
		var b strings.Builder
		fmt.Fprintf(&b, "tempo %d\nplayer Ida\n", rapid.IntRange(40, 220).Draw(t, "tempo"))
		b.WriteString("  kit\n    station far at right 200\n    bass-drum on stand at far ahead 40\n")
		for _, limb := range []string{"R", "L"} {
			if rapid.Bool().Draw(t, "holds") {
				fmt.Fprintf(&b, "  %s holds snare-stick\n", limb)
			}
			from := 1
			for range rapid.IntRange(1, 3).Draw(t, "cues") {
				fmt.Fprintf(&b, "  from %d\n  %s %s | %d %d& |\n", from, limb, rapid.SampledFrom(instruments).Draw(t, "instrument"),
					rapid.IntRange(1, 2).Draw(t, "first"), rapid.IntRange(3, 4).Draw(t, "second"))
				from += rapid.IntRange(1, 2).Draw(t, "gap")
			}
		}
		s := score.Bind("test.handful", syntax.Parse(b.String()), nil, score.Options{})
		res := Solve(s, s.Players[0])

		v := newSolver(s, s.Players[0], &ahead{cues: make([]cueAhead, len(s.Players[0].Cues))})
		v.events, _ = v.played(nil)
		v.crowded = v.onTable() >= body.Crowd
		v.acts = v.timedActions()
		v.layStages(v.overlaps(&Result{}), nil)
		paths := 1.0
		opts := make([][]stageOption, len(v.stages))
		for i := range v.stages {
			v.gather(i)
			opts[i] = v.combine()
			paths *= float64(len(opts[i]) * len(v.places))
		}
		if paths > 2e6 {
			t.Skip("too many sequences to try them all")
		}
		cost, bears := exhaustive(v, opts)
		if cost != res.Cost {
			t.Fatalf("path %d, exhaustive %d\n%s", res.Cost, cost, b.String())
		}
		if bears != [2]float64{res.Cannot.Factor, res.Edge.Factor} {
			t.Fatalf("ceilings %v and %v, exhaustive %v\n%s", res.Cannot.Factor, res.Edge.Factor, bears, b.String())
		}
	})
}

// The tempo ceiling is the tempo at which the tightest change just fits: at
// it nothing is impossible, and a hair above it something is.
func TestTheCeilingIsExact(t *testing.T) {
	const music = `tempo %v
player Ida
  kit
    snare-drum on stand at ahead 35
    triangle   clipped  at right 30 ahead 45
    table               at right 20 ahead 40
  R snare-drum with snare-stick        | 1 2 | - |
  R triangle   with triangle-beater    | 4   | 1 |
  R snare-drum with snare-stick        | -   | 3 |
`
	text := fmt.Sprintf(music, 120)
	s, r := solved(t, text)
	require.False(t, math.IsInf(r.Cannot.Factor, 0))
	require.NotNil(t, r.Cannot.At)
	assert.InDelta(t, r.Cannot.Factor, r.Cannot.At.Window/r.Cannot.At.Need.Limit, 1e-9)
	require.NotNil(t, r.Edge.At)
	assert.InDelta(t, r.Edge.Factor, r.Edge.At.Window/r.Edge.At.Need.Floor, 1e-9)
	for _, c := range []struct {
		factor float64
		fits   bool
	}{{r.Cannot.Factor * 0.9999, true}, {r.Cannot.Factor * 1.0001, false}} {
		at := score.Bind("t", syntax.Parse(text), nil, score.Options{TempoFactor: c.factor})
		got := Solve(at, at.Players[0])
		assert.Equal(t, c.fits, impossible(got) == 0, "at %.4f of the written tempo", c.factor)
	}
	_ = s
}

func TestAHeldInstrumentTakesBothHands(t *testing.T) {
	_, r := solved(t, `tempo 120
player Ida
  R triangle held with triangle-beater | 1 2 3 4 |
  L woodblock clamped with snare-stick | 3 |
`)
	assert.NotZero(t, impossible(r), "the left hand holds the triangle")
	_, r = solved(t, `tempo 120
player Ida
  R triangle clipped with triangle-beater | 1 2 3 4 |
  L woodblock clamped with snare-stick    | 3 |
`)
	assert.Zero(t, impossible(r), "clipped to a stand it leaves the left hand free")
}

func TestOneLimbBookedTwice(t *testing.T) {
	_, r := solved(t, `tempo 120
player Ida
  R snare-drum | 1 2~4 |
  R woodblock  | 3 |
`)
	require.NotEmpty(t, r.Conflicts)
	assert.Equal(t, SameLimb, r.Conflicts[0].Kind)
}

func TestARollWithTwoMalletsInOneHandLeavesTheOtherFree(t *testing.T) {
	_, r := solved(t, `tempo 96
player Ida
  R suspended-cymbal with 2 yarn-mallets | p 1~ | ~4 |
  L woodblock clamped with snare-stick   | 1 2 3 4 | 1 2 3 |
`)
	assert.Zero(t, impossible(r))
	assert.Equal(t, "two yarn mallets", r.HoldsAt(body.Right, 1).Words())
}

func TestWalkingTakesBothHandsAlong(t *testing.T) {
	text := `tempo %d
player Ida
  kit
    station bells at right 300
    snare-drum   on stand at ahead 35
    glockenspiel on stand at bells ahead 40
  R snare-drum   with snare-stick    | 1 2 3 4 | - | -
  L glockenspiel with plastic-mallet | - | %s | -
  R snare-drum   with snare-stick    | - | - | 4
`
	_, r := solved(t, fmt.Sprintf(text, 200, "1"))
	assert.NotZero(t, impossible(r), "three metres in a third of a second")
	_, r = solved(t, fmt.Sprintf(text, 40, "4"))
	assert.Zero(t, impossible(r), "three metres in six seconds")
	walked := 0
	for _, c := range r.Changes {
		if c.Walks {
			walked++
		}
	}
	assert.Equal(t, 2, walked, "there and back")
}

// A whole swap of implements, 40 cm to the table, 20 cm along it and 40 cm
// back: 0.90 s at the floor, 1.83 s steady by MTM-1 and Fitts.
func TestAWholeSwapIsTheSumOfItsMotions(t *testing.T) {
	_, r := solved(t, `tempo 60
instrument practice-pad
  zone 15
  way on stand takes 1 hand with rubber-mallet
player Ida
  kit
    snare-drum   on stand at ahead 40
    practice-pad on stand at ahead 40
    table                 at ahead 0
  R snare-drum   with snare-stick   | 1 |
  R practice-pad with rubber-mallet | 4 |
`)
	require.Len(t, r.Changes, 1)
	c := r.Changes[0]
	assert.InDelta(t, 0.90, c.Need.Floor, 0.005, "%+v", c.Motions)
	assert.InDelta(t, 1.83, c.Need.Steady, 0.005)
	assert.InDelta(t, 3.0, c.Window, 1e-9)
}

func TestEitherHandTakesTheOneThatIsFree(t *testing.T) {
	_, r := solved(t, `tempo 120
player Ida
  R   snare-drum with snare-stick           | 1 2 3 4 | % x3
  any woodblock clamped with rubber-mallet  | 1 2 3 4 | % x3
`)
	assert.Zero(t, impossible(r))
	for _, hand := range r.AnyHands {
		assert.Equal(t, body.Left, hand)
	}
}

func TestSetChangesStartWhereTheyAreSet(t *testing.T) {
	text := `tempo 60
player Ida
  R snare-drum with snare-stick             | 1 | - | - | 1
  R woodblock clamped with rubber-mallet    | - | - | - | 3
  R takes rubber-mallet at %s
`
	_, early := solved(t, fmt.Sprintf(text, "4.2"))
	_, late := solved(t, fmt.Sprintf(text, "4.2+4/5"))
	assert.Zero(t, impossible(early))
	assert.NotZero(t, impossible(late), "a fifth of a second is left")
}

func TestAFootElsewhereTakesTheBodyThere(t *testing.T) {
	text := `tempo %d
player Kim
  kit
    station set at right 300
    snare-drum      on stand at ahead 40
    bass-drum-pedal floor    at set ahead 10
  R  snare-drum with snare-stick | 1 | -
  RF bass-drum-pedal             | - | 1
`
	_, r := solved(t, fmt.Sprintf(text, 160))
	assert.Equal(t, 1, impossible(r), "three metres in a second and a half")
	_, r = solved(t, fmt.Sprintf(text, 60))
	assert.Zero(t, impossible(r))
}

func TestABeaterThatIsHeldBeforehandIsInTheFingersWhenTheMusicBegins(t *testing.T) {
	_, r := solved(t, "tempo 60\nplayer Ida\n  R holds triangle-beater\n  R tambourine padded with fingers | 1 | 4\n")
	assert.Zero(t, impossible(r))
}

// A roll that is tied over the end of a repeat stops there when the road goes
// back, and goes on when it goes on.
func TestARollEndsWhereTheRoadJumps(t *testing.T) {
	s, r := solved(t, "tempo 60\nrepeat 1-2\nplayer Ida\n  RL snare-drum with snare-stick | 1 | 1~ | ~2\n")
	assert.Zero(t, impossible(r))
	var ends []float64
	for i := range r.Events {
		if e := &r.Events[i]; e.Kind == RollOn {
			ends = append(ends, e.T1-e.T0)
		}
	}
	require.Len(t, ends, 2, "%v", s.Time.Spans())
	assert.InDelta(t, 4, ends[0], 1e-9)
	assert.InDelta(t, 5, ends[1], 1e-9)
}

// Each border belongs to the band above it: what there is just time for is done
// in that time.
func TestBandsMeetAtTheirBorders(t *testing.T) {
	need := body.Pace{Limit: 1, Floor: 2, Steady: 3}
	for _, c := range []struct {
		window             float64
		short, edge, tight bool
	}{
		{0.9, true, false, false}, {1, false, true, true}, {1.9, false, true, true},
		{2, false, false, true}, {2.9, false, false, true}, {3, false, false, false},
	} {
		ch := Change{Need: need, Window: c.window}
		assert.Equal(t, c.short, ch.Short(), "%v s", c.window)
		assert.Equal(t, c.edge, ch.AtEdge(), "%v s", c.window)
		assert.Equal(t, c.tight, ch.Tight(), "%v s", c.window)
	}
}

// A hand that the text sends for a stick at the moment of a stroke has left the
// pair by then, and one hand goes on alone.
func TestAHandThatIsSentAwayLeavesThePair(t *testing.T) {
	_, r := solved(t, `tempo 40
meter 3/4
player Ida
  kit
    maracas held at right 30 ahead 40
    table at right 20 ahead 40
  L takes snare-stick at 1.3
  R maracas held | 2 3
`)
	require.Len(t, r.Chosen, 2)
	assert.Equal(t, 2, r.Chosen[0].Way.Hands)
	assert.Equal(t, 1, r.Chosen[1].Way.Hands)
	assert.Equal(t, 3.0, r.Chosen[1].First.T0)
	assert.Empty(t, r.Changes)
}
