package written

import (
	"encoding/xml"
	"fmt"
	"strconv"
	"strings"

	"handful/lang/beat"
)

// A rawNote is a note element as it stands.
type rawNote struct {
	grace, chord, rest, cue, pitched, unpitched bool
	hidden                                      bool // there for playback only
	duration                                    beat.Rat
	timed                                       bool // it has a duration
	instrument                                  string
	tieStart, tieStop, letRing                  bool
	tremolo                                     int // strokes through the stem; -1 is none, 0 a buzz
	tremoloType                                 string
	trill, wavyStart, wavyStop                  bool
	staccato, accent, fermata                   bool
	hand                                        byte
	dynamics                                    []string
	actual, normal                              int // of a tuplet
}

func (r *xmlReader) note(p *xmlPart, hidden bool) error {
	n := rawNote{tremolo: -1, actual: 1, normal: 1, hidden: hidden}
	err := r.each(func(e xml.StartElement) error {
		switch e.Name.Local {
		case "grace":
			n.grace = true
		case "chord":
			n.chord = true
		case "rest":
			n.rest = true
		case "cue":
			n.cue = true
		case "pitch":
			n.pitched = true
		case "unpitched":
			n.unpitched = true
		case "duration":
			text, err := r.text()
			if d, ok := duration(text); ok {
				n.duration, n.timed = d.Div(p.divisions), true
			} else if err == nil {
				r.lose(p, "a note whose duration is no number: "+strconv.Quote(text))
			}
			return err
		case "instrument":
			n.instrument = attr(e, "id")
		case "tie":
			n.tie(attr(e, "type"))
		case "time-modification":
			return r.each(func(e xml.StartElement) error {
				text, err := r.text()
				switch v := number(text); e.Name.Local {
				case "actual-notes":
					n.actual = max(1, v)
				case "normal-notes":
					n.normal = max(1, v)
				}
				return err
			})
		case "notations":
			return r.each(func(e xml.StartElement) error { return r.notation(&n, e) })
		}
		return r.skip()
	})
	if err != nil {
		return err
	}
	r.place(p, &n)
	return nil
}

func (n *rawNote) tie(kind string) {
	switch kind {
	case "start":
		n.tieStart = true
	case "stop":
		n.tieStop = true
	case "continue":
		n.tieStart, n.tieStop = true, true
	case "let-ring":
		n.letRing = true
	}
}

func (r *xmlReader) notation(n *rawNote, e xml.StartElement) error {
	switch e.Name.Local {
	case "tied":
		n.tie(attr(e, "type"))
	case "fermata":
		n.fermata = true
	case "dynamics":
		return r.each(func(e xml.StartElement) error {
			n.dynamics = append(n.dynamics, e.Name.Local)
			return r.skip()
		})
	case "ornaments":
		return r.each(func(e xml.StartElement) error {
			switch e.Name.Local {
			case "tremolo":
				n.tremoloType = attr(e, "type")
				text, err := r.text()
				n.tremolo = max(0, number(text))
				return err
			case "trill-mark":
				n.trill = true
			case "wavy-line":
				switch attr(e, "type") {
				case "start":
					n.wavyStart = true
				case "stop":
					n.wavyStop = true
				}
			}
			return r.skip()
		})
	case "articulations":
		return r.each(func(e xml.StartElement) error {
			switch e.Name.Local {
			case "staccato", "staccatissimo":
				n.staccato = true
			case "accent", "strong-accent":
				n.accent = true
			}
			return r.skip()
		})
	case "technical":
		return r.each(func(e xml.StartElement) error {
			text, err := r.text()
			switch e.Name.Local {
			case "fingering", "other-technical":
				switch strings.ToUpper(text) {
				case "R", "RH", "R.H.":
					n.hand = 'R'
				case "L", "LH", "L.H.":
					n.hand = 'L'
				}
			}
			return err
		})
	}
	return r.skip()
}

