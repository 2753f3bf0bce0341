package check

import (
	"handful/lang/beat"
	"handful/lang/body"
	"handful/lang/kit"
	"handful/lang/motion"
	"handful/lang/score"
)

// A rate is two strokes of one limb on one instrument, one after the other.
type rate struct {
	from, to *motion.Event
	dt       float64
	pace     body.Pace
	limb     string
	burst    bool // two or three strokes by rebound, where that works
	rest     int  // how many more of the cue are as quick
	lastBar  int
	kind     string // which rate it is
	source   string
}

// rates lists, for every cue, the quickest repetition, if it is below the
// steady pace. Weighed says which places are not to be looked at; nil is none.
func rates(m *motion.Result, weighed func(at beat.Rat) bool) []rate {
	type key struct {
		cue  *score.Cue
		limb uint8
	}
	var order []key
	worst := map[key]*rate{}
	var last [5]int
	var run [5]int // strokes in the present quick run
	for b := range last {
		last[b] = -1
	}
	pr := m.Player.Profile
	apart := map[*score.Cue]float64{}
	pair := map[*score.Cue]bool{}
	bounce := map[*score.Cue]bool{}
	for _, ch := range m.Chosen {
		apart[ch.Cue] = max(apart[ch.Cue], ch.Way.Apart)
		pair[ch.Cue] = pair[ch.Cue] || ch.Choice.Count == 2 && ch.Way.Hands == 1
		bounce[ch.Cue] = ch.Cue.Item.Inst.Family == "membrane" || ch.Way.Mount == kit.Padded
	}
	// add keeps the quickest of a cue's repetitions, one that is no burst first.
	add := func(k key, r rate) {
		if weighed != nil && weighed(r.to.At()) {
			return
		}
		w := worst[k]
		if w == nil {
			r.rest = -1
			worst[k] = &r
			w = &r
			order = append(order, k)
		}
		w.rest++
		w.lastBar = r.to.Bar()
		if w.burst && !r.burst || r.dt < w.dt-1e-6 && r.burst == w.burst {
			w.from, w.to, w.dt, w.pace, w.burst, w.kind = r.from, r.to, r.dt, r.pace, r.burst, r.kind
		}
	}
	prev, foot := -1, -1
	for i := range m.Events {
		e := &m.Events[i]
		if e.Cue == nil || e.Kind.Stops() {
			continue
		}
		if prev >= 0 && (e.Cue.Limb == score.RightFirst || e.Cue.Limb == score.LeftFirst) {
			if f := &m.Events[prev]; f.Cue == e.Cue && f.Kind == motion.Strike && e.Kind == motion.Strike && f.Limbs != e.Limbs {
				pace, dt, kind := pr.HandToHand(), e.T0-f.T0, "hand to hand"
				if g := e.Cue.Strokes[e.Stroke].Grace; g > 0 { // the grace strokes come in the same time
					dt, kind = dt/float64(1+g), "hand to hand, grace strokes counted"
					if bounce[e.Cue] { // where each hand may do its own by rebound
						pace.Floor = min(pace.Floor, 1/pr.BurstRate()/2)
					}
				}
				if dt < pace.Steady-1e-6 {
					add(key{e.Cue, motion.Hands}, rate{from: f, to: e, dt: dt, pace: pace, limb: "hands in turn", kind: kind, source: body.Solomon})
				}
			}
		}
		prev = i
		if e.Limbs&feet != 0 {
			if foot >= 0 {
				f := &m.Events[foot]
				pace, dt := pr.TwoFeet(), e.T0-f.T0
				if f.Cue.Item == e.Cue.Item && f.Limbs&e.Limbs&feet == 0 && dt < pace.Steady-1e-6 {
					add(key{e.Cue, feet}, rate{from: f, to: e, dt: dt, pace: pace, limb: "feet in turn", kind: "two feet", source: body.Solomon})
				}
			}
			foot = i
		}
		for b := range 5 {
			bit := uint8(1) << b
			if e.Limbs&bit == 0 {
				continue
			}
			j := last[b]
			last[b] = i
			if j < 0 {
				continue
			}
			f := &m.Events[j]
			if f.Cue == nil || f.Cue.Item != e.Cue.Item || f.Kind == motion.RollOn {
				run[b] = 0
				continue
			}
			pace, kind, source := pr.Same(), "one hand", body.Solomon
			switch {
			case bit == motion.RF || bit == motion.LF:
				pace, kind = pr.OneFoot(), "one foot"
				if other := bit ^ (motion.RF | motion.LF); f.Limbs&other != 0 {
					pace, kind = pr.TwoFeet(), "two feet"
				}
			case bit == motion.M:
				continue
			case pair[e.Cue]:
				pace, kind = pr.Alternate(), "two mallets in one hand"
			}
			if a := apart[e.Cue]; a > pace.Steady {
				// A way's own spacing stands in the same proportion to its floor.
				pace, kind, source = body.Pace{Floor: a * pace.Floor / pace.Steady, Steady: a}, "this way of playing", "the catalogue"
			}
			dt := e.T0 - f.T0
			if dt >= pace.Steady-1e-6 {
				run[b] = 0
				continue
			}
			run[b]++
			burst := run[b] <= 2 && bounce[e.Cue] && dt >= 1/pr.BurstRate()-1e-6 && bit&motion.Hands != 0
			add(key{e.Cue, bit}, rate{from: f, to: e, dt: dt, pace: pace, limb: limbWords(bit), burst: burst, kind: kind, source: source})
		}
	}
	out := make([]rate, 0, len(order))
	for _, k := range order {
		out = append(out, *worst[k])
	}
	return out
}

// feet are both, as bits.
const feet = motion.RF | motion.LF

func limbWords(bit uint8) string {
	switch bit {
	case motion.R:
		return score.Right.Name()
	case motion.L:
		return score.Left.Name()
	case motion.RF:
		return score.RightFoot.Name()
	case motion.LF:
		return score.LeftFoot.Name()
	}
	return score.Mouth.Name()
}
