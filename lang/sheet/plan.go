package sheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
)

// plan draws a player's set-up from above, to scale, for whoever builds it:
// the conductor is at the top.
func (v *part) plan(paper Paper) Doc {
	doc := v.doc("plan", "Set-up plan", paper)
	fl := newFlow(&doc, v.p.Name+": set-up plan", "set-up plan")
	g := &ground{part: v, d: fl.d}
	g.collect()
	g.addDesks()
	g.fit(Rect{margin0, fl.y + 4, fl.room(), min(fl.room(), (fl.bottom()-fl.y)*0.6)})
	const seen = "Seen from above, to scale, the conductor at the top. Places are in centimetres from where the player stands; heights are those of what is struck, from the floor."
	end := fl.d.pictured("The set-up. " + seen)
	g.draw()
	end()
	fl.y += g.box.H + 10
	fl.d.say(seen)
	fl.table(g.key(), 0.6, 2.6, 2.6, 2.6, 1)
	for _, text := range g.words() {
		fl.para(text, false)
	}
	v.howLines(fl)
	fl.care(cautionLift, cautionCables, cautionHouse)
	doc.finish()
	return doc
}

// planSize is that of what is read on a plan from where one builds it: names, ways and
// measures.
const planSize = 10.2

// A ground is a plan being drawn.
type ground struct {
	*part
	d      pen
	things []thing
	people []stander
	walks  []walk
	desks  []room.Body // music stands
	box    Rect        // of the drawing on the page
	k      float64     // points a centimetre
	x0, y0 float64     // where nothing is to the right and nothing ahead

	deskless []stander // who has no room for one
}

// A thing is what stands on the ground: an instrument or a table.
type thing struct {
	bodies  []room.Body // of a set whose drums stand by themselves each
	members []string    // what those are called
	number  string
	name    string
	short   string
	how     string
	height  float64  // of what is struck, above the floor, as it usually is; 0: nothing says it
	lift    float64  // how much higher it is set
	above   []string // and over what
	place   string
	table   bool
	lies    []string    // what lies on a table, in the order of use
	item    *score.Item // nil: a table
	placed  bool        // one of a set that the text places by itself
}

// A stander is where somebody stands or sits.
type stander struct {
	at          body.Point
	name        string
	reach, lean float64
}

// A walk is a way between two of the places and how often it is gone.
type walk struct {
	a, b  int
	times int
}

func (g *ground) collect() {
	for i, s := range g.p.Stations {
		who := stander{at: s.At, reach: g.p.Profile.Reach, lean: g.p.Profile.Lean}
		if i > 0 {
			who.name = s.Name
		}
		g.people = append(g.people, who)
	}
	n := 0
	for _, it := range g.items() {
		if mount := g.mountOf(it); mount != kit.OnBody && (mount != kit.Held || it.Placed) { // else worn, or lies on the table: see the words
			if len(it.Apart) == 0 || mount == kit.Held {
				n++
				g.things = append(g.things, g.thing(it, n))
				continue
			}
			for k := range it.Inst.Row() { // each drum is put up by itself
				n++
				g.things = append(g.things, g.one(it, k+1, n))
			}
		}
	}
	for i := range g.p.Tables {
		g.things = append(g.things, g.table(i))
	}
	g.raise()
	g.countWalks()
}

// thing is what stands where, by its number on the plan.
func (g *ground) thing(it *score.Item, n int) thing {
	mount := g.mountOf(it)
	t := thing{item: it, name: it.Called(), short: it.Short(), how: mount.String(), number: fmt.Sprint(n)}
	spot := g.p.SpotOf(it)
	if t.bodies = g.p.BodiesOf(it); len(t.bodies) > 0 {
		t.height = room.Height(it.Inst, it.Stands, spot)
	} else {
		r := 2 * max(6, it.Inst.Zone/2)
		t.bodies = []room.Body{{At: it.At, Wide: r, Deep: r, Round: true}}
	}
	if len(t.bodies) > 1 {
		t.members = it.Inst.MemberWords()
		for i := range it.Inst.Kettles {
			t.members[i] = "kettle " + t.members[i]
		}
	}
	t.place = g.placeWords(it.At, it.Station)
	if turn := room.Turned(it.Facing); turn != 0 {
		t.place += fmt.Sprintf(", turned %.0f°", turn)
	}
	if !it.Placed {
		t.place += ", assumed"
	}
	if others := g.alsoAt(it); len(others) > 0 {
		t.place += ", shared with " + strings.Join(others, ", ")
	}
	return t
}

