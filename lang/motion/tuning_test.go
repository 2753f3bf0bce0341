package motion_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/internal/madeup"
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// tunedPiece is a part for kettles in the notation, eighths at 60 a minute.
func tunedPiece(kettles [][2]int, notes [][]int) string {
	name := func(n int) string {
		return []string{"C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"}[n%12] + fmt.Sprint(n/12-1)
	}
	var b strings.Builder
	b.WriteString("tempo 60\ninstrument set\n  called \"Set\"\n  family membrane\n")
	for _, k := range kettles {
		fmt.Fprintf(&b, "  kettle 66 %s %s\n", name(k[0]), name(k[1]))
	}
	b.WriteString("  way floor takes 2 hands with timpani-mallet\nplayer Ida\n  R+L set |")
	for i, chord := range notes {
		if i > 0 && i%8 == 0 {
			b.WriteString(" |")
		}
		if i%8 == 0 && !slices.ContainsFunc(notes[i:min(i+8, len(notes))], func(c []int) bool { return len(c) > 0 }) {
			b.WriteString(" -")
		}
		if len(chord) == 0 {
			continue
		}
		var words []string
		for _, n := range chord {
			words = append(words, name(n))
		}
		fmt.Fprintf(&b, " %d%s:%s", i%8/2+1, []string{"", "&"}[i%2], strings.Join(words, "+"))
	}
	return b.String() + "\n"
}

// outcome is what a way of tuning comes to: notes without a kettle, retunings
// below the limit, at the edge and tight, and how many there are in all.
type outcome [5]int

func (o outcome) worse(p outcome) bool {
	for i := range o {
		if o[i] != p[i] {
			return o[i] > p[i]
		}
	}
	return false
}

// everyTuning tries every kettle for every note, and none, and keeps the best.
func everyTuning(kettles [][2]int, notes [][]int, limit, floor, steady float64) outcome {
	type struckAt struct {
		note int
		at   float64
	}
	var flat []struckAt
	for i, chord := range notes {
		for _, n := range chord {
			flat = append(flat, struckAt{n, float64(i) / 2})
		}
	}
	best := outcome{math.MaxInt}
	on := make([]int, len(flat))
	var try func(i int, sum outcome)
	try = func(i int, sum outcome) {
		if sum.worse(best) {
			return
		}
		if i == len(flat) {
			best = sum
			return
		}
		for k, reach := range kettles {
			if flat[i].note < reach[0] || flat[i].note > reach[1] {
				continue
			}
			next, ok := sum, true
			for j := i - 1; j >= 0; j-- {
				if on[j] != k {
					continue
				}
				if flat[j].note != flat[i].note {
					time := flat[i].at - flat[j].at
					ok = time > 0
					next[4]++
					switch {
					case time < limit-1e-6:
						next[1]++
					case time < floor-1e-6:
						next[2]++
					case time < steady-1e-6:
						next[3]++
					}
				}
				break
			}
			if ok {
				on[i] = k
				try(i+1, next)
			}
		}
		on[i] = -1
		sum[0]++
		try(i+1, sum)
	}
	try(0, outcome{})
	return best
}

// What the kettles come to is what trying everything finds, on small parts. The
// ears are given as much time as they want, since here kettles are counted.
func TestNoOtherTuningIsBetter(t *testing.T) {
	draws.Check(t, func(t *rapid.T) {
		var kettles [][2]int
		for range rapid.IntRange(1, 3).Draw(t, "kettles") {
			low := rapid.IntRange(38, 46).Draw(t, "low")
			kettles = append(kettles, [2]int{low, low + rapid.IntRange(0, 7).Draw(t, "reach")})
		}
		var notes [][]int
		count := 0
		for range rapid.IntRange(1, 16).Draw(t, "eighths") {
			var chord []int
			for range rapid.SampledFrom([]int{0, 1, 1, 2}).Draw(t, "notes") {
				n := rapid.IntRange(38, 50).Draw(t, "note")
				reached := false
				for _, k := range kettles {
					reached = reached || k[0] <= n && n <= k[1]
				}
				if reached && count < 7 && (len(chord) == 0 || chord[0] != n) {
					chord = append(chord, n)
					count++
				}
			}
			notes = append(notes, chord)
		}
		if count == 0 {
			return
		}
		text := tunedPiece(kettles, notes)
		s := score.Bind("t.handful", syntax.Parse(text), nil, score.Options{})
		for _, p := range s.Problems {
			t.Fatalf("%s\n%s", p.Message(), text)
		}
		r := motion.Solve(s, s.Players[0])
		need := s.Players[0].Profile.Retune().Pace
		var got outcome
		for _, c := range r.Crowds {
			got[0] += len(c.Lacks)
		}
		for _, c := range r.Retunings {
			got[4]++
			switch motion.BandOf(need, c.To.T0-c.From.T0) {
			case motion.Missing:
				got[1]++
			case motion.AtEdge:
				got[2]++
			case motion.Tight:
				got[3]++
			}
			if c.Start < c.From.T0-1e-6 || c.Start+c.Window > c.To.T0+1e-6 {
				t.Fatalf("a retuning from %g for %g s, between strokes at %g and %g\n%s", c.Start, c.Window, c.From.T0, c.To.T0, text)
			}
		}
		if want := everyTuning(kettles, notes, need.Limit, need.Floor, need.Steady); got != want {
			t.Fatalf("%v, and trying everything finds %v\n%s", got, want, text)
		}
	})
}

