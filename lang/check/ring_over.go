package check

import (
	"slices"
	"sync"

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
	Look: func(c *Context) {
		for _, g := range c.Changes(func(ch *motion.Change) bool { return pressed(ch) && ch.To.Kind.Stops() }) {
			to := g.To.Item().Called()
			if stuck(g.Change) { // there is no time at all
				c.AtChange(&g).Error("%s is not free to stop the %s", g.who(), to).orChange(&g)
				continue
			}
			c.AtChange(&g).Timed(g.Change).Says(g.severity(), "%s has %s to get to the %s and stop it, and that %s",
				g.who(), seconds(max(0, g.Window)), to, g.verdict()).orChange(&g)
		}
		for k := range c.Conflicts(motion.NoHand) {
			stop, other := k.B, k.A
			if stop == other && toldWithOthers(k) {
				continue
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
			c.AtConflict(k).With("both hands").Error("%s has no hand free to stop the %s%s", k.player.Player.Name, stop.Item().Called(), because).
				orPlay(other.Cue, stop.Cue).OrAccept()
		}
		c.unstopped()
	},
}

// toldWithOthers says whether the stop of a conflict with itself is told with
// what the hands do instead.
func toldWithOthers(k *conflictGroup) bool {
	return slices.ContainsFunc(k.player.Conflicts, func(o motion.Conflict) bool {
		return o.Kind == motion.NoHand && o.A != o.B && (o.A == k.A || o.B == k.A)
	})
}

// unstopped finds written stops that the covering cue leaves out.
func (c *Context) unstopped() {
	// Most pieces write no stops, and then nobody asks.
	stopped := sync.OnceValue(c.stopped)
	byVoice := sync.OnceValue(func() map[string][]*score.Cue {
		all := map[string][]*score.Cue{}
		for cue := range c.Cues() {
			all[cue.Voice] = append(all[cue.Voice], cue)
		}
		return all
	})
	c.ringOn = map[*score.Part]bool{}
	for _, part := range c.Score.Parts {
		if c.ringOn[part] = c.old != nil && c.old.ringOn[part] || !stops(part); c.ringOn[part] {
			continue
		}
		for _, l := range part.Lines {
			if l.Inst.Rings < 1 {
				continue
			}
			for i := range l.Strokes {
				st := &l.Strokes[i]
				if !st.Stopped() {
					continue
				}
				cue, on := lettingRing(byVoice()[l.Name], int(st.Bar), min(c.Score.Passes(int(st.Bar)), 63), stopped()[voiced{l.Name, st.At}])
				if cue == nil {
					continue
				}
				r := c.AtCue(cue).When(st.At)
				r.on = on
				r.Warning("%s lets the %s ring on where the part stops it", cue.Player.Name, l.Inst.Name()).
					Also(st.Where(), "the written stop").OrAccept()
				break
			}
		}
	}
}

// stops says whether something that rings is stopped in a part.
func stops(part *score.Part) bool {
	return slices.ContainsFunc(part.Lines, func(l *score.Line) bool {
		return l.Inst.Rings >= 1 && slices.ContainsFunc(l.Strokes, func(st score.Stroke) bool { return st.Stopped() })
	})
}

// A voiced moment is one of a written line, or of an instrument.
type voiced struct {
	name string
	at   beat.Rat
}

// stopped has the moments at which something is stopped by what the players'
// lines say, and on which passes.
func (c *Context) stopped() map[voiced]uint64 {
	out := map[voiced]uint64{}
	for cue := range c.Cues() {
		for i := range cue.Strokes {
			if st := &cue.Strokes[i]; !cue.AsWritten && st.Stopped() {
				out[voiced{cue.Voice, st.At}] |= passBits(cue.Pass)
			}
		}
	}
	for _, p := range c.Score.Players {
		for _, a := range p.Actions {
			if a.Kind == score.Damp {
				out[voiced{a.Item.Name, a.At}] |= passBits(a.Pass)
				out[voiced{a.Item.Inst.ID, a.At}] |= passBits(a.Pass)
			}
		}
	}
	return out
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
