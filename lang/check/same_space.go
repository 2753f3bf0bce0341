package check

import (
	"fmt"
	"math"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/room"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

var sameSpace = &Rule{
	Name:       "same-space",
	Severities: []Severity{Error, Warning},
	Finds:      "two things of a kit that stand in one another",
	Means: `The kit gives two bodies the same space: by their usual sizes they overlap. An edge may hang over something lower as far
as the catalogue says, a cymbal over a drum's rim, a clamped block over a bass drum; a table, and what lies on one, over
nothing that is struck close below it. It is an error where they would
overlap even if both were as small as such things come, of what hangs over others the post of its stand alone; else a
warning, and so for tables, of which nobody says how large they are.`,
	Why:    `It is found out at the load-in, with the pit half built, and every reach that was practised changes.`,
	Stands: `Sizes and heights of the catalogue, which vary by some 30 %: common practice, no source. Less than 2 cm is not told.`,
	Trips: `tempo 96
player Ida
  kit
    snare-drum   on stand at ahead 50
    glockenspiel on stand at right 20 ahead 50
  R snare-drum with snare-stick | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  kit
    snare-drum       on stand at ahead 50
    glockenspiel     on stand at right 60 ahead 50
    suspended-cymbal on stand at left 30 ahead 60
  R snare-drum with snare-stick | 1 2 3 4
`,
	Look: func(c *Context) {
		for _, m := range c.Motions {
			things := standing(m.Player)
			for k := range things {
				for i := range k {
					a, b := &things[i], &things[k]
					if a.partOf(b) {
						continue
					}
					if clash, ok := room.Between(a.bodies, b.bodies); ok && c.Once(nil, [2]score.Where{a.where, b.where}) { // a shared kit is everybody's, and told of once
						c.sameSpace(m, things, i, k, clash)
					}
				}
			}
		}
	},
}

// A standing thing is one that the text places: an instrument or a table.
type standingThing struct {
	name   string
	item   *score.Item  // nil: a table
	one    int          // of a set whose drums are placed one by one, which; 0: the whole
	table  *score.Table // nil: an instrument
	bodies []room.Body
	where  score.Where // its line
	spot   score.Where // the words that place it
	you    body.Point  // where whoever plays it stands
}

func (t *standingThing) partOf(o *standingThing) bool {
	switch {
	case t.item == nil || o.item == nil:
		return false
	case t.item == o.item: // what the text does not place stands as such sets do
		return t.spot.End == 0 || o.spot.End == 0
	}
	return room.Shares(t.item.Inst, o.item.Inst)
}

// verb is what a thing does where it is.
func (t *standingThing) verb() string {
	if t.item != nil && t.one == 0 {
		return t.item.Inst.Verb("stands", "stand")
	}
	return "stands"
}

func standing(p *score.Player) []standingThing {
	var list []standingThing
	for _, it := range p.Items {
		if !it.Placed {
			continue
		}
		bodies := p.BodiesOf(it)
		whole := standingThing{name: "the " + it.Called(), item: it, bodies: bodies, where: it.Where, spot: it.Spot, you: p.SpotOf(it).You}
		if len(it.Apart) == 0 {
			list = append(list, whole)
			continue
		}
		for i := range bodies {
			t := whole
			t.one, t.name, t.spot, t.bodies = i+1, it.Inst.MemberName(i+1), score.Where{}, bodies[i:i+1]
			if k := slices.IndexFunc(it.Apart, func(a score.Apart) bool { return a.N == i+1 }); k >= 0 {
				t.where, t.spot = it.Apart[k].Where, it.Apart[k].Spot
			}
			list = append(list, t)
		}
	}
	for i := range p.Tables {
		t := &p.Tables[i]
		if t.Assumed {
			continue
		}
		list = append(list, standingThing{name: "the table", table: t, bodies: []room.Body{room.Table(t.At, t.Facing)}, where: t.Where, spot: t.Spot, you: p.Stations[t.Station].At})
	}
	return list
}

func (c *Context) sameSpace(m *motion.Result, things []standingThing, i, k int, clash room.Clash) {
	a, b := &things[i], &things[k]
	upper, lower, beneath := a, b, "which is to be played beneath it"
	if clash.Hangs == 2 {
		upper, lower = b, a
	}
	if lower.table != nil {
		beneath = "from which things are to be taken"
	}
	r := c.In(b.where).Of(m.Player)
	var f *Finding
	switch {
	case clash.Sure:
		f = r.Error("%s and %s stand in one another by %.0f cm: no sizes of them have room there", a.name, b.name, clash.Deep)
	case clash.Hangs > 0:
		f = r.Warning("%s hangs %.0f cm too far over %s, %s", upper.name, clash.Deep, lower.name, beneath)
	default:
		f = r.Warning("%s and %s stand in one another by %.0f cm, as large as they usually are: small ones may have room", a.name, b.name, clash.Deep)
	}
	f.Also(a.where, "%s %s here", a.name, a.verb()).orLater(func(f *Finding) { f.orMove(m.Player, things, i, k) }).OrAccept()
}

// orMove offers the shortest move of the one or the other to where it stands in
// nothing else and can still be reached.
func (f *Finding) orMove(p *score.Player, things []standingThing, i, k int) {
	type move struct {
		thing        *standingThing
		right, ahead float64
	}
	var moves []move
	for _, at := range [2]int{k, i} {
		t := &things[at]
		if t.spot.End == 0 || t.spot.File != 0 {
			continue
		}
		others := append(make([]room.Body, 0, 2*len(things)), things[i+k-at].bodies...) // which is mostly in the way still
		for o := range things {
			if o != at && o != i+k-at && !t.partOf(&things[o]) {
				others = append(others, things[o].bodies...)
			}
		}
		serves := reachedFrom(p, t)
		var there []room.Body
		right, ahead, ok := room.LeastMove(1, func(right, ahead float64) bool {
			there = t.put(right, ahead, there)
			return room.AllFree(there, others) && serves(right, ahead)
		})
		if ok {
			moves = append(moves, move{t, right, ahead})
		}
	}
	if len(moves) == 2 && math.Hypot(moves[1].right, moves[1].ahead) < math.Hypot(moves[0].right, moves[0].ahead)-0.5 {
		moves[0], moves[1] = moves[1], moves[0]
	}
	for _, mv := range moves {
		f.Or(fmt.Sprintf("move %s %s", mv.thing.name, moveWords(mv.right, mv.ahead)), replace(mv.thing.spot, mv.thing.spotText(p, mv.right, mv.ahead)))
	}
}

// put is the bodies of a thing after a move.
func (t *standingThing) put(right, ahead float64, into []room.Body) []room.Body {
	if t.table != nil {
		return append(into[:0], t.bodies[0].Moved(right, ahead))
	}
	return room.Put(t.bodies, right, ahead, t.you, into)
}

// at is where an instrument, or one of a set, is struck.
func (t *standingThing) at() body.Point {
	if t.one > 0 {
		return t.item.MemberAt(t.one)
	}
	return t.item.At
}

// reachedFrom says whether a thing that is moved is as well within reach of
// those who need it as can be: within reach, or no further than it was.
func reachedFrom(p *score.Player, t *standingThing) func(right, ahead float64) bool {
	far := func(at body.Point) float64 { return math.Hypot(at.Right-t.you.Right, at.Ahead-t.you.Ahead) }
	if t.table != nil {
		was := max(far(t.table.At), p.Profile.Lean)
		return func(right, ahead float64) bool {
			there := t.bodies[0].Moved(right, ahead)
			return far(there.At) <= was && there.Near(t.you) >= min(room.Toes, t.bodies[0].Near(t.you))
		}
	}
	var hands [2]bool
	foot := false
	for _, cue := range p.Cues {
		if cue.Item != t.item {
			continue
		}
		foot = foot || cue.Limb == body.RightFoot || cue.Limb == body.LeftFoot
		hands[0] = hands[0] || cue.Limb == body.Right || cue.Limb.TwoHands() || cue.Limb == body.AnyHand
		hands[1] = hands[1] || cue.Limb == body.Left || cue.Limb.TwoHands() || cue.Limb == body.AnyHand
	}
	arms, was := p.Arms(), p.Target(t.item)
	was.At.Right, was.At.Ahead = t.at().Right, t.at().Ahead
	return func(right, ahead float64) bool {
		to := was
		to.At.Right += right
		to.At.Ahead += ahead
		if foot && far(to.At) > max(far(was.At), p.Profile.Reach) {
			return false
		}
		for h, plays := range hands {
			if plays && arms.Missing(h, t.you, to, t.item.Stick, true) > max(0, arms.Missing(h, t.you, was, t.item.Stick, true)) {
				return false
			}
		}
		return true
	}
}

// spotText writes a thing's place after a move.
func (t *standingThing) spotText(p *score.Player, right, ahead float64) string {
	at, facing, station := body.Point{}, 0.0, 0
	raised := false
	usual := 0.0
	if t.table != nil {
		at, facing, station, usual = t.table.At, t.table.Facing, t.table.Station, room.TableHeight
	} else {
		at, facing, station, raised = t.at(), t.item.Facing, t.item.Station, t.item.Raised
		if t.one > 0 {
			facing, raised = 0, false
		}
		usual = room.Height(t.item.Inst, t.item.Stands, room.Spot{})
	}
	st := p.Stations[station]
	up := at.Up - st.At.Up
	if raised || t.table != nil && up > 0 {
		up += usual
	}
	text := syntax.Print(syntax.SpotAt(st.Name, at.Right+right-st.At.Right, at.Ahead+ahead-st.At.Ahead, up))
	if facing != 0 {
		text += " facing " + syntax.Print(syntax.Facing(facing))
	}
	return text
}

func moveWords(right, ahead float64) string {
	say := func(v float64, plus, minus string) string {
		if v < 0 {
			return fmt.Sprintf("%.0f cm %s", -v, minus)
		}
		return fmt.Sprintf("%.0f cm %s", v, plus)
	}
	x, y := say(right, "to the right", "to the left"), say(ahead, "ahead", "back")
	switch {
	case right == 0:
		return y
	case ahead == 0:
		return x
	}
	return x + " and " + y
}
