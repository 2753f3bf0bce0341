package sheet

import (
	"cmp"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
)

// A hairpin is what grows or falls, from one place to another on one limb's
// line.
type hairpin struct {
	from, to beat.Rat
	limb     body.Limb
	grows    bool
}

// pinSign says whether a written dynamic is the beginning of a hairpin.
func pinSign(mark string) bool { return mark == "cresc" || mark == "dim" }

// hairpins finds where each begins and ends: at the next dynamic of its line, or
// with the last stroke where none follows within a bar.
func (v *part) hairpins() []hairpin {
	w := pinWalk{v: v, going: map[voiceLine]*openPin{}}
	for i := range v.strokes {
		if st := &v.strokes[i]; st.Sounds() && st.limbs != 0 {
			w.stroke(st)
		}
	}
	for _, o := range w.going {
		o.to = o.last
	}
	list := make([]hairpin, 0, len(w.out))
	for _, h := range w.out {
		list = append(list, *h)
	}
	slices.SortStableFunc(list, func(a, b hairpin) int { return cmp.Or(a.from.Cmp(b.from), cmp.Compare(a.limb, b.limb)) })
	return list
}

// A pinWalk goes through a player's strokes with the hairpins that are open.
type pinWalk struct {
	v     *part
	out   []*hairpin
	going map[voiceLine]*openPin
}

type openPin struct {
	*hairpin
	last beat.Rat // where the last stroke so far is over
	next beat.Rat // up to where it may be joined to what follows
}

// stroke ends and begins what the dynamics at a stroke do, and those while it goes on.
func (w *pinWalk) stroke(st *struck) {
	k := voiceLine{st.cue.Item, st.cue.Limb}
	if o := w.going[k]; o != nil && o.next.Less(st.At) {
		o.to = o.last
		delete(w.going, k)
	}
	for _, m := range st.marks {
		w.mark(k, st, st.At, m)
	}
	for _, sign := range score.SignsIn(w.v.swelling[st.cue], st.At, st.End) {
		if st.At.Less(sign.At) {
			w.mark(k, st, sign.At, sign.Text)
		}
	}
	if o := w.going[k]; o != nil {
		o.last = st.End
		bar, _ := w.v.Grid.Place(st.End)
		o.next = st.End.Add(w.v.Grid.Start(bar + 1).Sub(w.v.Grid.Start(bar)))
	}
}

func (w *pinWalk) mark(k voiceLine, st *struck, at beat.Rat, mark string) {
	if o := w.going[k]; o != nil {
		o.to = at
		delete(w.going, k)
	}
	if pinSign(mark) {
		o := &openPin{hairpin: &hairpin{from: at, limb: st.limbs.First(), grows: mark == "cresc"}}
		w.out, w.going[k] = append(w.out, o.hairpin), o
	}
}

// pinned says whether a hairpin begins at a tone.
func (t *tone) pinned() bool {
	return slices.ContainsFunc(t.strokes, func(st struck) bool { return slices.ContainsFunc(st.marks, pinSign) })
}

// pinsIn is the hairpins that reach into a block on a limb's line.
func (v *part) pinsIn(b *block, limb body.Limb) (out []*hairpin) {
	end := b.start.Add(b.length)
	about := v.pinsAbout(b.start, end)
	for i := range about {
		h := &about[i]
		if h.from.Less(end) && (b.start.Less(h.to) || b.start == h.from) && v.lineOf(b, h.limb) == limb {
			out = append(out, h)
		}
	}
	return out
}

// Measures of hairpins, in points.
const (
	pinLeast = 13.0 // how long the shortest is
	pinHalf  = 2.7  // half of how far it opens
)

// drawPins draws the hairpins of a lane as far as they are in a system, around a
// height; what stands there already breaks them.
func (c *cueSheet) drawPins(s *system, l *lane, y float64) {
	about := c.pinsAbout(s.blocks[0].start, s.end())
	for i := range about {
		h := &about[i]
		first, last := c.blocksOf(h, s, l)
		if first == nil {
			continue
		}
		x1, f1 := first.x+2, 0.0
		if h.from.Less(first.start) {
			f1 = h.share(first.start)
		} else {
			x1 = first.at(h.from) - strokeR*s.scale
		}
		x2, ends := last.x+last.w-2, last.start.Add(last.length)
		if h.to.Less(ends) {
			x2, ends = last.at(h.to)-strokeR*s.scale, h.to
		}
		x2 = max(x2, x1+pinLeast*s.scale)
		c.pin(h.grows, y, x1, min(x2, c.right), f1, h.share(ends), c.marksOf(s, l))
	}
}

// blocksOf is the first and the last block of a system that a hairpin of a lane
// reaches into; nil where none is.
func (c *cueSheet) blocksOf(h *hairpin, s *system, l *lane) (first, last *block) {
	for k := range s.blocks {
		if b := &s.blocks[k]; slices.Contains(c.pinsIn(b, l.limb), h) {
			if last = b; first == nil {
				first = b
			}
		}
	}
	return first, last
}

// share is how much of a hairpin is behind a moment.
func (h *hairpin) share(at beat.Rat) float64 {
	if all := h.to.Sub(h.from).Float(); all > 0 {
		return min(1, at.Sub(h.from).Float()/all)
	}
	return 1
}

// pin draws a part of a hairpin, from one share of the whole to another.
func (c *cueSheet) pin(grows bool, y, x1, x2, f1, f2 float64, marks []span) {
	half := func(x float64) float64 {
		f := f1 + (f2-f1)*(x-x1)/(x2-x1)
		if !grows {
			f = 1 - f
		}
		return pinHalf * f
	}
	draw := func(a, b float64) {
		if b-a < 3 {
			return
		}
		for _, side := range []float64{-1, 1} {
			c.d.line(a, y+side*half(a), b, y+side*half(b), 0.9, black).Part = pinArt
		}
	}
	at := x1
	for _, m := range marks { // from left to right
		if m.to > at && m.from < x2 {
			draw(at, m.from-1.5)
			at = max(at, m.to+2)
		}
	}
	draw(at, x2)
}

// marksOf is where the dynamics of a lane stand in a system, from left to right.
func (c *cueSheet) marksOf(s *system, l *lane) (out []span) {
	for i := range l.voices {
		b, w := &s.blocks[i], &l.voices[i]
		for n := range w.tones {
			if dyn, _ := c.signsOf(&w.tones[n], c.sharedIn(b)); len(dyn) > 0 {
				from, to := c.markSpan(b, b.at(w.tones[n].at), dyn, s.scale)
				out = append(out, span{from, to})
			}
		}
	}
	slices.SortFunc(out, func(a, b span) int { return cmp.Compare(a.from, b.from) })
	return out
}
