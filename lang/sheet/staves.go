package sheet

import (
	"cmp"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/score"
)

// A ruling is the lines that the notes of one thing stand on: one line where
// nothing tells its strokes apart, a line for each drum of a set, and the five
// lines and the clef of whatever has notes. Places are in points below the
// middle.
type ruling struct {
	lines  []float64
	hang   float64 // the line that a whole rest hangs from
	sit    float64 // the line that a half rest lies on
	clef   string  // its outline, or ""
	clefAt float64
	middle int         // the step of the middle line, where there is a clef
	member map[int]int // from the lowest drum of a set, from 0
}

// Measures of staves, in points.
const (
	space    = em / 4 // between the lines of a staff
	setPitch = 7.0    // between the lines of a set
	clefW    = 21.0   // the column of the clefs, before the bars
	mostSet  = 5      // drums with a line each; with more of them spaces are used too
	ledgerX  = 2.2    // how far a ledger line reaches beyond a head
)

var oneLine = &ruling{lines: []float64{0}}

// upper and lower are how far the lines reach above and below the middle.
func (r *ruling) upper() float64 { return -r.lines[0] + rowPitch/2 }
func (r *ruling) lower() float64 { return r.lines[len(r.lines)-1] + rowPitch/2 }

// ruled finds on what lines each thing that each limb plays stands, in the
// whole piece alike, and names what stands nowhere, and each drum of a set where
// it first comes.
func (v *part) ruled() {
	steps, sets := map[rowKey][]int{}, map[rowKey]bool{}
	v.eachKey(func(_ *struck, k rowKey, key score.Key) {
		if in := k.item.Inst; !key.Pitch.None() && in.Pitched() {
			steps[k] = append(steps[k], key.Pitch.Step())
		} else if key.Member(in) > 0 {
			sets[k] = true
		}
	})
	v.rulings = map[rowKey]*ruling{}
	for k := range sets {
		v.rulings[k] = setOf(k.item.Inst)
	}
	for k, list := range steps {
		slices.Sort(list)
		v.rulings[k] = staffOf(k.item.Inst, list[len(list)/2])
		v.clefs = true
	}
	type drum struct {
		row rowKey
		n   int
	}
	said := map[drum]bool{}
	v.eachKey(func(st *struck, k rowKey, key score.Key) {
		r, one := v.rulings[k], drum{k, key.Member(k.item.Inst)}
		switch {
		case r != nil && r.clef != "" && !key.Pitch.None():
			return
		case r != nil && r.clef == "" && one.n > 0:
			if said[one] {
				return
			}
			said[one] = true
		}
		if word := key.String(); !slices.Contains(st.named, word) {
			st.named = append(st.named, word)
		}
	})
}

// eachKey visits each bar or drum that is struck, for each limb in whose row it
// stands.
func (v *part) eachKey(visit func(*struck, rowKey, score.Key)) {
	for i := range v.strokes {
		st := &v.strokes[i]
		for limb := range st.limbs.Each() {
			for _, key := range st.struckKeys() {
				visit(st, v.rowOf(st, limb), key)
			}
		}
	}
}

// ruleFor is the ruling of a row. A roll may go on in a bar in which it stands on
// the other hand's line.
func (v *part) ruleFor(k rowKey) *ruling {
	if r := v.rulings[k]; r != nil || !k.limb.IsHand() {
		return r
	}
	k.limb ^= body.Left
	return v.rulings[k]
}

// rowOf is the row that a stroke stands in on the line of a limb.
func (v *part) rowOf(st *struck, limb body.Limb) rowKey {
	if bar := int(st.Bar); limb.IsHand() && bar >= 0 && bar < len(v.shared) && v.shared[bar] {
		limb = body.Right
	}
	return rowKey{limb, st.cue.Item, st.cue.Pass}
}

func (st *struck) struckKeys() []score.Key {
	if st.aims == nil {
		return nil
	}
	return st.aims.Keys
}

