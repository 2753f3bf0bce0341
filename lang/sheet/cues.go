package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
)

// Measures of a cue sheet, in points.
const (
	margin0   = 25.0
	limbW     = 18.0
	holdH     = 13.2
	holdSize  = 10.2
	noteH     = 12.2
	noteSize  = 10.2
	leastNote = 140.0 // room for the words of a change near the right edge
	topH      = 13.2
	topSize   = 10.5
	barNumH   = 9.5
	numSize   = 8.5
	systemGap = 5.0
	laneGap   = 1.0
	labelSize = 13.0
)

// cues is a player's cue sheet; false where there is no such player.
func cues(r *check.Result, player string, paper Paper) (Doc, bool) {
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

	clashing   []clash
	heldBefore [2]string            // at the end of the line before
	bottom     float64              // of the last line
	named      map[body.Limb]string // on a narrow page, what stands on a limb's lines last
	cued       bool                 // what others play before an entry stands on it
}

// mostTried is how many pages a part has at most that is set again, closer.
const mostTried = 3

// cuesFor is the cue sheet as it is wanted: as large as it is read from far, and
// larger where that takes no more pages and no turn without a free hand.
func (v *part) cuesFor(opt *Options) Doc {
	paper := opt.afar()
	doc := v.cues(paper)
	if n := len(doc.Pages); n > 1 && n <= mostTried { // closer lines, if they save a page
		v.close = true
		if d := v.cues(paper); len(d.Pages) < n {
			doc = d
		} else {
			v.close = false
		}
	}
	doc.part = v
	if n := len(doc.Pages); n <= mostTried {
		for _, k := range sizesUp {
			larger := paper
			if larger.Scale = min(paper.Scale*k, max(opt.Paper.Scale, 1)*Pit.size()); larger.Scale <= paper.Scale || doc.filled*k > 1.02 {
				continue
			}
			if d := v.cues(larger); len(d.Pages) == n && d.stuck <= doc.stuck {
				doc, doc.part = d, v
				break
			}
		}
	}
	for _, p := range doc.Pages {
		if opt.For == Pit {
			p.forPit()
		}
		if opt.Dark {
			p.dark()
		}
	}
	return doc
}

