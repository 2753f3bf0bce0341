package plan

import (
	"cmp"
	"slices"

	"example.org/handful/lang/kit"
)

// mostCrammed is how often things are laid out anew since somebody has no room for
// all of them.
const mostCrammed = 6

// withRoom lays things out, and takes from people what they have no room for and gives it away
// anew, until there is room for everything, or it was tried often enough.
func (j *job) withRoom(all []plays) ([]plays, error) {
	for round := range mostCrammed {
		if err := j.layOut(all); err != nil {
			return nil, err
		}
		if !j.crammed() || round == mostCrammed-1 {
			break
		}
		j.cram(nil)
		all = j.better(j.search.yield(all), whoHasRoom, everywhere)
	}
	return all, nil
}

// withRoomInALongPiece does the same without giving stretches away anew each time, which would take
// too long in a long piece: what has its place stays there meanwhile, what goes goes to people who have room for it, and
// what nobody has room for in the end takes the place of something else.
func (j *job) withRoomInALongPiece(all []plays) ([]plays, error) {
	for round := range mostCrammed {
		if err := j.layOutAgain(all, round > 0); err != nil {
			return nil, err
		}
		crammed := j.crammed()
		fits, moved := j.homes(all)
		if !crammed && !moved {
			j.alsoWhatStands(fits)
			j.onlyThat(fits, all)
			return all, nil
		}
		if round == mostCrammed-1 {
			break
		}
		j.cram(fits)
		all = j.search.entrust(j.ctx, j.givenBack(j.search.yield(all)))
	}
	fits, _ := j.homes(all)
	j.onlyThat(fits, all)
	all = j.better(j.search.yield(all), whoHasRoom, everywhere)
	return all, j.placesForNew(all)
}

// placesForNew gives what people play by now and did not when things were laid out a good place, finds out anew what
// they have room for, and notes where that would stand, so that the way there is known before somebody goes it.
func (j *job) placesForNew(all []plays) error {
	if err := j.layOutAgain(all, true); err != nil {
		return err
	}
	fits, _ := j.homes(all)
	j.alsoWhatStands(fits)
	j.onlyThat(fits, all)
	for _, f := range fits {
		set := *j.sets[f.who.at]
		set.spare = f.byName
		j.standAs(f.who, &set)
	}
	return nil
}

// standAs is what is done when somebody's things stand otherwise than before.
func (j *job) standAs(who *person, set *setUp) {
	j.sets[who.at] = set
	who.changer = newChanger(j.score, j.stock, who.profile)
	who.changer.set = set
	j.search.laid++
}

// alsoWhatStands takes what has a place for what there is room for, however small it has to be there.
func (j *job) alsoWhatStands(fits []*fitting) {
	for _, f := range fits {
		for _, t := range j.sets[f.who.at].things {
			f.has[t.inst] = f.has[t.inst] || !t.noRoom
		}
	}
}

// onlyThat notes for everybody what they have room for.
func (j *job) onlyThat(fits []*fitting, all []plays) {
	list := j.wanted(all)
	for _, f := range fits {
		f.onlyThat(list)
	}
}

// crammed says whether somebody has no room for something.
func (j *job) crammed() bool {
	return slices.ContainsFunc(j.people, func(who *person) bool {
		return slices.ContainsFunc(j.sets[who.at].things, func(t *thing) bool { return t.noRoom })
	})
}

// cram notes for whom there is no room for what: of all that somebody has and that has no
// room, the one with the least to play. What nobody else could have either is kept, as long
// as something that others could have can make room for it. Who could have what is what they have
// room for, where that was found out.
func (j *job) cram(room []*fitting) {
	for _, who := range j.people {
		things := j.sets[who.at].things
		if !slices.ContainsFunc(things, func(t *thing) bool { return t.noRoom }) {
			continue
		}
		least := leastUsed(things, func(t *thing) bool { return t.noRoom && j.elsewhereToo(who, t.inst, room) })
		if least == nil {
			least = leastUsed(things, func(t *thing) bool {
				return t.needsPlace() && j.elsewhereToo(who, t.inst, room)
			})
		}
		if least == nil {
			least = leastUsed(things, func(t *thing) bool { return t.noRoom })
		}
		who.lacksRoom(least.inst)
	}
}

