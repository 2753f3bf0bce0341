package sheet

import (
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/rhythm"
	"example.org/handful/lang/score"
)

// Measures of notes, in points. Outlines are in thousandths of an em, and an em
// is four spaces of a staff.
const (
	em       = 25.0
	stemLen  = 17.5
	beamStep = 4.6
	beamH    = 2.9
	rowPitch = 9.0  // from line to line
	outerH   = 13.6 // from the edge of the outermost line's row to the ends of the stems
	tupletH  = 9.0
	accentH  = 6.5
	lettersH = 10.5
	handSize = 9.5 // of the letter of one hand, and of both
	bothSize = 7.5
	keysH    = 11.0
	keysSize = 10.2
	marksH   = 10.0
	tieH     = 3.5
	axisH    = 11.0
	marksIn  = 4.6 // how far dynamics reach into the axis, between its numbers
)

// A tone is what begins at one place of a voice: one stroke, or several that
// one hand makes with what it holds, or a ring that is stopped.
type tone struct {
	at, end beat.Rat
	into    bool
	strokes []struck
	damp    *score.Item
	heads   []head
	half    float64 // half the width of the widest of them
}

// A voiceKey is where a voice stands.
type voiceKey struct {
	bar  int
	limb body.Limb
}

// A voice is one line of one block, spelled in note values.
type voice struct {
	tones []tone
	bar   rhythm.Bar
	zero  beat.Rat // the place of the piece that the spelling counts from
	ok    bool
}

// sharedBars is the bars in which both hands play one thing and nothing else:
// one line of notes is easier to read there than two halves of it. A bar of one
// hand on that thing goes with the bar beside it. Notes that are written for one
// hand stay with it, as on any two staves.
func (v *part) sharedBars() []bool {
	uses := make([]barUse, v.Grid.Last()+2)
	for i := range v.strokes {
		st := &v.strokes[i]
		from, _ := v.Grid.Place(st.At)
		for bar := from; bar <= v.Grid.Last() && (bar == from || v.Grid.Start(bar).Less(st.End)); bar++ {
			if bar >= 0 {
				uses[bar].add(st.cue.Item, st.cue.Pass, st.limbs)
				uses[bar].mixed = uses[bar].mixed || bar == from && st.ofOneHand()
			}
		}
	}
	for _, a := range v.p.Actions {
		if a.Kind == score.Damp && a.Item != nil && a.Bar >= 0 && a.Bar < len(uses) {
			uses[a.Bar].add(a.Item, 0, body.Of(a.Limb))
		}
	}
	out := make([]bool, len(uses))
	for bar := range uses {
		out[bar] = uses[bar].hands == body.Hands && !uses[bar].mixed
	}
	spread := func(bar, beside int) {
		out[bar] = out[bar] || out[beside] && uses[bar].goesWith(&uses[beside])
	}
	for bar := 1; bar < len(uses); bar++ {
		spread(bar, bar-1)
	}
	for bar := len(uses) - 2; bar >= 0; bar-- {
		spread(bar, bar+1)
	}
	return out
}

// A barUse is what the hands play in a bar.
type barUse struct {
	item  *score.Item
	pass  int
	hands body.Limbs
	mixed bool // several things, or notes for one hand
}

// goesWith says whether all that is played in a bar is on what another is on.
func (u *barUse) goesWith(o *barUse) bool {
	return u.hands != 0 && !u.mixed && u.item == o.item && u.pass == o.pass
}

func (u *barUse) add(it *score.Item, pass int, limbs body.Limbs) {
	if limbs &= body.Hands; limbs == 0 {
		return
	}
	u.mixed = u.mixed || u.item != nil && (u.item != it || u.pass != pass)
	u.item, u.pass, u.hands = it, pass, u.hands|limbs
}

// ofOneHand says of a note that it is written for the one hand or the other, so
// that each has a staff of its own.
func (st *struck) ofOneHand() bool {
	return st.cue.Limb.IsHand() && st.cue.Item.Inst.Pitched() && slices.ContainsFunc(st.struckKeys(), func(k score.Key) bool { return !k.Pitch.None() })
}

// sharedIn says whether both hands stand on one line in a block.
func (v *part) sharedIn(b *block) bool {
	return !b.rest && b.from >= 0 && b.from < len(v.shared) && v.shared[b.from]
}

// lineOf is on which limb's line a stroke stands that a limb plays.
func (v *part) lineOf(b *block, l body.Limb) body.Limb {
	if l.IsHand() && v.sharedIn(b) {
		return body.Right
	}
	return l
}

// voiceOf spells what stands on a limb's line in a block of one bar, once.
func (v *part) voiceOf(b *block, limb body.Limb) voice {
	k := voiceKey{b.from, limb}
	w, ok := v.voices[k]
	if !ok {
		w = v.spelled(b, limb)
		v.voices[k] = w
	}
	return w
}

