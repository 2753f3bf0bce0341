// Package plan answers who covers what: written parts and a number of people
// come in, and out comes a finished file that says for every bar of every line
// who plays it, with which hand, with what and from where, or that nobody can,
// and why.
//
// In come a parsed file and [Options]. Out comes a [Plan]: the text, the edits
// that make it, what is lost, a bound that no plan of the same kind can beat,
// and the moments that prove it. [lang/check] is the judge of every plan and
// [lang/motion] the source of every time: nothing leaves here that a check
// finds an error in.
//
// What a plan may be: every line stays whole within a bar, in one hand (or
// both hands, a foot or the mouth) of one player, on an instrument that is
// written or that the piece itself lets stand in, fixed in a way that needs
// no gear beyond the usual. Of what takes two people or wheels to bring there is
// one, or as many as the parts have at once or people have already, unless a gear
// block or [Options] say otherwise. Values and bounds speak of such plans; a
// bound does not know how many there are of anything.
//
// The package never times a motion of its own, never writes a file, and never
// changes a line that is not a player's.
package plan

import (
	"example.org/handful/lang/check"
	"example.org/handful/lang/proof"
	"example.org/handful/lang/score"
)

// Limits on what is planned, said in words when met.
const (
	// maxPlayers is how many people a plan is made for at most.
	maxPlayers = 16
	// maxPassages is how many bars of lines are planned at most.
	maxPassages = 60_000
)

// Options say for whom, and what counts.
type Options struct {
	// Players is how many people there are; 0 takes the file's own players,
	// or those of Names.
	Players int
	// Names are the people; those that the file does not have are added.
	Names []string
	// Profile is that of people who are added; "" says nothing.
	Profile string
	// Without leaves players of the file out.
	Without []string
	// Keep leaves every cue of the file as it is and only adds to them.
	Keep bool
	// AtTheEdge lets a plan ask for changes and strokes that are quicker than people
	// are on average when they do their utmost.
	AtTheEdge bool
	// StandIns lets what the catalogue says may stand in for what is written be played,
	// where that loses less; it is never played to make anything easier.
	StandIns bool
	// Borrow lets more people have what takes two people or wheels to bring than the parts have
	// of it at once, where no gear block says how many there are.
	Borrow bool
	// Sentences has what decided the plan, what is lost and what would bring it back
	// written at the top of the file, each tried, and returned.
	Sentences bool
	// Wide and Deep bound each player's set-up, in cm; 0 is no bound.
	Wide, Deep float64
	Weights    *Weights // nil: DefaultWeights
	// Effort scales the search; 0 is 1.
	Effort int
	// TempoFactor multiplies every tempo; 0 is 1.
	TempoFactor float64
	Load        score.Loader
	// Usual is the profile of players who do not say one, and Uses are files that
	// the piece uses without saying so: as score.Options has them.
	Usual    string
	Uses     []string
	hardware bool // ways that need gear beyond the usual may be taken
	// open lets what a check objects to already stay as it is, and only says, by part,
	// line and bar, what is given away: nil is everything.
	open  bool
	only  func(part, line string, bar int) bool
	idle  bool // nobody gets anything new
	terse bool // nothing is said of a plan that loses something
	// less is what is not taken into a plan; alone plans once, not with less as well; and
	// under says nothing of a plan that does not lose less than that, unless it is 0.
	less   less
	alone  bool
	under  float64
	each   bool // nobody stands at what somebody else has
	unable bool // a cast that can play nothing is no error
	// brings is what a trial is to bring back of what a plan loses; nil for a plan of its own.
	brings *bringing
	// asked is what is known of changes at this tempo, of this piece; nil is nothing yet.
	asked *inquiry
	// Progress is told how far the work is; it may be nil.
	Progress func(Progress)
}

// less is what a plan does without.
type less int

const (
	withAll    less = iota
	asEquipped      // without hardware beyond the usual
	asFixed         // and with nothing fixed otherwise than as a rule
)

// Progress says how far the work is.
type Progress struct {
	Stage string // in words
	Done  int
	Of    int
	Value float64 // of the best plan so far
	Bound float64
}

// A Plan is a finished answer.
type Plan struct {
	Text   string
	Edits  []check.Edit  // that make Text of the file that came in
	Result *check.Result // the check of Text: no errors
	Lost   []Loss
	// Value is what is lost, in weighted strokes, and Bound the least that any
	// plan of this kind loses. Gap is what this plan may lose too much, as a
	// share of all that some plan may keep.
	Value, Bound, Gap float64
	Written           float64 // all strokes, weighted
	Why               []Reason
	Sentences         []string // three, if they were asked for
	Borrowed          []string // what a plan needs that no gear block speaks of and that there is one of, as a rule
	Moved             int      // bars of lines that are played otherwise than today
	// Certificate is what shows that the bound is none too high: lang/proof says what of
	// it is certain.
	Certificate *proof.Certificate
	Stopped     bool
	beyond      []string // hardware that it needs beyond the usual
	fresh       []bool   // by line of Text: whether the plan wrote it
	stoodIns    []stoodIn
	// Some of what is written could be played with hardware beyond the usual; or, of a piece
	// that is not so long that it is only begun both ways, with something fixed otherwise.
	beyondUsual, unusual bool
	brings               []trial // what would bring back what is lost
}

// A Loss is a stretch of one written line that nobody plays.
type Loss struct {
	Part, Line string
	Called     string // the line's instrument, in words
	From, To   int    // bars, as far as it would sound
	Strokes    int
	Rolls      int // of those
	Weight     float64
	Because    string
	goesOn     bool // in the phrase of the loss before, at once behind it
}

// A Reason is a moment that asks for more hands than there are.
type Reason struct {
	Bar    int
	Count  string
	Hands  int // that are wanted at once
	Have   int
	Lines  []string // what sounds then
	Weight float64  // the least that must go in this bar
	Words  string
}

// gap is how far a value may be from the best there is.
func gap(value, bound, written float64) float64 {
	return max(0, value-bound) / max(written-bound, 1)
}
