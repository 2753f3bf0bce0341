package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"handful/lang/beat"
	"handful/lang/check"
	"handful/lang/motion"
	"handful/lang/score"
)

// Measures of a cue sheet, in points.
const (
	margin0   = 30.0
	limbW     = 19.0
	rowH      = 17.0
	holdH     = 13.0
	holdSize  = 9.0
	noteH     = 11.8
	noteSize  = 9.8
	leastNote = 140.0 // room for the words of a change near the right edge
	topH      = 13.5
	topSize   = 10.5
	rulerH    = 14.0
	barNumH   = 10.5
	systemGap = 15.0
	laneGap   = 4.0
	labelSize = 10.0
)

// Cues is a player's cue sheet; false where there is no such player.
func Cues(r *check.Result, player string, paper Paper) (Doc, bool) {
	for i, m := range r.Motions {
		if m.Player.Name == player {
			return newPart(r, i, standardFaces()).cues(paper), true
		}
	}
	return Doc{}, false
}

// A cueSheet is one being drawn.
type cueSheet struct {
	*part
	doc   Doc
	d     pen
	labW  float64 // of the column of names
	left  float64 // where the bars begin
	right float64

	clashing []clash
}

func (v *part) cues(paper Paper) Doc {
	c := &cueSheet{part: v, doc: v.doc("cues", "Cue sheet", paper)}
	c.d.Page = newPage(&c.doc) // to measure with; the first page is begun later
	w := paper.W / paper.Scale
	c.labW = c.labelWidth(w)
	c.left, c.right = margin0+limbW+c.labW+5, w-margin0
	systems := v.systems(c.d.f, v.blocks(), c.right-c.left)
	hands := v.usesHands()
	c.clashing = v.clashes()
	for _, s := range systems {
		v.lanes(s, hands)
		c.arrange(s)
	}
	c.paginate(systems)
	c.doc.finish()
	return c.doc
}

// piece is the title, or the file's name where there is none.
func (v *part) piece() string { return pieceOf(v.res) }

func pieceOf(r *check.Result) string {
	if r.Score.Title != "" {
		return r.Score.Title
	}
	name := r.Name[strings.LastIndexByte(r.Name, '/')+1:]
	return strings.TrimSuffix(name, ".handful")
}

// doc begins one of the player's documents.
func (v *part) doc(kind, title string, paper Paper) Doc {
	return Doc{Kind: kind, Title: title, Piece: v.piece(), Player: v.p.Name, Paper: paper, f: v.f}
}

// labelWidth is the room for the names of the rows: as much as the longest
// needs, between an eighth and a fifth of the page.
func (c *cueSheet) labelWidth(page float64) float64 {
	widest := page / 8
	for _, it := range c.items() {
		widest = max(widest, c.d.f.width(itemName(it), labelSize, false)+1)
	}
	return min(widest, page/5)
}

// newPage begins a page with its head.
func (c *cueSheet) newPage() (y float64) {
	c.d.Page = newPage(&c.doc)
	c.doc.Pages = append(c.doc.Pages, c.d.Page)
	if len(c.doc.Pages) == 1 {
		return c.head()
	}
	return runningHead(c.d, c.piece(), c.p.Name, "cue sheet")
}

func newPage(doc *Doc) *Page {
	p := doc.Paper
	return &Page{W: p.W / p.Scale, H: p.H / p.Scale, Scale: p.Scale, f: doc.f}
}

func runningHead(d pen, piece, who, what string) float64 {
	y := margin0 + 9
	rightText := d.f.fit(strings.Trim(who+"  ·  "+what, " ·"), 9.5, true, (d.W-2*margin0)*0.6)
	d.right(d.W-margin0, y, rightText, 9.5, true, Black)
	d.words(margin0, y, d.f.fit(piece, 9.5, false, d.W-2*margin0-d.f.width(rightText, 9.5, true)-12), 9.5, false, Mid)
	d.line(margin0, y+5, d.W-margin0, y+5, 0.6, Pale)
	return y + 16
}

