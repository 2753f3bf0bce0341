package motion_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.org/handful/internal/madeup"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// leap is what a leap takes: between wide things as from surface to surface, to
// a bar half the fit at the limit, three quarters at the fastest and all of it
// in comfort, but that a third belongs to what a hand plays step by step.
func (b *person) leap(d, w float64) span {
	s := b.strikeElsewhere(d, w)
	if w < 8 {
		s.floor = math.Max(s.limit, math.Max(b.same.floor, 0.75*fit(d, w)*b.floor))
		s.steady = math.Max(s.floor, b.same.steady)
		if d > 3*w {
			s.steady = math.Max(s.steady, fit(d, w)*b.steady*b.margin)
		}
	}
	return s
}

// A run is a cue's notes, on sixteenths.
type run struct {
	limb, inst string
	notes      [][]string
}

func drawRun(t *rapid.T, limbs []string, chords bool) run {
	r := run{limb: rapid.SampledFrom(limbs).Draw(t, "limb"), inst: rapid.SampledFrom([]string{"xylophone", "marimba", "vibraphone", "glockenspiel", "tom-toms", "temple-blocks", "timpani"}).Draw(t, "instrument")}
	in := kit.Standard().Instrument(r.inst)
	one := func() string {
		if len(in.MemberNames) > 0 {
			return rapid.SampledFrom(append([]string{"1", "2", "3", "4"}, in.MemberNames...)).Draw(t, "drum")
		}
		return pitch.FromSemitone(rapid.IntRange(in.Range.Low.Semitone(), in.Range.High.Semitone()).Draw(t, "note")).String()
	}
	for range rapid.IntRange(2, 16).Draw(t, "strokes") {
		list := []string{one()}
		if chords && rapid.IntRange(0, 3).Draw(t, "chord") == 0 && len(in.MemberNames) == 0 {
			if other := one(); other != list[0] {
				list = append(list, other)
			}
		}
		r.notes = append(r.notes, list)
	}
	return r
}

func (r *run) text(tempo int, facing string) string {
	var bar strings.Builder
	for i, n := range r.notes {
		fmt.Fprintf(&bar, " %s:%s", madeup.Count(i), strings.Join(n, "+"))
	}
	return fmt.Sprintf("tempo %d\nplayer Ida\n  kit\n    %s at ahead 45%s\n  %s %s |%s |\n", tempo, r.inst, facing, r.limb, r.inst, bar.String())
}

func solved(t interface {
	Fatalf(string, ...any)
}, text string) *motion.Result {
	s := score.Bind("made-up.handful", syntax.Parse(text), nil, score.Options{})
	for _, p := range s.Problems {
		t.Fatalf("line %d: %s\n%s", p.Where.Line+1, p.Message(), text)
	}
	return motion.Solve(s, s.Players[0])
}

