package exchange

import (
	"fmt"
	"slices"
	"strings"

	"handful/lang/beat"
	"handful/lang/kit"
	"handful/lang/score"
)

// bar writes the notes of one measure, voice by voice.
func (w *xmlWriter) bar(p *xmlPlayer, measure, bar int, loud map[*score.Item]kit.Dynamic, open map[int]bool) {
	start, length := w.Grid.Start(bar), w.Grid.Length(bar)
	for _, word := range p.words[measure] {
		w.line(3, `<direction placement="above"><direction-type><words>%s</words></direction-type>%s</direction>`, esc(word.text), w.offset(word.at.Sub(start)))
	}
	byVoice := map[int][]outStroke{}
	for _, s := range p.strokes[measure] {
		if s.flags&score.Stop != 0 {
			w.line(3, `<direction placement="below"><direction-type><words>damp %s</words></direction-type>%s</direction>`, esc(s.item.Name), w.offset(s.at.Sub(start)))
			continue
		}
		byVoice[s.voice] = append(byVoice[s.voice], s)
	}
	// A roll from an earlier bar goes on in its voice.
	for v := 1; v <= 5; v++ {
		for back := measure - 1; back >= 0 && back >= measure-64; back-- {
			for _, s := range p.strokes[back] {
				from := w.Grid.Start(w.seq[back])
				if s.voice != v || s.flags&score.Roll == 0 || w.seq[measure]-w.seq[back] != measure-back {
					continue
				}
				if over := s.end.Sub(start); over.Sign() > 0 && from.Less(s.end) {
					s.at, s.grace, s.flags = start, 0, s.flags|carried
					byVoice[v] = append(byVoice[v], s)
				}
			}
		}
	}
	first := true
	for v := 1; v <= 5; v++ {
		list := byVoice[v]
		if len(list) == 0 {
			continue
		}
		if !first {
			w.line(3, `<backup><duration>%d</duration></backup>`, w.units(length))
		}
		first = false
		slices.SortStableFunc(list, func(a, b outStroke) int { return a.at.Cmp(b.at) })
		w.voice(p, v, list, start, length, loud)
	}
	if first {
		w.line(3, `<note><rest measure="yes"/><duration>%d</duration><voice>1</voice></note>`, w.units(length))
	}
}

// carried marks a roll that goes on from the bar before, for the writer alone.
const carried score.StrokeFlags = 1 << 7

func (w *xmlWriter) offset(from beat.Rat) string {
	if from.Sign() <= 0 {
		return ""
	}
	return fmt.Sprintf("<offset>%d</offset>", w.units(from))
}

// voice writes one limb's notes, quarter by quarter, so that every quarter
// with a division of its own is one tuplet.
func (w *xmlWriter) voice(p *xmlPlayer, v int, list []outStroke, start, length beat.Rat, loud map[*score.Item]kit.Dynamic) {
	for at := (beat.Rat{}); at.Less(length); {
		cell := beat.R(1, 4)
		if length.Less(at.Add(cell)) {
			cell = length.Sub(at)
		}
		w.cell(p, v, list, start.Add(at), cell, loud)
		at = at.Add(cell)
	}
}

// A slice is a stretch of a cell in which nothing new begins.
type slice struct {
	from, to beat.Rat // from the cell's beginning
	strokes  []outStroke
	roll     *outStroke // that goes on from before
}

func (w *xmlWriter) cell(p *xmlPlayer, v int, list []outStroke, start, length beat.Rat, loud map[*score.Item]kit.Dynamic) {
	end := start.Add(length)
	points := []beat.Rat{{}, length}
	for i := range list {
		s := &list[i]
		for _, at := range []beat.Rat{s.at, s.end} {
			if start.Less(at) && at.Less(end) && (at == s.at || s.flags&score.Roll != 0) {
				points = append(points, at.Sub(start))
			}
		}
	}
	slices.SortFunc(points, beat.Rat.Cmp)
	points = slices.Compact(points)
	n := int64(1) // parts of the cell
	for _, pt := range points {
		d := pt.Div(length).Den()
		n = n / gcd(n, d) * d
	}
	actual, normal := n, int64(1)
	for normal*2 <= n {
		normal *= 2
	}
	step := length.Div(beat.R(n, 1)) // one part, as it sounds
	shown := length.Div(beat.R(normal, 1))
	var cuts []slice
	for i := 0; i+1 < len(points); i++ {
		c := slice{from: points[i], to: points[i+1]}
		at := start.Add(c.from)
		for k := range list {
			s := &list[k]
			switch {
			case s.at == at && s.flags&carried == 0:
				c.strokes = append(c.strokes, *s)
			case s.flags&score.Roll != 0 && !at.Less(s.at) && at.Less(s.end) && (s.at.Less(at) || s.flags&carried != 0):
				c.roll = s
			}
		}
		cuts = append(cuts, c)
	}
	tuplet := &tupletMark{on: actual != normal, actual: actual, normal: normal}
	for i, c := range cuts {
		parts := c.to.Sub(c.from).Div(step).Floor()
		tuplet.lastCut = i == len(cuts)-1
		w.slice(p, v, c, parts, start, step, shown, tuplet, loud)
	}
}

type tupletMark struct {
	on, begun, lastCut bool
	actual, normal     int64
}

// notation is the tuplet's sign for a note, if it is its first or last.
func (t *tupletMark) notation(last bool) string {
	text := ""
	if t.on && !t.begun {
		text = `<tuplet type="start"/>`
	}
	if t.on && t.lastCut && last {
		text += `<tuplet type="stop"/>`
	}
	t.begun = true
	return text
}

