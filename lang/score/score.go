// Package score binds a parsed file into one document: names resolved, every
// stroke on the time line, the written parts beside who covers them.
//
// In come a [syntax.File] and a way to load the files it uses. Out comes a
// [Score] and, in it, everything that is wrong with the text itself. Binding
// never fails: what cannot be understood is reported and left out, and the
// rest of the piece stands.
//
// The package never times a motion, never judges, and never opens a file.
package score

import (
	"math"
	"slices"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/body"
	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// Limits on what one piece may be, reported as too-large when met.
const (
	// maxBars is how many bars a piece has at most.
	maxBars = beat.MaxBars
	// maxPlayedBars is how many bars are played at most, repeats counted.
	maxPlayedBars = beat.MaxPlayedBars
	// maxWritten is how many bars and strokes a piece has at most, similes
	// written out, all its lines together.
	maxWritten = 4_000_000
	// maxFiles is how many files one piece may use.
	maxFiles = 256
	// maxDepth is how deep files may use one another.
	maxDepth = 32
	// DefaultTempo, in quarter notes a minute, is assumed when a piece has none.
	DefaultTempo = 120
)

// A Source is one file of the piece: the first is the piece itself.
type Source struct {
	Name  string
	File  *syntax.File
	Seats []syntax.Seat
	// Only names the parts that are taken from the file; nil is all it has.
	Only map[string]bool
}

// takes says whether a part of that name is taken from the source.
func (s *Source) takes(part string) bool { return s.Only == nil || s.Only[part] }

// A Where is a range in one file of the piece.
type Where struct {
	File, Line int32
	Start, End int32 // bytes within the line
}

// Cover is the range from the one to the other, on the line of the first.
func (w Where) Cover(o Where) Where {
	if o.File == w.File && o.Line == w.Line {
		w.Start, w.End = min(w.Start, o.Start), max(w.End, o.End)
	}
	return w
}

// A Note is a place with something to say about it.
type Note struct {
	Where Where
	syntax.About
}

// A Problem is something wrong with the text of the piece.
type Problem struct {
	Rule  string
	Where Where // what its readings go in the place of
	syntax.About
	Named   Where // what the names near to it go in the place of
	Related []Note
	// Defines is what would make it right where nothing that is there may be
	// meant: a mark, or an instrument of that name.
	Defines Definition
}

// A Definition is a name that the text could define, and the word of the
// statement that does.
type Definition struct{ Word, Name string }

// A Score is one bound piece.
type Score struct {
	Sources   []Source
	Title     string
	Catalogue *kit.Catalogue
	Defined   []*kit.Instrument // instruments of the piece's own
	Grid      *beat.Grid
	Tempo     *beat.TempoMap
	Supposed  float64 // how many times the written tempo that is
	Road      beat.Road
	Time      *beat.Timeline
	HasTempo  bool
	LateTempo *Where // of the first tempo, if it does not begin with the piece
	Marks     []Mark
	Numbers   []Numbering // in print, by bar; none where bars are printed as they are counted
	Repeats   []Section
	Endings   []Section
	Vamps     []Section
	Orders    []Section
	Pauses    []Pause
	Remarks   []Remark
	Parts     []*Part
	Players   []*Player
	Omits     []*Omit
	Worths    []*Worth    // how much parts, lines and passages matter; nothing else is said to
	Together  []*Together // passages that stay with one person
	Accepts   []*Accept
	Gear      []*Gear // what there is; nothing is said of anything else
	Shared    []*Item // the kit that everybody shares: of each thing there is one
	Coverage  Coverage
	Problems  []Problem

	passes   *passIndex
	expanded []*paged[*writtenLine] // by file
	cues     *paged[filled]         // that take their strokes from the parts
	rest     *rest                  // what else binding the next text can begin from
}

// A Mark is a rehearsal mark.
type Mark struct {
	Name  string
	Bar   int
	Where Where
	Used  bool
}

// A Section is a stretch of bars that a repeat, ending, vamp or order names.
type Section struct {
	From, To int
	Times    int
	Numbers  []int
	Where    Where
}

// A Pause is a fermata or a caesura: time that nobody counts on.
type Pause struct {
	Break bool
	At    beat.Rat
	Where Where
}

// A Remark is a note, or what somebody else plays that is good to hear, to print
// at a place; a note that names none is printed with the title.
type Remark struct {
	Cue    bool // what to listen for
	Text   string
	Player string // whose sheet it is for; "" is everybody's
	Placed bool
	At     beat.Rat
	Bar    int
	Where  Where
}

// A Stroke is one thing a limb does on an instrument, at a written place.
type Stroke struct {
	At    beat.Rat
	End   beat.Rat // of a roll; else At
	where shortWhere
	Bar   int32
	Dyn   kit.Dynamic
	Flags StrokeFlags
	Grace uint8
	Hand  byte // 'R' or 'L' when sticking is written
}

// Where is the text that the stroke comes from.
func (s *Stroke) Where() Where { return s.where.where() }

// shortWhere is a Where in eight bytes: there are as many as strokes. Of a
// range that is a whole line of the greatest length the last byte is left out.
type shortWhere struct {
	line        uint32 // and above lineBits the file
	start, size uint16
}

const (
	lineBits = 20
	_        = uint(1<<lineBits - syntax.MaxLines)
	_        = uint(1<<(32-lineBits) - 1 - maxFiles)
)

func shortly(w Where) shortWhere {
	return shortWhere{uint32(w.File)<<lineBits | uint32(w.Line), uint16(w.Start), uint16(min(w.End-w.Start, math.MaxUint16))}
}

func (s shortWhere) where() Where {
	start := int32(s.start)
	return Where{int32(s.line >> lineBits), int32(s.line & (1<<lineBits - 1)), start, start + int32(s.size)}
}

// StrokeFlags say what a stroke is.
type StrokeFlags uint8

const (
	Roll   StrokeFlags = 1 << iota // lasts from At to End
	Short                          // stopped as soon as it is struck
	Stop                           // stops the ring; nothing is struck
	Accent                         // struck harder
)

// Has says whether all the given flags are set.
func (s *Stroke) Has(f StrokeFlags) bool { return s.Flags&f == f }

// Sounds says whether something is struck.
func (s *Stroke) Sounds() bool { return s.Flags&Stop == 0 }

// Stopped says whether the ring ends with it: it is a stop, or written short.
func (s *Stroke) Stopped() bool { return s.Flags&(Stop|Short) != 0 }

// A Part is what was written for one player of the full section.
type Part struct {
	Name  string
	Lines []*Line
	Where Where
	// Elsewhere is the file the part is to be taken from, if it is.
	Elsewhere string

	voices voices // that it has lines of
}

// A Line is one instrument's strokes in a part.
type Line struct {
	Part    *Part
	Name    string // as written in the part: what coverage goes by
	Inst    *kit.Instrument
	From    int // first bar
	To      int // last bar it has bars for
	Strokes []Stroke
	Struck  []*Struck // what each of them strikes; none where none of them says
	Where   Where     // of the name
	Words   []Word
}

// A Word is text to print above a bar, at the stroke that it is written before;
// behind the last stroke of the bar, at that.
type Word struct {
	At    beat.Rat
	Bar   int
	Text  string
	Where Where
	// Sign says that it is no text to print but a dynamic, or where one begins to
	// grow or fall: within a roll, or behind the last stroke of a bar.
	Sign bool
}

// A Player is one person.
type Player struct {
	Name     string
	Profile  body.Profile
	Person   Person
	Stations []Station // the first is where the player stands, at 0, 0
	Items    []*Item
	Tables   []Table
	Hardware []Hardware // what the kit lists that is no instrument of its own
	Holds    [2]Hold    // right, left
	Refused  int        // lines of cues that could not be read
	Cues     []*Cue
	Actions  []*Action
	HasKit   bool
	Where    Where

	voices voices // that the cues are for
}

// A Station is a place to stand.
type Station struct {
	Name  string
	At    body.Point
	Where Where
}

// A Hardware is a thing in a kit that something else is played with: a drop
// clutch, a double pedal.
type Hardware struct {
	Name   string
	Shared bool // from the kit that everybody shares
	Where  Where
}

// A Table is where implements rest.
type Table struct {
	At      body.Point // from the origin, not the station; up from how high tables are
	Station int
	Facing  float64 // degrees, clockwise
	Where   Where
	Spot    Where // of its place and turn in the text
	Assumed bool
}

// An Item is an instrument in a player's set-up.
type Item struct {
	Name    string
	Kind    string // what the kit says that it is: egg-shaker
	Inst    *kit.Instrument
	Mount   kit.Mount  // AnyMount when not said
	At      body.Point // where it is struck; up from how high it usually is
	Station int
	Facing  float64   // degrees, clockwise
	Raised  bool      // the text says how high it is
	Placed  bool      // the text says where it stands
	NoRoom  bool      // not placed, and nowhere in reach is room for it
	Stands  kit.Mount // how it is fixed where it stands: as the kit has it, else as the cues want it
	Stick   float64   // the longest that it is struck with, as [room.Stick] has it
	Listed  bool      // the text lists it in a kit
	Shared  bool      // from the kit that everybody shares
	Where   Where
	Fixed   Where // of its mount in the text
	Spot    Where // of its place and turn in the text
	Used    bool
	Apart   []Apart // the drums of a set that the text places one by one, by their number
}

// An Apart is one of a set that the text places by itself.
type Apart struct {
	N     int        // from the left, as the set usually stands, from 1
	At    body.Point // where it is struck
	Where Where
	Spot  Where // of its place in the text
}

// Same says whether two things are the same in every field.
func (it *Item) Same(o *Item) bool {
	return it.Name == o.Name && it.Kind == o.Kind && it.Inst == o.Inst && it.Mount == o.Mount && it.At == o.At && it.Station == o.Station && it.Facing == o.Facing &&
		it.Raised == o.Raised && it.Placed == o.Placed && it.NoRoom == o.NoRoom && it.Stands == o.Stands && it.Stick == o.Stick && it.Listed == o.Listed &&
		it.Shared == o.Shared && it.Where == o.Where && it.Fixed == o.Fixed && it.Spot == o.Spot && it.Used == o.Used && slices.Equal(it.Apart, o.Apart)
}

// SamePlaces says whether the drums of two sets stand in the same places.
func (it *Item) SamePlaces(o *Item) bool {
	return slices.EqualFunc(it.Apart, o.Apart, func(a, b Apart) bool { return a.N == b.N && a.At == b.At })
}

// A Hold is what a hand starts with.
type Hold struct {
	Said      bool
	Implement *kit.Implement // nil with Said: nothing, or an instrument
	Inst      *Item          // with an implement: both
	Count     int
	Beside    *kit.Implement // a second one, of another kind
	Where     Where
}

// A Cue is one line of a player's music.
type Cue struct {
	Player     *Player
	Limb       body.Limb
	Mount      kit.Mount // AnyMount: the item's, or whatever fits
	AsWritten  bool
	Ended      bool  // a later from of its block ends it
	LimbEnd    int32 // byte behind the limb
	Item       *Item
	Asks       *Asked // the ways that it asks for in words; nil when it asks for none
	With       []kit.Choice
	Mallets    int            // of a cue for both hands, how many it names; 0 where it does not say
	Beside     *kit.Implement // a second one, of another kind, that the hand has and does not play with
	WithWhere  Where
	AndWhere   Where // of the second one's name
	MountWhere Where
	Voice      string // the written line it covers
	For        *kit.Instrument
	Pass       int      // 0: every pass
	From, To   int      // bars
	Within     [][2]int // the bars it takes its strokes from, when not all from From to To
	Of         string
	Strokes    []Stroke
	Struck     []*Struck // what each of them strikes; none where none of them says
	Where      Where     // of the line's statement, limb to before the bars
	Name       Where     // of the instrument's name
	Words      []Word
}

// ActionKind is what a limb does besides playing.
type ActionKind uint8

const (
	Take ActionKind = iota
	Lay
	Damp
	TurnPage
)

// An Action is a change at a set place.
type Action struct {
	Kind      ActionKind
	Limb      body.Limb
	By        string // forearm or knee for a damp; else ""
	Implement *kit.Implement
	Count     int
	Beside    *kit.Implement // a second one, of another kind
	Item      *Item          // an instrument taken, laid or damped; with an implement: both
	At        beat.Rat
	Bar       int
	Pass      int
	Where     Where
}

// An Omit is a written passage that nobody plays, and why.
type Omit struct {
	Name     string
	From, To int
	Part     string
	Reason   string
	Where    Where
	Strokes  int // how many it took out that nobody plays
}

// An Accept is a finding that the arranger has weighed, and why.
type Accept struct {
	Rule     string
	HasPlace bool
	Bar      int
	Count    beat.Count
	HasCount bool
	From, To int
	Player   string
	Reason   string
	Where    Where
	Named    Where // of the rule's name
}

// Coverage counts what became of the written strokes.
type Coverage struct {
	Written     int `json:"written"`
	Covered     int `json:"covered"`
	Substituted int `json:"substituted"`
	Omitted     int `json:"omitted"`
	// Uncovered and doubled strokes, for the rules that report them.
	Uncovered []Gap     `json:"-"`
	Left      []Gap     `json:"-"` // those that the piece itself leaves out
	Doubled   []Doubled `json:"-"`
	Extra     []Extra   `json:"-"`
	Plainer   []Plainer `json:"-"`
}

// Plainer is a written roll, or a stroke with grace strokes, that a cue of its
// own bars plays as a single stroke.
type Plainer struct {
	Line   *Line
	Cue    *Cue
	Stroke int // of the cue
	Roll   bool
}

// A Gap is a run of neighbouring written strokes that nobody plays.
type Gap struct {
	Line        *Line
	First, Last int // strokes of the line
	Passes      uint64
	Refused     bool // a line that names it was refused: that is what is wrong
	missing     map[int]int
}

// Sounding is how many of its strokes sound.
func (g *Gap) Sounding() int {
	n := 0
	for i := g.First; i <= g.Last; i++ {
		if g.Line.Strokes[i].Sounds() {
			n += g.Missing(i)
		}
	}
	return n
}

// Doubled is a run of written strokes that two cues play.
type Doubled struct {
	Line        *Line
	First, Last int
	By, Also    *Cue
	AlsoFirst   int // stroke of Also
}

// Extra is a run of played strokes that stand in no part.
type Extra struct {
	Cue         *Cue
	First, Last int
}

// Lasts says where something ends that begins in a stretch of the time line
// and is written to last to a place: there, or at the bar line from which the
// road jumps before.
func (s *Score) Lasts(span int, end beat.Rat) (int, beat.Rat) {
	spans := s.Time.Spans()
	for {
		line := s.Grid.Start(spans[span].To + 1)
		switch {
		case !line.Less(end):
			return span, end
		case span+1 == len(spans) || spans[span+1].From != spans[span].To+1:
			return span, line
		}
		span++
	}
}
