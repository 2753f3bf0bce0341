package check

import (
	"math"

	"example.org/handful/lang/body"
	"example.org/handful/lang/room"
	"example.org/handful/lang/score"
)

// A standpoint is where somebody has a thing that others stand at as well.
type standpoint struct {
	player *score.Player
	item   *score.Item
}

// standpoints are, by thing of the kit that everybody shares, those who say where they have it.
func (c *Context) standpoints() (out [][]standpoint) {
	for _, shared := range c.Score.Shared {
		var list []standpoint
		for _, p := range c.Score.Players {
			if p.StandsAt(shared) {
				list = append(list, standpoint{p, p.Item(shared.Name)})
			}
		}
		if len(list) > 1 {
			out = append(out, list)
		}
	}
	return out
}

// sideBySide looks at those who stand at one thing: where each of them has it says where they are
// from one another, and neither they nor what else they have may be in the other's way.
func (c *Context) sideBySide() {
	met := map[[2]*score.Player][2]standpoint{}
	for _, list := range c.standpoints() {
		if n := len(list); n > mostAtOne {
			list = list[:mostAtOne]
			c.tooMany(n, list[mostAtOne-1])
		}
		for k, b := range list {
			for _, a := range list[:k] {
				pair := [2]*score.Player{a.player, b.player}
				if first, ok := met[pair]; ok {
					c.inTwoPlaces(first, a, b)
					continue
				}
				met[pair] = [2]standpoint{a, b}
				c.besideOneAnother(a, b)
			}
		}
	}
}

// A seen is how one of two players sees what the other has, since both stand at one thing.
type seen struct {
	from, to body.Point // the thing, as the other has it and as this one does
	turn     float64    // degrees, clockwise
}

func (a standpoint) sees(b standpoint) seen {
	return seen{b.item.At, a.item.At, a.item.Facing - b.item.Facing}
}

func (s seen) at(p body.Point) body.Point {
	p = room.Spun(p, s.from, s.turn)
	p.Right, p.Ahead = p.Right+s.to.Right-s.from.Right, p.Ahead+s.to.Ahead-s.from.Ahead
	return p
}

func (s seen) bodies(list []room.Body) []room.Body {
	out := make([]room.Body, len(list))
	for i, b := range list {
		out[i] = b.Spun(s.from, s.turn).Moved(s.to.Right-s.from.Right, s.to.Ahead-s.from.Ahead)
	}
	return out
}

// besideOneAnother reports what two players who stand at one thing have in one another.
func (c *Context) besideOneAnother(a, b standpoint) {
	s := a.sees(b)
	at := s.at(body.Point{})
	if far := math.Hypot(at.Right, at.Ahead); far < elbows-0.5 {
		c.In(b.item.Where).Of(b.player).Error("%s and %s would stand %.0f cm from one another at the %s, and need %.0f", a.player.Name, b.player.Name, far, a.item.Called(), elbows).
			Also(a.item.Where, "%s has it here", a.player.Name).OrAccept()
		return
	}
	mine, theirs := apartFrom(a, b), apartFrom(b, a)
	c.inTheWayOf(b, mine, a, b.sees(a))
	c.inTheWayOf(a, theirs, b, s)
	for i := range theirs {
		there := s.bodies(theirs[i].bodies)
		for k := range mine {
			if clash, ok := room.Between(mine[k].bodies, there); ok {
				c.inOneAnother(a, b, &mine[k], &theirs[i], clash)
				break // what it is in first says enough
			}
		}
	}
}

// mostAtOne is for how many people at one thing it is looked at how they stand beside one another:
// more have no room around anything.
const mostAtOne = 16

// tooMany reports that more people have one thing than are looked at.
func (c *Context) tooMany(n int, last standpoint) {
	c.In(last.item.Where).Of(last.player).Error("%d players stand at the %s, and how they stand beside one another is looked at for %d, as far as to %s", n, last.item.Called(), mostAtOne, last.player.Name).OrAccept()
}

// inOneAnother reports two things of two players that stand in one another.
func (c *Context) inOneAnother(a, b standpoint, mine, theirs *standingThing, clash room.Clash) {
	severity, sizes := Error, "no sizes of them have room there"
	if !clash.Sure {
		severity, sizes = Warning, "as large as they usually are"
	}
	c.In(theirs.where).Of(b.player).Says(severity, "%s of %s and %s of %s stand in one another by %.0f cm, since both have the %s: %s",
		theirs.name, b.player.Name, mine.name, a.player.Name, clash.Deep, a.item.Called(), sizes).Also(mine.where, "%s has it here", a.player.Name).OrAccept()
}

// inTheWayOf reports what a player has that stands where somebody does who stands at the same thing.
func (c *Context) inTheWayOf(you standpoint, things []standingThing, of standpoint, s seen) {
	for i := range things {
		if t := &things[i]; room.NearOf(s.bodies(t.bodies), body.Point{}) < room.Toes-1 {
			c.In(t.where).Of(of.player).Error("%s of %s stands where %s does, since both have the %s", t.name, of.player.Name, you.player.Name, of.item.Called()).
				Also(you.item.Where, "%s has it here", you.player.Name).OrAccept()
		}
	}
}

// apartFrom is what a player has that stands, besides what the other one has as well.
func apartFrom(a, b standpoint) (out []standingThing) {
	for _, t := range standing(a.player) {
		if t.item != nil && t.item.Shared {
			if other := b.player.Item(t.item.Name); other != nil && other.Shared {
				continue
			}
		}
		out = append(out, t)
	}
	return out
}

// inTwoPlaces reports a second thing of two players that stands elsewhere than the first one lets it.
func (c *Context) inTwoPlaces(first [2]standpoint, a, b standpoint) {
	to := first[0].sees(first[1]).at(b.item.At)
	far := math.Hypot(to.Right-a.item.At.Right, to.Ahead-a.item.At.Ahead)
	if far < room.Thin {
		return
	}
	c.In(b.item.Where).Of(b.player).Error("the %s would stand in two places, %.0f cm apart: where %s and %s have the %s says where they are from one another",
		b.item.Called(), far, a.player.Name, b.player.Name, first[0].item.Called()).Also(a.item.Where, "%s has it here", a.player.Name).OrAccept()
}

// elbows is how far two people stand from one another at the least, in cm: common practice, no source.
const elbows = 60.0
