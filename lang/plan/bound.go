package plan

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
)

// A bounder says what must be lost whoever plays what, stroke by stroke: of
// strokes of which no hand can play two, and that want more hands than there
// are, the lightest. It knows the implements and the least times of changing
// them, but nothing of what hands hold before and after or where things stand,
// lets lines be shared out by the stroke and every roll be let go of at half its
// length, and one stroke be all that are written alike: every plan with the
// hardware that each thing usually needs loses at least as much.
type bounder struct {
	people  int
	twos    int      // of them have both hands
	all     int      // hands together
	changer *changer // of the quickest
	stock   *stock
	grips   map[voice][]manner
	known   map[string]*crowding
}

// A voice is what a line is written for.
type voice struct {
	inst *kit.Instrument
	name string
}

// A between is where the least time from one line to another is asked for, for somebody.
type between struct {
	from, to voice
	profile  body.Profile
}

func (t *track) voice() voice { return voice{t.inst, t.name} }

// A note is one written stroke.
type note struct {
	q       *passage
	at      int // of the passage's strokes
	on, off float64
	weight  float64
	least   int // hands
}

// A crowding is what one bar must lose, and the moment that asks for most.
type crowding struct {
	lost    float64
	most    float64
	notes   [][2]int // of that moment: the passage's place in the bar, and the stroke
	moments []moment // all of them
}

// A moment is strokes of which no hand can play two, and what must go of them.
type moment struct {
	lost  float64
	notes [][2]int
}

// longest bounds, in seconds, how far apart two strokes are that are looked at
// together, and mostNotes how many of one bar.
const (
	longest   = 4.0
	mostNotes = 400
)

func newBounder(people []*person, c *changer, k *stock) *bounder {
	b := &bounder{people: len(people), changer: c, stock: k, grips: map[voice][]manner{}, known: map[string]*crowding{}}
	for _, p := range people {
		n := p.who.Hands().Count()
		b.twos += n / 2
		b.all += n
	}
	return b
}

// floor is the least time, in seconds, in which one hand gets from a stroke of
// one line to one of another, whatever it holds and wherever things stand, but
// for two instruments in one place.
func (b *bounder) floor(p, q *track) float64 {
	if p.inst == q.inst || bodily(p.inst) || bodily(q.inst) {
		return 1e-3
	}
	key := between{p.voice(), q.voice(), b.changer.profile}
	if f, ok := b.stock.floors[key]; ok {
		return f
	}
	least := math.Inf(1)
	for _, alike := range [2]bool{true, false} { // nothing is quicker than to go over with what is in the hand
		for _, m := range b.gripsOf(p) {
			for _, n := range b.gripsOf(q) {
				if (m.with == n.with) == alike && least > b.changer.reach() {
					least = min(least, b.changer.quickest(m, n))
				}
			}
		}
	}
	if math.IsInf(least, 1) {
		least = 0
	}
	b.stock.floors[key] = least
	return least
}

func (b *bounder) gripsOf(t *track) []manner {
	g, ok := b.grips[t.voice()]
	if !ok {
		g = b.stock.grips(t)
		b.grips[t.voice()] = g
	}
	return g
}

func bodily(in *kit.Instrument) bool {
	return slices.ContainsFunc(in.Ways, func(w *kit.Way) bool { return w.Mount == kit.OnBody })
}

// apart says whether no one hand can play both strokes, the first of which does
// not begin after the other. What is written alike may be one stroke.
func (b *bounder) apart(m, n *note) bool {
	p, q := m.q.track, n.q.track
	switch {
	case p == q || p.name == q.name:
		return false
	case n.on < m.on+1e-6:
		return true
	}
	return n.on < m.off+b.floor(p, q)-1e-6
}

// notes are the strokes of a bar that take hands, in the order of their times.
func notes(bar []*passage, least func(q *passage, roll bool) int) []note {
	var out []note
	for _, q := range bar {
		if q.weight <= 0 {
			continue
		}
		for i := range q.on {
			n := note{q, i, q.on[i], q.on[i] + (q.off[i]-q.on[i])/2, q.weighs(i), least(q, q.strokes[i].Has(score.Roll))}
			if q.strokes[i].Sounds() && n.least > 0 {
				out = append(out, n)
			}
		}
	}
	slices.SortStableFunc(out, func(m, n note) int { return cmp.Compare(m.on, n.on) })
	return out
}

