package exchange

import (
	"cmp"
	"fmt"
	"slices"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/score"
	"example.org/handful/lang/written"
)

// A staff is one of those that a player's part has: one for what has no notes,
// a line for each thing, and one more for each clef and octave that notes are
// read in.
type staff struct {
	clef    string // percussion, G or F
	octaves int    // how much higher it sounds than it is written
	lines   int
}

// A thing is what is told apart in a part: an instrument, and where strokes
// say so a drum of it.
type thing struct {
	item   *score.Item
	member string // as the text names it, or ""
}

// called is the thing's name in the file: the drum of a set behind a comma.
func (t thing) called() string {
	name := t.item.Inst.Called
	if name == "" || t.item.Name != t.item.Inst.ID {
		name = t.item.Name
	}
	if t.member != "" {
		name += ", " + t.member
	}
	return name
}

// short is its short name, for the legend.
func (t thing) short() string {
	if t.member != "" {
		return shortItem(t.item) + " " + t.member
	}
	return shortItem(t.item)
}

// An ink is one note as it is written: its place on the staff, the instrument
// that it names, and its notehead.
type ink struct {
	note       string
	instrument int // from 1
	head       string
}

// A staffPlace is where a thing is written on the lines for what has no notes.
type staffPlace struct {
	step   string
	octave int
	head   string
}

// notes are the notes that a stroke strikes; none where it does not say, or
// where its instrument has none.
func (s *outStroke) notes() (out []pitch.Pitch) {
	if s.struck == nil || !s.item.Inst.Pitched() {
		return nil
	}
	for _, k := range s.struck.Keys {
		if !k.Pitch.None() {
			out = append(out, k.Pitch)
		}
	}
	slices.SortFunc(out, func(a, b pitch.Pitch) int { return a.Semitone() - b.Semitone() })
	return out
}

// members are the drums that a stroke strikes, by name; the whole, where it
// does not say.
func (s *outStroke) members() (out []string) {
	if s.struck != nil {
		for _, k := range s.struck.Keys {
			if k.Pitch.None() {
				out = append(out, k.String())
			}
		}
	}
	if len(out) == 0 {
		out = []string{""}
	}
	return out
}

// things are what a stroke strikes as the part tells it apart.
func (s *outStroke) things() (out []thing) {
	if s.notes() != nil {
		return []thing{{item: s.item}}
	}
	for _, m := range s.members() {
		out = append(out, thing{s.item, m})
	}
	return out
}

// inks are the notes that are written for a stroke.
func (p *xmlPlayer) inks(w *xmlWriter, s *outStroke) (out []ink) {
	if notes := s.notes(); notes != nil {
		at := p.instrument(thing{item: s.item})
		for _, n := range notes {
			alter := ""
			if n.Alter() != 0 {
				alter = fmt.Sprintf("<alter>%d</alter>", n.Alter())
			}
			out = append(out, ink{fmt.Sprintf("<pitch><step>%c</step>%s<octave>%d</octave></pitch>", n.Letter(), alter, n.Octave()), at, ""})
		}
		if s.struck.Count() > len(notes) {
			w.tell("left out: drums of the %s that are named beside notes", s.item.Name)
		}
		return out
	}
	for _, t := range s.things() {
		place := p.places[t]
		out = append(out, ink{fmt.Sprintf("<unpitched><display-step>%s</display-step><display-octave>%d</display-octave></unpitched>", place.step, place.octave), p.instrument(t), place.head})
	}
	return out
}

// instrument is a thing's number among the part's instruments, from 1.
func (p *xmlPlayer) instrument(t thing) int { return slices.Index(p.things, t) + 1 }

// staff names one of several staves, for a note or a direction.
func (p *xmlPlayer) staff(n int) string {
	if len(p.staves) < 2 {
		return ""
	}
	return fmt.Sprintf("<staff>%d</staff>", n+1)
}

// staffOf is the staff that a stroke is written on.
func (p *xmlPlayer) staffOf(s *outStroke) int {
	if s.notes() == nil {
		return 0
	}
	return p.ofItem[s.item]
}

// ranks is the order of families from the bottom of the staff up: skins, wood,
// what is shaken, metal.
var ranks = map[string]int{kit.Membrane: 0, kit.Composite: 1, kit.Wood: 2, kit.ByBody: 2, kit.Rattle: 3, kit.Effect: 3, kit.Wind: 3, kit.Keyboard: 4, kit.Metal: 5}

