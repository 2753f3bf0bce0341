package sheet

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
)

// Nothing on a plan hides the edge of a thing, anywhere: what is drawn later is not
// filled where an outline runs.
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
			assert.Zero(t, hidden, "%s: %v", p.Title, a.Rect)
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

// What the check finds in one another, the plan names, by as many centimetres, and the
// picture shows: of two that are named the outlines meet by so much, and of others none.
func TestPlanCheckAndPictureSayTheSame(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 17))
	found, free := 0, 0
	for round := range 120 {
		text := "tempo 60\nplayer Ida\n  kit\n"
		things := []string{"timpani floor", "tom-toms on stand", "snare-drum on stand", "congas on stand", "temple-blocks on stand", "table"}
		r.Shuffle(len(things), func(i, k int) { things[i], things[k] = things[k], things[i] })
		for _, th := range things[:2+r.IntN(3)] {
			text += fmt.Sprintf("    %s at %s %d ahead %d\n", th, [...]string{"left", "right"}[r.IntN(2)], 1+r.IntN(80), 20+r.IntN(80))
		}
		for _, th := range things {
			if name := strings.Fields(th)[0]; name != "table" && strings.Contains(text, "    "+th) {
				text += fmt.Sprintf("  R %s | %s1\n", name, strings.Repeat("- | ", strings.Count(text, "  R ")))
			}
		}
		result := checked("set", text)
		require.Empty(t, result.Score.Problems, text)
		if len(result.Motions) == 0 {
			continue
		}
		g := &ground{part: newPart(result, 0, standardFaces())}
		g.collect()
		var said, drawn []string
		by := regexp.MustCompile(`(?:stand in one another by|hangs) (\d+) cm`)
		for _, f := range result.Findings {
			if f.Rule.Name == "same-space" {
				said = append(said, by.FindStringSubmatch(f.Message())[1])
			}
		}
		assumed := slices.ContainsFunc(g.p.Tables, func(t score.Table) bool { return t.Assumed })
		var named []string
		for _, w := range g.clashWords() {
			if !(assumed && strings.Contains(w, "(T)")) { // no line of the text places that
				named = append(named, by.FindStringSubmatch(w)[1])
			}
		}
		for k := range g.things {
			for _, a := range g.things[k].bodies {
				for i := range k {
					for _, b := range g.things[i].bodies {
						if a.Round && b.Round && a.High-b.Low > 0 && b.High-a.Low > 0 { // discs on one level, by their own measure
							if deep := (a.Wide+b.Wide)/2 - math.Hypot(a.At.Right-b.At.Right, a.At.Ahead-b.At.Ahead); deep > 2.01 {
								drawn = append(drawn, g.things[i].name)
							}
						}
					}
				}
			}
		}
		slices.Sort(said)
		slices.Sort(named)
		assert.Equal(t, said, named, "%d:\n%s", round, text)
		if len(drawn) > 0 {
			assert.NotEmpty(t, said, "%d: %v\n%s", round, drawn, text)
		}
		if found += len(said); len(said) == 0 {
			free++
		}
	}
	assert.Greater(t, found, 30)
	assert.Greater(t, free, 5)
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
	toms := checked("x", "player Ida\n  R tom-toms | 1:high 2:low\n")
	drums := 0
	for _, it := range newPart(toms, 0, standardFaces()).plan(Papers()[0]).Pages[0].Items {
		if it.Part == bodyArt && it.Kind == disc {
			drums++
		}
	}
	assert.Equal(t, 4, drums, "each of the toms")
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

// The music stands where nothing else does, before each place at which somebody stands;
// where there is no room for it, that is said.
func TestTheMusicStandsWhereThereIsRoom(t *testing.T) {
	desks := 0
	look := func(r *check.Result) {
		for i, m := range r.Motions {
			g := &ground{part: newPart(r, i, standardFaces())}
			g.collect()
			g.addDesks()
			assert.Len(t, m.Player.Stations, len(g.desks)+len(g.deskless))
			assert.Len(t, g.deskWords(), len(g.deskless))
			desks += len(g.desks)
			for _, d := range g.desks {
				for right := -d.Wide / 2; right <= d.Wide/2; right++ {
					for ahead := -d.Deep / 2; ahead <= d.Deep/2; ahead++ {
						p := body.Point{Right: d.At.Right + right, Ahead: d.At.Ahead + ahead}
						for _, th := range g.things {
							for _, b := range th.bodies {
								require.Positive(t, b.Near(p), "%s: %s at %v", m.Player.Name, th.name, p)
							}
						}
					}
				}
			}
		}
	}
	for name, text := range pieces() {
		look(checked(name, text))
	}
	assert.Greater(t, desks, 20)
}
