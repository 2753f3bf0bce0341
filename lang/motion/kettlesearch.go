package motion

import (
	"math"
	"math/bits"
	"slices"

	"example.org/handful/lang/body"
)

// The search for which kettle has which note. It is a shortest path over what each
// kettle was struck with last. What was struck so long ago that the kettle might have
// been tuned at ease since is the same whenever that was, so that there are only so
// many situations, and a part twice as long takes twice as long.
//
// A situation is dropped when another one comes to no more whatever follows: when that
// is cheaper by at least what it could cost it more to go on as the dropped one would.
// Where all the kettles have been free for long, between two passages, a situation is
// never dearer than the cheapest by more than a retuning of each. So a passage in which
// everything can be tuned at ease is searched without what is in a hurry, which comes to
// more than that, and only where that finds nothing, with it: each time for more of
// a hurry. Whose kettles have all that is still to come in a passage only strikes them, and
// where that holds of all situations, nothing is searched up to its end. What is found costs
// the least that there is.

// A kettleAt is what a kettle was struck with last, by number and 1; 0 is not yet,
// and below 0 it is a key of MIDI, and 1, that there has been time to change
// since, so that it does not matter when that was.
type kettleAt int32

// A tuneState is what a situation cost. The hash tells situations apart; what each
// kettle was struck with last is in a list beside it.
type tuneState struct {
	hash uint64
	cost int64
}

// A tuneStep is the kettle of a note, from 0, or -1, and the situation before.
type tuneStep struct {
	back int16
	on   int8
}

// A tuneTry is a step that is looked at.
type tuneTry struct {
	tuneState
	tuneStep
}

// All situations are followed as long as there are no more than aNote for each note on
// the average, or atOnce at one. Parts for four kettles come to some five, now and then to
// hundreds at once. Where there are more, as for eight that reach an octave each and any
// note at any time, only the cheapest fewTunings are, of very many notes fewer, so that no
// more than mostWork are looked at; what is found there may be dearer than need be.
const (
	aNote        = 64
	atLeast      = 50_000
	atOnce       = 8_192
	fewTunings   = 96
	leastTunings = 16
	mostWork     = 40_000
)

// A tuneSearch is the search for one set.
type tuneSearch struct {
	*giver
	count    int // of kettles, with those that there might be more
	enough   bool
	costs    tunePrices
	within   tuneNeed // nothing that is more of a hurry is looked at
	bound    int64    // nor what costs as much
	most     int      // situations; 0 is all of them
	work     int      // the situations so far
	over     bool     // there were more than all may be
	now      []tuneState
	nowAt    []kettleAt // of each situation, each kettle
	nowNeed  []tuneNeed // likewise, what it needs for the present note
	was      []tuneState
	wasAt    []kettleAt
	next     []tuneTry
	reaching []reached      // the present note
	reachOf  [128][]reached // each note, once it has come up
	alone    bool           // the present note is, and no kettle of another one
	from     []tuneState    // at the beginning of a passage
	fromAt   []kettleAt
	first    int        // the passage's first note
	ahead    []noteSet  // of each of its notes
	steps    []tuneStep // of all notes
	ends     []int32    // of the steps of each note
	table    []tuneSlot // of next, by hash
	stamp    uint32     // of what is of the present note in the table
	shift    uint       // of a hash, to where it is in the table
	nth      []int64
	dropped  []bool
	weight   [mostKettles + mostMore]uint64 // of each kettle in a hash, as good as drawn
}

// A tuneSlot is one of next, and 1.
type tuneSlot struct {
	stamp uint32
	next  int32
}

// A tuneNeed is what there is to do for a note on a kettle.
type tuneNeed uint8

const (
	tuneNothing tuneNeed = iota // it has the note, or none yet
	tuneLongAgo                 // it does not matter when it was struck
	tuneWell
	tuneTightly
	tuneFastest
	tuneTooLate
	tuneNever // what it was struck with still sounds
)

// tunePrices are what those cost beside how far the note is from the middle; what
// is never done or nothing costs nothing.
type tunePrices [tuneNever + 1]int64