// setOf is a line for each drum, the lowest below; of more than five each second
// one stands in a space.
func setOf(in *kit.Instrument) *ruling {
	n := in.Row()
	order := make([]int, n)
	for i := range order {
		order[i] = i + 1
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(in.Rank(a), in.Rank(b)) })
	r := &ruling{member: map[int]int{}}
	for i, m := range order {
		r.member[m] = i
	}
	for i := n - 1; i >= 0; i-- {
		if n <= mostSet || i%2 == 0 {
			r.lines = append(r.lines, r.drumAt(i))
		}
	}
	for _, y := range r.lines {
		if y <= 0 {
			r.hang = y
		}
	}
	r.sit = r.hang
	return r
}

// drumAt is where the i-th drum from the lowest stands.
func (r *ruling) drumAt(i int) float64 {
	pitch := setPitch
	if len(r.member) > mostSet {
		pitch /= 2
	}
	return (float64(len(r.member)-1)/2 - float64(i)) * pitch
}

// staffOf is five lines with the clef for notes with that one in their middle; a
// clef says by how many octaves the instrument sounds higher than it is written.
func staffOf(in *kit.Instrument, middle int) *ruling {
	r := &ruling{hang: -space, clef: "gClef", clefAt: space, middle: trebleMiddle}
	switch {
	case in.InBass(middle):
		r.clef, r.clefAt, r.middle = "fClef", -space, bassMiddle
	case in.Octaves == 1:
		r.clef = "gClef8va"
	case in.Octaves >= 2:
		r.clef = "gClef15ma"
	}
	for i := -2; i <= 2; i++ {
		r.lines = append(r.lines, float64(i)*space)
	}
	return r
}

// The steps of the middle lines of the two clefs.
var trebleMiddle, bassMiddle = pitch.Of('B', 0, 4).Step(), pitch.Of('D', 0, 3).Step()

// A head is one of the heads of a tone.
type head struct {
	stroke int // of the tone's
	row    rowKey
	off    float64 // below the middle of its row
	half   int     // half spaces above the middle line of a staff
	staff  bool
	step   int
	alter  int
	aside  bool    // beside the stem, because the next one to it is too near
	sign   string  // the accidental before it
	signX  float64 // how far that stands left of the middle of the heads
}

// headsOf are the heads of a tone on a limb's line, before accidentals.
func (v *part) headsOf(t *tone, limb body.Limb, up bool) []head {
	var out []head
	for n := range t.strokes {
		st := &t.strokes[n]
		k := rowKey{limb, st.cue.Item, st.cue.Pass}
		r := v.ruleFor(k)
		from := len(out)
		if r != nil && st.Sounds() {
			for _, key := range st.struckKeys() {
				h := head{stroke: n, row: k}
				switch {
				case r.clef != "" && !key.Pitch.None():
					h.staff, h.step, h.alter = true, key.Pitch.Step(), key.Pitch.Alter()
					h.half = h.step - r.middle
					h.off = -float64(h.half) * space / 2
				case r.clef == "" && key.Member(k.item.Inst) > 0:
					h.off = r.drumAt(r.member[key.Member(k.item.Inst)])
				}
				if !slices.Contains(out[from:], h) {
					out = append(out, h)
				}
			}
		}
		if len(out) == from {
			out = append(out, head{stroke: n, row: k})
		}
	}
	setAside(out, up)
	return out
}

// setAside stands every second of neighbouring heads of a staff beside the stem:
// from the one nearest to its root on.
func setAside(list []head, up bool) {
	if len(list) < 2 {
		return
	}
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if up {
			return cmp.Compare(list[a].step, list[b].step)
		}
		return cmp.Compare(list[b].step, list[a].step)
	})
	for i := 1; i < len(order); i++ {
		h, before := &list[order[i]], &list[order[i-1]]
		near := h.staff && before.staff && h.row == before.row && (h.step != before.step || h.alter != before.alter)
		h.aside = near && !before.aside && max(h.step-before.step, before.step-h.step) <= 1
	}
}