func (v *part) spelled(b *block, limb body.Limb) voice {
	end := b.start.Add(b.length)
	bits := body.Of(limb)
	if v.sharedIn(b) && limb.IsHand() {
		bits = 0
		if limb == body.Right {
			bits = body.Hands
		}
	}
	w := voice{zero: b.start}
	v.between(b.start, end, func(st *struck, goesOn bool) {
		if st.limbs&bits == 0 {
			return
		}
		s, at, to := *st, st.At, st.At
		if st.Has(score.Roll) && st.At.Less(st.End) {
			to = earlier(st.End, end)
		}
		if goesOn {
			at = b.start
			s.marks = score.SignsAt(v.swelling[st.cue], at)
		}
		w.add(tone{at: at, end: to, into: goesOn, strokes: []struck{s}})
	})
	for _, a := range v.p.Actions {
		if a.Kind == score.Damp && a.Item != nil && !a.At.Less(b.start) && a.At.Less(end) && body.Of(a.Limb)&bits != 0 &&
			!slices.ContainsFunc(w.tones, func(t tone) bool { return t.at == a.At && !t.into }) {
			w.tones = slices.DeleteFunc(w.tones, func(t tone) bool { return t.at == a.At })
			w.tones = append(w.tones, tone{at: a.At, end: a.At, damp: a.Item})
		}
	}
	slices.SortStableFunc(w.tones, func(a, b tone) int { return a.at.Cmp(b.at) })
	w.spell(v.Grid.Meter(b.from), b)
	for i := range w.tones {
		w.tones[i].heads = v.headsOf(&w.tones[i], limb, limb != body.Left)
	}
	w.headWidths()
	v.accidentals(b, limb, &w)
	return w
}

// spell finds the note values of a voice in a block of one bar.
func (w *voice) spell(m beat.Meter, b *block) {
	lead := beat.Rat{} // of a pickup, how much of its bar is not there
	if missing := m.Length().Sub(b.length); missing.Sign() > 0 {
		lead = missing
	}
	w.zero = b.start.Sub(lead)
	w.bar, w.ok = rhythm.Spell(m, lead, b.length, w.events(b.start.Add(b.length)))
}

// add puts a stroke to what is played at its moment. A roll that only goes on
// there gives way to whatever begins.
func (w *voice) add(n tone) {
	i := slices.IndexFunc(w.tones, func(t tone) bool { return t.at == n.at })
	switch {
	case i < 0:
		w.tones = append(w.tones, n)
	case n.into:
	case w.tones[i].into:
		w.tones[i] = n
	default:
		t := &w.tones[i]
		t.strokes = append(t.strokes, n.strokes...)
		if t.end.Less(n.end) {
			t.end = n.end
		}
	}
}

// events are the voice's tones for the spelling of a bar that ends somewhere.
func (w *voice) events(end beat.Rat) []rhythm.Event {
	var events []rhythm.Event
	for i := range w.tones {
		t := &w.tones[i]
		e := rhythm.Event{At: t.at.Sub(w.zero), End: t.end.Sub(w.zero), Into: t.into}
		for _, st := range t.strokes {
			e.On = e.On || st.Has(score.Roll) && end.Less(st.End)
		}
		events = append(events, e)
	}
	return events
}

// place is where a note of the voice stands in the piece.
func (w *voice) place(n *rhythm.Note) beat.Rat { return w.zero.Add(n.At) }

// headOf is the head of what an instrument is: round for skins and whatever has
// no other, and for the rest as its body is. One table, which the legend shows.
func headOf(it *score.Item) [3]string { // of a quarter and shorter, a half, a whole
	round := [3]string{"noteheadBlack", "noteheadHalf", "noteheadWhole"}
	switch {
	case it == nil:
		return round
	case slices.Contains(it.Inst.Glyphs, "pictTambourine"):
		return [3]string{"noteheadCircleX", "noteheadCircleX", "noteheadCircleX"}
	case slices.Contains(it.Inst.Glyphs, "pictTriangle"):
		return [3]string{"noteheadTriangleUpBlack", "noteheadTriangleUpHalf", "noteheadTriangleUpHalf"}
	}
	switch it.Inst.Family {
	case kit.Metal:
		return [3]string{"noteheadXBlack", "noteheadXHalf", "noteheadXHalf"}
	case kit.Wood:
		return [3]string{"noteheadSquareBlack", "noteheadSquareWhite", "noteheadSquareWhite"}
	case kit.Keyboard:
		return [3]string{"noteheadDiamondBlack", "noteheadDiamondHalf", "noteheadDiamondHalf"}
	case kit.Rattle:
		return [3]string{"noteheadCircleX", "noteheadCircleX", "noteheadCircleX"}
	}
	return round
}

// headFor is the head of a note on a thing's line: on a staff with a clef it is
// round, whatever it is played on.
func headFor(it *score.Item, v rhythm.Value, staff bool) string {
	if staff {
		it = nil
	}
	return headOf(it)[max(0, 2-int(v.Base))]
}

// glyphSize is how wide and high an outline is, in points.
func glyphSize(name string, k float64) (w, h float64) {
	p := pictograms()[name]
	return p.box.W * em * k / 1000, p.box.H * em * k / 1000
}

// glyphAt draws an outline with its middle at x, and y where its own line is.
func (d pen) glyphAt(name string, x, y, k float64) *item {
	p := pictograms()[name]
	u := em * k / 1000
	return d.outline(p, x-(p.box.X+p.box.W/2)*u, y, u, black)
}

// glyphIn draws an outline with its middle at x and y.
func (d pen) glyphIn(name string, x, y, k float64) *item {
	p := pictograms()[name]
	u := em * k / 1000
	return d.outline(p, x-(p.box.X+p.box.W/2)*u, y-(p.box.Y+p.box.H/2)*u, u, black)
}