// What ways to give notes to kettles come to: a note without a kettle, a retuning that
// has not even the limit, one at the edge, one that is tight, and one at all; and a
// quarter tone from the middle of what the kettle reaches.
const (
	noneCosts    = 1_000_000_000_000
	missingCosts = 1_000_000_000
	edgeCosts    = 10_000_000
	tightCosts   = 100_000
	onceCosts    = 1_000
)

// A headAt is what a head was struck with last, and in which eighth.
type headAt struct{ note, eighth int }

// heads are those of a set; a note of 0 is none yet.
type heads [4]headAt

// longAgo stands for every eighth since which a kettle has been free for as long as
// anybody wants.
const longAgo = -1000

// strike is what it costs to strike a head with a note in an eighth; false is that it
// cannot be, since it is struck with another one there already.
func (h headAt) strike(reach [2]int, note, eighth int, limit, floor, steady float64) (cost int64, ok bool) {
	if h.note == note {
		return 0, true
	}
	cost = int64(max(2*note-reach[0]-reach[1], reach[0]+reach[1]-2*note))
	if h.note == 0 {
		return cost, true
	}
	if h.eighth == eighth {
		return 0, false
	}
	cost += onceCosts
	switch seconds := float64(eighth-h.eighth) / 2; {
	case seconds < limit-1e-6:
		cost += missingCosts
	case seconds < floor-1e-6:
		cost += edgeCosts
	case seconds < steady-1e-6:
		cost += tightCosts
	}
	return cost, true
}

// leastTuning is the least that a part costs, over all that the heads may have been
// struck with, note by note. Nothing is left out.
func leastTuning(kettles [][2]int, notes [][]int, limit, floor, steady float64) (least int64, most int) {
	now := map[heads]int64{{}: 0}
	for eighth, chord := range notes {
		for _, note := range chord {
			next := make(map[heads]int64, len(now))
			keep := func(h heads, cost int64) {
				if had, ok := next[h]; !ok || cost < had {
					next[h] = cost
				}
			}
			for was, cost := range now {
				for k := range kettles {
					if was[k].note != 0 && float64(eighth-was[k].eighth)/2 >= steady {
						was[k].eighth = longAgo
					}
				}
				keep(was, cost+noneCosts)
				for k, reach := range kettles {
					if note < reach[0] || note > reach[1] {
						continue
					}
					if more, ok := was[k].strike(reach, note, eighth, limit, floor, steady); ok {
						to := was
						to[k] = headAt{note, eighth}
						keep(to, cost+more)
					}
				}
			}
			now, most = next, max(most, len(next))
		}
	}
	least = math.MaxInt64
	for _, cost := range now {
		least = min(least, cost)
	}
	return least, most
}