// Every leap of a hand is judged by how far it is and how wide what it goes to
// is, against the published tables, which this reads and works out by itself.
func TestLeapsAgainstTheTables(t *testing.T) {
	c := readCard(t)
	leaps, judged := 0, 0
	madeup.Try(t, 400, func(rt *rapid.T) {
		r := drawRun(rt, []string{"R", "L", "RL", "LR", "R+L"}, true)
		if r.limb == "R" || r.limb == "L" {
			for i := range r.notes { // chords of one hand are for another test
				r.notes[i] = r.notes[i][:1]
			}
		}
		text := r.text(rapid.IntRange(30, 240).Draw(rt, "tempo"), rapid.SampledFrom([]string{"", " facing 180", " facing 30"}).Draw(rt, "facing"))
		res := solved(rt, text)
		b := newPerson(c, res.Player)
		type pair struct {
			from, to *motion.Event
			hand     body.Limb
		}
		said := map[pair]motion.Rate{}
		for _, r := range motion.Rates(res) {
			if r.Leap > 0 {
				said[pair{r.From, r.To, r.Limbs.First()}] = r
			}
		}
		for h := range 2 {
			var last *motion.Event
			for i := range res.Events {
				e := &res.Events[i]
				if e.Limbs&(1<<h) == 0 {
					continue
				}
				if last != nil {
					d, w := leapOf(c.struckBy(res, last, h), c.struckBy(res, e, h))
					gap, k := e.T0-last.T0, pair{last, e, body.Limb(h)}
					got, ok := said[k]
					delete(said, k)
					need := b.leap(d, w)
					leaps++
					switch {
					case d < 0.5 && ok:
						rt.Fatalf("at %.3f no leap is one of %.1f cm\n%s", e.T0, got.Leap, text)
					case d < 0.5:
					case gap < math.Max(need.steady, b.same.steady)-hair != ok && math.Abs(gap-need.steady) > 1e-4 && len(c.struckBy(res, e, h)) == 1:
						rt.Fatalf("at %.3f: %.1f cm to %.1f cm in %.3f s, of %.3f %.3f %.3f, is said: %v\n%s", e.T0, d, w, gap, need.limit, need.floor, need.steady, ok, text)
					case ok && len(c.struckBy(res, e, h)) == 1:
						judged++
						for _, x := range [][2]float64{{got.Leap, d}, {got.Pace.Limit, math.Max(need.limit, b.same.limit)}, {got.Pace.Floor, need.floor}} {
							if math.Abs(x[0]-x[1]) > 0.021+1e-3*x[1] { // a bar's own repeated stroke may need a little more
								rt.Fatalf("at %.3f: %.3f, not %.3f, of %.1f cm to %.1f cm\n%s", e.T0, x[0], x[1], d, w, text)
							}
						}
					}
				}
				last = e
			}
		}
		if len(said) > 0 {
			rt.Fatalf("%d leaps too many\n%s", len(said), text)
		}
	})
	t.Logf("%d ways from stroke to stroke, %d of them leaps that are not at ease", leaps, judged)
}

// No other way to give the notes to the two hands has fewer leaps below the
// limit, as long as all can be tried.
func TestTheHandsAreChosenForTheLeaps(t *testing.T) {
	c := readCard(t)
	madeup.Try(t, 150, func(rt *rapid.T) {
		r := drawRun(rt, []string{"RL", "LR"}, false)
		r.notes = r.notes[:min(len(r.notes), 8)]
		text := r.text(rapid.IntRange(60, 200).Draw(rt, "tempo"), "")
		res := solved(rt, text)
		b := newPerson(c, res.Player)
		missing := func(hand func(i int) int) (n int) {
			last := [2]int{-1, -1}
			for i := range res.Events {
				h := hand(i)
				if j := last[h]; j >= 0 {
					d, w := leapOf(c.struckBy(res, &res.Events[j], h), c.struckBy(res, &res.Events[i], h))
					need := b.same.limit
					if d >= 0.5 {
						need = b.leap(d, w).limit
					}
					if res.Events[i].T0-res.Events[j].T0 < need-hair {
						n++
					}
				}
				last[h] = i
			}
			return n
		}
		chosen := missing(func(i int) int { return int(res.Events[i].Limbs.First()) })
		for all := range 1 << len(res.Events) {
			if n := missing(func(i int) int { return all >> i & 1 }); n < chosen {
				rt.Fatalf("%d leaps that nobody makes, and there is a way with %d\n%s", chosen, n, text)
			}
		}
	})
}

