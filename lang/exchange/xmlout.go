package exchange

import (
	"cmp"
	"encoding/xml"
	"errors"
	"fmt"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/check"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/motion"
	"example.org/handful/lang/score"
	"example.org/handful/lang/words"
	"example.org/handful/lang/written"
)

// MusicXMLOptions say what a score is to have besides what is played.
type MusicXMLOptions struct {
	WithOmitted bool // written strokes that nobody plays, as cue notes
}

// MusicXML writes what each player plays as a MusicXML 4.0 score: a part for a
// player with a line for each thing, both hands as one voice where they play one
// thing and else with their stems apart, each stroke with its hand, and in words
// what the hand has to do where the checker found the time for it. A piece whose
// order is spelled out, or that has vamps, is written out as it is played. What
// is not in the file, or otherwise than one might think, is told in a list.
func MusicXML(r *check.Result, opt MusicXMLOptions) (data []byte, told []string, err error) {
	w := &xmlWriter{Score: r.Score, marks: markWords{}, paused: map[int]bool{}}
	if w.Grid.Last() < w.Grid.First() {
		return nil, nil, errors.New("there are no bars to write")
	}
	if len(r.Motions) == 0 {
		return nil, nil, errors.New("there is no player to write a part for")
	}
	w.measures()
	if len(w.seq) > written.MaxBars {
		return nil, nil, fmt.Errorf("written out, there are more than %d bars", written.MaxBars)
	}
	w.line(0, `<?xml version="1.0" encoding="UTF-8"?>`)
	w.line(0, `<score-partwise version="4.0">`)
	if w.Title != "" {
		w.line(1, `<work><work-title>%s</work-title></work>`, esc(w.Title))
	}
	w.line(1, `<identification><encoding><software>Handful</software></encoding></identification>`)
	w.line(1, `<part-list>`)
	var parts []*xmlPlayer
	motions := r.Motions
	var cues []cue
	if opt.WithOmitted {
		motions, cues = w.omitted(motions)
	}
	for i, m := range motions {
		p := w.player(i, m, cues)
		parts = append(parts, p)
		w.listPart(p)
	}
	w.line(1, `</part-list>`)
	for _, p := range parts {
		w.part(p)
	}
	w.line(0, `</score-partwise>`)
	w.tellOf(r, len(cues) > 0)
	return []byte(w.out.String()), w.told, nil
}

// tell notes once what is not in the file, or not as one might think.
func (w *xmlWriter) tell(format string, args ...any) {
	if what := fmt.Sprintf(format, args...); !slices.Contains(w.told, what) {
		w.told = append(w.told, what)
	}
}

// tellOf lists what a score of this kind has no place for.
func (w *xmlWriter) tellOf(r *check.Result, cues bool) {
	if w.played {
		w.tell("written out as they are played: the order and the vamps; bars are counted anew")
	}
	c := r.Score.Coverage
	if n := c.Written - c.Covered - c.Substituted; n > 0 && !cues {
		w.tell("left out: %s that nobody plays", words.Count(n, "written stroke", "written strokes"))
	}
	w.tellPauses()
	if len(r.Score.Accepts) > 0 {
		w.tell("left out: the findings that are accepted, and why")
	}
	w.tell("left out: kits and places, which the sheets have")
}

type xmlWriter struct {
	*score.Score
	told   []string
	words  int // of its own, and hairpins, that were written
	marks  markWords
	pin    []bool            // in which voices a hairpin is open
	alike  map[beat.Rat]bool // places in the measure where one dynamic is for all, and whether it is written
	paused map[int]bool      // which fermatas and caesuras stand in some part
	out    strings.Builder
	seq    []int // written bars in the order of the measures
	spans  []int // for each measure the span that it is of, when played out
	played bool
	div    int64 // divisions of a quarter note
}

func esc(text string) string {
	var b strings.Builder
	xml.EscapeText(&b, []byte(text))
	return b.String()
}

