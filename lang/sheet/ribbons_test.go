package sheet

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/kit"
)

// within is the items of a page whose middle lies in a place.
func within(p *Page, r Rect) (out []*item) {
	for i := range p.Items {
		it := &p.Items[i]
		if x, y := it.X+it.W/2, it.Y+it.H/2; x > r.X && x < r.X+r.W && y > r.Y && y < r.Y+r.H {
			out = append(out, it)
		}
	}
	return out
}

const heldUp = `tempo 132
bars 9
player Ida
  R triangle held with triangle-beater | 1 3 | % x2 | -
  from 5
  L bass-drum with bass-drum-beater | 1
  from 7
  R triangle held with triangle-beater | 1 | - | -
`

// A ribbon has the outline of what is in the hand before its name, and a hand that
// holds an instrument has a framed one.
func TestRibbonsShowWhatIsInTheHand(t *testing.T) {
	r := checked("x", heldUp)
	v := newPart(r, 0, standardFaces())
	framed, plain := 0, 0
	for _, p := range v.cues(Papers()[0]).Pages {
		for i := range p.Items {
			it := &p.Items[i]
			if it.Part != holdArt || it.Kind != box || it.W < 40 {
				continue
			}
			outlines, words := 0, ""
			for _, in := range within(p, it.Rect) {
				switch {
				case in.Kind == outlined:
					outlines++
					assert.Less(t, in.X, it.X+12, "before the name")
				case in.Kind == wording:
					words += in.Text
				}
			}
			assert.Equal(t, 1, outlines, words)
			if strings.HasPrefix(words, "holds") {
				assert.Equal(t, black, it.Line)
				framed++
			} else {
				assert.Equal(t, noInk, it.Line, words)
				plain++
			}
		}
	}
	assert.Positive(t, framed)
	assert.Positive(t, plain)
}

// Where the name of what is held does not fit, what the trade writes short does.
func TestARibbonThatIsShortHasTheShortName(t *testing.T) {
	r := checked("x", heldUp)
	v := newPart(r, 0, standardFaces())
	h := holdOf(v.m.HoldsAt(1, 0))
	require.Equal(t, "holds the triangle", h.words)
	c := &cueSheet{part: v, d: pen{Page: &Page{f: standardFaces()}}}
	wide := c.d.f.width(h.words, holdSize, false)
	for room, want := range map[float64]string{wide + 1: h.words, wide - 1: "holds Tri."} {
		c.d.Items = nil
		c.holdWords(&h, 10, 10+room, 20)
		require.Len(t, c.d.Items, 1)
		assert.Equal(t, want, c.d.Items[0].Text)
	}
}

// Every implement of the catalogue that has an outline has one that is there.
func TestOutlinesOfImplements(t *testing.T) {
	n := 0
	for _, im := range kit.Standard().Implements() {
		for _, g := range im.Glyphs {
			assert.Contains(t, pictograms(), g, im.ID)
			n++
		}
	}
	assert.Greater(t, n, 20)
}

// A walk has an arrow with the place's name and how far it is, there and back.
func TestWalksHaveArrows(t *testing.T) {
	text, err := os.ReadFile("../../examples/salt-market.handful")
	require.NoError(t, err)
	r := checked("x", string(text))
	doc, ok := cues(r, "Joris", Papers()[0])
	require.True(t, ok)
	arrows := map[string]int{}
	for _, p := range doc.Pages {
		for i := range p.Items {
			it := &p.Items[i]
			if it.Makes == nil || it.Kind != outlined {
				continue
			}
			for _, in := range within(p, Rect{it.X + it.W, it.Y - 6, 120, it.H + 12}) {
				if in.Kind == wording && in.Makes == it.Makes {
					arrows[strings.TrimSpace(in.Text)]++
				}
			}
		}
	}
	out, back, taken := 0, 0, 0
	for text, n := range arrows {
		text = strings.ReplaceAll(text, "\u00a0", " ")
		out += n * strings.Count(text, "bells 1.7 m")
		back += n * strings.Count(text, "back 1.7 m")
		taken += n * strings.Count(text, "↑")
	}
	assert.Equal(t, []int{1, 2}, []int{out, back}, arrows)
	for _, p := range doc.Pages {
		for _, it := range p.Items {
			if it.Makes == nil && strings.HasPrefix(it.Text, "↑\u00a0") {
				taken++
			}
		}
	}
	assert.Equal(t, 3, taken, "what is taken at the end of a walk stands beside the box where there is no room in it")
}

// A part that leaves room on its pages is drawn larger on as many.
func TestAPartFillsItsPages(t *testing.T) {
	text, err := os.ReadFile("../../examples/salt-market.handful")
	require.NoError(t, err)
	r := checked("x", string(text))
	v := newPart(r, 0, standardFaces())
	plain := v.cues(Papers()[0])
	doc := v.cuesFor(&Options{Paper: Papers()[0]})
	require.Len(t, plain.Pages, 2)
	assert.Len(t, doc.Pages, 2)
	assert.Greater(t, doc.Pages[0].Scale, 1.05*plain.Pages[0].Scale)
	assert.LessOrEqual(t, doc.stuck, plain.stuck)
}
