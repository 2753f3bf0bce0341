package motion

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"sort"

	"example.org/handful/lang/body"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/score"
)

// When a kettle of a set of timpani is tuned to another note, and by which
// limb, once it is known what the player does beside that.

// A Tuning is how one player's set of kettles gets through the piece.
type Tuning struct {
	Item  *score.Item
	First []pitch.Pitch // what each is tuned to before the beginning; none where it has no note to play
	more  *moreKettles  // nil where these are enough
}

// Would is how many kettles would do, the ones more reaching every note of the
// set, where these do not; 0 where these do, or no number of kettles.
func (t *Tuning) Would() int {
	if t.more == nil {
		return 0
	}
	return t.more.find()
}

// A Retuning is one kettle that gets another note.
type Retuning struct {
	Kettle   int // from 1
	From, To pitch.Pitch
}

// A Crowd is a moment at which a set has too few kettles for its notes.
type Crowd struct {
	Event *Event
	Item  *score.Item
	Lacks []pitch.Pitch // that have no kettle
	Notes []pitch.Pitch // of the moment, and of rolls that go on
}

// KettlesOf is which kettle each note of an event's stroke is on, from 1; 0 where
// it is on none, and no list where nothing is known.
func (r *Result) KettlesOf(e *Event) []int {
	if int(e.index) >= len(r.kettles) || r.kettles[e.index] == 0 {
		return nil
	}
	s := e.Cue.StruckAt(int(e.Stroke))
	out := make([]int, len(s.Keys))
	for i := range out {
		out[i] = r.kettles[e.index].of(i)
	}
	return out
}

// tune says where kettles get another note, and when.
func (r *Result) tune(sets *tunedSets) {
	if sets == nil {
		return
	}
	t := tuner{Result: r}
	t.busy()
	for _, it := range sets.items {
		t.set(it, sets.more[it])
	}
	t.place()
}

type tuner struct {
	*Result
	limbs [2][2][]spell // when each foot, and each hand, plays
	away  map[*score.Item][]spell
	taken []spell
	scale float64 // how much longer what takes seconds is than at the tempo that is supposed
}

// A spell is a time in which a limb, the body or the ears are taken, and what
// that takes before and after it, in seconds whatever the tempo.
type spell struct{ from, to, lead, tail float64 }

// A struckNote is one note on a kettle.
type struckNote struct {
	pitch.Pitch
	event *Event
	until float64
}

// busy lists when the limbs play: for as long they tune no kettle, nor while they
// are on the way back. A foot is on a damper pedal from the first stroke to the last
// before a rest, and whoever stands has the other one to stand on.
func (t *tuner) busy() {
	t.limbs[0] = feetPlay(t.Events, t.Player)
	feet := map[*score.Cue]int{}
	for _, ch := range t.Chosen {
		if n := feetOf(ch.Way); n > 0 {
			if !ch.Way.Seated && !t.Player.Person.Seated {
				n = 2
			}
			feet[ch.Cue] = max(feet[ch.Cue], n)
		}
	}
	if len(feet) > 0 {
		t.pedals(feet)
	}
	if slices.ContainsFunc(t.Player.Items, func(it *score.Item) bool { return it.Inst.HandTuned }) {
		for i := range t.Events {
			for h := range t.Events[i].Hands().Each() {
				if h.IsHand() {
					t.limbs[1][h] = append(t.limbs[1][h], spell{from: t.Events[i].T0, to: until(&t.Events[i])})
				}
			}
		}
		for i := range t.Changes { // it lays and takes what it needs
			if c := &t.Changes[i]; c.Hand.IsHand() {
				t.limbs[1][c.Hand] = append(t.limbs[1][c.Hand], spell{from: c.To.T0, to: c.To.T0, lead: c.Need.Limit})
			}
		}
		for h := range t.limbs[1] {
			inTime(t.limbs[1][h])
		}
	}
}

func inTime(list []spell) {
	slices.SortStableFunc(list, func(a, b spell) int { return cmp.Compare(a.from, b.from) })
}

// pedals adds the feet that a way of playing by hand takes.
func (t *tuner) pedals(feet map[*score.Cue]int) {
	for n := 1; n <= 2; n++ {
		var plays []Event
		for i := range t.Events {
			if e := t.Events[i]; e.Cue != nil && feet[e.Cue] == n && !e.Kind.Stops() {
				e.Limbs = body.RF
				plays = append(plays, e)
			}
		}
		for _, s := range playsOn(plays, body.RF) {
			left := slices.ContainsFunc(t.limbs[0][1], func(o spell) bool { return o.from <= s.to && s.from <= o.to })
			if n == 2 || left {
				t.limbs[0][0] = append(t.limbs[0][0], s)
			}
			if n == 2 || !left {
				t.limbs[0][1] = append(t.limbs[0][1], s)
			}
		}
	}
	for f := range t.limbs[0] {
		inTime(t.limbs[0][f])
	}
}