// alsoAt are the others who stand at a thing of the player's.
func (g *ground) alsoAt(it *score.Item) (names []string) {
	for _, shared := range g.Shared {
		if shared.Name != it.Name || !g.p.StandsAt(shared) {
			continue
		}
		for _, p := range g.Players {
			if p != g.p && p.StandsAt(shared) {
				names = append(names, p.Name)
			}
		}
	}
	return names
}

// one is one of a set whose drums are placed one by one.
func (g *ground) one(it *score.Item, member, n int) thing {
	t := g.thing(it, n)
	which := it.Inst.MemberWords()[member-1]
	t.name, t.short = t.name+": "+which, t.short+" "+which
	t.members = nil
	if member <= len(t.bodies) {
		t.bodies = t.bodies[member-1 : member]
	}
	t.place = g.placeWords(it.MemberAt(member), it.Station)
	if t.placed = slices.ContainsFunc(it.Apart, func(a score.Apart) bool { return a.N == member }); !t.placed {
		t.place += ", as it usually stands"
	}
	return t
}

// table is one of the player's tables.
func (g *ground) table(i int) thing {
	tb := g.p.Tables[i]
	t := thing{bodies: []room.Body{room.Table(tb.At, tb.Facing)}, table: true, number: "T", name: "table", how: "padded", place: g.placeWords(tb.At, tb.Station)}
	t.height = t.main().High
	if len(g.p.Tables) > 1 {
		t.number = fmt.Sprintf("T%d", i+1)
	}
	if tb.Assumed {
		t.place += ", assumed"
	}
	if lies := g.liesOn(i); len(lies) > 0 {
		t.how, t.lies = "with "+strings.Join(lies, ", "), lies
	}
	return t
}

// main is that of its bodies which its name belongs to.
func (t *thing) main() room.Body { return t.bodies[(len(t.bodies)-1)/2] }

// outline is the edge of a body seen from above; nil where it is round.
func outline(b room.Body) []body.Point {
	if b.Round {
		return nil
	}
	sin, cos := math.Sincos(b.Turn * math.Pi / 180)
	var out []body.Point
	for _, c := range [][2]float64{{-1, 1}, {1, 1}, {1, -1}, {-1, -1}} {
		x, y := c[0]*b.Wide/2, c[1]*b.Deep/2
		out = append(out, body.Point{Right: b.At.Right + x*cos + y*sin, Ahead: b.At.Ahead + y*cos - x*sin})
	}
	return out
}

// spans is half of how wide and how deep a body is on the plan.
func spans(b room.Body) (w, h float64) {
	if b.Round {
		return b.Wide / 2, b.Wide / 2
	}
	for _, c := range outline(b) {
		w, h = max(w, math.Abs(c.Right-b.At.Right)), max(h, math.Abs(c.Ahead-b.At.Ahead))
	}
	return w, h
}

// countWalks counts how often the player goes from station to station.
func (g *ground) countWalks() {
	at := 0
	for i := range g.m.Events {
		it := g.m.Events[i].Item()
		if it == nil || g.m.Events[i].Limbs == 0 || it.Station == at {
			continue
		}
		a, b := min(at, it.Station), max(at, it.Station)
		k := slices.IndexFunc(g.walks, func(w walk) bool { return w.a == a && w.b == b })
		if k < 0 {
			g.walks = append(g.walks, walk{a, b, 0})
			k = len(g.walks) - 1
		}
		g.walks[k].times++
		at = it.Station
	}
}

// extent is how far the plan goes, with so much room around people.
func (g *ground) extent(aside, behind, before float64) (left, right, near, far float64) {
	left, right, near, far = math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, s := range g.people {
		left, right = min(left, s.at.Right-aside), max(right, s.at.Right+aside)
		near, far = min(near, s.at.Ahead-behind), max(far, s.at.Ahead+before)
	}
	for i := range g.things {
		for _, b := range g.things[i].bodies {
			w, h := spans(b)
			left, right = min(left, b.At.Right-w), max(right, b.At.Right+w)
			near, far = min(near, b.At.Ahead-h), max(far, b.At.Ahead+h)
		}
	}
	for _, d := range g.desks {
		left, right = min(left, d.At.Right-d.Wide/2), max(right, d.At.Right+d.Wide/2)
		near, far = min(near, d.At.Ahead-d.Deep/2), max(far, d.At.Ahead+d.Deep/2+4*deskLight)
	}
	return left, right, near, far
}