// leastUsed is the thing with the least to play of some.
func leastUsed(things []*thing, of func(t *thing) bool) *thing {
	var least *thing
	for _, t := range things {
		if of(t) && (least == nil || t.used[0]+t.used[1] < least.used[0]+least.used[1]) {
			least = t
		}
	}
	return least
}

// elsewhereToo says whether somebody else could have an instrument.
func (j *job) elsewhereToo(who *person, in *kit.Instrument, room []*fitting) bool {
	return slices.ContainsFunc(j.people, func(p *person) bool {
		return p != who && !p.cramped[in] && p.who.Refuses(in) == nil && (room == nil || room[p.at].has[in])
	})
}

func (p *person) lacksRoom(in *kit.Instrument) {
	if p.cramped == nil {
		p.cramped = map[*kit.Instrument]bool{}
	}
	p.cramped[in] = true
}

// A fitting is what one person has room for, as it is found out.
type fitting struct {
	*setUp
	who        *person
	has        map[*kit.Instrument]bool
	uses       map[*kit.Instrument]float64 // weight of what they play on each
	wide, deep float64
	floor      *floor // once something is added
}

// A wanted is an instrument for which somebody is to have room.
type wanted struct {
	manner
	lost, weight float64 // of what is lost of it, and of all of it
}

// fittings are what everybody has room for: what stands where it is laid out, then what
// else finds a place beside it, what they play most on first.
func (j *job) fittings(all []plays) []*fitting {
	list := j.wanted(all)
	out := make([]*fitting, len(j.people))
	for i, who := range j.people {
		out[i] = newFitting(who, j.sets[who.at], j.opt.Wide, j.opt.Deep)
	}
	for _, q := range j.passages {
		if pl := all[q.id]; pl.player >= 0 {
			out[pl.player].uses[q.options[pl.option].inst] += q.weight
		}
	}
	atOnce(len(out), func(i int) { out[i].fill(out[i].inOrder(list)) })
	return out
}

// homes finds somebody for everything that nobody has room for as things stand, and is what everybody
// has room for then, and whether that was found for anything.
func (j *job) homes(all []plays) (fits []*fitting, found bool) {
	list := j.wanted(all)
	fits = j.fittings(all)
	for _, w := range list {
		if w.lost <= 0 && !j.withoutRoom(w.inst) || slices.ContainsFunc(fits, func(f *fitting) bool { return f.has[w.inst] }) {
			continue
		}
		if f := home(w, fits, list); f != nil {
			f.onlyThat(list)
			j.sets[f.who.at], found = f.setUp, true
		}
	}
	return fits, found
}

// withoutRoom says whether somebody has an instrument and no room for it.
func (j *job) withoutRoom(in *kit.Instrument) bool {
	return slices.ContainsFunc(j.people, func(who *person) bool {
		return slices.ContainsFunc(j.sets[who.at].things, func(t *thing) bool { return t.noRoom && t.inst == in })
	})
}

// onlyThat notes for a person what of all that stands they have room for.
func (f *fitting) onlyThat(list []wanted) {
	for _, w := range list {
		if f.has[w.inst] {
			delete(f.who.cramped, w.inst)
		} else {
			f.who.lacksRoom(w.inst)
		}
	}
}

// wanted are the instruments that can only stand, each in the way it does as a rule, those of which
// most is lost first.
func (j *job) wanted(all []plays) []wanted {
	var list []wanted
	held := map[*kit.Instrument]bool{}
	for _, q := range j.passages {
		for i := range q.options {
			o := &q.options[i]
			if o.mount == kit.Held || o.mount == kit.OnBody {
				held[o.inst] = true
			}
			if held[o.inst] || o.otherwise {
				continue
			}
			at := slices.IndexFunc(list, func(w wanted) bool { return w.inst == o.inst })
			if at < 0 {
				at, list = len(list), append(list, wanted{manner: o.manner})
			}
			list[at].weight += q.weight
			if all[q.id].player < 0 {
				list[at].lost += q.weight
			}
		}
	}
	list = slices.DeleteFunc(list, func(w wanted) bool { return held[w.inst] })
	slices.SortStableFunc(list, func(a, b wanted) int {
		return cmp.Or(cmp.Compare(b.lost, a.lost), cmp.Compare(b.weight, a.weight))
	})
	return list
}

