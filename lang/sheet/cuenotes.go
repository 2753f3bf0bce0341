package sheet

import (
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/rhythm"
)

// Measures of what others play before an entry: small notes at the axis of time.
const (
	cueScale = 0.62
	cueDrop  = 1.6 // from the middle of the axis down to the heads
	cueStem  = 10.5
	cueHead  = 3.6 // half a head, with room around it
	cueFlag  = 4.2 // how far a flag reaches beyond that
)

// axisHeight is how high the axis of time is, with the stems of what others play, which
// reach into the room under the right hand's notes where nothing is drawn there.
func (s *system) axisHeight() float64 {
	if s.hasRight() && !s.lanes[0].pins {
		return axisH
	}
	if slices.ContainsFunc(s.blocks, func(b block) bool { return b.cue != nil }) {
		return axisH + cueStem - cueDrop - axisH/2 + 0.6
	}
	return axisH
}

// cueVoice is what another player has in a block, in note values.
func (v *part) cueVoice(b *block) voice {
	var w voice
	end := b.start.Add(b.length)
	for i, at := range b.cue.at {
		if !slices.ContainsFunc(w.tones, func(t tone) bool { return t.at == at }) {
			w.tones = append(w.tones, tone{at: at, end: earlier(b.cue.ends[i], end)})
		}
	}
	w.spell(v.Grid.Meter(b.from), b)
	return w
}

// cueReach is how far those notes reach to either side at the axis.
func (v *part) cueReach(b *block) (axis []onAxis) {
	w := v.cueVoice(b)
	for i := range w.bar.Notes {
		n := &w.bar.Notes[i]
		if n.Rest() {
			continue
		}
		right := cueHead + 3*float64(n.Value.Dots)
		if flagged(n) {
			right += cueFlag
		}
		axis = append(axis, onAxis{b.in(w.place(n)), cueHead, right, true})
	}
	if !w.ok {
		for _, t := range w.tones {
			axis = append(axis, onAxis{b.in(t.at), cueHead, cueHead, true})
		}
	}
	return axis
}

// cueNotes draws them around the middle of the axis, with stems up.
func (c *cueSheet) cueNotes(b *block, mid, k float64) {
	w := c.cueVoice(b)
	y, small := mid+cueDrop*k, cueScale*k
	head := func(at beat.Rat, v rhythm.Value) *item {
		return c.d.glyphAt(headFor(b.cue.cue.Item, v, false), b.at(at), y, small)
	}
	if !w.ok {
		for _, t := range w.tones {
			head(t.at, rhythm.Value{Base: 2}).Part = cueArt
		}
		return
	}
	notes := make([]drawn, len(w.bar.Notes))
	for i := range notes {
		n, dn := &w.bar.Notes[i], &notes[i]
		dn.Note, dn.x = n, b.at(w.place(n))
		if n.Rest() {
			continue
		}
		it := head(w.place(n), n.Value)
		if !n.TieStop {
			it.Part = cueArt
		}
		for d := range n.Value.Dots {
			c.d.disc(it.X+it.W+(1.6+2.6*float64(d))*k, y-1.6*k, 0.9*k, noInk, black, 0)
		}
		dn.w, dn.ys, dn.near, dn.far, dn.tip = it.W, []float64{y}, y, y, y-cueStem*k
		dn.stem, dn.noStem = dn.x+it.W/2-0.3, n.Value.Base == 0
		dn.toneRoll = w.tones[n.Event].at.Less(w.tones[n.Event].end)
	}
	c.beams(notes, -1, small)
	up := &lane{limb: body.Right}
	for i := range notes {
		dn := &notes[i]
		if dn.Rest() {
			continue
		}
		c.stem(up, dn, small)
		if dn.toneRoll {
			x, up := dn.stem, (dn.near+dn.tip)/2-1
			if dn.noStem {
				x, up = dn.x, y-8*k
			}
			c.d.glyphIn("tremolo3", x, up, small).Part = rollArt
		}
	}
}

// beginsCue says whether what others play before an entry begins in a block, or goes on
// there from the line before.
func (s *system) beginsCue(i int) bool {
	q := s.blocks[i].cue
	for before := i - 1; q != nil && before >= 0; before-- {
		if o := s.blocks[before].cue; o != nil {
			return o.cue != q.cue
		}
	}
	return q != nil
}

// dropCues takes what others play out of rests of one bar that have no room for who it
// is, so that nobody looks further for it than the bar lasts.
func (c *cueSheet) dropCues(s *system) {
	for i := range s.blocks {
		if b := &s.blocks[i]; b.lone && s.beginsCue(i) {
			if text, _ := c.cueUnder(s, i); text == "" {
				b.cue, b.left = nil, 0
			}
		}
	}
}

// cueUnder is who plays what in a block before an entry, as it stands under the left
// hand's line, where nothing else does in a rest, and from where on; "" where there is
// no room for it.
func (c *cueSheet) cueUnder(s *system, i int) (text string, x float64) {
	k := slices.IndexFunc(s.lanes, func(l *lane) bool { return l.limb == body.Left })
	if k < 0 || c.onRightLine(s, s.lanes[k]) || s.scale < 1 {
		return "", 0
	}
	q, first, last := s.blocks[i].cue, i, i
	for ; first > 0 && s.blocks[first-1].rest; first-- {
	}
	for ; last+1 < len(s.blocks) && s.blocks[last+1].left > 0; last++ {
	}
	end := s.blocks[last].x + s.blocks[last].w - 3
	texts := []string{q.player + ": " + q.cue.Item.Short()}
	if s.blocks[i].lone {
		texts = append(texts, q.cue.Item.Short())
	}
	for _, text := range texts {
		w := c.d.f.width(text, noteSize, false)
		if x = min(s.blocks[i].x+3, end-w); x >= s.blocks[first].x+3 {
			return text, x
		}
	}
	return "", 0
}

// cuesUnder writes that below the heads of the left hand's lane, which ends at y.
func (c *cueSheet) cuesUnder(s *system, y float64) {
	for i := range s.blocks {
		if s.beginsCue(i) {
			if text, x := c.cueUnder(s, i); text != "" {
				c.d.words(x, y-1.6, text, noteSize, false, black)
			}
		}
	}
}