// fit finds the scale at which everything is on the drawing.
func (g *ground) fit(box Rect) {
	g.box = box
	lean := g.p.Profile.Lean
	left, right, near, far := g.extent(lean, 24, lean)
	const edge, top, foot = 12.0, 26.0, 30.0
	g.k = min((box.W-2*edge)/(right-left), (box.H-top-foot)/(far-near))
	g.box.H = g.k*(far-near) + top + foot
	g.x0 = box.X + box.W/2 - g.k*(left+right)/2
	g.y0 = box.Y + top + g.k*far
}

func (g *ground) on(p body.Point) (x, y float64) { return g.x0 + g.k*p.Right, g.y0 - g.k*p.Ahead }

func (g *ground) draw() {
	d := g.d
	d.box(g.box, pale, noInk, 0.6)
	g.grid()
	conductor := d.centred(g.box.X+g.box.W/2, g.box.Y+14, "↑ conductor", planSize, true, black).Rect
	for _, s := range g.people {
		g.arc(s.at, s.reach, 0.8)
		g.arc(s.at, s.lean, 0.4)
	}
	g.all(&[]Rect{conductor})
	g.rule()
}

// all draws the ways, the people, the bodies and what they are.
func (g *ground) all(taken *[]Rect) {
	for _, w := range g.walks {
		g.way(w, taken)
	}
	for _, s := range g.people {
		x, y := g.on(s.at)
		g.person(x, y)
		*taken = append(*taken, Rect{x - g.k*shoulderR, y - max(3, g.k*headR), 2 * g.k * shoulderR, 2 * max(3, g.k*headR)})
	}
	g.bodies(1.3)
	g.drawDesks(taken)
	for _, s := range g.people {
		if s.name == "" {
			continue
		}
		x, y := g.on(s.at)
		y += max(3, g.k*headR) + 7
		w := g.d.f.width(s.name, planSize, true)
		r, _ := g.roomFor(nil, x, y, w, 11, *taken, true)
		g.d.words(r.X, r.Y+9, s.name, planSize, true, black)
		*taken = append(*taken, r)
	}
	order := make([]int, len(g.things))
	for i := range order {
		order[i] = i
	}
	// What is small has least choice where its name stands beside it.
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(g.area(a), g.area(b)) })
	for _, i := range order {
		g.label(&g.things[i], taken)
	}
}

func (g *ground) area(i int) float64 {
	b := g.things[i].main()
	if b.Round {
		return b.Wide * b.Wide * math.Pi / 4
	}
	return b.Wide * b.Deep
}

// bodies draws tables first and then every outline, none of which hides another.
func (g *ground) bodies(thick float64) {
	for _, tables := range []bool{true, false} {
		for i := range g.things {
			t := &g.things[i]
			if t.table != tables {
				continue
			}
			fill := noInk
			if t.table {
				fill = wash
			}
			for _, b := range t.bodies {
				g.body(b, fill, thick).Part = bodyArt
			}
		}
	}
}

func (g *ground) body(b room.Body, fill ink, thick float64) *item {
	x, y := g.on(b.At)
	w, h := spans(b)
	switch {
	case b.Round:
		return g.d.disc(x, y, g.k*w, black, fill, thick)
	case math.Mod(b.Turn, 90) == 0:
		return g.d.box(Rect{x - g.k*w, y - g.k*h, 2 * g.k * w, 2 * g.k * h}, black, fill, thick)
	}
	corners := outline(b)
	if fill != noInk {
		p := pictogram{box: Rect{x - g.k*w, y - g.k*h, 2 * g.k * w, 2 * g.k * h}}
		for i, c := range corners {
			cx, cy := g.on(c)
			op := byte('L')
			if i == 0 {
				op = 'M'
			}
			p.segments = append(p.segments, segment{Op: op, At: [6]float64{cx, cy}})
		}
		g.d.outline(p, 0, 0, 1, fill)
	}
	for i, c := range corners {
		x1, y1 := g.on(c)
		x2, y2 := g.on(corners[(i+1)%4])
		g.d.line(x1, y1, x2, y2, thick, black)
	}
	return &g.d.Items[len(g.d.Items)-1]
}