func (w *xmlWriter) line(indent int, format string, args ...any) {
	w.out.WriteString(strings.Repeat("  ", indent))
	fmt.Fprintf(&w.out, format+"\n", args...)
}

// measures decides which bars are written, and in which order.
func (w *xmlWriter) measures() {
	if w.played = len(w.Orders) > 0 || len(w.Vamps) > 0; w.played {
		for i, sp := range w.Time.Spans() {
			for bar := sp.From; bar <= sp.To && len(w.seq) <= written.MaxBars; bar++ {
				w.seq = append(w.seq, bar)
				w.spans = append(w.spans, i)
			}
		}
		return
	}
	for bar := w.Grid.First(); bar <= w.Grid.Last() && len(w.seq) <= written.MaxBars; bar++ {
		w.seq = append(w.seq, bar)
		w.spans = append(w.spans, -1)
	}
}

// An outStroke is one stroke on its way out.
type outStroke struct {
	at, end beat.Rat // written
	voice   int
	item    *score.Item
	struck  *score.Struck
	flags   score.StrokeFlags
	grace   uint8
	hand    string
	dyn     kit.Dynamic
	pass    int
	signs   []string     // dynamics and hairpins that stand before it in the text
	level   string       // the dynamic that is written with it
	forAll  bool         // … and for all that is struck there
	marks   []string     // words that say how it is played
	cue     bool         // nobody plays it
	inTurn  bool         // it is one of a line that goes hand to hand
	within  []score.Word // dynamics while it goes on
}

// An xmlPlayer is one player's part.
type xmlPlayer struct {
	// measureOf is where a bar stands, by its span, or by -1 where bars are written once.
	measureOf map[[2]int]int
	id        string
	m         *motion.Result
	things    []thing             // in the order in which they come
	strokes   map[int][]outStroke // by measure
	words     map[int][]outWord
	carried   map[int][]outStroke // rolls from earlier measures
	spelt     map[int][]voice
	staves    []staff
	places    map[thing]staffPlace
	lined     []thing             // those without notes, from the lowest line up
	ofItem    map[*score.Item]int // the staff of those with notes
}

type outWord struct {
	at    beat.Rat // written
	text  string
	ours  bool // said by the writer, and not written in the piece
	staff int
	roomy bool // it stands at the beginning, where there is room for it
}

// player gathers a player's strokes and what has to be done between them.
func (w *xmlWriter) player(i int, m *motion.Result, cues []cue) *xmlPlayer {
	p := &xmlPlayer{id: fmt.Sprintf("P%d", i+1), m: m, strokes: map[int][]outStroke{}, words: map[int][]outWord{}, measureOf: map[[2]int]int{}, spelt: map[int][]voice{}}
	for k, bar := range w.seq {
		p.measureOf[[2]int{w.spans[k], bar}] = k
	}
	w.strike(p)
	w.cue(p, cues)
	w.change(p)
	w.retune(p)
	w.say(p)
	p.setStaves()
	w.carry(p)
	for measure := range w.seq {
		if v := w.voices(p, measure); len(v) > 0 {
			p.spelt[measure] = v
		}
	}
	w.legend(p)
	return p
}

// measure is the one in which an event's written bar stands.
func (w *xmlWriter) measure(p *xmlPlayer, e *motion.Event, bar int) (measure int, ok bool) {
	span := -1
	if w.played {
		span = int(e.Span)
	}
	measure, ok = p.measureOf[[2]int{span, bar}]
	return measure, ok
}

