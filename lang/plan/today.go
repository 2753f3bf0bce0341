package plan

import (
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// takeToday notes for every passage how a cue of the file plays it, if one
// has all its strokes.
func (p *piece) takeToday(k *stock, people []*person) {
	for _, who := range people {
		player := p.score.Player(who.name)
		if player == nil {
			continue
		}
		for _, c := range player.Cues {
			has := map[beat.Rat]bool{}
			for i := range c.Strokes {
				if c.Strokes[i].Sounds() {
					has[c.Strokes[i].At] = true
				}
			}
			for _, t := range p.tracks {
				if t.name != c.Voice || c.Of != "" && c.Of != t.part.Name {
					continue
				}
				for _, q := range t.bars {
					if q.today.player < 0 && c.Pass == 0 && (c.Of == "" || len(q.unison) == 0) && q.bar >= c.From && q.bar <= c.To && q.within(has) {
						q.today = plays{player: int8(who.at)}
						q.adopt(k, c)
					}
				}
			}
		}
	}
}

// takeShared notes which passages a player's hands share by the stroke.
func (p *piece) takeShared(k *stock, people []*person) {
	for _, who := range people {
		player := p.score.Player(who.name)
		if player == nil {
			continue
		}
		for _, c := range player.Cues {
			for _, d := range player.Cues {
				if c.Limb != body.Right || d.Limb != body.Left || c.Voice != d.Voice || c.Of != d.Of || c.Item != d.Item || c.Pass+d.Pass > 0 || c.Mount != d.Mount || !slices.Equal(c.With, d.With) {
					continue
				}
				for _, t := range p.tracks {
					if t.name == c.Voice && (c.Of == "" || c.Of == t.part.Name) {
						p.takeSharedOf(k, t, c, d, who)
					}
				}
			}
		}
	}
}

func (p *piece) takeSharedOf(k *stock, t *track, c, d *score.Cue, who *person) {
	by := func(c *score.Cue, at beat.Rat) bool {
		return slices.ContainsFunc(c.Strokes, func(st score.Stroke) bool { return st.At == at && st.Sounds() })
	}
	for _, q := range t.bars {
		if q.track != t || q.today.player >= 0 || q.roll || q.bar < max(c.From, d.From) || q.bar > min(c.To, d.To) || len(q.unison) > 0 {
			continue
		}
		split := make([]uint8, len(q.strokes))
		for i := range q.strokes {
			switch at := q.strokes[i].At; {
			case !q.strokes[i].Sounds():
			case by(c, at) && !by(d, at):
				split[i] = right
			case by(d, at) && !by(c, at):
				split[i] = left
			}
		}
		if slices.Contains(split, 0) {
			continue
		}
		q.today = plays{player: int8(who.at)}
		q.adopt(k, c)
		o := q.options[q.today.option]
		o.split, o.slots, o.gaps, o.turn = split, []uint8{hands}, noGaps, 0
		q.options = append(q.options, o)
		q.today.option, q.today.slots = int8(len(q.options)-1), hands
	}
}

func (q *passage) within(has map[beat.Rat]bool) bool {
	any := false
	for i := range q.strokes {
		if q.strokes[i].Sounds() {
			if !has[q.strokes[i].At] {
				return false
			}
			any = true
		}
	}
	return any
}

// adopt makes the way in which a cue plays a passage one of its options.
func (q *passage) adopt(k *stock, c *score.Cue) {
	m := manner{inst: c.Item.Inst, name: c.Item.Name, mount: motion.Wanted(c), limb: c.Limb}
	if len(c.With) > 0 {
		m.with = c.With[0]
	}
	w := wayFor(m, c.Limb, q.roll)
	o := option{limb: c.Limb}
	o.gaps = noGaps
	if w != nil {
		if m.with.Implement == "" && len(w.With) > 0 {
			m.with = w.With[0]
		}
		m.hands = w.Hands
		if w.Costs != "" {
			o.sound = 1
		}
		o.loud = w.Loudest != 0 && q.dyn[1] > w.Loudest
	}
	with := w
	if with == nil {
		with = m.inst.Usual()
	}
	o.least = k.rates(m.inst, with, m.with)
	slotsOf := hands
	switch {
	case c.Limb == body.RightFoot || c.Limb == body.LeftFoot:
		slotsOf, m.hands = foot, 0
	case c.Limb == body.Mouth:
		slotsOf, m.hands = mouth, 0
	case c.Limb.TwoHands():
		m.hands = 2
	case m.hands == 2 && (m.mount == kit.Held || q.roll):
	case c.Limb == body.Left:
		slotsOf, m.limb, o.limb, m.hands = left, body.Right, body.Right, 1
	default:
		slotsOf, m.limb, o.limb, m.hands = right, body.Right, body.Right, 1
	}
	if c.Substitutes() {
		o.sound += 1.5
	}
	o.manner = m
	o.otherwise = m.mount != kit.Held && m.mount != k.fixed(m.inst)
	q.today.slots = slotsOf
	if i := slices.IndexFunc(q.options, func(p option) bool { return p.manner == m && slices.Contains(p.slots, slotsOf) }); i >= 0 {
		q.today.option = int8(i)
		return
	}
	o.slots = []uint8{slotsOf}
	if slotsOf == right || slotsOf == left {
		o.slots = []uint8{right, left}
	}
	o.sig = k.sig(m)
	q.options = append(q.options, o)
	q.today.option = int8(len(q.options) - 1)
}

// wayFor is the way of playing that a cue means.
func wayFor(m manner, limb body.Limb, roll bool) *kit.Way {
	var second *kit.Way
	for _, w := range m.inst.Ways {
		if w.Mount != m.mount || roll && !w.Rolls {
			continue
		}
		if second == nil {
			second = w
		}
		if m.with.Implement == "" || slices.ContainsFunc(w.With, func(c kit.Choice) bool { return c == m.with }) {
			return w
		}
	}
	return second
}
