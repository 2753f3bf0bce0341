package motion

import (
	"slices"
	"sync"

	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
)

// What is found of a stroke's rates hangs on so many strokes before it: of its limb, and of
// two limbs on its instrument. So a scan goes on from the one before an edit: it looks at
// strokes that are others, at those behind them that they are counted with, and takes all else
// over. What was asked of each event is kept for that, and no more is looked at than whether it
// is the same.

// asked is what a scan asks of an event besides its time.
type asked struct {
	kind  uint16 // of cueKind; of a stroke that is dropped its item and 1
	limbs body.Limbs
	grace uint8
}

// counts says whether the event is a stroke that is judged.
func (a asked) counts() bool { return a.kind != 0 && a.limbs&droppedBit == 0 }

// A kindTable numbers what strokes are judged by, from 1 on.
type kindTable struct {
	list  []*cueKind
	moves map[kindKey]*moveKind
	byKey map[placedKind]*cueKind
}

type placedKind struct {
	key  kindKey
	item int
}

// fewKinds is for how many kinds there is room at first.
const fewKinds = 8

// tooManyKinds is how many kinds there may be of which most may be nobody's any more.
const tooManyKinds = 1 << 10

// kindsFor is an empty table, in the maps that the room has for it. How limbs move is the same of
// whoever is as quick.
func (r *rateRoom) kindsFor(p *body.Profile, was *rated) kindTable {
	if r.mover != *p || len(r.moves) > tooManyKinds {
		clear(r.moves)
		r.mover = *p
	}
	t := kindTable{list: append(make([]*cueKind, 0, fewKinds), nil), moves: r.moves, byKey: r.byKey}
	if was == nil {
		return t
	}
	for _, k := range was.kinds[1:] {
		t.list = append(t.list, k)
		t.moves[k.key], t.byKey[placedKind{k.key, k.item}] = k.moveKind, k
	}
	return t
}

// of is the kind of strokes on an item by limbs that move in a way.
func (t *kindTable) of(key kindKey, item int, p *body.Profile) *cueKind {
	k := t.byKey[placedKind{key, item}]
	if k == nil {
		move := t.moves[key]
		if move == nil {
			move = makeKind(p, key)
			t.moves[key] = move
		}
		k = &cueKind{move, key, item, uint16(len(t.list))}
		t.list, t.byKey[placedKind{key, item}] = append(t.list, k), k
	}
	return k
}

// rated is what is kept of a scan.
type rated struct {
	player       *score.Player
	events       []Event
	asked        []asked
	status       []uint8
	kinds        []*cueKind
	list         []Rate
	ends         [tracks]int
	edge, cannot extreme
	idle         *sync.Pool // of rateRoom
}

// An extreme is the first rate that bears no clearly higher factor than the lowest, and the one that
// bears that.
type extreme struct{ first, last borne }

// sortedAgain takes over which strokes count and what they are judged by, where the path goes the
// same way. What plays what and with what in which hand is the same then, event by event.
func (s *rateScan) sortedAgain() bool {
	if s.res.course == nil || !s.res.course.sameWay || s.was == nil || !s.plain || len(s.was.asked) != len(s.res.Events) {
		return false
	}
	s.asked, s.kinds = s.was.asked, kindTable{list: s.was.kinds}
	s.status = make([]uint8, len(s.asked))
	most := 0
	for b := range s.lists {
		s.lists[b] = s.lists[b][:0]
	}
	for i, a := range s.asked {
		if !a.counts() {
			continue
		}
		for l := a.limbs; l != 0; l &= l - 1 {
			b := l.First()
			s.lists[b] = append(s.lists[b], int32(i))
		}
	}
	for _, list := range s.lists {
		most = max(most, len(list))
	}
	s.times = slices.Grow(s.times[:0], most)
	return true
}

// keep is what is kept of a scan, which no longer has it.
func (s *rateScan) keep() *rated {
	if len(s.kinds.list) > tooManyKinds {
		return nil
	}
	kept := &rated{
		player: s.res.Player, events: s.res.Events, asked: s.asked, status: s.status, kinds: s.kinds.list, list: s.list, ends: s.ends,
		edge: extreme{s.edge.first(), s.edge.last()}, cannot: extreme{s.cannot.first(), s.cannot.last()}, idle: s.idle,
	}
	s.asked, s.status = nil, nil // another scan has the room of this one
	return kept
}

