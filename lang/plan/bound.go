package plan

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strings"

	"handful/lang/kit"
)

// A bounder says what must be lost whoever plays what: in every few bars the
// lightest set of lines without which the others can share the hands there
// are. It knows the implements and the least times of changing them, but
// nothing of what hands hold before and after or where things stand, so that
// every plan loses at least as much.
type bounder struct {
	people  int
	hands   []int    // of each of them, most first
	all     int      // hands together
	changer *changer // of the quickest
	stock   *stock
	floors  map[[2]int]float64 // by tracks
	grips   map[int][]manner
	known   map[string]float64
	bins    [][]int // what each hand has, while searching
	best    float64
	nodes   int
}

// maxNodes bounds the search in one window of bars; beyond, a weaker bound
// that needs none takes its place.
const maxNodes = 20_000

func newBounder(people []*person, c *changer, k *stock) *bounder {
	b := &bounder{people: len(people), changer: c, stock: k, floors: map[[2]int]float64{}, grips: map[int][]manner{}, known: map[string]float64{}}
	for _, p := range people {
		n := bits.OnesCount8(p.who.Hands())
		b.hands = append(b.hands, n)
		b.all += n
	}
	slices.SortFunc(b.hands, func(m, n int) int { return n - m })
	return b
}

// floor is the least time, in seconds, in which one hand gets from a stroke of
// one line to one of another, whatever it holds and wherever things stand, but
// for two instruments in one place.
func (b *bounder) floor(p, q *track) float64 {
	if p == q {
		return 0
	}
	if p.inst == q.inst || bodily(p.inst) || bodily(q.inst) {
		return 1e-3
	}
	key := [2]int{p.index, q.index}
	if f, ok := b.floors[key]; ok {
		return f
	}
	least := math.Inf(1)
	for _, m := range b.gripsOf(p) {
		for _, n := range b.gripsOf(q) {
			least = min(least, b.changer.quickest(m, n))
		}
	}
	if math.IsInf(least, 1) {
		least = 0
	}
	b.floors[key] = least
	return least
}

func (b *bounder) gripsOf(t *track) []manner {
	g, ok := b.grips[t.index]
	if !ok {
		g = b.stock.grips(t)
		b.grips[t.index] = g
	}
	return g
}

func bodily(in *kit.Instrument) bool {
	return slices.ContainsFunc(in.Ways, func(w *kit.Way) bool { return w.Mount == kit.OnBody })
}

// clash says whether no one hand can play both passages.
func (b *bounder) clash(p, q *passage) bool {
	if p.track == q.track {
		return false
	}
	there, back := b.floor(p.track, q.track), b.floor(q.track, p.track)
	if q.t0 >= p.t1+there || p.t0 >= q.t1+back {
		return false
	}
	for i := range p.on {
		if !p.strokes[i].Sounds() {
			continue
		}
		for k := range q.on {
			if q.strokes[k].Sounds() && q.on[k] < p.off[i]+there-1e-6 && p.on[i] < q.off[k]+back-1e-6 {
				return true
			}
		}
	}
	return false
}

// window is the least weight that must be lost in a few neighbouring bars.
func (b *bounder) window(bars [][]*passage) float64 {
	var list []*passage
	for _, bar := range bars {
		for _, q := range bar {
			if q.least > 0 && q.weight > 0 {
				list = append(list, q)
			}
		}
	}
	if len(list) == 0 || len(list) == 1 && len(b.hands) > 0 && b.hands[0] >= list[0].least {
		return 0
	}
	slices.SortStableFunc(list, func(p, q *passage) int { return cmp.Compare(q.weight, p.weight) })
	key := keyOf(list)
	if v, ok := b.known[key]; ok {
		return v
	}
	v := b.solve(list)
	b.known[key] = v
	return v
}

// keyOf is the same for bars that ask for the same.
func keyOf(list []*passage) string {
	var out []byte
	for _, q := range list {
		out = binary.AppendUvarint(out, uint64(q.track.index))
		out = binary.AppendUvarint(out, uint64(q.least))
		out = binary.AppendUvarint(out, math.Float64bits(q.weight))
		for i := range q.on {
			out = binary.AppendVarint(out, int64(math.Round((q.on[i]-list[0].t0)*1e6)))
			out = binary.AppendVarint(out, int64(math.Round((q.off[i]-q.on[i])*1e6)))
			out = append(out, byte(q.strokes[i].Flags))
		}
	}
	return string(out)
}

func (b *bounder) solve(list []*passage) float64 {
	n := len(list)
	clash := make([][]bool, n)
	for i := range clash {
		clash[i] = make([]bool, n)
		for j := range i {
			clash[i][j] = b.clash(list[i], list[j])
			clash[j][i] = clash[i][j]
		}
	}
	least := b.cliques(list, clash)
	b.bins = make([][]int, 2*b.people)
	b.best, b.nodes = math.Inf(1), 0
	b.fill(list, clash, 0, 0, least)
	if b.nodes > maxNodes {
		return least
	}
	return b.best
}