// newFitting is what somebody has that has its place.
func newFitting(who *person, set *setUp, wide, deep float64) *fitting {
	f := &fitting{&setUp{byName: map[string]*thing{}, table: set.table, tabled: true, idle: set.idle, stand: set.stand, seen: &who.memory}, who, map[*kit.Instrument]bool{}, map[*kit.Instrument]float64{}, wide, deep, nil}
	for _, t := range set.things {
		if !t.misfit {
			t := *t
			t.known = t.needsPlace()
			f.things = append(f.things, &t)
			f.has[t.inst], f.byName[t.name] = true, &t
		}
	}
	return f
}

// needsPlace says whether a thing needs a place that a plan has to find.
func (t *thing) needsPlace() bool {
	return t.item == nil && t.mount != kit.Held && t.mount != kit.OnBody
}

// bare is the same person with what the file places, or what takes no room.
func (f *fitting) bare() *fitting {
	out := &fitting{&setUp{byName: map[string]*thing{}, table: tableSpot(), idle: f.idle, stand: f.stand, seen: f.seen}, f.who, map[*kit.Instrument]bool{}, f.uses, f.wide, f.deep, nil}
	for _, t := range f.things {
		if !t.known {
			out.things = append(out.things, t)
			out.has[t.inst], out.byName[t.name] = true, t
		}
	}
	return out
}

// inOrder is a list with what somebody plays most on first.
func (f *fitting) inOrder(list []wanted) []wanted {
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b wanted) int { return cmp.Compare(f.uses[b.inst], f.uses[a.inst]) })
	return list
}

// fill adds what has room.
func (f *fitting) fill(list []wanted) {
	for _, w := range list {
		if !f.has[w.inst] && f.who.who.Refuses(w.inst) == nil {
			f.add(w)
		}
	}
}

// add adds a thing if it has room where it is as large as it usually is.
func (f *fitting) add(w wanted) bool {
	if f.floor == nil {
		f.floor = f.placeAll(nil, f.wide, f.deep, false)
		f.floor.usual = true
		f.table, f.tabled = f.floor.table, true
	}
	t := &thing{manner: w.manner, used: [2]float64{1, 1}, at: spots()[0]}
	f.floor.place(t)
	p := f.floor.places[t]
	if p.noRoom {
		return false
	}
	t.at, t.turn, t.known, t.spot = p.At, p.Turn, true, 0
	f.things = append(f.things, t)
	f.has[w.inst], f.byName[t.name] = true, t
	return true
}

// home gives a thing that has nobody to the one who has room for it at the least cost.
func home(w wanted, fits []*fitting, list []wanted) *fitting {
	anew, costs := make([]*fitting, len(fits)), make([]float64, len(fits))
	atOnce(len(fits), func(i int) {
		f := fits[i]
		n := f.bare()
		if f.who.who.Refuses(w.inst) != nil || !n.add(w) {
			return
		}
		others := func(o wanted) bool {
			return slices.ContainsFunc(fits, func(g *fitting) bool { return g != f && g.has[o.inst] })
		}
		order := f.inOrder(list)
		only := slices.DeleteFunc(slices.Clone(order), func(o wanted) bool { return !f.has[o.inst] || others(o) })
		n.fill(only)
		if slices.ContainsFunc(only, func(o wanted) bool { return !n.has[o.inst] }) {
			return
		}
		n.fill(order)
		for _, o := range list {
			if f.has[o.inst] && !n.has[o.inst] {
				costs[i] += f.uses[o.inst]
			}
		}
		anew[i] = n
	})
	best := -1
	for i := range anew {
		if anew[i] != nil && (best < 0 || costs[i] < costs[best]) {
			best = i
		}
	}
	if best >= 0 {
		fits[best] = anew[best]
		return fits[best]
	}
	return nil
}
