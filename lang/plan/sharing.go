package plan

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/room"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// A sharedStand is where somebody stands at a thing that somebody else stands at as well: it is
// between them, and what else they have is on their side of it.
type sharedStand struct {
	manner // how the thing is fixed
	at     body.Point
}

// beyond says whether a body goes over to the other one's side of what two people stand at.
func (st *sharedStand) beyond(b room.Body) bool {
	if st == nil {
		return false
	}
	right, _ := b.Extent()
	if st.at.Right > 0 {
		return b.At.Right+right > st.at.Right
	}
	return b.At.Right-right < st.at.Right
}

// standAt puts what somebody else stands at too to its place; where it is not played, that stays free.
func (s *setUp) standAt(st *sharedStand) {
	if s.stand = st; st == nil {
		return
	}
	if t := s.byName[st.name]; t != nil {
		t.at, t.turn, t.spot, t.known, t.misfit, t.noRoom = st.at, 0, max(t.spot, 0), true, false, false
		return
	}
	s.idle = append(s.idle, room.Of(st.inst, st.mount, room.Spot{At: st.at})...)
}

// betweenTwo are the places, as whoever has it at the right sees them, where what two people stand
// at may be: before them and beside them, or behind; judgement.
func betweenTwo() []body.Point {
	return []body.Point{{Right: 46, Ahead: 40}, {Right: 56, Ahead: 20}, {Right: 60}, {Right: 46, Ahead: -40}}
}

// A sharing is a thing of which there is one, that its owner has and that somebody else is to
// stand at as well.
type sharing struct {
	thing        *thing
	owner, other *person
	weight       float64 // of what that might bring back
}

// sides are at which side of its owner it may stand, 1 the right: first so that people stand from
// left to right as the file has them.
func (s *sharing) sides() [2]float64 {
	if s.owner.at < s.other.at {
		return [2]float64{1, -1}
	}
	return [2]float64{-1, 1}
}

// mostShared is how many such things and people are tried, those that might bring most back first;
// of a long piece fewer, as [settleWork] has it.
const mostShared = 3

// sideBySide lets two people stand at one thing, one after the other, where less is lost so: of
// what there is one, and of which the one who has it has no hand free where somebody else has.
func (j *job) sideBySide(d *draft) *draft {
	if !j.mayShare() {
		return d
	}
	for j.ctx.Err() == nil && j.value(d.all) > j.lower+1e-9 {
		list := j.sharings(d.all)
		next := j.shared(d, list[:min(len(list), mostShared, settleWork/len(j.passages))])
		if next == nil {
			break
		}
		d = next
	}
	return d
}

// mayShare says whether a plan may change where everything stands.
func (j *job) mayShare() bool {
	o := &j.opt
	return len(j.people) > 1 && !o.each && !o.Keep && !o.open && o.only == nil && o.brings == nil && o.Wide == 0 && o.Deep == 0
}

