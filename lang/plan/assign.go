package plan

import (
	"cmp"
	"context"
	"math"
	"math/bits"
	"slices"
	"sync"
	"sync/atomic"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// A person is one of those a plan is made for.
type person struct {
	name    string
	profile body.Profile
	who     score.Person
	changer *changer
	at      int
	cramped map[*kit.Instrument]bool // for which there is no room beside the rest
	stand   *sharedStand             // at what somebody else stands too
	away    []*kit.Instrument        // at what two others stand
	memory
}

// A search gives passages to people, bar by bar, keeping the best few ways of
// having come so far.
type search struct {
	*piece
	people  []*person
	insts   map[fixture]int
	things  []int                     // by manner: which of these it is, -1 where that was not asked for
	whole   map[*kit.Instrument][]int // of each instrument, however it is fixed
	width   int
	banned  map[ban]bool
	pairs   map[pair]bool
	rivals  map[rivals]bool
	stands  uint64                         // instruments that stand on the floor, as bits
	room    int                            // how many of them one player has room for
	limits  map[*kit.Instrument]int        // how many people may have each
	likers  []*person                      // who like something
	asRule  bool                           // nothing is fixed otherwise than as a rule
	listens bool                           // sound weighs as it does in the end
	adding  bool                           // what a plan costs is being added up, one passage after the other
	lastBar int                            // of a stretch that is being given away as a whole; 0 when there is none
	common  map[*kit.Instrument][]*passage // on what everybody shares
	longest float64                        // seconds of a passage
	counts  [][]int                        // while improving: passages by person and instrument
	total   float64                        // strokes
	// While a stretch is given away anew, what comes behind it is kept as it
	// is or lost.
	after []plays
	until int     // bar; 0 when everything is free
	twos  bool    // those that need both hands come first
	most  float64 // what may be lost meanwhile is less

	moves   []atomic.Pointer[[]move] // by passage: in which ways who can play it
	alike   *sync.Map                // the same of passages with the same ways
	stamp   stamp                    // of what they depend on
	barred  map[int]bool             // passages of which a ban speaks
	shelf   *shelf                   // of placings
	scratch *scratch
	laid    int                  // how often things have been laid out
	in      []float64            // by bar: what is lost there whoever plays what, summed up from the beginning
	barren  map[stretchOf]uint64 // stretches of which nothing better was found, and how they stood
}

// A move is a way in which somebody can play a passage.
type move struct {
	plays
	option *option
	itself float64 // what it costs by itself
	bit    uint64
}

// A stamp is what moves depend on and what changes while a plan is made.
type stamp struct {
	banned, cramped int
	asRule          bool
}

// A stretchOf is a stretch that has been given away anew.
type stretchOf struct {
	from, until, width int
	twos               bool
}

// A ban is what the judge has found impossible: a passage played so.
type ban struct {
	passage int
	plays   plays
}

// A pair is two passages that one player cannot play one after the other.
type pair struct {
	a, b choice
	who  int8
}

// A choice is a passage played in a way.
type choice struct {
	passage *passage
	option  *option
}

// A held is what a slot did last.
type held struct {
	passage *passage
	option  int8
}

// A node is one way of having come up to a bar.
type node struct {
	parent *node
	picks  []plays // of the bar's passages, in their order
	cost   float64
	lost   float64 // since a stretch began
	slots  []held  // four a person
	groups []int8  // by what stays with one person: who has it; -1 nobody yet
	owner  []plays // by track
	load   []float64
	has    []uint64 // by person: instruments, as bits; those beyond 64 share
}

// A placing is one passage given away in a node that is being filled.
type placing struct {
	from  int
	plays plays
	cost  float64
	seq   int
}

// A shelf holds the placings that cost least, of equals those that came first.
type shelf struct {
	room, came int
	list       []placing // a heap, the dearest on top
}

func (h *shelf) clear(room int) { h.room, h.came, h.list = room, 0, h.list[:0] }

// limit is what a placing costs at the most that finds room.
func (h *shelf) limit() float64 {
	if len(h.list) < h.room {
		return math.Inf(1)
	}
	return h.list[0].cost
}

func (a *placing) dearer(b *placing) bool {
	return a.cost > b.cost || a.cost == b.cost && a.seq > b.seq
}

func (h *shelf) put(from int, pl plays, cost float64) {
	p := placing{from, pl, cost, h.came}
	h.came++
	if len(h.list) < h.room {
		h.list = append(h.list, p)
		for i := len(h.list) - 1; i > 0; {
			up := (i - 1) / 2
			if !h.list[i].dearer(&h.list[up]) {
				break
			}
			h.list[i], h.list[up] = h.list[up], h.list[i]
			i = up
		}
		return
	}
	if cost >= h.list[0].cost {
		return
	}
	h.list[0] = p
	for i := 0; ; {
		worst := i
		for k := 2*i + 1; k <= 2*i+2 && k < len(h.list); k++ {
			if h.list[k].dearer(&h.list[worst]) {
				worst = k
			}
		}
		if worst == i {
			return
		}
		h.list[i], h.list[worst] = h.list[worst], h.list[i]
		i = worst
	}
}

// sorted are the placings, the cheapest first.
func (h *shelf) sorted() []placing {
	slices.SortFunc(h.list, func(a, b placing) int { return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.seq, b.seq)) })
	return h.list
}

