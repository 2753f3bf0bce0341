package written

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/pitch"
)

// MaxBars is how many bars a file may have.
const MaxBars = 100_000

// An xmlReader makes a work of a MusicXML score, one part after the other.
type xmlReader struct {
	*puller
	opt     Options
	work    *Work
	namer   *namer
	scores  map[string]*scorePart
	bars    []xmlBar // of the first part that has them; the others must fit
	jumps   jumps
	parts   []*xmlPart
	now     *xmlPart     // the part that is being read, if one is
	taken   bool         // some part has been read
	held    owned        // fermatas
	broken  owned        // caesuras
	ends    map[int]bool // bars with a fermata on a bar line
	credits []string     // words printed on the first page
	made    int          // strokes that no note stands for: those of tremolos and of signs to repeat
	most    int          // how many of them come in
	marks   [][]string   // the words that say how notes are played
}

// A scorePart is one entry of the part list.
type scorePart struct {
	name        string
	instruments []xmlInstrument
	among       kit.Among
}

type xmlInstrument struct {
	id string
	source
}

// An xmlBar is one bar as the file has it.
type xmlBar struct {
	meter    beat.Meter
	length   beat.Rat // what is in it; 0 when nothing says
	number   string   // as printed; "" when it is not
	implicit bool
	line     int
}

// A place is somewhere in a bar.
type place struct {
	bar int
	off beat.Rat
}

// An xmlNote is a stroke on its way to its line.
type xmlNote struct {
	place
	end    beat.Rat // offset in the bar
	line   string   // instrument
	flags  Flags
	grace  uint8
	hand   byte
	voice  uint8
	tied   bool // goes on from the note before
	tieOn  bool
	mark   uint8 // which words say how it is played; 0 is none
	source int
	lyric  string
	pitch  pitch.Pitch
	drum   string // which of a set
}

// What is struck: an instrument, and which of its notes.
type struck struct {
	line string
	key  int // of MIDI, or -1
}

// An xmlGrace is a grace note that waits for its note.
type xmlGrace struct {
	line, drum string
	pitch      pitch.Pitch // as the file has it
	note       xmlNote     // what it is as a stroke of its own
}

type xmlSign struct {
	place
	text  string
	words bool
	line  string // the one instrument it is for, or "" for all of the part
	here  bool   // … or for those that are struck at its place
}

// An xmlStop is where a ring is stopped: of the named instrument, or of what
// rings last.
type xmlStop struct {
	place
	text, called string
	source       int
	all, known   bool // of everything that rings; what is called is a line of the part's
	at           beat.Rat
}

// A stickingWord is a hand that stands as words, on its way to the notes at
// its place.
type stickingWord struct {
	place
	hand   byte
	voice  uint8 // whose notes it is for; 0 is any
	text   string
	source int
}

// An xmlPart is a part that is being read.
type xmlPart struct {
	*scorePart
	bar        int // index of the present bar
	pos        beat.Rat
	last       beat.Rat // where the last note began, for chords
	furthest   beat.Rat
	divisions  beat.Rat // in a whole note
	meter      beat.Meter
	notes      []xmlNote
	signs      []xmlSign
	ends       []place         // where hairpins end
	tied       map[struck]bool // what is tied on to a note to come
	overEnding map[struck]bool // … into a first ending
	pins       []string        // hairpins for the line of the note to come
	stops      []xmlStop       // words that say to damp
	graces     []xmlGrace      // those whose note is to come
	percussion bool
	trill      bool              // a wavy line goes on
	rolling    map[struck]bool   // lines and notes whose last was a roll that is tied on
	changed    map[string]source // instruments that have become others on the way
	hands      []stickingWord
	voices     []string          // as the file calls them
	says       map[string]string // of an instrument that has become another, when it plays
	octaves    map[int]int       // by staff: how much higher than written its notes stand in the file, by its clef
	transposed map[int]int       // by staff, 0 for all: octaves from what stands there to what sounds, where the file says so
	drums      map[string]string // which of a set an instrument of the file is
	means      map[string]string // how its notes are played, as its name says
	calls      map[string]string // what the file calls it
	begun      map[string]bool   // signs over several notes, of which one has begun
	beats      *beat.Rat         // where the beat ends that a beat repeat repeats
	beatLength beat.Rat
	placed     bool            // instruments are told by their places on the staff
	slashes    int             // the bar in which slashes began and nothing is written, or -1
	repeats    map[int]int     // bar → how many bars back it repeats
	repeating  int             // a measure repeat goes on over so many bars
	filled     map[int]bool    // bars with notes
	named      map[string]bool // instruments that the catalogue has
	ids        map[string]string
	length     int
}

