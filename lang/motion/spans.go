package motion

import (
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/score"
)

// A Spread is a stroke at which one hand strikes several bars or drums, or is
// asked for more than it can.
type Spread struct {
	Event   *Event
	Hand    body.Limb
	Keys    []score.Key
	Holds   int     // mallets that the hand has
	Cm      float64 // from the first to the last
	Easy    float64 // how far two mallets open in comfort, cm
	Widest  float64 // … and at all
	Mallets *kit.Implement
}

// Spreads lists every stroke at which a hand strikes more than one bar or drum,
// in played order.
func Spreads(r *Result) []Spread {
	var out []Spread
	for i := range r.Events {
		e := &r.Events[i]
		if e.Cue == nil || e.Cue.Struck == nil || e.Kind.Stops() || e.Limbs&droppedBit != 0 {
			continue
		}
		for h := range 2 {
			if e.Limbs&(1<<h) == 0 {
				continue
			}
			x := struck(r.laid, e, h)
			if x == nil || x.count() < 2 {
				continue
			}
			holds := r.HoldsAt(body.Limb(h), e.T0)
			s := Spread{Event: e, Hand: body.Limb(h), Keys: r.Strikes(e, body.Limb(h)), Cm: x.span, Mallets: holds.Implement}
			if s.Mallets != nil {
				s.Holds = max(1, holds.Count)
				if holds.Two() {
					s.Holds++
				}
				s.Easy, s.Widest = body.Spread(s.Mallets.Length)
			} else {
				s.Easy, s.Widest = body.Spread(0)
			}
			out = append(out, s)
		}
	}
	return out
}
