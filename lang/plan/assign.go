package plan

import (
	"cmp"
	"context"
	"math"
	"math/bits"
	"slices"

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
}

// A search gives passages to people, bar by bar, keeping the best few ways of
// having come so far.
type search struct {
	*piece
	people  []*person
	insts   map[*kit.Instrument]int
	width   int
	banned  map[ban]bool
	pairs   map[pair]bool
	stands  uint64                         // instruments that stand on the floor, as bits
	room    int                            // how many of them one player has room for
	limits  map[*kit.Instrument]int        // how many people may have each
	likers  []*person                      // who like something
	common  map[*kit.Instrument][]*passage // on what everybody shares
	longest float64                        // seconds of a passage
	counts  [][]int                        // while improving: passages by person and instrument
	total   float64                        // strokes
	// While a stretch is given away anew, what comes behind it is kept as it
	// is or lost.
	after []plays
	until int  // bar; 0 when everything is free
	twos  bool // those that need both hands come first
}

// A ban is what the judge has found impossible: a passage played so.
type ban struct {
	passage int
	plays   plays
}

// A pair is two passages that one player cannot play one after the other.
type pair struct {
	a, b *option
	who  int8
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
}

func newSearch(p *piece, people []*person, width int) *search {
	s := &search{piece: p, people: people, insts: map[*kit.Instrument]int{}, limits: map[*kit.Instrument]int{}, width: width, banned: map[ban]bool{}, pairs: map[pair]bool{}, room: 64}
	for _, who := range people {
		if len(who.who.Likes) > 0 {
			s.likers = append(s.likers, who)
		}
	}
	s.common = sharedBy(p)
	for _, q := range p.passages {
		s.longest = max(s.longest, q.t1-q.t0)
		s.total += float64(q.sounds)
		for i := range q.options {
			in := q.options[i].inst
			if _, ok := s.insts[in]; !ok {
				s.insts[in] = len(s.insts)
				s.limits[in] = p.limitOf(in)
			}
			if m := q.options[i].mount; m != kit.Held && m != kit.OnBody {
				s.stands |= 1 << (s.insts[in] % 64)
			}
		}
	}
	return s
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
func (s *search) again(all []plays, from, until, width int, twos bool) ([]plays, bool) {
	was := s.width
	s.width, s.after, s.until, s.twos = width, all, s.bars[until-1][0].bar, twos
	defer func() { s.width, s.after, s.until, s.twos = was, nil, 0, false }()
	end := min(until+tail, len(s.bars))
	beam := []*node{s.before(all, from, end)}
	for _, bar := range s.bars[from:end] {
		beam = s.bar(beam, bar)
	}
	out := slices.Clone(all)
	at := beam[0]
	old, now := 0.0, 0.0
	for b := end - 1; b >= from; b-- {
		for i, q := range s.bars[b] {
			if all[q.id].player < 0 {
				old += q.weight
			}
			if out[q.id] = at.picks[i]; at.picks[i].player < 0 {
				now += q.weight
			}
		}
		at = at.parent
	}
	return out, now < old-1e-9
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
	for _, q := range s.passages {
		if pl := all[q.id]; pl.player >= 0 {
			n.has[pl.player] |= s.bit(q, pl)
		}
	}
	for _, bar := range s.bars[:from] {
		n.picks = n.picks[:0]
		for _, q := range bar {
			pl := all[q.id]
			n.picks = append(n.picks, pl)
			if pl.player >= 0 {
				n.load[pl.player] += float64(q.sounds)
			}
		}
		n.settle(bar)
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
	open := make([]*node, len(beam))
	for i, n := range beam {
		open[i] = n.extend(len(bar))
	}
	var places []placing
	for _, at := range order {
		places = places[:0]
		for i, n := range open {
			places = s.place(places, i, n, bar, at)
		}
		slices.SortStableFunc(places, func(a, b placing) int { return cmp.Compare(a.cost, b.cost) })
		places = places[:min(len(places), s.width*2)]
		next := make([]*node, len(places))
		for i, pl := range places {
			next[i] = open[pl.from].with(at, pl, bar[at], s)
		}
		open = next
	}
	for _, n := range open {
		n.settle(bar)
	}
	slices.SortStableFunc(open, func(a, b *node) int { return cmp.Compare(a.cost, b.cost) })
	return s.distinct(open)
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

func (n *node) extend(passages int) *node {
	e := &node{parent: n, picks: make([]plays, passages), cost: n.cost, slots: n.slots, groups: n.groups, owner: n.owner, load: n.load, has: n.has}
	for i := range e.picks {
		e.picks[i] = plays{player: -2}
	}
	return e
}

// with is the node with one more passage given away.
func (n *node) with(at int, pl placing, q *passage, s *search) *node {
	e := *n
	e.picks = slices.Clone(n.picks)
	e.picks[at] = pl.plays
	e.cost = pl.cost
	if pl.plays.player >= 0 {
		for _, g := range q.groups {
			if n.groups[g] != pl.plays.player {
				e.groups = slices.Clone(e.groups)
				e.groups[g] = pl.plays.player
			}
		}
		e.load = slices.Clone(n.load)
		e.load[pl.plays.player] += float64(q.sounds)
		bit := s.bit(q, pl.plays)
		if e.has[pl.plays.player]&bit == 0 {
			e.has = slices.Clone(n.has)
			e.has[pl.plays.player] |= bit
		}
	}
	return &e
}

func (s *search) bit(q *passage, pl plays) uint64 {
	return 1 << (s.insts[q.options[pl.option].inst] % 64)
}

// settle notes what every slot did last and who has every line.
func (n *node) settle(bar []*passage) {
	n.slots, n.owner = slices.Clone(n.slots), slices.Clone(n.owner)
	ends := make([]float64, len(n.slots))
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

// place lists the ways of giving one passage of a bar away.
func (s *search) place(out []placing, from int, n *node, bar []*passage, at int) []placing {
	q := bar[at]
	if q.fixed {
		return append(out, placing{from, q.today, n.cost})
	}
	w := &s.weights
	lost := n.cost + w.Lost*q.weight
	if q.weight == 0 {
		lost += 1
	}
	if o := n.owner[q.track.index]; o.player >= 0 {
		lost += w.Line / 2
	}
	out = append(out, placing{from, nobody, lost})
	if s.until > 0 && q.bar > s.until {
		if pl := s.after[q.id]; pl.player >= 0 {
			if c, ok := s.price(n, bar, q, pl); ok {
				out = append(out, placing{from, pl, n.cost + c})
			}
		}
		return out
	}
	for pi := range s.people {
		for oi := range q.options {
			o := &q.options[oi]
			for _, sl := range o.slots {
				pl := plays{int8(pi), int8(oi), sl}
				if len(s.banned) > 0 && s.banned[ban{q.id, pl}] {
					continue
				}
				if c, ok := s.price(n, bar, q, pl); ok {
					out = append(out, placing{from, pl, n.cost + c})
				}
			}
		}
	}
	return out
}

// price says what it costs to play a passage so, and whether it can be.
func (s *search) price(n *node, bar []*passage, q *passage, pl plays) (float64, bool) {
	person := s.people[pl.player]
	o := &q.options[pl.option]
	if !person.can(q, o, pl.slots) || n.apart(q, pl.player) {
		return 0, false
	}
	if s.common[o.inst] != nil && len(s.elsewhere(q, o.inst, pl.player, func(other *passage) plays { return n.lately(bar, other) })) > 0 {
		return 0, false
	}
	cost, ok := s.hands(s.itself(person, o), n, bar, q, pl)
	if !ok {
		return 0, false
	}
	cost = s.goesOn(cost, n.owner[q.track.index], q.before(), q, pl, o)
	if cost, ok = s.gets(cost, n, s.bit(q, pl), o, pl.player); !ok {
		return 0, false
	}
	sum := 1.0
	for _, l := range n.load {
		sum += l
	}
	cost += s.weights.Even * float64(q.sounds) / max(1, s.total) * n.load[pl.player] / sum * float64(len(s.people))
	if q.today.player >= 0 && q.today != pl {
		cost += s.weights.Moved
	}
	return cost, true
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
func (s *search) itself(who *person, o *option) float64 {
	cost := s.weights.Sound*o.sound + s.prefer(who, o.inst)
	if o.loud {
		cost += s.weights.Loud
	}
	return cost
}

// hands adds what the player's slots have to do before and meanwhile.
func (s *search) hands(cost float64, n *node, bar []*passage, q *passage, pl plays) (float64, bool) {
	person, o := s.people[pl.player], &q.options[pl.option]
	for k := range slots {
		if pl.slots&(1<<k) == 0 {
			continue
		}
		last := n.slots[int(pl.player)*slots+k]
		if last.passage == nil {
			continue
		}
		c, ok := s.step(person, last.passage, &last.passage.options[last.option], q, o, 1<<k)
		if !ok {
			return 0, false
		}
		cost += c
	}
	for i, other := range n.picks {
		if other.player != pl.player || other.slots&pl.slots == 0 {
			continue
		}
		c, ok := s.weave(person, bar[i], &bar[i].options[other.option], q, o, other.slots&pl.slots)
		if !ok {
			return 0, false
		}
		cost += c
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
		if there.slots != pl.slots {
			cost += w.Hand
		}
		if beside != nil && beside.options[there.option].manner != o.manner {
			cost += w.Way
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
	if bit&s.stands != 0 && bits.OnesCount64(n.has[player]&s.stands) >= s.room || !s.spare(o.inst, func(i int) bool { return n.has[i]&bit != 0 }) {
		return 0, false
	}
	cost += s.another(o.inst, func(i int) bool { return i != int(player) && n.has[i]&bit != 0 })
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
		case in.Carry > kit.OnePerson:
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
	if beside != nil && abs(q.bar-beside.bar) <= 1 {
		return midway * s.weights.Line
	}
	return s.weights.Line
}

// midway is how much harder a line is to hand over in the middle than after a rest:
// judgement.
const midway = 4

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
	i := q.track.byBar[q.bar]
	if i == 0 {
		return nil
	}
	if prev := q.track.bars[i-1]; prev.track == q.track {
		return prev
	}
	return nil // played with another part's
}

// step is going from one passage to a later one with one hand.
func (s *search) step(who *person, a *passage, oa *option, b *passage, ob *option, slot uint8) (float64, bool) {
	if len(s.pairs) > 0 && s.pairs[pair{oa, ob, int8(who.at)}] {
		return 0, false
	}
	return s.gap(who, b.t0-a.t1, oa, ob, slot)
}

func (s *search) gap(who *person, seconds float64, oa, ob *option, slot uint8) (float64, bool) {
	if slot > left { // a foot or the mouth goes from one thing to another as it is
		return 0, seconds >= ob.rate(&who.profile)-1e-6
	}
	n := who.changer.between(oa.sig, ob.sig, slot)
	floor := who.changer.stock.least(&n.Pace)
	if oa.inst == ob.inst && ob.manner.limb != 0 {
		floor = min(floor, ob.rate(&who.profile))
	} else if oa.inst == ob.inst {
		floor = max(floor, ob.rate(&who.profile))
	}
	if seconds < floor-1e-6 {
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
	if len(s.pairs) > 0 && (s.pairs[pair{oa, ob, int8(who.at)}] || s.pairs[pair{ob, oa, int8(who.at)}]) {
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
	last, end := 0, math.Inf(-1) // which passage the hand played last: 1 or 2
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
				c, ok := s.gap(who, a.on[i]-end, ob, oa, slot)
				if !ok {
					return 0, false
				}
				worst = max(worst, c)
			}
			last, end = 1, max(end, a.off[i])
			i++
			continue
		}
		if last == 1 {
			c, ok := s.gap(who, b.on[j]-end, oa, ob, slot)
			if !ok {
				return 0, false
			}
			worst = max(worst, c)
		}
		last, end = 2, max(end, b.off[j])
		j++
	}
}

// takes says whether a hand plays a stroke of a passage.
func (o *option) takes(stroke int, hand uint8) bool {
	return o.split == nil || o.split[stroke] == hand
}