// homes are the places at which the body plays a set, and those to which it only shifts its
// weight from there.
func (t *tuner) homes(it *score.Item, at []Spell) map[int]bool {
	home := map[int]bool{}
	for i := range t.Events {
		if e := &t.Events[i]; e.Cue != nil && e.Cue.Item == it {
			home[placeAt(at, e.T0)] = true
		}
	}
	played := slices.DeleteFunc(slices.Sorted(maps.Keys(home)), func(place int) bool { return place < 0 })
	for place := range t.Places {
		home[place] = home[place] || slices.ContainsFunc(played, func(p int) bool { return t.walk(p, place) == 0 })
	}
	return home
}

// isAway lists when the body is where it does not play a set, and on its way.
func (t *tuner) isAway(it *score.Item) []spell {
	if list, ok := t.away[it]; ok {
		return list
	}
	at := t.stays()
	home := t.homes(it, at)
	var out []spell
	for i := 0; i < len(at); i++ {
		if home[at[i].Place] {
			continue
		}
		end := i + 1
		for end < len(at) && !home[at[end].Place] {
			end++
		}
		s := spell{from: at[i].From, to: math.Inf(1)}
		if i > 0 {
			s.lead = t.walk(at[i-1].Place, at[i].Place)
		}
		if end < len(at) {
			s.to, s.tail = at[i].From, t.walk(at[end-1].Place, at[end].Place)
			for k := range t.Events {
				if t.Events[k].T0 >= at[end].From-eps {
					break
				}
				s.to = max(s.to, until(&t.Events[k]))
			}
		}
		out = append(out, s)
		i = end - 1
	}
	if t.away == nil {
		t.away = map[*score.Item][]spell{}
	}
	t.away[it] = out
	return out
}

// stays is where the body is, from when on.
func (t *tuner) stays() []Spell {
	var out []Spell
	for _, s := range slices.Concat(t.Spells[0], t.Spells[1]) {
		out = append(out, Spell{From: s.From, Place: s.Place})
	}
	slices.SortStableFunc(out, func(a, b Spell) int { return cmp.Compare(a.From, b.From) })
	return slices.CompactFunc(out, func(a, b Spell) bool { return a.Place == b.Place })
}

func placeAt(at []Spell, time float64) int {
	i := sort.Search(len(at), func(i int) bool { return at[i].From > time+eps })
	if i == 0 {
		return -1
	}
	return at[i-1].Place
}

// walk is the least that it takes from place to place.
func (t *tuner) walk(from, to int) float64 {
	return body.Sum(t.Player.Profile.Between(flat(t.Places[from].At, t.Places[to].At))).Limit
}

// set lists what one set is tuned to.
func (t *tuner) set(it *score.Item, more *moreKettles) {
	tuning := Tuning{Item: it, First: make([]pitch.Pitch, len(it.Inst.Kettles)), more: more}
	last := make([]struckNote, len(it.Inst.Kettles))
	noted := false
	var list []retuned
	var sounds []struckNote // of the moment, and rolls that go on
	for i := range t.Events {
		e := &t.Events[i]
		if e.Cue == nil || e.Cue.Item != it || t.kettles[i] == 0 || e.Kind.Stops() {
			continue
		}
		noted = true
		s := e.Cue.StruckAt(int(e.Stroke))
		if more != nil { // else none is ever missing
			sounds = slices.DeleteFunc(sounds, func(n struckNote) bool { return n.event.T0 < e.T0-eps && n.until <= e.T0+eps })
		}
		for n, key := range s.Keys {
			now := struckNote{key.Pitch, e, until(e)}
			k := t.kettles[i].of(n) - 1
			switch {
			case t.kettles[i].raw(n) == 0:
				continue
			case k < 0:
				sounds = append(sounds, now)
				t.crowd(it, now)
				continue
			case last[k].event == nil:
				tuning.First[k] = now.Pitch
			case last[k].Semitone() != now.Semitone():
				list = append(list, retuned{last[k], e, Retuning{k + 1, last[k].Pitch, now.Pitch}})
			}
			if last[k].event == nil || last[k].Semitone() != now.Semitone() || now.until >= last[k].until {
				last[k] = now
			}
			if more != nil {
				sounds = append(sounds, now)
			}
		}
		t.crowded(it, e, sounds)
	}
	t.retune(it, list)
	if noted {
		t.Tunings = append(t.Tunings, tuning)
	}
}

// A retuned is a kettle that was struck with one note and is to be with another.
type retuned struct {
	was struckNote
	to  *Event
	Retuning
}