// dynamicGlyphs are the dynamics that have a sign of their own.
var dynamicGlyphs = map[string]string{"ppp": "dynamicPPP", "pp": "dynamicPP", "p": "dynamicPiano", "mp": "dynamicMP", "mf": "dynamicMF",
	"f": "dynamicForte", "ff": "dynamicFF", "fff": "dynamicFFF", "fp": "dynamicFortePiano", "sfz": "dynamicSforzato",
	"pppp": "dynamicPPPP", "ffff": "dynamicFFFF", "sf": "dynamicSforzando1", "sffz": "dynamicSforzatoFF", "fz": "dynamicForzando",
	"rf": "dynamicRinforzando1", "rfz": "dynamicRinforzando2", "sfp": "dynamicSforzandoPiano"}

const dynamicScale = 0.68

// signsOf is the words of a tone: the dynamics, and which hand.
func (v *part) signsOf(t *tone, shared bool) (dynamics []string, hands string) {
	bits := body.Limbs(0)
	for _, st := range t.strokes {
		for _, m := range st.marks {
			if !pinSign(m) && !slices.Contains(dynamics, m) {
				dynamics = append(dynamics, m)
			}
		}
		if t.into {
			continue
		}
		bits |= st.limbs & body.Hands
		if !shared && st.Stroke.Hand != 0 {
			hands = string(rune(st.Stroke.Hand))
		}
	}
	if shared {
		hands = [...]string{"", "R", "L", "RL"}[bits&3]
	}
	return dynamics, hands
}

// alwaysBoth says whether every stroke of a voice is of both hands, so that
// letters would say nothing.
func alwaysBoth(w *voice) bool {
	return !slices.ContainsFunc(w.tones, func(t tone) bool {
		return slices.ContainsFunc(t.strokes, func(st struck) bool { return st.limbs&body.Hands != body.Hands })
	})
}

func dynamicsWidth(f *faces, marks []string, k float64) (w float64) {
	for i, m := range marks {
		if i > 0 {
			w += 3
		}
		w += markWidth(f, m, k)
	}
	return w
}

func markWidth(f *faces, m string, k float64) float64 {
	if g := dynamicGlyphs[m]; g != "" {
		w, _ := glyphSize(g, dynamicScale*k)
		return w
	}
	return f.width(m, dynSize*k, true)
}

// flagged says whether a note has flags of its own.
func flagged(n *rhythm.Note) bool { return !n.Rest() && n.Value.Flags() > 0 && len(n.Beams) == 0 }

// restAside is how far a rest gives way to the flag before it.
const restAside = 3.0

// reach is how far a note or rest goes to the left and right of its place.
func (w *voice) reach(n *rhythm.Note, up bool) (left, right float64) {
	left, right = 3.9, 3.9
	if n.Rest() {
		if n.Value.Dots > 0 {
			right += 4
		}
		return left, right
	}
	if n.Value.Base <= 0 {
		left, right = 5.4, 5.4
	}
	l, r := w.tones[n.Event].beside(up)
	if left, right = max(left, l), max(right, r); n.Value.Dots > 0 {
		right += 4
	}
	if flagged(n) {
		right = max(right, 10.2)
	}
	if n.TieStop {
		return left, right
	}
	for _, st := range w.tones[n.Event].strokes {
		if st.Grace > 0 {
			left = max(left, l+1.3+float64(st.Grace)*5)
		}
		if st.Has(score.Short) {
			right += 3
		}
	}
	return left, right
}

// onRightLine says whether all that the left hand does in a system stands on
// the right hand's line, so that it needs none of its own.
func (c *cueSheet) onRightLine(s *system, l *lane) bool {
	any := false
	for i := range s.blocks {
		b := &s.blocks[i]
		if b.rest || b.cut {
			continue
		}
		if !c.sharedIn(b) {
			return false
		}
		any = true
	}
	return any && l.limb == body.Left
}

// prepare finds what a lane needs above and below its lines in a system.
func (c *cueSheet) prepare(s *system, l *lane) {
	l.voices = make([]voice, len(s.blocks))
	l.bare = c.onRightLine(s, l)
	l.tuplets, l.accents, l.keys, l.letters, l.marks, l.ties = false, false, false, false, false, false
	l.pins = false
	l.restUp, l.restDown = 0, 0
	l.folds = slices.ContainsFunc(s.blocks, func(b block) bool { return b.fold > 0 || b.left > 0 && !b.rest })
	for i := range s.blocks {
		b := &s.blocks[i]
		l.pins = l.pins || len(c.pinsIn(b, l.limb)) > 0
		if b.rest || b.fold > 0 {
			continue
		}
		l.voices[i] = c.voiceOf(b, l.limb)
		c.makesRoom(l, &l.voices[i], c.sharedIn(b) && l.limb.IsHand())
	}
	c.setReach(l)
}

// makesRoom notes what one voice needs around the lines of its lane.
func (c *cueSheet) makesRoom(l *lane, w *voice, shared bool) {
	l.tuplets = l.tuplets || len(w.bar.Tuplets) > 0
	both := shared && alwaysBoth(w)
	for k := range w.tones {
		t := &w.tones[k]
		dyn, hand := c.signsOf(t, shared)
		l.marks = l.marks || len(dyn) > 0
		l.letters = l.letters || hand != "" && !both
		for _, st := range t.strokes {
			l.accents = l.accents || st.Has(score.Accent)
			l.keys = l.keys || len(st.named) > 0
		}
	}
	for k := range w.bar.Notes {
		n := &w.bar.Notes[k]
		if n.Rest() && !n.Bar {
			box := pictograms()[restName(n)].box
			l.restUp, l.restDown = max(l.restUp, -box.Y*em/1000), max(l.restDown, (box.Y+box.H)*em/1000)
		}
		l.ties = l.ties || n.TieStart || n.TieStop
	}
}