// place puts a note where it belongs in its bar.
func (r *xmlReader) place(p *xmlPart, n *rawNote) {
	if n.grace {
		if !n.chord && p.graces < 3 {
			p.graces++
		} else if !n.chord {
			r.lose(p, "more than three grace strokes before a note: three are kept")
		}
		return
	}
	at := p.pos
	if n.chord {
		at = p.last
	} else {
		p.last = p.pos
		if !n.timed {
			r.lose(p, "a note without a duration")
		}
		p.move(n.duration)
	}
	if n.rest {
		p.graces = 0
		return
	}
	if n.cue || n.hidden {
		r.lose(p, map[bool]string{true: "cue notes, which nobody plays", false: "notes that are not printed"}[n.cue])
		p.graces = 0
		return
	}
	p.percussion = p.percussion || n.unpitched
	line := r.lineOf(p, n)
	p.filled[p.bar] = true
	for _, d := range n.dynamics {
		r.dynamic(p, at, d, line)
	}
	if n.fermata && !r.taken {
		r.jumps.holds = append(r.jumps.holds, place{p.bar, at})
	}
	x := xmlNote{place: place{p.bar, at}, end: at, line: line, grace: p.graces, hand: n.hand, source: r.line()}
	p.graces = 0
	if n.accent {
		x.flags |= Accent
	}
	if n.staccato {
		x.flags |= Short
	}
	if n.letRing {
		x.flags |= Ring
	}
	if n.wavyStart {
		p.trill = true
	}
	rolls := n.trill || p.trill || n.tremolo == 0 || n.tremolo >= 3 || n.tremoloType == "unmeasured"
	if n.tremoloType == "start" || n.tremoloType == "stop" {
		r.lose(p, "a tremolo between two notes: each is rolled by itself")
		rolls = true
	}
	if n.wavyStop {
		p.trill = false
	}
	switch {
	case rolls:
		x.flags |= Roll
		x.end = at.Add(n.duration)
		x.tied, x.tieOn = n.tieStop, n.tieStart
	case n.tieStop && n.tremolo < 0:
		return // it rings on; nothing is struck
	case n.tremolo > 0:
		r.measured(p, x, n)
		return
	}
	p.notes = append(p.notes, x)
}

// measured writes a tremolo out that has so few strokes through its stem that
// each is counted: one makes eighths, two sixteenths.
func (r *xmlReader) measured(p *xmlPart, x xmlNote, n *rawNote) {
	step := beat.R(int64(n.normal), int64(4<<n.tremolo)*int64(n.actual))
	end := x.off.Add(n.duration)
	for off := x.off; off.Less(end) && len(p.notes) < 4_000_000; off = off.Add(step) {
		y := x
		y.off, y.end = off, off
		p.notes = append(p.notes, y)
		x.grace, x.flags = 0, x.flags&^Accent
	}
}

// lineOf is the line of the part that a note belongs to.
func (r *xmlReader) lineOf(p *xmlPart, n *rawNote) string {
	which := n.instrument
	var s source
	switch {
	case which != "":
		s = source{key: -1, part: p.name}
		for _, in := range p.instruments {
			if in.id == which {
				s = in.source
			}
		}
	case len(p.instruments) > 0:
		s = p.instruments[0].source
		if len(p.instruments) > 1 {
			r.lose(p, fmt.Sprintf("a note that does not say which instrument it is for: taken for the %s", p.instruments[0].name))
		}
	default:
		s = source{key: -1, part: p.name, alone: true}
	}
	key := which
	if id, ok := p.lines()[key]; ok {
		return id
	}
	s.percussion, s.among = p.percussion, p.among
	id, known := r.namer.name(s)
	p.lines()[key] = id
	if known {
		p.named[id] = true
	}
	return id
}

// dynamic notes a dynamic of one instrument, or with "" of the whole part.
func (r *xmlReader) dynamic(p *xmlPart, at beat.Rat, name, line string) {
	text := name
	switch name {
	case "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "sfz", "fp":
	case "pppp", "ppppp", "pppppp":
		text = "ppp"
	case "ffff", "fffff", "ffffff":
		text = "fff"
	case "sf", "fz", "sffz", "sfzp", "rf", "rfz", "sfp", "sfpp":
		text = "sfz"
	default:
		r.lose(p, fmt.Sprintf("the dynamic %q", name))
		return
	}
	if text != name {
		r.lose(p, fmt.Sprintf("the dynamic %s, written as %s", name, text))
	}
	p.signs = append(p.signs, xmlSign{place{p.bar, at}, text, false, line})
}
