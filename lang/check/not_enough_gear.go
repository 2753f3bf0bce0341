package check

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

var notEnoughGear = &Rule{
	Name:       "not-enough-gear",
	Severities: []Severity{Error},
	Finds:      "more of a thing in use at once, or with no time to carry it over, than there is",
	Means: `A gear block says what there is. Here more of it is wanted at one time than that: each player who has the thing in the
own kit has one of it, a shared kit has one for everybody, and every hand that plays with a stick has one. What
another player had a moment ago has to be carried over first. Clamps, stands and the like count from the first to the last
stroke of what they hold.`,
	Why:    `The second bass drum that is not in the van is missed at the first rehearsal, with everybody watching.`,
	Stands: `The gear block. Three seconds to hand over what is held or lies, six to carry what stands or is fixed: common practice, no source.`,
	Trips: `tempo 96
gear
  1 bass-drum
player Ida
  R bass-drum | 1 3
player Per
  R bass-drum | 2 4
`,
	Passes: `tempo 96
gear
  2 bass-drum
player Ida
  R bass-drum | 1 3
player Per
  R bass-drum | 2 4
`,
	Look: func(c *Context) {
		type alike struct {
			gear *score.Gear
			who  *score.Player
		}
		type lack struct {
			shortage
			others
		}
		found := map[alike]*lack{}
		var order []*lack
		for _, thing := range c.scarce() {
			for _, s := range thing.shortages(1) {
				if c.weighed(s.by.m.Player.Name, s.by.e.At()) {
					continue
				}
				k := alike{s.gear, s.by.m.Player}
				if found[k] == nil {
					found[k] = &lack{shortage: s, others: others{more: -1}}
					order = append(order, found[k])
				}
				found[k].more++
				found[k].lastBar = max(found[k].lastBar, s.by.e.Bar())
			}
		}
		for _, x := range order {
			c.notEnough(&x.shortage, x.others)
		}
	},
}

func (c *Context) notEnough(s *shortage, more others) {
	f := c.At(s.by.m, s.by.e).With(s.by.limb).and(more).Error("%s", s.words())
	for _, u := range s.had {
		f.Also(u.last.Where(), "%s has it here", u.m.Player.Name)
	}
	if s.gear.Where != f.Where {
		f.Also(s.gear.Where, "what there is")
	}
	f.orLater(func(f *Finding) {
		if cue := s.by.e.Cue; cue != nil {
			f.orSomebodyElse(cue)
			if s.gear.Inst != nil {
				f.orStandIn(cue)
			}
		}
		w := s.gear.Where
		if w.File != 0 {
			return
		}
		if count, name, ok := strings.Cut(c.File.Lines[w.Line].Text[w.Start:w.End], " "); ok {
			n, lacks := 0, s.wanted-s.gear.Count
			fmt.Sscan(count, &n)
			f.Or(fmt.Sprintf("find %d more of the %s", lacks, s.gear.Name()), replace(w, fmt.Sprint(n+lacks)+" "+name))
		}
	}).OrAccept()
}

// How long it takes to carry a thing to somebody else, in seconds: what is
// held or lies is handed over, what stands or is fixed is carried and set
// down.
const standOver = 6.0

// A use is one thing that somebody has in use for a while.
type use struct {
	m       *motion.Result
	at      spotOfUse
	limb    string
	e, last *motion.Event // with which it begins, and the last one so far
	t0, t1  float64
	n       int     // how many at once: two mallets in a hand
	carry   float64 // seconds until somebody else can have it
}

// A spotOfUse is who has a thing, and as which: two uses of one spot are of
// one and the same thing.
type spotOfUse struct {
	player *score.Player // nil for what everybody shares
	item   string        // the name of an instrument in a kit
	hand   int           // 1 for the right hand, 2 for the left
	table  score.Where
}