func readXML(data string, opt Options) (*Work, error) {
	data, err := asUTF8(data)
	if err != nil {
		return nil, err
	}
	return readScore(data, opt)
}

// readScore reads a score that is UTF-8.
func readScore(data string, opt Options) (*Work, error) {
	r := &xmlReader{puller: newPuller(data), opt: opt, work: &Work{}, most: mostMade + len(data)/bytesAStroke, scores: map[string]*scorePart{}, held: owned{}, broken: owned{}, ends: map[int]bool{}}
	r.namer = &namer{opt: opt, work: r.work, own: map[string]string{}}
	root, err := r.root()
	if err != nil {
		return nil, err
	}
	switch root.name {
	case "score-partwise":
	case "score-timewise":
		turned, err := partwise(data)
		if err != nil {
			return nil, err
		}
		return readScore(turned, opt)
	default:
		return nil, fmt.Errorf("line %d: this is no MusicXML score: it begins with <%s>", r.line(), root.name)
	}
	if err := r.each(r.top); err != nil {
		return nil, err
	}
	if len(r.bars) == 0 {
		return nil, fmt.Errorf("there are no bars in it")
	}
	r.namer.asks()
	err = r.finish()
	r.lostInPrint()
	return r.work, err
}

func (r *xmlReader) top(e element) error {
	switch e.name {
	case "work":
		return r.each(r.title)
	case "movement-title", "movement-number":
		return r.title(e)
	case "identification":
		return r.each(func(e element) error {
			if e.name != "creator" && e.name != "rights" {
				return r.skip()
			}
			kind := cmp.Or(attr(e, "type"), map[bool]string{true: "rights"}[e.name == "rights"])
			text, err := r.text()
			if text != "" && len(r.work.Credits) < 20 {
				if kind != "" && kind != "composer" {
					text = kind + ": " + text
				}
				r.work.Credits = append(r.work.Credits, text)
			}
			return err
		})
	case "part-list":
		return r.each(r.listed)
	case "part":
		return r.part(attr(e, "id"))
	case "credit":
		return r.each(func(e element) error {
			text, err := r.text()
			if e.name == "credit-words" && text != "" && len(r.credits) < 50 {
				r.credits = append(r.credits, text)
			}
			return err
		})
	}
	return r.skip()
}

// title reads what the music is called: the first title is the piece's, another and
// numbers stand in front.
func (r *xmlReader) title(e element) error {
	text, err := r.text()
	switch {
	case text == "" || text == r.work.Title:
	case strings.HasSuffix(e.name, "-title") && r.work.Title == "":
		r.work.Title = text
	case (strings.HasSuffix(e.name, "-title") || strings.HasSuffix(e.name, "-number")) && len(r.credits) < 50:
		r.credits = append(r.credits, text)
	}
	return err
}

// listed reads one entry of the part list.
func (r *xmlReader) listed(e element) error {
	if e.name != "score-part" {
		return r.skip()
	}
	p := &scorePart{}
	if len(r.scores) < 1000 {
		id, _ := cut(attr(e, "id"), mostText)
		r.scores[id] = p
	}
	byID := func(id string) *xmlInstrument {
		for i := range p.instruments {
			if p.instruments[i].id == id {
				return &p.instruments[i]
			}
		}
		if len(p.instruments) < 500 {
			p.instruments = append(p.instruments, xmlInstrument{id, source{key: -1}})
			return &p.instruments[len(p.instruments)-1]
		}
		return &p.instruments[0]
	}
	return r.each(func(e element) (err error) {
		switch e.name {
		case "part-name":
			p.name, err = r.text()
			return err
		case "score-instrument":
			in := byID(attr(e, "id"))
			return r.each(func(e element) (err error) {
				switch e.name {
				case "instrument-name":
					in.name, err = r.text()
				case "instrument-abbreviation":
					in.abbreviation, err = r.text()
				case "instrument-sound":
					in.sound, err = r.text()
				default:
					err = r.skip()
				}
				return err
			})
		case "midi-instrument":
			in := byID(attr(e, "id"))
			return r.each(func(e element) error {
				text, err := r.text()
				if e.name == "midi-unpitched" {
					in.key = number(text) - 1 // the standard counts keys from 1
				}
				return err
			})
		}
		return r.skip()
	})
}