// of is what is kept, of the same events in another result.
func (w *rated) of(p *score.Player, events []Event, list []Rate) *rated {
	if w == nil {
		return nil
	}
	now := *w
	now.player, now.events, now.list = p, events, list
	for _, b := range []*borne{&now.edge.first, &now.edge.last, &now.cannot.first, &now.cannot.last} {
		b.Rate.move(events, func(n int32) int32 { return n })
	}
	return &now
}

// move lets a rate be of other events, each by its number.
func (r *Rate) move(events []Event, to func(n int32) int32) {
	r.at = to(r.at)
	if r.From != nil {
		r.From = &events[to(r.From.index)]
	}
	if r.To != nil {
		r.To = &events[to(r.To.index)]
	}
}

// sameMaker says whether somebody strokes as the player did, with things of the same names.
func (w *rated) sameMaker(p *score.Player) bool {
	n := min(len(w.player.Items), len(p.Items))
	return w.player.Profile == p.Profile && slices.EqualFunc(w.player.Items[:n], p.Items[:n], func(x, y *score.Item) bool { return x.Name == y.Name })
}

// A going is what a scan that goes on knows of the events: those below the first and from the tail
// on are those of before, of which there were so many fewer.
type going struct {
	*rateScan
	first, tail, later int
	limbs              body.Limbs // that do something else
	near               [5]stretch // of each of these, the strokes that may come about otherwise, and the first behind others
	redone             [5]stretch // and those that are judged again
	turns              [len(pairs)]redoneTurns
}

// redoneTurns are the items on which two limbs are judged again, from which event on, and up to which
// on each.
type redoneTurns struct {
	from  int
	items []int32
	ends  []int32
}

// goOn judges what may be others than before, and takes over the rest. It is false where all is
// to be judged.
func (s *rateScan) goOn() bool {
	if s.was == nil || !s.plain {
		return false
	}
	g := going{rateScan: s}
	g.compare()
	if 2*(g.tail-g.first) > len(s.asked) {
		return false
	}
	s.edge.beside(&s.was.edge)
	s.cannot.beside(&s.was.cannot)
	g.takeRebounds()
	for b := range g.redone {
		if g.limbs>>b&1 != 0 {
			g.stretch(b)
			s.limb(b, g.redone[b])
		}
		s.ends[b] = len(s.list)
	}
	for k, pair := range pairs {
		s.track = handsTrack + k
		if g.limbs&pair != 0 {
			g.together(k, pair)
		}
		s.ends[s.track] = len(s.list)
	}
	if !g.join(&s.edge, &s.was.edge) || !g.join(&s.cannot, &s.was.cannot) {
		s.afresh()
		return false
	}
	g.takeRates()
	return true
}

// afresh forgets all that was judged, but not what comes by rebound, which is known.
func (s *rateScan) afresh() {
	s.list, s.edge, s.cannot, s.quiet = nil, nothingYet(), nothingYet(), false
}

// compare finds how far the events are those of before.
func (g *going) compare() {
	was, now := g.was, g.rateScan
	before, ev := was.events, now.res.Events
	least := min(len(ev), len(before))
	for g.first < least && was.asked[g.first] == now.asked[g.first] && before[g.first].T0 == ev[g.first].T0 {
		g.first++
	}
	g.later, g.tail = len(ev)-len(before), len(ev)
	for g.tail > g.first && g.tail-g.later > g.first && was.asked[g.tail-1-g.later] == now.asked[g.tail-1] && before[g.tail-1-g.later].T0 == ev[g.tail-1].T0 {
		g.tail--
	}
	for _, list := range [2][]asked{now.asked[g.first:g.tail], was.asked[g.first : g.tail-g.later]} {
		for _, a := range list {
			g.limbs |= a.limbs
		}
	}
}