// strike gathers what is struck. Where bars are written once, what comes again
// on another pass is there already.
func (w *xmlWriter) strike(p *xmlPlayer) {
	type once struct {
		cue    *score.Cue
		stroke int32
		limbs  body.Limbs
	}
	done := map[once]bool{}
	swells := map[*score.Cue][]score.Word{}
	signs := score.NewSigns(w.Score)
	for e := range stroked(w.Score, p.m) {
		if o := (once{e.Cue, e.Stroke, e.Limbs}); !w.played {
			if done[o] {
				continue
			}
			done[o] = true
		}
		st := &e.Cue.Strokes[e.Stroke]
		measure, ok := w.measure(p, e, int(st.Bar))
		if !ok {
			continue
		}
		s := outStroke{at: st.At, end: st.End, item: e.Cue.Item, struck: e.Cue.StruckAt(int(e.Stroke)), flags: st.Flags, grace: st.Grace, dyn: st.Dyn, pass: e.Cue.Pass, signs: signs.Before(e.Cue, st)}
		all, known := swells[e.Cue]
		if !known {
			all = e.Cue.Swells()
			swells[e.Cue] = all
		}
		s.within = score.SignsIn(all, st.At, st.End)
		s.signs = append(s.signs, score.SignsAt(s.within, st.At)...)
		s.inTurn = e.Cue.Limb == body.RightFirst || e.Cue.Limb == body.LeftFirst
		if s.flags&score.Stop == 0 {
			s.marks = w.marks.at(e.Cue, st.At)
		}
		s.by(e.Limbs)
		for _, t := range s.things() {
			if !slices.Contains(p.things, t) {
				p.things = append(p.things, t)
			}
		}
		p.strokes[measure] = append(p.strokes[measure], s)
	}
	w.damped(p)
}

// stroked are what is written in a player's lines, each time that it is played: the
// strokes, and the stops, whoever or whatever makes them.
func stroked(s *score.Score, m *motion.Result) iter.Seq[*motion.Event] {
	return func(yield func(*motion.Event) bool) {
		others := m.OtherStops(s)
		for _, list := range [][]motion.Event{m.Events, others} {
			for k := range list {
				if e := &list[k]; e.Cue != nil && e.Kind != motion.Choke && !yield(e) {
					return
				}
			}
		}
	}
}

// damped gathers the stops that the text gives to a limb, where no line has them.
func (w *xmlWriter) damped(p *xmlPlayer) {
	for k := range p.m.Events {
		e := &p.m.Events[k]
		if e.Cue != nil || e.Kind != motion.Stop || e.Item() == nil {
			continue
		}
		measure, ok := w.measure(p, e, e.Bar())
		has := func(s outStroke) bool { return s.item == e.Item() && s.at == e.At() && s.flags&score.Stop != 0 }
		if ok && !slices.ContainsFunc(p.strokes[measure], has) {
			p.strokes[measure] = append(p.strokes[measure], outStroke{at: e.At(), end: e.At(), item: e.Item(), flags: score.Stop})
		}
	}
}

// by says which limbs make the stroke; it stands in the voice of the first.
func (s *outStroke) by(limbs body.Limbs) {
	for l := range limbs.Each() {
		if s.voice == 0 {
			s.voice = int(l) + 1
		}
		s.hand += l.String()
	}
	if limbs&body.Hands == body.Hands && limbs.Count() == 2 {
		s.hand = body.Together.String()
	}
}

// change gathers what a hand lays and takes, and where the player walks.
func (w *xmlWriter) change(p *xmlPlayer) {
	told := map[[2]beat.Rat]bool{}
	for k := range p.m.Changes {
		ch := &p.m.Changes[k]
		if !ch.Lays && !ch.Takes && !ch.Walks {
			continue
		}
		from, to := ch.To, ch.To
		if ch.From != nil {
			from = ch.From
		}
		key := [2]beat.Rat{from.At(), to.At()}
		if told[key] && !w.played {
			continue
		}
		told[key] = true
		at := from.At()
		if ch.From == nil {
			at = w.Grid.Start(from.Bar())
		}
		bar, _ := w.Grid.Place(at)
		measure, ok := w.measure(p, from, bar)
		if text := w.changeWords(ch); ok && text != "" {
			p.words[measure] = append(p.words[measure], outWord{at: at, text: text, ours: true})
		}
	}
}

