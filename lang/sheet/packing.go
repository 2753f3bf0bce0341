package sheet

import (
	"fmt"
	"iter"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/pdf"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
)

// packing is what has to be in the van: everything once, with how many of it
// and who uses it.
func packing(results []*check.Result, views [][]*part, opt Options) Doc {
	doc := Doc{Kind: "packing", Title: "Packing list", Piece: programme(results), Paper: opt.Paper, f: opt.faces()}
	fl := newFlow(&doc, "Packing list", "packing list")
	l := &load{}
	for i, piece := range views {
		l.piece(piece, results[i])
	}
	for _, g := range []struct {
		name string
		list []carried
	}{{"Instruments", l.instruments}, {"Sticks and beaters", l.sticks}, {"Stands, clips, pads and tables", l.gear}} {
		if len(g.list) == 0 {
			continue
		}
		all := 0
		for _, it := range g.list {
			all += it.n
		}
		fl.heading(fmt.Sprintf("%s: %d", g.name, all))
		var rows []toPack
		for i := range g.list {
			rows = append(rows, g.list[i].packed())
		}
		fl.pack(rows)
	}
	if missing := l.missing(); len(missing) > 0 {
		fl.heading("Missing: to be borrowed")
		for _, m := range missing {
			fl.bullet(m)
		}
	}
	if len(l.unnamed) > 0 {
		fl.heading("Not named in the gear")
		fl.bullet(strings.Join(l.unnamed, ", "))
	}
	fl.heading("And")
	fl.pack([]toPack{
		{what: fmt.Sprintf("%s, with a light each", words.Count(len(l.players), "music stand", "music stands"))},
		{what: "a pencil, tape, a drum key and a spare of whatever breaks"},
	})
	fl.care(cautionLift, cautionCables, cautionHouse)
	doc.finish()
	return doc
}

// What is ticked off of each thing, what it is and whose, and what is written
// beside it by hand.
var (
	packBoxes  = []string{"packed", "stage", "back"}
	packThings = []string{"what", "for"}
	packWrites = []string{"from", "case"}
)

const (
	packBox   = 33.0 // from box to box
	packWrite = 84.0 // the length of a line to write on, with the room before it
	packWhat  = 0.58 // of the room between boxes and lines, what a thing's name has
	packSize  = 7.5  // of the heads
)

// toPack is a line of the list: a thing, for whom it is and what there is of it.
type toPack struct{ what, who, there string }

func (p *toPack) words() string {
	text := p.what
	if p.who != "" {
		text += " – " + p.who
	}
	if p.there != "" {
		text += " (" + p.there + ")"
	}
	return text
}

// forWhom is what stands beside a thing.
func (p *toPack) forWhom() string {
	if p.there != "" {
		return strings.TrimPrefix(p.who+" ("+p.there+")", " ")
	}
	return p.who
}

// pack is a table of things with boxes to tick off and lines to write on. It begins
// again with its head on every page.
func (fl *flow) pack(rows []toPack) {
	fl.need(3 * paraLead)
	end := fl.d.under(pdf.Table)
	fl.packHead()
	for i := range rows {
		if h := fl.packHeight(&rows[i]); fl.y+h > fl.bottom() {
			end()
			fl.page()
			end = fl.d.under(pdf.Table)
			fl.packHead()
		}
		fl.packRow(&rows[i])
		fl.d.say(rows[i].words())
	}
	end()
}

// packAt is where the columns of things begin, and how wide each is.
func (fl *flow) packAt(i int) (x, w float64) {
	from := packBox * float64(len(packBoxes))
	room := fl.room() - from - packWrite*float64(len(packWrites))
	if i == 0 {
		return margin0 + from, room*packWhat - cellPad
	}
	return margin0 + from + room*packWhat, room * (1 - packWhat)
}

// packLine is where a line to write on begins.
func (fl *flow) packLine(i int) float64 {
	return fl.d.W - margin0 - packWrite*float64(len(packWrites)-i) + 10
}

