package written

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/pitch"
	"example.org/handful/lang/syntax"
)

// A Work is what any of the formats holds and the notation can say: what was
// written, for whom, and in which order it is played. Nobody covers anything
// here. A reader makes one from a file, a writer makes a file from one.
//
// Positions are in whole notes from the start of the first bar, as written:
// repeats are signs and not written out. Bars are numbered as the notation
// numbers them, from 1, with the pickup as bar 0.
type Work struct {
	Title   string
	Credits []string

	Meters []beat.MeterChange // by bar; 4/4 before the first
	Pickup beat.Rat           // counts in bar 0; 0 when there is none
	Last   int                // number of the last bar

	Tempos  []Tempo
	Marks   []Mark
	Numbers []Number // in print, where they are others than here
	Pauses  []Pause
	Remarks []Remark

	Repeats []beat.Repeat
	Endings []beat.Ending
	Vamps   []beat.Vamp
	Order   []beat.Leg // if there is one, it is the whole road map

	Own   []Own // instruments that are in no catalogue
	Parts []*Part
	Lost  []Loss
}

// grid is where the bars of the work lie.
func (w *Work) grid() *beat.Grid { return beat.NewGrid(w.Meters, w.Pickup, w.Last) }

// A Tempo is Units a minute from a position on, or changing evenly over a
// length. Without any, nothing is said of the tempo.
type Tempo struct {
	At       beat.Rat
	Unit     beat.Rat // the note value counted: 1/4, 3/8
	From, To float64  // units a minute; the same unless it changes
	Over     beat.Rat // 0: at once
}

// remark keeps words at a place.
func (w *Work) remark(k Remark, part string, several bool) {
	if several {
		k.Text = part + ": " + k.Text
	}
	if len(w.Remarks) == maxTempos {
		w.lose(Loss{Part: part, Bar: k.Bar, What: "more words than are kept"})
		return
	}
	w.Remarks = append(w.Remarks, k)
}

// A Mark is a rehearsal mark.
type Mark struct {
	Name string
	Bar  int
}

// A Number is the one that a bar has in print; "" is none. From one that is a
// plain number bars are counted on.
type Number struct {
	Bar  int
	Text string
}

// A Pause is a fermata, or with Break a caesura.
type Pause struct {
	At    beat.Rat
	Break bool
}

// A Remark is words that stand at a place where the part has no stroke, or with
// bar -1 anywhere: in front of the music.
type Remark struct {
	At   beat.Rat
	Bar  int
	Text string
}

// An Own instrument is one that the catalogue does not have, or that the file
// leaves open. It becomes a block of its own.
type Own struct {
	Name   string // as lines name it: a word without blanks
	Called string // as the file calls it
	Sound  string // MusicXML sound id, or ""
	Key    int    // General MIDI percussion key from 0, or -1
	Family string // of the catalogue's families
	Rings  bool
}

// A Part is what was written for one player.
type Part struct {
	Name  string
	Lines []*Line

	// Of a part that is laid as it is written out, further lays more bars and is
	// false when there are no more. Up to the bar laid all is there.
	further func() bool
	laid    int
}

// whole lays all of a part that there is.
func (p *Part) whole() {
	for p.further != nil && p.further() {
	}
	p.further = nil
}

// A Line is one instrument of a part, over the whole length of the work.
type Line struct {
	Name    string   // id of the catalogue's instrument, or name of an Own one
	Called  string   // as the file calls it, for printing
	Strokes []Stroke // in order; never two sounding ones at one position
	Signs   []Sign   // in order
}

// A Stroke is one thing that is done to an instrument.
type Stroke struct {
	At    beat.Rat
	End   beat.Rat // of a roll, ties over bar lines included; else At
	Flags Flags
	Grace uint8 // grace strokes before it: 1 flam, 2 drag, 3 ruff
	Hand  byte  // 'R' or 'L' where sticking is written, else 0

	// Pitches are the notes that are struck at once, as written, from the lowest
	// up; none where the instrument has no notes, or the file does not say.
	Pitches []pitch.Pitch
	Drums   []string // the drums of a set that are struck at once: names of places in it, or numbers
}

// joins adds the notes of a stroke that sounds together with it; it is false
// where the other adds none.
func (s *Stroke) joins(o Stroke) bool {
	joined := false
	for _, p := range o.Pitches {
		if !slices.ContainsFunc(s.Pitches, func(q pitch.Pitch) bool { return p.Semitone() == q.Semitone() }) {
			s.Pitches = append(s.Pitches[:len(s.Pitches):len(s.Pitches)], p)
			joined = len(s.Pitches) > 1
		}
	}
	for _, d := range o.Drums {
		if !slices.Contains(s.Drums, d) {
			s.Drums = append(s.Drums[:len(s.Drums):len(s.Drums)], d)
			joined = joined || len(s.Drums) > 1
		}
	}
	slices.SortFunc(s.Pitches, func(a, b pitch.Pitch) int { return a.Semitone() - b.Semitone() })
	return joined
}

