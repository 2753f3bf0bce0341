package sheet

import (
	"fmt"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/check"
	"example.org/handful/lang/motion"
)

// A retune is where a player begins to give a kettle another note, on paper.
type retune struct {
	at   beat.Rat
	text string
}

// retunes lists them by place, what is the same on several passes once, with the
// passes where it is not for all.
func (v *part) retunes() []retune {
	var out []retune
	passes := map[retune][]int{}
	spans := v.Time.Spans()
	for i := range v.m.Retunings {
		c := &v.m.Retunings[i]
		st := v.stretches(c)[0]
		r := retune{st.from, check.Doing(c)}
		if passes[r] == nil {
			out = append(out, r)
		}
		passes[r] = append(passes[r], spans[st.span].Pass)
	}
	for i, r := range out {
		if some := v.fewer(passes[r], r.at); some != nil {
			out[i].text = timesOf(some) + ": " + r.text
		}
	}
	slices.SortStableFunc(out, func(a, b retune) int { return a.at.Cmp(b.at) })
	return out
}

// firstTunings says what each kettle is tuned to before the beginning.
func firstTunings(m *motion.Result) []string {
	var out []string
	for _, t := range m.Tunings {
		if words := check.FirstTuning(&t); words != "" {
			out = append(out, "Tune the "+t.Item.Called()+": "+words)
		}
	}
	return out
}

// retuneWords is how a kettle is drilled.
func retuneWords(c *motion.Change) string {
	return fmt.Sprintf("Tune kettle %d of the %s from %s to %s, with the %s", c.Retunes.Kettle, c.To.Item().Called(), c.Retunes.From, c.Retunes.To, c.Hand.Name())
}

// changes are all of a player's, those of kettles last.
func changes(m *motion.Result) []*motion.Change {
	out := make([]*motion.Change, 0, len(m.Changes)+len(m.Retunings))
	for i := range m.Changes {
		out = append(out, &m.Changes[i])
	}
	for i := range m.Retunings {
		out = append(out, &m.Retunings[i])
	}
	return out
}