// Scales and broken chords go hand to hand at any tempo, one hand over to beyond
// where the other one has just been; to and fro between two bars each hand stays on
// its side. Common practice, no source.
func TestScalesAndBrokenChordsGoHandToHand(t *testing.T) {
	hands := func(line string, tempo int) (out string) {
		res := solved(t, fmt.Sprintf("tempo %d\nplayer Ida\n  kit\n    marimba on stand at ahead 50\n  %s\n", tempo, line))
		for i := range res.Events {
			out += res.Events[i].Limbs.First().String()
		}
		return out
	}
	for _, tempo := range []int{60, 92, 126} {
		assert.Equal(t, "RLRLRLRL", hands("RL marimba with rubber-mallet | 1:C4 1&:D4 2:E4 2&:F4 3:G4 3&:A4 4:B4 4&:C5", tempo), "a scale up at %d", tempo)
		assert.Equal(t, "RLRLRLRL", hands("RL marimba with rubber-mallet | 1:C5 1&:B4 2:A4 2&:G4 3:F4 3&:E4 4:D4 4&:C4", tempo), "a scale down at %d", tempo)
		assert.Equal(t, "RLRLRLRL", hands("RL marimba with rubber-mallet | 1:C3 1&:E3 2:G3 2&:C4 3:E4 3&:G4 4:C5 4&:E5", tempo), "a broken chord up at %d", tempo)
		assert.Equal(t, "RLRLRLRL", hands("RL marimba with rubber-mallet | 1:E5 1&:C5 2:G4 2&:E4 3:C4 3&:G3 4:E3 4&:C3", tempo), "a broken chord down at %d", tempo)
		assert.Equal(t, "LRLRLRLR", hands("RL marimba with rubber-mallet | 1:C4 1&:G4 2:C4 2&:G4 3:C4 3&:G4 4:C4 4&:G4", tempo), "to and fro at %d", tempo)
	}
}

// What is turned round has its hands changed over, and everything else as it
// was.
func TestTurnedKeyboardsMirrorTheHands(t *testing.T) {
	mirror := map[string]string{"R": "L", "L": "R", "RL": "LR", "LR": "RL", "R+L": "R+L"}
	madeup.Try(t, 150, func(rt *rapid.T) {
		r := drawRun(rt, []string{"R", "L", "RL", "LR", "R+L"}, false)
		tempo := rapid.IntRange(40, 200).Draw(rt, "tempo")
		a := solved(rt, r.text(tempo, ""))
		r.limb = mirror[r.limb]
		b := solved(rt, r.text(tempo, " facing 180"))
		verdicts := func(res *motion.Result) (out []string) {
			for _, r := range motion.Rates(res) {
				out = append(out, fmt.Sprintf("%.3f %.3f %.2f %.4f %d", r.From.T0, r.To.T0, r.Leap, r.Pace.Limit, r.Strokes))
			}
			slices.Sort(out)
			return out
		}
		if x, y := verdicts(a), verdicts(b); !slices.Equal(x, y) {
			rt.Fatalf("%v\n%v\n%s", x, y, r.text(tempo, ""))
		}
	})
}

// Transposing within the range changes nothing but what the width of bars does:
// on bars that are all alike, and in two rows that repeat every octave, nothing.
func TestAnOctaveHigherIsAsHard(t *testing.T) {
	const own = "instrument row-of-bars\n  family keyboard\n  zone 4\n  size 200 40\n  range C2 C7\n  widths 4 4\n  way on stand takes 1 hand with rubber-mallet\n"
	madeup.Try(t, 150, func(rt *rapid.T) {
		r := run{limb: rapid.SampledFrom([]string{"R", "L", "RL", "R+L"}).Draw(rt, "limb"), inst: "row-of-bars"}
		up := r
		for range rapid.IntRange(2, 14).Draw(rt, "strokes") {
			n := rapid.IntRange(48, 84).Draw(rt, "note")
			r.notes = append(r.notes, []string{pitch.FromSemitone(n).String()})
			up.notes = append(up.notes, []string{pitch.FromSemitone(n + 12).String()})
		}
		tempo := rapid.IntRange(40, 200).Draw(rt, "tempo")
		verdicts := func(r run) (out []string) {
			res := solved(rt, own+r.text(tempo, ""))
			for i := range res.Events {
				out = append(out, fmt.Sprint(res.Events[i].Limbs))
			}
			for _, r := range motion.Rates(res) {
				out = append(out, fmt.Sprintf("%.3f %.3f %.1f %.3f %d", r.From.T0, r.To.T0, r.Leap, r.Pace.Limit, r.Strokes))
			}
			return out
		}
		if x, y := verdicts(r), verdicts(up); !slices.Equal(x, y) {
			rt.Fatalf("%v\n%v\n%s", x, y, r.text(tempo, ""))
		}
	})
}