// part reads one part's measures.
func (r *xmlReader) part(id string) error {
	id, _ = cut(id, mostText)
	sp := r.scores[id]
	if sp == nil {
		sp = &scorePart{name: id}
	}
	for i := range sp.instruments {
		sp.instruments[i].part, sp.instruments[i].alone = sp.name, len(sp.instruments) == 1
	}
	for _, in := range sp.instruments {
		if r.namer.isSet(in.name) || kit.KeyTellsDrumSet(in.key) {
			sp.among = kit.InDrumSet
		}
	}
	if r.namer.isSet(sp.name) {
		sp.among = kit.InDrumSet
	}
	if sp.name == "" {
		sp.name = "Part " + id
	}
	p := &xmlPart{scorePart: sp, bar: -1, divisions: beat.R(4, 1), repeats: map[int]int{}, filled: map[int]bool{}, named: map[string]bool{},
		octaves: map[int]int{}, transposed: map[int]int{}, drums: map[string]string{}, means: map[string]string{}, calls: map[string]string{}, begun: map[string]bool{},
		rolling: map[struck]bool{}, tied: map[struck]bool{}, overEnding: map[struck]bool{}, changed: map[string]source{}, says: map[string]string{}, slashes: -1}
	p.meter, _ = beat.NewMeter(4, 4, nil)
	r.now = p
	r.jumps.lose = func(what string) { r.lose(p, what) }
	err := r.each(func(e element) error {
		if e.name != "measure" {
			return r.skip()
		}
		return r.measure(p, e)
	})
	r.now = nil
	if err != nil {
		return err
	}
	p.length = p.bar + 1
	r.taken = true
	return r.close(p)
}

func (r *xmlReader) measure(p *xmlPart, e element) error {
	p.bar++
	if p.bar >= MaxBars {
		return fmt.Errorf("line %d: there are more than %d bars", r.line(), MaxBars)
	}
	p.pos, p.last, p.furthest, p.graces, p.pins = beat.Rat{}, beat.Rat{}, beat.Rat{}, nil, nil
	if p.repeating > 0 {
		p.repeats[p.bar] = p.repeating
	}
	bar := xmlBar{number: attr(e, "number"), implicit: attr(e, "implicit") == "yes", line: r.line()}
	if err := r.each(func(e element) error { return r.inMeasure(p, e) }); err != nil {
		return err
	}
	r.endOfBar(p)
	bar.meter, bar.length = p.meter, p.furthest
	switch {
	case p.bar >= len(r.bars):
		if r.taken {
			r.work.lose(Loss{Part: p.name, Bar: p.bar, Line: bar.line, What: "this part has more bars than the first one"})
		}
		r.bars = append(r.bars, bar)
	case r.bars[p.bar].length.Less(bar.length):
		r.bars[p.bar].length = bar.length
	}
	return nil
}

func (r *xmlReader) inMeasure(p *xmlPart, e element) error {
	switch e.name {
	case "note":
		return r.note(p, attr(e, "print-object") == "no")
	case "backup", "forward":
		back := e.name == "backup"
		return r.each(func(e element) error {
			text, err := r.text()
			if e.name == "duration" && err == nil {
				d, ok := duration(text)
				if !ok {
					r.lose(p, "a duration that is no number")
					return nil
				}
				d = d.Div(p.divisions)
				if back {
					if p.pos = p.pos.Sub(d); p.pos.Sign() < 0 {
						r.lose(p, "a step back before the bar's beginning")
						p.pos = beat.Rat{}
					}
				} else {
					p.move(d)
				}
			}
			return err
		})
	case "attributes":
		return r.each(func(e element) error { return r.attribute(p, e) })
	case "direction":
		return r.direction(p)
	case "barline":
		return r.barline(p)
	case "sound":
		return r.sound(p, e)
	case "harmony", "figured-bass", "grouping":
		r.lose(p, "the "+e.name)
	}
	return r.skip()
}

