package plan

import (
	"cmp"
	"encoding/binary"
	"slices"

	"example.org/handful/lang/score"
)

// order puts lines into the order in which a plan looks at them. It comes of what is
// written and not of where: what begins first, then what has most to do, then by
// instrument and by the strokes themselves; so that a plan does not depend on which part
// stands first in the file. Where two lines are alike in all of that their names decide,
// and it makes no difference to what is lost.
func (p *piece) order() {
	keys := map[*track]string{}
	for _, t := range p.tracks {
		keys[t] = keyOfStrokes(t.strokes)
	}
	p.lines = slices.Clone(p.tracks)
	slices.SortStableFunc(p.tracks, func(a, b *track) int {
		return cmp.Or(
			cmp.Compare(a.first(), b.first()),
			cmp.Compare(len(b.strokes), len(a.strokes)),
			cmp.Compare(a.inst.ID, b.inst.ID),
			cmp.Compare(keys[a], keys[b]),
			cmp.Compare(a.name, b.name),
			cmp.Compare(a.part.Name, b.part.Name),
		)
	})
	for i, t := range p.tracks {
		t.index = i
	}
}

// first is the bar in which a line begins.
func (t *track) first() int32 {
	if len(t.strokes) == 0 {
		return 0
	}
	return t.strokes[0].Bar
}

// keyOfStrokes is the same for what is written alike.
func keyOfStrokes(strokes []score.Stroke) string {
	var out []byte
	for i := range strokes {
		st := &strokes[i]
		out = binary.AppendVarint(out, st.At.Num())
		out = binary.AppendVarint(out, st.At.Den())
		out = binary.AppendVarint(out, st.End.Num())
		out = binary.AppendVarint(out, st.End.Den())
		out = append(out, byte(st.Dyn), byte(st.Flags), st.Grace, st.Hand)
	}
	return string(out)
}
