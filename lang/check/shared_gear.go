package check

import (
	"fmt"
	"slices"

	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var sharedGear = &Rule{
	Name:       "shared-gear",
	Severities: []Severity{Error, Warning},
	Finds:      "two players who need the same instrument at once, or with no time to hand it over",
	Means: `The instrument is in the kit that everybody shares, so there is one of it. Two players have it at the same moment, or
within three seconds of one another.`,
	Why:    `It is noticed when the second player reaches for an empty place.`,
	Stands: `Three seconds to hand a thing over: common practice, no source. In a player's own kit it is that player's own.`,
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
	check: func(c *Context) {
		type use struct {
			m *motion.Result
			e *motion.Event
		}
		byName := map[string][]use{}
		var order []string
		for _, m := range c.Motions {
			for i := range m.Events {
				if it := m.Events[i].Item(); it != nil && it.Shared {
					if byName[it.Name] == nil {
						order = append(order, it.Name)
					}
					byName[it.Name] = append(byName[it.Name], use{m, &m.Events[i]})
				}
			}
		}
		slices.Sort(order)
		for _, name := range order {
			uses := byName[name]
			slices.SortStableFunc(uses, func(a, b use) int {
				switch {
				case a.e.T0 < b.e.T0:
					return -1
				case a.e.T0 > b.e.T0:
					return 1
				}
				return 0
			})
			type pair struct{ a, b *score.Player }
			type meeting struct {
				a, b use
				gap  float64
			}
			worst := map[pair]*meeting{} // the closest of each two players
			var met []*meeting
			for i := 1; i < len(uses); i++ {
				a, b := uses[i-1], uses[i]
				gap := b.e.T0 - a.e.T1
				if a.m == b.m || gap >= handOver {
					continue
				}
				p := pair{a.m.Player, b.m.Player}
				if worst[pair{p.b, p.a}] != nil {
					p = pair{p.b, p.a}
				}
				if was := worst[p]; was == nil {
					worst[p] = &meeting{a, b, gap}
					met = append(met, worst[p])
				} else if gap < was.gap {
					*was = meeting{a, b, gap}
				}
			}
			for _, x := range met {
				a, b, gap := x.a, x.b, x.gap
				f := Finding{Severity: Warning, Where: b.e.Where(), Player: b.m.Player.Name,
					Message: fmt.Sprintf("%s has the %s %s before %s needs it, and there is one of it", a.m.Player.Name, b.e.Item().Inst.Name(), seconds(max(0, gap)), b.m.Player.Name)}
				if gap <= atOnce {
					f.Severity = Error
					if gap > 0 {
						f.Message += ": too soon to hand it over"
					}
				}
				if gap <= 0 {
					f.Message = fmt.Sprintf("%s and %s need the %s at once, and there is one of it", a.m.Player.Name, b.m.Player.Name, b.e.Item().Inst.Name())
				}
				f.place(c.Score, b.e.At())
				f.Related = append(f.Related, note(a.e.Where(), a.m.Player.Name+" has it here"))
				c.proposeAccept(c.report(f))
			}
		}
	},
}

// handOver is how long it takes to hand a thing to somebody else, and atOnce
// what is as good as together, in seconds.
const (
	handOver = 3.0
	atOnce   = 1.0
)