// A degree is one line or space of one staff.
type degree struct {
	row  rowKey
	step int
}

// accidentals gives the notes of a voice their signs: each holds to the end of
// its bar, and what the bar before had otherwise is taken back.
func (v *part) accidentals(b *block, limb body.Limb, w *voice) {
	onStaff := func(t tone) bool { return slices.ContainsFunc(t.heads, func(h head) bool { return h.staff }) }
	if !slices.ContainsFunc(w.tones, onStaff) {
		return
	}
	before, now := v.alteredBefore(b, limb), map[degree]int{}
	for i := range w.tones {
		t := &w.tones[i]
		if t.into {
			continue
		}
		for n := range t.heads {
			h := &t.heads[n]
			if !h.staff {
				continue
			}
			d := degree{h.row, h.step}
			if was, ok := now[d]; ok && was != h.alter || !ok && (h.alter != 0 || before[d] != 0) {
				h.sign = accidentalGlyphs[h.alter+2]
			}
			now[d] = h.alter
		}
		t.placeSigns(limb != body.Left)
	}
}

var accidentalGlyphs = [...]string{"accidentalDoubleFlat", "accidentalFlat", "accidentalNatural", "accidentalSharp", "accidentalDoubleSharp"}

// alteredBefore is what the bar before a block makes of the lines and spaces.
func (v *part) alteredBefore(b *block, limb body.Limb) map[degree]int {
	out := map[degree]int{}
	if b.from <= v.Grid.First() {
		return out
	}
	v.between(v.Grid.Start(b.from-1), b.start, func(st *struck, goesOn bool) {
		for l := range st.limbs.Each() {
			if k := v.rowOf(st, l); k.limb == limb && !goesOn {
				for _, key := range st.struckKeys() {
					if !key.Pitch.None() {
						out[degree{k, key.Pitch.Step()}] = key.Pitch.Alter()
					}
				}
			}
		}
	})
	return out
}

// placeSigns stands the accidentals of a tone in columns before its heads, from
// the highest on, so that none lies on another.
func (t *tone) placeSigns(up bool) {
	left := t.half
	order := make([]int, 0, len(t.heads))
	for i := range t.heads {
		h := &t.heads[i]
		if h.aside && !up {
			left = 3 * t.half
		}
		if h.sign != "" {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(t.heads[a].off, t.heads[b].off) })
	var columns []float64 // the lowest place that is taken in each
	var widths []float64
	in := make([]int, len(order))
	for n, i := range order {
		h := &t.heads[i]
		top, bottom, w := signReach(h.sign)
		col := slices.IndexFunc(columns, func(y float64) bool { return y < h.off+top-0.5 })
		if col < 0 {
			col = len(columns)
			columns, widths = append(columns, 0), append(widths, 0)
		}
		columns[col], widths[col], in[n] = h.off+bottom, max(widths[col], w), col
	}
	for n, i := range order {
		x := left
		for _, w := range widths[:in[n]] {
			x += w + 1
		}
		t.heads[i].signX = x + 1.2 + widths[in[n]]/2
	}
}

// headWidths finds how wide the heads of each tone of a voice are.
func (w *voice) headWidths() {
	for i := range w.bar.Notes {
		if n := &w.bar.Notes[i]; !n.Rest() {
			t := &w.tones[n.Event]
			for k := range t.heads {
				h := &t.heads[k]
				hw, _ := glyphSize(headFor(h.row.item, n.Value, h.staff), 1)
				t.half = max(t.half, hw/2)
			}
		}
	}
}

// signReach is how far an accidental or a clef reaches above and below its place, and how
// wide it is.
func signReach(name string) (top, bottom, w float64) {
	box := pictograms()[name].box
	return box.Y * em / 1000, (box.Y + box.H) * em / 1000, box.W * em / 1000
}

