package exchange

import (
	"fmt"
	"slices"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/rhythm"
	"example.org/handful/lang/score"
	"example.org/handful/lang/written"
)

// A voice is what one hand, both hands on one thing, a foot or the mouth plays
// in a measure, as it is spelt.
type voice struct {
	number  int
	staff   int  // from 0
	down    bool // its stems
	opposed bool // there is a voice with its stems up above it
	spelt   rhythm.Bar
	events  []rhythm.Event
	at      [][]outStroke  // for each event what is struck
	start   beat.Rat       // of the measure, where the places of what is spelt begin
	pauses  map[int]string // the signs of fermatas and caesuras, by note
}

// voices spells a measure. Both hands are one voice where they play one thing,
// so that a hand-to-hand figure reads as one rhythm, with its stems up also in a
// measure in which only the left hand has some of it; else the right hand has its
// stems up and the left hand down. Feet and mouth have voices of their own.
func (w *xmlWriter) voices(p *xmlPlayer, measure int) []voice {
	bar := w.seq[measure]
	start, length := w.Grid.Start(bar), w.Grid.Length(bar)
	m := w.Grid.Meter(bar)
	from := beat.Rat{}
	if full := m.Length(); bar == 0 && length.Less(full) {
		from = full.Sub(length) // a pickup is the end of a bar
	}
	by := make([][]outStroke, voicesOfStaff*len(p.staves))
	for _, list := range [][]outStroke{p.strokes[measure], p.carried[measure]} {
		for _, s := range list {
			if s.flags&score.Stop == 0 {
				k := p.staffOf(&s)*voicesOfStaff + s.voice
				by[k] = append(by[k], s)
			}
		}
	}
	for k := 0; k < len(by); k += voicesOfStaff {
		if right, left := &by[k+1], &by[k+2]; oneThing(*right, *left) {
			*right, *left = append(*right, *left...), nil
		}
	}
	var out []voice
	for number, list := range by {
		if len(list) == 0 {
			continue
		}
		v := voice{number: number, staff: number / voicesOfStaff, down: number%voicesOfStaff > 1, start: start.Sub(from)}
		if v.gather(list, from, length) {
			w.tell("cut off in bar %d: a roll that goes on while the same hand strikes something else", bar)
		}
		spelt, ok := rhythm.Spell(m, from, length, v.events)
		if !ok {
			w.tell("left out: what in bar %d is finer than any note value", bar)
		}
		v.spelt = spelt
		out = append(out, v)
	}
	for i := range out {
		v := &out[i]
		v.opposed = v.down && slices.ContainsFunc(out, func(o voice) bool { return o.staff == v.staff && !o.down })
	}
	return w.pause(out, bar, m, from)
}

// gather makes of a voice's strokes what they are to who spells them; strokes
// that begin together are one. It says whether one begins while another one goes on.
func (v *voice) gather(list []outStroke, from, length beat.Rat) (cut bool) {
	var events []rhythm.Event
	slices.SortStableFunc(list, func(a, b outStroke) int { return a.at.Cmp(b.at) })
	for _, s := range list {
		at, end := s.at.Sub(v.start), s.end.Sub(v.start)
		if s.flags&carried != 0 {
			at = from
		}
		if s.flags&score.Roll == 0 {
			end = at
		}
		over := from.Add(length).Less(end)
		if n := len(events); n > 0 && events[n-1].At == at {
			v.at[n-1] = append(v.at[n-1], s)
			if events[n-1].End.Less(end) {
				events[n-1].End, events[n-1].On = end, over
			}
			continue
		}
		if n := len(events); n > 0 && s.cue && at.Less(events[n-1].End) {
			events[n-1].End, events[n-1].On = at, false // lines that nobody plays share a voice
		}
		cut = cut || len(events) > 0 && at.Less(events[len(events)-1].End)
		events = append(events, rhythm.Event{At: at, End: end, Into: s.flags&carried != 0, On: over})
		v.at = append(v.at, []outStroke{s})
	}
	v.events = events
	return cut
}