// A shortage is a moment at which more of a thing is wanted than there is.
type shortage struct {
	gear   *score.Gear
	by     *use
	had    []use // what others have, as it was then
	wanted int
}

// words are the shortage and its arithmetic.
func (s *shortage) words() string {
	var parts []string
	for _, u := range s.had {
		p := fmt.Sprintf("%s has %s", u.m.Player.Name, u.many())
		if u.shared() {
			p = "the shared kit has " + u.many()
		}
		p += u.which(s.gear)
		if ago := s.by.t0 - u.t1; ago > 0 && u.m != s.by.m {
			p += fmt.Sprintf(" until %s before, and carrying it over takes %s", seconds(ago), seconds(u.carry))
		}
		parts = append(parts, p)
	}
	me := fmt.Sprintf("%s needs %s", s.by.m.Player.Name, s.by.many())
	parts = append(parts, me+s.by.which(s.gear))
	there := fmt.Sprint(s.gear.Count)
	if s.gear.Count == 0 {
		there = "none"
	}
	verb := "are"
	if s.wanted == 1 {
		verb = "is"
	}
	return fmt.Sprintf("the gear has %s of the %s, and %d %s wanted here: %s", there, s.gear.Name(), s.wanted, verb, strings.Join(parts, "; "))
}

// shared says whether it is one of the kit that everybody shares. A table of
// one's own is known by its line, and not by whose it is.
func (u *use) shared() bool { return u.at.player == nil && u.at.table == (score.Where{}) }

// which is the hand that has it, or the name of its own that it has in a kit.
func (u *use) which(g *score.Gear) string {
	switch {
	case u.limb != "":
		return " in the " + u.limb
	case u.at.item != "" && g.Inst != nil && u.at.item != g.Inst.ID:
		return " as the " + u.at.item
	case u.at.item != "" && g.Hardware != "":
		return " for the " + u.e.Item().Called()
	}
	return ""
}

func (u *use) many() string {
	if u.n == 2 {
		return "two"
	}
	return "one"
}

// A scarcity is a thing that somebody may at some time want more of than there
// is: what is had of it in different places comes to more.
type scarcity struct {
	gear *score.Gear
	uses []use // one for every stroke, in the order of time
}

// scarce are the things that there may be too little of.
func (r *Result) scarce() []scarcity {
	var out []scarcity
	for _, g := range r.Score.Gear {
		if r.everywhere(g) > g.Count {
			out = append(out, r.inUse(g))
		}
	}
	return out
}

func (r *Result) inUse(g *score.Gear) scarcity {
	uses := r.usesOf(g)
	slices.SortStableFunc(uses, func(a, b use) int { // whatever the order of the players' blocks
		return cmp.Or(cmp.Compare(a.t0, b.t0), cmp.Compare(a.m.Player.Name, b.m.Player.Name), cmp.Compare(a.at.item, b.at.item))
	})
	return scarcity{g, uses}
}

// A Want is how much of a thing of the gear is in use at one time, at the most.
type Want struct {
	Gear   *score.Gear
	AtOnce int
}

// Wants are how much of each thing of the gear is in use at one time.
func (r *Result) Wants() []Want {
	var out []Want
	for _, g := range r.Score.Gear {
		s := r.inUse(g)
		w := Want{Gear: g}
		s.follow(1, func(_ *use, _ []*use, n int) bool {
			w.AtOnce = max(w.AtOnce, n)
			return true
		})
		out = append(out, w)
	}
	return out
}

// shortages are the moments at which more of a thing is wanted than there is,
// each at the stroke that asks for one too many.
func (s *scarcity) shortages(slower float64) []shortage {
	var out []shortage
	s.follow(slower, func(u *use, others []*use, n int) bool {
		if n > s.gear.Count {
			out = append(out, s.shortage(u, others, n))
		}
		return true
	})
	return out
}