func (v *part) cues(paper Paper) Doc {
	c := &cueSheet{part: v, doc: v.doc("cues", "Cue sheet", paper)}
	c.d.Page = newPage(&c.doc) // to measure with; the first page is begun later
	w := paper.W / paper.Scale
	c.labW = c.labelWidth(w)
	c.left, c.right = margin0+limbW+c.labW+min(5, 1+c.labW), w-margin0
	if c.clefs {
		c.left += clefW
	}
	systems := v.systems(v.measured(c.d.f), c.right-c.left)
	hands := v.usesHands()
	c.clashing = v.knots
	for _, s := range systems {
		v.lanes(s, hands)
		c.arrange(s)
		c.cued = c.cued || slices.ContainsFunc(s.blocks, func(b block) bool { return b.cue != nil })
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

// narrowPage is below which width bars need the room of the names, which then stand
// over and under the lines where they change.
const narrowPage = 250.0

// labelWidth is the room for the names of the rows: as much as the longest
// needs, between an eighth and a fifth of the page; none on a narrow page.
func (c *cueSheet) labelWidth(page float64) float64 {
	if page < narrowPage {
		return 0
	}
	widest := page / 16
	for _, it := range c.items() {
		widest = max(widest, c.d.f.width(it.Short(), labelSize, true)+1)
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

// pageItems is how many items a page has room for before it grows.
const pageItems = 256

func newPage(doc *Doc) *Page {
	p := doc.Paper
	return &Page{W: p.W / p.Scale, H: p.H / p.Scale, Scale: p.Scale, f: doc.f, Items: make([]item, 0, pageItems)}
}

func runningHead(d pen, piece, who, what string) float64 {
	defer d.under(apart)()
	y := margin0 + 9
	rightText := d.f.fit(strings.Trim(who+"  ·  "+what, " ·"), 9.5, true, (d.W-2*margin0)*0.6)
	d.right(d.W-margin0, y, rightText, 9.5, true, black).Part = smallPrint
	d.words(margin0, y, d.f.fit(piece, 9.5, false, d.W-2*margin0-d.f.width(rightText, 9.5, true)-12), 9.5, false, middling).Part = smallPrint
	d.line(margin0, y+5, d.W-margin0, y+5, 0.6, pale)
	return y + 16
}

// arrange works out how high a system is and where its words stand.
func (c *cueSheet) arrange(s *system) {
	x := c.left
	for i := range s.blocks {
		s.blocks[i].x = x
		x += s.blocks[i].w
	}
	c.dropCues(s)
	c.topLabels(s)
	s.h = s.numberRow(c.part)
	for _, l := range s.lanes {
		c.prepare(s, l)
		c.rowLabels(l)
		c.noteLabels(s, l)
		s.h += l.height() + laneGap
	}
	s.joinTop()
	s.h += s.top.height() + s.axisHeight()
}

// joinTop stands the words of the first hand's changes and those over the
// system in the same rows, the former next to what they are about.
func (s *system) joinTop() {
	if s.hasRight() {
		first := &s.lanes[0].notes
		s.h -= first.height()
		s.top.labels = append(first.labels, s.top.labels...)
		*first = shelf{}
	}
	s.top.pack()
}

// hasRight says whether the right hand has a lane of its own, which is the first.
func (s *system) hasRight() bool { return len(s.lanes) > 0 && s.lanes[0].limb == body.Right }

// numberRow is the height of a row for the numbers of bars. There is none where
// they stand beside the stems of the right hand's notes.
func (s *system) numberRow(v *part) float64 {
	if s.hasRight() && s.scale == 1 && !slices.ContainsFunc(v.Endings, func(e score.Section) bool {
		return e.From <= s.blocks[len(s.blocks)-1].to && e.To >= s.blocks[0].from
	}) {
		return 0
	}
	return barNumH
}

func (l *lane) height() float64 {
	h := l.notes.height() + l.staffHeight()
	if l.limb.IsHand() {
		h += holdH
	}
	return h
}

func (c *cueSheet) rowLabels(l *lane) {
	for _, r := range l.rows {
		if r.item == nil {
			continue
		}
		name := r.item.Short()
		if r.pass > 0 {
			name += " (" + timesOf([]int{r.pass}) + ")"
		}
		r.said = r.item.Called() + strings.TrimPrefix(name, r.item.Short())
		if c.labW == 0 {
			r.label = []string{name}
			continue
		}
		r.label = c.d.f.wrap(name, labelSize, true, c.labW)
		if len(r.label) > 2 {
			r.label = []string{r.label[0], c.d.f.fit(strings.Join(r.label[1:], " "), labelSize, true, c.labW)}
		}
	}
}

// topLabels are the words over a system, from the most to the least needed.
func (c *cueSheet) topLabels(s *system) {
	from, to := s.blocks[0].start, s.end()
	s.top = shelf{left: c.left, right: c.right, pitch: topH, slack: 130, up: true}
	in := func(at beat.Rat) bool { return !at.Less(from) && at.Less(to) }
	put := func(at beat.Rat, text string, bold bool) {
		l := s.top.put(c.d.f, s.xOf(at), text, topSize, bold, black, (c.right-c.left)*0.6)
		l.said = text + c.atBar(s, at)
	}
	for _, m := range c.Marks {
		if at := c.Grid.Start(m.Bar); in(at) {
			l := s.top.put(c.d.f, s.xLine(at)+3, m.Name, topSize+1, true, black, c.right-c.left)
			l.mark, l.said = true, "mark "+m.Name+c.atBar(s, at)
		}
	}
	c.blockLabels(s, put)
	c.roadLabels(in, put)
	for _, p := range c.Pauses {
		if in(p.At) {
			glyph, word := "fermataAbove", "hold"
			if p.Break {
				glyph, word = "caesura", "break"
			}
			l := s.top.put(c.d.f, s.xOf(p.At)-leadW/2, "", topSize, true, black, c.right-c.left)
			l.sign(glyph)
			l.said = word + c.atBar(s, p.At)
		}
	}
	c.wordLabels(s, in, put)
}

// blockLabels are the meters, the bars that are cut and the tempos.
func (c *cueSheet) blockLabels(s *system, put func(beat.Rat, string, bool)) {
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
			l := s.top.put(c.d.f, s.xOf(b.start), equal+t, topSize, true, black, (c.right-c.left)*0.6)
			l.glyph(glyph)
			l.said = c.unit(b.from).String() + " = " + t + c.atBar(s, b.start)
		}
	}
}

// wordLabels are what is said to the player: remarks, tunings, the piece's words and
// whom to listen to.
func (c *cueSheet) wordLabels(s *system, in func(beat.Rat) bool, put func(beat.Rat, string, bool)) {
	for _, r := range c.Remarks {
		if c.reads(&r) && in(r.At) {
			text := r.Text
			if r.Cue {
				text = "cue: " + text
			}
			put(r.At, text, r.Cue)
		}
	}
	for _, r := range c.tunes {
		if in(r.at) {
			put(r.at, r.text, true)
		}
	}
	for _, cue := range c.p.Cues {
		c.wordsOf(cue, s, in, put)
	}
	for i := range s.blocks {
		if b := &s.blocks[i]; s.beginsCue(i) {
			if text, _ := c.cueUnder(s, i); text == "" {
				put(b.start, "cue: "+b.cue.player+", "+b.cue.cue.Item.Called(), false)
			}
		}
	}
}

// wordsOf are the piece's words in a cue.
func (c *cueSheet) wordsOf(cue *score.Cue, s *system, in func(beat.Rat) bool, put func(beat.Rat, string, bool)) {
	for i, w := range cue.Words {
		if w.Sign {
			if in(w.At) && !pinSign(w.Text) && c.Unheld(cue, w.At) {
				put(w.At, w.Text, false)
			}
			continue
		}
		if in(w.At) && !(i > 0 && w.At != s.blocks[0].start && c.saysAgain(cue.Words[i-1], w)) {
			put(w.At, "“"+w.Text+"”", false)
		}
	}
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
	return fmt.Sprintf(" (bar %s)", c.OnPage(bar))
}

func (c *cueSheet) roadLabels(in func(beat.Rat) bool, put func(beat.Rat, string, bool)) {
	for _, r := range c.Repeats {
		if at := c.Grid.Start(r.From); in(at) {
			put(at, fmt.Sprintf("bars %s–%s %s", c.OnPage(r.From), c.OnPage(r.To), timesWords(r.Times)), true)
		}
	}
	for _, r := range c.Vamps {
		if at := c.Grid.Start(r.From); in(at) {
			put(at, fmt.Sprintf("vamp to bar %s until cued", c.OnPage(r.To)), true)
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
func (c *cueSheet) noteLabels(s *system, l *lane) {
	l.notes = shelf{left: c.left, right: c.right, pitch: noteH}
	c.nameRows(l)
	most := (c.right - c.left) * 0.85
	shifts := c.shiftsIn(s, l.limb)
	for _, sh := range shifts {
		at := sh.from
		if at.Less(s.blocks[0].start) {
			at = s.blocks[0].start
		}
		hard := sh.Tight() || sh.Short()
		x, words := s.xOf(at), c.countWords(sh)
		switch signs, counts, rest := c.boxWords(sh, c.wordRoom(s, sh)); {
		case counts != "":
			words = ""
		case rest != "":
			words = strings.TrimSuffix(rest+": "+words, ": ")
		case signs == "":
			words = strings.TrimSuffix(c.signWords(sh)+": "+words, ": ")
			if len(shifts) > 1 { // which of the boxes it belongs to
				words = c.Place(at) + "\u00a0" + words
			}
		}
		if words != "" {
			l.notes.put(c.d.f, x, words, noteSize, hard, black, most).said = ""
		}
	}
	for _, k := range c.clashing {
		if k.limb == l.limb && !k.at.Less(s.blocks[0].start) && k.at.Less(s.end()) {
			x := s.xOf(k.at)
			l.notes.put(c.d.f, x-strokeR, k.words, noteSize, true, black, min(most, max(c.right-x, leastNote))).said = ""
			l.clashes = append(l.clashes, k)
		}
	}
	l.notes.pack()
}

// nameRows writes what stands on the lines of a lane beside them, where there is no room
// before them: where it changes.
func (c *cueSheet) nameRows(l *lane) {
	var names []string
	for _, r := range l.rows {
		names = append(names, r.label...)
	}
	text := strings.Join(names, " / ")
	if c.labW > 0 || len(names) == 0 || c.named[l.limb] == text {
		return
	}
	if c.named == nil {
		c.named = map[body.Limb]string{}
	}
	c.named[l.limb] = text
	l.notes.put(c.d.f, c.left, text, noteSize, true, black, c.right-c.left).said = ""
}

// signWords is a change in signs: ↓ what is laid, ↑ what is taken.
func (c *cueSheet) signWords(sh *shift) string {
	var out []string
	if what := shortGrip(sh.Laid()); sh.Lays && what != "" {
		out = append(out, "↓\u00a0"+what)
	}
	if sh.Walks {
		out = append(out, c.walkWords(sh))
	}
	if what := shortGrip(sh.Taken()); sh.Takes && what != "" {
		out = append(out, "↑\u00a0"+what)
	}
	if len(out) == 0 || sh.To.Kind.Stops() || sh.To.Kind == motion.PageTurn {
		return check.Doing(sh.Change)
	}
	text := strings.Join(out, " ")
	if sh.Tight() || sh.Short() {
		text = "! " + text
	}
	return text
}

// walkTo is where a walk goes, back as well as out.
func (c *cueSheet) walkTo(sh *shift) string {
	to := sh.To.Item()
	if to == nil {
		return walks
	}
	name := "back"
	if n := to.Station; n > 0 && n < len(c.p.Stations) && c.p.Stations[n].Name != "" {
		name = c.p.Stations[n].Name
	}
	return walks + "\u00a0" + together(name)
}

// walkWords is the same, and how far it is.
func (c *cueSheet) walkWords(sh *shift) string {
	to, from := sh.To.Item(), sh.fromItem()
	if to == nil || from == nil || from.Station == to.Station || max(from.Station, to.Station) >= len(c.p.Stations) {
		return c.walkTo(sh)
	}
	a, b := c.p.Stations[from.Station].At, c.p.Stations[to.Station].At
	return c.walkTo(sh) + fmt.Sprintf("\u00a0%.1f\u00a0m", math.Hypot(a.Right-b.Right, a.Ahead-b.Ahead)/100)
}

// fromItem is what a change begins at; nil where it is nothing.
func (sh *shift) fromItem() *score.Item {
	if sh.From == nil {
		return nil
	}
	return sh.From.Item()
}

// shortGrip is what is held, as short as it is pencilled in.
func shortGrip(g motion.Grip) string {
	var out []string
	if im := g.Implement; im != nil {
		out = append(out, shortOf(im, g.Count))
		if g.Butt {
			out[0] = "butt of the " + out[0]
		}
	}
	if g.Inst != nil {
		out = append(out, g.Inst.Short())
	}
	if g.Kept != nil {
		out = append(out, g.Kept.Short())
	}
	return together(strings.Join(out, " and "))
}

// shortOf is one implement or several: 2 yarn, 2 sticks.
func shortOf(im *kit.Implement, n int) string {
	if n < 2 {
		return im.Short()
	}
	short := im.Short()
	if last := func(s string) string { return s[strings.LastIndexByte(s, ' ')+1:] }; last(short) == last(im.Name()) {
		short = plural(short)
	}
	return fmt.Sprintf("%d %s", n, short)
}

// countWords is how long a change has and needs, in counts as they are there;
// nothing where there is three times what it needs.
func (c *cueSheet) countWords(sh *shift) string {
	if sh.Window >= 3*sh.Need.Steady && sh.passes == nil {
		return ""
	}
	count := c.countLasts(sh.from)
	text := countsOf(sh.Window/count) + ", "
	switch {
	case sh.Short():
		text = "NO TIME: " + text + "needs\u00a0" + halves(math.Ceil(2*sh.Need.Limit/count-1e-6))
	default:
		text += "easy\u00a0" + halves(math.Ceil(2*sh.Need.Steady/count-1e-6))
	}
	if sh.AtEdge() {
		text += ", at the edge"
	} else if c.tightest(sh) {
		text += ": the tightest"
	}
	if sh.again {
		text += ", each\u00a0time"
	}
	switch {
	case sh.lap > 0:
		text = c.jumpWords(sh) + ": " + text
	case sh.passes != nil:
		text = timesOf(sh.passes) + ": " + text
	}
	return text
}

// jumpWords says of a change over a jump of the road map which one that is.
func (c *cueSheet) jumpWords(sh *shift) string {
	if sh.lap == 1 && c.Grid.Start(sh.to).Less(sh.at) {
		return fmt.Sprintf("back\u00a0to\u00a0%d", sh.to)
	}
	if sh.lap == 1 {
		return fmt.Sprintf("on\u00a0to\u00a0%d", sh.to)
	}
	return "over\u00a0the\u00a0jump"
}

// tightest says whether a change has the least share of time to spare, of
// several.
func (c *cueSheet) tightest(sh *shift) bool {
	for i := range c.shifts {
		o := &c.shifts[i]
		if o.lap < 2 && o.Need.Steady*sh.Window > sh.Need.Steady*o.Window {
			return false
		}
	}
	return len(c.shifts) > 2
}

// halves writes a number of halves.
func halves(n float64) string {
	text := fmt.Sprint(int(n) / 2)
	if int(n)%2 == 0 {
		return text
	}
	return strings.TrimPrefix(text, "0") + "½"
}

// changeSpan is from where to where the time of a change is drawn in a system.
func (c *cueSheet) changeSpan(s *system, sh *shift) (x1, x2 float64) {
	x1, x2 = s.xOf(sh.from)+strokeR*s.scale, s.xEnd(sh.at)
	if sh.from.Less(s.blocks[0].start) {
		x1 = s.blocks[0].x
	}
	if s.end().Less(sh.at) {
		b := &s.blocks[len(s.blocks)-1]
		x2 = b.x + b.w
	}
	return min(x1, x2-3), x2
}

// wordRoom is how much of the box of a change no other one lies on, that is drawn
// after it: what cannot be done may be two changes at once.
func (c *cueSheet) wordRoom(s *system, sh *shift) float64 {
	x1, x2 := c.changeSpan(s, sh)
	list := c.shiftsOver(s, sh.Hand)
	for _, o := range list[slices.Index(list, sh)+1:] {
		if from, to := c.changeSpan(s, o); from < x2 && to > x1 {
			x2 = max(x1, from)
		}
	}
	return x2 - x1
}

// boxWords is what is written into the box of a change that is so wide: the signs and
// the counts, or only the signs, or what of them is needed most, since what is laid is
// in the hand. rest is what is taken, where a walk leaves no room for it.
func (c *cueSheet) boxWords(sh *shift, w float64) (signs, counts, rest string) {
	if !c.opens(sh) {
		return "", "", ""
	}
	all := c.countWords(sh)
	type form struct{ signs, counts, rest string }
	forms := []form{{c.signWords(sh), all, ""}}
	takes := c.takeWords(sh)
	if takes != "" && sh.Walks {
		forms = append(forms, form{takes, all, ""})
	}
	forms = append(forms, form{c.signWords(sh), "", ""})
	if takes != "" {
		forms = append(forms, form{takes, "", ""})
	}
	if takes != "" && sh.Walks {
		near := strings.Replace(takes, c.walkWords(sh), c.walkTo(sh), 1)
		forms = append(forms, form{c.walkWords(sh), "", strings.TrimPrefix(near, c.walkTo(sh)+" ")}, form{near, "", ""})
	}
	for _, f := range forms {
		need := 5 + c.d.f.width(f.signs, holdSize, true)
		if f.counts != "" {
			need += 8 + c.d.f.width(f.counts, holdSize, false)
		}
		if need <= w {
			return f.signs, f.counts, f.rest
		}
	}
	return "", "", ""
}

// takeWords is what a change that is not hard ends with: what is taken.
func (c *cueSheet) takeWords(sh *shift) string {
	what := shortGrip(sh.Taken())
	if !sh.Takes || what == "" || sh.Tight() || sh.Short() || sh.To.Kind.Stops() {
		return ""
	}
	if sh.Walks {
		return c.walkWords(sh) + " ↑\u00a0" + what
	}
	return "↑\u00a0" + what
}

// changeWords is a change in words, for who does not see it.
func (c *cueSheet) changeWords(sh *shift) string {
	text := check.Doing(sh.Change) + c.where(sh) + " – " + margin(sh.Change)
	switch {
	case sh.Short():
		text = "! NO TIME: " + text
	case sh.AtEdge():
		text = "! AT THE EDGE: " + text
	case sh.Tight():
		text = "! TIGHT: " + text
	}
	switch {
	case sh.lap > 0:
		text += " (" + c.jumpWords(sh) + ")"
	case sh.passes != nil:
		text += " (" + timesOf(sh.passes) + ")"
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
func (c *cueSheet) shiftsIn(s *system, limb body.Limb) (out []*shift) {
	from, to := s.blocks[0].start, s.end()
	about := c.shiftsAbout(from, to)
	for i := range about {
		sh := &about[i]
		if sh.Hand != limb || sh.lap == 2 && slices.ContainsFunc(c.shifts, func(o shift) bool { return o.lap == 1 && o.Change == sh.Change }) {
			continue // said where it begins
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

// draw puts a system on the page: the right hand above the axis of time, the
// left one below it as in a mirror, and feet and mouth below both.
func (c *cueSheet) draw(s *system, y float64) {
	words := c.table(s)
	defer c.d.pictured(words.words())()
	s.top.draw(c.d, y)
	y += s.top.height()
	var strips []strip
	axis := func() {
		high := s.axisHeight()
		c.axis(s, y+high-axisH)
		if len(strips) == 0 {
			strips = append(strips, strip{y, y + high})
		}
		strips[0].bottom = y + high
		y += high
	}
	row := s.numberRow(c.part)
	numbers := func() {
		if row > 0 {
			c.endingLines(s, y)
		}
		c.barNumbers(s, y) // beside the stems where there is no row for them
		y += row
	}
	if len(s.lanes) == 0 || s.lanes[0].limb != body.Right {
		numbers()
		axis()
	}
	for _, l := range s.lanes {
		top := y
		if l.limb == body.Right {
			l.notes.draw(c.d, y)
			y += l.notes.height()
			c.holdBand(s, l, y)
			y += holdH
			numbers()
		}
		staff := y
		c.staff(s, l, y)
		y += l.staffHeight()
		if l.limb == body.Left {
			c.cuesUnder(s, y)
		}
		top0, last0 := l.rows[0], l.rows[len(l.rows)-1]
		first, last := top0.mid-max(9, top0.rule.upper()-rowPitch/2), last0.mid+max(9, last0.rule.lower()-rowPitch/2)
		switch l.limb {
		case body.Right:
			c.handSigns(s, top+l.notes.height(), y-top-l.notes.height())
			c.rowNames(l, top+l.notes.height(), y)
			strips = append(strips, strip{first, y})
			axis()
		case body.Left:
			if !l.bare {
				strips[0].bottom = last
			}
			c.holdBand(s, l, y)
			c.limbSign(l.limb, staff, y+holdH-staff)
			c.rowNames(l, staff, y+holdH)
			y += holdH
			l.notes.draw(c.d, y)
			y += l.notes.height()
		default:
			strips = append(strips, strip{first, last})
			c.limbSign(l.limb, staff, y-staff)
			c.rowNames(l, staff, y)
			l.notes.draw(c.d, y)
			y += l.notes.height()
		}
		y += laneGap
	}
	c.barLines(s, strips)
	c.d.sayTable(words)
}

func (c *cueSheet) barNumbers(s *system, y float64) {
	for i := range s.blocks {
		b := &s.blocks[i]
		text := c.OnPage(b.from)
		if b.to > b.from && b.w > 40 {
			text = c.OnPage(b.from) + "–" + c.OnPage(b.to)
		}
		if b.fold > 0 {
			c.d.centred(b.x+b.w/2, y+7.9, fmt.Sprintf("%d more", (b.to-b.from+1)/b.fold), holdSize, true, black)
			continue
		}
		if b.left > 0 && !b.rest && !b.lone { // of a rest, to count down
			left := fmt.Sprint(b.left)
			half, number := c.d.f.width(left, holdSize, true)/2, c.d.f.width(text, numSize, false)
			x := max(b.x+b.w/2, b.x+number+4.5+half)
			if x+half > b.x+b.w-1.5 { // how many are left matters more
				x, text = b.x+b.w/2, ""
			}
			c.d.centred(x, y+7.9, left, holdSize, true, black).Part = countArt
		}
		if text != "" && c.d.f.width(text, numSize, false) < b.w-3 {
			c.d.words(b.x+2, y+7.2, text, numSize, false, middling)
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
				c.d.line(b.x+0.5, y, b.x+0.5, y+barNumH, 1.2, black)
			}
			x2 = b.x + b.w
		}
		if x2 > 0 {
			c.d.line(x1, y, x2-2, y, 1.2, black)
		}
	}
}

// axis is the line of time between the hands: a tick for every beat, its number
// where both hands wait and the player counts, what others play before an entry,
// and the numbers of bars that are not drawn, to tick off.
func (c *cueSheet) axis(s *system, y float64) {
	mid, base := y+axisH/2, y+axisH/2+countSize*0.36
	marks := c.markSpans(s)
	for i := range s.blocks {
		b := &s.blocks[i]
		switch {
		case b.fold > 0:
			text := c.foldNumbers(b)
			if c.d.f.width(text, foldSize, false) > b.w-6 {
				text = c.OnPage(b.from) + " … " + c.OnPage(b.to+1-b.fold)
			}
			c.d.centred(b.x+b.w/2, base, text, foldSize, false, black)
		case b.rest:
			c.restNumbers(b, base)
		case b.cue != nil:
			c.cueNotes(b, mid, s.scale)
		default:
			c.beats(b, marks, mid, base)
		}
	}
}

// beats are the ticks of a bar's beats, and their numbers, but where dynamics
// reach into the axis.
func (c *cueSheet) beats(b *block, marks []span, mid, base float64) {
	edge := b.x
	for _, k := range b.counts {
		x := b.x + b.padL + k.at*b.inner()
		w := c.d.f.width(k.text, countSize, false)
		switch {
		case !k.beat || inSpan(marks, x-w/2-0.5, x+w/2+0.5):
		case k.struck || x-w/2 < edge || x+w/2 > b.x+b.w-1:
			c.d.line(x, mid-2.5, x, mid+2.5, 0.7, middling)
		default:
			edge = x + w/2 + countGap
			c.d.centred(x, base, k.text, countSize, false, black).Part = countArt
		}
	}
}

// countGap is the room between two numbers, so that they are not read as one.
const countGap = 2.5

// restNumbers counts the bars of a rest down to the entry, where there is room, or says
// how many there are.
func (c *cueSheet) restNumbers(b *block, base float64) {
	text := b.downTo()
	if b.cut || text == "" || c.d.f.width(text, restSize, true) > b.w-12 {
		text = fmt.Sprintf("%d bars", b.to-b.from+1)
	}
	if b.cut {
		text += " cut"
	}
	c.d.centred(b.x+b.w/2, base, text, restSize, true, black)
}

// The size of the numbers of a rest, and how many there are at most.
const (
	restSize = countSize + 1.5
	restMost = 20
)

// downTo is how many bars a rest has left, at each of its bars; "" where there are too
// many to write down.
func (b *block) downTo() string {
	n := b.to - b.from + 1
	if n > restMost {
		return ""
	}
	var down []string
	for k := n + b.left; k > b.left; k-- {
		down = append(down, fmt.Sprint(k))
	}
	return strings.Join(down, "  ")
}

// handSigns is the letter of the right hand before its line, and below it that of the
// left one where that plays there too and has nothing to hold, and so no band of its own.
func (c *cueSheet) handSigns(s *system, y, h float64) {
	both := !slices.ContainsFunc(s.lanes, func(l *lane) bool { return l.limb == body.Left }) &&
		slices.ContainsFunc(s.blocks, func(b block) bool { return c.sharedIn(&b) })
	if both {
		h /= 2
		c.limbSign(body.Left, y+h+1, h-1)
	}
	c.limbSign(body.Right, y, h)
}

// limbSign is the letter of a limb: white on black for the right side, black
// on white for the left.
func (c *cueSheet) limbSign(l body.Limb, y, h float64) {
	r := Rect{margin0, y, limbW - 3, h}
	ink, fill := white, black
	if l == body.Left || l == body.LeftFoot {
		ink, fill = black, white
	}
	word, size := l.Letter(), 12.0
	if len(word) > 1 {
		size = 8.5
	}
	c.d.box(r, black, fill, 1.1)
	c.d.centred(r.X+r.W/2, y+h/2+size*0.36, word, size, true, ink)
}

// rowNames writes what stands on the lines of a lane before them, within what the
// lane has of the page: each as near to its line as the others let it.
func (c *cueSheet) rowNames(l *lane, top, bottom float64) {
	if c.labW == 0 {
		return
	}
	lines := 0
	for _, r := range l.rows {
		lines += len(r.label)
	}
	size := min(labelSize, (bottom-top)/(above+below)/float64(max(1, lines)))
	lineH := size * (above + below)
	at := make([]float64, len(l.rows)) // where the first line of each begins
	next := top
	for i, r := range l.rows {
		h := lineH * float64(len(r.label))
		at[i] = max(next, r.mid-h/2)
		next = at[i] + h
	}
	under := bottom
	for i := len(l.rows) - 1; i >= 0; i-- {
		h := lineH * float64(len(l.rows[i].label))
		at[i] = min(at[i], under-h)
		under = at[i]
	}
	for i := range at { // names of lines that are close stand around them
		if i > 0 && at[i] < at[i-1]+lineH*float64(len(l.rows[i-1].label))+0.1 {
			continue
		}
		j, want := i+1, 0.0
		h := lineH * float64(len(l.rows[i].label))
		for ; j < len(at) && at[j] < at[j-1]+lineH*float64(len(l.rows[j-1].label))+0.1; j++ {
			h += lineH * float64(len(l.rows[j].label))
		}
		want = (l.rows[i].mid+l.rows[j-1].mid)/2 - h/2
		least := top
		if i > 0 {
			least = at[i-1] + lineH*float64(len(l.rows[i-1].label))
		}
		move := max(least, min(want, bottom-h)) - at[i]
		for k := i; k < j; k++ {
			at[k] += min(0, move)
		}
	}
	for i, r := range l.rows {
		for n, text := range r.label {
			c.d.words(margin0+limbW, at[i]+size*above+float64(n)*lineH, text, size, true, black)
		}
	}
}

// cross stops a ring.
func (c *cueSheet) cross(x, y, r float64) *item {
	c.d.line(x-r, y-r, x+r, y+r, 1.6, black)
	c.d.line(x-r, y+r, x+r, y-r, 1.6, black)
	return c.d.disc(x, y, r, noInk, noInk, 0)
}

// bandPad is the room over and under what stands in the band of what is held.
const bandPad = 0.8

// holdBand is what the hand holds, quietly, and the time there is for each
// change: open, with the time that it takes at an easy pace underlined.
func (c *cueSheet) holdBand(s *system, l *lane, y float64) {
	for _, h := range l.holds {
		c.held(s, l, h, y)
	}
	if n := len(l.holds); n > 0 {
		c.heldBefore[l.limb] = l.holds[n-1].words
	}
	for _, sh := range c.shiftsOver(s, l.limb) {
		c.changeBox(s, sh, y)
	}
}

// held draws one thing that the hand holds, from where to where it does.
func (c *cueSheet) held(s *system, l *lane, h hold, y float64) {
	x1, x2 := s.xOf(h.from), s.xEnd(h.to)
	if h.from == s.blocks[0].start || s.xLine(h.from) != s.xOf(h.from) {
		x1 = s.xLine(h.from)
	}
	if h.to == s.end() {
		b := &s.blocks[len(s.blocks)-1]
		x2 = b.x + b.w
	}
	for _, sh := range c.shiftsOver(s, l.limb) { // up to the stroke after which it is laid, and not to the line before that
		if sh.from == h.to {
			x2, _ = c.changeSpan(s, sh)
		}
	}
	if x2-x1 < 1 || h.words == "" {
		return
	}
	line, thick := noInk, 0.0
	if h.thing {
		line, thick = black, 1.6
	}
	c.d.box(Rect{x1, y + bandPad, x2 - x1, holdH - 2*bandPad}, line, wash, thick).Part = holdArt
	x1 += 3
	before := h.from == s.blocks[0].start && c.heldBefore[l.limb] == h.words // it stands on the line before
	if w := c.holdSign(h, x1, x2, y); w > 0 {
		x1 += w
	}
	if before && c.d.f.width(h.short, holdSize, false) > x2-x1-2 {
		return
	}
	c.holdWords(&h, x1, x2-2, y+holdH-3.6)
}

// holdSign draws the outline of what is held before its name, and says how much
// room that takes.
func (c *cueSheet) holdSign(h hold, x1, x2, y float64) float64 {
	const wide, most = 9.0, holdH - 2*bandPad - 0.8
	if x2-x1 < wide+1 || !c.d.pictogram(h.glyphs, Rect{x1 - 1, y + bandPad + 0.4, wide - 1, most}, black) {
		return 0
	}
	c.d.Items[len(c.d.Items)-1].Part = holdArt
	return wide
}

// changeBox draws the time that there is for a change, with what the hand does.
func (c *cueSheet) changeBox(s *system, sh *shift, y float64) {
	x1, x2 := c.changeSpan(s, sh)
	first := len(c.d.Items)
	early, late := sh.from.Less(s.blocks[0].start) || sh.lap == 2 && sh.before > 0, s.end().Less(sh.at) || sh.lap == 1
	ink, paper, thick := black, white, 0.8
	switch {
	case sh.Short():
		ink, paper = white, black
		thick = 1
	case sh.Tight():
		thick = 2
	}
	top, h := y+bandPad, holdH-2*bandPad
	c.d.box(Rect{x1, top, x2 - x1, h}, noInk, paper, 0).Part = changeArt
	c.d.line(x1, top, x2, top, thick, black)
	c.d.line(x1, top+h, x2, top+h, thick, black)
	if !early {
		c.d.line(x1, top, x1, top+h, thick, black)
	}
	if !late {
		c.d.line(x2, top, x2, top+h, thick, black)
	}
	if share := sh.footShare(); sh.Need.Steady < sh.Window || !sh.Short() {
		c.foot(s, sh, share, x1, x2, top+h)
	}
	room := c.wordRoom(s, sh)
	signs, counts, _ := c.boxWords(sh, room)
	if early {
		signs, counts = c.goingOn(sh, room), ""
		if slices.ContainsFunc(c.shiftsOver(s, sh.Hand), func(o *shift) bool { return o != sh && o.at.Less(sh.at) && o.from.Less(s.blocks[0].start) }) {
			signs = "" // another that goes on stands there, and ends before
		}
	}
	base := y + holdH - 4.3
	c.signs(x1+2.5, base, c.d.f.fit(signs, holdSize, true, room-4), ink)
	if counts != "" {
		c.d.right(x1+room-2.5, base, counts, holdSize, false, ink)
	}
	for i := range c.d.Items[first:] {
		c.d.Items[first+i].Makes = sh.Change
	}
}

// walks is the sign of a walk in what is written, and on the page a heavy arrow, as
// wide as the letter.
const walks = "→"

// signs writes what a change is, with an arrow where the player walks.
func (c *cueSheet) signs(x, base float64, text string, ink ink) {
	before, after, walking := strings.Cut(text, walks)
	if !walking {
		c.d.words(x, base, text, holdSize, true, ink)
		return
	}
	if before != "" {
		c.d.words(x, base, strings.TrimRight(before, " "), holdSize, true, ink)
		x += c.d.f.width(before, holdSize, true)
	}
	w, y := c.d.f.width(walks, holdSize, true), base-holdSize*0.33
	const head, half, shaft = 5.0, 3.6, 2.4
	c.d.line(x, y, x+w-head+0.5, y, shaft, ink)
	c.d.outline(pictogram{box: Rect{x + w - head, y - half, head, 2 * half}, segments: []segment{
		{Op: 'M', At: [6]float64{x + w - head, y - half}}, {Op: 'L', At: [6]float64{x + w, y}}, {Op: 'L', At: [6]float64{x + w - head, y + half}},
	}}, 0, 0, 1, ink)
	c.d.words(x+w, base, after, holdSize, true, ink)
}

// goingOn is what is written into the box of a change that has begun on the line
// before: as much of it as there is room for.
func (c *cueSheet) goingOn(sh *shift, w float64) string {
	texts := []string{c.signWords(sh)}
	if what := shortGrip(sh.Taken()); sh.Takes && what != "" {
		texts = append(texts, "↑\u00a0"+what)
	}
	if sh.Walks {
		texts = append(texts, c.walkWords(sh))
	}
	for _, text := range texts {
		if text = "…\u00a0" + text; 5+c.d.f.width(text, holdSize, true) <= w {
			return text
		}
	}
	return ""
}

// footShare is the share of a stretch that an easy pace needs.
func (sh *shift) footShare() float64 {
	if sh.lap > 0 {
		return max(0, min(1, (sh.Need.Steady-sh.before)/max(sh.lasts, 1e-9)))
	}
	return min(1, sh.Need.Steady/max(sh.Window, 1e-9))
}

// foot is the black foot of a change: the share of its time that an easy pace
// needs, from its beginning on, on whichever line that is.
func (c *cueSheet) foot(s *system, sh *shift, share, x1, x2, bottom float64) {
	till := sh.from.Float() + share*(sh.at.Float()-sh.from.Float())
	from, to := s.blocks[0].start.Float(), s.end().Float()
	end := x2
	if till < to {
		end = x1
		for i := range s.blocks {
			b := &s.blocks[i]
			if p := (till - b.start.Float()) / b.length.Float(); p >= 0 && p < 1 {
				end = b.x + b.padL + p*b.inner()
			}
		}
	}
	if till <= from || end <= x1 {
		return
	}
	c.d.box(Rect{x1, bottom - 2.2, min(end, x2) - x1, 2.2}, noInk, black, 0)
}

// holdWords writes what is held: in full, short, or as far as there is room.
func (c *cueSheet) holdWords(h *hold, x1, x2, base float64) {
	words := h.words
	if c.d.f.width(words, holdSize, false) > x2-x1 {
		words = h.short
	}
	text := c.d.f.fit(words, holdSize, false, x2-x1)
	if text == words || len([]rune(text)) >= 5 {
		c.d.words(x1, base, text, holdSize, false, black)
	}
}

// shiftsOver is the changes whose time reaches into a system.
func (c *cueSheet) shiftsOver(s *system, limb body.Limb) (out []*shift) {
	from, to := s.blocks[0].start, s.end()
	about := c.shiftsAbout(from, to)
	for i := range about {
		sh := &about[i]
		if sh.Hand == limb && c.opens(sh) && from.Less(sh.at) && sh.from.Less(to) {
			out = append(out, sh)
		}
	}
	return out
}

// A strip is a part of a system that bar lines run through: both hands with
// the axis between them, and every line below.
type strip struct{ top, bottom float64 }

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
			c.d.line(x, p.top, x, p.bottom, thick, black)
		}
	}
	top := strips[0].top
	mid := (top + strips[0].bottom) / 2
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
		if b.cut {
			c.d.line(b.x, strips[len(strips)-1].bottom, end, top, 2, black)
		}
	}
}

func (c *cueSheet) repeatDots(x, mid float64) {
	c.d.disc(x, mid-3, 1.5, noInk, black, 0).Part = repeatArt
	c.d.disc(x, mid+3, 1.5, noInk, black, 0).Part = repeatArt
}

// paginate puts the systems on pages, breaking where a hand is free to turn.
func (c *cueSheet) paginate(systems []*system) {
	y := c.newPage()
	bottom := c.d.H - margin0 - turnH
	systems = c.lowEnough(systems, bottom-c.topOfPage())
	c.freeHands(systems)
	i := 0
	for page, n := range c.pages(systems, bottom-y, bottom-c.topOfPage()) {
		if page > 0 {
			if i > 0 {
				c.turnWords(page, systems[i-1], systems[i:])
			}
			y = c.newPage()
		}
		c.fill(systems[i:i+n], y, bottom, i+n == len(systems))
		c.doc.filled += (c.bottom - margin0) / (bottom - margin0)
		i += n
	}
	c.doc.filled /= float64(len(c.doc.Pages))
	if c.Grid.Last() > maxBars {
		c.footWords(fmt.Sprintf("! bars after %d are not on this sheet", maxBars))
	}
}

// The room at the foot of a page for its number and what is said of its turn, and
// the size of that.
const (
	turnH    = 8.0
	turnSize = 10.2
)

func (c *cueSheet) topOfPage() float64 { return margin0 + 25 }

// fill draws systems one below the other, spread over the page unless it is
// the last.
func (c *cueSheet) fill(systems []*system, y, bottom float64, last bool) {
	used := y
	for i, s := range systems {
		used += s.h
		if i > 0 {
			used += gapBetween(systems[i-1], s)
		}
	}
	more := max(0, bottom-used) / float64(max(1, len(systems)-1))
	if more = min(4*systemGap, more); last {
		more = min(2*systemGap, more)
	}
	for i, s := range systems {
		if i > 0 {
			y += gapBetween(systems[i-1], s) + more
		}
		first := len(c.d.Items)
		c.draw(s, y)
		k := 1.0
		if room := bottom - y; s.h > room {
			k = room / s.h
			c.d.squeeze(first, margin0, y, k)
		}
		c.doc.lines = append(c.doc.lines, c.laid(s, first, y, k))
		y += s.h
	}
	c.bottom = y
}

// gapBetween is how far a line stands below another one. The words under the one
// and those over the other share a row where they are beside one another.
func gapBetween(a, b *system) float64 {
	if len(a.lanes) == 0 {
		return systemGap
	}
	under, over := &a.lanes[len(a.lanes)-1].notes, &b.top
	if under.rows == 0 || over.rows == 0 {
		return systemGap
	}
	for i := range under.labels {
		l := &under.labels[i]
		if l.shelf+len(l.lines) < under.rows {
			continue
		}
		for k := range over.labels {
			if o := &over.labels[k]; o.shelf+len(o.lines) == over.rows && o.x-14 < l.x+l.w && l.x-14 < o.x+o.w {
				return systemGap
			}
		}
	}
	return systemGap - min(under.pitch, over.pitch)
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

// What a page costs in the search for where to break: one more to carry, a turn
// without a free hand, a quick turn, all of a page left empty, and one line
// alone on the last.
const (
	costPage  = 6.0
	costTurn  = 9.0
	costQuick = 1.5
	costEmpty = 2.0
	costAlone = 2.5
	costBare  = 50.0 // nothing on the first but its head
)

// pages is how many systems stand on each page, so that all together costs
// least. The first page has less room and may have none.
func (c *cueSheet) pages(systems []*system, firstRoom, room float64) []int {
	n := len(systems)
	if n == 0 {
		return []int{0}
	}
	p := pager{systems, c.turnTime(), max(body.PageTurn, c.turnTime()), make([][2]pageWay, n+1)}
	for i := n - 1; i >= 0; i-- {
		for side := range 2 {
			p.from[i][side] = p.best(i, side, room, false)
		}
	}
	out := []int{p.best(0, left, firstRoom, true).n}
	for i := out[0]; i < n; {
		some := p.from[i][len(out)%2].n
		out = append(out, some)
		i += some
	}
	return out
}

// A pageWay is how many systems stand on a page, and what that and all that
// follows costs.
type pageWay struct {
	cost float64
	n    int
}

// A pager finds where pages end.
type pager struct {
	systems   []*system
	turn, any float64      // the time that the player's turn takes, and anybody's
	from      [][2]pageWay // the best from a system on, on a left page and on a right one
}

// best is the best page that begins with a system; the first of all may have
// none.
func (p *pager) best(i, side int, room float64, first bool) pageWay {
	best := pageWay{math.Inf(1), 0}
	if first {
		best = pageWay{costBare + costPage + costEmpty + p.from[i][1-side].cost, 0}
	}
	used := 0.0
	for k := i; k < len(p.systems); k++ {
		if used += p.systems[k].h; k > i {
			used += gapBetween(p.systems[k-1], p.systems[k])
		}
		if used > room && (k > i || first) {
			break
		}
		empty := max(0, 1-used/room)
		cost := costPage + costEmpty*empty*empty + p.from[k+1][1-side].cost
		switch last := p.systems[k]; {
		case k+1 == len(p.systems):
			cost -= costEmpty * empty * empty // the end may be anywhere
			if k == i && i > 0 {
				cost += costAlone
			}
		case side == left: // the next page lies beside it
		case last.free < p.turn:
			cost += costTurn
		case last.free < p.any:
			cost += costQuick
		}
		if cost <= best.cost {
			best = pageWay{cost, k + 1 - i}
		}
	}
	return best
}

// The sides of a spread: two pages lie beside one another, and the first is the
// left one.
const left = 0

func (c *cueSheet) turnTime() float64 { return c.p.Profile.TurnPage().Pace.Steady }

// turnWords end a page: how it is turned, or that the next one lies beside it,
// and what comes there.
func (c *cueSheet) turnWords(page int, s *system, rest []*system) {
	text := "turn"
	switch {
	case page%2 == 1:
		text = fmt.Sprintf("→ page %d lies beside this one", page+1)
	case s.free < c.turnTime():
		c.doc.stuck++
		text = "! no hand is free to turn here: lay both pages side by side"
	case s.free < body.PageTurn:
		text = fmt.Sprintf("! turn quickly: the %s is free for %s", s.hand.Name(), c.inCounts(s))
	case s.free < 60:
		text = fmt.Sprintf("turn: the %s is free for %s", s.hand.Name(), c.inCounts(s))
	}
	if next := c.nextWords(rest); next != "" {
		text += "; next: " + next
	}
	c.footWords(text)
}

// inCounts is how long a hand is free around the end of a line: in counts as they are
// there, or in bars where there are many.
func (c *cueSheet) inCounts(s *system) string {
	b := &s.blocks[len(s.blocks)-1]
	count := c.countLasts(b.start)
	if bars := s.free / (count * float64(c.Grid.Meter(b.to).Counts())); bars >= 4 {
		return together(words.Count(int(bars), "bar", "bars"))
	}
	return countsOf(s.free / count)
}

// countLasts is how many seconds a count takes at a place.
func (v *part) countLasts(at beat.Rat) float64 {
	return unitAt(v.Score, at).Float() / v.Tempo.At(at) * 60
}

// countsOf is so many counts, in whole and half ones that are over.
func countsOf(n float64) string {
	switch has := math.Floor(2*n + 1e-6); {
	case has < 1:
		return "under\u00a0½\u00a0count"
	case has <= 2:
		return halves(has) + "\u00a0count"
	default:
		return halves(has) + "\u00a0counts"
	}
}

// nextWords is what each hand plays first on the next page.
func (c *cueSheet) nextWords(rest []*system) string {
	var out []string
	for limb := range body.Hands.Each() {
		for _, st := range c.strokes {
			if st.At.Less(rest[0].blocks[0].start) || st.limbs&body.Of(limb) == 0 {
				continue
			}
			if st.At.Less(rest[0].end()) {
				out = append(out, limb.Letter()+" "+st.cue.Item.Short())
			}
			break
		}
	}
	return strings.Join(out, ", ")
}

func (c *cueSheet) footWords(text string) {
	c.d.right(c.right, c.d.H-margin0+4, c.d.f.fit(text, turnSize, true, c.right-margin0-40), turnSize, true, black)
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
			before, after := c.around(1<<h, t)
			if free := after - before; free > s.free {
				s.free, s.hand = free, body.Limb(h)
			}
		}
	}
}

// around is when a hand is last busy before and first busy after a moment.
func (c *cueSheet) around(hand body.Limbs, t float64) (before, after float64) {
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
func (c *cueSheet) changeIn(hand body.Limbs, from, to float64) (need float64) {
	for i := range c.m.Changes {
		ch := &c.m.Changes[i]
		if body.Of(ch.Hand)&hand != 0 && ch.To.T0 <= to && ch.To.T0 > from {
			need += ch.Need.Steady
		}
	}
	return need
}