// up says whether stems point up: all but those of the left hand, which is the
// mirror of the right.
func (l *lane) up() bool { return l.limb != body.Left }

// outer and inner are the room beyond the lines of a lane, on the side of the
// stems and on the side of the heads.
func (l *lane) outer() float64 {
	if !slices.ContainsFunc(l.voices, func(w voice) bool { return len(w.tones) > 0 }) {
		h := numSize + 1.5 // the numbers of bars
		if l.folds {
			h += 3.5 // how many more, over the sign for it
		}
		return h
	}
	h := outerH
	if l.tuplets {
		h += tupletH
	}
	return max(h, l.beyond(l.up()))
}

// beyond is how far rests go beyond the rows of a lane, up or down.
func (l *lane) beyond(up bool) float64 {
	tall, middle := l.tall()
	reach := l.restDown - (tall - middle)
	if up {
		reach = l.restUp - middle
	}
	return reach + 0.6
}

func (l *lane) inner() (h float64) {
	if l.ties {
		h += tieH
	}
	if l.accents {
		h += accentH
	}
	if l.keys {
		h += keysH
	}
	if l.letters {
		h += lettersH
	}
	switch {
	case l.pins: // a hairpin stays out of the axis
		h += marksH
	case l.marks:
		h += marksH - marksIn
	}
	return max(h, 3, l.beyond(!l.up()))
}

// staffHeight is how high the notes of a lane are, with everything at them.
func (l *lane) staffHeight() float64 {
	if l.bare {
		return 2
	}
	tall, _ := l.tall()
	return l.outer() + l.inner() + tall
}

// staff draws the lines of a lane and the notes on them, below y.
func (c *cueSheet) staff(s *system, l *lane, y float64) {
	if l.bare {
		l.rows[0].mid = y
		return
	}
	at := y + l.inner()
	if l.up() {
		at = y + l.outer()
	}
	for _, r := range l.rows {
		r.mid = at + r.up
		at = r.mid + r.down
	}
	c.clefsOf(l)
	for i := range s.blocks {
		b := &s.blocks[i]
		if b.fold == 0 {
			c.ruleLines(l, b.x, b.x+b.w)
		}
		switch {
		case b.fold > 0:
			name := "repeat1Bar"
			switch b.fold {
			case 2:
				name = "repeat2Bars"
			case phrase:
				name = "repeat4Bars"
			}
			gw, _ := glyphSize(name, 0.9)
			m := l.middle()
			c.ruleLines(l, b.x, b.x+b.w/2-gw/2-4)
			c.ruleLines(l, b.x+b.w/2+gw/2+4, b.x+b.w)
			c.d.glyphIn(name, b.x+b.w/2, m, 0.9)
		case b.rest:
			c.hBar(b, l.middle())
		default:
			c.voice(s, l, i)
		}
	}
	if l.pins {
		c.drawPins(s, l, l.under().dynamic-2.4)
	}
}

// restRow is the row with the lines that rests are at: the first staff, or else
// the one in the middle.
func (l *lane) restRow() (row *row, staff bool) {
	for _, r := range l.rows {
		if r.rule.clef != "" {
			return r, true
		}
	}
	return l.rows[(len(l.rows)-1)/2], false
}

// middle is where rests stand.
func (l *lane) middle() float64 {
	if r, ok := l.restRow(); ok {
		return r.mid
	}
	return (l.rows[0].mid + l.rows[len(l.rows)-1].mid) / 2
}

// hang is the line that whole rests hang from, and sit the one that halves lie
// on.
func (l *lane) hang() float64 {
	r, _ := l.restRow()
	return r.mid + r.rule.hang
}

func (l *lane) sit() float64 {
	r, _ := l.restRow()
	return r.mid + r.rule.sit
}

// tall is how high the rows of a lane are together, and middle where in that
// rests stand.
func (l *lane) tall() (h, middle float64) {
	var at []float64
	for _, r := range l.rows {
		at = append(at, h+r.up)
		h += r.up + r.down
	}
	middle = (at[0] + at[len(at)-1]) / 2
	if r, ok := l.restRow(); ok {
		middle = at[slices.Index(l.rows, r)]
	}
	return h, middle
}

// hBar is the thick bar of a rest of many bars.
func (c *cueSheet) hBar(b *block, mid float64) {
	in := min(8, b.w/5)
	if room := b.w - 2*in; room > 8 {
		c.d.box(Rect{b.x + in, mid - 2, room, 4}, noInk, black, 0)
		c.d.line(b.x+in, mid-5.5, b.x+in, mid+5.5, 1.2, black)
		c.d.line(b.x+in+room, mid-5.5, b.x+in+room, mid+5.5, 1.2, black)
	}
}

// drawn is a note as it stands on the page.
type drawn struct {
	*rhythm.Note
	x        float64
	w        float64   // of its head
	ys       []float64 // of its heads
	near     float64   // the head at the stem's end, and the one at its root
	far      float64
	tip      float64
	stem     float64 // x of it
	noStem   bool
	toneRoll bool
	mids     []float64 // of its heads' staves; none where a head stands on none
}

