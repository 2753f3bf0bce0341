package check

import (
	"slices"
	"strings"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
)

// RuleWrongImplement is the name of the rule for what is struck with something unusual.
const RuleWrongImplement = "wrong-implement"

var wrongImplement = &Rule{
	Name:       RuleWrongImplement,
	Severities: []Severity{Error, Compromise},
	Finds:      "an implement that would break the instrument, is not heard on it, or changes its sound",
	Means: `The cue names an implement with which the instrument is never played (a stick on a tambourine's head, brass on a
marimba), or one that is in none of its ways of playing as it is mounted here.`,
	Why:    `The first costs a head or a set of bars; the second is another sound than the one that was written.`,
	Stands: `The catalogue: what is never used, and why; published and common practice.`,
	Trips: `tempo 96
player Ida
  RL marimba with brass-mallet | 1 2 3 4
`,
	Passes: `tempo 96
player Ida
  RL marimba with yarn-mallet | 1 2 3 4
`,
	each:     true,
	timeless: true,
	Look: func(c *Context) {
		for cue := range c.Cues() {
			if len(cue.With) > 0 && !listsWith(cue.Item.Inst, motion.Wanted(cue), c.Score.Catalogue.PlaysAs(cue.With[0])) {
				c.wrongImplement(cue)
			}
		}
	},
}

func (c *Context) wrongImplement(cue *score.Cue) {
	in, mount, id := cue.Item.Inst, motion.Wanted(cue), c.Score.Catalogue.PlaysAs(cue.With[0])
	name, usual := c.Score.Catalogue.NameOf(cue.With[0]), usualWith(in, mount)
	r := c.AtCue(cue).On(cue.WithWhere)
	var f *Finding
	switch reason := in.Banned(id); {
	case reason != "":
		f = r.Error("the %s %s never played with the %s: %s", in.Name(), in.Verb("is", "are"), name, reason)
	case len(usual) > 0:
		f = r.Compromise("the %s is not a usual implement for the %s, which %s played with %s", name, in.Name(), in.Verb("is", "are"), strings.Join(c.implementNames(usual), " or "))
	case handWay(in, mount):
		f = r.Compromise("the %s %s played with the hand itself, and nothing to strike %s: the %s has no use here", in.Name(), in.Verb("is", "are"), in.Verb("it", "them"), name)
	default:
		return // there is no such way at all, and another rule says so
	}
	for _, id := range usual {
		if im := c.Score.Catalogue.Implement(id); im != nil { // a piece's own way may name one that nobody knows
			f.Or("play it with the "+im.Name(), withEdit(cue, id))
		}
	}
	if e, ok := c.withoutEdit(cue); ok && handWay(in, mount) {
		f.Or("leave the "+name+" out", e)
	}
	f.OrAccept()
}

// withoutEdit takes the implement out of a cue, with its word.
func (c *Context) withoutEdit(cue *score.Cue) (Edit, bool) {
	w := cue.WithWhere
	if w.File != 0 {
		return Edit{}, false
	}
	at := strings.LastIndex(c.File.Lines[w.Line].Text[:w.Start], " with ")
	if at < 0 {
		return Edit{}, false
	}
	w.Start = int32(at)
	if cue.Beside != nil {
		w.End = cue.AndWhere.End
	}
	return replace(w, ""), true
}

// handWay says whether an instrument is played on a mount with the hand
// itself.
func handWay(in *kit.Instrument, mount kit.Mount) bool {
	return slices.ContainsFunc(in.Ways, func(w *kit.Way) bool { return w.Mount == mount && w.Limb == kit.Hand && len(w.With) == 0 })
}

// listsWith says whether an instrument is played on a mount with an implement.
func listsWith(in *kit.Instrument, mount kit.Mount, id string) bool {
	return slices.ContainsFunc(in.Ways, func(w *kit.Way) bool { return w.Mount == mount && w.Lists(id) })
}

// usualWith is what the instrument is played with on a mount, in the way that
// costs nothing if there is one.
func usualWith(in *kit.Instrument, mount kit.Mount) []string {
	var out []string
	for _, w := range in.Ways {
		if w.Mount == mount && w.Limb == kit.Hand && len(w.With) > 0 {
			for _, ch := range w.With {
				out = appendNew(out, ch.Implement)
			}
			break
		}
	}
	return out
}

func (c *Context) implementNames(ids []string) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = id
		if im := c.Score.Catalogue.Implement(id); im != nil {
			out[i] = im.Name()
		}
	}
	return out
}
