package check

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
)

// RuleSharedGear is the name of the rule for things that several people play.
const RuleSharedGear = "shared-gear"

var sharedGear = &Rule{
	Name:       RuleSharedGear,
	Severities: []Severity{Error, Warning},
	Finds:      "two players who need the same instrument at once, or with no time to hand it over, or have no room to stand at it",
	Means: `The instrument is in the kit that everybody shares, so there is one of it. Two players have it at the same moment, or
within three seconds of one another. Where that kit does not say where it stands, those who stand at it each say it in their own:
that says where they are from one another, too, and neither they nor what else they have may stand in one another by true size.`,
	Why: `It is noticed when the second player reaches for an empty place.`,
	Stands: `Three seconds to hand a thing over: common practice, no source. In a player's own kit it is that player's own, unless the shared one has it without a place. 60 cm
from one person to the next, common practice as well.`,
	Trips: `tempo 96
kit
  woodblock clamped at left 30 ahead 40
player Ida
  R woodblock | 1 3
player Per
  R woodblock | 2 4
`,
	Passes: `tempo 96
kit
  woodblock clamped at left 30 ahead 40
player Ida
  R woodblock | 1 3 | - | -
player Per
  R woodblock | - | - | 2 4
`,
	Look: func(c *Context) {
		shared := map[string][]handled{}
		for m, e := range c.Events() {
			if it := e.Item(); it != nil && it.Shared {
				shared[it.Name] = append(shared[it.Name], handled{m, e})
			}
		}
		for _, name := range slices.Sorted(maps.Keys(shared)) {
			for _, x := range closest(shared[name]) {
				c.sharedGear(x)
			}
		}
		c.sideBySide()
	},
}

// What is handled is an event of somebody with a thing that is shared.
type handled struct {
	m *motion.Result
	e *motion.Event
}

// A handover is two people with the same thing one after the other, with
// hardly time between them.
type handover struct {
	from, to handled
	gap      float64
}

// closest are the handovers of a thing with too little time, of each two
// players the one with the least.
func closest(uses []handled) []*handover {
	slices.SortStableFunc(uses, func(a, b handled) int { return cmp.Compare(a.e.T0, b.e.T0) })
	worst := map[[2]*motion.Result]*handover{}
	var out []*handover
	for i := 1; i < len(uses); i++ {
		a, b := uses[i-1], uses[i]
		x := handover{a, b, b.e.T0 - a.e.T1}
		if a.m == b.m || x.gap >= body.HandOver {
			continue
		}
		was := worst[[2]*motion.Result{a.m, b.m}]
		if was == nil {
			worst[[2]*motion.Result{a.m, b.m}], worst[[2]*motion.Result{b.m, a.m}] = &x, &x
			out = append(out, &x)
		} else if x.gap < was.gap {
			*was = x
		}
	}
	return out
}

func (c *Context) sharedGear(x *handover) {
	from, to, thing := x.from.m.Player, x.to.m.Player, x.to.e.Item().Called()
	severity, soon := Warning, ""
	if x.gap <= atOnce {
		severity, soon = Error, ": too soon to hand it over"
	}
	said := fmt.Sprintf("%s has the %s %s before %s needs it, and there is one of it%s", from.Name, thing, seconds(x.gap), to.Name, soon)
	if x.gap <= 0 {
		said = fmt.Sprintf("%s and %s need the %s at once, and there is one of it", from.Name, to.Name, thing)
	}
	c.At(x.to.m, x.to.e).With("").Says(severity, "%s", said).Also(x.from.e.Where(), "%s has it here", from.Name).OrAccept()
}

// atOnce is what is as good as together, in seconds.
const atOnce = 1.0
