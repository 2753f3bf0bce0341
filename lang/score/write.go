package score

import (
	"strings"

	"handful/lang/kit"
	"handful/lang/syntax"
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
	bars := make([][]string, last-c.From+1)
	put := func(bar int, sign string) {
		if k := bar - c.From; k >= 0 && k < len(bars) {
			bars[k] = append(bars[k], sign)
		}
	}
	dyn := kit.Dynamic(0)
	for i := range c.Strokes {
		st := &c.Strokes[i]
		if st.Dyn != 0 && st.Dyn != dyn && st.Sounds() {
			dyn = st.Dyn
			put(int(st.Bar), dyn.String())
		}
		put(int(st.Bar), s.sign(st))
		if st.Has(Roll) {
			s.carry(st, put)
		}
	}
	var b strings.Builder
	for _, signs := range bars {
		b.WriteString("| ")
		if len(signs) == 0 {
			b.WriteString("-")
		}
		b.WriteString(strings.Join(signs, " "))
		b.WriteString(" ")
	}
	line := syntax.ParseLine(strings.TrimSpace(b.String()))
	if len(line.Problems) > 0 || line.Bars == nil {
		return "", false
	}
	return syntax.Fold(line), true
}

// sign is one stroke as the notation writes it, a roll up to its bar's end.
func (s *Score) sign(st *Stroke) string {
	_, count := s.Grid.Place(st.At)
	text := count.String()
	if st.Has(Stop) {
		return text + "x"
	}
	text = strings.Repeat("'", int(st.Grace)) + text
	if st.Hand != 0 {
		text += string(st.Hand)
	}
	if st.Has(Accent) {
		text += ">"
	}
	if st.Has(Roll) {
		text += "~"
		if st.End.Less(s.Grid.Start(int(st.Bar) + 1)) {
			_, end := s.Grid.Place(st.End)
			text += end.String()
		}
	}
	if st.Has(Short) {
		text += "."
	}
	return text
}

// carry writes what a roll adds to the bars behind its own.
func (s *Score) carry(st *Stroke, put func(bar int, sign string)) {
	for bar := int(st.Bar) + 1; bar <= s.Grid.Last(); bar++ {
		start, end := s.Grid.Start(bar), s.Grid.Start(bar+1)
		if !start.Less(st.End) {
			return
		}
		if st.End.Less(end) {
			_, count := s.Grid.Place(st.End)
			put(bar, "~"+count.String())
			return
		}
		put(bar, "~")
	}
}