// sharings are the things that might be shared, what might bring back most first.
func (j *job) sharings(all []plays) (out []sharing) {
	lost := j.missing(all)
	for _, owner := range j.people {
		if owner.stand != nil || j.sets[owner.at] == nil {
			continue
		}
		for _, t := range j.sets[owner.at].things {
			for _, other := range j.mayStandToo(j.having(all, t.inst), owner, t) {
				s := sharing{thing: t, owner: owner, other: other}
				if s.weight = j.mightBring(all, s, lost); s.weight > 0 {
					out = append(out, s)
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b sharing) int { return cmp.Compare(b.weight, a.weight) })
	return out
}

// mayStandToo are those who might stand at a thing of somebody's as well, of which there is one: it
// may be moved, and nobody else has it or, one after the other, they have.
func (j *job) mayStandToo(have map[int8]bool, owner *person, t *thing) (out []*person) {
	if t.item != nil || t.spot < 0 || j.limitOf(t.inst) != 1 || !have[int8(owner.at)] || len(have) > 2 {
		return nil
	}
	for _, other := range j.people {
		if other != owner && other.stand == nil && (len(have) == 1 || have[int8(other.at)]) && j.listed(other).Item(t.name) == nil {
			out = append(out, other)
		}
	}
	return out
}

// mightBring is what is lost that is for a thing, or for hands that it takes from its owner, where
// somebody else has a hand for it.
func (j *job) mightBring(all []plays, s sharing, lost []missed) (weight float64) {
	for i := range lost {
		if l := &lost[i]; s.plays(l.passage) && l.hasHand(all, s.other, l.passage) || slices.ContainsFunc(l.around, func(o *passage) bool {
			pl := all[o.id]
			return int(pl.player) == s.owner.at && o.options[pl.option].inst == s.thing.inst && soon(o, l.passage) && l.hasHand(all, s.other, o)
		}) {
			weight += l.passage.weight
		}
	}
	return weight
}

// A missed is a passage that nobody plays, and what is played about then.
type missed struct {
	passage *passage
	around  []*passage
}

// missing are the passages that nobody plays and somebody might.
func (j *job) missing(all []plays) (out []missed) {
	for _, q := range j.passages {
		if all[q.id].player >= 0 || q.fixed || q.weight == 0 {
			continue
		}
		m := missed{passage: q}
		for _, o := range j.passages {
			if all[o.id].player >= 0 && o.t0 <= q.t1+about && q.t0 <= o.t1+about {
				m.around = append(m.around, o)
			}
		}
		out = append(out, m)
	}
	return out
}

// about is how many seconds before and behind something lost it is looked at what people play:
// judgement.
const about = 4 * body.HandOver

// plays says whether a passage can be played on the thing by whoever is to stand at it as well.
func (s *sharing) plays(q *passage) bool {
	return slices.ContainsFunc(q.options, func(o option) bool {
		return o.inst == s.thing.inst && slices.ContainsFunc(o.slots, func(sl uint8) bool { return s.other.can(q, &o, sl) })
	})
}

// soon says whether two passages are so near that one may want the hands of the other.
func soon(a, b *passage) bool { return a.t0 <= b.t1+body.HandOver && b.t0 <= a.t1+body.HandOver }

// hasHand says whether somebody has a hand free throughout a passage.
func (m *missed) hasHand(all []plays, who *person, q *passage) bool {
	var busy uint8
	for _, o := range m.around {
		if pl := all[o.id]; int(pl.player) == who.at && o.t0 <= q.t1 && q.t0 <= o.t1 {
			busy |= pl.slots & hands
		}
	}
	return busy != hands
}

// shared is the plan that loses least of those in which one of some things is shared; nil where
// none loses less than without.
func (j *job) shared(d *draft, list []sharing) *draft {
	var best *draft
	var kept sharedState
	before := j.sharedState()
	for _, s := range list {
		for _, side := range s.sides() {
			if best != nil && j.value(best.all) <= j.lower+1e-9 {
				break
			}
			if next := j.sharedAt(d, s, side); next != nil && (best == nil || j.value(next.all) < j.value(best.all)-1e-9) {
				best, kept = next, j.sharedState()
			}
			j.restore(before)
		}
	}
	if best != nil {
		j.restore(kept)
	}
	return best
}

// sharedAt is a plan in which a thing stands between its owner and somebody else, at the right of the
// owner or, with -1, at the left; nil where that loses no less.
func (j *job) sharedAt(d *draft, s sharing, side float64) *draft {
	less := func(all []plays) bool {
		return j.value(all) < j.value(d.all)-1e-9 && len(j.having(all, s.thing.inst)) > 1
	}
	if !j.standBoth(d.all, s, side) {
		return nil
	}
	j.share(s)
	all := j.search.improve(j.ctx, j.search.yield(d.all))
	if !less(all) && len(j.passages) <= borrowedWork {
		all = j.begun()
	}
	if !less(all) || !j.standBoth(all, s, side) { // with what they have now
		return nil
	}
	j.search.laid++
	all = j.better(j.search.yield(all), "two at one thing", everywhere)
	j.search.listening(func() { all = j.search.tidy(j.ctx, all) })
	if !less(all) {
		return nil
	}
	next, err := j.finished(all)
	if err != nil || !less(next.all) || next.inTheWay() > d.inTheWay() {
		return nil
	}
	return next
}

// inTheWay is how many things of a draft a check finds to be in one another's way, or too soon in
// somebody else's hands.
func (d *draft) inTheWay() (n int) {
	for i := range d.result.Findings {
		if r := d.result.Findings[i].Rule.Name; r == sameSpace || r == check.RuleSharedGear {
			n++
		}
	}
	return n
}

// standBoth lays out what both have on their own sides of a thing, in the first place that lets
// all of it stand free.
func (j *job) standBoth(all []plays, s sharing, side float64) bool {
	for _, at := range betweenTwo() {
		fits := true
		for i, who := range [2]*person{s.owner, s.other} {
			if who.stand = (&sharedStand{s.thing.manner, body.Point{Right: side * at.Right, Ahead: at.Ahead}}); i > 0 {
				who.stand.at.Right = -who.stand.at.Right
			}
			set, err := layOut(j.piece, who, all, j.listed(who), nil, 0, 0)
			if fits = fits && err == nil && set.misfits() == 0; !fits {
				break
			}
			if set.byName[s.thing.name] == nil {
				t := &thing{manner: s.thing.manner, at: who.stand.at, known: true}
				set.things, set.byName[t.name] = append(set.things, t), t
			}
			j.sets[who.at] = set
			who.changer = newChanger(j.score, j.stock, who.profile)
			who.changer.set = set
		}
		if fits {
			return true
		}
	}
	return false
}

// share lets two people have a thing of which there is one, and nobody else.
func (j *job) share(s sharing) {
	in := s.thing.inst
	j.joint, j.oneByOne = append(slices.Clip(j.joint), in), true
	for _, who := range j.people {
		if who != s.owner && who != s.other {
			who.away = append(slices.Clip(who.away), in)
		}
	}
	j.search.limits[in] = j.limitOf(in)
	j.search.common = sharedBy(j.piece)
	j.search.moves = nil
	j.search.laid++
}

// inOtherHands says whether somebody with a hand free for what is lost would have it too soon before
// or behind somebody else.
func (j *job) inOtherHands(all []plays, q *passage, taken map[int8]uint8) bool {
	if len(j.search.common) == 0 {
		return false
	}
	now := func(o *passage) plays { return all[o.id] }
	return slices.ContainsFunc(j.people, func(p *person) bool {
		return slices.ContainsFunc(q.options, func(o option) bool {
			return slices.ContainsFunc(o.slots, func(sl uint8) bool { return taken[int8(p.at)]&sl == 0 && p.can(q, &o, sl) }) && len(j.search.elsewhere(q, o.inst, int8(p.at), now)) > 0
		})
	})
}

// A sharedState is all that it changes that two people stand at one thing.
type sharedState struct {
	joint    []*kit.Instrument
	oneByOne bool
	places   []place
	stands   []*sharedStand
	aways    [][]*kit.Instrument
	limits   map[*kit.Instrument]int
	nearest  map[*passage]refusal
}

func (j *job) sharedState() sharedState {
	s := sharedState{joint: j.joint, oneByOne: j.oneByOne, places: j.places(), limits: maps.Clone(j.search.limits), nearest: maps.Clone(j.nearest)}
	for _, who := range j.people {
		s.stands, s.aways = append(s.stands, who.stand), append(s.aways, who.away)
	}
	return s
}

func (j *job) restore(s sharedState) {
	j.joint, j.oneByOne, j.search.limits, j.nearest = s.joint, s.oneByOne, maps.Clone(s.limits), maps.Clone(s.nearest)
	for i, who := range j.people {
		who.stand, who.away = s.stands[i], s.aways[i]
	}
	j.putBack(s.places)
	j.search.common = sharedBy(j.piece)
	j.search.moves = nil
}

// sharedKit are the lines of a kit for everybody with what two people stand at in a plan.
func (j *job) sharedKit(all []plays) (out []outLine) {
	for _, in := range j.joint {
		if len(j.having(all, in)) > 1 {
			out = append(out, outLine{old: -1, text: "  " + syntax.Print(&syntax.Item{Name: syntax.Word(in.ID)})})
		}
	}
	if out != nil {
		out = append([]outLine{{old: -1, text: "kit"}}, out...)
	}
	return out
}

// standTogether is what the top of a plan says of what several people stand at.
func (d *draft) standTogether() string {
	out := ""
	for _, it := range d.result.Score.Shared {
		var names, where []string
		for _, p := range d.result.Score.Players {
			if own := p.Item(it.Name); p.StandsAt(it) && own.Used {
				names, where = append(names, p.Name), append(where, p.Name+" has it "+side(own.At))
			}
		}
		if len(names) > 1 {
			out += fmt.Sprintf("; %s stand at the one %s, one after the other: %s", list(names), it.Inst.Name(), list(where))
		}
	}
	return out
}

// side is where a player has something.
func side(at body.Point) string {
	switch {
	case math.Abs(at.Right) < math.Abs(at.Ahead)/2 && at.Ahead >= 0:
		return "ahead"
	case math.Abs(at.Right) < math.Abs(at.Ahead)/2:
		return "behind"
	case at.Right > 0:
		return "at the right"
	}
	return "at the left"
}

// standAlready notes at what of the kit for everybody only some people say that they stand: nobody
// else does.
func (j *job) standAlready() {
	for _, it := range j.old.Score.Shared {
		if it.Placed || !slices.ContainsFunc(j.old.Score.Players, func(p *score.Player) bool { return p.StandsAt(it) }) {
			continue
		}
		j.oneByOne = true
		for _, who := range j.people {
			if p := j.old.Score.Player(who.name); p == nil || !p.StandsAt(it) {
				who.away = append(who.away, it.Inst)
			}
		}
	}
}