// claimed is what the kettles that a result gives its notes cost.
func claimed(t interface{ Fatalf(string, ...any) }, r *motion.Result, kettles [][2]int, limit, floor, steady float64) (cost int64) {
	var at heads
	for i := range r.Events {
		e := &r.Events[i]
		on := r.KettlesOf(e)
		for n, key := range e.Cue.StruckAt(int(e.Stroke)).Keys {
			if on[n] == 0 {
				cost += noneCosts
				continue
			}
			k, eighth := on[n]-1, int(math.Round(2*e.T0))
			more, ok := at[k].strike(kettles[k], key.Pitch.Semitone(), eighth, limit, floor, steady)
			if !ok {
				t.Fatalf("kettle %d has two notes at %g s", k+1, e.T0)
			}
			cost += more
			at[k] = headAt{key.Pitch.Semitone(), eighth}
		}
	}
	return cost
}

// drawLongPart draws a part of passages, each among a few notes; between them there may be
// time to tune.
func drawLongPart(t *rapid.T, kettles [][2]int) (notes [][]int) {
	draw := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "part"), 1))
	eighths := 100 + draw.IntN(900)
	chords, rests := rapid.IntRange(0, 3).Draw(t, "chords"), rapid.IntRange(0, 3).Draw(t, "rests")
	var among []int
	for i := range kettles {
		among = append(among, kettles[i][0])
	}
	for len(notes) < eighths {
		for range 1 + draw.IntN(3) {
			k := kettles[draw.IntN(len(kettles))]
			among[draw.IntN(len(among))] = k[0] + draw.IntN(k[1]-k[0]+1)
		}
		for range 4 + draw.IntN(24) {
			chord := []int{among[draw.IntN(len(among))]}
			if other := among[draw.IntN(len(among))]; draw.IntN(8) < chords && other != chord[0] {
				chord = append(chord, other)
			}
			notes = append(notes, chord)
			for range draw.IntN(rests + 1) {
				notes = append(notes, nil)
			}
		}
		for range draw.IntN(2 + 3*rests) {
			notes = append(notes, nil)
		}
	}
	return notes
}

// However long the part, its kettles cost what is found by following all that they may
// have been struck with last.
func TestNoOtherTuningOfALongPartIsBetter(t *testing.T) {
	parts, strokes, most := 0, 0, 0
	madeup.Try(t, 6, func(rt *rapid.T) {
		var kettles [][2]int
		for range rapid.IntRange(2, 4).Draw(rt, "kettles") {
			low := rapid.IntRange(38, 52).Draw(rt, "low")
			kettles = append(kettles, [2]int{low, low + rapid.IntRange(2, 7).Draw(rt, "reach")})
		}
		notes := drawLongPart(rt, kettles)
		text := tunedPiece(kettles, notes)
		r := solved(rt, text)
		need := r.Player.Profile.Retune().Pace
		got := claimed(rt, r, kettles, need.Limit, need.Floor, need.Steady)
		want, n := leastTuning(kettles, notes, need.Limit, need.Floor, need.Steady)
		if got != want {
			rt.Fatalf("%d, and there is a way for %d\n%s", got, want, text)
		}
		parts, strokes, most = parts+1, strokes+len(r.Events), max(most, n)
	})
	t.Logf("%d parts with %d strokes, at most %d things that the kettles may have been struck with", parts, strokes, most)
}

// A part whose strokes say no note has no tuning, and one in one note no retuning.
func TestNoNoteNoTuning(t *testing.T) {
	for text, tunings := range map[string]int{"1 2 3": 0, "1:2 2:3": 0, "1:A2 2:A2": 1} {
		s := score.Bind("t.handful", syntax.Parse("tempo 60\nplayer Ida\n  RL timpani | "+text+"\n"), nil, score.Options{})
		require.Empty(t, s.Problems)
		r := motion.Solve(s, s.Players[0])
		assert.Len(t, r.Tunings, tunings, text)
		assert.Empty(t, r.Retunings, text)
		assert.Empty(t, r.Crowds, text)
	}
}

// twoKettles have D3 in common, which is nearer to the middle of the second.
const twoKettles = `tempo 60
instrument set
  called "Set"
  family membrane
  size 200 70
  zone 20
  kettle 66 Bb2 F3
  kettle 58 D3 A3
  way floor takes 2 hands with timpani-mallet rolls
`

func bound(t *testing.T, text string) *motion.Result {
	t.Helper()
	s := score.Bind("t.handful", syntax.Parse(text), nil, score.Options{})
	require.Empty(t, s.Problems)
	return motion.Solve(s, s.Players[0])
}