// retune lists where kettles of a set get another note.
func (t *tuner) retune(it *score.Item, list []retuned) {
	limb := body.RightFoot
	if it.Inst.HandTuned {
		limb = body.Right
	}
	motions := []body.Motion{retuneOf(t.Player, it)}
	t.Retunings = slices.Grow(t.Retunings, len(list))
	notes := make([]Retuning, len(list))
	for i := range list {
		r := &list[i]
		notes[i] = r.Retuning
		t.Retunings = append(t.Retunings, Change{From: r.was.event, To: r.to, Start: r.was.until, Hand: limb, Motions: motions, Need: motions[0].Pace, Retunes: &notes[i]})
	}
}

// crowd notes that one note of a moment has no kettle.
func (t *tuner) crowd(it *score.Item, n struckNote) {
	at := len(t.Crowds) - 1
	if at < 0 || t.Crowds[at].Item != it || math.Abs(t.Crowds[at].Event.T0-n.event.T0) > eps {
		at++
		t.Crowds = append(t.Crowds, Crowd{Event: n.event, Item: it})
	}
	if !slices.ContainsFunc(t.Crowds[at].Lacks, n.same) {
		t.Crowds[at].Lacks = append(t.Crowds[at].Lacks, n.Pitch)
	}
}

// crowded notes what sounds at a moment at which there are too few kettles.
func (t *tuner) crowded(it *score.Item, e *Event, sounds []struckNote) {
	at := len(t.Crowds) - 1
	if at < 0 || t.Crowds[at].Item != it || math.Abs(t.Crowds[at].Event.T0-e.T0) > eps {
		return
	}
	c := &t.Crowds[at]
	for _, n := range sounds {
		if !slices.ContainsFunc(c.Notes, n.same) {
			c.Notes = append(c.Notes, n.Pitch)
		}
	}
}

func (n *struckNote) same(p pitch.Pitch) bool { return p.Semitone() == n.Semitone() }

// tiny is what floating point makes of times, so that what retunings share is
// shared to the last.
const tiny = 1e-9

// opening is the first time between two moments at which a limb is free for as
// long as is needed, or the longest there is. What takes seconds takes scale
// times as many. The spells of each list are in order.
func opening(from, to, need, scale float64, busy ...[]spell) (start, window float64) {
	start = from
	var next [3]int
	for i, list := range busy {
		next[i] = sort.Search(len(list), func(k int) bool { return list[k].to+list[k].tail*scale > from })
	}
	at := from
	for {
		first := -1 // the list whose spell comes first
		var begins float64
		for i, list := range busy {
			if next[i] < len(list) {
				if b := list[next[i]].from - list[next[i]].lead*scale; first < 0 || b < begins {
					first, begins = i, b
				}
			}
		}
		if first < 0 || begins >= to {
			begins = to
		}
		if free := begins - at; free > window+eps {
			start, window = at, free
			if window >= need-tiny {
				return start, window
			}
		}
		if begins >= to {
			return start, window
		}
		s := &busy[first][next[first]]
		at = max(at, s.to+s.tail*scale)
		next[first]++
	}
}

// An opened is where a retuning has its time.
type opened struct {
	start, window float64
	limb          body.Limb
}

// roomFor is the first room for a retuning that is as long as is needed, or the
// longest.
func (t *tuner) roomFor(c *Change, need float64) opened {
	by, limbs := 0, [2]body.Limb{body.RightFoot, body.LeftFoot}
	if c.To.Cue.Item.Inst.HandTuned {
		by, limbs = 1, [2]body.Limb{body.Right, body.Left}
	}
	var best opened
	for i, limb := range limbs {
		start, window := opening(until(c.From), c.To.T0, need, t.scale, t.taken, t.limbs[by][i], t.isAway(c.To.Cue.Item))
		if i == 0 || window > best.window+eps && best.window < need-tiny || window >= need-tiny && start < best.start-eps {
			best = opened{start, window, limb}
		}
	}
	return best
}

// place gives each retuning its time: one after the other, since the ears follow
// one kettle at a time. What is needed first goes first, where it has its time.
// Whether all have what they need at the least is asked of the times in the music
// as against what is needed, and so holds at every slower tempo and sets a ceiling.
func (t *tuner) place() {
	slices.SortStableFunc(t.Retunings, func(a, b Change) int { return cmp.Compare(a.To.T0, b.To.T0) })
	groups := t.inTheWay()
	for _, list := range groups {
		t.share(list)
	}
	for i := range t.Retunings {
		c := &t.Retunings[i]
		c.Ratio, c.EdgeRatio = c.Window/c.Need.Limit, c.Window/c.Need.Floor
	}
	for _, list := range groups {
		t.lower(&t.Cannot, list, func(p *body.Pace) float64 { return p.Limit })
		t.lower(&t.Edge, list, func(p *body.Pace) float64 { return p.Floor })
	}
}

