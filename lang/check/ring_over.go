package check

import (
	"fmt"
	"math"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
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
				f := c.of(&g, Error, fmt.Sprintf("%s's %s is not free to stop the %s", g.player.Player.Name, g.Hand.Name(), g.To.Item().Inst.Name()))
				f.Timed, f.Sums = false, nil // there is no time at all
				c.proposeForChange(c.report(f), &g)
				continue
			}
			if !g.Short() {
				sev = Warning
			}
			f := c.report(c.of(&g, sev, fmt.Sprintf("%s's %s has %s to get to the %s and stop it, %s", g.player.Player.Name, g.Hand.Name(),
				seconds(max(0, g.Window)), g.To.Item().Inst.Name(), verdict)))
			c.proposeForChange(f, &g)
		}
		c.eachConflict(motion.NoHand, func(m *motion.Result, k conflictGroup) {
			stop, other := k.B, k.A
			if stop == other && slices.ContainsFunc(m.Conflicts, func(o motion.Conflict) bool {
				return o.Kind == motion.NoHand && o.A != o.B && (o.A == stop || o.B == stop)
			}) {
				return // told with what the hands do instead
			}
			if !stop.Kind.Stops() {
				stop, other = other, stop
			}
			because := ""
			if other != stop {
				because = ": they are to " + toDo(other)
				if other.Kind.Stops() {
					because = ": it is to " + toDo(other)
				}
			}
			f := c.conflict(m, k, "both hands", fmt.Sprintf("%s has no hand free to stop the %s%s",
				m.Player.Name, stop.Item().Inst.Name(), because))
			got := c.report(f)
			for _, e := range []*motion.Event{other, stop} {
				if e.Cue != nil {
					c.proposeForCue(got, e.Cue, nil)
				}
			}
			c.proposeAccept(got)
		})
		c.unstopped()
	},
}

// unstopped finds written stops that the covering cue leaves out.
func (c *Context) unstopped() {
	type voice struct {
		name string
		at   beat.Rat
	}
	stopped := map[voice]uint64{} // on which passes
	byVoice := map[string][]*score.Cue{}
	for _, p := range c.Score.Players {
		for _, cue := range p.Cues {
			byVoice[cue.Voice] = append(byVoice[cue.Voice], cue)
			if cue.AsWritten {
				continue
			}
			for i := range cue.Strokes {
				if st := &cue.Strokes[i]; st.Has(score.Stop) || st.Has(score.Short) {
					stopped[voice{cue.Voice, st.At}] |= passBits(cue.Pass)
				}
			}
		}
		for _, a := range p.Actions {
			if a.Kind == score.Damp {
				stopped[voice{a.Item.Name, a.At}] |= passBits(a.Pass)
				stopped[voice{a.Item.Inst.ID, a.At}] |= passBits(a.Pass)
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
				if !st.Has(score.Stop) && !st.Has(score.Short) {
					continue
				}
				cue, on := lettingRing(byVoice[l.Name], int(st.Bar), min(c.Score.Passes(int(st.Bar)), 63), stopped[voice{l.Name, st.At}])
				if cue == nil {
					continue
				}
				f := Finding{Severity: Warning, Where: cue.Where, Player: cue.Player.Name, Limb: cue.Limb.Name(),
					Message: fmt.Sprintf("%s lets the %s ring on where the part stops it", cue.Player.Name, l.Inst.Name())}
				f.place(c.Score, st.At)
				c.onPasses(&f, on)
				f.Related = append(f.Related, note(st.Where(), "the written stop"))
				c.proposeAccept(c.report(f))
				break
			}
		}
	}
}

// passBits has the bit of a pass, or those of all.
func passBits(pass int) uint64 {
	if pass == 0 {
		return math.MaxUint64
	}
	return 1 << (min(pass, 64) - 1)
}

// lettingRing is the explicit cue that plays a voice in a bar on passes on
// which nothing stops it and no cue takes it as written, and those passes.
func lettingRing(cues []*score.Cue, bar, passes int, stopped uint64) (found *score.Cue, on uint64) {
	for pass := 1; pass <= passes; pass++ {
		if stopped&passBits(pass) != 0 {
			continue
		}
		if cue := covering(cues, bar, pass); cue != nil && (found == nil || found == cue) {
			found, on = cue, on|passBits(pass)
		}
	}
	return found, on
}

// covering is the explicit cue that plays a voice in a bar on a pass, if none
// takes it as written there.
func covering(cues []*score.Cue, bar, pass int) *score.Cue {
	var found *score.Cue
	for _, cue := range cues {
		if bar < cue.From || bar > cue.To || len(cue.Strokes) == 0 || cue.Pass != 0 && cue.Pass != pass {
			continue
		}
		if cue.AsWritten {
			return nil
		}
		found = cue
	}
	return found
}
