package sheet

import (
	"example.org/handful/lang/body"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

func checked(name, text string) *check.Result {
	return check.Check(name, syntax.Parse(text), check.Options{})
}

// long writes a piece of so many bars for four players: mixed meters, a
// repeat, a vamp, a tempo that changes, rests of all lengths, twelve
// instruments, names in four scripts. It is made up for the tests.
func long(bars int) string {
	instruments := []string{"snare-drum", "woodblock", "bass-drum", "tambourine", "triangle", "suspended-cymbal",
		"cowbell", "tom-toms", "claves", "guiro", "temple-blocks", "wind-chimes"}
	rhythms := []string{"1 2 3 4", "f 1> 2 2& 3", "'1 2. 3", "1~3 4", "1 1e 1& 1a 2 2e 2& 2a 3 3e 3& 3a",
		"p 1 2t 2l 3 3t 3l", "''2> 3", "mp 1 cresc 2 3 ff 4", `"very dry" 1 3`, "1 3x"}
	var b strings.Builder
	fmt.Fprintf(&b, "title \"The Quite Unreasonably Long Title of an Evening in Which the Percussion Never Rests for Long\"\ntempo 84\nbars %d\n", bars)
	for i := range bars / 24 {
		fmt.Fprintf(&b, "mark M%d at %d\n", i+1, 8+24*i)
	}
	if bars > 160 {
		b.WriteString("meter 7/8 in 2+2+3 from 101\nmeter 4/4 from 121\ntempo 84 to 120 over 140-144\nrepeat 33-40 x3\nvamp 57-60\nhold 150.3\nbreak 151.1\n")
	}
	for p, name := range []string{"Maximiliane-Konstantina", "Σωκράτης", "Дарья", "静香"} {
		fmt.Fprintf(&b, "\nplayer \"%s\"\n", name)
		n := p * 7
		for bar := 1 + p; bar+9 < bars; {
			length := 2 + n%5
			for h, limb := range []string{"R", "L"} {
				n += 3
				if n%4 == h {
					continue
				}
				fmt.Fprintf(&b, "  from %d\n  %s %s", bar, limb, instruments[(n+5*h)%12])
				for k := range length {
					rhythm := rhythms[(n+3*k)%len(rhythms)]
					if bar+length > 95 && bar < 125 {
						rhythm = []string{"1 2 3", "1& 3", "1 2&"}[(n+k)%3]
					}
					b.WriteString(" | " + rhythm)
				}
				b.WriteString("\n")
			}
			bar += length + []int{0, 1, 2, 6, 9}[n%5]
		}
	}
	return b.String()
}

// pieces are what every sheet has to hold up to: the examples, three bars,
// four hundred, twelve instruments in four bars, other scripts, and broken
// text.
func pieces() map[string]string {
	out := map[string]string{"long": long(400), "empty": "", "nobody": "title \"Nobody\"\n", "broken": "player\n R x | 1 9 |\nmeter 0/0\nplayer Ann\n  R snare-drum | 1~ | ~"}
	for _, dir := range []string{"../../examples", "testdata"} {
		files, err := filepath.Glob(dir + "/*.handful")
		if err != nil || len(files) == 0 {
			panic("no pieces to test with in " + dir)
		}
		for _, f := range files {
			text, err := os.ReadFile(f)
			if err != nil {
				panic(err)
			}
			out[filepath.Base(f)] = string(text)
		}
	}
	return out
}

// allDocs is every sheet of every piece on every paper, made once.
var allDocs = sync.OnceValue(func() map[string][]Doc {
	out := map[string][]Doc{}
	for name, text := range pieces() {
		r := checked(name, text)
		for _, paper := range Papers() {
			out[name+"/"+paper.Name] = Docs([]*check.Result{r}, Options{Paper: paper})
		}
	}
	return out
})

// eachPage visits every page of every piece on every paper.
func eachPage(t *testing.T, visit func(t *testing.T, d *Doc, p *Page)) {
	for name, docs := range allDocs() {
		t.Run(name, func(t *testing.T) {
			require.NotEmpty(t, docs)
			for i := range docs {
				require.NotEmpty(t, docs[i].Pages)
				for _, p := range docs[i].Pages {
					visit(t, &docs[i], p)
				}
			}
		})
	}
}

func TestEverythingIsOnThePage(t *testing.T) {
	eachPage(t, func(t *testing.T, d *Doc, p *Page) {
		const edge = 12.0
		for _, it := range p.Items {
			ok := it.X >= edge && it.Y >= edge && it.X+it.W <= p.W-edge && it.Y+it.H <= p.H-edge && it.X+it.W >= edge && it.Y+it.H >= edge
			if !ok {
				assert.Fail(t, "off the page", "%s: %+v on %gx%g", p.Title, it, p.W, p.H)
				return
			}
		}
	})
}

func TestNoTwoWordsOverlap(t *testing.T) {
	eachPage(t, func(t *testing.T, d *Doc, p *Page) {
		var words []*item
		for i := range p.Items {
			if p.Items[i].Kind == wording && strings.TrimSpace(p.Items[i].Text) != "" {
				words = append(words, &p.Items[i])
			}
		}
		for i, a := range words {
			for _, b := range words[:i] {
				if tight(a).meets(tight(b)) {
					assert.Fail(t, "words overlap", "%s: %q at %v and %q at %v", p.Title, a.Text, a.Rect, b.Text, b.Rect)
					return
				}
			}
		}
	})
}

// tight is where the letters of words are: from the top of a capital to the
// bottom of a tail.
func tight(it *item) Rect {
	return Rect{it.X, it.Base - 0.74*it.Size, it.W, 0.92 * it.Size}
}

func TestNoMarkLiesOnWords(t *testing.T) {
	eachPage(t, func(t *testing.T, d *Doc, p *Page) {
		for i := range p.Items {
			a := &p.Items[i]
			if a.Part != strokeArt && a.Part != cueArt && a.Kind != outlined {
				continue
			}
			for k := range p.Items {
				if b := &p.Items[k]; b.Kind == wording && a.Rect.meets(tight(b)) {
					assert.Fail(t, "a mark lies on words", "%s: %v and %q at %v", p.Title, a.Rect, b.Text, b.Rect)
					return
				}
			}
		}
	})
}

// Every stroke is drawn once for every limb that plays it, or stands in a bar
// that is folded; and a folded bar is played as the bar it stands for, stroke by
// stroke, by what the score has.
func TestEveryStrokeIsDrawnOnceOrFoldedOnce(t *testing.T) {
	for name, text := range pieces() {
		r := checked(name, text)
		for i, m := range r.Motions {
			v := newPart(r, i, standardFaces())
			doc, ok := cues(r, m.Player.Name, Papers()[2])
			require.True(t, ok)
			type drawn struct {
				st   *score.Stroke
				limb body.Limb
			}
			got := map[drawn]int{}
			for _, p := range doc.Pages {
				for _, it := range p.Items {
					if it.Part == strokeArt {
						got[drawn{it.Of, it.Limb}]++
					}
				}
			}
			standsFor := map[int]int{}
			next := r.Score.Grid.First()
			for _, b := range v.blocks() {
				assert.Equal(t, next, b.from, "%s: bars follow one another", name)
				next = b.to + 1
				for bar := b.from; b.fold > 0 && bar <= b.to; bar++ {
					standsFor[bar] = b.from - b.fold + (bar-b.from)%b.fold
				}
			}
			type played struct {
				at, end string
				item    *score.Item
				limbs   body.Limbs
				flags   score.StrokeFlags
				dyn     int
				grace   uint8
			}
			content := func(bar int) (out []played) {
				start := r.Score.Grid.Start(bar)
				for _, st := range v.strokes {
					if int(st.Bar) == bar {
						out = append(out, played{st.At.Sub(start).String(), st.End.Sub(start).String(), st.cue.Item, st.limbs, st.Flags, int(st.Dyn), st.Grace})
					}
				}
				return out
			}
			for bar, model := range standsFor {
				assert.NotContains(t, standsFor, model, name)
				assert.Equal(t, content(model), content(bar), "%s: %s, bar %d is drawn as bar %d", name, m.Player.Name, bar, model)
			}
			want := 0
			for _, st := range v.strokes {
				_, folded := standsFor[int(st.Bar)]
				for l := range st.limbs.Each() {
					if folded {
						assert.Zero(t, got[drawn{st.Stroke, l}], "%s: %s, %s at %s", name, m.Player.Name, l, r.Score.Place(st.At))
						continue
					}
					want++
					assert.Equal(t, 1, got[drawn{st.Stroke, l}], "%s: %s, %s at %s", name, m.Player.Name, l, r.Score.Place(st.At))
				}
			}
			assert.Len(t, got, want, name)
			strokes := 0
			for _, c := range m.Player.Cues {
				strokes += len(c.Strokes)
			}
			assert.Len(t, v.strokes, strokes, "%s: every stroke of every cue is there", name)
		}
	}
}

// What stands in a bar lasts as long as the bar, line by line.
func TestTheNotesOfEveryBarFillIt(t *testing.T) {
	for name, text := range pieces() {
		r := checked(name, text)
		for i := range r.Motions {
			v := newPart(r, i, standardFaces())
			for _, b := range v.blocks() {
				if b.rest || b.fold > 0 {
					continue
				}
				for limb := range v.limbsOfBlock(&b).Each() {
					w := v.voiceOf(&b, limb)
					require.True(t, w.ok, "%s, bar %d", name, b.from)
					sum := beat.Rat{}
					for k, n := range w.bar.Notes {
						assert.Equal(t, b.start.Add(sum), w.place(&w.bar.Notes[k]), "%s, bar %d", name, b.from)
						sum = sum.Add(n.Length)
					}
					assert.Equal(t, b.length, sum, "%s, bar %d, %s", name, b.from, limb)
				}
			}
		}
	}
}

func TestStrokesStandInProportionToTime(t *testing.T) {
	for name, text := range pieces() {
		r := checked(name, text)
		for i := range r.Motions {
			v := newPart(r, i, standardFaces())
			doc := v.cues(Papers()[0])
			for _, p := range doc.Pages {
				type bar struct{ at, x []float64 }
				bars := map[string]*bar{}
				for _, it := range p.Items {
					if it.Part != strokeArt {
						continue
					}
					key := fmt.Sprint(it.Of.Bar)
					if bars[key] == nil {
						bars[key] = &bar{}
					}
					bars[key].at = append(bars[key].at, it.Of.At.Float())
					bars[key].x = append(bars[key].x, it.X+it.W/2)
				}
				for key, b := range bars {
					assertLinear(t, b.at, b.x, name+", bar "+key)
				}
			}
		}
	}
}

// assertLinear checks that x is a straight line over at.
func assertLinear(t *testing.T, at, x []float64, what string) {
	lo, hi := 0, 0
	for i := range at {
		if at[i] < at[lo] {
			lo = i
		}
		if at[i] > at[hi] {
			hi = i
		}
	}
	if at[hi] == at[lo] {
		return
	}
	slope := (x[hi] - x[lo]) / (at[hi] - at[lo])
	assert.Positive(t, slope, what)
	for i := range at {
		assert.InDelta(t, x[lo]+slope*(at[i]-at[lo]), x[i], 0.01, what)
	}
}

func TestBarsOfALineLastAsLongAsTheyAreWide(t *testing.T) {
	r := checked("even", "tempo 90\nplayer Ann\n  R snare-drum | 1 2 3 4 | 1 3 | 1 | 1 2 3 4\n")
	v := newPart(r, 0, standardFaces())
	systems := v.systems(v.measured(standardFaces()), 430)
	require.Len(t, systems, 1)
	for _, b := range systems[0].blocks {
		assert.InDelta(t, systems[0].blocks[0].w, b.w, 0.01)
	}
}

// A plan is to scale: two instruments are as far apart on paper, and as large,
// as the kit and the catalogue have them.
func TestTheSetUpIsDrawnToScale(t *testing.T) {
	r := checked("x", "player Ida\n  kit\n    snare-drum on stand at left 60 ahead 40\n    suspended-cymbal on stand at right 60 ahead 70\n    marimba on stand at right 180 ahead 70\n    table at right 20 ahead 40\n  R snare-drum | 1\n  R suspended-cymbal | 3\n  R marimba | - | - | - | 1\n")
	for _, paper := range Papers() {
		doc := newPart(r, 0, standardFaces()).plan(paper)
		var discs, boxes []item
		for _, it := range doc.Pages[0].Items {
			switch {
			case it.Kind == disc && it.Part == bodyArt:
				discs = append(discs, it)
			case it.Kind == box && it.Part == bodyArt && it.Fill == noInk:
				boxes = append(boxes, it)
			}
		}
		require.Len(t, discs, 2, paper.Name)
		require.Len(t, boxes, 1, paper.Name)
		k := discs[0].W / 36 // a snare drum's 36 cm
		assert.InDelta(t, 45*k, discs[1].W, 0.01)
		assert.InDelta(t, 120*k, discs[1].X+discs[1].W/2-discs[0].X-discs[0].W/2, 0.01)
		assert.InDelta(t, -30*k, discs[1].Y+discs[1].H/2-discs[0].Y-discs[0].H/2, 0.01)
		assert.InDelta(t, 205*k, boxes[0].W, 0.01)
		assert.InDelta(t, 90*k, boxes[0].H, 0.01)
	}
}

func TestPracticeBeginsWithTheThreeSmallestMargins(t *testing.T) {
	for name, text := range pieces() {
		r := checked(name, text)
		for _, m := range r.Motions {
			// What the checker has: each different margin of a change that is
			// laid, taken, walked or not easy.
			seen := map[int64]bool{}
			var margins []float64
			for _, c := range slices.Concat(m.Changes, m.Retunings) {
				if !worthSaying(&c) {
					continue
				}
				if key := int64(math.Round(c.Spare() * 1000)); !seen[key] {
					seen[key] = true
					margins = append(margins, c.Spare())
				}
			}
			// The drills in order, and the least of all margins first.
			drills := drillsOf(r.Score, m)
			for i := 1; i < len(drills); i++ {
				assert.LessOrEqual(t, drills[i-1].margin(), drills[i].margin()+1e-9, name)
			}
			if len(margins) == 0 {
				assert.Empty(t, drills, name)
				continue
			}
			require.NotEmpty(t, drills, name)
			least := margins[0]
			for _, v := range margins {
				least = min(least, v)
			}
			assert.InDelta(t, least, drills[0].margin(), 1e-9, name)
		}
	}
}

func TestTheFirstThreeDrillsOfThePaperAreTheCheckersTightest(t *testing.T) {
	text, err := os.ReadFile("testdata/twelve.handful")
	require.NoError(t, err)
	r := checked("twelve", string(text))
	doc := newPart(r, 0, standardFaces()).practice(Papers()[0])
	var timed []check.Finding
	for _, f := range r.Findings {
		if f.Timed && (f.Rule.Name == "short-change" || f.Rule.Name == "thin-margin") {
			timed = append(timed, f)
		}
	}
	require.GreaterOrEqual(t, len(timed), 3)
	for i := range timed {
		for k := range timed[:i] {
			if timed[i].Window-timed[i].Need.Steady < timed[k].Window-timed[k].Need.Steady {
				timed[i], timed[k] = timed[k], timed[i]
			}
		}
	}
	var heads []string
	for _, p := range doc.Pages {
		for _, s := range p.Said {
			if s.Heading && s.Text != "Take care" {
				heads = append(heads, s.Text)
			}
		}
	}
	require.GreaterOrEqual(t, len(heads), 3)
	for i := range 3 {
		assert.Contains(t, heads[i], fmt.Sprintf("bar %d, count %s, %s", timed[i].Bar, timed[i].Count, timed[i].Limb))
	}
}
