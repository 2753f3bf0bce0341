package check

import (
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
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
	check: func(c *Context) {
		for _, m := range c.Motions {
			if !m.Player.HasKit {
				continue
			}
			for _, cue := range m.Player.Cues {
				c.missingGear(m, cue)
			}
		}
	},
}

func (c *Context) missingGear(m *motion.Result, cue *score.Cue) {
	in, mount := cue.Item.Inst, motion.Wanted(cue)
	f := Finding{Severity: Error, Where: cue.Name, Player: m.Player.Name, Limb: cue.Limb.Name()}
	if len(cue.Strokes) > 0 {
		f.place(c.Score, cue.Strokes[0].At)
	}
	switch {
	case cue.Mount != kit.AnyMount && cue.Item.Listed && cue.Item.Mount != kit.AnyMount && cue.Mount != cue.Item.Mount && cue.Mount != kit.Held:
		f.Where = cue.MountWhere
		f.Message = fmt.Sprintf("%s's kit has the %s %s, and this cue wants it %s", m.Player.Name, in.Name(), cue.Item.Mount, cue.Mount)
		got := c.report(f)
		w := cue.MountWhere
		w.Start-- // and the blank before it
		got.propose("play it as the kit has it", true, replace(w, ""))
		got.propose("change the kit", true, kitMountEdit(cue))
		c.proposeStandIns(got, cue, nil)
		return
	case mount == kit.Padded && !hasTable(m.Player):
		f.Message = fmt.Sprintf("the %s is to be laid on a padded table, and %s's kit has none", in.Name(), m.Player.Name)
		got := c.report(f)
		if cue.Item.Listed && cue.Item.Where.File == 0 {
			got.propose("put a table under it", true, c.below(int(cue.Item.Where.Line), 2, tableAt(cue.Item.At.Right, cue.Item.At.Ahead)))
		}
		c.proposeStandIns(got, cue, nil)
		return
	}
	for _, ch := range m.Chosen {
		if ch.Cue != cue || ch.Way == in.Usual() {
			continue
		}
		for _, need := range ch.Way.Needs {
			if slices.Contains(in.Usual().Needs, need) || m.Player.Item(need) != nil || cheaperWithout(in, ch) {
				continue
			}
			f.Message = fmt.Sprintf("the %s %s needs a %s, which %s's kit does not list", in.Name(), mount, strings.ReplaceAll(need, "-", " "), m.Player.Name)
			c.proposeStandIns(c.report(f), cue, nil)
			return
		}
	}
}

// cheaperWithout says whether there is a way like the chosen one, with the
// same mount and hands, that needs nothing more.
func cheaperWithout(in *kit.Instrument, ch motion.Chosen) bool {
	return slices.ContainsFunc(in.Ways, func(w *kit.Way) bool {
		return w.Mount == ch.Way.Mount && w.Hands == ch.Way.Hands && w.Limb == ch.Way.Limb && len(w.Needs) == 0 && (w.Rolls || !ch.Rolled)
	})
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
