package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
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
	g.fit(Rect{margin0, fl.y + 4, fl.room(), min(fl.room(), (fl.bottom()-fl.y)*0.6)})
	g.draw()
	fl.y += g.box.H + 10
	fl.d.say("Seen from above, to scale, the conductor at the top. Places are in centimetres from where the player stands.")
	fl.table(g.key(), 0.6, 3.2, 2, 3.2)
	for _, text := range g.words() {
		fl.para(text, false)
	}
	v.howLines(fl)
	fl.care(cautionLift, cautionCables, cautionHouse)
	doc.finish()
	return doc
}

// A ground is a plan being drawn.
type ground struct {
	*part
	d      pen
	things []thing
	walks  []walk
	box    Rect    // of the drawing on the page
	k      float64 // points a centimetre
	x0, y0 float64 // where the player stands
}

// A thing is what stands on the ground: an instrument or a table.
type thing struct {
	at     body.Point
	r      float64 // half its width, cm
	deep   float64 // half its depth where it is not round; 0: it is
	number string
	name   string
	how    string
	place  string
	table  bool
	item   *score.Item // nil: a table
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

// thumbnail draws the plan small, without words.
func (g *ground) thumbnail(r Rect) {
	left, right, near, far := -shoulderR, shoulderR, -12.0, 30.0
	grow := func(at body.Point, w, h float64) {
		left, right = min(left, at.Right-w), max(right, at.Right+w)
		near, far = min(near, at.Ahead-h), max(far, at.Ahead+h)
	}
	for _, s := range g.p.Stations {
		grow(s.At, shoulderR, 12)
	}
	for i := range g.things {
		grow(g.things[i].at, g.things[i].r, g.things[i].half())
	}
	g.k = min(r.W/(right-left), r.H/(far-near))
	g.x0, g.y0 = r.X+r.W/2-g.k*(left+right)/2, r.Y+r.H/2+g.k*(near+far)/2
	for _, s := range g.p.Stations {
		x, y := g.on(s.At)
		g.d.line(x-g.k*shoulderR, y, x+g.k*shoulderR, y, max(1.5, g.k*7), Black)
		g.d.disc(x, y, max(1.8, g.k*headR), NoInk, Black, 0)
	}
	for i := range g.things {
		if t := &g.things[i]; t.table {
			x, y := g.on(t.at)
			w := g.k * t.r
			g.d.box(Rect{x - w*1.2, y - w*0.8, w * 2.4, w * 1.6}, Mid, Wash, 0.6)
		}
	}
	for i := range g.things {
		t := &g.things[i]
		x, y := g.on(t.at)
		w, h := g.k*t.r, g.k*t.half()
		switch {
		case t.table:
		case t.deep > 0:
			g.d.box(Rect{x - w, y - h, 2 * w, 2 * h}, Black, NoInk, 0.7)
		default:
			g.d.disc(x, y, w, Black, NoInk, 0.7)
		}
	}
	var taken []Rect
	for i := range g.things {
		t := &g.things[i]
		const size = 6.5
		x, y := g.on(t.at)
		w := g.d.f.width(t.number, size, true)
		if box := (Rect{x - w/2, y - 3, w, 6}); !t.table && !slices.ContainsFunc(taken, box.Meets) {
			taken = append(taken, box)
			g.d.centred(x, y+2.4, t.number, size, true, Black).Part = SmallPrint
		}
	}
}

// clear is where a thing stands that is struck at a place: around it, but not
// where the player does.
func (g *ground) clear(t thing, station int) body.Point {
	you := body.Point{}
	if station > 0 && station < len(g.p.Stations) {
		you = g.p.Stations[station].At
	}
	const toes = 12.0
	near := you.Ahead + toes
	if math.Abs(t.at.Right-you.Right) < t.r+headR && t.at.Ahead > you.Ahead && t.at.Ahead-t.half() < near {
		t.at.Ahead = near + t.half()
	}
	return t.at
}

// covered says whether something stands over a spot of a table.
func (g *ground) covered(r Rect) bool {
	return slices.ContainsFunc(g.things, func(t thing) bool {
		x, y := g.on(t.at)
		return !t.table && r.Meets(Rect{x - g.k*t.r, y - g.k*t.half(), 2 * g.k * t.r, 2 * g.k * t.half()})
	})
}

// half is half of how deep a thing is.
func (t *thing) half() float64 {
	if t.deep > 0 {
		return t.deep
	}
	return t.r
}

// A walk is a way between two stations and how often it is gone.
type walk struct {
	a, b  int
	times int
}

func (g *ground) collect() {
	n := 0
	for _, it := range g.items() {
		mount := g.mountOf(it)
		if mount == kit.OnBody {
			continue
		}
		t := thing{item: it, at: it.At, r: max(6, it.Inst.Zone/2), name: itemName(it), how: mount.String()}
		if in := it.Inst; in.Wide > 0 && (mount == kit.OnStand || mount == kit.Floor) {
			if t.r = in.Wide / 2; in.Wide != in.Deep {
				t.deep = in.Deep / 2
			}
			t.at = g.clear(t, it.Station)
		}
		if mount == kit.Held && !it.Placed {
			continue // lies on the table: see the words
		}
		n++
		t.number = fmt.Sprint(n)
		t.place = g.placeWords(it.At, it.Station)
		if !it.Placed {
			t.place += ", assumed"
		}
		g.things = append(g.things, t)
	}
	for i, tb := range g.p.Tables {
		t := thing{at: tb.At, r: 20, table: true, number: "T", name: "table", how: "padded", place: g.placeWords(tb.At, tb.Station)}
		if len(g.p.Tables) > 1 {
			t.number = fmt.Sprintf("T%d", i+1)
		}
		if tb.Assumed {
			t.place += ", assumed"
		}
		if lies := g.liesOn(i); len(lies) > 0 {
			t.how = "with " + strings.Join(lies, ", ")
		}
		g.things = append(g.things, t)
	}
	g.countWalks()
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

// fit finds the scale at which everything is on the drawing.
func (g *ground) fit(box Rect) {
	g.box = box
	reach := g.p.Profile.Lean
	left, right, near, far := -reach, reach, -24.0, reach
	for _, s := range g.p.Stations {
		left, right = min(left, s.At.Right-reach), max(right, s.At.Right+reach)
		near, far = min(near, s.At.Ahead-24), max(far, s.At.Ahead+reach)
	}
	for _, t := range g.things {
		left, right = min(left, t.at.Right-t.r), max(right, t.at.Right+t.r)
		near, far = min(near, t.at.Ahead-t.half()), max(far, t.at.Ahead+t.half())
	}
	const edge, top, foot = 12.0, 26.0, 30.0
	g.k = min((box.W-2*edge)/(right-left), (box.H-top-foot)/(far-near))
	g.box.H = g.k*(far-near) + top + foot
	g.x0 = box.X + box.W/2 - g.k*(left+right)/2
	g.y0 = box.Y + top + g.k*far
}

func (g *ground) on(p body.Point) (x, y float64) { return g.x0 + g.k*p.Right, g.y0 - g.k*p.Ahead }

func (g *ground) draw() {
	d := g.d
	d.box(g.box, Pale, NoInk, 0.6)
	d.centred(g.box.X+g.box.W/2, g.box.Y+14, "↑ conductor", 9, true, Black)
	g.reaches()
	for _, w := range g.walks {
		g.way(w)
	}
	var taken []Rect
	for i, s := range g.p.Stations {
		x, y := g.on(s.At)
		d.line(x, y-6, x, g.box.Y+20, 0.7, Pale).Dash = 3
		g.person(x, y)
		if s.Name != "" && i > 0 {
			r := d.centred(x, y+max(3, g.k*headR)+10, s.Name, 8.5, true, Black).Rect
			taken = append(taken, r)
		}
	}
	for _, t := range g.things {
		if x, y := g.on(t.at); t.table {
			r := g.k * t.r
			d.box(Rect{x - r*1.2, y - r*0.8, r * 2.4, r * 1.6}, Black, Wash, 0.9)
		}
	}
	for _, t := range g.things {
		if x, y := g.on(t.at); !t.table {
			if t.deep > 0 {
				d.box(Rect{x - g.k*t.r, y - g.k*t.deep, 2 * g.k * t.r, 2 * g.k * t.deep}, Black, White, 1.3)
			} else {
				d.disc(x, y, g.k*t.r, Black, White, 1.3)
			}
		}
	}
	for _, t := range g.things {
		g.tag(t, &taken)
	}
	for _, t := range g.things {
		if !t.table {
			g.nameIn(t, &taken)
		}
	}
	g.rule()
}

// reaches draws how far the arms go at each station, without leaning and
// with it: as far round as a player turns without stepping.
func (g *ground) reaches() {
	for _, s := range g.p.Stations {
		g.arc(s.At, g.p.Profile.Reach, 1)
		g.arc(s.At, g.p.Profile.Lean, 0.5)
	}
}

// arc is a broken line before a player, from one side to the other.
func (g *ground) arc(at body.Point, r, thick float64) {
	const steps, from, to = 60, -100.0, 100.0
	for i := 0; i < steps; i += 2 {
		a, b := (from+(to-from)*float64(i)/steps)*math.Pi/180, (from+(to-from)*float64(i+1)/steps)*math.Pi/180
		x1, y1 := g.on(body.Point{Right: at.Right + r*math.Sin(a), Ahead: at.Ahead + r*math.Cos(a)})
		x2, y2 := g.on(body.Point{Right: at.Right + r*math.Sin(b), Ahead: at.Ahead + r*math.Cos(b)})
		g.d.line(x1, y1, x2, y2, thick, Mid)
	}
}

// headR is half the width of a head, and shoulderR of the shoulders, in cm.
const (
	headR     = 8.0
	shoulderR = 21.0
)

func (g *ground) person(x, y float64) {
	g.d.line(x-g.k*shoulderR, y, x+g.k*shoulderR, y, max(2, g.k*5), Black)
	g.d.disc(x, y, max(3, g.k*headR), NoInk, Black, 0)
}

// way is a path that is walked, thicker the more often, with how often.
func (g *ground) way(w walk) {
	x1, y1 := g.on(g.p.Stations[w.a].At)
	x2, y2 := g.on(g.p.Stations[w.b].At)
	g.d.line(x1, y1, x2, y2, min(6, 1.5+0.5*float64(w.times)), Pale)
	text := fmt.Sprintf("%d×", w.times)
	mx, my := (x1+x2)/2, (y1+y2)/2
	width := g.d.f.width(text, 9, true)
	g.d.box(Rect{mx - width/2 - 2, my - 7, width + 4, 13}, NoInk, White, 0)
	g.d.centred(mx, my+3, text, 9, true, Black)
}

// tag writes a thing's number in its middle, or beside it where another one
// is written already.
func (g *ground) tag(t thing, taken *[]Rect) {
	x, y := g.on(t.at)
	const size = 10.0
	w := g.d.f.width(t.number, size, true)
	start := 0.0
	if r := g.k * t.r; r < 8 { // too small to write in
		start = r + 7
	}
	for turn := range 60 {
		angle, far := float64(turn)*2.4, start+1.6*float64(turn)
		tx, ty := x+far*math.Cos(angle), y+far*math.Sin(angle)
		r := Rect{tx - w/2 - 1.5, ty - 6.5, w + 3, 13}
		inside := r.X > g.box.X && r.Y > g.box.Y+18 && r.X+r.W < g.box.X+g.box.W && r.Y+r.H < g.box.Y+g.box.H-14
		if !inside || slices.ContainsFunc(*taken, r.Meets) || t.table && turn < 40 && g.covered(r) {
			continue
		}
		*taken = append(*taken, r)
		if far > 0 {
			g.d.box(r, NoInk, White, 0)
		}
		g.d.centred(tx, ty+3.6, t.number, size, true, Black)
		return
	}
}

// nameIn writes a thing's name under its number, in as many lines as have
// room inside it.
func (g *ground) nameIn(t thing, taken *[]Rect) {
	const size, lead = 7.5, 8.6
	x, y := g.on(t.at)
	room := 1.7 * g.k * t.r
	lines := g.d.f.wrap(t.name, size, false, room)
	if len(lines) == 0 || strings.Join(lines, " ") != t.name || g.k*t.half() < 12+lead*float64(len(lines)) {
		return // a word would have to be broken, or there is no room below the number
	}
	for i, line := range lines {
		w := g.d.f.width(line, size, false)
		r := Rect{x - w/2, y + 6.6 + lead*float64(i), w, lead}
		if slices.ContainsFunc(*taken, r.Meets) {
			return
		}
	}
	for i, line := range lines {
		r := g.d.centred(x, y+13.6+lead*float64(i), line, size, false, Black).Rect
		*taken = append(*taken, r)
	}
}

// rule is the scale of the drawing: half a metre or a metre, in its corner.
func (g *ground) rule() {
	length, text := 50.0, "50 cm"
	if g.k*50 < 40 {
		length, text = 100, "1 m"
	}
	x, y := g.box.X+8, g.box.Y+g.box.H-8
	g.d.line(x, y, x+length*g.k, y, 1.4, Black)
	g.d.line(x, y-3, x, y+3, 1.2, Black)
	g.d.line(x+length*g.k, y-3, x+length*g.k, y+3, 1.2, Black)
	g.d.words(x+length*g.k+5, y+3, text, 8.5, false, Black)
	legend := "rings: reach without and with leaning"
	g.d.right(g.box.X+g.box.W-6, y+3, g.d.f.fit(legend, 8, false, g.box.W-length*g.k-70), 8, false, Mid)
}

// key says what the numbers are.
func (g *ground) key() Table {
	t := Table{Caption: "What stands where", Head: []string{"no.", "what", "how", "where (cm)"}, Lead: 2}
	for _, th := range g.things {
		t.Rows = append(t.Rows, []string{th.number, th.name, th.how, th.place})
	}
	return t
}

// words is what the drawing does not say.
func (g *ground) words() []string {
	var out []string
	var loose []string
	for _, it := range g.items() {
		if g.mountOf(it) == kit.Held && !it.Placed {
			loose = append(loose, itemName(it))
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
			names = append(names, itemName(it))
		}
		out = append(out, "! Out of reach from where you stand: "+strings.Join(names, ", ")+".")
	}
	out = append(out, fmt.Sprintf("The rings are %.0f and %.0f cm: what can be reached without and with leaning.", g.p.Profile.Reach, g.p.Profile.Lean))
	return out
}

func (g *ground) station(i int) string {
	if s := g.p.Stations[i]; s.Name != "" && i > 0 {
		return s.Name
	}
	return "the first place"
}