// beside is how far the heads of a tone, their accidentals and ledger lines
// reach to the left and right of its place.
func (t *tone) beside(up bool) (left, right float64) {
	for i := range t.heads {
		h := &t.heads[i]
		if h.sign != "" {
			_, _, w := signReach(h.sign)
			left = max(left, h.signX+w/2+0.8)
		}
		l, r := t.half+0.4, t.half+0.4
		if h.aside && up {
			r = 3*t.half + 0.6
		} else if h.aside {
			l = 3*t.half + 0.6
		}
		if h.staff && max(h.half, -h.half) > 5 {
			l, r = l+ledgerX, r+ledgerX
		}
		left, right = max(left, l), max(right, r)
	}
	return left, right
}

// setReach finds how far each row of a lane reaches above and below its middle, with
// whatever stands on it in a system.
func (v *part) setReach(l *lane) {
	for _, r := range l.rows {
		if r.rule = v.ruleFor(r.rowKey); r.rule == nil {
			r.rule = oneLine
		}
		r.up, r.down = r.rule.upper(), r.rule.lower()
	}
	for i := range l.voices {
		for n := range l.voices[i].tones {
			for k := range l.voices[i].tones[n].heads {
				h := &l.voices[i].tones[n].heads[k]
				r := l.rowFor(h.row)
				top, bottom := -rowPitch/2, rowPitch/2
				if h.sign != "" {
					a, b, _ := signReach(h.sign)
					top, bottom = min(top, a-1), max(bottom, b+1)
				}
				r.up, r.down = max(r.up, -h.off-top), max(r.down, h.off+bottom)
			}
		}
	}
	l.partClefs()
}

// partClefs keeps the clefs of a lane apart, which are higher than their lines.
func (l *lane) partClefs() {
	var before *row
	between := 0.0 // from the middle of the one before to the row that comes
	for _, r := range l.rows {
		if r.rule.clef != "" {
			top, _ := r.rule.clefReach()
			if before != nil {
				_, bottom := before.rule.clefReach()
				r.up = max(r.up, bottom-top+1-between)
			}
			before, between = r, r.down
		} else {
			between += r.up + r.down
		}
	}
}

// clefReach is how far the clef reaches above and below the middle line.
func (r *ruling) clefReach() (top, bottom float64) {
	top, bottom, _ = signReach(r.clef)
	return r.clefAt + top, r.clefAt + bottom
}

// rowFor is the row of a thing in a lane.
func (l *lane) rowFor(k rowKey) *row {
	for _, r := range l.rows {
		if r.item == k.item && r.pass == k.pass {
			return r
		}
	}
	return l.rows[0]
}

// ruleLines draws the lines of a lane from one place to another.
func (c *cueSheet) ruleLines(l *lane, from, to float64) {
	for _, r := range l.rows {
		for _, y := range r.rule.lines {
			c.d.line(from, r.mid+y, to, r.mid+y, 0.5, pale)
		}
	}
}

// clefsOf draws the clefs of a lane, before its first bar.
func (c *cueSheet) clefsOf(l *lane) {
	for _, r := range l.rows {
		if r.rule.clef == "" {
			continue
		}
		x := c.left - clefW
		for _, y := range r.rule.lines {
			c.d.line(x, r.mid+y, c.left, r.mid+y, 0.5, pale)
		}
		c.d.glyphAt(r.rule.clef, x+clefW/2-0.5, r.mid+r.rule.clefAt, 1).Part = signArt
	}
}

// ledgers draws the short lines of a head that stands beyond its staff.
func (c *cueSheet) ledgers(h *head, mid, x, half float64) {
	sign := -1.0
	if h.half < 0 {
		sign = 1
	}
	n := max(h.half, -h.half)
	for k := 6; k <= n; k += 2 {
		y := mid + sign*float64(k)*space/2
		c.d.line(x-half-ledgerX, y, x+half+ledgerX, y, 0.7, black)
	}
}

// onStaff says whether a thing has its notes on a staff with a clef.
func (v *part) onStaff(it *score.Item) bool {
	for k, r := range v.rulings {
		if k.item == it && r.clef != "" {
			return true
		}
	}
	return false
}