// endOfBar settles what a bar has left open.
func (r *xmlReader) endOfBar(p *xmlPart) {
	if len(p.graces) > 0 {
		r.lose(p, "grace notes with no note behind them")
		p.graces = nil
	}
	if p.beats != nil {
		r.repeatBeats(p)
	}
	if p.slashes >= 0 && !p.filled[p.bar] && p.repeats[p.bar] == 0 {
		r.lose(p, "slashes: what is played there is left to the player")
	}
}

// repeatBeats writes out what the slashes of a beat repeat stand for in the
// present bar: the beat before them.
func (r *xmlReader) repeatBeats(p *xmlPart) {
	end := p.meter.Length()
	if end.Less(p.furthest) {
		end = p.furthest
	}
	var last []xmlNote // of the beat that is repeated
	bar, from := p.bar, *p.beats
	for i := len(p.notes) - 1; i >= 0; i-- {
		n := p.notes[i]
		at := n.off
		if n.bar == bar && !at.Less(from.Sub(p.beatLength)) && at.Less(from) {
			n.hand = cmp.Or(n.hand, p.handAt(n.place, n.voice))
			last = append(last, n)
		}
		if n.bar < bar {
			break
		}
	}
	for at := from; at.Less(end); at = at.Add(p.beatLength) {
		if !r.makes(len(last)) {
			r.lose(p, "a sign to repeat a beat: "+fmt.Sprintf(tooMuchMade, r.most))
			break
		}
		for _, n := range last {
			d := at.Sub(from.Sub(p.beatLength))
			n.off, n.end = n.off.Add(d), n.end.Add(d)
			if n.off.Less(end) {
				p.notes = append(p.notes, n)
				p.filled[bar] = true
			}
		}
	}
	if p.furthest.Less(end) {
		p.furthest = end
	}
	p.beats = nil // in the next bar it begins with a beat of its own
}

// mostMade is how many strokes that no note stands for come in of any file, and
// bytesAStroke of how many bytes one more: a note takes more than that, so that
// no part for people comes near, and a file of two thousand bytes never makes a
// hundred megabytes.
const (
	mostMade     = 20_000
	bytesAStroke = 50
	tooMuchMade  = "more than %d strokes that are only meant by tremolos and such signs are not written out"
)

// makes says whether so many strokes more may be written out that no note stands
// for.
func (r *xmlReader) makes(n int) bool {
	if r.made+n > r.most {
		return false
	}
	r.made += n
	return true
}

// voiceNumber is a voice's number here, from 1; 0 is none, or one more than are
// told apart.
func (p *xmlPart) voiceNumber(called string) uint8 {
	if called == "" {
		return 0
	}
	i := slices.Index(p.voices, called)
	if i < 0 {
		if len(p.voices) == 200 {
			return 0
		}
		i = len(p.voices)
		p.voices = append(p.voices, called)
	}
	return uint8(i + 1)
}

// handAt is the hand that words at a place give the notes of a voice, or 0.
func (p *xmlPart) handAt(at place, voice uint8) (hand byte) {
	for _, w := range slices.Backward(p.hands) {
		if w.bar < at.bar {
			break
		}
		if w.place == at && (w.voice == 0 || w.voice == voice) {
			hand = w.hand // the first of several holds
		}
	}
	return hand
}

// lines is which line of the part each instrument of the file has got.
func (p *xmlPart) lines() map[string]string {
	if p.ids == nil {
		p.ids = map[string]string{}
	}
	return p.ids
}

func (p *xmlPart) move(d beat.Rat) {
	p.pos = p.pos.Add(d)
	if p.furthest.Less(p.pos) {
		p.furthest = p.pos
	}
}