// retune says where each kettle is tuned to what: before the beginning, and
// behind the stroke after which it gets another note.
func (w *xmlWriter) retune(p *xmlPlayer) {
	for _, t := range p.m.Tunings {
		if text := check.FirstTuning(&t); text != "" {
			p.words[0] = append(p.words[0], outWord{at: w.Grid.Start(w.seq[0]), text: short(t.Item.Inst) + ": tune " + text, ours: true, roomy: true})
		}
	}
	type once struct {
		measure int
		at      beat.Rat
		text    string
	}
	told := map[once]bool{}
	for k := range p.m.Retunings {
		ch := &p.m.Retunings[k]
		measure, ok := w.measure(p, ch.From, ch.From.Bar())
		if o := (once{measure, ch.From.At(), check.Doing(ch)}); ok && !told[o] {
			told[o] = true
			p.words[measure] = append(p.words[measure], outWord{at: o.at, text: o.text, ours: true})
		}
	}
}

// say gathers the words that the piece prints; similes do not say them again.
// Those that say how a stroke is played stand as signs at its note; what has no
// sign that is drawn is said besides.
func (w *xmlWriter) say(p *xmlPlayer) {
	stood := map[score.Where]bool{}
	for _, c := range p.m.Player.Cues {
		for _, word := range c.Words {
			if word.Sign && !w.Unheld(c, word.At) {
				continue // it stands at a note
			}
			if measure := slices.Index(w.seq, word.Bar); measure >= 0 && !stood[word.Where] {
				stood[word.Where] = true
				m, mark := written.MarkOf(word.Text)
				if mark = mark && soundsAt(c, word.At); !mark || m.Word != "" {
					p.words[measure] = append(p.words[measure], outWord{at: word.At, text: word.Text, ours: mark, roomy: mark})
				}
			}
		}
	}
}

// legend says in the first measure what stands on which line, and at its first
// stroke what each thing is.
func (w *xmlWriter) legend(p *xmlPlayer) {
	var said []outWord
	for i := range p.staves {
		var names []string
		if i == 0 {
			for k := len(p.lined) - 1; k >= 0; k-- {
				names = append(names, p.lined[k].short())
			}
		}
		from := ""
		if len(names) > 1 {
			from = "from the top: "
		}
		for _, t := range p.things {
			if at, ok := p.ofItem[t.item]; ok && at == i && t.member == "" {
				names = append(names, t.short())
			}
		}
		if len(names) > 0 {
			said = append(said, outWord{w.Grid.Start(w.seq[0]), from + strings.Join(names, ", "), true, i, true})
		}
	}
	p.words[0] = append(said, p.words[0]...)
}

// shortItem is the short name of a thing, or the piece's own name for it.
func shortItem(it *score.Item) string {
	if it.Name != it.Inst.ID {
		return it.Name
	}
	return short(it.Inst)
}

// changeWords says a change as a part does: "L: to Tri., take the yarn mallet".
func (w *xmlWriter) changeWords(ch *motion.Change) string {
	var parts []string
	if it := ch.To.Item(); it != nil && (ch.From == nil || ch.From.Item() != it) {
		parts = append(parts, "to "+short(it.Inst))
	}
	if ch.Lays {
		parts = append(parts, "lay "+ch.Laid().Words())
	}
	if ch.Takes {
		parts = append(parts, "take "+ch.Taken().Words())
	}
	if len(parts) == 0 {
		return ""
	}
	return ch.Hand.String() + ": " + strings.Join(parts, ", ")
}

func short(in *kit.Instrument) string {
	if len(in.Abbrevs) > 0 {
		return in.Abbrevs[0]
	}
	return in.Name()
}