// voice draws one block of a lane.
func (c *cueSheet) voice(s *system, l *lane, i int) {
	b, w := &s.blocks[i], &l.voices[i]
	k := s.scale
	sign := 1.0 // towards the tips of the stems
	if l.up() {
		sign = -1
	}
	if len(w.tones) == 0 {
		if !(l.limb == body.Left && c.sharedIn(b)) {
			c.d.glyphAt("restWhole", b.x+b.w/2, l.hang(), k)
		}
		return
	}
	if !w.ok {
		for n := range w.tones {
			c.heads(l, b, &w.tones[n], nil, k)
		}
		return
	}
	notes := c.notesAndRests(l, b, w, sign, k)
	c.beams(notes, sign, k)
	for n := range notes {
		dn := &notes[n]
		if dn.Rest() || dn.ys == nil {
			continue
		}
		c.stem(l, dn, k)
		if dn.toneRoll {
			c.tremolo(dn, sign, k)
		}
		c.tiesOf(s, l, i, notes, n, sign)
	}
	c.tupletsOf(w, notes, sign, k)
	c.underHeads(l, b, w, k)
}

// notesAndRests draws the heads and the rests of a block.
func (c *cueSheet) notesAndRests(l *lane, b *block, w *voice, sign, k float64) []drawn {
	notes := make([]drawn, len(w.bar.Notes))
	for n := range w.bar.Notes {
		note := &w.bar.Notes[n]
		dn := &notes[n]
		dn.Note, dn.x = note, b.at(w.place(note))
		if note.Rest() {
			x := dn.x
			if n > 0 && flagged(notes[n-1].Note) {
				x += restAside * k
			}
			c.rest(l, b, note, x, k)
			continue
		}
		c.heads(l, b, &w.tones[note.Event], dn, k)
		dn.setStem(sign)
	}
	return notes
}

// setStem finds where the stem of a note begins and ends.
func (dn *drawn) setStem(sign float64) {
	if dn.noStem = dn.noStem || dn.ys == nil; dn.noStem { // all that is struck here stops a ring
		return
	}
	dn.near, dn.far = dn.ys[0], dn.ys[0]
	for _, y := range dn.ys {
		if (y-dn.near)*sign > 0 {
			dn.near = y
		}
		if (y-dn.far)*sign < 0 {
			dn.far = y
		}
	}
	dn.tip = dn.near + sign*stemLen
	for _, mid := range dn.mids { // what stands on ledger lines has a stem to the middle of its staff
		if (mid-dn.tip)*sign > 0 {
			dn.tip = mid
		}
	}
	dn.stem = dn.x - sign*(dn.w/2-0.45)
	dn.noStem = dn.Value.Base == 0
}

// stem draws a note's stem, and its flag where no beam takes its place.
func (c *cueSheet) stem(l *lane, dn *drawn, k float64) {
	if dn.noStem {
		return
	}
	c.d.line(dn.stem, dn.far, dn.stem, dn.tip, 0.85, black).Part = stemArt
	if f := dn.Value.Flags(); f > 0 && len(dn.Beams) == 0 {
		dir := "Down"
		if l.up() {
			dir = "Up"
		}
		name := [...]string{"8th", "16th", "32nd", "64th"}[min(f, 4)-1]
		c.d.outline(pictograms()["flag"+name+dir], dn.stem-0.4, dn.tip, em*k*0.92/1000, black)
	}
}

// tremolo draws the strokes of a roll through the stem.
func (c *cueSheet) tremolo(dn *drawn, sign, k float64) {
	x, y := dn.stem, (dn.near+dn.tip)/2+sign*3.2
	if dn.noStem {
		x, y = dn.x, dn.near+sign*11
	}
	if n := len(dn.Beams); n > 0 {
		y -= sign * beamStep * float64(n) / 2
	}
	c.d.glyphIn("tremolo3", x, y, k*0.92).Part = rollArt
}

func restName(n *rhythm.Note) string {
	names := [...]string{"restWhole", "restHalf", "restQuarter", "rest8th", "rest16th", "rest32nd", "rest64th"}
	return names[max(0, min(int(n.Value.Base), len(names)-1))]
}

func (c *cueSheet) rest(l *lane, b *block, n *rhythm.Note, x, k float64) {
	y := l.middle()
	if n.Bar {
		c.d.glyphAt("restWhole", b.x+b.w/2, l.hang(), k)
		return
	}
	name := restName(n)
	switch n.Value.Base { // a half lies on a line and a whole hangs from one
	case 0:
		y = l.hang()
	case 1:
		y = l.sit()
	}
	it := c.d.glyphAt(name, x, y, k)
	it.Part = restArt
	at := it.X + it.W + 1.5
	for range n.Value.Dots {
		c.d.disc(at+1.1, y-3.1, 1.2*k, noInk, black, 0)
		at += 3.2
	}
}

// A headAt is where a tone's heads are drawn, and for which note value.
type headAt struct {
	x     float64
	value rhythm.Value
	again bool // a tied note stands for a stroke that has been drawn
}

