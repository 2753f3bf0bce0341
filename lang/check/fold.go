package check

import (
	"slices"

	"example.org/handful/lang/body"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// derived is a finding that stands on a conflict: which of two things the hand
// leaves there decides what it has to do before and after.
type derived struct {
	Finding
	from *motion.Conflict
}

// A clashKey is what ties a change to a conflict about its hand: an event of
// both, or the two cues.
type clashKey struct {
	event    *motion.Event
	from, to *score.Cue
	hand     body.Limbs
}

// clash is the conflict that a change stands on: one at the moment at which it
// begins or ends, or between the same two cues, that is about its hand.
func (c *Context) clash(ch *motion.Change) *motion.Conflict {
	if ch.From == nil || !ch.Hand.IsHand() {
		return nil
	}
	if c.clashes == nil {
		c.clashes = map[clashKey]*motion.Conflict{}
		for _, m := range c.Motions {
			for i := range m.Conflicts {
				c.clashesOf(&m.Conflicts[i])
			}
		}
	}
	hand := body.Of(ch.Hand)
	for _, key := range [3]clashKey{{event: ch.From, hand: hand}, {event: ch.To, hand: hand}, {from: ch.From.Cue, to: ch.To.Cue, hand: hand}} {
		if k := c.clashes[key]; k != nil {
			return k
		}
	}
	return nil
}

func (c *Context) clashesOf(k *motion.Conflict) {
	for one := range k.Hands.Each() {
		hand := body.Of(one)
		keys := []clashKey{{event: k.A, hand: hand}, {event: k.B, hand: hand}}
		if a, b := k.A.Cue, k.B.Cue; a != nil && b != nil && a != b {
			keys = append(keys, clashKey{from: a, to: b, hand: hand}, clashKey{from: b, to: a, hand: hand})
		}
		for _, key := range keys {
			if c.clashes[key] == nil {
				c.clashes[key] = k
			}
		}
	}
}

// mostWithin is how many findings are told within another one, in full.
const mostWithin = 4

// fold tells with each conflict what stands on it. What stands on one that the
// arranger has weighed is told by itself.
func (c *Context) fold() {
	for _, d := range c.folding {
		at := slices.IndexFunc(c.findings, func(f Finding) bool {
			return slices.ContainsFunc(f.clashes, func(k motion.Conflict) bool { return k == *d.from })
		})
		if at < 0 {
			c.findings = append(c.findings, d.Finding)
			continue
		}
		f := &c.findings[at]
		if slices.ContainsFunc(f.Within, func(g Finding) bool { return g.At == d.At && g.Message() == d.Message() }) {
			continue // the hand is wanted by two cues there, and the way is the same
		}
		f.Within = append(f.Within, d.Finding)
		if motion.BandOf(d.Need, d.Window) == motion.Tight {
			continue // hardly worth a word beside what cannot be done
		}
		switch f.notes++; {
		case f.notes <= mostWithin:
			f.Related = append(f.Related, note(d.Where, "and because of that, at %s: %s", d.PlaceWords(), &d.About))
		case f.notes == mostWithin+1:
			f.Related = append(f.Related, score.Note{})
			fallthrough
		default:
			f.Related[len(f.Related)-1] = note(d.Where, "and %d more like that, the last at %s", f.notes-mostWithin, d.PlaceWords())
		}
	}
}

// eachTold visits all that was found, what is told within something else too.
func (r *Result) eachTold(visit func(*Finding)) {
	for i := range r.Findings {
		visit(&r.Findings[i])
		for k := range r.Findings[i].Within {
			visit(&r.Findings[i].Within[k])
		}
	}
}
