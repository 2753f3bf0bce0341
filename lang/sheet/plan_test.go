package sheet

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Nothing on a plan hides the edge of a thing: what is drawn later is not filled
// where an outline runs.
func TestNoBodyOnAPlanIsHidden(t *testing.T) {
	seen := 0
	eachPage(t, func(t *testing.T, d *Doc, p *Page) {
		if d.Kind != "plan" && d.Kind != "floor" {
			return
		}
		for i := range p.Items {
			a := &p.Items[i]
			if a.Part != bodyArt || a.Kind == line {
				continue
			}
			seen++
			hidden := 0
			const around = 64
			for n := range around {
				sin, cos := math.Sincos(2 * math.Pi * float64(n) / around)
				x, y := a.X+a.W/2*(1+cos), a.Y+a.H/2*(1+sin)
				if a.Kind == box { // out to the edge of the box
					k := 1 / max(math.Abs(cos), math.Abs(sin))
					x, y = a.X+a.W/2*(1+k*cos), a.Y+a.H/2*(1+k*sin)
				}
				for k := i + 1; k < len(p.Items); k++ {
					b := &p.Items[k]
					if (b.Kind == box || b.Kind == disc) && b.Fill != noInk && x > b.X && x < b.X+b.W && y > b.Y && y < b.Y+b.H &&
						(b.Kind == box || math.Hypot(x-b.X-b.W/2, y-b.Y-b.H/2) < b.W/2) && !(b.Part == bodyArt && b.Fill == wash && a.Fill == wash) {
						hidden++
						break
					}
				}
			}
			assert.LessOrEqual(t, hidden, around/8, "%s: %v", p.Title, a.Rect)
		}
	})
	assert.Greater(t, seen, 100)
}

// A thing that is turned is drawn turned, its height stands beside it, and two
// that stand in one another are named.
func TestThePlanShowsTurnsHeightsAndClashes(t *testing.T) {
	r := checked("x", "player Ida\n  kit\n    marimba on stand at left 100 ahead 60 facing 30\n    glockenspiel on stand at ahead 50 up 100\n    snare-drum on stand at right 10 ahead 50\n  R snare-drum | 1\n  R glockenspiel | 3\n  R marimba | - | - | - | 1\n")
	doc := newPart(r, 0, standardFaces()).plan(Papers()[0])
	slanted := 0
	var text strings.Builder
	for _, it := range doc.Pages[0].Items {
		if it.Kind == line && math.Abs(it.W) > 5 && math.Abs(it.H) > 5 && it.Thick > 1 && it.Dash == 0 && it.Line == black {
			slanted++
		}
		text.WriteString(it.Text + "\n")
	}
	assert.Equal(t, 4, slanted, "the four edges of the marimba")
	assert.Contains(t, text.String(), "turned 30°")
	assert.Contains(t, text.String(), "100 cm")
	said := ""
	for _, s := range doc.Pages[0].Said {
		said += s.Text + "\n"
	}
	assert.Contains(t, said, "stand in one another")
}

// Kettles are round and of their sizes, and say which is which; the cue sheet's
// small plan has them too.
func TestThePlanHasTrueKettles(t *testing.T) {
	r := checked("x", "player Ida\n  RL timpani | 1:F2 2:C3 3:F3\n")
	v := newPart(r, 0, standardFaces())
	page := v.plan(Papers()[0]).Pages[0]
	var wide []float64
	var text strings.Builder
	for _, it := range page.Items {
		if it.Part == bodyArt && it.Kind == disc {
			wide = append(wide, it.W)
		}
		text.WriteString(it.Text + "\n")
	}
	kettles := r.Score.Catalogue.Instrument("timpani").Kettles
	require.Len(t, wide, len(kettles))
	for i, k := range kettles {
		assert.InDelta(t, k.Across/kettles[0].Across, wide[i]/wide[0], 1e-9, "to scale")
		assert.Contains(t, text.String(), "kettle "+string(rune('1'+i)))
	}
	small := 0
	for _, it := range v.cues(Papers()[0]).Pages[0].Items {
		if it.Part == bodyArt && it.Kind == disc {
			small++
		}
	}
	assert.Equal(t, len(kettles), small)
}

// The floor has every player with their tape, and every thing of theirs as far
// from them as on their own plan.
func TestTheFloorHasEveryPlayersThings(t *testing.T) {
	text, ok := pieces()["ferry-landing.handful"]
	require.True(t, ok)
	r := checked("ferry", text)
	var views []*part
	bodies := 0
	for i := range r.Motions {
		v := newPart(r, i, standardFaces())
		views = append(views, v)
		for _, it := range v.plan(Papers()[0]).Pages[0].Items {
			if it.Part == bodyArt {
				bodies++
			}
		}
	}
	doc := floor(r, views, Options{Paper: Papers()[0]})
	got := 0
	for _, it := range doc.Pages[0].Items {
		if it.Part == bodyArt {
			got++
		}
	}
	assert.Equal(t, bodies, got)
	said := ""
	for _, s := range doc.Pages[0].Said {
		if s.Table != nil {
			for _, row := range s.Table.Rows {
				said += strings.Join(row, " ") + "\n"
			}
		}
	}
	for _, m := range r.Motions {
		assert.Contains(t, said, m.Player.Name)
	}
}