var pricesOfTuning = tunePrices{tuneWell: tuneOnce, tuneTightly: tuneOnce + tuneTight, tuneFastest: tuneOnce + tuneAtEdge, tuneTooLate: tuneOnce + tuneMissing, tuneNever: noKettle}

// A reached is a kettle that reaches the present note, and how far from its middle.
type reached struct {
	kettle int
	off    int64
}

func (g *giver) search(count int) *tuneSearch {
	l := &tuneSearch{giver: g, count: count, costs: pricesOfTuning}
	for i := range g.notes { // the times of an earlier search are not these
		g.notes[i].now = 0
	}
	for k := range l.weight {
		l.weight[k] = mixed(k)
	}
	l.sized(64)
	l.now, l.nowAt = append(l.now, tuneState{}), make([]kettleAt, count)
	return l
}

// enough says whether so many kettles would do, with time for each retuning. How many
// retunings there are, and how much time for each, makes no difference.
func (g *giver) enough(count int) bool {
	need := g.need
	defer func() { g.need = need }()
	g.need = body.Pace{Limit: need.Limit, Floor: need.Limit, Steady: need.Limit}
	for _, most := range [2]int{0, g.few()} {
		l := g.search(count)
		l.enough, l.costs = true, tunePrices{tuneTooLate: never}
		l.within, l.bound, l.most = tuneWell, math.MaxInt64, most
		l.settle(0)
		l.lookAhead(0, len(g.notes))
		ok := true
		for i := 0; i < len(g.notes) && ok; i++ {
			ok = l.after(i)
		}
		if ok || !l.over {
			return ok
		}
	}
	return false
}

// few is how many situations are followed where all would be too many.
func (g *giver) few() int { return min(max(mostWork/len(g.notes), leastTunings), fewTunings) }

// assign gives each note a kettle, from 0, or -1, and says what that costs.
func (g *giver) assign(count int) (on []int8, cost int64) {
	l := g.search(count)
	l.steps, l.ends = make([]tuneStep, 0, 2*len(g.notes)), make([]int32, len(g.notes))
	for first := 0; first < len(g.notes); {
		end := l.passage(first)
		l.through(first, end)
		first = end
	}
	best := cheapestOf(l.now)
	cost = l.now[best].cost
	on = make([]int8, len(g.notes))
	for i := len(g.notes) - 1; i >= 0; i-- {
		first := 0
		if i > 0 {
			first = int(l.ends[i-1])
		}
		step := &l.steps[first+best]
		on[i], best = step.on, int(step.back)
	}
	return on, cost
}

// through goes through a passage, at first without any hurry, and then with as much as it
// takes.
func (l *tuneSearch) through(first, end int) {
	l.from, l.fromAt = append(l.from[:0], l.now...), append(l.fromAt[:0], l.nowAt...)
	held := len(l.steps)
	l.bound, l.most, l.within = math.MaxInt64, 0, tuneWell
	for {
		found := l.run(first, end)
		if found && (l.within == tuneNever || l.settled(end)) {
			return
		}
		if l.within++; l.over || l.within > tuneNever {
			l.bound, l.most, l.within = math.MaxInt64, l.few(), tuneNever
		}
		l.now, l.nowAt = append(l.now[:0], l.from...), append(l.nowAt[:0], l.fromAt...)
		l.steps = l.steps[:held]
	}
}

func (l *tuneSearch) run(first, end int) bool {
	l.settle(first)
	l.lookAhead(first, end)
	for i := first; i < end; i++ {
		if l.allHave(i) {
			i = l.stayOn(i, end)
		} else if !l.after(i) {
			return false
		}
		l.taken(i)
	}
	return true
}

// taken takes the steps of a note down.
func (l *tuneSearch) taken(i int) {
	for j := range l.next {
		l.steps = append(l.steps, l.next[j].tuneStep)
	}
	l.ends[i] = int32(len(l.steps))
}

// A noteSet is a set of notes, by their keys of MIDI.
type noteSet [2]uint64

func (s *noteSet) add(semitone int32) { s[semitone>>6] |= 1 << (semitone & 63) }

