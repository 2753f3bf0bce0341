package plan

import "example.org/handful/lang/kit"

// Rivals are what one player cannot play with different hands: two instruments at one
// moment, wherever that is, since both cannot be reached from one place; or two passages,
// since the body does not get from one to the other.
type rivals struct {
	who            int8
	a, b           *kit.Instrument
	from, to       *passage // nil: at any one moment
	slotsA, slotsB uint8
}

// inOneMoment are rivals at any moment.
func inOneMoment(a *passage, pa plays, b *passage, pb plays) rivals {
	return rivals{who: pb.player, a: a.options[pa.option].inst, b: b.options[pb.option].inst, slotsA: pa.slots, slotsB: pb.slots}
}

// fallOut notes that a player cannot play two passages beside one another, and says
// whether they are of different hands: what one hand has to do is known by what it needs.
func (s *search) fallOut(all []plays, a, b *passage) bool {
	pa, pb := all[a.id], all[b.id]
	if pa.player < 0 || pa.player != pb.player || pa.slots&pb.slots != 0 || a.fixed && b.fixed {
		return false
	}
	one, other := inOneMoment(a, pa, b, pb), inOneMoment(b, pb, a, pa)
	if !clash(a, b) {
		one.from, one.to, other.from, other.to = a, b, b, a
	}
	s.rivals[one], s.rivals[other] = true, true
	return true
}

// out says whether two passages, which one player has, are rivals.
func (s *search) out(a *passage, pa plays, b *passage, pb plays) bool {
	if pa.slots&pb.slots != 0 {
		return false
	}
	r := inOneMoment(a, pa, b, pb)
	if s.rivals[r] && clash(a, b) {
		return true
	}
	r.from, r.to = a, b
	return s.rivals[r]
}

// outWith says whether a way of playing a passage has a rival among what the player does
// in the same bar, or did last.
func (s *search) outWith(n *node, v *offering, m *move) bool {
	for i, other := range n.picks {
		if other.player == m.player && s.out(v.bar[i], other, v.q, m.plays) {
			return true
		}
	}
	for k := range slots {
		last := &n.slots[int(m.player)*slots+k]
		if last.passage == nil || m.slots&(1<<k) != 0 {
			continue
		}
		pl := plays{m.player, last.option, 1 << k}
		if o := &last.passage.options[last.option]; len(o.slots) == 1 {
			pl.slots = o.slots[0]
		}
		if s.out(last.passage, pl, v.q, m.plays) {
			return true
		}
	}
	return false
}

// rivalsNear is how many bars to either side are looked at for rivals.
const rivalsNear = 2

// rivalry finds the rivals of a meeting.
func (m *meeting) rivalry(at int) {
	for _, bar := range m.bars[max(0, at-rivalsNear):min(len(m.bars), at+rivalsNear+1)] {
		for _, other := range bar {
			if p := m.all[other.id]; other != m.q && p.player == m.pl.player && m.out(other, p, m.q, m.pl) {
				m.weigh(0, false, other)
			}
		}
	}
}