func newSearch(p *piece, people []*person, width int) *search {
	s := &search{piece: p, people: people, insts: map[fixture]int{}, whole: map[*kit.Instrument][]int{}, limits: map[*kit.Instrument]int{}, width: width, banned: map[ban]bool{}, pairs: map[pair]bool{}, rivals: map[rivals]bool{}, room: 64}
	for _, who := range people {
		if len(who.who.Likes) > 0 {
			s.likers = append(s.likers, who)
		}
	}
	s.common = sharedBy(p)
	s.most = math.Inf(1)
	s.shelf, s.scratch = &shelf{}, &scratch{}
	s.barren = map[stretchOf]uint64{}
	for _, q := range p.passages {
		s.longest = max(s.longest, q.t1-q.t0)
		s.total += float64(q.sounds)
		for i := range q.options {
			o := &q.options[i]
			at := s.fixtureOf(o)
			for len(s.things) <= o.sig {
				s.things = append(s.things, -1)
			}
			s.things[o.sig] = at
			if m := o.mount; m != kit.Held && m != kit.OnBody {
				s.stands |= 1 << (at % 64)
			}
		}
	}
	return s
}

// A fixture is an instrument as one player has it: as it is fixed as a rule or held, or
// fixed otherwise, which is another thing to have.
type fixture struct {
	inst  *kit.Instrument
	mount kit.Mount // any, unless it is fixed otherwise
}

func (o *option) fixture() fixture {
	if o.otherwise {
		return fixture{o.inst, o.mount}
	}
	return fixture{inst: o.inst}
}

// fixtureOf is the number of what a player has who plays in a way.
func (s *search) fixtureOf(o *option) int {
	f := o.fixture()
	at, ok := s.insts[f]
	if !ok {
		at = len(s.insts)
		s.insts[f] = at
		s.whole[f.inst] = append(s.whole[f.inst], at)
		s.limits[f.inst] = s.limitOf(f.inst)
	}
	return at
}

// thing is the number of what a player has who plays in a way, of all that were looked for.
func (s *search) thing(o *option) int {
	if o.sig < len(s.things) && s.things[o.sig] >= 0 {
		return s.things[o.sig]
	}
	return s.insts[o.fixture()]
}

// wholeOf are the bits of an instrument, however it is fixed.
func (s *search) wholeOf(in *kit.Instrument) (all uint64) {
	for _, at := range s.whole[in] {
		all |= 1 << (at % 64)
	}
	return all
}

// have says whether somebody has an instrument, however it is fixed.
func (s *search) have(in *kit.Instrument, player int) bool {
	return slices.ContainsFunc(s.whole[in], func(at int) bool { return s.counts[player][at] > 0 })
}

// root is the beginning, with nothing given away.
func (s *search) root() *node {
	n := len(s.people)
	root := &node{slots: make([]held, n*slots), groups: slices.Repeat([]int8{-1}, len(s.groups)), owner: make([]plays, len(s.tracks)), load: make([]float64, n), has: make([]uint64, n)}
	for i := range root.owner {
		root.owner[i] = nobody
	}
	for g, list := range s.groups {
		for _, q := range list {
			if q.fixed && q.today.player >= 0 {
				root.groups[g] = q.today.player
			}
		}
	}
	return root
}