// thumbnail draws the plan small, without words.
func (g *ground) thumbnail(r Rect) {
	left, right, near, far := g.extent(shoulderR, 12, 30)
	g.k = min(r.W/(right-left), r.H/(far-near))
	g.x0, g.y0 = r.X+r.W/2-g.k*(left+right)/2, r.Y+r.H/2+g.k*(near+far)/2
	for _, s := range g.people {
		x, y := g.on(s.at)
		g.d.line(x-g.k*shoulderR, y, x+g.k*shoulderR, y, max(1.5, g.k*7), black)
		g.d.disc(x, y, max(1.8, g.k*headR), noInk, black, 0)
	}
	g.bodies(0.7)
	var taken []Rect
	for i := range g.things {
		t := &g.things[i]
		const size = 6.5
		x, y := g.on(t.main().At)
		w := g.d.f.width(t.number, size, true)
		if box := (Rect{x - w/2, y - 3, w, 6}); !t.table && !slices.ContainsFunc(taken, box.meets) {
			taken = append(taken, box)
			g.d.centred(x, y+2.4, t.number, size, true, black).Part = smallPrint
		}
	}
}

// grid is lines half a metre apart, from where the player stands.
func (g *ground) grid() {
	const step = 50.0
	for n := math.Ceil((g.box.X - g.x0) / g.k / step); g.x0+n*step*g.k < g.box.X+g.box.W; n++ {
		g.d.line(g.x0+n*step*g.k, g.box.Y, g.x0+n*step*g.k, g.box.Y+g.box.H, 0.3, wash)
	}
	for n := math.Ceil((g.y0 - g.box.Y - g.box.H) / g.k / step); g.y0-n*step*g.k > g.box.Y; n++ {
		g.d.line(g.box.X, g.y0-n*step*g.k, g.box.X+g.box.W, g.y0-n*step*g.k, 0.3, wash)
	}
}

// arc is how far the arms go: a broken line before a player, as far round as one
// turns without stepping.
func (g *ground) arc(at body.Point, r, thick float64) {
	const steps, from, to = 60, -100.0, 100.0
	for i := 0; i < steps; i += 2 {
		a, b := (from+(to-from)*float64(i)/steps)*math.Pi/180, (from+(to-from)*float64(i+1)/steps)*math.Pi/180
		x1, y1 := g.on(body.Point{Right: at.Right + r*math.Sin(a), Ahead: at.Ahead + r*math.Cos(a)})
		x2, y2 := g.on(body.Point{Right: at.Right + r*math.Sin(b), Ahead: at.Ahead + r*math.Cos(b)})
		g.d.line(x1, y1, x2, y2, thick, middling)
	}
}

// headR is half the width of a head, and shoulderR of the shoulders, in cm.
const (
	headR     = 8.0
	shoulderR = 21.0
)

func (g *ground) person(x, y float64) {
	g.d.line(x-g.k*shoulderR, y, x+g.k*shoulderR, y, max(2, g.k*5), black)
	g.d.disc(x, y, max(3, g.k*headR), noInk, black, 0)
}

// way is a path that is walked, thicker the more often, with its length and how
// often.
func (g *ground) way(w walk, taken *[]Rect) {
	a, b := g.people[w.a].at, g.people[w.b].at
	x1, y1 := g.on(a)
	x2, y2 := g.on(b)
	g.d.line(x1, y1, x2, y2, min(6, 1.5+0.5*float64(w.times)), pale)
	text := fmt.Sprintf("%.1f m, %d×", math.Hypot(a.Right-b.Right, a.Ahead-b.Ahead)/100, w.times)
	mx, my := (x1+x2)/2, (y1+y2)/2
	width := g.d.f.width(text, planSize, true)
	r := Rect{mx - width/2 - 2, my - 7, width + 4, 13}
	g.d.box(r, noInk, white, 0)
	g.d.centred(mx, my+3, text, planSize, true, black)
	*taken = append(*taken, r)
}

