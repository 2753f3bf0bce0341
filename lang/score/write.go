package score

import (
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// mostWritten is how many bars a cue may be written out into.
const mostWritten = 2000

// WriteBars writes a cue's strokes out as bars, from the first bar of its
// section on, equal bars folded into similes. It is not ok when there are none
// or too many.
func (s *Score) WriteBars(c *Cue) (text string, ok bool) {
	if len(c.Strokes) == 0 || c.Item == nil {
		return "", false
	}
	last := int(c.Strokes[len(c.Strokes)-1].Bar)
	for i := range c.Strokes {
		if st := &c.Strokes[i]; st.Has(Roll) {
			if bar, _ := s.Grid.Place(st.End); bar > last {
				last = min(bar, s.Grid.Last())
			}
		}
	}
	if last-c.From >= mostWritten || last < c.From {
		return "", false
	}
	bars := syntax.MakeBars(c.From, last)
	dyn := kit.Dynamic(0)
	for i := range c.Strokes {
		st := &c.Strokes[i]
		if st.Dyn != 0 && st.Dyn != dyn && st.Sounds() {
			dyn = st.Dyn
			bars.Dynamic(int(st.Bar), dyn.String())
		}
		bars.Put(int(st.Bar), s.sign(st), c.StruckAt(i).aims()...)
		if st.Has(Roll) {
			s.carry(st, bars)
		}
	}
	text = bars.Folded(last).Text
	return text, !bars.Unsaid && len(text) <= syntax.MaxLine
}

// sign is one stroke, a roll up to its bar's end.
func (s *Score) sign(st *Stroke) syntax.Sign {
	_, count := s.Grid.Place(st.At)
	if st.Has(Stop) {
		return syntax.Stop(count)
	}
	var how syntax.SignFlags
	if st.Has(Accent) {
		how |= syntax.Accent
	}
	if st.Has(Short) {
		how |= syntax.Short
	}
	if st.Has(Roll) {
		how |= syntax.Roll
	}
	it := syntax.Stroke(count, st.Grace, st.Hand, how)
	if st.Has(Roll) && st.End.Less(s.Grid.Start(int(st.Bar)+1)) {
		_, end := s.Grid.Place(st.End)
		it = it.Until(end)
	}
	return it
}

// carry writes what a roll adds to the bars behind its own.
func (s *Score) carry(st *Stroke, bars *syntax.BarMaker) {
	for bar := int(st.Bar) + 1; bar <= s.Grid.Last() && s.Grid.Start(bar).Less(st.End); bar++ {
		it := syntax.RollOn()
		if st.End.Less(s.Grid.Start(bar + 1)) {
			_, count := s.Grid.Place(st.End)
			it = it.Until(count)
		}
		bars.Put(bar, it)
	}
}
