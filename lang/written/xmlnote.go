package written

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/syntax"
)

// A rawNote is a note element as it stands.
type rawNote struct {
	grace, chord, rest, cue, unpitched bool
	hidden                             bool // there for playback only
	duration                           beat.Rat
	timed                              bool // it has a duration
	instrument                         string
	tieStart, tieStop, letRing         bool
	tremolo                            int // strokes through the stem; -1 is none, 0 a buzz
	tremoloType                        string
	odd                                []string // what of it is not as the standard has it
	trill, wavyStart, wavyStop         bool
	staccato, accent, fermata          bool
	hand                               byte
	dynamics                           []string
	forAll                             bool // … which are for all that is struck with it
	actual, normal                     int  // of a tuplet
	lyric                              string
	after                              []bool   // caesuras behind it
	signs                              []string // that the notation does not have
	marks                              []string // words for signs that it has no others for
	step                               string   // where it stands on the staff, as in C5
	head                               string   // its notehead, if it is no plain one
	brackets                           bool     // … in brackets
	pitch                              pitch.Pitch
	wild                               string // a pitch that is none
	staff                              int
	voice                              uint8
}

func (r *xmlReader) note(p *xmlPart, hidden bool) error {
	n := rawNote{tremolo: -1, actual: 1, normal: 1, hidden: hidden, staff: 1}
	err := r.each(func(e element) error {
		switch e.name {
		case "grace":
			n.grace = true
		case "chord":
			n.chord = true
		case "rest":
			n.rest = true
		case "cue":
			n.cue = true
		case "pitch":
			return r.pitch(&n)
		case "unpitched":
			n.unpitched = true
			return r.each(func(e element) error {
				text, err := r.text()
				n.step += text
				return err
			})
		case "notehead":
			n.brackets = attr(e, "parentheses") == "yes"
			text, err := r.text()
			n.head = text
			return err
		case "lyric":
			return r.each(func(e element) error {
				text, err := r.text()
				if e.name == "text" {
					n.lyric += text
				}
				return err
			})
		case "duration":
			text, err := r.text()
			if d, ok := duration(text); ok {
				n.duration, n.timed = d.Div(p.divisions), true
			} else if err == nil {
				r.lose(p, "a note whose duration is no number: "+strconv.Quote(text))
			}
			return err
		case "staff":
			text, err := r.text()
			n.staff = max(1, number(text))
			return err
		case "voice":
			text, err := r.text()
			n.voice = p.voiceNumber(text)
			return err
		case "instrument":
			n.instrument = attr(e, "id")
		case "tie":
			n.tie(attr(e, "type"))
		case "time-modification":
			return r.each(func(e element) error {
				text, err := r.text()
				switch v := number(text); e.name {
				case "actual-notes":
					n.actual = max(1, v)
				case "normal-notes":
					n.normal = max(1, v)
				}
				return err
			})
		case "notations":
			return r.each(func(e element) error { return r.notation(&n, e) })
		}
		return r.skip()
	})
	if err != nil {
		return err
	}
	r.place(p, &n)
	return nil
}

// pitch reads which note it is.
func (r *xmlReader) pitch(n *rawNote) error {
	var step, alter, octave string
	err := r.each(func(e element) error {
		text, err := r.text()
		switch text = strings.TrimSpace(text); e.name {
		case "step":
			step = text
		case "alter":
			alter = text
		case "octave":
			octave = text
		}
		return err
	})
	semitones, bad := strconv.ParseFloat(cmp.Or(alter, "0"), 64)
	of, worse := strconv.Atoi(octave)
	if len(step) == 1 && bad == nil && worse == nil && semitones == math.Trunc(semitones) && math.Abs(semitones) <= 2 && -1 <= of && of <= 9 {
		n.pitch = pitch.Of(step[0], int(semitones), of)
	}
	if n.pitch.None() {
		n.wild = strings.TrimSpace(step + " " + alter + " " + octave)
	}
	return err
}