// label writes what a thing is: inside where there is room and no other outline
// runs through it, else beside with a line to it.
func (g *ground) label(t *thing, taken *[]Rect) {
	const size, small = planSize, 7.5
	first, second := t.short, t.high()
	if second != "" {
		second += " cm"
	}
	if t.table {
		first, second = "", ""
	} else if t.how != "" {
		second = strings.TrimPrefix(second+", "+t.how, ", ")
	}
	x, y := g.on(t.main().At)
	if t.table && g.tableLabel(t, x, y, taken) {
		return
	}
	tag := g.d.f.width(t.number, size, true) + 5
	w, h := tag, 12.0
	if first != "" {
		w = tag + 3 + max(g.d.f.width(first, size, true), g.d.f.width(second, small, false))
	}
	if second != "" {
		h = 21
	}
	// The table has in full what is left out for want of room near by.
	tries := []labelTry{{first, second, w, h, size}, {first, "", tag + 3 + g.d.f.width(first, size, true), 12, size}, {"", "", tag, 12, size},
		{"", "", g.d.f.width(t.number, small, true) + 3, 9, small}}
	if first == "" {
		tries = tries[2:]
	}
	r, fits, ok := g.nearest(t, x, y, tries, *taken)
	first, second = fits.first, fits.second
	if fits.size == small {
		tag = fits.w
	}
	*taken = append(*taken, r)
	if dots := g.leader(t, r); len(dots) > 0 {
		a, b := dots[0], dots[len(dots)-1]
		g.d.line(a.X+a.W/2, a.Y+a.H/2, b.X+b.W/2, b.Y+b.H/2, 0.5, black)
		*taken = append(*taken, dots...)
	}
	if ok && !slices.ContainsFunc(g.things, func(o thing) bool { return o.table && g.inside(o.main(), r) }) {
		it := g.d.box(r, noInk, white, 0) // over the grid and the rings, and over no outline
		it.Part = plainArt
	}
	ink, base := black, r.Y+fits.h/2+0.32*fits.size
	if first != "" {
		base = r.Y + 9.2
	}
	if !t.table {
		ink = white
		g.d.disc(r.X+tag/2, base-0.32*fits.size, max(0.59*fits.size, tag/2), noInk, black, 0)
	}
	number := g.d.centred(r.X+tag/2, base, t.number, fits.size, true, ink)
	if fits.size == small {
		number.Part = smallPrint
	}
	if t.table {
		return
	}
	if first != "" {
		g.d.words(r.X+tag+3, r.Y+9.2, first, size, true, black)
	}
	if second != "" {
		g.d.words(r.X+tag+3, r.Y+18.6, second, small, false, black).Part = smallPrint
	}
	g.memberNames(t, taken)
}

// A labelTry is what a label says, and the room that it takes.
type labelTry struct {
	first, second string
	w, h, size    float64 // of its number
}

// farLabel is how far from its thing a label still belongs to it at a glance, in points.
const farLabel = 120.0

// nearest is the first of some labels that has room near its thing, else that of them
// which stands nearest to it; the last one, wherever it is, where none has room.
func (g *ground) nearest(t *thing, x, y float64, tries []labelTry, taken []Rect) (best Rect, is labelTry, ok bool) {
	least := math.Inf(1)
	for _, try := range tries {
		r, free := g.roomFor(t, x, y, try.w, try.h, taken, true)
		if !free {
			continue
		}
		far := math.Hypot(max(r.X-x, 0, x-r.X-r.W), max(r.Y-y, 0, y-r.Y-r.H))
		if far < least {
			best, is, ok, least = r, try, true, far
		}
		if least <= farLabel {
			return best, is, true
		}
	}
	if !ok {
		is = tries[len(tries)-1]
		best, _ = g.roomFor(t, x, y, is.w, is.h, taken, false)
	}
	return best, is, ok
}

// memberNames says which drum of a set is which, for whoever tunes or builds them,
// where there is room in it.
func (g *ground) memberNames(t *thing, taken *[]Rect) {
	const small = 7.5
	for i, text := range t.members {
		b := t.bodies[i]
		w := g.d.f.width(text, small, false)
		x, y := g.on(b.At)
		if b == t.main() {
			y += 22
		}
		r := Rect{x - w/2, y - 5, w, 10}
		if w+6 > g.k*b.Wide || slices.ContainsFunc(*taken, r.meets) || slices.ContainsFunc(g.things, func(o thing) bool {
			return slices.ContainsFunc(o.bodies, func(b room.Body) bool { return g.crosses(b, r) })
		}) {
			continue
		}
		g.d.centred(x, y+2.5, text, small, false, black).Part = smallPrint
		*taken = append(*taken, r)
	}
}