// heads draws the heads of a tone; dn is nil where no note value is short
// enough to write it.
func (c *cueSheet) heads(l *lane, b *block, t *tone, dn *drawn, k float64) {
	on := headAt{x: b.at(t.at), value: rhythm.Value{Base: 2}}
	if dn != nil {
		on = headAt{dn.x, dn.Value, dn.TieStop}
	}
	if t.damp != nil {
		c.cross(on.x, l.rowFor(rowKey{item: t.damp}).mid, 3.4*k)
		if dn != nil {
			dn.noStem = true
		}
		return
	}
	right, dots := on.x, []float64(nil)
	for n := range t.heads {
		h := &t.heads[n]
		y := l.rowFor(h.row).mid + h.off
		if st := &t.strokes[h.stroke]; !st.Sounds() {
			c.markStroke(c.cross(on.x, y, 3.4*k), st, c.lineBits(b, l.limb), on.again)
			if dn != nil && len(t.strokes) == 1 {
				dn.noStem = true
			}
			continue
		}
		right = max(right, c.noteHead(l, b, t, n, dn, on, k))
		if y -= 2.8; h.staff && h.half%2 != 0 {
			y += 2.8 // in its space
		}
		if !slices.Contains(dots, y) {
			dots = append(dots, y)
		}
	}
	c.afterHeads(t, dn, on.value, right, dots, k)
	if !on.again {
		c.gracesOf(l, t, on.x, k)
	}
}

// noteHead draws one head that sounds, and returns where it ends.
func (c *cueSheet) noteHead(l *lane, b *block, t *tone, n int, dn *drawn, on headAt, k float64) (right float64) {
	h := &t.heads[n]
	st, mid := &t.strokes[h.stroke], l.rowFor(h.row).mid
	y := mid + h.off
	at, name := on.x, headFor(st.cue.Item, on.value, h.staff)
	hw, _ := glyphSize(name, k)
	if h.aside {
		at += map[bool]float64{true: 1, false: -1}[l.up()] * (hw - 0.9)
	}
	c.ledgers(h, mid, at, hw/2)
	it := c.d.glyphAt(name, at, y, k)
	it.Part = noteArt
	box := it.Rect
	first := !slices.ContainsFunc(t.heads[:n], func(o head) bool { return o.stroke == h.stroke && !o.aside })
	if first && !h.aside {
		c.markStroke(it, st, c.lineBits(b, l.limb), on.again)
	}
	if h.sign != "" && !on.again {
		c.d.glyphAt(h.sign, on.x-h.signX*k, y, k).Part = signArt
	}
	if dn != nil {
		dn.w, dn.ys, dn.toneRoll = max(dn.w, hw), append(dn.ys, y), dn.toneRoll || st.Has(score.Roll)
		if h.staff {
			dn.mids = append(dn.mids, mid)
		}
	}
	return box.X + box.W
}

// gracesOf draws the grace notes of a tone that stands at x.
func (c *cueSheet) gracesOf(l *lane, t *tone, x, k float64) {
	left, _ := t.beside(l.up())
	for n := range t.strokes {
		if st := &t.strokes[n]; st.Grace > 0 && st.Sounds() {
			i := slices.IndexFunc(t.heads, func(h head) bool { return h.stroke == n })
			c.graceNotes(int(st.Grace), x-left*k, l.rowFor(t.heads[i].row).mid+t.heads[i].off, l.up(), k)
		}
	}
}

// markStroke says of an item that it is the mark of a stroke, of each limb that
// plays it there.
func (c *cueSheet) markStroke(it *item, st *struck, line body.Limbs, again bool) {
	if again {
		return
	}
	it.Part, it.Of = strokeArt, st.Stroke
	first := true
	for limb := range (st.limbs & line).Each() {
		if first {
			it.Limb, first = limb, false
			continue
		}
		r := it.Rect // one head for both hands
		it = c.d.disc(r.X+r.W/2, r.Y+r.H/2, r.W/2, noInk, noInk, 0)
		it.Part, it.Of, it.Limb = strokeArt, st.Stroke, limb
	}
}

// afterHeads draws the dots of a tone and the sign that it is stopped at once,
// behind its heads.
func (c *cueSheet) afterHeads(t *tone, dn *drawn, value rhythm.Value, right float64, dots []float64, k float64) {
	at := right + 1.6
	for range value.Dots {
		for _, y := range dots {
			c.d.disc(at+1.2, y, 1.25*k, noInk, black, 0)
		}
		at += 3.2
	}
	for n := range t.strokes {
		if st := &t.strokes[n]; st.Sounds() && st.Has(score.Short) && (dn == nil || !dn.TieStart) {
			y := dots[0] + 2.8
			c.d.line(at+1, y-4.3*k, at+1, y+4.3*k, 1.7*k, black)
			break
		}
	}
}

// limbsOfBlock is the limbs that have a line with something on it in a block.
func (v *part) limbsOfBlock(b *block) (limbs body.Limbs) {
	v.between(b.start, b.start.Add(b.length), func(st *struck, _ bool) { limbs |= st.limbs })
	for _, a := range v.p.Actions {
		if a.Kind == score.Damp && !a.At.Less(b.start) && a.At.Less(b.start.Add(b.length)) {
			limbs |= body.Of(a.Limb)
		}
	}
	if v.sharedIn(b) {
		limbs = limbs&^body.L | body.R
	}
	return limbs
}

// lineBits is the limbs whose strokes stand on a limb's line.
func (c *cueSheet) lineBits(b *block, l body.Limb) body.Limbs {
	if c.sharedIn(b) && l == body.Right {
		return body.Hands
	}
	return body.Of(l)
}

