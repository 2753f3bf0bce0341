package written

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"example.org/handful/lang/beat"
)

// direction reads words, dynamics, wedges, rehearsal marks and tempos.
func (r *xmlReader) direction(p *xmlPart) error {
	at, heard := p.pos, p.pos // an offset is for the eye alone unless it says that it is for the ear
	tempoKnown := false
	said, voice := len(p.hands), ""
	var later []func()
	err := r.each(func(e element) error {
		switch e.name {
		case "direction-type":
			return r.each(func(e element) error { return r.directionType(p, e, &at, &heard, &tempoKnown, &later) })
		case "offset":
			sounds := attr(e, "sound") == "yes"
			text, err := r.text()
			if d, ok := duration(strings.TrimPrefix(text, "-")); ok {
				d = d.Div(p.divisions)
				if strings.HasPrefix(text, "-") {
					d = d.Neg()
				}
				if at = at.Add(d); at.Sign() < 0 {
					at = beat.Rat{}
				}
				if sounds {
					heard = at
				}
			}
			return err
		case "voice":
			text, err := r.text()
			voice = text
			return err
		case "sound":
			return r.playback(p, e, tempoKnown, heard)
		}
		return r.skip()
	})
	for _, f := range later {
		f() // at is final now
	}
	for i := range p.hands[said:] {
		p.hands[said+i].voice = p.voiceNumber(voice)
	}
	return err
}

// OwnWords begins the ids of words that exports add to what the piece says: a
// legend, and what a hand has to do. They do not come in again. A hairpin with
// such an id is for what the note behind it is played on, and for nothing else
// of the part.
const OwnWords = "handful-"

func (r *xmlReader) directionType(p *xmlPart, e element, at, heard *beat.Rat, tempoKnown *bool, later *[]func()) error {
	switch e.name {
	case "words":
		own := strings.HasPrefix(attr(e, "id"), OwnWords)
		p.percussion = p.percussion || own // else a part of nothing but kettles of the piece's own would not be known
		text, err := r.text()
		if text != "" && !own {
			*later = append(*later, func() { r.words(p, *at, text) })
		}
		return err
	case "rehearsal":
		text, err := r.text()
		if text != "" {
			r.rehearsal(p, text)
		}
		return err
	case "dynamics":
		return r.each(func(e element) error {
			text, err := r.text()
			name := cmp.Or(text, e.name) // one that has no name of its own is spelt out
			*later = append(*later, func() { r.dynamic(p, *at, name, "") })
			return err
		})
	case "wedge":
		if attr(e, "type") == "stop" && !strings.HasPrefix(attr(e, "id"), OwnWords) {
			*later = append(*later, func() { p.ends = append(p.ends, place{p.bar, *at}) })
		}
		if sign := map[string]string{"crescendo": "cresc", "diminuendo": "dim"}[attr(e, "type")]; sign != "" {
			if strings.HasPrefix(attr(e, "id"), OwnWords) {
				p.pins = append(p.pins, sign)
				break
			}
			*later = append(*later, func() { p.signs = append(p.signs, xmlSign{place: place{p.bar, *at}, text: sign}) })
		}
	case "segno":
		r.jumps.mark(&r.jumps.segno, p.bar, "segno")
	case "coda":
		*later = append(*later, func() { r.jumps.codaAt(place{p.bar, *at}) })
	case "percussion":
		return r.each(func(e element) error {
			text, err := r.implement(e)
			if text != "" {
				*later = append(*later, func() { p.signs = append(p.signs, xmlSign{place: place{p.bar, *at}, text: text, words: true}) })
			}
			return err
		})
	case "damp", "damp-all":
		*later = append(*later, func() {
			p.stops = append(p.stops, xmlStop{place: place{p.bar, *at}, text: e.name, source: r.line(), all: e.name == "damp-all"})
		})
	case "metronome":
		return r.metronome(p, heard, tempoKnown, later)
	case "bracket", "dashes": // how far words reach
	default:
		if r.begins(p, e) {
			r.lose(p, "the sign "+e.name)
		}
	}
	return r.skip()
}

// rehearsal takes a mark in. The first part's are everybody's, and usually
// stand in each.
func (r *xmlReader) rehearsal(p *xmlPart, name string) {
	for _, m := range r.jumps.marks {
		if m.Bar == p.bar {
			if m.Name != name {
				r.lose(p, fmt.Sprintf("the rehearsal mark %q where there is %q already", name, m.Name))
			}
			return
		}
	}
	if len(r.jumps.marks) == maxTempos {
		r.lose(p, "more rehearsal marks than are read")
		return
	}
	r.jumps.marks = append(r.jumps.marks, Mark{name, p.bar})
}

// implement is what a percussion pictogram says, in words.
func (r *xmlReader) implement(e element) (string, error) {
	var list []string
	depth := func() error {
		return r.each(func(e element) error {
			text, err := r.text()
			switch e.name {
			case "stick-material":
				list = append([]string{text}, list...)
			default:
				list = append(list, text)
			}
			return err
		})
	}
	if e.name == "stick" {
		err := depth()
		return strings.TrimSpace(strings.Join(list, " ") + " stick"), err
	}
	text, err := r.text()
	return strings.TrimSpace(text), err
}

