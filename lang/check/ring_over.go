package check

import (
	"fmt"

	"handful/lang/beat"
	"handful/lang/motion"
	"handful/lang/score"
)

var ringOver = &Rule{
	Name:       "ring-over",
	Severities: []Severity{Error, Warning},
	Finds:      "a written stop that no hand is free to make, or that nobody makes",
	Means: `The part stops the ring (3x, or a short stroke), the instrument rings on by itself, and either the hand cannot be
there in time, or the cue that covers the line leaves the stop out.`,
	Why:    `A cymbal that rings into a general pause is the loudest wrong note there is.`,
	Stands: `What stops what is in the catalogue; moving to it is Fitts 1954.`,
	Trips: `tempo 96
part "Percussion"
  suspended-cymbal | 1 3x | 1
player Ida
  R suspended-cymbal with snare-stick | 1 | 1
`,
	Passes: `tempo 96
part "Percussion"
  suspended-cymbal | 1 3x | 1
player Ida
  R suspended-cymbal with snare-stick as written
`,
	check: func(c *Context) {
		for _, g := range c.changes(func(ch *motion.Change) bool { return (ch.Short() || ch.Tight()) && ch.To.Kind.Stops() }) {
			sev, verdict := Error, "and that "+verdictOf(g.Need, g.Band())
			if stuck(g.Change) {
				verdict = "and is not free at all"
			} else if !g.Short() {
				sev = Warning
			}
			f := c.report(c.of(&g, sev, fmt.Sprintf("%s's %s has %s to get to the %s and stop it, %s", g.player.Player.Name, g.Hand.Name(),
				seconds(max(0, g.Window)), g.To.Item().Inst.Name(), verdict)))
			c.proposeForChange(f, &g)
		}
		c.unstopped()
	},
}

// unstopped finds written stops that the covering cue leaves out.
func (c *Context) unstopped() {
	type voice struct {
		name string
		at   beat.Rat
	}
	stopped := map[voice]bool{}
	byVoice := map[string][]*score.Cue{}
	for _, p := range c.Score.Players {
		for _, cue := range p.Cues {
			byVoice[cue.Voice] = append(byVoice[cue.Voice], cue)
			if cue.AsWritten {
				continue
			}
			for i := range cue.Strokes {
				if st := &cue.Strokes[i]; st.Has(score.Stop) || st.Has(score.Short) {
					stopped[voice{cue.Voice, st.At}] = true
				}
			}
		}
		for _, a := range p.Actions {
			if a.Kind == score.Damp {
				stopped[voice{a.Item.Name, a.At}] = true
				stopped[voice{a.Item.Inst.ID, a.At}] = true
			}
		}
	}
	for _, part := range c.Score.Parts {
		for _, l := range part.Lines {
			if l.Inst.Rings < 1 {
				continue
			}
			for i := range l.Strokes {
				st := &l.Strokes[i]
				if !st.Has(score.Stop) && !st.Has(score.Short) || stopped[voice{l.Name, st.At}] {
					continue
				}
				cue := covering(byVoice[l.Name], int(st.Bar))
				if cue == nil {
					continue
				}
				f := Finding{Severity: Warning, Where: cue.Where, Player: cue.Player.Name, Limb: cue.Limb.Name(),
					Message: fmt.Sprintf("%s lets the %s ring on where the part stops it", cue.Player.Name, l.Inst.Name())}
				f.place(c.Score, st.At)
				f.Related = append(f.Related, note(st.Where, "the written stop"))
				c.proposeAccept(c.report(f))
				break
			}
		}
	}
}

// covering is the explicit cue that plays a voice in a bar, if none takes it
// as written there.
func covering(cues []*score.Cue, bar int) *score.Cue {
	var found *score.Cue
	for _, cue := range cues {
		if bar < cue.From || bar > cue.To || len(cue.Strokes) == 0 {
			continue
		}
		if cue.AsWritten {
			return nil
		}
		found = cue
	}
	return found
}
