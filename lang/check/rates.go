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
	last     beat.Rat
	lastBar  int
	source   string
}

// rates lists, for every cue, the quickest repetition, if it is below the
// steady pace.
func rates(r *Result, m *motion.Result) []rate {
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
	for i := range m.Events {
		e := &m.Events[i]
		if e.Cue == nil || e.Kind == motion.Stop {
			continue
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
			pace, source := pr.Same(), body.Solomon
			switch {
			case bit == motion.RF || bit == motion.LF:
				pace = pr.OneFoot()
				if other := bit ^ (motion.RF | motion.LF); f.Limbs&other != 0 {
					pace = pr.TwoFeet()
				}
			case bit == motion.M:
				continue
			case pair[e.Cue]:
				pace = pr.Alternate()
			}
			if a := apart[e.Cue]; a > pace.Steady {
				// A way's own spacing stands in the same proportion to its floor.
				pace, source = body.Pace{Floor: a * pace.Floor / pace.Steady, Steady: a}, "the catalogue"
			}
			dt := e.T0 - f.T0
			if dt >= pace.Steady-1e-6 {
				run[b] = 0
				continue
			}
			run[b]++
			burst := run[b] <= 2 && bounce[e.Cue] && dt >= 1/pr.BurstRate()-1e-6 && bit&motion.Hands != 0
			k := key{e.Cue, bit}
			w := worst[k]
			if w == nil {
				w = &rate{from: f, to: e, dt: dt, pace: pace, limb: limbWords(bit), burst: burst, source: source, rest: -1}
				worst[k] = w
				order = append(order, k)
			}
			w.rest++
			w.last = e.At()
			w.lastBar = e.Bar()
			if w.burst && !burst || dt < w.dt-1e-6 && burst == w.burst {
				w.from, w.to, w.dt, w.pace, w.burst = f, e, dt, pace, burst
			}
		}
	}
	out := make([]rate, 0, len(order))
	for _, k := range order {
		out = append(out, *worst[k])
	}
	return out
}

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
