package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/check"
)

// Room around a player on the floor of the section, in cm: between two players,
// behind who stands, and before everything.
const (
	besidePlayers = 40.0
	behindPlayers = 60.0
	beforePlayers = 60.0
)

// floor is the set-up of the whole section on one floor. What each player has
// stands as their own plan has it; where the players are is not written anywhere,
// so they stand side by side, from the left in the order of the piece.
func floor(r *check.Result, views []*part, opt Options) Doc {
	doc := Doc{Kind: "floor", Title: "Floor plan", Piece: pieceOf(r), Paper: opt.Paper, f: opt.faces()}
	fl := newFlow(&doc, "Floor plan of the section", "floor plan")
	g := &ground{part: views[0], d: fl.d}
	var counts []string
	marks := table{Caption: "Tape on the floor", Head: []string{"who", "from the left edge (m)", "from the back (m)"}, Lead: 1}
	list, wide, deep := sideBySide(views, fl.d)
	for _, s := range list {
		v, one, dx, dy := s.part, s.ground, s.right, s.ahead
		first := len(g.people)
		for i, s := range one.people {
			s.at.Right, s.at.Ahead = s.at.Right+dx, s.at.Ahead+dy
			if s.name = v.p.Name; i > 0 {
				s.name += ", " + one.station(i)
			}
			g.people = append(g.people, s)
			marks.Rows = append(marks.Rows, []string{s.name, fmt.Sprintf("%.2f", s.at.Right/100), fmt.Sprintf("%.2f", s.at.Ahead/100)})
		}
		for _, w := range one.walks {
			g.walks = append(g.walks, walk{w.a + first, w.b + first, w.times})
		}
		for _, t := range s.things() {
			if t.number = fmt.Sprint(len(g.things) + 1); t.table {
				t.short = "table"
			}
			g.things = append(g.things, t)
			counts = append(counts, counted1(&t))
		}
		g.takeDesks(one, dx, dy)
	}
	const edge, top, foot = 22.0, 34.0, 28.0
	box := Rect{margin0, fl.y + 6, fl.room(), (fl.bottom() - fl.y) * 0.55}
	g.k = min((box.W-edge)/wide, (box.H-top-foot)/deep)
	box.H = g.k*deep + top + foot
	g.x0, g.y0 = box.X+edge, box.Y+top+g.k*deep
	g.box = Rect{g.x0, box.Y + top, g.k * wide, g.k*deep + 15} // labels stay above its foot
	const seen = "The floor from above, to scale, the audience at the top. Heights are those of what is struck."
	end := fl.d.pictured(seen)
	g.floorEdges(wide, deep)
	for _, s := range g.people {
		g.arc(s.at, s.reach, 0.5)
	}
	g.tapeLine(wide)
	g.all(&[]Rect{})
	end()
	fl.y = box.Y + box.H + 6
	fl.d.say(seen)
	fl.para(fmt.Sprintf("%.1f × %.1f m. The players stand side by side, and the music where there is room for it, as nothing says otherwise; lines of the grid are half a metre apart.", wide/100, deep/100), false)
	for _, text := range append(g.clashWords(), g.deskWords()...) {
		fl.para(text, true)
	}
	fl.para(countWordsOf(counts, len(views)), false)
	fl.table(marks, 2, 1, 1)
	key := g.key()
	fl.table(key, 0.6, 2.4, 3.2, 2.4, 1)
	fl.care(cautionLift, cautionCables, cautionHouse)
	doc.finish()
	return doc
}

// tapeLine measures behind the floor how far the players' feet are from the corner
// on the left and from one another.
func (g *ground) tapeLine(wide float64) {
	const size, behind, tick = planSize, 19.0, 4.0
	feet := []float64{0}
	for _, s := range g.people {
		feet = append(feet, min(max(0, s.at.Right), wide))
	}
	slices.Sort(feet)
	y := g.y0 + behind
	for i := 1; i < len(feet); i++ {
		a, b := g.x0+g.k*feet[i-1], g.x0+g.k*feet[i]
		text := fmt.Sprintf("%.2f m", (feet[i]-feet[i-1])/100)
		g.d.line(b, y-tick, b, y+tick, 0.9, black)
		if i == 1 {
			g.d.line(a, y-tick, a, y+tick, 0.9, black)
		}
		w := g.d.f.width(text, size, true)
		if b-a < w+10 {
			g.d.line(a, y, b, y, 0.6, black)
			continue // the table has it
		}
		mid := (a + b) / 2
		g.d.line(a, y, mid-w/2-3, y, 0.6, black)
		g.d.line(mid+w/2+3, y, b, y, 0.6, black)
		g.d.centred(mid, y+2.8, text, size, true, black)
	}
}

// counted1 is the kind of thing that a body counts as.
func counted1(t *thing) string {
	if t.table {
		return "table"
	}
	return t.how
}

// countWordsOf counts the kinds of what stands on the floor.
func countWordsOf(kinds []string, players int) string {
	slices.Sort(kinds)
	var out []string
	for i := 0; i < len(kinds); {
		n := i
		for n < len(kinds) && kinds[n] == kinds[i] {
			n++
		}
		out = append(out, fmt.Sprintf("%s %d", kinds[i], n-i))
		i = n
	}
	slices.SortStableFunc(out, func(a, b string) int { return cmp.Compare(a, b) })
	return capital(strings.Join(append(out, fmt.Sprintf("music stand with a light %d", players)), " · ")) + "."
}

// floorEdges is the edge to the audience, the back, the conductor and the grid
// with its measures, from the corner at the back on the left.
func (g *ground) floorEdges(wide, deep float64) {
	d := g.d
	const step, size = 50.0, 7.5
	right, top := g.x0+g.k*wide, g.y0-g.k*deep
	for n := 0; float64(n)*step <= wide+0.01; n++ {
		x := g.x0 + float64(n)*step*g.k
		d.line(x, top, x, g.y0, 0.3, wash)
		if text := fmt.Sprint(n / 2); n == 0 {
			d.words(x-2, g.y0+9.5, "0 m", size, false, black).Part = smallPrint
		} else if n%2 == 0 && x < right-8 {
			d.centred(x, g.y0+9.5, text, size, false, black).Part = smallPrint
		}
	}
	for n := 0; float64(n)*step <= deep+0.01; n++ {
		y := g.y0 - float64(n)*step*g.k
		d.line(g.x0, y, right, y, 0.3, wash)
		if n%2 == 0 && n > 0 && y > top+6 {
			d.right(g.x0-4, y+2.6, fmt.Sprintf("%d", n/2), size, false, black).Part = smallPrint
		}
	}
	d.line(g.x0, top, g.x0, g.y0, 0.6, black)
	d.line(right, top, right, g.y0, 0.6, black)
	d.line(g.x0, g.y0, right, g.y0, 1.2, black)
	d.line(g.x0, top, right, top, 3, black)
	mid := (g.x0 + right) / 2
	d.centred(mid, top-18, "AUDIENCE", 10, true, black)
	d.centred(mid, top-5, "conductor", planSize, true, black)
}