// packHead says what the boxes and the lines beside each thing are for.
func (fl *flow) packHead() {
	defer fl.d.under(pdf.Row)()
	fl.y += 9
	put := func(x float64, name string) {
		defer fl.d.tagged(tag{kind: pdf.Head, column: true})()
		fl.d.words(x, fl.y, name, packSize, false, middling)
	}
	for i, name := range packBoxes {
		put(margin0+float64(i)*packBox, name)
	}
	for i, name := range packThings {
		x, _ := fl.packAt(i)
		put(x, name)
	}
	for i, name := range packWrites {
		put(fl.packLine(i), name)
	}
}

// packCells are the lines of what a thing is, and for whom.
func (fl *flow) packCells(p *toPack) (cells [2][]string) {
	for i, text := range []string{p.what, p.forWhom()} {
		_, w := fl.packAt(i)
		if p.forWhom() == "" { // it has the other's room as well
			w = fl.room() - packBox*float64(len(packBoxes)) - packWrite*float64(len(packWrites))
		}
		if text != "" {
			cells[i] = fl.d.f.wrap(text, paraSize, false, w)
		}
	}
	return cells
}

func (fl *flow) packHeight(p *toPack) float64 {
	cells := fl.packCells(p)
	return 2 + paraLead*float64(max(len(cells[0]), len(cells[1])))
}

func (fl *flow) packRow(p *toPack) {
	defer fl.d.under(pdf.Row)()
	cell := func(kind string, draw func()) {
		defer fl.d.tagged(tag{kind: kind})()
		draw()
	}
	for i := range packBoxes {
		cell(pdf.Cell, func() { fl.d.box(Rect{margin0 + 1 + float64(i)*packBox, fl.y + 6, 7, 7}, black, noInk, 0.8) })
	}
	for i, lines := range fl.packCells(p) {
		x, _ := fl.packAt(i)
		cell([]string{pdf.Head, pdf.Cell}[i], func() {
			for k, line := range lines {
				fl.d.words(x, fl.y+2+paraLead*float64(k+1)-1.5, line, paraSize, false, black)
			}
		})
	}
	for i := range packWrites {
		x := fl.packLine(i)
		cell(pdf.Cell, func() { fl.d.line(x, fl.y+paraLead+1, x+packWrite-10, fl.y+paraLead+1, 0.4, middling) })
	}
	fl.y += fl.packHeight(p)
}

// programme names what several files are together.
func programme(results []*check.Result) string {
	var titles []string
	for _, r := range results {
		titles = append(titles, pieceOf(r))
	}
	if len(titles) > 3 {
		return fmt.Sprintf("%s and %d more", titles[0], len(titles)-1)
	}
	return strings.Join(titles, " · ")
}

// carried is one line of the list.
type carried struct {
	name   string
	n      int
	shared bool
	who    []string
	many   string
	inst   *kit.Instrument
	there  string // what the gear has, in words; "" where nothing is said
}

func (c *carried) packed() toPack {
	name := c.name
	if c.n > 1 {
		name = fmt.Sprintf("%d %s", c.n, c.many)
	}
	who := strings.Join(c.who, ", ")
	if c.shared && len(c.who) > 1 {
		who = "shared by " + strings.Join(c.who[:len(c.who)-1], ", ") + " and " + c.who[len(c.who)-1]
	}
	return toPack{name, who, c.there}
}

// A load is what a programme needs. Of what several pieces need, the most that
// one of them needs is packed.
type load struct {
	instruments, sticks, gear []carried
	players                   []string
	stock                     []stocked
	unnamed                   []string // what is used and no gear block names, where one names its like
}

// stocked is what there is of one thing, and the most of it that is in use at
// one time.
type stocked struct {
	name         string
	there, wants int
	whose        []string
}

// stocked takes over what a piece says of one thing.
func (l *load) stocked(s stocked) {
	k := slices.IndexFunc(l.stock, func(o stocked) bool { return o.name == s.name })
	if k < 0 {
		l.stock = append(l.stock, s)
		return
	}
	o := &l.stock[k]
	o.there, o.wants = max(o.there, s.there), max(o.wants, s.wants)
	for _, w := range s.whose {
		if !slices.Contains(o.whose, w) {
			o.whose = append(o.whose, w)
		}
	}
}