// arrange works out how high a system is and where its words stand.
func (c *cueSheet) arrange(s *system) {
	x := c.left
	for i := range s.blocks {
		s.blocks[i].x = x
		x += s.blocks[i].w
	}
	c.topLabels(s, x)
	s.h = s.top.height() + barNumH + rulerH
	for i := range s.blocks {
		if s.blocks[i].cue != nil {
			s.h += rowH + laneGap
			break
		}
	}
	for _, l := range s.lanes {
		c.rowLabels(l)
		c.noteLabels(s, l, x)
		s.h += l.height() + laneGap
	}
}

func (l *lane) height() float64 {
	h := l.notes.height()
	if l.limb.IsHand() {
		h += holdH
	}
	for _, r := range l.rows {
		h += r.upper + r.height
	}
	if len(l.rows) == 0 {
		h += rowH * 0.6
	}
	return h
}

func (c *cueSheet) rowLabels(l *lane) {
	for _, r := range l.rows {
		name := itemName(r.item)
		if r.pass > 0 {
			name += " (" + timesOf([]int{r.pass}) + ")"
		}
		r.label = c.d.f.wrap(name, labelSize, false, c.labW)
		if len(r.label) > 2 {
			r.label = []string{r.label[0], c.d.f.fit(strings.Join(r.label[1:], " "), labelSize, false, c.labW)}
		}
		r.height = rowH
		if len(r.label) > 1 {
			r.height = 2*labelSize*(above+below) + 1
		}
	}
}

// topLabels are the words over a system, from the most to the least needed.
func (c *cueSheet) topLabels(s *system, end float64) {
	from, to := s.blocks[0].start, s.end()
	s.top = shelf{left: c.left, right: c.right, pitch: topH}
	in := func(at beat.Rat) bool { return !at.Less(from) && at.Less(to) }
	put := func(at beat.Rat, text string, bold bool) {
		l := s.top.put(c.d.f, s.xOf(at), text, topSize, bold, Black, (c.right-c.left)*0.6)
		l.said = text + c.atBar(s, at)
	}
	for _, m := range c.Marks {
		if at := c.Grid.Start(m.Bar); in(at) {
			l := s.top.put(c.d.f, s.xLine(at)+3, m.Name, topSize+1, true, Black, c.right-c.left)
			l.mark, l.said = true, "mark "+m.Name+c.atBar(s, at)
		}
	}
	for i := range s.blocks {
		b := &s.blocks[i]
		if b.from == c.Grid.First() || c.Grid.Meter(b.from).String() != c.Grid.Meter(b.from-1).String() {
			put(b.start, c.Grid.Meter(b.from).String(), true)
		}
		if b.cut && (b.from == c.Grid.First() || c.first[b.from-1] >= 0) {
			put(b.start, "cut: "+c.cutWords(b.from), true)
		}
		if t := c.tempoAt(b.from); t != "" {
			glyph, equal := noteGlyph(c.unit(b.from))
			l := s.top.put(c.d.f, s.xOf(b.start), equal+t, topSize, true, Black, (c.right-c.left)*0.6)
			l.glyph(glyph)
			l.said = c.unit(b.from).String() + " = " + t + c.atBar(s, b.start)
		}
	}
	c.roadLabels(in, put)
	for _, p := range c.Pauses {
		if in(p.At) {
			glyph, word := "fermataAbove", "hold"
			if p.Break {
				glyph, word = "caesura", "break"
			}
			l := s.top.put(c.d.f, s.xOf(p.At), word, topSize, true, Black, c.right-c.left)
			l.glyph(glyph)
			l.said = word + c.atBar(s, p.At)
		}
	}
	for _, r := range c.Remarks {
		if c.reads(&r) && in(r.At) {
			text := r.Text
			if r.Cue {
				text = "cue: " + text
			}
			put(r.At, text, r.Cue)
		}
	}
	for _, cue := range c.p.Cues {
		for _, w := range cue.Words {
			if in(w.At) {
				put(w.At, "“"+w.Text+"”", false)
			}
		}
	}
	for i := range s.blocks {
		if q := s.blocks[i].cue; q != nil {
			put(s.blocks[i].start, "cue: "+q.player+", "+itemName(q.cue.Item), false)
		}
	}
	s.top.right = max(c.right, end)
	s.top.right = c.right
	s.top.pack()
}

// cutWords names the bars from one on that are never played.
func (c *cueSheet) cutWords(bar int) string {
	to := bar
	for to < c.Grid.Last() && c.first[to+1] < 0 {
		to++
	}
	return barsWords(c.Score, bar, to)
}