// run finds who plays what; it stops early, with what is left lost, when the
// context ends.
func (s *search) run(ctx context.Context, tell func(done int)) []plays {
	beam := []*node{s.root()}
	done := 0
	for _, bar := range s.bars {
		if ctx.Err() != nil {
			break
		}
		beam = s.bar(beam, bar)
		done++
		tell(done)
	}
	out := make([]plays, len(s.passages))
	for i := range out {
		out[i] = nobody
	}
	at := beam[0]
	for b := done - 1; b >= 0; b-- {
		for i, q := range s.bars[b] {
			out[q.id] = at.picks[i]
		}
		at = at.parent
	}
	return out
}

// tail is how many bars behind a stretch are looked at while it is given away
// anew: what is played there should still be possible.
const tail = 4

// again gives bars from to until (not included) away anew, between what is
// played before and behind them; it returns a new list where that loses less.
func (s *search) again(all []plays, what stretchOf) anew {
	from, until := what.from, what.until
	end := min(until+tail, len(s.bars))
	old := 0.0
	for _, bar := range s.bars[from:end] {
		for _, q := range bar {
			if all[q.id].player < 0 {
				old += q.weight
			}
		}
	}
	first := s.before(all, from, end)
	how := s.howItStands(all, first, from, end)
	if s.barren[what] == how || s.least(from, end) >= old-1e-9 {
		return anew{}
	}
	here := *s // a search of its own
	s = &here
	s.shelf, s.scratch = &shelf{}, &scratch{}
	s.width, s.after, s.until, s.twos, s.most = what.width, all, s.bars[until-1][0].bar, what.twos, old-1e-9
	beam := []*node{first}
	for i, bar := range s.bars[from:end] {
		s.most = old - 1e-9 - s.least(from+i+1, end)
		if beam = s.bar(beam, bar); len(beam) == 0 {
			return anew{barren: how}
		}
	}
	out := slices.Clone(all)
	at := beam[0]
	now := 0.0
	for b := end - 1; b >= from; b-- {
		for i, q := range s.bars[b] {
			if out[q.id] = at.picks[i]; at.picks[i].player < 0 {
				now += q.weight
			}
		}
		at = at.parent
	}
	if now >= old-1e-9 {
		return anew{barren: how}
	}
	return anew{all: out}
}

// An anew is what comes of giving a stretch away anew: a better plan, or how it stood when
// nothing better was found, or neither where that was known before.
type anew struct {
	all    []plays
	barren uint64
}

// least is what is lost in bars whoever plays what.
func (s *search) least(from, end int) float64 {
	if s.in == nil {
		return 0
	}
	return s.in[end] - s.in[from]
}

// howItStands is the same number where a stretch stands as it did, between the same: what
// is known against a plan only becomes more as long as nothing is laid out anew.
func (s *search) howItStands(all []plays, n *node, from, end int) uint64 {
	h := n.hash()
	mix := func(v uint64) { h = (h ^ v) * 1099511628211 }
	mix(uint64(s.laid))
	for _, has := range n.has {
		mix(has)
	}
	for _, bar := range s.bars[from:end] {
		for _, q := range bar {
			pl := all[q.id]
			mix(uint64(uint8(pl.player))<<16 | uint64(uint8(pl.option))<<8 | uint64(pl.slots))
		}
	}
	return h | 1
}

// before is the node that a plan has come to before a bar; what is given away from
// another one on stays as it is.
func (s *search) before(all []plays, from, end int) *node {
	n := s.root()
	for g, list := range s.groups {
		for _, q := range list {
			if pl := all[q.id]; pl.player >= 0 && (q.fixed || q.bar < s.bars[from][0].bar || q.bar > s.bars[end-1][0].bar) {
				n.groups[g] = pl.player
			}
		}
	}
	first := s.bars[from][0].bar
	for _, q := range s.passages {
		if pl := all[q.id]; pl.player >= 0 {
			n.has[pl.player] |= s.bit(q, pl)
			if q.bar < first {
				n.load[pl.player] += float64(q.sounds)
			}
		}
	}
	ends := make([]float64, len(n.slots))
	for _, bar := range s.bars[max(0, from-farthest):from] {
		n.picks = n.picks[:0]
		for _, q := range bar {
			n.picks = append(n.picks, all[q.id])
		}
		n.settle(bar, ends)
	}
	for _, t := range s.tracks { // who had a line last may have had it long before
		i, _ := slices.BinarySearchFunc(t.bars, first, func(q *passage, bar int) int { return q.bar - bar })
		for i--; i >= 0; i-- {
			if q := t.bars[i]; q.track == t {
				n.owner[t.index] = all[q.id]
				break
			}
		}
	}
	return n
}

