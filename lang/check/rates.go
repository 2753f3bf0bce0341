package check

import (
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// A repetition is the worst of the rates of one limb, or of two in turn, in a
// cue; of those that are merely not easy, in all cues on an instrument.
type repetition struct {
	motion.Rate
	others
	severity Severity
	tight    bool // between floor and steady
}

// repetitions sorts a player's rates: the worst of each cue and limb, what one
// of two hands in turn cannot do in place of what both barely can. Weighed says which places are not to be
// looked at; nil is none.
func repetitions(m *motion.Result, weighed func(at beat.Rat) bool) []repetition {
	type key struct {
		cue   *score.Cue
		item  *score.Item
		limbs body.Limbs
	}
	type stroke struct {
		to    *motion.Event
		limbs body.Limbs
	}
	var out []repetition
	at := map[key]int{}
	seen := map[stroke]bool{}
	for _, r := range motion.Rates(m) {
		place := r.Place()
		if weighed != nil && weighed(place.At()) {
			continue
		}
		one := repetition{Rate: r, severity: Warning, tight: r.Gap >= r.Pace.Floor-1e-6, others: others{lastBar: place.Bar(), places: []beat.Rat{place.At()}}}
		k := key{cue: place.Cue, limbs: r.Limbs}
		if place.Cue.Limb == body.RightFirst || place.Cue.Limb == body.LeftFirst {
			k.limbs = body.Hands // each of the two hands and both in turn are one thing
		}
		switch {
		case r.Gap < r.Pace.Limit-1e-6:
			one.severity, one.tight = Error, false
		case one.tight:
			k.cue, k.item = nil, place.Item()
		}
		again := seen[stroke{r.To, k.limbs}] // a stroke may be too fast for the one before and for a whole run
		seen[stroke{r.To, k.limbs}] = true
		i, ok := at[k]
		if !ok {
			at[k] = len(out)
			out = append(out, one)
			continue
		}
		have := &out[i]
		have.places = append(have.places, place.At())
		have.lastBar = max(have.lastBar, place.Bar())
		if !again {
			have.more++
		}
		if worse(&one, have) {
			one.others = have.others
			*have = one
		}
	}
	all := slices.Clone(out)
	return slices.DeleteFunc(out, func(r repetition) bool {
		return r.Turn() && r.severity != Error && slices.ContainsFunc(all, func(o repetition) bool {
			return o.severity == Error && o.Limbs&r.Limbs != 0 && o.To.Item() == r.To.Item()
		})
	})
}

// worse says whether a repetition is to be named rather than another: what
// nobody can before what is at the edge, and then the one that needs the
// slower tempo, the one that comes first, and the longer leap.
func worse(a, b *repetition) bool {
	if a.severity != b.severity {
		return a.severity < b.severity
	}
	share := func(r *repetition) float64 {
		switch {
		case r.severity == Error:
			return r.Gap / r.Pace.Limit
		case r.tight:
			return r.Gap / r.Pace.Steady
		}
		return r.Gap / r.Pace.Floor
	}
	switch x, y := share(a), share(b); {
	case x < y-1e-6 || x > y+1e-6:
		return x < y
	case a.To.T0 != b.To.T0:
		return a.To.T0 < b.To.T0
	}
	return a.Leap > b.Leap+1e-6
}