func (t *tupletMark) modification() string {
	if !t.on {
		return ""
	}
	return fmt.Sprintf("<time-modification><actual-notes>%d</actual-notes><normal-notes>%d</normal-notes></time-modification>", t.actual, t.normal)
}

// slice writes a note (or a roll's tied notes) and the rests behind it.
func (w *xmlWriter) slice(p *xmlPlayer, v int, c slice, parts int64, start, step, shown beat.Rat, t *tupletMark, loud map[*score.Item]kit.Dynamic) {
	pieces := binary(parts)
	at := start.Add(c.from)
	for i, n := range pieces {
		last := i == len(pieces)-1
		duration := w.units(step.MulInt(n))
		kind, dots := noteType(shown.MulInt(n))
		value := fmt.Sprintf("<type>%s</type>%s%s", kind, strings.Repeat("<dot/>", dots), t.modification())
		end := at.Add(step.MulInt(n))
		switch {
		case i == 0 && len(c.strokes) > 0:
			mark := t.notation(last)
			for k := range c.strokes {
				w.note(p, v, &c.strokes[k], at, end, duration, value, mark, k > 0, loud)
				mark = ""
			}
		case c.roll != nil, len(c.strokes) > 0 && c.strokes[0].flags&score.Roll != 0:
			s := c.roll
			if s == nil {
				s = &c.strokes[0]
			}
			r := *s
			r.grace, r.flags = 0, (r.flags|carried)&^score.Accent
			w.note(p, v, &r, at, end, duration, value, t.notation(last), false, loud)
		default:
			notations := t.notation(last)
			if notations != "" {
				notations = "<notations>" + notations + "</notations>"
			}
			w.line(3, `<note><rest/><duration>%d</duration><voice>%d</voice>%s%s</note>`, duration, v, value, notations)
		}
		at = end
	}
}

// binary parts a number into the values that notes have, largest first; three
// parts of four are one dotted value.
func binary(n int64) []int64 {
	var out []int64
	for n > 0 {
		p := int64(1)
		for p*2 <= n {
			p *= 2
		}
		if p > 1 && n >= p+p/2 {
			p += p / 2
		}
		out = append(out, p)
		n -= p
	}
	return out
}

var noteTypes = []string{"whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th", "256th", "512th", "1024th"}

// noteType names a note value.
func noteType(value beat.Rat) (kind string, dots int) {
	for i, name := range noteTypes {
		v := beat.R(1, int64(1)<<i)
		switch value {
		case v:
			return name, 0
		case v.Mul(beat.R(3, 2)):
			return name, 1
		case v.Mul(beat.R(7, 4)):
			return name, 2
		}
	}
	return "1024th", 0
}

// note writes one note with all that belongs to it.
func (w *xmlWriter) note(p *xmlPlayer, v int, s *outStroke, at, end beat.Rat, duration int64, value, tuplet string, chord bool, loud map[*score.Item]kit.Dynamic) {
	index := slices.Index(p.items, s.item) + 1
	step, octave := spot(index)
	head := fmt.Sprintf(`<unpitched><display-step>%s</display-step><display-octave>%d</display-octave></unpitched>`, step, octave)
	instrument := fmt.Sprintf(`<instrument id="%s-I%d"/><voice>%d</voice>`, p.id, index, v)
	for range s.grace {
		w.line(3, `<note><grace slash="yes"/>%s%s<type>eighth</type></note>`, head, instrument)
	}
	roll := s.flags&score.Roll != 0
	ties, tied := "", ""
	if roll && s.flags&carried != 0 {
		ties, tied = `<tie type="stop"/>`, `<tied type="stop"/>`
	}
	if roll && end.Less(s.end) {
		ties, tied = ties+`<tie type="start"/>`, tied+`<tied type="start"/>`
	}
	notations := tied + tuplet
	if roll {
		notations += `<ornaments><tremolo type="single">3</tremolo></ornaments>`
	}
	if s.flags&carried == 0 {
		notations += `<technical><other-technical>` + s.hand + `</other-technical></technical>`
		articulations := ""
		if s.flags&score.Accent != 0 {
			articulations += "<accent/>"
		}
		if s.flags&score.Short != 0 {
			articulations += "<staccato/>"
		}
		if articulations != "" {
			notations += "<articulations>" + articulations + "</articulations>"
		}
		for _, h := range w.Pauses {
			if h.At == s.at && !h.Break {
				notations += "<fermata/>"
			}
		}
		if s.dyn != 0 && loud[s.item] != s.dyn {
			loud[s.item] = s.dyn
			notations += fmt.Sprintf("<dynamics><%s/></dynamics>", s.dyn)
		}
	}
	chords := ""
	if chord {
		chords = "<chord/>"
	}
	stem := "up"
	if v > 1 {
		stem = "down"
	}
	w.line(3, `<note>%s%s<duration>%d</duration>%s%s%s<stem>%s</stem><notations>%s</notations></note>`,
		chords, head, duration, ties, instrument, value, stem, notations)
}

// spot is where on the staff a player's n-th instrument is written: from the
// middle line outwards.
func spot(n int) (step string, octave int) {
	steps := []struct {
		step   string
		octave int
	}{{"B", 4}, {"E", 5}, {"F", 4}, {"G", 5}, {"D", 4}, {"C", 5}, {"A", 4}, {"D", 5}, {"G", 4}, {"F", 5}, {"E", 4}, {"A", 5}}
	s := steps[(max(1, n)-1)%len(steps)]
	return s.step, s.octave
}