// bar extends every node of the beam over one bar.
func (s *search) bar(beam []*node, bar []*passage) []*node {
	order := make([]int, len(bar))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		p, q := bar[a], bar[b]
		if s.twos {
			if c := cmp.Compare(q.least, p.least); c != 0 {
				return c
			}
		}
		return cmp.Or(cmp.Compare(b2i(q.fixed), b2i(p.fixed)), cmp.Compare(q.weight, p.weight))
	})
	side := 0
	open := s.scratch.open(side, beam, len(bar))
	s.refresh()
	clashes := make([]bool, len(bar))
	for _, at := range order {
		var moves []move
		if !bar[at].fixed {
			moves = s.movesOf(bar[at])
		}
		for i, o := range bar {
			clashes[i] = i != at && clash(o, bar[at])
		}
		s.shelf.clear(s.width * 2)
		for i, n := range open {
			s.place(i, n, bar, at, moves, clashes)
		}
		places := s.shelf.sorted()
		side = 1 - side
		next, nodes := s.scratch.of(side, len(places), len(bar), len(s.people))
		for i, pl := range places {
			picks, load := nodes[i].picks, nodes[i].load
			nodes[i] = *open[pl.from]
			nodes[i].picks, nodes[i].load = picks, load
			open[pl.from].with(&nodes[i], at, pl, bar[at], s)
		}
		open = next
	}
	for _, n := range beam { // of which only the picks are still looked at
		n.slots, n.groups, n.owner, n.load, n.has = nil, nil, nil, nil, nil
	}
	s.settle(open, bar)
	slices.SortStableFunc(open, func(a, b *node) int { return cmp.Compare(a.cost, b.cost) })
	return kept(s.distinct(open))
}

// A scratch is room for nodes that are no more once a bar has been given away: two sides of
// it, since the nodes of one passage are made of those of the passage before.
type scratch struct {
	nodes [2][]node
	at    [2][]*node
	picks [2][]plays
	loads [2][]float64
	held  []held
	owner []plays
}

// sized is a list with room for so many, the same room if there is enough; what is in it is
// of no meaning.
func sized[T any](room *[]T, n int) []T {
	if cap(*room) < n {
		*room = make([]T, n+n/2)
	}
	return (*room)[:n]
}

// of are so many nodes, with lists of their own of picks and loads.
func (r *scratch) of(side, n, passages, people int) ([]*node, []node) {
	nodes, at := sized(&r.nodes[side], n), sized(&r.at[side], n)
	picks, loads := sized(&r.picks[side], n*passages), sized(&r.loads[side], n*people)
	for i := range nodes {
		at[i] = &nodes[i]
		nodes[i].picks, picks = picks[:passages:passages], picks[passages:]
		nodes[i].load, loads = loads[:people:people], loads[people:]
	}
	return at, nodes
}

// open are the nodes that come behind others, with nothing of a bar given away yet.
func (r *scratch) open(side int, beam []*node, passages int) []*node {
	at, nodes := r.of(side, len(beam), passages, 0)
	for i, n := range beam {
		picks := nodes[i].picks
		for k := range picks {
			picks[k] = plays{player: -2}
		}
		nodes[i] = node{parent: n, picks: picks, cost: n.cost, lost: n.lost, slots: n.slots, groups: n.groups, owner: n.owner, load: n.load, has: n.has}
	}
	return at
}

// kept are nodes with room of their own.
func kept(list []*node) []*node {
	if len(list) == 0 {
		return nil
	}
	first := list[0]
	nodes := make([]node, len(list))
	picks, loads := make([]plays, 0, len(list)*len(first.picks)), make([]float64, 0, len(list)*len(first.load))
	slots, owners := make([]held, 0, len(list)*len(first.slots)), make([]plays, 0, len(list)*len(first.owner))
	for i, n := range list {
		nodes[i] = *n
		nodes[i].picks, picks = appended(picks, n.picks)
		nodes[i].load, loads = appended(loads, n.load)
		nodes[i].slots, slots = appended(slots, n.slots)
		nodes[i].owner, owners = appended(owners, n.owner)
		list[i] = &nodes[i]
	}
	return list
}