// wants sets what a piece uses beside what its gear has.
func (l *load) wants(r *check.Result) {
	instruments, sticks := false, false // whether the gear names any
	for _, w := range r.Wants() {
		g := w.Gear
		s := stocked{name: g.Name(), there: g.Count, wants: w.AtOnce, whose: g.Whose}
		l.stocked(s)
		switch {
		case g.Inst != nil:
			instruments = true
			s.standsFor(l.instruments, func(c *carried) bool { return c.inst == g.Inst })
		case g.Implement != nil:
			sticks = true
			s.standsFor(l.sticks, func(c *carried) bool { return c.name == s.name })
		case w.AtOnce > 0:
			l.gear = append(l.gear, carried{name: s.name + " in all", many: plural(s.name) + " in all", n: w.AtOnce, there: s.has()})
		}
	}
	if instruments {
		l.notNamed(l.instruments)
	}
	if sticks {
		l.notNamed(l.sticks)
	}
}

// standsFor says of what is carried of a thing what there is of it.
func (s *stocked) standsFor(list []carried, is func(*carried) bool) {
	total := 0
	for i := range list {
		if is(&list[i]) {
			total += list[i].n
		}
	}
	for i := range list {
		c := &list[i]
		if !is(c) {
			continue
		}
		c.there = s.has()
		if c.n == total && s.wants < c.n && !c.shared {
			c.n, c.there = max(1, s.wants), c.there+"; handed over"
		}
	}
}

// notNamed takes down what the gear does not name.
func (l *load) notNamed(list []carried) {
	for i := range list {
		if c := &list[i]; c.there == "" && !slices.Contains(l.unnamed, c.name) {
			l.unnamed = append(l.unnamed, c.name)
		}
	}
}

// has says what there is.
func (s *stocked) has() string {
	text := fmt.Sprintf("of %d", s.there)
	if len(s.whose) > 0 {
		text += ": " + strings.Join(s.whose, ", ")
	}
	return text
}

// missing is what there is too little of.
func (l *load) missing() []string {
	var out []string
	for i := range l.stock {
		s := &l.stock[i]
		if s.wants <= s.there {
			continue
		}
		there := fmt.Sprintf("there are %d", s.there)
		switch s.there {
		case 0:
			there = "there is none"
		case 1:
			there = "there is 1"
		}
		out = append(out, fmt.Sprintf("%s – %d at once, and %s", words.Count(s.wants-s.there, s.name, plural(s.name)), s.wants, there))
	}
	return out
}

func (l *load) piece(views []*part, r *check.Result) {
	var one load
	for _, v := range views {
		one.player(v)
	}
	one.atOnce(views)
	one.wants(r)
	for _, s := range one.stock {
		l.stocked(s)
	}
	for _, name := range one.unnamed {
		if !slices.Contains(l.unnamed, name) {
			l.unnamed = append(l.unnamed, name)
		}
	}
	merge(&l.instruments, one.instruments)
	merge(&l.sticks, one.sticks)
	merge(&l.gear, one.gear)
	for _, p := range one.players {
		if !slices.Contains(l.players, p) {
			l.players = append(l.players, p)
		}
	}
}

func merge(into *[]carried, from []carried) {
	for _, c := range from {
		k := slices.IndexFunc(*into, func(o carried) bool { return o.name == c.name })
		if k < 0 {
			*into = append(*into, c)
			continue
		}
		o := &(*into)[k]
		o.n = max(o.n, c.n)
		o.shared = o.shared || c.shared
		if o.there == "" {
			o.there = c.there
		}
		for _, w := range c.who {
			if !slices.Contains(o.who, w) {
				o.who = append(o.who, w)
			}
		}
	}
}

func add(list *[]carried, name, many, who string, n int, shared bool) {
	k := slices.IndexFunc(*list, func(o carried) bool { return o.name == name })
	if k < 0 {
		*list = append(*list, carried{name: name, many: many, n: n, shared: shared, who: []string{who}})
		return
	}
	o := &(*list)[k]
	if !shared {
		o.n += n
	}
	o.shared = o.shared || shared
	if !slices.Contains(o.who, who) {
		o.who = append(o.who, who)
	}
}