// voicesOfStaff is how many numbers of voices a staff has: for two hands, two
// feet and the mouth, from 1, and behind them for cue notes.
const (
	voicesOfStaff = 7
	cueVoice      = 6
)

// oneThing says whether two hands play, and one thing between them, of which the
// right one may have nothing in a measure.
func oneThing(a, b []outStroke) bool {
	if len(b) == 0 || len(a) == 0 && slices.ContainsFunc(b, func(s outStroke) bool { return !s.inTurn }) {
		return false
	}
	if len(a) == 0 {
		a = b
	}
	for _, list := range [][]outStroke{a, b} {
		for _, s := range list {
			if s.item != a[0].item || s.flags&score.Roll != 0 {
				return false
			}
		}
	}
	return true
}

// carried marks a roll that goes on from the measure before, for the writer
// alone.
const carried score.StrokeFlags = 1 << 7

// carry finds the rolls that go on in later measures.
func (w *xmlWriter) carry(p *xmlPlayer) {
	p.carried = map[int][]outStroke{}
	for measure := range w.seq {
		for _, s := range p.strokes[measure] {
			if s.flags&score.Roll == 0 {
				continue
			}
			for k := measure + 1; k < len(w.seq) && w.seq[k]-w.seq[measure] == k-measure && w.Grid.Start(w.seq[k]).Less(s.end); k++ {
				on := s
				on.grace, on.signs, on.flags = 0, score.SignsAt(s.within, w.Grid.Start(w.seq[k])), (s.flags|carried)&^score.Accent
				p.carried[k] = append(p.carried[k], on)
			}
		}
	}
}

// silent says whether a player has nothing at all in a measure.
func (p *xmlPlayer) silent(measure int) bool {
	return len(p.strokes[measure]) == 0 && len(p.carried[measure]) == 0 && len(p.words[measure]) == 0
}

// bar writes the notes of one measure, voice by voice.
func (w *xmlWriter) bar(p *xmlPlayer, measure, bar int, loud map[*score.Item]string) {
	start, length := w.Grid.Start(bar), w.Grid.Length(bar)
	for _, word := range p.words[measure] {
		id, text := "", word.text
		if word.ours {
			w.words++
			id = fmt.Sprintf(` id="%s%d"`, written.OwnWords, w.words)
			if !word.roomy {
				text = inLines(text)
			}
		}
		w.line(3, `<direction placement="above"><direction-type><words%s%s>%s</words></direction-type>%s%s</direction>`, id, set(word.at.Sub(start), length), lineEnds.Replace(esc(text)), w.offset(word.at.Sub(start)), p.staff(word.staff))
	}
	for _, s := range p.strokes[measure] {
		if s.flags&score.Stop != 0 {
			w.line(3, `<direction placement="below"><direction-type><words>damp %s</words></direction-type>%s</direction>`, esc(s.item.Name), w.offset(s.at.Sub(start)))
		}
	}
	voices := p.spelt[measure]
	w.alike = alike(p.strokes[measure])
	begun := false
	again := func() { // from the second voice on, each goes back to the beginning
		if begun {
			w.line(3, `<backup><duration>%d</duration></backup>`, w.units(length))
		}
		begun = true
	}
	for n := range max(1, len(p.staves)) {
		if !slices.ContainsFunc(voices, func(v voice) bool { return v.staff == n && !v.cues() }) {
			again()
			w.line(3, `<note><rest measure="yes"/><duration>%d</duration><voice>%d</voice>%s</note>`, w.units(length), n*voicesOfStaff+1, p.staff(n))
		}
		for _, v := range voices {
			if v.staff == n {
				again()
				w.voice(p, v, loud)
			}
		}
	}
}

// widestWords is how many letters words have in a line, where they can be broken:
// about as wide as half a bar. Ours, tried out on what is drawn.
const widestWords = 18

// lineEnds writes the ends of lines in words as XML keeps them.
var lineEnds = strings.NewReplacer("&#xA;", "\n")