// graceNotes are the small notes of a flam, a drag or a ruff.
func (c *cueSheet) graceNotes(n int, x, y float64, up bool, k float64) {
	const small = 0.58
	sign := 1.0
	if up {
		sign = -1
	}
	tip := y + sign*12.5
	first, last := 0.0, 0.0
	for i := range n {
		at := x - 3.4*k - float64(i)*5*k
		it := c.d.glyphAt("noteheadBlack", at, y, small*k)
		stem := at - sign*(it.W/2-0.3)
		c.d.line(stem, y, stem, tip, 0.6, black)
		if i == 0 {
			last = stem
		}
		first = stem
	}
	if n == 1 {
		c.d.line(first-2.6, tip-sign*2.5, first+3.2, tip-sign*6.8, 0.7, black)
		return
	}
	c.d.line(first-0.3, tip, last+0.3, tip, 1.8, black)
}

// beams joins the tips of what is beamed, at one height, and draws the beams.
func (c *cueSheet) beams(notes []drawn, sign, k float64) {
	for i := 0; i < len(notes); {
		if notes[i].Rest() || len(notes[i].Beams) == 0 {
			i++
			continue
		}
		j := i + 1
		for j < len(notes) && notes[j-1].Beams[0] != rhythm.End && len(notes[j].Beams) > 0 {
			j++
		}
		group := notes[i:j]
		i = j
		tip, levels := joinTips(group, sign)
		for level := range levels {
			c.beam(group, level, tip-sign*(float64(level)*beamStep*max(k, 0.7)+beamH/2), k)
		}
	}
}

// joinTips brings the tips of a beamed group to one height, and says how many
// beams it has; none where no note of it has a stem.
func joinTips(group []drawn, sign float64) (tip float64, levels int) {
	for n := range group {
		g := &group[n]
		if g.noStem {
			g.stem = g.x
			continue
		}
		if levels == 0 || (g.tip-tip)*sign > 0 {
			tip = g.tip
		}
		levels = max(levels, len(g.Beams))
	}
	for n := range group {
		if levels > 0 {
			group[n].tip = tip
		}
	}
	return tip, levels
}

// beam draws one of the beams of a group.
func (c *cueSheet) beam(group []drawn, level int, y, k float64) {
	from := 0.0
	line := func(x1, x2 float64) { c.d.line(x1, y, x2, y, beamH*k, black).Part = beamArt }
	for n := range group {
		g := &group[n]
		if level >= len(g.Beams) {
			continue
		}
		switch g.Beams[level] {
		case rhythm.Begin:
			from = g.stem - 0.4
		case rhythm.End:
			line(from, g.stem+0.4)
		case rhythm.Forward:
			line(g.stem-0.4, g.stem+5.5*k)
		case rhythm.Backward:
			line(g.stem-5.5*k, g.stem+0.4)
		}
	}
}

// tiesOf draws the tie that begins at a note, and the one that comes in from
// the line before.
func (c *cueSheet) tiesOf(s *system, l *lane, i int, notes []drawn, n int, sign float64) {
	dn := &notes[n]
	b := &s.blocks[i]
	right := b.x + b.w - 1.5
	if n+1 < len(notes) {
		right = notes[n+1].x - dn.w/2
	} else if i+1 < len(s.blocks) && s.blocks[i+1].fold == 0 && !s.blocks[i+1].rest {
		next := &s.blocks[i+1]
		right = next.at(next.start) - dn.w/2
	}
	for _, y := range dn.ys {
		in := 4.2 // beside the head, or between the heads of a chord
		if y != dn.far {
			in = 1.5
		}
		if dn.TieStart {
			c.tie(dn.x+dn.w/2-1, right+1, y-sign*in, -sign)
		}
		if dn.TieStop && n == 0 && i == 0 {
			c.tie(b.x+1, dn.x-dn.w/2+1, y-sign*in, -sign)
		}
	}
}

func (c *cueSheet) tie(x1, x2, y, sign float64) {
	if x2-x1 < 3 {
		return
	}
	h := min(4.6, 2+(x2-x1)/14)
	in := min(9, (x2-x1)/3)
	p := pictogram{segments: []segment{
		{Op: 'M', At: [6]float64{x1, y}},
		{Op: 'C', At: [6]float64{x1 + in, y + sign*h, x2 - in, y + sign*h, x2, y}},
		{Op: 'C', At: [6]float64{x2 - in, y + sign*(h-1.3), x1 + in, y + sign*(h-1.3), x1, y}},
	}}
	top := y
	if sign < 0 {
		top = y - 0.75*h
	}
	p.box = Rect{x1, top, x2 - x1, 0.75 * h}
	c.d.outline(p, 0, 0, 1, black)
}

// bracketOut is how far the bracket of a tuplet begins before its first note.
const bracketOut = 2.0