func (w *xmlWriter) listPart(p *xmlPlayer) {
	w.line(2, `<score-part id="%s">`, p.id)
	w.line(3, `<part-name>%s</part-name>`, esc(p.m.Player.Name))
	for i, t := range p.things {
		it := t.item
		w.line(3, `<score-instrument id="%s-I%d">`, p.id, i+1)
		w.line(4, `<instrument-name>%s</instrument-name>`, esc(t.called()))
		if len(it.Inst.Abbrevs) > 0 && it.Name == it.Inst.ID {
			w.line(4, `<instrument-abbreviation>%s</instrument-abbreviation>`, esc(it.Inst.Abbrevs[0]))
		}
		if len(it.Inst.Sounds) > 0 {
			w.line(4, `<instrument-sound>%s</instrument-sound>`, esc(it.Inst.Sounds[0]))
		}
		w.line(3, `</score-instrument>`)
	}
	for i, t := range p.things {
		w.line(3, `<midi-instrument id="%s-I%d">`, p.id, i+1)
		if program := programOf(t.item.Inst); program >= 0 && slices.ContainsFunc(p.staves, func(s staff) bool { return s.clef != "percussion" }) {
			w.line(4, `<midi-channel>1</midi-channel>`)
			w.line(4, `<midi-program>%d</midi-program>`, program+1)
		} else {
			w.line(4, `<midi-channel>10</midi-channel>`)
			w.line(4, `<midi-unpitched>%d</midi-unpitched>`, keyOf(t.item.Inst)+1)
		}
		w.line(3, `</midi-instrument>`)
	}
	w.line(2, `</score-part>`)
}

// part writes a player's measures.
func (w *xmlWriter) part(p *xmlPlayer) {
	w.line(1, `<part id="%s">`, p.id)
	w.div = w.divisions(p)
	meter, tempo := "", 0.0
	loud := map[*score.Item]string{}
	w.pin = make([]bool, voicesOfStaff*len(p.staves))
	for k, bar := range w.seq {
		w.line(2, `<measure %s>`, w.number(k, bar))
		w.barStart(bar)
		meter = w.attributes(p, k, bar, meter)
		if n := w.resting(p, k); n > 1 {
			w.line(3, `<attributes><measure-style><multiple-rest>%d</multiple-rest></measure-style></attributes>`, n)
		}
		if p.id == first {
			tempo = w.forAll(bar, tempo)
		}
		w.bar(p, k, bar, loud)
		w.closePins(p, k)
		w.barEnd(bar)
		w.line(2, `</measure>`)
	}
	w.line(1, `</part>`)
}

// number is how a measure is numbered: as the piece says that it is in print.
// What has no number there has one that is not shown, as MusicXML has it.
func (w *xmlWriter) number(measure, bar int) string {
	text := w.Printed(bar)
	switch {
	case w.played:
		text = strconv.Itoa(measure + 1)
	case bar == 0 && text == "0", bar == 0 && text == "":
		return `number="0" implicit="yes"`
	case text == "":
		return fmt.Sprintf(`number="X%d" implicit="yes"`, measure+1)
	}
	return `number="` + esc(text) + `"`
}

// attributes are what holds from a measure on, where it changes.
func (w *xmlWriter) attributes(p *xmlPlayer, measure, bar int, was string) string {
	m := w.Grid.Meter(bar)
	if measure > 0 && m.String() == was {
		return was
	}
	w.line(3, `<attributes>`)
	if measure == 0 {
		w.line(4, `<divisions>%d</divisions>`, w.div)
		w.line(4, `<key><fifths>0</fifths></key>`)
	}
	w.line(4, `<time><beats>%d</beats><beat-type>%d</beat-type></time>`, m.Upper, m.Lower)
	if measure == 0 {
		w.clefs(p)
	}
	w.line(3, `</attributes>`)
	return m.String()
}

// closePins ends hairpins that the last measure leaves open.
func (w *xmlWriter) closePins(p *xmlPlayer, measure int) {
	if measure < len(w.seq)-1 {
		return
	}
	for v := range w.pin {
		if w.pin[v] {
			w.wedge(p, v, "stop")
			w.pin[v] = false
		}
	}
}