// inLines breaks what a hand has to do into lines.
func inLines(text string) string {
	var b strings.Builder
	at := 0
	for i, word := range strings.Split(text, " ") {
		n := len([]rune(word))
		switch {
		case i > 0 && at+1+n > widestWords:
			b.WriteByte('\n')
			at = 0
		case i > 0:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += n
	}
	return b.String()
}

// set says to which side of their place in a bar words stand: towards its middle,
// so that they do not run out of it.
func set(at, length beat.Rat) string {
	if at.MulInt(2).Less(length) {
		return ""
	}
	return ` justify="right" halign="right"`
}

func (w *xmlWriter) offset(from beat.Rat) string {
	if from.Sign() <= 0 {
		return ""
	}
	return fmt.Sprintf("<offset>%d</offset>", w.units(from))
}

// voice writes notes and rests.
func (w *xmlWriter) voice(p *xmlPlayer, v voice, loud map[*score.Item]string) {
	for i := range v.spelt.Notes {
		n := &v.spelt.Notes[i]
		var strokes []outStroke
		if !n.Rest() {
			strokes = v.at[n.Event]
			at := v.start.Add(n.At)
			for k := range strokes {
				s := &strokes[k]
				begins := s.at == at && s.flags&carried == 0
				if begins || len(s.signs) > 0 && v.goesOn(i, s) {
					w.signs(p, &v, s, loud)
				}
			}
		}
		if n.Rest() {
			w.rest(p, &v, i)
		}
		w.letters(p, &v, i, strokes)
		for k := range strokes {
			w.graces(p, &v, i, &strokes[k])
		}
		chord := false
		for k := range strokes {
			for j, ink := range p.inks(w, &strokes[k]) {
				w.note(p, &v, i, &strokes[k], ink, j == 0, chord)
				chord = true
			}
		}
	}
}

// signs gives a stroke its dynamic, and writes where hairpins begin and end. A
// dynamic that has not changed is not said again, nor one on the way of a
// hairpin.
func (w *xmlWriter) signs(p *xmlPlayer, v *voice, s *outStroke, loud map[*score.Item]string) {
	said, pin := "", ""
	for _, sign := range s.signs {
		if sign == "cresc" || sign == "dim" {
			pin = sign
		} else {
			said = sign
		}
	}
	switch dyn := s.dyn.String(); {
	case said != "" && said != dyn:
		s.level = said // for the one stroke: sfz
		if s.flags&carried != 0 {
			loud[s.item] = said // or reached in a roll
		}
	case s.dyn != 0 && loud[s.item] != dyn && (said != "" || !w.pin[s.place(v)]):
		s.level, loud[s.item] = dyn, dyn
		switch written, all := w.alike[s.at]; {
		case all && written:
			s.level = "" // it stands there for all
		case all:
			s.forAll, w.alike[s.at] = true, true
		}
	}
	at := s.place(v)
	if w.pin[at] && (said != "" || pin != "") {
		w.wedge(p, at, "stop")
		w.pin[at] = false
	}
	if pin != "" {
		w.wedge(p, at, map[string]string{"cresc": "crescendo", "dim": "diminuendo"}[pin])
		w.pin[at] = true
	}
}

// alike are the places at which several things are struck and each begins to be as
// loud as the others: one dynamic is enough for them.
func alike(strokes []outStroke) map[beat.Rat]bool {
	type place struct {
		dyn     kit.Dynamic
		n, said int
	}
	places := map[beat.Rat]place{}
	for i := range strokes {
		s := &strokes[i]
		if s.flags&score.Stop != 0 || s.cue {
			continue
		}
		at := places[s.at]
		if at.n++; at.n == 1 {
			at.dyn = s.dyn
		}
		if len(s.signs) == 1 && s.signs[0] == at.dyn.String() && s.dyn == at.dyn {
			at.said++
		}
		places[s.at] = at
	}
	out := map[beat.Rat]bool{}
	for at, p := range places {
		if p.n > 1 && p.said == p.n {
			out[at] = false // it is not written yet
		}
	}
	return out
}

// place is the number of the voice that the stroke's own limb has on its staff.
func (s *outStroke) place(v *voice) int { return v.staff*voicesOfStaff + s.voice }

// wedge begins or ends a hairpin, by an id that says it is for one thing alone.
func (w *xmlWriter) wedge(p *xmlPlayer, voice int, kind string) {
	w.words++
	w.line(3, `<direction placement="below"><direction-type><wedge type="%s" number="%d" id="%s%d"/></direction-type><voice>%d</voice>%s</direction>`,
		kind, min(16, voice), written.OwnWords, w.words, voice, p.staff(voice/voicesOfStaff))
}

var beamWords = map[rhythm.Beam]string{rhythm.Begin: "begin", rhythm.Continue: "continue", rhythm.End: "end", rhythm.Forward: "forward hook", rhythm.Backward: "backward hook"}

// look is how a note is written: its value, stem, notehead and beams, in the order
// that the standard has them in.
func (v *voice) look(i int, head, staff string) string {
	n := &v.spelt.Notes[i]
	var b strings.Builder
	if !n.Bar {
		size := ""
		if v.cues() {
			size = cueSize
		}
		b.WriteString("<type" + size + ">" + written.NoteTypes()[n.Value.Base] + "</type>" + strings.Repeat("<dot/>", int(n.Value.Dots)))
	}
	if n.Tuplet >= 0 {
		t := v.spelt.Tuplets[n.Tuplet]
		fmt.Fprintf(&b, "<time-modification><actual-notes>%d</actual-notes><normal-notes>%d</normal-notes></time-modification>", t.Actual, t.Normal)
	}
	if n.Rest() {
		return b.String() + staff
	}
	b.WriteString(map[bool]string{false: "<stem>up</stem>", true: "<stem>down</stem>"}[v.down])
	b.WriteString(head + staff)
	for k, beam := range n.Beams {
		fmt.Fprintf(&b, `<beam number="%d">%s</beam>`, k+1, beamWords[beam])
	}
	return b.String()
}

// tuplet is the sign of a tuplet that begins or ends at a note.
func (v *voice) tuplet(i int) string {
	t := v.spelt.Notes[i].Tuplet
	if t < 0 {
		return ""
	}
	out := ""
	if v.spelt.Tuplets[t].First == i {
		out += `<tuplet type="start"/>`
	}
	if v.spelt.Tuplets[t].Last == i {
		out += `<tuplet type="stop"/>`
	}
	return out
}

// notations puts what there is of signs at a note together.
func notations(inner string) string {
	if inner == "" {
		return ""
	}
	return "<notations>" + inner + "</notations>"
}

func (w *xmlWriter) rest(p *xmlPlayer, v *voice, i int) {
	n := &v.spelt.Notes[i]
	whole, hidden := "", ""
	if n.Bar {
		whole = ` measure="yes"`
	}
	if v.cues() {
		hidden = ` print-object="no"`
	}
	w.line(3, `<note%s><rest%s/><duration>%d</duration><voice>%d</voice>%s%s</note>`, hidden, whole, w.units(n.Length), v.number, v.look(i, "", p.staff(v.staff)), notations(v.tuplet(i)+v.pauses[i]))
}

// begins says whether a stroke begins at a note that is written for it.
func (v *voice) begins(i int, s *outStroke) bool {
	return v.start.Add(v.spelt.Notes[i].At) == s.at && s.flags&carried == 0
}

// goesOn says whether a note is the first of a roll from the measure before.
func (v *voice) goesOn(i int, s *outStroke) bool {
	n := &v.spelt.Notes[i]
	return s.flags&carried != 0 && n.At == v.events[n.Event].At
}

// graces writes the grace notes of a stroke; those of a chord stand before it.
func (w *xmlWriter) graces(p *xmlPlayer, v *voice, i int, s *outStroke) {
	if s.grace == 0 || !v.begins(i, s) {
		return
	}
	small, size := "", ""
	if s.cue {
		small, size = "<cue/>", cueSize
	}
	ink := p.inks(w, s)[0]
	for range s.grace {
		w.line(3, `<note><grace slash="yes"/>%s%s<instrument id="%s-I%d"/><voice>%d</voice><type%s>eighth</type>%s</note>`, small, ink.note, p.id, ink.instrument, v.number, size, p.staff(v.staff))
	}
}

// note writes one note with all that belongs to it. Of the notes of a stroke
// the leading one has its hand and its signs.
func (w *xmlWriter) note(p *xmlPlayer, v *voice, i int, s *outStroke, ink ink, leads, chord bool) {
	n := &v.spelt.Notes[i]
	instrument := fmt.Sprintf(`<instrument id="%s-I%d"/><voice>%d</voice>`, p.id, ink.instrument, v.number)
	staff := p.staff(v.staff)
	begins := leads && v.begins(i, s)
	ties, signs := "", ""
	if s.flags&score.Roll != 0 {
		if n.TieStop {
			ties, signs = `<tie type="stop"/>`, `<tied type="stop"/>`
		}
		if n.TieStart {
			ties, signs = ties+`<tie type="start"/>`, signs+`<tied type="start"/>`
		}
	}
	if !chord {
		signs += v.tuplet(i)
	}
	if s.flags&score.Roll != 0 {
		signs += `<ornaments><tremolo type="single">3</tremolo></ornaments>`
	}
	small := ""
	if s.cue {
		small, ties = "<cue/>", "" // the standard has no ties of theirs
	}
	marks, head := "", headOf(ink.head)
	if v.begins(i, s) {
		marks, head = markSigns(s.marks, ink.head)
	}
	if begins {
		signs += marks
		if !v.apart(s) {
			signs += handSign(s.hand)
		}
		signs += articulations(s) + w.loudness(s)
	} else if v.goesOn(i, s) {
		signs += w.loudness(s)
	}
	if !chord {
		signs += v.pauses[i]
	}
	chords := ""
	if chord {
		chords = "<chord/>"
	}
	w.line(3, `<note>%s%s%s<duration>%d</duration>%s%s%s%s</note>`, small, chords, ink.note, w.units(n.Length), ties, instrument, v.look(i, head, staff), notations(signs))
}

// apart says whether the hand's letter stands under the staff by itself: at the
// head it would stand on a stem, its own or that of the voice above.
func (v *voice) apart(s *outStroke) bool { return v.opposed && (s.hand == "R" || s.hand == "L") }

// letters writes the hands that stand by themselves, once for what a hand strikes
// at once. They are words of one voice, and come in again as its sticking.
func (w *xmlWriter) letters(p *xmlPlayer, v *voice, i int, strokes []outStroke) {
	said := ""
	for k := range strokes {
		if s := &strokes[k]; v.apart(s) && v.begins(i, s) && said != s.hand {
			said = s.hand
			w.line(3, `<direction placement="below"><direction-type><words halign="center" font-style="normal" font-weight="bold">%s</words></direction-type><voice>%d</voice>%s</direction>`, s.hand, v.number, p.staff(v.staff))
		}
	}
}

// handSign is the hand in the form that engraving programs print, as they do
// fingers; a foot and the mouth are there for programs only.
func handSign(hand string) string {
	switch hand {
	case "":
		return ""
	case "R", "L", "R+L":
		return `<technical><fingering>` + hand + `</fingering></technical>`
	}
	return `<technical><other-technical>` + hand + `</other-technical></technical>`
}

// articulations are the signs of a stroke itself.
func articulations(s *outStroke) string {
	inner := ""
	if s.flags&score.Accent != 0 {
		inner += "<accent/>"
	}
	if s.flags&score.Short != 0 {
		inner += "<staccato/>"
	}
	if inner != "" {
		inner = "<articulations>" + inner + "</articulations>"
	}
	return inner
}

// loudness is the dynamic at a note.
func (w *xmlWriter) loudness(s *outStroke) string {
	if s.level == "" {
		return ""
	}
	id := ""
	if s.forAll {
		w.words++
		id = fmt.Sprintf(` id="%s%d"`, written.OwnWords, w.words)
	}
	return "<dynamics" + id + "><" + s.level + "/></dynamics>"
}
