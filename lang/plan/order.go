package plan

import (
	"cmp"
	"encoding/binary"
	"slices"
	"strings"

	"example.org/handful/lang/score"
)

// order puts lines into the order in which a plan looks at them. It comes of what is
// written and not of where: what begins first, then what has most to do, then by
// instrument and by the strokes themselves; so that a plan does not depend on which part
// stands first in the file. Where two lines are alike in all of that their names decide,
// and it makes no difference to what is lost.
func (p *piece) order() {
	keys := map[*track]string{}
	for _, t := range p.tracks {
		keys[t] = keyOfStrokes(t.strokes)
	}
	p.lines = slices.Clone(p.tracks)
	slices.SortStableFunc(p.tracks, func(a, b *track) int {
		return cmp.Or(
			cmp.Compare(a.first(), b.first()),
			cmp.Compare(len(b.strokes), len(a.strokes)),
			cmp.Compare(a.inst.ID, b.inst.ID),
			cmp.Compare(keys[a], keys[b]),
			cmp.Compare(a.name, b.name),
			cmp.Compare(a.part.Name, b.part.Name),
		)
	})
	for i, t := range p.tracks {
		t.index = i
	}
}

// first is the bar in which a line begins.
func (t *track) first() int32 {
	if len(t.strokes) == 0 {
		return 0
	}
	return t.strokes[0].Bar
}

// keyOfStrokes is the same for what is written alike.
func keyOfStrokes(strokes []score.Stroke) string {
	var out []byte
	for i := range strokes {
		st := &strokes[i]
		out = binary.AppendVarint(out, st.At.Num())
		out = binary.AppendVarint(out, st.At.Den())
		out = binary.AppendVarint(out, st.End.Num())
		out = binary.AppendVarint(out, st.End.Den())
		out = append(out, byte(st.Dyn), byte(st.Flags), st.Grace, st.Hand)
	}
	return string(out)
}

// inOrderOfPeople is a plan in which those who differ in nothing but their names have what they
// have in the order in which they stand: the first of them has what stands first in the file. So
// to swap their names is to swap their names, and nothing else.
func (j *job) inOrderOfPeople(d *draft) *draft {
	become := j.inPlace(d.all)
	if become == nil {
		return d
	}
	all := slices.Clone(d.all)
	for i := range all {
		if all[i].player >= 0 {
			all[i].player = become[all[i].player]
		}
	}
	before := j.places()
	after := slices.Clone(before)
	for from, to := range become {
		after[to] = before[from]
	}
	j.putBack(after)
	next, err := j.draft(all, d.result)
	if err != nil || len(next.errors()) > len(d.errors()) || len(next.warnings()) > len(d.warnings()) {
		j.putBack(before)
		return d
	}
	for q, r := range j.nearest {
		if who := slices.IndexFunc(j.people, func(p *person) bool { return p.name == r.player }); who >= 0 {
			r.player = j.people[become[who]].name
			j.nearest[q] = r
		}
	}
	return next
}

// inPlace says in whose place everybody comes, if anybody changes places: among those who are
// alike in the order of the lines that each plays most of.
func (j *job) inPlace(all []plays) []int8 {
	var like [][]int8 // those who are alike
	for i := range j.people {
		if at := slices.IndexFunc(like, func(l []int8) bool { return j.alike(j.people[l[0]], j.people[i]) }); at >= 0 {
			like[at] = append(like[at], int8(i))
		} else {
			like = append(like, []int8{int8(i)})
		}
	}
	first := j.firstLines(all)
	become, moved := make([]int8, len(j.people)), false
	for _, group := range like {
		sorted := slices.Clone(group)
		slices.SortStableFunc(sorted, func(a, b int8) int { return cmp.Compare(first[a], first[b]) })
		for i, who := range sorted {
			become[who] = group[i]
			moved = moved || who != group[i]
		}
	}
	if !moved {
		return nil
	}
	return become
}

// firstLines says by person which line is the first in the file of those that they play most of,
// then the first of which they play anything; who plays nothing comes last.
func (j *job) firstLines(all []plays) []int {
	first := slices.Repeat([]int{2 * len(j.lines)}, len(j.people))
	for i, t := range j.lines {
		bars := make([]int, len(j.people))
		for _, q := range t.bars {
			if who := all[q.id].player; who >= 0 {
				bars[who]++
			}
		}
		most := slices.Max(bars)
		for who, n := range bars {
			switch {
			case n == 0:
			case n == most:
				first[who] = min(first[who], i)
			default:
				first[who] = min(first[who], len(j.lines)+i)
			}
		}
	}
	return first
}

// alike says whether two people differ in nothing but their names: neither has anything in the
// file yet, and what is said of both is the same.
func (j *job) alike(a, b *person) bool {
	ours, free := j.saidOf(a)
	theirs, freeToo := j.saidOf(b)
	return free && freeToo && a.profile == b.profile && slices.Equal(ours, theirs)
}

// saidOf is what the file says of a person, and whether it has nothing for them to play and
// nothing that stands there already.
func (j *job) saidOf(p *person) (said []string, free bool) {
	old := j.old.Score.Player(p.name)
	if old == nil {
		return nil, true
	}
	k := j.stays(p.name)
	for _, l := range k.head {
		if !strings.HasPrefix(l, "#") {
			said = append(said, l)
		}
	}
	return said, len(old.Cues)+len(k.kit)+len(k.tail) == 0 && !old.HasKit
}