// lookAhead lists for each note of a passage which notes are still to come in it, with
// the note itself.
func (l *tuneSearch) lookAhead(first, end int) {
	l.first = first
	l.ahead = slices.Grow(l.ahead[:0], end-first)[:end-first]
	var all noteSet
	for i := end - 1; i >= first; i-- {
		all.add(l.notes[i].semitone)
		l.ahead[i-first] = all
	}
}

// has says whether a situation has kettles with all that is still to come in the passage.
// Then there is no way that is cheaper, whatever follows, than to strike those to its end:
// whichever kettle is left with another note by another way was tuned for that, and so
// can it be after the passage, where there is time to, for no more than that cost.
func (l *tuneSearch) has(b, i int) bool {
	ahead := &l.ahead[i-l.first]
	var all noteSet
	for _, was := range l.nowAt[b*l.count : (b+1)*l.count] {
		if was != 0 {
			all.add(l.noteOf(was))
		}
	}
	return ahead[0]&^all[0] == 0 && ahead[1]&^all[1] == 0
}

func (l *tuneSearch) allHave(i int) bool {
	for b := range l.now {
		if !l.has(b, i) {
			return false
		}
	}
	return true
}

// stayOn goes to the end of a passage with the kettles as they are in each situation, and
// says what its last note is. All steps but those of that are taken down.
func (l *tuneSearch) stayOn(i, end int) (last int) {
	l.next = l.next[:0]
	for b := range l.now {
		l.next = append(l.next, tuneTry{l.now[b], tuneStep{back: int16(b)}})
	}
	for ; ; i++ {
		for b := range l.now {
			step, at := &l.next[b], l.nowAt[b*l.count:(b+1)*l.count]
			k := 0
			for at[k] == 0 || l.noteOf(at[k]) != l.notes[i].semitone {
				k++
			}
			step.on = int8(k)
			step.hash += uint64(kettleAt(i+1)-at[k]) * l.weight[k]
			at[k] = kettleAt(i + 1)
		}
		l.work += len(l.now)
		if i == end-1 {
			break
		}
		l.taken(i)
	}
	for b := range l.next {
		l.now[b] = l.next[b].tuneState
	}
	l.following(i)
	return i
}

// following makes ready for the note that follows on one.
func (l *tuneSearch) following(i int) {
	if i+1 < len(l.notes) {
		l.settle(i + 1)
		l.drop(i + 1)
	}
}

// passage is where that ends which begins with a note: before the next one until which
// each kettle has had the time to be tuned.
func (l *tuneSearch) passage(first int) int {
	last := int32(first) // that sounds longest
	for i := first + 1; i < len(l.notes); i++ {
		if l.notes[last].until <= l.notes[i].start-l.need.Steady && l.gap(last, int32(i)) >= l.need.Steady {
			return i
		}
		if l.notes[i].until >= l.notes[last].until {
			last = int32(i)
		}
	}
	return len(l.notes)
}

// settled says whether nothing that is more of a hurry could come to as little as what
// was found for a passage: it would have to cost less than that and a retuning of each
// kettle, which is what it could save later on. If not, that is a bound from now on.
func (l *tuneSearch) settled(end int) bool {
	top := l.now[cheapestOf(l.now)].cost + 1
	if end < len(l.notes) {
		for k := range l.count {
			off := int64(0)
			for _, o := range l.off[k] {
				off = max(off, o)
			}
			top += tuneOnce + off
		}
	}
	l.bound = min(l.bound, top)
	return l.from[cheapestOf(l.from)].cost+l.costs[l.within+1] >= top
}

func cheapestOf(list []tuneState) (best int) {
	for i := range list {
		if list[i].cost < list[best].cost {
			best = i
		}
	}
	return best
}

// after is what the situations become with one more note; false is that there are none.
func (l *tuneSearch) after(i int) bool {
	l.next = l.next[:0]
	if l.stamp++; l.stamp == 0 {
		clear(l.table)
		l.stamp = 1
	}
	l.reach(i)
	l.alone = !l.beside(i)
	for b := range l.now {
		l.strike(b, i)
	}
	if len(l.next) == 0 {
		return false
	}
	l.goOn(i)
	l.following(i)
	l.work += len(l.now)
	l.over = l.most == 0 && (len(l.now) > atOnce || l.work > max(atLeast, aNote*len(l.notes)))
	return !l.over
}

