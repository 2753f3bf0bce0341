package plan

import (
	"cmp"
	"slices"
	"sync"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/room"
	"example.org/handful/lang/score"
)

// can says whether somebody can and will play a passage in a way, with these
// slots: fast enough, with the hands, the grip and the roll that are theirs, and
// on an instrument that they do not refuse.
func (p *person) can(q *passage, o *option, slots uint8) bool {
	return o.quick(p) && p.would(q, o, slots)
}

func (p *person) would(q *passage, o *option, slots uint8) bool {
	who := &p.who
	if p.cramped[o.inst] || slices.Contains(p.away, o.inst) {
		return false
	}
	if body.Limbs(slots&hands)&^who.Hands() != 0 || who.Refuses(o.inst) != nil {
		return false
	}
	if o.with.Count == 2 && who.FourMallets == score.Cannot {
		return false
	}
	if q.roll && who.OneHandRoll == score.Cannot && slots&hands != 0 && slots&hands != hands {
		w := wayFor(o.manner, o.limb, true)
		return w == nil || !motion.OneHandRoll(body.Limbs(slots&hands), w, true)
	}
	return true
}

// anyWould says whether somebody can and will play a passage in some way.
func (p *person) anyWould(q *passage) bool {
	for i := range q.options {
		o := &q.options[i]
		if slices.ContainsFunc(o.slots, func(sl uint8) bool { return p.can(q, o, sl) }) {
			return true
		}
	}
	return false
}

// prefer is what it costs to give an instrument to somebody while others like
// it more.
func (s *search) prefer(who *person, in *kit.Instrument) float64 {
	if len(s.likers) == 0 || who.who.Prefers(in) != nil {
		return 0
	}
	if slices.ContainsFunc(s.likers, func(p *person) bool { return p.who.Prefers(in) != nil }) {
		return s.weights.Line / 2
	}
	return 0
}

// noLimit is how many people may have an instrument of which no gear block
// speaks.
const noLimit = 1 << 20

// limitOf is how many people may have an instrument: as many as there are of
// it in a gear block. That one may be carried from one player to another is left
// to whoever writes the plan by hand.
func (p *piece) limitOf(in *kit.Instrument) int {
	if slices.Contains(p.joint, in) {
		return 2
	}
	g, shared := p.score.GearOf(in), slices.ContainsFunc(p.score.Shared, func(it *score.Item) bool { return it.Inst == in })
	if g != nil && (g.Count == 0 || !shared) {
		return g.Count
	}
	if n, ok := p.own[in]; ok && !shared {
		return n
	}
	return noLimit
}

// sharedBy are the passages that may be played on what everybody shares, of which
// there is one, by instrument and in the order of their times.
func sharedBy(p *piece) map[*kit.Instrument][]*passage {
	out := map[*kit.Instrument][]*passage{}
	things := slices.Clone(p.joint)
	for _, it := range p.score.Shared {
		things = append(things, it.Inst)
	}
	for _, in := range things {
		if out[in] != nil {
			continue
		}
		for _, q := range p.passages {
			if slices.ContainsFunc(q.options, func(o option) bool { return o.inst == in }) {
				out[in] = append(out[in], q)
			}
		}
		slices.SortStableFunc(out[in], func(a, b *passage) int { return cmp.Compare(a.t0, b.t0) })
	}
	return out
}

// elsewhere are the passages for which somebody else has what everybody shares while,
// or too shortly before or after, a player would have it for a passage.
func (s *search) elsewhere(q *passage, in *kit.Instrument, player int8, now func(o *passage) plays) (out []*passage) {
	all := s.common[in]
	at, _ := slices.BinarySearchFunc(all, q.t0-body.HandOver-s.longest, func(o *passage, t float64) int { return cmp.Compare(o.t0, t) })
	for _, o := range all[at:] {
		if o.t0 >= q.t1+body.HandOver {
			break
		}
		if pl := now(o); o != q && pl.player >= 0 && pl.player != player && o.t1 > q.t0-body.HandOver && o.options[pl.option].inst == in {
			out = append(out, o)
		}
	}
	return out
}

// spare says whether one more player may have an instrument.
func (s *search) spare(in *kit.Instrument, has func(player int) bool) bool {
	limit, known := s.limits[in]
	if !known || limit == noLimit {
		return true
	}
	n := 0
	for i := range s.people {
		if has(i) {
			n++
		}
	}
	return n < limit
}

// having are the players who have an instrument in a plan.
func (p *piece) having(all []plays, in *kit.Instrument) map[int8]bool {
	who := map[int8]bool{}
	for _, q := range p.passages {
		if pl := all[q.id]; pl.player >= 0 && q.options[max(0, pl.option)].inst == in {
			who[pl.player] = true
		}
	}
	return who
}

// mostLaidOut is how many ways in which somebody's things were laid out are remembered.
const mostLaidOut = 16

// A memory is how somebody's things were laid out before, and where places were found.
type memory struct {
	sync.Mutex
	laidOut []*score.Player
	places  map[sought][]foundPlace
}

// A sought is a thing that a place is looked for, by whom and where.
type sought struct {
	use              room.Use
	inst             *kit.Instrument
	mount            kit.Mount
	at               body.Point
	size, wide, deep float64
}

// A foundPlace is where that was among what stood already.
type foundPlace struct {
	among []room.Body
	at    room.Place
}

// mostSought is how many things are remembered that places were looked for.
const mostSought = 256

func (m *memory) place(what sought, among []room.Body) (room.Place, bool) {
	m.Lock()
	defer m.Unlock()
	for _, f := range m.places[what] {
		if slices.Equal(f.among, among) {
			return f.at, true
		}
	}
	return room.Place{}, false
}

func (m *memory) put(what sought, among []room.Body, at room.Place) {
	m.Lock()
	defer m.Unlock()
	if m.places == nil || len(m.places) >= mostSought {
		m.places = map[sought][]foundPlace{}
	}
	list := m.places[what]
	m.places[what] = append(list[max(0, len(list)-mostLaidOut+1):], foundPlace{slices.Clone(among), at})
}

// layOut lays a person's things out as a check does it, or as it was done before for the same.
func (p *person) layOut(as *score.Player, catalogue *kit.Catalogue) {
	p.Lock()
	before := p.laidOut
	p.Unlock()
	if as.LayOut(catalogue, before) {
		return
	}
	p.Lock()
	defer p.Unlock()
	p.laidOut = append(slices.Clone(p.laidOut[max(0, len(p.laidOut)-mostLaidOut+1):]), as)
}