// fill gives the i-th line and those behind it to hands in every way that
// could be better than the best so far; alike empty hands are tried once.
func (b *bounder) fill(list []*passage, clash [][]bool, i int, lost, least float64) {
	if lost >= b.best-1e-9 || b.best <= least+1e-9 || b.nodes > maxNodes {
		return
	}
	b.nodes++
	if i == len(list) {
		b.best = lost
		return
	}
	free := func(bin int) bool {
		return !slices.ContainsFunc(b.bins[bin], func(j int) bool { return clash[i][j] })
	}
	empty := [3]bool{} // among those with as many hands
	for p, have := range b.hands {
		r, l := 2*p, 2*p+1
		fresh := len(b.bins[r]) == 0 && len(b.bins[l]) == 0
		if have == 0 || fresh && empty[have] {
			continue
		}
		empty[have] = empty[have] || fresh
		if list[i].least == 2 {
			if have == 2 && free(r) && free(l) {
				b.bins[r], b.bins[l] = append(b.bins[r], i), append(b.bins[l], i)
				b.fill(list, clash, i+1, lost, least)
				b.bins[r], b.bins[l] = b.bins[r][:len(b.bins[r])-1], b.bins[l][:len(b.bins[l])-1]
			}
			continue
		}
		for bin := r; bin < r+have; bin++ {
			if bin == l && slices.Equal(b.bins[r], b.bins[l]) || !free(bin) {
				continue
			}
			b.bins[bin] = append(b.bins[bin], i)
			b.fill(list, clash, i+1, lost, least)
			b.bins[bin] = b.bins[bin][:len(b.bins[bin])-1]
		}
	}
	b.fill(list, clash, i+1, lost+list[i].weight, least)
}

// cliques is a bound that needs no search: of lines that all clash with one
// another, those go that weigh least for a hand.
func (b *bounder) cliques(list []*passage, clash [][]bool) float64 {
	best := 0.0
	for i := range list {
		set := []int{i}
		for j := range list {
			if j != i && !slices.ContainsFunc(set, func(k int) bool { return !clash[j][k] }) {
				set = append(set, j)
			}
		}
		best = max(best, b.over(list, set))
	}
	return best
}

// over is the least weight that takes enough lines out of a set that needs
// more hands than there are; it may take part of one.
func (b *bounder) over(list []*passage, set []int) float64 {
	need := -b.all
	for _, j := range set {
		need += list[j].least
	}
	if need <= 0 {
		return 0
	}
	set = slices.Clone(set)
	each := func(j int) float64 { return list[j].weight / float64(list[j].least) }
	slices.SortStableFunc(set, func(i, j int) int { return cmp.Compare(each(i), each(j)) })
	lost := 0.0
	for _, j := range set {
		n := min(need, list[j].least)
		lost += each(j) * float64(n)
		if need -= n; need == 0 {
			break
		}
	}
	return lost
}

// reason names the moment of a bar that asks for most hands.
func (b *bounder) reason(p *piece, bar []*passage) Reason {
	var best Reason
	for _, q := range bar {
		for i := range q.on {
			if !q.strokes[i].Sounds() {
				continue
			}
			set := []*passage{q}
			for _, o := range bar {
				if o != q && o.least > 0 && o.soundsIn(q.on[i], q.on[i]+b.floor(q.track, o.track)) &&
					!slices.ContainsFunc(set, func(s *passage) bool { return !b.clash(s, o) }) {
					set = append(set, o)
				}
			}
			need := 0
			for _, s := range set {
				need += s.least
			}
			if q.least == 0 || need <= best.Hands {
				continue
			}
			_, count := p.score.Grid.Place(q.strokes[i].At)
			best = Reason{Bar: q.bar, Count: count.String(), Hands: need, Have: b.all}
			for _, s := range set {
				best.Lines = append(best.Lines, s.words())
			}
		}
	}
	best.Words = fmt.Sprintf("bar %d, count %s: %s at once want %d hands, and %s %d", best.Bar, best.Count, list(best.Lines), best.Hands, have(b.people), best.Have)
	if best.Hands <= best.Have {
		best.Words = fmt.Sprintf("bar %d: %s cannot be shared by %d hands, stroke by stroke", bar[0].bar, list(lineWords(bar)), b.all)
	}
	return best
}

func lineWords(bar []*passage) []string {
	var out []string
	for _, q := range bar {
		if q.least > 0 {
			out = append(out, q.words())
		}
	}
	return out
}

func have(players int) string {
	if players == 1 {
		return "one player has"
	}
	return fmt.Sprintf("%d players have", players)
}

// words names the line, and the hands it takes where that is more than one.
func (q *passage) words() string {
	name := "the " + q.track.inst.Name()
	if q.least == 2 {
		name += " (both hands)"
	}
	return name
}

func (q *passage) soundsIn(from, to float64) bool {
	for i := range q.on {
		if q.strokes[i].Sounds() && q.on[i] < to-1e-6 && max(q.off[i], q.on[i]+1e-6) > from {
			return true
		}
	}
	return false
}

func list(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
