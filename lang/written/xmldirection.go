package written

import (
	"encoding/xml"
	"strconv"
	"strings"
	"unicode"

	"handful/lang/beat"
)

// direction reads words, dynamics, wedges, rehearsal marks and tempos.
func (r *xmlReader) direction(p *xmlPart) error {
	at := p.pos
	tempoKnown := false
	var later []func()
	err := r.each(func(e xml.StartElement) error {
		switch e.Name.Local {
		case "direction-type":
			return r.each(func(e xml.StartElement) error { return r.directionType(p, e, &at, &tempoKnown, &later) })
		case "offset":
			text, err := r.text()
			if d, ok := duration(strings.TrimPrefix(text, "-")); ok {
				d = d.Div(p.divisions)
				if strings.HasPrefix(text, "-") {
					d = d.Neg()
				}
				if at = at.Add(d); at.Sign() < 0 {
					at = beat.Rat{}
				}
			}
			return err
		case "sound":
			r.playback(p, e, tempoKnown, at)
		}
		return r.skip()
	})
	for _, f := range later {
		f() // at is final now
	}
	return err
}

func (r *xmlReader) directionType(p *xmlPart, e xml.StartElement, at *beat.Rat, tempoKnown *bool, later *[]func()) error {
	switch e.Name.Local {
	case "words":
		text, err := r.text()
		if text != "" {
			*later = append(*later, func() { r.words(p, *at, text) })
		}
		return err
	case "rehearsal":
		text, err := r.text()
		if text != "" && !r.taken {
			r.jumps.marks = append(r.jumps.marks, Mark{text, p.bar})
		}
		return err
	case "dynamics":
		return r.each(func(e xml.StartElement) error {
			name := e.Name.Local
			*later = append(*later, func() { r.dynamic(p, *at, name, "") })
			return r.skip()
		})
	case "wedge":
		if sign := map[string]string{"crescendo": "cresc", "diminuendo": "dim"}[attr(e, "type")]; sign != "" {
			*later = append(*later, func() { p.signs = append(p.signs, xmlSign{place: place{p.bar, *at}, text: sign}) })
		}
	case "segno":
		r.jumps.mark(&r.jumps.segno, p.bar, r.taken)
	case "coda":
		r.jumps.mark(&r.jumps.coda, p.bar, r.taken)
	case "damp", "damp-all":
		*later = append(*later, func() { p.stops = append(p.stops, xmlStop{place: place{p.bar, *at}}) })
	case "metronome":
		return r.metronome(p, tempoKnown)
	}
	return r.skip()
}

// units are the note values of a metronome mark.
var units = map[string]beat.Rat{
	"whole": beat.R(1, 1), "half": beat.R(1, 2), "quarter": beat.R(1, 4), "eighth": beat.R(1, 8), "16th": beat.R(1, 16), "32nd": beat.R(1, 32), "breve": beat.R(2, 1),
}

func (r *xmlReader) metronome(p *xmlPart, known *bool) error {
	var unit beat.Rat
	rate, dots, modulation := 0.0, 0, false
	err := r.each(func(e xml.StartElement) error {
		text, err := r.text()
		switch e.Name.Local {
		case "beat-unit":
			modulation = unit.Sign() > 0
			unit = units[text]
		case "beat-unit-dot":
			dots++
		case "per-minute":
			rate, _ = strconv.ParseFloat(strings.TrimLeftFunc(text, func(c rune) bool { return !unicode.IsDigit(c) }), 64)
		}
		return err
	})
	switch {
	case err != nil:
		return err
	case modulation || unit.Sign() <= 0 || rate <= 0:
		r.lose(p, "a tempo mark that is not a note value and a number")
		return nil
	}
	dots = min(dots, 3)
	unit = unit.Mul(beat.R(int64(1)<<(dots+1)-1, int64(1)<<dots)) // a dot adds half of what was added last
	r.tempo(p, p.pos, unit, rate)
	*known = true
	return nil
}

// dampWords say that a ring is to be stopped.
var dampWords = []string{"damp", "étouffez", "etouffez", "choke", "muffle", "secco", "dämpfen"}

func (r *xmlReader) words(p *xmlPart, at beat.Rat, text string) {
	low := strings.ToLower(text)
	for _, w := range dampWords {
		if strings.HasPrefix(low, w) {
			_, called, _ := strings.Cut(text, " ")
			p.stops = append(p.stops, xmlStop{place{p.bar, at}, strings.TrimSpace(called)})
			return
		}
	}
	switch strings.Trim(low, ". ") {
	case "cresc", "crescendo":
		p.signs = append(p.signs, xmlSign{place: place{p.bar, at}, text: "cresc"})
		return
	case "dim", "decresc", "diminuendo", "decrescendo":
		p.signs = append(p.signs, xmlSign{place: place{p.bar, at}, text: "dim"})
		return
	case "fine", "d.c", "d.s", "d.c. al fine", "d.s. al coda", "d.s. al fine", "d.c. al coda", "to coda", "segno", "coda":
		return // what is played says so too
	}
	p.signs = append(p.signs, xmlSign{place: place{p.bar, at}, text: text, words: true})
}