// text is the text of the element that has just begun, without the end of one
// that is longer than a line has room for.
func (r *xmlReader) text() (string, error) {
	text, err := r.puller.text()
	text, long := cut(text, mostText)
	switch {
	case !long:
	case r.now != nil:
		r.lose(r.now, fmt.Sprintf(textTooLong, mostText))
	default:
		r.work.lose(Loss{Bar: -1, Line: r.line(), What: fmt.Sprintf(textTooLong, mostText)})
	}
	return text, err
}

func (r *xmlReader) lose(p *xmlPart, what string) {
	r.work.lose(Loss{Part: p.name, Bar: p.bar, Line: r.line(), What: what})
}

func (r *xmlReader) attribute(p *xmlPart, e element) error {
	switch e.name {
	case "divisions":
		text, err := r.text()
		if d, ok := duration(text); ok && d.Sign() > 0 {
			p.divisions = d.MulInt(4)
		} else if err == nil {
			r.lose(p, "divisions of "+strconv.Quote(text)+": the ones before hold on")
		}
		return err
	case "time":
		return r.meterOf(p)
	case "clef":
		return r.clef(p, max(1, number(attr(e, "number"))))
	case "measure-style":
		return r.each(func(e element) error { return r.measureStyle(p, e) })
	case "transpose":
		return r.transpose(p, max(0, number(attr(e, "number"))))
	case "staff-details", "instruments", "key", "staves", "part-symbol", "footnote", "level", "directive", "for-part":
	}
	return r.skip()
}

// clef reads whether a staff is one for percussion, and by how many octaves it
// sounds higher than it is written.
func (r *xmlReader) clef(p *xmlPart, staff int) error {
	return r.each(func(e element) error {
		text, err := r.text()
		switch e.name {
		case "sign":
			p.percussion = p.percussion || text == "percussion"
			delete(p.octaves, staff)
		case "clef-octave-change":
			p.octaves[staff] = octavesOf(text)
		}
		return err
	})
}

// measureStyle reads what stands for notes from here on: signs that repeat bars
// or beats, and slashes.
func (r *xmlReader) measureStyle(p *xmlPart, e element) error {
	starts := attr(e, "type") == "start"
	switch e.name {
	case "measure-repeat":
		text, err := r.text()
		p.repeating = 0
		if n := number(text); starts && n > 0 && n <= 64 {
			p.repeating = n
			p.repeats[p.bar] = n
		} else if p.pos.Sign() == 0 { // at the end of a bar it is the last one
			delete(p.repeats, p.bar)
		}
		return err
	case "beat-repeat":
		p.beats = nil
		if at := p.pos; starts {
			p.beats, p.beatLength = &at, beat.R(1, int64(p.meter.Lower))
		}
	case "slash":
		p.slashes = -1
		if starts {
			p.slashes = p.bar
		}
	}
	return r.skip()
}

// octavesOf reads a number of octaves, as clefs and transpositions say it.
func octavesOf(text string) int {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < -4 || n > 4 {
		return 0
	}
	return n
}

// transpose reads how what stands there sounds. Percussion transposes by whole
// octaves; what else a file says is not carried over.
func (r *xmlReader) transpose(p *xmlPart, staff int) error {
	octaves, other := 0, false
	err := r.each(func(e element) error {
		text, err := r.text()
		switch e.name {
		case "octave-change":
			octaves += octavesOf(text)
		case "chromatic":
			n := number(strings.TrimPrefix(strings.TrimSpace(text), "-"))
			if strings.HasPrefix(strings.TrimSpace(text), "-") {
				n = -n
			}
			octaves, other = octaves+n/12, other || n%12 != 0
		}
		return err
	})
	if other {
		r.lose(p, "a transposition by other than octaves: notes are taken as they stand")
		delete(p.transposed, staff)
		return err
	}
	p.transposed[staff] = octaves
	return err
}