// written is the note that a player reads, on an instrument that has notes: a
// file that says how its notes sound is taken at its word, else they are
// written as they stand, but for the octave of the clef.
func (r *xmlReader) written(p *xmlPart, n *rawNote, line string) pitch.Pitch {
	in := r.opt.Catalogue.Instrument(line)
	switch {
	case n.wild != "":
		r.lose(p, fmt.Sprintf("the pitch %q, which is no note that a bar has", n.wild))
		return pitch.Pitch{}
	case n.pitch.None():
		return n.pitch
	case in == nil || !in.Pitched():
		r.lose(p, fmt.Sprintf("pitches of notes on the %s, which has none here", line))
		return pitch.Pitch{}
	}
	for _, staff := range []int{n.staff, 0} {
		if octaves, ok := p.transposed[staff]; ok {
			return n.pitch.Octaves(octaves - in.Octaves)
		}
	}
	return n.pitch.Octaves(-p.octaves[n.staff])
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

func (r *xmlReader) notation(n *rawNote, e element) error {
	switch e.name {
	case "tied":
		n.tie(attr(e, "type"))
	case "fermata":
		n.fermata = true
	case "dynamics":
		n.forAll = strings.HasPrefix(attr(e, "id"), OwnWords)
		return r.each(func(e element) error {
			n.dynamics = append(n.dynamics, e.name)
			return r.skip()
		})
	case "ornaments":
		return r.each(func(e element) error {
			switch e.name {
			case "tremolo":
				n.tremoloType = attr(e, "type")
				text, err := r.text()
				if n.tremolo = number(text); strings.TrimSpace(text) == "" {
					n.tremolo = 0
				} else if n.tremolo < 0 || n.tremolo > mostMarks {
					n.odd = append(n.odd, fmt.Sprintf("a tremolo of %d marks through the stem: read as a roll", n.tremolo))
					n.tremolo = 0
				}
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
			default:
				n.signs = append(n.signs, e.name)
			}
			return r.skip()
		})
	case "articulations":
		return r.each(func(e element) error {
			switch e.name {
			case "staccato", "staccatissimo":
				n.staccato = true
			case "accent", "strong-accent":
				n.accent = true
			case "caesura":
				n.after = append(n.after, true)
			default:
				n.signs = append(n.signs, e.name)
			}
			return r.skip()
		})
	case "technical":
		return r.each(func(e element) error {
			text, err := r.text()
			switch e.name {
			case "fingering", "other-technical":
				if h := handOf(text); h != 0 && (n.hand == 0 || n.hand == h) {
					n.hand = h
				} else if m, ok := MarkOf(text); ok && m.Word == text && e.name == "other-technical" {
					n.marks = append(n.marks, text)
				} else if !slices.Contains(otherLimbs, text) {
					n.signs = append(n.signs, strings.TrimSpace(e.name+" "+text))
				}
			default:
				if word := markWords()[[2]string{"technical", e.name}]; word != "" {
					n.marks = append(n.marks, word)
				} else {
					n.signs = append(n.signs, e.name)
				}
			}
			return err
		})
	}
	if !slices.Contains([]string{"tied", "fermata", "tuplet", "footnote", "level"}, e.name) {
		if r.begins(r.now, e) {
			n.signs = append(n.signs, e.name)
		}
	}
	return r.skip()
}

// begins says whether a sign that may reach over several notes begins here, or
// stands for itself: its end is nothing more that could be lost.
func (r *xmlReader) begins(p *xmlPart, e element) bool {
	switch attr(e, "type") {
	case "start":
		p.begun[e.name] = true
	case "stop", "continue":
		return !p.begun[e.name]
	}
	return true
}

// otherLimbs are limbs that a written part says by what it is written for: a
// pedal has a foot, a whistle a mouth, a pair of cymbals both hands.
var otherLimbs = []string{"RF", "LF", "mouth", "R+L"}

// handOf is the hand that sticking means, 'R' or 'L', or 0.
func handOf(text string) byte {
	letters := make([]byte, 0, 2)
	for i := range len(text) {
		switch c := text[i]; {
		case c == '.' || c == ' ':
		case len(letters) == 2:
			return 0
		default:
			letters = append(letters, c&^0x20)
		}
	}
	switch string(letters) {
	case "R", "RH":
		return 'R'
	case "L", "LH":
		return 'L'
	}
	return 0
}

// flags are what the signs at a note say of its stroke.
func (n *rawNote) flags() (f Flags) {
	if n.accent {
		f |= Accent
	}
	if n.staccato {
		f |= Short
	}
	if n.letRing {
		f |= Ring
	}
	return f
}

// advance is where in its bar a note stands; a note that is not in a chord with
// the one before moves the part on. A fermata and a caesura at it are for all.
func (r *xmlReader) advance(p *xmlPart, n *rawNote) beat.Rat {
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
	if n.fermata {
		r.holdAt(p, held{place{p.bar, at}, n.duration})
	}
	if behind := (place{p.bar, at.Add(n.duration)}); len(n.after) > 0 {
		switch {
		case r.broken.of(p):
			r.jumps.breaks = append(r.jumps.breaks, behind)
		case !slices.Contains(r.jumps.breaks, behind):
			r.lose(p, "a caesura in a bar where another part has one at another place")
		}
	}
	return at
}

// holdAt takes a fermata in. A part that has it at another place in the bar than
// the part before is on the same one where its note or rest sounds meanwhile.
func (r *xmlReader) holdAt(p *xmlPart, h held) {
	if r.held.of(p) {
		r.jumps.holds = append(r.jumps.holds, h)
		return
	}
	end := h.off.Add(h.length)
	same := func(o held) bool {
		return o.bar == h.bar && (o.off == h.off || o.off.Less(end) && h.off.Less(o.off.Add(o.length)))
	}
	if !slices.ContainsFunc(r.jumps.holds, same) {
		r.lose(p, "a fermata in a bar where another part has one at another place")
	}
}

// An owned says which part has given the signs of a bar that are for all. Where
// several parts have them they are the same signs, though a part that rests may
// have one at the beginning of the bar: those of the first such part hold.
type owned map[int]*xmlPart

func (o owned) of(p *xmlPart) bool {
	if o[p.bar] == nil {
		o[p.bar] = p
	}
	return o[p.bar] == p
}

// mostMarks is how many marks of a tremolo a stem has at most, by the standard.
const mostMarks = 8

// rolls says whether a note is rolled: by its own sign, or under the wavy line
// of a trill.
func (r *xmlReader) rolls(p *xmlPart, n *rawNote) bool {
	trill := n.trill || p.trill || n.wavyStart
	p.trill = (p.trill || n.wavyStart) && !n.wavyStop
	for _, what := range n.odd {
		r.lose(p, what)
	}
	if n.tremoloType == "start" || n.tremoloType == "stop" {
		r.lose(p, "a tremolo between two notes: each is rolled by itself")
		return true
	}
	return trill || n.tremolo == 0 || n.tremolo >= 3 || n.tremoloType == "unmeasured"
}

// place puts a note where it belongs in its bar.
func (r *xmlReader) place(p *xmlPart, n *rawNote) {
	if n.grace {
		r.grace(p, n)
		return
	}
	at := r.advance(p, n)
	switch {
	case n.cue && !n.rest:
		r.lose(p, "cue notes, which nobody plays")
	case n.hidden && !n.rest:
		r.lose(p, "notes that are not printed")
	}
	if n.rest || n.cue || n.hidden {
		if len(p.graces) > 0 {
			r.lose(p, "grace notes with no note behind them")
			p.graces = nil
		}
		if n.rest {
			r.atRest(p, n, at)
		}
		return
	}
	p.percussion = p.percussion || n.unpitched
	line := r.lineOf(p, n)
	p.filled[p.bar] = true
	for _, pin := range p.pins {
		p.signs = append(p.signs, xmlSign{place: place{p.bar, at}, text: pin, line: line})
	}
	p.pins = nil
	for _, d := range n.dynamics {
		r.dynamic(p, at, d, line)
		if last := len(p.signs) - 1; n.forAll && last >= 0 {
			p.signs[last].line, p.signs[last].here = "", true
		}
	}
	for _, s := range n.signs {
		r.lose(p, "the sign "+s)
	}
	marks := r.marksOf(p, n, line)
	if i := slices.Index(marks, shortMark); i >= 0 {
		n.staccato, marks = true, slices.Delete(marks, i, i+1)
	}
	x := xmlNote{mark: r.mark(p, marks), place: place{p.bar, at}, end: at, line: line, grace: r.gracesOf(p, n, line, at), hand: n.hand, source: r.line(), lyric: n.lyric, pitch: r.written(p, n, line), drum: p.drums[n.instrument], flags: n.flags(), voice: n.voice}
	rolls := r.rolls(p, n)
	what := struck{line, n.pitch.Semitone()}
	released := n.tieStop && p.rolling[what] // the stroke that a roll runs into
	delete(p.rolling, what)
	tied := p.tiedOn(r, n, what)
	switch {
	case rolls:
		if in := r.opt.Catalogue.Instrument(line); n.trill && in != nil && in.Pitched() && len(in.Kettles) == 0 {
			r.lose(p, "a trill, of which only the written note is rolled")
		}
		x.flags |= Roll
		x.end = at.Add(n.duration)
		x.tied, x.tieOn = n.tieStop, n.tieStart
		if n.tieStart {
			p.rolling[what] = true
		}
	case n.tieStop && n.tremolo < 0 && !released && !tied:
		r.lose(p, "a tie that begins nowhere: the note at its end is written as a stroke")
	case n.tieStop && n.tremolo < 0 && !released:
		r.ringsOn(p, n)
		return
	case n.tremolo > 0:
		r.measured(p, x, n)
		return
	}
	p.notes = append(p.notes, x)
}

// tiedOn says whether a note is tied to one before it. A second ending may go on
// with what went over into the first.
func (p *xmlPart) tiedOn(r *xmlReader, n *rawNote, what struck) (tied bool) {
	tied = p.tied[what]
	if n.tieStop && p.last.Sign() == 0 && r.jumps.endStart == p.bar && len(r.jumps.endNums) > 0 {
		if slices.Min(r.jumps.endNums) == 1 {
			maps.Copy(p.overEnding, p.tied)
		}
		tied = tied || p.overEnding[what]
	}
	delete(p.tied, what)
	if n.tieStart {
		p.tied[what] = true
	}
	return tied
}

// ringsOn lists what stands at a note that is tied to the one before.
func (r *xmlReader) ringsOn(p *xmlPart, n *rawNote) {
	const what = "a note that rings on"
	if n.accent {
		r.lose(p, "an accent at "+what)
	}
	for _, m := range n.marks {
		r.lose(p, fmt.Sprintf("the mark %s at %s", m, what))
	}
	if n.hand != 0 {
		r.lose(p, fmt.Sprintf("the sticking \"%c\" at %s", n.hand, what))
	}
	if n.lyric != "" {
		r.lose(p, "lyrics at "+what)
	}
}

// atRest keeps what stands at a rest, or lists it: nobody strikes there.
func (r *xmlReader) atRest(p *xmlPart, n *rawNote, at beat.Rat) {
	for _, d := range n.dynamics {
		r.dynamic(p, at, d, "")
	}
	if n.hand != 0 {
		p.hands = append(p.hands, stickingWord{place: place{p.bar, at}, hand: n.hand, text: string(n.hand), source: r.line()})
	}
	r.unstruck(p, n, "a rest")
}

// unstruck lists the signs at what makes no stroke of its own.
func (r *xmlReader) unstruck(p *xmlPart, n *rawNote, what string) {
	for _, s := range n.signs {
		r.lose(p, "the sign "+s+" at "+what)
	}
	for _, m := range n.marks {
		r.lose(p, "the mark "+m+" at "+what)
	}
	if n.accent {
		r.lose(p, "an accent at "+what)
	}
	if n.lyric != "" {
		r.lose(p, "lyrics at "+what)
	}
}

// grace keeps a grace note until its note comes.
func (r *xmlReader) grace(p *xmlPart, n *rawNote) {
	r.unstruck(p, n, "a grace note")
	for _, d := range n.dynamics {
		r.dynamic(p, p.pos, d, "")
	}
	if n.hand != 0 {
		r.lose(p, fmt.Sprintf("the sticking \"%c\" at a grace note", n.hand))
	}
	if n.fermata {
		r.lose(p, "a fermata at a grace note")
	}
	if len(n.after) > 0 {
		r.lose(p, "a caesura at a grace note")
	}
	switch {
	case n.chord:
		r.lose(p, "a second note of a grace chord")
	case len(p.graces) == 3:
		r.lose(p, "more than three grace strokes before a note: three are kept")
	default:
		line := r.lineOf(p, n)
		p.graces = append(p.graces, xmlGrace{line, p.drums[n.instrument], n.pitch, xmlNote{line: line, source: r.line(), pitch: r.written(p, n, line), drum: p.drums[n.instrument], voice: n.voice}})
	}
}

// graceValue is which part of a whole note a grace stroke comes before its note
// where it is written as a stroke of its own: about as fast as a hand alternates
// with the other. Ours.
const graceValue = 32

// gracesOf is how many grace strokes belong to a note: those on its own
// instrument. One on another is a stroke of that, shortly before.
func (r *xmlReader) gracesOf(p *xmlPart, n *rawNote, line string, at beat.Rat) uint8 {
	own := uint8(0)
	for i, g := range p.graces {
		if g.line != line || g.drum != p.drums[n.instrument] {
			before := at.Sub(beat.R(int64(len(p.graces)-i), graceValue))
			if p.bar == 0 && before.Sign() < 0 {
				r.lose(p, "a grace stroke on another instrument than its note, before the beginning")
				continue
			}
			r.lose(p, fmt.Sprintf("a grace stroke on the %s before a note on the %s: written as a stroke of its own, a %dnd before", g.line, line, graceValue))
			x := g.note
			x.bar, x.off, x.end = p.bar, before, before
			p.notes = append(p.notes, x)
			continue
		}
		if g.pitch.Semitone() != n.pitch.Semitone() {
			r.lose(p, "a grace stroke on another note than the one after it: written as a grace of that")
		}
		own++
	}
	p.graces = nil
	return own
}

// head is what a notehead says of how its note is played, in words. Where
// noteheads tell instruments apart they have been read for that.
func (r *xmlReader) head(p *xmlPart, n *rawNote, line string) (marks []string) {
	if n.brackets {
		marks = append(marks, ghostMark)
	}
	switch n.head {
	case "", "normal":
	case "slash", "slashed", "none":
		r.lose(p, "noteheads that are slashes: the rhythm is written, what is played is the player's")
	default:
		if in := r.opt.Catalogue.Instrument(line); in != nil && HeadOf(in) == n.head {
			return marks // its usual one
		}
		if _, ok := byPlace(n.step, n.head); ok && p.placed {
			return marks
		}
		if word := markWords()[[2]string{"head", n.head}]; word != "" {
			return append(marks, word)
		}
		r.lose(p, fmt.Sprintf("noteheads of the form %s: written as plain strokes", n.head))
	}
	return marks
}

// maxMeasured is how many strokes of one note are written out at most: four
// bars of 4/4 in hundred-and-twenty-eighths.
const maxMeasured = 512

// measured writes a tremolo out that has so few strokes through its stem that
// each is counted: one makes eighths, two sixteenths.
func (r *xmlReader) measured(p *xmlPart, x xmlNote, n *rawNote) {
	step := beat.R(int64(n.normal), int64(4<<n.tremolo)*int64(n.actual))
	end, most := x.off.Add(n.duration), maxMeasured
	if !r.makes(int(min(n.duration.Div(step).Floor(), maxMeasured))) {
		r.lose(p, "a tremolo, written as a roll: "+fmt.Sprintf(tooMuchMade, r.most))
		x.flags, x.end = x.flags|Roll, end
		p.notes = append(p.notes, x)
		return
	}
	x.hand = cmp.Or(x.hand, p.handAt(x.place, x.voice)) // words are for all of it, as fingers are
	for off := x.off; off.Less(end); off = off.Add(step) {
		if most--; most < 0 {
			r.lose(p, fmt.Sprintf("a tremolo of more than %d strokes: the rest of them", maxMeasured))
			return
		}
		y := x
		y.off, y.end = off, off
		p.notes = append(p.notes, y)
		x.grace, x.flags = 0, x.flags&^Accent
	}
}

// lineOf is the line of the part that a note belongs to.
func (r *xmlReader) lineOf(p *xmlPart, n *rawNote) string {
	which := n.instrument
	if id, ok := r.setLine(p, n); ok {
		return id
	}
	var s source
	switch changed, ok := p.changed[which]; {
	case ok:
		s = changed
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
	s.name, p.drums[which] = r.namer.drum(s)
	s.percussion, s.among = p.percussion, p.among
	if says := p.says[which]; says != "" {
		r.lose(p, says)
		delete(p.says, which)
	}
	id, known := r.namer.name(s)
	if !hasDrum(r.opt.Catalogue.Instrument(id), p.drums[which]) {
		delete(p.drums, which) // it was the name of another thing
	}
	p.lines()[key] = id
	p.means[which] = nameMark(r.opt.Catalogue.Instrument(id), s.name)
	r.sayShared(p, which, id, s.name)
	if known {
		p.named[id] = true
	}
	return id
}

// sayShared says of an instrument of the file that it shares a line with another
// of its part, and nothing tells the two apart.
func (r *xmlReader) sayShared(p *xmlPart, which, id, name string) {
	for other, line := range p.lines() {
		if line == id && other != which && other != "" && which != "" && p.drums[other] == p.drums[which] && p.means[other] == p.means[which] && p.calls[other] != name {
			r.lose(p, fmt.Sprintf("which notes are for the %q and which for the %q: both are the %s here", p.calls[other], name, id))
			break
		}
	}
	p.calls[which] = name
}

// nearest is what a dynamic that the notation does not have is written as.
var nearest = map[string]string{"ppppp": "pppp", "pppppp": "pppp", "fffff": "ffff", "ffffff": "ffff", "sfpp": "sfp", "sfzp": "sfp", "sfffz": "sffz", "pf": "fp"}

// dynamic notes a dynamic of one instrument, or with "" of the whole part.
func (r *xmlReader) dynamic(p *xmlPart, at beat.Rat, name, line string) {
	text, ok := nearest[name]
	switch {
	case slices.Contains(syntax.Dynamics(), name):
		text = name
	case !ok:
		r.lose(p, fmt.Sprintf("the dynamic %q", name))
		return
	default:
		r.lose(p, fmt.Sprintf("the dynamic %s, written as %s", name, text))
	}
	p.signs = append(p.signs, xmlSign{place: place{p.bar, at}, text: text, line: line})
}