// takeRebounds takes over how strokes come about, but for those near others.
func (g *going) takeRebounds() {
	copy(g.status, g.was.status[:g.first])
	copy(g.status[g.tail:], g.was.status[g.tail-g.later:])
	for b := range g.near {
		if g.limbs>>b&1 == 0 {
			continue
		}
		list := g.lists[b]
		first, tail := notBelow(list, g.first), notBelow(list, g.tail)
		w := stretch{from: max(0, first-reboundsBefore), to: min(tail+reboundsAfter, len(list))}
		w.judged = tail
		g.near[b] = w
		if body.Limbs(1)<<b != body.M {
			for _, at := range list[w.from:w.to] {
				g.status[at] &^= 3 << (2 * b)
			}
			g.rebounds(b, w.from, w.to)
		}
	}
}

// notBelow is the place of the first event in a list that is not below some.
func notBelow(list []int32, event int) int {
	n, _ := slices.BinarySearch(list, int32(event))
	return n
}

// moves says of a limb's stroke whether the limb moves for it alone.
func (g *going) moves(list []int32, i int) bool {
	ev := g.res.Events
	return i == 0 || ev[list[i]].T0 > ev[list[i-1]].T0+eps
}

// stretch finds which strokes of a limb are judged again: those near others, as many behind
// them as are counted with them, and the next one on everything that others are or were on; and how many
// before them are to be known.
func (g *going) stretch(b int) {
	list, near := g.lists[b], g.near[b]
	w := stretch{from: near.from, judged: near.from, to: near.judged}
	for n := 0; w.from > 0 && n <= body.Phrase+1; {
		if w.from--; g.moves(list, w.from) {
			n++
		}
	}
	open := g.others(1 << b)
	for n := 0; w.to < len(list) && (n <= body.Phrase || len(open) > 0); w.to++ {
		if w.to >= near.to && g.moves(list, w.to) {
			n++
		}
		if item := g.of(list[w.to]).item; len(open) > 0 {
			open = slices.DeleteFunc(open, func(it int32) bool { return int(it) == item })
		}
	}
	g.redone[b] = w
}

// others are the items on which limbs do something else, now or before.
func (g *going) others(limbs body.Limbs) (items []int32) {
	for _, list := range [2][]asked{g.asked[g.first:g.tail], g.was.asked[g.first : g.tail-g.later]} {
		items = g.itemsOf(list, limbs, items)
	}
	return items
}

// itemsOf adds the items of some events to others, each once.
func (g *going) itemsOf(list []asked, limbs body.Limbs, items []int32) []int32 {
	for _, a := range list {
		if a.limbs&limbs != 0 && a.counts() {
			if item := int32(g.kinds.list[a.kind].item); !slices.Contains(items, item) {
				items = append(items, item)
			}
		}
	}
	return items
}

// together judges again what two limbs do on the items on which something is another, or is
// near it.
func (g *going) together(k int, pair body.Limbs) {
	first, tail := g.first, g.tail
	for b := range (g.limbs & pair).Each() {
		list, w := g.lists[b], g.near[b]
		if w.from < w.to {
			first, tail = min(first, int(list[w.from])), max(tail, int(list[w.to-1])+1)
		}
	}
	p := &g.turns[k]
	p.from, p.items = first, g.itemsOf(g.asked[first:tail], pair, g.others(pair))
	items := g.fresh()
	for _, item := range p.items {
		items[item].stirred, items[item].end, items[item].seen = true, int32(len(g.asked)), -inf()
	}
	g.bothAgain(g.known(items, len(p.items), pair, first), first, tail, pair, items, len(p.items))
	for _, item := range p.items {
		p.ends = append(p.ends, items[item].end)
	}
}

// known is from which event on enough is known of what two limbs did on some items before an event.
func (g *going) known(items []onItem, many int, pair body.Limbs, event int) int {
	ev := g.res.Events
	for many > 0 && event > 0 {
		event--
		a := g.asked[event]
		if a.limbs&pair == 0 || !a.counts() {
			continue
		}
		on := &items[g.of(int32(event)).item]
		if !on.stirred || on.more > body.Phrase+2 {
			continue
		}
		if on.more == 0 || ev[event].T0 < on.seen-eps {
			if on.more++; on.more > body.Phrase+2 {
				many--
			}
		}
		on.seen = ev[event].T0
	}
	return event
}