// crowding is the least weight that must be lost in a bar: of all ways of parting
// it into stretches of time, the one whose moments lose most. No stroke stands in
// two of them, so that what each must lose adds up.
func (b *bounder) crowding(bar []*passage) *crowding {
	all := notes(bar, b.stock.leastHands)
	if len(all) < 2 && (len(all) == 0 || all[0].least <= b.all) || len(all) > mostNotes {
		return &crowding{}
	}
	key := keyOf(bar)
	if c, ok := b.known[key]; ok {
		return c
	}
	best := make([]float64, len(all)+1)
	from := make([]int, len(all)+1)
	for i := range all {
		best[i+1], from[i+1] = best[i], i+1
		if i+1 < len(all) && all[i+1].on < all[i].on+1e-6 {
			continue // in the middle of what sounds at once
		}
		for k := i; k >= 0 && all[i].on-all[k].on < longest; k-- {
			if v := best[k] + b.over(all, b.together(all, k, i)); v > best[i+1]+1e-9 {
				best[i+1], from[i+1] = v, k
			}
		}
	}
	c := &crowding{lost: best[len(all)]}
	for i := len(all); i > 0; {
		k := from[i]
		if k == i {
			i--
			continue
		}
		if lost := best[i] - best[k]; lost > 1e-9 {
			m := moment{lost: lost}
			for _, at := range b.together(all, k, i-1) {
				m.notes = append(m.notes, [2]int{slices.Index(bar, all[at].q), all[at].at})
			}
			c.moments = append(c.moments, m)
			if lost > c.most-1e-9 { // of equals the first
				c.most, c.notes = lost, m.notes
			}
		}
		i = k
	}
	slices.Reverse(c.moments)
	b.known[key] = c
	return c
}

// together are strokes from one to another of which no hand can play two.
func (b *bounder) together(all []note, from, to int) []int {
	set := []int{from}
	for i := from + 1; i <= to; i++ {
		if !slices.ContainsFunc(set, func(k int) bool { return !b.apart(&all[k], &all[i]) }) {
			set = append(set, i)
		}
	}
	return set
}

// keyOf is the same for bars that ask for the same.
func keyOf(list []*passage) string {
	var out []byte
	for _, q := range list {
		out = binary.AppendUvarint(out, uint64(q.track.index))
		out = binary.AppendUvarint(out, math.Float64bits(q.weight))
		for i := range q.on {
			out = binary.AppendVarint(out, int64(math.Round((q.on[i]-list[0].t0)*1e6)))
			out = binary.AppendVarint(out, int64(math.Round((q.off[i]-q.on[i])*1e6)))
			out = binary.AppendUvarint(out, uint64(q.strokes[i].Flags))
		}
	}
	return string(out)
}

// over is the least weight that takes enough strokes out of those that are all
// apart, where they need more hands than there are, or more pairs of hands than
// there are people with two; it may take part of one.
func (b *bounder) over(all []note, set []int) float64 {
	least := func(have int, need func(n *note) int) float64 {
		over := -have
		var list []int
		for _, i := range set {
			if n := need(&all[i]); n > 0 {
				over += n
				list = append(list, i)
			}
		}
		each := func(i int) float64 { return all[i].weight / float64(need(&all[i])) }
		slices.SortStableFunc(list, func(i, j int) int { return cmp.Compare(each(i), each(j)) })
		lost := 0.0
		for _, i := range list {
			if over <= 0 {
				break
			}
			n := min(over, need(&all[i]))
			lost += each(i) * float64(n)
			over -= n
		}
		return lost
	}
	return max(least(b.all, func(n *note) int { return n.least }), least(b.twos, func(n *note) int { return n.least / 2 }))
}

// reason names the moment of a bar that asks for most hands.
func (b *bounder) reason(p *piece, bar []*passage) Reason {
	c := b.crowding(bar)
	best := Reason{Bar: bar[0].bar, Have: b.all, Weight: c.lost}
	var first, last string
	begin, end := 0.0, 0.0
	for i, at := range c.notes {
		q := bar[at[0]]
		_, count := p.score.Grid.Place(q.strokes[at[1]].At)
		if i == 0 {
			best.Count, first, begin = count.String(), count.String(), q.on[at[1]]
		}
		last, end = count.String(), q.on[at[1]]
		n := b.stock.leastHands(q, q.strokes[at[1]].Has(score.Roll))
		best.Hands += n
		name := "the " + q.track.inst.Name()
		if n == 2 {
			name += " (both hands" + b.stock.lacking(q, q.strokes[at[1]].Has(score.Roll)) + ")"
		}
		best.Lines = append(best.Lines, name)
	}
	when := fmt.Sprintf("bar %d, count %s: %s at once want", best.Bar, first, list(best.Lines))
	if last != first {
		when = fmt.Sprintf("bar %d, from count %s to %s: %s in %.2f s want", best.Bar, first, last, list(best.Lines), end-begin)
	}
	best.Words = fmt.Sprintf("%s %s, and %s %d", when, words.Count(best.Hands, "hand", "hands"), have(b.people), best.Have)
	return best
}

func have(players int) string {
	if players == 1 {
		return "one player has"
	}
	return fmt.Sprintf("%d players have", players)
}

func list(all []string) string {
	if len(all) < 2 {
		return strings.Join(all, "")
	}
	return strings.Join(all[:len(all)-1], ", ") + " and " + all[len(all)-1]
}