// A file that does not say what it strikes makes no claim.
func TestNoNoteNoClaim(t *testing.T) {
	res := solved(t, "tempo 160\nplayer Ida\n  R xylophone | 1 1e 1& 1a |\n")
	for _, r := range motion.Rates(res) {
		assert.Zero(t, r.Leap)
	}
	assert.Empty(t, motion.Spreads(res))
}

// The way to a keyboard goes to the bar that is struck first, and the way from it
// begins at the one that was struck last.
func TestTheWayGoesToTheBar(t *testing.T) {
	c := readCard(t)
	for _, note := range []string{"F3", "C5", "C7"} {
		res := solved(t, fmt.Sprintf("tempo 120\nplayer Ida\n  kit\n    snare-drum at left 60 ahead 40\n    xylophone at right 20 ahead 45\n  R holds rubber-mallet\n"+
			"  R snare-drum with rubber-mallet | 1 | - | 1 |\n  from 2\n  R xylophone with rubber-mallet | 1:%s 2:A4 |\n", note))
		require.Empty(t, res.Conflicts)
		b := newPerson(c, res.Player)
		ways := map[*score.Cue]*motion.Change{}
		for i := range res.Changes {
			if ch := &res.Changes[i]; ch.From != nil {
				ways[ch.From.Cue] = ch
			}
		}
		for _, ch := range ways {
			from, to := at(ch.From.Item()), at(ch.To.Item())
			width := ch.To.Item().Inst.Zone
			if bar := c.struckBy(res, ch.From, 0); bar != nil {
				from.right, from.ahead = from.right+bar[0].right, from.ahead+bar[0].away
			}
			if bar := c.struckBy(res, ch.To, 0); bar != nil {
				to.right, to.ahead, width = to.right+bar[0].right, to.ahead+bar[0].away, bar[0].wide
			}
			want := b.strikeElsewhere(from.to(to), width)
			assert.InDelta(t, want.floor, ch.Need.Floor, 1e-6, "%s, at %v", note, ch.To.At())
			assert.InDelta(t, want.limit, ch.Need.Limit, 1e-6, "%s, at %v", note, ch.To.At())
		}
		assert.Len(t, ways, 2)
	}
}

// A dot on bars that no pedal damps is a way to strike: no hand is wanted to stop the bar, as
// it is for what rings on otherwise, and where the text says to stop it.
func TestADotOnABarTakesNoHandToStopIt(t *testing.T) {
	stops := func(line string) (n int) {
		r := solved(t, "tempo 132\nplayer Ida\n  "+line+"\n")
		for i := range r.Events {
			if r.Events[i].Kind.Stops() {
				n++
			}
		}
		return n
	}
	for _, in := range []string{"marimba", "glockenspiel", "crotales", "xylophone"} {
		assert.Zero(t, stops("RL "+in+" | 1.:C5 1&.:E5 2.:G5 2&.:E5 3.:C6 |"), in)
	}
	assert.Equal(t, 1, stops("R glockenspiel | 1.:C5 3x |"), "but where it is written")
	assert.Equal(t, 3, stops("R suspended-cymbal | 1. 2. 3. |"))
	for _, line := range []string{"R marimba | 1.:C5 1&.:E5 2.:G5 2&.:E5 |", "L glockenspiel | 1.:C5 1&.:E5 2.:G5 2&.:E5 |"} { // and nothing is too fast for it
		assert.Empty(t, solved(t, "tempo 132\nplayer Ida\n  "+line+"\n").Conflicts, line)
	}
}