// bothAgain goes through what two limbs do on some items, and judges it from an event on, until
// behind another one nothing is counted with what is others.
func (g *going) bothAgain(from, judged, tail int, pair body.Limbs, items []onItem, many int) {
	var last [5]int32
	for i := range items {
		items[i].more, items[i].seen = 0, -inf()
	}
	for i := from; i < len(g.asked) && many > 0; i++ {
		a := g.asked[i]
		limbs := a.limbs & pair
		if limbs == 0 {
			continue
		}
		if a.counts() {
			on := &items[g.of(int32(i)).item]
			if on.stirred && i >= tail && on.ends(int32(i), g.res.Events[i].T0) {
				many--
			}
			if on.stirred {
				on.seen, g.quiet = g.res.Events[i].T0, i < judged
				g.both(int32(i), on, limbs, pair, &last)
			}
		}
		for l := range limbs.Each() {
			last[l] = int32(i) + 1
		}
	}
	g.quiet = false
}

// ends says whether so many moments have gone by on an item that nothing is counted with what is
// others any more.
func (on *onItem) ends(at int32, t float64) bool {
	if t > on.seen+eps {
		on.more++
	}
	if on.more <= body.Phrase+2 {
		return false
	}
	on.stirred, on.end = false, at
	return true
}

// now is the number that an event of before has now; false is none.
func (g *going) now(at int32) (int32, bool) {
	switch n := int(at); {
	case n < g.first:
		return at, true
	case n >= g.tail-g.later:
		return int32(n + g.later), true
	}
	return 0, false
}

// stands says whether what was found on a track at an event of before stands.
func (g *going) stands(track int, at int32) bool {
	now, ok := g.now(at)
	if !ok {
		return false
	}
	if track < handsTrack {
		list, w := g.lists[track], g.redone[track]
		return g.limbs>>track&1 == 0 || int(now) < g.first && (w.judged == len(list) || now < list[w.judged]) || int(now) >= g.tail && w.to < len(list) && now >= list[w.to]
	}
	p := &g.turns[track-handsTrack]
	i := slices.Index(p.items, int32(g.was.kinds[g.was.asked[at].kind].item))
	return i < 0 || int(now) < p.from || now >= p.ends[i]
}

// beside says from where on a factor may be one of the lowest, beside those of before.
func (l *lowest) beside(was *extreme) { l.near = was.last.Factor * (2 - clearly) * (1 + hair) }

// join joins the lowest of what was judged again with that of before. It is false where that does
// not stand, or where others of before may be beside the lowest now.
func (g *going) join(l *lowest, was *extreme) bool {
	first, last := was.first, was.last
	if last.Rate.To == nil {
		return true // there was none
	}
	if !g.stands(first.track, first.Rate.at) || !g.stands(last.track, last.Rate.at) {
		return false
	}
	first.Rate.move(g.res.Events, g.moved)
	last.Rate.move(g.res.Events, g.moved)
	least := last
	if found := l.last(); found.Factor < least.Factor {
		least = found
	}
	above := least.Factor < first.Factor*clearly
	if above && least.Factor >= last.Factor*clearly {
		return false
	}
	l.forget(least.Factor)
	if !above && (len(l.found) == 0 || first.before(&l.found[0])) {
		l.found = append(l.found[:0], first)
	}
	l.found = append(l.found[:1], least)
	return true
}

// moved is the number that an event that stands has now.
func (g *going) moved(at int32) int32 {
	now, _ := g.now(at)
	return now
}

// takeRates lists the rates that stand among those that were found again.
func (g *going) takeRates() {
	was, found := g.was, g.list
	out := slices.Grow([]Rate(nil), len(was.list)+len(found))
	i, k := 0, 0
	for track := range tracks {
		for i < was.ends[track] || k < g.ends[track] {
			switch {
			case i < was.ends[track] && !g.stands(track, was.list[i].at):
				i++
			case k == g.ends[track] || i < was.ends[track] && g.moved(was.list[i].at) < found[k].at:
				out = append(out, was.list[i])
				out[len(out)-1].move(g.res.Events, g.moved)
				i++
			default:
				out = append(out, found[k])
				k++
			}
		}
		g.ends[track] = len(out)
	}
	g.list = out
}
