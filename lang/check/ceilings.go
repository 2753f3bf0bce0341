package check

import (
	"fmt"
	"math"
	"strconv"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// A Bound is a tempo that something sets, at a place.
type Bound struct {
	// Factor is the multiple of the written tempo: +Inf where nothing up to
	// [Furthest] sets one, 0 where no tempo would do.
	Factor float64
	// CountsPerMinute is that tempo at the place that sets it.
	CountsPerMinute float64
	Place           string // bar.count
	At              beat.Rat
	Words           string // what sets it
}

// None says whether nothing sets the bound.
func (b *Bound) None() bool { return math.IsInf(b.Factor, 1) }

// Never says whether no tempo would do.
func (b *Bound) Never() bool { return b.Factor <= 0 }

// Furthest is up to which multiple of the written tempo a bound is looked for.
const Furthest = 10

// A Ceiling is how fast one player can take the piece. Both bounds count
// everything that can fail, strokes too, and are the same whatever tempo is
// supposed.
type Ceiling struct {
	Player string
	// Edge is up to where nothing is at the edge: what a conductor can ask for.
	Edge Bound
	// Cannot is above where somebody cannot.
	Cannot Bound
}

// Ceilings says how fast each player can take the piece.
func (r *Result) Ceilings() []Ceiling {
	out := make([]Ceiling, 0, len(r.Motions))
	scarce := r.scarce()
	for _, m := range r.Motions {
		out = append(out, r.ceiling(m, scarce))
	}
	return out
}

func (r *Result) ceiling(m *motion.Result, scarce []scarcity) Ceiling {
	cannot, edge := bound(&m.Cannot), bound(&m.Edge)
	lower := func(b *Bound, factor float64, at beat.Rat, words string) {
		if factor < b.Factor || factor == b.Factor && b.Words == "" {
			*b = Bound{Factor: factor, At: at, Words: words}
		}
	}
	both := func(need body.Pace, gap float64, at beat.Rat, words string) {
		if need.Limit > 0 {
			lower(&cannot, gap/need.Limit, at, words)
		}
		if need.Floor > 0 {
			lower(&edge, gap/need.Floor, at, words)
		}
	}
	rateEdge, rateCannot := m.RateCeilings()
	for _, c := range []struct {
		bound *Bound
		rate  *motion.RateCeiling
	}{{&edge, &rateEdge}, {&cannot, &rateCannot}} {
		if r := &c.rate.Rate; c.rate.Factor < c.bound.Factor {
			lower(c.bound, c.rate.Factor, r.Place().At(), "the strokes of the "+limbsInTurn(r.Limbs)+" on the "+r.To.Item().Called())
		}
	}
	eachPedal(m, func(from, to *motion.Event, _ body.Limb) bool {
		both(pedalToPedal(m.Player), to.T0-from.T1, to.At(), "the foot on its way to the "+to.Item().Called())
		return true
	})
	for _, k := range m.Conflicts {
		lower(&cannot, 0, k.B.At(), clashWords(&k))
	}
	if f, s := gearLimit(scarce, m, Furthest/r.supposed()); !math.IsInf(f, 1) {
		lower(&cannot, f, s.by.e.At(), "how little there is of the "+s.gear.Name())
	}
	for _, a := range r.refusals(m) {
		lower(&cannot, 0, a.at, a.words)
	}
	for i := range r.Findings {
		if at, ok := r.noTempoMends(&r.Findings[i], m); ok && cannot.Factor > 0 {
			lower(&cannot, 0, at, r.Findings[i].Message())
		}
	}
	if cannot.Factor < edge.Factor {
		edge = cannot
	}
	return Ceiling{Player: m.Player.Name, Edge: r.tempo(edge), Cannot: r.tempo(cannot)}
}

// noTempoMends says whether a finding is an error of a player at any tempo, and
// where.
func (r *Result) noTempoMends(f *Finding, m *motion.Result) (at beat.Rat, ok bool) {
	if f.Severity != Error || f.Player != m.Player.Name || f.Timed ||
		f.Rule == notEnoughGear || // there may be a tempo at which it is carried over in time
		f.Rule == sameSpace { // what is to be moved is no matter of tempo
		return at, false
	}
	if !f.HasPlace {
		if len(m.Events) == 0 || f.Rule.text {
			return at, false
		}
		return m.Events[0].At(), true // of all of it
	}
	return f.At, true
}

// clashWords says what a conflict is between.
func clashWords(k *motion.Conflict) string {
	a, b := toDo(k.A), toDo(k.B)
	switch {
	case k.A == k.B && k.Kind == motion.NoHand:
		return "no hand is free to " + b
	case k.A == k.B:
		return "no way to " + b
	case a == b:
		return "to " + b + " twice at once"
	}
	return "to " + a + " and " + b + " at once"
}

// bound is what the path says of a ceiling.
func bound(c *motion.Ceiling) Bound {
	b := Bound{Factor: c.Factor}
	if l := c.At; l != nil {
		b.At = l.To.At()
		b.Words = "the " + l.Hand.Name() + " on its way " + destination(l.To)
		if re := l.Retunes; re != nil {
			b.Words = fmt.Sprintf("to tune kettle %d from %s to %s", re.Kettle, re.From, re.To)
		}
	}
	return b
}

// supposed is the multiple of the written tempo at which the piece was checked.
func (r *Result) supposed() float64 {
	if f := r.opt.Score.TempoFactor; f > 0 {
		return f
	}
	return 1
}

// tempo works out the counts a minute of a bound. The score may be bound at a
// multiple of what is written.
func (r *Result) tempo(b Bound) Bound {
	supposed := r.supposed()
	if b.Factor*supposed > Furthest {
		return Bound{Factor: math.Inf(1)}
	}
	b.Place = r.Score.Place(b.At)
	b.CountsPerMinute = b.Factor * r.Score.Tempo.At(b.At) / unitAt(r.Score, b.At).Float()
	b.Factor *= supposed
	return b
}

func unitAt(s *score.Score, at beat.Rat) beat.Rat {
	bar, place := s.Grid.Place(at)
	return s.Grid.Meter(bar).CountLength(place.Beat)
}

// Says is the ceiling in words.
func (r *Result) Says(c *Ceiling) string {
	switch {
	case c.Cannot.Never():
		return fmt.Sprintf("cannot be played at any tempo: %s, at %s", c.Cannot.Words, c.Cannot.Place)
	case c.Cannot.None() && c.Edge.None():
		return fmt.Sprintf("nothing here limits the tempo, up to %d times what is written", Furthest)
	case c.Cannot.None():
		return r.edgeWords(c) + "; nothing is out of reach"
	}
	return r.edgeWords(c) + "; cannot above " + r.boundWords(&c.Cannot)
}

func (r *Result) edgeWords(c *Ceiling) string {
	e := &c.Edge
	switch {
	case e.None():
		return "nothing is at the edge"
	case e.Never():
		return fmt.Sprintf("at the edge at any tempo: %s, at %s", e.Words, e.Place)
	}
	return "nothing is at the edge up to " + r.boundWords(e)
}

// boundWords says at which tempo a bound is, and what sets it.
func (r *Result) boundWords(b *Bound) string {
	return r.TempoWords(b) + " (" + strconv.FormatFloat(RoundDown(b.Factor, 100), 'f', 2, 64) + " × the written tempo): " + b.Words + ", at " + b.Place
}

// TempoWords is the tempo of a bound, rounded down.
func (r *Result) TempoWords(b *Bound) string {
	return unitAt(r.Score, b.At).String() + " = " + strconv.FormatFloat(RoundDown(b.CountsPerMinute, 1), 'f', 0, 64)
}

// RoundDown rounds down to whole parts of one, so that what is said to go does
// go, but for what floating point takes off a whole number.
func RoundDown(x, parts float64) float64 { return math.Floor(x*parts+1e-6) / parts }
