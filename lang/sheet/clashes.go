package sheet

import (
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
)

// A clash is two things that one limb cannot do at once, as a sheet shows it.
type clash struct {
	at    beat.Rat
	limb  body.Limb
	words string
}

// clashes lists them by place, each place, limb and reason once.
func (v *part) clashes() []clash {
	seen := map[clash]bool{}
	var out []clash
	for i := range v.m.Conflicts {
		k := &v.m.Conflicts[i]
		limbs := k.A.Limbs & k.B.Limbs
		if limbs.Count() == 0 {
			limbs = k.B.Limbs
		}
		if limbs.Count() == 0 {
			continue
		}
		c := clash{k.B.At(), limbs.First(), clashWords(k)}
		if !seen[c] {
			seen[c] = true
			out = append(out, c)
		}
	}
	slices.SortStableFunc(out, func(a, b clash) int { return a.at.Cmp(b.at) })
	return out
}

func clashWords(k *motion.Conflict) string {
	b := eventName(k.B)
	switch {
	case k.Kind == motion.TwoStations:
		return "! TWO PLACES AT ONCE: " + eventName(k.A) + " and " + b
	case k.Kind == motion.NeedsTwo && k.A == k.B:
		return "! NEEDS BOTH HANDS: roll on " + b
	case k.A == k.B:
		return "! NO HAND FREE: " + b
	}
	return "! TWO AT ONCE: " + eventName(k.A) + " and " + b
}

func eventName(e *motion.Event) string {
	switch {
	case e.Kind == motion.PageTurn:
		return "the page"
	case e.Item() == nil:
		return "something else"
	}
	return e.Item().Called()
}