// resting is how many measures from one on are one rest of several bars: it is
// broken by whatever stands in one of them, and is not itself inside another.
func (w *xmlWriter) resting(p *xmlPlayer, measure int) int {
	n := 0
	if measure > 0 && w.restsOn(p, measure-1) && w.restsOn(p, measure) && !w.divided(measure) {
		return 0
	}
	for k := measure; k < len(w.seq) && w.restsOn(p, k) && (k == measure || !w.divided(k)); k++ {
		n++
	}
	return n
}

func (w *xmlWriter) restsOn(p *xmlPlayer, measure int) bool {
	bar := w.seq[measure]
	if !p.silent(measure) || bar == 0 {
		return false
	}
	start, end := w.Grid.Start(bar), w.Grid.Start(bar+1)
	return !slices.ContainsFunc(w.Pauses, func(h score.Pause) bool { return within(h, start, end) }) &&
		math.Abs(w.Tempo.Between(start, end)-w.Tempo.Between(start, start.Add(beat.R(1, 16)))*w.Grid.Length(bar).MulInt(16).Float()) < 1e-6
}

// divided says whether something stands at the beginning of a measure that a
// rest of several bars does not go over.
func (w *xmlWriter) divided(measure int) bool {
	bar, before := w.seq[measure], w.seq[measure-1]
	at := func(list []score.Section) bool {
		return slices.ContainsFunc(list, func(s score.Section) bool { return s.From == bar || s.To == before })
	}
	start := w.Grid.Start(bar)
	return bar != before+1 || w.Grid.Meter(bar).String() != w.Grid.Meter(before).String() || at(w.Repeats) || at(w.Endings) ||
		slices.ContainsFunc(w.Marks, func(m score.Mark) bool { return m.Bar == bar }) ||
		math.Abs(w.Tempo.Between(start, start.Add(beat.R(1, 16)))-w.Tempo.Between(start.Sub(beat.R(1, 16)), start)) > 1e-9
}

// first is the part in which stands what is for all, once: it is drawn above the
// system, and whoever takes a part out takes that with it.
const first = "P1"

const ofSystem = ` system="only-top"`

// forAll writes what is for all players in a bar.
func (w *xmlWriter) forAll(bar int, tempo float64) float64 {
	for _, mark := range w.Marks {
		if mark.Bar == bar {
			w.line(3, `<direction placement="above"%s><direction-type><rehearsal>%s</rehearsal></direction-type></direction>`, ofSystem, esc(mark.Name))
		}
	}
	return w.tempos(bar, tempo)
}

// tempos writes the tempo where it changes: as a metronome mark, and while it
// changes little by little only for playback, with a word where that begins.
func (w *xmlWriter) tempos(bar int, last float64) float64 {
	start, end := w.Grid.Start(bar), w.Grid.Start(bar+1)
	for pos := start; pos.Less(end); pos = pos.Add(beat.R(1, 4)) {
		next, long := pos.Add(beat.R(1, 16)), 15.0
		if w.moving(pos) != 0 { // a step lasts as long as the change does meanwhile
			next, long = pos.Add(beat.R(1, 4)), 60
		}
		now := long / w.Tempo.Between(pos, next)
		if math.Abs(now-last) < 0.0005 {
			continue
		}
		moving := w.moving(pos)
		word := `<words/>`
		if d := moving - w.movingBefore(pos); moving != 0 && math.Abs(d) > 0.5 {
			word = map[bool]string{true: `<words>accel.</words>`, false: `<words>rit.</words>`}[moving > 0]
		}
		last = now
		text := strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.4f", now), "0"), ".")
		if moving == 0 {
			word = `<metronome><beat-unit>quarter</beat-unit><per-minute>` + text + `</per-minute></metronome>`
		}
		w.line(3, `<direction placement="above"%s><direction-type>%s</direction-type>%s<sound tempo="%s"/></direction>`, ofSystem, word, strings.Replace(w.offset(pos.Sub(start)), "<offset>", `<offset sound="yes">`, 1), text)
	}
	return last
}