func (l *load) player(v *part) {
	l.players = append(l.players, v.p.Name)
	who := v.p.Name
	for _, it := range v.items() {
		if it.Inst.Family == kit.ByBody {
			continue
		}
		add(&l.instruments, it.Called(), plural(it.Called()), who, 1, it.Shared)
		for i := range l.instruments {
			if c := &l.instruments[i]; c.name == it.Called() {
				c.inst = it.Inst
			}
		}
		if g := v.mountOf(it).Gear(); g != "" && g != "padded table" {
			name := g + " for the " + it.Called()
			add(&l.gear, name, plural(g)+" for the "+it.Called(), who, 1, it.Shared)
		} else if g != "" {
			name := "towel or pad for the " + it.Called()
			add(&l.gear, name, "towels or pads for the "+it.Called(), who, 1, it.Shared)
		}
		for _, need := range v.needs(it) {
			name := strings.ReplaceAll(need, "-", " ")
			add(&l.gear, name, plural(name), who, 1, it.Shared)
		}
	}
	if n := len(v.p.Tables); n > 0 && v.needsTable() {
		add(&l.gear, "padded table", "padded tables", who, n, false)
	}
}

// needs is what else the chosen ways of playing an item ask for.
func (v *part) needs(it *score.Item) []string {
	var out []string
	for _, ch := range v.m.Chosen {
		if ch.Cue.Item != it || ch.Way == nil {
			continue
		}
		for _, n := range ch.Way.Needs {
			if !slices.Contains(out, n) && v.p.Item(n) == nil {
				out = append(out, n)
			}
		}
	}
	return out
}

// needsTable says whether anything is ever laid or taken.
func (v *part) needsTable() bool {
	for i := range v.m.Changes {
		if v.m.Changes[i].Lays || v.m.Changes[i].Takes {
			return true
		}
	}
	return slices.ContainsFunc(v.items(), func(it *score.Item) bool { return v.mountOf(it) == kit.Padded })
}

// atOnce counts the implements: the most of each that are in hands at one
// time, all players together.
func (l *load) atOnce(views []*part) {
	for _, h := range mostHeld(views...) {
		l.sticks = append(l.sticks, carried{name: h.Name(), many: plural(h.Name()), n: h.most, who: h.who})
	}
}

// held is every implement that hands hold, the most of it at one time, and who
// has it.
type held struct {
	*kit.Implement
	most int
	who  []string
}

// mostHeld is what some players hold, in the order in which it comes.
func mostHeld(views ...*part) (list []held) {
	var times []float64
	for _, v := range views {
		for h := range v.m.Spells {
			for _, sp := range v.m.Spells[h] {
				times = append(times, sp.From)
			}
		}
	}
	slices.Sort(times)
	for _, t := range slices.Compact(times) {
		now := map[*kit.Implement]int{}
		for _, v := range views {
			for im, n := range v.inHands(t) {
				now[im] += n
				list = addHeld(list, im, now[im], v.p.Name)
			}
		}
	}
	return list
}

func addHeld(list []held, im *kit.Implement, n int, who string) []held {
	i := slices.IndexFunc(list, func(h held) bool { return h.Implement == im })
	if i < 0 {
		list, i = append(list, held{Implement: im}), len(list)
	}
	h := &list[i]
	if h.most = max(h.most, n); !slices.Contains(h.who, who) {
		h.who = append(h.who, who)
	}
	return list
}

// inHands goes over the implements in the player's hands at a time, and how many
// of each that is in a hand.
func (v *part) inHands(t float64) iter.Seq2[*kit.Implement, int] {
	return func(yield func(*kit.Implement, int) bool) {
		for h := range body.Limb(2) {
			g := v.m.HoldsAt(h, t)
			if g.Implement != nil && !yield(g.Implement, max(1, g.Count)) {
				return
			}
			n := 1
			if g.Kept == g.Implement {
				n = max(1, g.Count)
			}
			if g.Kept != nil && !yield(g.Kept, n) {
				return
			}
		}
	}
}