func (s *scarcity) shortage(u *use, others []*use, n int) shortage {
	had := make([]use, len(others))
	for k, o := range others {
		had[k] = *o
	}
	first := *u
	return shortage{s.gear, &first, had, n}
}

// follow goes through the uses of a thing in the order of time and visits each
// with what else is in use then, and how many that makes. Slower is how much
// longer carrying takes against the music: a piece played twice as fast has half
// the time for it. It stops when the visit says so.
func (s *scarcity) follow(slower float64, visit func(u *use, others []*use, n int) bool) {
	var open, others []*use
	latest := map[spotOfUse]*use{}
	for i := range s.uses {
		now := &s.uses[i]
		if u := latest[now.at]; u != nil && u.m == now.m && (now.t0 < u.t1+u.carry*slower || now.t0 <= u.t1) {
			u.t1, u.last, u.n, u.carry = max(u.t1, now.t1), now.e, max(u.n, now.n), max(u.carry, now.carry)
			continue
		}
		u := new(use)
		*u = *now
		latest[u.at] = u
		open = slices.DeleteFunc(open, func(o *use) bool { return o.t1+o.carry*slower <= u.t0 && o.t1 < u.t0 })
		n := u.n
		others = others[:0]
		for _, o := range open {
			switch {
			case o.at == u.at || slices.ContainsFunc(others, func(x *use) bool { return x.at == o.at }):
				continue // one and the same thing
			case o.m == u.m && o.at.hand != u.at.hand && o.t1 < u.t0 && !o.stillIn(s.gear, u.t0):
				continue // from one hand into the other
			}
			n += o.n
			others = append(others, o)
		}
		open = append(open, u)
		if !visit(u, others, n) {
			return
		}
	}
}

// stillIn says whether the hand of an earlier use holds the thing at a later
// time.
func (u *use) stillIn(g *score.Gear, t float64) bool {
	grip := u.m.HoldsAt(body.Limb(u.at.hand-1), t)
	return grip.Implement == g.Implement || grip.Kept == g.Implement
}

// A claim is what a cue's strokes make of a thing: where it is had, and whether it
// is there from the first of them to the last.
type claim struct {
	at    spotOfUse
	carry float64
	whole bool
}

// claims are what each cue of a player makes of an instrument or of hardware.
func claims(m *motion.Result, g *score.Gear) map[*score.Cue][]claim {
	if g.Implement != nil {
		return nil // that is for the hands to say
	}
	needs := map[*score.Cue][]string{}
	if g.Hardware != "" {
		for _, ch := range m.Chosen {
			if ch.Way != nil {
				needs[ch.Cue] = append(needs[ch.Cue], ch.Way.Needs...)
			}
		}
	}
	out := map[*score.Cue][]claim{}
	for _, cue := range m.Player.Cues {
		if list := claimsOf(m.Player, cue, g, needs[cue]); list != nil {
			out[cue] = list
		}
	}
	return out
}

func claimsOf(p *score.Player, cue *score.Cue, g *score.Gear, needs []string) []claim {
	it, hardware := cue.Item, motion.Wanted(cue).Hardware()
	spot := spotOfUse{player: p, item: it.Name}
	if it.Shared {
		spot.player = nil
	}
	switch {
	case g.Inst != nil:
		if it.Inst != g.Inst {
			return nil
		}
		carry := body.HandOver
		if mount := motion.Wanted(cue); hardware != "" && mount != kit.Padded || mount == kit.Floor {
			carry = standOver
		}
		return []claim{{spot, carry, false}}
	case g.Hardware == kit.Table:
		var tables []claim
		for _, t := range p.Tables {
			if !t.Assumed {
				tables = append(tables, claim{spotOfUse{table: t.Where}, standOver, true})
			}
		}
		return tables
	case hardware == g.Hardware:
		return []claim{{spot, standOver, true}}
	case slices.Contains(needs, g.Hardware) && p.Item(g.Hardware) == nil:
		if g.Hardware == "stool" { // one to sit on, whatever is played from it
			spot.item = ""
		}
		return []claim{{spot, standOver, true}}
	}
	return nil
}