// A hand goes to the kettle that has the note, though another one has it nearer
// to its middle: the lower one has D3 here, so that F3 need not be tuned.
func TestTheHandGoesToTheKettleThatHasTheNote(t *testing.T) {
	kettles := func(text string) (out []int) {
		r := bound(t, twoKettles+text)
		for i := range r.Events {
			out = append(out, r.KettlesOf(&r.Events[i])...)
		}
		return out
	}
	assert.Equal(t, []int{1, 2, 1}, kettles("player Ida\n  R set | 1:D3 2:G3 3:D3\n"))
	r := bound(t, twoKettles+"player Ida\n  R set | 1:D3 1e:G3 1&:D3\n")
	var leaps []float64
	for _, x := range motion.Rates(r) {
		leaps = append(leaps, x.Leap)
	}
	assert.Equal(t, []float64{100, 100}, leaps, "from kettle to kettle they are 100 cm apart")
	r = bound(t, twoKettles+"player Ida\n  R set | 1:Eb3 1e:D3 1&:Eb3\n")
	assert.Equal(t, []int{2}, r.KettlesOf(&r.Events[0]), "both are nearest to the middle of the lower one")
	assert.Equal(t, []int{1}, r.KettlesOf(&r.Events[1]))
}

// A foot that plays tunes nothing until it rests, nor does one on a damper pedal,
// nor the one that a standing player stands on then.
func TestAFootElsewhereTunesNothing(t *testing.T) {
	window := func(text string) float64 {
		r := bound(t, twoKettles+text)
		require.Len(t, r.Retunings, 1, text)
		return r.Retunings[0].Window
	}
	const part = "  RL set | 1:F3 2:A3 | - | 1:D3\n"
	assert.InDelta(t, 8, window("player Ida\n"+part), 1e-6)
	feet := "  LF hi-hat | 2 3 4 | 1 2 3 |\n"
	assert.InDelta(t, 8, window("player Ida\n  seated\n"+feet+part), 1e-6, "the right one is free")
	assert.InDelta(t, 2, window("player Ida\n  seated\n"+feet+"  RF bass-drum-pedal | 2 3 4 | 1 2 3 |\n"+part), 1e-6, "from the third beat of bar 2 to bar 3")
	vibraphone := "  kit\n    set at ahead 45\n    vibraphone at ahead 50\n  RL vibraphone | 3 4 | 1 2 |\n"
	assert.InDelta(t, 2, window("player Ida\n"+vibraphone+part), 1e-6, "standing, until the third beat of bar 1")
	assert.InDelta(t, 8, window("player Ida\n  seated\n"+vibraphone+part), 1e-6)
}

// Kettles without pedals are tuned by a hand, in the time that it has between its
// strokes and what else it does.
func TestKettlesWithoutPedals(t *testing.T) {
	byHand := strings.Replace(twoKettles, "  zone", "  tuning hand\n  zone", 1)
	r := bound(t, byHand+"player Ida\n  R set | 1:F3 2:A3 | - | 1:D3\n  L snare-drum | 3 | 1 3 | - |\n")
	require.Len(t, r.Retunings, 1)
	assert.True(t, r.Retunings[0].Hand.IsHand())
	assert.InDelta(t, 7, r.Retunings[0].Window, 1e-3, "once it has struck the other kettle")
	assert.Equal(t, body.Right, r.Retunings[0].Hand)
	r = bound(t, byHand+"player Ida\n  RL set | 1:F3 2:A3 | - | - | 1:D3\n  RL snare-drum | 3 | 1 2 3 4 | - | - |\n")
	require.Len(t, r.Retunings, 1)
	assert.Less(t, r.Retunings[0].Window, 6.5, "from its last stroke on the snare drum")
	assert.Greater(t, r.Retunings[0].Window, 3.0)
}

// Where the body is elsewhere nothing is tuned.
func TestWhoIsElsewhereTunesNothing(t *testing.T) {
	r := bound(t, twoKettles+"player Ida\n  kit\n    station far at right 300\n    set at ahead 45\n    snare-drum at far ahead 45\n  RL set | 1:F3 2:A3 | - | - | 1:D3\n  RL snare-drum | - | 2 3 4 | 1 2 | - |\n")
	require.Len(t, r.Retunings, 1)
	assert.Less(t, r.Retunings[0].Window, 6.0, "what is left before, or behind, the way there")
	assert.Greater(t, r.Retunings[0].Window, 2.0)
}
