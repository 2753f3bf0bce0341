package check

import (
	"fmt"
	"math/bits"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// Context is what a rule looks at and reports to, and the words it does so in:
//
//	for m, e := range c.Events() {
//		if e.Kind == motion.PageTurn && c.Once(m, e.Action) {
//			c.At(m, e).Warning("%s turns a page here", m.Player.Name).Also(where, "this one").OrAccept()
//		}
//	}
//
// What it goes over is in each.go, where a report begins and how it is said
// here, and the fixes that it may offer in offers.go.
type Context struct {
	*Result
	rule     *Rule
	findings []Finding
	accepted []bool    // which acceptances met a finding
	names    []string  // of all rules
	folding  []derived // what is told with a conflict
	clashes  map[clashKey]*motion.Conflict
	nearlyBy *Rule         // that found nearly
	nearly   []changeGroup // changes that are tight, but hardly: see thin-margin

	landmarks map[landmark]bool // see marked
	once      map[toldOnce]bool // see Once
	old       *Result           // what was found before, where that still holds
	otherTime *Result           // likewise, for rules that do not ask for time
	keeps     kept              // what the running rule finds of each player
	keeping   *kept             // that, where the rule looks at each
}

func (c *Context) run(rule *Rule) {
	c.rule = rule
	clear(c.once)
	rule.Look(c)
}

type toldOnce struct {
	of   *motion.Result
	what any
}

// Once says, of one player and one thing, the first time that the running rule
// asks and no more: what is told once is no news at its other places.
func (c *Context) Once(m *motion.Result, what any) bool {
	key := toldOnce{m, what}
	if c.once[key] {
		return false
	}
	if c.once == nil {
		c.once = map[toldOnce]bool{}
	}
	c.once[key] = true
	return true
}

// A Report is a finding that is not said yet: where it is, whose, and how long
// it takes.
type Report struct {
	c  *Context
	f  Finding
	on uint64 // the passes on which it is so, 0 is all
}

// In begins a report at a place in the text.
func (c *Context) In(w score.Where) Report { return Report{c: c, f: Finding{Where: w, in: c}} }

// At begins a report at something that a player plays.
func (c *Context) At(m *motion.Result, e *motion.Event) Report {
	r := c.In(e.Where()).Of(m.Player).When(e.At())
	if e.Cue != nil {
		return r.With(e.Cue.Limb.Name())
	}
	return r.With(limbOf(e.Limbs))
}

// AtCue begins a report at a cue's line and, in the music, at its first stroke.
func (c *Context) AtCue(cue *score.Cue) Report {
	r := c.In(cue.Where).Of(cue.Player).With(cue.Limb.Name())
	if len(cue.Strokes) > 0 {
		return r.When(cue.Strokes[0].At)
	}
	return r
}

// AtStroke begins a report at one of a cue's strokes.
func (c *Context) AtStroke(cue *score.Cue, st *score.Stroke) Report {
	return c.In(st.Where()).Of(cue.Player).With(cue.Limb.Name()).When(st.At)
}

// AtChange begins a report at what a change is for. It names where the limb
// comes from, on which passes it is so, and how many more changes are like it.
func (c *Context) AtChange(g *changeGroup) Report {
	ch := g.Change
	r := c.In(ch.To.Where()).Of(g.player.Player).With(ch.Hand.Name()).When(ch.To.At()).and(g.others)
	if !g.seam { // that says between which bars it is
		r.on = g.passes
	}
	switch {
	case ch.From == nil || ch.From.Where() == ch.To.Where():
	case ch.Retunes != nil:
		r.f.Related = append(r.f.Related, note(ch.From.Where(), "kettle %d is struck last here, at %s", ch.Retunes.Kettle, c.Score.Place(ch.From.At())))
	default:
		r.f.Related = append(r.f.Related, note(ch.From.Where(), "the %s comes from here, at %s", ch.Hand.Name(), c.Score.Place(ch.From.At())))
	}
	return r
}

// AtConflict begins a report at the later of two things that do not go
// together, and names the other one.
func (c *Context) AtConflict(k *conflictGroup) Report {
	r := c.In(k.B.Where()).Of(k.player.Player).With(limbOf(k.B.Limbs)).When(k.B.At()).and(k.others)
	r.on, r.f.clashes = k.passes, k.all
	if k.A != k.B && k.A.Where() != k.B.Where() {
		r.f.Related = append(r.f.Related, note(k.A.Where(), "the other one, at %s", c.Score.Place(k.A.At())))
	}
	return r
}

// On puts the report to another place in the text.
func (r Report) On(w score.Where) Report { r.f.Where = w; return r }

// When puts it to another place in the music.
func (r Report) When(at beat.Rat) Report { r.f.place(r.c.Score, at); return r }

// Of says whose it is.
func (r Report) Of(p *score.Player) Report { r.f.Player = p.Name; return r }

// With says with which limb, in words.
func (r Report) With(limb string) Report { r.f.Limb = limb; return r }

// Needs says what it takes, in what time, and of which motions that is made.
func (r Report) Needs(need body.Pace, window float64, sums ...Sum) Report {
	r.f.Need, r.f.Window, r.f.Timed, r.f.Sums = need, window, true, sums
	return r
}

// Timed says what a change takes.
func (r Report) Timed(ch *motion.Change) Report {
	r = r.Needs(ch.Need, ch.Window)
	for _, m := range ch.Motions {
		r.f.Sums = append(r.f.Sums, Sum{m.Words, m.Code, m.Pace, m.Source})
	}
	return r
}

// and has it told with how many more places are like it.
func (r Report) and(o others) Report {
	r = r.through(o.more, o.lastBar)
	r.f.more, r.f.alike = o.places, true
	return r
}

// through says up to where there are more places like it, for what has its own
// words for that.
func (r Report) through(more, lastBar int) Report {
	r.f.Times, r.f.LastBar = more, lastBar
	return r
}

// unsaid is the finding, which is not among those that are told.
func (r Report) unsaid(s Severity, what syntax.About) Finding {
	f := r.f
	f.Rule, f.Severity, f.About = r.c.rule, s, what
	if r.on != 0 {
		r.c.onPasses(&f, r.on)
	}
	return f
}

// Says reports what is found, in one sentence.
func (r Report) Says(s Severity, format string, args ...any) *Finding {
	return r.about(s, syntax.Tells(format, args...))
}

// about is Says where what is found has its template already.
func (r Report) about(s Severity, what syntax.About) *Finding { return r.c.tell(r.unsaid(s, what)) }

// tell puts a finding to what the rules have found.
func (c *Context) tell(f Finding) *Finding {
	c.findings = append(c.findings, f)
	return &c.findings[len(c.findings)-1]
}

// Error says what cannot be done, or what is lost.
func (r Report) Error(format string, args ...any) *Finding { return r.Says(Error, format, args...) }

// Warning says what has its price or its risk.
func (r Report) Warning(format string, args ...any) *Finding { return r.Says(Warning, format, args...) }

// Compromise says what the sound pays.
func (r Report) Compromise(format string, args ...any) *Finding {
	return r.Says(Compromise, format, args...)
}

// Info says what is worth knowing.
func (r Report) Info(format string, args ...any) *Finding { return r.Says(Info, format, args...) }

// Also points at another line that has to do with it.
func (f *Finding) Also(w score.Where, format string, args ...any) *Finding {
	f.Related = append(f.Related, note(w, format, args...))
	return f
}

func note(w score.Where, format string, args ...any) score.Note {
	return score.Note{Where: w, About: syntax.Tells(format, args...)}
}

// place sets where in the music a finding is.
func (f *Finding) place(s *score.Score, at beat.Rat) {
	bar, count := s.Grid.Place(at)
	f.Bar, f.Count, f.At, f.HasPlace = bar, count.String(), at, true
}

// onPasses says on which passes of its place a finding holds, if not on all.
func (c *Context) onPasses(f *Finding, on uint64) {
	all := min(c.Score.Passes(f.Bar), 63)
	on &= 1<<all - 1
	if n := bits.OnesCount64(on); n > 0 && n < all {
		f.on = on
		if n == 1 {
			f.Pass = bits.TrailingZeros64(on) + 1
		}
	}
}

// accept takes out the findings that the arranger has weighed.
func (c *Context) accept() {
	if len(c.Score.Accepts) == 0 {
		return
	}
	kept := c.findings[:0]
	for _, f := range c.findings {
		if !c.accepts(&f) {
			kept = append(kept, f)
		}
	}
	c.findings = kept
}

// weighed says whether the arranger has weighed what the running rule would
// say of a player at a place. Rules that put alike places together ask it of
// each, so that what is accepted at one of them stays there.
func (c *Context) weighed(player string, at beat.Rat) bool {
	if len(c.Score.Accepts) == 0 {
		return false
	}
	f := Finding{Rule: c.rule, Player: player}
	f.place(c.Score, at)
	return c.accepts(&f)
}

// accepts says whether the piece accepts a finding, and counts it then.
func (c *Context) accepts(f *Finding) bool {
	taken := false
	for i, a := range c.Score.Accepts {
		if accepts(a, f) {
			c.accepted[i], taken = true, true
			if c.keeping != nil {
				o := c.keeping.of(f.Player)
				o.weighed = append(o.weighed, i)
			}
		}
	}
	if taken {
		c.Accepted++
		if c.keeping != nil {
			c.keeping.of(f.Player).met++
		}
	}
	return taken
}

func accepts(a *score.Accept, f *Finding) bool {
	if f.Rule.text || f.Rule.Name != a.Rule || a.Player != "" && a.Player != f.Player {
		return false
	}
	if !f.HasPlace {
		return !a.HasPlace
	}
	if f.Bar < a.From || f.Bar > a.To {
		return false
	}
	return !a.HasPlace || a.Bar == f.Bar && (!a.HasCount || a.Count.String() == f.Count)
}

// PlaceWords is the finding's place as players say it.
func (f *Finding) PlaceWords() string {
	if !f.HasPlace {
		return ""
	}
	return fmt.Sprintf("%d.%s", f.Bar, f.Count)
}
