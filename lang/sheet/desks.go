package sheet

import (
	"fmt"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/room"
)

// A music stand seen from above, and where it is looked for, in cm: before the player,
// as near as nothing else stands there, and a little to the side rather than far off
// (common practice, no source).
const (
	deskWide  = 48.0
	deskDeep  = 9.0
	deskLight = 3.5              // half of the lamp's width
	deskNear  = 5 * deskDeep     // before the feet
	deskFar   = 3 * deskWide     // beyond which nobody reads it
	deskStep  = deskDeep / 2     // from one place that is tried to the next
	deskAside = deskWide * 5 / 8 // from straight ahead
	deskApart = deskDeep / 2     // from everything else
)

// addDesks finds a place for the music of each place at which the player stands. Nothing
// says where it is; where there is no room for it, it is named.
func (g *ground) addDesks() {
	for _, s := range g.people {
		if at, ok := g.deskFor(s.at); ok {
			g.desks = append(g.desks, room.Body{At: at, Wide: deskWide, Deep: deskDeep})
		} else {
			g.deskless = append(g.deskless, s)
		}
	}
}

// takeDesks adds the music stands of a player to those of the section.
func (g *ground) takeDesks(one *ground, dx, dy float64) {
	for _, d := range one.desks {
		g.desks = append(g.desks, d.Moved(dx, dy))
	}
	for _, s := range one.deskless {
		s.name = one.p.Name
		g.deskless = append(g.deskless, s)
	}
}

// deskFor is a free place for a music stand before somebody.
func (g *ground) deskFor(you body.Point) (body.Point, bool) {
	for far := deskNear; far <= deskFar; far += deskStep {
		for aside := 0.0; aside <= deskAside; aside += deskStep * 2 {
			for _, side := range []float64{aside, -aside} {
				at := body.Point{Right: you.Right + side, Ahead: you.Ahead + far}
				if !slices.ContainsFunc(g.things, func(t thing) bool {
					return slices.ContainsFunc(t.bodies, func(b room.Body) bool { return b.Near(deskNearest(at, b)) <= deskApart })
				}) && !slices.ContainsFunc(g.desks, func(d room.Body) bool { return d.Near(deskNearest(at, d)) <= deskApart }) {
					return at, true
				}
			}
		}
	}
	return body.Point{}, false
}

// deskNearest is the place of a music stand's desk that is nearest to the middle of a body.
func deskNearest(desk body.Point, b room.Body) body.Point {
	within := func(x, mid, half float64) float64 { return max(mid-half, min(x, mid+half)) }
	return body.Point{
		Right: within(b.At.Right, desk.Right, deskWide/2),
		Ahead: within(b.At.Ahead, desk.Ahead, deskDeep/2),
	}
}

// drawDesks draws the music stands with their lights.
func (g *ground) drawDesks(taken *[]Rect) {
	for _, d := range g.desks {
		x, y := g.on(d.At)
		r := Rect{x - g.k*deskWide/2, y - g.k*deskDeep/2, g.k * deskWide, g.k * deskDeep}
		g.d.box(r, black, noInk, 0.8)
		g.d.line(x, r.Y, x, r.Y+r.H, 0.6, black)
		lamp := max(1.2, g.k*deskLight)
		g.d.disc(r.X+r.W-lamp, r.Y-lamp, lamp, black, white, 0.8)
		*taken = append(*taken, Rect{r.X, r.Y - 2*lamp, r.W, r.H + 2*lamp})
		const small = 7.5
		const text = "music, light"
		w := g.d.f.width(text, small, false)
		if label := (Rect{r.X, r.Y - 10, w, 9}); w < r.W-2*lamp-2 && !slices.ContainsFunc(*taken, func(o Rect) bool { return o != (*taken)[len(*taken)-1] && label.meets(o) }) {
			g.d.words(label.X, r.Y-2.2, text, small, false, black).Part = smallPrint
			*taken = append(*taken, label)
		}
	}
}

// deskWords says for whom there is no room for a music stand.
func (g *ground) deskWords() (out []string) {
	for _, s := range g.deskless {
		who := s.name
		if who == "" {
			who = g.p.Name
		}
		out = append(out, fmt.Sprintf("! There is no room for a music stand before %s.", who))
	}
	return out
}