// inTheWay groups the retunings whose times touch.
func (t *tuner) inTheWay() [][]*Change {
	byStart := make([]*Change, len(t.Retunings))
	for i := range t.Retunings {
		byStart[i] = &t.Retunings[i]
	}
	slices.SortStableFunc(byStart, func(a, b *Change) int { return cmp.Compare(until(a.From), until(b.From)) })
	var out [][]*Change
	end := math.Inf(-1)
	for _, c := range byStart {
		if until(c.From) >= end-eps {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], c)
		end = max(end, c.To.T0)
	}
	for _, list := range out {
		slices.SortStableFunc(list, func(a, b *Change) int { return cmp.Compare(a.To.T0, b.To.T0) })
	}
	return out
}

// fits says whether each of some retunings has as much time as it needs, one
// after the other, and which is the first that has not. Where they are is left in
// rooms.
func (t *tuner) fits(list []*Change, need func(*Change) float64, scale float64, rooms []opened) (short int, ok bool) {
	t.scale = scale
	held := len(t.taken)
	kept := slices.Clone(t.taken)
	defer func() { t.taken = append(t.taken[:0], kept[:held]...) }()
	for i, c := range list {
		n := need(c)
		r := t.roomFor(c, n)
		if r.window < n-tiny {
			return i, false
		}
		if rooms != nil {
			rooms[i] = r
		}
		t.take(spell{from: r.start, to: r.start + n})
	}
	return -1, true
}

// take notes that the ears are taken.
func (t *tuner) take(s spell) {
	at := sort.Search(len(t.taken), func(k int) bool { return t.taken[k].from > s.from })
	t.taken = slices.Insert(t.taken, at, s)
}

func (t *tuner) free(s spell) {
	if at := slices.Index(t.taken, s); at >= 0 {
		t.taken = slices.Delete(t.taken, at, at+1)
	}
}

// share gives the retunings of a group their times: nobody less than at the
// fastest, or than the limit, where that can be; else what comes first goes first.
func (t *tuner) share(list []*Change) {
	t.taken, t.scale = t.taken[:0], 1
	rooms := make([]opened, len(list))
	for _, least := range []func(*Change) float64{
		func(c *Change) float64 { return c.Need.Steady },
		func(c *Change) float64 { return c.Need.Floor },
		func(c *Change) float64 { return c.Need.Limit },
	} {
		if _, ok := t.fits(list, least, 1, rooms); ok {
			t.spread(list, rooms, least)
			return
		}
	}
	var fit, short []*Change
	rooms = rooms[:0]
	limit := func(c *Change) float64 { return c.Need.Limit }
	for _, c := range list {
		r := t.roomFor(c, c.Need.Limit)
		if r.window < c.Need.Limit-tiny {
			short = append(short, c)
			continue
		}
		fit, rooms = append(fit, c), append(rooms, r)
		t.take(spell{from: r.start, to: r.start + c.Need.Limit})
	}
	t.taken = t.taken[:0]
	t.spread(fit, rooms, limit)
	for _, c := range short {
		r := t.roomFor(c, c.Need.Steady)
		c.Start, c.Window, c.Hand = r.start, min(r.window, c.Need.Limit-2*eps), r.limb
	}
}

// spread lets each have what the others leave it, where all have the least.
func (t *tuner) spread(list []*Change, rooms []opened, least func(*Change) float64) {
	for i, c := range list {
		t.take(spell{from: rooms[i].start, to: rooms[i].start + least(c)})
	}
	for i, c := range list {
		t.free(spell{from: rooms[i].start, to: rooms[i].start + least(c)})
		r := t.roomFor(c, c.Need.Steady)
		c.Start, c.Window, c.Hand = r.start, r.window, r.limb
		t.take(spell{from: r.start, to: r.start + min(c.Window, c.Need.Steady)})
	}
}

// lower brings a ceiling down to where the retunings of a group no longer have
// their time.
func (t *tuner) lower(top *Ceiling, list []*Change, of func(*body.Pace) float64) {
	t.taken, t.scale = t.taken[:0], 1
	factor := top.Factor
	var at *Change
	for _, c := range list { // alone
		if r := t.roomFor(c, inf()); r.window/of(&c.Need) < factor {
			factor, at = r.window/of(&c.Need), c
		}
	}
	if math.IsInf(factor, 1) {
		return
	}
	f := factor
	need := func(c *Change) float64 { return of(&c.Need) * f }
	if short, ok := t.fits(list, need, f, nil); !ok {
		low, high := 0.0, factor
		at = list[short]
		for range 40 {
			f = (low + high) / 2
			if short, ok := t.fits(list, need, f, nil); ok {
				low = f
			} else {
				high, at = f, list[short]
			}
		}
		factor = low
	}
	if at != nil && factor < top.Factor {
		limit := *at
		*top = Ceiling{Factor: factor, At: &limit}
	}
}