// tupletsOf writes the numbers of tuplets, in a bracket where no beam joins
// them.
func (c *cueSheet) tupletsOf(w *voice, notes []drawn, sign, k float64) {
	for _, t := range w.bar.Tuplets {
		first, last := &notes[t.First], &notes[t.Last]
		x1, x2 := first.x-bracketOut, last.x+5
		tip, any, beamed := tipOf(notes[t.First:t.Last+1], sign)
		if !any {
			continue
		}
		text := fmt.Sprint(t.Actual)
		if t.Normal != 2 && t.Normal != 4 || t.Actual == 2 {
			text += ":" + fmt.Sprint(t.Normal)
		}
		base := tip - 2.2
		line := tip - 4
		if sign > 0 {
			base, line = tip+8.4, tip+5
		}
		x := (x1 + x2) / 2
		tw := c.d.f.width(text, 8*k, true)
		c.d.centred(x, base, text, 8*k, true, black)
		if !beamed && x2-x1 > tw+8 {
			for _, l := range [][4]float64{
				{x1, line, x - tw/2 - 2, line}, {x + tw/2 + 2, line, x2, line},
				{x1, line, x1, line - sign*2.5}, {x2, line, x2, line - sign*2.5},
			} {
				c.d.line(l[0], l[1], l[2], l[3], 0.6, black).Part = beamArt
			}
		}
	}
}

// tipOf is the outermost tip of some notes, if any of them is drawn, and whether
// beams join all of them.
func tipOf(notes []drawn, sign float64) (tip float64, any, beamed bool) {
	beamed = true
	for n := range notes {
		dn := &notes[n]
		struck := !dn.Rest() && dn.ys != nil
		beamed = beamed && struck && len(dn.Beams) > 0
		if struck && (!any || (dn.tip-tip)*sign > 0) {
			tip, any = dn.tip, true
		}
	}
	return tip, any, beamed
}

// keys are the names that are written at a tone: of bars and drums that have no
// line, and of drums where they first come.
func (t *tone) keys() string {
	var words []string
	for _, st := range t.strokes {
		for _, word := range st.named {
			if !slices.Contains(words, word) {
				words = append(words, word)
			}
		}
	}
	return strings.Join(words, "+")
}

// An under is where things stand between the heads of a lane and the axis.
type under struct {
	accent                 float64 // the middle
	keys, letters, dynamic float64 // baselines
}

func (l *lane) under() (u under) {
	sign := 1.0
	last := l.rows[len(l.rows)-1]
	edge := last.mid + last.down
	if !l.up() {
		sign = -1
		edge = l.rows[0].mid - l.rows[0].up
	}
	base := func(h float64) float64 { // of a row of words that begins at the edge
		if sign < 0 {
			return edge - h*0.18
		}
		return edge + h*0.82
	}
	if l.ties {
		edge += sign * tieH
	}
	u.accent = edge + sign*accentH/2
	if l.accents {
		edge += sign * accentH
	}
	u.keys = base(keysH)
	if l.keys {
		edge += sign * keysH
	}
	u.letters = base(lettersH)
	if l.letters {
		edge += sign * lettersH
	}
	u.dynamic = edge + 7.5
	if sign < 0 {
		u.dynamic = edge - 2.6
	}
	return u
}

// underHeads writes what belongs to the heads of a block, towards the axis:
// accents, bars and drums by their names, the letters of the hands, dynamics.
func (c *cueSheet) underHeads(l *lane, b *block, w *voice, k float64) {
	u := l.under()
	shared := c.sharedIn(b) && l.limb.IsHand()
	both := shared && alwaysBoth(w)
	for n := range w.tones {
		t := &w.tones[n]
		x := b.at(t.at)
		if !t.into && slices.ContainsFunc(t.strokes, func(st struck) bool { return st.Has(score.Accent) }) {
			c.d.line(x-3.6*k, u.accent-2.3*k, x+3.6*k, u.accent, 1.2*k, black)
			c.d.line(x-3.6*k, u.accent+2.3*k, x+3.6*k, u.accent, 1.2*k, black)
		}
		if keys := t.keys(); keys != "" && !t.into {
			c.d.centred(x, u.keys, keys, keysSize*k, true, black)
		}
		dynamics, hand := c.signsOf(t, shared)
		if hand != "" && !both {
			size := handSize
			if len(hand) > 1 {
				size = bothSize
			}
			c.d.centred(x, u.letters, hand, size*k, true, black)
		}
		if len(dynamics) > 0 {
			at, _ := c.markSpan(b, x, dynamics, k)
			for _, m := range dynamics {
				c.mark(m, at, u.dynamic, k)
				at += markWidth(c.d.f, m, k) + 3*k
			}
		}
	}
}

// A span is a stretch across the page.
type span struct{ from, to float64 }

// markSpan is where dynamics stand that hold from x on.
func (c *cueSheet) markSpan(b *block, x float64, dynamics []string, k float64) (from, to float64) {
	w := dynamicsWidth(c.d.f, dynamics, k)
	from = max(b.x+1.5, min(x-4*k, c.right-w))
	return from, from + w
}

// markSpans is where dynamics reach into the axis of a system.
func (c *cueSheet) markSpans(s *system) (out []span) {
	for _, l := range s.lanes {
		if l.limb.IsHand() && !l.pins {
			out = append(out, c.marksOf(s, l)...)
		}
	}
	return out
}

func inSpan(list []span, from, to float64) bool {
	return slices.ContainsFunc(list, func(s span) bool { return s.from < to && from < s.to })
}

// mark draws a dynamic from x on, on the baseline y.
func (c *cueSheet) mark(m string, x, y, k float64) {
	name := dynamicGlyphs[m]
	if name == "" {
		c.d.words(x, y, m, dynSize*k, true, black)
		return
	}
	p := pictograms()[name]
	u := em * dynamicScale * k / 1000
	c.d.outline(p, x-p.box.X*u, y, u, black)
}
