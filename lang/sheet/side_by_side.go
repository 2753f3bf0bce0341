package sheet

import (
	"math"
	"slices"

	"example.org/handful/lang/score"
)

// A beside is where somebody stands on the floor of the section, and what of theirs stands there
// already, since somebody else stands at it too.
type beside struct {
	part         *part
	ground       *ground
	right, ahead float64
	there        []*score.Item
	group        int // of those who stand at the same things
	room         extents
}

// extents are how far something goes on the floor.
type extents struct{ left, right, near, far float64 }

// with is how far two things go together, the second one moved.
func (e extents) with(o extents, right, ahead float64) extents {
	return extents{min(e.left, o.left+right), max(e.right, o.right+right), min(e.near, o.near+ahead), max(e.far, o.far+ahead)}
}

// sideBySide puts players beside one another, in the order of the piece. Who stands at what somebody
// else stands at is where that says.
func sideBySide(views []*part, d pen) (list []beside, wide, deep float64) {
	var groups []extents
	for _, v := range views {
		b := beside{part: v, ground: &ground{part: v, d: d}, group: len(groups)}
		b.ground.collect()
		b.ground.addDesks()
		lean := v.p.Profile.Reach
		b.room.left, b.room.right, b.room.near, b.room.far = b.ground.extent(lean, 24, lean)
		for i := range list {
			if b.at(&list[i]) && b.group == len(groups) {
				b.group = list[i].group
			}
		}
		if b.group == len(groups) {
			groups = append(groups, extents{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)})
		}
		groups[b.group] = groups[b.group].with(b.room, b.right, b.ahead)
		list = append(list, b)
	}
	at := besidePlayers
	for n, e := range groups {
		for i := range list {
			if b := &list[i]; b.group == n {
				b.right, b.ahead = b.right+at-e.left, b.ahead+behindPlayers-e.near
			}
		}
		at += e.right - e.left + besidePlayers
		deep = max(deep, e.far-e.near)
	}
	return list, at, deep + behindPlayers + beforePlayers
}

// at says whether somebody stands at a thing of somebody else's, and takes their place from that.
func (b *beside) at(o *beside) (yes bool) {
	for _, shared := range b.part.Shared {
		mine, theirs := b.part.p.Item(shared.Name), o.part.p.Item(shared.Name)
		if !b.part.p.StandsAt(shared) || !o.part.p.StandsAt(shared) || mine.Facing != theirs.Facing {
			continue
		}
		if !yes && len(b.there) == 0 {
			b.right, b.ahead = o.right+theirs.At.Right-mine.At.Right, o.ahead+theirs.At.Ahead-mine.At.Ahead
		}
		b.there, yes = append(b.there, mine), true
	}
	return yes
}

// things are what somebody has on the floor of the section, where it is there.
func (b *beside) things() (out []thing) {
	for _, t := range b.ground.things {
		if t.item != nil && slices.Contains(b.there, t.item) {
			continue
		}
		for i := range t.bodies {
			t.bodies[i] = t.bodies[i].Moved(b.right, b.ahead)
		}
		out = append(out, t)
	}
	return out
}
