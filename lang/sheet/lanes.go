package sheet

import (
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// A lane is one limb's music along a system: a row for each instrument, what
// the hand holds below, and below that what it has to change.
type lane struct {
	limb  body.Limb
	rows  []*row
	holds []hold
	notes shelf

	clashes []clash

	voices []voice // by block
	// What there is to make room for.
	tuplets, accents, keys, letters, marks, ties bool
	pins                                         bool    // hairpins
	folds                                        bool    // words stand over bars: how many are folded, or left of a rest
	restUp, restDown                             float64 // how far rests go above and below the middle
	bare                                         bool    // no line, only what is held
}

// A rowKey is what has a row of its own.
type rowKey struct {
	limb body.Limb
	item *score.Item
	pass int
}

type row struct {
	rowKey
	label []string
	said  string  // the name in full
	mid   float64 // where its line, or the middle one, is drawn
	rule  *ruling
	up    float64 // how far it reaches above its middle, and below
	down  float64
}

// hold is what a hand has from one place to another.
type hold struct {
	from, to beat.Rat
	words    string
	short    string   // the same where there is little room
	glyphs   []string // outlines of it, the first that is there
	thing    bool     // an instrument, which the hand holds up
}

const dynSize = 10.0

// usesHands is which hands the player has anything to do with in the piece.
func (v *part) usesHands() (hands []body.Limb) {
	var used body.Limbs
	for _, st := range v.strokes {
		used |= st.limbs
	}
	for h := range 2 {
		if used&(1<<h) != 0 || len(v.m.Spells[h]) > 0 {
			hands = append(hands, body.Limb(h))
		}
	}
	return hands
}

// lanes are the lanes of a system. Hands have one each, strokes or not,
// because they hold something; feet and mouth only where they play.
func (v *part) lanes(s *system, hands []body.Limb) {
	for _, h := range hands {
		s.lane(h)
	}
	for i := range s.blocks {
		b := &s.blocks[i]
		if b.fold > 0 {
			continue
		}
		v.between(b.start, b.start.Add(b.length), func(st *struck, _ bool) {
			for limb := range st.limbs.Each() {
				limb = v.lineOf(b, limb)
				s.lane(limb).row(rowKey{limb, st.cue.Item, st.cue.Pass})
			}
		})
	}
	v.stopped(s)
	slices.SortStableFunc(s.lanes, func(a, b *lane) int { return int(a.limb) - int(b.limb) })
	for _, l := range s.lanes {
		if l.limb.IsHand() {
			l.holds = v.holds(s, l.limb)
		}
	}
	if first := s.lanes[:min(1, len(s.lanes))]; len(s.lanes) > 1 {
		first = slices.Clone(first)
		if s.lanes = slices.DeleteFunc(s.lanes, func(l *lane) bool { return v.idle(s, l) }); len(s.lanes) == 0 {
			s.lanes = first
		}
	}
	for _, l := range s.lanes {
		if len(l.rows) == 0 { // nothing to play: a line to rest on
			l.rows = []*row{{}}
		}
	}
}

// stopped adds what limbs stop without striking.
func (v *part) stopped(s *system) {
	for _, a := range v.p.Actions {
		if a.Kind != score.Damp || a.Item == nil || a.At.Less(s.blocks[0].start) || !a.At.Less(s.end()) {
			continue
		}
		for limb := range body.Of(a.Limb).Each() {
			if limb.IsHand() && v.shared[a.Bar] {
				limb = body.Right
			}
			s.lane(limb).row(rowKey{limb, a.Item, 0})
		}
	}
}

// lane is the lane of a limb, which is made when it is first asked for.
func (s *system) lane(limb body.Limb) *lane {
	for _, l := range s.lanes {
		if l.limb == limb {
			return l
		}
	}
	l := &lane{limb: limb}
	s.lanes = append(s.lanes, l)
	return l
}

// idle says whether a lane has nothing at all to show.
func (v *part) idle(s *system, l *lane) bool {
	if len(l.rows) > 0 || slices.ContainsFunc(l.holds, func(h hold) bool { return h.words != "" }) {
		return false
	}
	from, to := s.blocks[0].start, s.end()
	return !slices.ContainsFunc(v.shiftsAbout(from, to), func(sh shift) bool {
		allAlong := sh.from.Less(from) && to.Less(sh.at) // said where it begins, and again where it ends
		return sh.Hand == l.limb && from.Less(sh.at) && sh.from.Less(to) && !allAlong
	})
}

func (l *lane) row(k rowKey) *row {
	for _, r := range l.rows {
		if r.rowKey == k {
			return r
		}
	}
	r := &row{rowKey: k}
	l.rows = append(l.rows, r)
	return r
}

func (s *system) end() beat.Rat {
	b := &s.blocks[len(s.blocks)-1]
	return b.start.Add(b.length)
}

// holds is what a hand has along a system, as it is when each bar is first
// played. Between the end of one thing and the stroke that needs the next the
// hand changes; that time is left open.
func (v *part) holds(s *system, hand body.Limb) []hold {
	var out []hold
	add := func(h hold) {
		if n := len(out); n > 0 && out[n-1].words == h.words && out[n-1].to == h.from {
			out[n-1].to = h.to
			return
		}
		out = append(out, h)
	}
	for i := range s.blocks {
		b := &s.blocks[i]
		for bar := b.from; bar <= b.to; bar++ {
			v.holdsIn(bar, hand, add)
		}
	}
	return v.opened(out, hand, s.blocks[0].start, s.end())
}

func (v *part) holdsIn(bar int, hand body.Limb, add func(hold)) {
	at, end := v.Grid.Start(bar), v.Grid.Start(bar+1)
	t, ok := v.seconds(bar, at)
	if !ok {
		return
	}
	until, _ := v.seconds(bar, end)
	list := v.m.Spells[hand]
	h := holdOf(v.m.HoldsAt(hand, t+1e-9))
	for i := range list {
		if list[i].From <= t+1e-9 || list[i].From >= until-1e-9 {
			continue
		}
		next := v.placeOfSpell(&list[i], bar, at, end)
		if o := holdOf(list[i].Grip); o.words != h.words {
			add(h.over(at, next))
			at, h = next, o
		}
	}
	add(h.over(at, end))
}

// holdOf is what stands in the ribbon of a hand.
func holdOf(g motion.Grip) hold {
	h := hold{words: gripWords(g), short: shortGrip(g)}
	switch {
	case g.Inst != nil:
		h.words, h.short, h.thing = "holds the "+h.words, "holds "+g.Inst.Short(), true
		h.glyphs = g.Inst.Inst.Glyphs
	case g.Implement != nil:
		h.glyphs = g.Implement.Glyphs
	case g.Kept != nil:
		h.glyphs = g.Kept.Glyphs
	}
	return h
}

// over is the same from one place to another.
func (h hold) over(from, to beat.Rat) hold {
	h.from, h.to = from, to
	return h
}

func (v *part) placeOfSpell(sp *motion.Spell, bar int, lo, hi beat.Rat) beat.Rat {
	if sp.Event != nil && sp.Event.Bar() == bar {
		return sp.Event.At()
	}
	return v.placeAt(v.first[bar], sp.From, lo, hi)
}

// opened takes the time of the changes out of what is held between two
// places.
func (v *part) opened(list []hold, hand body.Limb, from, to beat.Rat) []hold {
	about := v.shiftsAbout(from, to)
	for i := range about {
		sh := &about[i]
		if sh.Hand != hand || !v.opens(sh) || !sh.from.Less(to) || sh.at.Less(from) {
			continue
		}
		list = cutOut(list, sh.from, sh.at)
	}
	return list
}

// cutOut leaves a stretch out of what is held. What is laid at once, at the
// beginning of the stretch, stays for a moment without length.
func cutOut(list []hold, from, to beat.Rat) []hold {
	var out []hold
	for _, h := range list {
		if !from.Less(h.to) || !h.from.Less(to) {
			out = append(out, h)
			continue
		}
		if !from.Less(h.from) {
			out = append(out, h.over(h.from, from))
		}
		if to.Less(h.to) {
			out = append(out, h.over(to, h.to))
		}
	}
	return out
}

// opens says whether a change has its time drawn between what is held: it
// gives the hand something else to do, and does so the first time through.
func (v *part) opens(sh *shift) bool {
	if !sh.Lays && !sh.Takes && !sh.Walks {
		return false
	}
	if sh.lap > 0 {
		if slices.ContainsFunc(v.shiftsAbout(sh.from, sh.at), func(o shift) bool { // one that goes on has the room
			return o.lap == 0 && o.Hand == sh.Hand && o.from.Less(sh.at) && sh.from.Less(o.at) && v.opens(&o)
		}) {
			return false
		}
		bar, _ := v.Grid.Place(sh.from)
		return bar >= 0 && bar < len(v.first) && v.first[bar] == sh.span
	}
	return sh.first
}
