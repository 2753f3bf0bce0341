package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"example.org/handful/internal/draws"
	"example.org/handful/lang/check"
)

func TestLabelsOnAShelfNeverOverlap(t *testing.T) {
	f := standardFaces()
	draws.Check(t, func(t *rapid.T) {
		s := shelf{left: 50, right: 50 + rapid.Float64Range(80, 600).Draw(t, "room"), pitch: 10}
		for range rapid.IntRange(0, 25).Draw(t, "labels") {
			text := rapid.StringMatching(`[a-z静]{1,40}( [a-z]{1,12}){0,5}`).Draw(t, "text")
			s.put(f, rapid.Float64Range(-50, 800).Draw(t, "x"), text, 9, false, black, rapid.Float64Range(20, 500).Draw(t, "width"))
		}
		s.pack()
		for i, a := range s.labels {
			assert.GreaterOrEqual(t, a.x, s.left-1e-9)
			assert.LessOrEqual(t, a.x+a.w, s.right+1e-9)
			assert.LessOrEqual(t, a.shelf+len(a.lines), s.rows)
			for _, b := range s.labels[:i] {
				across := a.x < b.x+b.w+labelGap-1e-9 && b.x < a.x+a.w+labelGap-1e-9
				down := a.shelf < b.shelf+len(b.lines) && b.shelf < a.shelf+len(a.lines)
				assert.False(t, across && down, "%q and %q", a.lines, b.lines)
			}
		}
	})
}

func TestWrappedTextFitsAndLosesNothing(t *testing.T) {
	f := standardFaces()
	draws.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`([\p{L}]{1,30} ){0,12}[\p{L}]{1,30}`).Draw(t, "text")
		room := rapid.Float64Range(15, 400).Draw(t, "room")
		lines := f.wrap(text, 10, false, room)
		assert.Equal(t, strings.ReplaceAll(text, " ", ""), strings.ReplaceAll(strings.Join(lines, ""), " ", ""))
		for _, l := range lines {
			assert.LessOrEqual(t, f.width(l, 10, false), room+1e-9)
		}
		assert.LessOrEqual(t, f.width(f.fit(text, 10, false, room), 10, false), room+1e-9)
	})
}

// FuzzSheets makes every sheet of whatever anybody may write.
func FuzzSheets(f *testing.F) {
	for name, text := range pieces() {
		if name != "long" {
			f.Add(text)
		}
	}
	f.Add("meter 7/8 in 2+2+3\npickup 1\ntempo 3/8 = 60 to 90 over 0-2\nbars 9\norder 2-3 1-2\nplayer A\n  RF bass-drum | 1~\n  mouth siren | 1 '2 3x\n  R+L clap | 1")
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 4000 {
			return
		}
		r := checked("fuzz", text)
		if r.Score.Grid.Last() > 500 || r.Score.Time.PlayedBars() > 2000 {
			return
		}
		docs := Docs([]*check.Result{r}, Options{Paper: Papers()[2]})
		for i := range docs {
			for _, p := range docs[i].Pages {
				for _, it := range p.Items {
					if !(it.X > -1 && it.X+it.W < p.W+1 && it.Y > -1 && it.Y+it.H < p.H+1) {
						t.Fatalf("%s: off the page: %+v", p.Title, it)
					}
				}
			}
		}
	})
}