// by is what it comes to that a note is struck on a kettle.
func (l *tuneSearch) by(s *tuneState, at []kettleAt, r reached, need tuneNeed, b, i int) tuneTry {
	cost, was := s.cost, at[r.kettle]
	switch {
	case need > tuneNothing:
		cost += l.costs[need] + r.off
	case was == 0:
		cost += r.off
	}
	return tuneTry{tuneState{s.hash + uint64(kettleAt(i+1)-was)*l.weight[r.kettle], cost}, tuneStep{int16(b), int8(r.kettle)}}
}

// reach lists the kettles that reach a note.
func (l *tuneSearch) reach(i int) {
	semitone := l.notes[i].semitone
	if list := l.reachOf[semitone]; list != nil {
		l.reaching = list
		return
	}
	list := make([]reached, 0, l.count)
	for k := range l.count {
		if off := l.off[k][semitone]; off >= 0 {
			if l.enough {
				off = 0
			}
			list = append(list, reached{k, off})
		}
	}
	l.reachOf[semitone], l.reaching = list, list
}

// strike goes on from a situation by each kettle that may have the note.
func (l *tuneSearch) strike(b, i int) {
	s, at, needs := &l.now[b], l.nowAt[b*l.count:], l.nowNeed[b*l.count:]
	placed, stays := false, l.has(b, i)
	for _, r := range l.reaching {
		need := needs[r.kettle]
		if need == tuneNever || stays && (need > tuneNothing || at[r.kettle] == 0) {
			continue
		}
		if placed = true; need <= l.within {
			l.add(l.by(s, at, r, need, b, i))
		}
		if stays {
			return
		}
	}
	if l.within == tuneNever && (!placed || !l.alone) {
		l.add(tuneTry{tuneState{s.hash, s.cost + l.none(&l.notes[i])}, tuneStep{int16(b), -1}})
	}
}

// goOn makes situations of the steps, in their order.
func (l *tuneSearch) goOn(i int) {
	least, room := l.cheapest()
	l.now, l.was = l.was[:0], l.now
	l.nowAt, l.wasAt = l.wasAt[:0], l.nowAt
	kept := l.next[:0]
	for _, step := range l.next {
		if step.cost >= least {
			if step.cost > least || room == 0 {
				continue
			}
			room--
		}
		kept = append(kept, step)
		l.now = append(l.now, step.tuneState)
		l.nowAt = append(l.nowAt, l.wasAt[int(step.back)*l.count:(int(step.back)+1)*l.count]...)
		if step.on >= 0 {
			l.nowAt[len(l.nowAt)-l.count+int(step.on)] = kettleAt(i + 1)
		}
	}
	l.next = kept
}

// cheapest is up to which cost steps are kept, and how many of just that cost.
func (l *tuneSearch) cheapest() (least int64, room int) {
	if l.most == 0 || len(l.next) <= l.most {
		return math.MaxInt64, 0
	}
	l.nth = l.nth[:0]
	for i := range l.next {
		l.nth = append(l.nth, l.next[i].cost)
	}
	least, room = nth(l.nth, l.most), l.most
	for i := range l.next {
		if l.next[i].cost < least {
			room--
		}
	}
	return least, room
}

