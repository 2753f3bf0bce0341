package sheet

import (
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// TestTheScriptIsSmall: a page is opened on a telephone, backstage.
func TestTheScriptIsSmall(t *testing.T) {
	assert.LessOrEqual(t, len(playScript), 60_000)
}

// onsets is when a player's strokes are played, from the cues and the time line
// alone, without the motions that the page is made from: those whose hand the
// text says.
func onsets(s *score.Score, player, hand string) (out []float64) {
	for _, p := range s.Players {
		if p.Name != player {
			continue
		}
		for _, c := range p.Cues {
			for i := range c.Strokes {
				st := &c.Strokes[i]
				if !st.Sounds() || c.Limb.String() != hand {
					continue
				}
				for k, sp := range s.Time.Spans() {
					if int(st.Bar) >= sp.From && int(st.Bar) <= sp.To && (c.Pass == 0 || c.Pass == sp.Pass) {
						out = append(out, s.Time.Seconds(k, st.At))
					}
				}
			}
		}
	}
	slices.Sort(out)
	return out
}

// nearest is how far the nearest of a sorted list is.
func nearest(list []float64, t float64) float64 {
	i, _ := slices.BinarySearch(list, t)
	d := math.Inf(1)
	for k := max(0, i-1); k <= i && k < len(list); k++ {
		d = min(d, math.Abs(list[k]-t))
	}
	return d
}

// The page knows when each stroke is played, to a tenth of a millisecond.
func TestThePageKnowsWhenEveryStrokeIs(t *testing.T) {
	r := ferry(t)
	text := regexp.MustCompile(`(?s)<script type="application/json" id="play">(.*?)</script>`).FindStringSubmatch(HTML(r, "Nell"))
	require.NotNil(t, text)
	var p playedPage
	require.NoError(t, json.Unmarshal([]byte(text[1]), &p))
	require.Len(t, p.Parts, 1)
	piece := p.Pieces[0]
	for _, hand := range []string{"R", "L"} {
		var got []float64
		for _, w := range piece.Voices {
			at := 0
			for _, step := range w.Times {
				if at += step; w.Player == p.Parts[0].Player && w.Limbs == hand {
					got = append(got, float64(at)/10000)
				}
			}
		}
		slices.Sort(got)
		want := onsets(r.Score, "Nell", hand)
		require.NotEmpty(t, want)
		require.Len(t, got, len(want), hand)
		for i := range want {
			assert.InDelta(t, want[i], got[i], 1e-4)
		}
	}
	bars := 0
	for _, sp := range r.Score.Time.Spans() {
		bars += sp.To - sp.From + 1
	}
	assert.Len(t, piece.Bars, bars, "every bar as often as it is played")
}

// What there is none of is said to be none, whatever the piece: the script asks
// nothing twice.
func TestNothingThatIsPlayedIsUnsaid(t *testing.T) {
	for name, text := range pieces() {
		data := regexp.MustCompile(`(?s)<script type="application/json" id="play">(.*?)</script>`).FindStringSubmatch(HTML(checked(name, text), ""))
		if data != nil {
			assert.NotContains(t, data[1], "null", name)
		}
	}
}

// Every bar has a place on every screen, and letters there are large enough to be
// read at arm's length, whatever the piece.
func TestScreensHoldEveryBar(t *testing.T) {
	for name, text := range pieces() {
		r := checked(name, text)
		for i := range r.Motions {
			v := newPart(r, i, standardFaces())
			for _, sc := range v.screens(everyView()) {
				next := r.Score.Grid.First()
				for _, l := range sc.doc.lines {
					for _, b := range l.bars {
						require.Equal(t, next, b.from, "%s at %d", name, sc.width)
						next = b.to + 1
						assert.GreaterOrEqual(t, b.at, b.x)
						assert.LessOrEqual(t, b.at+b.inner, b.x+b.w+1e-6)
						assert.LessOrEqual(t, b.x+b.w, l.X+l.W+0.5, "%s at %d: bar %d", name, sc.width, b.from)
					}
				}
				assert.Equal(t, min(r.Score.Grid.Last(), maxBars)+1, next, "%s at %d", name, sc.width)
			}
		}
	}
}

// On a phone the names stand over and under the lines, where they change, so that bars
// have the width: two of quarters beside one another.
func TestAPhoneHasTwoBarsALine(t *testing.T) {
	r := checked("phone", "tempo 90\nplayer Ida\n  R suspended-cymbal | 1 2 3 4 | 1 2 3 | 1 2 | 2 3 4 | 1 2 4 | 1 3 4\n  L tambourine | 2 4 | 1 3 | 2 3 | 1 4 | 2 4 | 1 2\n")
	require.Empty(t, r.Score.Problems)
	sc := newPart(r, 0, standardFaces()).screens(everyView())[0]
	require.Equal(t, 344, sc.width)
	names := map[string]int{}
	for _, l := range sc.doc.lines {
		assert.Len(t, l.bars, 2)
		for _, it := range sc.doc.Pages[l.page].Items[l.first:l.last] {
			if it.Text == "Sus. Cym." || it.Text == "Tamb." {
				names[it.Text]++
			}
		}
	}
	assert.Equal(t, map[string]int{"Sus. Cym.": 1, "Tamb.": 1}, names, "where they begin, and not again")
}

// TestABrowserPlaysThePage: somebody at a keyboard has it played, on a wide
// screen, on a phone, magnified, and with little motion; and what is rendered of
// it is heard when the score has it.
func TestABrowserPlaysThePage(t *testing.T) {
	chromium, node := browser(t), tool(t, "node")
	if _, err := os.Stat(filepath.Join(os.Getenv("HANDFUL_NODE_MODULES"), "playwright-core")); err != nil {
		t.Skip("set HANDFUL_NODE_MODULES to where playwright-core is, to test what the page plays")
	}
	r := ferry(t)
	raw, err := exec.Command(node, "testdata/playing.mjs", chromium, writeHTML(t, HTML(r, "Nell"))).Output()
	require.NoError(t, err, string(raw))
	var out struct {
		Wrong                    []string
		Onsets                   map[string][]float64
		Slow                     []float64
		Phone, Wider, Zoom, Head float64
		Keys                     []string
		Change, Slowest          string
		Playing                  int
		Reached                  []string
	}
	require.NoError(t, json.Unmarshal(raw, &out), string(raw))
	assert.Empty(t, out.Wrong)
	for _, hand := range []string{"R", "L"} {
		assertHeard(t, r, hand, out.Onsets[hand], 1)
	}
	assertHeard(t, r, "L", out.Slow, 0.5)

	assert.GreaterOrEqual(t, out.Phone, 16.0, "letters on a phone")
	assert.LessOrEqual(t, out.Wider, 0.0)
	assert.InDelta(t, 2, out.Zoom, 0.02, "twice as large when magnified twice")
	assert.Equal(t, []string{"bar 2", "Round and round bars 2 to 3.", "1 of", "On to the end.", "Stopped"}, out.Keys)
	assert.Contains(t, out.Change, "left hand: lay the hard rubber mallet, take the snare stick")
	assert.Contains(t, out.Change, "take the snare stick")
	assert.Equal(t, 1, out.Playing)
	assert.Greater(t, out.Head, 10.0, "with little motion the head goes from bar to bar")
	assert.Equal(t, "50 %", out.Slowest)
	for _, name := range []string{"Play", "tempo", "before", "next", "back", "on", "Loop, hands, sound and keys"} {
		assert.Contains(t, out.Reached, name)
	}
}

// playFor has a browser play a number of 300 bars, in which no two lines are alike.
func playFor(t testing.TB, seconds string) (out struct {
	Wrong             []string
	Frames, Forced    int
	P50, P95, Longest float64
	Over50            int
}) {
	chromium, node := browser(t), tool(t, "node")
	if _, err := os.Stat(filepath.Join(os.Getenv("HANDFUL_NODE_MODULES"), "playwright-core")); err != nil {
		t.Skip("set HANDFUL_NODE_MODULES to where playwright-core is, to test what the page plays")
	}
	r := checked("long", long(300))
	raw, err := exec.Command(node, "testdata/frames.mjs", chromium, writeHTML(t, HTML(r, r.Motions[0].Player.Name)), seconds).Output()
	require.NoError(t, err, string(raw))
	require.NoError(t, json.Unmarshal(raw, &out), string(raw))
	return out
}

// While it plays, a frame only moves the head: the page is laid out anew where a line
// begins, and not in between.
func TestFramesLeaveThePageAsItIs(t *testing.T) {
	out := playFor(t, "4")
	assert.Empty(t, out.Wrong)
	require.Greater(t, out.Frames, 20)
	assert.LessOrEqual(t, out.Forced, 12, "of %d frames", out.Frames)
	t.Logf("%+v", out)
}

// BenchmarkFrames is what frames and tasks take while 300 bars play: budget 8 ms of the
// processor at p95, and no task of 50.
func BenchmarkFrames(b *testing.B) {
	for b.Loop() {
		out := playFor(b, "20")
		b.ReportMetric(out.P50, "ms-p50")
		b.ReportMetric(out.P95, "ms-p95")
		b.ReportMetric(out.Longest, "ms-longest-task")
		b.ReportMetric(float64(out.Over50), "tasks-over-50-ms")
	}
}

// assertHeard compares what was heard with the score: everything that is played
// begins to sound within 10 ms, and nothing else does, but within a roll.
func assertHeard(t *testing.T, r *check.Result, hand string, heard []float64, rate float64) {
	want := onsets(r.Score, "Nell", hand)
	require.NotEmpty(t, want)
	worst := 0.0
	for i := range want {
		worst = max(worst, nearest(heard, want[i]/rate))
	}
	assert.Less(t, worst, 0.010, "%s: the stroke that is heard worst in time", hand)
	t.Logf("%s at %g: %d strokes, the worst is %.2f ms off", hand, rate, len(want), worst*1000)
	rolls := 0
	for _, at := range heard {
		if nearest(want, at*rate) > 0.010*rate {
			rolls++
		}
	}
	if rolls > 0 {
		assert.True(t, slices.ContainsFunc(r.Motions[0].Events, func(e motion.Event) bool { return e.T1 > e.T0 }), "%s: %d clicks of no stroke", hand, rolls)
	}
}