var noteTypes = [...]string{"whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th", "256th", "512th", "1024th"}

// NoteTypes are what MusicXML calls a whole note, its half, the half of that and
// so on.
func NoteTypes() []string { return noteTypes[:] }

// noteValue is how long a note of a type is; 0 is none of them.
func noteValue(kind string) beat.Rat {
	if kind == "breve" {
		return beat.R(2, 1)
	}
	i := slices.Index(noteTypes[:], kind)
	if i < 0 {
		return beat.Rat{}
	}
	return beat.R(1, 1<<i)
}

func (r *xmlReader) metronome(p *xmlPart, at *beat.Rat, known *bool, later *[]func()) error {
	var unit beat.Rat
	rate, dots, modulation, about := 0.0, 0, false, ""
	err := r.each(func(e element) error {
		text, err := r.text()
		switch e.name {
		case "beat-unit":
			modulation = unit.Sign() > 0
			unit = noteValue(text)
		case "beat-unit-dot":
			dots++
		case "per-minute":
			number := strings.TrimLeftFunc(text, func(c rune) bool { return !unicode.IsDigit(c) })
			if rate, _ = strconv.ParseFloat(number, 64); rate > 0 && number != strings.TrimSpace(text) {
				about = text
			}
		}
		return err
	})
	switch {
	case err != nil:
		return err
	case modulation || unit.Sign() <= 0 || rate <= 0:
		r.lose(p, "a tempo mark that is not a note value and a number")
		return nil
	case about != "":
		r.lose(p, fmt.Sprintf("a tempo of %q: written as %g", about, rate))
	}
	dots = min(dots, 3)
	unit = unit.Mul(beat.R(int64(1)<<(dots+1)-1, int64(1)<<dots)) // a dot adds half of what was added last
	*later = append(*later, func() { r.tempo(p, *at, unit, rate) })
	*known = true
	return nil
}

// dampWords say that a ring is to be stopped.
var dampWords = []string{"damp", "étouffez", "etouffez", "étouffer", "etouffer", "choke", "muffle", "secco", "dämpfen"}

// allWords say that it is everything that is to be stopped.
var allWords = []string{"all", "everything", "tout", "tous", "tutti", "tutto", "alle", "alles"}

func (r *xmlReader) words(p *xmlPart, at beat.Rat, text string) {
	low := strings.ToLower(text)
	if first, called, _ := strings.Cut(text, " "); slices.Contains(dampWords, strings.ToLower(strings.Trim(first, ".,;:!"))) {
		called = strings.TrimSpace(called)
		p.stops = append(p.stops, xmlStop{place: place{p.bar, at}, text: text, called: called, source: r.line(), all: slices.Contains(allWords, strings.ToLower(strings.Trim(called, ". ")))})
		return
	}
	switch strings.Trim(low, ". ") {
	case "cresc", "crescendo":
		p.signs = append(p.signs, xmlSign{place: place{p.bar, at}, text: "cresc"})
		return
	case "dim", "decresc", "diminuendo", "decrescendo":
		p.signs = append(p.signs, xmlSign{place: place{p.bar, at}, text: "dim"})
		return
	}
	if h := handOf(text); h != 0 {
		p.hands = append(p.hands, stickingWord{place: place{p.bar, at}, hand: h, text: text, source: r.line()})
		return
	}
	if r.jumps.said(low, place{p.bar, at}) {
		return
	}
	r.changeTo(p, text)
	p.signs = append(p.signs, xmlSign{place: place{p.bar, at}, text: text, words: true})
}

// changeTo reads words that name what is played from here on, in a part whose
// notes do not say it themselves: "Triangle", "to W.B.".
func (r *xmlReader) changeTo(p *xmlPart, text string) {
	if len(p.instruments) > 1 {
		return
	}
	low := strings.ToLower(text)
	name := low
	for _, w := range []string{"change to ", "muta in ", "take ", "play ", "to "} {
		if rest, ok := strings.CutPrefix(low, w); ok {
			name = rest
			break
		}
	}
	in := r.opt.Catalogue.Read(name, p.among).Sure()
	if in == nil {
		return
	}
	id := ""
	if len(p.instruments) == 1 {
		id = p.instruments[0].id
	}
	if now := r.opt.Catalogue.Instrument(p.lines()[id]); now != nil && now.Pitched() && !in.Pitched() && oneLetter(low) {
		return // over notes a letter is a rehearsal mark, a key, a name: nobody changes to what it may be short for
	}
	if p.lines()[id] == in.ID || len(p.instruments) == 1 && r.opt.Catalogue.Read(p.instruments[0].name, p.among).Sure() == in && p.changed[id].name == "" {
		return
	}
	for _, id := range []string{"", id} {
		p.became(id, source{name: in.ID, percussion: true})
		p.says[id] = fmt.Sprintf("the words %q: from there on what the part plays is taken for the %s", text, in.Name())
	}
}

// oneLetter says whether a text has one letter and no more, whatever stands around it.
func oneLetter(text string) bool {
	n := 0
	for _, c := range text {
		if unicode.IsLetter(c) {
			n++
		}
	}
	return n == 1
}
