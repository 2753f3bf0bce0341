package check

import (
	"math"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var needlessCompromise = &Rule{
	Name:       "needless-compromise",
	Severities: []Severity{Warning},
	Finds:      "a compromise where both hands are free for the usual way",
	Means: `The cue asks for a mount that costs sound, or for one hand on what takes two, and from two seconds before its first
stroke to two seconds after its last neither of the player's hands has anything else to do: the instrument could be
held and played as it should be.`,
	Why:    `A clipped triangle in an empty bar is only habit.`,
	Stands: `Two seconds are what taking up a held instrument needs, by the motion times of short-change, with some over.`,
	Trips: `tempo 96
player Ida
  R triangle clipped with triangle-beater | 1 3
`,
	Passes: `tempo 96
player Ida
  R triangle clipped with triangle-beater | 1 3
  L woodblock clamped                     | 2 4
`,
	each: true,
	Look: func(c *Context) {
		for _, m := range c.Motions {
			if m.Player.Person.Without == 0 { // else one hand holds it, and there is none to strike it
				c.needlessCompromises(m)
			}
		}
	},
}

// needlessCompromises tells once of every instrument and way.
func (c *Context) needlessCompromises(m *motion.Result) {
	type played struct {
		inst *kit.Instrument
		way  *kit.Way
	}
	type needless struct {
		others
		*motion.Chosen
		could, instead string
	}
	costly := costlyWays(m)
	if len(costly) == 0 {
		return
	}
	free := alone(m, costly)
	found := map[played]*needless{}
	var order []*needless
	for _, ch := range costly {
		cue := ch.Cue
		if !free.has(cue) {
			continue
		}
		x := &needless{Chosen: ch, could: "could hold it instead", instead: "hold it"}
		if !c.onlyMounted(cue, ch.Way) {
			x.could, x.instead = "could play it with both", "play it with both hands"
			if !c.oneOfTwo(cue, ch.Way) {
				continue
			}
		}
		if c.weighed(m.Player.Name, ch.First.At()) {
			continue
		}
		if first := found[played{cue.Item.Inst, ch.Way}]; first != nil {
			first.more++
			first.lastBar = ch.First.Bar()
			first.places = append(first.places, ch.First.At())
			continue
		}
		found[played{cue.Item.Inst, ch.Way}], order = x, append(order, x)
	}
	for _, x := range order {
		c.AtCue(x.Cue).When(x.First.At()).and(x.others).Warning("%s has both hands for the %s here, and %s: %s",
			m.Player.Name, x.Cue.Item.Called(), x.could, x.Way.Costs).Or(x.instead, mountEdit(x.Cue, kit.Held)).OrAccept()
	}
}

// costlyWays are the ways of playing with one hand that cost sound, of what stands for
// nothing else.
func costlyWays(m *motion.Result) (list []*motion.Chosen) {
	for i := range m.Chosen {
		ch := &m.Chosen[i]
		if ch.Way.Costs != "" && ch.Cue.For == nil && !ch.Substitute && !ch.Cue.Limb.TwoHands() && ch.First.Limbs&body.Hands != 0 {
			list = append(list, ch)
		}
	}
	return list
}

// onlyMounted says whether a cue asks for a mount in place of the hand that
// usually holds the thing.
func (c *Context) onlyMounted(cue *score.Cue, w *kit.Way) bool {
	usual := cue.Item.Inst.Usual()
	return cue.Mount != kit.AnyMount && cue.Item.Mount == kit.AnyMount && usual.Mount != w.Mount && usual.Mount == kit.Held &&
		(len(cue.With) == 0 || listsWith(cue.Item.Inst, kit.Held, c.Score.Catalogue.PlaysAs(cue.With[0])))
}

// oneOfTwo says whether a cue asks for one hand, and no more than that, on a
// held thing that two play at no cost.
func (c *Context) oneOfTwo(cue *score.Cue, w *kit.Way) bool {
	return cue.Asks != nil && cue.Asks.Ask == kit.Ask{OneHand: true} && w.Mount == kit.Held && slices.ContainsFunc(cue.Item.Inst.Ways, func(o *kit.Way) bool {
		return o.Limb == kit.Hand && o.Mount == kit.Held && o.Hands == 2 && o.Costs == "" && o.Named == "" &&
			(len(cue.With) == 0 || o.Lists(c.Score.Catalogue.PlaysAs(cue.With[0])))
	})
}

// handRoom is how long the other hand should be free before and after, in
// seconds.
const handRoom = 2.0

// freely says of some cues whether they are played while the hands do nothing else.
type freely struct {
	number map[*score.Cue]int
	is     []handsAt
}

// handsAt is what the hands have to do during a cue, and just before and after it.
type handsAt uint8

const (
	notPlayed handsAt = iota
	nothingElse
	somethingElse
)

func (f *freely) has(cue *score.Cue) bool { return f.is[f.number[cue]] == nothingElse }

// alone finds during which of the cues of some ways the player does nothing else with the
// hands, nor just before or after any of their strokes.
func alone(m *motion.Result, ways []*motion.Chosen) *freely {
	free := freely{make(map[*score.Cue]int, len(ways)), make([]handsAt, len(ways)+1)}
	for i, ch := range ways {
		free.number[ch.Cue] = i + 1 // whoever is not asked for has none, and is the first
	}
	type busy struct {
		cue    *score.Cue
		number int
		until  float64
	}
	// The two cues that kept the hands busy longest so far: one of them is not
	// the present one.
	first, second := busy{until: math.Inf(-1)}, busy{until: math.Inf(-1)}
	for i := range m.Events {
		e := &m.Events[i]
		if e.Limbs&body.Hands == 0 {
			continue
		}
		var n int
		switch e.Cue {
		case first.cue:
			n = first.number
		case second.cue:
			n = second.number
		default:
			n = free.number[e.Cue]
		}
		if free.is[n] == notPlayed {
			free.is[n] = nothingElse
		}
		for _, b := range [...]*busy{&first, &second} {
			if b.cue != e.Cue && e.T0 < b.until+handRoom {
				free.is[n], free.is[b.number] = somethingElse, somethingElse
			}
		}
		switch {
		case first.cue == e.Cue:
			first.until = max(first.until, e.T1)
		case e.T1 >= first.until:
			first, second = busy{e.Cue, n, e.T1}, first
		case second.cue == e.Cue || e.T1 >= second.until:
			second = busy{e.Cue, n, max(e.T1, second.until)}
		}
	}
	return &free
}