// moving says whether the tempo rises (1), falls (-1) or holds (0) from a place
// on.
func (w *xmlWriter) moving(pos beat.Rat) float64 {
	a, b := w.Tempo.At(pos), w.Tempo.At(pos.Add(beat.R(1, 64)))
	switch {
	case b > a*(1+1e-6):
		return 1
	case b < a*(1-1e-6):
		return -1
	}
	return 0
}

func (w *xmlWriter) movingBefore(pos beat.Rat) float64 {
	if pos = pos.Sub(beat.R(1, 32)); pos.Sign() < 0 {
		return 0
	}
	return w.moving(pos)
}

func (w *xmlWriter) barStart(bar int) {
	if w.played {
		return
	}
	for _, e := range w.Endings {
		if e.From == bar {
			w.line(3, `<barline location="left"><ending number="%s" type="start"/></barline>`, numbers(e.Numbers))
		}
	}
	for _, r := range w.Repeats {
		if r.From == bar {
			w.line(3, `<barline location="left"><bar-style>heavy-light</bar-style><repeat direction="forward"/></barline>`)
		}
	}
}

func numbers(list []int) string {
	var out []string
	for _, n := range list {
		out = append(out, fmt.Sprint(n))
	}
	return strings.Join(out, ", ")
}

func (w *xmlWriter) barEnd(bar int) {
	if w.played {
		return
	}
	var inner string
	for _, e := range w.Endings {
		if e.To == bar {
			kind := "stop"
			if !slices.ContainsFunc(w.Endings, func(o score.Section) bool { return o.From == bar+1 }) {
				kind = "discontinue"
			}
			inner += fmt.Sprintf(`<ending number="%s" type="%s"/>`, numbers(e.Numbers), kind)
		}
	}
	for _, r := range w.Repeats {
		back := r.To == bar
		// With endings it goes back from each of them but the last.
		if ends := w.endingsOf(r); len(ends) > 0 {
			back = slices.ContainsFunc(ends[:len(ends)-1], func(e score.Section) bool { return e.To == bar })
		}
		if back {
			times := ""
			if r.Times > 2 {
				times = fmt.Sprintf(` times="%d"`, r.Times)
			}
			inner += fmt.Sprintf(`<repeat direction="backward"%s/>`, times)
		}
	}
	if inner != "" {
		w.line(3, `<barline location="right"><bar-style>light-heavy</bar-style>%s</barline>`, inner)
	}
}

// endingsOf are the endings at a repeat's end, in order.
func (w *xmlWriter) endingsOf(r score.Section) []score.Section {
	var out []score.Section
	for _, e := range w.Endings {
		if e.From >= r.From && (e.To <= r.To || e.From == r.To+1) {
			out = append(out, e)
		}
	}
	slices.SortFunc(out, func(a, b score.Section) int { return cmp.Compare(a.From, b.From) })
	return out
}

// units is a length in divisions.
func (w *xmlWriter) units(length beat.Rat) int64 { return length.MulInt(4 * w.div).Floor() }

// divisions is the least number that every note and rest in the part is a whole
// multiple of.
func (w *xmlWriter) divisions(p *xmlPlayer) int64 {
	div := int64(8)
	widen := func(r beat.Rat) {
		d := r.MulInt(4).Den()
		if next := div / gcd(div, d) * d; next <= 1<<20 {
			div = next
		}
	}
	for _, list := range p.spelt {
		for _, v := range list {
			for _, n := range v.spelt.Notes {
				widen(n.Length)
			}
		}
	}
	for measure, bar := range w.seq {
		widen(w.Grid.Length(bar))
		for _, word := range p.words[measure] {
			widen(word.at)
		}
		for _, s := range p.strokes[measure] {
			widen(s.at)
		}
	}
	return div
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
