package sheet

import (
	"example.org/handful/lang/body"
	"fmt"
	"strings"
	"unicode/utf8"

	"example.org/handful/lang/pdf"
	"example.org/handful/lang/rhythm"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// head draws the head of the first page: the title and who it is for, what the
// hands begin with, the instruments with their numbers on the plan, and the plan
// small.
func (c *cueSheet) head() float64 {
	d := c.d
	left := instrumentEntries(c.items(), c)
	d.say("Instruments: " + sayEntries(left) + ".")
	d.say("Sticks: " + sayEntries(c.stickList()) + ".")
	g := &ground{part: c.part, d: d}
	g.collect()
	room := d.W - 2*margin0
	col := margin0 + c.beginShare(room)*room
	y := margin0 + 14
	end := d.under(pdf.Heading1)
	if lines := d.f.wrap(c.piece(), titleSize, true, col-margin0-10); len(lines) == 1 {
		d.words(margin0, y, lines[0], titleSize, true, black)
		y += 17
	} else {
		y = d.title(c.piece(), y)
	}
	top := margin0
	if y > margin0+36 {
		top = y - 12
	}
	d.words(margin0, y, d.f.fit(c.p.Name, 14, true, col-margin0-10), 14, true, black)
	end()
	end = d.under(pdf.Paragraph)
	y = c.beginWith(margin0, y+14, col-6)
	end()
	bottom := c.things(g, Rect{col, top, margin0 + room - col - thumbW - 6, 0})
	bottom = max(bottom, y+3)
	end = d.pictured("The set-up from above, small; the set-up plan has it large.")
	g.thumbnail(Rect{margin0 + room - thumbW, top, thumbW, max(thumbH, min(bottom-top, 1.3*thumbH))})
	end()
	y = max(bottom, top+thumbH)
	if text := strings.Join(append(firstTunings(c.m), printed(c.res.Score, c.p.Name)...), " · "); text != "" {
		d.say(text)
		y++
		end := d.under(pdf.Paragraph)
		for _, line := range d.f.wrap(text, 8, false, room) {
			y += 9.5
			d.words(margin0, y, line, 8, false, middling).Part = smallPrint
		}
		end()
	}
	y += 4
	d.line(margin0, y, d.W-margin0, y, 1.2, black)
	y += 2
	for _, text := range c.roadWords() {
		d.say(text)
		end := d.under(pdf.Paragraph)
		for _, line := range d.f.wrap(text, 9, false, room) {
			y += 11
			d.words(margin0, y, line, 9, false, black)
		}
		end()
	}
	return c.legend(y+8) - 4
}

// Measures of the head, in points.
const (
	titleSize = 19.0
	thumbW    = 72.0
	thumbH    = 47.0
)

// beginWith says what each hand holds at the beginning, in as many lines as it
// takes, and where the last one ends.
func (c *cueSheet) beginWith(x, y, right float64) float64 {
	d := c.d
	const size = 10.2
	at, indent := x, x
	for h, hold := range c.p.Holds {
		limb := body.Limb(h)
		grip := c.m.HoldsAt(limb, 0)
		words := gripWords(grip)
		if words == "" && !hold.Said {
			continue
		}
		if words == "" {
			words = "nothing"
		}
		d.say("The " + limb.Name() + " begins with: " + words + ".")
		if short := shortGrip(grip); short != "" {
			words = short
		}
		wide := 16 + d.f.width(words, size, true)
		if at == x {
			at += d.words(x, y, "Begin:", size, false, black).W + 4
			indent = at
		}
		if at+wide > right && (at > indent || indent > x) {
			if indent+wide > right {
				indent = x
			}
			at, y = indent, y+13.5
		}
		ink, fill := white, black
		if limb == body.Left {
			ink, fill = black, white
		}
		d.box(Rect{at, y - 9.5, 13, 12}, black, fill, 1)
		d.centred(at+6.5, y, limb.Letter(), 9.5, true, ink)
		text := d.f.fit(words, size, true, max(30, right-at-16))
		at += 16 + d.words(at+16, y, text, size, true, black).W + 7
	}
	if at == x {
		return y - 13.5
	}
	return y
}

// beginShare is how much of the head's width is for the name and what is begun with:
// less where the instruments stand in two columns then, and not one below the other.
func (c *cueSheet) beginShare(room float64) float64 {
	const usual, least = 0.375, 0.285
	rest := func(share float64) float64 { return (1-share)*room - thumbW - 6 }
	if two := 2 * c.thingWidth(); len(c.items()) > 2 && rest(usual) < two && two <= rest(least) {
		return least
	}
	return usual
}

// thingWidth is how wide a column of instruments is.
func (c *cueSheet) thingWidth() float64 {
	w := 78.0
	for _, it := range c.items() {
		w = max(w, 29+c.d.f.width(it.Short(), thingSize, true))
	}
	return min(w, 150)
}

// thingSize is that of the names of instruments in the head.
const thingSize = 11.5

// things is the instruments in columns: the number on the plan, the head of its
// notes, the short name, and how it is mounted.
func (c *cueSheet) things(g *ground, r Rect) (bottom float64) {
	d := c.d
	const size, small, pitch = thingSize, 8.5, 22.0
	items := c.items()
	columns := max(1, min(3, int(r.W/c.thingWidth())))
	w := r.W / float64(columns)
	for i, it := range items {
		x, y := r.X+float64(i%columns)*w, r.Y+11+pitch*float64(i/columns)
		end := d.under(pdf.Paragraph)
		if n := g.numberOf(it); n != "" {
			d.right(x+11, y, n, size-1, false, black)
		}
		d.glyphIn(headFor(it, rhythm.Value{Base: 2}, c.onStaff(it)), x+18.5, y-4, 0.9)
		d.words(x+25, y, d.f.fit(it.Short(), size, true, w-28), size, true, black)
		note := c.mountOf(it).String()
		if it.Called() != it.Inst.Name() {
			note = it.Inst.Name() + ", " + note
		}
		d.words(x+25, y+9.5, d.f.fit(note, small, false, w-28), small, false, middling).Part = smallPrint
		end()
	}
	return r.Y + pitch*float64((len(items)+columns-1)/columns)
}

// title sets a title as large as it fits in two lines, or small in as many
// as four.
func (d pen) title(text string, y float64) float64 {
	room := d.W - 2*margin0
	size := 19.0
	for size > 12 && len(d.f.wrap(text, size, true, room)) > 2 {
		size -= 1.5
	}
	lines := d.f.wrap(text, size, true, room)
	if len(lines) > 4 {
		lines = append(lines[:3], d.f.fit(lines[3]+" "+lines[4], size, true, room))
	}
	for _, line := range lines {
		d.words(margin0, y, line, size, true, black)
		y += size * 1.16
	}
	return y + 1
}

// printed is the credits of the piece, and the notes that stand at no place and
// are for everybody or for whose sheet it is.
func printed(s *score.Score, who string) []string {
	var out []string
	if len(s.Sources) == 0 {
		return nil
	}
	for _, l := range s.Sources[0].File.Lines {
		if p, ok := l.Stmt.(*syntax.Printed); ok && !l.Broken && p.Word.Text == "credit" {
			out = append(out, p.Text.Value())
		}
	}
	for _, r := range s.Remarks {
		if !r.Placed && (r.Player == "" || r.Player == who) {
			out = append(out, r.Text)
		}
	}
	return out
}

// An entry is one line of a list, with its pictogram.
type entry struct {
	glyphs []string
	text   string
	note   string
}

func instrumentEntries(items []*score.Item, c *cueSheet) []entry {
	var out []entry
	for _, it := range items {
		e := entry{glyphs: it.Inst.Glyphs, text: it.Called(), note: c.mountOf(it).String()}
		if it.Name != it.Inst.ID && it.Called() != it.Inst.Name() {
			e.note = it.Inst.Name() + ", " + e.note
		}
		out = append(out, e)
	}
	return out
}

func (c *cueSheet) stickList() []entry {
	var out []entry
	for _, h := range mostHeld(c.part) {
		e := entry{text: h.Name()}
		if h.most > 1 {
			e.text = fmt.Sprintf("%d %s", h.most, plural(h.Name()))
		}
		out = append(out, e)
	}
	return out
}

func plural(name string) string {
	switch {
	case strings.HasSuffix(name, "brush"):
		return name + "es"
	case strings.HasSuffix(name, "s"):
		return name
	}
	return name + "s"
}

func sayEntries(list []entry) string {
	var words []string
	for _, e := range list {
		text := e.text
		if e.note != "" {
			text += " (" + e.note + ")"
		}
		words = append(words, text)
	}
	if len(words) == 0 {
		return "none"
	}
	return strings.Join(words, "; ")
}

// roadWords says in what order the piece is played, where it is not simply
// from beginning to end.
func (c *cueSheet) roadWords() []string {
	if len(c.Orders) == 0 {
		return nil
	}
	var legs []string
	for _, sp := range c.Time.Spans() {
		legs = append(legs, fmt.Sprintf("%d–%d", sp.From, sp.To))
		if len(legs) == 24 {
			legs = append(legs, "…")
			break
		}
	}
	return []string{"Played in this order: " + strings.Join(legs, ", ") + "."}
}

// legend says what the signs mean, in as many lines as it takes.
func (c *cueSheet) legend(y float64) float64 {
	d := c.d
	defer d.under(pdf.Paragraph)()
	const size = 8.5
	x := margin0
	put := func(w float64, draw func(x, y float64), text string) {
		all := w + 4 + d.f.width(text, size, false)
		if x+all > d.W-margin0 && x > margin0 {
			x, y = margin0, y+13
		}
		draw(x, y-3)
		d.words(x+w+4, y, text, size, false, middling).Part = smallPrint
		x += all + 12
	}
	y += 2
	has := c.uses()
	if has[score.Accent] {
		put(8, func(x, y float64) {
			d.line(x, y-2.3, x+7, y, 1.2, black)
			d.line(x, y+2.3, x+7, y, 1.2, black)
		}, "accent")
	}
	if c.graces() {
		put(11, func(x, y float64) {
			d.glyphIn("noteheadBlack", x+8, y+2, 0.7)
			c.graceNotes(1, x+6, y+2, true, 0.8)
		}, "flam, drag, ruff")
	}
	if has[score.Roll] {
		put(8, func(x, y float64) { d.glyphIn("tremolo3", x+4, y, 0.85) }, "roll, to its end")
	}
	if has[score.Short] {
		put(11, func(x, y float64) {
			d.glyphIn("noteheadBlack", x+4, y, 0.85)
			d.line(x+10, y-4, x+10, y+4, 1.7, black)
		}, "short: stop it at once")
	}
	if has[score.Stop] {
		put(8, func(x, y float64) { c.cross(x+4, y, 3.2) }, "stop the ring")
	}
	if c.cued {
		put(7, func(x, y float64) {
			it := d.glyphAt("noteheadBlack", x+3, y+2, cueScale)
			d.line(it.X+it.W-0.4, y+2, it.X+it.W-0.4, y-7, 0.85, black)
		}, "others play")
	}
	put(16, func(x, y float64) { d.box(Rect{x, y - 4, 16, 8}, noInk, wash, 0) }, "in the hand")
	if len(c.shifts) > 0 {
		put(16, func(x, y float64) {
			d.box(Rect{x, y - 4, 16, 8}, black, white, 0.8)
			d.box(Rect{x, y + 1, 9, 3}, noInk, black, 0)
		}, "time to change; black: what an easy pace needs")
	}
	return y + 13
}

func (c *cueSheet) uses() map[score.StrokeFlags]bool {
	has := map[score.StrokeFlags]bool{}
	for _, st := range c.strokes {
		for _, f := range []score.StrokeFlags{score.Accent, score.Roll, score.Short, score.Stop} {
			if st.Has(f) {
				has[f] = true
			}
		}
	}
	for _, a := range c.p.Actions {
		if a.Kind == score.Damp {
			has[score.Stop] = true
		}
	}
	return has
}

func (c *cueSheet) graces() bool {
	for _, st := range c.strokes {
		if st.Grace > 0 {
			return true
		}
	}
	return false
}

// finish numbers the pages.
func (doc *Doc) finish() {
	for i, p := range doc.Pages {
		d := pen{p}
		p.Title = fmt.Sprintf("%s, page %d of %d", doc.heading(), i+1, len(doc.Pages))
		end := d.under(apart)
		d.words(margin0, p.H-margin0+4, fmt.Sprintf("%d / %d", i+1, len(doc.Pages)), 8, false, middling).Part = smallPrint
		end()
	}
}

// heading is what the document is, for whom.
func (doc *Doc) heading() string {
	r, n := utf8.DecodeRuneInString(doc.Title)
	title := strings.ToLower(string(r)) + doc.Title[n:]
	if doc.Player == "" {
		return doc.Piece + ": " + title
	}
	return doc.Piece + ": " + title + " for " + doc.Player
}