// appended is a copy of a list at the end of a longer one, and that one with it.
func appended[T any](to, list []T) (own, all []T) {
	all = append(to, list...)
	return all[len(to):len(all):len(all)], all
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// distinct keeps the best few nodes that are not alike in all that counts
// from here on.
func (s *search) distinct(open []*node) []*node {
	var out []*node
	seen := map[uint64][]*node{}
	for _, n := range open {
		h := n.hash()
		if slices.ContainsFunc(seen[h], func(o *node) bool {
			return slices.Equal(o.slots, n.slots) && slices.Equal(o.owner, n.owner) && slices.Equal(o.groups, n.groups)
		}) {
			continue
		}
		seen[h] = append(seen[h], n)
		if out = append(out, n); len(out) == s.width {
			break
		}
	}
	return out
}

func (n *node) hash() uint64 {
	h := uint64(14695981039346656037)
	mix := func(v uint64) { h = (h ^ v) * 1099511628211 }
	for _, s := range n.slots {
		if s.passage != nil {
			mix(uint64(s.passage.id)<<8 | uint64(s.option))
		}
		mix(7)
	}
	for _, g := range n.groups {
		mix(uint64(uint8(g)))
	}
	for _, o := range n.owner {
		mix(uint64(uint8(o.player))<<16 | uint64(uint8(o.option))<<8 | uint64(o.slots))
	}
	return h
}

// with makes of a copy the node with one more passage given away.
func (n *node) with(e *node, at int, pl placing, q *passage, s *search) {
	copy(e.picks, n.picks)
	e.picks[at] = pl.plays
	e.cost = pl.cost
	copy(e.load, n.load)
	if pl.plays.player < 0 {
		e.lost += q.weight
		return
	}
	for _, g := range q.groups {
		if n.groups[g] != pl.plays.player {
			e.groups = slices.Clone(e.groups)
			e.groups[g] = pl.plays.player
		}
	}
	e.load[pl.plays.player] += float64(q.sounds)
	bit := s.bit(q, pl.plays)
	if e.has[pl.plays.player]&bit == 0 {
		e.has = slices.Clone(n.has)
		e.has[pl.plays.player] |= bit
	}
}

// refresh forgets the ways in which people play passages, where more has become known
// against them.
func (s *search) refresh() {
	now := stamp{banned: len(s.banned), asRule: s.asRule}
	for _, who := range s.people {
		now.cramped += len(who.cramped)
	}
	if s.moves == nil || now != s.stamp {
		s.moves, s.stamp = make([]atomic.Pointer[[]move], len(s.passages)), now
		s.alike, s.barred = &sync.Map{}, map[int]bool{}
		for b := range s.banned {
			s.barred[b.passage] = true
		}
	}
}

// A likeness is what the moves of two passages have in common that have the same.
type likeness struct {
	first   *option
	options int
	listens bool
	laid    int // what somebody has no room for may be another then
}

// movesOf are the ways in which people can play a passage.
func (s *search) movesOf(q *passage) []move {
	if known := s.moves[q.id].Load(); known != nil {
		return *known
	}
	shared := len(q.options) > 0 && !q.roll && !s.barred[q.id] // what a roll costs is its own
	var like likeness
	if shared {
		like = likeness{&q.options[0], len(q.options), s.listens, s.laid}
		if known, ok := s.alike.Load(like); ok {
			s.moves[q.id].Store(known.(*[]move))
			return *known.(*[]move)
		}
	}
	out := s.movesAnew(q)
	if shared {
		s.alike.Store(like, &out)
	}
	s.moves[q.id].Store(&out)
	return out
}

func (s *search) movesAnew(q *passage) []move {
	out := []move{}
	for pi, who := range s.people {
		for oi := range q.options {
			o := &q.options[oi]
			if s.asRule && o.otherwise {
				continue
			}
			for _, sl := range o.slots {
				pl := plays{int8(pi), int8(oi), sl}
				if who.can(q, o, sl) && !(len(s.banned) > 0 && s.banned[ban{q.id, pl}]) {
					out = append(out, move{pl, o, s.itself(who, q, o), s.bit(q, pl)})
				}
			}
		}
	}
	return slices.Clip(out)
}

func (s *search) bit(q *passage, pl plays) uint64 {
	return 1 << (s.thing(&q.options[pl.option]) % 64)
}

// settle notes what every slot did last and who has every line.
func (s *search) settle(open []*node, bar []*passage) {
	if len(open) == 0 {
		return
	}
	many, lines := len(s.people)*slots, len(s.tracks)
	held, owner := sized(&s.scratch.held, len(open)*many), sized(&s.scratch.owner, len(open)*lines)
	ends := make([]float64, many)
	for _, n := range open {
		copy(held, n.slots)
		copy(owner, n.owner)
		n.slots, n.owner = held[:many:many], owner[:lines:lines]
		held, owner = held[many:], owner[lines:]
		n.settle(bar, ends)
	}
}

func (n *node) settle(bar []*passage, ends []float64) {
	for i, h := range n.slots {
		ends[i] = math.Inf(-1)
		if h.passage != nil {
			ends[i] = h.passage.t1
		}
	}
	for i, q := range bar {
		pl := n.picks[i]
		n.owner[q.track.index] = pl
		if pl.player < 0 {
			continue
		}
		for k := range slots {
			at := int(pl.player)*slots + k
			if pl.slots&(1<<k) != 0 && q.t1 >= ends[at] {
				n.slots[at], ends[at] = held{q, pl.option}, q.t1
			}
		}
	}
}

// place finds the ways of giving one passage of a bar away that cost least.
func (s *search) place(from int, n *node, bar []*passage, at int, moves []move, clashes []bool) {
	q := bar[at]
	if q.fixed {
		s.shelf.put(from, q.today, n.cost)
		return
	}
	w := &s.weights
	if n.lost+q.weight < s.most {
		lost := n.cost + w.Lost*q.weight
		if q.weight == 0 {
			lost += 1
		}
		if o := n.owner[q.track.index]; o.player >= 0 {
			lost += w.Line / 2
		}
		s.shelf.put(from, nobody, lost)
	}
	v := offering{node: n, bar: bar, q: q, before: q.before(), clashes: clashes}
	for _, l := range n.load {
		v.sum += l
	}
	v.sum++
	if s.until > 0 && q.bar > s.until {
		if pl := s.after[q.id]; pl.player >= 0 {
			o := &q.options[pl.option]
			if s.people[pl.player].can(q, o, pl.slots) {
				s.price(&v, from, &move{pl, o, s.itself(s.people[pl.player], q, o), s.bit(q, pl)})
			}
		}
		return
	}
	for i := range moves {
		s.price(&v, from, &moves[i])
	}
}

// nearly is by how much sums of costs may differ that are the same.
const nearly = 1e-3

// An offering is a passage that is being given away in a node.
type offering struct {
	*node
	bar     []*passage
	q       *passage
	before  *passage // of the same line
	clashes []bool   // by passage of the bar: whether no hand can play both
	sum     float64
}

// price puts a way of playing a passage on the shelf, if it can be and costs little enough.
func (s *search) price(v *offering, from int, m *move) {
	n, q := v.node, v.q
	limit := s.shelf.limit() - n.cost + nearly // nothing that is added below makes it less
	cost := s.goesOn(m.itself, n.owner[q.track.index], v.before, q, m.plays, m.option)
	if cost > limit || n.apart(q, m.player) {
		return
	}
	cost, ok := s.gets(cost, n, m.bit, m.option, m.player)
	cost += s.weights.Even * float64(q.sounds) / max(1, s.total) * n.load[m.player] / v.sum * float64(len(s.people))
	if q.today.player >= 0 && q.today != m.plays {
		cost += s.weights.Moved
	}
	if !ok || cost > limit {
		return
	}
	if len(s.rivals) > 0 && s.outWith(n, v, m) {
		return
	}
	for i, other := range n.picks {
		if v.clashes[i] && other.player == m.player && other.slots&m.slots != 0 && (other.slots|m.slots)&^hands == 0 && m.option.split == nil && v.bar[i].options[other.option].split == nil {
			return
		}
	}
	if s.common[m.option.inst] != nil && len(s.elsewhere(q, m.option.inst, m.player, func(other *passage) plays { return n.lately(v.bar, other) })) > 0 {
		return
	}
	if cost, ok = s.hands(cost, limit, n, v.bar, q, m); ok {
		s.shelf.put(from, m.plays, n.cost+cost)
	}
}

// apart says whether somebody else has some of what a passage is to stay with.
func (n *node) apart(q *passage, player int8) bool {
	for _, g := range q.groups {
		if have := n.groups[g]; have >= 0 && have != player {
			return true
		}
	}
	return false
}

// itself is what a way of playing costs by itself, for somebody.
func (s *search) itself(who *person, q *passage, o *option) float64 {
	cost := s.weights.Sound*o.sound + s.prefer(who, o.inst)
	if s.listens {
		cost += s.weights.Sound * (hearing*q.heard(o) - o.sound)
	}
	if o.loud {
		cost += s.weights.Loud
	}
	return cost
}

// hands adds what the player's slots have to do before and meanwhile; it gives up where
// that is above a limit.
func (s *search) hands(cost, limit float64, n *node, bar []*passage, q *passage, m *move) (float64, bool) {
	person, o := s.people[m.player], m.option
	for k := range slots {
		if m.slots&(1<<k) == 0 {
			continue
		}
		last := &n.slots[int(m.player)*slots+k]
		if last.passage == nil {
			continue
		}
		c, ok := s.step(person, last.passage, &last.passage.options[last.option], q, o, 1<<k)
		if cost += c; !ok || cost > limit {
			return 0, false
		}
	}
	for i, other := range n.picks {
		if other.player != m.player || other.slots&m.slots == 0 {
			continue
		}
		c, ok := s.weave(person, bar[i], &bar[i].options[other.option], q, o, other.slots&m.slots)
		if cost += c; !ok || cost > limit {
			return 0, false
		}
	}
	return cost, true
}

// goesOn adds what it costs that a line is played otherwise than in a bar
// beside: by somebody else, by another hand, or in another way.
func (s *search) goesOn(cost float64, there plays, beside, q *passage, pl plays, o *option) float64 {
	switch w := &s.weights; {
	case there.player < 0:
	case there.player != pl.player:
		cost += s.handOver(beside, q)
	default:
		if s.listens && beside != nil && abs(q.bar-beside.bar) <= 1 && (there.slots != pl.slots || beside.options[there.option].manner != o.manner) {
			cost += w.Change // rather after a rest
		}
		if there.slots != pl.slots {
			cost += w.Hand
		}
		if beside != nil && beside.options[there.option].manner != o.manner {
			cost += w.Way
			if was := beside.options[there.option].mount; s.listens && was != o.mount && abs(q.bar-beside.bar) <= refit {
				cost += midway * w.Line
			}
		}
	}
	return cost
}

// gets adds what it costs that a player gets an instrument, if it is a new one;
// there may be no spare one, or no room for it.
func (s *search) gets(cost float64, n *node, bit uint64, o *option, player int8) (float64, bool) {
	if n.has[player]&bit != 0 {
		return cost, true
	}
	all := s.wholeOf(o.inst)
	if n.has[player]&all != 0 { // fixed otherwise
		return 0, false
	}
	if bit&s.stands != 0 && bits.OnesCount64(n.has[player]&s.stands) >= s.room || !s.spare(o.inst, func(i int) bool { return n.has[i]&all != 0 }) {
		return 0, false
	}
	cost += s.another(o.inst, func(i int) bool { return i != int(player) && n.has[i]&all != 0 })
	return cost, true
}

// another is what it costs that one more person has an instrument: little where
// nobody has it, and most where a second one of what stands on the floor would be
// needed, which has to be found and carried.
func (s *search) another(in *kit.Instrument, has func(player int) bool) float64 {
	cost := s.weights.Instrument / 10
	for i := range s.people {
		switch {
		case !has(i):
		case s.common[in] != nil:
			return cost
		case hardToBring(in):
			return cost + borrowing*s.weights.Instrument
		case in.Stands() || in.Wide >= large:
			return cost + manyTimes*s.weights.Instrument
		default:
			return cost + s.weights.Instrument
		}
	}
	return cost
}

// handOver is what it costs that somebody else goes on with a line: more where it
// does not rest for a bar between the two passages.
func (s *search) handOver(beside, q *passage) float64 {
	cost := s.weights.Line
	if beside != nil && abs(q.bar-beside.bar) <= 1 {
		cost *= midway
		if s.listens { // whoever has a phrase plays it to the end, however good it sounds otherwise
			cost *= phrase
		}
	}
	return cost
}

// midway is how much harder a line is to hand over in the middle than after a rest:
// judgement.
const midway = 4

// phrase is how much more a hand-over in the middle weighs once sound does: judgement.
const phrase = 12

// refit is for how many bars nobody takes a thing from its clamp or stand, or puts it back
// there, without a reason: judgement.
const refit = 3

// large is from what width, in cm, on a thing is not brought along twice.
const large = 50

// manyTimes is how much more a second instrument that stands on the floor costs than
// a second small one: judgement.
const manyTimes = 8

// borrowing is how much more a second one costs of what takes two people or wheels to
// bring: there is one of it, as a rule, and it is borrowed from somebody; judgement.
const borrowing = 40

// lately is who plays a passage of the bar that is being given away, or the one that
// its line had before.
func (n *node) lately(bar []*passage, q *passage) plays {
	if i := slices.Index(bar, q); i >= 0 {
		return n.picks[i]
	}
	at := slices.IndexFunc(bar, func(o *passage) bool { return o.track == q.track })
	if q.bar < bar[0].bar && (at < 0 || bar[at].before() == q) {
		if pl := n.owner[q.track.index]; pl.player >= 0 && int(pl.option) < len(q.options) {
			return pl
		}
	}
	return nobody
}

// before is the passage of the same line that comes before.
func (q *passage) before() *passage {
	if q.place == 0 {
		return nil
	}
	if prev := q.track.bars[q.place-1]; prev.track == q.track {
		return prev
	}
	return nil // played with another part's
}

// step is going from one passage to a later one with one hand.
func (s *search) step(who *person, a *passage, oa *option, b *passage, ob *option, slot uint8) (float64, bool) {
	if len(s.pairs) > 0 && s.pairs[pair{choice{a, oa}, choice{b, ob}, int8(who.at)}] {
		return 0, false
	}
	return s.gap(who, b.t0-a.t1, a.letGo, oa, ob, slot)
}

// gap is going from one thing to another in so many seconds, and some more if what was
// played may be let go of early.
func (s *search) gap(who *person, seconds, early float64, oa, ob *option, slot uint8) (float64, bool) {
	if slot > left { // a foot or the mouth goes from one thing to another as it is
		return 0, seconds+early >= ob.rate(who)-1e-6
	}
	soonest := 0.0 // however near things are
	if oa.inst != ob.inst {
		soonest = who.changer.same
	}
	if seconds+early < soonest-1e-6 {
		return 0, false
	}
	n := who.changer.between(oa.sig, ob.sig, slot)
	floor := who.changer.stock.least(&n.Pace)
	if oa.inst == ob.inst && ob.manner.limb != 0 {
		floor = min(floor, ob.rate(who))
	} else if oa.inst == ob.inst {
		floor = max(floor, ob.rate(who))
	}
	if seconds+early < floor-1e-6 {
		return 0, false
	}
	cost := 0.0
	if n.moves {
		cost += s.weights.Change
	}
	if oa.inst != ob.inst {
		cost += s.weights.Place
	}
	if seconds < n.Steady && (n.moves || oa.inst != ob.inst) {
		cost += s.weights.Tight
	}
	return cost, true
}

// weave is playing two passages of one bar with the same hands, stroke by
// stroke as they come.
func (s *search) weave(who *person, a *passage, oa *option, b *passage, ob *option, shared uint8) (float64, bool) {
	if len(s.pairs) > 0 && (s.pairs[pair{choice{a, oa}, choice{b, ob}, int8(who.at)}] || s.pairs[pair{choice{b, ob}, choice{a, oa}, int8(who.at)}]) {
		return 0, false
	}
	cost := 0.0
	for k := range slots {
		if shared&(1<<k) == 0 {
			continue
		}
		c, ok := s.weaveOne(who, a, oa, b, ob, 1<<k)
		if !ok {
			return 0, false
		}
		cost += c
	}
	return cost, true
}

func (s *search) weaveOne(who *person, a *passage, oa *option, b *passage, ob *option, slot uint8) (float64, bool) {
	i, j := 0, 0
	var worst float64
	last, end, early := 0, math.Inf(-1), 0.0 // which passage the hand played last: 1 or 2
	played := func(p int, q *passage, stroke int) {
		if last = p; q.off[stroke] >= end {
			end, early = q.off[stroke], q.early[stroke]
		}
	}
	for {
		for i < len(a.on) && !oa.takes(i, slot) {
			i++
		}
		for j < len(b.on) && !ob.takes(j, slot) {
			j++
		}
		if i >= len(a.on) && j >= len(b.on) {
			return worst, true
		}
		if j >= len(b.on) || i < len(a.on) && a.on[i] <= b.on[j] {
			if last == 2 {
				c, ok := s.gap(who, a.on[i]-end, early, ob, oa, slot)
				if !ok {
					return 0, false
				}
				worst = max(worst, c)
			}
			played(1, a, i)
			i++
			continue
		}
		if last == 1 {
			c, ok := s.gap(who, b.on[j]-end, early, oa, ob, slot)
			if !ok {
				return 0, false
			}
			worst = max(worst, c)
		}
		played(2, b, j)
		j++
	}
}

// takes says whether a hand plays a stroke of a passage.
func (o *option) takes(stroke int, hand uint8) bool {
	return o.split == nil || o.split[stroke] == hand
}