// setStaves gives each thing without notes a line of its own, or from six
// things on a line or a space: skins below, metal above, and the drums of a set
// from the lowest up. What has notes stands on a staff with the clef that most
// of its notes need the fewest lines in.
func (p *xmlPlayer) setStaves() {
	lines, heard := p.written()
	p.setLines(lines, len(heard) == 0)
	p.ofItem = map[*score.Item]int{}
	for _, t := range p.things {
		steps, ok := heard[t.item]
		if _, done := p.ofItem[t.item]; done || !ok {
			continue
		}
		slices.Sort(steps)
		s := staff{clef: "G", octaves: t.item.Inst.Octaves, lines: 5}
		if t.item.Inst.InBass(steps[len(steps)/2]) {
			s.clef = "F"
		}
		at := slices.Index(p.staves, s)
		if at < 0 {
			at = len(p.staves)
			p.staves = append(p.staves, s)
		}
		p.ofItem[t.item] = at
	}
}

// written are the things that are struck without a note, and the steps of the
// notes of what has them.
func (p *xmlPlayer) written() (lines []thing, heard map[*score.Item][]int) {
	heard = map[*score.Item][]int{}
	for _, list := range p.strokes {
		for i := range list {
			s := &list[i]
			if s.flags&score.Stop != 0 {
				continue
			}
			notes := s.notes()
			for _, n := range notes {
				heard[s.item] = append(heard[s.item], n.Step())
			}
			for _, t := range s.things() {
				if notes == nil && !slices.Contains(lines, t) {
					lines = append(lines, t)
				}
			}
		}
	}
	return lines, heard
}

// setLines sets out the staff of what has no notes, if there is any or nothing
// else.
func (p *xmlPlayer) setLines(lines []thing, alone bool) {
	slices.SortFunc(lines, func(a, b thing) int {
		return cmp.Or(ranks[a.item.Inst.Family]-ranks[b.item.Inst.Family], cmp.Compare(slices.Index(p.things, thing{item: a.item}), slices.Index(p.things, thing{item: b.item})),
			cmp.Compare(p.instrument(thing{a.item, ""}), p.instrument(thing{b.item, ""})), a.height()-b.height(), p.instrument(a)-p.instrument(b))
	})
	p.lined = lines
	if len(lines) > 0 || alone {
		p.staves = append(p.staves, staff{clef: "percussion", lines: min(5, max(1, len(lines)))})
	}
	apart := 2
	if len(lines) > 5 {
		apart = 1
	}
	p.places = map[thing]staffPlace{}
	for k, t := range lines {
		degree := k * apart // from the lowest line, E4
		p.places[t] = staffPlace{step: string("EFGABCD"[degree%7]), octave: 4 + (degree+2)/7, head: written.HeadOf(t.item.Inst)}
	}
}

// height orders the drums of a set from the lowest up, as far as their names
// tell; else from the left.
func (t thing) height() int {
	n, _ := t.item.Inst.MemberNamed(t.member)
	return t.item.Inst.Rank(n)
}

// clefs writes the staves of a part, in the order that the standard has for
// them.
func (w *xmlWriter) clefs(p *xmlPlayer) {
	number := func(i int) string {
		if len(p.staves) < 2 {
			return ""
		}
		return fmt.Sprintf(` number="%d"`, i+1)
	}
	if n := len(p.staves); n > 1 {
		w.line(4, `<staves>%d</staves>`, n)
	}
	for i, s := range p.staves {
		line := map[string]string{"G": "<line>2</line>", "F": "<line>4</line>"}[s.clef]
		w.line(4, `<clef%s><sign>%s</sign>%s</clef>`, number(i), s.clef, line)
	}
	for i, s := range p.staves {
		if s.lines != 5 {
			w.line(4, `<staff-details%s><staff-lines>%d</staff-lines></staff-details>`, number(i), s.lines)
		}
	}
	for i, s := range p.staves {
		if s.octaves != 0 {
			w.line(4, `<transpose%s><chromatic>0</chromatic><octave-change>%d</octave-change></transpose>`, number(i), s.octaves)
		}
	}
}