// tableLabel writes into a table its number and what lies on it, in the order of
// use, where there is room for all of it.
func (g *ground) tableLabel(t *thing, x, y float64, taken *[]Rect) bool {
	const size, small, lead = planSize, 7.5, 8.5
	if len(t.lies) == 0 {
		return false
	}
	w := g.d.f.width(t.number, size, true)
	for _, text := range t.lies {
		w = max(w, g.d.f.width(text, small, false))
	}
	w += 4
	h := 12 + lead*float64(len(t.lies)) + 2
	halfW, halfH := spans(t.main())
	if w > 2*g.k*halfW-4 || h > 2*g.k*halfH-4 {
		return false
	}
	r, ok := g.roomFor(t, x, y, w, h, *taken, true)
	if !ok || r.X < x-g.k*halfW+1 || r.X+w > x+g.k*halfW-1 || r.Y < y-g.k*halfH+1 || r.Y+h > y+g.k*halfH-1 {
		return false
	}
	*taken = append(*taken, r)
	g.d.centred(r.X+w/2, r.Y+9.2, t.number, size, true, black)
	for i, text := range t.lies {
		g.d.centred(r.X+w/2, r.Y+9.2+lead*float64(i+1), text, small, false, black).Part = smallPrint
	}
	return true
}

// leader is the line from a label that stands beside its thing to the edge of
// that, as a row of dots; nil where there is none.
func (g *ground) leader(t *thing, r Rect) (out []Rect) {
	x, y := g.on(t.main().At)
	if g.inside(t.main(), r) {
		return nil
	}
	ex, ey := max(r.X, min(x, r.X+r.W)), max(r.Y, min(y, r.Y+r.H))
	w, h := spans(t.main())
	far, edge := math.Hypot(ex-x, ey-y), g.k*min(w, h)*0.8
	if far <= edge {
		return nil
	}
	const dot = 1.0
	n := max(2, int((far-edge)/dot))
	for i := range n + 1 {
		k := 1 - (1-edge/far)*float64(i)/float64(n)
		out = append(out, Rect{x + (ex-x)*k - dot/2, y + (ey-y)*k - dot/2, dot, dot})
	}
	return out
}

// roomFor looks for a place near a thing where a label lies on no other, inside
// the drawing, and, if it is to be clear, where no outline runs through it.
func (g *ground) roomFor(t *thing, x, y, w, h float64, taken []Rect, clear bool) (Rect, bool) {
	last := Rect{x - w/2, y - h/2, w, h}
	for turn := range 400 {
		angle, far := float64(turn)*2.4, 0.9*float64(turn)
		r := Rect{x + far*math.Cos(angle)*1.3 - w/2, y + far*math.Sin(angle) - h/2, w, h}
		if r.X < g.box.X+3 || r.Y < g.box.Y+2 || r.X+r.W > g.box.X+g.box.W-3 || r.Y+r.H > g.box.Y+g.box.H-15 {
			continue
		}
		wide := Rect{r.X - 2.5, r.Y - 2, r.W + 5, r.H + 4}
		if slices.ContainsFunc(taken, wide.meets) {
			continue
		}
		if clear && (g.onWay(wide) || slices.ContainsFunc(g.things, func(o thing) bool {
			return slices.ContainsFunc(o.bodies, func(b room.Body) bool {
				return g.crosses(b, wide) || t != nil && o.number != t.number && (g.area2(&o) < g.area2(t) || !g.inside(t.main(), r)) && g.inside(b, r)
			})
		}) || t != nil && slices.ContainsFunc(g.leader(t, r), func(l Rect) bool { return slices.ContainsFunc(taken, l.meets) })) {
			continue
		}
		return r, true
	}
	return last, false
}

// onWay says whether a way that is walked runs through a place on the page.
func (g *ground) onWay(r Rect) bool {
	return slices.ContainsFunc(g.walks, func(w walk) bool {
		x1, y1 := g.on(g.people[w.a].at)
		x2, y2 := g.on(g.people[w.b].at)
		for i := range 101 {
			k := float64(i) / 100
			if x, y := x1+(x2-x1)*k, y1+(y2-y1)*k; x > r.X && x < r.X+r.W && y > r.Y && y < r.Y+r.H {
				return true
			}
		}
		return false
	})
}

func (g *ground) area2(t *thing) float64 { w, h := spans(t.main()); return w * h }