// nth is what is the n-th of a list, from 0, once that is in order.
func nth(list []int64, n int) int64 {
	for len(list) > 1 {
		pivot := list[len(list)/2]
		i, j := 0, len(list)-1
		for i <= j {
			for list[i] < pivot {
				i++
			}
			for list[j] > pivot {
				j--
			}
			if i <= j {
				list[i], list[j] = list[j], list[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case n <= j:
			list = list[:j+1]
		case n >= i:
			list, n = list[i:], n-i
		default:
			return list[n]
		}
	}
	return list[0]
}

// mixed is a number for a kettle, as good as drawn.
func mixed(k int) uint64 {
	x := uint64(k+1) * 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31 | 1
}

// sized makes a table for so many, a power of two.
func (l *tuneSearch) sized(n int) {
	l.table, l.shift, l.stamp = make([]tuneSlot, n), uint(64-bits.TrailingZeros(uint(n))), 1
}

// add keeps a step, where there is none as cheap to the same situation.
func (l *tuneSearch) add(s tuneTry) {
	if s.cost >= l.bound {
		return
	}
	if 2*len(l.next) >= len(l.table) {
		l.sized(4 * len(l.table))
		for j := range l.next {
			slot, _ := l.slot(l.next[j].hash)
			*slot = tuneSlot{l.stamp, int32(j + 1)}
		}
	}
	slot, had := l.slot(s.hash)
	switch {
	case !had:
		l.next = append(l.next, s)
		*slot = tuneSlot{l.stamp, int32(len(l.next))}
	case s.cost < l.next[slot.next-1].cost:
		l.next[slot.next-1] = s
	}
}

// slot is where the step to a situation is in the table, or is to be.
func (l *tuneSearch) slot(hash uint64) (slot *tuneSlot, had bool) {
	for at := int(hash >> l.shift); ; at = (at + 1) & (len(l.table) - 1) {
		slot = &l.table[at]
		switch {
		case slot.stamp != l.stamp:
			return slot, false
		case l.next[slot.next-1].hash == hash:
			return slot, true
		}
	}
}

// settle forgets when kettles were struck that might long have been retuned. It
// says what each needs for the present note.
func (l *tuneSearch) settle(i int) {
	semitone := l.notes[i].semitone
	l.nowNeed = slices.Grow(l.nowNeed[:0], len(l.nowAt))[:len(l.nowAt)]
	for j, was := range l.nowAt {
		need := tuneNothing
		switch {
		case was > 0:
			one := &l.notes[was-1]
			if one.now != int32(i+1) {
				l.needs(int32(was-1), int32(i))
			}
			if need = one.tuneNeed; need == tuneLongAgo {
				need = l.forget(j, semitone)
			} else if one.semitone == semitone {
				need = tuneNothing
			}
		case was < 0 && int32(-was-1) != semitone:
			need = tuneWell
		}
		l.nowNeed[j] = need
	}
}

// forget forgets when a kettle of a situation was struck, and says what it needs.
func (l *tuneSearch) forget(j int, semitone int32) tuneNeed {
	was := l.nowAt[j]
	now := -kettleAt(l.notes[was-1].semitone) - 1
	if l.enough { // whatever it was struck with
		now = 0
	}
	l.nowAt[j] = now
	l.now[j/l.count].hash += uint64(now-was) * l.weight[j%l.count]
	if now < 0 && int32(-now-1) != semitone {
		return tuneWell
	}
	return tuneNothing
}

// mostDropping is with how many of the cheapest situations each other one is compared.
const mostDropping = 6

// drop leaves out the situations that another one is as good as, whatever follows from a
// note on.
func (l *tuneSearch) drop(i int) {
	if len(l.now) < 2 {
		return
	}
	var room [mostDropping]int
	first := room[:0] // the cheapest, in order
	for b := range l.now {
		cost := l.now[b].cost
		if len(first) == mostDropping && cost >= l.now[first[len(first)-1]].cost {
			continue
		}
		if len(first) < mostDropping {
			first = append(first, b)
		}
		k := len(first) - 1
		for ; k > 0 && l.now[first[k-1]].cost > cost; k-- {
			first[k] = first[k-1]
		}
		first[k] = b
	}
	l.dropped = slices.Grow(l.dropped[:0], len(l.now))[:len(l.now)]
	clear(l.dropped)
	none := true
	for b := range l.now {
		if l.dropped[b] = l.beaten(b, first, i); l.dropped[b] {
			none = false
		}
	}
	if none {
		return
	}
	out, n := 0, l.count
	for b := range l.now {
		if !l.dropped[b] {
			l.now[out], l.next[out] = l.now[b], l.next[b]
			copy(l.nowAt[out*n:(out+1)*n], l.nowAt[b*n:(b+1)*n])
			copy(l.nowNeed[out*n:(out+1)*n], l.nowNeed[b*n:(b+1)*n])
			out++
		}
	}
	l.now, l.next, l.nowAt, l.nowNeed = l.now[:out], l.next[:out], l.nowAt[:out*n], l.nowNeed[:out*n]
}

// beaten says whether one of some situations is as good as another one, whatever follows.
func (l *tuneSearch) beaten(b int, by []int, i int) bool {
	at := l.nowAt[b*l.count : (b+1)*l.count]
	for _, a := range by {
		left := l.now[b].cost - l.now[a].cost
		if left < 0 {
			return false
		}
		if a == b || l.dropped[a] {
			continue
		}
		other := l.nowAt[a*l.count:][:len(at)]
		for k, was := range at {
			if other[k] == was { // as nearly always
				continue
			}
			if left -= l.excess(k, other[k], was, i); left < 0 {
				break
			}
		}
		if left >= 0 {
			return true
		}
	}
	return false
}

// excess is the most that it may cost to strike a kettle as it would be struck if it had
// been struck otherwise last, beyond what it costs then. That it is struck a first time
// makes the two alike, so it may come up once.
func (l *tuneSearch) excess(k int, a, b kettleAt, i int) int64 {
	if a == b || l.enough && a == 0 {
		return 0
	}
	same := b != 0 && l.noteOf(a) == l.noteOf(b)
	off := int64(0) // of what only the other one has
	if b != 0 && !same && !l.enough {
		off = l.off[k][l.noteOf(b)]
	}
	switch {
	case a == 0:
		return off
	case a < 0 && same, b > 0 && a < b && same && l.notes[a-1].until <= l.notes[b-1].until:
		return 0
	case a < 0:
		return l.costs[tuneWell] + off
	}
	need := l.needs(int32(a-1), int32(i))
	if need == tuneNever {
		return never
	}
	return l.costs[need] + off
}

// never is more than any part costs.
const never = math.MaxInt64 / (2 * (mostKettles + mostMore))

// noteOf is the note that a kettle was struck with last; below 0 is none.
func (l *tuneSearch) noteOf(a kettleAt) int32 {
	if a > 0 {
		return l.notes[a-1].semitone
	}
	return int32(-a - 1)
}

// beside says whether other notes sound while this one is struck, so that it may
// be the one for which there is no kettle.
func (l *tuneSearch) beside(i int) bool {
	n := &l.notes[i]
	return n.until > n.start || i > 0 && n.moment == l.notes[i-1].moment || i+1 < len(l.notes) && l.notes[i+1].moment == n.moment
}

// none is what it costs that a note has no kettle. What comes while a roll goes
// on is one too many, rather than the roll.
func (l *tuneSearch) none(n *setNote) int64 {
	if n.until > n.start {
		return noKettle + tuneOnce
	}
	return noKettle
}

// needs is what a kettle that was struck with one note needs to be tuned for another one.
func (l *tuneSearch) needs(was, now int32) tuneNeed {
	one := &l.notes[was]
	if one.now != now+1 {
		one.now, one.tuneNeed = now+1, l.needed(was, now)
	}
	return one.tuneNeed
}

func (l *tuneSearch) needed(was, now int32) tuneNeed {
	last, n := &l.notes[was], &l.notes[now]
	over := last.until <= n.start-l.need.Steady
	switch {
	case over && l.gap(was, now) >= l.need.Steady:
		return tuneLongAgo
	case last.moment == n.moment || last.until > n.start+eps:
		return tuneNever
	}
	gap := l.gap(was, now)
	if gap >= l.need.Steady {
		return tuneWell
	}
	switch BandOf(l.need, gap) {
	case Missing:
		return tuneTooLate
	case AtEdge:
		return tuneFastest
	case Tight:
		return tuneTightly
	}
	return tuneWell
}

// gap is the time that a foot has between two notes. A hand that tunes has it
// as well, as far as is known by now.
func (l *tuneSearch) gap(was, now int32) float64 {
	from, to := l.notes[was].until, l.notes[now].start
	if !l.busy {
		return to - from
	}
	return l.footFree(was, now, from, to)
}

func (l *tuneSearch) footFree(was, now int32, from, to float64) float64 {
	key := [2]int32{was, now}
	window, ok := l.gaps[key]
	if !ok {
		for _, plays := range l.feet {
			if _, w := opening(from, to, l.need.Steady, 1, plays); w > window {
				window = w
			}
		}
		l.gaps[key] = window
	}
	return window
}