// everywhere is how many there would have to be of a thing if nothing were
// ever carried from one place to another.
func (r *Result) everywhere(g *score.Gear) int {
	most := map[spotOfUse]int{}
	for _, m := range r.Motions {
		for _, list := range claims(m, g) {
			for _, c := range list {
				most[c.at] = 1
			}
		}
		if g.Implement == nil {
			continue
		}
		for h := range m.Spells {
			for i := range m.Spells[h] {
				if n := m.Spells[h][i].Grip.Of(g.Implement); n > 0 {
					at := spotOfUse{player: m.Player, hand: h + 1}
					most[at] = max(most[at], n)
				}
			}
		}
	}
	total := 0
	for _, n := range most {
		total += n
	}
	return total
}

// usesOf are the uses of one thing: each stroke by itself, and what holds an
// instrument from its first stroke to its last.
func (r *Result) usesOf(g *score.Gear) []use {
	var out []use
	for _, m := range r.Motions {
		of := claims(m, g)
		if g.Implement == nil && len(of) == 0 {
			continue
		}
		fixed := map[spotOfUse]int{} // what is there throughout: which of the uses it is
		for i := range m.Events {
			e := &m.Events[i]
			if !made(e) {
				continue
			}
			if g.Implement != nil {
				out = append(out, inHands(m, e, g.Implement)...)
				continue
			}
			for _, c := range of[e.Cue] {
				if k, ok := fixed[c.at]; ok && c.whole {
					out[k].t1, out[k].last = max(out[k].t1, e.T1), e
					continue
				}
				fixed[c.at] = len(out)
				out = append(out, use{m: m, at: c.at, e: e, last: e, t0: e.T0, t1: e.T1, n: 1, carry: c.carry})
			}
		}
	}
	return out
}

// made says whether an event is a stroke or a roll, which a thing is there for.
func made(e *motion.Event) bool {
	return e.Cue != nil && (e.Kind == motion.Strike || e.Kind == motion.RollOn)
}

// inHands are the uses of an implement in the hands that are at an event.
func inHands(m *motion.Result, e *motion.Event, im *kit.Implement) []use {
	var out []use
	for h := range body.Limb(2) {
		if !e.Limbs.Has(h) && e.Kind != motion.RollOn {
			continue
		}
		if grip := m.HoldsAt(h, e.T0); grip.Implement == im || grip.Two() && grip.Kept == im {
			out = append(out, use{m: m, at: spotOfUse{player: m.Player, hand: int(h) + 1}, limb: h.Name(),
				e: e, last: e, t0: e.T0, t1: e.T1, n: grip.Of(im), carry: body.HandOver})
		}
	}
	return out
}

// gearLimit is the highest multiple of the tempo, up to the furthest one, at
// which a player never wants more than there is, and the moment that sets it;
// +Inf and nothing where there is always enough.
func gearLimit(scarce []scarcity, m *motion.Result, furthest float64) (factor float64, first *shortage) {
	short := func(slower float64) (found *shortage) {
		for i := range scarce {
			s := &scarce[i]
			s.follow(slower, func(u *use, others []*use, n int) bool {
				if n > s.gear.Count && (u.m == m || slices.ContainsFunc(others, func(o *use) bool { return o.m == m })) {
					first := s.shortage(u, others, n)
					found = &first
				}
				return found == nil
			})
			if found != nil {
				break
			}
		}
		return found
	}
	low, high := 0.0, furthest
	if first = short(high); first == nil {
		return math.Inf(1), nil
	}
	if now := short(low); now != nil {
		return 0, now
	}
	for range 24 {
		mid := (low + high) / 2
		if s := short(mid); s != nil {
			high, first = mid, s
		} else {
			low = mid
		}
	}
	return low, first
}