// crosses says whether the outline of a body runs through a place on the page.
func (g *ground) crosses(b room.Body, r Rect) bool {
	x, y := g.on(b.At)
	if w, h := spans(b); !r.meets(Rect{x - g.k*w, y - g.k*h, 2 * g.k * w, 2 * g.k * h}) {
		return false
	}
	const fine = 4.0 // points from one place that is looked at to the next
	steps := 4 * max(12, int(math.Ceil(g.k*max(b.Wide, b.Deep)/fine)))
	in := func(p body.Point) bool {
		x, y := g.on(p)
		return x > r.X && x < r.X+r.W && y > r.Y && y < r.Y+r.H
	}
	corners := outline(b)
	for i := range steps {
		var p body.Point
		if b.Round {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(steps))
			p = body.Point{Right: b.At.Right + b.Wide/2*cos, Ahead: b.At.Ahead + b.Wide/2*sin}
		} else {
			a, z := corners[i%4], corners[(i+1)%4]
			k := float64(i/4) / float64(steps/4)
			p = body.Point{Right: a.Right + (z.Right-a.Right)*k, Ahead: a.Ahead + (z.Ahead-a.Ahead)*k}
		}
		if in(p) {
			return true
		}
	}
	return false
}

// inside says whether the middle of a place on the page is within a body.
func (g *ground) inside(b room.Body, r Rect) bool {
	p := body.Point{Right: (r.X + r.W/2 - g.x0) / g.k, Ahead: (g.y0 - r.Y - r.H/2) / g.k}
	return b.Near(p) <= 0
}

// key says what the numbers are.
func (g *ground) key() table {
	t := table{Caption: "What stands where", Head: []string{"no.", "what", "how", "where (cm)", "height (cm)"}, Lead: 2}
	for _, th := range g.things {
		t.Rows = append(t.Rows, []string{th.number, th.name, th.how, th.place, th.high()})
	}
	return t
}

// clashWords names bodies that stand in one another, as the check has it for what
// the text places, and here for the rest too.
func (g *ground) clashWords() (out []string) {
	for k := range g.things {
		for i := range k {
			a, b := &g.things[i], &g.things[k]
			if a.item != nil && b.item != nil && (room.Shares(a.item.Inst, b.item.Inst) || a.item == b.item && !(a.placed && b.placed)) || a.main().High == 0 || b.main().High == 0 {
				continue
			}
			if clash, ok := room.Between(a.bodies, b.bodies); ok {
				out = append(out, fmt.Sprintf("! %s (%s) and %s (%s) stand in one another by %.0f cm.", capital(a.name), a.number, b.name, b.number, clash.Deep))
			}
		}
	}
	return out
}

// A hang is one thing that hangs over another one, and with which bodies.
type hang struct {
	upper, lower *thing
	over, under  room.Body
}

// hangs are all of them, by how high things usually are.
func (g *ground) hangs() (out []hang) {
	for k := range g.things {
		for i := range g.things {
			a, b := &g.things[k], &g.things[i]
			if a.item == nil || b.item == nil || a.item == b.item || room.Shares(a.item.Inst, b.item.Inst) {
				continue
			}
			for _, over := range a.bodies {
				for _, under := range b.bodies {
					if over.HangsOver(under) {
						out = append(out, hang{a, b, over, under})
					}
				}
			}
		}
	}
	return out
}

// raise sets what hangs over something else as much higher than it usually is as keeps it
// clear of that and of the sticks that strike it, one upon the other.
func (g *ground) raise() {
	hangs := g.hangs()
	slices.SortStableFunc(hangs, func(a, b hang) int { // what is lifted may lift what hangs over it in turn
		return cmp.Or(cmp.Compare(last(a.over), last(b.over)), cmp.Compare(a.over.Low, b.over.Low))
	})
	for i := range hangs {
		hangs[i].raise()
	}
}

// last orders what floats behind what stands: it hangs over all of that.
func last(b room.Body) int {
	if b.Floats {
		return 1
	}
	return 0
}

// raise sets the upper thing higher, by whole steps of five centimetres.
func (h *hang) raise() {
	t := h.upper
	by := h.over.Raised(t.lift).Lift(h.under.Raised(h.lower.lift))
	if by <= 0 || t.height == 0 {
		return
	}
	t.lift += math.Ceil(by/5) * 5
	if name := fmt.Sprintf("%s (%s)", h.lower.name, h.lower.number); !slices.Contains(t.above, name) {
		t.above = append(t.above, name)
	}
}

// liftWords say what is set higher than it usually is, and over what.
func (g *ground) liftWords() (out []string) {
	for i := range g.things {
		if t := &g.things[i]; t.lift > 0 {
			out = append(out, fmt.Sprintf("%s (%s) hangs over %s: it is set %.0f cm higher than usual, clear of the sticks.", capital(t.name), t.number, andWords(t.above), t.lift))
		}
	}
	return out
}