// atBar names the bar of a place that is not in the first bar of a system.
func (c *cueSheet) atBar(s *system, at beat.Rat) string {
	bar, _ := c.Grid.Place(at)
	if bar == s.blocks[0].from {
		return ""
	}
	return fmt.Sprintf(" (bar %d)", bar)
}

func (c *cueSheet) roadLabels(in func(beat.Rat) bool, put func(beat.Rat, string, bool)) {
	for _, r := range c.Repeats {
		if at := c.Grid.Start(r.From); in(at) {
			put(at, fmt.Sprintf("bars %d–%d %s", r.From, r.To, timesWords(r.Times)), true)
		}
	}
	for _, r := range c.Vamps {
		if at := c.Grid.Start(r.From); in(at) {
			put(at, fmt.Sprintf("vamp to bar %d until cued", r.To), true)
		}
	}
	for _, e := range c.Endings {
		if at := c.Grid.Start(e.From); in(at) {
			put(at, timesOf(e.Numbers)+" only", true)
		}
	}
}

func timesWords(n int) string {
	if n <= 2 {
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// noteLabels are the changes of a hand in a system.
func (c *cueSheet) noteLabels(s *system, l *lane, end float64) {
	l.notes = shelf{left: c.left, right: c.right, pitch: noteH}
	most := (c.right - c.left) * 0.62
	shifts := c.shiftsIn(s, l.limb)
	for _, sh := range shifts {
		at := sh.from
		if at.Less(s.blocks[0].start) {
			at = s.blocks[0].start
		}
		hard := sh.Tight() || sh.Short()
		x, words := s.xOf(at), c.changeWords(sh)
		if len(shifts) > 1 { // which of the boxes above it belongs to
			words = c.Place(at) + ":\u00a0" + words
		}
		l.notes.put(c.d.f, x, words, noteSize, hard, Black, min(most, max(c.right-x, leastNote)))
	}
	for _, k := range c.clashing {
		if k.limb == l.limb && !k.at.Less(s.blocks[0].start) && k.at.Less(s.end()) {
			x := s.xOf(k.at)
			l.notes.put(c.d.f, x-strokeR, k.words, noteSize, true, Black, min(most, max(c.right-x, leastNote)))
			l.clashes = append(l.clashes, k)
		}
	}
	l.notes.pack()
}

// changeWords is what stands under a change.
func (c *cueSheet) changeWords(sh *shift) string {
	text := doing(sh.Change) + c.where(sh) + " – " + margin(sh.Change)
	switch {
	case sh.Short():
		text = "! NO TIME: " + text
	case sh.AtEdge():
		text = "! AT THE EDGE: " + text
	case sh.Tight():
		text = "! TIGHT: " + text
	}
	if sh.passes != nil {
		text += " (" + timesOf(sh.passes) + ")"
	}
	if sh.lap {
		text += " (over\u00a0the\u00a0jump)"
	}
	return text
}

// where names the station that the body goes to.
func (c *cueSheet) where(sh *shift) string {
	if !sh.Walks || sh.To.Item() == nil {
		return ""
	}
	if n := sh.To.Item().Station; n > 0 && n < len(c.p.Stations) && c.p.Stations[n].Name != "" {
		return " (" + c.p.Stations[n].Name + ")"
	}
	return ""
}

// timesOf names passes: 1st time, 2nd and 3rd time.
func timesOf(list []int) string {
	var words []string
	for _, n := range list {
		suffix := "th"
		if k := n % 10; k >= 1 && k <= 3 && n/10%10 != 1 {
			suffix = [...]string{"st", "nd", "rd"}[k-1]
		}
		words = append(words, fmt.Sprintf("%d%s", n, suffix))
	}
	return strings.Join(words, "\u00a0and\u00a0") + "\u00a0time"
}

// shiftsIn is the changes of a limb that end in a system, or behind it but
// begin in it.
func (c *cueSheet) shiftsIn(s *system, limb score.Limb) (out []*shift) {
	from, to := s.blocks[0].start, s.end()
	for i := range c.shifts {
		sh := &c.shifts[i]
		if sh.Hand != limb {
			continue
		}
		at := sh.from
		if !at.Less(from) && at.Less(to) {
			out = append(out, sh)
		}
	}
	return out
}

// xOf is where a place stands in a system.
func (s *system) xOf(at beat.Rat) float64 {
	for i := range s.blocks {
		b := &s.blocks[i]
		if end := b.start.Add(b.length); at.Less(end) || i == len(s.blocks)-1 {
			return b.at(at)
		}
	}
	return 0
}

// xEnd is where something that lasts to a place ends: a place on a bar line
// is the end of the bar before it.
func (s *system) xEnd(at beat.Rat) float64 {
	for i := range s.blocks {
		b := &s.blocks[i]
		if end := b.start.Add(b.length); !end.Less(at) || i == len(s.blocks)-1 {
			return b.at(at)
		}
	}
	return 0
}

// at is where a place stands in a block, in proportion to time.
func (b *block) at(at beat.Rat) float64 {
	share := at.Sub(b.start).Float() / b.length.Float()
	return b.x + b.padL + share*b.inner()
}

func (b *block) inner() float64 {
	return b.w - b.padL - b.padR
}

// xLine is where the bar line before a place stands.
func (s *system) xLine(at beat.Rat) float64 {
	for i := range s.blocks {
		if s.blocks[i].start == at {
			return s.blocks[i].x
		}
	}
	return s.xOf(at)
}

// draw puts a system on the page.
func (c *cueSheet) draw(s *system, y float64) {
	s.top.draw(c.d, y)
	y += s.top.height()
	c.endingLines(s, y)
	c.barNumbers(s, y)
	y += barNumH
	top := y
	c.ruler(s, y)
	y += rulerH
	if slices.ContainsFunc(s.blocks, func(b block) bool { return b.cue != nil }) {
		c.cueRow(s, y)
		y += rowH + laneGap
	}
	c.barLines(s, strips(s, top, y))
	for _, l := range s.lanes {
		c.lane(s, l, y)
		y += l.height() + laneGap
	}
	c.d.sayTable(c.table(s))
}

func (c *cueSheet) barNumbers(s *system, y float64) {
	for i := range s.blocks {
		b := &s.blocks[i]
		text := fmt.Sprint(b.from)
		if b.to > b.from && b.w > 40 {
			text = fmt.Sprintf("%d–%d", b.from, b.to)
		}
		if c.d.f.width(text, 8.5, false) < b.w-3 {
			c.d.words(b.x+2, y+8, text, 8.5, false, Mid)
		}
	}
}

// endingLines are drawn over the bars that are not played every time.
func (c *cueSheet) endingLines(s *system, y float64) {
	for _, e := range c.Endings {
		var x1, x2 float64
		for i := range s.blocks {
			b := &s.blocks[i]
			if b.from > e.To || b.to < e.From {
				continue
			}
			if x2 == 0 {
				x1 = b.x
			}
			if b.from == e.From {
				c.d.line(b.x+0.5, y, b.x+0.5, y+barNumH, 1.2, Black)
			}
			x2 = b.x + b.w
		}
		if x2 > 0 {
			c.d.line(x1, y, x2-2, y, 1.2, Black)
		}
	}
}

// ruler writes the counts: what is struck in bold, the other beats pale. A
// count that has no room beside a more needed one is left out.
func (c *cueSheet) ruler(s *system, y float64) {
	base := y + 11
	for i := range s.blocks {
		b := &s.blocks[i]
		var taken []Rect
		for rank := range 3 {
			for _, k := range b.counts {
				if want := rankOf(k); want != rank {
					continue
				}
				x := b.x + b.padL + k.at*b.inner()
				size := countSize
				if !k.beat {
					size--
				}
				w := c.d.f.width(k.text, size, k.struck)
				r := Rect{x - w/2 - 0.6, y, w + 1.2, rulerH}
				if slices.ContainsFunc(taken, r.Meets) || r.X < b.x || r.X+r.W > b.x+b.w+2 {
					continue
				}
				taken = append(taken, r)
				ink := Mid
				if k.struck {
					ink = Black
				}
				c.d.centred(x, base, k.text, size, k.struck, ink).Part = CountArt
			}
		}
	}
}

func rankOf(k counted) int {
	switch {
	case k.beat && k.struck:
		return 0
	case k.struck:
		return 1
	}
	return 2
}

func (c *cueSheet) cueRow(s *system, y float64) {
	mid := y + rowH/2
	for i := range s.blocks {
		b := &s.blocks[i]
		if b.cue == nil {
			continue
		}
		c.d.line(b.x+3, mid, b.x+b.w-3, mid, 0.5, Pale).Dash = 2
		for _, at := range b.cue.at {
			c.d.disc(b.at(at), mid, min(2.4, strokeR*s.scale), Black, White, 0.9).Part = CueArt
		}
	}
}

// lane draws one limb's rows, what it holds and what it changes.
func (c *cueSheet) lane(s *system, l *lane, y float64) {
	height := l.height() - l.notes.height()
	c.limbSign(l.limb, y, height)
	rowTop := y
	if len(l.rows) == 0 {
		rowTop += rowH * 0.6
	}
	for _, r := range l.rows {
		c.row(s, l, r, rowTop)
		rowTop += r.upper + r.height
	}
	if l.limb.IsHand() {
		c.holdBand(s, l, rowTop)
		rowTop += holdH
	}
	l.notes.draw(c.d, rowTop)
}

// limbSign is the letter of a limb: white on black for the right side, black
// on white for the left.
func (c *cueSheet) limbSign(l score.Limb, y, h float64) {
	r := Rect{margin0, y, limbW - 3, h}
	ink, fill := White, Black
	if l == score.Left || l == score.LeftFoot {
		ink, fill = Black, White
	}
	word, size := l.String(), 12.0
	if l == score.Mouth {
		word = "M"
	}
	if len(word) > 1 {
		size = 8.5
	}
	c.d.box(r, Black, fill, 1.1)
	c.d.centred(r.X+r.W/2, y+h/2+size*0.36, word, size, true, ink)
}

func (c *cueSheet) row(s *system, l *lane, r *row, y float64) {
	y += r.upper
	mid := y + r.height/2
	lineH := labelSize * (above + below)
	base := mid - lineH*float64(len(r.label))/2 + labelSize*above
	for i, text := range r.label {
		c.d.words(margin0+limbW, base+float64(i)*lineH, text, labelSize, false, Black)
	}
	for i := range s.blocks {
		if b := &s.blocks[i]; !b.rest {
			c.d.line(b.x, mid, b.x+b.w, mid, 0.5, Pale)
		}
	}
	c.strokesOf(s, r, mid)
	for _, a := range c.p.Actions {
		if a.Kind == score.Damp && a.Item == r.item && !a.At.Less(s.blocks[0].start) && a.At.Less(s.end()) &&
			slices.Contains(limbsIn(limbBits(a.Limb)), r.limb) {
			c.cross(s.xOf(a.At), mid, strokeR*s.scale*0.8)
		}
	}
}

func (c *cueSheet) strokesOf(s *system, r *row, mid float64) {
	to := s.end()
	c.between(s.blocks[0].start, to, func(st *struck, goesOn bool) {
		switch {
		case st.cue.Item != r.item || st.cue.Pass != r.pass || !hasLimb(st.limbs, r.limb):
		case goesOn:
			c.roll(s, s.blocks[0].x+2, s.xEnd(earlier(st.End, to)), mid)
		default:
			c.stroke(s, st, r, mid)
		}
	})
}

func earlier(a, b beat.Rat) beat.Rat {
	if a.Less(b) {
		return a
	}
	return b
}

// stroke draws one stroke of one limb.
func (c *cueSheet) stroke(s *system, st *struck, r *row, mid float64) {
	x, k := s.xOf(st.At), s.scale
	rad := strokeR * k
	mark := func(it *Item) { it.Part, it.Of, it.Limb = StrokeArt, st.Stroke, r.limb }
	if !st.Sounds() {
		mark(c.cross(x, mid, rad*0.85))
	} else {
		if st.Has(score.Roll) {
			c.roll(s, x, s.xEnd(earlier(st.End, s.end())), mid)
		}
		mark(c.d.disc(x, mid, rad, NoInk, Black, 0))
		for g := range int(st.Grace) {
			c.d.disc(x-rad-(2.2+float64(g)*2*graceR)*k, mid-1.5*k, graceR*k*0.85, NoInk, Black, 0)
		}
		if st.Has(score.Accent) {
			c.d.line(x-3.4*k, mid-rad-3.4*k, x, mid-rad-0.7*k, 1.3*k, Black)
			c.d.line(x, mid-rad-0.7*k, x+3.4*k, mid-rad-3.4*k, 1.3*k, Black)
		}
		if st.Has(score.Short) {
			end := x
			if st.Has(score.Roll) {
				end = s.xEnd(earlier(st.End, s.end())) - rad
			}
			c.d.line(end+rad+1.8*k, mid-rad, end+rad+1.8*k, mid+rad, 1.7*k, Black)
		}
	}
	if text := aboveRow(st); text != "" {
		w := c.d.f.width(text, dynSize*k, true)
		x = max(s.blocks[0].x+1, min(x-rad, c.right-w))
		c.d.words(x, mid-r.height/2-1, text, dynSize*k, true, Black)
	}
}

// cross stops a ring.
func (c *cueSheet) cross(x, y, r float64) *Item {
	c.d.line(x-r, y-r, x+r, y+r, 1.6, Black)
	c.d.line(x-r, y+r, x+r, y-r, 1.6, Black)
	return c.d.disc(x, y, r, NoInk, NoInk, 0)
}

// roll is a span with slanting lines in it.
func (c *cueSheet) roll(s *system, from, to, mid float64) {
	h := 3.0 * max(0.5, s.scale)
	c.d.box(Rect{from, mid - h, max(0.5, to-from), 2 * h}, Black, White, 0.9).Part = RollArt
	for x := from + strokeR + 4; x < to-2; x += 5.5 {
		c.d.line(x-1.5, mid+h, x+1.5, mid-h, 0.9, Black)
	}
}

// holdBand is what the hand holds, quietly, and the time there is for each
// change: open, with the time that it takes at an easy pace underlined.
func (c *cueSheet) holdBand(s *system, l *lane, y float64) {
	const pad = 1.2
	for _, h := range l.holds {
		x1, x2 := s.xOf(h.from), s.xEnd(h.to)
		if h.from == s.blocks[0].start || s.xLine(h.from) != s.xOf(h.from) {
			x1 = s.xLine(h.from)
		}
		if h.to == s.end() {
			b := &s.blocks[len(s.blocks)-1]
			x2 = b.x + b.w
		}
		if x2-x1 < 1 || h.words == "" {
			continue
		}
		c.d.box(Rect{x1, y + pad, x2 - x1, holdH - 2*pad}, NoInk, Wash, 0).Part = HoldArt
		c.holdWords(h.words, x1+3, x2-2, y+holdH-3.6)
	}
	free := s.blocks[0].x // of words, from here on
	for _, sh := range c.shiftsOver(s, l.limb) {
		x1, x2 := s.xOf(sh.from)+strokeR*s.scale, s.xEnd(sh.at)
		early := sh.from.Less(s.blocks[0].start)
		if early {
			x1 = s.blocks[0].x
		}
		if s.end().Less(sh.at) {
			b := &s.blocks[len(s.blocks)-1]
			x2 = b.x + b.w
		}
		x1 = min(x1, x2-3)
		thick := 0.8
		if sh.Tight() || sh.Short() {
			thick = 2
		}
		c.d.box(Rect{x1, y + pad, x2 - x1, holdH - 2*pad}, Black, White, thick).Part = ChangeArt
		if early && x1 >= free && x2-x1 > 90 {
			free = x2
			c.holdWords("… "+doing(sh.Change), x1+3, x2-2, y+holdH-3.6)
		}
		if share := sh.Need.Steady / max(sh.Window, 1e-9); !early && !s.end().Less(sh.at) {
			c.d.box(Rect{x1, y + holdH - pad - 3, (x2 - x1) * min(1, share), 3}, NoInk, Mid, 0)
		}
	}
}

// holdWords writes what is held as far as there is room.
func (c *cueSheet) holdWords(words string, x1, x2, base float64) {
	text := c.d.f.fit(words, holdSize, false, x2-x1)
	if text == words || len([]rune(text)) >= 5 {
		c.d.words(x1, base, text, holdSize, false, Black)
	}
}

// shiftsOver is the changes whose time reaches into a system.
func (c *cueSheet) shiftsOver(s *system, limb score.Limb) (out []*shift) {
	from, to := s.blocks[0].start, s.end()
	for i := range c.shifts {
		sh := &c.shifts[i]
		if sh.Hand == limb && sh.opens() && from.Less(sh.at) && sh.from.Less(to) {
			out = append(out, sh)
		}
	}
	return out
}

// A strip is a part of a system that bar lines run through: from the ruler
// down to where words stand between two lanes, and from there on.
type strip struct{ top, bottom float64 }

func strips(s *system, top, y float64) []strip {
	list := []strip{{top, y}}
	for _, l := range s.lanes {
		h := l.height() - l.notes.height()
		if last := &list[len(list)-1]; last.bottom+laneGap >= y {
			last.bottom = y + h
		} else {
			list = append(list, strip{y, y + h})
		}
		y += l.height() + laneGap
	}
	return list
}

// barLines are drawn through all lanes, with the signs of the road map.
func (c *cueSheet) barLines(s *system, strips []strip) {
	starts, ends := map[int]bool{}, map[int]bool{}
	for _, list := range [][]score.Section{c.Repeats, c.Vamps} {
		for _, r := range list {
			starts[r.From], ends[r.To] = true, true
		}
	}
	line := func(x, thick float64) {
		for _, p := range strips {
			c.d.line(x, p.top, x, p.bottom, thick, Black)
		}
	}
	top := strips[0].top
	mid := top + rulerH/2
	for i := range s.blocks {
		b := &s.blocks[i]
		end := b.x + b.w
		if starts[b.from] {
			line(b.x+1, 2.4)
			c.repeatDots(b.x+5, mid)
		} else {
			line(b.x, 0.7)
		}
		if ends[b.to] {
			line(end-1, 2.4)
			c.repeatDots(end-5, mid)
		} else if i == len(s.blocks)-1 {
			thick := 0.7
			if b.to == c.Grid.Last() {
				thick = 2.4
			}
			line(end-thick/2, thick)
		}
		if b.rest {
			c.restBar(b, top+rulerH)
		}
		if b.cut {
			c.d.line(b.x, strips[len(strips)-1].bottom, end, top, 0.9, Mid)
		}
	}
}

func (c *cueSheet) repeatDots(x, mid float64) {
	c.d.disc(x, mid-3, 1.5, NoInk, Black, 0)
	c.d.disc(x, mid+3, 1.5, NoInk, Black, 0)
}

// restBar writes how many bars are rested, in the ruler where it is counted.
func (c *cueSheet) restBar(b *block, top float64) {
	text := fmt.Sprintf("%d bars", b.to-b.from+1)
	if b.cut {
		text += " cut"
	}
	x := b.x + b.w/2
	c.d.centred(x, top-3, text, countSize, true, Black)
	if room := b.w - 16; room > 8 {
		c.d.box(Rect{b.x + 8, top + 4, room, 4}, NoInk, Black, 0)
		c.d.line(b.x+8, top+1, b.x+8, top+11, 1.2, Black)
		c.d.line(b.x+8+room, top+1, b.x+8+room, top+11, 1.2, Black)
	}
}

// paginate puts the systems on pages, breaking where a hand is free to turn.
func (c *cueSheet) paginate(systems []*system) {
	y := c.newPage()
	bottom := c.d.H - margin0 - turnH
	systems = c.lowEnough(systems, bottom-c.topOfPage())
	c.freeHands(systems)
	for i := 0; i < len(systems); {
		n, used := 0, y
		for i+n < len(systems) && used+systems[i+n].h <= bottom {
			used += systems[i+n].h + systemGap
			n++
		}
		if n == 0 && y > c.topOfPage() { // the head has left too little room
			y = c.newPage()
			continue
		}
		n = max(n, 1)
		last := i+n == len(systems)
		if !last {
			n = c.turnAfter(systems[i : i+n])
		}
		c.fill(systems[i:i+n], y, bottom, last)
		i += n
		if !last {
			c.turnWords(systems[i-1])
			y = c.newPage()
		}
	}
	if c.Grid.Last() > MaxBars {
		c.footWords(fmt.Sprintf("! bars after %d are not on this sheet", MaxBars))
	}
}

// turnH is the room at the foot of a page for its number and what is said of
// its turn.
const turnH = 10.0

func (c *cueSheet) topOfPage() float64 { return margin0 + 25 }

// fill draws systems one below the other, spread over the page unless it is
// the last.
func (c *cueSheet) fill(systems []*system, y, bottom float64, last bool) {
	gap := systemGap
	if !last {
		used := y
		for _, s := range systems {
			used += s.h + systemGap
		}
		gap += min(systemGap, max(0, bottom-used)/float64(len(systems)))
	}
	for _, s := range systems {
		first := len(c.d.Items)
		c.draw(s, y)
		if room := bottom - y; s.h > room {
			c.d.squeeze(first, margin0, y, room/s.h)
		}
		y += s.h + gap
	}
}

// lowEnough parts systems that are higher than a page; one of a single bar
// stays and is drawn smaller.
func (c *cueSheet) lowEnough(systems []*system, room float64) []*system {
	var out []*system
	todo := slices.Clone(systems)
	slices.Reverse(todo)
	hands := c.usesHands()
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if s.h <= room || len(s.blocks) == 1 {
			out = append(out, s)
			continue
		}
		half := len(s.blocks) / 2
		for _, blocks := range [][]block{s.blocks[half:], s.blocks[:half]} {
			part := spread(blocks, c.right-c.left, false)
			c.lanes(part, hands)
			c.arrange(part)
			todo = append(todo, part)
		}
	}
	return out
}

// turnAfter is after how many of the systems that fit the page is turned: at
// the last place in its lower half at which a hand is free for long enough,
// else where it is free for longest.
func (c *cueSheet) turnAfter(fit []*system) int {
	need := max(usualTurn, c.turnTime())
	best := len(fit)
	for n := len(fit); n > len(fit)/2 && n > 0; n-- {
		if fit[n-1].free >= need {
			return n
		}
		if fit[n-1].free > fit[best-1].free+0.2 {
			best = n
		}
	}
	return best
}

// usualTurn is how long a hand should be free to turn a page, in seconds, as
// the checker has it too (common practice, no source).
const usualTurn = 3.0

func (c *cueSheet) turnTime() float64 { return c.p.Profile.TurnPage(40).Pace.Steady }

func (c *cueSheet) turnWords(s *system) {
	text := "turn"
	switch {
	case s.free < c.turnTime():
		text = "! no hand is free to turn here: lay both pages side by side"
	case s.free < usualTurn:
		text = fmt.Sprintf("! turn quickly: the %s is free for %s", s.hand.Name(), secs(s.free))
	case s.free < 60:
		text = fmt.Sprintf("turn: the %s is free for %s", s.hand.Name(), secs(s.free))
	}
	c.footWords(text)
}

func (c *cueSheet) footWords(text string) {
	c.d.right(c.right, c.d.H-margin0+4, text, 9, true, Black)
	c.d.say(capital(text))
}

// freeHands works out how long a hand is free around the end of each system.
func (c *cueSheet) freeHands(systems []*system) {
	for _, s := range systems {
		b := &s.blocks[len(s.blocks)-1]
		t, ok := c.seconds(b.to, s.end())
		if !ok {
			s.free = math.Inf(1)
			continue
		}
		for h := range 2 {
			before, after := c.around(uint8(1<<h), t)
			if free := after - before; free > s.free {
				s.free, s.hand = free, score.Limb(h)
			}
		}
	}
}

// around is when a hand is last busy before and first busy after a moment.
func (c *cueSheet) around(hand uint8, t float64) (before, after float64) {
	before, after = math.Inf(-1), math.Inf(1)
	events := c.m.Events
	i, _ := slices.BinarySearchFunc(events, t-1e-6, func(e motion.Event, t float64) int {
		if e.T0 < t {
			return -1
		}
		return 1
	})
	for k := i - 1; k >= 0; k-- {
		if events[k].Limbs&hand != 0 {
			before = min(events[k].T1, t)
			break
		}
	}
	for k := i; k < len(events); k++ {
		if events[k].Limbs&hand != 0 {
			after = events[k].T0
			break
		}
	}
	if change := c.changeIn(hand, before, after); change > 0 {
		after -= change
	}
	return before, after
}

// changeIn is the time that changes of a hand take within a gap.
func (c *cueSheet) changeIn(hand uint8, from, to float64) (need float64) {
	for i := range c.m.Changes {
		ch := &c.m.Changes[i]
		if limbBits(ch.Hand)&hand != 0 && ch.To.T0 <= to && ch.To.T0 > from {
			need += ch.Need.Steady
		}
	}
	return need
}
