package check

import (
	"fmt"
	"math"

	"example.org/handful/lang/room"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

var outOfReach = &Rule{
	Name:       "out-of-reach",
	Severities: []Severity{Error},
	Finds:      "an instrument beyond reach from any station",
	Means: `The kit puts it further away, or higher, than the hand that plays it reaches with its stick, leaning and after one side
step, from wherever the player stands. Of a set, each drum that a stroke names has to be in reach from where the others are.
Either the distance is a slip, or it needs a station: a second place to stand.`,
	Why: `Going there takes time, and time is what the rest of the page is made of.`,
	Stands: `From the shoulder to the grip 60 cm without and 75 cm with leaning, and the stick before it; a side step of up to 60 cm
more. Common practice, no source. Shoulders 141 cm up standing and 108 cm sitting: Gordon et al. 2014, figures from
memory.`,
	Trips: `tempo 96
player Sol
  kit
    snare-drum   on stand at ahead 40
    glockenspiel on stand at right 400 ahead 40
  R snare-drum                       | 1 | - | - | -
  R glockenspiel with plastic-mallet | - | - | - | 4
`,
	Passes: `tempo 96
player Sol
  kit
    station bells          at right 400
    snare-drum    on stand at ahead 40
    glockenspiel  on stand at bells ahead 40
  R snare-drum                       | 1 | - | - | -
  R glockenspiel with plastic-mallet | - | - | - | 4
`,
	each: true,
	Look: func(c *Context) {
		for _, m := range c.Motions {
			for _, it := range m.OutOf {
				if m.Player.Person.Seated && !tooHigh(m.Player, it) {
					continue // cannot-or-never says it of the person
				}
				where, says := it.Where, tooFar(m.Player, it)
				if n, cm := m.Player.Furthest(it); n > 0 && !tooHigh(m.Player, it) {
					where = it.MemberWhere(n)
					says = fmt.Sprintf("%s stands %.0f cm from where %s plays the set: all of it is played from one place", it.Inst.MemberName(n), cm, m.Player.Name)
				}
				f := c.In(where).Of(m.Player).Error("%s", says)
				if it.Where.File == 0 && it.Listed && len(it.Apart) == 0 && !tooHigh(m.Player, it) {
					f.Or("add a station there", Edit{Line: int(it.Where.Line), Text: "    " + syntax.Print(&syntax.Stand{
						Word: syntax.Word("station"), Name: new(syntax.Word(it.Name + "-place")), Spot: syntax.SpotAt("", it.At.Right, it.At.Ahead-stationBefore, 0)}) + "\n"})
				}
				if it.Raised && it.Spot.File == 0 {
					f.orLater(func(f *Finding) { f.orLower(m.Player, it) })
				}
			}
		}
	},
}

// stationBefore is how far before a thing somebody stands who has a station for
// it, in cm: common practice, no source.
const stationBefore = 40.0

// tooHigh says whether no place on the floor helps: the thing is too far up.
func tooHigh(p *score.Player, it *score.Item) bool {
	t := p.Target(it)
	under := t.At
	under.Up = p.Stations[it.Station].At.Up
	return p.Arms().Missing(room.Right, under, t, it.Stick, true) > 0
}

// tooFar says how far away a thing is, or how high.
func tooFar(p *score.Player, it *score.Item) string {
	t := p.Target(it)
	if tooHigh(p, it) {
		return fmt.Sprintf("the %s %s %.0f cm above the floor: nobody's arm gets there from below", it.Called(), it.Inst.Verb("is", "are"), t.At.Up)
	}
	far := math.Inf(1)
	for _, st := range p.Stations {
		far = min(far, math.Hypot(it.At.Right-st.At.Right, it.At.Ahead-st.At.Ahead))
	}
	return fmt.Sprintf("the %s %s %.0f cm from anywhere that %s stands: a station there would do", it.Called(), it.Inst.Verb("stands", "stand"), far, p.Name)
}

// orLower offers to have a thing no higher than it usually is.
func (f *Finding) orLower(p *score.Player, it *score.Item) {
	for _, t := range standing(p) {
		if t.item == it {
			it := *it
			it.Raised, it.At.Up = false, p.Stations[it.Station].At.Up
			t.item, t.one = &it, 0
			f.Or(fmt.Sprintf("have it at its usual height, %.0f cm", p.Target(&it).At.Up), replace(it.Spot, t.spotText(p, 0, 0)))
			return
		}
	}
}
