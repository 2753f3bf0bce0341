package check

import (
	"slices"
	"strings"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

var missingGear = &Rule{
	Name:       "missing-gear",
	Severities: []Severity{Error},
	Finds:      "a way of playing that needs a mount, clip, pad, table, pedal or cord that the kit lacks",
	Means: `The player's kit is written down, and the cue wants the instrument fixed in another way than the kit has it, laid on
a table that is not there, or with gear that only this way of playing needs. Where no kit is written, everything is
taken to be there.`,
	Why:    `A clamp that is not in the case cannot be borrowed at the downbeat.`,
	Stands: `The kit as it is written, and what each way of playing needs in the catalogue.`,
	Trips: `tempo 96
player Ida
  kit
    woodblock on stand at left 20 ahead 40
  R woodblock padded with rubber-mallet | 1 2
`,
	Passes: `tempo 96
player Ida
  kit
    woodblock padded at left 20 ahead 40
    table            at left 20 ahead 40
  R woodblock with rubber-mallet | 1 2
`,
	each: true,
	Look: func(c *Context) {
		for _, m := range c.Motions {
			if !m.Player.HasKit {
				continue
			}
			needs := unlisted(m)
			for _, cue := range m.Player.Cues {
				c.missingGear(m, cue, needs[cue])
			}
		}
	},
}

// missingGear reports what one cue wants and the kit has not: need is what of it
// the kit does not list.
func (c *Context) missingGear(m *motion.Result, cue *score.Cue, need string) {
	p, it, mount := m.Player, cue.Item, motion.Wanted(cue)
	here := func() Report { return c.AtCue(cue).On(cue.Name) }
	switch {
	case fixedOtherwise(cue):
		w := cue.MountWhere
		w.Start-- // and the blank before it
		here().On(cue.MountWhere).Error("%s's kit has the %s %s, and this cue wants it %s", p.Name, it.Called(), it.Mount, cue.Mount).
			Or("play it as the kit has it", replace(w, "")).Or("change the kit", kitMountEdit(cue)).orStandIn(cue)
	case mount == kit.Padded && !hasTable(p):
		f := here().Error("the %s %s to be laid on a padded table, and %s's kit has none", it.Called(), it.Inst.Verb("is", "are"), p.Name)
		if it.Listed && it.Where.File == 0 {
			f.Or("put a table under it", c.below(int(it.Where.Line), 2, tableAt(it.At.Right, it.At.Ahead)))
		}
		f.orStandIn(cue)
	default:
		if need != "" && c.Once(m, gap{it, need}) {
			words := strings.ReplaceAll(need, "-", " ")
			f := here().Error("the %s %s %s %s, which %s's kit does not list", it.Called(), mount, it.Inst.Verb("needs", "need"), a(words), p.Name)
			if c.Score.Catalogue.Resolve(need) == it.Inst && it.Listed && it.Kind == it.Name && it.Where.File == 0 {
				f.Or("say in the kit that it is "+a(words), c.kindEdit(it, need))
			} else if line, ok := kitLine(p, it); ok {
				f.Or("put "+a(words)+" in the kit", c.below(line, 2, &syntax.Item{Name: syntax.Word(need)}))
			}
			f.orStandIn(cue)
		}
	}
}

// A gap is what a player's kit lacks for a thing: told once, however many cues
// want it.
type gap struct {
	item *score.Item
	need string
}

// fixedOtherwise says whether a cue wants its instrument on another mount than
// the kit has it on, and that cannot be taken in the hand instead.
func fixedOtherwise(cue *score.Cue) bool {
	it := cue.Item
	return it.Listed && it.Mount != kit.AnyMount && cue.Mount != kit.AnyMount && cue.Mount != it.Mount && cue.Mount != kit.Held
}

// unlisted is what the ways need in which cues are played, more than their
// instruments always do, and the kit does not have: of each cue the first.
func unlisted(m *motion.Result) map[*score.Cue]string {
	var out map[*score.Cue]string
	for i := range m.Chosen {
		ch := &m.Chosen[i]
		in := ch.Cue.Item.Inst
		if len(ch.Way.Needs) == 0 || out[ch.Cue] != "" || ch.Way == in.Usual() || cheaperWithout(in, ch) {
			continue
		}
		for _, need := range ch.Way.Needs {
			if !slices.Contains(in.Usual().Needs, need) && !m.Player.Has(need) {
				if out == nil {
					out = map[*score.Cue]string{}
				}
				out[ch.Cue] = need
				break
			}
		}
	}
	return out
}

// cheaperWithout says whether there is a way like the chosen one, with the
// same mount, hands, feet and name, that needs no more than is usual.
func cheaperWithout(in *kit.Instrument, ch *motion.Chosen) bool {
	return slices.ContainsFunc(in.Ways, func(w *kit.Way) bool {
		return w.Mount == ch.Way.Mount && w.Hands == ch.Way.Hands && w.Limb == ch.Way.Limb && w.Feet == ch.Way.Feet && w.Named == ch.Way.Named &&
			(w.Rolls || !ch.Rolled) && (ch.Choice.Implement == "" || w.Lists(ch.Choice.Implement)) &&
			!slices.ContainsFunc(w.Needs, func(need string) bool { return !slices.Contains(in.Usual().Needs, need) })
	})
}

// kitLine is the line of a kit below which more can be listed: an instrument's
// own, or the last of the player's.
func kitLine(p *score.Player, it *score.Item) (line int, ok bool) {
	line = -1
	for _, o := range p.Items {
		if o.Listed && !o.Shared && o.Where.File == 0 {
			line = max(line, int(o.Where.Line))
		}
	}
	if it.Listed && !it.Shared && it.Where.File == 0 {
		line = int(it.Where.Line)
	}
	return line, line >= 0
}

// kindEdit writes into a kit which kind of an instrument a thing is.
func (c *Context) kindEdit(it *score.Item, kind string) Edit {
	w := it.Where
	w.End = w.Start + int32(len(it.Name))
	return replace(w, kind)
}

// a is what a thing is called, with its article.
func a(thing string) string {
	if strings.ContainsRune("aeiou", rune(thing[0])) {
		return "an " + thing
	}
	return "a " + thing
}

func hasTable(p *score.Player) bool {
	return slices.ContainsFunc(p.Tables, func(t score.Table) bool { return !t.Assumed })
}

// kitMountEdit writes the cue's mount into the kit.
func kitMountEdit(cue *score.Cue) Edit {
	if cue.Item.Fixed.File != 0 {
		return Edit{Line: -1}
	}
	return replace(cue.Item.Fixed, cue.Mount.String())
}