// Flags say what a stroke is.
type Flags uint8

const (
	Roll   Flags = 1 << iota // lasts from At to End
	Short                    // stopped as soon as it is struck
	Stop                     // the ring is stopped; nothing is struck
	Accent                   // struck harder
	Ring                     // the file says to let it ring, as the notation takes for granted
)

// has says whether all the given flags are set.
func (f Flags) has(g Flags) bool { return f&g == g }

// A Sign is a dynamic or words before what follows it in a line.
type Sign struct {
	At    beat.Rat
	Text  string
	Words bool // words to print; else a dynamic of the notation, cresc and dim among them
}

// A Loss is something in a file that the notation, or the other way round the
// file, cannot hold, or that was left open and settled by a guess.
type Loss struct {
	Part    string // "" for the whole piece
	Bar     int    // first bar it concerns, or -1
	InPrint string // the number that the bar has in print, if that is another
	Line    int    // line of the source, from 1; 0 if it has no lines
	What    string
	More    int // how often it happens again, further on
}

// lose notes a loss; what happens again in the same part is counted.
func (w *Work) lose(l Loss) {
	for i := range w.Lost {
		if o := &w.Lost[i]; o.What == l.What && o.Part == l.Part {
			o.More++
			return
		}
	}
	if len(w.Lost) < maxLosses {
		w.Lost = append(w.Lost, l)
		return
	}
	w.Lost[maxLosses-1] = Loss{Bar: -1, What: "more is left out than can be listed", More: w.Lost[maxLosses-1].More + 1}
}

// inPrint is the number that a bar has in print, if that is another than the one
// here; "" also where none is.
func (w *Work) inPrint(bar int) string {
	ahead := 0
	for _, n := range w.Numbers {
		from, counts := syntax.CountsOn(n.Text)
		switch {
		case n.Bar > bar:
		case n.Bar == bar:
			return n.Text
		case counts:
			ahead = from - n.Bar
		case n.Bar > 0 || n.Text != "":
			ahead--
		}
	}
	if ahead == 0 {
		return ""
	}
	return strconv.Itoa(bar + ahead)
}

// mostText is how many bytes of a name, or of words, are read; and longWords from
// how many on they stand apart from the strokes, in a note of their own.
const (
	mostText  = 1000
	longWords = 200
)

const textTooLong = "what is behind the first %d bytes of a text"

// cut is the beginning of a text that is too long, and says whether it is.
func cut(text string, most int) (string, bool) {
	if len(text) <= most {
		return text, false
	}
	for most > 0 && !utf8.RuneStart(text[most]) {
		most--
	}
	return strings.Clone(text[:most]) + "…", true
}

// maxLosses is how many different losses are listed.
const maxLosses = 400

// settle puts everything in order and takes out what cannot stand together:
// two strokes at one position become one, a roll ends where the next stroke
// begins. Notes of several pitches at one position are one stroke on several
// bars. It returns where strokes went, and where rolls end early since the
// instrument is struck while they last.
func (l *Line) settle() (merged, cut []beat.Rat) {
	slices.SortStableFunc(l.Signs, func(a, b Sign) int { return a.At.Cmp(b.At) })
	slices.SortStableFunc(l.Strokes, func(a, b Stroke) int {
		return cmp.Or(a.At.Cmp(b.At), cmp.Compare(stopFirst(a), stopFirst(b)))
	})
	out := l.Strokes[:0]
	for _, s := range l.Strokes {
		if n := len(out); n > 0 {
			last := &out[n-1]
			if last.At == s.At && last.Flags.has(Stop) == s.Flags.has(Stop) {
				if !last.merge(s) {
					merged = append(merged, s.At)
				}
				continue
			}
			if s.At.Less(last.End) {
				if last.End = s.At; !s.Flags.has(Stop) {
					cut = append(cut, s.At)
				}
			}
		}
		out = append(out, s)
	}
	l.Strokes = out
	return merged, cut
}

// merge takes in another stroke at the same position, and says whether the two
// are notes of one chord.
func (s *Stroke) merge(o Stroke) bool {
	s.Flags |= o.Flags
	s.Grace = max(s.Grace, o.Grace)
	s.Hand = cmp.Or(s.Hand, o.Hand)
	if s.End.Less(o.End) {
		s.End = o.End
	}
	return s.joins(o)
}

// stopFirst orders a stop before a stroke at the same position.
func stopFirst(s Stroke) int {
	if s.Flags.has(Stop) {
		return 0
	}
	return 1
}