// high is how high above the floor what is struck is, in centimetres.
func (t *thing) high() string {
	if t.height == 0 {
		return ""
	}
	return fmt.Sprintf("%.0f", t.height+t.lift)
}

// words is what the drawing does not say.
func (g *ground) words() []string {
	out := append(append(g.clashWords(), g.liftWords()...), g.deskWords()...)
	if len(g.desks) > 0 {
		out = append(out, "Nothing says where the music stands: it is drawn where there is room for it.")
	}
	var loose []string
	for _, it := range g.items() {
		if g.mountOf(it) == kit.Held && !it.Placed {
			loose = append(loose, it.Called())
		}
	}
	if len(loose) > 0 {
		out = append(out, "Held, and laid on the table in between: "+strings.Join(loose, ", ")+".")
	}
	for _, w := range g.walks {
		out = append(out, fmt.Sprintf("Between %s and %s: %s.", g.station(w.a), g.station(w.b), words.Count(w.times, "time", "times")))
	}
	if len(g.m.OutOf) > 0 {
		var names []string
		for _, it := range g.m.OutOf {
			names = append(names, it.Called())
		}
		out = append(out, "! Out of reach from where you stand: "+strings.Join(names, ", ")+".")
	}
	out = append(out, fmt.Sprintf("The rings are %.0f and %.0f cm: what can be reached without and with leaning.", g.p.Profile.Reach, g.p.Profile.Lean))
	return out
}

// numberOf is the number of an instrument on the plan; "" if it is not there.
func (g *ground) numberOf(it *score.Item) string {
	for i := range g.things {
		if g.things[i].item == it {
			return g.things[i].number
		}
	}
	return ""
}

// placeWords is where a thing is from where the player stands at its station.
func (g *ground) placeWords(at body.Point, station int) string {
	name := ""
	if station > 0 && station < len(g.p.Stations) {
		s := g.p.Stations[station]
		at.Right, at.Ahead = at.Right-s.At.Right, at.Ahead-s.At.Ahead
		name = s.Name + ": "
	}
	var parts []string
	say := func(v float64, plus, minus string) {
		switch v = math.Round(v); {
		case v > 0:
			parts = append(parts, fmt.Sprintf("%s %.0f", plus, v))
		case v < 0:
			parts = append(parts, fmt.Sprintf("%s %.0f", minus, -v))
		}
	}
	say(at.Right, "right", "left")
	say(at.Ahead, "ahead", "behind")
	if len(parts) == 0 {
		parts = []string{"where you stand"}
	}
	return name + strings.Join(parts, ", ")
}

// liesOn is the implements that a table is for: those which are taken or laid
// at the station it belongs to, and the held instruments without a place.
func (g *ground) liesOn(table int) []string {
	station := g.p.Tables[table].Station
	if g.nearestTable(station) != table {
		return nil
	}
	var out []string
	add := func(name string) {
		if name != "" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	for i := range g.m.Changes {
		c := &g.m.Changes[i]
		if it := c.To.Item(); it != nil && it.Station == station && c.Takes {
			add(gripWords(c.Taken()))
		}
		if c.From != nil && c.From.Item() != nil && c.From.Item().Station == station && c.Lays {
			add(gripWords(c.Laid()))
		}
	}
	return out
}

func (g *ground) nearestTable(station int) int {
	for i, t := range g.p.Tables {
		if t.Station == station {
			return i
		}
	}
	return -1
}

// rule is the scale of the drawing: half a metre or a metre, in its corner.
func (g *ground) rule() {
	length, text := 50.0, "50 cm"
	if g.k*50 < 40 {
		length, text = 100, "1 m"
	}
	x, y := g.box.X+8, g.box.Y+g.box.H-8
	g.d.line(x, y, x+length*g.k, y, 1.4, black)
	g.d.line(x, y-3, x, y+3, 1.2, black)
	g.d.line(x+length*g.k, y-3, x+length*g.k, y+3, 1.2, black)
	g.d.words(x+length*g.k+5, y+3, text, 8.5, false, black).Part = smallPrint
	legend := "rings: reach without and with leaning"
	g.d.right(g.box.X+g.box.W-6, y+3, g.d.f.fit(legend, 8, false, g.box.W-length*g.k-70), 8, false, middling).Part = smallPrint
}

func (g *ground) station(i int) string {
	if s := g.p.Stations[i]; s.Name != "" && i > 0 {
		return s.Name
	}
	return "the first place"
}