// meterOf reads a time signature: 4/4, 3+2/8.
func (r *xmlReader) meterOf(p *xmlPart) error {
	upper, lower := "", ""
	err := r.each(func(e element) error {
		text, err := r.text()
		switch e.name {
		case "beats":
			upper = text
		case "beat-type":
			lower = text
		case "senza-misura":
			r.lose(p, "bars without a meter: the meter before holds on")
		}
		return err
	})
	if err != nil || upper == "" {
		return err
	}
	var groups []int
	sum := 0
	for _, g := range strings.Split(upper, "+") {
		n := number(g)
		groups = append(groups, n)
		sum += n
	}
	if len(groups) == 1 {
		groups = nil
	}
	m, merr := beat.NewMeter(sum, number(lower), groups)
	if merr != nil {
		r.lose(p, fmt.Sprintf("the meter %s/%s: %v; the one before holds on", upper, lower, merr))
		return nil
	}
	if len(groups) > 0 {
		// Groups of a plain meter are counted by the lower number all the same.
		m, _ = beat.NewMeter(sum, number(lower), nil)
	}
	p.meter = m
	return nil
}

func (r *xmlReader) barline(p *xmlPart) error {
	return r.each(func(e element) error {
		switch e.name {
		case "repeat":
			r.jumps.repeat(p.bar, attr(e, "direction"), number(attr(e, "times")), r.taken)
		case "ending":
			r.jumps.ending(p.bar, attr(e, "type"), attr(e, "number"), r.taken)
		case "segno":
			r.jumps.mark(&r.jumps.segno, p.bar, "segno")
		case "coda":
			r.jumps.codaAt(place{p.bar, p.pos})
		case "fermata":
			if !r.ends[p.bar] { // each part has it, as a rule
				r.ends[p.bar] = true
				r.lose(p, "a fermata on the bar line")
			}
		}
		return r.skip()
	})
}

// became says that an instrument of a part is another from here on.
func (p *xmlPart) became(id string, s source) {
	s.key, s.part = -1, p.name
	p.changed[id] = s
	delete(p.lines(), id)
}

// sound reads what a direction means for playback: tempo and jumps.
func (r *xmlReader) sound(p *xmlPart, e element) error {
	return r.playback(p, e, false, p.pos)
}

func (r *xmlReader) playback(p *xmlPart, e element, tempoKnown bool, at beat.Rat) error {
	e.each(func(key, value string) {
		switch key {
		case "tempo":
			if v, err := strconv.ParseFloat(value, 64); err == nil && !tempoKnown {
				r.tempo(p, at, beat.R(1, 4), v)
			}
		case "dacapo":
			if value == "yes" {
				r.jumps.goBack(p.bar, false)
			}
		case "dalsegno":
			r.jumps.goBack(p.bar, true)
		case "tocoda":
			r.jumps.leaveAfter(p.bar)
		case "fine":
			r.jumps.mark(&r.jumps.fine, p.bar, "Fine")
		case "segno":
			r.jumps.mark(&r.jumps.segno, p.bar, "segno")
		case "coda":
			r.jumps.mark(&r.jumps.coda, p.bar, "coda")
		}
	})
	return r.each(func(e element) error {
		switch e.name {
		case "instrument-change":
			id := attr(e, "id")
			return r.each(func(e element) error {
				text, err := r.text()
				if e.name == "instrument-sound" && text != "" {
					p.became(id, source{sound: text})
				}
				return err
			})
		case "swing":
			r.lose(p, "swing, in what is played back; words that say so stay")
		}
		return r.skip()
	})
}

// maxTempos is how many changes of tempo are read.
const maxTempos = 20_000

// A tempoAt is a tempo that has not found its place on the time line yet.
type tempoAt struct {
	place
	unit beat.Rat
	rate float64
}

func (r *xmlReader) tempo(p *xmlPart, pos, unit beat.Rat, rate float64) {
	if !(rate >= 1 && rate <= 2000) {
		r.lose(p, fmt.Sprintf("a tempo of %g: the one before holds on", rate))
		return
	}
	at := place{p.bar, pos}
	for _, t := range r.jumps.tempos {
		if t.place == at {
			if r.taken && (t.unit != unit || t.rate != rate) {
				r.lose(p, fmt.Sprintf("a tempo of %g where another part has %g", rate, t.rate))
			}
			return // the first part's tempos are everybody's, and usually stand in each
		}
	}
	if len(r.jumps.tempos) == maxTempos {
		r.lose(p, "more tempos than are read")
		return
	}
	r.jumps.tempos = append(r.jumps.tempos, tempoAt{at, unit, rate})
}
