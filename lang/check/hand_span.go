package check

import (
	"fmt"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

var handSpan = &Rule{
	Name:       "hand-span",
	Severities: []Severity{Error, Warning},
	Finds:      "a chord for one hand that has more notes than the hand has mallets, or that lies further apart than two mallets open",
	Means: `A hand strikes as many bars or drums at once as it has mallets, two at the most, and they lie no further apart than the two
open: in comfort some 75 degrees, beyond 120 not at all. On the smallest bars, those of a glockenspiel, that is a ninth in comfort and an octave
and a half at the most; on a xylophone it is a seventh and a tenth, and on the low bars of a marimba a sixth and an octave.`,
	Why: `A chord that one hand cannot strike is rolled, or one of its notes is lost.`,
	Stands: `The width of the bars, and the length of the mallets, less what the hand has of them, both from the catalogue; the two
angles are common practice, no source.`,
	Trips: `tempo 60
player Ida
  R marimba with 2 yarn-mallets | 1:C3+E4
`,
	Passes: `tempo 60
player Ida
  R marimba with 2 yarn-mallets | 1:C3+G3
`,
	each: true,
	Look: func(c *Context) {
		for _, m := range c.Motions {
			c.handSpans(m)
		}
	},
}

func (c *Context) handSpans(m *motion.Result) {
	type key struct {
		cue      *score.Cue
		hand     body.Limb
		few      bool
		severity Severity
	}
	type found struct {
		motion.Spread
		key
		times, lastBar int
		places         []beat.Rat
	}
	var list []*found
	at := map[key]*found{}
	for _, s := range motion.Spreads(m) {
		k := key{cue: s.Event.Cue, hand: s.Hand, few: len(s.Keys) > max(1, s.Holds), severity: Error}
		switch {
		case k.few, s.Cm > s.Widest:
		case s.Cm > s.Easy:
			k.severity = Warning
		default:
			continue
		}
		f := at[k]
		if f == nil {
			f = &found{Spread: s, key: k}
			at[k] = f
			list = append(list, f)
		} else {
			f.times++
			f.lastBar = s.Event.Bar()
		}
		f.places = append(f.places, s.Event.At())
	}
	for _, x := range list {
		e := x.Event
		var keys []string
		for _, k := range x.Keys {
			keys = append(keys, k.String())
		}
		in := e.Cue.Item.Inst
		who, chord := fmt.Sprintf("%s's %s", m.Player.Name, x.Hand.Name()), strings.Join(keys, " and ")
		r := c.At(m, e).With(x.Hand.Name()).and(others{x.times, x.places, max(e.Bar(), x.lastBar)})
		var got *Finding
		switch {
		case x.few && x.Holds == 0:
			got = r.Error("%s has no mallets, and cannot strike %s of the %s at once", who, chord, in.Name())
		case x.few:
			got = r.Error("%s has %s, and cannot strike %s of the %s at once", who, plural(x.Holds, "mallet"), chord, in.Name())
		case x.severity == Error:
			got = r.Error("%s cannot strike %s of the %s at once: they are %.0f cm apart, and two mallets in a hand open to %.0f cm at the most", who, chord, in.Name(), x.Cm, x.Widest)
		default:
			got = r.Warning("%s strikes %s of the %s at once: they are %.0f cm apart, and two mallets in a hand open to %.0f cm in comfort", who, chord, in.Name(), x.Cm, x.Easy)
		}
		if x.few && len(x.Keys) == 2 && x.Mallets != nil && x.Holds == 1 {
			got.Or(c.twoMallets(e.Cue, x.Mallets.ID))
		}
		if e.Cue.Limb.IsHand() || e.Cue.Limb == body.AnyHand {
			got.Or("play it with both hands", limbEdit(e.Cue, body.Together))
		}
		got.OrAccept()
	}
}

// twoMallets is the fix in which a cue takes two mallets in each hand that it has.
func (c *Context) twoMallets(cue *score.Cue, mallet string) (title string, edit Edit) {
	two := syntax.Print(kit.Choice{Implement: mallet, Count: 2}.ThingFor(cue.Limb))
	edit = withEdit(cue, two)
	if c.namesTwo(cue) {
		edit.Start -= len("2 ")
	}
	return "take " + two, edit
}
