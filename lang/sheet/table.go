package sheet

import (
	"fmt"
	"strings"

	"example.org/handful/lang/body"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
)

// table is a system in words: a row for each limb and instrument, a column
// for each bar.
func (c *cueSheet) table(s *system) table {
	t := table{Head: []string{"limb", "what"}, Lead: 2}
	first, last := &s.blocks[0], &s.blocks[len(s.blocks)-1]
	t.Caption = fmt.Sprintf("Bars %d to %d", first.from, last.to)
	if first.from == last.to {
		t.Caption = fmt.Sprintf("Bar %d", first.from)
	}
	for _, l := range s.top.labels {
		if l.said != "" {
			t.Caption += "; " + l.said
		}
	}
	for i := range s.blocks {
		t.Head = append(t.Head, c.barWords(&s.blocks[i]))
	}
	for _, l := range s.lanes {
		for _, r := range l.rows {
			if r.item == nil {
				continue
			}
			line := []string{l.limb.Name(), r.said}
			for i := range s.blocks {
				line = append(line, c.cell(&s.blocks[i], r))
			}
			t.Rows = append(t.Rows, line)
		}
		if l.limb.IsHand() {
			t.Rows = append(t.Rows, c.holdCells(s, l))
		}
		if line := c.shiftCells(s, l); line != nil {
			t.Rows = append(t.Rows, line)
		}
	}
	return t
}

func (v *part) barWords(b *block) string {
	from, to := v.OnPage(b.from), v.OnPage(b.to)
	switch {
	case b.fold > 0 && b.fold == b.to-b.from+1:
		return fmt.Sprintf("bars %s to %s: the same again", from, to)
	case b.fold == 1:
		return fmt.Sprintf("bars %s to %s: each as the bar before", from, to)
	case b.fold == phrase:
		return fmt.Sprintf("bars %s to %s: as the four before, over and over", from, to)
	case b.fold > 1:
		return fmt.Sprintf("bars %s to %s: as the two before, over and over", from, to)
	case b.rest && b.from < b.to:
		return fmt.Sprintf("bars %s to %s: rest", from, to)
	case b.rest:
		return fmt.Sprintf("bar %s: rest", from)
	case b.left > 0:
		text := fmt.Sprintf("bar %s: rest, %s to the entry", from, words.Count(b.left, "bar", "bars"))
		if b.cue != nil {
			var at []string
			for _, place := range b.cue.at {
				_, n := v.Grid.Place(place)
				at = append(at, n.String())
			}
			text += fmt.Sprintf("; %s has the %s at %s", b.cue.player, b.cue.cue.Item.Called(), strings.Join(at, " "))
		}
		return text
	}
	return "bar " + from
}

// cell is what a row has in a bar, in the words of the notation.
func (c *cueSheet) cell(b *block, r *row) string {
	if b.fold > 0 {
		return ""
	}
	var words []string
	shared := c.sharedIn(b) && r.limb.IsHand()
	for _, st := range c.in(b) {
		if st.cue.Item != r.item || st.cue.Pass != r.pass || st.limbs&c.lineBits(b, r.limb) == 0 {
			continue
		}
		words = append(words, st.marks...)
		text := c.strokeWords(st.Stroke)
		if shared && st.Stroke.Hand == 0 {
			text += [...]string{"", "R", "L", "R+L"}[st.limbs&body.Hands]
		}
		if st.keys != "" {
			text += ":" + st.keys
		}
		words = append(words, text)
	}
	return strings.Join(words, " ")
}

// strokeWords is a stroke as the notation writes it.
func (v *part) strokeWords(st *score.Stroke) string {
	_, n := v.Grid.Place(st.At)
	text := strings.Repeat("'", int(st.Grace)) + n.String()
	switch {
	case !st.Sounds():
		text += "x"
	case st.Has(score.Roll):
		text += "~"
		bar, _ := v.Grid.Place(st.At)
		if end := v.Grid.Start(bar + 1); st.End.Less(end) {
			_, n := v.Grid.Place(st.End)
			text += n.String()
		} else if end.Less(st.End) {
			text += "→" + v.Place(st.End)
		}
	}
	if st.Has(score.Accent) {
		text += ">"
	}
	if st.Has(score.Short) {
		text += "."
	}
	if st.Hand != 0 {
		text += string(rune(st.Hand))
	}
	return text
}

// holdCells is what a hand holds along a system: said where it begins and
// where it changes.
func (c *cueSheet) holdCells(s *system, l *lane) []string {
	line := []string{l.limb.Name(), "holds"}
	last := ""
	for i := range s.blocks {
		b := &s.blocks[i]
		end := b.start.Add(b.length)
		var words []string
		for _, h := range l.holds {
			if h.from.Less(end) && (b.start.Less(h.to) || h.from == h.to && h.from == b.start) && h.words != "" && h.words != last {
				words = append(words, strings.TrimPrefix(h.words, "holds "))
				last = h.words
			}
		}
		line = append(line, strings.Join(words, ", then "))
	}
	return line
}

// shiftCells is what a hand changes along a system, where it begins to; nil
// where there is nothing.
func (c *cueSheet) shiftCells(s *system, l *lane) []string {
	line := []string{l.limb.Name(), "changes"}
	any := false
	shifts := c.shiftsIn(s, l.limb)
	for i := range s.blocks {
		b := &s.blocks[i]
		end := b.start.Add(b.length)
		var words []string
		for _, sh := range shifts {
			if at := sh.from; !at.Less(b.start) && at.Less(end) {
				words = append(words, c.changeWords(sh))
			}
		}
		for _, k := range l.clashes {
			if !k.at.Less(b.start) && k.at.Less(end) {
				words = append(words, c.Place(k.at)+": "+k.words)
			}
		}
		any = any || len(words) > 0
		line = append(line, strings.Join(words, "; "))
	}
	if !any {
		return nil
	}
	return line
}
