package proof

import (
	"fmt"
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// A thing is an instrument that a line may be played on.
type thing struct {
	inst *kit.Instrument
	name string
}

// A grip is one way of playing it that a cue can ask for.
type grip struct {
	thing
	mount kit.Mount
	with  kit.Choice
	limb  string
}

// playedOn is what a line may be played on: what is written, and what a cue of the file
// lets stand in for it.
func (v *verifier) playedOn(line *line) []thing {
	out := []thing{{line.inst, line.name}}
	for _, p := range v.score.Players {
		for _, c := range p.Cues {
			if t := (thing{c.Item.Inst, c.Item.Name}); c.Voice == line.name && c.For != nil && !slices.Contains(out, t) {
				out = append(out, t)
			}
		}
	}
	if v.cert.StandIns {
		for _, s := range v.score.Catalogue.StandIns(line.inst) {
			out = append(out, thing{s.In, s.In.ID})
		}
	}
	return out
}

// usual says whether a way needs no more than the usual way of the instrument does, or
// the file itself plays the instrument with more than that.
func (v *verifier) usual(in *kit.Instrument, w *kit.Way) bool {
	more := func(w *kit.Way) bool {
		return slices.ContainsFunc(w.Needs, func(n string) bool { return !slices.Contains(in.Ways[0].Needs, n) })
	}
	if !more(w) {
		return true
	}
	for _, p := range v.score.Players {
		for _, c := range p.Cues {
			if c.Item.Inst != in {
				continue
			}
			byFoot := c.Limb == body.RightFoot || c.Limb == body.LeftFoot
			for _, o := range in.Ways {
				if more(o) && (o.Limb == kit.Foot) == byFoot && slices.Contains([]kit.Mount{c.Mount, c.Item.Mount}, o.Mount) {
					return true
				}
			}
		}
	}
	return false
}

// grips are the ways of playing a line with the limbs that a kind of limb has.
func (v *verifier) grips(l *line, limb kit.LimbKind) []grip {
	var out []grip
	for _, t := range v.playedOn(l) {
		for _, w := range t.inst.Ways {
			if w.Limb != limb || !v.usual(t.inst, w) {
				continue
			}
			choices := w.With
			if len(choices) == 0 {
				choices = []kit.Choice{{}}
			}
			for _, c := range choices {
				for _, word := range limbWords(w) {
					if g := (grip{t, w.Mount, c, word}); !slices.Contains(out, g) {
						out = append(out, g)
					}
				}
			}
		}
	}
	return out
}

// bothHands is how a cue asks for both at once.
const bothHands = "R+L"

// limbWords are the limbs that a cue may ask a way for.
func limbWords(w *kit.Way) []string {
	switch {
	case w.Limb == kit.Foot:
		return []string{"RF", "LF"}
	case w.Limb == kit.Mouth:
		return []string{"mouth"}
	case w.Hands == 2 && w.Mount == kit.Held && len(w.With) == 0:
		return []string{bothHands}
	}
	return []string{"R", "L"}
}

// kit is the line of a set-up that has the thing, under a name of its own.
func (g *grip) kit(name string) string {
	if g.mount == kit.Held || g.mount == kit.OnBody {
		return fmt.Sprintf("%s is %s %s", name, g.inst.ID, g.mount)
	}
	return fmt.Sprintf("%s is %s %s at ahead 40", name, g.inst.ID, g.mount)
}

// cue is what plays it, from a time to another; with both alike it is struck once.
func (g *grip) cue(name string, from, to float64) string {
	with := ""
	limb := body.Right
	if g.limb == bothHands {
		limb = body.Together
	}
	if t := g.with.ThingFor(limb); t != nil {
		with = " with " + syntax.Print(t)
	}
	bar := place(from)
	if to > from {
		bar += "~" + place(to)
	}
	return fmt.Sprintf("%s %s %s%s | %s", g.limb, name, g.mount, with, bar)
}

// holds says that a hand begins with what grips are played with.
func holds(hand string, grips ...*grip) string {
	out := hand + " holds "
	for i, g := range grips {
		if i > 0 {
			out += " and "
		}
		out += syntax.Print(g.with.Thing())
	}
	return out
}

// least is how many hands a stroke of a line takes at the least, or a roll: 0 where it
// is not certain that it takes any.
func (v *verifier) least(l *line, roll bool) int {
	key := fmt.Sprint(l.key(), roll)
	n, known := v.takes[key]
	if known {
		return n
	}
	end := 0.0
	if roll {
		end = 1
	}
	can := func(limb kit.LimbKind, hands func(g *grip) string) bool {
		var list []witness
		for _, g := range v.grips(l, limb) {
			for _, profile := range v.profiles() {
				list = append(list, witness{[]string{g.kit("a")}, []string{"profile " + profile, hands(&g), g.cue("a", 0, end)}})
			}
		}
		return slices.ContainsFunc(v.try(list), func(j judgement) bool { return j.free })
	}
	none := func(*grip) string { return "hands none" }
	one := func(g *grip) string { return "hands " + g.limb[:1] }
	switch {
	case can(kit.Foot, none), can(kit.Mouth, none), !can(kit.Hand, func(*grip) string { return "" }): // no way at all proves nothing
	case can(kit.Hand, one):
		n = 1
	default:
		n = 2
	}
	v.takes[key] = n
	return n
}

// soloists are the ways of playing a stroke of a line that can be played by itself.
func (v *verifier) soloists(l *line) []grip {
	if g, known := v.alone[l.key()]; known {
		return g
	}
	all := v.grips(l, kit.Hand)
	var list []witness
	for i := range all {
		list = append(list, witness{[]string{all[i].kit("a")}, []string{all[i].cue("a", 0, 0)}})
	}
	var out []grip
	for i, j := range v.try(list) {
		if j.free {
			out = append(out, all[i])
		}
	}
	v.alone[l.key()] = out
	return out
}

// apart says whether no hand can play both of two strokes, the first of which begins no
// later: every way of playing the two and nothing else, with everything in one place,
// is refused for want of time. Of a roll it is enough to play half.
func (v *verifier) apart(a, b *stroke) bool {
	if a.line.name == b.line.name { // one stroke may be both
		return false
	}
	gap, roll := b.on-a.on, 0.0
	switch half := (a.off - a.on) / 2; {
	case half > gap: // in the first half of it
		roll = 2 * min(half, gap+1)
	case half > 0: // a stroke where it may be let go of takes as long to come from
		gap -= half
	}
	if gap > longest {
		return false
	}
	key := fmt.Sprintf("%s %s %.6f %.6f %v %v", a.line.key(), b.line.key(), gap, roll, a.roll, b.roll)
	yes, known := v.pairs[key]
	if !known {
		yes = v.refused(a, b, gap, roll)
		v.pairs[key] = yes
	}
	return yes
}

// longest is how far two strokes may lie apart, in seconds, of which it is asked
// whether one hand can play both.
const longest = 9.0

func (v *verifier) refused(a, b *stroke, gap, roll float64) bool {
	either := v.least(a.line, a.roll) == 2 || v.least(b.line, b.roll) == 2
	end := gap
	if b.roll {
		end += max(b.off-b.on, 0)
		end = min(end, gap+1)
	}
	var list []witness
	for _, g := range v.soloists(a.line) {
		for _, h := range v.soloists(b.line) {
			if !either && g.limb != h.limb && g.limb != bothHands && h.limb != bothHands {
				continue
			}
			for _, profile := range v.profiles() {
				kit := []string{g.kit("a"), h.kit("b")}
				lines := []string{"profile " + profile, g.cue("a", 0, roll), h.cue("b", gap, end)}
				list = append(list, witness{kit, lines})
				if g.with == h.with || h.with.Implement == "" {
					continue
				}
				mine, other := "R", "L"
				if h.limb == "L" {
					mine, other = "L", "R"
				}
				list = append(list, witness{kit, append([]string{holds(other, &h)}, lines...)})
				if g.with.Implement != "" {
					list = append(list, witness{kit, append([]string{holds(mine, &g, &h)}, lines...)})
				}
			}
		}
	}
	return len(list) > 0 && !slices.ContainsFunc(v.try(list), func(j judgement) bool { return !j.short })
}
